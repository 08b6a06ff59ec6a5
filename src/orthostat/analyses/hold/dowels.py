"""From a pin, key or fixture dowel in the model to one in a joint's plane, with the play of its fits."""

from __future__ import annotations

from math import cos, hypot, sin

from orthostat.analyses.hold.fastener import Dowel
from orthostat.analyses.hold.studs import shear_of
from orthostat.base.dimensions import Metre, Pascal
from orthostat.catalogue import UnknownRow, fit
from orthostat.model.bodies import Point2
from orthostat.model.column import Pin
from orthostat.model.materials import Material
from orthostat.model.stations import Station

_BOTH: tuple[Point2, ...] = ((1.0, 0.0), (0.0, 1.0))


def play_of(symbol: str | None, diameter: Metre, hole: Metre | None) -> tuple[Metre, Metre] | None:
    """(least, greatest) diametral play of a fit such as `H7/g6`, or of a stated hole; else `None`."""
    if symbol is not None:
        try:
            pair = fit(symbol, diameter)
        except UnknownRow:
            return None
        return pair.least_clearance, pair.greatest_clearance
    if hole is not None:
        return Metre(hole - diameter), Metre(hole - diameter)
    return None


def bearing_of(material: Material | None) -> Pascal | None:
    """What the wall of a pin's hole bears: its yield strength, or its limiting surface pressure."""
    if material is None:
        return None
    return material.yield_strength or material.bearing_limit


def dowel_of_pin(pin: Pin, upper: Material | None, lower: Material | None) -> Dowel:
    """A pin or key of the stack; a relieved pin or key with no direction stated locates nothing."""
    if pin.kind == "round":
        directions = _BOTH
    elif pin.direction is not None:
        directions = ((cos(pin.direction), sin(pin.direction)),)
    else:
        directions = ()
    return Dowel(
        name=pin.name,
        path=pin.path,
        at=pin.at,
        directions=directions,
        diameter=pin.diameter,
        removable_play=play_of(pin.fit_above, pin.diameter, pin.hole_above),
        fixed_play=play_of(pin.fit_below, pin.diameter, pin.hole_below),
        length_above=pin.length_above,
        length_below=pin.length_below,
        shear_strength=pin.shear_strength or shear_of(pin.material),
        bearing_above=bearing_of(upper),
        bearing_below=bearing_of(lower),
        round=pin.kind == "round",
    )


def dowel_of_station(
    station: Station, number: int, fixture: Material | None, plate: Material | None
) -> Dowel:
    """A fixture's dowel: pressed into the fixture, fitted into the face, of a station whose places are those
    of the joint's plane. A relieved one locates across the line to the round one.
    """
    dowel = station.dowels[number]
    directions = _BOTH
    if dowel.relieved:
        partner = next((each for each in station.dowels if not each.relieved), None)
        directions = ()
        if partner is not None:
            along = (dowel.at[0] - partner.at[0], dowel.at[1] - partner.at[1])
            length = hypot(*along)
            if length > 0.0:
                directions = ((-along[1] / length, along[0] / length),)
    play = play_of(dowel.fit, dowel.diameter, None)
    return Dowel(
        name=f"dowel {number + 1}",
        path=dowel.path or f"{station.path}.dowels[{number}]",
        at=dowel.at,
        directions=directions,
        diameter=dowel.diameter,
        removable_play=play,
        fixed_play=(Metre(0.0), Metre(0.0)),
        length_above=dowel.length_above,
        length_below=dowel.engagement,
        shear_strength=dowel.shear_strength or shear_of(dowel.material),
        bearing_above=bearing_of(fixture),
        bearing_below=bearing_of(plate),
        round=not dowel.relieved,
    )
