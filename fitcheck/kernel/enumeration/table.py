"""Combinations as one table of numpy columns, in the contract's order.

For long lists of one to three stages. The runs of equal pairs are found in order; each run's rows
are made by adding the packed parts of its classes (`packing`) and sorting the sums, which then
still name the price and the sets. Everything is a whole number. What does not fit 64 bits takes
its rows from the plain enumeration.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import groupby
from typing import Unpack

import numpy as np

from fitcheck.kernel.enumeration import plain
from fitcheck.kernel.enumeration.layout import Indices, Integers, Layout
from fitcheck.kernel.enumeration.packing import Packed, PackingError, pack
from fitcheck.kernel.enumeration.problem import Filters, Row, Window
from fitcheck.kernel.enumeration.runs import Runs, find_runs, spans

_BLOCK_ROWS = 1 << 16
"""Rows made at a time, so that they stay in the processor's cache."""

_CHUNK_RUNS = 1 << 12
"""Runs whose classes are looked up at a time."""

_ALONE = 200
"""Rows a run, on average, from which each run is sorted alone rather than a block at once."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows in order.

    Attributes:
        layout: the problem in columns.
        rows: for each stage, of each row the row of the layout's columns.
        price: minor units, -1 where unknown.
        start: where each run of equal pairs begins, and the number of rows at the end.
        numerator: product of the driven counts of each run.
        denominator: product of the driver counts of each run.
    """

    layout: Layout
    rows: tuple[Indices, ...]
    price: Integers
    start: Integers
    numerator: Integers
    denominator: Integers

    def __len__(self) -> int:
        return len(self.price)

    def head(self, number: int) -> Table:
        """The first rows."""
        runs = int(np.searchsorted(self.start, number))
        start = self.start[: runs + 1].copy()
        start[-1] = number
        return Table(
            layout=self.layout,
            rows=tuple(column[:number] for column in self.rows),
            price=self.price[:number],
            start=start,
            numerator=self.numerator[:runs],
            denominator=self.denominator[:runs],
        )

    @property
    def grades(self) -> Integers:
        """The grade of each row."""
        stages, joints, rows = self.layout.stages, self.layout.joints, self.rows
        grade = stages[0].grade[rows[0]]
        for at in range(1, len(stages)):
            grade = np.minimum(grade, stages[at].grade[rows[at]])
            needs, brings = stages[at - 1].needs[rows[at - 1]], stages[at].brings[rows[at]]
            grade = np.minimum(grade, joints[at][needs, brings])
        return grade


def table(
    layout: Layout,
    window: Window = (None, None),
    *,
    threads: int = 1,
    **filters: Unpack[Filters],
) -> Table:
    """All rows, or the first `top`, in one table.

    Args:
        layout: the problem.
        window: overall reductions wanted, both edges inclusive.
        threads: threads that make rows where all are asked for, at whatever price.
        filters: what rows are left out.

    Raises:
        ValueError: `top` is negative.
    """
    top, max_price = filters.get("top"), filters.get("max_price")
    if top is not None and top < 0:
        raise ValueError("top is zero or more")
    try:
        packed = pack(layout, max_price, filters.get("max_sets"), filters.get("min_grade"))
        runs = find_runs(packed, window)
    except PackingError:
        return _tabulate(layout, list(plain.rows(layout.problem, window, **filters)))
    if top is None and max_price is None:
        return _expand_all(packed, runs, threads)
    return _expand(packed, runs, top, max_price)


def _tabulate(layout: Layout, found: Sequence[Row]) -> Table:
    """Rows of the plain enumeration as a table."""
    places = [
        {(one.whole, one.number, one.item.id): row for row, one in enumerate(stage)}
        for stage in layout.places
    ]
    rows = []
    for stage, at in enumerate(places):
        rows.append(
            [
                at[False, row.choices[stage], row.items[stage].id]
                if row.whole is None
                else at[True, row.whole, row.items[0].id]
                for row in found
            ]
        )
    prices = [-1 if row.price is None else row.price for row in found]
    runs = [list(group) for _, group in groupby(found, key=lambda row: row.pairs)]
    large = max(prices, default=0) > np.iinfo(np.int64).max
    return Table(
        layout=layout,
        rows=tuple(np.array(row, np.int32) for row in rows),
        price=np.array(prices, object if large else np.int64),
        start=np.cumsum([0] + [len(run) for run in runs]),
        numerator=np.array([run[0].numerator for run in runs], np.int64),
        denominator=np.array([run[0].denominator for run in runs], np.int64),
    )


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


def _expand(packed: Packed, runs: Runs, top: int | None, max_price: int | None) -> Table:
    """The rows of all runs up to a price, or no more of them than are asked for."""
    chunk = _CHUNK_RUNS if top is None else 16
    first, made = 0, 0
    parts = [_empty(packed, runs, np.empty(0, np.int64), np.empty(0, np.int64))]
    while first < len(runs) and (top is None or made < top):
        last = min(first + chunk, len(runs))
        classes = _classes(packed, runs, first, last, top)
        for block in _blocks(classes):
            parts.append(_rows(packed, runs, classes, block, top=top, max_price=max_price))
            made += len(parts[-1])
            if top is not None and made >= top:
                break
        first, chunk = last, min(4 * chunk, _CHUNK_RUNS)
    found = _join(parts)
    return found if top is None else found.head(min(top, made))


