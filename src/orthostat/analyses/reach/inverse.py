"""Inverse answers: the values of one lever with which a tool reaches the whole of a face."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache
from math import floor

from orthostat.analyses.reach import maps
from orthostat.analyses.reach.changer import refused
from orthostat.analyses.reach.inputs import Inputs
from orthostat.analyses.reach.scene import Scene, Solid, view
from orthostat.analyses.reach.solve import face_task
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.findings import NotStated
from orthostat.base.frames import Frame, Vector, face_frame
from orthostat.model.bodies import STANDS_ON_ROLES, Face, Prism, Role
from orthostat.model.tools import Step, Tool

SCAN = 48
"""Values tried over a lever's range before the ends are solved for."""
ROUND = 1e-5
"""Ends are solved to this and rounded to it, inward [m]."""


class Lever(str, Enum):
    """What may be changed, one at a time; the rest of the design stays as it is."""

    DIAMETER = "cutter diameter"
    """Flat-cutting diameter. All cutting steps grow by the same radius (so the difference to the widest
    cutting radius stays); shank, holder, gauge length and depth of cut stay."""
    GAUGE_LENGTH = "gauge length"
    """The first step behind the cutting part is made longer or shorter; all behind it moves along."""
    STAND_OFF = "stand-off"
    """The column moves along the face's normal over pallet and base (or grows on that side): the value is
    the face's distance from the B axis less that of the pallet's edge on the same side."""
    RISER = "riser"
    """A block as wide as the column is put under it: the value is how much higher it stands."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Values of a lever that reach all of a face [m]; an end that is only the end of what was looked
    at is open. Between closed ends it is at least `ROUND` wide: a narrower one nobody can set.
    """

    low: Metre
    high: Metre
    low_open: bool
    high_open: bool


@dataclass(frozen=True)
class Inverse:
    """The answer for one face, tool and lever."""

    face: int
    tool: str
    lever: Lever
    now: Metre
    """The lever's present value [m]."""
    looked: tuple[Metre, Metre]
    """The range that was looked at [m]."""
    intervals: tuple[Interval, ...]
    """Each end, and the middle, re-run in full and found to reach everything."""
    own_tools: tuple[str, ...]
    """The shop's own mills that may true a face, do it as they are and that the tool changer takes."""
    refused: tuple[tuple[str, tuple[str, ...]], ...]
    """Own mills that would do it but break a limit of the tool changer, with the limits."""
    unknown: tuple[str, ...]


Runner = Callable[[float], bool]
"""Whether a value of the lever reaches the whole face."""


@lru_cache(maxsize=256)
def inverse(inputs: Inputs, face: Face, tool: Tool, lever: Lever, depth: Metre) -> Inverse:
    """Which values of a lever let the tool machine the whole face with its tip `depth` into it [m].

    Scanned first, since more is not always better, and then solved at each change from reached to not.
    """
    run, now, low, high = _lever(inputs, face, tool, lever, depth)
    span = [low + (high - low) * k / (SCAN - 1) for k in range(SCAN)]
    values = sorted({*span, *([now] if low <= now <= high else [])})
    reached = [run(value) for value in values]
    intervals = _intervals(values, reached, run)
    own, barred = (
        _own_tools(inputs, face, depth) if lever in (Lever.DIAMETER, Lever.GAUGE_LENGTH) else ((), ())
    )
    head = () if inputs.limits.head_stated else (inputs.limits.head_key,)
    gaps = (*inputs.limits.travel_gaps, *head, *inputs.limits.unseen)
    return Inverse(
        face.number, tool.name, lever, Metre(now), (Metre(low), Metre(high)), intervals, own, barred, gaps
    )


def _intervals(values: list[float], reached: list[bool], run: Runner) -> tuple[Interval, ...]:
    made: list[Interval] = []
    start: int | None = None
    for k, good in enumerate([*reached, False]):
        if good and start is None:
            start = k
        if not good and start is not None:
            last = k - 1
            low = values[start] if start == 0 else _edge(run, values[start], values[start - 1])
            high = values[last] if last == len(values) - 1 else _edge(run, values[last], values[last + 1])
            made += _verified(Interval(Metre(low), Metre(high), start == 0, last == len(values) - 1), run)
            start = None
    return tuple(made)


def _edge(run: Runner, good: float, bad: float) -> float:
    while abs(good - bad) > 0.5 * ROUND:
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if run(middle) else (good, middle)
    inward = floor(good / ROUND) if bad > good else -floor(-good / ROUND)
    tried = (round(good / ROUND) * ROUND, inward * ROUND)
    return next((value for value in tried if run(value)), good)


def _verified(found: Interval, run: Runner) -> list[Interval]:
    """The interval if a full re-run at both ends and the middle reaches everything; else what of it does."""
    closed = not (found.low_open or found.high_open)
    if (closed and found.high - found.low < 0.99 * ROUND) or not (run(found.low) and run(found.high)):
        return []
    middle = 0.5 * (found.low + found.high)
    if run(middle):
        return [found]
    lower = replace(found, high=Metre(_edge(run, found.low, middle)), high_open=False)
    upper = replace(found, low=Metre(_edge(run, found.high, middle)), low_open=False)
    return [*_verified(lower, run), *_verified(upper, run)]


