"""Pictures: escaping, rounding, views, charts and the rasteriser."""

import itertools
from xml.etree import ElementTree

import pytest

from orthostat.presentation import chart, marks, svg

SPACE = "{http://www.w3.org/2000/svg}"


def test_words_and_attributes_are_escaped() -> None:
    picture = svg.document(10, 10, svg.text((1, 2), 'a < b & "c"'), title="<t>", description="d'\"")
    root = ElementTree.fromstring(picture)
    assert root.findtext(f"{SPACE}title") == "<t>"
    assert [node.text for node in root.iter(f"{SPACE}text")] == ['a < b & "c"']


def test_attribute_values_cannot_leave_their_quotes() -> None:
    made = svg.element("line", stroke='"/><script>').render()
    assert ElementTree.fromstring(made).get("stroke") == '"/><script>'


@pytest.mark.parametrize(("value", "text"), [(1.0, "1"), (-0.001, "0"), (2.345678, "2.35"), (100.0, "100")])
def test_numbers_are_short_and_never_minus_zero(value: float, text: str) -> None:
    assert svg.number(value) == text


def test_view_turns_y_upward_and_keeps_proportions() -> None:
    view = svg.View.fitting((0.0, 0.0), (2.0, 1.0), box=(10.0, 20.0, 200.0, 200.0))
    assert view.point((0.0, 0.0)) == pytest.approx((10.0, 170.0))
    assert view.point((2.0, 1.0)) == pytest.approx((210.0, 70.0))
    assert view.length(0.5) == pytest.approx(50.0)


def test_every_verdict_has_its_own_mark() -> None:
    signs = {marks.sign(verdict, (0.0, 0.0)).render() for verdict in ("holds", "tight", "fails", "unknown")}
    assert len(signs) == 4


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(0.0, 10.0, [0, 2, 4, 6, 8, 10]), (-0.3, 0.31, [-0.2, 0.0, 0.2])],
)
def test_ticks_are_round_and_inside(low: float, high: float, expected: list[float]) -> None:
    assert chart.ticks(low, high) == pytest.approx(expected)


def test_chart_draws_lines_apart_without_colour() -> None:
    lines = tuple(chart.Line(f"l{k}", ((0.0, 0.0), (1.0, float(k)))) for k in range(4))
    root = ElementTree.fromstring(chart.Chart("t", "x", "y", lines).render())
    drawn = list(root.iter(f"{SPACE}polyline"))
    assert len({node.get("stroke-dasharray") for node in drawn}) == 4


@pytest.mark.parametrize("long", [5, 30, 70])
def test_the_key_of_a_chart_runs_over_nothing(long: int) -> None:
    names = ("likely damping", "low damping", "high damping", "n" * long)
    lines = tuple(chart.Line(name, ((0.0, 0.0), (1.0, 1.0))) for name in names)
    root = ElementTree.fromstring(chart.Chart("t", "x", "limit depth, mm", lines).render())
    spans: dict[float, list[tuple[float, float]]] = {}
    for node in root.iter(f"{SPACE}text"):
        if node.text in (*names, "limit depth, mm"):
            x, sign = float(node.get("x", "0")), 0.0 if node.text == "limit depth, mm" else 30.0
            spans.setdefault(float(node.get("y", "0")), []).append((x - sign, x + 6.0 * len(node.text or "")))
    assert sum(len(row) for row in spans.values()) == 5
    for row in spans.values():
        ordered = sorted(row)
        assert ordered[0][0] >= 60.0
        assert all(a[1] <= b[0] for a, b in itertools.pairwise(ordered))


def test_png_has_the_picture_s_size_and_ink() -> None:
    raster = pytest.importorskip("orthostat.presentation.raster")
    pytest.importorskip("resvg_py")
    picture = svg.document(30, 20, svg.text((2, 15), "Mm", size=14.0), title="t", description="d")
    blank = svg.document(30, 20, title="t", description="d")
    made = raster.png(picture)
    assert made[:8] == b"\x89PNG\r\n\x1a\n"
    assert (int.from_bytes(made[16:20], "big"), int.from_bytes(made[20:24], "big")) == (60, 40)
    assert len(made) > len(raster.png(blank))
