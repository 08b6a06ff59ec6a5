"""Does it bend, ring or chatter more than the work allows?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from orthostat.base.dimensions import Metre
from orthostat.base.findings import Answers, Measured, NotStated, Open, Sense, finding
from orthostat.base.showing import show_both
from orthostat.catalogue import material_row
from orthostat.formulas.vibration import tooth_passing_frequency

if TYPE_CHECKING:
    from orthostat.analyses.stiffness import Limit, Milling, Solved, Stiffness
    from orthostat.analyses.stiffness.seams import Seam
    from orthostat.analyses.stiffness.thermal import Growth

HARMONICS = 3
"""Multiples of the tooth-passing frequency that are strong enough to ring a mode."""
CLEAR = 0.10
"""Wanted distance of a multiple from a mode: amplification is then below five."""


def _bound(stiffness: Stiffness) -> str:
    if not stiffness.has_seams:
        return ""
    return ", plates bonded to the fill" if stiffness.inputs.bonded else ", plates not bonded to the fill"


def _hertz(frequency: float) -> str:
    return f"{frequency:.4g} Hz"


def _open_cuts(evaluation: Any, kinds: tuple[str, ...] = ()) -> list[Open]:
    """A row for every cut whose loads are not known (of these kinds, where any are named)."""
    listed = {cut.path: cut for station in evaluation.column.stations for cut in station.cuts}
    return [
        Open(gap.reason or "its loads are not known", gap.path, gap.missing)
        for gap in evaluation.loads.open_cuts
        if not kinds or listed[gap.path].kind in kinds
    ]


@finding(
    "stiffness.movement",
    beside=True,
    long=True,
    screened=True,
    question="Does the work hold still enough under each cut?",
    wanted="movement of the work at most the cut's tolerance",
    sense=Sense.AT_MOST,
    kind="length",
    source="linear elasticity on the joint's springs (docs/methods/stiffness.md)",
    hangs_on="stations",
    levers=("body.plate", "plan.across_flats", "stations.cuts.pass_depth"),
)
def movement(evaluation: Any) -> Answers:
    stiffness: Stiffness = evaluation.stiffness
    rows: list[Measured | Open] = list(_open_cuts(evaluation))
    for path, (solved, worst) in _worst_by_cut(stiffness).items():
        cut = solved.inputs.cuts[worst]
        moved = solved.movements[worst]
        limit = cut.tolerance if cut.tolerance is not None else evaluation.limits.deflection
        if limit is None:
            rows.append(
                Open("no movement allowed is stated", path, (f"{path}.tolerance", "limits.deflection"))
            )
            continue
        share = moved.joint / moved.total if moved.total > 0.0 else 0.0
        why = f"{100.0 * share:.0f} % of it in the joint{_bound(stiffness)}"
        rows.append(Measured(moved.total, limit, why, path, (path,)))
    return rows or None


def _worst_by_cut(stiffness: Stiffness) -> dict[str, tuple[Solved, int]]:
    solved = stiffness.governing
    worst: dict[str, tuple[Solved, int]] = {}
    for moved in solved.movements:
        path = solved.inputs.cuts[moved.cut].path
        if path not in worst or moved.total > worst[path][0].movements[worst[path][1]].total:
            worst[path] = (solved, moved.cut)
    return worst


@finding(
    "stiffness.depth",
    beside=True,
    long=True,
    screened=True,
    question="Is every milling cut shallower than where the column lets it chatter?",
    wanted="planned depth at most the limit depth at any speed",
    sense=Sense.AT_MOST,
    kind="length",
    source="altintas-budak-1995, eq. 22; altintas-2001",
    hangs_on="stations",
    levers=("stations.cuts.pass_depth", "body.fill", "body.plate", "machines.*.table_loss_factor"),
)
def depth(evaluation: Any) -> Answers:
    stiffness: Stiffness = evaluation.stiffness
    rows: list[Measured | Open] = list(_open_cuts(evaluation, ("face", "shoulder", "slot", "thread")))
    solved = stiffness.governing
    by_path: dict[str, list[int]] = {}
    for number, milling in enumerate(solved.inputs.millings):
        by_path.setdefault(solved.inputs.cuts[milling.cut].path, []).append(number)
    rows += [_depth_row(solved, path, numbers) for path, numbers in by_path.items()]
    return rows or None


def _depth_row(solved: Solved, path: str, numbers: list[int]) -> Measured | Open:
    """The worst way a mill may engage in one cut."""
    from orthostat.analyses.stiffness import lowest_limit

    number = min(numbers, key=lambda k: _lowest(solved.limits[k]))
    milling, limit = solved.inputs.millings[number], solved.limits[number]
    if milling.depth is None:
        return Open("the depth of the cut is not stated", path, (f"{path}.pass_depth",))
    if limit is None:
        missing = tuple(dict.fromkeys(key for mode in solved.modes[:3] for key in mode.loss_missing))
        return Open("the damping of the column is not known", path, missing)
    low, high = (
        lowest_limit(solved.ports_at(end), solved.inputs.cuts[milling.cut], milling).lowest for end in (0, 1)
    )
    says = _says(solved, milling, limit)
    if low < milling.depth <= high < LARGEST_DEPTH:
        return Open(
            f"{milling.way}: the limit lies between {show_both(low, 'length')} and "
            f"{show_both(high, 'length')}, as the joint damps little or much, "
            f"and {show_both(milling.depth, 'length')} is planned; {says}",
            path,
            _damping_to_state(solved),
        )
    governing = high if milling.depth > high else low
    return Measured(
        milling.depth, Metre(min(governing, LARGEST_DEPTH)), f"{milling.way}: {says}", path, (path,)
    )


def _damping_to_state(solved: Solved) -> tuple[str, ...]:
    """The key that would narrow the range of damping: the table's, where it yields and loses as the joint."""
    table = solved.inputs.table
    return (table.loss_path,) if table.yields and table.loss_factor is None and table.loss_path else ()


