"""What the shop wants of its columns, in SI."""

from __future__ import annotations

from typing import Any

from orthostat.base.dimensions import Ratio
from orthostat.document.shop import Shop
from orthostat.meaning.values import si
from orthostat.model.limits import Limits


def limits_of(shop: Shop) -> Limits:
    """The shop's limits; those it did not state stay `None`, the wanted margin is then 5 %."""
    stated, clear, room = shop.limits, shop.clearances, shop.room
    plain: dict[str, Any] = {
        key: si(getattr(stated, key))
        for key in (
            "hand_lift",
            "transport_tilt",
            "hole_tolerance",
            "slip_steady",
            "slip_reversing",
            "lift",
            "pin_shift",
            "strength",
            "deflection",
            "temperature_change",
            "temperature_across",
            "least_frequency",
        )
    }
    if shop.margins.wanted is not None:
        plain["margin"] = Ratio(shop.margins.wanted.si)
    return Limits(
        margins=tuple(sorted((slug, share.si) for slug, share in shop.margins.findings.items())),
        coolant=stated.coolant,
        clearance_radial=si(clear.radial),
        clearance_axial=si(clear.axial),
        chord=si(clear.chord),
        room=si(room.temperature),
        room_low=si(room.coldest),
        room_high=si(room.warmest),
        **plain,
    )
