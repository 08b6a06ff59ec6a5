"""Findings of reach: what holds and fails where the answer is known, and what makes it unknown."""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from pathlib import Path

import pytest

import orthostat
from orthostat.base.dimensions import Metre
from orthostat.base.findings import Finding, Verdict
from orthostat.checks import all_rules
from orthostat.evaluation import Evaluation
from orthostat.model.column import Column
from orthostat.model.limits import Limits
from orthostat.model.machine import Magazine

SALTMARSH = Path(__file__).resolve().parents[2] / "examples" / "saltmarsh"
CLEAR = Limits(clearance_radial=Metre(0.002), clearance_axial=Metre(0.001))


def design(name: str) -> Column:
    return orthostat.open_shop(SALTMARSH).column(name).model


SPINDRIFT, SKERRY = design("spindrift"), design("skerry")


def found(made: Column, limits: Limits = CLEAR) -> dict[str, Finding]:
    return {each.slug: each for each in Evaluation(made, limits).findings(only="reach")}


def with_machine(made: Column, **changes: object) -> Column:
    assert made.machine is not None
    return replace(made, machine=replace(made.machine, **changes))  # type: ignore[arg-type]


def test_every_rule_of_reach_arises() -> None:
    assert set(found(SPINDRIFT)) == {rule.slug for rule in all_rules() if rule.subject == "reach"}


def test_a_flush_column_can_not_be_trued_and_says_by_how_much() -> None:
    truing = found(SPINDRIFT)["reach.truing"]
    assert truing.verdict is Verdict.FAILS
    assert len(truing.rows) == 4
    assert truing.worst.value == pytest.approx(-0.005, abs=1e-6)
    says = "shoulder mill 50 comes nearest and misses its lower edge by 5.00 mm (0.197 in): Y travel"
    assert says in truing.worst.why


def test_lower_travel_frees_it_continuously() -> None:
    machine = SPINDRIFT.machine
    assert machine is not None
    assert machine.y_low is not None
    margins = []
    for more in (0.001, 0.002, 0.004):
        lower = with_machine(SPINDRIFT, y_low=Metre(machine.y_low - more))
        margins.append(found(lower)["reach.truing"].worst.value)
    assert margins == pytest.approx([-0.004, -0.003, -0.001], abs=1e-6)
    freed = found(with_machine(SPINDRIFT, y_low=Metre(machine.y_low - 0.006)))["reach.truing"]
    assert freed.verdict is Verdict.HOLDS


def test_a_holder_that_can_not_enter_a_well_fails_with_its_room() -> None:
    findings = found(SPINDRIFT)
    assert findings["reach.cuts"].verdict is Verdict.FAILS
    assert findings["reach.cuts"].worst.value == 0.0
    assert findings["reach.holder"].verdict is Verdict.FAILS
    assert findings["reach.holder"].worst.value == pytest.approx(0.015 - 0.016)
    assert "wall of gland" in findings["reach.holder"].worst.why


def test_tall_neighbours_of_a_hexagon_stop_the_head_and_not_the_holder() -> None:
    findings = found(SKERRY)
    assert findings["reach.cuts"].verdict is Verdict.FAILS
    assert "housing of housing" in findings["reach.cuts"].worst.why
    assert findings["reach.head"].verdict is Verdict.FAILS
    assert findings["reach.holder"].verdict is Verdict.HOLDS
    reached = {row.subject for row in findings["reach.cuts"].rows if row.verdict is Verdict.HOLDS}
    assert reached == {f"holes of plate, face {k}" for k in (1, 3, 5)}


def test_what_is_not_stated_is_unknown_and_never_a_pass() -> None:
    headless = found(with_machine(SKERRY, head_cylinders=(), head_boxes=()))
    assert headless["reach.cuts"].verdict is Verdict.UNKNOWN
    assert headless["reach.head"].worst.depends_on == ("machines.hazel.head_cylinders",)
    assert headless["reach.turn_clear"].verdict is Verdict.UNKNOWN
    no_depth = found(replace(SKERRY, truing_depth=None))["reach.truing"]
    assert no_depth.verdict is Verdict.UNKNOWN
    no_limits = found(with_machine(SKERRY, magazine=Magazine()))["reach.changer"]
    assert no_limits.verdict is Verdict.UNKNOWN


