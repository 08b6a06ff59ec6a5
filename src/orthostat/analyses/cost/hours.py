"""Hours by operation: counts of features times catalogue times, or the shop's own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, pi

from orthostat.analyses.cost.amounts import Amount, Line, NoRate, in_own_currency
from orthostat.analyses.cost.inputs import Inputs
from orthostat.analyses.cost.stock import Blank
from orthostat.analyses.pieces import FeatureKind, Part
from orthostat.base.dimensions import Second
from orthostat.catalogue.labour import OPERATIONS, OperationRow
from orthostat.model.bodies import Role


@dataclass(frozen=True, slots=True)
class Work:
    """One operation on this column: how many, and how long for all of them [s]."""

    row: OperationRow
    count: float
    """Columns alike share what is done once: then below one."""
    low: Second
    likely: Second
    high: Second
    own: bool
    """The shop's own time."""

    @property
    def time(self) -> Amount:
        """Low, likely and high time [s]."""
        return Amount(self.low, self.likely, self.high)


def work(inputs: Inputs, cut: tuple[Blank, ...]) -> tuple[Work, ...]:
    """Every operation that this column needs, in the order of the catalogue."""
    counts = _counts(inputs, cut)
    own = dict(inputs.buying.rates.times)
    made = []
    for row in OPERATIONS:
        count = counts.get(row.name, 0.0)
        if count <= 0.0:
            continue
        if row.once:
            count /= inputs.buying.rates.batch
        low, likely, high = (own[row.name],) * 3 if row.name in own else (row.low, row.likely, row.high)
        made.append(
            Work(
                row, count, Second(low * count), Second(likely * count), Second(high * count), row.name in own
            )
        )
    return tuple(made)


def _counts(inputs: Inputs, cut: tuple[Blank, ...]) -> dict[str, float]:
    parts = inputs.pieces.parts
    drawn = [part for part in inputs.pieces.drawn if part.role is not Role.SOLID and not part.is_cast]
    pieces = sum(part.count for part in inputs.pieces.drawn)
    studs = sum(need.count for need in inputs.fasteners if need.what == "stud")
    plates = sum(part.count for part in parts if part.role is Role.PLATE)
    round_holes = _holes(inputs, lambda kind: kind not in (FeatureKind.POCKET, FeatureKind.ANCHOR))
    fitted = sum(
        part.count for part in inputs.pieces.drawn for hole in part.holes if hole.purpose.fit is not None
    )
    return {
        "plan and programme": 1.0,
        "saw a blank": sum(blank.count for blank in cut if blank.part.views and not blank.part.is_cast),
        "saw a length": sum(blank.count for blank in cut if not blank.part.views),
        "saw through": sum(blank.count * _sawn_area(blank) for blank in cut if not blank.part.is_cast),
        "mill an edge": sum(part.count * _perimeter(part) for part in drawn),
        "face a base": sum(
            part.count * part.views[0].width * part.views[0].height
            for part in parts
            if part.role is Role.BASE_PLATE or part.is_cast
        ),
        "set up a side": sum(
            part.count * max(1, sum(1 for view in part.features if any(not f.hidden for f in view)))
            for part in inputs.pieces.drawn
        ),
        "drill a hole": round_holes,
        "tap a hole": _holes(inputs, lambda kind: kind is FeatureKind.TAPPED),
        "counterbore a hole": float(
            sum(p.count for p in inputs.pieces.drawn for hole in p.holes if hole.purpose.recess is not None)
        ),
        "bore a fit": fitted,
        "mill a pocket": _holes(inputs, lambda kind: kind is FeatureKind.POCKET),
        "fit an insert": sum(need.count for need in inputs.fasteners if need.what == "insert"),
        "deburr and wash a piece": pieces,
        "fit an anchor": sum(part.count for part in parts if part.role is Role.ANCHOR),
        "prepare a face for the fill": float(plates) if inputs.has_fill else 0.0,
        "assemble a piece": pieces
        + sum(part.count for part in parts if part.role in (Role.SLEEVE, Role.VOID_FORMER)),
        "drive a screw": sum(need.count for need in inputs.fasteners if need.what == "screw"),
        "fit a dowel": float(sum(each.what == "dowel" for joint in inputs.joints for each in joint.joiners)),
        "glue a seam": _seams(inputs, "glued"),
        "weld a seam": _seams(inputs, "welded"),
        "seal and clamp the form": 1.0 if inputs.has_fill else 0.0,
        "mix and place": float(inputs.fill_mass or 0.0),
        "strip and clean the column": 1.0 if inputs.has_fill else 0.0,
        "tighten a stud": studs,
        "lift and set down": 1.0,
        "sweep and set up for truing": 1.0 if inputs.trued else 0.0,
        "true a face": inputs.faces if inputs.trued else 0.0,
        "write down and release": 1.0,
    }


def _holes(inputs: Inputs, wanted: Callable[[FeatureKind], bool]) -> float:
    each = [part.count for part in inputs.pieces.drawn for hole in part.holes if wanted(hole.kind)]
    return float(sum(each))


def _seams(inputs: Inputs, how: str) -> float:
    """Length of the seams that are joined in one way [m]."""
    return float(sum(seam.length for joint in inputs.joints if joint.how == how for seam in joint.seams))


def _sawn_area(blank: Blank) -> float:
    """Area that the saw goes through for one blank [m²]: two sides of a plate, one end of a bar."""
    if blank.part.views:
        return (blank.length + blank.width) * blank.thickness
    return 0.25 * pi * blank.width**2


def _perimeter(part: Part) -> float:
    ring = part.views[0].outline[0]
    return sum(hypot(a[0] - b[0], a[1] - b[1]) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def labour_lines(inputs: Inputs, works: tuple[Work, ...]) -> list[Line]:
    """Labour and machine time as money; time while truing on the machine is production lost."""
    lines = []
    rates = inputs.buying.rates
    for each in works:
        row = each.row
        for share, rate, currency, path, group in (
            (row.labour, rates.labour, rates.labour_currency, "rates.labour", "labour"),
            (row.machine, rates.machine, rates.machine_currency, "rates.machine",
             "lost production" if row.stage == "true" else "machine"),
        ):  # fmt: skip
            if share <= 0.0:
                continue
            hours = each.likely * share / 3600.0
            lost = row.stage in ("make", "pour") and not row.once and inputs.has_fill
            key = f"time of {row.name}"
            if rate is None:
                lines.append(
                    Line(group, row.name, hours, "h", None, key, (path,), f"{path} is not stated", path=path)
                )
                continue
            try:
                per_second = in_own_currency(inputs.buying, rate, currency)
            except NoRate as gap:
                lines.append(Line(group, row.name, hours, "h", None, key, gap.missing, gap.reason, path=path))
                continue
            cost = each.time.times(share * per_second)
            lines.append(Line(group, row.name, hours, "h", cost, key, path=path, lost_with_pour=lost))
    return lines
