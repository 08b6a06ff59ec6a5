"""The column's outside painted with how it moves: under a cut, under a force at a station, in a mode."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, sin

import numpy as np
import numpy.typing as npt
import shapely

from orthostat.analyses.stiffness import Mode, Solved, Stiffness
from orthostat.analyses.stiffness.column_inputs import body_turn
from orthostat.analyses.stiffness.hardest import hardest
from orthostat.analyses.stiffness.outside import Outside, outside_of
from orthostat.base.dimensions import Radian
from orthostat.base.findings import NotStated
from orthostat.base.frames import face_frame
from orthostat.base.showing import System, show
from orthostat.model.bodies import Face
from orthostat.model.column import Column as Design
from orthostat.presentation.blocks import Block, Cell, Column, Paragraph, Quantity, Table
from orthostat.presentation.contours import Contoured, areas_of, contoured
from orthostat.presentation.painting import (
    GRAIN,
    Band,
    Label,
    Painting,
    Surface,
    cut_key,
    grains,
    levels,
    shades,
)

Floats = npt.NDArray[np.float64]

_DRAWN = 0.07
"""Largest movement drawn, as a share of the body's height."""
_FORCE = 1000.0
"""Force of the compliance pictures [N]; the words are per force, so it only sets the scale."""
_FLUSH = 0.002
"""How far a surface may lie from a face's plane and still be of that face [m]."""
_ROOM = 0.012
"""A number needs a circle of this radius to stand in [m]."""


def paint_movement(stiffness: Stiffness, design: Design, of: str, system: System) -> Painting:
    """How far the outside moves under one cut (the hardest where `of` is empty), or for a force outward at
    one station, by its name.
    """
    solved = stiffness.governing_quick
    station = next((k for k, each in enumerate(solved.inputs.places) if each.name == of), None)
    if station is not None:
        return _compliance(solved, design, station, system)
    if not solved.movements:
        raise NotStated(reason="no cut is stated whose load is known")
    hits = [m for m in solved.movements if not of or _key(solved, m.cut) == of]
    if not hits:
        raise NotStated(reason="the load of this cut is not known; the chapter on loads says what is missing")
    worst = max(hits, key=lambda moved: moved.total)
    cut = solved.inputs.cuts[worst.cut]
    push = hardest(solved.ports, cut)
    outside = outside_of(solved.inputs)
    field = np.tensordot(push.loads, outside.statics, axes=1)
    painted = _Painted(outside, design, field, "length", system)
    joint = worst.joint / worst.total if worst.total else 0.0
    words = (
        f"Under the largest load of {cut.name} the work moves {show(worst.total, 'length', system)} at the "
        f"cut, {show(worst.outward, 'length', system)} of it along the spindle; the joint gives "
        f"{show(joint, 'share', system)}. {painted.most(system)} {_model(stiffness, solved)}"
    )
    return painted.painting("movement", f"Movement under {cut.name}", words)


def _key(solved: Solved, number: int) -> str:
    cut = solved.inputs.cuts[number]
    return cut_key(solved.inputs.places[cut.place].name, cut.name)


def _compliance(solved: Solved, design: Design, station: int, system: System) -> Painting:
    place = solved.inputs.places[station]
    outside = outside_of(solved.inputs)
    axes = outside.statics[6 * station : 6 * station + 3]
    field = np.tensordot(np.asarray(place.out), axes, axes=1)
    painted = _Painted(outside, design, field, "compliance", system)
    at = solved.ports.centre(station)
    out = np.asarray(place.out)
    own = float(out @ solved.ports.static(station, at) @ out)
    joint = float(out @ solved.ports.static_parts(station, at).sum(axis=0) @ out)
    words = (
        f"A force outward at the middle of {place.name} moves that place outward by "
        f"{show(own, 'compliance', system)}; the joint gives {show(joint / own, 'share', system)} of it. "
        f"{painted.most(system)} Quick model of {solved.unknowns} unknowns."
    )
    return painted.painting("movement", f"Movement for a force at {place.name}", words)


def _model(stiffness: Stiffness, solved: Solved) -> str:
    said = f"Quick model of {solved.unknowns} unknowns; the verdict among the findings is by the full one."
    if stiffness.has_seams and not stiffness.inputs.bonded:
        said += " Plates may slide on the fill, as the document does not say they are bonded."
    return said


