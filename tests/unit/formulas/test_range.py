"""Outside its range a formula raises; inside, orderings that must hold do hold."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orthostat.base.dimensions import Metre
from orthostat.formulas import fits, sections, threads

NOMINAL = st.floats(min_value=1e-3, max_value=0.2)
SHARE = st.floats(min_value=0.01, max_value=0.25)


@given(NOMINAL, SHARE)
def test_thread_diameters_are_in_order(nominal: float, share: float) -> None:
    d, p = Metre(nominal), Metre(nominal * share)
    pitch = threads.pitch_diameter(nominal=d, pitch=p)
    minor = threads.internal_minor_diameter(nominal=d, pitch=p)
    root = threads.external_minor_diameter(nominal=d, pitch=p)
    assert 0 < root < minor < pitch < d


@given(NOMINAL, SHARE)
def test_metric_and_unified_areas_lie_between_root_and_pitch_circle(nominal: float, share: float) -> None:
    d, p = Metre(nominal), Metre(nominal * share)
    root = sections.ring_area(outside=threads.external_minor_diameter(nominal=d, pitch=p), inside=Metre(0.0))
    middle = sections.ring_area(outside=threads.pitch_diameter(nominal=d, pitch=p), inside=Metre(0.0))
    assert root < threads.stress_area_unified(nominal=d, pitch=p) < middle
    assert root < threads.stress_area_metric(nominal=d, pitch=p) < middle


def test_out_of_range_raises() -> None:
    with pytest.raises(ValueError, match="500 mm"):
        fits.tolerance_factor(Metre(0.6))
    with pytest.raises(ValueError, match="long_side"):
        sections.rectangle_torsion_constant(long_side=Metre(1.0), short_side=Metre(2.0))
