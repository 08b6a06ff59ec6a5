"""Screws and dowels of one joint that are alike: thread, walls, and the torque they bear."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pi
from typing import TypeVar

from orthostat import catalogue
from orthostat.analyses.joining.inputs import Inputs
from orthostat.analyses.joining.walls import beside
from orthostat.base.dimensions import Metre, Newton, Pascal, Ratio
from orthostat.base.findings import Gap, NotStated, known, stated
from orthostat.base.frames import Vector
from orthostat.catalogue.practice import practice
from orthostat.formulas import bolting, threads
from orthostat.formulas import joining as formulas
from orthostat.model.bodies import Body
from orthostat.model.joining import Joiner, Joint
from orthostat.model.materials import Material


@dataclass(frozen=True, slots=True)
class Group:
    """Joiners of one joint between pieces of the same thickness and material, by one that stands for all."""

    joint: Joint
    joiner: Joiner
    count: int
    wall: Metre
    """Least distance of a hole's axis from a side of the plate it is bored into."""
    cover: Metre
    """Least room from the rim of hole and recess to a side of the piece that they go through."""
    proof: Newton | Gap
    strip: Newton | Gap
    advice: bolting.Advice | Gap
    bearing: Metre
    """Mean diameter of the friction under the head."""

    @property
    def subject(self) -> str:
        """Whose row it is: the joiner and the seam."""
        many = "" if self.count == 1 else f" and {self.count - 1} alike"
        return f"{self.joiner.name}, {self.joiner.seam.name}{many}"


def groups(inputs: Inputs) -> tuple[Group, ...]:
    """Every kind of screw and dowel, in the order of the document."""
    made = []
    for joint in inputs.joints:
        alike: dict[object, list[Joiner]] = {}
        for each in joint.joiners:
            inner = inputs.body(each.seam.inner)
            key = (each.seam.kind, round(each.through, 7), round(each.gap, 7), each.fit,
                   round(each.engaged, 7), inner.material, inputs.body(each.seam.outer).material)  # fmt: skip
            alike.setdefault(key, []).append(each)
        made += [_group(joint, same, inputs) for same in alike.values()]
    return tuple(made)


def _group(joint: Joint, same: list[Joiner], inputs: Inputs) -> Group:
    walls = [(beside(each.bored, inputs.body(each.seam.inner), inward(each)), each) for each in same]
    wall, worst = min(walls, key=lambda pair: pair[0])
    inner, outer = inputs.body(worst.seam.inner), inputs.body(worst.seam.outer)
    strip = _or_gap(lambda: _strip(worst, inner))
    bearing = bolting.mean_bearing_diameter(outside=worst.head_diameter, inside=_hole(worst))
    cover = min(_cover(each, inputs.body(each.seam.outer)) for each in same)
    return Group(
        joint, worst, len(same), Metre(wall), Metre(cover), _or_gap(lambda: _proof(joint, worst)), strip,
        _or_gap(lambda: _advice(joint, worst, strip, outer, bearing)), bearing,
    )  # fmt: skip


def _cover(joiner: Joiner, outer: Body) -> float:
    """Room from the rims of a joiner's way through the covering piece to that piece's sides [m]."""
    prisms = [prism for prism in (joiner.counterbore, joiner.hole) if prism is not None]
    toward = inward(joiner)
    return min(
        beside(prism, outer, toward) - float(getattr(prism.section, "radius", 0.0)) for prism in prisms
    )


def inward(joiner: Joiner) -> Vector:
    """The direction in which a screw is driven."""
    first = joiner.counterbore if joiner.counterbore is not None else joiner.hole
    third = first.frame.third
    sign = -1.0 if first.high > joiner.bored.high else 1.0
    return (sign * third[0], sign * third[1], sign * third[2])


Figure = TypeVar("Figure")


def _or_gap(work: Callable[[], Figure]) -> Figure | Gap:
    try:
        return work()
    except NotStated as gap:
        return Gap(gap.missing, gap.reason)


