"""Does the column fit its machine and its pallet?"""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot
from typing import TYPE_CHECKING, Any

from orthostat.base.constants import STANDARD_GRAVITY
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.findings import Answers, Measured, NotStated, Open, Sense, finding, stated
from orthostat.base.showing import show
from orthostat.checks import landing_rows as rows

if TYPE_CHECKING:
    from orthostat.analyses.fit.envelope import Outermost
    from orthostat.analyses.solids import Group
    from orthostat.model.machine import Machine

_RATING = "the machine's stated rating"


def machine_of(evaluation: Any) -> Machine:
    """The column's machine, or `NotStated` naming the column's key."""
    column = evaluation.column
    machine: Machine = stated(column.machine, f"{column.path}.machine")
    return machine


def _worst_of(found: Iterable[Outermost], limit: float, key: str, says: str, times: float = 1.0) -> Answers:
    """A row for every body beyond the limit, or for the outermost one."""
    listed = tuple(found)
    beyond = [one for one in listed if times * one.reach > limit] or listed[:1]
    return [
        Measured(times * one.reach, limit, f"{says} {one.place}", one.body, (one.path, key)) for one in beyond
    ]


@finding(
    "fit.swing",
    question="Does everything on the pallet stay inside the machine's swing as B turns?",
    wanted="largest swing within the machine's",
    sense=Sense.AT_MOST,
    kind="length",
    source=_RATING,
    hangs_on="plan",
    levers=("plan.stand_off", "plan.across_flats", "plan.face_distance"),
)
def swing(evaluation: Any) -> Answers:
    machine = machine_of(evaluation)
    key = f"{machine.path}.swing"
    limit = stated(machine.swing_diameter, key)
    return _worst_of(evaluation.fit.radii, limit, key, "swing diameter set by", times=2.0)


@finding(
    "fit.height",
    question="Is everything on the pallet low enough for the machine?",
    wanted="highest point at most the machine's height limit",
    sense=Sense.AT_MOST,
    kind="length",
    source=_RATING,
    hangs_on="height",
    levers=("height",),
)
def height(evaluation: Any) -> Answers:
    machine = machine_of(evaluation)
    key = f"{machine.path}.height"
    return _worst_of(evaluation.fit.tops, stated(machine.height_limit, key), key, "highest is")


@finding(
    "fit.load",
    beside=True,
    question="Is the loaded column light enough for the pallet?",
    wanted="load at most the machine's rating",
    sense=Sense.AT_MOST,
    kind="mass",
    source=_RATING,
    hangs_on="body",
    levers=("height", "plan.across_flats", "body.plate", "tubes"),
)
def load(evaluation: Any) -> Answers:
    machine, solids = machine_of(evaluation), evaluation.solids
    key = f"{machine.path}.load"
    limit = stated(machine.load_limit, key)
    groups: list[Group] = [solids.loaded]
    if machine.load_includes_pallet:
        beneath = {piece.body.name for piece in solids.beneath}
        groups += [group for group in solids.platforms if group.name in beneath]
        if not solids.beneath:
            raise NotStated(f"{evaluation.column.path}.pallet", reason="the rating counts the pallet")
    counted = "column, studs and all stations" + (
        ", with the pallet" if machine.load_includes_pallet else "; the pallet itself does not count"
    )
    unsaid = [path for group in groups for path in group.missing]
    if evaluation.column.shape_of_body is None:
        unsaid.insert(0, f"{evaluation.column.path}.body")
    missing = tuple(dict.fromkeys(unsaid))
    known = sum(group.known.total for group in groups)
    if missing and known <= limit:
        raise NotStated(*missing, reason="some masses are not known")
    if missing:
        counted = "what is known of it alone is too heavy; not known: " + ", ".join(missing)
    return Measured(known, limit, counted, "loaded", (key,))


@finding(
    "fit.inertia",
    beside=True,
    question="Can the table turn the loaded column?",
    wanted="moment of inertia about B at most the machine's rating",
    sense=Sense.AT_MOST,
    kind="moment of inertia",
    source=_RATING,
    hangs_on="body",
    levers=("plan.across_flats", "plan.face_distance", "height", "tubes"),
)
def inertia(evaluation: Any) -> Answers:
    machine = machine_of(evaluation)
    key = f"{machine.path}.inertia"
    limit = stated(machine.inertia_limit, key)
    return [
        Measured(group.about_b_axis, limit, f"{group.name}, without the pallet", subject, (key,))
        for subject, group in _loadings(evaluation)
    ]


@finding(
    "fit.eccentric_moment",
    question="Is the load near enough to the B axis, full and with one face empty?",
    wanted="static moment about B at most the machine's rating",
    sense=Sense.AT_MOST,
    kind="moment",
    source=_RATING,
    hangs_on="stations",
    levers=("position", "stations"),
)
def eccentric_moment(evaluation: Any) -> Answers:
    machine = machine_of(evaluation)
    key = f"{machine.path}.eccentric_moment"
    limit = stated(machine.eccentric_limit, key)
    return [
        Measured(_static_moment(group), limit, f"weight times offset of {group.name}", subject, (key,))
        for subject, group in _loadings(evaluation)
    ]


