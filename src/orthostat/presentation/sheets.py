"""A view of a piece as a drawing: outline, hidden lines, holes with labels, dimensions, datum, frames.

Everything is placed by boxes: a label that would touch another is set elsewhere, or left to the
hole table, and the drawing says so.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from orthostat.analyses.pieces import Feature, FeatureKind, View
from orthostat.base.showing import System
from orthostat.presentation import svg
from orthostat.presentation.lengths import UNIT, bare
from orthostat.presentation.marks import dimension
from orthostat.presentation.svg import Element, Point

IN_WORDS = {"metric": "mm", "inch": "inches"}
PER_METRE = 96.0 / 0.0254
"""Picture units a metre at full size."""
SCALES = ((5, 1), (2, 1), (1, 1), (1, 2), (1, 5), (1, 10), (1, 20), (1, 50), (1, 100))
"""ISO 5455, largest first."""
WIDTH = 640.0
TALLEST = 560.0
MARGIN_LEFT, MARGIN_RIGHT, MARGIN_TOP, MARGIN_BOTTOM = 92.0, 48.0, 34.0, 56.0
LABEL = 8.5

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class FrameNote:
    """An ISO 1101 tolerance frame: symbol, value, datum letter."""

    symbol: str
    """`flatness`, `perpendicularity`, `parallelism` or `position`."""
    value: str
    datum: str = ""
    words: str = ""
    """What it applies to."""


@dataclass
class Placed:
    """Boxes already taken on a drawing."""

    boxes: list[Box] = field(default_factory=list)

    def free(self, box: Box) -> bool:
        """Whether a box touches none so far."""
        return all(
            box[2] <= other[0] or other[2] <= box[0] or box[3] <= other[1] or other[3] <= box[1]
            for other in self.boxes
        )

    def take(self, box: Box) -> None:
        """Mark a box as taken."""
        self.boxes.append(box)


def scale_for(width: float, height: float, room: tuple[float, float]) -> tuple[int, int]:
    """The largest standard scale (paper, real) at which width × height [m] fits `room` [picture units]."""
    for paper, real in SCALES:
        size = PER_METRE * paper / real
        if width * size <= room[0] and height * size <= room[1]:
            return paper, real
    return SCALES[-1]


def drawing(
    title: str,
    view: View,
    features: tuple[Feature, ...],
    system: System,
    *,
    side: View | None = None,
    frames: tuple[FrameNote, ...] = (),
    foot: tuple[str, ...] = (),
) -> str:
    """SVG of one view, with the side view beneath it at the same scale.

    `foot` is the title block's lines.
    """
    room = (WIDTH - MARGIN_LEFT - MARGIN_RIGHT, TALLEST)
    tall = view.height + (0.0 if side is None else side.height)
    gap = 0.0 if side is None else 72.0
    paper, real = scale_for(max(view.width, side.width if side else 0.0), tall, (room[0], room[1] - gap))
    size = PER_METRE * paper / real
    wide = view.width * size
    left = MARGIN_LEFT + 0.5 * (room[0] - wide)
    low = _left_of(view)
    base = MARGIN_TOP + view.height * size
    sheet = _Sheet(system, size, (left - low[0] * size, base + low[1] * size))
    parts = sheet.view(view, features)
    below = base + MARGIN_BOTTOM
    if side is not None:
        below = base + gap + side.height * size
        s_low = _left_of(side)
        edge = _Sheet(system, size, (left - s_low[0] * size, below + s_low[1] * size))
        parts += edge.side(side)
        parts.append(
            svg.text(
                (MARGIN_LEFT - 84.0, below - side.height * size - 14.0), side.name, size=9.5, fill=svg.QUIET
            )
        )
        below += 36.0
    parts.append(svg.text((MARGIN_LEFT - 84.0, MARGIN_TOP - 14.0), view.name, size=9.5, fill=svg.QUIET))
    frame_parts, below = _frames(frames, below + 6.0)
    parts += frame_parts
    if sheet.left_out:
        have = "hole has" if sheet.left_out == 1 else "holes have"
        note = f"{sheet.left_out} {have} no room for a label here; the hole table gives them all."
        parts.append(svg.text((MARGIN_LEFT - 84.0, below + 12.0), note, size=9.5, fill=svg.QUIET))
        below += 16.0
    block, height = _title_block(
        title, (*foot, f"scale {paper}:{real}", f"dimensions in {IN_WORDS[system]}"), below + 8.0
    )
    size_words = f"{bare(view.width, system)} × {bare(view.height, system)} {UNIT[system]}"
    words = f"{title}, {view.name}: {size_words}, {len(features)} holes"
    return svg.document(WIDTH, height, *parts, *block, title=f"{title}, {view.name}", description=words)


def _left_of(view: View) -> Point:
    ring = view.outline[0]
    return (min(p[0] for p in ring), min(p[1] for p in ring))


class _Sheet:
    """Lines of one view at a scale and place."""

    def __init__(self, system: System, size: float, origin: Point) -> None:
        self.system = system
        self.size = size
        self.origin = origin
        self.taken = Placed()
        self.left_out = 0

    def at(self, p: Point) -> Point:
        """A point of the view [m] on the picture."""
        return (self.origin[0] + p[0] * self.size, self.origin[1] - p[1] * self.size)

    def outline(self, view: View, fill: str) -> list[Element]:
        """Silhouette, openings, edges."""
        parts = [
            svg.area(
                [[self.at(p) for p in ring] for ring in view.outline], fill=fill, stroke=svg.INK, width=1.3
            )
        ]
        parts += [
            svg.polyline(
                [self.at(p) for p in edge.points],
                width=0.7,
                stroke=svg.INK,
                stroke_dasharray="4 2.5" if edge.hidden else None,
            )
            for edge in view.edges
        ]
        return parts

    def view(self, view: View, features: tuple[Feature, ...]) -> list[Element]:
        """The main view with holes, labels, overall dimensions and the datum."""
        parts = self.outline(view, "#ffffff")
        for feature in features:
            parts += self._hole(feature)
        self._take_holes(features)
        for feature in features:
            label = self._label(feature, view)
            if label is not None:
                parts.append(label)
        parts += self._overall(view)
        parts += self._datum()
        return parts

    def side(self, view: View) -> list[Element]:
        """The thickness view with its own height as a dimension."""
        parts = self.outline(view, "#ffffff")
        ring = view.outline[0]
        x = min(p[0] for p in ring)
        low, high = min(p[1] for p in ring), max(p[1] for p in ring)
        parts.append(
            dimension(
                self.at((x, low)),
                self.at((x, high)),
                bare(high - low, self.system),
                offset=22.0,
                size=9.5,
                stroke=svg.INK,
            )
        )
        parts += self._steps(view, low, high)
        parts += self._shorter(view, low, offset=-18.0)
        parts += self._shorter(view, high, offset=12.0)
        return parts

    def _shorter(self, view: View, level: float, *, offset: float) -> list[Element]:
        """The length of an edge at the bottom or top that is shorter than the whole."""
        on = [p[0] for p in view.outline[0] if abs(p[1] - level) < 1e-7]
        if not on or max(on) - min(on) > view.width - 1e-6 or max(on) - min(on) < 1e-6:
            return []
        ends = self.at((min(on), level)), self.at((max(on), level))
        return [
            dimension(*ends, bare(max(on) - min(on), self.system), offset=offset, size=9.5, stroke=svg.INK)
        ]

    def _steps(self, view: View, low: float, high: float) -> list[Element]:
        """Heights of steps between bottom and top, on the right."""
        levels = sorted({round(p[1], 7) for p in view.outline[0]})
        inner = [level for level in levels if low + 1e-6 < level < high - 1e-6]
        x = max(p[0] for p in view.outline[0])
        return [
            dimension(
                self.at((x, low)),
                self.at((x, level)),
                bare(level - low, self.system),
                offset=-(14.0 + 26.0 * i),
                size=9.5,
                stroke=svg.INK,
            )
            for i, level in enumerate(inner[:1])
        ]

    def _hole(self, feature: Feature) -> list[Element]:
        if feature.diameter is None:
            return [svg.polygon([self.at(p) for p in feature.outline], width=0.9)]
        centre, radius = self.at(feature.at), 0.5 * feature.diameter * self.size
        reach = 0.5 * feature.widest * self.size + 3.0
        dash = "2.5 1.5" if feature.hidden else None
        parts = [
            svg.line(
                (centre[0] - reach, centre[1]), (centre[0] + reach, centre[1]), stroke=svg.QUIET, width=0.35
            ),
            svg.line(
                (centre[0], centre[1] - reach), (centre[0], centre[1] + reach), stroke=svg.QUIET, width=0.35
            ),
            svg.circle(centre, radius, width=0.9, stroke_dasharray=dash),
        ]
        if feature.purpose.recess is not None:
            parts.append(svg.circle(centre, 0.5 * feature.purpose.recess * self.size, width=0.7))
        if feature.kind is FeatureKind.TAPPED:
            # ISO 6410-1: the thread's outer line is thin and runs three quarters round.
            parts.append(_thread_mark(centre, radius * 1.18))
        return parts

    def _take_holes(self, features: Iterable[Feature]) -> None:
        for feature in features:
            x, y = self.at(feature.at)
            r = 0.5 * feature.widest * self.size + 1.0
            self.taken.take((x - r, y - r, x + r, y + r))

    def _label(self, feature: Feature, view: View) -> Element | None:
        x, y = self.at(feature.at)
        r = 0.5 * feature.widest * self.size + 4.0
        wide, tall = 0.62 * LABEL * len(feature.label), LABEL
        d = 0.72 * r
        for dx, dy, anchor in (
            (d, -d, "start"), (-d, -d, "end"), (d, d + tall * 0.75, "start"), (-d, d + tall * 0.75, "end"),
            (r + 1.0, 0.35 * tall, "start"), (-r - 1.0, 0.35 * tall, "end"),
            (-0.5 * wide, -r - 1.0, "start"), (-0.5 * wide, r + 0.8 * tall, "start"),
        ):  # fmt: skip
            left = x + dx if anchor == "start" else x + dx - wide
            box = (left, y + dy - 0.8 * tall, left + wide, y + dy + 0.15 * tall)
            if self.taken.free(box) and self._inside(box, view):
                self.taken.take(box)
                return svg.text((x + dx, y + dy), feature.label, size=LABEL, anchor=anchor, mono=True)
        self.left_out += 1
        return None

    def _inside(self, box: Box, view: View) -> bool:
        """Whether a label lies on the piece, clear of its edges and of the datum's arrows."""
        import shapely

        ring = shapely.Polygon([self.at(p) for p in view.outline[0]])
        return bool(ring.contains(shapely.box(*box)))

    def _overall(self, view: View) -> list[Element]:
        ring = view.outline[0]
        left, right = min(p[0] for p in ring), max(p[0] for p in ring)
        low, high = min(p[1] for p in ring), max(p[1] for p in ring)
        return [
            dimension(
                self.at((left, low)),
                self.at((right, low)),
                bare(right - left, self.system),
                offset=-26.0,
                size=9.5,
                stroke=svg.INK,
            ),
            dimension(
                self.at((left, low)),
                self.at((left, high)),
                bare(high - low, self.system),
                offset=30.0,
                size=9.5,
                stroke=svg.INK,
            ),
        ]

    def _datum(self) -> list[Element]:
        """The datum corner: a ring with two filled quarters, and arrows along x and y."""
        x, y = self.at((0.0, 0.0))
        return [
            svg.circle((x, y), 5.0, fill=svg.PAPER, width=0.9),
            svg.element(
                "path", d=f"M{_n(x)} {_n(y)}L{_n(x + 5)} {_n(y)}A5 5 0 0 0 {_n(x)} {_n(y - 5)}Z", fill=svg.INK
            ),
            svg.element(
                "path", d=f"M{_n(x)} {_n(y)}L{_n(x - 5)} {_n(y)}A5 5 0 0 0 {_n(x)} {_n(y + 5)}Z", fill=svg.INK
            ),
            svg.line((x + 5.0, y), (x + 26.0, y), width=1.6),
            svg.polygon([(x + 26.0, y - 3.0), (x + 33.0, y), (x + 26.0, y + 3.0)], fill=svg.INK),
            svg.line((x, y - 5.0), (x, y - 26.0), width=1.6),
            svg.polygon([(x - 3.0, y - 26.0), (x, y - 33.0), (x + 3.0, y - 26.0)], fill=svg.INK),
            svg.text((x + 28.0, y + 13.0), "x", size=9.5, bold=True, halo=True),
            svg.text((x - 13.0, y - 26.0), "y", size=9.5, bold=True, halo=True),
        ]


