"""Weights of plate, bar and tube as steel tables print them, through bodies and solids."""

from __future__ import annotations

from orthostat import catalogue
from orthostat.analyses import solids
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Body, Disc, Polygon, Prism, Role
from orthostat.validation.cases import case

PRINTED = "the table prints three figures"


def _mass(section: Disc | Polygon, height: float, hole: Disc | None = None) -> float:
    whole = Prism(section, Metre(0.0), Metre(height))
    cuts = () if hole is None else (Prism(hole, Metre(0.0), Metre(height)),)
    body = Body("piece", Role.PLATE, (whole,), cuts, catalogue.material("steel S235"))
    return solids.solve(solids.Inputs((body,))).own[0].mass


@case(
    "a square metre of 25 mm steel plate",
    expected=196.0,
    unit="kg",
    tolerance=0.5,
    reason=PRINTED,
    source="en-10029, table of nominal mass, 7.85 kg/m2 for each mm; from memory",
)
def plate() -> float:
    """Mass of one square metre."""
    return _mass(Polygon(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))), 0.025)


@case(
    "a metre of 12 mm round bar",
    expected=0.888,
    unit="kg",
    tolerance=0.0005,
    reason=PRINTED,
    source="en-10060, table 1; from memory",
)
def bar() -> float:
    """Mass of one metre."""
    return _mass(Disc((0.0, 0.0), Metre(0.006)), 1.0)


@case(
    "a metre of tube 28 x 4",
    expected=2.37,
    unit="kg",
    tolerance=0.005,
    reason=PRINTED,
    source="en-10305-1, table of masses; from memory",
)
def tube() -> float:
    """Mass of one metre."""
    return _mass(Disc((0.0, 0.0), Metre(0.014)), 1.0, Disc((0.0, 0.0), Metre(0.010)))