def test_a_face_that_fails_on_what_is_stated_fails_though_the_head_is_not() -> None:
    headless = found(with_machine(SPINDRIFT, head_cylinders=(), head_boxes=()))
    assert headless["reach.truing"].verdict is Verdict.FAILS


def test_the_tool_changer_s_limits_are_kept_apart() -> None:
    rows = found(SPINDRIFT)["reach.changer"].rows
    assert {row.subject for row in rows} == {
        f"{limit} of drill 8.5" for limit in ("diameter", "length", "mass", "tilting moment")
    }
    tight = with_machine(
        SPINDRIFT, magazine=Magazine(diameter=Metre(0.06), diameter_beside_empty=Metre(0.062))
    )
    worst = found(tight)["reach.changer"]
    assert worst.worst.subject == "diameter of drill 8.5"
    assert worst.worst.value == pytest.approx(63.0 / 62.0)


def test_clearances_come_from_the_shop_or_from_common_practice() -> None:
    usual = Evaluation(SPINDRIFT, Limits()).reach.inputs.clearances
    assert (usual.radial, usual.axial, usual.cutting_radial) == (0.002, 0.001, 0.0)
    stated = Evaluation(SPINDRIFT, Limits(clearance_radial=Metre(0.005))).reach.inputs.clearances
    assert (stated.radial, stated.axial) == (0.005, 0.001)


def test_turning_is_measured_from_the_widest_thing_at_the_tool_s_heights() -> None:
    """The left wall's outer corner is 65 mm across and 199 + 120 mm out; the nose gets 720 mm from B."""
    row = found(SPINDRIFT)["reach.turn_clear"].worst
    assert row.value == pytest.approx(0.720 - 0.170 - hypot(0.065, 0.319))
    assert "wall of gland swings" in row.why


def test_a_pallet_that_nobody_stated_is_no_free_way() -> None:
    adrift = replace(SKERRY, pallet=None, platforms=())
    findings = found(adrift)
    assert findings["reach.cuts"].verdict is Verdict.FAILS
    holes = [row for row in findings["reach.cuts"].rows if row.subject.startswith("holes")]
    assert {row.verdict for row in holes} == {Verdict.UNKNOWN}
    assert holes[0].depends_on == ("columns.skerry.pallet",)


def test_a_column_of_plan_and_height_alone_is_a_block() -> None:
    bare = replace(SPINDRIFT, shape_of_body=None, bodies=(), stations=())
    assert found(bare)["reach.truing"].worst.value == pytest.approx(-0.005, abs=1e-6)
    assert found(replace(bare, tools=()))["reach.truing"].verdict is Verdict.UNKNOWN


def test_only_the_tools_that_may_true_a_face_are_asked() -> None:
    """The end mill misses more than the shoulder mill by the difference of their radii; a drill is none."""
    free, told = found(SPINDRIFT), found(replace(SPINDRIFT, truing_tools=("end mill 20",)))
    best = free["reach.truing"].worst.value
    assert best is not None
    assert told["reach.truing"].worst.value == pytest.approx(best - 0.015, abs=1e-6)
    assert all(row.why.startswith("end mill 20 comes nearest") for row in told["reach.truing"].rows)
    none = found(replace(SPINDRIFT, truing_tools=("drill 8.5",)))["reach.truing"]
    assert none.verdict is Verdict.UNKNOWN
    assert none.worst.depends_on == ("columns.spindrift.truing.tools",)


def test_a_lower_edge_with_a_rounding_error_is_the_lower_edge() -> None:
    faces = tuple(replace(face, v_low=Metre(-1e-16)) for face in SPINDRIFT.faces)
    truing = found(replace(SPINDRIFT, faces=faces))["reach.truing"]
    assert all("misses its lower edge by" in row.why for row in truing.rows)
