"""The quick half of a pour: volumes, gaps, mix, shopping list and form loads, in milliseconds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from orthostat.analyses.pour.form import FormLoads, form_loads
from orthostat.analyses.pour.gaps import Gap, gaps, layer_depths
from orthostat.analyses.pour.inputs import Inputs
from orthostat.analyses.pour.mix import Mix, mix
from orthostat.analyses.pour.purchase import Item, purchase
from orthostat.analyses.pour.volumes import Volumes, volumes
from orthostat.base.dimensions import Metre
from orthostat.base.findings import NotStated, Value


@dataclass(frozen=True)
class Result:
    """What `solve` gives. Parts that lack an input are `None`; `known_mix()` and its like raise why."""

    inputs: Inputs
    volumes: Volumes
    gaps: tuple[Gap, ...]
    layers: tuple[Metre, ...]
    """Depth of each lift, bottom first [m]."""
    mix: Mix | None
    items: tuple[Item, ...] | None
    form: FormLoads | None
    why_no_mix: NotStated | None = None
    why_no_items: NotStated | None = None

    def known_mix(self) -> Mix:
        """The mix; raises `NotStated` naming what it lacks."""
        return or_why(self.mix, self.why_no_mix)

    def known_items(self) -> tuple[Item, ...]:
        """The shopping list; raises `NotStated` naming what it lacks."""
        return or_why(self.items, self.why_no_mix or self.why_no_items)

    def known_form(self) -> FormLoads:
        """The form loads; raises `NotStated` naming what they lack."""
        return or_why(self.form, self.why_no_mix)


def solve(inputs: Inputs) -> Result:
    """The quick answers. Raises `NotStated` for a cavity with no net volume."""
    room = volumes(inputs)
    passages = gaps(inputs)
    layers = layer_depths(inputs)
    blend, why = attempt(lambda: mix(inputs, passages, min(layers)))
    if blend is None:
        weighed = None if inputs.fill is None else inputs.fill.density
        form = None if weighed is None else form_loads(inputs, weighed)
        return Result(inputs, room, passages, layers, None, None, form, why)
    items, why_items = attempt(lambda: purchase(inputs.pour, blend, room.net))
    form = form_loads(inputs, blend.used.likely.density)
    return Result(inputs, room, passages, layers, blend, items, form, None, why_items)


def attempt(question: Callable[[], Value]) -> tuple[Value | None, NotStated | None]:
    """The answer and no reason, or no answer and the reason."""
    try:
        return question(), None
    except NotStated as gap:
        return None, gap


def or_why(value: Value | None, why: NotStated | None) -> Value:
    """The value; raises the reason why there is none."""
    if value is None:
        raise why if why is not None else NotStated(reason="not known")
    return value
