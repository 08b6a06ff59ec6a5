"""Opening a shop folder: the Python door to everything."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import Literal

from orthostat.base.problems import DocumentError
from orthostat.document.column import Column as ColumnDocument
from orthostat.document.folder import Read, ShopFolder
from orthostat.document.quantities import Typed
from orthostat.document.shop import Shop
from orthostat.evaluation.chain import Evaluation
from orthostat.evaluation.memory import Memory
from orthostat.meaning.buying import buying_of
from orthostat.meaning.casting import check_aggregates
from orthostat.meaning.column import ShopParts, column_of, shop_parts
from orthostat.meaning.faults import Elsewhere, Faults
from orthostat.meaning.wishes import limits_of
from orthostat.model.buying import Buying
from orthostat.model.column import Column


class OpenShop:
    """A shop folder that has been read; its columns are evaluated when asked for.

    Raises `DocumentError`, with every fault at once, when `shop.toml` can't be read.
    """

    def __init__(self, path: str | Path | ShopFolder, memory: Memory | None = None) -> None:
        self.folder = path if isinstance(path, ShopFolder) else ShopFolder(Path(path))
        self.memory = memory or Memory()
        self._read: Read = self.folder.shop
        faults = Faults(self._read.shown, self._read.text)
        self.parts: ShopParts = shop_parts(self._read.document, faults)
        check_aggregates(self._read.document, faults)
        _check_margins(self._read.document, faults)
        self.buying: Buying = buying_of(self._read.document, faults)
        faults.raise_if_any()

    @property
    def document(self) -> Shop:
        """The shop document as typed."""
        return self._read.document  # type: ignore[no-any-return]  # read as this model

    @property
    def text(self) -> str:
        """The shop document's text."""
        return self._read.text

    @property
    def name(self) -> str:
        """What the shop calls itself, or its folder's name."""
        return self._read.document.name or self.folder.path.resolve().name

    @property
    def columns(self) -> list[str]:
        """Names of the shop's columns."""
        return self.folder.column_names()

    def column(self, name: str) -> OpenColumn:
        """One column; raises `DocumentError` with every fault of its document."""
        return OpenColumn(self, name, self.folder.column(name))

    def column_as(self, name: str, read: Read) -> OpenColumn:
        """A column as `read` says it is, whatever its file holds; raises `DocumentError` likewise."""
        return OpenColumn(self, name, read)


def _check_margins(shop: Shop, faults: Faults) -> None:
    """Note margins of findings that there are not."""
    if not shop.margins.findings:
        return
    from orthostat.checks import all_rules  # reading every rule takes a while, and few shops ask for it

    known = [rule.slug for rule in all_rules()]
    for slug in shop.margins.findings:
        if slug not in known:
            faults.unknown_name(("margins", "findings", slug), "finding", slug, known)


class OpenColumn:
    """One column of an open shop."""

    def __init__(self, shop: OpenShop, name: str, read: Read) -> None:
        self.shop = shop
        self.name = name
        self._read = read
        fixtures = frozenset(shop.document.fixtures) - frozenset(self.document.fixtures)
        faults = Faults(self._read.shown, self._read.text, Elsewhere("shop.toml", shop.text, fixtures))
        made = column_of(name, self._read.document, shop.document, shop.parts, faults)
        faults.raise_if_any()
        if made is None:
            raise DocumentError([])
        self.model: Column = made

    @property
    def document(self) -> ColumnDocument:
        """The column document as typed."""
        return self._read.document  # type: ignore[no-any-return]  # read as this model

    @property
    def revision(self) -> str:
        """Digest of the document's text."""
        return self._read.revision

    @cached_property
    def system(self) -> Literal["metric", "inch"]:
        """The system of units that findings are shown in first: stated, or mostly typed."""
        for document in (self.document, self.shop.document):
            if document.units is not None and document.units.system is not None:
                return document.units.system
        inch = sum(_count(document, "inch") for document in (self.document, self.shop.document))
        metric = sum(_count(document, "metric") for document in (self.document, self.shop.document))
        return "inch" if inch > metric else "metric"

    def evaluate(self) -> Evaluation:
        """The design's results and findings, worked out as they are asked for."""
        return Evaluation(self.model, limits_of(self.shop.document), self.shop.memory, self.shop.buying)


_INCH = {
    "in",
    "inch",
    "inches",
    "ft",
    "thou",
    "lb",
    "lbs",
    "lbf",
    "psi",
    "ksi",
    "ft*lbf",
    "lbf*ft",
    "ft*lb",
    "in*lbf",
    "hp",
    '"',
}
_METRIC = {"mm", "cm", "m", "um", "kg", "N", "kN", "MPa", "GPa", "N*m", "Nm", "kW"}


def is_inch(unit: str) -> bool:
    """Whether a unit as typed belongs to the inch system."""
    return unit in _INCH


def _count(part: object, system: str) -> int:
    """How many quantities of a document are typed in a system of units."""
    if isinstance(part, Typed):
        return part.unit in (_INCH if system == "inch" else _METRIC)
    if isinstance(part, tuple):
        return sum(_count(item, system) for item in part)
    if isinstance(part, dict):
        return sum(_count(item, system) for item in part.values())
    if hasattr(part, "model_fields_set"):
        return sum(_count(getattr(part, key), system) for key in part.model_fields_set)
    return 0


def open_shop(path: str | Path) -> OpenShop:
    """Open a shop folder.

    Raises `DocumentError` with every fault when it can't be read.
    """
    return OpenShop(path)
