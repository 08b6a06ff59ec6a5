"""How far off the study model is on columns that it was not taught: `python -m benchmarks.study_errors`.

Ten families of invented columns; each takes half a minute to two. Names of families may follow. Errors are
against the mesh that is learnt from and, on two columns not seen of each family, against the full model.
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass, replace

os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np

from orthostat.analyses.stiffness import CutForce, JointSprings, Milling
from orthostat.analyses.stiffness.inputs import FULL, Place, RigidMass, Table
from orthostat.analyses.stiffness.lobes import limits
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study import StudyDesign
from orthostat.analyses.stiffness.study.design import body_of
from orthostat.analyses.stiffness.study.learning import MODES, taught
from orthostat.analyses.stiffness.study.model import Trial
from orthostat.analyses.stiffness.study.ranges import ranges_about
from orthostat.analyses.stiffness.study.seen import seen_in
from orthostat.analyses.stiffness.study.topology import half_planes
from orthostat.base.dimensions import (
    Kilogram,
    KilogramPerCubicMetre,
    Metre,
    Pascal,
    PascalPerMetre,
    Radian,
    RadianPerSecond,
    Ratio,
)
from orthostat.model.bodies import Polygon
from orthostat.model.materials import Material

MILLING = Milling(
    0, 6, Pascal(8e8), Ratio(0.4), Ratio(0.0), Radian(0.8), Radian(0.4), Radian(2.7), Metre(0.002),
    RadianPerSecond(200.0), None,
)  # fmt: skip
"""A cutter with six teeth at a usual cut."""
LEARNT, TRIED, SEED = 24, 12, 2027
FULL_ONES = 2
"""Columns not seen that are solved by the full model as well."""
JOINT, SIDEWAYS = 3e11, 0.8
"""Contact stiffness [N/m³] about which the joint is drawn, and that along the joint over it."""
HALF_PATCH = 0.08
DAMPED = 0.02
"""Loss factor of every mode: a limit depth needs one, and its error hangs little on which."""


def _material(name: str, density: float, modulus: float, poisson: float) -> Material:
    return Material(name, KilogramPerCubicMetre(density), Pascal(modulus), Ratio(poisson), path=name)


WALL = _material("wall", 2700.0, 70e9, 0.33)
FILL = _material("fill", 2300.0, 24e9, 0.23)


@dataclass(frozen=True, slots=True)
class Family:
    """Columns that are alike but for their lengths. distances: of the plan's faces from its middle [m]."""

    distances: tuple[float, ...]
    kind: str
    lid: bool
    foot: bool
    """Whether the base plate stands out."""


def _even(sides: int) -> tuple[float, ...]:
    return (0.15,) * sides


FAMILIES = {
    "square, filled, lid, overhanging base": Family(_even(4), "filled", lid=True, foot=True),
    "square, cored, lid": Family(_even(4), "cored", lid=True, foot=False),
    "slab, filled, open top": Family((0.1, 0.2, 0.1, 0.2), "filled", lid=False, foot=False),
    "hexagon, filled, lid, overhanging base": Family(_even(6), "filled", lid=True, foot=True),
    "triangle, filled, lid": Family((0.3 / 12**0.5,) * 3, "filled", lid=True, foot=False),
    "square, hollow, open top": Family(_even(4), "hollow", lid=False, foot=False),
    "square, hollow, lid, overhanging base": Family(_even(4), "hollow", lid=True, foot=True),
    "hexagon, hollow, open top": Family(_even(6), "hollow", lid=False, foot=False),
    "octagon, hollow, lid, overhanging base": Family(_even(8), "hollow", lid=True, foot=True),
    "triangle, hollow, lid": Family((0.3 / 12**0.5,) * 3, "hollow", lid=True, foot=False),
}


