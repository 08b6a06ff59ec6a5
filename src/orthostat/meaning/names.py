"""Names of materials and threads: the shop's own rows first, then the catalogue's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from math import pi
from typing import Any, Protocol, TypeVar

from orthostat import catalogue
from orthostat.base.dimensions import Metre, Pascal
from orthostat.document import shop as documents
from orthostat.document.parts import Name
from orthostat.document.reading import KeyPath, key_text
from orthostat.meaning.faults import Faults
from orthostat.meaning.kept import Same, kept
from orthostat.model.materials import Material

_PROPERTIES = (
    "density",
    "youngs_modulus",
    "poissons_ratio",
    "expansion",
    "loss_factor",
    "yield_strength",
    "tensile_strength",
    "shear_strength",
    "bearing_limit",
    "conductivity",
    "specific_heat",
)

_HARDENED = "hardened steel"


def _namesake(name: Name) -> Material:
    """What a shop's own material starts from: the catalogue's row of that name, or nothing."""
    try:
        return catalogue.material(name)
    except catalogue.UnknownRow:
        return Material(name)


def known_thread(name: Name, path: KeyPath, faults: Faults) -> Any:
    """The catalogue's thread of that designation, or `None` (a fault is noted)."""
    try:
        return catalogue.thread(name)
    except catalogue.UnknownRow as unknown:
        hint = f"; nearest: {', '.join(unknown.nearest)}" if unknown.nearest else ""
        faults.add(path, f"is not a thread we know{hint}", f"`{name}`", "such as M16, M12x1.25, 5/8-11 UNC")
        return None


class _Sided(Protocol):
    """What stands for one side of the column."""

    @property
    def number(self) -> int: ...

    @property
    def is_end(self) -> bool: ...


Sided = TypeVar("Sided", bound=_Sided)


class Names:
    """Looks up what a document names, and notes what is not there."""

    def __init__(self, shop: documents.Shop, faults: Faults, prefix: str = "") -> None:
        self.shop = shop
        self.faults = faults
        self._prefix = prefix
        self.scope = (Same(shop), prefix)
        """What looking up and naming depend on."""

    def at(self, *path: str | int) -> str:
        """A key path as findings name it: `columns.harbour.studs[0]`, `machines.alder`."""
        return self._prefix + key_text(path)

    def material(self, name: Name | None, path: KeyPath) -> Material | None:
        """The material of that name; `None` if none is named or there is none (a fault is noted)."""
        if name is None:
            return None
        own = self.shop.materials.get(name)
        if own is None:
            return self.row(name, path)
        return _own_material(name, own, self)

    def known_fit(self, fit: str | None, diameter: float, path: KeyPath) -> None:
        """Note a fit that is not of ISO 286."""
        if fit is None:
            return
        try:
            catalogue.fit(fit, Metre(diameter))
        except (catalogue.UnknownRow, ValueError) as fault:
            self.faults.add(
                path, f"is not an ISO 286 fit we know ({fault})", f"`{fit}`", "such as H7/m6, H7/g6, H7/h6"
            )

    def known_hole(self, fit: str | None, diameter: float, path: KeyPath) -> None:
        """Note a tolerance class of a bore, such as `H7`, alone or in a fit, that is not of ISO 286."""
        if fit is None:
            return
        if "/" in fit:
            self.known_fit(fit, diameter, path)
        elif not catalogue.is_hole_class(fit.strip()):
            self.faults.add(path, "is not a tolerance class of a hole (ISO 286)", f"`{fit}`", "such as H7")

    def known_method(self, method: str | None, path: KeyPath) -> None:
        """Note a tightening method the catalogue has not got."""
        if method is None:
            return
        try:
            catalogue.tightening_method(method)
        except catalogue.UnknownRow:
            self.faults.unknown_name(path, "tightening method", method, catalogue.names("tightening_methods"))

    def dowel_shear(self, stated: Any, material: Material | None, diameter: float) -> Pascal | None:
        """Shear strength of a pin: stated, or of a hardened dowel pin of that diameter by its standard
        (least single shear load over the section); `None` for other pins.
        """
        if stated is not None:
            return Pascal(stated.si)
        if material is None or material.name != catalogue.material(_HARDENED).name:
            return None
        try:
            row = catalogue.dowel_of(Metre(diameter))
        except catalogue.UnknownRow:
            return None
        return Pascal(row.single_shear / (0.25 * pi * row.diameter**2))

    def row(self, name: str, path: KeyPath) -> Material | None:
        """The catalogue's material of that name, or `None` (a fault is noted)."""
        try:
            return _catalogue_material(name)
        except catalogue.UnknownRow as unknown:
            known = [*self.shop.materials, *catalogue.names("materials")]
            self.faults.unknown_name(path, "material", name, known, unknown.nearest)
            return None

    def thread(self, name: Name, path: KeyPath) -> Any:
        """The catalogue's thread of that designation, or `None` (a fault is noted)."""
        return known_thread(name, path, self.faults)

    def faces(self, stated: Any, among: Sequence[Sided], path: KeyPath) -> list[Sided]:
        """The faces meant by `all`, `long`, `ends` or numbers."""
        if stated == "all":
            return list(among)
        if stated in ("long", "ends"):
            found = [face for face in among if face.is_end == (stated == "ends")]
            if not found:
                self.faults.add(path, "this plan has no ends; only a slab has", f"`{stated}`")
            return found
        numbered = {face.number: face for face in among}
        for number in stated:
            if number not in numbered:
                self.faults.add(path, "there is no such face", str(number), f"1 to {len(among)}")
        if len(set(stated)) < len(stated):
            self.faults.add(path, "names a face twice", str(list(stated)))
        return [numbered[number] for number in dict.fromkeys(stated) if number in numbered]

    def grade(self, name: Name | None, path: KeyPath) -> str | None:
        """A property class or grade that the catalogue has, or `None` (a fault is noted)."""
        if name is None:
            return None
        try:
            catalogue.property_class(name)
        except catalogue.UnknownRow as unknown:
            hint = f"; nearest: {', '.join(unknown.nearest)}" if unknown.nearest else ""
            self.faults.add(
                path,
                f"is not a property class or grade we know{hint}",
                f"`{name}`",
                "such as 8.8, SAE grade 5",
            )
            return None
        return name


@kept(256)
def _own_material(name: str, own: documents.Material, names: Names) -> Material:
    start = names.row(own.like, ("materials", name, "like")) if own.like else _namesake(name)
    stated: dict[str, Any] = {
        key: value.si for key in _PROPERTIES if (value := getattr(own, key)) is not None
    }
    source = "shop" if start is None or not start.source else f"shop; otherwise {start.source}"
    path = key_text(("materials", name))
    return replace(start or Material(name), name=name, source=source, path=path, **stated)


@lru_cache(maxsize=512)
def _catalogue_material(name: str) -> Material:
    # A shop may state what the catalogue has not got under the name it used.
    return replace(catalogue.material(name), path=key_text(("materials", name)))
