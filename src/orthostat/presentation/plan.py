"""The plan from above: pallet, column, fixtures and parts, the swept circle and the machine's limits."""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot

from orthostat.analyses.fit import Fit
from orthostat.analyses.fit.envelope import seen_at
from orthostat.analyses.solids import Piece, Solids
from orthostat.base.dimensions import Radian
from orthostat.base.showing import System, show
from orthostat.formulas.polygons import convex_hull
from orthostat.model.bodies import COLUMN_ROLES, FASTENING_ROLES, Disc, Point2, Prism, Role
from orthostat.model.column import Column
from orthostat.model.machine import Machine
from orthostat.presentation import svg

WIDTH, HEIGHT, EDGE, FOOT = 520.0, 560.0, 20.0, 40.0
UPRIGHT = 1e-9


def plan_picture(column: Column, solids: Solids, fit: Fit, system: System) -> tuple[str, str]:
    """The picture as SVG text, and the same facts in words.

    Seen from above with +X to the right and the spindle below, so that the face at angle 0 looks down.
    """
    machine = column.machine
    swing = None if machine is None or machine.swing_diameter is None else 0.5 * machine.swing_diameter
    reach = fit.radii[0].reach
    half = 1.03 * max(_farthest(solids.pieces, machine), reach, swing or 0.0)
    box = (EDGE, EDGE, WIDTH - 2.0 * EDGE, HEIGHT - EDGE - FOOT)
    view = svg.View.fitting((-half, -half), (half, half), box=box)
    words = _words(fit, reach, swing, system)
    parts = [
        *_layer(solids.beneath, view, svg.STONE),
        *_envelope(machine, view),
        *_layer(solids.risen, view, svg.SHADE),
        *_stacked(column, solids, view),
        *_circles(view, reach, swing),
        svg.text((WIDTH / 2.0, HEIGHT - 20.0), words[0], anchor="middle"),
    ]
    said = " ".join(words)
    return svg.document(WIDTH, HEIGHT, *parts, title=f"Plan of {column.name}", description=said), said


_SPREAD = frozenset({Role.BASE_PLATE, Role.CLEAT, Role.LID})
"""Parts of the column that may stand out beyond its faces."""


def _stacked(column: Column, solids: Solids, view: svg.View) -> list[svg.Element]:
    """Column, fixtures and studs, the higher over the lower, as one sees them from above."""
    outline = svg.polygon(view.ring(map(_seen, column.outline.points)), fill=svg.COLUMN, width=1.25)
    drawn: list[tuple[float, list[svg.Element]]] = [(column.height, [outline])]
    for piece in (*solids.own, *solids.carried):
        fill = svg.PAPER if piece.body.role in FASTENING_ROLES else svg.SHADE
        if piece.body.role in _SPREAD:
            fill = svg.COLUMN
        elif piece.body.role in COLUMN_ROLES:
            continue
        drawn.append((piece.extents.y_high, _layer((piece,), view, fill)))
    drawn.sort(key=lambda one: one[0])
    return [element for _, elements in drawn for element in elements]


def _seen(point: Point2) -> Point2:
    """A plan point (x, z) as seen from above: z points down the page."""
    return point[0], -point[1]


def _layer(pieces: Iterable[Piece], view: svg.View, fill: str) -> list[svg.Element]:
    return [
        svg.titled(_footprint(prism, view, fill), piece.body.name)
        for piece in pieces
        for prism in piece.body.adds
    ]


def _footprint(prism: Prism, view: svg.View, fill: str) -> svg.Element:
    """A prism's shadow on the plan."""
    section, frame = prism.section, prism.frame
    if isinstance(section, Disc) and hypot(frame.third[0], frame.third[2]) < UPRIGHT:
        x, _, z = frame.point(*section.centre, prism.low)
        return svg.circle(view.point(_seen((x, z))), view.length(section.radius), fill=fill)
    if isinstance(section, Disc):
        (a, b), r = section.centre, section.radius
        corners = [(a - r, b), (a + r, b), (a, b - r), (a, b + r)]
    else:
        corners = list(section.points)
    points = [frame.point(a, b, end) for a, b in corners for end in (prism.low, prism.high)]
    ring = convex_hull([_seen((x, z)) for x, _, z in points])
    return svg.polygon(view.ring(ring), fill=fill)


def _envelope(machine: Machine | None, view: svg.View) -> list[svg.Element]:
    if machine is None or machine.changer_envelope is None:
        return []
    drawn = []
    for turn in machine.changer_b or (Radian(0.0),):
        ring = view.ring(map(_seen, seen_at(machine.changer_envelope, turn).points))
        b = show(turn if machine.b_positive_clockwise else Radian(-turn), "angle")
        words = f"pallet changer's envelope at B {b}"
        drawn.append(svg.titled(svg.polygon(ring, stroke=svg.QUIET, stroke_dasharray="2 3"), words))
    return drawn


def _circles(view: svg.View, reach: float, swing: float | None) -> list[svg.Element]:
    """The swept circle, the machine's swing (dashed) and the B axis."""
    origin = view.point((0.0, 0.0))
    colour = svg.BLUE if swing is None or reach <= swing else svg.RUST
    drawn = [
        svg.titled(svg.circle(origin, view.length(reach), stroke=colour, width=1.5), "swept by the load")
    ]
    if swing is not None:
        limit = svg.circle(origin, view.length(swing), width=1.0, stroke_dasharray="6 4")
        drawn.append(svg.titled(limit, "the machine's swing"))
    x, y = origin
    return [*drawn, svg.line((x - 7.0, y), (x + 7.0, y)), svg.line((x, y - 7.0), (x, y + 7.0))]


def _farthest(pieces: Iterable[Piece], machine: Machine | None) -> float:
    """Largest |x| or |z| of what is drawn [m]."""
    ends = [abs(end) for p in pieces for end in (*p.extents[0:2], *p.extents[4:6])]
    if machine is not None and machine.changer_envelope is not None:
        ends += [abs(end) for point in machine.changer_envelope.points for end in point]
    return max(ends, default=0.0)


def _words(fit: Fit, reach: float, swing: float | None, system: System) -> list[str]:
    swept = (
        f"The load sweeps {show(2.0 * reach, 'length', system)} (solid circle), set by {fit.radii[0].place}."
    )
    if swing is None:
        return [swept, "The machine's swing is not stated."]
    verdict = "inside" if reach <= swing else "beyond"
    return [
        swept,
        f"That is {verdict} the machine's swing of {show(2.0 * swing, 'length', system)} (dashed).",
    ]
