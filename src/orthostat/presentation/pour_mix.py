"""Tables of the mix: blend, proportions, shopping list, batches and buckets."""

from __future__ import annotations

from typing import Any

from orthostat.analyses.pour.mix import Blend, Mix, Proportions
from orthostat.analyses.pour.purchase import Item, total_cost
from orthostat.base.findings import NotStated
from orthostat.catalogue.casting import assumption
from orthostat.presentation.blocks import Block, Cell, Column, Paragraph, Quantity, Table
from orthostat.presentation.pour_heat_pictures import duration


def mix_blocks(evaluation: Any) -> list[Block]:
    """The blend, its proportions, the fill it makes, and how far the shop's own recipe is from the best."""
    mix: Mix = evaluation.pour.known_mix()
    blocks: list[Block] = [
        _blend(mix.best, "The blend that packs best" if mix.objective != "cost" else "The cheapest blend")
    ]
    if mix.own is not None:
        blocks.append(_blend(mix.own, "The shop's own recipe"))
    blocks += [_proportions(mix), _compared(mix), _material(evaluation)]
    for name, why in mix.excluded:
        blocks.append(Paragraph(f"{name} is left out: {why}."))
    practice = assumption("share of resin by practice")
    blocks.append(
        Paragraph(
            f"Hand-placed mixes without a vibrating table carry about {practice.low:.0%} to "
            f"{practice.high:.0%} of their volume as resin (common practice, no source); this one "
            f"{mix.used.likely.resin:.0%}."
        )
    )
    return blocks


def _blend(blend: Blend, caption: str) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (part.aggregate.name, Quantity(part.mass_share, "share"), Quantity(part.volume_share, "share"))
        for part in blend.parts
        if part.mass_share > 0.0
    ]
    columns = (
        Column("aggregate"),
        Column("of the dry mass", numeric=True),
        Column("of the solid volume", numeric=True),
    )
    note = (
        f"Voids {blend.voids:.3f} by the compressible packing model, {1.0 - blend.packing_other:.3f} by the "
        "linear packing density model."
    )
    return Table(caption, columns, tuple(rows), note)


def _proportions(mix: Mix) -> Table:
    blend = mix.used
    made: tuple[tuple[str, Proportions], ...] = (
        ("low resin", blend.low),
        ("likely", blend.likely),
        ("high resin", blend.high),
    )
    rows: list[tuple[Cell, ...]] = [
        (
            name,
            Quantity(p.stone, "share"),
            Quantity(p.resin, "share"),
            Quantity(p.air, "share"),
            Quantity(p.density, "density"),
            Quantity(p.resin_mass_share, "share"),
        )
        for name, p in made
    ]
    columns = (
        Column("case"),
        Column("stone", numeric=True),
        Column("resin", numeric=True),
        Column("air", numeric=True),
        Column("density", numeric=True),
        Column("resin of the mass", numeric=True),
    )
    note = (
        f"By volume. Voids ± {mix.spread:.0%} and to the other model's; surplus {mix.surplus.low:.0%} "
        f"to {mix.surplus.high:.0%}; "
        f"air {mix.air.low:.0%} to {mix.air.high:.0%}; the ends are taken together. "
        f"{mix.compaction.capitalize()}."
    )
    return Table("What a volume of the fill holds", columns, rows=tuple(rows), note=note)


def _compared(mix: Mix) -> Paragraph:
    if mix.own is None:
        return Paragraph("No recipe of the shop's own is stated: the best blend is poured.")
    extra = mix.own.likely.resin - mix.best.likely.resin
    words = f"The shop's recipe has {mix.own.voids:.1%} of voids, the best blend {mix.best.voids:.1%}"
    words += f": it takes {extra * 100.0:+.1f} points of resin by volume."
    if mix.own_lacks is not None and mix.own_lacks > 0.0:
        words += f" It is {mix.own_lacks * 100.0:.1f} points short of filling its voids."
    return Paragraph(words)


