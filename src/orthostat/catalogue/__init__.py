"""Names go in; typed, frozen rows in SI come out, each with the published source it was taken from.

The rows are TOML files beside this module, read once and only when asked for. A row without a
source does not load; a value from memory, an estimate or common practice says so in its mark.
An unknown name raises `UnknownRow`, which carries the nearest valid names.
"""

from orthostat.catalogue.bibliography import reference, references
from orthostat.catalogue.materials import MaterialRow, Range, material, material_row
from orthostat.catalogue.register import names, table
from orthostat.catalogue.rows import Row, RowRefused
from orthostat.catalogue.tables import Table, UnknownRow

__all__ = [
    "MaterialRow",
    "Range",
    "Row",
    "RowRefused",
    "Table",
    "UnknownRow",
    "material",
    "material_row",
    "names",
    "reference",
    "references",
    "table",
]