def _hole(joiner: Joiner) -> Metre:
    radius = getattr(joiner.hole.section, "radius", 0.0)
    return Metre(2.0 * radius)


def band_of(joint: Joint, joiner: Joiner) -> catalogue.StrengthBand:
    """Strengths of the screw's class at its size; raises `NotStated`."""
    grade = stated(joint.grade, f"{joint.path}.grade")
    found = catalogue.property_class(grade).band(joiner.diameter)
    if found is None:
        raise NotStated(
            f"{joint.path}.grade", reason=f"{grade} is not made in {joiner.thread or 'this size'}"
        )
    return found


def use_of(joint: Joint, screw: Joiner, *, tension: Newton, shear: Newton) -> Ratio:
    """Share of what a screw bears that a load takes, its thread in the seam; raises `NotStated`."""
    strength = band_of(joint, screw).tensile_strength
    area = catalogue.thread(screw.thread or "").stress_area
    factor = Ratio(practice("partial factor of screws").likely)
    return formulas.combined_use(
        shear=shear,
        shear_resistance=formulas.screw_shear_resistance(
            strength,
            stress_area=area,
            shear_share=practice("screw shear over tensile strength").low,
            partial_factor=factor,
        ),
        tension=tension,
        tension_resistance=formulas.screw_tension_resistance(
            strength,
            stress_area=area,
            tension_share=practice("screw tension over tensile strength").likely,
            partial_factor=factor,
        ),
    )


def _proof(joint: Joint, joiner: Joiner) -> Newton:
    band, thread = band_of(joint, joiner), catalogue.thread(joiner.thread or "")
    proof = stated(band.proof, f"{joint.path}.grade")
    return threads.proof_load(proof_stress=proof, stress_area=thread.stress_area)


def _strip(joiner: Joiner, inner: Body) -> Newton:
    if joiner.thread is None:
        raise NotStated(reason="a dowel has no thread")
    thread = catalogue.thread(joiner.thread)
    area = bolting.internal_shear_area(
        engagement=joiner.engaged,
        pitch=thread.pitch,
        major_diameter=thread.nominal,
        mating_pitch_diameter=thread.pitch_diameter,
    )
    return bolting.stripping_force(stated(_shear(inner.material), inner.property_key("shear_strength")), area)


def _shear(material: Material | None) -> Pascal | None:
    """Shear strength of a material, or the least share of its tensile strength."""
    if material is None:
        return None
    if material.shear_strength is not None or material.tensile_strength is None:
        return material.shear_strength
    return Pascal(material.tensile_strength * practice("pin shear strength over tensile strength").low)


def _advice(joint: Joint, joiner: Joiner, strip: Newton | Gap, outer: Body, bearing: Metre) -> bolting.Advice:
    band, thread = band_of(joint, joiner), catalogue.thread(joiner.thread or "")
    thread_friction = stated(joint.thread_friction, f"{joint.path}.thread_friction")
    head_friction = stated(joint.head_friction, f"{joint.path}.head_friction")
    share = Ratio(practice("tightening utilisation").likely)
    screw = bolting.tightening_preload(
        band.yield_strength,
        utilisation=share,
        thread_friction=thread_friction,
        stress_area=thread.stress_area,
        pitch=thread.pitch,
        pitch_diameter=thread.pitch_diameter,
    )
    limits = [
        (screw, f"{share:.0%} of the screw's yield while it is tightened"),
        (Newton(share * known(strip)), f"{share:.0%} of what strips the tapped thread"),
    ]
    limit = None if outer.material is None else outer.material.bearing_limit
    if limit is not None:
        area = 0.25 * pi * (joiner.head_diameter**2 - _hole(joiner) ** 2)
        limits.append((Newton(limit * area), "pressure under the head"))
    preload, why = min(limits)
    torque = bolting.tightening_torque(
        preload,
        thread_friction=thread_friction,
        head_friction=head_friction,
        pitch=thread.pitch,
        pitch_diameter=thread.pitch_diameter,
        bearing_diameter=bearing,
    )
    return bolting.Advice(preload, torque, why)