def drawn(family: Family, generator: np.random.Generator) -> StudyDesign:
    """One column of a family."""
    sides = len(family.distances)
    angles = -2.0 * np.pi * np.arange(sides) / sides
    corners = half_planes(angles, np.array(family.distances))
    height = generator.uniform(0.45, 0.8)
    stiff = JOINT * generator.uniform(2.0 / 3.0, 1.5)
    return StudyDesign(
        corners=tuple((float(x), float(z)) for x, z in corners),
        height=Metre(height),
        wall=WALL,
        walls=(Metre(generator.uniform(0.014, 0.03)),) * sides,
        fill=None if family.kind == "hollow" else FILL,
        core=Ratio(generator.uniform(0.3, 0.6)) if family.kind == "cored" else Ratio(0.0),
        base=Metre(generator.uniform(0.018, 0.04)),
        overhang=(Metre(generator.uniform(0.03, 0.08)),) * sides if family.foot else (),
        lid=Metre(generator.uniform(0.018, 0.03)) if family.lid else Metre(0.0),
        joint=JointSprings(PascalPerMetre(stiff), PascalPerMetre(SIDEWAYS * stiff)),
        table=Table(),
        places=tuple(
            _place(k, angle, distance, height * generator.uniform(0.5, 0.8))
            for k, (angle, distance) in enumerate(zip(angles.tolist(), family.distances, strict=True))
            if k < 2
        ),
    )


def _place(number: int, angle: float, distance: float, up: float) -> Place:
    """A station of 15 kg in the middle of a face."""
    across, out = (
        (float(np.cos(angle)), 0.0, -float(np.sin(angle))),
        (float(np.sin(angle)), 0.0, float(np.cos(angle))),
    )
    at = (out[0] * distance, up, out[2] * distance)
    h = HALF_PATCH
    patch = Polygon(((-h, up - h), (h, up - h), (h, up + h), (-h, up + h)))
    hung = RigidMass(Kilogram(15.0), at, (0.1, 0.1, 0.1, 0.0, 0.0, 0.0))
    origin = (at[0], 0.0, at[2])
    return Place(f"place {number}", f"place {number}", number, origin, across, out, patch, (hung,))


def depths(ports: Ports, design: StudyDesign) -> Floats:
    """(s,) least limit depth at each station [m]."""
    damped = replace(ports, loss=np.full(len(ports.squares), DAMPED))
    cuts = [
        CutForce("cut", "cut", k, damped.centre(k), place.across, place.out, 600.0, 300.0)
        for k, place in enumerate(design.places)
    ]
    return np.array([each.lowest for each in limits(damped, [(cut, MILLING) for cut in cuts])])


def off(trial: Trial, design: StudyDesign) -> Floats:
    """(6,) how far off, as shares: three frequencies with their signs, movement, turn, least limit depth."""
    compliance = np.abs(trial.compliance)
    depth = depths(trial.found, design).min() / depths(trial.exact, design).min() - 1.0
    worst = compliance[:, :3].max(), compliance[:, 3:].max()
    return np.array([*trial.frequencies[:3], *worst, abs(depth)])


def row(name: str, found: Floats) -> str:
    """A family's line of the table, of what its columns are off (n, 6)."""
    first, three = np.abs(found[:, 0]), np.abs(found[:, :3]).max()
    rest = [f"{100 * each:.2g} %" for each in (three, *found[:, 3:].max(axis=0))]
    return " | ".join([f"| {name}", f"{100 * np.median(first):.1f}, {100 * first.max():.1f} %", *rest]) + " |"


def beside_full(trial: Trial, design: StudyDesign) -> Trial:
    """The same column, its body seen from its stations by the full model."""
    return Trial(trial.number, solve_body(replace(body_of(design), fineness=FULL)).ports, trial.found)


def main(names: list[str]) -> int:
    """Learn each family, try it on columns not seen, print."""
    beside = []
    print("| family | first frequency | first three | movement | turn | limit depth |")
    print("|---|---|---|---|---|---|")
    for name in names or FAMILIES:
        generator = np.random.default_rng(SEED)
        designs = [drawn(FAMILIES[name], generator) for _ in range(LEARNT + TRIED)]
        solved = [seen_in(design) for design in designs]
        unseen = dict(enumerate(solved[LEARNT:], start=LEARNT))
        trials = taught(ranges_about(designs), solved[:LEARNT], unseen, MODES).trials
        print(row(name, np.array([off(each, designs[each.number]) for each in trials])), flush=True)
        found = [
            off(beside_full(each, designs[each.number]), designs[each.number]) for each in trials[:FULL_ONES]
        ]
        beside.append(row(name, np.array(found)))
    print("\nBeside the full model:\n", *beside, sep="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
