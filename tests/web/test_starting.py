"""The guided start's answers become documents that can be read, whatever is asked and left out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import orthostat
from orthostat.web.desk import Desk
from orthostat.web.questions import STEPS
from orthostat.web.starting import begin


def answered(system: str, **changed: str) -> dict[str, Any]:
    usual = {question.id: question.usual(system) for step in STEPS for question in step.questions}
    return {"answers": {**usual, **changed}, "touched": list(changed), "units": system}


@pytest.mark.parametrize("system", ["metric", "inch"])
@pytest.mark.parametrize("shape", ["square", "slab", "hexagon", "triangle"])
@pytest.mark.parametrize("kind", ["hollow", "filled"])
def test_every_way_offered_to_join_plates_holds_no_fault_and_is_marked_assumed(
    tmp_path: Path, system: str, shape: str, kind: str
) -> None:
    key = "joined" if shape in ("square", "slab") else "joined_aslant"
    (question,) = [each for step in STEPS for each in step.questions if each.id == key]
    assert question.metric == question.choices[0]
    for number, joined in enumerate(question.choices):
        folder = tmp_path / str(number)
        said = begin(Desk(folder), answered(system, shape=shape, kind=kind, **{key: joined}))
        assert said == {"go": "/column/column%201"}
        column = orthostat.open_shop(folder).column("column 1")
        if joined == "not said yet":
            assert not column.model.joints
            continue
        (joint,) = column.model.joints
        assert joint.how == {"screws": "screwed", "welds": "welded", "glue": "glued"}[joined]
        assert len(joint.joiners) == (5 * len(column.model.faces) if joined == "screws" else 0)
        found = column.evaluate().findings(only="joining")
        assert [each.slug for each in found if each.verdict.value == "fails"] == []
        text = (folder / "columns" / "column 1.toml").read_text("utf-8")
        assert text.count("[[joints]]") == 1


def test_what_stands_as_offered_is_assumed_and_what_is_not_said_is_unknown(tmp_path: Path) -> None:
    begin(Desk(tmp_path / "a"), answered("metric"))
    lines = (tmp_path / "a" / "columns" / "column 1.toml").read_text("utf-8").splitlines()
    assert 'how = "screwed" # assumed' in lines
    assert "count = 5 # assumed" in lines
    begin(Desk(tmp_path / "b"), answered("metric", joined="not said yet"))
    evaluation = orthostat.open_shop(tmp_path / "b").column("column 1").evaluate()
    (found,) = [f for f in evaluation.findings(only="joining") if f.slug == "joining.seams"]
    assert found.verdict.value == "unknown"


def test_a_solid_column_is_asked_for_no_joints(tmp_path: Path) -> None:
    said = begin(Desk(tmp_path / "shop"), answered("metric", kind="solid", joint_thread=""))
    assert "go" in said
    assert "joints" not in (tmp_path / "shop" / "columns" / "column 1.toml").read_text("utf-8")


def test_a_screw_that_is_no_thread_is_blamed_on_its_question(tmp_path: Path) -> None:
    said = begin(Desk(tmp_path / "shop"), answered("metric", joint_thread="M8.5"))
    assert "is not a thread we know" in said["faults"]["joint_thread"]
    said = begin(Desk(tmp_path / "shop"), answered("metric", joint_count="many"))
    assert set(said["faults"]) == {"joint_count"}


@pytest.mark.parametrize(("system", "typed", "height"), [("metric", "520", 0.52), ("inch", "20 1/2", 0.5207)])
def test_a_number_without_a_unit_is_read_as_the_page_says(
    tmp_path: Path, system: str, typed: str, height: float
) -> None:
    desk = Desk(tmp_path / "shop")
    assert "go" in begin(desk, answered(system, height=typed, stud_at="3 in", box="120 mm, 6 in, 80 mm"))
    shop = orthostat.open_shop(tmp_path / "shop")
    assert shop.column("column 1").model.height == pytest.approx(height)
    assert shop.column("column 1").system == system
    other, again = ("inch", "20") if system == "metric" else ("metric", "520")
    # A shop whose own numbers are read otherwise changes nothing of what the page says.
    assert "go" in begin(desk, answered(other, name="column 2", height=again, machine_name="another"))
    second = orthostat.open_shop(tmp_path / "shop").column("column 2").model
    assert second.height == pytest.approx(0.52 if other == "metric" else 0.508)


def test_a_look_says_faults_and_the_other_units_and_writes_nothing(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "shop")
    said = begin(desk, {**answered("metric", across="5 parsecs", height="500"), "look": True})
    assert set(said["faults"]) == {"across"}
    assert said["echoes"]["height"] == "19.7 in"
    assert "across" not in said["echoes"]
    assert not list(tmp_path.rglob("*.toml"))
    begin(desk, answered("metric"))
    said = begin(desk, {**answered("metric"), "look": True})
    assert said["faults"] == {"name": "there is a column of this name"}
