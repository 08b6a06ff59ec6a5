"""Pictures of a pour before it cures: the grading, the tightest passage, the form under the liquid."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import ceil, floor, hypot, log10

import shapely
from shapely.ops import nearest_points

from orthostat.analyses.pour import Result
from orthostat.analyses.pour.form import TubeLoad, safe_pressure
from orthostat.analyses.pour.gaps import Gap, bar_plan
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.mix import Blend
from orthostat.analyses.pour.volumes import ring
from orthostat.base.dimensions import Metre
from orthostat.base.showing import System, show
from orthostat.model.bodies import Point2
from orthostat.presentation import marks, svg

WIDTH, HEIGHT = 620.0, 380.0


def grading_picture(blend: Blend, system: System) -> tuple[str, str]:
    """Share passing over sieve size (logarithmic) beside both ideal curves: SVG, and the same in words."""
    low, high = log10(blend.smallest * 0.8), log10(blend.largest * 1.25)
    left, right, top, bottom = 62.0, WIDTH - 20.0, 46.0, HEIGHT - 52.0

    def place(size: float, share: float) -> svg.Point:
        x = left + (log10(size) - low) / (high - low) * (right - left)
        return x, bottom - share * (bottom - top)

    parts = [svg.text((left, 22.0), "Grading of the blend", size=13.0, bold=True)]
    parts += _grading_axes(place, (low, high), (left, right, top, bottom), system)
    curves = (
        ("blend", [(p.size, p.passing) for p in blend.curve], None, 2.2),
        ("Fuller", [(p.size, p.fuller) for p in blend.curve], "6 3", 1.2),
        ("Andreasen", [(p.size, p.andreasen) for p in blend.curve], "2 2", 1.2),
    )
    x = right - 250.0
    for name, points, dash, width in curves:
        line = [place(size, share) for size, share in points]
        parts.append(svg.polyline(line, stroke=svg.INK, width=width, stroke_dasharray=dash))
        parts.append(svg.line((x, top - 12.0), (x + 24.0, top - 12.0), width=width, stroke_dasharray=dash))
        parts.append(svg.text((x + 28.0, top - 8.0), name, size=10.5))
        x += 86.0
    words = (
        f"The blend runs from {show(blend.smallest, 'length', system)} to "
        f"{show(blend.largest, 'length', system)}; on the average it lies {show(blend.from_fuller, 'share')} "
        f"from Fuller's curve and {show(blend.from_andreasen, 'share')} from Andreasen's."
    )
    return svg.document(WIDTH, HEIGHT, *parts, title="Grading of the blend", description=words), words


def _grading_axes(
    place: Callable[[float, float], svg.Point],
    span: tuple[float, float],
    box: tuple[float, float, float, float],
    system: System,
) -> list[svg.Element]:
    left, right, top, bottom = box
    parts: list[svg.Element] = []
    for decade in range(floor(span[0]), ceil(span[1]) + 1):
        for step in (1.0, 2.0, 5.0):
            size = step * 10.0**decade
            if not span[0] <= log10(size) <= span[1]:
                continue
            x = place(size, 0.0)[0]
            parts.append(svg.line((x, top), (x, bottom), stroke=svg.HAIRLINE, width=0.4))
            words = show(size, "length", system, figures=2)
            parts.append(svg.text((x, bottom + 15.0), words, size=9.0, anchor="middle", mono=True))
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        y = place(10.0 ** span[0], share)[1]
        parts.append(svg.line((left, y), (right, y), stroke=svg.HAIRLINE, width=0.4))
        parts.append(
            svg.text((left - 7.0, y + 3.5), show(share, "share"), size=10.0, anchor="end", mono=True)
        )
    parts += [svg.line((left, bottom), (right, bottom)), svg.line((left, top), (left, bottom))]
    parts.append(svg.text((right, bottom + 34.0), "sieve", size=11.0, anchor="end", fill=svg.QUIET))
    parts.append(svg.text((left, top - 8.0), "share passing", size=11.0, fill=svg.QUIET))
    return parts


def gap_picture(result: Result, stone: Metre, system: System) -> tuple[str, str]:
    """The form from above with the tightest passage marked, and a stone drawn in it to scale."""
    inputs = result.inputs
    tight = result.gaps[0]
    outer = [(x, -z) for plate in inputs.plates for x, z in plate.outline.points]
    low = (min(x for x, _ in outer), min(y for _, y in outer))
    high = (max(x for x, _ in outer), max(y for _, y in outer))
    view = svg.View.fitting(low, high, box=(20.0, 44.0, 420.0, 420.0))
    parts = [svg.text((20.0, 24.0), "Passages in the form, seen from above", size=13.0, bold=True)]
    parts += [svg.polygon(_ring(view, plate.outline.points), fill=svg.SHADE) for plate in inputs.plates]
    parts.append(svg.polygon(_ring(view, inputs.cavity.points), fill=svg.COLUMN))
    for bar in inputs.bars:
        shape = bar_plan(bar)
        parts.append(svg.area([_ring(view, r) for r in svg.rings_of(shape)], fill=svg.PAPER, stroke=svg.INK))
    for former in inputs.formers:
        parts.append(svg.polygon(_ring(view, ring(former)), fill=svg.PAPER))
    ends = closest_points(inputs, tight)
    if ends is not None:
        parts += _passage(view, ends, tight, stone, system)
    needed = Metre(stone / tight.share)
    verdict = "passes" if tight.clear >= needed else "does not pass"
    said = f"{' and '.join(tight.between)}: {show(tight.clear, 'length', system)} clear"
    words = (
        f"The tightest passage is between {said}; a stone of {show(stone, 'length', system)} {verdict}, "
        f"since it wants {show(needed, 'length', system)}."
    )
    parts.append(svg.text((20.0, 488.0), said, size=11.0))
    mark = f"largest stone {show(stone, 'length', system)} {verdict}: wants {show(needed, 'length', system)}"
    parts.append(marks.sign("holds" if verdict == "passes" else "fails", (26.0, 505.0)))
    parts.append(svg.text((38.0, 509.0), mark, size=11.0))
    return svg.document(470.0, 524.0, *parts, title="Passages in the form", description=words), words


def _ring(view: svg.View, points: Iterable[Point2]) -> list[svg.Point]:
    return view.ring((x, -z) for x, z in points)


def _passage(
    view: svg.View, ends: tuple[Point2, Point2], tight: Gap, stone: Metre, system: System
) -> list[svg.Element]:
    (ax, az), (bx, bz) = ends
    a, b = view.point((ax, -az)), view.point((bx, -bz))
    middle = (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]))
    colour = svg.BLUE if tight.clear >= stone / tight.share else svg.RUST
    grain = max(view.length(0.5 * stone), 0.8)
    label = show(tight.clear, "length", system)
    away = 26.0 if middle[0] < 230.0 else -26.0
    return [
        svg.circle(middle, max(10.0, hypot(a[0] - b[0], a[1] - b[1])), stroke=colour, width=1.6),
        svg.line(a, b, stroke=colour, width=2.0),
        svg.circle(middle, grain, fill=svg.INK, stroke=svg.PAPER, width=0.6),
        svg.text(
            (middle[0] + away, middle[1] - 16.0), label, size=11.0, bold=True, mono=True, halo=True,
            anchor="start" if away > 0 else "end", fill=colour,
        ),
    ]  # fmt: skip


def closest_points(inputs: Inputs, tight: Gap) -> tuple[Point2, Point2] | None:
    """The two ends of a passage in plan (x, z); `None` where the two run into each other."""
    shapes = {former.name: shapely.Polygon(ring(former)) for former in inputs.formers}
    shapes |= {bar.name: bar_plan(bar) for bar in inputs.bars}
    shapes |= {plate.name: shapely.Polygon(plate.outline.points) for plate in inputs.plates}
    first, second = (shapes.get(name) for name in tight.between)
    if first is None or second is None or first.intersects(second):
        return None
    a, b = nearest_points(first, second)
    return (float(a.x), float(a.y)), (float(b.x), float(b.y))


def form_picture(result: Result, system: System) -> tuple[str, str]:
    """The form from the side: the liquid's pressure on its walls, clamps, and each tube's uplift."""
    inputs, form = result.inputs, result.known_form()
    tall = inputs.top - inputs.bottom
    xs = [x for x, _ in inputs.cavity.points]
    left, right = min(xs), max(xs)
    view = svg.View.fitting((left - 0.10, -0.02), (right + 0.10, tall + 0.02), box=(20.0, 44.0, 420.0, 420.0))
    wall = max(max((plate.thickness for plate in inputs.plates), default=0.02), 0.008)

    def box(x0: float, y0: float, x1: float, y1: float, **how: str) -> svg.Element:
        return svg.rectangle(view.point((x0, y0)), view.point((x1, y1)), **how)  # type: ignore[arg-type]  # fills only

    parts = [svg.text((20.0, 24.0), "The form under the liquid fill", size=13.0, bold=True)]
    parts.append(box(left, 0.0, right, tall, fill=svg.COLUMN))
    parts += [
        box(left - wall, 0.0, left, tall, fill=svg.SHADE),
        box(right, 0.0, right + wall, tall, fill=svg.SHADE),
    ]
    for tube in sorted(form.tubes, key=lambda each: each.former.kind):
        parts += _tube(view, tube, tall, system)
    reach = 0.07
    head = min(form.head, tall)
    triangle = [(right + wall, 0.0), (right + wall + reach, 0.0), (right + wall, head)]
    parts.append(svg.polygon(view.ring(triangle), fill=svg.HATCH_CUT))
    said = show(form.pressure, "pressure", system)
    foot = view.point((right + wall + reach, 0.0))
    parts.append(svg.text((foot[0], foot[1] + 14.0), said, size=10.5, anchor="end", mono=True))
    clamps = inputs.pour.clamps
    for height in () if clamps is None else clamps.heights:
        for x, way in ((left - wall, -1.0), (right + wall, 1.0)):
            start, end = view.point((x + way * 0.035, height)), view.point((x, height))
            parts += [
                svg.line(start, end, stroke=svg.BLUE, width=2.0),
                svg.circle(end, 2.5, fill=svg.BLUE, stroke=None),
            ]
    loose = [t for t in form.tubes if (t.weight or 0.0) + (t.former.hold_down or 0.0) < t.uplift]
    words = f"The liquid presses with {said} at the foot; "
    words += "; ".join(
        f"{t.former.name} wants to float with {show(t.uplift, 'force', system)}" for t in loose
    )
    words += "no tube floats" if not loose else ""
    parts.append(
        svg.text(
            (20.0, 488.0),
            "hatched: pressure of the liquid; blue: clamps; arrows: uplift",
            size=10.5,
            fill=svg.QUIET,
        )
    )
    return svg.document(
        470.0, 504.0, *parts, title="The form under the liquid fill", description=words
    ), words + "."


def _tube(view: svg.View, tube: TubeLoad, tall: float, system: System) -> list[svg.Element]:
    points = ring(tube.former)
    xs = [x for x, _ in points]
    a, b = view.point((min(xs), 0.0)), view.point((max(xs), tall))
    held = (tube.weight or 0.0) + (tube.former.hold_down or 0.0)
    parts = [svg.rectangle(a, b, fill=svg.PAPER)]
    if tube.former.stuffed:
        parts.append(svg.rectangle(a, b, fill=svg.HATCH_UNKNOWN))
    if tube.uplift <= 0.0 or tube.former.kind == "sleeve":
        return parts
    weak = [state.state for state in tube.collapse if safe_pressure(state) < tube.pressure]
    if weak and not tube.former.stuffed:
        at = (0.5 * (a[0] + b[0]) - 24.0, 0.5 * (a[1] + b[1]))
        parts.append(marks.sign("fails", at))
        parts.append(svg.text((at[0] + 9.0, at[1] + 4.0), f"caves in, {weak[0]}", size=10.5, halo=True))
    colour = svg.BLUE if held >= tube.uplift else svg.RUST
    x = 0.5 * (a[0] + b[0])
    low, high = (x, a[1] - 6.0), (x, a[1] - 70.0)
    parts += [
        svg.line(low, high, stroke=colour, width=2.2),
        svg.polygon([high, (x - 5.0, high[1] + 10.0), (x + 5.0, high[1] + 10.0)], fill=colour, stroke=colour),
        svg.text(
            (x + 8.0, high[1] + 6.0),
            show(tube.uplift, "force", system),
            size=11.0,
            bold=True,
            mono=True,
            halo=True,
        ),
        svg.text(
            (x + 8.0, high[1] + 20.0), "held" if held >= tube.uplift else "not held", size=10.5, halo=True
        ),
    ]
    return parts
