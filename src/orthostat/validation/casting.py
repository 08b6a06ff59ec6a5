"""Forms under a liquid fill, and the fill as a material, beside published values."""

from __future__ import annotations

from orthostat.analyses.pour.filling import two_phase_modulus
from orthostat.base.dimensions import (
    Metre,
    MetreToFourth,
    Newton,
    NewtonMetre,
    Pascal,
    Ratio,
    WattPerMetreKelvin,
)
from orthostat.formulas import conduction, formwork, mixtures
from orthostat.validation.cases import case


def _bulge(ratio: float) -> float:
    return formwork.held_plate_bulge(Pascal(1.0), NewtonMetre(1.0), span=Metre(1.0), length=Metre(ratio))


@case("middle of a square plate, p b⁴/D times", expected=0.00406, unit="1",
      source="timoshenko-plates-1959, table 8", tolerance=5e-6, reason="five places")  # fmt: skip
def _plate_square() -> float:
    return _bulge(1.0)


@case("middle of a plate 1.5 : 1, p b⁴/D times", expected=0.00772, unit="1",
      source="timoshenko-plates-1959, table 8", tolerance=5e-6, reason="five places")  # fmt: skip
def _plate_half_longer() -> float:
    return _bulge(1.5)


@case("middle of a plate 2 : 1, p b⁴/D times", expected=0.01013, unit="1",
      source="timoshenko-plates-1959, table 8", tolerance=5e-6, reason="five places")  # fmt: skip
def _plate_double() -> float:
    return _bulge(2.0)


@case("middle of a plate 3 : 1, p b⁴/D times", expected=0.01223, unit="1",
      source="timoshenko-plates-1959, table 8", tolerance=5e-6, reason="five places")  # fmt: skip
def _plate_triple() -> float:
    return _bulge(3.0)


@case("shortening of a pressed ring, F R³/(E I) times", expected=0.149, unit="1",
      source="timoshenko-gere-1961, section 7.1; roark-7, table 9.2 case 1", tolerance=5e-4,
      reason="three places")  # fmt: skip
def _pressed_ring() -> float:
    return formwork.ring_deflection(
        Newton(1.0), Pascal(1.0), radius=Metre(1.0), second_moment=MetreToFourth(1.0)
    )


@case("collapse of a long steel tube, 60 mm by 1 mm", expected=2.096e6, unit="Pa",
      source="timoshenko-gere-1961, section 7.5: 3 E I/((1 - ν²) r³), worked by hand",
      relative=5e-4, reason="four figures")  # fmt: skip
def _collapse() -> float:
    return formwork.long_tube_collapse(Pascal(206e9), Ratio(0.3), wall=Metre(1e-3), mean_radius=Metre(0.03))


@case("conductivity of 60 % of grains ten times as conductive, lower bound over the matrix", expected=3.4545,
      unit="1", source="hashin-shtrikman-1962, equal to Maxwell's formula of 1873",
      tolerance=5e-4, reason="worked by hand: (12 + 10.8)/(12 - 5.4) = 3.4545")  # fmt: skip
def _maxwell() -> float:
    return conduction.hashin_shtrikman_conductivity(
        matrix=WattPerMetreKelvin(1.0), grains=WattPerMetreKelvin(10.0), grain_share=Ratio(0.6)
    )


@case(
    "Young's modulus of 82 % granite in epoxy with 1 % of air, half way between the bounds",
      expected=33.0, unit="GPa", source="mckeown-morgan-1979, epoxy granite for machine bases, from memory",
      tolerance=8.0, reason="published mixes span 25 to 40 GPa; the bounds lie 20 GPa apart")  # fmt: skip
def _epoxy_granite() -> float:
    resin = (
        mixtures.bulk_modulus(Pascal(3.2e9), Ratio(0.36)),
        mixtures.shear_modulus(Pascal(3.2e9), Ratio(0.36)),
    )
    pores = Ratio(0.01 / 0.18)
    soft = (
        mixtures.porous_bulk(pores, solid_bulk=resin[0], solid_shear=resin[1]),
        mixtures.porous_shear(pores, solid_bulk=resin[0], solid_shear=resin[1]),
    )
    stone = (
        mixtures.bulk_modulus(Pascal(55e9), Ratio(0.23)),
        mixtures.shear_modulus(Pascal(55e9), Ratio(0.23)),
    )
    low = two_phase_modulus(Ratio(0.82), inside=stone, around=soft)
    high = two_phase_modulus(Ratio(0.18), inside=soft, around=stone)
    return 0.5e-9 * (low + high)
