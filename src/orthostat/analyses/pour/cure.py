"""The slow half of a pour: the fill as a material, its cure in one go, the bucket and the batches."""

from __future__ import annotations

from dataclasses import dataclass, field

from orthostat.analyses.pour.batches import Batches, batches
from orthostat.analyses.pour.cup import Calibration, Stuff, calibrated
from orthostat.analyses.pour.filling import fill_conductivity, fill_modulus, fill_stuff
from orthostat.analyses.pour.heat import Heat, solve_heat
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.resin import shrinkage
from orthostat.analyses.pour.solve import Result, attempt, or_why, solve
from orthostat.base.findings import NotStated, stated
from orthostat.base.progress import SILENT, Progress
from orthostat.catalogue import Range


@dataclass(frozen=True)
class Cure:
    """Parts that lack an input are `None`; `known_heat()` and its like raise why."""

    quick: Result = field(repr=False)
    stuff: Stuff | None
    conductivity: Range | None
    modulus: Range | None
    """Young's modulus of the cured fill [Pa]."""
    calibration: Calibration | None
    batches: Batches | None
    heat: Heat | None
    shrinkage: Range | None = None
    """Of the resin's volume while it cures."""
    why_no_stuff: NotStated | None = None
    why_no_modulus: NotStated | None = None
    why_no_calibration: NotStated | None = None
    why_no_batches: NotStated | None = None
    why_no_heat: NotStated | None = None

    def known_stuff(self) -> Stuff:
        """The fill as one continuum; raises `NotStated` naming what it lacks."""
        return or_why(self.stuff, self.why_no_stuff)

    def known_modulus(self) -> Range:
        """The fill's modulus; raises `NotStated` naming what it lacks."""
        return or_why(self.modulus, self.why_no_modulus)

    def known_calibration(self) -> Calibration:
        """The resin's kinetics; raises `NotStated` naming what the data sheet lacks."""
        return or_why(self.calibration, self.why_no_calibration)

    def known_batches(self) -> Batches:
        """The batches; raises `NotStated` naming what they lack."""
        return or_why(self.batches, self.why_no_batches)

    def known_heat(self) -> Heat:
        """The cure of the section; raises `NotStated` naming what it lacks."""
        return or_why(self.heat, self.why_no_heat)


def solve_cure(inputs: Inputs, progress: Progress = SILENT) -> Cure:
    """The cure of a pour, in about a second. Raises `NotStated` for a cavity with no net volume."""
    quick = solve(inputs)
    mix = quick.mix
    if mix is None:
        why = quick.why_no_mix
        return Cure(quick, None, None, None, None, None, None, None, why, why, why, why, why)
    made = mix.used.likely
    stuff, no_stuff = attempt(lambda: fill_stuff(inputs, mix, made))
    conductivity, _ = attempt(lambda: fill_conductivity(inputs, mix, made))
    modulus, no_modulus = attempt(lambda: fill_modulus(inputs, mix, made))
    resin = stated(inputs.pour.resin, f"{inputs.pour.path}.resin")
    calibration, no_calibration = attempt(lambda: calibrated(resin))
    if stuff is None or calibration is None:
        planned, no_batches = None, no_calibration or no_stuff
    else:
        planned, no_batches = attempt(lambda: batches(inputs, mix, quick.volumes, stuff, calibration))
    heat, no_heat = attempt(lambda: solve_heat(inputs, mix, progress=progress.step(0, 1, "cure")))
    return Cure(
        quick=quick,
        stuff=stuff,
        conductivity=conductivity,
        modulus=modulus,
        calibration=calibration,
        batches=planned,
        heat=heat,
        shrinkage=attempt(lambda: shrinkage(resin))[0],
        why_no_stuff=no_stuff,
        why_no_modulus=no_modulus,
        why_no_calibration=no_calibration,
        why_no_batches=no_batches,
        why_no_heat=no_heat,
    )
