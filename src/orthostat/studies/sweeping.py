"""One column with some fields varied: mass, movement, first mode and limit depth of every combination."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from math import inf, isnan, nan
from pathlib import Path

import numpy as np

from orthostat.analyses.stiffness.column_inputs import body_turn, top_strip
from orthostat.analyses.stiffness.inputs import FULL, BodyInputs
from orthostat.analyses.stiffness.lobes import limits
from orthostat.analyses.stiffness.one_body import solve_body
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.result import Solved
from orthostat.analyses.stiffness.study import (
    LEAST,
    OutsideStudy,
    StudyDesign,
    StudyModel,
    answer,
    learn_among,
    mass_of,
    study_design,
)
from orthostat.analyses.stiffness.whole import verified
from orthostat.base.findings import NotStated
from orthostat.base.problems import DocumentError
from orthostat.base.progress import SILENT, Progress
from orthostat.document.editing import Edit
from orthostat.evaluation import OpenShop
from orthostat.evaluation.chain import Evaluation
from orthostat.studies.keeping import keep, kept, key_of
from orthostat.studies.varying import ORDERS, Axis, Value, combinations

BEST = 3
WORTH = 400
"""Designs of a family from which learning it takes less time than the quick model takes for all of them."""
MODES = 10
_NUMBER_OF = dict(zip(ORDERS, ("first", "moved", "depth", "mass"), strict=True))
"""The number of `Found` that each order is by."""
_RISING = frozenset({"movement", "mass"})


@dataclass(frozen=True, slots=True)
class Found:
    """What a model says of a design.

    mass [kg] of the column alone. moved [m/N]: of the station that moves most, under a force there in the
    worst direction, static. first [Hz]: the first natural frequency. depth [m]: the least limit depth over
    the milling cuts, infinite where nothing limits, `None` where there is no such cut or damping is not
    stated.
    """

    mass: float
    moved: float
    first: float
    depth: float | None


@dataclass(frozen=True, slots=True)
class Off:
    """What a study model was off at most on designs that it had not been taught, as shares; not a number
    where there was nothing to compare.
    """

    moved: float
    first: float
    depth: float


NOT_TOLD = Off(nan, nan, nan)


@dataclass(frozen=True, slots=True)
class Verified:
    """The full model of the very column: bonded, and as the verdicts take it where that is not bonded."""

    bonded: Found
    loose: Found | None


@dataclass(frozen=True, slots=True)
class Row:
    """One design. by: `study`, `quick`, or `unknown` with the reason in `why`.

    off: of the study model; not told where the quick model answered.
    """

    values: tuple[Value, ...]
    found: Found | None
    by: str
    why: str = ""
    off: Off = NOT_TOLD
    verified: Verified | None = None


@dataclass(frozen=True, slots=True)
class Study:
    """What a study found.

    best: numbers of the rows verified, the best first. learnt: designs solved to learn from and to try the
    model on. fresh: models that were not kept from before.
    """

    column: str
    axes: tuple[Axis, ...]
    rows: tuple[Row, ...]
    best: tuple[int, ...]
    by: str
    learnt: int = 0
    fresh: int = 0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class _Asked:
    """A design that could be read: its evaluation, the question, and what a study makes of it, if it can."""

    evaluation: Evaluation
    body: BodyInputs
    design: StudyDesign | None


def sweep(
    shop: OpenShop,
    name: str,
    axes: tuple[Axis, ...],
    *,
    by: str = "first mode",
    best: int = BEST,
    worth: int = WORTH,
    folder: Path | None = None,
    progress: Progress = SILENT,
    text: str | None = None,
) -> Study:
    """Vary a column, or `text` in its place. A family of `worth` designs or more is learnt, and kept in
    `folder` if one is given.

    Raises `DocumentError` where the column or a value by itself can't be read; a combination that can't be
    is a row `unknown`.
    """
    if by not in ORDERS:
        raise ValueError(f"designs are ranked by {', '.join(ORDERS)}; not {by}")
    read = shop.folder.column(name) if text is None else shop.folder.column_of(name, text)
    shop.column_as(name, read)
    text = read.text
    _readable(shop, name, text, axes)
    values = list(combinations(axes))
    asked: list[_Asked | str] = []
    for number, chosen in enumerate(values):
        progress.at(0.3 * number, len(values), f"reading design {number + 1} of {len(values)}")
        asked.append(_asked(shop, name, text, axes, chosen))
    learning = progress.step(0.3, 1.0, steps=0.4)
    models, fresh = _models(
        [each for each in asked if isinstance(each, _Asked)], max(worth, LEAST), folder, learning
    )
    rows = []
    for number, (chosen, each) in enumerate(zip(values, asked, strict=True)):
        progress.at(0.7 + 0.2 * number / len(values), 1.0, f"answering design {number + 1} of {len(values)}")
        rows.append(
            Row(chosen, None, "unknown", each) if isinstance(each, str) else _row(chosen, each, models)
        )
    order = ranked(rows, by)[: max(0, best)]
    for done, number in enumerate(order):
        progress.at(0.9 + 0.1 * done / len(order), 1.0, f"verifying design {done + 1} of {len(order)}")
        each = asked[number]
        if isinstance(each, _Asked):
            rows[number] = _verified(rows[number], each)
    learnt = sum(model.learnt + len(model.trials) for model, _ in models.values())
    return Study(name, axes, tuple(rows), order, by, learnt, fresh, _notes(asked))


def _readable(shop: OpenShop, name: str, text: str, axes: tuple[Axis, ...]) -> None:
    """Raise `DocumentError` with every value that can't be read by itself."""
    problems = []
    for axis in axes:
        for value in axis.values:
            try:
                shop.folder.column_of(name, text, [Edit("set", axis.path, value)])
            except DocumentError as fault:
                problems += [replace(problem, line=None) for problem in fault.problems]
    if problems:
        raise DocumentError(dict.fromkeys(problems))


