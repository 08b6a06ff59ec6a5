"""The passages a mix must flow through: how tight, what makes them, and what would open them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import hypot, inf

import numpy as np
import shapely

from orthostat.analyses.pour.inputs import Bar, Former, Inputs
from orthostat.analyses.pour.volumes import ring
from orthostat.base.dimensions import Metre, Ratio
from orthostat.catalogue.casting import assumption
from orthostat.model.bodies import Disc, Point2

SAME_PLACE = 1e-12
"""What a ray may miss a segment by at its ends, as a share of its length."""


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
    bars = _in_plan(inputs)
    found = [
        *_formers_to_walls(inputs),
        *_formers_to_formers(inputs),
        *_bars_to_formers(inputs, bars),
        *_bars_to_bars(inputs),
        *_bars_to_walls(inputs, bars),
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
    start, end = _axis(bar)
    shank = shapely.LineString([start, end]).buffer(0.5 * bar.diameter, cap_style="flat")
    head = bar.head_diameter
    if head is None or head <= bar.diameter:
        return shank
    across = (-bar.direction[2] * 0.5 * head, bar.direction[0] * 0.5 * head)
    tip = shapely.LineString(
        [(end[0] - across[0], end[1] - across[1]), (end[0] + across[0], end[1] + across[1])]
    )
    return shapely.unary_union([shank, tip])


def _to_bar(point: Point2, bar: Bar) -> float:
    """Distance of a point from `bar_plan`, in closed form."""
    x, z = point[0] - bar.start[0], point[1] - bar.start[2]
    dx, _, dz = bar.direction
    beyond, aside = x * dx + z * dz - bar.length, abs(z * dx - x * dz)
    shank = hypot(max(beyond, -beyond - bar.length, 0.0), max(aside - 0.5 * bar.diameter, 0.0))
    return min(shank, hypot(beyond, max(aside - 0.5 * (bar.head_diameter or bar.diameter), 0.0)))


def _in_plan(inputs: Inputs) -> list[Bar]:
    """The first bar of each kind at each place of the plan: those above it leave the same gaps."""
    found: dict[object, Bar] = {}
    for bar in inputs.bars:
        found.setdefault((_axis(bar), bar.diameter, bar.head_diameter), bar)
    return list(found.values())


def _bars_to_formers(inputs: Inputs, bars: list[Bar]) -> list[Gap]:
    found: dict[tuple[int, str], tuple[float, Bar, Former]] = {}
    for former in inputs.formers:
        section = former.section
        shape = None if isinstance(section, Disc) else shapely.Polygon(section.points)
        for bar in reversed(bars):
            if isinstance(section, Disc):
                clear = _to_bar(section.centre, bar) - section.radius
            else:
                clear = bar_plan(bar).distance(shape) or -1e-9
            key = (bar.face, former.name)
            if key not in found or clear < found[key][0]:
                found[key] = (clear, bar, former)
    return [
        _gap(bar.name, former.name, bar.path, clear, "bars", f"shorter anchors on face {bar.face}: by", 1.0)
        for clear, bar, former in found.values()
    ]


def _bars_to_walls(inputs: Inputs, bars: list[Bar]) -> list[Gap]:
    """From the tip of each anchor to the wall it points at."""
    points = inputs.cavity.points
    edges = list(zip(points, points[1:] + points[:1], strict=True))
    found: dict[int, tuple[float, Bar]] = {}
    for bar in bars:
        _, tip = _axis(bar)
        ahead = min(_along(tip, (bar.direction[0], bar.direction[2]), *edge) for edge in edges)
        clear = ahead if ahead < inf else -1e-9
        if bar.face not in found or clear < found[bar.face][0]:
            found[bar.face] = clear, bar
    return [
        _gap(
            bar.name, "the wall opposite", bar.path, clear, "bars",
            f"shorter anchors on face {bar.face}: by", 1.0,
        )
        for clear, bar in found.values()
    ]  # fmt: skip


def _along(point: Point2, direction: Point2, start: Point2, end: Point2) -> float:
    """How far a segment lies from a point in a direction (of length 1); infinite where it is not met."""
    (x, z), (dx, dz) = point, direction
    ex, ez = end[0] - start[0], end[1] - start[1]
    turn = dx * ez - dz * ex
    if turn == 0.0:
        return inf
    sx, sz = start[0] - x, start[1] - z
    away, share = (sx * ez - sz * ex) / turn, (sx * dz - sz * dx) / turn
    return away if away >= 0.0 and -SAME_PLACE <= share <= 1.0 + SAME_PLACE else inf


def _bars_to_bars(inputs: Inputs) -> list[Gap]:
    """The narrowest between each two faces; of equal ones the one nearest to level."""
    bars = inputs.bars
    if len(bars) < 2:
        return []
    places: dict[_Axis, int] = {}
    place = np.array([places.setdefault(_axis(bar), len(places)) for bar in bars])
    lines = shapely.linestrings(list(places))
    level = shapely.distance(lines[:, None], lines)
    height = np.array([bar.start[1] for bar in bars])
    thick = np.array([0.5 * max(bar.diameter, bar.head_diameter or 0.0) for bar in bars])
    face = np.array([bar.face for bar in bars])
    first, second = np.triu_indices(len(bars), 1)
    rise = np.abs(height[first] - height[second])
    clear = np.hypot(level[place[first], place[second]], rise) - thick[first] - thick[second]
    faces = face[first] * (face.max() + 1) + face[second]
    order = np.lexsort((rise, clear, faces))
    narrowest = order[np.unique(faces[order], return_index=True)[1]]
    found = []
    for i, j, width in zip(*(each[narrowest].tolist() for each in (first, second, clear)), strict=True):
        a, b = bars[i], bars[j]
        opens = (
            "leave out a row of anchors, or space them wider: by"
            if a.face == b.face
            else f"shorter anchors on face {a.face}: by"
        )
        found.append(_gap(a.name, b.name, a.path, width, "bars", opens, 1.0))
    return found


_Axis = tuple[Point2, Point2]


def _axis(bar: Bar) -> _Axis:
    """Root and tip of a bar in plan."""
    (x, _, z), (dx, _, dz), length = bar.start, bar.direction, bar.length
    return (x, z), (x + length * dx, z + length * dz)


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
