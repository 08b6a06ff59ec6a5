"""Lines of everything that is bought, each with its cost or with what keeps it from being known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from orthostat.analyses.cost.amounts import Amount, Line, NoRate, priced
from orthostat.analyses.cost.inputs import FastenerNeed, Inputs
from orthostat.analyses.cost.nesting import bars_needed, sheets_needed
from orthostat.analyses.cost.stock import Blank, Fastener, kerf
from orthostat.analyses.pieces import Part
from orthostat.base.dimensions import Metre
from orthostat.base.units import resolve
from orthostat.model.bodies import Role
from orthostat.model.buying import Buying, StockItem
from orthostat.model.prices import Price


def material_lines(inputs: Inputs, cut: Sequence[Blank], screws: Sequence[Fastener]) -> list[Line]:
    """Lines of everything that is bought."""
    lines = _plate_lines(inputs, [blank for blank in cut if blank.part.views])
    lines += _length_lines(inputs, [blank for blank in cut if not blank.part.views])
    lines += [_fastener_line(inputs, each) for each in screws]
    lines += _bagged_lines(inputs)
    lines += [_consumable(inputs.buying, s) for s in inputs.buying.stock if s.form == "consumable"]
    return lines


def _plate_lines(inputs: Inputs, cut: list[Blank]) -> list[Line]:
    lines: list[Line] = []
    whole: dict[str, list[Blank]] = {}
    for blank in cut:
        stock = blank.stock
        if blank.part.is_cast:
            lines.append(_casting(inputs, blank))
        elif stock is not None and stock.price is not None and stock.price.per == "piece":
            whole.setdefault(stock.name, []).append(blank)
        else:
            lines.append(_cut_plate(inputs, blank))
    for same in whole.values():
        stock = same[0].stock
        if stock is None or stock.price is None:
            continue
        if stock.length is None or stock.width is None:
            missing = tuple(f"{stock.path}.{k}" for k in ("length", "width") if getattr(stock, k) is None)
            lines.append(
                Line(
                    "plate",
                    stock.name,
                    0.0,
                    "piece",
                    None,
                    stock.path,
                    missing,
                    "a plate sold by the piece needs its size",
                )
            )
            continue
        sheets = sheets_needed(
            [(b.length, b.width, b.count) for b in same],
            length=stock.length,
            width=stock.width,
            kerf=kerf(inputs.buying),
        )
        note = ", ".join(blank.part.name for blank in same)
        lines.append(
            _line(
                inputs.buying,
                "plate",
                stock.name,
                sheets,
                "piece",
                stock,
                stock.price,
                note=note,
                lost=_lost(same[0].part),
            )
        )
    return lines


def _casting(inputs: Inputs, blank: Blank) -> Line:
    """A raw casting by its finished mass: priced by the material, per mass."""
    part = blank.part
    name = f"{part.name}: {part.material.name if part.material else 'material not stated'}"
    price = dict(inputs.buying.material_prices).get(part.material.name) if part.material else None
    path = part.material.path if part.material else part.path
    if price is None or blank.mass is None or price.per != "kg":
        missing = (
            (f"{path}.price",)
            if part.material is not None and blank.mass is not None
            else (inputs.mass(part)[1],)
        )
        reason = "a casting is priced by its material, per mass"
        return Line("castings", name, part.count, "piece", None, path, missing, reason, None, path)
    line = _line(inputs.buying, "castings", name, blank.mass * part.count, "kg", None, price, path=path)
    return replace(line, note="finished mass; ask for the raw one")


def _lost(part: Part) -> bool:
    return part.role in (Role.PLATE, Role.SLEEVE, Role.VOID_FORMER, Role.ANCHOR)


def _cut_plate(inputs: Inputs, blank: Blank) -> Line:
    part, stock = blank.part, blank.stock
    price = stock.price if stock is not None else None
    path = stock.path if stock is not None else part.path
    if price is None and part.material is not None:
        price = dict(inputs.buying.material_prices).get(part.material.name)
        path = part.material.path if price is not None else path
    name = f"{part.name}: {part.material.name if part.material else 'material not stated'}"
    missing: tuple[str, ...] = ()
    reason = ""
    if price is None:
        if part.material is None:
            missing, reason = (f"{part.path}.material",), "its material is not stated"
        elif stock is not None:
            missing, reason = (f"{stock.path}.price",), f"{stock.name} has no price"
        else:
            missing = (unlisted("plate", part.material.name),)
            reason = _why_none(blank)
        return Line(
            "plate",
            name,
            blank.count,
            "piece",
            None,
            path,
            missing,
            reason,
            None,
            path,
            lost_with_pour=_lost(part),
        )
    each, unit = _measure(blank, price)
    if each is None:
        missing = (inputs.mass(part)[1],)
        return Line(
            "plate", name, blank.count, "piece", None, path, missing, "its density is not known", price, path
        )
    return _line(
        inputs.buying, "plate", name, each * blank.count, unit, stock, price, path=path, lost=_lost(part)
    )


def _why_none(blank: Blank) -> str:
    rival = blank.rival
    if rival is None or blank.part.material is None:
        return "the shop lists no plate of this material"
    return f"no plate of {blank.part.material.name} in stock is large enough; {rival.name} comes nearest"


def _measure(blank: Blank, price: Price) -> tuple[float | None, str]:
    if price.per == "kg":
        return blank.mass, "kg"
    if price.per == "m^2":
        return blank.length * blank.width, "m²"
    if price.per == "m^3":
        return blank.length * blank.width * blank.thickness, "m³"
    if price.per == "m":
        return blank.length, "m"
    return 1.0, "piece"


def _length_lines(inputs: Inputs, cut: list[Blank]) -> list[Line]:
    lines = []
    by_stock: dict[str, list[Blank]] = {}
    for blank in cut:
        if blank.stock is None or blank.stock.price is None:
            lines.append(_unpriced_length(blank))
        else:
            by_stock.setdefault(blank.stock.name, []).append(blank)
    saw = kerf(inputs.buying)
    for same in by_stock.values():
        stock = same[0].stock
        if stock is None or stock.price is None:
            continue
        price = stock.price
        note = ", ".join(
            f"{blank.count} × {blank.part.name}" if blank.count > 1 else blank.part.name for blank in same
        )
        group, lost = _group(same[0]), _lost(same[0].part)
        used = sum(b.count * (b.length + saw) for b in same)
        if price.per == "piece":
            if stock.length is None:
                lines.append(
                    Line(
                        group,
                        stock.name,
                        0.0,
                        "piece",
                        None,
                        stock.path,
                        (f"{stock.path}.length",),
                        "a bar sold by the piece needs its length",
                    )
                )
                continue
            bars = bars_needed([(b.length, b.count) for b in same], bar=stock.length, kerf=saw)
            lines.append(
                _line(inputs.buying, group, stock.name, bars, "piece", stock, price, note=note, lost=lost)
            )
        elif price.per == "kg":
            masses = [
                None if b.mass is None else b.mass * b.count * (b.length + saw) / b.length for b in same
            ]
            if any(mass is None for mass in masses):
                missing = tuple(inputs.mass(b.part)[1] for b in same if b.mass is None)
                lines.append(
                    Line(group, stock.name, 0.0, "kg", None, stock.path, missing, "its density is not known")
                )
                continue
            lines.append(
                _line(
                    inputs.buying,
                    group,
                    stock.name,
                    sum(m or 0.0 for m in masses),
                    "kg",
                    stock,
                    price,
                    note=note,
                    lost=lost,
                )
            )
        else:
            lines.append(
                _line(inputs.buying, group, stock.name, used, "m", stock, price, note=note, lost=lost)
            )
    return lines


def _group(blank: Blank) -> str:
    return "bar" if blank.part.wall is None else "tube and sleeves"


def _unpriced_length(blank: Blank) -> Line:
    part = blank.part
    form = "bar" if part.wall is None else "tube"
    if part.material is None:
        missing, reason = (f"{part.path}.material",), "its material is not stated"
    elif blank.stock is not None:
        missing, reason = (f"{blank.stock.path}.price",), f"{blank.stock.name} has no price"
    else:
        missing = (unlisted(form, f"{part.material.name} {_section(part)}"),)
        reason = f"the shop lists no {form} of this material and size"
    return Line(
        _group(blank),
        part.name,
        part.count,
        "piece",
        None,
        part.path,
        missing,
        reason,
        None,
        part.path,
        lost_with_pour=_lost(part),
    )


def _fastener_line(inputs: Inputs, each: Fastener) -> Line:
    need, stock = each.need, each.stock
    name = fastener_name(need)
    if stock is None or stock.price is None:
        told = need.thread or _size(need.diameter, inch=False)
        missing = (f"{stock.path}.price",) if stock is not None else (unlisted(need.what, told),)
        return Line(
            "fasteners",
            name,
            each.buy,
            "piece",
            None,
            name,
            missing,
            "the shop lists no price for it",
            None,
            need.path,
            each.spare,
        )
    pieces = each.buy
    if need.what == "stud" and need.length is not None and stock.length is not None:
        pieces = bars_needed([(need.length, each.buy)], bar=stock.length, kerf=kerf(inputs.buying))
        name = f"{stock.name} (for {each.buy} × {name})"
    line = _line(inputs.buying, "fasteners", name, pieces, "piece", stock, stock.price)
    return replace(line, spare=each.spare)


def fastener_name(need: FastenerNeed) -> str:
    """What a supplier is told: `stud M16 8.8, 669 mm long`; inch threads with inches."""
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


def _is_inch(diameter: Metre) -> bool:
    """Whether a size is of the inch series: whole 64ths of an inch, not whole tenths of a millimetre."""
    sixty_fourths, tenths = diameter / (resolve("in").factor / 64.0), diameter / (resolve("mm").factor / 10.0)
    return abs(sixty_fourths - round(sixty_fourths)) < 1e-6 and (
        abs(tenths - round(tenths)) > 1e-6 or round(sixty_fourths) % 8 == 0
    )


def unlisted(what: str, words: str) -> str:
    """The key path under which the shop would list stock that it does not have yet."""
    return f'stock."{what} {words}"'


def _section(part: Part) -> str:
    """`Ø28 mm`, `70 mm x 70 mm`, with a tube's wall behind."""
    measures = [_size(each, inch=False) for each in part.size[1:]]
    outside = f"Ø{measures[0]}" if part.is_round else " x ".join(measures)
    return outside if part.wall is None else f"{outside} x {_size(part.wall, inch=False)}"


