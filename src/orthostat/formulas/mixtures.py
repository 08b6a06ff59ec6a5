"""Elastic moduli of mixtures: Hashin and Shtrikman's bounds and conversions between moduli."""

from __future__ import annotations

from orthostat.base.dimensions import KilogramPerCubicMetre, Pascal, Ratio


def bulk_modulus(youngs_modulus: Pascal, poissons_ratio: Ratio) -> Pascal:
    """K = E/(3(1 - 2ν)) of an isotropic solid.

    Reference: mavko-2020, section 2.2. Valid for -1 < ν < 0.5.

    >>> round(bulk_modulus(Pascal(60e9), Ratio(0.2)) / 1e9, 3)
    33.333
    """
    return Pascal(youngs_modulus / (3 * (1 - 2 * poissons_ratio)))


def shear_modulus(youngs_modulus: Pascal, poissons_ratio: Ratio) -> Pascal:
    """G = E/(2(1 + ν)) of an isotropic solid.

    Reference: mavko-2020, section 2.2. Valid for -1 < ν < 0.5.

    >>> shear_modulus(Pascal(60e9), Ratio(0.2)) / 1e9
    25.0
    """
    return Pascal(youngs_modulus / (2 * (1 + poissons_ratio)))


def youngs_modulus(*, bulk: Pascal, shear: Pascal) -> Pascal:
    """E = 9KG/(3K + G) of an isotropic solid.

    Reference: mavko-2020, section 2.2. Valid for K, G > 0.

    >>> round(youngs_modulus(bulk=Pascal(100e9 / 3), shear=Pascal(25e9)) / 1e9, 3)
    60.0
    """
    return Pascal(9 * bulk * shear / (3 * bulk + shear))


def poissons_ratio(*, bulk: Pascal, shear: Pascal) -> Ratio:
    """ν = (3K - 2G)/(2(3K + G)) of an isotropic solid.

    Reference: mavko-2020, section 2.2. Valid for K, G > 0.

    >>> round(poissons_ratio(bulk=Pascal(100e9 / 3), shear=Pascal(25e9)), 3)
    0.2
    """
    return Ratio((3 * bulk - 2 * shear) / (2 * (3 * bulk + shear)))


def bound_bulk(share: Ratio, *, inclusion_bulk: Pascal, matrix_bulk: Pascal, matrix_shear: Pascal) -> Pascal:
    """Hashin and Shtrikman's bound on the bulk modulus, the phase called matrix being the one around.

    K = Km + c/(1/(Ki - Km) + (1 - c)/(Km + 4Gm/3)), c the inclusions' share by volume: the lower bound
    where the matrix is the softer phase, the upper where it is the stiffer. Reference: hashin-
    shtrikman-1963, eqs.
    3.42-3.43; mavko-2020, section 4.1. Valid for two isotropic phases, 0 ≤ c ≤ 1; `ValueError` outside.

    >>> stone, resin, resin_shear = Pascal(34e9), Pascal(4e9), Pascal(1.1e9)
    >>> found = bound_bulk(Ratio(0.7), inclusion_bulk=stone, matrix_bulk=resin, matrix_shear=resin_shear)
    >>> round(found / 1e9, 2)
    11.94
    """
    _share_in_range(share)
    if inclusion_bulk == matrix_bulk:
        return matrix_bulk
    around = matrix_bulk + 4 * matrix_shear / 3
    return Pascal(matrix_bulk + share / (1 / (inclusion_bulk - matrix_bulk) + (1 - share) / around))


def bound_shear(
    share: Ratio, *, inclusion_shear: Pascal, matrix_bulk: Pascal, matrix_shear: Pascal
) -> Pascal:
    """Hashin and Shtrikman's bound on the shear modulus, the phase called matrix being the one around.

    G = Gm + c/(1/(Gi - Gm) + 6(1 - c)(Km + 2Gm)/(5Gm(3Km + 4Gm))). Reference: hashin-shtrikman-1963, eqs.
    3.44-3.45; mavko-2020, section 4.1. Valid for two isotropic phases, 0 ≤ c ≤ 1; `ValueError` outside.

    >>> stone, resin, resin_shear = Pascal(22e9), Pascal(4e9), Pascal(1.1e9)
    >>> found = bound_shear(Ratio(0.7), inclusion_shear=stone, matrix_bulk=resin, matrix_shear=resin_shear)
    >>> round(found / 1e9, 2)
    5.18
    """
    _share_in_range(share)
    if inclusion_shear == matrix_shear:
        return matrix_shear
    around = 5 * matrix_shear * (3 * matrix_bulk + 4 * matrix_shear)
    slack = 6 * (1 - share) * (matrix_bulk + 2 * matrix_shear) / around
    return Pascal(matrix_shear + share / (1 / (inclusion_shear - matrix_shear) + slack))


def _share_in_range(share: Ratio) -> None:
    if not 0 <= share <= 1:
        raise ValueError("a share lies between 0 and 1")


def porous_bulk(porosity: Ratio, *, solid_bulk: Pascal, solid_shear: Pascal) -> Pascal:
    """Upper bound on the bulk modulus of a solid with empty pores: K = 4GK(1 - p)/(4G + 3Kp).

    The bound above with inclusions of no stiffness. Reference: hashin-shtrikman-1963. Valid for 0 ≤ p ≤ 1.

    >>> round(porous_bulk(Ratio(0.1), solid_bulk=Pascal(4e9), solid_shear=Pascal(1.1e9)) / 1e9, 3)
    2.829
    """
    _share_in_range(porosity)
    top = 4 * solid_shear * solid_bulk * (1 - porosity)
    return Pascal(top / (4 * solid_shear + 3 * solid_bulk * porosity))


def porous_shear(porosity: Ratio, *, solid_bulk: Pascal, solid_shear: Pascal) -> Pascal:
    """Upper bound on the shear modulus of a solid with empty pores: G(1 - p)/(1 + p·6(K + 2G)/(9K + 8G)).

    The bound above with inclusions of no stiffness. Reference: hashin-shtrikman-1963. Valid for 0 ≤ p ≤ 1.

    >>> round(porous_shear(Ratio(0.1), solid_bulk=Pascal(4e9), solid_shear=Pascal(1.1e9)) / 1e9, 3)
    0.914
    """
    _share_in_range(porosity)
    pull = 6 * (solid_bulk + 2 * solid_shear) / (9 * solid_bulk + 8 * solid_shear)
    return Pascal(solid_shear * (1 - porosity) / (1 + porosity * pull))


def density_of_mixture(
    shares: tuple[Ratio, ...], densities: tuple[KilogramPerCubicMetre, ...]
) -> KilogramPerCubicMetre:
    """Density from shares by volume: ρ = Σ c·ρ; shares may leave room for air.

    Reference: conservation of mass. Valid for shares that add to one at most; `ValueError` otherwise.

    >>> stone, resin = KilogramPerCubicMetre(2650.0), KilogramPerCubicMetre(1150.0)
    >>> round(density_of_mixture((Ratio(0.7), Ratio(0.25)), (stone, resin)), 1)
    2142.5
    """
    if len(shares) != len(densities) or sum(shares) > 1 + 1e-9:
        raise ValueError("as many shares as densities, adding to one at most")
    total = shares[0] * densities[0]
    for share, density in zip(shares[1:], densities[1:], strict=True):
        total = total + share * density
    return KilogramPerCubicMetre(total)
