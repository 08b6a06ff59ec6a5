"""The worked numbers in the docstrings of the casting formulas, and their limits."""

from math import inf, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orthostat.base.constants import STANDARD_GRAVITY
from orthostat.base.dimensions import (
    CubicMetre,
    JoulePerKilogram,
    JoulePerKilogramKelvin,
    JoulePerMole,
    Kelvin,
    KelvinDifference,
    KilogramPerCubicMetre,
    Metre,
    MetreToFourth,
    Newton,
    NewtonMetre,
    Pascal,
    PerSecond,
    Ratio,
    WattPerMetreKelvin,
    WattPerSquareMetreKelvin,
)
from orthostat.formulas import conduction, cure, formwork, grading, packing

SHARES = st.lists(st.floats(0.01, 1.0), min_size=2, max_size=6)


def test_packing_numbers() -> None:
    sixty = Ratio(0.6)
    two = packing.furnas_two_sizes(coarse_packing=sixty, fine_packing=sixty, fine_share=Ratio(0.2))
    assert two == pytest.approx(0.75)
    best = packing.furnas_best_fine_share(coarse_packing=sixty, fine_packing=sixty)
    assert best == pytest.approx(0.286, abs=5e-4)
    assert packing.packing_at_index(Ratio(0.74), index=Ratio(9.0)) == pytest.approx(0.666)
    assert packing.loosening_effect(np.array(0.5)) == pytest.approx(0.712, abs=5e-4)
    assert packing.wall_effect(np.array(0.5)) == pytest.approx(0.646, abs=5e-4)


@pytest.mark.parametrize("fine", [0.0, 0.1, 0.286, 0.5, 1.0])
def test_far_apart_sizes_pack_as_furnas_says(fine: float) -> None:
    sizes, each = np.array([1.0, 1e-9]), np.array([0.6, 0.55])
    shares = np.array([1.0 - fine, fine])
    furnas = packing.furnas_two_sizes(
        coarse_packing=Ratio(0.6), fine_packing=Ratio(0.55), fine_share=Ratio(fine)
    )
    compressible = packing.compressible_packing_matrix(sizes, each)
    hard = packing.compressible_packing(shares, compressible, each, Ratio(1e7))
    assert hard == pytest.approx(furnas, rel=2e-3)
    linear = packing.linear_packing(shares, packing.linear_packing_matrix(sizes, each))
    assert linear == pytest.approx(furnas, rel=1e-6)


@given(SHARES, st.floats(3.0, 20.0))
def test_equal_sizes_pack_like_one_size(weights: list[float], index: float) -> None:
    shares = np.array(weights) / sum(weights)
    each = np.full(len(shares), 0.65)
    sizes = np.full(len(shares), 0.004)
    matrix = packing.compressible_packing_matrix(sizes, each)
    found = packing.compressible_packing(shares, matrix, each, Ratio(index))
    assert found == pytest.approx(packing.packing_at_index(Ratio(0.65), index=Ratio(index)), rel=1e-9)


@given(SHARES, st.floats(3.0, 12.0))
def test_the_gradient_is_that_of_the_volume(weights: list[float], index: float) -> None:
    shares = np.array(weights) / sum(weights)
    sizes = np.array([0.008 * 0.4**k for k in range(len(shares))])
    each = np.asarray(np.linspace(0.62, 0.55, len(shares)), np.float64)
    matrix = packing.compressible_packing_matrix(sizes, each)
    volume, gradient = packing.compressible_specific_volume(shares, matrix, each, Ratio(index))
    for k in range(len(shares)):
        step = np.zeros(len(shares))
        step[k] = 1e-6
        above, _ = packing.compressible_specific_volume(shares + step, matrix, each, Ratio(index))
        below, _ = packing.compressible_specific_volume(shares - step, matrix, each, Ratio(index))
        assert (above - below) / 2e-6 == pytest.approx(gradient[k], rel=1e-4)
    assert volume > 1.0


def test_grading_numbers() -> None:
    size = np.array([4e-3])
    fuller = grading.fuller_thompson(size, largest=Metre(16e-3), exponent=Ratio(0.5))
    assert fuller == pytest.approx(0.5)
    modified = grading.modified_andreasen(
        size, smallest=Metre(63e-6), largest=Metre(16e-3), exponent=Ratio(0.37)
    )
    assert modified == pytest.approx(0.539, abs=5e-4)


