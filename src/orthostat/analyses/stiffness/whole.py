"""The whole question of stiffness, and its answers, each worked out when first asked for.

Quick answers come from a coarse mesh, verified ones from a fine mesh, and both for plates bonded to the fill
and not bonded. The kernel is one and the same, so the difference is the mesh's. Where it is too large, a mesh
of half the size verifies.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property, partial

from orthostat.analyses.stiffness.beam import Screening, screen
from orthostat.analyses.stiffness.column_inputs import body_inputs
from orthostat.analyses.stiffness.inputs import (
    FULL,
    UNSTATED_CLIMATE,
    BodyInputs,
    Climate,
    CutForce,
    Fineness,
    JointSprings,
    Milling,
)
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.result import Solved
from orthostat.analyses.stiffness.variants import Envelope, Variant, envelope_of, variant_inputs
from orthostat.base.dimensions import Ratio
from orthostat.base.findings import NotStated
from orthostat.base.progress import SILENT, Progress
from orthostat.model.bodies import Role
from orthostat.model.column import Column


@dataclass(frozen=True, slots=True)
class Inputs:
    """A column's body with its loads, and what it is to be compared with.

    `bonded` is what the document says of plates and fill: `None` where it says nothing.
    """

    body: BodyInputs
    bonded: bool | None
    full: Fineness
    envelope: Envelope
    variants: tuple[Variant, ...] = ()


def inputs_from(
    column: Column,
    *,
    joint: JointSprings | None,
    cuts: tuple[CutForce, ...] = (),
    millings: tuple[Milling, ...] = (),
    climate: Climate = UNSTATED_CLIMATE,
    variants: tuple[Variant, ...] = (),
    memory: float | None = None,
) -> Inputs:
    """The question for a column of the model. Raises `NotStated` where bodies or faces are missing."""
    shape = column.shape_of_body
    return Inputs(
        body_inputs(column, joint=joint, cuts=cuts, millings=millings, climate=climate, memory=memory),
        shape.bonded if shape else None,
        FULL,
        envelope_of(column),
        variants,
    )


@dataclass(frozen=True, slots=True)
class Compared:
    """A variant and its quick answer, or why there is none."""

    variant: Variant
    solved: Solved | None
    why: str = ""


AGREES = 0.03
"""Wanted agreement of the first frequency between the mesh that verifies and the next coarser one."""


@dataclass(frozen=True, slots=True)
class Verified:
    """The answer that verdicts go by, and that of the next coarser mesh, which tells how far off it is."""

    solved: Solved
    coarser: Solved

    @property
    def apart(self) -> float:
        """Difference of the two first frequencies, as a share of the verified one."""
        return abs(self.coarser.first.frequency / self.solved.first.frequency - 1.0)


def verified(body: BodyInputs, fine: Fineness, progress: Progress = SILENT) -> Verified:
    """A body solved on a fine mesh, beside its own coarse one; at half the size again where the two are
    further apart than `AGREES` and the memory holds it. The number of modes is proved.
    """
    body_of = partial(replace, body, verify_count=True)
    found = Verified(solve_body(body_of(fineness=fine), progress), solve_body(body, progress))
    if found.apart <= AGREES:
        return found
    half = replace(fine, plan=Ratio(0.5 * fine.plan), height=Ratio(0.5 * fine.height))
    try:
        return Verified(solve_body(body_of(fineness=half), progress), found.solved)
    except NotStated:  # too large
        return found


@dataclass(frozen=True)
class Stiffness:
    """The answers. Each property raises `NotStated` where it can't be worked out."""

    inputs: Inputs
    progress: Progress = SILENT

    @property
    def has_seams(self) -> bool:
        """Whether there is a fill between plates, so that bonded and debonded differ."""
        roles = {part.role for part in self.inputs.body.parts}
        return Role.FILL in roles and Role.PLATE in roles

    @cached_property
    def quick(self) -> Solved:
        """Coarse mesh, plates bonded."""
        return solve_body(self.inputs.body, self._about("quick model"))

    @cached_property
    def quick_loose(self) -> Solved:
        """Coarse mesh, plates free to slide on the fill (the same as `quick` without seams)."""
        if not self.has_seams:
            return self.quick
        return solve_body(
            replace(self.inputs.body, sliding=True), self._about("quick model, plates not bonded")
        )

    @cached_property
    def verified(self) -> Verified:
        """Fine mesh, plates bonded, the number of modes proved."""
        return verified(self.inputs.body, self.inputs.full, self._about("full model"))

    @cached_property
    def verified_loose(self) -> Verified:
        """Fine mesh, plates free to slide on the fill (the same as `verified` without seams)."""
        if not self.has_seams:
            return self.verified
        sliding = replace(self.inputs.body, sliding=True)
        return verified(sliding, self.inputs.full, self._about("full model, plates not bonded"))

    @property
    def full(self) -> Solved:
        """The verified answer, plates bonded."""
        return self.verified.solved

    @property
    def full_loose(self) -> Solved:
        """The verified answer, plates free to slide on the fill."""
        return self.verified_loose.solved

    def _about(self, model: str) -> Progress:
        return self.progress.step(0, 1, model)

    @property
    def governing_verified(self) -> Verified:
        """The bound that verdicts go by: bonded only where the document says so."""
        return self.verified if self.inputs.bonded or not self.has_seams else self.verified_loose

    @property
    def governing(self) -> Solved:
        """The verified answer that verdicts go by."""
        return self.governing_verified.solved

    @property
    def other(self) -> Solved:
        """The verified bound that verdicts do not go by; the same as `governing` without seams."""
        return self.full_loose if self.inputs.bonded else self.full

    @property
    def governing_quick(self) -> Solved:
        """The quick answer for the same bound."""
        return self.quick if self.inputs.bonded or not self.has_seams else self.quick_loose

    @property
    def screened(self) -> Screened:
        """The same question, answered by the quick model alone."""
        return Screened(self.inputs, self.progress, answer=lambda: self.governing_quick)

    @cached_property
    def beam(self) -> tuple[Screening, ...]:
        """The beam along the first face's width and along its normal."""
        return tuple(screen(self.inputs.body, direction) for direction in ((1.0, 0.0), (0.0, 1.0)))

    @cached_property
    def compared(self) -> tuple[Compared, ...]:
        """The same envelope made otherwise, by the quick mesh."""
        made = []
        for number, variant in enumerate(self.inputs.variants):
            told = self.progress.step(number, len(self.inputs.variants), f"made of {variant.name}")
            try:
                inputs = variant_inputs(self.inputs.body, self.inputs.envelope, variant)
                made.append(Compared(variant, solve_body(inputs, told)))
            except NotStated as gap:
                made.append(Compared(variant, None, str(gap)))
        return tuple(made)


@dataclass(frozen=True)
class Screened(Stiffness):
    """One body by the quick model alone: while it is being changed, or for setting ways to make it side by
    side.
    """

    answer: Callable[[], Solved] = field(kw_only=True)
    """Gives the quick answer. Raises `NotStated` where there is none."""

    @property
    def governing(self) -> Solved:
        return self.answer()

    @property
    def governing_quick(self) -> Solved:
        return self.answer()


def solve(inputs: Inputs, progress: Progress = SILENT) -> Stiffness:
    """The answers to a question; nothing is worked out until it is asked for."""
    return Stiffness(inputs, progress)
