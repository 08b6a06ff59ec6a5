"""What the liquid fill pulls with at the corners, against what screws, glue or weld bear.

Full liquid head over the deepest layer that is liquid at once, clamps left out: an upper bound. Each
plate's push goes half to each of its corners; along a corner every screw takes the stretch that is
nearer to it than to any other.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from orthostat.analyses.joining.inputs import Inputs, Push
from orthostat.analyses.joining.screws import use_of
from orthostat.base.constants import STANDARD_GRAVITY
from orthostat.base.dimensions import Metre, Newton, Ratio
from orthostat.base.findings import Gap, NotStated, stated
from orthostat.formulas import joining as formulas
from orthostat.model.joining import CORNERS, Joiner, Joint, Seam


@dataclass(frozen=True, slots=True)
class Pull:
    """The most loaded screw of a corner, or the foot of a glued or welded one."""

    seam: Seam
    joint: Joint
    place: str
    tension: Newton
    """On the screw; on a metre of a glued or welded seam."""
    shear: Newton
    use: Ratio | Gap
    """Share of what it bears."""

    @property
    def subject(self) -> str:
        """Whose row it is."""
        return self.seam.name


def pulls(inputs: Inputs) -> tuple[Pull, ...]:
    """One answer for each corner that something joins; empty without a fill."""
    found = []
    pushes = {push.plate: push for push in inputs.pushes}
    for joint in inputs.joints:
        for seam in joint.seams:
            outer, inner = pushes.get(seam.outer), pushes.get(seam.inner)
            if joint.kind != CORNERS or outer is None or inner is None or joint.how == "dowelled":
                continue
            cosine = _cosine(inputs, seam)
            here = [each for each in joint.joiners if each.seam == seam]
            if joint.how == "screwed":
                found += [_screwed(joint, seam, here, outer, inner, cosine)] if here else []
            else:
                found.append(_along(joint, seam, outer, inner, cosine))
    return tuple(found)


def _cosine(inputs: Inputs, seam: Seam) -> Ratio:
    normals = dict(inputs.normals)
    a, b = normals[seam.face or 0], normals[seam.inner_face or 0]
    return Ratio(a[0] * b[0] + a[1] * b[1])


def _screwed(joint: Joint, seam: Seam, here: list[Joiner], outer: Push, inner: Push, cosine: Ratio) -> Pull:
    levels = sorted(each.along for each in here if each.along is not None)
    bounds = [0.0, *(0.5 * (a + b) for a, b in pairwise(levels)), seam.length]
    loads = [
        (*_between(outer, inner, cosine, low, high), level)
        for level, low, high in zip(levels, bounds[:-1], bounds[1:], strict=True)
    ]
    tension, shear, level = max(loads, key=lambda load: load[0] + load[1])
    screw = next(each for each in here if each.along == level)
    use: Ratio | Gap
    try:
        use = use_of(joint, screw, tension=tension, shear=shear)
    except NotStated as gap:
        use = Gap(gap.missing, gap.reason)
    return Pull(seam, joint, screw.name, tension, shear, use)


def _between(outer: Push, inner: Push, cosine: Ratio, low: float, high: float) -> tuple[Newton, Newton]:
    """Tension and shear of the pushes between two heights over the plates' foot."""
    pushed = [
        formulas.liquid_push(
            push.density,
            STANDARD_GRAVITY,
            width=push.width,
            over=Metre(max(push.head - low, 0.0)),
            under=Metre(max(push.head - high, 0.0)),
        )
        for push in (outer, inner)
    ]
    return formulas.corner_forces(push=pushed[0], other=pushed[1], cosine=cosine)


def _along(joint: Joint, seam: Seam, outer: Push, inner: Push, cosine: Ratio) -> Pull:
    """A metre of a glued or welded seam at its foot, where the head is deepest."""
    step = 1e-3
    tension, shear = (Newton(f / step) for f in _between(outer, inner, cosine, 0.0, step))
    use: Ratio | Gap
    try:
        strength = stated(joint.strength, f"{joint.path}.strength")
        thick = stated(joint.throat, f"{joint.path}.throat") if joint.how == "welded" else seam.width
        use = Ratio((tension**2 + shear**2) ** 0.5 / (strength * thick))
    except NotStated as gap:
        use = Gap(gap.missing, gap.reason)
    return Pull(seam, joint, "its foot", tension, shear, use)
