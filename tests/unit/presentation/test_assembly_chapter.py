"""The chapter on making it: what is typed into the machine is in the machine's own sense."""

from dataclasses import replace

import pytest

import columns
from evaluations import Fitted
from orthostat.base.dimensions import Metre
from orthostat.base.showing import show
from orthostat.presentation.assembly import offsets, truing
from orthostat.presentation.blocks import Quantity, Table


def _angles(table: Table, title: str) -> dict[str, str]:
    """What is shown of an angle, by face."""
    face, b = (
        next(k for k, each in enumerate(table.columns) if each.heading == name) for name in ("face", title)
    )
    found = {}
    for row in table.rows:
        cell = row[b]
        assert isinstance(cell, Quantity)
        found[str(row[face])] = show(cell.value, cell.kind)
    return found


@pytest.mark.parametrize(
    ("clockwise", "wanted"), [(True, ["0°", "90°", "180°", "270°"]), (False, ["0°", "270°", "180°", "90°"])]
)
def test_a_face_is_turned_to_the_spindle_the_way_b_counts(clockwise: bool, wanted: list[str]) -> None:
    column = columns.square_filled()
    assert column.machine is not None
    machine = replace(column.machine, b_positive_clockwise=clockwise)
    evaluation = Fitted(replace(column, machine=machine, truing_depth=Metre(0.0003)))
    (table,) = (block for block in truing(evaluation, "metric") if isinstance(block, Table))
    names = [face.name for face in column.faces]
    assert _angles(table, "turn B to") == dict(zip(names, wanted, strict=True))
    seen = _angles(offsets(evaluation, "metric"), "B")
    assert seen == {name: angle for name, angle in zip(names, wanted, strict=True) if name in seen}
    assert len(seen) > 1