def paint_mode(stiffness: Stiffness, design: Design, of: str, system: System) -> Painting:
    """One natural mode by its number from 1."""
    solved = stiffness.governing_quick
    number = int(of) if of.isascii() and of.isdigit() else 1
    if not 1 <= number <= len(solved.modes):
        raise NotStated(reason=f"there are {len(solved.modes)} modes, and no mode {number}")
    mode = solved.modes[number - 1]
    outside = outside_of(solved.inputs)
    painted = _Painted(outside, design, outside.shapes[number - 1], "share", system)
    title = f"Mode {number}: {mode.kind}, {show(mode.frequency, 'frequency', system)}"
    words = (
        f"Mode {number} of {len(solved.modes)}: {mode.kind} at {show(mode.frequency, 'frequency', system)}, "
        f"{_damping(mode, system)}. Strain energy: {_energies(mode, system)}. {painted.most(system)} "
        f"Quick model of {solved.unknowns} unknowns."
    )
    return painted.painting("mode", title, words, _damping(mode, system))


def mode_words(number: int, mode: Mode, system: System) -> str:
    """A mode in a list: its number, frequency and what it does."""
    return f"{number} · {show(mode.frequency, 'frequency', system)}, {mode.kind}"


def _damping(mode: Mode, system: System) -> str:
    if mode.loss is None:
        return f"damping unknown, not stated: {', '.join(mode.loss_missing)}"
    joint = show(0.5 * mode.loss_of_joint, "share", system)
    return f"damping ratio {show(0.5 * mode.loss, 'share', system)}, of which the joint gives {joint}"


def _energies(mode: Mode, system: System) -> str:
    shares = [*mode.parts, ("contact", mode.contact), ("studs", mode.studs), ("table", mode.table)]
    telling = sorted((each for each in shares if each[1] >= 0.01), key=lambda each: -each[1])
    return ", ".join(f"{name} {show(share, 'share', system)}" for name, share in telling)


@dataclass(frozen=True, slots=True)
class _Where:
    """Where the outside moves most on one face: how far, and the height over the pallet [m]."""

    largest: float
    height: float