def _lowest(limit: Limit | None) -> float:
    """Rounded, so that of two ways alike it is not rounding that chooses."""
    return 0.0 if limit is None else float(f"{limit.lowest:.9g}")


LARGEST_DEPTH = 1.0
"""A limit depth beyond this [m] is shown as this: nothing is cut so deep."""


def _says(solved: Solved, milling: Milling, limit: Limit) -> str:
    from orthostat.analyses.stiffness import limit_at

    if limit.lowest >= LARGEST_DEPTH:
        return "nothing limits it"
    says = "the lowest limit over all speeds, on the column's response alone"
    if milling.speed is None:
        return f"{says} (the planned speed is not stated)"
    at = limit_at(solved.ports, solved.inputs.cuts[milling.cut], milling, milling.speed)
    return f"{says}; at the planned speed {'none' if at >= LARGEST_DEPTH else show_both(at, 'length')}"


@finding(
    "stiffness.resonance",
    beside=True,
    long=True,
    screened=True,
    question="Do the cutters' teeth keep clear of the column's natural frequencies?",
    wanted="tooth passing and its next two multiples at least 10 % away from every mode",
    sense=Sense.AT_LEAST,
    kind="share",
    source="rao-2011, section 3.4 (amplification 1/|1 - r²| under 5 at 10 %)",
    hangs_on="stations",
    levers=("stations.cuts.spindle_speed", "stations.cuts.cutting_speed"),
)
def resonance(evaluation: Any) -> Answers:
    stiffness: Stiffness = evaluation.stiffness
    solved = stiffness.governing
    rows: dict[str, Measured | Open] = {}
    for milling in solved.inputs.millings:
        path = solved.inputs.cuts[milling.cut].path
        if milling.speed is None:
            rows[path] = Open("its speed is not stated", path, (f"{path}.spindle_speed",))
            continue
        passing = tooth_passing_frequency(milling.speed, milling.teeth)
        away, multiple, number = min(
            (abs(k * passing - mode.frequency) / mode.frequency, k, n)
            for k in range(1, HARMONICS + 1)
            for n, mode in enumerate(solved.modes, 1)
        )
        times = "tooth passing" if multiple == 1 else f"{multiple} × tooth passing"
        mode = solved.modes[number - 1]
        why = (
            f"{times} at {_hertz(multiple * passing)} is nearest to mode {number}, "
            f"{mode.kind}, at {_hertz(mode.frequency)}"
        )
        rows[path] = Measured(away, CLEAR, why, path, (path,))
    return list(rows.values()) or None


