"""How the pieces of the body are joined along the seams where they meet, as typed: `[[joints]]`."""

from typing import Literal

from orthostat.document.parts import Faces, Name, Placed, Positive, Text
from orthostat.document.quantities import Moment, PositiveRatio, Size, Stress


class Joints(Placed):
    """One way of joining all seams of a kind, or those of some faces.

    Screws and dowels stand in a row along each seam (`count` or `spacing`); at a base plate or lid they
    may be given by `at`, `grid` or `circle` instead, in plan (x, z).
    """

    between: Literal["corners", "base plate", "lid"]
    """`corners`: side plate to side plate; `base plate`, `lid`: walls to it."""
    faces: Faces = "all"
    """Of a corner, the faces of the plates that carry the heads; else the faces whose plates are joined."""
    how: Literal["screwed", "dowelled", "glued", "welded"]
    thread: Name | None = None
    """Of a screw."""
    length: Size | None = None
    """Of screw (under its head) or dowel."""
    grade: Name | None = None
    diameter: Size | None = None
    """Of a dowel."""
    fit: Name | None = None
    """Of a dowel in both pieces, such as `H7/m6`."""
    count: Positive | None = None
    """How many along each seam."""
    spacing: Size | None = None
    """Most from one to the next, where `count` is not given."""
    end_distance: Size | None = None
    """From the ends of the seam to the first and the last one."""
    inset: Size | None = None
    """From the outer side of the covered edge to the row; its middle if left out."""
    hole: Size | None = None
    """Clearance hole; ISO 273 medium or ASME B18.2.8 normal if left out."""
    counterbore: Size | None = None
    """Diameter of the recess for the head; DIN 974-1 or ASME B18.3 if left out."""
    head_below: Size | None = None
    """How far the head lies below the surface; 0.5 mm more than truing takes off if left out."""
    thread_depth: Size | None = None
    """Full thread tapped; what the screw reaches and a pitch if left out."""
    drill_depth: Size | None = None
    """Depth of the tapping drill; the thread and its run-out (DIN 76-1) if left out."""
    torque: Moment | None = None
    thread_friction: PositiveRatio | None = None
    head_friction: PositiveRatio | None = None
    throat: Size | None = None
    """Of a weld along the whole seam."""
    strength: Stress | None = None
    """What glue or weld bears in tension."""
    note: Text | None = None
