"""Friction, tightening scatter and embedding: what makes the spread of a bolted joint."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Metre, Ratio
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table, UnknownRow


@dataclass(frozen=True, slots=True, kw_only=True)
class Friction(Row):
    """Static friction between the faces of two material families."""

    pair: tuple[str, str]
    """Families of `catalogue.material_row(...).family`, in either order."""
    condition: str
    """`dry` or `wet` (oil or coolant)."""
    low: Ratio
    likely: Ratio
    high: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadFriction(Row):
    """Friction in the thread and under the head or nut, by class of VDI 2230."""

    low: Ratio
    likely: Ratio
    high: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class NutFactor(Row):
    """Nut factor K of T = K·F·d."""

    nut_factor: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class TighteningMethod(Row):
    """Tightening factor αA = F_max / F_min of a method."""

    scatter_low: Ratio
    scatter: Ratio
    scatter_high: Ratio
    twists: bool = True
    """Whether it turns the nut, so that friction in the thread twists the stud."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Embedding(Row):
    """Flattening of the surfaces of a joint by roughness: one thread, one bearing face, one interface."""

    loading: str
    """`axial` or `transverse`."""
    roughness_over: Metre
    roughness_up_to: Metre
    thread: Metre
    bearing: Metre
    interface: Metre


FRICTION = Table("friction", Friction)
THREAD_FRICTION = Table("thread_friction", ThreadFriction)
NUT_FACTORS = Table("nut_factors", NutFactor)
TIGHTENING_METHODS = Table("tightening_methods", TighteningMethod)
EMBEDDING = Table("embedding", Embedding)


def friction(pair: tuple[str, str], condition: str) -> Friction:
    """Static friction of two material families, such as `("aluminium", "grey iron")`, `dry` or `wet`.

    Raises:
        UnknownRow: no row for that pair and condition.
    """
    wanted = {each.casefold().strip() for each in pair}
    state = {"oiled": "wet", "oil": "wet", "coolant": "wet", "lubricated": "wet"}.get(condition, condition)
    same_pair = [row for row in FRICTION if set(row.pair) == wanted]
    for row in same_pair:
        if row.condition == state:
            return row
    near = same_pair or [row for row in FRICTION if wanted & set(row.pair)]
    raise UnknownRow(FRICTION.name, f"{' on '.join(pair)}, {condition}", tuple(row.name for row in near[:4]))


def thread_friction(name: str) -> ThreadFriction:
    """A friction class (`B`) or a lubrication that falls into it (`oiled`); raises `UnknownRow`."""
    return THREAD_FRICTION.row(name)


def nut_factor(name: str) -> NutFactor:
    """The nut factor of a bolt condition (`lubricated`); raises `UnknownRow`."""
    return NUT_FACTORS.row(name)


def tightening_method(name: str) -> TighteningMethod:
    """A method such as `torque wrench`, `impact wrench`, `stretch`; raises `UnknownRow`."""
    return TIGHTENING_METHODS.row(name)


def embedding(roughness: Metre, loading: str = "axial") -> Embedding:
    """Embedding for surfaces of that roughness Rz under `axial` or `transverse` load.

    Raises:
        UnknownRow: rougher than the table, or another loading.
    """
    for row in EMBEDDING:
        if row.loading == loading and row.roughness_over <= roughness < row.roughness_up_to:
            return row
    raise UnknownRow(EMBEDDING.name, f"Rz {roughness * 1e6:g} µm, {loading}", EMBEDDING.names)
