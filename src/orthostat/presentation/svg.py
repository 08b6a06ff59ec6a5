"""SVG as frozen elements, with the house's paper, ink, hatches and marks.

Build a picture from plain functions (`line`, `polygon`, `area`, `text`, `group` …), give them to
`document`, and store the text in a `Figure`. All positions are picture units (px at 96 dpi), y
downward; `View` turns metres with y upward into them. Text and attributes are escaped; numbers are
rounded to 0.01 so that the same picture gives the same bytes.

Nothing here knows what it draws. Colour never carries a meaning alone: hatch what is out of reach,
set a word and a mark (`marks.sign`) beside a verdict.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from xml.sax.saxutils import escape, quoteattr

Point = tuple[float, float]
Ring = Sequence[Point]

PAPER = "#faf6ec"
INK = "#26221d"
QUIET = "#6f675a"
"""Secondary text and thin outlines."""
HAIRLINE = "#c9bfae"
STONE = "#e9e1d1"
"""Fill of what stands around the column."""
SHADE = "#d6ccb8"
"""Fill of what stands around, one step darker."""
BLUE = "#2b5c8a"
"""Holds, reached."""
RUST = "#a5461c"
"""Fails, blocked."""
COLUMN = "#e2a72e"
"""The column's own body: the only saturated thing in a picture."""
SANS = "IBM Plex Sans, Helvetica, Arial, sans-serif"
MONO = "IBM Plex Mono, Consolas, monospace"

HATCH_BLOCKED = "url(#hatch-blocked)"
"""Rust strokes rising to the right: out of reach, blocked, failing."""
HATCH_UNKNOWN = "url(#hatch-unknown)"
"""Quiet cross hatch: not known."""
HATCH_CUT = "url(#hatch-cut)"
"""Ink strokes falling to the right: a cut face, as on a drawing."""
HATCH_HOLDS = "url(#hatch-holds)"
"""Blue dots: reached, in contact."""


@dataclass(frozen=True, slots=True)
class Element:
    """One SVG element: tag, attributes in order, children (elements or text)."""

    tag: str
    attributes: tuple[tuple[str, str], ...] = ()
    children: tuple[Element | str, ...] = ()

    def render(self) -> str:
        """The element as SVG text."""
        attributes = "".join([f" {name}={_quoted(value)}" for name, value in self.attributes])
        if not self.children:
            return f"<{self.tag}{attributes}/>"
        inside = "".join(
            [child.render() if isinstance(child, Element) else escape(child) for child in self.children]
        )
        return f"<{self.tag}{attributes}>{inside}</{self.tag}>"


def _quoted(value: str) -> str:
    return _quoted_short(value) if len(value) <= _SHORT else quoteattr(value)


_SHORT = 32
"""Most signs of a value that is kept quoted: numbers and colours come again and again."""
_quoted_short = lru_cache(maxsize=4096)(quoteattr)