def _size(length: Metre, *, inch: bool) -> str:
    factor, unit = (resolve("in").factor, "in") if inch else (resolve("mm").factor, "mm")
    return f"{length / factor:.4g} {unit}"


def _bagged_lines(inputs: Inputs) -> list[Line]:
    lines = []
    for item in inputs.bagged:
        missing: tuple[str, ...] = () if item.price is not None else (f"{item.path}.price",)
        cost = None
        reason = "" if item.price is not None else "it has no price"
        if item.price is not None:
            try:
                counts = (item.low, item.likely, item.high)
                size = item.unit_mass if item.price.per == "kg" else 1.0
                ends = [priced(inputs.buying, item.price, size * count) for count in counts]
                cost = Amount(ends[0].low, ends[1].likely, ends[2].high)
            except NoRate as gap:
                missing, reason = gap.missing, gap.reason
        note = (
            "" if item.low == item.high else f"{item.low} to {item.high} {item.unit}s by the range of the mix"
        )
        lines.append(
            Line(
                "resin and aggregate",
                item.name,
                item.likely,
                item.unit,
                cost,
                item.path,
                missing,
                reason,
                item.price,
                item.path,
                lost_with_pour=True,
                note=note,
            )
        )
    if inputs.has_fill and not inputs.bagged:
        missing = inputs.bagged_missing or ("pour",)
        lines.append(
            Line(
                "resin and aggregate",
                "fill",
                0.0,
                "bag",
                None,
                "fill",
                missing,
                "what the fill is mixed from is not stated",
                None,
                "pour",
                lost_with_pour=True,
            )
        )
    return lines


def _consumable(buying: Buying, stock: StockItem) -> Line:
    count = float(stock.count or 0)
    if stock.price is None:
        return Line(
            "consumables",
            stock.name,
            count,
            "piece",
            None,
            stock.path,
            (f"{stock.path}.price",),
            "it has no price",
            None,
            stock.path,
        )
    return _line(buying, "consumables", stock.name, count, "piece", stock, stock.price)


def _line(
    buying: Buying,
    group: str,
    name: str,
    quantity: float,
    unit: str,
    stock: StockItem | None,
    price: Price,
    *,
    path: str = "",
    note: str = "",
    lost: bool = False,
) -> Line:
    where = stock.path if stock is not None and not path else path
    try:
        cost = priced(buying, price, quantity)
    except NoRate as gap:
        return Line(
            group,
            name,
            quantity,
            unit,
            None,
            where,
            gap.missing,
            gap.reason,
            price,
            where,
            note=note,
            lost_with_pour=lost,
        )
    return Line(
        group, name, quantity, unit, cost, where, price=price, path=where, note=note, lost_with_pour=lost
    )