def _static_moment(group: Group) -> float:
    """Weight times the horizontal offset of the centre of gravity from the B axis [N m]."""
    return STANDARD_GRAVITY * hypot(group.moments.x, group.moments.z)


def _loadings(evaluation: Any) -> list[tuple[str, Group]]:
    """The loaded column, each half-loaded one, and the empty one."""
    solids, column = evaluation.solids, evaluation.column
    if column.shape_of_body is None:
        raise NotStated(f"{column.path}.body", reason="the column's walls are not described")
    half = [(f"face {face.face} empty", face.without) for face in solids.faces]
    return [("loaded", solids.loaded), *half, *([("empty", solids.empty)] if half else [])]


@finding(
    "fit.tool_clear_of_swing",
    question="Does every tool, drawn back in Z, clear the column while B turns?",
    wanted="tip of the retracted tool at least as far from B as the outermost body",
    sense=Sense.AT_LEAST,
    kind="length",
    source="geometry; the tool is taken at the worst X and Y",
    hangs_on="plan",
    levers=("plan.stand_off", "plan.across_flats", "tools"),
)
def tool_clear_of_swing(evaluation: Any) -> Answers:
    machine, fit = machine_of(evaluation), evaluation.fit
    far = stated(machine.nose_far, f"{machine.path}.nose_to_b")
    if not fit.tools:
        raise NotStated("tools", reason="the shop lists no tools")
    if not fit.radii:
        return None
    outermost: Outermost = fit.radii[0]
    known = [tool for tool in fit.tools if tool.gauge_length is not None]
    close = [tool for tool in known if far - tool.gauge_length < outermost.reach] or known[:1]
    answers: list[Measured | Open] = [
        Measured(
            far - tool.gauge_length,
            outermost.reach,
            f"tip of {tool.name} at Z retract, beside {outermost.place}",
            tool.name,
            (outermost.path, tool.path, f"{machine.path}.nose_to_b"),
        )
        for tool in close
    ]
    unknown = tuple(f"{tool.path}.gauge_length" for tool in fit.tools if tool.gauge_length is None)
    if unknown:
        answers.append(Open("not stated: " + ", ".join(unknown), "tools of unknown length", unknown))
    return answers


@finding(
    "fit.changer",
    question="Does the load stay inside the pallet changer's envelope?",
    wanted="reach toward each side of the envelope at most that side's distance",
    sense=Sense.AT_MOST,
    kind="length",
    source="the machine's stated envelope, where B stands when pallets change",
    hangs_on="plan",
    levers=("plan.stand_off", "plan.across_flats", "position"),
)
def changer(evaluation: Any) -> Answers:
    machine = machine_of(evaluation)
    key = f"{machine.path}.changer"
    envelope = stated(machine.changer_envelope, key)
    size = max(hypot(x, z) for x, z in envelope.points)
    rows = [
        Measured(
            side.outermost.reach, side.limit, f"outermost toward side {side.side} of the envelope "
            f"{_with_b(side.b, machine)} is {side.outermost.place}", f"side {side.side}",
            (side.outermost.path, key), size,
        )
        for side in evaluation.fit.changer
    ]  # fmt: skip
    out = [row for row in rows if row.value > row.limit]
    if out and machine.changer_b is None:
        raise NotStated(f"{key}.b", reason="it would not stay inside at every angle of B")
    return out or sorted(rows, key=lambda r: r.limit - r.value)[:1]


def _with_b(b: Radian | None, machine: Machine) -> str:
    if b is None:
        return "at any angle of B"
    return f"at B {show(b if machine.b_positive_clockwise else Radian(-b), 'angle')}"


@finding(
    "fit.changer_height",
    question="Is the load low enough to pass the pallet changer?",
    wanted="highest point at most the changer's height",
    sense=Sense.AT_MOST,
    kind="length",
    source="the machine's stated envelope",
    hangs_on="height",
    levers=("height",),
)
def changer_height(evaluation: Any) -> Answers:
    machine = machine_of(evaluation)
    key = f"{machine.path}.changer.height"
    return _worst_of(evaluation.fit.tops, stated(machine.changer_height, key), key, "highest is")


@finding(
    "fit.door",
    question="Does the load pass the door?",
    wanted="width across B at most the door's",
    sense=Sense.AT_MOST,
    kind="length",
    source="the machine's stated door; the pallet is taken centred in it at B = 0",
    hangs_on="plan",
    levers=("plan.across_flats", "plan.width"),
)
def door(evaluation: Any) -> Answers:
    machine = machine_of(evaluation)
    key = f"{machine.path}.door.width"
    limit = stated(machine.door_width, key)
    return _worst_of(evaluation.fit.door_sides, limit, key, "widest is", times=2.0)


