"""Where the entries of a swept body's matrices stand: what hangs on the numbering alone.

An edit that leaves the numbering as it was finds its own again, and only values are worked out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from orthostat.analyses.stiffness.section import Flags, Floats, Indices
from orthostat.analyses.stiffness.sweep import Interface, Swept

KEPT = 8
"""Patterns that are remembered."""
LARGE = 10_000
"""Unknowns above which a pattern is not: it takes some 2 kB each, an order of elimination 1.5 kB."""


@dataclass(frozen=True, slots=True)
class PlanPairs:
    """Pairs of section functions: rows, columns and the place of each (triangle, 6, 6) entry."""

    rows: Indices
    columns: Indices
    place: Indices

    @staticmethod
    def of(nodes: Indices, total: int) -> PlanPairs:
        """Of triangles' functions (nt, 6) among so many."""
        row = np.broadcast_to(nodes[:, :, None], (len(nodes), 6, 6))
        column = np.broadcast_to(nodes[:, None, :], (len(nodes), 6, 6))
        keys, place = np.unique(row.ravel() * total + column.ravel(), return_inverse=True)
        return PlanPairs(keys // total, keys % total, place.ravel())

    def gathered(self, entries: Floats) -> Floats:
        """(pairs,) sums of (triangle, 6, 6) entries."""
        return _counted(self.place, entries.ravel(), len(self.rows))


@dataclass(frozen=True, slots=True)
class LayerPairs:
    """Pairs of functions that meet in a layer, in plan and in height, of which the lower half is kept.

    solid: its triangles with material. local: (elements, 3), line functions among the layer's own. upper,
    lower: pairs of these. kept: which of (pairs in plan, pairs in height) are; sums: (blocks, kept), what
    adds them up in each block (both sides of a seam may be one).
    """

    number: int
    solid: Indices
    plan: PlanPairs
    local: Indices
    upper: Indices
    lower: Indices
    kept: Flags
    sums: sp.csr_array

    def along(self, element: Floats) -> Floats:
        """(4, pairs in height): integrals of ψψ, ψψ', ψ'ψ, ψ'ψ' over elements that are each (2, 2, 3, 3)."""
        used = int(self.local.max()) + 1
        whole = np.zeros((4, used, used))
        for one in self.local:
            whole[:, one[:, None], one[None, :]] += element.reshape(4, 3, 3)
        return np.asarray(whole[:, self.upper, self.lower])

    def spread(self, along: Floats, section: Floats) -> Floats:
        """(kept, m): m values of each kept product, from those in plan (pairs, 4, m) beside `along`."""
        return np.asarray(np.matmul(along.T[None], section)[self.kept])


@dataclass(frozen=True, slots=True)
class SeamPairs:
    """Pairs of functions of a layer's sliding edges: those `kept` of (edges, elements, 18, 18), and what adds
    them up in each block, (blocks, kept).
    """

    number: int
    kept: Flags
    sums: sp.csr_array


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """Three by three blocks of pairs of scalar unknowns, the row's never the lower, sorted by column.

    take: which of (blocks, 9) values each entry of the lower triangle is. full: which block each entry of
    the symmetric matrix of one component is.
    """

    count: int
    blocks: int
    layers: tuple[LayerPairs, ...]
    seams: tuple[SeamPairs, ...]
    take: Indices
    indices: npt.NDArray[np.int32]
    indptr: npt.NDArray[np.int32]
    full: Indices
    full_indices: npt.NDArray[np.int32]
    full_indptr: npt.NDArray[np.int32]

    def lower(self, values: Floats) -> sp.csc_array:
        """The lower triangle, of blocks (blocks, 9): row component j and column component i in 3 i + j."""
        size = 3 * self.count
        return _lower(values.ravel()[self.take], self.indices, self.indptr, size)

    def symmetric(self, values: Floats) -> sp.csr_array:
        """The whole matrix of one component, of a value for each block."""
        places = (values[self.full], self.full_indices, self.full_indptr)
        return sp.csr_array(places, shape=(self.count, self.count))

    def supported(self, values: Floats, supports: Sequence[sp.csr_array]) -> sp.csc_array:
        """`lower` plus that of symmetric matrices of these unknowns and any number more.

        No entry is left out for being zero, so that the pattern does not hang on rounding.
        """
        size = supports[0].shape[0]
        plain = [each.tocoo() for each in supports]
        row, column, value = (
            np.concatenate([np.asarray(getattr(each, name)) for each in plain])
            for name in ("row", "col", "data")
        )
        low = row >= column
        keys = column[low].astype(np.int64) * size + row[low]
        whole = _joined(self, size, keys.tobytes())
        data = _counted(whole.place, value[low], len(whole.indices))
        data[whole.own] += values.ravel()[self.take]
        return _lower(data, whole.indices, whole.indptr, size)


def _counted(place: Indices, values: Floats, count: int) -> Floats:
    """(count,) sums of the values at each place."""
    return np.asarray(np.bincount(place, weights=values, minlength=count), dtype=np.float64)


def _lower(
    data: Floats, indices: npt.NDArray[np.int32], indptr: npt.NDArray[np.int32], size: int
) -> sp.csc_array:
    made = sp.csc_array((data, indices, indptr), shape=(size, size))
    made.has_canonical_format = True
    return made


@dataclass(frozen=True, slots=True, eq=False)
class _Joined:
    """A lower triangle with further entries: where its `own` and where theirs (`place`) stand."""

    own: Indices
    place: Indices
    indices: npt.NDArray[np.int32]
    indptr: npt.NDArray[np.int32]


def _joined(pattern: Pattern, size: int, keys: bytes) -> _Joined:
    return (_join_kept if size <= LARGE else _join)(pattern, size, keys)


def _join(pattern: Pattern, size: int, keys: bytes) -> _Joined:
    columns = np.repeat(np.arange(3 * pattern.count), np.diff(pattern.indptr))
    own = columns * size + pattern.indices
    added = np.frombuffer(keys, dtype=np.int64)
    # Both are merged in their order; sorting all anew, as `union1d` does, takes far longer.
    wanted, _ = np.unique(added, return_index=True)
    before = np.searchsorted(own, wanted)
    fresh = own[np.minimum(before, len(own) - 1)] != wanted
    every = np.insert(own, before[fresh], wanted[fresh])
    starts = np.searchsorted(every, size * np.arange(size + 1))
    return _Joined(
        np.arange(len(own)) + np.searchsorted(wanted[fresh], own),
        np.searchsorted(every, added),
        (every % size).astype(np.int32),
        starts.astype(np.int32),
    )


_join_kept = lru_cache(maxsize=KEPT)(_join)


def pattern_of(swept: Swept) -> Pattern:
    """The pattern of a numbering."""
    if swept.unknowns > LARGE:
        return _pattern(swept)
    return _pattern_kept(_Numbering.of(swept))


@dataclass(frozen=True, slots=True)
class _Numbering:
    """All that a pattern hangs on, as bytes to tell numberings apart by."""

    made_of: tuple[tuple[tuple[int, ...], bytes], ...]
    swept: Swept

    @staticmethod
    def of(swept: Swept) -> _Numbering:
        arrays = [swept.nodes, swept.number, swept.layer, swept.layers.filled]
        if swept.interface is not None:
            arrays += [swept.interface.edges, swept.interface.copies, swept.interface.open]
        return _Numbering(tuple((each.shape, each.tobytes()) for each in arrays), swept)

    def __hash__(self) -> int:
        return hash(self.made_of)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Numbering) and self.made_of == other.made_of


