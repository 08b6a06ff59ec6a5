"""Faces painted with reach: how near one tool gets to each place, or how many of the tools get there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import shapely

from orthostat.analyses.reach import Reach
from orthostat.analyses.reach.nearness import CountBand, Nearness, counted, nearness
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import face_frame
from orthostat.base.showing import System, show
from orthostat.base.units import parse
from orthostat.model.bodies import Face
from orthostat.presentation.blocks import Block, Cell, Column, Paragraph, Quantity, Table
from orthostat.presentation.painting import GRAIN, RAMP, Band, FaceArea, Label, Painting, grains
from orthostat.presentation.svg import rings_of

_HEIGHTS = {"metric": ("10 mm", "25 mm", "50 mm", "100 mm"), "inch": ("1/2 in", "1 in", "2 in", "4 in")}
"""Heights over the face at which a tool is tried that does not get to it."""
_HATCH = 0.012
"""Distance of the strokes on what is out of reach [m]."""
_OVER = 0.00005
"""How far over its face paint is drawn [m]."""
_ROOM = 0.009
"""A number needs a circle of this radius to stand in [m]."""
_GROUPS = 3


def paint_reach(reach: Reach, tool: str, system: System, *, loaded: bool) -> Painting:
    """Every face, painted for one tool, or with how many tools reach each place where `tool` is empty."""
    if tool:
        return _of_tool(reach, tool, system, loaded=loaded)
    return _of_all(reach, system, loaded=loaded)


def _of_tool(reach: Reach, tool: str, system: System, *, loaded: bool) -> Painting:
    heights = [Metre(parse(text, "length").si) for text in _HEIGHTS[system]]
    found = [nearness(reach, face.number, tool, heights, loaded=loaded) for face in reach.inputs.faces]
    tips = [band.tip for band in found[0].bands]
    used = [k for k in range(len(tips)) if k == 0 or any(each.bands[k].share > 0.0 for each in found)]
    lost = any(each.lost_share > 0.0 for each in found)
    tints = _tints(len(used))
    bands = [Band(number, _tip_words(tips[k], system), tints[number - 1]) for number, k in enumerate(used, 1)]
    if lost:
        farthest = show(heights[-1], "length", system)
        bands.append(Band(len(used) + 1, f"not within {farthest} of the face", "", hatched=True))
    drawn = _Drawn()
    for each in found:
        for number, k in enumerate(used, 1):
            drawn.area(each.found.face, number, each.bands[k].ground)
        drawn.area(each.found.face, len(used) + 1, each.lost, hatched=True)
    blocks: tuple[Block, ...] = (
        Paragraph(_tool_words(found, system, loaded=loaded)),
        _tool_table(found, used, bands, lost=lost),
    )
    return Painting(
        "reach",
        f"How near {tool} gets",
        tuple(bands),
        blocks,
        tuple(drawn.areas),
        tuple(drawn.hatch),
        labels=tuple(drawn.labels),
    )


def _tints(count: int) -> tuple[str, ...]:
    """The column's own colour for what is reached, then ever lighter."""
    first = max(3, count - 1)
    return RAMP[first::-1][:count]


def _tip_words(tip: float, system: System) -> str:
    if tip < 0.0:
        return f"cuts it, tip {show(-tip, 'length', system)} into the face"
    return "tip at the face" if tip == 0.0 else f"tip within {show(tip, 'length', system)} of it"


def _tool_words(found: Sequence[Nearness], system: System, *, loaded: bool) -> str:
    first = found[0]
    stand = "the other faces loaded" if loaded else "the bare column"
    said = [f"{first.found.tool.name} on {stand}, {_tip_words(first.bands[0].tip, system)}:"]
    said += _by_face((each.found.face.name, _face_words(each, system)) for each in found)
    missing = found[0].found.unknown
    if missing:
        said.append(f"Not stated, and could take more away: {', '.join(missing)}.")
    return " ".join(said)


def _face_words(each: Nearness, system: System) -> str:
    if each.found.ground.whole:
        return "all of it."
    line = each.bands[0].lowest_line
    width = (
        "no height at full width"
        if line is None
        else f"full width from {show(line, 'length', system)} above the pallet"
    )
    names = ", ".join(dict.fromkeys(blocker.name for blocker in each.blockers[:3]))
    share = show(each.bands[0].share, "share", system)
    return f"{share} of it, {width}" + (f"; in the way: {names}." if names else ".")


def _by_face(said: Iterable[tuple[str, str]]) -> list[str]:
    """Faces of which the same is said, together."""
    alike: dict[str, list[str]] = {}
    for face, words in said:
        alike.setdefault(words, []).append(face)
    return [f"{', '.join(faces)}: {words}" for words, faces in alike.items()]


def _tool_table(
    found: Sequence[Nearness], used: Sequence[int], bands: Sequence[Band], *, lost: bool
) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for each in found:
        shares: list[Cell] = [Quantity(each.bands[k].share, "share") for k in used]
        if lost:
            shares.append(Quantity(each.lost_share, "share"))
        rows.append(
            (
                each.found.face.name,
                *shares,
                Quantity(each.bands[0].lowest_line, "length"),
                ", ".join(dict.fromkeys(blocker.name for blocker in each.blockers[:3])) or "nothing",
            )
        )
    columns = (
        Column("face"),
        *(Column(f"band {band.number}", numeric=True) for band in bands),
        Column("full width from", numeric=True),
        Column("in the way"),
    )
    note = " ".join(f"{band.number}: {band.words}." for band in bands)
    return Table("Share of each face in each band", columns, tuple(rows), note)


