"""Materials and strength classes: the catalogue's rows beside a second published source."""

from __future__ import annotations

from collections.abc import Callable

from orthostat.base.dimensions import Metre
from orthostat.catalogue import material_row, property_class
from orthostat.validation.cases import case

KSI = 6.894757293168e6
HANDBOOKS = "handbooks of one alloy differ by about this much"

DENSITIES = (
    ("6061-T6", 2700, "callister-b, table B.1, alloy 6061"),
    ("7075-T651", 2810, "properties-database, alloy 7075"),
    ("5083 cast", 2660, "bti-metals, alloy 5083"),
    ("A36", 7850, "callister-b, table B.1, steel alloy A36"),
    ("C45", 7850, "callister-b, table B.1, steel alloy 1040"),
    ("4140", 7850, "callister-b, table B.1, steel alloy 4140"),
    ("304", 8000, "callister-b, table B.1, stainless alloy 304"),
    ("class 25 iron", 7150, "properties-database, gray iron class 20"),
    ("EN-GJL-250", 7150, "properties-database, gray iron class 35"),
    ("EN-GJS-500-7", 7100, "callister-b, table B.1, ductile iron 80-55-06"),
    ("PMMA", 1190, "callister-b, table B.1, poly(methyl methacrylate)"),
    ("polypropylene", 905, "callister-b, table B.1, polypropylene"),
)
MODULI = (
    ("6061-T6", 69, "substech, wrought aluminum-magnesium-silicon alloy 6061"),
    ("7075-T651", 71.7, "ecourses, alloy 7075-T6 (10.4 Mpsi)"),
    ("5083 cast", 70.3, "bti-metals, alloy 5083"),
    ("S235", 207, "callister-b, table B.2, steel alloy A36"),
    ("C45", 207, "callister-b, table B.2, steel alloy 1040"),
    ("4140", 207, "callister-b, table B.2, steel alloy 4140"),
    ("304", 193, "callister-b, table B.2, stainless alloy 304"),
    ("EN-GJS-500-7", 169, "gs500-7-data, modulus"),
    ("6082-T651", 70, "gould-l115, modulus of elasticity"),
)
OTHERS = (
    ("6061-T6", "conductivity", 167, "W/(m*K)", 0.02, "bti-metals, 6061 T6, T651"),
    ("6061-T6", "specific_heat", 896, "J/(kg*K)", 0.02, "substech, alloy 6061"),
    ("6061-T6", "expansion", 23.6e-6, "1/K", 0.02, "substech, alloy 6061"),
    ("6082-T651", "conductivity", 172, "W/(m*K)", 0.02, "6082-data, state T6"),
    ("6082-T651", "specific_heat", 897, "J/(kg*K)", 0.02, "6082-data, specific heat"),
    ("6082-T651", "expansion", 23.2e-6, "1/K", 0.04, "6082-data, 20 to 100 °C"),
    ("6082-T651", "yield_strength", 240e6, "Pa", 0.005, "gould-l115, plate to 25 mm"),
    ("6082-T651", "tensile_strength", 295e6, "Pa", 0.005, "gould-l115, plate to 25 mm"),
    ("class 25 iron", "youngs_modulus", 97.9e9, "Pa", 0.10, "iron-moduli-table, class 25 (14.2 Mpsi)"),
    ("class 30 iron", "youngs_modulus", 100.0e9, "Pa", 0.10, "iron-moduli-table, class 30 (14.5 Mpsi)"),
    ("class 40 iron", "youngs_modulus", 117.2e9, "Pa", 0.10, "iron-moduli-table, class 40 (17 Mpsi)"),
    ("EN-GJS-500-7", "shear_strength", 450e6, "Pa", 0.005, "sn-castiron, EN-GJS-500-7"),
    ("S235", "yield_strength", 225e6, "Pa", 0.001, "en-10025-2-copy, S235JR, 16 to 40 mm"),
    ("S235", "tensile_strength", 360e6, "Pa", 0.001, "en-10025-2-copy, S235JR, least"),
    ("S355", "yield_strength", 345e6, "Pa", 0.001, "en-10025-2-copy, S355J2, 16 to 40 mm"),
    ("S355", "tensile_strength", 470e6, "Pa", 0.001, "en-10025-2-copy, S355J2, least"),
    ("EN-GJS-500-7", "yield_strength", 320e6, "Pa", 0.001, "en-1563-copy, EN-GJS-500-7"),
    ("5083 cast", "conductivity", 117, "W/(m*K)", 0.02, "bti-metals, alloy 5083, O temper"),
    ("A36", "expansion", 11.7e-6, "1/K", 0.02, "ecourses, ASTM-A36 (6.5e-6 per °F)"),
    ("class 25 iron", "expansion", 10.5e-6, "1/K", 0.05, "makeitfrom, grey iron grade 20"),
    ("class 25 iron", "conductivity", 46, "W/(m*K)", 0.10, "makeitfrom, grey iron grade 20"),
    ("EN-GJS-500-7", "conductivity", 35.2, "W/(m*K)", 0.01, "gs500-7-data, thermal conductivity"),
    ("class 25 iron", "tensile_strength", 172e6, "Pa", 0.005, "astm-a48-copy, no. 25"),
    ("class 30 iron", "tensile_strength", 207e6, "Pa", 0.005, "astm-a48-copy, no. 30"),
    ("class 40 iron", "tensile_strength", 276e6, "Pa", 0.005, "astm-a48-copy, no. 40"),
)
STRENGTHS = (
    # class, diameter [mm], quantity, expected [ksi], source
    ("SAE grade 2", 12.7, "proof", 55, "shigley, SAE specifications for steel bolts"),
    ("SAE grade 5", 12.7, "proof", 85, "shigley, SAE specifications for steel bolts"),
    ("SAE grade 5", 28.575, "proof", 74, "shigley, SAE specifications for steel bolts"),
    ("SAE grade 5", 12.7, "yield_strength", 92, "shigley, SAE specifications for steel bolts"),
    ("SAE grade 5", 12.7, "tensile_strength", 120, "shigley, SAE specifications for steel bolts"),
    ("SAE grade 8", 12.7, "proof", 120, "shigley, SAE specifications for steel bolts"),
    ("SAE grade 8", 12.7, "yield_strength", 130, "shigley, SAE specifications for steel bolts"),
    ("ASTM A193 B7", 25.4, "yield_strength", 105, "grade-markings-chart, A193 B7"),
    ("ASTM A193 B7", 25.4, "tensile_strength", 125, "grade-markings-chart, A193 B7"),
)


