"""Signed distances of prisms, against closed forms and against a linear programme on the same solids."""

from math import cos, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import linprog

from orthostat.analyses.fit.clashes import room_in_cuts
from orthostat.analyses.fit.sections import inset
from orthostat.analyses.fit.separation import separation
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import PLAN, Frame, face_frame
from orthostat.model.bodies import Disc, Polygon, Prism, Section


def regular(sides: int, radius: float, a: float = 0.0, b: float = 0.0, turn: float = 0.0) -> Polygon:
    angles = (turn + 2 * pi * k / sides for k in range(sides))
    return Polygon(tuple((a + radius * cos(t), b + radius * sin(t)) for t in angles))


def prism(section: Section, low: float, high: float, frame: Frame = PLAN) -> Prism:
    return Prism(section, Metre(low), Metre(high), frame)


def disc(a: float, b: float, radius: float) -> Disc:
    return Disc((a, b), Metre(radius))


BOX = prism(Polygon(((0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0))), 0.0, 1.0)


@pytest.mark.parametrize(
    ("other", "gap"),
    [
        (prism(Polygon(((3.0, 0.0), (4.0, 0.0), (4.0, 1.0), (3.0, 1.0))), 0.0, 1.0), 1.0),
        (prism(Polygon(((2.0, 0.0), (4.0, 0.0), (4.0, 1.0), (2.0, 1.0))), 0.0, 1.0), 0.0),
        (prism(Polygon(((1.7, 0.0), (4.0, 0.0), (4.0, 1.0), (1.7, 1.0))), 0.0, 1.0), -0.3),
        (prism(disc(3.0, 2.0, 0.5), 0.2, 0.8), sqrt(2.0) - 0.5),
        (prism(disc(3.0, 0.5, 1.0), 0.0, 1.0), 0.0),
        (prism(disc(2.5, 0.5, 1.0), 0.9, 3.0), -0.1),
        (prism(disc(0.0, 0.0, 0.5), 1.25, 2.0), 0.25),
    ],
)
def test_gap_of_parallel_prisms(other: Prism, gap: float) -> None:
    assert separation(BOX, other) == pytest.approx(gap, abs=1e-12)
    assert separation(other, BOX) == pytest.approx(gap, abs=1e-12)


@pytest.mark.parametrize("offset", [0.35, 0.3, 0.25])
def test_gap_of_crossing_cylinders_is_that_of_their_axes(offset: float) -> None:
    """Two long cylinders at right angles: axis distance less both radii."""
    upright = prism(disc(0.0, 0.0, 0.1), -2.0, 2.0)
    level = prism(disc(offset, 0.0, 0.2), -2.0, 2.0, face_frame(Radian(0.0), Metre(0.0)))
    assert separation(upright, level) == pytest.approx(offset - 0.3, abs=1e-9)


def test_a_rod_end_beside_a_cylinder() -> None:
    """A rod that ends just short of an upright cylinder, off its middle: corner to round."""
    upright = prism(disc(0.0, 0.0, 0.1), 0.0, 1.0)
    frame = face_frame(Radian(0.0), Metre(0.0))
    rod = prism(disc(0.11, 0.5, 0.03), 0.06, 1.0, frame)
    nearest = min(sqrt(u * u + 0.06**2) for u in (0.08, 0.14)) - 0.1
    assert nearest == pytest.approx(0.0, abs=1e-12)
    assert separation(upright, rod) == pytest.approx(0.0, abs=2e-6)
    deeper = prism(disc(0.11, 0.5, 0.03), 0.059, 1.0, frame)
    assert -0.001 < separation(upright, deeper) < -1e-5


