"""Aggregates, resins, mixers and one column's pour, in SI."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

from orthostat.base.dimensions import Metre
from orthostat.catalogue.resins import RESIN_FAMILIES
from orthostat.document import casting as documents
from orthostat.document.parts import QuotedPrice
from orthostat.document.quantities import Typed
from orthostat.document.reading import KeyPath, key_text
from orthostat.document.shop import Shop
from orthostat.meaning.faults import Faults
from orthostat.meaning.kept import kept
from orthostat.meaning.names import Names
from orthostat.meaning.values import in_order, point, price, si
from orthostat.model.pouring import (
    Aggregate,
    AirVoids,
    Crew,
    Cup,
    FormClamps,
    Lift,
    Mixer,
    Pour,
    Recipe,
    RecipePart,
    ResinSystem,
    SievePoint,
    TubeStock,
)


@kept(16)
def pour_of(
    pour: documents.Pour | None, kind: str | None, tubes: tuple[str, ...], names: Names
) -> Pour | None:
    """The pour of a filled column with these tubes, and everything it names; `None` for other bodies."""
    shop = names.shop
    if kind != "filled":
        if pour is not None:
            names.faults.add(("pour",), "there is no fill to pour; body.kind must be filled")
        return None
    stated = pour or documents.Pour()
    wanted = tuple(shop.aggregates) if stated.aggregates is None else stated.aggregates
    for index, name in enumerate(wanted):
        if name not in shop.aggregates:
            names.faults.unknown_name(("pour", "aggregates", index), "aggregate", name, shop.aggregates)
    known = [name for name in wanted if name in shop.aggregates]
    recipe = _recipe(stated.recipe, shop, names.faults)
    for index, (below, lift) in enumerate(pairwise(stated.lifts), 1):
        if lift.top.si <= below.top.si:
            above = f"more than `{below.top.text}`"
            names.faults.add(
                ("pour", "lifts", index, "top"), "must rise from lift to lift", f"`{lift.top.text}`", above
            )
    values: dict[str, Any] = {
        key: si(getattr(stated, key))
        for key in (
            "surplus",
            "spread",
            "room",
            "room_low",
            "room_high",
            "mix_temperature",
            "film",
            "lean_limit",
            "strip_conversion",
            "bolt_conversion",
            "post_cure",
            "post_cure_time",
        )
    }
    for key, own in (
        ("room", shop.room.temperature),
        ("room_low", shop.room.coldest),
        ("room_high", shop.room.warmest),
    ):
        values[key] = values[key] if values[key] is not None else si(own)
    air = stated.air
    clamps = stated.clamps
    for tube in stated.tubes:
        if tube not in tubes:
            names.faults.unknown_name(("pour", "tubes", tube), "tube", tube, tubes)
    return Pour(
        path=names.at("pour"),
        aggregates=tuple(_aggregate(name, shop.aggregates[name], names) for name in known),
        resin=_resin(stated.resin, shop, names.faults),
        mixer=_mixer(stated.mixer, shop, names.faults),
        recipe=recipe,
        compaction=stated.compaction,
        air=AirVoids(air.low.si, air.likely.si, air.high.si) if air else None,
        objective=stated.objective,
        film_sides=tuple(film.si for film in stated.film_sides),
        lifts=tuple(Lift(lift.top.si, si(lift.wait)) for lift in stated.lifts),
        clamps=FormClamps(tuple(h.si for h in clamps.heights), si(clamps.force), clamps.per_level)
        if clamps
        else None,
        tubes=tuple(
            TubeStock(name, tube.material, tube.damp, si(tube.hold_down))
            for name, tube in stated.tubes.items()
        ),
        vent_holes=tuple(point(pair) for pair in stated.vent_holes),
        **values,
    )


def _aggregate(name: str, stated: documents.Aggregate, names: Names) -> Aggregate:
    path: KeyPath = ("aggregates", name)
    faults = Faults("", "")
    return Aggregate(
        name=name,
        path=Names(names.shop, faults).at(*path),
        smallest=si(stated.smallest),
        largest=si(stated.largest),
        sieve=tuple(
            SievePoint(size, p.passing.si) for p in stated.sieve if (size := _sieve(p.size)) is not None
        ),
        particle_density=si(stated.particle_density),
        bulk_density=si(stated.bulk_density),
        bulk_state=stated.bulk_state,
        moisture=si(stated.moisture),
        moisture_limit=si(stated.moisture_limit),
        bag_mass=si(stated.bag_mass),
        price=price(stated.price),
        stock=stated.stock,
        material=Names(names.shop, faults).material(stated.material, (*path, "material")),
    )


def _sieve(size: Typed | str) -> Metre | None:
    if isinstance(size, Typed):
        return Metre(size.si)
    from orthostat import catalogue

    try:
        return Metre(catalogue.table("sieves").row(size).opening)
    except catalogue.UnknownRow:
        return None


def check_aggregates(shop: Shop, faults: Faults) -> None:
    """Faults of the shop's own aggregates and resins that no single key shows."""
    for name, stated in shop.aggregates.items():
        path: KeyPath = ("aggregates", name)
        if stated.smallest and stated.largest and stated.smallest.si >= stated.largest.si:
            faults.add(
                (*path, "smallest"), "is not smaller than the largest size", f"`{stated.smallest.text}`"
            )
        if (
            stated.bulk_density
            and stated.particle_density
            and stated.bulk_density.si >= stated.particle_density.si
        ):
            faults.add(
                (*path, "bulk_density"),
                "is not below the density of its particles; a heap has voids",
                f"`{stated.bulk_density.text}`",
                f"less than `{stated.particle_density.text}`",
            )
        _check_price(stated.price, (*path, "price"), "bag", faults)
        for index, sieve in enumerate(stated.sieve):
            if _sieve(sieve.size) is None:
                faults.add(
                    (*path, "sieve", index, "size"),
                    "is neither a length nor a sieve we know",
                    f"`{sieve.size}`",
                    'such as "4 mm", "No. 8"',
                )
        sizes = sorted((size, p.passing.si) for p in stated.sieve if (size := _sieve(p.size)) is not None)
        if any(a[1] > b[1] + 1e-12 for a, b in pairwise(sizes)) or len({s for s, _ in sizes}) < len(sizes):
            faults.add((*path, "sieve"), "passes less through a larger sieve, or names a sieve twice")
    for name, resin in shop.resins.items():
        _check_resin(("resins", name), resin, faults)


