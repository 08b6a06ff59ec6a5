"""The same envelope made otherwise: what each way costs, and what the design's questions say of it.

Every way is an evaluation of its own. Its stiffness is the quick model's, on the design's own joint; its
weight goes through fit, loads and the design's studs like that of the design.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from orthostat.base.findings import Finding, NotStated, apply
from orthostat.catalogue.bought import bought
from orthostat.evaluation.chain import Evaluation

if TYPE_CHECKING:
    from orthostat.analyses.cost import Cost, VersionCost
    from orthostat.analyses.hold import Hold
    from orthostat.analyses.solids import Solids
    from orthostat.analyses.stiffness import Compared, Solved, Stiffness


@dataclass(frozen=True, eq=False)
class Version:
    """One way to make the column. `compared` is `None` for the design itself."""

    name: str
    parent: Evaluation
    compared: Compared | None = None

    @property
    def has_lid(self) -> bool:
        """Whether it is the design itself or has a lid."""
        return self.compared is None or self.compared.variant.lid

    @cached_property
    def solved(self) -> Solved | None:
        """The quick answer; `None` where there is none, and `why` says so."""
        return self.parent.stiffness.governing_quick if self.compared is None else self.compared.solved

    def answer(self) -> Solved:
        """The quick answer. Raises `NotStated` where there is none."""
        if self.solved is None:
            raise NotStated(reason=self.why)
        return self.solved

    @property
    def why(self) -> str:
        """Why there is no answer."""
        return "" if self.compared is None else self.compared.why

    @cached_property
    def cost(self) -> VersionCost:
        """What it costs to make or to buy."""
        from orthostat.analyses.cost import VersionCost, cost_of_buying, cost_of_making

        try:
            if self.compared is None:
                return cost_of_making(self.parent.cost)
            row = bought(self.compared.variant.kind)
            if row is None:
                return cost_of_making(self._made)
            return cost_of_buying(
                self.parent.cost.offers,
                wall=self.compared.variant.wall,
                mass=self.solved.mass if self.solved else None,
                row=row,
                buying=self.parent.buying,
            )
        except NotStated as gap:
            return VersionCost(None, str(gap), gap.missing)

    @property
    def _made(self) -> Cost:
        """The bill of the design's plates and holes, made as this version is."""
        from orthostat.analyses.cost import column_made

        if self.compared is None:
            return self.parent.cost
        variant = self.compared.variant
        column = column_made(
            self.parent.column,
            wall=variant.wall,
            fill=variant.fill,
            lid=variant.lid,
            lid_thickness=self.parent.stiffness.inputs.envelope.lid,
        )
        return Evaluation(column, self.parent.limits, self.parent.memory, self.parent.buying).cost

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """The answers to the questions that are asked side by side, in the order of the rules."""
        from orthostat.checks import all_rules

        evaluation = Beside(self)
        found = []
        for rule in all_rules():
            if rule.beside:
                made = apply(rule, evaluation, self.parent.limits.margin_for(rule.slug))
                if made is not None:
                    found.append(made)
        return tuple(found)


class Beside(Evaluation):
    """A version under the design's questions."""

    def __init__(self, version: Version) -> None:
        parent = version.parent
        column = parent.column
        if version.compared is not None and version.solved is not None:
            from orthostat.analyses.stiffness import variant_bodies

            envelope = parent.stiffness.inputs.envelope
            column = replace(column, bodies=variant_bodies(column, envelope, version.compared.variant))
        super().__init__(column, parent.limits, parent.memory, parent.buying)
        self.version = version

    @cached_property
    def solids(self) -> Solids:
        """Masses of this version; unknown where it can't be made so."""
        if self.version.solved is None:
            raise NotStated(reason=self.version.why)
        return super().solids

    @cached_property
    def hold(self) -> Hold:
        """The design's own joint and studs under this version's weight."""
        from orthostat.analyses import hold

        inputs = hold.inputs_from(self.version.parent.column, self.limits, self.solids, self.loads)
        return self.memory.result("hold", hold.solve, inputs)

    @cached_property
    def stiffness(self) -> Stiffness:
        """The quick model alone."""
        from orthostat.analyses.stiffness import Screened

        of = self.version.parent.stiffness.inputs
        solved = self.version.solved
        if self.version.compared is not None and solved is not None:
            of = replace(of, body=solved.inputs, bonded=True)
        return Screened(of, answer=self.version.answer)


def versions_of(evaluation: Evaluation) -> tuple[Version, ...]:
    """The design and every variant. Raises `NotStated` where the column has no faces or bodies."""
    compared = evaluation.stiffness.compared
    return (
        Version("this design", evaluation),
        *(Version(each.variant.name, evaluation, each) for each in compared),
    )
