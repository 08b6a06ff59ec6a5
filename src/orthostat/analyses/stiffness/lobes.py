"""Stability of milling against the column's own response: limit depth and lobes, zeroth order.

Altintas and Budak's solution in its three-dimensional form (altintas-2001): the directional matrix is
averaged over the engagement, and the eigenvalues of (directional matrix × dynamic compliance) give depth and
speed at the limit. With an entering angle of 90° it is the plane solution of altintas-budak-1995.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations
from math import cos, pi, sin

import numpy as np

from orthostat.analyses.stiffness.inputs import CutForce, Milling, ToolMode
from orthostat.analyses.stiffness.response import Ports
from orthostat.analyses.stiffness.section import Complexes, Floats, Indices
from orthostat.base.dimensions import Metre, MetrePerNewton, Radian, RadianPerSecond
from orthostat.formulas.chatter import limit_depth

FEEDS = 6
"""Directions of feed tried, over half a turn, where the cut does not state one."""
GAUSS = 48
SPEEDS = 240
UNLIMITED = 1e3
"""A limit deeper than this [m] is rounding of none."""


@dataclass(frozen=True, slots=True)
class Limit:
    """Lowest limit depth of a milling cut over all speeds [m]; infinite where nothing limits.

    frequency: of the chatter there [rad/s]. feed: the direction of feed that is worst.
    """

    lowest: Metre
    frequency: RadianPerSecond
    feed: Radian


@dataclass(frozen=True, slots=True)
class Lobes:
    """Limit depth over spindle speed: speeds (n,) [rad/s], depths (n,) [m], infinite where unlimited."""

    speeds: Floats
    depths: Floats


@lru_cache(maxsize=1)
def _gauss() -> tuple[Floats, Floats]:
    node, weight = np.polynomial.legendre.leggauss(GAUSS)
    return node, weight


def directional_matrix(milling: Milling) -> Floats:
    """(3, 3): α, twice the integral over the engagement of force per chip thickness times thickness.

    Axes: x along the feed, y normal to it in the plane of the cut, z along the spindle away from the work. A
    tooth at φ cuts chip thickness (Δx sin φ + Δy cos φ) sin κ - Δz cos κ over an edge of depth/sin κ.
    """
    node, weight = _gauss()
    half = 0.5 * (milling.exit - milling.entry)
    angle = milling.entry + half * (node + 1.0)
    s, c = np.sin(angle), np.cos(angle)
    sk, ck = sin(milling.entering), cos(milling.entering)
    zero, one = np.zeros_like(s), np.ones_like(s)
    normal = np.stack([s * sk, c * sk, -ck * one])
    tangent = np.stack([c, -s, zero])
    along = np.stack([-s * ck, -c * ck, -sk * one])
    force = -(tangent + milling.radial * normal + milling.axial * along) / sk
    return np.asarray(2.0 * half * np.einsum("ai,bi,i->ab", force, normal, weight))


def view_axes(cut: CutForce, feed: float) -> Floats:
    """(3, 3): rows feed, normal to feed, spindle axis away from the work, in the body's frame."""
    across, out = np.asarray(cut.across), np.asarray(cut.out)
    up = np.array([0.0, 1.0, 0.0])
    along = cos(feed) * across + sin(feed) * up
    normal = -sin(feed) * across + cos(feed) * up
    return np.stack([along, normal, out])


def frequencies(ports: Ports, tool: ToolMode | None, *, points: int = 33, between: int = 140) -> Floats:
    """Circular frequencies (n,) [rad/s]: `points` dense about every mode, `between` over the whole span."""
    roots = np.sqrt(np.clip(ports.squares, 1.0, None))
    widths = np.maximum(ports.loss, 2e-3) / 2.0
    if tool is not None:
        roots = np.append(roots, 2.0 * pi * tool.frequency)
        widths = np.append(widths, max(tool.damping, 1e-3))
    spread, share = _spread(points), _shares(between)
    near = roots[:, None] * (1.0 + spread * np.minimum(0.5, 120.0 * widths)[:, None])
    low, high = 0.2 * roots.min(), 1.5 * roots.max()
    span = low * (high / low) ** share
    return np.unique(np.concatenate([near.ravel(), span]))


@lru_cache(maxsize=4)
def _spread(count: int) -> Floats:
    """From -1 to 1, close about 0."""
    return np.asarray(np.sinh(np.linspace(-6.0, 6.0, count)) / np.sinh(6.0))


@lru_cache(maxsize=4)
def _shares(count: int) -> Floats:
    return np.linspace(0.0, 1.0, count)


