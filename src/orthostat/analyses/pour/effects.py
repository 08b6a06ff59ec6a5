"""What the room, the mix's temperature and the plates do to the peak: each changed alone."""

from __future__ import annotations

from dataclasses import dataclass, replace

from orthostat.analyses.pour.cup import calibrated
from orthostat.analyses.pour.heat import element_size, quick_peak
from orthostat.analyses.pour.inputs import Inputs, Plate
from orthostat.analyses.pour.mix import Mix
from orthostat.analyses.pour.solve import solve
from orthostat.base.dimensions import (
    Kelvin,
    KilogramPerCubicMetre,
    Metre,
    Second,
    WattPerMetreKelvin,
)
from orthostat.base.findings import stated
from orthostat.base.progress import SILENT, Progress
from orthostat.base.showing import show_both

ROOM_STEP = 5.0
"""Change of the room [K] tried where the shop states no range."""


@dataclass(frozen=True, slots=True)
class Effect:
    """One change alone, and the peak it gives."""

    change: str
    peak: Kelvin
    peak_time: Second


def solve_effects(inputs: Inputs, progress: Progress = SILENT) -> tuple[Effect, ...]:
    """Peaks in one go with one thing changed at a time, on a coarser mesh (within about 1 % of the rise).

    Raises `NotStated` naming what is missing.
    """
    pour = inputs.pour
    mix = solve(inputs).known_mix()
    room = stated(pour.room, f"{pour.path}.room")
    low = pour.room_low if pour.room_low is not None else Kelvin(room - ROOM_STEP)
    high = pour.room_high if pour.room_high is not None else Kelvin(room + ROOM_STEP)
    placed = pour.mix_temperature if pour.mix_temperature is not None else room
    trials = [("as planned", inputs, room, inputs.plates)]
    for other in (low, high):
        moved = replace(inputs, pour=replace(pour, mix_temperature=Kelvin(placed + other - room)))
        trials.append(
            (f"room, form and mix at {show_both(other, 'temperature')}", moved, other, inputs.plates)
        )
    cooler = replace(inputs, pour=replace(pour, mix_temperature=Kelvin(placed - ROOM_STEP)))
    trials.append(
        (f"mix placed at {show_both(Kelvin(placed - ROOM_STEP), 'temperature')}", cooler, room, inputs.plates)
    )
    trials += [
        (f"plates {name} as thick", inputs, room, _thicker(inputs.plates, share))
        for name, share in (("half", 0.5), ("twice", 2.0))
    ]
    return tuple(
        _effect(change, each, mix, at, plates, progress.step(number, len(trials), change))
        for number, (change, each, at, plates) in enumerate(trials)
    )


def _effect(
    change: str, inputs: Inputs, mix: Mix, room: Kelvin, plates: tuple[Plate, ...], progress: Progress
) -> Effect:
    resin = stated(inputs.pour.resin, f"{inputs.pour.path}.resin")
    size = Metre(1.5 * element_size(inputs))
    peak, time = quick_peak(
        inputs, mix, calibrated(resin), room=room, size=size, plates=plates, progress=progress
    )
    return Effect(change, peak, time)


def _thicker(plates: tuple[Plate, ...], share: float) -> tuple[Plate, ...]:
    """Plates that hold and lead heat like plates of another thickness (the outline stays)."""
    changed = []
    for plate in plates:
        material = stated(plate.material, f"{plate.path}.material")
        path = material.path or plate.path
        density = stated(material.density, f"{path}.density")
        conductivity = stated(material.conductivity, f"{path}.conductivity")
        scaled = replace(
            material,
            density=KilogramPerCubicMetre(density * share),
            conductivity=WattPerMetreKelvin(conductivity * share),
        )
        changed.append(replace(plate, material=scaled))
    return tuple(changed)