@lru_cache(maxsize=KEPT)
def _pattern_kept(numbering: _Numbering) -> Pattern:
    return _pattern(numbering.swept)


def _pattern(swept: Swept) -> Pattern:
    layers = [
        _layer_pairs(swept, k, solid)
        for k, filled in enumerate(swept.layers.filled)
        if len(solid := np.flatnonzero(filled))
    ]
    seams = [] if swept.interface is None else _seam_pairs(swept, swept.interface)
    keys = [each for _, each in layers] + [each for _, each in seams]
    blocks, place = np.unique(np.concatenate(keys), return_inverse=True)
    places = np.split(place, np.cumsum([len(each) for each in keys])[:-1])
    rows, columns = blocks % swept.count, blocks // swept.count
    take, indices, indptr = _entries(rows, columns, swept.count)
    full, full_indices, full_indptr = _both_halves(rows, columns, swept.count)
    return Pattern(
        swept.count,
        len(blocks),
        tuple(made(_sums(at, len(blocks))) for (made, _), at in zip(layers, places, strict=False)),
        tuple(
            made(_sums(at, len(blocks))) for (made, _), at in zip(seams, places[len(layers) :], strict=True)
        ),
        take,
        indices,
        indptr,
        full,
        full_indices,
        full_indptr,
    )


