"""Learning among the very designs of a study: those that differ most are solved, the rest are answered.

The model is tried on designs that it was not taught. As long as one of them is too far off they join the
lesson and others are tried, so that the error stated is always that of designs not seen.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.study.design import StudyDesign
from orthostat.analyses.stiffness.study.learning import MODES, SEED, TRIED, taught
from orthostat.analyses.stiffness.study.model import StudyModel
from orthostat.analyses.stiffness.study.ranges import measured, ranges_about
from orthostat.analyses.stiffness.study.seen import Seen, seen_in
from orthostat.base.progress import SILENT, Progress

FIRST = 20
"""Designs solved before the first trial."""
ROUNDS = 3
"""Lessons at most."""
CLOSE = 0.02
"""Error of the first frequency that is close enough."""
LEAST = FIRST + 3 * TRIED
"""Fewer designs than these are sooner answered one by one than learnt."""


def learn_among(
    designs: Sequence[StudyDesign], *, modes: int = MODES, progress: Progress = SILENT
) -> StudyModel:
    """Learn from some of the designs of a family and try it on others.

    Raises `NotStated` where one can't be built, `ValueError` for fewer than `LEAST` designs.
    """
    if len(designs) < LEAST:
        raise ValueError(f"a study learns among {LEAST} designs or more, not {len(designs)}")
    ranges = ranges_about(designs)
    spread = farthest(_places(designs), FIRST)
    others = [k for k in np.random.default_rng(SEED).permutation(len(designs)).tolist() if k not in spread]
    known: dict[int, Seen] = {}

    def solved(numbers: list[int]) -> list[Seen]:
        for number in numbers:
            if number not in known:
                progress.at(len(known), FIRST + ROUNDS * TRIED, f"solving design {len(known) + 1}")
                known[number] = seen_in(designs[number])
        return [known[number] for number in numbers]

    lesson = list(spread)
    for turn in range(ROUNDS):
        tried = others[turn * TRIED : (turn + 1) * TRIED]
        unseen = dict(zip(tried, solved(tried), strict=True))
        model = taught(ranges, solved(lesson), unseen, modes)
        left = len(others) - (turn + 1) * TRIED
        if model.worst_first <= CLOSE or left < TRIED:
            break
        lesson += tried
    return model


def _places(designs: Sequence[StudyDesign]) -> Floats:
    """(designs, k) each between 0 and 1: where a design lies in what the designs differ in."""
    found = [measured(design) for design in designs]
    rows = []
    for key in sorted({key for each in found for key in each}):
        rows += [[end(each[key]) if key in each else 0.0 for each in found] for end in (min, max)]
    table = np.array(rows).T
    table = np.hstack(
        [table, [[float(d.base > 0.0), float(d.lid > 0.0), float(d.core > 0.0)] for d in designs]]
    )
    width = np.ptp(table, axis=0)
    return np.asarray((table - table.min(axis=0))[:, width > 0.0] / width[width > 0.0])


def farthest(places: Floats, count: int) -> list[int]:
    """Numbers of places (n, k), each the farthest from those before it; the first is the farthest out."""
    if places.shape[1] == 0:
        return list(range(min(count, len(places))))
    chosen = [int(np.argmax(((places - places.mean(axis=0)) ** 2).sum(axis=1)))]
    away = ((places - places[chosen[0]]) ** 2).sum(axis=1)
    while len(chosen) < min(count, len(places)):
        following = int(np.argmax(away))
        if away[following] <= 0.0:
            break
        chosen.append(following)
        away = np.minimum(away, ((places - places[following]) ** 2).sum(axis=1))
    return chosen
