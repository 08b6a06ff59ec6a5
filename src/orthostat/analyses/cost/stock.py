"""What to buy: blanks from plate, lengths of bar and tube, fasteners, and the stock they come from."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, pi

from orthostat.analyses.cost.inputs import FastenerNeed, Inputs
from orthostat.analyses.pieces import Part
from orthostat.base.dimensions import Kilogram, Metre, Ratio
from orthostat.catalogue.labour import ALLOWANCES
from orthostat.formulas.polygons import polygon_moments
from orthostat.model.bodies import Disc, Section
from orthostat.model.buying import Buying, StockItem

_SAME = 2e-5
"""Bar and tube sizes that differ by less [m] are one size."""


@dataclass(frozen=True, slots=True)
class Blank:
    """What is sawn for one part, and the stock it comes from."""

    part: Part
    length: Metre
    width: Metre
    thickness: Metre
    """Of the stock it is sawn from, or of the piece where no stock fits."""
    mass: Kilogram | None
    """Of one blank as sawn."""
    stock: StockItem | None
    share: Ratio | None
    """How much of the stock's length or width the blank takes at least: above 1 it is too large.
    `None` where the stock is sold to size or there is none."""
    rival: StockItem | None = None
    """Where none fits: the stock that comes nearest."""

    @property
    def count(self) -> int:
        return self.part.count


@dataclass(frozen=True, slots=True)
class Fastener:
    """Fasteners of one kind, what they are bought as, and the spare ones among them."""

    need: FastenerNeed
    stock: StockItem | None
    spare: int

    @property
    def buy(self) -> int:
        """Whole pieces to order, spare ones included."""
        return self.need.count + self.spare


def kerf(buying: Buying) -> Metre:
    """What the saw takes: the shop's own, else the catalogue's [m]."""
    stated = buying.rates.kerf
    return stated if stated is not None else ALLOWANCES.row("saw kerf").length or Metre(0.0)


def clean_up(buying: Buying) -> Metre:
    """What is left on a sawn edge: the shop's own, else the catalogue's [m]."""
    stated = buying.rates.clean_up
    return stated if stated is not None else ALLOWANCES.row("clean-up of a sawn edge").length or Metre(0.0)


def blanks(inputs: Inputs) -> tuple[Blank, ...]:
    """A blank for every part that is made; a casting is its own blank."""
    return tuple(_blank_of(part, inputs) for part in inputs.pieces.parts)


def _blank_of(part: Part, inputs: Inputs) -> Blank:
    if part.is_cast:
        return Blank(part, *part.size, inputs.mass(part)[0], None, None)
    return _plate_blank(part, inputs) if part.views else _bar_blank(part, inputs)


def _plate_blank(part: Part, inputs: Inputs) -> Blank:
    extra = 2.0 * clean_up(inputs.buying)
    length, width, thickness = part.size[0] + extra, part.size[1] + extra, part.size[2]
    alike = [s for s in inputs.buying.stock if s.form == "plate" and _of_material(s, part)]
    enough = [s for s in alike if float(s.thickness or 0.0) >= thickness - 1e-7]
    fitting = [
        (s, share) for s in enough if (share := _share(s, length, width)) is None or share <= 1.0 + 1e-9
    ]
    if fitting:
        stock, share = min(fitting, key=lambda each: (float(each[0].thickness or 0.0), _cheapness(each[0])))
        thick = float(stock.thickness or thickness)
        return _blank(part, length, width, thick, stock, share)
    rivals = [(s, _share(s, length, width) or 0.0) for s in enough]
    rivals += [(s, thickness / float(s.thickness or thickness)) for s in alike if s not in enough]
    if not rivals:
        return _blank(part, length, width, thickness, None, None)
    rival, most = min(rivals, key=lambda each: each[1])
    made = _blank(part, length, width, thickness, None, Ratio(most))
    return Blank(part, made.length, made.width, made.thickness, made.mass, None, made.share, rival)


def _blank(
    part: Part, length: float, width: float, thick: float, stock: StockItem | None, share: Ratio | None
) -> Blank:
    density = part.material.density if part.material else None
    mass = None if density is None else Kilogram(density * length * width * thick)
    return Blank(part, Metre(length), Metre(width), Metre(thick), mass, stock, share)


def _of_material(stock: StockItem, part: Part) -> bool:
    return part.material is not None and stock.material == part.material.name


def _share(stock: StockItem, length: float, width: float) -> Ratio | None:
    """How far a blank fills the stock, turned the better way; `None` for stock sold to size."""
    if stock.length is None or stock.width is None:
        return None
    return Ratio(
        min(max(length / stock.length, width / stock.width), max(length / stock.width, width / stock.length))
    )


def _cheapness(stock: StockItem) -> float:
    return stock.price.likely if stock.price else float("inf")


def _bar_blank(part: Part, inputs: Inputs) -> Blank:
    length = part.size[0] + clean_up(inputs.buying)
    wide, narrow = part.size[1:]
    form = "bar" if part.wall is None else "tube"
    fits = [
        s for s in inputs.buying.stock if s.form == form and _of_material(s, part) and _same_section(s, part)
    ]
    body = part.bodies[0]
    area = _area(body.adds[0].section) - sum(_area(cut.section) for cut in body.cuts)
    density = part.material.density if part.material else None
    mass = None if density is None else Kilogram(density * area * length)
    best = min(fits, key=_cheapness, default=None)
    share = None if best is None or best.length is None else Ratio(length / best.length)
    if share is not None and share > 1.0 + 1e-9:
        return Blank(part, Metre(length), wide, narrow, mass, None, share, best)
    return Blank(part, Metre(length), wide, narrow, mass, best, share)


def _same_section(stock: StockItem, part: Part) -> bool:
    if part.is_round:
        outside = stock.diameter is not None and abs(stock.diameter - part.size[1]) <= _SAME
    else:
        sold = sorted(each for each in (stock.width, stock.thickness or stock.width) if each is not None)
        outside = stock.diameter is None and bool(sold) and _alike(sold, sorted(part.size[1:]))
    if part.wall is None or not outside:
        return outside
    return stock.wall is not None and abs(stock.wall - part.wall) <= _SAME


def _alike(sold: list[Metre], wanted: list[Metre]) -> bool:
    return all(abs(a - b) <= _SAME for a, b in zip(sold, wanted, strict=True))


def _area(section: Section) -> float:
    if isinstance(section, Disc):
        return pi * section.radius**2
    return polygon_moments(section.points).area


def fasteners(inputs: Inputs) -> tuple[Fastener, ...]:
    """Fasteners in whole pieces with spare ones."""
    share = float(ALLOWANCES.row("spare fasteners").share or 0.0)
    made = []
    for need in inputs.fasteners:
        fits = [s for s in inputs.buying.stock if s.form == "piece" and _is_for(s, need)]
        spare = 0 if need.what == "pin" else max(1, ceil(share * need.count))
        made.append(Fastener(need, min(fits, key=_cheapness, default=None), spare))
    return tuple(made)


def _is_for(stock: StockItem, need: FastenerNeed) -> bool:
    if stock.what != need.what:
        return False
    if need.what == "screw":
        same = stock.length is not None and need.length is not None
        return (
            stock.thread == need.thread
            and same
            and abs(float(stock.length or 0.0) - float(need.length or 0.0)) < 1e-4
        )
    if need.thread is not None:
        long_enough = stock.length is None or need.length is None or stock.length >= need.length - 1e-4
        return stock.thread == need.thread and long_enough
    return stock.diameter is not None and abs(stock.diameter - need.diameter) < _SAME
