"""Preload of one stud: what the torque gives, how far it scatters, what is lost, what it stresses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from math import pi
from typing import TypeVar

from orthostat.analyses.hold.fastener import Fastener, Layer, Losses, Thread
from orthostat.analyses.hold.tightening import Preload, Spread, Stress
from orthostat.base.dimensions import (
    KelvinDifference,
    Metre,
    MetrePerNewton,
    Newton,
    Pascal,
    Radian,
    Ratio,
    SquareMetre,
)
from orthostat.base.findings import Gap, NotStated, known, stated
from orthostat.formulas import bolting

Value = TypeVar("Value")


def _or_gap(make: Callable[[], Value]) -> Value | Gap:
    try:
        return make()
    except NotStated as gap:
        return Gap(gap.missing, gap.reason)


@lru_cache(maxsize=512)
def tightened(fastener: Fastener, losses: Losses, utilisation: Ratio) -> Preload:
    """The whole chain for one fastener; never raises for what is missing. Studs that differ in name and
    place alone are worked out once, so nothing in it may tell of either.
    """
    alike = _tightened(replace(fastener, name="", at=(0.0, 0.0)), losses, utilisation)
    return replace(alike, fastener=fastener)


@lru_cache(maxsize=512)
def _tightened(fastener: Fastener, losses: Losses, utilisation: Ratio) -> Preload:
    notes: list[str] = []
    assembled = _or_gap(lambda: _assembled(fastener))
    stud = _or_gap(lambda: _stud_resilience(fastener))
    clamped = _or_gap(lambda: _clamped_resilience(fastener))
    compliance = _or_gap(lambda: _loss_compliance(stud, clamped, notes))
    embedding = _or_gap(lambda: _embedding(fastener, losses, known(compliance)))
    thermal = _or_gap(lambda: _thermal(fastener, losses, known(stud), known(clamped)))
    creep = _or_gap(lambda: _creep(fastener, losses, known(assembled), known(stud), known(clamped)))
    working = _or_gap(lambda: _working(fastener, known(assembled), known(embedding), thermal, creep, notes))
    strip_pallet = _or_gap(lambda: _strip_internal(fastener))
    breaking = _or_gap(lambda: Newton(_yield(fastener) * _thread(fastener).stress_area))
    advice = _or_gap(lambda: _advice(fastener, utilisation, strip_pallet))
    return Preload(
        fastener=fastener,
        assembled=assembled,
        working=working,
        stud_resilience=stud,
        clamped_resilience=clamped,
        embedding_loss=embedding,
        thermal=thermal,
        creep_loss=creep,
        stress=_or_gap(lambda: _stress(fastener, utilisation)),
        advice=advice,
        strip_pallet=strip_pallet,
        strip_stud=_or_gap(lambda: _strip_external(fastener)),
        breaking=breaking,
        washer=_or_gap(lambda: _washer(fastener, known(assembled).greatest)),
        stretch=_or_gap(lambda: bolting.stretch(known(assembled).mean, known(stud))),
        turn=_or_gap(
            lambda: bolting.turn_of_nut(
                known(assembled).mean,
                stud=known(stud),
                clamped=known(clamped),
                pitch=_thread(fastener).pitch,
            )
        ),
        wind_up=_or_gap(lambda: _wind_up(fastener, known(assembled).mean)),
        notes=tuple(dict.fromkeys(notes)),
    )


def _thread(fastener: Fastener) -> Thread:
    if fastener.thread is None:
        raise NotStated(fastener.key("thread"), reason=fastener.thread_fault)
    return fastener.thread


def _yield(fastener: Fastener) -> Pascal:
    if fastener.yield_strength is None:
        raise NotStated(fastener.key("grade"), reason=fastener.grade_fault)
    return fastener.yield_strength


def reaches(fastener: Fastener) -> bool:
    """Whether the thread engages at all; a stud that does not clamps nothing."""
    return fastener.engaged is None or fastener.engaged > 0.0


def _assembled(fastener: Fastener) -> Spread:
    """As tightened: by torque and least friction, by nut factor, or by a stated mean preload.

    The stated friction is the least, so torque over it gives the greatest preload; the least is that
    over the scatter of the method. A nut factor and a stated preload are means. A stud can hold no
    more than yields it.
    """
    if not reaches(fastener):
        return Spread(Newton(0.0), Newton(0.0), Newton(0.0))
    alpha = fastener.scatter
    if alpha is None:
        raise NotStated(*_untold(fastener))
    if fastener.preload is not None:
        mean = fastener.preload
    elif fastener.torque is None:
        raise NotStated(*_untold(fastener))
    elif fastener.nut_factor is not None:
        mean = bolting.nut_factor_preload(
            fastener.torque, fastener.nut_factor, diameter=_thread(fastener).nominal
        )
    else:
        thread = _thread(fastener)
        greatest = bolting.preload_from_torque(
            fastener.torque,
            thread_friction=stated(fastener.thread_friction, fastener.key("thread_friction")),
            head_friction=stated(fastener.head_friction, fastener.key("head_friction")),
            pitch=thread.pitch,
            pitch_diameter=thread.pitch_diameter,
            bearing_diameter=_bearing(fastener),
        )
        return _capped(fastener, greatest, alpha)
    return _capped(fastener, Newton(mean * 2.0 * alpha / (1.0 + alpha)), alpha)


def _untold(fastener: Fastener) -> tuple[str, ...]:
    """What is not said of how it is tightened."""
    loose = fastener.preload is None and fastener.torque is None
    fields = (
        *(("torque", "preload") if loose else ()),
        *(("tightening",) if fastener.scatter is None else ()),
    )
    return tuple(fastener.key(each) for each in fields)


def _capped(fastener: Fastener, greatest: Newton, alpha: Ratio) -> Spread:
    least = bolting.scattered_least(greatest, alpha)
    if fastener.yield_strength is not None and fastener.thread is not None:
        most = fastener.yield_strength * fastener.thread.stress_area
        greatest, least = Newton(min(greatest, most)), Newton(min(least, most))
    return Spread(least, Newton(0.5 * (least + greatest)), greatest)


def _bearing(fastener: Fastener) -> Metre:
    return bolting.mean_bearing_diameter(
        outside=stated(fastener.bearing_outside, fastener.key("washer")),
        inside=stated(fastener.hole, fastener.key("hole")),
    )


def _stud_resilience(fastener: Fastener) -> MetrePerNewton:
    thread = _thread(fastener)
    modulus = stated(fastener.modulus, fastener.key("material"))
    free = stated(fastener.free_length, fastener.key("grip"))
    mating = stated(fastener.mating_modulus, fastener.mating_path)
    shank = 0.25 * pi * thread.nominal**2
    rod = bolting.rod_resilience(modulus, length=free, area=thread.root_area)
    foot = bolting.engaged_thread_resilience(
        youngs_modulus=modulus,
        mating_modulus=mating,
        diameter=thread.nominal,
        root_area=thread.root_area,
        shank_area=SquareMetre(shank),
        nut=False,
    )
    top = bolting.engaged_thread_resilience(
        youngs_modulus=modulus,
        mating_modulus=modulus,
        diameter=thread.nominal,
        root_area=thread.root_area,
        shank_area=SquareMetre(shank),
        nut=True,
    )
    return MetrePerNewton(rod + foot + top)


def _seat(fastener: Fastener) -> tuple[Metre, Metre]:
    """Outside and inside diameter over which the washer presses on what is under it."""
    hole = stated(fastener.hole, fastener.key("hole"))
    bearing = stated(fastener.bearing_outside, fastener.key("washer"))
    if fastener.washer_outside is None or fastener.washer_thickness is None:
        return bearing, hole
    spread = bolting.spread_diameter(outside=bearing, thickness=fastener.washer_thickness)
    return Metre(min(spread, fastener.washer_outside)), hole


def _layers(fastener: Fastener) -> tuple[Layer, ...]:
    if not fastener.layers:
        raise NotStated(fastener.key("seat"), reason="what is clamped is not known")
    return fastener.layers


def layer_resilience(fastener: Fastener) -> tuple[MetrePerNewton, ...]:
    """Resilience of each clamped layer under the pressure cone from the washer down."""
    layers = _layers(fastener)
    small, hole = _seat(fastener)
    length = sum(layer.thickness for layer in layers)
    wide = max(stated(fastener.available_diameter, fastener.key("at")), small)
    tangent = bolting.cone_tangent_tapped(length=Metre(length), seat=small, available=Metre(wide))
    found: list[MetrePerNewton] = []
    here = small
    for layer in layers:
        modulus = stated(layer.modulus, layer.key("youngs_modulus"))
        if layer.area is not None:
            found.append(bolting.rod_resilience(modulus, length=layer.thickness, area=layer.area))
            here = Metre(wide)
            continue
        found.append(MetrePerNewton(0.0))
        grown = bolting.cone_large_end(small=here, thickness=layer.thickness, tangent=tangent)
        inside_cone = layer.thickness if grown <= wide else Metre(max(0.0, (wide - here) / (2.0 * tangent)))
        end = Metre(min(grown, wide))
        for part, large in ((inside_cone, end), (Metre(layer.thickness - inside_cone), end)):
            start = here if large > here and part is inside_cone else end
            if part > 0.0:
                found[-1] = MetrePerNewton(
                    found[-1]
                    + bolting.frustum_resilience(modulus, hole=hole, small=start, large=large, thickness=part)
                )
        here = end
    return tuple(found)


def _clamped_resilience(fastener: Fastener) -> MetrePerNewton:
    return MetrePerNewton(sum(layer_resilience(fastener)))


def _loss_compliance(
    stud: MetrePerNewton | Gap, clamped: MetrePerNewton | Gap, notes: list[str]
) -> tuple[MetrePerNewton, MetrePerNewton]:
    if isinstance(clamped, Gap):
        notes.append("what is clamped is taken as rigid for losses, the side of more loss")
        return known(stud), MetrePerNewton(0.0)
    return known(stud), clamped


def _embedding(
    fastener: Fastener, losses: Losses, compliance: tuple[MetrePerNewton, MetrePerNewton]
) -> Newton:
    depth = losses.embedding
    total = depth.thread * (2 if fastener.nut else 1) + depth.seat + depth.interface * fastener.interfaces
    return bolting.embedding_loss(Metre(total), stud=compliance[0], clamped=compliance[1])


def _thermal(
    fastener: Fastener, losses: Losses, stud: MetrePerNewton, clamped: MetrePerNewton
) -> tuple[Newton, Newton]:
    """Over ± the temperature range; the fill growing on its own, as the plates, and as both bonded."""
    half = stated(losses.temperature, losses.temperature_path)
    own = stated(fastener.expansion, fastener.key("material"))
    layers = _layers(fastener)
    length = Metre(sum(layer.thickness for layer in layers))
    changes: list[Newton] = []
    for change in (KelvinDifference(half), KelvinDifference(-half)):
        stud_grows = bolting.thermal_growth(own, length=length, change=change)
        for instead in (None, *fastener.bonded_expansions):
            parts_grow = sum(
                bolting.thermal_growth(
                    stated(layer.expansion, layer.key("expansion"))
                    if instead is None or not layer.creeps
                    else instead,
                    length=layer.thickness,
                    change=change,
                )
                for layer in layers
            )
            changes.append(
                bolting.thermal_change(
                    parts_growth=Metre(parts_grow), stud_growth=stud_grows, stud=stud, clamped=clamped
                )
            )
    return Newton(min(changes)), Newton(max(changes))


def _creep(
    fastener: Fastener, losses: Losses, assembled: Spread, stud: MetrePerNewton, clamped: MetrePerNewton
) -> tuple[Newton, Newton]:
    """Loss as the resin-bound layers creep to φ times their elastic shortening, low and high."""
    soft = sum(
        each
        for each, layer in zip(layer_resilience(fastener), _layers(fastener), strict=True)
        if layer.creeps
    )
    share = soft / (stud + clamped)
    low, high = (assembled.mean * share * factor for factor in (losses.creep.low, losses.creep.high))
    return Newton(low), Newton(high)


def _working(
    fastener: Fastener,
    assembled: Spread,
    embedding: Newton,
    thermal: tuple[Newton, Newton] | Gap,
    creep: tuple[Newton, Newton] | Gap,
    notes: list[str],
) -> Spread:
    if not reaches(fastener):
        return assembled
    cold, hot = (Newton(0.0), Newton(0.0)) if isinstance(thermal, Gap) else thermal
    if isinstance(thermal, Gap):
        notes.append("change of preload with temperature is not in the working preload: it is not known")
    least_creep, most_creep = (Newton(0.0), Newton(0.0)) if isinstance(creep, Gap) else creep
    if isinstance(creep, Gap):
        notes.append("creep of the clamped stack is not in the working preload: it is not known")
    least = max(0.0, assembled.least - embedding - most_creep + cold)
    mean = max(0.0, assembled.mean - embedding - 0.5 * (least_creep + most_creep))
    return Spread(Newton(least), Newton(mean), Newton(assembled.greatest + hot))


def _stress(fastener: Fastener, utilisation: Ratio) -> Stress:
    """At the greatest preload that the torque would give, before any cap at yield."""
    thread, strength = _thread(fastener), _yield(fastener)
    greatest = _uncapped(fastener)
    tension = bolting.axial_stress(greatest, thread.stress_area)
    shear = Pascal(0.0)
    if fastener.twisted:
        shank = bolting.thread_torque(
            greatest,
            stated(fastener.thread_friction, fastener.key("thread_friction")),
            pitch=thread.pitch,
            pitch_diameter=thread.pitch_diameter,
        )
        shear = bolting.plastic_torsion_stress(shank, stress_area=thread.stress_area)
    return Stress(
        tension,
        shear,
        bolting.equivalent_stress(tension=tension, shear=shear),
        Pascal(utilisation * strength),
    )


def _uncapped(fastener: Fastener) -> Newton:
    return _assembled(replace(fastener, yield_strength=None)).greatest


def _advice(fastener: Fastener, utilisation: Ratio, strip: Newton | Gap) -> bolting.Advice:
    """The torque whose greatest preload is the least of what stud, thread and seat allow."""
    thread = _thread(fastener)
    thread_friction = stated(fastener.thread_friction, fastener.key("thread_friction"))
    head_friction = stated(fastener.head_friction, fastener.key("head_friction"))
    stud = bolting.tightening_preload(
        _yield(fastener),
        utilisation=utilisation,
        thread_friction=thread_friction,
        stress_area=thread.stress_area,
        pitch=thread.pitch,
        pitch_diameter=thread.pitch_diameter,
    )
    limits = [(stud, f"{utilisation:.0%} of the stud's yield while it is tightened")]
    if not isinstance(strip, Gap):
        limits.append((Newton(utilisation * strip), f"{utilisation:.0%} of what strips the tapped thread"))
    if fastener.seat_limit is not None:
        outside, inside = _seat(fastener)
        area = 0.25 * pi * (outside**2 - inside**2)
        limits.append((Newton(fastener.seat_limit * area), "pressure under the washer"))
    preload, why = min(limits)
    torque = bolting.tightening_torque(
        preload,
        thread_friction=thread_friction,
        head_friction=head_friction,
        pitch=thread.pitch,
        pitch_diameter=thread.pitch_diameter,
        bearing_diameter=_bearing(fastener),
    )
    return bolting.Advice(preload, torque, why)


def _strip_internal(fastener: Fastener) -> Newton:
    thread = _thread(fastener)
    area = bolting.internal_shear_area(
        engagement=Metre(max(0.0, stated(fastener.engaged, fastener.key("engagement")))),
        pitch=thread.pitch,
        major_diameter=thread.nominal,
        mating_pitch_diameter=thread.pitch_diameter,
    )
    return bolting.stripping_force(stated(fastener.mating_shear, fastener.mating_path), area)


def _strip_external(fastener: Fastener) -> Newton:
    thread = _thread(fastener)
    area = bolting.external_shear_area(
        engagement=Metre(max(0.0, stated(fastener.engaged, fastener.key("engagement")))),
        pitch=thread.pitch,
        minor_diameter=thread.minor_diameter,
        pitch_diameter=thread.pitch_diameter,
    )
    return bolting.stripping_force(stated(fastener.stud_shear, fastener.key("grade")), area)


def _washer(fastener: Fastener, force: Newton) -> Pascal:
    outside, inside = _seat(fastener)
    if outside <= inside:
        raise NotStated(
            fastener.key("washer"),
            reason="the hole is as wide as what presses on it",
        )
    return bolting.washer_pressure(force, outside=outside, inside=inside)


def _wind_up(fastener: Fastener, preload: Newton) -> Radian:
    thread = _thread(fastener)
    shank = bolting.thread_torque(
        preload,
        stated(fastener.thread_friction, fastener.key("thread_friction")),
        pitch=thread.pitch,
        pitch_diameter=thread.pitch_diameter,
    )
    return bolting.wind_up(
        shank,
        stated(fastener.shear_modulus, fastener.key("material")),
        length=stated(fastener.free_length, fastener.key("grip")),
        diameter=bolting.stress_area_diameter(thread.root_area),
    )
