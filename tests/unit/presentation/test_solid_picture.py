"""What stands in front is drawn later."""

from __future__ import annotations

import numpy as np
import pytest

from orthostat.base.dimensions import Metre
from orthostat.model.bodies import Body, Polygon, Prism, Role
from orthostat.presentation import solid_picture as picture


def box(x: float, y: float, z: float, *, side: float = 0.1) -> Body:
    """A cube with its low corner at a point."""
    ring = ((x, z), (x + side, z), (x + side, z + side), (x, z + side))
    return Body("box", Role.PLATE, (Prism(Polygon(ring), Metre(y), Metre(y + side)),))


def order(*bodies: Body) -> list[int]:
    solids = [solid for body in bodies for solid in picture._solids(body, (0.0, 0.0, 0.0))]
    basis = np.array([picture.right_axis(), picture.up_axis(), picture.viewer()])
    return picture._order(solids, [solid.points @ basis.T for solid in solids], basis)


@pytest.mark.parametrize("step", [(0.1, 0.0, 0.0), (0.0, 0.1, 0.0), (0.0, 0.0, 0.1)])
def test_the_box_toward_the_viewer_is_drawn_last(step: tuple[float, float, float]) -> None:
    """The viewer stands at the right, above and in front: more x, y or z is nearer."""
    near, far = box(*step), box(0.0, 0.0, 0.0)
    assert order(near, far)[-1] == 0
    assert order(far, near)[-1] == 1


def test_a_small_box_on_a_large_one_is_never_hidden_by_it() -> None:
    large = box(0.0, 0.0, 0.0, side=1.0)
    small = [box(x, 1.0, z, side=0.05) for x in (0.05, 0.9) for z in (0.05, 0.9)]
    assert order(*small, large)[0] == 4
