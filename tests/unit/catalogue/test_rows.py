"""A row without a source does not load; heads, keys, marks and numbers are checked."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orthostat.catalogue import RowRefused, Table, UnknownRow
from orthostat.catalogue.materials import MaterialRow


def one_row(body: str, head: str = 'density = "kg/m^3"') -> Table[MaterialRow]:
    return Table("invented", MaterialRow, f'[units]\n{head}\n[rows."elm"]\nfamily = "wood"\n{body}\n')


def test_a_row_with_a_source_loads() -> None:
    row = one_row('density = 650\nsource = "handbook, p. 3"\nmark = "estimate"').row("Elm")
    assert row.density == 650.0
    assert row.citation == "handbook, p. 3, estimate"
    assert row.material.source == "handbook, p. 3, estimate"


@pytest.mark.parametrize("source", ["", 'source = ""', 'source = "  "', "source = 3"])
def test_a_row_without_a_source_is_refused(source: str) -> None:
    with pytest.raises(RowRefused, match="elm: a row without a source does not load"):
        one_row(f"density = 650\n{source}").row("elm")


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ('denisty = 650\nsource = "s"', "unknown key 'denisty'; allowed: .*density"),
        ('density = "650"\nsource = "s"', "read '650'; allowed: a finite number"),
        ('density = true\nsource = "s"', "read True; allowed: a finite number"),
        ('density = nan\nsource = "s"', "allowed: a finite number"),
        ('density = inf\nsource = "s"', "allowed: a finite number"),
        ('expansion = 5e-6\nsource = "s"', "expansion has no unit"),
        ('source = "s"\nmark = "guess"', "mark reads 'guess'; allowed: from memory"),
        ('source = "s"\nranges = { density = [1.0] }', "read 1 values; allowed: 2"),
        ('source = "s"\nnote = 4', "read 4; allowed: str"),
    ],
)
def test_a_faulty_row_is_refused_and_says_why(body: str, said: str) -> None:
    with pytest.raises(RowRefused, match=said):
        one_row(body).row("elm")


def test_a_missing_field_is_refused() -> None:
    table = Table("invented", MaterialRow, '[units]\n[rows."elm"]\nsource = "s"\n')
    with pytest.raises(RowRefused, match=r"elm: .*family"):
        table.row("elm")


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ('density = "g/cm^3"', r"density reads 'g/cm\^3'; allowed: 'kg/m\^3'"),
        ('weight = "kg"', "names 'weight'; allowed: .*density"),
    ],
)
def test_a_head_whose_units_are_not_si_is_refused(head: str, said: str) -> None:
    with pytest.raises(RowRefused, match=said):
        one_row('source = "s"', head).row("elm")


def test_two_rows_of_one_name_are_refused() -> None:
    text = '[rows."elm"]\nfamily="w"\nsource="s"\n[rows."ELM "]\nfamily="w"\nsource="s"\n'
    with pytest.raises(RowRefused, match="two rows are called"):
        Table("invented", MaterialRow, text).row("elm")


def test_an_unknown_name_says_the_nearest() -> None:
    table = one_row('source = "s"')
    with pytest.raises(UnknownRow) as caught:
        table.row("elmm")
    assert caught.value.nearest == ("elm",)
    assert caught.value.name == "elmm"
    assert str(caught.value) == "the catalogue table 'invented' has no row 'elmm'; nearest: 'elm'"
    assert isinstance(caught.value, KeyError)


@given(st.floats(min_value=1e-9, max_value=1e12), st.text("abcdef 0123456789-", min_size=1))
def test_what_is_written_is_what_is_read(value: float, source: str) -> None:
    if source.strip():
        row = one_row(f'density = {value!r}\nsource = "{source}"').row("elm")
        assert row.density == value
        assert row.source == source
