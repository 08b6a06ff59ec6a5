"""What the liquid fill does to the form: pressure, bulging, collapsing and floating tubes, clamps.

Full liquid head over the deepest layer that is liquid at once (ACI 347 without reduction): a stiff,
dry mix loads a form far less, so these are upper bounds.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot, pi

from orthostat.analyses.pour.gaps import layer_depths
from orthostat.analyses.pour.inputs import Former, Inputs, Plate
from orthostat.base.constants import STANDARD_GRAVITY
from orthostat.base.dimensions import CubicMetre, Kelvin, KilogramPerCubicMetre, Metre, Newton, Pascal
from orthostat.base.findings import NotStated
from orthostat.base.showing import show_both
from orthostat.catalogue import Range, UnknownRow
from orthostat.catalogue.casting import TUBE_WALLS, TubeWallRow, assumption
from orthostat.formulas import formwork
from orthostat.model.bodies import Disc
from orthostat.model.materials import Material


@dataclass(frozen=True, slots=True)
class PlateLoad:
    """One plate under the head: middle bulge between its edges, and the force that opens its joints."""

    plate: str
    path: str
    span: Metre
    bulge: Metre | None
    """`None` where the plate's modulus is not stated."""
    force: Newton
    clamps: tuple[ClampLoad, ...]


@dataclass(frozen=True, slots=True)
class ClampLoad:
    """What one clamp of a level must hold on one plate."""

    height: Metre
    force: Newton


@dataclass(frozen=True, slots=True)
class Collapse:
    """Outside pressure at which a tube caves in, in one state of its wall."""

    state: str
    """`dry`, `damp` or `warm`."""
    pressure: Range
    """[Pa]; low for the softest wall."""
    note: str


@dataclass(frozen=True, slots=True)
class TubeLoad:
    """A tube or sleeve in the liquid fill."""

    former: Former
    pressure: Pascal
    """At its foot."""
    collapse: tuple[Collapse, ...]
    missing: tuple[str, ...]
    """Document paths that would give the collapse pressure."""
    bulge: Metre | None
    """Of a box tube's widest wall."""
    uplift_if_sealed: Newton
    uplift: Newton
    """With the mix crept under its foot, or its bottom closed; weight not taken off."""
    weight: Newton | None


@dataclass(frozen=True, slots=True)
class FormLoads:
    """Loads on the whole form."""

    head: Metre
    """Depth that is liquid at once [m]."""
    pressure: Pascal
    """At the foot of that depth."""
    density: KilogramPerCubicMetre
    plates: tuple[PlateLoad, ...]
    tubes: tuple[TubeLoad, ...]
    joints: tuple[tuple[str, Metre], ...]
    """Joints to seal and their lengths."""


def form_loads(inputs: Inputs, density: KilogramPerCubicMetre, *, warmest: Kelvin | None = None) -> FormLoads:
    """Loads of a mix of `density` [kg/m³]. `warmest` [K] is the peak of the cure, where it is known."""
    depths = layer_depths(inputs)
    head = max(depths)
    return FormLoads(
        head,
        formwork.liquid_head(density, head, STANDARD_GRAVITY),
        density,
        tuple(_plate_load(plate, inputs, density, head) for plate in inputs.plates),
        tuple(_tube_load(former, density, head, depths[0], warmest) for former in inputs.formers),
        _joints(inputs),
    )


def _edge(plate: Plate, inputs: Inputs) -> Metre:
    """Width of a plate that the fill presses on: the cavity's edge nearest to it."""
    points = inputs.cavity.points
    edges = list(zip(points, points[1:] + points[:1], strict=True))
    middle = (
        sum(x for x, _ in plate.outline.points) / len(plate.outline.points),
        sum(z for _, z in plate.outline.points) / len(plate.outline.points),
    )
    nearest = min(
        edges,
        key=lambda e: hypot(0.5 * (e[0][0] + e[1][0]) - middle[0], 0.5 * (e[0][1] + e[1][1]) - middle[1]),
    )
    return Metre(hypot(nearest[1][0] - nearest[0][0], nearest[1][1] - nearest[0][1]))


def _plate_load(plate: Plate, inputs: Inputs, density: KilogramPerCubicMetre, head: Metre) -> PlateLoad:
    span = _edge(plate, inputs)
    mean = Pascal(0.5 * formwork.liquid_head(density, head, STANDARD_GRAVITY))
    bulge = None
    material = plate.material
    if material is not None and material.youngs_modulus is not None and material.poissons_ratio is not None:
        rigidity = formwork.plate_rigidity(material.youngs_modulus, material.poissons_ratio, plate.thickness)
        bulge = formwork.held_plate_bulge(mean, rigidity, span=span, length=head)
    return PlateLoad(
        plate.name, plate.path, span, bulge, Newton(mean * head * span), _clamps(inputs, density, head, span)
    )


