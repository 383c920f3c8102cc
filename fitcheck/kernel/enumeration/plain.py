"""Every combination in the contract's order, lazily, in plain Python.

The order is part of the contract: overall reduction rising (road-speed change falling), then
pairs, then price (unknown last), then the ids of the sets. Equal reductions are equal: they are
compared as whole numbers over one common denominator, never as floats.

A heap holds one pointer for each way to fill all stages but the last; each points into the last
stage's choices, sorted by reduction and entered by bisection. Only what is asked for is built, so
the cost of the first rows does not depend on how many sets share a class.
"""

from __future__ import annotations

import sys
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from heapq import heapify, heappop, heappush, heapreplace, merge
from itertools import groupby, islice, product
from math import prod
from typing import NamedTuple

from fitcheck.kernel.enumeration.problem import (
    Choice,
    Item,
    Problem,
    Row,
    Scale,
    Window,
    code,
)

__all__ = ["rows"]

_SORT_AT_ONCE = 512
"""Combinations of one pairs tuple up to which sorting them beats a heap over their prices."""

_PERFECT = sys.maxsize

_Key = tuple[bool, int, tuple[str, ...], tuple[int, ...], tuple[Item, ...], int]
"""A row in the making, in the order of rows of equal pairs.

Price unknown, price, ids, then choices and items (which only tell equal rows apart), grade.
"""


def rows(
    problem: Problem,
    window: Window = (None, None),
    *,
    top: int | None = None,
    max_price: int | None = None,
    max_sets: int | None = None,
    min_grade: int | None = None,
) -> Iterator[Row]:
    """List combinations in the contract's order; at least one gear set is bought in each.

    Args:
        problem: the choices.
        window: overall reductions wanted, both edges inclusive.
        top: stop after so many rows.
        max_price: greatest sum of prices in minor units; rows of unknown price are then left out.
        max_sets: greatest number of sets bought; a set of the whole train counts as one.
        min_grade: least grade of a row.

    Yields:
        Rows, each built when it is asked for.

    Raises:
        ValueError: `top` is negative.
    """
    if top is not None and top < 0:
        raise ValueError("top is zero or more")
    found = _Enumeration(problem, window, max_price, max_sets, min_grade).rows()
    return found if top is None else islice(found, top)


class _Prefix(NamedTuple):
    """One way to fill all stages but the last."""

    value: int
    code: int
    chain: tuple[int, ...]
    grade: int
    needs: int
    factory: bool
    bought: int


class _Last(NamedTuple):
    """The last stage's choices that may follow a prefix, by scaled reduction, then pair."""

    values: list[int]
    codes: list[int]
    choices: list[int]
    grades: list[int]


class _Sorted(NamedTuple):
    """The items of one choice as rows need them."""

    known: list[Item]
    """By price, then id."""
    unknown: list[Item]
    """Of unknown price, by id."""
    by_id: list[Item]


