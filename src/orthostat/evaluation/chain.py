"""One design's results, each worked out when first asked for and fed from those before it."""

from __future__ import annotations

import time
from functools import cached_property
from typing import TYPE_CHECKING, Any

from orthostat.base.dimensions import Metre
from orthostat.base.findings import Finding, Gap, NotStated, apply
from orthostat.evaluation.memory import Memory
from orthostat.model.bodies import Role
from orthostat.model.buying import Buying
from orthostat.model.column import Column
from orthostat.model.limits import Limits

if TYPE_CHECKING:
    from orthostat.analyses.cost import Bagged, Cost
    from orthostat.analyses.fit import Fit
    from orthostat.analyses.fit.consistency import Consistency
    from orthostat.analyses.hold import Hold
    from orthostat.analyses.joining import Borne, Joining, Push
    from orthostat.analyses.loads import Result as Loads
    from orthostat.analyses.pieces import Pieces
    from orthostat.analyses.pour import Cure, Effect, Lifts, LiftStudy
    from orthostat.analyses.pour import Result as Pouring
    from orthostat.analyses.reach import Reach
    from orthostat.analyses.solids import Solids
    from orthostat.analyses.stiffness import Stiffness
    from orthostat.evaluation.versions import Version


class Evaluation:
    """A column with the shop's limits; `findings()` applies every rule.

    Asking for a result whose inputs are missing raises `NotStated`.
    """

    def __init__(
        self, column: Column, limits: Limits, memory: Memory | None = None, buying: Buying | None = None
    ) -> None:
        self.column = column
        self.limits = limits
        self.memory = memory or Memory()
        self.buying = buying or Buying()

    @cached_property
    def solids(self) -> Solids:
        """Masses, centres, inertias and extents."""
        from orthostat.analyses import solids

        return self.memory.result("solids", solids.solve, solids.inputs_from(self.column))

    @cached_property
    def fit(self) -> Fit:
        """The column against the machine's limits."""
        from orthostat.analyses import fit

        return self.memory.result("fit", fit.solve, fit.inputs_from(self.column, self.solids))

    @cached_property
    def consistency(self) -> Consistency:
        """The column's parts and stations against one another."""
        from orthostat.analyses.fit import inputs_from
        from orthostat.analyses.fit.consistency import solve_consistency

        return self.memory.result("consistency", solve_consistency, inputs_from(self.column, self.solids))

    @cached_property
    def pour(self) -> Pouring:
        """Volumes, gaps, mix, shopping list and form loads of the fill."""
        from orthostat.analyses import pour

        return self.memory.result("pour", pour.solve, pour.inputs_from(self.column))

    @cached_property
    def cure(self) -> Cure:
        """The fill's cure in one go, its batches and how long a bucket may stand."""
        from orthostat.analyses import pour

        return self.memory.long_result("cure", pour.solve_cure, pour.inputs_from(self.column))

    @cached_property
    def lifts(self) -> Lifts:
        """The fill poured in the lifts that the document states."""
        from orthostat.analyses import pour

        return self.memory.long_result("lifts", pour.solve_pour_in_lifts, pour.inputs_from(self.column))

    @cached_property
    def loads(self) -> Loads:
        """What every cut and motion pushes with, about the base."""
        from orthostat.analyses import loads

        return self.memory.result("loads", loads.solve, loads.inputs_from(self.column, self.solids))

    @cached_property
    def hold(self) -> Hold:
        """Whether every joint stays put: the column on what it stands on, each fixture on its face."""
        from orthostat.analyses import hold

        inputs = hold.inputs_from(self.column, self.limits, self.solids, self.loads)
        return self.memory.result("hold", hold.solve, inputs)

    @cached_property
    def reach(self) -> Reach:
        """What each tool can machine; each answer is worked out when it is asked for."""
        from orthostat.analyses import reach
        from orthostat.catalogue.clearances import clearances

        usual = clearances("usual")
        radial, axial, chord = self.limits.clearance_radial, self.limits.clearance_axial, self.limits.chord
        kept = reach.Clearances(
            usual.radial if radial is None else radial,
            usual.axial if axial is None else axial,
            usual.cutting_radial,
            usual.axial if axial is None else axial,
        )
        inputs = reach.inputs_from(self.column, kept, reach.CHORD if chord is None else Metre(0.5 * chord))
        return self.memory.result("reach", reach.solve, inputs)

    @cached_property
    def pour_effects(self) -> tuple[Effect, ...]:
        """What the room, the mix's temperature and the plates do to the peak of the cure."""
        from orthostat.analyses import pour

        return self.memory.long_result("pour effects", pour.solve_effects, pour.inputs_from(self.column))

    @cached_property
    def lift_study(self) -> LiftStudy:
        """The fill in one, two, … equal lifts until it stays under the resin's limit."""
        from orthostat.analyses import pour

        return self.memory.long_result("lift study", pour.solve_lift_study, pour.inputs_from(self.column))

    @cached_property
    def stiffness(self) -> Stiffness:
        """Movements, modes, limit depths and growth, each worked out when asked for."""
        from orthostat.analyses import loads, stiffness
        from orthostat.evaluation.stiffening import stiffness_inputs

        given = loads.inputs_from(self.column, self.solids)
        inputs = stiffness_inputs(self.column, self.limits, given, self.loads, self.hold)
        return self.memory.long_result("stiffness", stiffness.solve, inputs)

    @cached_property
    def pieces(self) -> Pieces:
        """What has to be made: pieces with their views and holes."""
        from orthostat.analyses import pieces

        return self.memory.result("pieces", pieces.solve, pieces.inputs_from(self.column))

    @cached_property
    def cost(self) -> Cost:
        """What the column costs to make and to buy."""
        from orthostat.analyses import cost

        bagged, missing = self._bagged()
        inputs = cost.inputs_from(self.column, self.pieces, self.solids, self.buying, bagged, missing)
        return self.memory.result("cost", cost.solve, inputs)

    @cached_property
    def joining(self) -> Joining:
        """Whether the pieces of the body are joined, and whether what joins them holds."""
        from orthostat.analyses import joining

        pushes, gap = self._pushes()
        return self.memory.result("joining", joining.solve, joining.inputs_from(self.column, pushes, gap))

    @cached_property
    def borne_at_base(self) -> tuple[Borne, ...]:
        """What every load does to a seam of the base plate that no stud presses together."""
        from orthostat.analyses import joining

        inputs = self.joining.inputs
        if joining.level_of(inputs) is None or not any(joint.kind == "base plate" for joint in inputs.joints):
            return ()
        return joining.borne(inputs, self.column.outline, self.loads)

    def _pushes(self) -> tuple[tuple[Push, ...], Gap | None]:
        """What the liquid fill presses on, or what keeps it from being known; neither without a fill."""
        from orthostat.analyses.joining import Push

        if not any(body.role is Role.FILL for body in self.column.bodies):
            return (), None
        if self.column.pour is None:
            return (), Gap((f"{self.column.path}.pour",))
        try:
            form = self.pour.known_form()
        except NotStated as gap:
            return (), Gap(gap.missing, gap.reason)
        return tuple(Push(each.plate, each.span, form.head, form.density) for each in form.plates), None

    @cached_property
    def versions(self) -> tuple[Version, ...]:
        """The design, then the same envelope made otherwise: each with its cost and findings."""
        from orthostat.evaluation.versions import versions_of

        asked = (self.column, self.limits, self.buying)
        return self.memory.result("versions", lambda _: versions_of(self), asked)

    def _bagged(self) -> tuple[tuple[Bagged, ...], tuple[str, ...]]:
        """The pour's shopping list with the shop's prices, or what keeps it from being known."""
        from orthostat.analyses.cost import Bagged

        if self.column.pour is None:
            return (), (f"{self.column.path}.pour",)
        try:
            items = self.pour.known_items()
        except NotStated as gap:
            return (), gap.missing or (self.column.pour.path,)
        sold = {each.path: each.price for each in self.column.pour.aggregates}
        if self.column.pour.resin is not None:
            sold[self.column.pour.resin.path] = self.column.pour.resin.price
        made = [
            Bagged(
                name=item.name,
                path=item.path,
                unit=item.unit,
                unit_mass=item.unit_mass,
                low=item.low.buy,
                likely=item.likely.buy,
                high=item.high.buy,
                left=item.likely.left,
                price=sold.get(item.path),
            )
            for item in items
        ]
        return tuple(made), ()

    def findings(
        self,
        *,
        only: str | None = None,
        quick: bool = False,
        long: bool = False,
        screened: bool = False,
        needs: dict[str, float] | None = None,
    ) -> tuple[Finding, ...]:
        """Every finding that arises, in the order of the rules.

        `only` keeps one subject; `quick` leaves out the rules whose answers take seconds, `long` all
        others. `screened` keeps of the long ones those that a quick model answers, by that model: what they
        say is not verified. `needs` takes in which results were asked for, and how long each took [s].
        """
        from orthostat.checks import all_rules, rules_of

        asked: Any = self if needs is None else Noting(self, needs)
        if screened:
            asked = Screening(asked)
        found = []
        for rule in all_rules() if only is None else rules_of(only):
            if (quick and rule.long) or (long and not rule.long) or (screened and not rule.screened):
                continue
            made = apply(rule, asked, self.limits.margin_for(rule.slug))
            if made is not None:
                found.append(made)
        return tuple(found)


class Screening:
    """A design with its stiffness by the quick model alone; all else is the design's own."""

    def __init__(self, of: Any) -> None:
        self._of = of

    @cached_property
    def stiffness(self) -> Any:
        """By the quick model alone."""
        return self._of.stiffness.screened

    def __getattr__(self, name: str) -> Any:
        return getattr(self._of, name)


class Noting:
    """A design whose results are noted as they are asked for, with the processor time that each took [s]:
    none where it was there already.
    """

    def __init__(self, of: Evaluation, needs: dict[str, float]) -> None:
        self._of = of
        self._needs = needs

    def __getattr__(self, name: str) -> Any:
        if not isinstance(getattr(type(self._of), name, None), cached_property):
            return getattr(self._of, name)
        spent = self._needs.setdefault(name, 0.0)
        if name in vars(self._of):
            return getattr(self._of, name)
        started = time.process_time()
        try:
            return getattr(self._of, name)
        finally:
            self._needs[name] = spent + time.process_time() - started
