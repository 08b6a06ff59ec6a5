"""The volumes of a pour, exact and by height: cavity, what displaces fill, and what is left to fill."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import asin, cos, pi, sin, sqrt

import shapely

from orthostat.analyses.pour.inputs import Bar, Former, Inputs
from orthostat.base.dimensions import CubicMetre, Metre, SquareMetre
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Disc, Point2, Prism

CIRCLE_SIDES = 64


def ring(former: Former, sides: int = CIRCLE_SIDES) -> tuple[Point2, ...]:
    """A former's outside as a polygon; a circle becomes a regular one of the same area."""
    return former.section.points if not isinstance(former.section, Disc) else ring_of(former.section, sides)


def ring_of(disc: Disc, sides: int = CIRCLE_SIDES) -> tuple[Point2, ...]:
    """A disc as a regular polygon of the same area."""
    (x, z), radius = disc.centre, disc.radius
    even = radius * sqrt(2.0 * pi / (sides * sin(2.0 * pi / sides)))
    return tuple(
        (x + even * cos(2 * pi * k / sides), z + even * sin(2 * pi * k / sides)) for k in range(sides)
    )


@dataclass(frozen=True, slots=True)
class Layer:
    """A range of heights over which the plan of the fill does not change (anchors apart)."""

    low: Metre
    high: Metre
    area: SquareMetre


@dataclass(frozen=True, slots=True)
class Displaced:
    """What one former or all anchors keep out of the fill."""

    name: str
    volume: CubicMetre


@dataclass(frozen=True, slots=True)
class Volumes:
    """Cavity = displaced + net. `below` and `height_of` plan lifts and batches."""

    cavity: CubicMetre
    displaced: tuple[Displaced, ...]
    net: CubicMetre
    layers: tuple[Layer, ...]
    bars: tuple[Bar, ...]

    def below(self, height: Metre) -> CubicMetre:
        """Net volume of fill below a height above the pallet top [m³]."""
        poured = sum(layer.area * max(0.0, min(height, layer.high) - layer.low) for layer in self.layers)
        return CubicMetre(poured - sum(_bar_below(bar, height) for bar in self.bars))

    def height_of(self, volume: CubicMetre) -> Metre:
        """Height that a net volume fills the form to [m]; its top if it is more than the form holds."""
        low, high = self.layers[0].low, self.layers[-1].high
        if volume >= self.net:
            return high
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (Metre(middle), high) if self.below(Metre(middle)) < volume else (low, Metre(middle))
        return Metre(0.5 * (low + high))


def volumes(inputs: Inputs) -> Volumes:
    """Volumes of the form. Raises `NotStated` where nothing is left to fill."""
    cavity = shapely.Polygon(inputs.cavity.points)
    if inputs.top <= inputs.bottom or cavity.area <= 0.0:
        raise NotStated(f"{inputs.path}.body", reason="the cavity has no height or no plan")
    rings = {id(former): shapely.Polygon(ring(former)) for former in inputs.formers}
    lips = [(prism, shapely.Polygon(_corners(prism))) for prism in inputs.lip]
    ends = [h for f in inputs.formers for h in (f.bottom, f.top)] + [
        h for p in inputs.lip for h in (p.low, p.high)
    ]
    breaks = sorted({inputs.bottom, inputs.top, *(_clipped(h, inputs) for h in ends)})
    layers = []
    for low, high in pairwise(breaks):
        standing = [rings[id(f)] for f in inputs.formers if f.bottom < high and f.top > low]
        standing += [plan for prism, plan in lips if prism.low < high and prism.high > low]
        area = cavity.difference(shapely.unary_union(standing)).area if standing else cavity.area
        layers.append(Layer(low, high, SquareMetre(area)))
    total = cavity.area * (inputs.top - inputs.bottom)
    displaced = [
        Displaced(f.name, CubicMetre(rings[id(f)].intersection(cavity).area * max(0.0, f.top - f.bottom)))
        for f in inputs.formers
    ]
    if lips:
        sunk = sum(plan.intersection(cavity).area * (prism.high - prism.low) for prism, plan in lips)
        displaced.append(Displaced("lip of the lid", CubicMetre(sunk)))
    bars = sum(_bar_below(bar, inputs.top) for bar in inputs.bars)
    if bars:
        displaced.append(Displaced("anchors", CubicMetre(bars)))
    net = sum(layer.area * (layer.high - layer.low) for layer in layers) - bars
    if net <= 0.0:
        raise NotStated(
            f"{inputs.path}.body", reason="tubes and sleeves fill the whole cavity: there is nothing to pour"
        )
    return Volumes(CubicMetre(total), tuple(displaced), CubicMetre(net), tuple(layers), inputs.bars)


def _corners(prism: Prism) -> tuple[Point2, ...]:
    if isinstance(prism.section, Disc):
        return ring_of(prism.section)
    return prism.section.points


def _clipped(height: Metre, inputs: Inputs) -> Metre:
    return Metre(min(max(height, inputs.bottom), inputs.top))


def _bar_below(bar: Bar, height: Metre) -> float:
    """Volume of the part of a level bar below a height: length times a circular segment."""
    radius = 0.5 * bar.diameter
    rise = min(max((height - bar.start[1]) / radius, -1.0), 1.0)
    return float(bar.length * radius**2 * (asin(rise) + rise * sqrt(1.0 - rise * rise) + 0.5 * pi))