def _clamps(
    inputs: Inputs, density: KilogramPerCubicMetre, head: Metre, span: Metre
) -> tuple[ClampLoad, ...]:
    """Each level carries the pressure from half way to its neighbours; the head stands from the foot up.

    With several lifts each is liquid on its own, so a level is loaded by the lift it stands in; taking
    the deepest lift from the foot is the same for one go and safe for equal lifts.
    """
    clamps = inputs.pour.clamps
    if clamps is None or not clamps.heights:
        return ()
    levels = sorted(clamps.heights)
    halves = [0.5 * (a + b) for a, b in pairwise(levels)]
    bounds = [0.0, *halves, max(float(head), levels[-1])]
    loads = []
    for level, low, high in zip(levels, bounds[:-1], bounds[1:], strict=True):
        bottom, top = min(low, head), min(high, head)
        force = density * STANDARD_GRAVITY * span * ((head - bottom) ** 2 - (head - top) ** 2) / 2.0
        loads.append(ClampLoad(Metre(level), Newton(force / (clamps.per_level or 1))))
    return tuple(loads)


def _tube_load(
    former: Former,
    density: KilogramPerCubicMetre,
    head: Metre,
    first_lift: Metre,
    warmest: Kelvin | None,
) -> TubeLoad:
    tall = Metre(former.top - former.bottom)
    depth = Metre(min(head, tall))
    pressure = formwork.liquid_head(density, depth, STANDARD_GRAVITY)
    displaced = CubicMetre(_area(former) * min(first_lift, tall))
    uplift = formwork.buoyancy(density, displaced, STANDARD_GRAVITY)
    sealed = Newton(uplift if former.closed_bottom or former.sealed_foot is False else 0.0)
    collapse, missing = _collapse(former, warmest)
    mass = former.mass
    return TubeLoad(
        former, pressure, collapse, missing, _wall_bulge(former, pressure), sealed, uplift,
        None if mass is None else Newton(mass * STANDARD_GRAVITY),
    )  # fmt: skip


def _area(former: Former) -> float:
    if isinstance(former.section, Disc):
        return pi * former.section.radius**2
    points = former.section.points
    return (
        abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True)))
        / 2.0
    )


def _collapse(former: Former, warmest: Kelvin | None) -> tuple[tuple[Collapse, ...], tuple[str, ...]]:
    if not isinstance(former.section, Disc):
        return (), ()
    missing = []
    if former.wall is None:
        missing.append(f"{former.path}.wall")
    material = former.material
    if material is None or material.youngs_modulus is None or material.poissons_ratio is None:
        missing.append(f"{former.path}.material")
    if missing or material is None or former.wall is None:
        return (), tuple(missing)
    whole = _buckling(former.section, former.wall, material)
    found = [Collapse("dry", Range(whole, whole, whole), "with the wall's stated modulus")]
    row = wall_row(former)
    if row is None:
        return tuple(found), ()
    if row.damp < 1.0:
        if former.damp is not False:
            share = Range(row.damp_low, row.damp, row.damp_high)
            found.append(Collapse("damp", _scaled(whole, share), f"damp wall, {row.citation}"))
        if former.damp:
            found = found[1:]
    if (
        row.warm is not None
        and row.warm_at is not None
        and (warmest is None or warmest > 0.5 * (row.warm_at + 293.15))
    ):
        share = Range(row.warm_low or row.warm, row.warm, 1.0)
        found.append(
            Collapse(
                "warm",
                _scaled(whole, share),
                f"wall at {show_both(row.warm_at, 'temperature')}, {row.citation}",
            )
        )
    return tuple(found), ()


def wall_row(former: Former) -> TubeWallRow | None:
    """The catalogue's row on damp and warm walls for this former, by its stated row or its material."""
    for name in (former.wall_row, None if former.material is None else former.material.name):
        if name is None:
            continue
        try:
            return TUBE_WALLS.row(name)
        except UnknownRow:
            if name == former.wall_row:
                raise NotStated(
                    f"{former.path}.material", reason=f"no row of tube walls is called {name!r}"
                ) from None
    return None


def _buckling(section: Disc, wall: Metre, material: Material) -> float:
    if material.youngs_modulus is None or material.poissons_ratio is None:
        return 0.0
    radius = Metre(section.radius - 0.5 * wall)
    return formwork.long_tube_collapse(
        material.youngs_modulus, material.poissons_ratio, wall=wall, mean_radius=radius
    )


def _scaled(whole: float, share: Range) -> Range:
    return Range(whole * share.low, whole * share.likely, whole * share.high)


def _wall_bulge(former: Former, pressure: Pascal) -> Metre | None:
    material = former.material
    if isinstance(former.section, Disc) or former.wall is None or material is None:
        return None
    if material.youngs_modulus is None or material.poissons_ratio is None:
        return None
    points = former.section.points
    widest = max(
        hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(points, points[1:] + points[:1], strict=True)
    )
    rigidity = formwork.plate_rigidity(material.youngs_modulus, material.poissons_ratio, former.wall)
    return formwork.clamped_strip_bulge(pressure, rigidity, span=Metre(widest))


def safe_pressure(collapse: Collapse) -> Pascal:
    """Pressure a tube is trusted with: the softest wall's collapse over the factor for out-of-roundness."""
    return Pascal(collapse.pressure.low / assumption("collapse factor").likely)


def _joints(inputs: Inputs) -> tuple[tuple[str, Metre], ...]:
    points = inputs.cavity.points
    around = sum(
        hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(points, points[1:] + points[:1], strict=True)
    )
    tall = inputs.top - inputs.bottom
    joints = [
        (f"{len(points)} upright corner joints", Metre(len(points) * tall)),
        ("foot of the plates on the base", Metre(around)),
    ]
    joints += [(f"foot of {former.name}", former.perimeter) for former in inputs.formers]
    return tuple(joints)