@finding(
    "stiffness.first_mode",
    beside=True,
    long=True,
    screened=True,
    question="Does the column ring high enough?",
    wanted="lowest natural frequency at least what the shop wants",
    sense=Sense.AT_LEAST,
    kind="frequency",
    source="the shop's stated limit",
    hangs_on="plan",
    levers=("body.plate", "plan.across_flats", "body.fill"),
)
def first_mode(evaluation: Any) -> Answers:
    wanted = evaluation.limits.least_frequency
    if wanted is None:
        return None
    stiffness: Stiffness = evaluation.stiffness
    first = stiffness.governing.first
    why = f"{first.kind}, {100.0 * first.joint:.0f} % of its energy in the joint{_bound(stiffness)}"
    return Measured(first.frequency, wanted, why, "", ("limits.least_frequency",))


@finding(
    "stiffness.anchors",
    long=True,
    screened=True,
    question="Can the anchors make plates and fill bend as one?",
    wanted="force on each anchor at most what the anchor and the fill under it bear",
    sense=Sense.AT_MOST,
    kind="force",
    source="gere-2012, section 6.10; timoshenko-1925",
    hangs_on="anchors",
    levers=("anchors.count", "anchors.diameter", "anchors.length"),
)
def anchors(evaluation: Any) -> Answers:
    stiffness: Stiffness = evaluation.stiffness
    if not stiffness.inputs.body.bonds:
        return None
    return [_anchor_row(seam) for seam in stiffness.governing.seams] or None


def _anchor_row(seam: Seam) -> Measured | Open:
    subject = f"face {seam.bond.face}"
    try:
        shear, bearing = seam.anchor_shear, seam.anchor_bearing
    except NotStated as gap:
        return Open("what an anchor bears is not known", subject, gap.missing)
    if seam.from_warmth is None:
        return Open("the force of unequal expansion is not known", subject, seam.warmth_missing)
    governs = "its own shear" if shear <= bearing else "the fill's bearing under it"
    why = (
        f"{show_both(seam.from_cut, 'force')} from the hardest cut and "
        f"{show_both(seam.from_warmth, 'force')} from unequal expansion; limited by {governs}"
    )
    return Measured(seam.from_cut + seam.from_warmth, min(shear, bearing), why, subject, (seam.bond.path,))


@finding(
    "stiffness.growth",
    long=True,
    screened=True,
    question="Does the shop's temperature move the work less than its tolerance?",
    wanted="movement of each station over the shop's temperature change at most its finest tolerance",
    sense=Sense.AT_MOST,
    kind="length",
    source="linear thermoelasticity (docs/methods/stiffness.md)",
    hangs_on="stations",
    levers=("limits.temperature_change", "body.material"),
)
def growth(evaluation: Any) -> Answers:
    stiffness: Stiffness = evaluation.stiffness
    swing = evaluation.limits.temperature_change
    if swing is None:
        return Open("the shop's temperature change is not stated", "", ("limits.temperature_change",))
    solved = stiffness.governing
    if solved.growth_missing:
        raise NotStated(*solved.growth_missing)
    stations = {station.name: station for station in evaluation.column.stations}
    machine = solved.inputs.climate.pallet_expansion
    rows = [
        row
        for grown in solved.growths
        if grown.name in stations
        for row in [_growth_row(grown, swing, stations[grown.name], evaluation.limits.deflection, machine)]
        if row is not None
    ]
    return _worst_of_each(rows) or None


def _worst_of_each(rows: list[Measured | Open]) -> list[Measured | Open]:
    """One row for each subject: a pattern repeats a station on several faces under one path."""
    kept: dict[str, Measured | Open] = {}
    for row in rows:
        before = kept.get(row.subject)
        if before is None or isinstance(row, Open) or _further(row, before):
            kept[row.subject] = row
    return list(kept.values())


def _further(row: Measured, before: Measured | Open) -> bool:
    return isinstance(before, Measured) and row.value / row.limit > before.value / before.limit


def _growth_row(
    grown: Growth, swing: float, station: Any, deflection: Metre | None, machine: float | None
) -> Measured | Open | None:
    if not station.cuts:
        return None
    finest = _finest(station, deflection)
    if finest is None:
        return Open(
            "no tolerance is stated", station.path, (f"{station.path}.cuts.tolerance", "limits.deflection")
        )
    up, out = (
        abs(float(grown.even[k]) - (machine or 0.0) * reach) * swing
        for k, reach in ((1, grown.height), (2, grown.distance))
    )
    says = (
        "as its pallet does" if machine is not None else "not at all (the pallet's expansion is not stated)"
    )
    why = (
        f"{show_both(out, 'length')} outward and {show_both(up, 'length')} up, "
        f"the machine taken to grow {says}"
    )
    return Measured(max(up, out), finest, why, station.path, (station.path, "limits.temperature_change"))


