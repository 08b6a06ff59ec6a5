"""The study model beside the closed forms of a cantilever and of a tube in torsion, on columns not taught."""

from __future__ import annotations

from functools import cache
from math import cos, pi, sin

import numpy as np

from orthostat.analyses.stiffness.inputs import JointSprings, Place
from orthostat.analyses.stiffness.study import Answer, Ranges, Span, StudyDesign, answer, learn
from orthostat.base.dimensions import KilogramPerCubicMetre, Metre, Pascal, PascalPerMetre, Ratio
from orthostat.model.bodies import Polygon
from orthostat.model.materials import Material
from orthostat.validation.cases import case

SQUARE = ((-0.1, 0.1), (-0.1, -0.1), (0.1, -0.1), (0.1, 0.1))
IRON = Material("iron", KilogramPerCubicMetre(7200.0), Pascal(110e9), Ratio(0.25), path="iron")


@cache
def _bar() -> Answer:
    """A square bar 0.2 by 1.2 m on a foundation of 20 TPa/m, with stations on two opposite faces at 0.9 m."""
    ranges = Ranges(
        4, ("solid",), bases=(False,), lids=(False,), plan=Span(1.0, 1.3), height=Span(5.0, 7.0),
        joint=Span(10.0, 60.0), poisson=Span(0.2, 0.3),
    )  # fmt: skip
    places = tuple(
        Place(
            f"face {k}", "case", k, (0.0, 0.0, 0.1 * side), (side, 0.0, 0.0), (0.0, 0.0, side),
            Polygon(((-0.05, 0.87), (0.05, 0.87), (0.05, 0.93), (-0.05, 0.93))),
        )
        for k, side in ((1, 1.0), (3, -1.0))
    )  # fmt: skip
    foot = JointSprings(PascalPerMetre(2e13), PascalPerMetre(2e13))
    design = StudyDesign(SQUARE, Metre(1.2), IRON, foot, places=places)
    return answer(learn(ranges, columns=6, tried=1, modes=100), design)


@case(
    "Study model, square bar 0.2 by 1.2 m, movement at 0.9 m under a push there",
    expected=17.47,
    unit="nm/N",
    source="timoshenko-1921, h³/(3EI) + h/(KGA), K = 10(1 + ν)/(12 + 11ν) of cowper-1966",
    reason="16.57 of bending, 0.60 of shear and h²/(kI) = 0.30 of the foot; the patch spreads the push over "
    "60 mm, and the few modes of a study give a little less",
    relative=3e-2,
)
def bar_bends() -> float:
    """Outward, of one face under a force on the opposite one, so that the dent there is left out."""
    return 1e9 * abs(float(_bar().compliance[2, 8]))


@case(
    "Study model, square bar 0.2 by 1.2 m, first frequency",
    expected=87.7,
    unit="Hz",
    source="blevins-1979, table 8-1: cantilever, 1.8751²/(2πL²)·√(EI/(ρA))",
    reason="the formula leaves out shear and rotary inertia (some 2 % at six depths) and what the foot gives "
    "(1 %)",
    relative=4e-2,
)
def bar_rings() -> float:
    """The first of the pair that a square bar has."""
    return float(_bar().frequencies[0])


@case(
    "Study model, square tube 0.3 m wide of 15 mm, turn at 0.6 m under a torque",
    expected=37.3,
    unit="nrad/(N m)",
    source="bredt-1896, L/(GJ) with J = 4A²t/s, A the area within the wall's middle line and s its length",
    reason="L runs from the base plate to the middle of the patches; the walls give a little at the patches, "
    "and base plate and lid hold the tube's ends from warping",
    relative=6e-2,
)
def tube_turns() -> float:
    """The torque is four forces along the faces, the turn the mean of the faces' movement along them."""
    half, wall, plate = 0.15, Metre(0.015), Metre(0.03)
    corners = ((-half, half), (-half, -half), (half, -half), (half, half))
    ranges = Ranges(
        4, ("hollow",), lids=(True,), plan=Span(1.0, 1.2), height=Span(2.5, 3.5), wall=Span(0.08, 0.13),
        base=Span(0.08, 0.14), lid=Span(0.08, 0.14), joint=Span(10.0, 60.0), poisson=Span(0.2, 0.3),
    )  # fmt: skip
    patch = Polygon(((-0.1, 0.55), (0.1, 0.55), (0.1, 0.65), (-0.1, 0.65)))
    places = tuple(
        Place(
            f"face {k}", "case", k, (half * sin(turn), 0.0, half * cos(turn)), (cos(turn), 0.0, -sin(turn)),
            (sin(turn), 0.0, cos(turn)), patch,
        )
        for k, turn in enumerate(0.5 * pi * np.arange(4))
    )  # fmt: skip
    foot = JointSprings(PascalPerMetre(2e13), PascalPerMetre(2e13))
    design = StudyDesign(
        corners, Metre(0.9), IRON, foot, walls=(wall,) * 4, base=plate, lid=plate, places=places
    )
    along = np.concatenate([np.concatenate([place.across, np.zeros(3)]) for place in places])
    moved = answer(learn(ranges, columns=20, tried=6, modes=160), design).compliance @ along
    return 1e9 * float(along @ moved) / (4.0 * half) ** 2
