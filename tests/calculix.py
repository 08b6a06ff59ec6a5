"""The same body for CalculiX: 15-node wedges on the very nodes of a swept mesh, written and read as text."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from orthostat.analyses.stiffness.build import Elastic
from orthostat.analyses.stiffness.sweep import Swept

Floats = npt.NDArray[np.float64]
GRAVITY = 10.0


def executable() -> str | None:
    """Path of `ccx`, or `None` where it is not installed."""
    return shutil.which("ccx")


@dataclass(frozen=True)
class Answer:
    """Frequencies (n,) [Hz] and the displacement (3,) [m] of the watched node under gravity along x."""

    frequencies: Floats
    moved: Floats


def watched(swept: Swept) -> int:
    """The vertex farthest from the axis among those with material at the top."""
    top = len(swept.heights) - 1
    radius = np.hypot(*swept.mesh.points.T)
    there = swept.number[: len(swept.mesh.points), top] >= 0
    return int(np.argmax(np.where(there, radius, -1.0)))


def deck(swept: Swept, elastic: Elastic, *, modes: int, static: bool) -> str:
    """Input deck; plan x, z and height y become CalculiX' x, y and z. The lowest level is clamped."""
    vertices, levels = len(swept.mesh.points), len(swept.heights)
    places: dict[tuple[int, int], int] = {}
    coordinates: list[tuple[float, float, float]] = []

    def node(function: int, half_level: int) -> int:
        key = (function, half_level)
        if key not in places:
            places[key] = len(places) + 1
            if function < vertices:
                x, z = swept.mesh.points[function]
            else:
                x, z = swept.mesh.points[swept.mesh.edges[function - vertices]].mean(axis=0)
            level, odd = divmod(half_level, 2)
            y = swept.heights[level] if not odd else swept.heights[level : level + 2].mean()
            coordinates.append((float(x), float(z), float(y)))
        return places[key]

    groups: dict[tuple[float, float, float], list[str]] = {}
    for element, layer in enumerate(swept.layer.tolist()):
        low, high = 2 * element, 2 * element + 2
        for triangle in np.flatnonzero(swept.layers.filled[layer]).tolist():
            a, b, c = swept.mesh.triangles[triangle].tolist()
            ab, bc, ac = (vertices + swept.mesh.triangle_edges[triangle]).tolist()
            corners, middles = (a, b, c), (ab, bc, ac)
            functions = [(f, level) for of in (corners, middles) for level in (low, high) for f in of]
            functions += [(f, low + 1) for f in corners]
            key = (
                round(float(elastic.first_lame[layer, triangle]), 3),
                round(float(elastic.shear[layer, triangle]), 3),
                round(float(elastic.density[layer, triangle]), 6),
            )
            groups.setdefault(key, []).append(", ".join(str(node(*each)) for each in functions))
    lines = ["*NODE, NSET=NALL"]
    lines += [f"{k}, {x:.12g}, {y:.12g}, {z:.12g}" for k, (x, y, z) in enumerate(coordinates, 1)]
    number = 0
    for index, ((first, shear, density), rows) in enumerate(groups.items()):
        lines.append(f"*ELEMENT, TYPE=C3D15, ELSET=E{index}")
        for row in rows:
            number += 1
            lines.append(f"{number}, {row}")
        modulus = shear * (3.0 * first + 2.0 * shear) / (first + shear)
        ratio = first / (2.0 * (first + shear))
        lines += [
            f"*MATERIAL, NAME=M{index}",
            "*ELASTIC",
            f"{modulus:.12g}, {ratio:.12g}",
            "*DENSITY",
            f"{density:.12g}",
            f"*SOLID SECTION, ELSET=E{index}, MATERIAL=M{index}",
        ]
    clamped = [str(number) for (_, half), number in places.items() if half == 0]
    lines += ["*NSET, NSET=FOOT"]
    lines += [", ".join(clamped[k : k + 8]) for k in range(0, len(clamped), 8)]
    lines[-1] = lines[-1].rstrip(",")
    lines += ["*BOUNDARY", "FOOT, 1, 3", "*NSET, NSET=SEEN", str(places[watched(swept), 2 * (levels - 1)])]
    if static:
        lines += ["*STEP", "*STATIC", "*DLOAD"]
        lines += [f"E{index}, GRAV, {GRAVITY}, 1., 0., 0." for index in range(len(groups))]
        lines += ["*NODE PRINT, NSET=SEEN", "U", "*END STEP"]
    if modes:
        lines += ["*STEP", "*FREQUENCY", f"{modes}", "*END STEP"]
    return "\n".join(lines) + "\n"


def run(deck_text: str, folder: Path, *, threads: int = 1) -> Answer:
    """Run CalculiX on a deck in a folder and read its frequencies and the watched displacement."""
    (folder / "body.inp").write_text(deck_text, encoding="ascii")
    found = executable()
    assert found is not None
    done = subprocess.run(
        [found, "body"], cwd=folder, capture_output=True, text=True, encoding="utf-8", check=False,
        env={"OMP_NUM_THREADS": str(threads), "PATH": "/usr/bin:/bin"},
    )  # fmt: skip
    text = (folder / "body.dat").read_text(encoding="ascii")
    assert done.returncode == 0, done.stdout[-2000:]
    rows = re.findall(
        r"^\s+\d+\s+([-+.\dE]+)\s+([-+.\dE]+)\s+([-+.\dE]+)\s+([-+.\dE]+)\s*$", text, re.MULTILINE
    )
    frequencies = [float(row[2]) for row in rows if "E" in row[0]]
    moved = re.search(r"displacements.*?\n\s*\n\s+\d+\s+(\S+)\s+(\S+)\s+(\S+)", text, re.DOTALL)
    seen = [float(x) for x in moved.groups()] if moved else [np.nan] * 3
    return Answer(np.array(frequencies), np.array(seen))
