"""What the joints of a body are worked out from."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import KilogramPerCubicMetre, Metre, Radian
from orthostat.base.findings import Gap
from orthostat.base.frames import face_frame
from orthostat.model.bodies import Body
from orthostat.model.column import Column
from orthostat.model.joining import Joint, Seam


@dataclass(frozen=True, slots=True)
class Push:
    """The liquid fill against one plate: width it presses on, depth that is liquid at once, density."""

    plate: str
    width: Metre
    head: Metre
    density: KilogramPerCubicMetre


@dataclass(frozen=True, slots=True)
class Inputs:
    """Seams, joints, the bodies they join, and the form's load where there is a fill."""

    path: str
    seams: tuple[Seam, ...]
    joints: tuple[Joint, ...]
    bodies: tuple[Body, ...]
    normals: tuple[tuple[int, tuple[float, float]], ...]
    """(face, outward normal in plan)."""
    trued: Metre
    """What truing takes off the side faces."""
    pushes: tuple[Push, ...] = ()
    no_pushes: Gap | None = None
    """What keeps the fill's push from being known, where there is a fill."""

    def body(self, name: str) -> Body:
        """The body of that name."""
        return next(body for body in self.bodies if body.name == name)


def inputs_from(column: Column, pushes: tuple[Push, ...] = (), no_pushes: Gap | None = None) -> Inputs:
    """The inputs of one column; `pushes` is what its pour says of the form, `no_pushes` what it lacks."""
    names = {name for seam in column.seams for name in (seam.outer, seam.inner)}
    normals = []
    for face in column.faces:
        third = face_frame(Radian(face.angle), face.distance).third
        normals.append((face.number, (third[0], third[2])))
    return Inputs(
        column.path,
        column.seams,
        column.joints,
        tuple(body for body in column.bodies if body.name in names),
        tuple(normals),
        column.truing_depth or Metre(0.0),
        pushes,
        no_pushes,
    )
