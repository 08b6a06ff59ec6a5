"""A round and a relieved pin locate once each, wherever the origin of the plane lies."""

from __future__ import annotations

from pathlib import Path

import pytest

import orthostat

SHOP = """\
[pallets.p]
width = "400 mm"
depth = "400 mm"
thickness = "60 mm"
"""
COLUMN = """\
pallet = "p"
height = "500 mm"
plan = {{ shape = "square", across_flats = "300 mm" }}
body = {{ kind = "solid", material = "grey iron" }}
pins = [
  {{ diameter = "12 mm", at = ["0 mm", "{first} mm"] }},
  {{ diameter = "12 mm", at = ["0 mm", "{second} mm"]{more} }},
]
"""


@pytest.mark.parametrize(("first", "second"), [(-60, 60), (40, 100), (0, 80), (-100, -20)])
@pytest.mark.parametrize(("more", "again"), [(', kind = "relieved", direction = "0 deg"', 0), ("", 1)])
def test_pins_in_line_with_the_origin(tmp_path: Path, first: int, second: int, more: str, again: int) -> None:
    (tmp_path / "columns").mkdir()
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    text = COLUMN.format(first=first, second=second, more=more)
    (tmp_path / "columns" / "c.toml").write_text(text, encoding="utf-8")
    evaluation = orthostat.open_shop(tmp_path).column("c").evaluate()
    found = {finding.slug: finding.worst.value for finding in evaluation.findings(only="hold")}
    assert found["hold.location"] == 3
    assert found["hold.over_constraint"] == again
