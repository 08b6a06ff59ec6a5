"""Alike faces are worked out once, on solids without names; each face by itself says the same."""

from pathlib import Path

import pytest

from orthostat.analyses.reach import maps
from orthostat.analyses.reach.solve import _GROUNDS, _SHARED, Reach, face_task
from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated
from orthostat.evaluation import open_shop

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*/columns/*.toml"))


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_a_face_by_itself_says_the_same(file: Path) -> None:
    reach: Reach = open_shop(file.parents[1]).column(file.stem).evaluate().reach
    try:
        trued = reach.truing
    except NotStated:
        pytest.skip("no truing depth is stated")
    for each in trued:
        for found in each.maps:
            task = face_task(reach.inputs, found.face, found.tool, Metre(-each.depth), loaded=False)
            alone = maps.ground(task, maps.face_region(found.face))
            assert found.ground.overrun == pytest.approx(alone.overrun, abs=1e-9)
            assert found.ground.lost.area == pytest.approx(alone.lost.area, abs=1e-9)
            assert found.ground.permitted.symmetric_difference(alone.permitted).area < 1e-9
            assert sorted(found.ground.against.owner.tolist()) == sorted(alone.against.owner.tolist())
            assert _words(maps.blamed(task, found.ground)) == _words(maps.blamed(task, alone))


def _words(lost: tuple[maps.LostPart, ...]) -> list[list[tuple[str, str, float]]]:
    return [[(b.name, b.member, round(b.share, 6)) for b in part.blockers] for part in lost]


@pytest.mark.parametrize(("name", "faces", "kinds"), [("harbour", 4, 1), ("groyne", 6, 2)])
def test_faces_that_look_alike_are_one(name: str, faces: int, kinds: int) -> None:
    """All sides of a square column, whatever is hidden in it; mirror images on a hexagon."""
    reach: Reach = open_shop(EXAMPLES[0].parents[2] / "saltmarsh").column(name).evaluate().reach
    outlines = {id(each.maps[0].ground.shared) for each in reach.truing}
    assert len(reach.truing) == faces
    assert len(outlines) == kinds


@pytest.mark.parametrize("name", ["harbour", "groyne"])
def test_what_is_asked_beside_a_face_leaves_its_answer_to_the_last_bit(name: str) -> None:
    """Also which of two mirror images is worked out."""
    reach: Reach = open_shop(EXAMPLES[0].parents[2] / "saltmarsh").column(name).evaluate().reach

    def asked(number: int) -> bytes:
        for memo in (_GROUNDS, _SHARED):
            memo.forget()
        return bytes(reach.face_map(number, reach.inputs.tools[0].name).ground.permitted.wkb)

    alone = [asked(face.number) for face in reach.inputs.faces]
    for memo in (_GROUNDS, _SHARED):
        memo.forget()
    assert [row[0].ground.permitted.wkb for row in reach.overview] == alone
