"""Lines of everything that is bought, each with its cost or with what keeps it from being known."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from orthostat.analyses.cost.amounts import Amount, Line, priced
from orthostat.analyses.cost.called import fastener_name, section_name, unlisted, unlisted_fastener
from orthostat.analyses.cost.inputs import Bagged, Inputs
from orthostat.analyses.cost.nesting import bars_needed, sheets_needed
from orthostat.analyses.cost.stock import Blank, Fastener, kerf
from orthostat.model.bodies import Role
from orthostat.model.buying import Buying, StockItem
from orthostat.model.prices import Price

_LOST = frozenset({Role.PLATE, Role.SLEEVE, Role.VOID_FORMER, Role.ANCHOR})
"""What is thrown away with a pour that failed."""
_NO_DENSITY = "its density is not known"


def material_lines(inputs: Inputs, cut: Sequence[Blank], screws: Sequence[Fastener]) -> list[Line]:
    """Lines of everything that is bought."""
    flat, long = ([blank for blank in cut if bool(blank.part.views) is seen] for seen in (True, False))
    lines = [_plate(inputs, blank) for blank in flat if not _comes_whole(blank)]
    lines += [_sheets(inputs, *each) for each in _by_stock(filter(_comes_whole, flat))]
    lines += [_unpriced_length(blank) for blank in long if not _is_priced(blank)]
    lines += [_lengths(inputs, *each) for each in _by_stock(filter(_is_priced, long))]
    lines += [_fasteners(inputs, each) for each in screws]
    lines += [_bagged(inputs.buying, item) for item in inputs.bagged]
    if inputs.has_fill and not inputs.bagged:
        line = Line("resin and aggregate", "fill", 0.0, "bag", None, "fill", path="pour", lost_with_pour=True)
        lines.append(
            line.unknown("what the fill is mixed from is not stated", *inputs.bagged_missing or ("pour",))
        )
    lines += [
        _consumable(inputs.buying, stock) for stock in inputs.buying.stock if stock.form == "consumable"
    ]
    return lines


def _comes_whole(blank: Blank) -> bool:
    """Whether it is sawn from a sheet that is bought by the piece."""
    price = None if blank.stock is None or blank.part.is_cast else blank.stock.price
    return price is not None and price.per == "piece"


def _is_priced(blank: Blank) -> bool:
    return blank.stock is not None and blank.stock.price is not None


def _by_stock(cut: Iterable[Blank]) -> list[tuple[StockItem, Price, list[Blank]]]:
    """Blanks of one stock together, which has a price."""
    found: dict[str, tuple[StockItem, Price, list[Blank]]] = {}
    for blank in cut:
        stock = blank.stock
        if stock is not None and stock.price is not None:
            found.setdefault(stock.name, (stock, stock.price, []))[2].append(blank)
    return list(found.values())


def _plate(inputs: Inputs, blank: Blank) -> Line:
    """One part that is cast, or sawn from plate that is priced by its size or mass."""
    part, stock, material = blank.part, blank.stock, blank.part.material
    name = f"{part.name}: {material.name if material is not None else 'material not stated'}"
    of_material = None if material is None else dict(inputs.buying.material_prices).get(material.name)
    if part.is_cast:
        path = part.path if material is None else material.path
        line = Line("castings", name, part.count, "piece", None, path, path=path)
        if material is None or blank.mass is None:
            return line.unknown("a casting is priced by its mass", inputs.mass(part)[1])
        if of_material is None or of_material.per != "kg":
            return line.unknown("a casting is priced by its material, per mass", f"{path}.price")
        raw = replace(
            line, quantity=blank.mass * part.count, unit="kg", note="finished mass; ask for the raw one"
        )
        return raw.costed(inputs.buying, of_material)
    price = of_material if stock is None or stock.price is None else stock.price
    path = part.path
    if stock is not None and (stock.price is not None or of_material is None):
        path = stock.path
    elif material is not None and of_material is not None:
        path = material.path
    line = Line("plate", name, blank.count, "piece", None, path, path=path, lost_with_pour=part.role in _LOST)
    if price is None:
        return _unpriced(line, blank, "plate")
    each, unit = _measure(blank, price)
    if each is None:
        return line.unknown(_NO_DENSITY, inputs.mass(part)[1])
    return replace(line, quantity=each * blank.count, unit=unit).costed(inputs.buying, price)


def _unpriced(line: Line, blank: Blank, form: str, section: str = "") -> Line:
    """The line of a blank without a price: its material, its stock or the stock's price is lacking."""
    material, rival = blank.part.material, blank.rival
    if material is None:
        return line.unknown("its material is not stated", f"{blank.part.path}.material")
    if blank.stock is not None:
        return line.unknown(f"{blank.stock.name} has no price", f"{blank.stock.path}.price")
    reason = f"the shop lists no {form} of this material{' and size' if section else ''}"
    if rival is not None:
        enough = "long" if section else "large"
        reason = f"no {form} of {material.name} in stock is {enough} enough; {rival.name} comes nearest"
    return line.unknown(reason, unlisted(form, " ".join(filter(None, (material.name, section)))))


