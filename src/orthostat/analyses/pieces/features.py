"""Holes and pockets of a view: which enter from its side, where they are, how near the edge."""

from __future__ import annotations

import numpy as np
import shapely

from orthostat.analyses.pieces.holes import Feature, FeatureKind, Purpose, Register
from orthostat.analyses.pieces.views import View
from orthostat.base.dimensions import Metre
from orthostat.base.frames import face_frame
from orthostat.model.bodies import Body, Disc, Point2, Prism
from orthostat.model.column import Anchor


class Letters:
    """Labels in order of appearance: a letter for each kind and size, a number within it."""

    def __init__(self) -> None:
        self._known: dict[object, str] = {}
        self._used: dict[str, int] = {}

    def label(self, key: object) -> str:
        """The next label of that kind and size."""
        if key not in self._known:
            index = len(self._known)
            letter = chr(ord("A") + index % 26) * (1 + index // 26)
            self._known[key] = letter
        letter = self._known[key]
        self._used[letter] = self._used.get(letter, 0) + 1
        return f"{letter}{self._used[letter]}"


def features_of(body: Body, view: View, register: Register, letters: Letters) -> list[Feature]:
    """Holes that enter from the view's side, bottom row first; through holes only from one side."""
    whole = shapely.Polygon(view.outline[0], view.outline[1:])
    found, shapes = [], []
    for cut in body.cuts:
        end = None if register.is_part(cut) else _entry(cut, view)
        if end is None:
            continue
        section = cut.section
        if isinstance(section, Disc):
            radius: float | None = section.radius
            corners: list[Point2] = []
            at = view.plane(cut.frame.point(section.centre[0], section.centre[1], end))
        else:
            radius = None
            corners = [view.plane(cut.frame.point(a, b, end)) for a, b in section.points]
            at = _middle(corners)
        purpose = register.purpose(cut)
        joiner = register.joined.get(cut)
        depth = Metre(cut.high - cut.low)
        if joiner is not None and cut == joiner.counterbore and isinstance(joiner.hole.section, Disc):
            radius, depth = joiner.hole.section.radius, joiner.through
        first = section.centre if isinstance(section, Disc) else section.points[0]
        surface = min(0.0, view.distance(cut.frame.point(first[0], first[1], end)))
        through = surface - depth < -view.depth + 1e-7 or _opens(cut, body) or register.passes(cut)
        found.append(
            (
                purpose,
                (_clean(at[0]), _clean(at[1])),
                radius,
                tuple(corners),
                depth,
                through,
            )
        )
        shapes.append((at, tuple(corners), radius))
    edges = _edges(whole, shapes)
    order = sorted(
        zip(found, edges, strict=True),
        key=lambda pair: (
            pair[0][0].kind.value, pair[0][2] or 0.0, round(pair[0][1][1], 6), round(pair[0][1][0], 6)
        ),
    )  # fmt: skip
    return [
        Feature(
            letters.label((purpose, None if radius is None else round(radius, 8), round(depth, 8), through)),
            purpose, at, None if radius is None else Metre(2 * radius), corners, depth, through, Metre(edge),
        )
        for (purpose, at, radius, corners, depth, through), edge in order
    ]  # fmt: skip


def _clean(value: float) -> float:
    return round(value, 9) + 0.0


def _middle(points: list[Point2]) -> Point2:
    return (sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points))


def _edges(
    whole: shapely.Geometry, shapes: list[tuple[Point2, tuple[Point2, ...], float | None]]
) -> list[float]:
    """From the rim of each hole about a place, or of a pocket with its corners, to the rim of the outline."""
    rounds = np.array([at for at, _, radius in shapes if radius is not None]).reshape(-1, 2)
    radii = np.array([radius for _, _, radius in shapes if radius is not None])
    points, rim = shapely.points(rounds), whole.boundary
    shapely.prepare(whole)
    away = shapely.distance(points, rim)
    holes = iter((np.where(shapely.covers(whole, points), away, -away) - radii).tolist())
    return [
        next(holes) if radius is not None else _pocket_edge(whole, corners) for _, corners, radius in shapes
    ]


def _pocket_edge(whole: shapely.Geometry, corners: tuple[Point2, ...]) -> float:
    pocket = shapely.Polygon(corners)
    return float(shapely.distance(pocket, whole.boundary)) if shapely.covers(whole, pocket) else 0.0


def _entry(cut: Prism, view: View) -> float | None:
    """The end (`low` or `high`) by which a cut enters from the view's side, or `None`.

    Face cuts enter by their high end. Upright ones enter from above where they reach the top of the
    piece they are in, else from below.
    """
    along = sum(p * q for p, q in zip(cut.frame.third, view.frame.third, strict=True))
    if abs(abs(along) - 1.0) > 1e-9:
        return None
    upright = abs(cut.frame.third[1]) > 0.5
    if not upright:
        return cut.high if along > 0.0 else None
    end = cut.high if along > 0.0 else cut.low
    centre = cut.section.centre if isinstance(cut.section, Disc) else cut.section.points[0]
    at_surface = abs(view.distance(cut.frame.point(*centre, end))) < 1e-7
    both = (
        abs(view.distance(cut.frame.point(*centre, cut.low if along > 0.0 else cut.high)) + view.depth) < 1e-7
    )
    if along > 0.0:
        return end if at_surface else None
    return end if at_surface and not both else None


def _opens(cut: Prism, body: Body) -> bool:
    """Whether an upright cut goes through the prism it is in (a lid thinner than its lip)."""
    if abs(cut.frame.third[1]) < 0.5:
        return False
    return any(
        abs(prism.high - cut.high) < 1e-9 and abs(prism.low - cut.low) < 1e-9
        for prism in body.adds
        if abs(prism.frame.third[1]) > 0.5
    )


def anchor_marks(
    view: View, anchors: tuple[Anchor, ...], register: Register, letters: Letters
) -> list[Feature]:
    """Where anchors stand on the inner side of a plate, as features of the far side."""
    whole = shapely.Polygon(view.outline[0])
    made = []
    for anchor in sorted(anchors, key=lambda each: (round(each.at[1], 6), round(each.at[0], 6))):
        face = next(f for f in register.faces if f.number == anchor.face)
        frame = face_frame(face.angle, face.distance)  # type: ignore[arg-type]  # as stored by the model
        at = view.plane(frame.point(*anchor.at, 0.0))
        at = (_clean(at[0]), _clean(at[1]))
        radius = 0.5 * anchor.diameter
        purpose = Purpose(FeatureKind.ANCHOR, path=anchor.path)
        edge = _edges(whole, [(at, (), radius)])[0]
        label = letters.label((purpose, round(anchor.diameter, 8)))
        made.append(
            Feature(
                label,
                purpose,
                at,
                anchor.diameter,
                (),
                Metre(0.0),
                through=False,
                edge=Metre(edge),
                hidden=True,
            )
        )
    return made