def _lever(
    inputs: Inputs, face: Face, tool: Tool, lever: Lever, depth: Metre
) -> tuple[Runner, float, float, float]:
    """How to run one value, the present value, and the range to look at."""

    def with_tool(changed: Tool) -> bool:
        task = face_task(inputs, face, changed, Metre(-depth), loaded=False)
        return maps.whole(task, maps.face_region(face))

    if lever is Lever.DIAMETER:
        largest = inputs.magazine.diameter_beside_empty or inputs.magazine.diameter
        overhang = 2.0 * (tool.largest_radius - tool.flat_radius)
        high = largest - overhang if largest is not None else max(3.0 * tool.diameter, 1.5 * face.width)
        return (
            (lambda value: with_tool(of_diameter(tool, Metre(value)))),
            tool.diameter,
            0.002,
            max(high, 0.002),
        )
    if lever is Lever.GAUGE_LENGTH:
        if tool.gauge_length is None:
            raise NotStated(f"{tool.path}.gauge_length")
        slack = _stretch(tool)
        least = tool.gauge_length - (slack.end - slack.start if slack is not None else 0.0)
        high = inputs.magazine.length or 2.5 * tool.gauge_length
        return (
            (lambda value: with_tool(of_length(tool, Metre(value)))),
            tool.gauge_length,
            least,
            max(high, least),
        )
    if lever is Lever.STAND_OFF:
        edge = edge_of_platform(inputs, face)
        now = face.distance - edge

        def moved(value: float) -> bool:
            return _moved(inputs, face, tool, depth, out=Metre(value - now), up=Metre(0.0))

        return moved, now, now - 0.05, now + 0.10

    def raised(value: float) -> bool:
        return _moved(inputs, face, tool, depth, out=Metre(0.0), up=Metre(value))

    return raised, 0.0, 0.0, 0.20


def of_diameter(tool: Tool, diameter: Metre) -> Tool:
    """The tool with another flat-cutting diameter, as `Lever.DIAMETER` says."""
    more = 0.5 * diameter - tool.flat_radius
    steps = tuple(
        replace(step, radius=Metre(max(step.radius + more, 1e-6))) if step.cuts else step
        for step in tool.steps
    )
    return replace(
        tool,
        steps=steps,
        flat_radius=Metre(tool.flat_radius + more),
        largest_radius=Metre(tool.largest_radius + more),
    )


def of_length(tool: Tool, gauge_length: Metre) -> Tool:
    """The tool with another gauge length, as `Lever.GAUGE_LENGTH` says."""
    if tool.gauge_length is None:
        return tool
    more = gauge_length - tool.gauge_length
    stretched = _stretch(tool)
    if stretched is None:
        return replace(tool, gauge_length=gauge_length)
    steps = tuple(
        step
        if step.end <= stretched.start and step is not stretched
        else replace(
            step,
            start=step.start if step is stretched else Metre(step.start + more),
            end=Metre(step.end + more),
        )
        for step in tool.steps
    )
    return replace(tool, steps=tuple(s for s in steps if s.end > s.start), gauge_length=gauge_length)


def _stretch(tool: Tool) -> Step | None:
    behind = [step for step in tool.steps if not step.cuts]
    return min(behind, key=lambda step: step.start) if behind else None


def edge_of_platform(inputs: Inputs, face: Face) -> Metre:
    """How far the pallet (or base) reaches from the B axis in the direction of a face [m]."""
    seen = view(inputs.bare, Radian(face.angle))
    reach = [
        float(seen.high[k, 2])
        for k, solid in enumerate(inputs.bare.solids)
        if solid.role in (Role.PALLET, Role.INTERMEDIATE_BASE)
    ]
    return Metre(max(reach, default=0.0))


def _moved(inputs: Inputs, face: Face, tool: Tool, depth: Metre, *, out: Metre, up: Metre) -> bool:
    """Whether the whole face is reached with the column moved along its normal and up."""
    foot = Prism(inputs.outline, inputs.base_height, Metre(inputs.base_height + up))
    scene = _moved_scene(inputs.bare, Radian(face.angle), out, up, foot)
    moved_face = replace(
        face,
        distance=Metre(face.distance + out),
        v_low=Metre(face.v_low + up),
        v_high=Metre(face.v_high + up),
    )
    task = face_task(replace(inputs, bare=scene), moved_face, tool, Metre(-depth), loaded=False)
    return maps.whole(task, maps.face_region(moved_face))


@lru_cache(maxsize=512)
def _moved_scene(bare: Scene, angle: Radian, out: Metre, up: Metre, foot: Prism) -> Scene:
    """The column moved over what it stands on, with a block under it where it is raised."""
    normal = face_frame(angle, Metre(1.0)).third
    by = (normal[0] * out, up, normal[2] * out)
    solids = [solid if solid.role in STANDS_ON_ROLES else shifted(solid, by) for solid in bare.solids]
    if up > 0.0:
        solids.append(Solid("riser", Role.RISER, None, None, foot))
    return replace(bare, solids=tuple(solids))


def shifted(solid: Solid, by: Vector) -> Solid:
    """A solid moved by a vector of the column frame [m]."""
    frame = solid.prism.frame
    origin = (frame.origin[0] + by[0], frame.origin[1] + by[1], frame.origin[2] + by[2])
    moved = Frame(origin, frame.first, frame.second, frame.third)
    return replace(solid, prism=replace(solid.prism, frame=moved))


@lru_cache(maxsize=32)
def _own_tools(
    inputs: Inputs, face: Face, depth: Metre
) -> tuple[tuple[str, ...], tuple[tuple[str, tuple[str, ...]], ...]]:
    own, barred = [], []
    for tool in inputs.truing_mills:
        task = face_task(inputs, face, tool, Metre(-depth), loaded=False)
        if maps.whole(task, maps.face_region(face)):
            broken = refused(tool, inputs.magazine)
            if broken:
                barred.append((tool.name, broken))
            else:
                own.append(tool.name)
    return tuple(own), tuple(barred)