def _measure(blank: Blank, price: Price) -> tuple[float | None, str]:
    """How much of its price's unit a blank of plate takes."""
    if price.per == "kg":
        return blank.mass, "kg"
    if price.per == "m^2":
        return blank.length * blank.width, "m²"
    if price.per == "m^3":
        return blank.length * blank.width * blank.thickness, "m³"
    if price.per == "m":
        return blank.length, "m"
    return 1.0, "piece"


def _sheets(inputs: Inputs, stock: StockItem, price: Price, cut: list[Blank]) -> Line:
    """Whole sheets of one stock."""
    line = _of_stock("plate", stock, price, cut)
    if stock.length is None or stock.width is None:
        lacking = [f"{stock.path}.{key}" for key in ("length", "width") if getattr(stock, key) is None]
        return line.unknown("a plate sold by the piece needs its size", *lacking)
    wanted = [(blank.length, blank.width, blank.count) for blank in cut]
    sheets = sheets_needed(wanted, length=stock.length, width=stock.width, kerf=kerf(inputs.buying))
    return replace(line, quantity=sheets).costed(inputs.buying, price)


def _lengths(inputs: Inputs, stock: StockItem, price: Price, cut: list[Blank]) -> Line:
    """Bars or tubes of one stock: whole ones, by mass or by length, with what the saw takes."""
    line, saw = _of_stock(_group(cut[0]), stock, price, cut), kerf(inputs.buying)
    if price.per == "piece":
        if stock.length is None:
            return line.unknown("a bar sold by the piece needs its length", f"{stock.path}.length")
        bars = bars_needed([(blank.length, blank.count) for blank in cut], bar=stock.length, kerf=saw)
        return replace(line, quantity=bars).costed(inputs.buying, price)
    if price.per != "kg":
        used = sum(blank.count * (blank.length + saw) for blank in cut)
        return replace(line, quantity=used, unit="m").costed(inputs.buying, price)
    lacking = [inputs.mass(blank.part)[1] for blank in cut if blank.mass is None]
    if lacking:
        return line.unknown(_NO_DENSITY, *lacking)
    mass = sum((b.mass or 0.0) * b.count * (b.length + saw) / b.length for b in cut)
    return replace(line, quantity=mass).costed(inputs.buying, price)


def _of_stock(group: str, stock: StockItem, price: Price, cut: list[Blank]) -> Line:
    """What several blanks of one stock need, not counted yet."""
    unit = price.per if price.per in ("piece", "kg") else "m"
    names = [f"{each.count} × {each.part.name}" if each.count > 1 else each.part.name for each in cut]
    lost = any(each.part.role in _LOST for each in cut)
    return Line(
        group, stock.name, 0.0, unit, None, stock.path, path=stock.path, note=", ".join(names),
        lost_with_pour=lost,
    )  # fmt: skip


def _unpriced_length(blank: Blank) -> Line:
    part = blank.part
    line = Line(
        _group(blank), part.name, part.count, "piece", None, part.path, path=part.path,
        lost_with_pour=part.role in _LOST,
    )  # fmt: skip
    return _unpriced(line, blank, "bar" if part.wall is None else "tube", section_name(part))


def _group(blank: Blank) -> str:
    return "bar" if blank.part.wall is None else "tube and sleeves"


def _fasteners(inputs: Inputs, each: Fastener) -> Line:
    need, stock = each.need, each.stock
    name = fastener_name(need)
    line = Line("fasteners", name, each.buy, "piece", None, name, path=need.path, spare=each.spare)
    if stock is None or stock.price is None:
        lacking = unlisted_fastener(need) if stock is None else f"{stock.path}.price"
        return line.unknown("the shop lists no price for it", lacking)
    line = replace(line, key=stock.path, path=stock.path)
    if need.what == "stud" and need.length is not None and stock.length is not None:
        bars = bars_needed([(need.length, each.buy)], bar=stock.length, kerf=kerf(inputs.buying))
        line = replace(line, name=f"{stock.name} (for {each.buy} × {name})", quantity=bars)
    return line.costed(inputs.buying, stock.price)


def _bagged(buying: Buying, item: Bagged) -> Line:
    """Kits or bags; the range of the mix adds to that of the price."""
    told = "" if item.low == item.high else f"{item.low} to {item.high} {item.unit}s by the range of the mix"
    line = Line(
        "resin and aggregate", item.name, item.likely, item.unit, None, item.path, path=item.path, note=told,
        lost_with_pour=True,
    )  # fmt: skip
    if item.price is None:
        return line.unknown("it has no price", f"{item.path}.price")
    size = item.unit_mass if item.price.per == "kg" else 1.0
    found = line.costed(buying, item.price, quantity=size * item.likely)
    if found.cost is None:
        return found
    low, high = (priced(buying, item.price, size * count) for count in (item.low, item.high))
    return replace(found, cost=Amount(low.low, found.cost.likely, high.high))


def _consumable(buying: Buying, stock: StockItem) -> Line:
    line = Line(
        "consumables", stock.name, float(stock.count or 0), "piece", None, stock.path, path=stock.path
    )
    if stock.price is None:
        return line.unknown("it has no price", f"{stock.path}.price")
    return line.costed(buying, stock.price)