def response(ports: Ports, cut: CutForce, circular: Floats, tool: ToolMode | None, feed: float) -> Complexes:
    """(n, 3, 3) compliance between tool and work in the cut's axes [m/N]."""
    axes = view_axes(cut, feed)
    work = axes @ ports.harmonic(cut.place, cut.at, circular) @ axes.T
    return np.asarray(work + _tool_side(circular, tool))


def limit(ports: Ports, cut: CutForce, milling: Milling, *, tool: ToolMode | None = None) -> Limit:
    """Lowest limit depth over all speeds; of the worst feed where none is stated."""
    return limits(ports, ((cut, milling),), tool=tool)[0]


def limits(
    ports: Ports, asked: Sequence[tuple[CutForce, Milling]], *, tool: ToolMode | None = None
) -> tuple[Limit, ...]:
    """The lowest limit depth of each cut and mill, over all speeds and feeds that are not stated.

    The largest real part is sought on a grid about the modes, then closed in on, for every feed by itself.
    """
    if not asked:
        return ()
    feeds = [_feeds(milling) for _, milling in asked]
    factors = _Invariants.of(np.concatenate([_by_feed(milling) for _, milling in asked])[..., None] + 0j)
    owner = np.repeat(np.arange(len(asked)), [len(each) for each in feeds])
    seen = _Seen.of(ports, [cut for cut, _ in asked], tool)
    circular = frequencies(ports, tool, points=15, between=30)
    # cuts that try as many feeds each share what they feel of the body among these
    alike = len(feeds[0]) if len({len(each) for each in feeds}) == 1 else 1
    grid, replies = (
        np.broadcast_to(circular, (len(owner), len(circular))),
        seen.replies(circular, owner[::alike]),
    )
    each = np.arange(len(owner))
    for closer in (True, True, False):
        real = _largest_real(factors, replies)
        worst = np.argmax(real, axis=1)
        best, at = real[each, worst], grid[each, worst]
        if closer:
            low, high = (
                grid[each, np.maximum(worst - 1, 0)],
                grid[each, np.minimum(worst + 1, real.shape[1] - 1)],
            )
            grid = low[:, None] + (high - low)[:, None] * _shares(9)
            replies = seen.replies(grid, owner)
    order = np.lexsort((np.concatenate(feeds), at, best))
    made = []
    for number, (_, milling) in enumerate(asked):
        hardest = int(order[owner[order] == number][-1])
        feed = np.concatenate(feeds)[hardest]
        depth = _depth(milling, float(best[hardest]))
        made.append(Limit(depth, RadianPerSecond(float(at[hardest])), Radian(float(feed))))
    return tuple(made)


@dataclass(frozen=True, slots=True)
class _Seen:
    """What several cuts feel of the body: pairs (c, 9, m) of what they feel of each mode, and static
    compliance (c, 3, 3), in the axes of a feed along `across`.
    """

    ports: Ports
    pairs: Floats
    static: Floats
    tool: ToolMode | None

    @staticmethod
    def of(ports: Ports, cuts: list[CutForce], tool: ToolMode | None) -> _Seen:
        arms = [view_axes(cut, 0.0) @ ports.reach(cut.place, cut.at) for cut in cuts]
        shapes = np.array([arm @ ports.shapes for arm in arms])
        pairs = (shapes[:, :, None] * shapes[:, None]).reshape(len(cuts), 9, -1)
        static = np.array([arm @ ports.compliance @ arm.T for arm in arms])
        return _Seen(ports, np.asarray(pairs), static, tool)

    def replies(self, circular: Floats, owner: Indices) -> Complexes:
        """(k, 3, 3, n) compliance between tool and work of cuts (k,), each at frequencies of its own (k, n)
        or all at the same (n,).
        """
        gain = self.ports.gain(circular)
        felt = self.pairs[owner] @ gain.swapaxes(-1, -2)
        made = felt.reshape(len(owner), 3, 3, -1) + self.static[owner][..., None]
        if self.tool is None:
            return made
        side = _tool_side(circular, self.tool)
        return made + np.moveaxis(side.reshape(-1, *side.shape[-3:]), 1, -1)


def _tool_side(circular: Floats, tool: ToolMode | None) -> Complexes:
    """(..., 3, 3) compliance of the tool's side at its tip [m/N]."""
    if tool is None:
        return np.zeros((1, 1), dtype=np.complex128)
    ratio = circular / (2.0 * pi * tool.frequency)
    side = 1.0 / (tool.stiffness * (1.0 - ratio**2 + 2j * tool.damping * ratio))
    return np.asarray(side[..., None, None] * np.diag([1.0, 1.0, 0.0]))