@finding(
    "fit.door_height",
    question="Is the load low enough to pass the door?",
    wanted="highest point at most the door's height above the pallet top",
    sense=Sense.AT_MOST,
    kind="length",
    source="the machine's stated door",
    hangs_on="height",
    levers=("height",),
)
def door_height(evaluation: Any) -> Answers:
    machine = machine_of(evaluation)
    key = f"{machine.path}.door.height"
    return _worst_of(evaluation.fit.tops, stated(machine.door_height, key), key, "highest is")


@finding(
    "fit.index_step",
    question="Can B stop at every face and every turned cut?",
    wanted="each angle a whole number of index steps",
    sense=Sense.AT_MOST,
    kind="angle",
    source="the machine's stated index step",
    hangs_on="plan",
    levers=("turn", "stations"),
    tight=0.0,
)
def index_step(evaluation: Any) -> Answers:
    from orthostat.analyses.fit.travel import off_step

    machine = machine_of(evaluation)
    key = f"{machine.path}.b_step"
    step = stated(machine.b_step, key)
    rows = [
        Measured(
            off_step(index.angle, step), 0.0, f"{index.subject} faces the spindle at B "
            f"{show(machine.b_of(index.angle), 'angle')}; its miss of the nearest step",
            index.subject, (key,), step or 1.0,
        )
        for index in evaluation.fit.indexes
    ]  # fmt: skip
    return [row for row in rows if row.value > 1e-9 * (step or 1.0)] or rows[:1]


@finding(
    "fit.travel",
    question="Can the spindle reach every cut within X, Y and Z travel?",
    wanted="travel left at the nearest end, not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source="geometry; obstacles are the reach findings' question",
    hangs_on="stations",
    levers=("stations", "plan.stand_off", "riser.thickness", "tools"),
    tight=0.0,
)
def travel(evaluation: Any) -> Answers:
    cuts = evaluation.fit.travels
    if not cuts:
        return None
    machine = machine_of(evaluation)
    answers: list[Measured | Open] = []
    gaps: dict[str, int] = {}
    for cut in cuts:
        rooms: list[tuple[float, float, str]] = []
        for axis, low, high, need_low, need_high, key in (
            ("X", machine.x_low, machine.x_high, cut.x_low, cut.x_high, "x"),
            ("Y", machine.y_low, machine.y_high, cut.y_low, cut.y_high, "spindle_height"),
            ("Z", machine.nose_near, machine.nose_far, *_nose(cut), "nose_to_b"),
        ):
            if low is None or high is None:
                gaps[f"{machine.path}.{key}"] = gaps.get(f"{machine.path}.{key}", 0) + 1
            elif need_low is None or need_high is None:
                path = f"tools.{cut.tool}.gauge_length" if axis == "Z" else cut.missing
                gaps[path] = gaps.get(path, 0) + 1
            else:
                rooms.append((need_low - low, high - low, f"low end of {axis}"))
                rooms.append((high - need_high, high - low, f"high end of {axis}"))
        if rooms:
            room, span, end = min(rooms, key=lambda one: one[0] / one[1] if one[1] > 0.0 else one[0])
            answers.append(
                Measured(
                    room, 0.0, f"{end} at {_at(cut, machine)}", f"station {cut.station}, {cut.name}",
                    (cut.path, machine.path), span or 1.0,
                )
            )  # fmt: skip
    answers += [Open(f"not stated: {path} ({n} cuts)", path, (path,)) for path, n in gaps.items()]
    return answers


def _nose(cut: Any) -> tuple[Metre | None, Metre | None]:
    """Nose to B axis at the deepest and the first point of a cut."""
    if cut.gauge_length is None:
        return None, None
    return Metre(cut.tip_near + cut.gauge_length), Metre(cut.tip_far + cut.gauge_length)


def _at(cut: Any, machine: Machine) -> str:
    return f"B {show(machine.b_of(cut.angle), 'angle')} with {cut.tool}"


@finding(
    "fit.pallet_holes",
    question="Does every stud and pin stand over a pallet hole that it fits?",
    wanted="distance to the nearest fitting hole at most the tolerance",
    sense=Sense.AT_MOST,
    kind="length",
    source="geometry",
    hangs_on="studs",
    levers=("studs", "pins", "position"),
    tight=0.0,
)
def pallet_holes(evaluation: Any) -> Answers:
    return rows.offsets(evaluation.fit.landings, evaluation.limits.hole_tolerance)


@finding(
    "fit.pallet_hole_depth",
    question="Are the pallet's holes deep enough for the studs and pins?",
    wanted="depth entered at most the hole's depth",
    sense=Sense.AT_MOST,
    kind="length",
    source="geometry",
    hangs_on="studs",
    levers=("studs",),
    tight=0.0,
)
def pallet_hole_depth(evaluation: Any) -> Answers:
    pallet = evaluation.column.pallet
    return rows.depths(evaluation.fit.landings, f"{pallet.path if pallet else 'pallet'}.holes")
