"""Runs of equal pairs made into rows: packed parts added, sorted and read back."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from fitcheck.kernel.enumeration.columns import Integers, Table
from fitcheck.kernel.enumeration.packing import Packed
from fitcheck.kernel.enumeration.runs import Runs, spans

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


def expand_all(packed: Packed, runs: Runs, threads: int) -> Table:
    """The rows of all runs in one table, made by so many threads."""
    parts = [
        _classes(packed, runs, first, min(first + _CHUNK_RUNS, len(runs)), None)
        for first in range(0, len(runs), _CHUNK_RUNS)
    ]
    number = [
        np.add.reduceat(part.lefts * part.rights, part.first[:-1])
        for part in parts
        if len(part.run)
    ]
    parts = [part for part in parts if len(part.run)]
    if not parts:
        return Table.join([])
    found = _empty(runs, np.concatenate([part.run for part in parts]), np.concatenate(number))

    def fill(task: tuple[_Classes, tuple[int, int], int]) -> None:
        part, (begin, end), before = task
        start = found.start[before + begin : before + end + 1]
        _read(packed, _sums(packed, part, (begin, end), None)[0], found, int(start[0]), start)

    before = np.cumsum([0] + [len(part.run) for part in parts[:-1]]).tolist()
    tasks = [
        (part, block, past)
        for part, past in zip(parts, before, strict=True)
        for block in _blocks(part)
    ]
    if threads <= 1 or len(tasks) <= 1:
        for task in tasks:
            fill(task)
    else:
        with ThreadPoolExecutor(threads) as pool:
            # list() so that a failure in a thread is raised here.
            list(pool.map(fill, tasks))
    return found


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
    variant = np.where(left.unknown[i], 2, left.seat[i] == packed.factory)
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
    keys, number = _sums(packed, classes, block, top)
    run = classes.run[slice(*block)]
    if max_price is not None:
        packing = packed.packing
        fine = keys < (min(max_price + 1, packing.unknown) << packing.price_shift)
        number = np.add.reduceat(fine, np.cumsum(number) - number, dtype=np.int64)
        keys = keys[fine]
        run, number = run[number > 0], number[number > 0]
    found = _empty(runs, run, number)
    _read(packed, keys, found, 0, found.start)
    return found


def _empty(runs: Runs, run: Integers, number: Integers) -> Table:
    """A table of these runs, so many rows each, its rows not yet filled in."""
    start = np.concatenate((np.zeros(1, np.int64), np.cumsum(number)))
    entry = runs.first[run]
    rows = int(start[-1])
    return Table(
        np.empty(rows, np.int32),
        np.empty(rows, np.int32),
        np.empty(rows, np.int64),
        start,
        runs.numerator[entry],
        runs.denominator[entry],
    )


def _sums(
    packed: Packed, classes: _Classes, block: tuple[int, int], top: int | None
) -> tuple[Integers, Integers]:
    """The keys of a block's rows, run by run, and how many each run has."""
    first = classes.first[block[0] : block[1] + 1]
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
    return keys, np.add.reduceat(rights, line)


def _read(packed: Packed, keys: Integers, found: Table, at: int, start: Integers) -> None:
    """Sort keys run by run and read the rows back into a table, from a place on."""
    _sort_each(keys, start - start[0], packed.packing.spare_bits)
    mask = (1 << packed.packing.rank_bits) - 1
    tail = keys & mask
    price = found.price[at : at + len(keys)]
    np.right_shift(keys, packed.packing.price_shift, out=price)
    price[price == packed.packing.unknown] = -1
    keys >>= packed.packing.rank_bits
    keys &= mask
    # No rank is out of range; "clip" only spares a copy.
    np.take(packed.left_row, keys, out=found.left[at : at + len(keys)], mode="clip")
    right = found.right[at : at + len(keys)]
    np.take(packed.right_row, tail, out=right, mode="clip")
    lone = np.flatnonzero(tail == 0)
    right[lone] = packed.lone_right_row[keys[lone]]


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
