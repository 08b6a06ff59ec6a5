"""What the shop wants of its columns where no machine says it; `None` where it has not said."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.base.dimensions import Hertz, Kelvin, KelvinDifference, Kilogram, Metre, Radian, Ratio

DEFAULT_MARGIN = Ratio(0.05)
"""Below this share of its limit a finding is tight, where the shop wants no other margin."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Wanted margins, limits, clearances and the shop's air."""

    margin: Ratio = DEFAULT_MARGIN
    """Margin below which a finding is tight (the shop's `margins.wanted`)."""
    margins: tuple[tuple[str, float], ...] = ()
    """(slug, margin) where one finding wants another."""
    hand_lift: Kilogram | None = None
    transport_tilt: Radian | None = None
    hole_tolerance: Metre | None = None
    slip_steady: Ratio | None = None
    slip_reversing: Ratio | None = None
    lift: Ratio | None = None
    pin_shift: Metre | None = None
    strength: Ratio | None = None
    deflection: Metre | None = None
    temperature_change: KelvinDifference | None = None
    temperature_across: KelvinDifference | None = None
    coolant: bool | None = None
    least_frequency: Hertz | None = None
    clearance_radial: Metre | None = None
    clearance_axial: Metre | None = None
    chord: Metre | None = None
    room: Kelvin | None = None
    room_low: Kelvin | None = None
    room_high: Kelvin | None = None

    def margin_for(self, slug: str) -> float:
        """The margin wanted of one finding."""
        return dict(self.margins).get(slug, self.margin)
