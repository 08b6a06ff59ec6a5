"""docs/walkthroughs/spindrift.md says and shows what the program does; so does the page on reach."""

from __future__ import annotations

import doctest
import re
from collections.abc import Callable
from pathlib import Path

import pytest

import orthostat
from orthostat.analyses.reach import Lever, Reach, inverse
from orthostat.base.dimensions import Metre
from orthostat.cli.main import main
from orthostat.presentation.blocks import Figure
from orthostat.presentation.reach import blocks

ROOT = Path(__file__).resolve().parents[2]
SHOP = ROOT / "examples" / "saltmarsh"
PAGE = ROOT / "docs" / "walkthroughs" / "spindrift.md"
TEXT = PAGE.read_text(encoding="utf-8")
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
DEPTH = Metre(0.0003)


def reach_of(name: str, change: Callable[[str], str], folder: Path) -> Reach:
    """Reach of a column whose document is changed first."""
    (folder / "columns").mkdir()
    (folder / "shop.toml").write_text((SHOP / "shop.toml").read_text("utf-8"), encoding="utf-8")
    text = (SHOP / "columns" / f"{name}.toml").read_text("utf-8")
    (folder / "columns" / f"{name}.toml").write_text(change(text), encoding="utf-8")
    return orthostat.open_shop(folder).column(name).evaluate().reach


@pytest.fixture(scope="module")
def spindrift() -> Reach:
    return orthostat.open_shop(SHOP).column("spindrift").evaluate().reach


def test_by_how_much_truing_fails(spindrift: Reach) -> None:
    bands = {found.tool.name: found.ground.lost_band for found in spindrift.truing[0].maps}
    assert bands["shoulder mill 50"] == pytest.approx(0.005, abs=1e-9)
    assert bands["face mill 80"] == pytest.approx(0.0065, abs=1e-9)
    assert not any(trued.able for trued in spindrift.truing)
    assert "fails by 5.00 mm on all four faces" in TEXT


@pytest.mark.parametrize(
    ("tool", "lever", "low", "high"),
    [
        ("shoulder mill 50", Lever.DIAMETER, 0.060, 0.150),
        ("face mill 80", Lever.STAND_OFF, 0.0013, None),
        ("shoulder mill 50", Lever.RISER, 0.005, 0.115),
    ],
)
def test_what_would_do_it(spindrift: Reach, tool: str, lever: Lever, low: float, high: float | None) -> None:
    found = inverse(spindrift.inputs, spindrift.face(1), spindrift.tool(tool), lever, DEPTH)
    (interval,) = found.intervals
    assert interval.low == pytest.approx(low, abs=1e-6)
    if high is not None:
        assert interval.high == pytest.approx(high, abs=1e-6)
    assert found.own_tools == ()


def test_no_gauge_length_does_it(spindrift: Reach) -> None:
    for tool in ("face mill 80", "shoulder mill 50", "end mill 20"):
        found = inverse(spindrift.inputs, spindrift.face(1), spindrift.tool(tool), Lever.GAUGE_LENGTH, DEPTH)
        assert found.intervals == ()


def test_the_wider_column_is_trued_by_the_face_mill(tmp_path: Path) -> None:
    wider = reach_of(
        "spindrift", lambda text: text.replace("across_flats = 398", "across_flats = 402.6"), tmp_path
    )
    assert all("face mill 80" in {found.tool.name for found in trued.able} for trued in wider.truing)


def test_the_well(spindrift: Reach, tmp_path: Path) -> None:
    (bore,) = spindrift.cuts
    assert not bore.reached
    assert bore.holder is not None
    assert bore.holder.clearance == pytest.approx(-0.001)

    def widened(text: str) -> str:
        return text.replace("at = [-40, 0]", "at = [-43, 0]").replace("at = [40, 0]", "at = [43, 0]")

    (wide,) = reach_of("spindrift", widened, tmp_path).cuts
    assert wide.reached


def test_the_head_between_the_neighbours() -> None:
    reach = orthostat.open_shop(SHOP).column("skerry").evaluate().reach
    spot, holes = (
        reach.cut("plate, face 1", "spot of plate, face 1"),
        reach.cut("plate, face 1", "holes of plate, face 1"),
    )
    assert not spot.reached
    assert {blocker.member for blocker in spot.blockers} == {"head"}
    assert spot.head is not None
    assert spot.head.clearance == pytest.approx(-0.0639, abs=5e-5)
    assert holes.reached


@pytest.mark.parametrize("name", ["spindrift", "skerry"])
def test_the_pictures_are_those_that_the_program_draws(name: str) -> None:
    """Words and shapes alike, coordinates within a twentieth of a picture unit."""
    column = orthostat.open_shop(SHOP).column(name)
    drawn = {b.name: b.svg for b in blocks(column.evaluate(), column.system) if isinstance(b, Figure)}
    folder = ROOT / "docs" / "walkthroughs" / "pictures" / name / "reach"
    assert {path.stem for path in folder.glob("*.svg")} == set(drawn)
    for stem, picture in drawn.items():
        kept = (folder / f"{stem}.svg").read_text(encoding="utf-8")
        assert NUMBER.sub("#", kept) == NUMBER.sub("#", picture), f"draw {name}/{stem} again"
        pairs = zip(NUMBER.findall(kept), NUMBER.findall(picture), strict=True)
        assert max(abs(float(a) - float(b)) for a, b in pairs) < 0.05


def test_the_maps_command_writes_a_map_for_each_face_and_tool(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["maps", str(SHOP), "spindrift", "--to", str(tmp_path), "--tip", "5 mm", "--loaded"]) == 0
    assert "wrote 90 maps" in capsys.readouterr().out
    written = {path.name for path in (tmp_path / "spindrift").iterdir()}
    assert {"overview.svg", "face-1-face-mill-80.svg", "face-4-tap-m10-side.svg"} <= written
    assert len(written) == 1 + 4 * 11 * 2 + 1
    drawn = (tmp_path / "spindrift" / "face-1-face-mill-80.svg").read_text(encoding="utf-8")
    assert "tip 5.00 mm over the face" in drawn
    assert main(["maps", str(SHOP), "spindrift", "--tip", "five"]) == 2


def test_every_picture_on_the_page_is_there() -> None:
    for link in re.findall(r"\]\((pictures/[^)]+)\)", TEXT):
        assert (PAGE.parent / link).is_file()


def test_the_snippets_on_the_method_s_page_run() -> None:
    page = ROOT / "docs" / "methods" / "reach.md"
    failed, tried = doctest.testfile(str(page), module_relative=False, encoding="utf-8")
    assert tried > 0
    assert failed == 0