def _asked(
    shop: OpenShop, name: str, text: str, axes: tuple[Axis, ...], values: tuple[Value, ...]
) -> _Asked | str:
    edits = [Edit("set", axis.path, value) for axis, value in zip(axes, values, strict=True)]
    try:
        evaluation = shop.column_as(name, shop.folder.column_of(name, text, edits)).evaluate()
        body = evaluation.stiffness.inputs.body
    except DocumentError as fault:
        return "; ".join(problem.sentence() for problem in fault.problems)
    except NotStated as gap:
        return str(gap)
    if not body.places:
        turn = body_turn(evaluation.column)
        strips = tuple(top_strip(evaluation.column, face, turn) for face in evaluation.column.faces)
        body = replace(body, places=strips)
    try:
        return _Asked(evaluation, body, study_design(evaluation.column, body))
    except (OutsideStudy, NotStated):
        return _Asked(evaluation, body, None)


_Family = tuple[int, str, bool, bool]
_Models = dict[_Family, tuple[StudyModel, Off]]


def _family(design: StudyDesign) -> _Family:
    return len(design.corners), design.kind, design.base > 0.0, design.lid > 0.0


def _models(
    asked: Iterable[_Asked], worth: int, folder: Path | None, progress: Progress
) -> tuple[_Models, int]:
    """A model for each family of designs that is large enough, and how many had to be learnt."""
    families: dict[_Family, dict[StudyDesign, BodyInputs]] = {}
    for each in asked:
        if each.design is not None and not each.design.joint.is_rigid:
            families.setdefault(_family(each.design), {}).setdefault(each.design, each.body)
    large = {family: bodies for family, bodies in families.items() if len(bodies) >= worth}
    models: _Models = {}
    fresh = 0
    for number, (family, bodies) in enumerate(large.items()):
        designs = list(bodies)
        key = key_of(designs)
        model = kept(folder, key) if folder is not None else None
        if model is None:
            told = progress.step(number, len(large), "learning")
            try:
                model = learn_among(designs, progress=told)
            except NotStated:
                continue  # a design of the family can't be built; each is then answered by itself
            fresh += 1
            if folder is not None:
                keep(folder, key, model)
        models[family] = model, _off(model, designs, list(bodies.values()))
    return models, fresh