def _turned(factors: Floats, feeds: Floats) -> Floats:
    """(feeds, 3, 3): what has the eigenvalues of factors × compliance in the axes of each feed, when the
    compliance is told in those of the feed along `across`.
    """
    turn = np.zeros((len(feeds), 3, 3))
    turn[:, 0, 0] = turn[:, 1, 1] = np.cos(feeds)
    turn[:, 0, 1] = np.sin(feeds)
    turn[:, 1, 0] = -turn[:, 0, 1]
    turn[:, 2, 2] = 1.0
    return np.asarray(turn.transpose(0, 2, 1) @ factors @ turn)


@lru_cache(maxsize=64)
def _by_feed(milling: Milling) -> Floats:
    """(feeds, 3, 3): the directional matrix turned to each feed, transposed."""
    made = _turned(directional_matrix(milling), np.asarray(_feeds(milling))).swapaxes(1, 2)
    made.setflags(write=False)
    return made


@dataclass(frozen=True, slots=True)
class _Invariants:
    """Matrices (k, 3, 3, n) as (k, 9, n), their adjugates (k, 9, n) and determinants (k, n)."""

    matrix: Complexes
    adjugate: Complexes
    determinant: Complexes

    @staticmethod
    def of(m: Complexes) -> _Invariants:
        flat = m.reshape(len(m), 9, -1)
        a, b, c, d = (flat.take(entries, axis=1) for entries in _MINORS)
        adjugate = a * b - c * d
        return _Invariants(flat, adjugate, (flat[:, :3] * adjugate[:, ::3]).sum(axis=1))


_MINORS = tuple(
    np.array([[3 * ((j + p) % 3) + (i + q) % 3 for j in range(3)] for i in range(3)]).ravel()
    for p, q in ((1, 1), (2, 2), (1, 2), (2, 1))
)
"""Entries of a flat matrix whose products, first by second less third by fourth, make its adjugate's."""


def _largest_real(factors: _Invariants, replies: Complexes) -> Floats:
    """(f, n): largest real part of an eigenvalue of factors (f), told transposed, × replies (k, 3, 3, n), of
    which each stands for f/k factors that follow each other.

    The characteristic polynomial of a product comes from its factors: tr(AB), tr(adj(B)·adj(A)) and
    det(A)·det(B).
    """
    of = _Invariants.of(replies)
    k, _, n = of.matrix.shape
    trace, minors = (
        left.reshape(k, -1, 9) @ right
        for left, right in ((factors.matrix, of.matrix), (factors.adjugate, of.adjugate))
    )
    determinant = factors.determinant.reshape(k, -1, 1) * of.determinant[:, None]
    return _largest_root(-trace, minors, -determinant).reshape(-1, n)


def _largest_root(a: Complexes, b: Complexes, c: Complexes) -> Floats:
    """Largest real part of a root of x³ + a·x² + b·x + c, by `cubic_roots`' formula: they are
    t - p/(3t) - a/3, with t the cube roots of one number, r·exp(iφ) and thirds of a turn away from it.
    """
    p, power = _depressed(a, b, c)
    size = np.cbrt(np.abs(power))
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(size > 0.0, size - p.conj() / (3.0 * size), 0.0)
    z = z * np.exp(1j / 3.0 * np.angle(power))
    return np.asarray(np.maximum(z.real, 0.75**0.5 * np.abs(z.imag) - 0.5 * z.real) - a.real / 3.0)


def _characteristic(m: Complexes) -> tuple[Complexes, Complexes, Complexes]:
    """a, b, c of the characteristic polynomial x³ + a·x² + b·x + c of matrices (..., 3, 3)."""
    minors = (
        m[..., 1, 1] * m[..., 2, 2] - m[..., 1, 2] * m[..., 2, 1],
        m[..., 1, 0] * m[..., 2, 2] - m[..., 1, 2] * m[..., 2, 0],
        m[..., 1, 0] * m[..., 2, 1] - m[..., 1, 1] * m[..., 2, 0],
    )
    pairs = minors[0] + m[..., 0, 0] * (m[..., 1, 1] + m[..., 2, 2])
    pairs = pairs - m[..., 0, 1] * m[..., 1, 0] - m[..., 0, 2] * m[..., 2, 0]
    determinant = m[..., 0, 0] * minors[0] - m[..., 0, 1] * minors[1] + m[..., 0, 2] * minors[2]
    return -(m[..., 0, 0] + m[..., 1, 1] + m[..., 2, 2]), pairs, -determinant


