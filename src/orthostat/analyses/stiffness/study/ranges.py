"""What a study model is learnt on, and whether a design lies within it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from orthostat.analyses.stiffness.study.design import StudyDesign, pressed_of, reach_of, shape_of
from orthostat.analyses.stiffness.study.topology import MOST_SIDES, following, preceding
from orthostat.base.findings import stated
from orthostat.model.materials import Material

SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Span:
    """From low to high, ends included."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.high:
            raise ValueError(f"a range goes from low to high, not from {self.low} to {self.high}")

    def holds(self, value: float) -> bool:
        """Whether the value lies within, but for rounding."""
        return self.low * (1.0 - SLACK) <= value <= self.high * (1.0 + SLACK)


@dataclass(frozen=True, slots=True)
class Ranges:
    """The designs of a study. Lengths are shares of the yardstick (side of the square as large as the plan),
    walls and overhangs as told.

    kinds: of `solid`, `hollow`, `filled`, `cored`. sides: of the plan. corner: smallest and largest angle
    between neighbouring sides' normals over that of a regular plan [-]. plan: longest over shortest side.
    wall: over half of the plan's narrowest width. fill, plates: modulus over the wall's. joint: contact
    stiffness times yardstick over the wall's modulus. sideways: tangential over normal. contact: share of the
    underside; aside: its middle off that of the underside. stud: stiffness
    over modulus times yardstick.
    """

    sides: int
    kinds: tuple[str, ...]
    bases: tuple[bool, ...] = (True,)
    lids: tuple[bool, ...] = (True, False)
    plan: Span = Span(1.0, 3.0)
    corner: Span = Span(0.8, 1.25)
    height: Span = Span(0.9, 3.6)
    wall: Span = Span(0.1, 0.5)
    core: Span = Span(0.2, 0.65)
    base: Span = Span(0.05, 0.25)
    overhang: Span = Span(0.0, 0.5)
    lid: Span = Span(0.05, 0.2)
    fill: Span = Span(0.08, 0.9)
    plates: Span = Span(0.33, 3.0)
    poisson: Span = Span(0.15, 0.36)
    joint: Span = Span(0.05, 20.0)
    sideways: Span = Span(0.5, 1.0)
    contact: Span = Span(0.4, 1.0)
    aside: Span = Span(0.0, 0.05)
    stud: Span = Span(0.0, 0.05)

    def __post_init__(self) -> None:
        if not 3 <= self.sides <= MOST_SIDES:
            raise ValueError(f"a study knows plans of 3 to {MOST_SIDES} sides, not {self.sides}")
        unknown = set(self.kinds) - {"solid", "hollow", "filled", "cored"}
        if unknown or not self.kinds:
            raise ValueError(f"kinds are solid, hollow, filled, cored; not {', '.join(sorted(unknown))}")
        if "hollow" in self.kinds and len(set(self.kinds)) > 1:
            raise ValueError("hollow columns are a family of their own")
        if "hollow" in self.kinds and False in self.bases:
            raise ValueError("a hollow column of a study has a base plate or floor")

    @property
    def hollow(self) -> bool:
        """Whether these are hollow columns."""
        return "hollow" in self.kinds

    def outside(self, design: StudyDesign) -> tuple[str, ...]:
        """Why a design lies outside, one sentence for each reason; nothing if it lies within.

        Raises `NotStated` where the design can't be built at all.
        """
        if len(design.corners) != self.sides:
            return (f"a plan of {len(design.corners)} sides, not {self.sides}",)
        reasons = []
        if design.kind not in self.kinds:
            reasons.append(f"a {design.kind} column, not {' or '.join(self.kinds)}")
        if (design.base > 0.0) not in self.bases:
            reasons.append(f"{'a' if design.base > 0.0 else 'no'} base plate")
        if (design.lid > 0.0) not in self.lids:
            reasons.append(f"{'a' if design.lid > 0.0 else 'no'} lid")
        if design.joint.is_rigid:
            reasons.append("a clamped foot")
        for key, values in measured(design).items():
            span, name = getattr(self, key), NAMES[key]
            low, high = min(values), max(values)
            if not (span.holds(low) and span.holds(high)):
                worst = low if not span.holds(low) else high
                reasons.append(f"{name} {worst:.3g}, not {span.low:.3g} to {span.high:.3g}")
        return tuple(reasons)


