"""How the column goes together: exploded picture, order of work, lifting, truing, sheets to fill in."""

from __future__ import annotations

from math import cos, radians, sin
from typing import Any

from orthostat.base.findings import NotStated
from orthostat.base.frames import Vector
from orthostat.base.showing import System, show
from orthostat.catalogue.labour import EYES
from orthostat.model.bodies import COLUMN_ROLES, Body, Role
from orthostat.presentation import joining
from orthostat.presentation.blocks import (
    Block,
    Caution,
    Column,
    Figure,
    Heading,
    Paragraph,
    Quantity,
    Steps,
    Table,
)
from orthostat.presentation.chapters import ChapterMaker
from orthostat.presentation.lengths import UNIT, bare, length_text
from orthostat.presentation.solid_picture import picture
from orthostat.presentation.still import alone

UNJOINED = "How plates are joined is not in the document: clamp them unless your drawing says otherwise."


def blocks(evaluation: Any, system: System) -> tuple[Block, ...]:
    """Pictures, steps, lifting, truing, inspection and offsets."""
    return (
        alone(evaluation.column),
        exploded(evaluation),
        Heading("Order of work"),
        *joining.table(evaluation, system),
        Steps(steps(evaluation, system)),
        Heading("Lifting"),
        *lifting(evaluation, system),
        Heading("Truing"),
        *truing(evaluation, system),
        Heading("Inspection"),
        inspection(evaluation, system),
        Heading("Offsets"),
        offsets(evaluation, system),
    )


def exploded(evaluation: Any) -> Figure:
    """The pieces pulled apart, with their numbers on the cut list."""
    column = evaluation.column
    numbers = {b.name: part.number for part in evaluation.pieces.parts for b in part.bodies}
    reach = 0.55 * max(face.distance + 0.5 * face.width for face in column.faces)
    moved = [
        (b, _pull(b, column, reach))
        for b in column.bodies
        if b.role in COLUMN_ROLES - {Role.FILL, Role.ANCHOR, Role.SCREW}
    ]
    tags = [
        (f"{numbers[b.name]}  {b.name}", _tag_at(b, shift))
        for b, shift in moved
        if b.name in numbers and b.role not in (Role.SLEEVE, Role.INSERT)
    ]
    text = picture(moved, f"{column.name}, pieces pulled apart", width=640.0, height=640.0, tags=tags)
    names = ", ".join(f"{part.number} {part.name}" for part in evaluation.pieces.parts)
    return Figure("exploded", text, "Pieces pulled apart; the numbers are those of the cut list", names)


def _pull(body: Body, column: Any, reach: float) -> Vector:
    face = next((f for f in column.faces if f.number == body.face), None)
    if body.role is Role.PLATE and face is not None:
        return (reach * sin(face.angle), 0.0, reach * cos(face.angle))
    if body.role is Role.LID:
        return (0.0, 0.9 * reach, 0.0)
    if body.role is Role.BASE_PLATE:
        return (0.0, -0.9 * reach, 0.0)
    if body.role is Role.CLEAT and face is not None:
        return (1.4 * reach * sin(face.angle), -0.9 * reach, 1.4 * reach * cos(face.angle))
    return (0.0, 0.0, 0.0)


def _tag_at(body: Body, shift: Vector) -> Vector:
    prism = body.adds[0]
    ring = prism.section.points if hasattr(prism.section, "points") else (prism.section.centre,)
    a, b = sum(p[0] for p in ring) / len(ring), sum(p[1] for p in ring) / len(ring)
    x, y, z = prism.frame.point(a, b, 0.5 * (prism.low + prism.high))
    return (x + shift[0], y + shift[1], z + shift[2])


