"""What cuts and motions do to the seam between walls and base plate, where no stud presses it together.

Screws are a group of equal springs without help of the pressed faces, a weld is a line round the walls
with its throat; weight is left out. All three are on the safe side.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np
import numpy.typing as npt

from orthostat.analyses.joining.inputs import Inputs
from orthostat.analyses.joining.screws import use_of
from orthostat.analyses.loads import Result as Loads
from orthostat.base.dimensions import Metre, Newton, Ratio
from orthostat.base.findings import Gap, NotStated, stated
from orthostat.model.bodies import Disc, Point2, Polygon
from orthostat.model.joining import BASE, Joint

Floats = npt.NDArray[np.float64]
POINTS = 96
"""Points that stand for a weld round the walls."""


@dataclass(frozen=True, slots=True)
class Borne:
    """One load at its worst: the screw (or the millimetre of weld) that carries most."""

    load: str
    joint: Joint
    tension: Newton
    shear: Newton
    use: Ratio | Gap

    @property
    def subject(self) -> str:
        """Whose row it is."""
        return self.load


def level_of(inputs: Inputs) -> float | None:
    """Height of the seam's plane [m]; `None` where studs press it together or nothing is joined there."""
    seams = [seam for seam in inputs.seams if seam.kind == BASE]
    if not seams or any(seam.clamped or seam.outer != "base plate" for seam in seams):
        return None
    return max(float(prism.high) for prism in inputs.body("base plate").adds)


def borne(inputs: Inputs, outline: Polygon, loads: Loads) -> tuple[Borne, ...]:
    """Every load on the seam by the first joint that is screwed or welded there."""
    level = level_of(inputs)
    joint = next((j for j in inputs.joints if j.kind == BASE and j.how in ("screwed", "welded")), None)
    if level is None or joint is None or joint.missing:
        return ()
    screws = [each.hole.section.centre for each in joint.joiners if isinstance(each.hole.section, Disc)]
    places = np.array(screws if joint.how == "screwed" else _round(outline.points))
    listed = [(cut.label, cut.wrenches) for cut in loads.cuts]
    listed += [(motion.name, motion.wrenches) for motion in loads.handling]
    found = []
    for name, wrenches in listed:
        tension, shear = shares(places, np.atleast_2d(wrenches), level)
        tension = np.maximum(tension, 0.0)  # what presses the pieces together loads no screw
        worst = int(np.argmax(np.hypot(tension, shear)))
        t, v = Newton(float(tension.flat[worst])), Newton(float(shear.flat[worst]))
        use: Ratio | Gap
        try:
            use = _use(joint, t, v, _step(outline.points))
        except NotStated as gap:
            use = Gap(gap.missing, gap.reason)
        found.append(Borne(name, joint, t, v, use))
    return tuple(found)


def shares(places: Floats, wrenches: Floats, level: float) -> tuple[Floats, Floats]:
    """Tension (m, n) and shear (m, n) at places (n, 2) in plan under wrenches (m, 6) about the origin.

    Tension is a + b x + c z with the sum and the two moments of the load; shear is shared evenly, with
    torsion by distance from the middle.
    """
    middle = places.mean(axis=0)
    x, z = (places - middle).T
    fx, fy, fz, mx, my, mz = wrenches.T
    # About the middle of the group, in the seam's plane.
    mx = mx - level * fz + middle[1] * fy
    mz = mz + level * fx - middle[0] * fy
    my = my - middle[1] * fx + middle[0] * fz
    second = np.array([[(x * x).sum(), (x * z).sum()], [(x * z).sum(), (z * z).sum()]])
    slopes = np.linalg.lstsq(second, np.array([mz, -mx]), rcond=None)[0]
    tension = fy[:, None] / len(x) + slopes[0][:, None] * x + slopes[1][:, None] * z
    polar = max(float((x * x + z * z).sum()), 1e-12)
    shear = np.hypot(fx, fz)[:, None] / len(x) + np.abs(my)[:, None] * np.hypot(x, z) / polar
    return tension, shear


def _use(joint: Joint, tension: Newton, shear: Newton, step: float) -> Ratio:
    if joint.how == "welded":
        strength = stated(joint.strength, f"{joint.path}.strength")
        throat = stated(joint.throat, f"{joint.path}.throat")
        return Ratio(hypot(tension, shear) / (strength * throat * step))
    return use_of(joint, joint.joiners[0], tension=tension, shear=shear)


def _sides(points: tuple[Point2, ...]) -> list[tuple[Point2, Point2]]:
    return list(zip(points, (*points[1:], points[0]), strict=True))


def _step(points: tuple[Point2, ...]) -> Metre:
    """Length of weld that one of the points stands for."""
    return Metre(sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in _sides(points)) / POINTS)


def _round(points: tuple[Point2, ...]) -> list[Point2]:
    """Points evenly round an outline."""
    step, found, left = _step(points), [], 0.5 * _step(points)
    for (ax, az), (bx, bz) in _sides(points):
        length = hypot(bx - ax, bz - az)
        while left < length:
            share = left / length
            found.append((ax + share * (bx - ax), az + share * (bz - az)))
            left += step
        left -= length
    return found