class _Painted:
    """The outside of one design with a field of movement, ready to be told and drawn."""

    def __init__(self, outside: Outside, design: Design, field: Floats, kind: str, system: System) -> None:
        turn = body_turn(design)
        self.kind, self.system = kind, system
        self.points, self.field = _turned(outside.points, turn), _turned(field, turn)
        self.rims = outside.rims
        self.lengths = np.linalg.norm(self.field, axis=1)
        self.largest = float(self.lengths.max(initial=0.0))
        self.faces = design.faces
        self.owner = _owners(self.points, outside.triangles, design.faces)
        self.triangles = outside.triangles
        steps, self.words = levels(self.largest, kind, system)
        self.cut: Contoured = contoured(self.lengths, outside.triangles, steps)
        height = float(np.ptp(self.points[:, 1]))
        self.scale = _DRAWN * height / self.largest if self.largest > 0.0 else 0.0
        if kind != "share" and self.scale > 0.0:
            self.scale = _round_below(self.scale)

    def where(self, face: int) -> _Where | None:
        """The largest movement on a face (an index, -1 for all that is of none)."""
        corners = np.unique(self.triangles[self.owner == face])
        if not len(corners):
            return None
        worst = corners[int(np.argmax(self.lengths[corners]))]
        return _Where(float(self.lengths[worst]), float(self.points[worst, 1]))

    def most(self, system: System) -> str:
        """Where the outside moves most, in a sentence."""
        best, name = None, "the column"
        for k, label in [*enumerate(face.name for face in self.faces), (-1, "the top and edges")]:
            found = self.where(k)
            if found is not None and (best is None or found.largest > best.largest * (1.0 + 1e-9)):
                best, name = found, label
        if best is None:
            return ""
        height = show(best.height, "length", system)
        if self.kind == "share":
            return f"It moves most on {name}, {height} above the pallet."
        largest = show(best.largest, self.kind, system)
        return f"The outside moves most on {name}, {height} above the pallet: {largest}."

    def painting(self, kind: str, title: str, words: str, beside: str = "") -> Painting:
        tints = shades(len(self.words))
        bands = tuple(Band(k, said, tints[k - 1]) for k, said in enumerate(self.words, 1))
        drawn = self.drawn()
        blocks: tuple[Block, ...] = (Paragraph(f"{words} {drawn}"), self.table(bands))
        return Painting(
            kind, title, bands, blocks,
            surface=self.surface(len(bands)),
            labels=tuple(self.labels(len(bands))),
            drawn=f"{beside[:1].upper()}{beside[1:]}. {drawn}" if beside else drawn,
            swings=kind == "mode",
        )  # fmt: skip

    def drawn(self) -> str:
        """How much too large the picture is."""
        if self.kind == "share":
            size = show(self.scale * self.largest, "length", self.system, 2)
            return (
                f"In shares of the largest movement, which is drawn as {size}; a mode has no size of its own."
            )
        if self.kind == "compliance":
            factor = f"{self.scale / _FORCE:,.0f}".replace(",", " ")
            return f"Drawn {factor} times too large for a force of {show(_FORCE, 'force', self.system)}."
        return f"Drawn {self.scale:,.0f} times too large.".replace(",", " ")

    def table(self, bands: Sequence[Band]) -> Table:
        """Each face with the share of its area in each band, its largest movement and where."""
        areas = areas_of(self.cut.read(self.points), self.cut.triangles)
        owner = self.owner[self.cut.origin]
        rows: list[tuple[Cell, ...]] = []
        for k, name in [*enumerate(face.name for face in self.faces), (-1, "top and edges")]:
            found, total = self.where(k), float(areas[owner == k].sum())
            if found is None or total <= 0.0:
                continue
            shares = [
                float(areas[(owner == k) & (self.cut.band == band)].sum()) for band in range(len(bands))
            ]
            rows.append(
                (
                    name,
                    *(Quantity(share / total, "share") for share in shares),
                    Quantity(found.largest, self.kind),
                    Quantity(found.height, "length"),
                )
            )
        columns = (
            Column("face"),
            *(Column(f"band {band.number}", numeric=True) for band in bands),
            Column("moves most", numeric=True),
            Column("above the pallet", numeric=True),
        )
        note = " ".join(f"{band.number}: {band.words}." for band in bands)
        return Table("Share of each face in each band", columns, tuple(rows), note)

    def surface(self, count: int) -> Surface:
        points, moved = self.cut.read(self.points), self.cut.read(self.scale * self.field)
        cut = self.cut
        return Surface(
            _flat(points),
            _flat(moved),
            tuple(tuple(cut.triangles[cut.band == band].ravel().tolist()) for band in range(count)),
            tuple(cut.lines.ravel().tolist()),
            tuple(self.rims.ravel().tolist()),
        )

    def labels(self, count: int) -> list[Label]:
        points, moved = self.cut.read(self.points), self.cut.read(self.scale * self.field)
        owner = self.owner[self.cut.origin]
        made = []
        for k, face in enumerate(self.faces):
            frame = face_frame(Radian(face.angle), face.distance)
            across = points @ np.asarray(frame.first)
            plan = np.stack([across, points[:, 1]], axis=1)
            for band in range(count):
                chosen = self.cut.triangles[(owner == k) & (self.cut.band == band)]
                if not len(chosen):
                    continue
                for part in _parts(plan, chosen):
                    circle = shapely.maximum_inscribed_circle(part, tolerance=0.001)
                    if circle.length < _ROOM:
                        continue
                    at = np.asarray(circle.coords[0])
                    near = int(np.argmin(((plan[chosen.ravel()] - at) ** 2).sum(axis=1)))
                    shift = moved[chosen.ravel()[near]]
                    made.append(
                        Label(
                            str(band + 1),
                            grains(frame.point(float(at[0]), float(at[1]), 0.0)),
                            frame.third,
                            grains(shift.tolist()),
                        )
                    )
        return made


def _parts(plan: Floats, triangles: npt.NDArray[np.intp]) -> list[shapely.Polygon]:
    shapes = shapely.polygons(plan[triangles])
    joined = shapely.union_all(shapes, grid_size=1e-7)
    return [part for part in shapely.get_parts(joined) if part.geom_type == "Polygon" and not part.is_empty]


def _turned(vectors: Floats, turn: float) -> Floats:
    """From the body's frame to the column's: +z goes back to the first face's normal."""
    c, s = cos(turn), sin(turn)
    x, y, z = vectors[..., 0], vectors[..., 1], vectors[..., 2]
    return np.stack([x * c + z * s, y, z * c - x * s], axis=-1)


def _owners(points: Floats, triangles: npt.NDArray[np.intp], faces: Sequence[Face]) -> npt.NDArray[np.intp]:
    """(t,) index of the face that each triangle is of, -1 for none."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    owner = np.full(len(triangles), -1, dtype=np.intp)
    for k, face in enumerate(faces):
        out = np.array(face_frame(Radian(face.angle), face.distance).third)
        flush = np.abs((a + b + c) @ out / 3.0 - face.distance) < _FLUSH
        owner[flush & (normal @ out > 0.99)] = k
    return owner


def _round_below(value: float) -> float:
    """The next round number (1, 2 or 5 times ten to a whole) below."""
    power = 10.0 ** np.floor(np.log10(value))
    return float(max(m * power for m in (1.0, 2.0, 5.0) if m * power <= value * (1.0 + 1e-9)))


def _flat(values: Floats) -> tuple[int, ...]:
    return tuple(np.rint(values.ravel() / GRAIN).astype(int).tolist())
