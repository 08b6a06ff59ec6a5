"""The passages a mix must flow through: how tight, what makes them, and what would open them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import hypot

import shapely

from orthostat.analyses.pour.inputs import Bar, Former, Inputs
from orthostat.analyses.pour.volumes import ring
from orthostat.base.dimensions import Metre, Ratio
from orthostat.catalogue.casting import assumption
from orthostat.model.bodies import Disc, Point2


@dataclass(frozen=True, slots=True)
class Gap:
    """One passage: between what, how wide, and the largest stone it takes."""

    between: tuple[str, str]
    path: str
    """Document path of what would be changed to open it."""
    clear: Metre
    """Width [m]; negative where the two run into each other."""
    share: Ratio
    """Largest stone over the width."""
    rule: str
    """`forms` or `bars`."""
    opens: str
    """How to open it, with the amount left out."""
    gain: float
    """How much the gap opens for one unit of the change."""
    source: str

    @property
    def largest_stone(self) -> Metre:
        """The largest stone this passage takes [m]; none where it is closed."""
        return Metre(max(0.0, self.share * self.clear))

    def change_for(self, stone: Metre) -> Metre:
        """By how much the named change must be made so that `stone` passes [m]."""
        return Metre(max(0.0, stone / self.share - self.clear) / self.gain)


def gaps(inputs: Inputs) -> tuple[Gap, ...]:
    """Every passage, the one that takes the smallest stone first."""
    found = [
        *_formers_to_walls(inputs),
        *_formers_to_formers(inputs),
        *_bars_to_formers(inputs),
        *_bars_to_bars(inputs),
        *_bars_to_walls(inputs),
    ]
    if not inputs.formers:
        found.append(_cavity(inputs))
    return tuple(sorted(found, key=lambda gap: (gap.share * gap.clear, gap.between)))


def layer_depths(inputs: Inputs) -> tuple[Metre, ...]:
    """Depth of each lift, bottom first [m]; the whole fill where it is one go."""
    tops = sorted(min(max(lift.top, 0.0), inputs.top - inputs.bottom) for lift in inputs.pour.lifts)
    if not tops or tops[-1] < inputs.top - inputs.bottom - 1e-9:
        tops.append(inputs.top - inputs.bottom)
    return tuple(Metre(high - low) for low, high in zip([0.0, *tops[:-1]], tops, strict=True) if high > low)


def _rule(name: str) -> tuple[Ratio, str]:
    row = assumption("stone against bars" if name == "bars" else "stone against forms")
    return Ratio(row.likely), row.source


def _gap(a: str, b: str, path: str, clear: float, rule: str, opens: str, gain: float) -> Gap:
    share, source = _rule(rule)
    return Gap((a, b), path, Metre(clear), share, rule, opens, gain, source)


def _walls(inputs: Inputs) -> list[tuple[str, Point2, Point2]]:
    """The cavity's edges, each named after the plate that faces the same way."""
    points = inputs.cavity.points
    centre = (sum(x for x, _ in points) / len(points), sum(z for _, z in points) / len(points))
    named = []
    for start, end in zip(points, points[1:] + points[:1], strict=True):
        normal = (end[1] - start[1], start[0] - end[0])
        outward = (0.5 * (start[0] + end[0]) - centre[0], 0.5 * (start[1] + end[1]) - centre[1])
        sign = 1.0 if normal[0] * outward[0] + normal[1] * outward[1] > 0.0 else -1.0
        plate = max(
            inputs.plates,
            key=lambda each, n=normal, s=sign: s * (n[0] * each.normal[0] + n[1] * each.normal[1]),  # type: ignore[misc]  # bound now
            default=None,
        )
        named.append(("the wall" if plate is None else plate.name, start, end))
    return named


def _inside(point: Point2, inputs: Inputs) -> bool:
    """Whether a point lies in the (convex) cavity."""
    points = inputs.cavity.points
    turns = [
        (bx - ax) * (point[1] - az) - (bz - az) * (point[0] - ax)
        for (ax, az), (bx, bz) in zip(points, points[1:] + points[:1], strict=True)
    ]
    return all(turn >= 0.0 for turn in turns) or all(turn <= 0.0 for turn in turns)


