"""Solve one body: assemble, factorise, modes, movements, limits, growth."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import pi, sqrt

import numpy as np

from orthostat.analyses.stiffness.body import Assembled, assembled
from orthostat.analyses.stiffness.factor import Factor, MeshTooLarge, factorised, memory_available
from orthostat.analyses.stiffness.hardest import pushes
from orthostat.analyses.stiffness.inputs import BodyInputs, CutForce
from orthostat.analyses.stiffness.kinds import kinds_of
from orthostat.analyses.stiffness.lobes import Limit, limits
from orthostat.analyses.stiffness.modes import EigenPairs, lowest_modes
from orthostat.analyses.stiffness.response import EnergyShares, Ports, energy_shares, ports
from orthostat.analyses.stiffness.result import Mode, Movement, Rung, Solved
from orthostat.analyses.stiffness.seams import seams
from orthostat.analyses.stiffness.section import Floats
from orthostat.analyses.stiffness.skin import Skin, skin_of
from orthostat.analyses.stiffness.thermal import Growth, growths, warming
from orthostat.base.dimensions import Hertz, Kilogram, Metre, Ratio
from orthostat.base.findings import NotStated
from orthostat.base.progress import SILENT, Progress

_STEPS = 6
NEGLIGIBLE_SHARE = 0.01
"""A part with less of a mode's energy may leave its loss factor unstated."""


def solve_body(inputs: BodyInputs, progress: Progress = SILENT) -> Solved:
    """Everything about one body. What does not hang on the cuts is kept for the next question.

    Raises `NotStated` where it can't be solved: material missing, a piece that floats, parts in the same
    place, a mesh that does not fit the memory.
    """
    rung = ring(replace(inputs, name="", cuts=(), millings=(), bonds=()), progress)
    known = all(mode.loss is not None for mode in rung.modes[:3])
    return Solved(
        inputs=inputs,
        rung=rung,
        movements=movements(rung.ports, inputs.cuts),
        limits=_limits(inputs, rung.ports) if known else (None,) * len(inputs.millings),
        seams=seams(inputs, rung.mesh, rung.layers),
    )


@lru_cache(maxsize=24)
def ring(inputs: BodyInputs, progress: Progress) -> Rung:
    """The body itself: its modes, its response at the stations, its growth and its outside."""
    progress.at(0, _STEPS, "meshing and assembling")
    model = assembled(inputs)
    progress.at(1, _STEPS, f"factorising {model.unknowns} unknowns")
    try:
        factor = factorised(model.stiffness, memory=_allowed(inputs))
        pairs = lowest_modes(
            model.stiffness,
            model.mass if inputs.verify_count else None,
            factor,
            inputs.modes,
            verify=inputs.verify_count,
            times=model.mass_times,
            memory=_allowed(inputs),
            progress=progress.step(2, _STEPS, "finding modes"),
        )
    except MeshTooLarge as large:
        raise NotStated(reason=f"{large}; take a coarser mesh") from large
    except ArithmeticError as fault:
        raise NotStated(reason=f"the body could not be solved: {fault}") from fault
    progress.at(3, _STEPS, "where the modes hold their energy")
    modes = _modes(inputs, model, pairs, energy_shares(model, pairs))
    damping = np.array([0.0 if mode.loss is None else mode.loss for mode in modes])
    progress.at(4, _STEPS, "growth with temperature")
    statics, warm, missing = _statics(inputs, model, factor)
    skin = skin_of(model.swept)
    progress.at(5, _STEPS, "response at the stations")
    return Rung(
        unknowns=model.unknowns,
        solver=factor.name,
        mass=_mass(model),
        modes=modes,
        counted=pairs.counted,
        ports=ports(model, statics, pairs, damping),
        growths=_growths(inputs, model, warm) if warm.shape[1] else (),
        growth_missing=missing,
        skin=skin,
        shapes=_shapes(skin, pairs),
        mesh=model.swept.mesh,
        layers=model.swept.layers,
    )


def _allowed(inputs: BodyInputs) -> float | None:
    """What the next factors may take [bytes]; where the machine is the limit, what is free now."""
    return memory_available() if inputs.memory is None else inputs.memory


def _mass(model: Assembled) -> Kilogram:
    layers = model.swept.layers
    volume = np.einsum("lt,l,t->", model.elastic.density, np.diff(layers.levels), model.swept.mesh.areas)
    return Kilogram(float(volume))


def _modes(inputs: BodyInputs, model: Assembled, pairs: EigenPairs, shares: EnergyShares) -> tuple[Mode, ...]:
    names = kinds_of(model, pairs.vectors)
    return tuple(
        _mode(inputs, float(square), names[k], shares.parts[k], shares.held[k])
        for k, square in enumerate(pairs.squares)
    )