def _layer_pairs(
    swept: Swept, k: int, solid: Indices
) -> tuple[Callable[[sp.csr_array], LayerPairs], Indices]:
    """Of these triangles in layer k, but for `sums`; the key of each pair's block."""
    plan = PlanPairs.of(swept.nodes[solid], len(swept.number))
    lines = swept.line_nodes(k)
    used, local = np.unique(lines, return_inverse=True)
    local = local.reshape(lines.shape)
    meet = np.zeros((len(used), len(used)), dtype=bool)
    for one in local:
        meet[one[:, None], one[None, :]] = True
    # Unknowns are numbered line function by line function, so a pair of lower lines is a lower pair.
    upper, lower = np.nonzero(np.tril(meet))
    row = swept.number[plan.rows][:, used[upper]]
    column = swept.number[plan.columns][:, used[lower]]
    kept = (column >= 0) & (row >= column)
    made = partial(LayerPairs, k, solid, plan, local, upper, lower, kept)
    return made, column[kept] * swept.count + row[kept]


def _seam_pairs(
    swept: Swept, interface: Interface
) -> list[tuple[Callable[[sp.csr_array], SeamPairs], Indices]]:
    """Of each layer that slides, but for `sums`; the key of each pair's block."""
    made: list[tuple[Callable[[sp.csr_array], SeamPairs], Indices]] = []
    for k, opened in enumerate(interface.open):
        chosen = np.flatnonzero(opened)
        if len(chosen):
            lines = swept.line_nodes(k)
            nodes = np.hstack([interface.edges[chosen], interface.copies[chosen]])
            numbers = swept.number[nodes[:, :, None, None], lines.T[None, None]].transpose(0, 3, 1, 2)
            flat = numbers.reshape(len(chosen), len(lines), 18)
            row = np.broadcast_to(flat[..., :, None], (*flat.shape, 18))
            column = np.broadcast_to(flat[..., None, :], row.shape)
            kept = (column >= 0) & (row >= column)
            made.append((partial(SeamPairs, k, kept), column[kept] * swept.count + row[kept]))
    return made


def _sums(place: Indices, blocks: int) -> sp.csr_array:
    """(blocks, values): adds up the values that fall into one block."""
    ones = (np.ones(len(place)), (place, np.arange(len(place))))
    return sp.csr_array(sp.coo_array(ones, shape=(blocks, len(place))))


def _entries(
    rows: Indices, columns: Indices, count: int
) -> tuple[Indices, npt.NDArray[np.int32], npt.NDArray[np.int32]]:
    """Which of (blocks, 9) values the lower triangle holds, and its indices by columns."""
    first = np.searchsorted(columns, np.arange(count + 1))
    numbers = np.arange(9.0 * len(rows)).reshape(-1, 3, 3)
    # As rows of the upper triangle: each unknown's first block is its own, whose lower half is left out.
    upper = sp.bsr_array((numbers, rows, first), shape=(3 * count, 3 * count)).tocsr()
    second, third = upper.indptr[1:-1:3], upper.indptr[2:-1:3]
    keep = np.ones(len(upper.data), dtype=bool)
    keep[np.concatenate([second, third, third + 1])] = False
    left_out = np.concatenate([[0], np.cumsum(np.tile([0, 1, 2], count))])
    return (
        upper.data[keep].astype(np.intp),
        upper.indices[keep].astype(np.int32),
        (upper.indptr - left_out).astype(np.int32),
    )


def _both_halves(
    rows: Indices, columns: Indices, count: int
) -> tuple[Indices, npt.NDArray[np.int32], npt.NDArray[np.int32]]:
    """Which block each entry of the symmetric matrix of one component is, and its indices by rows."""
    first = np.searchsorted(columns, np.arange(count + 1))
    numbers = np.arange(1.0, len(rows) + 1.0)
    lower = sp.csc_array((numbers, rows, first), shape=(count, count)).tocsr()
    upper = sp.csr_array((numbers.copy(), rows, first), shape=(count, count))
    upper.data[first[:-1]] = 0.0  # the diagonal, which `lower` has
    full = sp.csr_array(lower + upper)
    return full.data.astype(np.intp) - 1, full.indices.astype(np.int32), full.indptr.astype(np.int32)
