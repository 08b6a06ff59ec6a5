"""A second, general-purpose finite-element program on the same mesh: frequencies and static movement."""

import os
from pathlib import Path

import numpy as np
import pytest

import bars
import calculix
from orthostat.analyses.stiffness.assembly import mass_matrix
from orthostat.analyses.stiffness.build import Part, Piece, elastic, layered, levels_of, rings_of
from orthostat.analyses.stiffness.section import Ring, mesh_section
from orthostat.analyses.stiffness.sweep import Swept, sweep
from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Role
from orthostat.model.materials import Material

STEEL = bars.material()
IRON = bars.material(110e9, 0.26, 7200.0, "iron")
ALUMINIUM = bars.material(70e9, 0.33, 2700.0, "aluminium")
FILL = bars.material(28e9, 0.25, 2300.0, "fill")
HEIGHT = 0.5


def regular(sides: int, across: float) -> Ring:
    turn = np.pi / sides * (2 * np.arange(sides) + 1)
    reach = 0.5 * across / np.cos(np.pi / sides)
    return tuple((float(reach * np.cos(a)), float(reach * np.sin(a))) for a in turn)


def walled(outer: Ring, inner: Ring, of: Material, *, lid: bool) -> list[Part]:
    top = Metre(HEIGHT - (0.03 if lid else 0.0))
    low = Metre(0.0)
    pieces = (Piece(outer, low, top, 1.0, bounds=True), Piece(inner, low, top, -1.0, bounds=True))
    wall = Part("wall", "wall", Role.PLATE, of, pieces)
    return [wall, bars.prism(outer, HEIGHT - top, of, low=top, name="lid")] if lid else [wall]


BODIES: dict[str, tuple[list[Part], float]] = {
    "slab": ([bars.prism(bars.rectangle(0.3, 0.1), HEIGHT, IRON)], 0.04),
    "hollow square with lid": (
        walled(bars.rectangle(0.3, 0.3), bars.rectangle(0.25, 0.25), STEEL, lid=True),
        0.045,
    ),
    "hollow hexagon": (walled(regular(6, 0.26), regular(6, 0.21), IRON, lid=False), 0.035),
    "filled square": (
        [
            *walled(bars.rectangle(0.3, 0.3), bars.rectangle(0.25, 0.25), ALUMINIUM, lid=False),
            bars.prism(bars.rectangle(0.25, 0.25), HEIGHT, FILL, name="fill", role=Role.FILL),
        ],
        0.05,
    ),
}
"""Parts and mesh size [m]."""


def needed() -> bool:
    """CI on Debian has CalculiX; there its absence is a failure."""
    return bool(os.environ.get("CI")) and Path("/etc/debian_version").exists()


@pytest.mark.parametrize("name", BODIES)
def test_calculix_agrees_within_a_tenth_of_a_per_cent(name: str, tmp_path: Path) -> None:
    # Both use the space of the 15-node wedge on the same nodes; CalculiX integrates with nine points,
    # we exactly: a tenth of a per cent is for that.
    if calculix.executable() is None:
        if needed():
            pytest.fail("ccx is not installed (Debian package calculix-ccx)")
        pytest.skip("ccx is not installed")
    parts, size = BODIES[name]
    built = bars.model(parts, size=size, rise=1.6 * size)
    mesh = mesh_section(rings_of(parts), size=Metre(size), gap=Metre(1e-4 * size))
    layers = layered(parts, mesh, levels_of(parts, Metre(1e-6)))
    properties = elastic(parts, layers)
    swept = sweep(mesh, layers, size=1.6 * size, clamped=False)
    other = calculix.run(calculix.deck(swept, properties, modes=6, static=True), tmp_path)
    assert built.frequencies(6) == pytest.approx(other.frequencies[:6], rel=1e-3)
    moved = built.factor.solve(gravity_along_x(built, swept, properties.density))
    seen = built.swept.number[calculix.watched(built.swept), len(built.swept.heights) - 1]
    assert moved[3 * seen] == pytest.approx(other.moved[0], rel=1e-3)


def gravity_along_x(built: bars.Model, free: Swept, density: bars.Floats) -> bars.Floats:
    """Weight on the clamped body's unknowns: mass of the free one times an even acceleration."""
    even = np.zeros(free.count)
    numbers = free.number[: len(free.mesh.points), : len(free.heights)]
    even[numbers[numbers >= 0]] = calculix.GRAVITY
    pushed = mass_matrix(free, density) @ even
    made = np.zeros(built.swept.unknowns)
    both = (built.swept.number >= 0) & (free.number >= 0)
    made[3 * built.swept.number[both]] = pushed[free.number[both]]
    return made
