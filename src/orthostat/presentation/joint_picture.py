"""A joint from above: pressure in bands, the part that lifts hatched, studs with their forces, pins."""

from __future__ import annotations

from collections.abc import Sequence

from orthostat.analyses.hold import JointResult, Pressure
from orthostat.base.showing import System, show, show_pair
from orthostat.model.bodies import Point2, Polygon
from orthostat.presentation import svg

WIDTH, HEIGHT, TOP, FOOT = 330.0, 300.0, 42.0, 66.0
BANDS = ("#f1ead9", "#dfd3ba", "#c9b896", "#ab9672", "#8a7553", "#665439")
"""Pressure from least to greatest, light to dark so that it reads in black and white."""


def joint_picture(
    result: JointResult, pressures: Sequence[Pressure], system: System, *, title: str
) -> tuple[str, str]:
    """The joint under each of the pressures, side by side, as SVG; and the same in words."""
    least, greatest = pressure_range(pressures)
    panels: list[svg.Element] = []
    words: list[str] = []
    for k, pressure in enumerate(pressures):
        panels.append(
            svg.group(
                *_panel(result, pressure, (least, greatest), system),
                transform=f"translate({svg.number(k * WIDTH)} 0)",
            )
        )
        words.append(_words(pressure, system))
    panels.append(_scale(least, greatest, system))
    total = WIDTH * len(pressures)
    picture = svg.document(
        max(total, WIDTH), HEIGHT + TOP + FOOT, *panels, title=title, description=" ".join(words)
    )
    return picture, " ".join(words)


def pressure_range(pressures: Sequence[Pressure]) -> tuple[float, float]:
    """What the lightest and the darkest band stand for: from zero, unless the pressure is nearly even."""
    greatest = max(max(0.0, float(each.pressure.max())) for each in pressures) or 1.0
    least = min(float(each.pressure.min()) for each in pressures)
    return (0.0 if least < 0.5 * greatest else least), greatest


def _words(pressure: Pressure, system: System) -> str:
    most = show(float(pressure.pressure.max()), "pressure", system)
    least, greatest = float(pressure.stud_force.min()), float(pressure.stud_force.max())
    return (
        f"{pressure.load}: greatest pressure {most}, {pressure.contact:.0%} of the patch touches, "
        f"stud forces {show(least, 'force', system)} to {show(greatest, 'force', system)}."
    )


def _panel(
    result: JointResult, pressure: Pressure, scale: tuple[float, float], system: System
) -> list[svg.Element]:
    pieces = result.joint.pieces or ()
    view = _view(result, pieces)
    drawn: list[svg.Element] = [svg.text((12.0, 20.0), _cut(pressure.load), size=11.0, bold=True)]
    drawn.append(
        svg.text((12.0, 34.0), f"{pressure.contact:.0%} of the patch touches", size=10.0, fill=svg.QUIET)
    )
    for piece in pieces:
        for band, fill in enumerate(BANDS):
            low, high = (scale[0] + (band + k) * (scale[1] - scale[0]) / len(BANDS) for k in (0, 1))
            low = low if band else 0.0
            part = between(piece.points, pressure.plane, low, high if band + 1 < len(BANDS) else 1e30)
            if part:
                drawn.append(svg.polygon(view.ring(part), fill=fill, stroke=None))
        lifted = between(piece.points, pressure.plane, -1e30, 0.0)
        if lifted:
            drawn.append(svg.polygon(view.ring(lifted), fill=svg.PAPER, stroke=None))
            drawn.append(svg.polygon(view.ring(lifted), fill=svg.HATCH_BLOCKED, stroke=None))
        drawn.append(svg.polygon(view.ring((x, -z) for x, z in piece.points), stroke=svg.INK, width=0.75))
    if pressure.contact < 1.0 - 1e-9:
        drawn.append(_lift_word(pieces, pressure, view))
    drawn += _studs(result, pressure, view, system)
    drawn += _pins(result, view)
    return drawn


def _cut(words: str) -> str:
    return words if len(words) <= 48 else words[:47] + "…"


def _view(result: JointResult, pieces: tuple[Polygon, ...]) -> svg.View:
    points = [point for piece in pieces for point in piece.points]
    points += [each.at for each in result.joint.fasteners] + [each.at for each in result.joint.dowels]
    xs, zs = [x for x, _ in points], [-z for _, z in points]
    return svg.View.fitting(
        (min(xs), min(zs)), (max(xs), max(zs)), box=(30.0, TOP + 10.0, WIDTH - 60.0, HEIGHT - 20.0)
    )


def between(
    points: Sequence[Point2], plane: tuple[float, float, float], low: float, high: float
) -> tuple[Point2, ...]:
    """The part of a convex polygon where a + b x + c z lies between two values, z turned for the page."""
    kept = _side(list(points), plane, low, 1.0)
    kept = _side(kept, plane, high, -1.0)
    return tuple((x, -z) for x, z in kept)


