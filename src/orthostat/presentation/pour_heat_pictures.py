"""Pictures of the cure: temperatures and share cured over time, the section at its hottest, lifts."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from orthostat.analyses.pour.heat import Heat
from orthostat.analyses.pour.lifts import Lifts
from orthostat.base.showing import System, show, show_parts
from orthostat.presentation import svg
from orthostat.presentation.chart import Chart, Limit, Line, ticks

Floats = NDArray[np.float64]
SHADES = ("#fbf3df", "#f6e6bd", "#efd595", "#e6bf69", "#d8a440", "#bd8527", "#98661a", "#6f4911", "#48300c")
"""Cool to warm: one hue, darker as it gets warmer, so that it reads in black and white."""
Corner = tuple[float, float, float]
"""x, y and the field there."""


def temperature_chart(heat: Heat, limit: float | None, system: System) -> tuple[str, str]:
    """Hottest place, mean of the fill and warmest face over time, with the resin's limit."""
    hours = heat.history.times / 3600.0
    shown = hours <= _shown_hours(heat)
    faces = (
        np.max([series for _, series in heat.face_temperatures], axis=0) if heat.face_temperatures else None
    )
    lines = [_line("hottest place", hours, heat.hottest, shown, system, width=2.0)]
    lines.append(_line("mean of the fill", hours, heat.mean, shown, system))
    if faces is not None:
        lines.append(_line("warmest face", hours, faces, shown, system))
    limits = () if limit is None else (Limit(_degrees(limit, system), "resin's limit", side="above"),)
    peak, when = show(heat.peak, "temperature", system), duration(heat.peak_time)
    words = f"The hottest place reaches {peak} {when} after filling."
    if limit is not None:
        words += f" The resin's limit is {show(limit, 'temperature', system)}."
    unit = show_parts(heat.peak, "temperature", system)[1]
    chart = Chart(
        "Temperature while it cures", "hours after filling", unit, tuple(lines), limits, description=words
    )
    return chart.render(), words


def cure_chart(heat: Heat, strip: float, bolt: float) -> tuple[str, str]:
    """Share cured over time at the slowest place and on the average, with what stripping and bolting want."""
    hours = heat.history.times / 3600.0
    shown = hours <= max(_shown_hours(heat), 24.0)
    lines = (
        Line(
            "slowest place",
            tuple(zip(hours[shown].tolist(), heat.least_cured[shown].tolist(), strict=True)),
            width=2.0,
        ),
        Line("mean", tuple(zip(hours[shown].tolist(), heat.mean_cured[shown].tolist(), strict=True))),
    )
    limits = (
        Limit(strip, "strip"),
        Limit(bolt, "bolt down"),
        Limit(float(heat.calibration.kinetics.gel), "gel"),
    )
    words = f"Half of the fill has set after {duration(heat.set_time)}."
    words += (
        f" It may be stripped after {duration(heat.strip)}."
        if heat.strip is not None
        else " It is not ready to strip at this room."
    )
    chart = Chart(
        "Share cured",
        "hours after filling",
        "share cured",
        lines,
        limits,
        y_range=(0.0, 1.0),
        description=words,
    )
    return chart.render(), words


def lifts_chart(lifts: Lifts, limit: float | None, system: System) -> tuple[str, str]:
    """The hottest place over time when the fill is poured in lifts."""
    hours, hot = lifts.times / 3600.0, lifts.hottest
    points = tuple((float(h), _degrees(float(t), system)) for h, t in zip(hours, hot, strict=True))
    limits = [] if limit is None else [Limit(_degrees(limit, system), "resin's limit", side="above")]
    limits += [Limit(lift.poured / 3600.0, f"lift {lift.number}", vertical=True) for lift in lifts.lifts[1:]]
    said = "; ".join(
        f"lift {lift.number} peaks at {show(lift.peak, 'temperature', system)}" for lift in lifts.lifts
    )
    unit = show_parts(lifts.peak, "temperature", system)[1]
    chart = Chart(
        "Poured in lifts",
        "hours after the first lift",
        unit,
        (Line("hottest place", points, width=1.8),),
        tuple(limits),
        description=said,
    )
    return chart.render(), f"Poured in lifts, {said}."


def _shown_hours(heat: Heat) -> float:
    """Until the fill has cooled most of the way, and at least twice the time of the peak."""
    rise = heat.peak - heat.room
    warm = np.flatnonzero(heat.hottest > heat.room + 0.1 * rise)
    last = float(heat.history.times[int(warm[-1])]) / 3600.0 if len(warm) else 1.0
    return max(last, 2.0 * heat.peak_time / 3600.0)


def duration(seconds: float | None) -> str:
    """A time as a person in a shop would say it: minutes, then hours, then days."""
    if seconds is None:
        return "–"
    if seconds < 5400.0:
        return f"{seconds / 60.0:.0f} min"
    return f"{seconds / 3600.0:.3g} h" if seconds < 172800.0 else f"{seconds / 86400.0:.2g} days"


def _degrees(kelvin: float, system: System) -> float:
    return kelvin - 273.15 if system == "metric" else 1.8 * (kelvin - 273.15) + 32.0


def _line(
    name: str, hours: Floats, series: Floats, shown: NDArray[np.bool_], system: System, width: float = 1.4
) -> Line:
    points = zip(hours[shown].tolist(), series[shown].tolist(), strict=True)
    return Line(name, tuple((h, _degrees(t, system)) for h, t in points), width=width)


