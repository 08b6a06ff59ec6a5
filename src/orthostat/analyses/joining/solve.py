"""Which seams are joined, and whether what joins them holds."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.joining.inputs import Inputs
from orthostat.analyses.joining.pull import Pull, pulls
from orthostat.analyses.joining.screws import Group, groups
from orthostat.model.joining import BASE, CORNERS, LID, Seam


@dataclass(frozen=True, slots=True)
class Coverage:
    """Seams of one kind: those that something joins or presses together, and those left."""

    kind: str
    joined: tuple[Seam, ...]
    left: tuple[Seam, ...]
    clamped: bool
    """Whether only the studs hold them."""


@dataclass(frozen=True, slots=True)
class Joining:
    """What `solve` gives."""

    inputs: Inputs
    coverage: tuple[Coverage, ...]
    groups: tuple[Group, ...]
    pulls: tuple[Pull, ...]


def solve(inputs: Inputs) -> Joining:
    """Coverage, screws and pulls. Never raises for what is not stated: the figure then says what it lacks."""
    return Joining(inputs, _coverage(inputs), groups(inputs), pulls(inputs))


def _coverage(inputs: Inputs) -> tuple[Coverage, ...]:
    joined = {seam.name for joint in inputs.joints if not joint.missing for seam in joint.seams}
    made = []
    for kind in (CORNERS, BASE, LID):
        seams = [seam for seam in inputs.seams if seam.kind == kind]
        if not seams:
            continue
        held = tuple(seam for seam in seams if seam.name in joined or seam.clamped)
        made.append(
            Coverage(
                kind,
                held,
                tuple(seam for seam in seams if seam not in held),
                clamped=all(seam.clamped and seam.name not in joined for seam in seams),
            )
        )
    return tuple(made)
