"""The volumes of a pour, exact and by height: cavity, what displaces fill, and what is left to fill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import asin, cos, pi, sin, sqrt

import numpy as np
import shapely

from orthostat.analyses.pour.inputs import Bar, Former, Inputs
from orthostat.base.dimensions import CubicMetre, Metre, SquareMetre
from orthostat.base.findings import NotStated
from orthostat.model.bodies import Disc, Point2, Section

CIRCLE_SIDES = 64


def ring(former: Former, sides: int = CIRCLE_SIDES) -> tuple[Point2, ...]:
    """A former's outside as a polygon; a circle becomes a regular one of the same area."""
    return ring_of(former.section, sides)


def ring_of(section: Section, sides: int = CIRCLE_SIDES) -> tuple[Point2, ...]:
    """A section as a polygon; a disc becomes a regular one of the same area."""
    if not isinstance(section, Disc):
        return section.points
    (x, z), radius = section.centre, section.radius
    return tuple((x + radius * a, z + radius * b) for a, b in _even(sides))


@lru_cache(maxsize=16)
def _even(sides: int) -> tuple[Point2, ...]:
    """A regular polygon of the area of the unit circle."""
    even = sqrt(2.0 * pi / (sides * sin(2.0 * pi / sides)))
    return tuple((even * cos(2 * pi * k / sides), even * sin(2 * pi * k / sides)) for k in range(sides))


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
    plans = _Plans(cavity, [*(f.section for f in inputs.formers), *(lip.section for lip in inputs.lip)])
    ends = [(f.bottom, f.top) for f in inputs.formers] + [(lip.low, lip.high) for lip in inputs.lip]
    breaks = sorted({inputs.bottom, inputs.top, *(_clipped(h, inputs) for both in ends for h in both)})
    layers = []
    for low, high in pairwise(breaks):
        standing = [k for k, (bottom, top) in enumerate(ends) if bottom < high and top > low]
        layers.append(Layer(low, high, SquareMetre(cavity.area - plans.covered(standing))))
    total = cavity.area * (inputs.top - inputs.bottom)
    each = [
        area * max(0.0, top - bottom) for area, (bottom, top) in zip(plans.areas.tolist(), ends, strict=True)
    ]
    displaced = [Displaced(f.name, CubicMetre(own)) for f, own in zip(inputs.formers, each, strict=False)]
    if inputs.lip:
        displaced.append(Displaced("lip of the lid", CubicMetre(sum(each[len(inputs.formers) :]))))
    bars = sum(_bar_below(bar, inputs.top) for bar in inputs.bars)
    if bars:
        displaced.append(Displaced("anchors", CubicMetre(bars)))
    net = sum(layer.area * (layer.high - layer.low) for layer in layers) - bars
    if net <= 0.0:
        raise NotStated(
            f"{inputs.path}.body", reason="tubes and sleeves fill the whole cavity: there is nothing to pour"
        )
    return Volumes(CubicMetre(total), tuple(displaced), CubicMetre(net), tuple(layers), inputs.bars)


class _Plans:
    """What stands in the cavity, seen from above."""

    def __init__(self, cavity: shapely.Polygon, sections: Sequence[Section]) -> None:
        self._cavity = cavity
        self._shapes = np.array([_shape(section) for section in sections], dtype=object)
        x_low, z_low, x_high, z_high = shapely.bounds(self._shapes).reshape(-1, 4).T
        meet = (x_low[:, None] < x_high) & (z_low[:, None] < z_high)
        self._meet = meet & meet.T
        inside, across = self._shapes.copy(), ~shapely.covers(cavity, self._shapes)
        inside[across] = shapely.intersection(self._shapes[across], cavity)
        self.areas = shapely.area(inside)
        """Of each what lies in the cavity [m²]."""

    def covered(self, some: list[int]) -> float:
        """Area of the cavity that some of them cover; those that meet no other cover their own."""
        alone = self._meet[np.ix_(some, some)].sum(axis=1) == 1
        whole = float(self.areas[some][alone].sum())
        if alone.all():
            return whole
        return whole + float(shapely.union_all(self._shapes[some][~alone]).intersection(self._cavity).area)


def _shape(section: Section) -> shapely.Polygon:
    if not isinstance(section, Disc):
        return shapely.Polygon(section.points)
    return shapely.polygons(section.radius * _CIRCLE + section.centre)


_CIRCLE = np.array(_even(CIRCLE_SIDES))


def _clipped(height: Metre, inputs: Inputs) -> Metre:
    return Metre(min(max(height, inputs.bottom), inputs.top))


def _bar_below(bar: Bar, height: Metre) -> float:
    """Volume of the part of a level bar below a height: length times a circular segment."""
    radius = 0.5 * bar.diameter
    rise = min(max((height - bar.start[1]) / radius, -1.0), 1.0)
    return float(bar.length * radius**2 * (asin(rise) + rise * sqrt(1.0 - rise * rise) + 0.5 * pi))
