"""The outside of a body that is painted: where it lies, and that it moves as the body does."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

import columns
from orthostat.analyses.stiffness.column_inputs import body_inputs
from orthostat.analyses.stiffness.hardest import hardest
from orthostat.analyses.stiffness.inputs import CutForce, Fineness, JointSprings
from orthostat.analyses.stiffness.one_body import movements, solve_body
from orthostat.analyses.stiffness.outside import outside_of
from orthostat.base.dimensions import PascalPerMetre, Radian, Ratio
from orthostat.presentation.contours import areas_of

JOINT = JointSprings(PascalPerMetre(3e11), PascalPerMetre(1.5e11), loss_factor=Ratio(0.02))
FINENESS = Fineness(Ratio(0.3), Ratio(0.6))
INPUTS = {
    "square": replace(body_inputs(columns.square_filled(), joint=JOINT), fineness=FINENESS),
    "slab": replace(body_inputs(columns.slab(), joint=JOINT), fineness=FINENESS),
    "loose": replace(body_inputs(columns.square_filled(), joint=JOINT), fineness=FINENESS, sliding=True),
}


@pytest.mark.parametrize("name", INPUTS)
def test_triangles_are_seen_from_outside_and_close_but_for_the_underside(name: str) -> None:
    """The areas of a closed surface, as vectors, sum to zero; here to the underside that is left out."""
    made = outside_of(INPUTS[name])
    a, b, c = (made.points[made.triangles[:, k]] for k in range(3))
    vectors = 0.5 * np.cross(b - a, c - a)
    middles = (a + b + c) / 3.0
    upward = np.abs(vectors[:, 1]) > 0.5 * np.linalg.norm(vectors, axis=1)
    assert np.all(vectors[upward, 1] > 0.0)
    assert vectors[:, [0, 2]].sum(axis=0) == pytest.approx([0.0, 0.0], abs=1e-12)
    side = vectors[~upward][:, [0, 2]]
    assert np.all(np.einsum("ij,ij->i", side, middles[~upward][:, [0, 2]]) > 0.0)
    height = float(np.ptp(made.points[:, 1]))
    assert areas_of(made.points, made.triangles).sum() > height * INPUTS[name].width * 2.0


@pytest.mark.parametrize("name", INPUTS)
def test_modes_are_those_of_the_body(name: str) -> None:
    body, made = solve_body(INPUTS[name]), outside_of(INPUTS[name])
    assert np.sqrt(made.squares) / (2.0 * pi) == pytest.approx([m.frequency for m in body.modes], rel=1e-9)
    place = {tuple(point): k for k, point in enumerate(np.round(made.points, 9).tolist())}
    shared = [place[tuple(point)] for point in np.round(body.skin.points, 9).tolist()]
    for shape, coarse in zip(made.shapes, body.shapes, strict=True):
        seen = shape[shared]
        # The same shape; only what its largest movement is scaled by may differ, and by little.
        ratio = float(np.sum(seen * coarse) / np.sum(coarse * coarse))
        assert 0.5 < abs(ratio) <= 1.0 + 1e-9
        assert seen == pytest.approx(ratio * coarse, abs=1e-9)
        assert np.linalg.norm(shape, axis=1).max() == pytest.approx(1.0)


def test_the_middle_of_an_edge_lies_between_its_ends_and_bends_with_them() -> None:
    """Along a wall the painted movement is smooth: a middle differs from the mean of its neighbours by less
    than the neighbours from one another.
    """
    made = outside_of(INPUTS["square"])
    first = made.shapes[0]
    corner = made.points[:, [0, 2]].max(axis=0)
    edge = np.flatnonzero(np.all(np.abs(made.points[:, [0, 2]] - corner) < 1e-9, axis=1))
    edge = edge[np.argsort(made.points[edge, 1])]
    assert len(edge) >= 5
    along = first[edge]
    bend = np.linalg.norm(along[:-2] - 2.0 * along[1:-1] + along[2:], axis=1)
    rise = np.linalg.norm(along[2:] - along[:-2], axis=1)
    assert np.all(bend <= rise + 1e-9)


def test_a_force_moves_the_outside_as_it_moves_the_station() -> None:
    """At the middle of a station's patch the outside moves as the patch does on the average, nearly."""
    inputs = INPUTS["square"]
    body, made = solve_body(inputs), outside_of(inputs)
    for k, place in enumerate(inputs.places):
        at, out = np.asarray(body.ports.centre(k)), np.asarray(place.out)
        near = int(np.argmin(np.linalg.norm(made.points - at, axis=1)))
        beside = float(np.linalg.norm(made.points[near] - at))
        field = np.tensordot(out, made.statics[6 * k : 6 * k + 3], axes=1)
        own = body.ports.static(k, body.ports.centre(k)) @ out
        assert float(field[near] @ out) == pytest.approx(float(own @ out), rel=0.02 + 4.0 * beside)


def test_the_hardest_direction_is_what_the_movement_is_told_for() -> None:
    inputs = INPUTS["square"]
    ports = solve_body(inputs).ports
    place = inputs.places[0]
    cut = CutForce("c", "c", 0, ports.centre(0), place.across, place.out, 400.0, 200.0, torque=3.0)
    push = hardest(ports, cut)
    assert np.linalg.norm(push.moved) == pytest.approx(movements(ports, (cut,))[0].total)
    for angle in np.linspace(0.0, 2.0 * pi, 17):
        other = hardest(ports, replace(cut, direction=Radian(float(angle))))
        assert np.linalg.norm(other.moved) <= np.linalg.norm(push.moved) * 1.01
