"""Signs shared by all pictures: the mark of a verdict and the dimension line of a drawing."""

from __future__ import annotations

from orthostat.presentation import svg


def sign(verdict: str, at: svg.Point, size: float = 9.0) -> svg.Element:
    """The sign of a verdict: filled disc holds, half disc tight, cross fails, ring unknown."""
    x, y, r = at[0], at[1], size / 2.0
    if verdict == "holds":
        return svg.circle(at, r, fill=svg.BLUE, stroke=svg.BLUE)
    if verdict == "tight":
        left, right, level, round_ = (svg.number(each) for each in (x - r, x + r, y, r))
        half = f"M{left} {level}A{round_} {round_} 0 0 0 {right} {level}Z"
        return svg.group(
            svg.circle(at, r, fill=svg.PAPER, stroke=svg.BLUE, width=1.25),
            svg.element("path", d=half, fill=svg.BLUE),
        )
    if verdict == "fails":
        strokes = (
            svg.line((x - r, y - r), (x + r, y + r), stroke=svg.RUST, width=2.0),
            svg.line((x - r, y + r), (x + r, y - r), stroke=svg.RUST, width=2.0),
        )
        return svg.group(*strokes)
    return svg.circle(at, r, fill=svg.PAPER, stroke=svg.QUIET, width=1.25, stroke_dasharray="2 1.5")


def verdict_colour(verdict: str) -> str:
    """Blue for holds and tight, rust for fails, quiet ink for unknown."""
    return {"holds": svg.BLUE, "tight": svg.BLUE, "fails": svg.RUST}.get(verdict, svg.QUIET)


def dimension(
    start: svg.Point,
    end: svg.Point,
    words: str,
    *,
    offset: float = 14.0,
    size: float = 10.0,
    stroke: str = svg.QUIET,
) -> svg.Element:
    """A dimension between two points as on a drawing: extension lines, ticks and the value.

    `offset` moves the dimension line to the left of the direction from start to end (on the page,
    with y downward), negative to the right.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = max((dx * dx + dy * dy) ** 0.5, 1e-9)
    ux, uy = dx / length, dy / length
    nx, ny = uy, -ux
    a = (start[0] + nx * offset, start[1] + ny * offset)
    b = (end[0] + nx * offset, end[1] + ny * offset)
    over = 3.0 if offset >= 0 else -3.0
    tick = 3.0
    parts = [
        svg.line(start, (a[0] + nx * over, a[1] + ny * over), stroke=svg.HAIRLINE, width=0.5),
        svg.line(end, (b[0] + nx * over, b[1] + ny * over), stroke=svg.HAIRLINE, width=0.5),
        svg.line(a, b, stroke=stroke, width=0.5),
    ]
    parts += [
        svg.line(
            (p[0] - (ux + nx) * tick, p[1] - (uy + ny) * tick),
            (p[0] + (ux + nx) * tick, p[1] + (uy + ny) * tick),
            stroke=stroke,
            width=1.0,
        )
        for p in (a, b)
    ]
    middle = ((a[0] + b[0]) / 2.0 + nx * over, (a[1] + b[1]) / 2.0 + ny * over)
    upright = abs(dy) > abs(dx)
    if upright:
        side = nx * (1.0 if offset >= 0 else -1.0)
        anchor = "start" if side > 0 else "end"
        parts.append(
            svg.text(
                (middle[0], middle[1] + size * 0.35), words, size=size, anchor=anchor, mono=True, halo=True
            )
        )
    else:
        below = ny * (1.0 if offset >= 0 else -1.0) > 0
        parts.append(
            svg.text(
                (middle[0], middle[1] + (size if below else 0.0)),
                words,
                size=size,
                anchor="middle",
                mono=True,
                halo=True,
            )
        )
    return svg.group(*parts)
