"""Can the fill be mixed, poured and held by its form?"""

from __future__ import annotations

import re
from typing import Any

from orthostat.base.findings import Answers, Measured, Open, Sense, finding, stated
from orthostat.base.showing import show_both
from orthostat.catalogue.casting import assumption
from orthostat.model.bodies import Role

BEYOND_DOUBT = 20.0
"""A sleeve trusted with this many times its pressure is not asked after."""
_ACI = "aci-318-19, 26.4.2.1(a)(5), by analogy with concrete"
_HEAD = "aci-347-14, section 2.2.2: full liquid head, no reduction"


def has_fill(evaluation: Any) -> bool:
    """Whether there is anything to pour."""
    return any(body.role is Role.FILL for body in evaluation.column.bodies)


@finding(
    "pour.gap",
    question="Does the largest stone pass between everything in the form?",
    wanted="each gap wide enough for the largest stone of the mix",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_ACI,
    hangs_on="pour",
    levers=("tubes.outside", "anchors.length", "anchors.rows", "pour.aggregates"),
)
def gap(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    result = evaluation.pour
    stone = result.known_mix().used.largest
    rows: list[Measured | Open] = []
    for passage in result.gaps[:12]:
        needed = stone / passage.share
        change = passage.change_for(stone)
        takes = show_both(passage.largest_stone, "length")
        why = f"passes a stone of {takes}; the mix has {show_both(stone, 'length')}"
        if change > 0.0:
            why += f"; {passage.opens} {show_both(change, 'length')}, or leave out the coarsest aggregate"
        rows.append(Measured(passage.clear, needed, why, " – ".join(passage.between), (passage.path,)))
    return rows


@finding(
    "pour.layer_depth",
    question="Is every layer deep enough for the largest stone?",
    wanted="depth of each layer at least three times the largest stone",
    sense=Sense.AT_LEAST,
    kind="length",
    source=_ACI,
    hangs_on="pour.lifts",
    levers=("pour.lifts", "pour.aggregates"),
)
def layer_depth(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    result = evaluation.pour
    needed = result.known_mix().used.largest / assumption("stone against layer").likely
    return [
        Measured(depth, needed, "depth of the layer", f"lift {number}")
        for number, depth in enumerate(result.layers, 1)
    ]


@finding(
    "pour.dry_stone",
    question="Is the stone dry enough for the resin?",
    wanted="moisture of each aggregate at most what the resin allows",
    sense=Sense.AT_MOST,
    kind="share",
    source="the shop's stated limit",
    hangs_on="pour.aggregates",
    levers=("aggregates.moisture",),
)
def dry_stone(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    rows: list[Measured | Open] = []
    for part in evaluation.pour.known_mix().used.parts:
        aggregate = part.aggregate
        if part.mass_share <= 0.0 or aggregate.moisture_limit is None:
            continue
        moisture = stated(aggregate.moisture, f"{aggregate.path}.moisture")
        why = (
            "spread it and warm it until its weight stops falling"
            if moisture > aggregate.moisture_limit
            else "dry"
        )
        limit = aggregate.moisture_limit
        rows.append(Measured(moisture, limit, why, aggregate.name, scale=limit if limit > 0.0 else 1e-3))
    return rows or None


@finding(
    "pour.enough_resin",
    question="Does my recipe hold enough resin to fill the voids?",
    wanted="resin of the recipe at least what the packed stone leaves open",
    sense=Sense.AT_LEAST,
    kind="share",
    source="de-larrard-1999, chapter 1: compressible packing model",
    hangs_on="pour.recipe",
    levers=("pour.recipe.resin", "pour.recipe.parts", "pour.compaction"),
)
def enough_resin(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    mix = evaluation.pour.known_mix()
    if mix.own is None or mix.own_lacks is None:
        return None
    has = mix.own.likely.resin
    low = 100.0 * mix.spread
    why = f"by volume of the mix; packing models are good to some {low:.0f} % of the voids: make a trial cube"
    return Measured(has, has + mix.own_lacks, why, depends_on=("pour.recipe.resin",))


@finding(
    "pour.packing_models_agree",
    question="Is the spread I state for the voids wide enough?",
    wanted="two published packing models within the stated spread of each other",
    sense=Sense.AT_MOST,
    kind="share",
    source="de-larrard-1999, chapter 1; stovall-1986",
    hangs_on="pour.aggregates",
    levers=("pour.spread",),
    tight=0.0,
)
def packing_models_agree(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    mix = evaluation.pour.known_mix()
    if evaluation.pour.inputs.pour.spread is None:
        return None
    blend = mix.used
    apart = abs(blend.packing - blend.packing_other) / blend.voids
    words = (
        f"voids {blend.voids:.3f} by the compressible, {1.0 - blend.packing_other:.3f} by the linear model"
    )
    return Measured(apart, mix.spread, words, depends_on=("pour.spread",))


@finding(
    "pour.plate_bulge",
    question="Does a plate bulge under the liquid fill by more than is trued off?",
    wanted="bulge of each plate at most the depth of the truing cut",
    sense=Sense.AT_MOST,
    kind="length",
    source=f"{_HEAD}; timoshenko-plates-1959, section 30",
    hangs_on="body.plate",
    levers=("body.plate", "truing.depth", "pour.lifts"),
)
def plate_bulge(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    form = evaluation.pour.known_form()
    limit = stated(evaluation.column.truing_depth, f"{evaluation.column.path}.truing.depth")
    rows: list[Measured | Open] = []
    for plate in form.plates:
        if plate.bulge is None:
            rows.append(Open("the plate's modulus is not stated", plate.plate, (f"{plate.path}.material",)))
        else:
            why = "middle of the plate, held along its four edges, under the full head"
            rows.append(Measured(plate.bulge, limit, why, plate.plate, scale=limit if limit > 0.0 else 1e-4))
    return rows or None


@finding(
    "pour.clamps",
    question="Do the clamps keep the joints shut?",
    wanted="force of each clamp at least what the fill pushes with",
    sense=Sense.AT_LEAST,
    kind="force",
    source=_HEAD,
    hangs_on="pour.clamps",
    levers=("pour.clamps.force", "pour.clamps.heights", "pour.clamps.per_level"),
)
def clamps(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    form = evaluation.pour.known_form()
    path = f"{evaluation.pour.inputs.pour.path}.clamps"
    held = stated(evaluation.pour.inputs.pour.clamps, path)
    force = stated(held.force, f"{path}.force")
    worst: dict[float, tuple[float, str]] = {}
    for plate in form.plates:
        for load in plate.clamps:
            if load.force > worst.get(load.height, (-1.0, ""))[0]:
                worst[load.height] = (load.force, plate.plate)
    rows = []
    for height, (need, plate) in sorted(worst.items()):
        why = f"{plate} pushes with {show_both(need, 'force')} on one clamp"
        rows.append(
            Measured(force, need, why, f"level at {show_both(height, 'length')}", scale=max(need, 1.0))
        )
    return rows or None


@finding(
    "pour.tube_collapse",
    question="Does a void tube cave in under the liquid fill?",
    wanted="pressure at the tube's foot at most what its softest wall is trusted with",
    sense=Sense.AT_MOST,
    kind="pressure",
    source=f"{_HEAD}; timoshenko-gere-1961, section 7.5; roark-7, table 15.2 case 19",
    hangs_on="tubes",
    levers=("tubes.wall", "tubes.outside", "tubes.stuffed", "pour.lifts"),
)
def tube_collapse(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    factor = assumption("collapse factor").likely
    rows: list[Measured | Open] = []
    for tube in evaluation.pour.known_form().tubes:
        name = tube.former.name
        if tube.former.stuffed:
            continue
        if tube.missing:
            rows.append(Open("not stated: " + ", ".join(tube.missing), name, tube.missing))
        for state in tube.collapse:
            trusted = state.pressure.low / factor
            if tube.former.kind == "sleeve" and trusted > BEYOND_DOUBT * tube.pressure:
                continue
            caves = show_both(state.pressure.low, "pressure")
            why = f"caves in at {caves} when {state.state}, trusted with 1/{factor:g} of it"
            if tube.pressure > trusted:
                why += "; stuff it with dry sand, or take a thicker or smaller tube"
            rows.append(Measured(tube.pressure, trusted, why, f"{name}, {state.state}", (tube.former.path,)))
    return rows or None


@finding(
    "pour.tube_bulge",
    question="Does the wall of a box tube bulge too far under the liquid fill?",
    wanted="bulge of the wall at most half its thickness",
    sense=Sense.AT_MOST,
    kind="length",
    source=f"{_HEAD}; roark-7, table 8.1 case 2d; limit common practice, no source",
    hangs_on="tubes",
    levers=("tubes.wall", "tubes.outline", "tubes.stuffed"),
)
def tube_bulge(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    share = assumption("tube bulge").likely
    return [
        Measured(
            tube.bulge, share * tube.former.wall, "widest wall, built in at its corners", tube.former.name
        )
        for tube in evaluation.pour.known_form().tubes
        if tube.bulge is not None and not tube.former.stuffed
    ] or None


@finding(
    "pour.uplift",
    question="Is every tube held down against floating?",
    wanted="hold-down and weight of each tube at least its uplift once mix has crept under its foot",
    sense=Sense.AT_LEAST,
    kind="force",
    source="archimedes; common practice, no source: void tubes and sleeves must be held down",
    hangs_on="pour.tubes",
    levers=("pour.tubes.hold_down", "tubes.outside", "pour.lifts"),
)
def uplift(evaluation: Any) -> Answers:
    if not has_fill(evaluation):
        return None
    rows: list[Measured | Open] = []
    pour = evaluation.pour.inputs.pour
    for tube in evaluation.pour.known_form().tubes:
        weight = tube.weight or 0.0
        sealed = (
            "nothing while its foot stays sealed"
            if tube.uplift_if_sealed == 0.0
            else "the same from the start"
        )
        lifted, held = show_both(tube.uplift, "force"), show_both(weight, "force")
        need = f"{lifted} of uplift once mix creeps under it ({sealed}), {held} of weight"
        if weight >= tube.uplift:
            rows.append(Measured(weight, tube.uplift, need, tube.former.name))
        elif tube.former.hold_down is None:
            name = tube.former.name
            bare = name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else f'"{name}"'
            path = f"{pour.path}.tubes.{bare}.hold_down"
            rows.append(Open(f"{need}; not stated: {path}", tube.former.name, (path,)))
        else:
            rows.append(Measured(tube.former.hold_down + weight, tube.uplift, need, tube.former.name))
    return rows or None
