"""What a cut and its tool state together: speed, feed, material, wear; or which key is missing."""

from __future__ import annotations

from math import pi

from orthostat.analyses.loads.inputs import CutInput, Practice, Span
from orthostat.base.dimensions import Metre, Pascal, Radian, RadianPerSecond, Ratio
from orthostat.base.findings import NotStated, stated
from orthostat.formulas.cutting import rake_factor
from orthostat.model.stations import Cut
from orthostat.model.tools import Tool


def kc_constants(cut: Cut) -> tuple[Pascal, Ratio]:
    """kc1.1 and mc of what is cut."""
    material = stated(cut.material, f"{cut.path}.material")
    return material.kc11, material.mc


def speed_of(cut: Cut, tool: Tool) -> tuple[RadianPerSecond | None, str]:
    """Spindle speed, and the key path to state when it is not known (forces do not need it)."""
    if cut.spindle_speed is not None:
        return cut.spindle_speed, ""
    if cut.cutting_speed is not None and tool.diameter > 0.0:
        return RadianPerSecond(cut.cutting_speed / (0.5 * tool.diameter)), ""
    return None, f"{cut.path}.speed"


def feed_per_tooth(cut: Cut, teeth: int, speed: RadianPerSecond | None) -> Metre:
    """Feed per tooth from whichever way the feed was stated."""
    if cut.feed_per_tooth is not None:
        return cut.feed_per_tooth
    if cut.feed_per_turn is not None:
        return Metre(cut.feed_per_turn / teeth)
    if cut.feed_rate is not None:
        return Metre(cut.feed_rate * 2.0 * pi / (stated(speed, f"{cut.path}.speed") * teeth))
    raise NotStated(f"{cut.path}.feed")


def feed_per_turn(cut: Cut, teeth: int | None, speed: RadianPerSecond | None, tool: Tool) -> Metre:
    """Feed per turn from whichever way the feed was stated."""
    if cut.feed_per_turn is not None:
        return cut.feed_per_turn
    if cut.feed_per_tooth is not None:
        return Metre(cut.feed_per_tooth * stated(teeth, f"{tool.path}.teeth"))
    if cut.feed_rate is not None:
        return Metre(cut.feed_rate * 2.0 * pi / stated(speed, f"{cut.path}.speed"))
    raise NotStated(f"{cut.path}.feed")


def wear_span(tool: Tool, practice: Practice) -> Span:
    """The tool's own wear factor, or the range of practice."""
    if tool.wear_factor is not None:
        return Span(tool.wear_factor, tool.wear_factor, tool.wear_factor)
    return practice.wear


def rake_correction(given: CutInput, tool: Tool, practice: Practice) -> Ratio:
    """Factor on kc for the tool's rake; 1 where the tool or the material states no rake."""
    if tool.rake_angle is None or given.rake_reference is None:
        return Ratio(1.0)
    return rake_factor(
        rake=tool.rake_angle, reference_rake=Radian(given.rake_reference), per_radian=practice.rake_slope
    )