def halfspaces(solid: Prism, grown: float = 1.0) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The solid as A x ≤ b; a disc as a regular 48-gon, around it (grown 1) or inside it (grown < 1)."""
    section = solid.section
    frame = solid.frame
    first, second, third = map(np.array, (frame.first, frame.second, frame.third))
    origin = np.array(frame.origin)
    if isinstance(section, Disc):
        t = 2 * pi * np.arange(48) / 48
        normals, offsets = np.stack([np.cos(t), np.sin(t)], axis=1), np.full(48, section.radius * grown)
        offsets = offsets + normals @ np.array(section.centre)
    else:
        points = np.array(section.points)
        along = np.roll(points, -1, axis=0) - points
        normals = np.stack([along[:, 1], -along[:, 0]], axis=1)
        offsets = (normals * points).sum(axis=1)
    a = normals[:, :1] * first + normals[:, 1:] * second
    rows = np.vstack([a, third, -third])
    b = np.concatenate([offsets + a @ origin, [solid.high + third @ origin, -solid.low - third @ origin]])
    return rows, b


def meets(one: Prism, other: Prism, grown: float) -> bool:
    (a, b), (c, d) = halfspaces(one, grown), halfspaces(other, grown)
    found = linprog(np.zeros(3), np.vstack([a, c]), np.concatenate([b, d]), bounds=(None, None))
    return bool(found.status == 0)


SIZES = st.floats(0.05, 0.6)
PLACES = st.floats(-0.8, 0.8)
SECTIONS = st.one_of(
    st.builds(disc, PLACES, PLACES, SIZES),
    st.builds(regular, st.integers(3, 7), SIZES, PLACES, PLACES, st.floats(0.0, 1.0)),
)
FRAMES = st.one_of(
    st.just(PLAN),
    st.builds(lambda t, d: face_frame(Radian(t), Metre(d)), st.floats(0.0, 6.2), st.floats(-0.5, 0.5)),
)
PRISMS = st.builds(lambda s, low, h, f: prism(s, low, low + h, f), SECTIONS, PLACES, SIZES, FRAMES)


@given(PRISMS, PRISMS)
def test_the_sign_agrees_with_a_linear_programme(one: Prism, other: Prism) -> None:
    gap = separation(one, other)
    assume(abs(gap) > 1e-6)
    if meets(one, other, cos(pi / 48)):  # polygons inside the discs already meet
        assert gap < 0.0
    elif not meets(one, other, 1.0):  # polygons around the discs still miss
        assert gap > 0.0


@given(PRISMS, PRISMS)
def test_distance_is_symmetric(one: Prism, other: Prism) -> None:
    assert separation(one, other) == pytest.approx(separation(other, one), abs=1e-4)


@given(PRISMS, PRISMS, st.floats(1e-6, 1e-3))
def test_distance_changes_no_faster_than_the_body_moves(one: Prism, other: Prism, step: float) -> None:
    moved = Prism(other.section, Metre(other.low + step), Metre(other.high + step), other.frame)
    assert abs(separation(one, moved) - separation(one, other)) <= step + 1e-4


@pytest.mark.parametrize(
    ("inner", "within", "room"),
    [
        (disc(0.1, 0.0, 0.2), disc(0.0, 0.0, 0.5), 0.2),
        (disc(0.4, 0.0, 0.2), disc(0.0, 0.0, 0.5), -0.1),
        (regular(4, 0.3), disc(0.0, 0.0, 0.5), 0.2),
        (disc(0.0, 0.0, 0.2), regular(4, 1.0), sqrt(0.5) - 0.2),
        (regular(4, 0.5), regular(4, 1.0), 0.5 * sqrt(0.5)),
    ],
)
def test_inset(inner: Section, within: Section, room: float) -> None:
    assert inset(inner, within) == pytest.approx(room)


def test_a_counterbore_holds_by_its_narrowest_step() -> None:
    plate = prism(regular(4, 1.0), 0.0, 0.03)
    bore, counterbore = prism(disc(0.0, 0.0, 0.009), 0.0, 0.02), prism(disc(0.0, 0.0, 0.015), 0.02, 0.03)
    stud = prism(disc(0.0, 0.0, 0.008), -0.05, 0.2)
    assert room_in_cuts(stud, plate, (bore, counterbore)) == pytest.approx(0.001)
    assert room_in_cuts(stud, plate, (counterbore,)) == float("-inf")
    assert room_in_cuts(stud, plate, ()) == float("-inf")
    off = prism(disc(0.003, 0.0, 0.008), -0.05, 0.2)
    assert room_in_cuts(off, plate, (bore, counterbore)) == pytest.approx(-0.002)
