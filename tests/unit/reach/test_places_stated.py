"""Alike cuts are worked out to the picometre; what is said of one stands at its places as they are stated."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from orthostat.analyses.reach.stands import stands, tightest
from orthostat.evaluation import Evaluation, open_shop
from orthostat.model.limits import Limits

SHOP = Path(__file__).parents[3] / "examples" / "saltmarsh"
TENTHS = 1e-3 * (0.1 + 0.2)
"""Not 0.0003, but the next number."""


def test_places_out_of_reach_and_where_there_is_least_room_are_places_of_the_cut() -> None:
    column = open_shop(SHOP).column("spindrift").model
    station = column.stations[0]
    places = ((0.0, 0.28), (TENTHS, 0.28))
    cut = replace(station.cuts[0], places=places)
    made = replace(column, stations=(replace(station, cuts=(cut,)),))
    (found,) = Evaluation(made, Limits()).reach.cuts
    assert round(TENTHS, 12) != TENTHS
    assert found.missed == places
    assert not any(stand.reached for stand in stands(found))
    assert found.holder is not None
    assert found.holder.at == (TENTHS, 0.28)
    assert stands(found)[tightest(found)].at in places
