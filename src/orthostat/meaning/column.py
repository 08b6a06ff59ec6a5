"""The whole column: one shop and one column document become one frozen `model.Column`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from orthostat.base.dimensions import Metre
from orthostat.document import column as documents
from orthostat.document.reading import KeyPath, key_text
from orthostat.document.shop import Shop
from orthostat.meaning.casting import pour_of
from orthostat.meaning.faces import (
    anchors_of,
    own_faces,
    patterns_of,
    pockets_of,
    set_down,
    tubes_of,
    walls_of,
)
from orthostat.meaning.fastening import Standing, fastening_of, pins_of, studs_of, with_cleats
from orthostat.meaning.faults import Faults
from orthostat.meaning.joining import joined
from orthostat.meaning.kept import kept
from orthostat.meaning.machine import machine_of, platform_of, tool_of
from orthostat.meaning.names import Names
from orthostat.meaning.plan import plan_sides
from orthostat.meaning.stations import Stage, stations_of
from orthostat.meaning.structure import (
    Structure,
    placed_polygon,
    structure_of,
    structure_set_down,
    with_cuts,
)
from orthostat.meaning.values import point, si
from orthostat.model.bodies import Body, Disc, Point2, Polygon, Prism, Role
from orthostat.model.column import BodyShape, Column, Fastening
from orthostat.model.machine import Machine, Platform
from orthostat.model.tools import Bench, Tool

if TYPE_CHECKING:
    import shapely

Part = TypeVar("Part")


@dataclass(frozen=True)
class ShopParts:
    """What a shop's columns share, worked out once."""

    tools: tuple[Tool, ...]
    bench: Bench
    machines: Mapping[str, Machine]
    pallets: Mapping[str, Platform]
    bases: Mapping[str, Platform]
    fastenings: Mapping[str, Fastening | None]
    """What holds each base."""

    @cached_property
    def tool_names(self) -> frozenset[str]:
        return frozenset(tool.name for tool in self.tools)


def shop_parts(shop: Shop, faults: Faults) -> ShopParts:
    """The shop's tools; checks every machine, platform and material of the shop as well."""
    names = Names(shop, faults)
    machines = {name: machine_of(name, machine, faults) for name, machine in shop.machines.items()}
    pallets = {name: platform_of(name, each, ("pallets", name), names) for name, each in shop.pallets.items()}
    bases: dict[str, Platform] = {}
    fastenings: dict[str, Fastening | None] = {}
    for name, base in shop.bases.items():
        path: KeyPath = ("bases", name)
        bases[name] = platform_of(name, base, path, names)
        fastenings[name] = fastening_of(base, 0.0, si(base.thickness) or 0.0, path, names)
    for name in shop.materials:
        names.material(name, ("materials", name))
    bench = shop.bench
    for index, tap in enumerate(bench.taps):
        names.thread(tap, ("bench", "taps", index))
    sizes = [tuple(size.si for size in group) for group in (bench.drills, bench.reamers, bench.counterbores)]
    tools = tuple(tool_of(name, tool, faults) for name, tool in shop.tools.items())
    made = Bench(sizes[0], sizes[1], sizes[2], bench.taps)
    return ShopParts(tools, made, machines, pallets, bases, fastenings)


def column_of(
    name: str, column: documents.Column, shop: Shop, parts: ShopParts, faults: Faults
) -> Column | None:
    """The column in SI; `None` when it can't be laid out (every fault is noted in `faults`)."""
    names = Names(shop, faults, key_text(("columns", name)) + ".")
    machine = _named(column.machine, parts.machines, ("machine",), "machine", faults)
    pallet = _named(column.pallet, parts.pallets, ("pallet",), "pallet", faults)
    base = _named(column.base, parts.bases, ("base",), "intermediate base", faults)
    riser = platform_of("riser", column.riser, ("riser",), names) if column.riser else None
    foot = sum(float(p.thickness) for p in (base, riser) if p is not None and p.thickness is not None)
    sides = plan_sides(column, pallet.outline if pallet else None, faults)
    structure = (
        structure_of(column.body, column.base_plate, column.lid, column.height, sides, foot, names)
        if sides
        else None
    )
    if structure is None:
        return None
    made = _Assembly(name, column, shop, parts, names, structure, foot)
    result = made.column(machine, pallet, base, riser)
    return None if faults.any else result