NAMES = {
    "plan": "longest over shortest side",
    "corner": "corner over that of a regular plan",
    "height": "height over yardstick",
    "wall": "wall over half width",
    "core": "void over cavity",
    "base": "base plate over yardstick",
    "overhang": "overhang over yardstick",
    "lid": "lid over yardstick",
    "fill": "fill's modulus over wall's",
    "plates": "modulus of base plate or lid over wall's",
    "poisson": "Poisson's ratio",
    "joint": "contact stiffness (share)",
    "sideways": "sideways over normal contact stiffness",
    "contact": "contact over underside",
    "aside": "contact's middle off the underside's",
    "stud": "stud stiffness (share)",
}
"""What each range is of."""


def measured(design: StudyDesign) -> dict[str, list[float]]:
    """What a design has of each range; what it has none of is left out.

    Raises `NotStated` where it can't be built or a material's property is missing.
    """
    shape = shape_of(design)
    yard, reach, sides = design.yardstick, reach_of(shape.outer), len(design.corners)
    modulus = _modulus(design.wall)
    lengths = np.sqrt(((shape.outer - preceding(shape.outer)) ** 2).sum(axis=1))
    turns = (shape.angles - following(shape.angles)) % (2.0 * np.pi) * sides / (2.0 * np.pi)
    found: dict[str, list[float]] = {
        "plan": [float(lengths.max() / lengths.min())],
        "corner": turns.tolist(),
        "height": [design.height / yard],
    }
    if not design.joint.is_rigid:
        found["joint"] = [design.joint.normal * yard / modulus]
        found["sideways"] = [design.joint.tangential / design.joint.normal]
    if design.joint.contact:
        pressed = pressed_of(design)
        found["contact"] = [pressed.share]
        if pressed.share > 0.0:
            found["aside"] = [pressed.aside / yard]
    if design.joint.studs:
        found["stud"] = [s.stiffness / (modulus * yard) for s in design.joint.studs]
    if design.walls:
        found["wall"] = [wall / reach for wall in design.walls]
    if design.core > 0.0:
        found["core"] = [float(design.core)]
    if design.base > 0.0:
        found["base"] = [design.base / yard]
    if design.overhang:
        found["overhang"] = [o / yard for o in design.overhang]
    if design.lid > 0.0:
        found["lid"] = [design.lid / yard]
    plates = [design.base_material if design.base else None, design.lid_material if design.lid else None]
    for key, materials in (("fill", [design.fill]), ("plates", plates)):
        known = [_modulus(material) / modulus for material in materials if material is not None]
        if known:
            found[key] = known
    used = [m for m in (design.wall, design.fill, *plates) if m is not None]
    found["poisson"] = [stated(m.poissons_ratio, f"{m.path}.poissons_ratio") for m in used]
    return found


def _modulus(material: Material) -> float:
    return stated(material.youngs_modulus, f"{material.path}.youngs_modulus")


def ranges_about(designs: Sequence[StudyDesign]) -> Ranges:
    """The narrowest ranges that hold all of these designs, which have as many sides.

    Raises `NotStated` as `measured` does.
    """
    low: dict[str, float] = {}
    high: dict[str, float] = {}
    for design in designs:
        for key, values in measured(design).items():
            low[key] = min(low.get(key, np.inf), *values)
            high[key] = max(high.get(key, -np.inf), *values)
    return Ranges(
        len(designs[0].corners),
        tuple(sorted({design.kind for design in designs})),
        tuple(sorted({design.base > 0.0 for design in designs})),
        tuple(sorted({design.lid > 0.0 for design in designs})),
        **{key: Span(max(0.0, low[key]), high[key]) for key in low},
    )
