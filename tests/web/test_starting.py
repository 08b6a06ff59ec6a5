"""The guided start's answers become documents that can be read, whatever is asked and left out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import orthostat
from orthostat.web.desk import Desk
from orthostat.web.starting import STEPS, begin


def answered(system: str, **changed: str) -> dict[str, Any]:
    usual = {question.id: question.usual(system) for step in STEPS for question in step.questions}
    return {"answers": {**usual, **changed}, "touched": list(changed)}


@pytest.mark.parametrize("system", ["metric", "inch"])
@pytest.mark.parametrize("shape", ["square", "slab", "hexagon", "triangle"])
@pytest.mark.parametrize("joined", ["screws", "welds", "glue"])
def test_plates_are_joined_as_answered_and_marked_assumed(
    tmp_path: Path, system: str, shape: str, joined: str
) -> None:
    folder = tmp_path / "shop"
    said = begin(Desk(folder), answered(system, shape=shape, joined=joined))
    assert said == {"go": "/column/column%201"}
    text = (folder / "columns" / "column 1.toml").read_text("utf-8")
    column = orthostat.open_shop(folder).column("column 1").model
    (joint,) = column.joints
    assert joint.how == {"screws": "screwed", "welds": "welded", "glue": "glued"}[joined]
    assert len(joint.joiners) == (5 * len(column.faces) if joined == "screws" else 0)
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
