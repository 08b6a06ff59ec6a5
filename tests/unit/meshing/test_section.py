"""A section's mesh conforms to its regions, keeps their areas and has no slivers."""

from math import cos, pi, sin

import numpy as np
import pytest

from orthostat.base.dimensions import Metre
from orthostat.meshing import MeshFault, Region, SectionMesh, mesh_section


def _box(x: float, y: float, across: float, up: float) -> tuple[tuple[float, float], ...]:
    return ((x, y), (x + across, y), (x + across, y + up), (x, y + up))


def _ring(radius: float, sides: int, at: tuple[float, float] = (0.0, 0.0)) -> tuple[tuple[float, float], ...]:
    return tuple(
        (at[0] + radius * cos(2 * pi * k / sides), at[1] + radius * sin(2 * pi * k / sides))
        for k in range(sides)
    )


def _filled(size: float) -> SectionMesh:
    """Butt-jointed plates around a fill with a void and a sleeve: the plates meet in T-joints."""
    hole, sleeve = _ring(0.06, 32), _ring(0.014, 12, (0.09, 0.09))
    return mesh_section(
        (
            Region("north", _box(-0.15, 0.125, 0.30, 0.025)),
            Region("south", _box(-0.15, -0.15, 0.30, 0.025)),
            Region("east", _box(0.125, -0.125, 0.025, 0.25)),
            Region("west", _box(-0.15, -0.125, 0.025, 0.25)),
            Region("fill", _box(-0.125, -0.125, 0.25, 0.25), (hole, sleeve)),
        ),
        Metre(size),
    )


@pytest.mark.parametrize("size", [0.03, 0.015, 0.008])
def test_areas_are_those_of_the_polygons(size: float) -> None:
    mesh = _filled(size)
    holes = 0.5 * 32 * 0.06**2 * sin(2 * pi / 32) + 0.5 * 12 * 0.014**2 * sin(2 * pi / 12)
    assert mesh.area("fill") == pytest.approx(0.25**2 - holes, abs=1e-8)
    assert mesh.area("north") == pytest.approx(0.30 * 0.025, abs=1e-9)
    assert mesh.area("east") == pytest.approx(0.25 * 0.025, abs=1e-9)


def test_triangles_are_well_shaped_and_no_larger_than_wanted() -> None:
    mesh = _filled(0.012)
    corners = mesh.points[mesh.triangles]
    edges = np.sort(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2), axis=1)
    shortest, middle, longest = edges.T
    cosine = (middle**2 + longest**2 - shortest**2) / (2 * middle * longest)
    assert np.degrees(np.arccos(cosine)).min() > 20.0
    assert longest.max() < 2.0 * 0.012


def test_every_inner_edge_has_two_triangles_and_the_boundary_closes() -> None:
    mesh = _filled(0.015)
    edges, _ = mesh.boundary_edges()
    length = np.linalg.norm(mesh.points[edges[:, 0]] - mesh.points[edges[:, 1]], axis=1).sum()
    rings = 4 * 0.30 + 32 * 2 * 0.06 * sin(pi / 32) + 12 * 2 * 0.014 * sin(pi / 12)
    assert length == pytest.approx(rings, rel=1e-6)
    assert (np.bincount(edges.ravel())[np.unique(edges)] == 2).all()
    shared = mesh.interface_edges("north", "fill")
    assert np.allclose(mesh.points[shared][:, :, 1], 0.125)
    across = np.linalg.norm(mesh.points[shared[:, 0]] - mesh.points[shared[:, 1]], axis=1).sum()
    assert across == pytest.approx(0.25)


@pytest.mark.parametrize("turn", [0.1, 0.7, 1.3, 2.9])
def test_turned_plates_meet_without_slivers(turn: float) -> None:
    def turned(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        return tuple((x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)) for x, y in points)

    mesh = mesh_section(
        (
            Region("north", turned(_box(-0.15, 0.125, 0.30, 0.025))),
            Region("west", turned(_box(-0.15, -0.125, 0.025, 0.25))),
            Region("fill", turned(_box(-0.125, -0.125, 0.25, 0.25))),
        ),
        Metre(0.012),
    )
    assert len(mesh.points) < 900
    assert mesh.areas.min() > 1e-7
    assert mesh.areas.sum() == pytest.approx(0.30 * 0.025 + 0.025 * 0.25 + 0.25**2, rel=1e-5)
    shared = mesh.interface_edges("west", "fill")
    across = np.linalg.norm(mesh.points[shared[:, 0]] - mesh.points[shared[:, 1]], axis=1).sum()
    assert across == pytest.approx(0.25, rel=1e-5)


def test_a_thin_wall_is_meshed_through() -> None:
    inside = _box(-0.097, -0.097, 0.194, 0.194)
    mesh = mesh_section((Region("wall", _box(-0.1, -0.1, 0.2, 0.2), (inside,)),), Metre(0.01))
    assert mesh.areas.sum() == pytest.approx(0.2**2 - 0.194**2, rel=1e-6)


def test_the_same_section_gives_the_same_mesh() -> None:
    first, second = _filled(0.02), _filled(0.02)
    assert np.array_equal(first.points, second.points)
    assert np.array_equal(first.triangles, second.triangles)


def test_a_region_without_area_is_refused() -> None:
    with pytest.raises(MeshFault):
        mesh_section((Region("none", ((0.0, 0.0), (1.0, 0.0), (2.0, 0.0))),), Metre(0.1))
