"""The overview of reach: every tool on every face, a small map each."""

from __future__ import annotations

from orthostat.analyses.reach import FaceMap, Reach
from orthostat.base.showing import System, show
from orthostat.presentation import marks, svg
from orthostat.presentation.reach_figures import area
from orthostat.presentation.svg import Element, Point


def overview_figure(reach: Reach, system: System) -> str:
    """Every tool on every face: a small map each, hatched where out of reach, with the share as a number."""
    rows = reach.overview
    tools = [found.tool.name for found in rows[0]] if rows else []
    wide, high, left, top = 92.0, 104.0, 110.0, 76.0
    parts = [svg.text((24.0, 28.0), "Every tool on every face of the bare column", size=14.0, bold=True)]
    for column, name in enumerate(tools):
        at = (left + wide * column + wide / 2.0, top - 12.0)
        parts.append(svg.text(at, _short(name, 15), size=10.0, anchor="middle"))
    for row, maps in enumerate(rows):
        y = top + high * row
        parts.append(svg.text((left - 14.0, y + high / 2.0), maps[0].face.name, size=11.0, anchor="end"))
        for column, found in enumerate(maps):
            parts += _cell(found, (left + wide * column, y), (wide, high), system)
    width, height = max(left + wide * len(tools) + 24.0, 420.0), top + high * len(rows) + 40.0
    key = "colour: reached; hatched: out of reach; milling cutters at the truing depth, others at the face"
    parts.append(svg.text((24.0, height - 14.0), key, size=10.0, fill=svg.QUIET))
    return svg.document(
        max(width, 470.0),
        height,
        *parts,
        title="Reach of every tool on every face",
        description=overview_facts(reach, system),
    )


def overview_facts(reach: Reach, system: System) -> str:
    """The overview in words: each face with the share that each tool reaches."""
    return " ".join(
        f"{maps[0].face.name}: "
        + ", ".join(f"{found.tool.name} {show(found.ground.share, 'share', system)}" for found in maps)
        + "."
        for maps in reach.overview
        if maps
    )


def _short(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1] + "…"


def _cell(found: FaceMap, at: Point, size: tuple[float, float], system: System) -> list[Element]:
    face, ground = found.face, found.ground
    seen = svg.View.fitting(
        (face.u_low, face.v_low),
        (face.u_high, face.v_high),
        box=(at[0] + 8.0, at[1] + 4.0, size[0] - 16.0, size[1] - 28.0),
    )
    verdict = "unknown" if ground.whole and found.unknown else ("holds" if ground.whole else "fails")
    share = show(ground.share, "share", system)
    if not ground.whole and share == "100%":
        share = "<100%"
    middle = at[0] + size[0] / 2.0
    return [
        area(ground.machinable, seen, fill=svg.COLUMN, opacity="0.75"),
        area(ground.lost, seen, fill=svg.HATCH_BLOCKED, stroke=svg.RUST, width=0.5),
        area(ground.wanted, seen, fill="none", stroke=svg.INK, width=0.9),
        marks.sign(verdict, (middle - 22.0, at[1] + size[1] - 14.0), 8.0),
        svg.text((middle - 12.0, at[1] + size[1] - 10.0), share, size=10.5, mono=True),
    ]
