"""Columns of `columns` with what the tightening of their fixtures' screws needs."""

from __future__ import annotations

from dataclasses import replace

from orthostat.base.dimensions import Metre
from orthostat.model.column import Column


def with_tightened_screws(made: Column) -> Column:
    """The column with the grip and the tightening of its stations' screws stated, so that they are judged."""
    return replace(
        made,
        stations=tuple(
            replace(
                station,
                screws=tuple(
                    replace(screw, grip=Metre(0.03), tightening="torque wrench") for screw in station.screws
                ),
            )
            for station in made.stations
        ),
    )