def value(name: str, property_name: str, unit: float = 1.0) -> Callable[[], float]:
    """A property of a catalogue material, in `unit`."""
    return lambda: float(getattr(material_row(name), property_name)) / unit


def strength(name: str, diameter: float, quantity: str) -> Callable[[], float]:
    """A strength of a catalogue class at a nominal diameter in millimetres, in ksi."""
    return lambda: float(getattr(property_class(name).band(Metre(diameter * 1e-3)), quantity)) / KSI


for _name, _expected, _source in DENSITIES:
    case(
        f"density of {material_row(_name).name}", expected=_expected, unit="kg/m^3", relative=0.015,
        reason=HANDBOOKS, source=_source,
    )(value(_name, "density"))  # fmt: skip
for _name, _modulus, _source in MODULI:
    case(
        f"Young's modulus of {material_row(_name).name}", expected=_modulus, unit="GPa", relative=0.04,
        reason=HANDBOOKS, source=_source,
    )(value(_name, "youngs_modulus", 1e9))  # fmt: skip
for _name, _property, _number, _unit, _relative, _source in OTHERS:
    case(
        f"{_property.replace('_', ' ')} of {material_row(_name).name}", expected=_number, unit=_unit,
        relative=_relative, reason=HANDBOOKS, source=_source,
    )(value(_name, _property))  # fmt: skip
for _name, _diameter, _quantity, _ksi, _source in STRENGTHS:
    case(
        f"{_quantity.replace('_', ' ')} of {_name} at {_diameter:g} mm", expected=_ksi, unit="ksi",
        tolerance=0.01, reason="the row is the same figure in SI, rounded to 0.1 MPa", source=_source,
    )(strength(_name, _diameter, _quantity))  # fmt: skip
