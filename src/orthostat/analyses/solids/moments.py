"""Moments of prisms: volume, first and second moments about the column's origin, exact and additive."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from orthostat.base.dimensions import KilogramSquareMetre
from orthostat.formulas.polygons import disc_moments, polygon_moments
from orthostat.model.bodies import Disc, Prism

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


@lru_cache(maxsize=8192)
def prism_moments(prism: Prism) -> Moments:
    """Volume moments of one prism about the column's origin.

    The section's area moments times the height, turned into the column frame, with the parallel-axis theorem.
    """
    section, frame = prism.section, prism.frame
    flat = disc_moments(section.radius) if isinstance(section, Disc) else polygon_moments(section.points)
    a, b = section.centre if isinstance(section, Disc) else (flat.a, flat.b)
    height = prism.high - prism.low
    volume = flat.area * height
    aa, bb, ab = flat.aa * height, flat.bb * height, flat.ab * height
    cc = volume * height * height / 12.0
    x, y, z = frame.point(a, b, 0.5 * (prism.low + prism.high))
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = frame.first, frame.second, frame.third
    return Moments(
        volume,
        volume * x,
        volume * y,
        volume * z,
        aa * ax * ax + bb * bx * bx + cc * cx * cx + 2.0 * ab * ax * bx + volume * x * x,
        aa * ay * ay + bb * by * by + cc * cy * cy + 2.0 * ab * ay * by + volume * y * y,
        aa * az * az + bb * bz * bz + cc * cz * cz + 2.0 * ab * az * bz + volume * z * z,
        aa * ax * ay + bb * bx * by + cc * cx * cy + ab * (ax * by + ay * bx) + volume * x * y,
        aa * ay * az + bb * by * bz + cc * cy * cz + ab * (ay * bz + az * by) + volume * y * z,
        aa * az * ax + bb * bz * bx + cc * cz * cx + ab * (az * bx + ax * bz) + volume * z * x,
    )