def _check_price(quoted: QuotedPrice | None, path: KeyPath, unit: str, faults: Faults) -> None:
    """Note a price that is not of a bag or kit, nor of mass: nothing else counts what is bought."""
    stated = price(in_order(quoted, path, faults))
    if quoted is not None and stated is not None and stated.per not in ("kg", "piece", unit):
        faults.add(
            path,
            f"is of neither a {unit} nor a mass",
            f"`{quoted.likely.text}`",
            f"a price per {unit}, such as `12 EUR/{unit}`, or per kg, lb, t",
        )


def _check_resin(path: KeyPath, resin: documents.Resin, faults: Faults) -> None:
    if resin.family is not None and resin.family not in RESIN_FAMILIES:
        faults.unknown_name((*path, "family"), "family of resins", resin.family, RESIN_FAMILIES.names)
    _check_price(resin.price, (*path, "price"), "kit", faults)
    if resin.ratio is not None:
        if _parts(resin.ratio) is None:
            faults.add(
                (*path, "ratio"), "is not a ratio of parts", f"`{resin.ratio}`", 'such as "100:30" or "2:1"'
            )
        if resin.ratio_by is None:
            faults.add((*path, "ratio_by"), "is missing; say whether the ratio is by mass or by volume")
    if resin.kit_mass is not None and resin.kit_volume is not None:
        faults.add(path, "gives both kit_mass and kit_volume; keep one")
    if resin.pot_life_end == "temperature" and resin.pot_life_end_temperature is None:
        faults.add((*path, "pot_life_end_temperature"), "is missing; pot_life_end names a temperature")
    if resin.pot_life_end == "viscosity" and resin.pot_life_end_conversion is None:
        faults.add((*path, "pot_life_end_conversion"), "is missing; pot_life_end names a viscosity")


def _parts(text: str) -> float | None:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?::|to|/)\s*(\d+(?:\.\d+)?)\s*", text)
    if found is None or float(found[1]) <= 0.0 or float(found[2]) <= 0.0:
        return None
    return float(found[1]) / float(found[2])


def _resin(name: str | None, shop: Shop, faults: Faults) -> ResinSystem | None:
    if name is None:
        return None
    if name not in shop.resins:
        faults.unknown_name(("pour", "resin"), "resin", name, shop.resins)
        return None
    stated = shop.resins[name]
    plain: dict[str, Any] = {
        key: value.si if isinstance(value := getattr(stated, key), Typed) else value
        for key in documents.Resin.model_fields
        if key not in ("ratio", "pot_life_cup", "price", "note")
    }
    cup = stated.pot_life_cup
    return ResinSystem(
        name=name,
        path=key_text(("resins", name)),
        ratio=_parts(stated.ratio) if stated.ratio else None,
        pot_life_cup=Cup(si(cup.diameter), si(cup.film)) if cup else None,
        price=price(stated.price),
        **plain,
    )


def _mixer(name: str | None, shop: Shop, faults: Faults) -> Mixer | None:
    if name is None:
        return None
    if name not in shop.mixers:
        faults.unknown_name(("pour", "mixer"), "mixer", name, shop.mixers)
        return None
    stated = shop.mixers[name]
    return Mixer(
        name,
        key_text(("mixers", name)),
        si(stated.capacity),
        si(stated.mass_limit),
        si(stated.mixing_time),
        si(stated.cleaning_time),
        Crew(stated.crew.people, si(stated.crew.placing_rate)),
    )


def _recipe(stated: documents.Recipe | None, shop: Shop, faults: Faults) -> Recipe | None:
    if stated is None:
        return None
    for name in stated.parts:
        if name not in shop.aggregates:
            faults.unknown_name(("pour", "recipe", "parts", name), "aggregate", name, shop.aggregates)
    total = sum(share.si for share in stated.parts.values())
    if abs(total - 1.0) > 0.005:
        faults.add(("pour", "recipe", "parts"), f"adds up to {100 * total:.4g} %, not 100 %")
    parts = tuple(RecipePart(name, share.si) for name, share in stated.parts.items())
    return Recipe(parts, si(stated.resin))
