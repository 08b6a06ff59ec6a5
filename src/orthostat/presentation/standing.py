"""A column where it stands, as the spindle sees it with the first face turned to it."""

from __future__ import annotations

from collections.abc import Iterable
from math import cos, pi, sin

from orthostat.base.dimensions import Radian
from orthostat.base.frames import turned
from orthostat.base.showing import System, show
from orthostat.model.bodies import Body, Polygon, Prism, Role
from orthostat.model.column import Column
from orthostat.presentation import svg
from orthostat.presentation.blocks import Figure
from orthostat.presentation.marks import dimension

_OWN = {Role.PLATE, Role.SOLID, Role.BASE_PLATE, Role.LID, Role.CLEAT}
_THROUGH = {Role.STUD, Role.PIN}
"""Pass through others and are covered by them."""
_INSIDE = {Role.FILL, Role.ANCHOR, Role.VOID_FORMER, Role.SLEEVE, Role.SCREW}
_STATION = {Role.FIXTURE, Role.PART, Role.CLAMP}
_WIDTH, _HEIGHT, _EDGE = 620.0, 560.0, 60.0


def side_figure(column: Column, system: System) -> Figure:
    """From the spindle, with face 1 turned to it; heights are above the pallet top."""
    face = column.faces[0]
    bodies = [*column.platforms, *column.bodies, *(b for st in column.stations for b in st.bodies)]
    pieces = [(body, prism) for body in bodies if body.role not in _INSIDE for prism in body.adds]
    pieces.sort(key=lambda piece: (piece[0].role not in _THROUGH, _nearness(piece[1], face.angle)))
    shapes = [(body, _seen(prism, face.angle)) for body, prism in pieces]
    xs = [x for _, ring in shapes for x, _ in ring]
    ys = [y for _, ring in shapes for _, y in ring]
    view = svg.View.fitting(
        (min(xs), min(ys)),
        (max(xs), max(ys)),
        box=(_EDGE + 30, 30.0, _WIDTH - 2 * _EDGE - 90, _HEIGHT - 80.0),
    )
    parts = []
    for body, ring in shapes:
        fill, stroke = _ink(body) if body.role not in _STATION else (svg.PAPER, svg.QUIET)
        if body.role in (Role.PALLET, Role.INTERMEDIATE_BASE, Role.RISER):
            fill, stroke = svg.STONE, svg.HAIRLINE
        parts.append(svg.polygon(view.ring(ring), fill=fill, stroke=stroke, width=0.75))
    low, high = view.point((max(xs), 0.0)), view.point((max(xs), max(ys)))
    top = show(max(ys), "length", system)
    parts.append(dimension(low, high, top, offset=-20.0))
    wide = (view.point((min(xs), min(ys))), view.point((max(xs), min(ys))))
    parts.append(dimension(wide[0], wide[1], show(max(xs) - min(xs), "length", system), offset=-16.0))
    machine = column.machine
    if machine is not None and machine.y_low is not None:
        a, b = view.point((min(xs), machine.y_low)), view.point((max(xs), machine.y_low))
        parts.append(
            svg.line(
                (a[0] - 24, a[1]), (b[0] + 4, b[1]), stroke=svg.BLUE, width=0.75, stroke_dasharray="8 2 2 2"
            )
        )
        parts.append(svg.text((a[0] - 26, a[1] - 3), "lowest", size=9, anchor="end", fill=svg.BLUE))
        parts.append(svg.text((a[0] - 26, a[1] + 8), "spindle", size=9, anchor="end", fill=svg.BLUE))
    words = f"{column.name} from the spindle with face 1 turned to it; "
    words += f"its highest point is {top} above the pallet top."
    picture = svg.document(
        _WIDTH, _HEIGHT, *parts, title=f"{column.name} from the spindle", description=words
    )
    return Figure("from-the-spindle", picture, "From the spindle, face 1 turned to it.", words)


def _ink(body: Body) -> tuple[str, str]:
    if body.role in _OWN:
        return svg.COLUMN, svg.INK
    if body.role is Role.FILL:
        return svg.SHADE, svg.QUIET
    if body.role in (Role.STUD, Role.PIN, Role.NUT, Role.WASHER):
        return svg.PAPER, svg.INK
    return svg.PAPER, svg.QUIET


def _seen(prism: Prism, b: float) -> list[svg.Point]:
    """Outline as the spindle sees it with B at the angle `b` [rad], metres across and up."""
    points = []
    for x, y, z in _corners(prism):
        across, _ = turned(x, z, Radian(b))
        points.append((across, y))
    return _hull(points)


def _nearness(prism: Prism, b: float) -> float:
    """How near the middle of a prism is to the spindle [m]; what is nearer is drawn later."""
    depths = [turned(x, z, Radian(b))[1] for x, _, z in _corners(prism)]
    return sum(depths) / len(depths)


def _corners(prism: Prism) -> list[tuple[float, float, float]]:
    section = prism.section
    if isinstance(section, Polygon):
        flat = list(section.points)
    else:
        (a, c), r = section.centre, section.radius
        flat = [(a + r * cos(pi * k / 24), c + r * sin(pi * k / 24)) for k in range(48)]
    return [prism.frame.point(p, q, level) for p, q in flat for level in (prism.low, prism.high)]


def _hull(points: Iterable[svg.Point]) -> list[svg.Point]:
    import shapely

    hull = shapely.convex_hull(shapely.MultiPoint(list(points)))
    return [(float(x), float(y)) for x, y in hull.exterior.coords[:-1]]
