"""Names go in; typed, frozen rows in SI come out, each with the published source it was taken from.

The rows are TOML files beside this module, read once and only when asked for. A row without a
source does not load; a value from memory, an estimate or common practice says so in its mark.
An unknown name raises `UnknownRow`, which carries the nearest valid names.
"""

from orthostat.catalogue.bibliography import reference, references
from orthostat.catalogue.cutting import CutMaterialRow, cut_material
from orthostat.catalogue.fasteners import (
    Dowel,
    Head,
    Nut,
    PropertyClass,
    StrengthBand,
    Thread,
    Washer,
    dowel,
    dowel_of,
    head,
    nut,
    property_class,
    thread,
    washer,
    washers_for,
)
from orthostat.catalogue.joints import (
    Embedding,
    Friction,
    NutFactor,
    ThreadFriction,
    TighteningMethod,
    embedding,
    friction,
    nut_factor,
    thread_friction,
    tightening_method,
)
from orthostat.catalogue.limits import Deviations, Fit, deviations, fit, is_hole_class
from orthostat.catalogue.materials import MaterialRow, Range, material, material_row
from orthostat.catalogue.register import names, table
from orthostat.catalogue.rows import Row, RowRefused
from orthostat.catalogue.tables import Table, UnknownRow

__all__ = [
    "CutMaterialRow",
    "Deviations",
    "Dowel",
    "Embedding",
    "Fit",
    "Friction",
    "Head",
    "MaterialRow",
    "Nut",
    "NutFactor",
    "PropertyClass",
    "Range",
    "Row",
    "RowRefused",
    "StrengthBand",
    "Table",
    "Thread",
    "ThreadFriction",
    "TighteningMethod",
    "UnknownRow",
    "Washer",
    "cut_material",
    "deviations",
    "dowel",
    "dowel_of",
    "embedding",
    "fit",
    "friction",
    "head",
    "is_hole_class",
    "material",
    "material_row",
    "names",
    "nut",
    "nut_factor",
    "property_class",
    "reference",
    "references",
    "table",
    "thread",
    "thread_friction",
    "tightening_method",
    "washer",
    "washers_for",
]
