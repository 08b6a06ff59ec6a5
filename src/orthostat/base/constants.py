"""Numbers that are fixed by definition, not measured: they carry no uncertainty."""

from __future__ import annotations

from orthostat.base.dimensions import MetrePerSecondSquared

STANDARD_GRAVITY = MetrePerSecondSquared(9.80665)
"""Standard acceleration of free fall (si-brochure-9; ISO 80000-3)."""
GAS_CONSTANT = 8.31446261815324
"""R [J/(mol K)], exact by the SI of 2019 (si-brochure-9, section 2.2)."""
