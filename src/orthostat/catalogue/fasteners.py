"""Threads, strength classes, nuts, heads, washers and dowel pins."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from orthostat.base.dimensions import Metre, Newton, Pascal, SquareMetre
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table, UnknownRow
from orthostat.formulas import threads as formulas


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread(Row):
    """A screw thread: nominal diameter and pitch as listed, the rest by formula."""

    system: str
    """`metric` or `inch`."""
    series: str
    """`coarse` or `fine`."""
    nominal: Metre
    pitch: Metre
    tapping_drill: Metre | None = None
    clearance_close: Metre | None = None
    clearance_normal: Metre | None = None
    clearance_loose: Metre | None = None
    sources: tuple[tuple[str, str], ...] = ()
    """(`tapping_drill` or `clearance`, source)."""
    marks: tuple[tuple[str, str], ...] = ()
    """(the same, mark)."""

    @property
    def pitch_diameter(self) -> Metre:
        return formulas.pitch_diameter(nominal=self.nominal, pitch=self.pitch)

    @property
    def internal_minor_diameter(self) -> Metre:
        return formulas.internal_minor_diameter(nominal=self.nominal, pitch=self.pitch)

    @property
    def external_minor_diameter(self) -> Metre:
        """Root diameter d3 of the bolt."""
        return formulas.external_minor_diameter(nominal=self.nominal, pitch=self.pitch)

    @property
    def stress_area(self) -> SquareMetre:
        """Tensile stress area: ISO 898-1 for metric threads, ASME B1.1 for inch threads."""
        if self.system == "metric":
            return formulas.stress_area_metric(nominal=self.nominal, pitch=self.pitch)
        return formulas.stress_area_unified(nominal=self.nominal, pitch=self.pitch)


@dataclass(frozen=True, slots=True)
class StrengthBand:
    """Least strengths for nominal diameters over `over` and up to `up_to`."""

    over: Metre
    up_to: Metre
    yield_strength: Pascal
    """Lower yield stress or 0.2 % proof stress, least value."""
    tensile_strength: Pascal
    proof: Pascal | None = None
    """Stress under proof load; `None` where the standard gives none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PropertyClass(Row):
    """A class or grade of bolts, screws and studs."""

    system: str
    bands: tuple[StrengthBand, ...]

    def band(self, diameter: Metre) -> StrengthBand | None:
        """The strengths for that nominal diameter, or `None` if the class is not made in it."""
        for band in self.bands:
            if band.over < diameter <= band.up_to + 1e-9:
                return band
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Nut(Row):
    """A nut class, and the bolt classes that it carries to their breaking load."""

    system: str
    carries: tuple[str, ...]
    stress_under_proof_load: Pascal


@dataclass(frozen=True, slots=True, kw_only=True)
class Head(Row):
    """Heads and nuts for a nominal thread diameter."""

    nominal: Metre
    across_flats: Metre
    head_height: Metre
    nut_height: Metre
    bearing_diameter: Metre | None = None
    """Least outside diameter of the bearing face of a hexagon nut; `None` where it is not listed."""
    socket_head_diameter: Metre | None = None
    socket_head_height: Metre | None = None
    counterbore_diameter: Metre | None = None
    """Recess for a socket head."""
    sources: tuple[tuple[str, str], ...] = ()
    marks: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Washer(Row):
    """A washer; `inside` and `outside` are diameters."""

    thread: str
    standard: str
    nominal: Metre
    inside: Metre
    outside: Metre
    thickness: Metre
    hardness: str
    """As the standard writes it, such as `200 HV`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dowel(Row):
    """A hardened, ground dowel pin of alloy steel, standard series."""

    system: str
    diameter: Metre
    """Nominal."""
    least_diameter: Metre
    greatest_diameter: Metre
    single_shear: Newton
    """Least load that it bears in one shear plane before it breaks."""


THREADS = Table("threads", Thread)
PROPERTY_CLASSES = Table("property_classes", PropertyClass)
NUTS = Table("nuts", Nut)
HEADS = Table("heads", Head)
WASHERS = Table("washers", Washer)
DOWELS = Table("dowels", Dowel)


def thread(designation: str) -> Thread:
    """A thread such as `M12`, `M12x1.25`, `1/2-13 UNC`, `1/2-13`; raises `UnknownRow`."""
    return THREADS.row(designation)


def property_class(name: str) -> PropertyClass:
    """A class or grade such as `8.8`, `SAE grade 5`, `B7`; raises `UnknownRow`."""
    return PROPERTY_CLASSES.row(name)


def nut(name: str) -> Nut:
    """A nut class such as `nut 8`; raises `UnknownRow`."""
    return NUTS.row(name)


@lru_cache(maxsize=512)
def head(designation: str) -> Head:
    """Head and nut sizes for a thread (`M12`, `M12x1.25`, `1/2-13 UNC`) or a bare size (`M12`, `1/2`).

    Raises:
        UnknownRow: no such thread, or none of its diameter in the table.
    """
    if designation in HEADS:
        return HEADS.row(designation)
    wanted = thread(designation)
    for row in HEADS:
        if abs(row.nominal - wanted.nominal) < 1e-7 and row.name.startswith("M") == (
            wanted.system == "metric"
        ):
            return row
    raise UnknownRow(HEADS.name, designation, HEADS.names)


def washer(name: str) -> Washer:
    """A washer such as `ISO 7089 M12`, `DIN 6340 M16`, `ASTM F436 1/2`; raises `UnknownRow`."""
    return WASHERS.row(name)


def washers_for(designation: str) -> tuple[Washer, ...]:
    """Every washer of the catalogue for a thread, in table order; raises `UnknownRow` for the thread."""
    wanted = thread(designation)
    metric = wanted.system == "metric"
    return tuple(
        row
        for row in WASHERS
        if abs(row.nominal - wanted.nominal) < 1e-7 and row.thread.startswith("M") == metric
    )


def dowel(name: str) -> Dowel:
    """A dowel pin such as `12 mm` or `1/2 in`; raises `UnknownRow`."""
    return DOWELS.row(name)


@lru_cache(maxsize=512)
def dowel_of(diameter: Metre) -> Dowel:
    """The dowel pin of that nominal diameter; raises `UnknownRow`."""
    for row in DOWELS:
        if abs(row.diameter - diameter) < 1e-6:
            return row
    near = sorted(DOWELS, key=lambda row: abs(row.diameter - diameter))[:3]
    raise UnknownRow(DOWELS.name, f"{diameter * 1e3:g} mm", tuple(row.name for row in near))