def cubic_roots(a: Complexes, b: Complexes, c: Complexes) -> Complexes:
    """(..., 3): roots of x³ + a·x² + b·x + c by Cardano's formula; double roots to half the digits."""
    p, power = _depressed(a, b, c)
    first = power ** (1.0 / 3.0)
    turns = first[..., None] * np.exp(2j * pi * np.arange(3) / 3.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        other = np.where(turns == 0.0, 0.0, -p[..., None] / (3.0 * turns))
    return np.asarray(turns + other - a[..., None] / 3.0)


def _depressed(a: Complexes, b: Complexes, c: Complexes) -> tuple[Complexes, Complexes]:
    """p of y³ + p·y + q with y = x + a/3, and the number whose cube roots Cardano's formula takes."""
    square = a * a
    p = b - square / 3.0
    half = 0.5 * (a * (2.0 / 27.0 * square - b / 3.0) + c)
    root = _root(half * half + p * p * p / 27.0)
    # the sum that does not cancel
    return p, -half - np.copysign(1.0, half.real * root.real + half.imag * root.imag) * root


def _root(of: Complexes) -> Complexes:
    """A square root, in a third of the time of NumPy's: with u² = (|x + iy| + |x|)/2 it is u + iy/2u where x
    is positive, i times that of -x - iy where it is not.
    """
    x, y = of.real, of.imag
    large = np.sqrt(0.5 * (np.abs(of) + np.abs(x)))
    small = 0.5 * y / np.where(large > 0.0, large, 1.0)
    made = np.empty_like(of)
    made.real, made.imag = np.where(x < 0.0, small, large), np.where(x < 0.0, large, small)
    return made


def limit_at(
    ports: Ports, cut: CutForce, milling: Milling, speed: RadianPerSecond, *, tool: ToolMode | None = None
) -> Metre:
    """Limit depth at one spindle speed; of the worst feed where none is stated; infinite where unlimited."""
    return Metre(float(_depths(ports, cut, milling, np.array([speed]), tool)[0]))


def _depths(ports: Ports, cut: CutForce, milling: Milling, speeds: Floats, tool: ToolMode | None) -> Floats:
    circular = frequencies(ports, tool)
    replies = response(ports, cut, circular, tool, 0.0)
    factors = _turned(directional_matrix(milling), np.asarray(_feeds(milling)))
    roots = eigenvalues(factors[:, None] @ replies)
    depths = np.full(len(speeds), np.inf)
    for starts, ends in zip(roots[:, :-1], followed(roots), strict=True):
        depths = np.minimum(depths, _envelope(milling, circular, starts, ends, speeds))
    return np.where(depths < UNLIMITED, depths, np.inf)


def _depth(milling: Milling, real: float) -> Metre:
    if real <= 0.0:
        return Metre(float("inf"))
    depth = limit_depth(milling.teeth, milling.tangential, MetrePerNewton(real))
    return depth if depth < UNLIMITED else Metre(float("inf"))


def _feeds(milling: Milling) -> list[float]:
    if milling.feed is not None:
        return [milling.feed]
    return [pi * k / FEEDS for k in range(FEEDS)]


def lobes(
    ports: Ports,
    cut: CutForce,
    milling: Milling,
    *,
    slowest: RadianPerSecond,
    fastest: RadianPerSecond,
    tool: ToolMode | None = None,
) -> Lobes:
    """Limit depth over a range of spindle speeds; the lowest over the feeds where none is stated."""
    speeds = np.linspace(slowest, fastest, SPEEDS)
    return Lobes(speeds, _depths(ports, cut, milling, speeds, tool))


def eigenvalues(products: Complexes) -> Complexes:
    """(..., 3): of matrices (..., 3, 3)."""
    return cubic_roots(*_characteristic(products))


def followed(roots: Complexes) -> Complexes:
    """(..., n - 1, k): where each root (..., n, k) goes at the next frequency: together they go least far."""
    orders = np.array(list(permutations(range(roots.shape[-1]))))
    after = roots[..., 1:, :]
    away = np.abs(after[..., orders] - roots[..., :-1, None, :]).sum(axis=-1)
    return np.take_along_axis(after, orders[np.argmin(away, axis=-1)], axis=-1)


def _envelope(
    milling: Milling, circular: Floats, starts: Complexes, ends: Complexes, speeds: Floats
) -> Floats:
    """Lowest depth at each speed: where a root's phase fits the waves left between two teeth, as it goes from
    `starts` to `ends` (n - 1, 3) between two frequencies.
    """
    period = 2.0 * pi / (milling.teeth * speeds)[:, None, None]
    sides = []
    for root, at in ((starts, circular[:-1, None]), (ends, circular[1:, None])):
        with np.errstate(divide="ignore", invalid="ignore"):
            depth = 2.0 * pi / (milling.teeth * milling.tangential * root.real)
            wave = pi - 2.0 * np.arctan(-root.imag / root.real)
        sides.append((depth, np.sin(0.5 * (at * period - wave))))
    (low, left), (high, right) = sides
    fits = (left * right <= 0.0) & (starts.real > 0.0) & (ends.real > 0.0)
    share = np.abs(left) / np.maximum(np.abs(left) + np.abs(right), 1e-300)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(fits, low + share * (high - low), np.inf).min(axis=(1, 2)))