def _side(points: list[Point2], plane: tuple[float, float, float], level: float, sign: float) -> list[Point2]:
    """Cut by the line where the plane equals a level, keeping the side of `sign`."""
    a, b, c = plane
    values = [sign * (a + b * x + c * z - level) for x, z in points]
    kept: list[Point2] = []
    for i, (here, value) in enumerate(zip(points, values, strict=True)):
        before, was = points[i - 1], values[i - 1]
        if (value >= 0.0) != (was >= 0.0):
            share = was / (was - value)
            kept.append(
                (before[0] + share * (here[0] - before[0]), before[1] + share * (here[1] - before[1]))
            )
        if value >= 0.0:
            kept.append(here)
    return kept


def _lift_word(pieces: tuple[Polygon, ...], pressure: Pressure, view: svg.View) -> svg.Element:
    a, b, c = pressure.plane
    corner = min((point for piece in pieces for point in piece.points), key=lambda p: a + b * p[0] + c * p[1])
    x, y = view.point((corner[0], -corner[1]))
    inward = 22.0 if y < TOP + HEIGHT / 2 else -16.0
    anchor = "end" if x > WIDTH / 2 else "start"
    return svg.text(
        (x + (-8.0 if anchor == "end" else 8.0), y + inward),
        "lifts",
        anchor=anchor,
        fill=svg.RUST,
        bold=True,
        halo=True,
    )


def _studs(result: JointResult, pressure: Pressure, view: svg.View, system: System) -> list[svg.Element]:
    drawn: list[svg.Element] = []
    for fastener, force in zip(result.joint.fasteners, pressure.stud_force, strict=True):
        x, y = view.point((fastener.at[0], -fastener.at[1]))
        nominal = fastener.thread.nominal if fastener.thread is not None else 0.012
        radius = max(4.0, view.length(0.5 * nominal))
        drawn.append(svg.circle((x, y), radius, fill=svg.PAPER, width=1.0))
        drawn.append(svg.circle((x, y), 1.2, fill=svg.INK, stroke=None))
        below = y < TOP + HEIGHT - 30.0
        at = (x, y + radius + 12.0) if below else (x, y - radius - 5.0)
        drawn.append(
            svg.text(at, show(float(force), "force", system), size=9.5, anchor="middle", mono=True, halo=True)
        )
    return drawn


def _pins(result: JointResult, view: svg.View) -> list[svg.Element]:
    drawn: list[svg.Element] = []
    for dowel in result.joint.dowels:
        x, y = view.point((dowel.at[0], -dowel.at[1]))
        r = max(4.0, view.length(0.5 * dowel.diameter))
        fill = svg.HATCH_CUT
        if dowel.round:
            drawn.append(svg.circle((x, y), r, fill=svg.PAPER, stroke=None))
            drawn.append(svg.circle((x, y), r, fill=fill, width=1.0))
        else:
            diamond = ((x - r, y), (x, y - r), (x + r, y), (x, y + r))
            drawn.append(svg.polygon(diamond, fill=svg.PAPER, stroke=None))
            drawn.append(svg.polygon(diamond, fill=fill, width=1.0))
        inward = -1.0 if x > WIDTH / 2 else 1.0  # so that a name never runs off the picture
        anchor = "end" if inward < 0.0 else "start"
        drawn.append(
            svg.text((x + inward * (r + 3.0), y - r - 1.0), dowel.name, size=9.0, anchor=anchor, halo=True)
        )
    return drawn


def _scale(least: float, greatest: float, system: System) -> svg.Element:
    """Bands with the pressure at their ends."""
    left, top, step, high = 30.0, TOP + HEIGHT + 12.0, 40.0, 11.0
    drawn: list[svg.Element] = [svg.text((left, top - 3.0), "pressure", size=9.5, fill=svg.QUIET)]
    for k, fill in enumerate(BANDS):
        x = left + k * step
        drawn.append(
            svg.rectangle((x, top), (x + step, top + high), fill=fill, stroke=svg.HAIRLINE, width=0.5)
        )
    for k in (0, len(BANDS) // 2, len(BANDS)):
        value, _ = show_pair(least + k * (greatest - least) / len(BANDS), greatest, "pressure", system)
        drawn.append(
            svg.text(
                (left + k * step, top + high + 12.0),
                value,
                size=9.5,
                anchor="middle" if k else "start",
                mono=True,
            )
        )
    drawn.append(
        svg.text(
            (left, top + high + 28.0),
            "seen from outside; hatched: the parts have come apart",
            size=9.5,
            fill=svg.QUIET,
        )
    )
    return svg.group(*drawn)
