"""What a study model is learnt on, and whether a design lies within it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from orthostat.analyses.stiffness.study.design import Shape, StudyDesign, contact_region, reach_of, shape_of
from orthostat.analyses.stiffness.study.topology import MOST_SIDES
from orthostat.base.findings import stated

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
        if "hollow" in self.kinds and False in self.bases:
            raise ValueError("a hollow column of a study has a base plate or floor")

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
        for name, span, values in self._measured(design, shape_of(design)):
            low, high = min(values), max(values)
            if not (span.holds(low) and span.holds(high)):
                worst = low if not span.holds(low) else high
                reasons.append(f"{name} {worst:.3g}, not {span.low:.3g} to {span.high:.3g}")
        return tuple(reasons)

    def _measured(self, design: StudyDesign, shape: Shape) -> list[tuple[str, Span, list[float]]]:
        yard, reach = design.yardstick, reach_of(shape.outer)
        modulus = stated(design.wall.youngs_modulus, f"{design.wall.path}.youngs_modulus")
        lengths = np.sqrt(((shape.outer - np.roll(shape.outer, 1, axis=0)) ** 2).sum(axis=1))
        turns = (shape.angles - np.roll(shape.angles, -1)) % (2.0 * np.pi) * self.sides / (2.0 * np.pi)
        sideways = design.joint.tangential / design.joint.normal
        found = [
            ("longest over shortest side", self.plan, [float(lengths.max() / lengths.min())]),
            ("corner over that of a regular plan", self.corner, turns.tolist()),
            ("height over yardstick", self.height, [design.height / yard]),
            ("contact stiffness (share)", self.joint, [design.joint.normal * yard / modulus]),
            (
                "sideways over normal contact stiffness",
                self.sideways,
                [sideways],
            ),
        ]
        if design.joint.contact:
            foot = shapely.Polygon(shape.flange if design.overhang else shape.outer)
            pressed = shapely.intersection(contact_region(design.joint.contact), foot)
            found.append(("contact over underside", self.contact, [pressed.area / foot.area]))
            if pressed.area > 0.0:
                off = pressed.centroid.distance(foot.centroid) / yard
                found.append(("contact's middle off the underside's", self.aside, [off]))
        if design.joint.studs:
            found.append(
                (
                    "stud stiffness (share)",
                    self.stud,
                    [s.stiffness / (modulus * yard) for s in design.joint.studs],
                )
            )
        if design.walls:
            found.append(("wall over half width", self.wall, [wall / reach for wall in design.walls]))
        if design.core > 0.0:
            found.append(("void over cavity", self.core, [design.core]))
        if design.base > 0.0:
            found.append(("base plate over yardstick", self.base, [design.base / yard]))
        if design.overhang:
            found.append(("overhang over yardstick", self.overhang, [o / yard for o in design.overhang]))
        if design.lid > 0.0:
            found.append(("lid over yardstick", self.lid, [design.lid / yard]))
        materials = [design.wall]
        for name, span, material in (
            ("fill's modulus over wall's", self.fill, design.fill),
            ("base plate's modulus over wall's", self.plates, design.base_material if design.base else None),
            ("lid's modulus over wall's", self.plates, design.lid_material if design.lid else None),
        ):
            if material is not None:
                own = stated(material.youngs_modulus, f"{material.path}.youngs_modulus")
                found.append((name, span, [own / modulus]))
                materials.append(material)
        ratios = [stated(m.poissons_ratio, f"{m.path}.poissons_ratio") for m in materials]
        found.append(("Poisson's ratio", self.poisson, ratios))
        return found