def _n(value: float) -> str:
    return svg.number(value)


def _thread_mark(centre: Point, radius: float) -> Element:
    x, y = centre
    data = f"M{_n(x)} {_n(y - radius)}A{_n(radius)} {_n(radius)} 0 1 1 {_n(x - radius)} {_n(y)}"
    return svg.element("path", d=data, fill="none", stroke=svg.INK, stroke_width=0.4)


def _frames(frames: tuple[FrameNote, ...], top: float) -> tuple[list[Element], float]:
    """Tolerance frames under the views, one a row, each with what it applies to."""
    parts: list[Element] = []
    y = top
    for note in frames:
        x = MARGIN_LEFT - 84.0
        parts.append(svg.rectangle((x, y), (x + 18.0, y + 16.0), width=0.8))
        parts += _symbol(note.symbol, (x + 9.0, y + 8.0))
        wide = 9.0 + 5.9 * len(note.value)
        parts.append(svg.rectangle((x + 18.0, y), (x + 18.0 + wide, y + 16.0), width=0.8))
        parts.append(
            svg.text((x + 18.0 + 0.5 * wide, y + 11.5), note.value, size=9.5, anchor="middle", mono=True)
        )
        end = x + 18.0 + wide
        if note.datum:
            parts.append(svg.rectangle((end, y), (end + 16.0, y + 16.0), width=0.8))
            parts.append(svg.text((end + 8.0, y + 11.5), note.datum, size=9.5, anchor="middle", mono=True))
            end += 16.0
        parts.append(svg.text((end + 8.0, y + 11.5), note.words, size=9.5))
        y += 21.0
    return parts, y