def _off(model: StudyModel, designs: Sequence[StudyDesign], bodies: Sequence[BodyInputs]) -> Off:
    """What is said of the designs tried over what their mesh says."""
    exact, found = (
        np.array(
            [
                _numbers(_found(designs[each.number], bodies[each.number], getattr(each, whose)))
                for each in model.trials
            ]
        )
        for whose in ("exact", "found")
    )
    with np.errstate(invalid="ignore"):
        worst = np.abs(found / exact - 1.0)
    worst[np.isinf(found) & np.isinf(exact)] = 0.0  # both say that nothing limits the depth
    return Off(*worst.max(axis=0).tolist())


def _numbers(found: Found) -> tuple[float, float, float]:
    return found.moved, found.first, nan if found.depth is None else found.depth


def _found(design: StudyDesign, body: BodyInputs, ports: Ports) -> Found:
    """What is asked of a design that is seen from its stations."""
    first = float(np.sqrt(ports.squares[0]) / (2.0 * np.pi))
    return Found(float(mass_of(design)), _most(ports), first, _depth(body, ports))


def _row(values: tuple[Value, ...], asked: _Asked, models: _Models) -> Row:
    design = asked.design
    if design is not None and _family(design) in models:
        model, off = models[_family(design)]
        with suppress(OutsideStudy, NotStated):
            told = answer(model, design, modes=MODES)
            return Row(values, _found(design, asked.body, told.ports), "study", "", off)
    try:
        return Row(values, _of_solved(solve_body(asked.body)), "quick")
    except NotStated as gap:
        return Row(values, None, "unknown", str(gap))


def _most(ports: Ports) -> float:
    """Largest static compliance over the stations and directions [m/N]."""
    each = [ports.static(k, ports.centre(k)) for k in range(len(ports.centres))]
    return max((float(np.linalg.eigvalsh(0.5 * (c + c.T))[-1]) for c in each), default=nan)


def _depth(body: BodyInputs, ports: Ports) -> float | None:
    """Least limit depth over the milling cuts [m]."""
    if not body.millings or not np.all(np.isfinite(ports.loss[:3])):
        return None
    damped = replace(ports, loss=np.nan_to_num(ports.loss))
    asked = [(body.cuts[each.cut], each) for each in body.millings]
    return min(float(found.lowest) for found in limits(damped, asked))


def _of_solved(solved: Solved) -> Found:
    limits = [found.lowest for found in solved.limits if found is not None]
    whole = bool(solved.limits) and len(limits) == len(solved.limits)
    depth = min((float(each) for each in limits), default=inf) if whole else None
    return Found(float(solved.mass), _most(solved.ports), float(solved.first.frequency), depth)


def ranked(rows: Sequence[Row], by: str) -> tuple[int, ...]:
    """Numbers of the rows that are known in this, best first."""
    sign = 1.0 if by in _RISING else -1.0
    told = []
    for number, row in enumerate(rows):
        value = None if row.found is None else getattr(row.found, _NUMBER_OF[by])
        if value is not None and not isnan(value):
            told.append((sign * value, number))
    return tuple(number for _, number in sorted(told))


def _verified(row: Row, asked: _Asked) -> Row:
    try:
        bonded = _of_solved(verified(asked.body, FULL).solved)
        stiffness = asked.evaluation.stiffness
        loose = None
        if stiffness.has_seams and not stiffness.inputs.bonded:
            loose = _of_solved(verified(replace(asked.body, sliding=True), FULL).solved)
    except NotStated as gap:
        return replace(row, why=f"not verified: {gap}")
    return replace(row, verified=Verified(bonded, loose))


def _notes(asked: list[_Asked | str]) -> tuple[str, ...]:
    """What a reader must know of how the designs were taken."""
    bodies = [each for each in asked if isinstance(each, _Asked)]
    notes = []
    if any(not each.evaluation.column.stations for each in bodies):
        notes.append("no stations: the movement is that of the top of the face that moves most")
    if any(each.evaluation.stiffness.has_seams for each in bodies):
        notes.append("plates count as bonded to the fill; verified designs tell what they do when not bonded")
    if any(each.body.table.unstated for each in bodies):
        notes.append("the machine's table counts as rigid where its stiffness is not stated")
    return tuple(notes)
