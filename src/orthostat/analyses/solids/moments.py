"""Moments of prisms: volume, first and second moments about the column's origin, exact and additive."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from orthostat.base.dimensions import KilogramSquareMetre
from orthostat.formulas.polygons import disc_moments, polygon_moments
from orthostat.model.bodies import Disc, Point2, Prism, Section

Array = NDArray[np.float64]

Tensor = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]


class Moments(NamedTuple):
    """Zeroth, first and second moments about the column's origin, of volume or of mass.

    `total` [m³ or kg]; `x`, `y`, `z` = ∫x dm … [· m]; `xx` = ∫x² dm … `zx` = ∫zx dm [· m²].
    Moments of parts add up to those of the whole.
    """

    total: float = 0.0
    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    xx: float = 0.0
    yy: float = 0.0
    zz: float = 0.0
    xy: float = 0.0
    yz: float = 0.0
    zx: float = 0.0

    def plus(self, other: Moments, times: float = 1.0) -> Moments:
        """These moments and `times` the other's."""
        return Moments(*(mine + times * theirs for mine, theirs in zip(self, other, strict=True)))

    def times(self, factor: float) -> Moments:
        """Scaled, as by a density."""
        return Moments(*(factor * mine for mine in self))

    @property
    def centre(self) -> tuple[float, float, float]:
        """Centroid or centre of gravity (x, y, z) [m]. Raises `ZeroDivisionError` for nothing at all."""
        return self.x / self.total, self.y / self.total, self.z / self.total

    @property
    def about_b_axis(self) -> KilogramSquareMetre:
        """∫(x² + z²) dm: moment of inertia about the B axis."""
        return KilogramSquareMetre(self.xx + self.zz)

    @property
    def inertia(self) -> Tensor:
        """Inertia tensor about the centre of gravity, axes x, y, z (products with their minus sign)."""
        total, (x, y, z) = self.total, self.centre
        xx, yy, zz = self.xx - total * x * x, self.yy - total * y * y, self.zz - total * z * z
        xy, yz, zx = self.xy - total * x * y, self.yz - total * y * z, self.zx - total * z * x
        return ((yy + zz, -xy, -zx), (-xy, zz + xx, -yz), (-zx, -yz, xx + yy))


def total(parts: Iterable[Moments]) -> Moments:
    """The sum of moments; exact zeros for no parts."""
    columns = tuple(zip(*parts, strict=True))
    return Moments(*map(sum, columns)) if columns else Moments()


def prism_moments(prism: Prism) -> Moments:
    """Volume moments of one prism about the column's origin."""
    return Moments(*moments_of((prism,))[0].tolist())


def moments_of(prisms: Sequence[Prism]) -> Array:
    """Volume moments about the column's origin (n, 10), a row for each prism as `Moments` has them.

    The section's area moments times the height, turned into the column frame, with the parallel-axis theorem:
    of all prisms in one go, as an edit mostly changes hundreds.
    """
    rows = chain.from_iterable((*_flat(prism.section), prism.low, prism.high) for prism in prisms)
    area, a, b, aa, bb, ab, low, high = np.fromiter(rows, float, 8 * len(prisms)).reshape(-1, 8).T
    height = high - low
    volume = area * height
    cc = volume * height * height / 12.0
    none = np.zeros_like(volume)
    own = np.array([[aa * height, ab * height, none], [ab * height, bb * height, none], [none, none, cc]])
    frames = frames_of(prisms)
    turn = frames[:, 1:]
    middle = frames[:, 0] + np.einsum("in,nij->nj", np.array([a, b, 0.5 * (low + high)]), turn)
    first = volume[:, None] * middle
    second = turn.transpose(0, 2, 1) @ own.transpose(2, 0, 1) @ turn + first[:, :, None] * middle[:, None]
    return np.column_stack((volume, first, second[:, (0, 1, 2, 0, 1, 2), (0, 1, 2, 1, 2, 0)]))


def frames_of(prisms: Sequence[Prism]) -> Array:
    """Origin and three axes of the frame of each prism (n, 4, 3); most share one of a few frames."""
    frames = {id(prism.frame): prism.frame for prism in prisms}
    rows = dict(zip(frames, range(len(frames)), strict=True))
    axes = np.array([(f.origin, f.first, f.second, f.third) for f in frames.values()])
    made: Array = axes[[rows[id(prism.frame)] for prism in prisms]]
    return made


def _flat(section: Section) -> tuple[float, ...]:
    if isinstance(section, Disc):
        area, _, _, aa, bb, ab = _disc(section.radius)
        return area, *section.centre, aa, bb, ab
    return _polygon(section.points)


@lru_cache(maxsize=4096)
def _polygon(points: tuple[Point2, ...]) -> tuple[float, ...]:
    return tuple(polygon_moments(points))


_disc = lru_cache(maxsize=1024)(disc_moments)