def _material(evaluation: Any) -> Table:
    cure = evaluation.cure
    blend = evaluation.pour.known_mix().used
    rows: list[tuple[Cell, ...]] = [
        ("density", *(Quantity(p.density, "density") for p in (blend.high, blend.likely, blend.low)))
    ]
    try:
        modulus = cure.known_modulus()
        rows.append(
            (
                "Young's modulus",
                *(Quantity(v, "pressure") for v in (modulus.low, modulus.likely, modulus.high)),
            )
        )
    except NotStated as gap:
        rows.append((f"Young's modulus: {gap}", "–", "–", "–"))
    if cure.conductivity is not None:
        k = cure.conductivity
        rows.append(("conductivity", *(Quantity(v, "conductivity") for v in (k.low, k.likely, k.high))))
    columns = (
        Column("property"),
        Column("low", numeric=True),
        Column("likely", numeric=True),
        Column("high", numeric=True),
    )
    note = (
        "Modulus and conductivity between the Hashin–Shtrikman bounds; likely is half way. "
        "Measure a trial bar."
    )
    return Table("The cured fill as a material", columns, tuple(rows), note)


def shopping(items: tuple[Item, ...]) -> Table:
    """Whole kits and bags for low, likely and high resin."""
    rows: list[tuple[Cell, ...]] = [
        (
            item.name,
            item.unit,
            Quantity(item.unit_mass, "mass"),
            Quantity(item.likely.needed, "mass"),
            item.stock,
            item.low.buy,
            item.likely.buy,
            item.high.buy,
            Quantity(item.high.left, "mass"),
        )
        for item in items
    ]
    columns = (
        Column("item"),
        Column("unit"),
        Column("holds", numeric=True),
        Column("needed, likely", numeric=True),
        Column("in stock", numeric=True),
        Column("buy, low", numeric=True),
        Column("likely", numeric=True),
        Column("high", numeric=True),
        Column("left over, high", numeric=True),
    )
    cost = total_cost(items)
    note = "Order the high column: what is short on the day can't be bought that day. "
    if cost is not None:
        note += f"Cost {cost[0]:.0f} to {cost[2]:.0f} {items[0].currency}, likely {cost[1]:.0f}."
    return Table("Shopping list, what stays in buckets included", columns, tuple(rows), note.strip())


def batch_table(evaluation: Any) -> Table:
    """What goes into each batch and how far it fills the form."""
    plan = evaluation.cure.known_batches()
    names = [name for name, _ in plan.batches[0].aggregates]
    rows: list[tuple[Cell, ...]] = [
        (
            b.number,
            b.lift,
            *(Quantity(mass, "mass") for _, mass in b.aggregates),
            Quantity(b.resin, "mass"),
            Quantity(b.hardener, "mass"),
            Quantity(b.mass, "mass"),
            Quantity(b.fills_to, "length"),
            duration(b.starts),
        )
        for b in plan.batches
    ]
    columns = (
        Column("batch", numeric=True),
        Column("lift", numeric=True),
        *(Column(name, numeric=True) for name in names),
        Column("resin", numeric=True),
        Column("hardener", numeric=True),
        Column("in all", numeric=True),
        Column("fills to", numeric=True),
        Column("start at", numeric=True),
    )
    reason = {"mixer": "by the mixer", "lifting": "by what may be lifted", "time": "by the working time"}
    note = (
        f"A batch is limited {reason[plan.limited_by]}; placing one takes {duration(plan.placing)}, the next "
        f"may start after {duration(plan.each)}. Dry stone; bottom first."
    )
    return Table("What goes into each", columns, tuple(rows), note)


def bucket_table(evaluation: Any) -> Table:
    """How long a bucket may stand."""
    plan = evaluation.cure.known_batches()
    rows: list[tuple[Cell, ...]] = [
        (
            b.name,
            duration(b.workable),
            Quantity(b.peak, "temperature"),
            duration(b.peak_time),
            "yes" if b.runs_away else "no",
        )
        for b in (plan.full, plan.neat)
    ]
    columns = (
        Column("bucket of"),
        Column("workable for", numeric=True),
        Column("left standing gets to", numeric=True),
        Column("after", numeric=True),
        Column("runs away"),
    )
    calibration = evaluation.cure.known_calibration()
    note = (
        "Counted from mixing. The rate comes from simulating the data sheet's own cup; reading its pot life "
        f"as if the cup had stayed cool would make the resin {calibration.isothermal_ratio:.1f} times too "
        "fast. Above 200 °C the model only says that it smokes and chars."
    )
    return Table("How long a bucket may stand", columns, tuple(rows), note)
