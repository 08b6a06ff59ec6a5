"""Many designs one after another: the study model where it holds, the quick model where it does not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.answer import answer
from orthostat.analyses.stiffness.study.design import StudyDesign, body_of
from orthostat.analyses.stiffness.study.model import OutsideStudy, StudyModel


@dataclass(frozen=True, slots=True)
class Swept:
    """Frequencies (m,) [Hz] and compliance (6s, 6s) of a design, which model said so, why not the study."""

    design: StudyDesign
    frequencies: Floats
    compliance: Floats
    by: str
    why: tuple[str, ...] = ()


def sweep_designs(model: StudyModel, designs: Iterable[StudyDesign]) -> Iterator[Swept]:
    """Each design answered: `by` is `study` or, outside what was learnt, `quick`.

    Raises `NotStated` for a design that can't be built.
    """
    for design in designs:
        try:
            found = answer(model, design)
        except OutsideStudy as refused:
            solved = solve_body(body_of(design))
            frequencies = np.array([mode.frequency for mode in solved.modes])
            yield Swept(design, frequencies, solved.ports.compliance, "quick", refused.reasons)
        else:
            yield Swept(design, found.frequencies, found.compliance, "study")