def _to_line(point: Point2, start: Point2, end: Point2) -> float:
    """Distance of a point from a segment."""
    along = (end[0] - start[0], end[1] - start[1])
    length = along[0] ** 2 + along[1] ** 2
    share = ((point[0] - start[0]) * along[0] + (point[1] - start[1]) * along[1]) / length
    share = min(max(share, 0.0), 1.0)
    return hypot(point[0] - start[0] - share * along[0], point[1] - start[1] - share * along[1])


def _smaller(former: Former) -> tuple[str, float]:
    """The lever of a former and how much the gap opens for one unit of it."""
    if former.kind == "sleeve":
        stud = former.name.removeprefix("sleeve of ")
        return (f"a smaller sleeve for {stud}, or another place for it: its outside less by", 0.5)
    return (f"a smaller {former.name}: its outside less by", 0.5)


def _formers_to_walls(inputs: Inputs) -> list[Gap]:
    found = []
    walls = _walls(inputs)
    for former in inputs.formers:
        opens, gain = _smaller(former)
        inside = _inside(_middle(former), inputs)
        for name, start, end in walls:
            if isinstance(former.section, Disc):
                away = _to_line(former.section.centre, start, end)
                clear = (away if inside else -away) - former.section.radius
            else:
                line = shapely.LineString([start, end])
                clear = shapely.Polygon(former.section.points).distance(line) if inside else -1e-9
            found.append(_gap(former.name, name, former.path, clear, "forms", opens, gain))
    return found


def _middle(former: Former) -> Point2:
    if isinstance(former.section, Disc):
        return former.section.centre
    points = former.section.points
    return (sum(x for x, _ in points) / len(points), sum(z for _, z in points) / len(points))


def _formers_to_formers(inputs: Inputs) -> list[Gap]:
    found = []
    for a, b in combinations(inputs.formers, 2):
        if min(a.top, b.top) <= max(a.bottom, b.bottom):
            continue
        lever = a if a.kind == "tube" else b
        opens, gain = _smaller(lever)
        found.append(_gap(a.name, b.name, lever.path, _apart(a, b), "forms", opens, gain))
    return found


def _apart(a: Former, b: Former) -> float:
    if isinstance(a.section, Disc) and isinstance(b.section, Disc):
        (ax, az), (bx, bz) = a.section.centre, b.section.centre
        return hypot(ax - bx, az - bz) - a.section.radius - b.section.radius
    if isinstance(a.section, Disc):
        a, b = b, a
    shape = shapely.Polygon(ring(a))
    if isinstance(b.section, Disc):
        centre = shapely.Point(b.section.centre)
        depth = shape.exterior.distance(centre)
        return float((-depth if shape.contains(centre) else depth) - b.section.radius)
    other = shapely.Polygon(ring(b))
    return -1e-9 if shape.intersects(other) else float(shape.distance(other))


def bar_plan(bar: Bar) -> shapely.Polygon:
    """The anchor seen from above: its shank, and its head as a line across the tip."""
    return _plan_of(*_axis(bar), (bar.direction[0], bar.direction[2]), bar.diameter, bar.head_diameter)


@lru_cache(maxsize=256)
def _plan_of(
    start: Point2, end: Point2, direction: Point2, diameter: Metre, head: Metre | None
) -> shapely.Polygon:
    shank = shapely.LineString([start, end]).buffer(0.5 * diameter, cap_style="flat")
    if head is None or head <= diameter:
        return shank
    across = (-direction[1] * 0.5 * head, direction[0] * 0.5 * head)
    tip = shapely.LineString(
        [(end[0] - across[0], end[1] - across[1]), (end[0] + across[0], end[1] + across[1])]
    )
    return shapely.unary_union([shank, tip])


def _in_plan(inputs: Inputs) -> list[Bar]:
    """The first bar of each kind at each place of the plan: those above it leave the same gaps."""
    found: dict[object, Bar] = {}
    for bar in inputs.bars:
        found.setdefault((_axis(bar), bar.diameter, bar.head_diameter), bar)
    return list(found.values())


