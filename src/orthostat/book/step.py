"""Writing STEP and GLB through the kernel's process, and comparing its volumes with ours."""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from orthostat.analyses.pieces import Pieces
from orthostat.analyses.solids import Solids
from orthostat.base.progress import SILENT, Progress
from orthostat.book.exchange import MM, job

AGREEMENT = 1e-6
"""The kernel's volume of a piece may differ from ours by this share."""


class KernelFault(RuntimeError):
    """The kernel failed, or made something else than the model says; the text names the piece."""


def available() -> bool:
    """Whether the CAD kernel is installed."""
    return importlib.util.find_spec("OCP") is not None


@dataclass(frozen=True)
class Made:
    """What the kernel measured of its shapes, and notes where they are not the model's."""

    measures: dict[str, Any]
    notes: tuple[str, ...]


def write(evaluation: Any, folder: Path, progress: Progress = SILENT) -> Made:
    """Write a STEP file a piece, the assembly as STEP and GLB.

    Raises `KernelFault` where the kernel's process fails or a volume is not the model's.
    """
    column = evaluation.column
    told = job(column.name, evaluation.pieces.parts, column.bodies, str(folder))
    environment = dict(os.environ, PYTHONPATH=os.pathsep.join([str(Path(__file__).parents[2]), *_paths()]))
    made: dict[str, Any] = {}
    with (
        tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as faults,
        subprocess.Popen(  # our own module in the interpreter that runs us
            [sys.executable, "-m", "orthostat.book.kernel"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=faults,
            encoding="utf-8",
            env=environment,
        ) as kernel,
    ):
        if kernel.stdin is None or kernel.stdout is None:
            raise KernelFault("the CAD kernel can't be spoken to")
        with suppress(BrokenPipeError):  # it ended before it read: what it said is below
            kernel.stdin.write(json.dumps(told))
            kernel.stdin.close()
        for line in kernel.stdout:
            said = json.loads(line)
            if isinstance(said, dict):
                made = said
            else:
                progress.at(said[0], said[1], f"shape {said[0]} of {said[1]}")
        if kernel.wait() != 0:
            faults.seek(0)
            last = (faults.read().strip().splitlines() or ["it said nothing"])[-1]
            raise KernelFault(f"the CAD kernel stopped: {last}")
    return Made(made, compare(made, evaluation.solids, evaluation.pieces, _open_seams(evaluation)))


def _paths() -> list[str]:
    return [path for path in os.environ.get("PYTHONPATH", "").split(os.pathsep) if path]


def _open_seams(evaluation: Any) -> dict[str, str]:
    """Pieces out of whose sides a hole for a joining screw or dowel runs, and that hole."""
    found: dict[str, str] = {}
    for each in evaluation.joining.groups:
        for alike in each.joint.joiners:
            if each.cover < 0.0:
                found[alike.seam.outer] = f"for {alike.name}"
            if each.wall < 0.5 * alike.diameter:
                found[alike.seam.inner] = f"for {alike.name}"
    return found


def compare(
    made: dict[str, Any], solids: Solids, pieces: Pieces, open_seams: dict[str, str] | None = None
) -> tuple[str, ...]:
    """Notes where a hole that runs out of its piece makes the two volumes differ.

    Raises `KernelFault` where they differ and no hole does: then one of the two is wrong.
    """
    open_holes = (open_seams or {}) | {
        body.name: hole.label
        for part in pieces.drawn
        for hole in part.holes
        if hole.edge < 0.0
        for body in part.bodies
    }
    notes = []
    for piece in solids.own:
        name = piece.body.name
        volume = made["bodies"][name]["volume"] / MM**3
        if abs(volume - piece.volume) <= AGREEMENT * max(piece.volume, 1e-12):
            continue
        if name not in open_holes:
            raise KernelFault(
                f"{name}: the kernel makes {volume:.6g} m³ of it, the model {piece.volume:.6g} m³"
            )
        share = 100.0 * (volume - piece.volume) / piece.volume
        notes.append(
            f"{name}: hole {open_holes[name]} runs out of it; the model counts {share:.2g} % too little of it"
        )
    return tuple(notes)