class _Assembly:
    """The steps from the own plan to the column where it stands."""

    def __init__(
        self,
        name: str,
        document: documents.Column,
        shop: Shop,
        parts: ShopParts,
        names: Names,
        structure: Structure,
        foot: float,
    ) -> None:
        self.name = name
        self.document = document
        self.shop = shop
        self.parts = parts
        self.names = names
        self.structure = structure
        self.foot = foot
        self.turn = document.turn.si if document.turn else 0.0
        self.shift: Point2 = point(document.position)
        self.v_shift = foot if document.v_from == "column foot" else 0.0

    def column(
        self, machine: Machine | None, pallet: Platform | None, base: Platform | None, riser: Platform | None
    ) -> Column:
        document, names, turn, shift = self.document, self.names, self.turn, self.shift
        own = own_faces(self.structure)
        faces = tuple(set_down(face, turn, shift) for face in own)
        stage = Stage(
            faces,
            self.v_shift,
            names,
            {**self.shop.fixtures, **document.fixtures},
            self.parts.tool_names,
            frozenset(self.shop.fixtures) - frozenset(document.fixtures),
        )
        structure, cleats = with_cleats(document.cleats, self.structure, own, self.v_shift, names)
        base_plate, heights = document.base_plate, structure.heights
        base_plate_top = None if base_plate is None else heights.foot + base_plate.thickness.si
        engaged_at = float(base.thickness or 0.0) if base else 0.0
        standing = Standing(structure, cleats, base_plate_top, engaged_at, turn, shift)
        studs = studs_of(document.studs, document.height, standing, names)
        pins = pins_of(document.pins, structure, turn, shift, names)
        tubes = tubes_of(document.tubes, structure, turn, shift, names)
        contact = contact_of(document.foot, structure, turn, shift, names)
        placed = structure_set_down(structure, turn, shift)
        walls = walls_of(placed, faces)
        patterns = patterns_of(document.patterns, walls, self.v_shift, names)
        pockets = pockets_of(document.pockets, walls, self.v_shift, names)
        anchors = anchors_of(document.anchors, walls, self.v_shift, names)
        joints = joined(
            document.joints,
            base_plate,
            document.lid,
            None if document.body is None else placed,
            faces,
            any(stud.seat_on == "top" for stud in studs.items),
            si(document.truing.depth),
            names,
        )
        fitted = (studs, pins, tubes, patterns, pockets, anchors)
        bodies = with_cuts(placed.bodies, *(each.cuts for each in fitted), joints.cuts)
        return Column(
            name=self.name,
            path=key_text(("columns", self.name)),
            shape=document.plan.shape,
            outline=placed_polygon(Polygon(structure.outer), turn, shift),
            height=Metre(heights.top),
            base_height=Metre(self.foot),
            faces=faces,
            shape_of_body=self._shape(),
            bodies=(*bodies, *anchors.bodies, *studs.bodies, *pins.bodies, *tubes.bodies, *joints.bodies),
            platforms=_platform_bodies(pallet, base, riser),
            studs=studs.items,
            pins=pins.items,
            tubes=tubes.items,
            anchors=anchors.items,
            patterns=patterns.items,
            stations=stations_of(document.stations, stage),
            machine=machine,
            pallet=pallet,
            base=base,
            riser=riser,
            tools=self.parts.tools,
            truing_depth=si(document.truing.depth),
            truing_tools=self._truing_tools(),
            base_contact=contact,
            fill_material=next((b.material for b in structure.bodies if b.role is Role.FILL), None),
            joint_friction=si(document.joint_friction),
            base_flatness=si(document.base_flatness),
            base_fastening=self._base_fastening(base),
            riser_fastening=self._riser_fastening(base, riser),
            pour=pour_of(
                document.pour,
                None if document.body is None else document.body.kind,
                tuple(tube.name for tube in document.tubes),
                names,
            ),
            bench=self.parts.bench,
            seams=joints.seams,
            joints=joints.joints,
        )

    def _base_fastening(self, base: Platform | None) -> Fastening | None:
        return None if base is None else self.parts.fastenings[base.name]

    def _riser_fastening(self, base: Platform | None, riser: Platform | None) -> Fastening | None:
        if riser is None or self.document.riser is None:
            return None
        low = float(base.thickness or 0.0) if base else 0.0
        high = low + float(riser.thickness or 0.0)
        return fastening_of(self.document.riser, low, high, ("riser",), self.names)

    def _shape(self) -> BodyShape | None:
        body, structure = self.document.body, self.structure
        if body is None:
            return None
        walls = tuple(Metre(side.wall or 0.0) for side in structure.sides) if body.kind != "solid" else ()
        if body.kind != "solid" and structure.inner is None:
            return None
        inner = placed_polygon(Polygon(structure.inner), self.turn, self.shift) if structure.inner else None
        heights = structure.heights
        corner = "mitred" if body.kind == "cored" else body.corners
        return BodyShape(
            body.kind, corner, walls, Metre(heights.wall_bottom), Metre(heights.wall_top), inner, body.bonded
        )

    def _truing_tools(self) -> tuple[str, ...] | None:
        named = self.document.truing.tools
        if named is None:
            return None
        known = [tool.name for tool in self.parts.tools]
        for index, name in enumerate(named):
            if name not in known:
                self.names.faults.unknown_name(("truing", "tools", index), "tool", name, known)
        return named


@kept(16)
def contact_of(
    foot: documents.Foot | None, structure: Structure, turn: float, shift: Point2, names: Names
) -> tuple[Polygon, ...]:
    """Where the column stands: what has its underside at the foot."""
    touching = [
        prism.section
        for body in structure.bodies
        if body.role in (Role.BASE_PLATE, Role.PLATE, Role.SOLID, Role.FILL, Role.CLEAT)
        for prism in body.adds
        if abs(prism.low - structure.heights.foot) < 1e-9 and isinstance(prism.section, Polygon)
    ]
    if foot is not None:
        outline = structure.plan_of(Role.BASE_PLATE) or Polygon(structure.outer)
        touching = _where_solid(foot_patches(foot, outline, names), touching, names)
    return tuple(placed_polygon(section, turn, shift) for section in touching)


