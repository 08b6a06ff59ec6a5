"""Seams where two pieces of the body meet, and what joins them."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Metre, NewtonMetre, Pascal, Ratio
from orthostat.model.bodies import Prism

CORNERS, BASE, LID = "corners", "base plate", "lid"


@dataclass(frozen=True, slots=True)
class Seam:
    """Where the edge of one piece meets the side of another."""

    name: str
    kind: str
    """`corners`, `base plate` or `lid`."""
    outer: str
    """Name of the body that covers: it carries the heads."""
    inner: str
    """Name of the body whose edge it covers: it is tapped."""
    face: int | None
    """Face of the covering plate at a corner, else of the plate that is joined to base plate or lid."""
    inner_face: int | None
    """Face of the plate whose edge is covered."""
    length: Metre
    width: Metre
    """Of the contact, across the seam."""
    clamped: bool = False
    """Whether studs that bear on the top press it together."""


@dataclass(frozen=True, slots=True)
class Joiner:
    """A screw or dowel across a seam; depths are from the covering piece's outer surface inward [m]."""

    name: str
    seam: Seam
    path: str
    what: str
    """`screw` or `dowel`."""
    thread: str | None
    diameter: Metre
    """Nominal."""
    length: Metre
    head_seat: Metre
    """Where the head bears, or the dowel begins."""
    through: Metre
    """Thickness of the covering piece."""
    gap: Metre
    """Between the two pieces."""
    along: Metre | None
    """Place along the seam from its lower or left end; `None` for one that is placed in plan."""
    head_height: Metre
    head_diameter: Metre
    hole: Prism
    """Through the covering piece, below the recess."""
    counterbore: Prism | None
    bored: Prism
    """Tapping drill or dowel bore in the edge of the other piece."""
    thread_depth: Metre
    """Of full thread (of bore, for a dowel), from the edge."""
    fit: str | None = None

    @property
    def reach(self) -> Metre:
        """How far it goes into the second piece."""
        return Metre(self.length - (self.through - self.head_seat) - self.gap)

    @property
    def engaged(self) -> Metre:
        """Length of thread (or bore) in which it holds."""
        return Metre(max(0.0, min(self.reach, self.thread_depth)))

    @property
    def head_below(self) -> Metre:
        """How far the top of the head lies below the surface."""
        return Metre(self.head_seat - self.head_height)


@dataclass(frozen=True, slots=True)
class Joint:
    """One entry of the document: the seams it joins and what it puts there."""

    path: str
    kind: str
    how: str
    seams: tuple[Seam, ...]
    joiners: tuple[Joiner, ...]
    thread: str | None = None
    grade: str | None = None
    torque: NewtonMetre | None = None
    thread_friction: Ratio | None = None
    head_friction: Ratio | None = None
    throat: Metre | None = None
    strength: Pascal | None = None
    missing: tuple[str, ...] = ()
    """What keeps screws or dowels from being laid out."""
    note: str = ""
