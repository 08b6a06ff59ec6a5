"""The study model beside the closed forms of a cantilever, on columns that it was not taught."""

from __future__ import annotations

from functools import cache

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