@cache
def _attribute(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


Attribute = str | float | None


def element(tag: str, *children: Element | str, **attributes: Attribute) -> Element:
    """Any element. In attribute names `_` stands for `-`, a trailing `_` is dropped; `None` is left out."""
    pairs = tuple(
        (_attribute(name), value if isinstance(value, str) else number(value))
        for name, value in attributes.items()
        if value is not None
    )
    return Element(tag, pairs, children)


def number(value: float) -> str:
    """A coordinate rounded to 0.01, without trailing zeros and without a minus before zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def line(start: Point, end: Point, *, stroke: str = INK, width: float = 0.75, **more: Attribute) -> Element:
    """A straight line."""
    return element(
        "line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], stroke=stroke, stroke_width=width, **more
    )


def polyline(
    points: Ring, *, stroke: str = INK, width: float = 0.75, fill: str = "none", **more: Attribute
) -> Element:
    """An open line through points."""
    return element("polyline", points=_points(points), stroke=stroke, stroke_width=width, fill=fill, **more)


def polygon(
    points: Ring, *, fill: str = "none", stroke: str | None = INK, width: float = 0.75, **more: Attribute
) -> Element:
    """A closed polygon without holes."""
    return element(
        "polygon",
        points=_points(points),
        fill=fill,
        stroke=stroke or "none",
        stroke_width=width if stroke else None,
        **more,
    )


def area(
    rings: Iterable[Ring], *, fill: str, stroke: str | None = None, width: float = 0.75, **more: Attribute
) -> Element:
    """An area bounded by rings, even–odd: outer boundaries and holes in any order."""
    data = "".join(_ring(ring) for ring in rings)
    return element(
        "path",
        d=data or "M0 0",
        fill=fill,
        fill_rule="evenodd",
        stroke=stroke or "none",
        stroke_width=width if stroke else None,
        **more,
    )


def rectangle(
    low: Point,
    high: Point,
    *,
    fill: str = "none",
    stroke: str | None = INK,
    width: float = 0.75,
    **more: Attribute,
) -> Element:
    """An upright rectangle between two opposite corners, in either order."""
    return element(
        "rect",
        x=min(low[0], high[0]),
        y=min(low[1], high[1]),
        width=abs(high[0] - low[0]),
        height=abs(high[1] - low[1]),
        fill=fill,
        stroke=stroke or "none",
        stroke_width=width if stroke else None,
        **more,
    )


def circle(
    centre: Point,
    radius: float,
    *,
    fill: str = "none",
    stroke: str | None = INK,
    width: float = 0.75,
    **more: Attribute,
) -> Element:
    """A circle."""
    return element(
        "circle",
        cx=centre[0],
        cy=centre[1],
        r=radius,
        fill=fill,
        stroke=stroke or "none",
        stroke_width=width if stroke else None,
        **more,
    )


def text(
    at: Point,
    words: str,
    *,
    size: float = 11.0,
    anchor: str = "start",
    fill: str = INK,
    mono: bool = False,
    bold: bool = False,
    turn: float = 0.0,
    halo: bool = False,
) -> Element:
    """Words with their baseline at a point; `anchor` start, middle or end; `turn` [degrees, clockwise].

    `halo` sets paper behind the letters so that they stay legible over hatches. Numbers are set in
    the monospaced face with `mono`.
    """
    return element(
        "text",
        words,
        x=at[0],
        y=at[1],
        font_family=MONO if mono else SANS,
        font_size=size,
        font_weight="600" if bold else None,
        text_anchor=None if anchor == "start" else anchor,
        fill=fill,
        transform=f"rotate({number(turn)} {number(at[0])} {number(at[1])})" if turn else None,
        stroke=PAPER if halo else None,
        stroke_width=3.0 if halo else None,
        stroke_linejoin="round" if halo else None,
        paint_order="stroke" if halo else None,
    )


def group(*children: Element, **attributes: Attribute) -> Element:
    """Elements that share attributes such as `opacity` or `transform`."""
    return element("g", *children, **attributes)


def window(low: Point, high: Point, *children: Element) -> Element:
    """Elements cut off at an upright rectangle (a nested picture: no ids that could clash on a page)."""
    x, y = min(low[0], high[0]), min(low[1], high[1])
    width, height = abs(high[0] - low[0]), abs(high[1] - low[1])
    return element(
        "svg",
        *children,
        x=x,
        y=y,
        width=width,
        height=height,
        viewBox=f"{number(x)} {number(y)} {number(width)} {number(height)}",
        overflow="hidden",
    )


def titled(child: Element, words: str) -> Element:
    """An element with a tooltip and a name for screen readers."""
    return element("g", element("title", words), child)


@dataclass(frozen=True, slots=True)
class View:
    """Metres, y upward, to picture units, y downward.

    `origin` [px] is where the world's `centre` [m] falls; `scale` is px per metre.
    """

    scale: float
    origin: Point
    centre: Point = (0.0, 0.0)

    @staticmethod
    def fitting(low: Point, high: Point, *, box: tuple[float, float, float, float]) -> View:
        """The largest view of the world rectangle low..high [m] inside `box` (x, y, width, height) [px]."""
        width, height = max(high[0] - low[0], 1e-9), max(high[1] - low[1], 1e-9)
        scale = min(box[2] / width, box[3] / height)
        middle = ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0)
        return View(scale, (box[0] + box[2] / 2.0, box[1] + box[3] / 2.0), middle)

    def point(self, at: Point) -> Point:
        """A world point [m] in picture units."""
        return (
            self.origin[0] + (at[0] - self.centre[0]) * self.scale,
            self.origin[1] - (at[1] - self.centre[1]) * self.scale,
        )

    def ring(self, points: Iterable[Point]) -> list[Point]:
        """World points [m] in picture units."""
        return [self.point((p[0], p[1])) for p in points]

    def length(self, metres: float) -> float:
        """A length [m] in picture units."""
        return metres * self.scale


def document(width: float, height: float, *children: Element, title: str, description: str) -> str:
    """A complete SVG picture on paper, with the hatches defined; `description` says it in words."""
    root = element(
        "svg",
        element("title", title),
        element("desc", description),
        _hatches(),
        rectangle((0.0, 0.0), (width, height), fill=PAPER, stroke=None),
        *children,
        xmlns="http://www.w3.org/2000/svg",
        width=width,
        height=height,
        viewBox=f"0 0 {number(width)} {number(height)}",
        role="img",
    )
    return root.render() + "\n"


def rings_of(geometry: object) -> list[list[Point]]:
    """All rings of a shapely polygon or multipolygon, for `area`."""
    parts = getattr(geometry, "geoms", None)
    if parts is not None:
        return [ring for part in parts for ring in rings_of(part)]
    exterior = getattr(geometry, "exterior", None)
    if exterior is None:
        return []
    rings = [exterior, *getattr(geometry, "interiors", ())]
    return [[(float(c[0]), float(c[1])) for c in ring.coords] for ring in rings if len(ring.coords)]


def _points(points: Ring) -> str:
    return " ".join(f"{number(p[0])},{number(p[1])}" for p in points)


def _ring(ring: Ring) -> str:
    if not ring:
        return ""
    return "M" + "L".join(f"{number(p[0])} {number(p[1])}" for p in ring) + "Z"


def _hatches() -> Element:
    def pattern(name: str, size: float, *children: Element, turn: float = 0.0) -> Element:
        return element(
            "pattern",
            *children,
            id=name,
            width=size,
            height=size,
            patternUnits="userSpaceOnUse",
            patternTransform=f"rotate({number(turn)})" if turn else None,
        )

    return element(
        "defs",
        pattern("hatch-blocked", 6.0, line((0.0, 0.0), (0.0, 6.0), stroke=RUST, width=1.6), turn=45.0),
        pattern("hatch-cut", 5.0, line((0.0, 0.0), (0.0, 5.0), stroke=INK, width=0.8), turn=-45.0),
        pattern(
            "hatch-unknown",
            7.0,
            line((0.0, 0.0), (0.0, 7.0), stroke=QUIET, width=0.8),
            line((0.0, 0.0), (7.0, 0.0), stroke=QUIET, width=0.8),
            turn=45.0,
        ),
        pattern("hatch-holds", 5.0, circle((2.5, 2.5), 0.8, fill=BLUE, stroke=None)),
    )
