"""Runs of equal pairs made into rows: packed parts added, sorted and read back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fitcheck.kernel.enumeration.columns import Integers, Table
from fitcheck.kernel.enumeration.packing import Packed
from fitcheck.kernel.enumeration.runs import Runs, spans

__all__ = ["expand"]

_BLOCK_ROWS = 1 << 16
"""Rows made at a time, so that they stay in the processor's cache."""

_CHUNK_RUNS = 1 << 12
"""Runs whose classes are looked up at a time."""

_ALONE = 200
"""Rows a run, on average, from which each run is sorted alone rather than a block at once."""


def expand(packed: Packed, runs: Runs, top: int | None, max_price: int | None) -> Iterator[Table]:
    """The rows of all runs in blocks of whole runs, each with at least one row.

    Args:
        packed: both stages.
        runs: the runs, in order.
        top: rows past so many, within two classes, need not be made.
        max_price: greatest price of a row.
    """
    chunk = _CHUNK_RUNS if top is None else 16
    first = 0
    while first < len(runs):
        last = min(first + chunk, len(runs))
        classes = _classes(packed, runs, first, last, top)
        for block in _blocks(classes):
            rows = _rows(packed, runs, classes, block, top=top, max_price=max_price)
            if len(rows):
                yield rows
        first, chunk = last, min(4 * chunk, _CHUNK_RUNS)


@dataclass(frozen=True, slots=True)
class _Classes:
    """Classes of the left with classes of the right, run by run.

    Attributes:
        left: where the left class begins in the left parts.
        lefts: its sets.
        right: where the right class begins in the right parts.
        rights: its sets.
        run: each run that has any.
        first: the first entry of each such run; one more at the end.
    """

    left: Integers
    lefts: Integers
    right: Integers
    rights: Integers
    run: Integers
    first: Integers


def _classes(packed: Packed, runs: Runs, first: int, last: int, top: int | None) -> _Classes:
    left, right = packed.left, packed.right
    begin, end = runs.first[first], runs.first[last]
    p, q = runs.left[begin:end], runs.right[begin:end]
    across = right.first[q + 1] - right.first[q]
    number = (left.first[p + 1] - left.first[p]) * across
    entry = np.repeat(np.arange(len(p)), number)
    down, along = np.divmod(spans(np.zeros_like(number), number), across[entry])
    i, j = left.first[p][entry] + down, right.first[q][entry] + along
    fine = packed.allowed[left.seat[i], right.seat[j]]
    i, j, entry = i[fine], j[fine], entry[fine]

    run_of_entry = np.repeat(np.arange(first, last), np.diff(runs.first[first : last + 1]))
    run = run_of_entry[entry]
    fresh = np.ones(len(run), np.bool_)
    fresh[1:] = run[1:] != run[:-1]
    starts = np.flatnonzero(fresh)
    unpriced = right.unknown[j] & ~left.unknown[i]
    variant = np.where(left.unknown[i], 1, np.where(left.seat[i] == packed.factory, 2, 0))
    lefts, rights = left.size[i], right.size[j]
    if top is not None:
        lefts, rights = np.minimum(lefts, top), np.minimum(rights, top)
    return _Classes(
        left.start[i] + left.sets * unpriced,
        lefts,
        right.start[j] + right.sets * variant,
        rights,
        run[starts],
        np.append(starts, len(run)),
    )


def _blocks(classes: _Classes) -> Iterator[tuple[int, int]]:
    """Ranges of runs that make some ten thousand rows together."""
    if not len(classes.run):
        return
    ends = np.cumsum(classes.lefts * classes.rights)[classes.first[1:] - 1]
    begin = made = 0
    while begin < len(ends):
        end = max(begin + 1, int(np.searchsorted(ends, made + _BLOCK_ROWS, "right")))
        yield begin, end
        begin, made = end, int(ends[end - 1])


def _rows(
    packed: Packed,
    runs: Runs,
    classes: _Classes,
    block: tuple[int, int],
    *,
    top: int | None,
    max_price: int | None,
) -> Table:
    begin, end = block
    first = classes.first[begin : end + 1]
    entries = slice(first[0], first[-1])
    lefts = classes.lefts[entries]
    # One line for each left set of each entry, with the right sets it goes with.
    rights = np.repeat(classes.rights[entries], lefts)
    if top is not None:
        # Parts rise within a class: with the m-th left set only the first top / m can be wanted.
        rights = np.minimum(rights, top // (spans(np.ones_like(lefts), lefts)))
    keys = np.repeat(packed.left.parts[spans(classes.left[entries], lefts)], rights)
    keys += packed.right.parts[spans(np.repeat(classes.right[entries], lefts), rights)]

    line = (np.cumsum(lefts) - lefts)[first[:-1] - first[0]]
    number = np.add.reduceat(rights, line)
    run = classes.run[begin:end]
    shift = packed.packing.price_shift
    if max_price is not None:
        fine = keys < (min(max_price + 1, packed.packing.unknown) << shift)
        number = np.add.reduceat(fine, np.cumsum(number) - number, dtype=np.int64)
        keys = keys[fine]
        run, number = run[number > 0], number[number > 0]
    start = np.concatenate((np.zeros(1, np.int64), np.cumsum(number)))
    _sort_each(keys, start, packed.packing.spare_bits)

    mask = (1 << packed.packing.rank_bits) - 1
    head = keys >> packed.packing.rank_bits & mask
    tail = keys & mask
    price = keys >> shift
    price[price == packed.packing.unknown] = -1
    right = packed.right_row[tail]
    lone = np.flatnonzero(tail == 0)
    right[lone] = packed.lone_right_row[head[lone]]
    entry = runs.first[run]
    return Table(
        packed.left_row[head], right, price, start, runs.numerator[entry], runs.denominator[entry]
    )


def _sort_each(keys: Integers, start: Integers, spare_bits: int) -> None:
    """Sort the keys of each run in place."""
    runs = len(start) - 1
    if runs == 1:
        keys.sort()
    elif len(keys) < _ALONE * runs and runs <= 1 << spare_bits:
        label = np.repeat(np.arange(runs), np.diff(start)) << (63 - spare_bits)
        keys += label
        keys.sort()
        keys &= (1 << (63 - spare_bits)) - 1
    else:
        for begin, end in zip(start[:-1].tolist(), start[1:].tolist(), strict=True):
            keys[begin:end].sort()