@finding(
    "stiffness.lean",
    long=True,
    screened=True,
    question="Does a column that is warmer on one side stay straight enough?",
    wanted="movement of each station, its side warmer by the stated difference, at most its finest tolerance",
    sense=Sense.AT_MOST,
    kind="length",
    source="linear thermoelasticity (docs/methods/stiffness.md)",
    hangs_on="stations",
    levers=("limits.temperature_across", "body.material"),
)
def lean(evaluation: Any) -> Answers:
    stiffness: Stiffness = evaluation.stiffness
    across = evaluation.limits.temperature_across
    if across is None:
        return Open("it is not stated how much warmer one side gets", "", ("limits.temperature_across",))
    solved = stiffness.governing
    if solved.growth_missing:
        raise NotStated(*solved.growth_missing)
    stations = {station.name: station for station in evaluation.column.stations}
    rows: list[Measured | Open] = []
    for grown in solved.growths:
        station = stations.get(grown.name)
        limit = None if station is None else _finest(station, evaluation.limits.deflection)
        if station is None or not station.cuts:
            continue
        if limit is None:
            keys = (f"{station.path}.cuts.tolerance", "limits.deflection")
            rows.append(Open("no tolerance is stated", station.path, keys))
            continue
        moved = max(abs(float(grown.sided[axis])) for axis in (0, 1, 2)) * across
        why = f"its side {show_both(across, 'temperature difference')} warmer than the opposite one"
        rows.append(Measured(moved, limit, why, station.path, (station.path, "limits.temperature_across")))
    return _worst_of_each(rows) or None


def _finest(station: Any, deflection: Metre | None) -> Metre | None:
    """The finest tolerance of a station's cuts; the shop's deflection stands for one that states none."""
    limits = [cut.tolerance if cut.tolerance is not None else deflection for cut in station.cuts]
    return min((limit for limit in limits if limit is not None), default=None)


@finding(
    "stiffness.table",
    long=True,
    screened=True,
    question="Is the stiffness of the machine's table known?",
    wanted="the table's stiffness stated, else movements and frequencies are for a rigid table",
    sense=Sense.AT_LEAST,
    kind="count",
    source="the machine's stated values, or a measurement",
    hangs_on="machine",
    levers=(
        "machines.*.table_stiffness",
        "machines.*.table_tilt_stiffness",
        "machines.*.table_turn_stiffness",
    ),
)
def table(evaluation: Any) -> Answers:
    missing = evaluation.stiffness.inputs.body.table.unstated
    if missing:
        return Open("movements and frequencies are worked out on a rigid table, so they flatter", "", missing)
    return None


@finding(
    "stiffness.mesh",
    long=True,
    question="Is the mesh that verifies fine enough?",
    wanted="first frequency within 3 % of that of the next coarser mesh",
    sense=Sense.AT_MOST,
    kind="share",
    source="the model's own refinement",
    hangs_on="plan",
)
def mesh(evaluation: Any) -> Answers:
    from orthostat.analyses.stiffness.whole import AGREES

    stiffness: Stiffness = evaluation.stiffness
    found = stiffness.governing_verified
    why = ", ".join(
        f"{each.unknowns} unknowns give {_hertz(each.first.frequency)}"
        for each in (found.coarser, found.solved)
    )
    return Measured(found.apart, AGREES, why)


@finding(
    "stiffness.fill",
    question="Is the fill's modulus one that stone in resin can have?",
    wanted="modulus of the fill below that of the stiffest stone",
    sense=Sense.AT_MOST,
    kind="pressure",
    source="hashin-shtrikman-1963: a mixture is never stiffer than its stiffest part",
    hangs_on="body.fill",
)
def fill(evaluation: Any) -> Answers:
    of = evaluation.column.fill_material
    if of is None or of.youngs_modulus is None:
        return None
    stone = material_row("basalt").range_of("youngs_modulus")
    if stone is None:
        return None
    return Measured(
        of.youngs_modulus, stone.high, "the limit is the catalogue's stiffest basalt", of.name, (of.path,)
    )