def steps(evaluation: Any, system: System) -> tuple[str, ...]:
    """The order of work for the pieces this column has."""
    column = evaluation.column
    joined = joining.steps(evaluation, system)
    roles = {b.role for b in column.bodies}
    said = ["Check every piece against its drawing; wash and dry."]
    if Role.BASE_PLATE in roles:
        said.append(
            "Set the base plate on a flat table, underside down."
            + (" Put a film of wax or tape on what the fill must not stick to." if Role.FILL in roles else "")
        )
    if Role.ANCHOR in roles:
        said.append("Fit the anchors to the insides of the plates, while these lie flat.")
    plates = [b.name for b in column.bodies if b.role is Role.PLATE and b.face is not None]
    if plates:
        corners = column.shape_of_body.corners if column.shape_of_body else "butt"
        said.append(
            f"Stand up {', '.join(plates)} in this order ({corners} corners); "
            "square them on the base and to one another. " + joined.get("corners", UNJOINED)
        )
    if "base plate" in joined:
        said.append(joined["base plate"])
    if Role.SLEEVE in roles:
        said.append("Set the sleeves over the stud holes and seal both ends, so that no mix gets into them.")
    if Role.VOID_FORMER in roles:
        said.append("Set and hold down the void formers; seal their feet.")
    if Role.FILL in roles:
        said += [
            "Clamp the form and pour as the pour sheet says; note times and temperatures.",
            "Wait until the pour sheet lets you strip; clean the top before the lid goes on.",
        ]
    if Role.LID in roles:
        lip = any(len(b.adds) > 1 for b in column.bodies if b.role is Role.LID)
        words = "Set the lid; its lip keeps the sides square." if lip else "Set the lid."
        said.append(f"{words} {joined['lid']}" if "lid" in joined else words)
    if column.pins:
        said.append("Fit the pins that stay, so that the column goes down on them.")
    said.append(
        "Lift the column onto the pallet as the lifting plan says; wipe both faces clean and dry first."
    )
    if column.studs:
        said.append(
            "Fit studs, washers and nuts; tighten as the tightening sheet says, crosswise in three rounds."
        )
    if column.truing_depth:
        said.append(
            "True the faces in place as the truing plan says; then drill and bore what needs true faces."
        )
    said += [
        "Measure and fill in the inspection sheet.",
        "Fill in the offsets sheet and enter the offsets; prove out before use.",
    ]
    return tuple(said)


def lifting(evaluation: Any, system: System) -> list[Block]:
    """Mass, centre of gravity, load of a sling leg by angle, and the eyes that bear it."""
    try:
        bare_mass, centre = evaluation.solids.bare.mass, evaluation.solids.bare.centre
    except NotStated as gap:
        return [Paragraph(f"The lifting plan is unknown: {gap}.")]
    own = "metric" if system == "metric" else "inch"
    rows = []
    for legs in (1, 2, 4):
        for angle in (0.0, 30.0, 45.0) if legs > 1 else (0.0,):
            bearing = 2 if legs > 1 else 1
            load = bare_mass / bearing / cos(radians(angle))
            eye = next(
                (e for e in EYES if e.system == own and (e.axial if angle == 0.0 else e.slanting) >= load),
                None,
            )
            rows.append(
                (
                    f"{legs}",
                    f"{angle:.0f}°",
                    Quantity(load, "mass"),
                    "none in the table" if eye is None else eye.name,
                )
            )
    columns = (
        Column("legs", numeric=True),
        Column("angle from upright", numeric=True),
        Column("load of a leg", numeric=True),
        Column("smallest eye"),
    )
    where = ", ".join(
        f"{name} {length_text(round(value, 4), system)}" for name, value in zip("xyz", centre, strict=True)
    )
    tips = [tip for tip in evaluation.fit.tips if tip.angle is not None]
    least = sorted(tips, key=lambda tip: float(tip.angle or 0.0))[:2]
    words = "; ".join(f"{tip.case} at a tilt of {show(tip.angle, 'angle', system)}" for tip in least)
    source = ", ".join(sorted({e.citation for e in EYES if e.system == own}))
    return [
        Paragraph(
            f"The bare column weighs {show(bare_mass, 'mass', system)}; its centre of gravity "
            f"is at {where} (x and z from the B axis, y above the pallet top)."
        ),
        Table(
            "Slings and eyes for the bare column",
            columns,
            tuple(rows),
            f"Of four legs two are taken to bear. Ratings: {source}; see also iso-3266. "
            "The maker's plate and local rules come first.",
        ),
        Paragraph(
            f"Standing free it tips over soonest thus: {words}."
            if words
            else "When it tips over is not known."
        ),
        *_loose(evaluation),
        Caution(
            "Never stand under the load. Screw eyes home on their shoulder, in the plane of the pull; "
            "use swivel eyes for slanting slings. Keep the hook above the centre of gravity."
        ),
    ]