def _bars_to_formers(inputs: Inputs) -> list[Gap]:
    found: dict[tuple[int, str], Gap] = {}
    for bar in reversed(_in_plan(inputs)):
        seen = bar_plan(bar)
        for former in inputs.formers:
            if isinstance(former.section, Disc):
                clear = seen.distance(shapely.Point(former.section.centre)) - former.section.radius
            else:
                clear = seen.distance(shapely.Polygon(former.section.points)) or -1e-9
            opens = f"shorter anchors on face {bar.face}: by"
            gap = _gap(bar.name, former.name, bar.path, clear, "bars", opens, 1.0)
            key = (bar.face, former.name)
            if key not in found or clear < found[key].clear:
                found[key] = gap
    return list(found.values())


def _bars_to_walls(inputs: Inputs) -> list[Gap]:
    """From the tip of each anchor to the wall it points at."""
    found: dict[int, Gap] = {}
    outline = shapely.Polygon(inputs.cavity.points).exterior
    reach = 2.0 * outline.length
    for bar in _in_plan(inputs):
        tip = (bar.end[0], bar.end[2])
        ray = shapely.LineString(
            [tip, (tip[0] + reach * bar.direction[0], tip[1] + reach * bar.direction[2])]
        )
        hit = ray.intersection(outline)
        clear = -1e-9 if hit.is_empty else float(shapely.Point(tip).distance(hit))
        if bar.face not in found or clear < found[bar.face].clear:
            opens = f"shorter anchors on face {bar.face}: by"
            found[bar.face] = _gap(bar.name, "the wall opposite", bar.path, clear, "bars", opens, 1.0)
    return list(found.values())


def _bars_to_bars(inputs: Inputs) -> list[Gap]:
    found: dict[tuple[int, int], Gap] = {}
    level: dict[tuple[_Axis, _Axis], float] = {}
    bars = [(bar, _axis(bar), 0.5 * max(bar.diameter, bar.head_diameter or 0.0)) for bar in inputs.bars]
    for (a, first, thick), (b, second, wide) in sorted(
        combinations(bars, 2), key=lambda pair: abs(pair[0][0].start[1] - pair[1][0].start[1])
    ):
        key, rise, widest = (a.face, b.face), a.start[1] - b.start[1], thick + wide
        if key in found and abs(rise) - widest >= found[key].clear:
            continue
        if (first, second) not in level:
            level[first, second] = _segments_apart(first, second)
        clear = hypot(level[first, second], rise) - widest
        if key not in found or clear < found[key].clear:
            opens = (
                "leave out a row of anchors, or space them wider: by"
                if a.face == b.face
                else f"shorter anchors on face {a.face}: by"
            )
            found[key] = _gap(a.name, b.name, a.path, clear, "bars", opens, 1.0)
    return list(found.values())


_Axis = tuple[Point2, Point2]


def _segments_apart(first: _Axis, second: _Axis) -> float:
    """Shortest distance between two axes in plan."""
    if _cross(first, second):
        return 0.0
    ends = [(p, second) for p in first] + [(p, first) for p in second]
    return min(_to_line(point, *segment) for point, segment in ends)


def _axis(bar: Bar) -> _Axis:
    end = bar.end
    return (bar.start[0], bar.start[2]), (end[0], end[2])


def _cross(first: _Axis, second: _Axis) -> bool:
    """Whether two plan segments cross properly."""

    def side(a: Point2, b: Point2, p: Point2) -> float:
        return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])

    apart = side(*first, second[0]) * side(*first, second[1]) < 0.0
    return apart and side(*second, first[0]) * side(*second, first[1]) < 0.0


def _cavity(inputs: Inputs) -> Gap:
    """The cavity itself, where nothing stands in it: its narrowest width."""
    points = shapely.Polygon(inputs.cavity.points)
    width = _narrowest(points)
    return _gap("the plates", "one another", f"{inputs.path}.body", width, "forms", "a wider column: by", 1.0)


def _narrowest(polygon: shapely.Polygon) -> float:
    """Least width of a convex polygon: over its edges, the farthest vertex."""
    points = [(float(x), float(z)) for x, z in polygon.convex_hull.exterior.coords[:-1]]
    widths = []
    for (ax, az), (bx, bz) in zip(points, points[1:] + points[:1], strict=True):
        length = hypot(bx - ax, bz - az)
        widths.append(max(abs((px - ax) * (bz - az) - (pz - az) * (bx - ax)) / length for px, pz in points))
    return float(min(widths))
