"""Batches: how long a bucket may stand, how large a batch may be, and the order of pouring."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf

import numpy as np

from orthostat.analyses.pour.cup import CUP_TOLERANCE, Calibration, Stuff, Vessel, neat, time_to, vessel_body
from orthostat.analyses.pour.gaps import layer_depths
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.kinetics import Kinetics
from orthostat.analyses.pour.march import Floats, Stop, march
from orthostat.analyses.pour.mix import Mix
from orthostat.analyses.pour.volumes import Volumes
from orthostat.base.dimensions import (
    CubicMetre,
    Kelvin,
    Kilogram,
    Metre,
    PerSecond,
    Second,
    WattPerSquareMetreKelvin,
)
from orthostat.base.findings import NotStated, stated
from orthostat.catalogue.casting import assumption
from orthostat.formulas.cure import frank_kamenetskii_parameter, frank_kamenetskii_radius

CYLINDER_AS_HIGH_AS_WIDE = 2.77
"""Critical Frank-Kamenetskii parameter of a cylinder as high as it is wide (frank-kamenetskii-1969)."""


@dataclass(frozen=True, slots=True)
class Bucket:
    """A vessel left standing: until when it can be worked, and how hot it gets."""

    name: str
    vessel: Vessel
    workable: Second
    peak: Kelvin
    peak_time: Second
    runs_away: bool
    """Whether it is above the critical size for holding its heat at room temperature."""
    critical_diameter: Metre


@dataclass(frozen=True, slots=True)
class Batch:
    """One mix: what goes in and how far it fills the form."""

    number: int
    lift: int
    mass: Kilogram
    aggregates: tuple[tuple[str, Kilogram], ...]
    """Dry masses, in the order of the blend."""
    resin: Kilogram
    hardener: Kilogram
    fills_to: Metre
    """Height above the underside of the fill [m]."""
    starts: Second
    """After the first batch of its lift was begun."""


@dataclass(frozen=True, slots=True)
class Batches:
    """The plan of mixing and placing."""

    batches: tuple[Batch, ...]
    largest: Kilogram
    """Mass a batch may have."""
    limited_by: str
    """`mixer`, `lifting` or `time`."""
    placing: Second
    """To place one batch."""
    each: Second
    """From the start of one batch to the start of the next."""
    full: Bucket
    """A full batch of mix left standing."""
    neat: Bucket
    """The resin of a full batch, mixed but not yet on the stone."""
    gels: Second
    """First gel of a batch in the form, from mixing."""


def batches(inputs: Inputs, mix: Mix, room_for: Volumes, stuff: Stuff, calibration: Calibration) -> Batches:
    """The plan. Raises `NotStated` naming what is missing of the mixer and its crew."""
    pour = inputs.pour
    mixer = stated(pour.mixer, f"{pour.path}.mixer")
    capacity = stated(mixer.capacity, f"{mixer.path}.capacity")
    people = stated(mixer.crew.people, f"{mixer.path}.crew.people")
    rate = stated(mixer.crew.placing_rate, f"{mixer.path}.crew.placing_rate")
    mixing = stated(mixer.mixing_time, f"{mixer.path}.mixing_time")
    room = stated(pour.room, f"{pour.path}.room")
    start = pour.mix_temperature if pour.mix_temperature is not None else room
    if capacity <= 0.0 or people <= 0 or rate <= 0.0:
        raise NotStated(f"{mixer.path}.capacity", reason="mixer, crew and placing rate must be above zero")
    made = mix.used.likely
    kinetics = calibration.kinetics
    held = min(capacity * made.density, mixer.mass_limit or inf)
    limit = "mixer" if held == capacity * made.density else "lifting"
    full = bucket("mix", CubicMetre(held / made.density), stuff, kinetics, start, room)
    working = full.workable - mixing
    if working <= 0.0:
        raise NotStated(
            f"{mixer.path}.mixing_time", reason="the mix stiffens before it is mixed: the resin is too fast"
        )
    placed = people * rate * working
    if placed < held:
        held, limit = placed, "time"
    resin = pour.resin
    pail = bucket(
        "resin alone", CubicMetre(held * made.resin_mass_share / mix.resin.density),
        neat(stated(resin, f"{pour.path}.resin")), kinetics, start, room,
    )  # fmt: skip
    gels = _gel(kinetics, stuff, start, room, held / made.density)
    placing = Second(held / (people * rate))
    each = Second(mixing + placing + (mixer.cleaning_time or 0.0))
    listed = _listed(inputs, mix, room_for, held, each)
    return Batches(listed, Kilogram(held), limit, placing, each, full, pail, gels)


def bucket(
    name: str, volume: CubicMetre, stuff: Stuff, kinetics: Kinetics, start: Kelvin, room: Kelvin
) -> Bucket:
    """A vessel as high as it is wide, left standing for up to two days."""
    film = WattPerSquareMetreKelvin(assumption("film of a cup").likely)
    vessel = Vessel.as_high_as_wide(volume, film)
    heat = stuff.resin_mass * kinetics.heat
    body = vessel_body(vessel, stuff, heat)
    stiff = assumption("workable conversion").likely
    until = Second(2.0 * 86400.0)
    workable = time_to(body, kinetics, start, room, (lambda _, cured: float(cured.mean()), stiff), until)
    left = march(
        body,
        kinetics,
        np.full(len(body.heat), float(start)),
        room=room,
        until=until,
        tolerance=CUP_TOLERANCE,
        stop=_past_peak(Kelvin(max(start, room))),
    )
    hottest = left.temperatures.max(axis=1)
    top = int(hottest.argmax())
    grid = np.linspace(0.0, 1.0, 401)
    fastest = float(kinetics.speed(np.full(401, float(room)), grid).max())
    radius = Metre(0.5 * vessel.diameter)
    parameter = frank_kamenetskii_parameter(
        half_size=radius, heat_per_volume=heat, rate=PerSecond(fastest),
        activation_energy=kinetics.activation_energy, conductivity=stuff.conductivity, room=room,
    )  # fmt: skip
    critical = frank_kamenetskii_radius(CYLINDER_AS_HIGH_AS_WIDE, half_size=radius, parameter=parameter)
    return Bucket(
        name, vessel, workable if workable is not None else until, Kelvin(float(hottest[top])),
        Second(float(left.times[top])), parameter > CYLINDER_AS_HIGH_AS_WIDE, Metre(2.0 * critical),
    )  # fmt: skip


def _past_peak(room: Kelvin) -> Stop:
    """True once the hottest place has fallen well back from its peak."""
    highest = [float(room)]

    def fallen(temperature: Floats, _: Floats) -> bool:
        hottest = float(temperature.max())
        highest[0] = max(highest[0], hottest)
        return highest[0] - room > 2.0 and hottest - room < 0.7 * (highest[0] - room)

    return fallen


def _gel(kinetics: Kinetics, stuff: Stuff, start: Kelvin, room: Kelvin, volume: float) -> Second:
    """When the middle of a placed batch gels."""
    film = WattPerSquareMetreKelvin(assumption("film of a cup").likely)
    body = vessel_body(
        Vessel.as_high_as_wide(CubicMetre(volume), film), stuff, stuff.resin_mass * kinetics.heat
    )
    until = Second(5.0 * 86400.0)
    found = time_to(body, kinetics, start, room, (lambda _, cured: float(cured.max()), kinetics.gel), until)
    return until if found is None else found


def _listed(inputs: Inputs, mix: Mix, room_for: Volumes, held: float, each: Second) -> tuple[Batch, ...]:
    """Equal batches within each lift, bottom first."""
    made = mix.used.likely
    used = [part for part in mix.used.parts if part.mass_share > 0.0]
    listed: list[Batch] = []
    low = 0.0
    for lift, depth in enumerate(layer_depths(inputs), 1):
        bottom, top = Metre(inputs.bottom + low), Metre(inputs.bottom + low + depth)
        below, volume = room_for.below(bottom), room_for.below(top) - room_for.below(bottom)
        count = max(1, ceil(volume * made.density / held - 1e-9))
        mass = volume * made.density / count
        stone, resin = mass * (1.0 - made.resin_mass_share), mass * made.resin_mass_share
        for k in range(count):
            filled = room_for.height_of(CubicMetre(below + volume * (k + 1) / count))
            listed.append(
                Batch(
                    number=len(listed) + 1,
                    lift=lift,
                    mass=Kilogram(mass),
                    aggregates=tuple((p.aggregate.name, Kilogram(stone * p.mass_share)) for p in used),
                    resin=Kilogram(resin * mix.resin.resin_share),
                    hardener=Kilogram(resin * (1.0 - mix.resin.resin_share)),
                    fills_to=Metre(filled - inputs.bottom),
                    starts=Second(k * each),
                )
            )
        low += depth
    return tuple(listed)
