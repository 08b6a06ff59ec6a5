"""Every snippet of the page on the catalogue comes out as printed."""

import doctest
import re
import tomllib
from pathlib import Path

from orthostat.catalogue.materials import MaterialRow
from orthostat.catalogue.register import tables
from orthostat.catalogue.tables import Table

PAGE = Path(__file__).parents[3] / "docs" / "methods" / "catalogue.md"


def test_snippets_come_out() -> None:
    text = PAGE.read_text(encoding="utf-8")
    examples = doctest.DocTestParser().get_doctest(text, {}, PAGE.name, str(PAGE), 0)
    assert len(examples.examples) > 10
    flags = doctest.NORMALIZE_WHITESPACE | doctest.IGNORE_EXCEPTION_DETAIL
    report: list[str] = []
    runner = doctest.DocTestRunner(optionflags=flags)
    runner.run(examples, out=report.append)
    assert not report, "".join(report)


def test_the_row_on_the_page_loads() -> None:
    (written,) = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    assert tomllib.loads(written)["units"]["density"] == "kg/m^3"
    row = Table("page", MaterialRow, written).row("ductile iron EN-GJS-500-7")
    assert row.density == 7100.0


def test_the_page_names_tables_that_exist() -> None:
    rows = re.findall(r"^\| (`[^|]*)\|", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    named = {name for cell in rows for name in re.findall(r"`([a-z_]+)`", cell)}
    assert named <= set(tables()) | {"estimate"}