def _of_all(reach: Reach, system: System, *, loaded: bool) -> Painting:
    tools = [tool.name for tool in reach.inputs.tools]
    found = [(face, counted(reach, face.number, tools, loaded=loaded)) for face in reach.inputs.faces]
    groups = _groups(len(tools))
    present = [
        group
        for group in groups
        if any(_share(counts, group) > 0.0 for _, counts in found) or group[0] == len(tools)
    ]
    reached = [group for group in present if group[1] > 0]
    tints = _tints(len(reached))
    bands, drawn = [], _Drawn()
    for number, group in enumerate(present, 1):
        none = group[1] == 0
        shade = "" if none else tints[number - 1]
        bands.append(Band(number, _group_words(group, len(tools)), shade, hatched=none))
        for face, counts in found:
            ground = shapely.union_all([each.ground for each in counts if group[0] <= each.count <= group[1]])
            drawn.area(face, number, ground, hatched=none)
    rows: list[tuple[Cell, ...]] = [
        (face.name, *(Quantity(_share(counts, group), "share") for group in present))
        for face, counts in found
    ]
    columns = (Column("face"), *(Column(f"band {band.number}", numeric=True) for band in bands))
    stand = "each face, the others loaded" if loaded else "the bare column"
    words = f"{len(tools)} tools on {stand}, mills at the truing depth and others with the tip at the face. "
    words += " ".join(_by_face((face.name, _count_words(counts, groups, system)) for face, counts in found))
    if not tools:
        words = "The shop has no tools."
    note = " ".join(f"{band.number}: {band.words}." for band in bands)
    table = Table("Share of each face in each band", columns, tuple(rows), note)
    return Painting(
        "reach",
        "How many tools reach",
        tuple(bands),
        (Paragraph(words), table),
        tuple(drawn.areas),
        tuple(drawn.hatch),
        labels=tuple(drawn.labels),
    )


def _count_words(counts: Sequence[CountBand], groups: Sequence[tuple[int, int]], system: System) -> str:
    every, none = (show(_share(counts, group), "share", system) for group in (groups[0], groups[-1]))
    return f"all of them reach {every}, none {none}."


def _groups(count: int) -> list[tuple[int, int]]:
    """Ranges of how many tools: all, a few ranges between, none."""
    if count == 0:
        return [(0, 0)]
    between = list(range(count - 1, 0, -1))
    size = max(1, -(-len(between) // _GROUPS))
    parts = [between[k : k + size] for k in range(0, len(between), size)]
    return [(count, count), *((part[-1], part[0]) for part in parts), (0, 0)]


def _share(counts: Sequence[CountBand], group: tuple[int, int]) -> float:
    return sum(each.share for each in counts if group[0] <= each.count <= group[1])


def _group_words(group: tuple[int, int], count: int) -> str:
    low, high = group
    if high == 0:
        return "no tool"
    if low == count:
        return f"all {count} tools" if count > 1 else "the one tool"
    return f"{low} tool{'' if low == 1 else 's'}" if low == high else f"{low} to {high} tools"


class _Drawn:
    """Areas, strokes and numbers as they are gathered face by face."""

    def __init__(self) -> None:
        self.areas: list[FaceArea] = []
        self.hatch: list[int] = []
        self.labels: list[Label] = []

    def area(self, face: Face, number: int, ground: shapely.Geometry, *, hatched: bool = False) -> None:
        frame = face_frame(Radian(face.angle), face.distance)
        place = frame.point(0.0, 0.0, _OVER)
        axes = (*frame.first, *frame.second, *frame.third, *place)
        for part in shapely.get_parts(ground):
            rings = tuple(grains([c for point in ring[:-1] for c in point]) for ring in rings_of(part))
            if not rings:
                continue
            self.areas.append(FaceArea(number - 1, axes, rings))
            circle = shapely.maximum_inscribed_circle(part, tolerance=0.001)
            if circle.length >= _ROOM:
                u, v = circle.coords[0]
                self.labels.append(Label(str(number), grains(frame.point(u, v, _OVER)), frame.third))
            if hatched:
                for (u, v), (s, t) in _strokes(part):
                    self.hatch += grains([*frame.point(u, v, GRAIN), *frame.point(s, t, GRAIN)])


def _strokes(part: shapely.Polygon) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Strokes rising to the right over an area."""
    u_low, v_low, u_high, v_high = part.bounds
    step = _HATCH * 2.0**0.5
    first = int((v_low - u_high) // step)
    last = int((v_high - u_low) // step) + 1
    lines = shapely.linestrings(
        [[(u_low, u_low + k * step), (u_high, u_high + k * step)] for k in range(first, last + 1)]
    )
    cut = shapely.get_parts(shapely.intersection(lines, part))
    return [
        (line.coords[0], line.coords[-1]) for line in cut if line.geom_type == "LineString" and line.length
    ]
