"""Stock, quotes and rates in SI; every amount keeps the currency it was stated in."""

from __future__ import annotations

from orthostat.base.units import CURRENCIES
from orthostat.document import shop as documents
from orthostat.document.quantities import Typed
from orthostat.document.reading import KeyPath
from orthostat.document.shop import Shop
from orthostat.meaning.faults import Faults
from orthostat.meaning.names import Names
from orthostat.meaning.values import in_order, price, si
from orthostat.model.buying import Buying, Quote, Rates, StockItem


def buying_of(shop: Shop, faults: Faults) -> Buying:
    """What the shop states about money; sizes a form needs and does not have are noted as faults."""
    names = Names(shop, faults)
    rates = shop.rates
    own = shop.units.currency or next(
        (rate.currency for rate in (rates.labour, rates.machine, rates.waiting) if rate and rate.currency), ""
    )
    _check_times(rates, faults)
    for code in rates.exchange:
        if code not in CURRENCIES:
            path: KeyPath = ("rates", "exchange", code)
            faults.add(path, "is not a currency we know", "", "an ISO 4217 code such as USD")
    prices = []
    for name, material in shop.materials.items():
        stated = price(in_order(material.price, ("materials", name, "price"), faults))
        if stated is not None:
            prices.append((name, stated))
    return Buying(
        currency=own or "",
        rates=_rates(rates, si(shop.limits.price_age)),
        stock=tuple(_stock(name, item, names) for name, item in shop.stock.items()),
        quotes=tuple(_quote(name, quote, names) for name, quote in shop.quotes.items()),
        material_prices=tuple(prices),
    )


def _rates(rates: documents.Rates, price_age: object) -> Rates:
    def currency(typed: Typed | None) -> str:
        return "" if typed is None else typed.currency or ""

    return Rates(
        labour=si(rates.labour),
        machine=si(rates.machine),
        waiting=si(rates.waiting),
        labour_currency=currency(rates.labour),
        machine_currency=currency(rates.machine),
        waiting_currency=currency(rates.waiting),
        exchange=tuple(sorted((name, ratio.si) for name, ratio in rates.exchange.items())),
        batch=rates.batch or 1,
        pour_failure=si(rates.pour_failure),
        making_time=si(rates.making_time),
        as_of=rates.as_of.isoformat() if rates.as_of else "",
        price_age=price_age,  # type: ignore[arg-type]  # seconds, from a typed time
        kerf=si(rates.kerf),
        clean_up=si(rates.clean_up),
        times=tuple(sorted((name, time.si) for name, time in rates.times.items())),
    )


def _check_times(rates: documents.Rates, faults: Faults) -> None:
    from orthostat.catalogue.labour import OPERATIONS

    for name, time in rates.times.items():
        if name not in OPERATIONS.names:
            faults.unknown_name(("rates", "times", name), "operation", name, OPERATIONS.names)
        if time.si < 0.0:
            faults.add(("rates", "times", name), "is below zero", f"`{time.text}`")


_NEEDS = {
    "plate": ("material", "thickness"),
    "bar": ("material",),
    "tube": ("material", "wall"),
    "piece": ("what",),
    "consumable": ("count",),
}


def _stock(name: str, item: documents.Stock, names: Names) -> StockItem:
    path: KeyPath = ("stock", name)
    for key in _NEEDS[item.form]:
        if getattr(item, key) is None:
            names.faults.add((*path, key), f"is missing; stock of the form {item.form} needs it")
    if item.form in ("bar", "tube") and (item.diameter is None) == (item.width is None):
        names.faults.add(path, "give its outside once", allowed="diameter (round) or width (square)")
    material = names.material(item.material, (*path, "material"))
    if item.thread is not None:
        names.thread(item.thread, (*path, "thread"))
    return StockItem(
        name=name,
        path=names.at("stock", name),
        form=item.form,
        material=None if material is None else material.name,
        thickness=si(item.thickness),
        width=si(item.width),
        length=si(item.length),
        diameter=si(item.diameter),
        wall=si(item.wall),
        what=item.what,
        thread=item.thread,
        count=item.count,
        price=price(in_order(item.price, (*path, "price"), names.faults)),
    )


def _quote(name: str, quote: documents.Quote, names: Names) -> Quote:
    path: KeyPath = ("quotes", name)
    material = names.material(quote.material, (*path, "material"))
    stated = price(in_order(quote.price, (*path, "price"), names.faults))
    if stated is None:
        raise AssertionError("a quote has a price")
    if stated.date is None and quote.date is not None:
        from dataclasses import replace

        stated = replace(stated, date=quote.date.isoformat())
    return Quote(
        name=name,
        path=names.at("quotes", name),
        price=stated,
        freight=price(in_order(quote.freight, (*path, "freight"), names.faults)),
        mass=si(quote.mass),
        lead_time=si(quote.lead_time),
        material=None if material is None else material.name,
    )