def _join(parts: Sequence[Table]) -> Table:
    """Several tables one after another."""
    before = np.cumsum([0] + [len(part) for part in parts[:-1]])
    return Table(
        layout=parts[0].layout,
        rows=tuple(map(np.concatenate, zip(*(part.rows for part in parts), strict=True))),
        price=np.concatenate([part.price for part in parts]),
        start=np.concatenate(
            [np.zeros(1, np.int64)]
            + [part.start[1:] + shift for part, shift in zip(parts, before, strict=True)]
        ),
        numerator=np.concatenate([part.numerator for part in parts]),
        denominator=np.concatenate([part.denominator for part in parts]),
    )


def _expand_all(packed: Packed, runs: Runs, threads: int) -> Table:
    """The rows of all runs in one table, made by so many threads."""
    parts = [
        _classes(packed, runs, first, min(first + _CHUNK_RUNS, len(runs)), None)
        for first in range(0, len(runs), _CHUNK_RUNS)
    ]
    parts = [part for part in parts if len(part.run)]
    none = [np.empty(0, np.int64)]
    number = [np.add.reduceat(part.lefts * part.rights, part.first[:-1]) for part in parts]
    found = _empty(
        packed,
        runs,
        np.concatenate(none + [part.run for part in parts]),
        np.concatenate(none + number),
    )

    def fill(task: tuple[_Classes, tuple[int, int], int]) -> None:
        part, (begin, end), before = task
        start = found.start[before + begin : before + end + 1]
        _read(packed, _sums(packed, part, (begin, end), None)[0], found, int(start[0]), start)

    before = np.cumsum([0] + [len(part.run) for part in parts[:-1]]).tolist()
    tasks = [
        (part, block, past)
        for part, past in zip(parts, before, strict=False)
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
    starts = np.flatnonzero(np.append(True, run[1:] != run[:-1])[: len(run)])
    unpriced = right.unknown[j] & ~left.unknown[i]
    variant = packed.bought[left.seat[i]] + packed.packing.ranks * left.unknown[i]
    lefts, rights = left.size[i], right.size[j]
    if top is not None:
        lefts, rights = np.minimum(lefts, top), np.minimum(rights, top)
    return _Classes(
        left=left.start[i] + left.sets * unpriced,
        lefts=lefts,
        right=right.start[j] + right.sets * variant,
        rights=rights,
        run=run[starts],
        first=np.append(starts, len(run)),
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
    found = _empty(packed, runs, run, number)
    _read(packed, keys, found, 0, found.start)
    return found


def _empty(packed: Packed, runs: Runs, run: Integers, number: Integers) -> Table:
    """A table of these runs, so many rows each, its rows not yet filled in."""
    start = np.concatenate((np.zeros(1, np.int64), np.cumsum(number)))
    entry = runs.first[run]
    rows = int(start[-1])
    return Table(
        layout=packed.layout,
        rows=tuple(np.empty(rows, np.int32) for _ in packed.row),
        price=np.empty(rows, np.int64),
        start=start,
        numerator=runs.numerator[entry],
        denominator=runs.denominator[entry],
    )


def _sums(
    packed: Packed, classes: _Classes, block: tuple[int, int], top: int | None
) -> tuple[Integers, Integers]:
    """The keys of a block's rows, run by run, and how many each run has."""
    first = classes.first[block[0] : block[1] + 1]
    entries = slice(first[0], first[-1])
    lefts = classes.lefts[entries]
    # One line for each left half of each entry, with the right sets it goes with.
    rights = np.repeat(classes.rights[entries], lefts)
    if top is not None:
        # Parts rise within a class: with the m-th left half only the first top / m can be wanted.
        rights = np.minimum(rights, top // (spans(np.ones_like(lefts), lefts)))
    keys = np.repeat(packed.left.parts[spans(classes.left[entries], lefts)], rights)
    keys += packed.right.parts[spans(np.repeat(classes.right[entries], lefts), rights)]
    line = (np.cumsum(lefts) - lefts)[first[:-1] - first[0]]
    return keys, np.add.reduceat(rights, line)


def _read(packed: Packed, keys: Integers, found: Table, at: int, start: Integers) -> None:
    """Sort keys run by run and read the rows back into a table, from a place on."""
    packing = packed.packing
    _sort_each(keys, start - start[0], packing.spare_bits)
    rows = slice(at, at + len(keys))
    price = found.price[rows]
    np.right_shift(keys, packing.price_shift, out=price)
    price[price == packing.unknown] = -1
    mask = (1 << packing.rank_bits) - 1
    ranks = []
    for _ in range(packing.ranks - 1):
        ranks.append(keys & mask)
        keys >>= packing.rank_bits
    keys &= mask
    ranks = [keys, *reversed(ranks)]
    # Where a set is bought in every stage, each rank is of its stage. Elsewhere a rank is of its
    # stage or of a later one, and is row 0 in all others: the factory pair's.
    fewer = np.flatnonzero(ranks[-1] == 0)
    for stage, row_of in enumerate(packed.row):
        row = found.rows[stage][rows]
        # No rank is out of range; "clip" only spares a copy.
        np.take(row_of, ranks[stage], out=row, mode="clip")
        for earlier in ranks[:stage]:
            row[fewer] += row_of[earlier[fewer]]


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
