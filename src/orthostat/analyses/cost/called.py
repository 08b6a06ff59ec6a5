"""What a supplier is told: names of fasteners and sections, and where the shop would list what it lacks."""

from __future__ import annotations

from orthostat.analyses.cost.inputs import FastenerNeed
from orthostat.analyses.pieces import Part
from orthostat.base.dimensions import Metre
from orthostat.base.units import resolve


def fastener_name(need: FastenerNeed) -> str:
    """`stud M16 8.8, 669 mm long`; inch threads with inches."""
    inch = not need.thread.startswith("M") if need.thread is not None else _is_inch(need.diameter)
    what = "socket head screw" if need.what == "screw" else need.what
    words = [what, need.thread or f"Ø{_size(need.diameter, inch=inch)}"]
    if need.what == "washer":
        words.append(f"Ø{_size(need.diameter, inch=inch)} outside")
    if need.grade and need.what in ("stud", "nut", "screw"):
        words.append(need.grade)
    if need.what == "pin" and need.grade:
        words.insert(0, need.grade)
    text = " ".join(words)
    return text if need.length is None else f"{text}, {_size(need.length, inch=inch)} long"


def section_name(part: Part) -> str:
    """`Ø28 mm`, `70 mm x 70 mm`, with a tube's wall behind."""
    measures = [_size(each, inch=False) for each in part.size[1:]]
    outside = f"Ø{measures[0]}" if part.is_round else " x ".join(measures)
    return outside if part.wall is None else f"{outside} x {_size(part.wall, inch=False)}"


def unlisted(what: str, words: str) -> str:
    """The key path under which the shop would list stock that it does not have yet."""
    return f'stock."{what} {words}"'


def unlisted_fastener(need: FastenerNeed) -> str:
    """The same of a fastener."""
    return unlisted(need.what, need.thread or _size(need.diameter, inch=False))


def _is_inch(diameter: Metre) -> bool:
    """Whether a size is of the inch series: whole 64ths of an inch, not whole tenths of a millimetre."""
    sixty_fourths, tenths = diameter / (resolve("in").factor / 64.0), diameter / (resolve("mm").factor / 10.0)
    return abs(sixty_fourths - round(sixty_fourths)) < 1e-6 and (
        abs(tenths - round(tenths)) > 1e-6 or round(sixty_fourths) % 8 == 0
    )


def _size(length: Metre, *, inch: bool) -> str:
    factor, unit = (resolve("in").factor, "in") if inch else (resolve("mm").factor, "mm")
    return f"{length / factor:.4g} {unit}"