def foot_patches(foot: documents.Foot, outline: Polygon, names: Names) -> list[Polygon]:
    """The parts of the foot that touch: a rim of a width, or pads at places."""
    import shapely

    whole = shapely.Polygon(outline.points)
    if foot.rim is not None and foot.pads is not None:
        names.faults.add(("foot",), "gives both rim and pads; keep one")
    if foot.rim is not None:
        inside = whole.buffer(-foot.rim.si, join_style="mitre")
        if inside.is_empty:
            names.faults.add(
                ("foot", "rim"), "is as wide as the foot; leave it out for a full face", f"`{foot.rim.text}`"
            )
            return [outline]
        outer, inner = list(whole.exterior.coords[:-1]), list(inside.exterior.coords[:-1])
        if len(outer) != len(inner):
            names.faults.add(("foot", "rim"), "closes up a side of the foot; make it narrower")
            return [outline]
        first = min(
            range(len(inner)),
            key=lambda i: (inner[i][0] - outer[0][0]) ** 2 + (inner[i][1] - outer[0][1]) ** 2,
        )
        inner = inner[first:] + inner[:first]
        count = len(outer)
        return [Polygon((outer[i - 1], outer[i], inner[i], inner[i - 1])) for i in range(count)]
    return _pads(foot, whole, names) if foot.pads is not None else [outline]


def _where_solid(patches: list[Polygon], solid: list[Polygon], names: Names) -> list[Polygon]:
    """What of `patches` has material over it (all are convex): a hollow foot touches on its walls only."""
    import shapely

    if not solid:
        return patches
    made = []
    for patch in patches:
        shape = shapely.Polygon(patch.points)
        met = [shape.intersection(shapely.Polygon(section.points)) for section in solid]
        parts = [part for part in met if part.geom_type == "Polygon" and part.area > 1e-9]
        if not parts:
            names.faults.add(("foot",), "touches nowhere under the column's material; it is hollow there")
        made += [Polygon(tuple(part.exterior.coords[:-1])) for part in parts]
    return made or patches


def _pads(foot: documents.Foot, whole: shapely.Polygon, names: Names) -> list[Polygon]:
    import shapely

    from orthostat.meaning.values import places

    pads = foot.pads
    if pads is None:
        return []
    made = []
    # A pad that ends at the edge, to the micrometre, is on the foot.
    reach = whole.buffer(1e-6, join_style="mitre")
    for x, z in places(pads):
        if pads.diameter is not None:
            shape = shapely.Point(x, z).buffer(0.5 * pads.diameter.si, quad_segs=6)
        else:
            a, b = 0.5 * (si(pads.width) or 0.0), 0.5 * (si(pads.depth) or si(pads.width) or 0.0)
            shape = shapely.box(x - a, z - b, x + a, z + b)
        if shape.area <= 0.0:
            names.faults.add(("foot", "pads"), "have no area; give diameter, or width and depth")
            return []
        if not reach.covers(shape):
            names.faults.add(
                ("foot", "pads"), "stand out beyond the foot", f"({1e3 * x:.6g} mm, {1e3 * z:.6g} mm)"
            )
        made.append(Polygon(tuple((px, pz) for px, pz in shape.exterior.coords[:-1])))
    if not made:
        names.faults.add(("foot", "pads"), "are nowhere; give at, grid or circle")
    return made


def _named(
    name: str | None, known: Mapping[str, Part], path: KeyPath, what: str, faults: Faults
) -> Part | None:
    if name is None:
        return None
    if name not in known:
        faults.unknown_name(path, what, name, known)
        return None
    return known[name]


_UNSTATED_THICKNESS = 0.1
"""Drawn thickness [m] of a platform whose thickness is not stated; its mass then stays unknown."""


def _platform_bodies(
    pallet: Platform | None, base: Platform | None, riser: Platform | None
) -> tuple[Body, ...]:
    level = 0.0
    bodies: list[Body] = []
    if pallet is not None:
        bodies += _platform_body(pallet, Role.PALLET, -float(pallet.thickness or _UNSTATED_THICKNESS), 0.0)
    for platform, role in ((base, Role.INTERMEDIATE_BASE), (riser, Role.RISER)):
        if platform is not None and platform.thickness is not None:
            bodies += _platform_body(platform, role, level, level + platform.thickness)
            level += platform.thickness
    return tuple(bodies)


def _platform_body(platform: Platform, role: Role, low: float, high: float) -> Iterable[Body]:
    if platform.outline is None and platform.radius is None:
        return ()
    section = platform.outline or Disc((0.0, 0.0), platform.radius or Metre(0.0))
    material = platform.material if platform.thickness is not None else None
    name = platform.name if role is not Role.RISER else "riser"
    return (
        Body(
            name,
            role,
            (Prism(section, Metre(low), Metre(high)),),
            (),
            material,
            platform.mass,
            path=platform.path,
        ),
    )