def peak_picture(heat: Heat, limit: float | None, system: System) -> tuple[str, str]:
    """The section at the moment of the peak as bands of temperature; hatched where it passes the limit."""
    mesh = heat.section.mesh
    field = heat.field_at(heat.peak_time)
    points = [(float(x), -float(z)) for x, z in mesh.points]
    low, high = (min(p[k] for p in points) for k in (0, 1)), (max(p[k] for p in points) for k in (0, 1))
    view = svg.View.fitting(tuple(low), tuple(high), box=(20.0, 40.0, 400.0, 400.0))  # type: ignore[arg-type]  # pairs
    levels = _levels(float(field.min()), float(field.max()), system)
    parts = [svg.text((20.0, 24.0), "Section at its hottest", size=13.0, bold=True)]
    shapes = bands(np.array(points), mesh.triangles, field, [k for k, _ in levels])
    for shade, shape in zip(_spread(SHADES, len(shapes)), shapes, strict=True):
        parts.append(
            svg.area([view.ring(r) for r in svg.rings_of(shape)], fill=shade, stroke=shade, width=0.4)
        )
    if limit is not None and float(field.max()) > limit:
        over = bands(np.array(points), mesh.triangles, field, [limit, float(field.max()) + 1.0])[0]
        parts.append(
            svg.area([view.ring(r) for r in svg.rings_of(over)], fill=svg.HATCH_BLOCKED, stroke=svg.RUST)
        )
    edges, _ = mesh.boundary_edges()
    lines = [*edges.tolist(), *_interfaces(heat)]
    for a, b in lines:
        parts.append(svg.line(view.point(points[a]), view.point(points[b]), width=0.8))
    spot = view.point((heat.peak_place[0], -heat.peak_place[1]))
    parts.append(svg.circle(spot, 4.0, stroke=svg.INK, width=1.4))
    said = show(heat.peak, "temperature", system)
    parts.append(svg.text((spot[0] + 7.0, spot[1] - 5.0), said, size=11.0, bold=True, halo=True, mono=True))
    parts += _legend(levels, len(shapes), system)
    words = (
        f"At {duration(heat.peak_time)} the hottest place, {said}, lies at x "
        f"{show(heat.peak_place[0], 'length', system)}, z {show(heat.peak_place[1], 'length', system)}; "
        f"the coolest is {show(float(field.min()), 'temperature', system)}."
    )
    return svg.document(560.0, 460.0, *parts, title="Section at its hottest", description=words), words


def _interfaces(heat: Heat) -> list[list[int]]:
    mesh = heat.section.mesh
    found: list[list[int]] = []
    for name in [each for each in mesh.names if each != mesh.names[-1]]:
        found += mesh.interface_edges(name, mesh.names[-1]).tolist()
    return found


def _levels(low: float, high: float, system: System) -> list[tuple[float, str]]:
    """Band edges on round degrees, in kelvin, with their words."""
    a, b = _degrees(low, system), _degrees(high, system)
    step_ticks = ticks(a, b, count=9)
    step = step_ticks[1] - step_ticks[0] if len(step_ticks) > 1 else 1.0
    start = int(np.floor(a / step))
    values = [start * step + k * step for k in range(int(np.ceil((b - start * step) / step)) + 1)]
    if len(values) < 2:
        values.append(values[0] + step)
    return [(_kelvin(value, system), f"{value:.4g}") for value in values]


def _kelvin(degrees: float, system: System) -> float:
    return degrees + 273.15 if system == "metric" else (degrees - 32.0) / 1.8 + 273.15


def _spread(shades: tuple[str, ...], count: int) -> list[str]:
    darkest = min(len(shades) - 1, max(5, count))
    return [shades[round(k * darkest / max(count - 1, 1))] for k in range(count)]


def _legend(levels: list[tuple[float, str]], count: int, system: System) -> list[svg.Element]:
    left, bottom, tall = 450.0, 420.0, 360.0
    each = tall / count
    parts = []
    for k, shade in enumerate(_spread(SHADES, count)):
        parts.append(
            svg.rectangle(
                (left, bottom - k * each), (left + 26.0, bottom - (k + 1) * each), fill=shade, width=0.5
            )
        )
    for k, (_, words) in enumerate(levels):
        parts.append(svg.text((left + 32.0, bottom - k * each + 4.0), words, size=10.0, mono=True))
    unit = "°C" if system == "metric" else "°F"
    parts.append(svg.text((left, bottom - tall - 8.0), unit, size=11.0, fill=svg.QUIET))
    return parts


def bands(
    points: Floats, triangles: NDArray[np.integer[Any]], field: Floats, levels: list[float]
) -> list[Any]:
    """Areas between successive levels of a field linear on each triangle, one geometry a band."""
    found = []
    for low, high in pairwise(levels):
        pieces = []
        for corners in triangles:
            ring = _between([(points[c][0], points[c][1], field[c]) for c in corners], low, high)
            if len(ring) > 2:
                pieces.append(shapely.Polygon([(x, y) for x, y, _ in ring]))
        found.append(shapely.unary_union(pieces, grid_size=1e-6) if pieces else shapely.Polygon())
    return found


def _between(ring: list[Corner], low: float, high: float) -> list[Corner]:
    """The part of a triangle where the third coordinate lies between two levels."""
    for level, sign in ((low, 1.0), (high, -1.0)):
        kept: list[Corner] = []
        for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
            over_a, over_b = sign * (a[2] - level), sign * (b[2] - level)
            if over_a >= 0.0:
                kept.append(a)
            if over_a * over_b < 0.0:
                share = over_a / (over_a - over_b)
                x, y, value = (p + share * (q - p) for p, q in zip(a, b, strict=True))
                kept.append((x, y, value))
        ring = kept
        if len(ring) < 3:
            return []
    return ring