def _loose(evaluation: Any) -> list[Block]:
    """What does not hang on the column while it is lifted: only the studs hold it, once it stands."""
    loose = [
        f"the {cover.kind}"
        for cover in evaluation.joining.coverage
        if cover.kind != "corners" and cover.clamped
    ]
    if not loose:
        return []
    verb = "is" if len(loose) == 1 else "are"
    return [
        Caution(
            f"Nothing but the studs holds {' and '.join(loose)}, which {verb} loose until they are tight. "
            "Lift with studs and nuts run through and tight, or with slings under the column; an eye in a "
            "loose lid lifts the lid alone."
        )
    ]


def truing(evaluation: Any, system: System) -> list[Block]:
    """Depth, faces in order and the tools that may do it."""
    column = evaluation.column
    if not column.truing_depth:
        return [Paragraph("No truing is stated (truing.depth).")]
    mills = [tool for tool in column.tools if tool.kind.value in ("face mill", "end mill")]
    if column.truing_tools is not None:
        mills = [tool for tool in mills if tool.name in column.truing_tools]
    columns = (
        Column("order", numeric=True),
        Column("face"),
        Column("turn B to", numeric=True),
        Column("stock to take", numeric=True),
        Column(f"face plane to B axis before [{UNIT[system]}]", numeric=True),
        Column("after", numeric=True),
    )
    rows = tuple(
        (
            place,
            face.name,
            Quantity(column.b_of(face.angle), "angle"),
            Quantity(column.truing_depth, "length"),
            bare(face.distance, system),
            bare(face.distance - column.truing_depth, system),
        )
        for place, face in enumerate(column.faces, 1)
    )
    names = ", ".join(f"{tool.name}" for tool in mills) or "none is listed"
    return [
        Table(
            "Truing in place",
            columns,
            rows,
            f"Tools that may do it: {names}. Take half first, sweep, then the rest.",
        ),
    ]


def inspection(evaluation: Any, system: System) -> Table:
    """What to measure on every face, with room for the readings."""
    columns = (Column("face"), Column("what"), Column("wanted"), Column("read"), Column("by, on"))
    rows = []
    for face in evaluation.column.faces:
        rows += [
            (face.name, f"plane to B axis [{UNIT[system]}]", bare(face.distance, system), "", ""),
            (face.name, "lean over its height", "", "", ""),
            (face.name, "twist over its width", "", "", ""),
            (face.name, "flatness", "", "", ""),
        ]
    rows.append(("column", "mass", "", "", ""))
    return Table(
        "Inspection sheet",
        columns,
        tuple(rows),
        "Nothing is wanted of what the document sets no limit for. "
        "Readings go into readings/ of the shop folder; dates as 2026-11-24.",
    )


def offsets(evaluation: Any, system: System) -> Table:
    """A row for every station with what the model says and room for what was measured."""
    column = evaluation.column
    unit = UNIT[system]
    columns = (
        Column("station"),
        Column("face"),
        Column("B", numeric=True),
        *(Column(f"{axis} from the model [{unit}]", numeric=True) for axis in ("u", "v", "w")),
        Column("measured X, Y, Z"),
    )
    rows = []
    faces = {face.number: face for face in column.faces}
    for station in column.stations:
        face = faces[station.face]
        rows.append(
            (
                station.name,
                face.name,
                Quantity(column.b_of(face.angle), "angle"),
                bare(station.origin[0], system),
                bare(station.origin[1], system),
                bare(face.distance, system),
                "",
            )
        )
    return Table(
        "Offsets sheet",
        columns,
        tuple(rows),
        "u across, v above the pallet top, w from the B axis. Prove out before use.",
    )


CHAPTER = ChapterMaker("assembly", "Putting it together", 65, blocks, short="Assembly")