class _Enumeration:
    def __init__(
        self,
        problem: Problem,
        window: Window,
        max_price: int | None,
        max_sets: int | None,
        min_grade: int | None,
    ) -> None:
        self.problem = problem
        self.scale = Scale(problem)
        self.least, self.greatest = self.scale.window(window)
        self.max_price = max_price
        self.max_sets = sys.maxsize if max_sets is None else max_sets
        self.min_grade = -sys.maxsize if min_grade is None else min_grade
        self._last: dict[tuple[int, bool, int], _Last] = {}
        self._sorted: dict[tuple[int, int], _Sorted] = {}

    def rows(self) -> Iterator[Row]:
        """All rows in order."""
        for _, group in groupby(self._classes(), key=lambda entry: entry[:2]):
            yield from self._rows_of([entry[2:] for entry in group])

    # ------------------------------------------------------------------ classes, by reduction

    def _classes(self) -> Iterator[tuple[int, int, tuple[int, ...], int]]:
        """Scaled reduction, pairs, chain of choices and grade, in order of the first two.

        A set of the whole train has the chain (-1, its index).
        """
        return merge(self._chains(), self._wholes())

    def _wholes(self) -> list[tuple[int, int, tuple[int, ...], int]]:
        if self.max_sets < 1:
            return []
        found = []
        for index, whole in enumerate(self.problem.wholes):
            value = self.scale.whole(whole)
            inside = self.least <= value and (self.greatest is None or value <= self.greatest)
            if inside and whole.grade >= self.min_grade:
                found.append((value, code(whole.pairs), (-1, index), whole.grade))
        return sorted(found)

    def _chains(self) -> Iterator[tuple[int, int, tuple[int, ...], int]]:
        prefixes: list[_Prefix] = []
        lasts: list[_Last] = []
        ends: list[int] = []
        heap: list[tuple[int, int, int, int]] = []
        for prefix in self._prefixes():
            last = self._last_after(prefix)
            start = bisect_left(last.values, -(-self.least // prefix.value))
            end = (
                len(last.values)
                if self.greatest is None
                else bisect_right(last.values, self.greatest // prefix.value)
            )
            if start < end:
                heap.append(
                    (
                        prefix.value * last.values[start],
                        prefix.code << 16 | last.codes[start],
                        len(prefixes),
                        start,
                    )
                )
                prefixes.append(prefix)
                lasts.append(last)
                ends.append(end)
        heapify(heap)
        while heap:
            value, pairs, number, at = heap[0]
            prefix, last = prefixes[number], lasts[number]
            following = at + 1
            if following < ends[number]:
                heapreplace(
                    heap,
                    (
                        prefix.value * last.values[following],
                        prefix.code << 16 | last.codes[following],
                        number,
                        following,
                    ),
                )
            else:
                heappop(heap)
            grade = min(prefix.grade, last.grades[at])
            yield value, pairs, (*prefix.chain, last.choices[at]), grade

    def _prefixes(self) -> list[_Prefix]:
        found = [_Prefix(1, 0, (), _PERFECT, 0, False, 0)]
        for stage in range(len(self.problem.stages) - 1):
            values, codes = self.scale.values[stage], self.scale.codes[stage]
            longer = []
            for before in found:
                for index, choice in enumerate(self.problem.stages[stage]):
                    grade = self._grade(stage, before.needs, before.factory, choice)
                    if grade is None:
                        continue
                    bought = before.bought + (not choice.factory)
                    if bought > self.max_sets:
                        continue
                    longer.append(
                        _Prefix(
                            before.value * values[index],
                            before.code << 16 | codes[index],
                            (*before.chain, index),
                            min(before.grade, grade),
                            choice.needs,
                            choice.factory,
                            bought,
                        )
                    )
            found = longer
        return found

    def _last_after(self, prefix: _Prefix) -> _Last:
        state = (prefix.needs, prefix.factory, prefix.bought)
        known = self._last.get(state)
        if known is not None:
            return known
        stage = len(self.problem.stages) - 1
        values, codes = self.scale.values[stage], self.scale.codes[stage]
        found = []
        for index, choice in enumerate(self.problem.stages[stage]):
            grade = self._grade(stage, prefix.needs, prefix.factory, choice)
            bought = prefix.bought + (not choice.factory)
            if grade is not None and 1 <= bought <= self.max_sets:
                found.append((values[index], codes[index], index, grade))
        found.sort()
        last = self._last[state] = _Last(
            [entry[0] for entry in found],
            [entry[1] for entry in found],
            [entry[2] for entry in found],
            [entry[3] for entry in found],
        )
        return last

    def _grade(self, stage: int, needs: int, factory: bool, choice: Choice) -> int | None:
        """Grade of a choice and of its joint with the stage before; None if it cannot follow."""
        grade = choice.grade
        if not choice.items:
            return None
        if stage and not (factory and choice.factory):
            joint = self.problem.joints[stage - 1][needs][choice.brings]
            if joint is None:
                return None
            grade = min(grade, joint)
        return grade if grade >= self.min_grade else None

    # ------------------------------------------------------------------ rows of equal pairs

    def _rows_of(self, members: Sequence[tuple[tuple[int, ...], int]]) -> Iterator[Row]:
        """The rows of all classes of one pairs tuple, by price, then ids."""
        first = members[0][0]
        if first[0] < 0:
            pairs = self.problem.wholes[first[1]].pairs
        else:
            pairs = tuple(
                stage[index].pair for stage, index in zip(self.problem.stages, first, strict=True)
            )
        numerator = prod(pair.driven for pair in pairs)
        denominator = prod(pair.driver for pair in pairs)
        for unknown, price, ids, chain, items, grade in self._keys(members):
            whole = chain[0] < 0
            yield Row(
                () if whole else chain,
                chain[1] if whole else None,
                items,
                pairs,
                numerator,
                denominator,
                None if unknown else price,
                ids,
                grade,
            )

    def _keys(self, members: Sequence[tuple[tuple[int, ...], int]]) -> Iterable[_Key]:
        columns = [self._items(chain) for chain, _ in members]
        if sum(prod(len(c.by_id) for c in lists) for lists in columns) <= _SORT_AT_ONCE:
            return sorted(
                self._key(chain, grade, items)
                for (chain, grade), lists in zip(members, columns, strict=True)
                for items in product(*(column.by_id for column in lists))
                if self._affordable(items)
            )
        streams = []
        for (chain, grade), lists in zip(members, columns, strict=True):
            streams.append(self._known(chain, grade, [column.known for column in lists]))
            if self.max_price is None:
                streams.append(self._unknown(chain, grade, lists))
        return merge(*streams)

    def _known(
        self, chain: tuple[int, ...], grade: int, lists: Sequence[Sequence[Item]]
    ) -> Iterator[_Key]:
        """Rows of known price, from sorted items: a heap over the sums.

        Each tuple of positions has one predecessor, its last non-zero position less one, and no
        row is before its predecessor, so every row enters the heap once and in time.
        """
        if not all(lists):
            return
        zeros = (0,) * len(lists)
        heap = [(self._key(chain, grade, tuple(items[0] for items in lists)), zeros, 0)]
        while heap:
            key, at, moved = heappop(heap)
            if self.max_price is not None and key[1] > self.max_price:
                return
            yield key
            for stage in range(moved, len(lists)):
                if at[stage] + 1 < len(lists[stage]):
                    after = (*at[:stage], at[stage] + 1, *at[stage + 1 :])
                    items = tuple(column[i] for column, i in zip(lists, after, strict=True))
                    heappush(heap, (self._key(chain, grade, items), after, stage))

    def _unknown(
        self, chain: tuple[int, ...], grade: int, lists: Sequence[_Sorted]
    ) -> Iterator[_Key]:
        """Rows of unknown price."""
        for items in _with_unknown(lists):
            yield self._key(chain, grade, items)

    def _key(self, chain: tuple[int, ...], grade: int, items: tuple[Item, ...]) -> _Key:
        prices = [item.price for item in items]
        known = [price for price in prices if price is not None]
        unknown = len(known) < len(prices)
        if chain[0] < 0:
            ids = tuple(item.id for item in items)
        else:
            ids = tuple(
                item.id
                for item, stage, index in zip(items, self.problem.stages, chain, strict=True)
                if not stage[index].factory
            )
        return unknown, 0 if unknown else sum(known), ids, chain, items, grade

    def _affordable(self, items: tuple[Item, ...]) -> bool:
        if self.max_price is None:
            return True
        total = 0
        for item in items:
            if item.price is None:
                return False
            total += item.price
        return total <= self.max_price

    def _items(self, chain: tuple[int, ...]) -> list[_Sorted]:
        if chain[0] < 0:
            return [self._sorted_items(chain[0], chain[1], self.problem.wholes[chain[1]].items)]
        return [
            self._sorted_items(stage, index, self.problem.stages[stage][index].items)
            for stage, index in enumerate(chain)
        ]

    def _sorted_items(self, stage: int, index: int, items: Sequence[Item]) -> _Sorted:
        known = self._sorted.get((stage, index))
        if known is None:
            by_id = sorted(items, key=lambda item: item.id)
            priced = [(item.price, item.id, item) for item in by_id if item.price is not None]
            priced.sort(key=lambda entry: entry[:2])
            known = self._sorted[stage, index] = _Sorted(
                [entry[2] for entry in priced],
                [item for item in by_id if item.price is None],
                by_id,
            )
        return known


def _with_unknown(columns: Sequence[_Sorted]) -> Iterator[tuple[Item, ...]]:
    """Every tuple of items with an unknown price among them, by ids."""
    if not columns:
        return
    first, later = columns[0], columns[1:]
    if not any(column.unknown for column in later):
        for item in first.unknown:
            for rest in product(*(column.by_id for column in later)):
                yield (item, *rest)
        return
    for item in first.by_id:
        tails: Iterable[tuple[Item, ...]] = (
            product(*(column.by_id for column in later))
            if item.price is None
            else _with_unknown(later)
        )
        for rest in tails:
            yield (item, *rest)