def _symbol(name: str, at: Point) -> list[Element]:
    """The sign of a characteristic (ISO 1101, table 1)."""
    x, y = at
    if name == "flatness":
        return [
            svg.polygon(
                [(x - 6.0, y + 3.5), (x - 2.5, y - 3.5), (x + 6.0, y - 3.5), (x + 2.5, y + 3.5)], width=0.9
            )
        ]
    if name == "perpendicularity":
        return [
            svg.line((x - 5.5, y + 4.5), (x + 5.5, y + 4.5), width=0.9),
            svg.line((x, y + 4.5), (x, y - 5.0), width=0.9),
        ]
    if name == "parallelism":
        return [
            svg.line((x - 4.5, y + 5.0), (x - 0.5, y - 5.0), width=0.9),
            svg.line((x + 0.5, y + 5.0), (x + 4.5, y - 5.0), width=0.9),
        ]
    return [
        svg.circle(at, 3.6, width=0.9),
        svg.line((x - 6.0, y), (x + 6.0, y), width=0.9),
        svg.line((x, y - 6.0), (x, y + 6.0), width=0.9),
    ]


def _title_block(title: str, lines: tuple[str, ...], top: float) -> tuple[list[Element], float]:
    left, right = MARGIN_LEFT - 84.0, WIDTH - 8.0
    parts: list[Element] = [svg.text((left + 8.0, top + 17.0), title, size=12.0, bold=True)]
    y = top + 33.0
    x = left + 8.0
    for text in lines:
        wide = 5.3 * len(text) + 18.0
        if x + wide > right:
            x, y = left + 8.0, y + 14.0
        parts.append(svg.text((x, y), text, size=9.5))
        x += wide
    bottom = y + 9.0
    return [svg.rectangle((left, top), (right, bottom), width=0.9), *parts], bottom + 8.0
