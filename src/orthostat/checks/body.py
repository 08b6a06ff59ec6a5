"""Does the body make sense: nothing in the same place twice, nothing outside what should hold it?

All gaps are in metres, negative when a rule is broken by that much; touching is allowed.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from orthostat.analyses.fit.clashes import CONTACT, Between
from orthostat.base.findings import Answers, Measured, Sense, finding, stated
from orthostat.checks import landing_rows as rows

if TYPE_CHECKING:
    from orthostat.analyses.fit.inside import Room

_GEOMETRY = "geometry"
_SCALE = 0.01
"""Gaps between bodies are judged by the centimetre."""


def _snapped(gap: float) -> float:
    """Zero for gaps that are rounding: touching bodies touch."""
    return 0.0 if abs(gap) < CONTACT else gap


def _clear(evaluation: Any, between: Between) -> Answers:
    return [
        Measured(
            _snapped(pair.gap), 0.0,
            "gap between them" if pair.gap >= -CONTACT else "they overlap by this depth",
            f"{pair.first} and {pair.second}", pair.paths, _SCALE,
        )
        for pair in evaluation.consistency.clearances
        if pair.between is between
    ] or None  # fmt: skip


def _rooms(rooms: Sequence[Room], says: str) -> Answers:
    """Every room that is broken, or the tightest one."""
    broken = [room for room in rooms if room.gap < -CONTACT]
    listed = broken or sorted(rooms, key=lambda room: room.gap / room.size)[:1]
    return [
        Measured(_snapped(room.gap), 0.0, f"{says} {room.beside}", room.subject, (room.path,), room.size)
        for room in listed
    ] or None


@finding(
    "body.clash",
    question="Do the parts of the column leave each other room?",
    wanted="gap between any two parts not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source="separating axes of convex solids (ericson-2005, section 5.2.1)",
    hangs_on="body",
    levers=("body.plate", "studs", "tubes", "anchors"),
    tight=0.0,
)
def clash(evaluation: Any) -> Answers:
    return _clear(evaluation, Between.COLUMN)


@finding(
    "body.station_clash",
    question="Do fixtures, parts and clamps stand clear of the column and the pallet?",
    wanted="gap between a station and the column not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source="separating axes of convex solids (ericson-2005, section 5.2.1)",
    hangs_on="stations",
    levers=("stations",),
    tight=0.0,
)
def station_clash(evaluation: Any) -> Answers:
    return _clear(evaluation, Between.STATION_AND_COLUMN)


@finding(
    "body.station_overlap",
    question="Do the stations leave each other room?",
    wanted="gap between two stations not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source="separating axes of convex solids (ericson-2005, section 5.2.1)",
    hangs_on="stations",
    levers=("stations", "plan.stand_off"),
    tight=0.0,
)
def station_overlap(evaluation: Any) -> Answers:
    return _clear(evaluation, Between.STATIONS)


@finding(
    "body.void_in_cavity",
    question="Does every void tube fit into the cavity?",
    wanted="gap between tube and wall not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="tubes",
    levers=("tubes", "body.plate"),
    tight=0.0,
)
def void_in_cavity(evaluation: Any) -> Answers:
    return _rooms(evaluation.consistency.tubes, "beside")


@finding(
    "body.stud_in_plate",
    question="Is every stud's hole and washer wholly on its plate?",
    wanted="gap to the plate's edge not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="studs",
    levers=("studs", "base_plate.overhang"),
    tight=0.0,
)
def stud_in_plate(evaluation: Any) -> Answers:
    return _rooms(evaluation.consistency.studs, "to")


@finding(
    "body.sleeve_clear",
    question="Do the studs pass through the column clear of walls, tubes, anchors and each other?",
    wanted="gap beside each sleeve not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="studs",
    levers=("studs", "anchors", "tubes"),
    tight=0.0,
)
def sleeve_clear(evaluation: Any) -> Answers:
    return _rooms(evaluation.consistency.sleeves, "to")


@finding(
    "body.thread_depth",
    question="Do the face's holes end inside their plate, short of the fill?",
    wanted="deepest hole at most the plate's thickness",
    sense=Sense.AT_MOST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="patterns",
    levers=("patterns", "body.plate"),
    tight=0.0,
)
def thread_depth(evaluation: Any) -> Answers:
    return [
        Measured(
            one.depth, one.wall, "deepest hole against the plate behind it", f"face {one.face}", (one.path,)
        )
        for one in evaluation.consistency.depths
    ] or None


@finding(
    "body.hole_clear",
    question="Do the face's holes stay clear of anchors, sleeves and each other?",
    wanted="gap beside each hole not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="patterns",
    levers=("patterns", "anchors", "studs"),
    tight=0.0,
)
def hole_clear(evaluation: Any) -> Answers:
    return _rooms(evaluation.consistency.holes, "to")


@finding(
    "body.lip",
    question="Does the lid's lip go into the column?",
    wanted="gap between lip and walls not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="lid",
    levers=("lid.lip",),
    tight=0.0,
)
def lip(evaluation: Any) -> Answers:
    return _rooms(evaluation.consistency.lips, "to")


@finding(
    "body.foot_on_pallet",
    question="Does the whole foot of the column stand on something?",
    wanted="gap from the foot to the edge of what it stands on not below zero",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="base_plate",
    levers=("position", "base_plate.overhang", "plan.across_flats"),
    tight=0.0,
)
def foot_on_pallet(evaluation: Any) -> Answers:
    foot = evaluation.consistency.foot
    if foot is None:
        return None
    inside = stated(foot.inset, f"{foot.path}.width")
    return Measured(_snapped(inside), 0.0, f"to the edge of {foot.platform}", "foot", (foot.path,), _SCALE)


@finding(
    "body.station_on_face",
    question="Does every station stand on its face?",
    wanted="middle of the foot, screws and dowels of each inside the outline of the face",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_GEOMETRY,
    hangs_on="stations",
    levers=("stations.at", "stations.faces", "height"),
    tight=0.0,
)
def station_on_face(evaluation: Any) -> Answers:
    return _rooms(evaluation.consistency.stations, "to")


@finding(
    "body.fixture_holes",
    question="Do the fixtures' screws and dowels land on the face's own holes?",
    wanted="distance to the nearest fitting hole of the face's pattern at most the tolerance",
    sense=Sense.AT_MOST,
    kind="length",
    source="geometry",
    hangs_on="stations",
    levers=("stations", "patterns"),
    tight=0.0,
)
def fixture_holes(evaluation: Any) -> Answers:
    return rows.offsets(evaluation.consistency.landings, evaluation.limits.hole_tolerance)


@finding(
    "body.fixture_hole_depth",
    question="Are the face's holes deep enough for the fixtures' screws and dowels?",
    wanted="depth entered at most the hole's depth",
    sense=Sense.AT_MOST,
    kind="length",
    source="geometry",
    hangs_on="patterns",
    levers=("patterns", "stations"),
    tight=0.0,
)
def fixture_hole_depth(evaluation: Any) -> Answers:
    return rows.depths(evaluation.consistency.landings, f"{evaluation.column.path}.patterns")