def _mode(inputs: BodyInputs, square: float, kind: str, parts: Floats, held: Floats) -> Mode:
    lost, missing = 0.0, list[str]()
    by_name: dict[str, float] = {}
    for part, share in zip(inputs.parts, parts.tolist(), strict=True):
        by_name[part.role.value] = by_name.get(part.role.value, 0.0) + share
        if part.material.loss_factor is None:
            if share > NEGLIGIBLE_SHARE:
                missing.append(f"{part.material.path}.loss_factor")
        elif not 0.0 <= part.material.loss_factor < 1.0:
            raise NotStated(
                f"{part.material.path}.loss_factor",
                reason=f"{part.material.name}: a loss factor lies between 0 and 1",
            )
        else:
            lost += part.material.loss_factor * share
    low, joint, high = (_lost_below(inputs, loss, held) for loss in _joint_losses(inputs))
    return Mode(
        frequency=Hertz(sqrt(max(square, 0.0)) / (2.0 * pi)),
        loss=None if missing else Ratio(lost + joint),
        kind=kind,
        parts=tuple(by_name.items()),
        contact=float(held[0]),
        studs=float(held[1]),
        table=float(held[2]),
        loss_of_joint=Ratio(joint),
        loss_range=None if missing else (lost + low, lost + high),
        loss_missing=tuple(dict.fromkeys(missing)),
    )


def _lost_below(inputs: BodyInputs, loss: float, held: Floats) -> float:
    """What joint and table lose; a table whose own loss is not stated loses as the joint does."""
    table = loss if inputs.table.loss_factor is None else inputs.table.loss_factor
    return loss * float(held[0] + held[1]) + table * float(held[2])


def _joint_losses(inputs: BodyInputs) -> tuple[float, float, float]:
    """Low, likely and high loss factor of the joint; zero where nobody stated one."""
    joint = inputs.joint
    if joint is None or joint.loss_factor is None:
        return 0.0, 0.0, 0.0
    likely = joint.loss_factor
    low = likely if joint.loss_low is None else joint.loss_low
    return float(low), float(likely), float(likely if joint.loss_high is None else joint.loss_high)


def movements(condensed: Ports, cuts: tuple[CutForce, ...]) -> tuple[Movement, ...]:
    """Movement of the work under each cut's largest load, across the spindle in the worst direction."""
    if not cuts:
        return ()
    push = pushes(condensed, cuts)
    out = np.array([cut.out for cut in cuts])
    total = np.linalg.norm(push.moved, axis=1)
    along = np.where(total[:, None] > 0.0, push.moved / np.where(total > 0.0, total, 1.0)[:, None], out)
    motion = np.einsum("ci,cij->cj", along, push.reach)
    held = np.einsum("ca,pcab,cb->cp", motion, push.at_station(condensed.parts), push.loads)
    outward = np.abs(np.einsum("ci,ci->c", out, push.moved))
    rows = np.column_stack([total, outward, held.sum(axis=1), held[:, 2]])
    return tuple(Movement(number, *(Metre(each) for each in row)) for number, row in enumerate(rows.tolist()))


def _limits(inputs: BodyInputs, condensed: Ports) -> tuple[Limit, ...]:
    return limits(condensed, [(inputs.cuts[m.cut], m) for m in inputs.millings])


def _statics(inputs: BodyInputs, model: Assembled, factor: Factor) -> tuple[Floats, Floats, tuple[str, ...]]:
    """How each unit load at the stations moves the body (unknowns, 6 · stations), and how warmth does
    (unknowns, 3); for the latter which expansions are missing.
    """
    loads, missing = model.ports.toarray().T, tuple[str, ...]()
    stations = loads.shape[1]
    try:
        loads = np.hstack([loads, warming(model, factor, inputs.climate.pallet_expansion)])
    except NotStated as gap:
        missing = gap.missing
    moved = factor.solve(loads) if loads.shape[1] else loads
    return moved[:, :stations], moved[:, stations:], missing


def _growths(inputs: BodyInputs, model: Assembled, warm: Floats) -> tuple[Growth, ...]:
    at_stations = growths(model, warm, inputs.places, (model.ports, model.centres))
    return growths(model, warm, inputs.faces, model.faces) + at_stations


def _shapes(skin: Skin, pairs: EigenPairs) -> Floats:
    made = np.array([skin.moved(pairs.vectors[:, k]) for k in range(pairs.vectors.shape[1])])
    largest = np.abs(np.linalg.norm(made, axis=2)).max(axis=1)
    made /= np.where(largest > 0.0, largest, 1.0)[:, None, None]
    made.setflags(write=False)
    return made