def test_cure_numbers() -> None:
    hot = cure.arrhenius_factor(
        np.array(306.15), reference=Kelvin(296.15), activation_energy=JoulePerMole(55e3)
    )
    assert hot == pytest.approx(2.07, abs=5e-3)
    rate = cure.autocatalytic_rate(
        np.array(0.3), initial=np.array(1e-5), catalysed=np.array(1e-3), order=Ratio(1), final_order=Ratio(2)
    )
    assert rate == pytest.approx(1.52e-4, rel=1e-3)
    gel = cure.gel_conversion(ratio=Ratio(1.0), epoxide_functionality=2, hydrogen_functionality=4)
    assert gel == pytest.approx(0.577, abs=5e-4)
    glass = cure.glass_transition(np.array(0.7), uncured=Kelvin(238), cured=Kelvin(358), shape=Ratio(0.4))
    assert glass == pytest.approx(296, abs=0.5)
    left = cure.diffusion_factor(
        np.array(300.0), glass=np.array(300.0), width=KelvinDifference(4), lead=KelvinDifference(10)
    )
    assert left == pytest.approx(0.924, abs=5e-4)
    rise = cure.adiabatic_rise(
        resin_share=Ratio(0.22), resin_density=KilogramPerCubicMetre(1100),
        heat_of_reaction=JoulePerKilogram(420e3), mix_density=KilogramPerCubicMetre(2300),
        specific_heat=JoulePerKilogramKelvin(950),
    )  # fmt: skip
    assert rise == pytest.approx(46.5, abs=0.05)
    parameter = cure.frank_kamenetskii_parameter(
        half_size=Metre(0.02), heat_per_volume=4.6e8, rate=PerSecond(1e-5),
        activation_energy=JoulePerMole(55e3), conductivity=WattPerMetreKelvin(0.2), room=Kelvin(293),
    )  # fmt: skip
    assert parameter == pytest.approx(0.71, abs=5e-3)
    radius = cure.frank_kamenetskii_radius(2.0, half_size=Metre(0.02), parameter=0.71)
    assert radius == pytest.approx(0.0336, abs=5e-5)


def test_conduction_numbers() -> None:
    assert conduction.sphere_first_term(Ratio(1.0)).root == pytest.approx(0.5 * pi)
    flux = conduction.layered_flux(
        KelvinDifference(30),
        ((Metre(0.025), WattPerMetreKelvin(160)), (Metre(0.1), WattPerMetreKelvin(1.5))),
        (WattPerSquareMetreKelvin(8),),
    )
    assert flux == pytest.approx(156, abs=0.5)


@given(st.floats(0.05, 10.0), st.floats(0.05, 10.0), st.floats(0.01, 0.99))
def test_conductivity_bounds_never_cross_and_meet_for_equal_phases(a: float, b: float, share: float) -> None:
    low, high = sorted((WattPerMetreKelvin(a), WattPerMetreKelvin(b)))
    under = conduction.hashin_shtrikman_conductivity(matrix=low, grains=high, grain_share=Ratio(share))
    over = conduction.hashin_shtrikman_conductivity(matrix=high, grains=low, grain_share=Ratio(1.0 - share))
    assert low * (1 - 1e-9) <= under <= over * (1 + 1e-9) <= high * (1 + 2e-9)
    same = conduction.hashin_shtrikman_conductivity(matrix=low, grains=low, grain_share=Ratio(share))
    assert same == low


def test_form_numbers() -> None:
    head = formwork.liquid_head(KilogramPerCubicMetre(2300), Metre(0.6), STANDARD_GRAVITY)
    assert head == pytest.approx(13.5e3, abs=50)
    collapse = formwork.long_tube_collapse(
        Pascal(2e9), Ratio(0.3), wall=Metre(0.003), mean_radius=Metre(0.0635)
    )
    assert collapse == pytest.approx(57.9e3, abs=50)
    pressed = formwork.ring_deflection(
        Newton(100), Pascal(2e9), radius=Metre(0.06), second_moment=MetreToFourth(22.5e-12)
    )
    assert pressed == pytest.approx(0.0714, abs=5e-5)
    assert formwork.plate_rigidity(Pascal(70e9), Ratio(0.3), Metre(0.025)) == pytest.approx(100e3, rel=2e-3)
    strip = formwork.clamped_strip_bulge(Pascal(10e3), NewtonMetre(10), span=Metre(0.1))
    assert strip == pytest.approx(0.26e-3, abs=5e-6)
    uplift = formwork.buoyancy(KilogramPerCubicMetre(2300), CubicMetre(7e-3), STANDARD_GRAVITY)
    assert uplift == pytest.approx(158, abs=0.5)


def test_a_long_plate_bulges_like_a_strip() -> None:
    strip = 5.0 / 384.0
    long = formwork.held_plate_bulge(Pascal(1.0), NewtonMetre(1.0), span=Metre(1.0), length=Metre(60.0))
    assert long == pytest.approx(strip, rel=1e-4)
    either = formwork.held_plate_bulge(Pascal(1.0), NewtonMetre(1.0), span=Metre(2.0), length=Metre(1.0))
    other = formwork.held_plate_bulge(Pascal(1.0), NewtonMetre(1.0), span=Metre(1.0), length=Metre(2.0))
    assert either == other < inf
