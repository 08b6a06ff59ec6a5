"""Moments of prisms: volume, first and second moments about the column's origin, exact and additive."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from orthostat.base.dimensions import KilogramSquareMetre
from orthostat.base.frames import Frame
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


def prism_moments(prism: Prism) -> Moments:
    """Volume moments of one prism about the column's origin."""
    return signed_moments([(1.0, prism)])


def signed_moments(parts: Iterable[tuple[float, Prism]]) -> Moments:
    """Volume moments about the column's origin of prisms, each times its sign.

    Summed in each frame about its own origin first, as most bodies have many prisms of few frames.
    """
    frames: dict[int, tuple[Frame, list[tuple[float, ...]]]] = {}
    for sign, prism in parts:
        frames.setdefault(id(prism.frame), (prism.frame, []))[1].append(_in_frame(prism, sign))
    turned = [
        _in_column(frame, *(rows[0] if len(rows) == 1 else map(sum, zip(*rows, strict=True))))
        for frame, rows in frames.values()
    ]
    return turned[0] if len(turned) == 1 else total(turned)


def _in_frame(prism: Prism, sign: float) -> tuple[float, ...]:
    """Moments in the prism's own frame about its origin: the section's times the height; parallel axes."""
    section, height = prism.section, prism.high - prism.low
    if isinstance(section, Disc):
        (a, b), (area, _, _, aa, bb, ab) = section.centre, _disc(section.radius)
    else:
        area, a, b, aa, bb, ab = _polygon(section.points)
    c, tall = 0.5 * (prism.low + prism.high), sign * height
    v = area * tall
    va, vb, vc = v * a, v * b, v * c
    return (
        v, va, vb, vc, aa * tall + va * a, bb * tall + vb * b, v * height * height / 12.0 + vc * c,
        ab * tall + va * b, vb * c, vc * a,
    )  # fmt: skip


def _in_column(
    frame: Frame,
    v: float, a: float, b: float, c: float,
    aa: float, bb: float, cc: float, ab: float, bc: float, ca: float,
) -> Moments:  # fmt: skip
    """Moments about a frame's origin along its axes, as those about the column's along the column's."""
    (ox, oy, oz), (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (
        frame.origin, frame.first, frame.second, frame.third
    )  # fmt: skip
    x, y, z = ax * a + bx * b + cx * c, ay * a + by * b + cy * c, az * a + bz * b + cz * c
    # The tensor times each of the column's axes.
    ux, vx, wx = aa * ax + ab * bx + ca * cx, ab * ax + bb * bx + bc * cx, ca * ax + bc * bx + cc * cx
    uy, vy, wy = aa * ay + ab * by + ca * cy, ab * ay + bb * by + bc * cy, ca * ay + bc * by + cc * cy
    uz, vz, wz = aa * az + ab * bz + ca * cz, ab * az + bb * bz + bc * cz, ca * az + bc * bz + cc * cz
    px, py, pz = x + v * ox, y + v * oy, z + v * oz
    return Moments(
        v, px, py, pz,
        ax * ux + bx * vx + cx * wx + ox * (x + px),
        ay * uy + by * vy + cy * wy + oy * (y + py),
        az * uz + bz * vz + cz * wz + oz * (z + pz),
        ax * uy + bx * vy + cx * wy + ox * py + oy * x,
        ay * uz + by * vz + cy * wz + oy * pz + oz * y,
        az * ux + bz * vx + cz * wx + oz * px + ox * z,
    )  # fmt: skip


# Screws and holes of one size are many, and outlines outlast most edits.
_disc = lru_cache(maxsize=1024)(disc_moments)
_polygon = lru_cache(maxsize=4096)(polygon_moments)
