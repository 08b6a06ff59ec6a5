"""What must hold of any design: volumes add up, order and turning change nothing, more is never less."""

from dataclasses import replace
from math import cos, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

import columns
from evaluations import Limits, findings
from orthostat.analyses import solids
from orthostat.analyses.solids import body_moments, prism_moments
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.findings import Finding, Verdict
from orthostat.base.frames import PLAN, face_frame
from orthostat.model.bodies import Body, Disc, Polygon, Prism, Role
from orthostat.model.column import Column

SIZES = st.floats(0.02, 0.5)
PLACES = st.floats(-0.5, 0.5)


def sector(radius: float, sides: int, a: float, b: float) -> Polygon:
    return Polygon(
        tuple(
            (a + radius * sin(2 * pi * k / sides), b + radius * cos(2 * pi * k / sides)) for k in range(sides)
        )
    )


SECTIONS = st.one_of(
    st.builds(lambda r, a, b: Disc((a, b), Metre(r)), SIZES, PLACES, PLACES),
    st.builds(sector, SIZES, st.integers(3, 9), PLACES, PLACES),
)
FRAMES = st.one_of(
    st.just(PLAN), st.builds(lambda t, d: face_frame(Radian(t), Metre(d)), st.floats(0, 6.2), PLACES)
)
PRISMS = st.builds(
    lambda s, low, height, frame: Prism(s, Metre(low), Metre(low + height), frame),
    SECTIONS,
    PLACES,
    SIZES,
    FRAMES,
)


@given(PRISMS, st.floats(0.05, 0.95))
def test_the_parts_of_a_prism_add_up_to_the_whole(prism: Prism, share: float) -> None:
    cut = Metre(prism.low + share * (prism.high - prism.low))
    parts = Body("parts", Role.SOLID, (replace(prism, high=cut), replace(prism, low=cut)))
    whole = prism_moments(prism)
    assert body_moments(parts) == pytest.approx(whole, rel=1e-9, abs=1e-12)


@given(PRISMS)
def test_a_prism_is_lighter_by_its_hole(prism: Prism) -> None:
    section = prism.section
    if isinstance(section, Disc):
        core = replace(prism, section=Disc(section.centre, Metre(0.5 * section.radius)))
    else:
        middle = tuple(sum(axis) / len(section.points) for axis in zip(*section.points, strict=True))
        halved = tuple((0.5 * (a + middle[0]), 0.5 * (b + middle[1])) for a, b in section.points)
        core = replace(prism, section=Polygon(halved))
    holed = body_moments(Body("holed", Role.SOLID, (prism,), (core,)))
    assert holed.total == pytest.approx(0.75 * prism_moments(prism).total)
    inertia = holed.inertia
    for k in range(3):
        assert 0.0 < inertia[k][k] < inertia[k - 1][k - 1] + inertia[k - 2][k - 2]


@given(PRISMS)
def test_the_centre_of_gravity_lies_within_the_extents(prism: Prism) -> None:
    box = solids.body_extents(Body("one", Role.SOLID, (prism,)))
    x, y, z = prism_moments(prism).centre
    assert box.x_low < x < box.x_high
    assert box.y_low < y < box.y_high
    assert box.z_low < z < box.z_high
    assert (x * x + z * z) ** 0.5 < box.radius


BUILDS = (columns.square_filled, columns.slab, columns.hexagon, columns.triangle)


def told(found: dict[str, Finding]) -> dict[str, tuple[Verdict, float | None]]:
    return {slug: (one.verdict, one.margin) for slug, one in found.items()}


@pytest.mark.parametrize("build", BUILDS)
def test_findings_do_not_depend_on_the_order_of_parts(build: object) -> None:
    column: Column = build()  # type: ignore[operator]
    backward = replace(
        column,
        bodies=column.bodies[::-1],
        studs=column.studs[::-1],
        pins=column.pins[::-1],
        anchors=column.anchors[::-1],
        patterns=column.patterns[::-1],
        stations=column.stations[::-1],
        tools=column.tools[::-1],
    )
    expected = told(findings(column))
    for slug, (verdict, margin) in told(findings(backward)).items():
        assert verdict is expected[slug][0], slug
        assert margin == pytest.approx(expected[slug][1], abs=1e-9), slug


@pytest.mark.parametrize(
    ("build", "sides"), [(columns.square_filled, 4), (columns.slab, 2), (columns.hexagon, 6)]
)
def test_turning_a_regular_column_by_one_face_changes_no_finding(build: object, sides: int) -> None:
    plain: Column = build()  # type: ignore[operator]
    turned: Column = build(turn=2 * pi / sides)  # type: ignore[operator]
    expected = told(findings(plain))
    for slug, (verdict, margin) in told(findings(turned)).items():
        if slug == "body.foot_on_pallet" and sides == 6:
            continue  # the square pallet turns with the test column
        assert verdict is expected[slug][0], slug
        assert margin == pytest.approx(expected[slug][1], abs=1e-9), slug


@given(st.floats(0.0, 0.3), st.floats(0.0, 0.3))
def test_more_travel_never_leaves_less_room(less: float, more: float) -> None:
    column = columns.slab()
    assert column.machine is not None
    small, large = sorted((less, more))

    def margin(extra: float) -> float:
        assert column.machine is not None
        machine = replace(column.machine, x_low=Metre(-0.05 - extra), x_high=Metre(0.05 + extra))
        rows = findings(replace(column, machine=machine))["fit.travel"].rows
        return min(row.value for row in rows if row.value is not None)

    assert margin(large) >= margin(small) - 1e-12


@given(st.floats(0.2, 1.5))
def test_a_taller_column_never_stands_better(height: float) -> None:
    def tip(tall: float) -> float | None:
        found = findings(columns.square_filled(height=tall), Limits())["handling.tip_over_bench"]
        return next(row.value for row in found.rows if row.subject == "the bare column")

    lower, higher = tip(height), tip(height + 0.05)
    assert lower is not None
    assert higher is not None
    assert higher < lower
