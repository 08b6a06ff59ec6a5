"""Threads and proof loads: diameters, stress areas and loads as the standards and suppliers print them."""

from __future__ import annotations

from collections.abc import Callable

from orthostat.catalogue import property_class, thread
from orthostat.formulas.threads import proof_load
from orthostat.validation.cases import case

INCH = 0.0254
POUND_FORCE = 4.4482216152605
ROUNDED = "the table prints three figures, so half a unit of the last"

METRIC_AREAS = {
    "M6": (20.1, 0.05), "M8": (36.6, 0.05), "M10": (58.0, 0.05), "M12": (84.3, 0.05), "M14": (115, 0.5),
    "M16": (157, 0.5), "M18": (192, 0.5), "M20": (245, 0.5), "M22": (303, 0.5), "M24": (353, 0.5),
    "M27": (459, 0.5), "M30": (561, 0.5), "M36": (817, 0.5),
}  # fmt: skip
INCH_AREAS = {
    "#10-24 UNC": (0.0175, 5e-5), "1/4-20 UNC": (0.0318, 5e-5), "5/16-18 UNC": (0.0524, 5e-5),
    "3/8-16 UNC": (0.0775, 5e-5), "7/16-14 UNC": (0.1063, 5e-5), "1/2-13 UNC": (0.1419, 5e-5),
    "5/8-11 UNC": (0.226, 5e-4), "3/4-10 UNC": (0.334, 5e-4), "7/8-9 UNC": (0.462, 5e-4),
    "1-8 UNC": (0.606, 5e-4), "1-1/8-7 UNC": (0.763, 5e-4), "1-1/4-7 UNC": (0.969, 5e-4),
    "1-3/8-6 UNC": (1.155, 5e-4), "1-1/2-6 UNC": (1.405, 5e-4),
}  # fmt: skip
FINE_INCH_AREAS = {
    "#10-32 UNF": (0.0200, 1e-4), "1/4-28 UNF": (0.0364, 1e-4), "3/8-24 UNF": (0.0878, 1e-4),
    "1/2-20 UNF": (0.1599, 1e-4), "5/8-18 UNF": (0.256, 1e-3), "3/4-16 UNF": (0.373, 1e-3),
    "1-12 UNF": (0.663, 1e-3), "1-1/2-12 UNF": (1.581, 1e-3),
}  # fmt: skip
DIAMETERS = {
    "M8": (6.647, 7.188), "M12": (10.106, 10.863), "M16": (13.835, 14.701), "M20": (17.294, 18.376),
    "M24": (20.752, 22.051), "M30": (26.211, 27.727),
}  # fmt: skip
METRIC_PROOF = {
    ("M10", "8.8"): 33_700, ("M12", "8.8"): 48_900, ("M16", "8.8"): 91_000, ("M20", "8.8"): 147_000,
    ("M24", "8.8"): 212_000, ("M12", "10.9"): 70_000, ("M16", "10.9"): 130_000, ("M20", "10.9"): 203_000,
    ("M12", "12.9"): 81_800, ("M16", "12.9"): 152_000,
}  # fmt: skip
SOCKET_HEAD_PROOF = {
    "1/4-20 UNC": 4_450, "3/8-16 UNC": 10_800, "1/2-13 UNC": 19_900, "5/8-11 UNC": 30_500,
    "3/4-10 UNC": 45_100, "1-8 UNC": 81_800, "1-1/2-6 UNC": 190_000,
}  # fmt: skip
SAE_PROOF = {
    ("1/2-13 UNC", "SAE grade 5"): 12_100, ("5/8-11 UNC", "SAE grade 5"): 19_200,
    ("3/4-10 UNC", "SAE grade 5"): 28_400, ("1/2-13 UNC", "SAE grade 8"): 17_000,
    ("3/4-10 UNC", "SAE grade 8"): 40_100,
}  # fmt: skip


def area(designation: str, unit: float) -> Callable[[], float]:
    """Stress area of a catalogue thread in a unit of area."""
    return lambda: thread(designation).stress_area / unit


def proof(designation: str, grade: str, unit: float) -> Callable[[], float]:
    """Proof load of a catalogue thread in a catalogue class, in a unit of force."""

    def load() -> float:
        row = thread(designation)
        band = property_class(grade).band(row.nominal)
        if band is None or band.proof is None:
            raise LookupError(f"{grade} has no proof stress at {designation}")
        return proof_load(proof_stress=band.proof, stress_area=row.stress_area) / unit

    return load


def minor(designation: str) -> Callable[[], float]:
    """Basic minor diameter of a catalogue thread in millimetres."""
    return lambda: thread(designation).internal_minor_diameter * 1e3


def pitch(designation: str) -> Callable[[], float]:
    """Basic pitch diameter of a catalogue thread in millimetres."""
    return lambda: thread(designation).pitch_diameter * 1e3


for _name, (_area, _half) in METRIC_AREAS.items():
    case(
        f"stress area of {_name}", expected=_area, unit="mm^2", tolerance=_half, reason=ROUNDED,
        source="iso-898-1-copy, nominal stress area",
    )(area(_name, 1e-6))  # fmt: skip
for _name, (_area, _half) in INCH_AREAS.items():
    case(
        f"stress area of {_name}", expected=_area, unit="in^2", tolerance=_half, reason=ROUNDED,
        source="a574-technical-data, stress area of coarse threads",
    )(area(_name, INCH**2))  # fmt: skip
for _name, (_area, _half) in FINE_INCH_AREAS.items():
    case(
        f"stress area of {_name}", expected=_area, unit="in^2", tolerance=_half,
        reason="some printed areas are cut, not rounded, so one unit of the last figure",
        source="unf-table, tensile stress area",
    )(area(_name, INCH**2))  # fmt: skip
for _name, (_minor, _pitch) in DIAMETERS.items():
    case(
        f"basic minor diameter of {_name}", expected=_minor, unit="mm", tolerance=5.1e-4,
        reason="the table prints micrometres", source="metric-thread-table, minor diameter",
    )(minor(_name))  # fmt: skip
    case(
        f"basic pitch diameter of {_name}", expected=_pitch, unit="mm", tolerance=5.1e-4,
        reason="the table prints micrometres", source="metric-thread-table, pitch diameter",
    )(pitch(_name))  # fmt: skip
for (_name, _grade), _load in METRIC_PROOF.items():
    case(
        f"proof load of {_name} {_grade}", expected=_load, unit="N", relative=0.005,
        reason="the table rounds loads and the areas they come from to three figures",
        source="iso-898-1-copy, proof load",
    )(proof(_name, _grade, 1.0))  # fmt: skip
for _name, _load in SOCKET_HEAD_PROOF.items():
    case(
        f"proof load of {_name} socket head cap screw", expected=_load, unit="lbf", relative=0.005,
        reason="the table rounds loads to three figures", source="a574-technical-data, proof load",
    )(proof(_name, "ASTM A574", POUND_FORCE))  # fmt: skip
for (_name, _grade), _load in SAE_PROOF.items():
    case(
        f"proof load of {_name} {_grade}", expected=_load, unit="lbf", relative=0.005,
        reason="the table rounds loads to three figures", source="sae-j429, table 4; from memory",
    )(proof(_name, _grade, POUND_FORCE))  # fmt: skip
