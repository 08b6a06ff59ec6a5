"""Materials to be cut: Kienzle constants kc1.1 and mc."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Pascal, Ratio
from orthostat.catalogue.materials import MATERIALS
from orthostat.catalogue.rows import Row
from orthostat.catalogue.tables import Table, UnknownRow
from orthostat.model.stations import CutMaterial


@dataclass(frozen=True, slots=True, kw_only=True)
class CutMaterialRow(Row):
    """One material group: kc = kc1.1·(h / 1 mm)^(−mc) for a sharp edge."""

    group: str
    """ISO 513 letter: P steel, M stainless, K cast iron, N non-ferrous, S heat-resistant, H hardened."""
    kc11: Pascal
    mc: Ratio


CUT_MATERIALS = Table("cut_materials", CutMaterialRow)


def cut_material(name: str) -> CutMaterial:
    """Cutting constants by group or by any name of a material (`GG25`, `C45`); raises `UnknownRow`."""
    try:
        row = CUT_MATERIALS.row(name)
    except UnknownRow:
        if name not in MATERIALS or MATERIALS.row(name).name not in CUT_MATERIALS:
            raise
        row = CUT_MATERIALS.row(MATERIALS.row(name).name)
    return CutMaterial(row.name, row.kc11, row.mc, row.citation)
