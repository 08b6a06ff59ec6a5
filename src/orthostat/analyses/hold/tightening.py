"""What the tightening of one stud comes to: forces with their spread, stress, losses, the torque to use."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.hold.fastener import Fastener
from orthostat.base.dimensions import Metre, MetrePerNewton, Newton, Pascal, Radian
from orthostat.base.findings import Gap
from orthostat.formulas.bolting import Advice


@dataclass(frozen=True, slots=True)
class Spread:
    """Least, mean and greatest force [N]."""

    least: Newton
    mean: Newton
    greatest: Newton


@dataclass(frozen=True, slots=True)
class Stress:
    """Stress while tightening at the greatest preload, against the yield strength [Pa]."""

    tension: Pascal
    torsion: Pascal
    equivalent: Pascal
    allowed: Pascal


@dataclass(frozen=True, slots=True)
class Preload:
    """All about the tightening of one fastener. A `Gap` stands where something is not stated."""

    fastener: Fastener
    assembled: Spread | Gap
    """As tightened."""
    working: Spread | Gap
    """After embedding, creep and temperature: what the joint is checked with."""
    stud_resilience: MetrePerNewton | Gap
    clamped_resilience: MetrePerNewton | Gap
    embedding_loss: Newton | Gap
    thermal: tuple[Newton, Newton] | Gap
    """(lowest, highest) change over the temperature range."""
    creep_loss: tuple[Newton, Newton] | Gap
    stress: Stress | Gap
    advice: Advice | Gap
    strip_pallet: Newton | Gap
    """Force that strips the tapped thread."""
    strip_stud: Newton | Gap
    breaking: Newton | Gap
    """Force at which the stud yields in tension."""
    washer: Pascal | Gap
    """Pressure under the washer at the greatest preload."""
    stretch: Metre | Gap
    turn: Radian | Gap
    wind_up: Radian | Gap
    notes: tuple[str, ...]

    def known(self, field: str) -> object:
        """A field's value; raises `NotStated` when it is a gap."""
        value = getattr(self, field)
        if isinstance(value, Gap):
            raise value.ask()
        return value
