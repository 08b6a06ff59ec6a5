"""Write `units_known.json`: everyday unit spellings resolved by pint ahead of time.

Run `python -m orthostat.base.units_table` after changing `units.txt`.
"""

from __future__ import annotations

import json
from pathlib import Path

from orthostat.base.units import KINDS, Resolved, resolve_with_pint

SPELLINGS = ["m", "mm", "cm", "um", "in", "inch", "inches", "ft", "thou", "mil", "micron", "m^2", "mm^2", "cm^2", "in^2", "ft^2", "m^3", "mm^3", "cm^3", "in^3", "ft^3", "L", "litre", "ml", "gal", "qt", "m^4", "mm^4", "in^4", "rad", "deg", "arcmin", "arcsec", "s", "sec", "min", "minutes", "h", "hr", "hours", "day", "days", "week", "weeks", "Hz", "kHz", "1/s", "m/s", "m/min", "mm/min", "mm/s", "ft/min", "sfm", "in/min", "ipm", "mm/rev", "in/rev", "ipr", "mm/tooth", "in/tooth", "ipt", "m/rev", "m/tooth", "m/s^2", "mm/s^2", "ft/s^2", "in/s^2", "g0", "rpm", "rev/min", "1/min", "rev/s", "rev/s^2", "rad/s", "deg/s", "rad/s^2", "deg/s^2", "g", "kg", "t", "tonne", "lb", "lbs", "oz", "kg/m^3", "g/cm^3", "lb/in^3", "lb/ft^3", "kg/L", "kg*m^2", "kg*mm^2", "kg*cm^2", "lb*ft^2", "lb*in^2", "N", "kN", "lbf", "kgf", "kip", "N*m", "Nm", "kN*m", "N*mm", "ft*lbf", "lbf*ft", "ft*lb", "in*lbf", "lbf*in", "Pa", "kPa", "MPa", "GPa", "bar", "psi", "ksi", "Msi", "N/mm^2", "kN/mm^2", "MPa/mm", "Pa/m", "psi/in", "N/m", "N/mm", "N/um", "kN/mm", "lbf/in", "m/N", "um/N", "um/kN", "in/lbf", "N*m/rad", "kN*m/rad", "in*lbf/rad", "ft*lbf/rad", "Pa*s", "mPa*s", "W", "kW", "hp", "J", "kJ", "J/kg", "kJ/kg", "Btu/lb", "J/mol", "kJ/mol", "J/(kg*K)", "W/(m*K)", "W/m/K", "W/(m^2*K)", "K", "1/K", "um/(m*K)", "ppm/K", "percent", "1", "currency", "currency/kg", "currency/lb", "currency/m", "currency/ft", "currency/m^2", "currency/ft^2", "currency/m^3", "currency/L", "currency/gal", "currency/h", "currency/s", "currency/piece"]


def known_units() -> dict[str, Resolved]:
    """Every spelling of the list and every unit of every kind, resolved by pint."""
    spellings = dict.fromkeys(SPELLINGS)
    for kind in KINDS.values():
        spellings.update(
            dict.fromkeys((kind.si, *kind.metric, *kind.inch, *(unit for pair in kind.also for unit in pair)))
        )
    return {text: resolve_with_pint(text) for text in spellings if text not in ("degC", "degF")}


if __name__ == "__main__":
    rows = [f"{json.dumps(text)}: {json.dumps(list(found))}" for text, found in known_units().items()]
    Path(__file__).with_name("units_known.json").write_text(
        "{\n" + ",\n".join(rows) + "\n}\n", encoding="utf-8", newline="\n"
    )
