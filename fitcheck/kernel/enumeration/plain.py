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
from collections.abc import Iterator
from heapq import heapify, heappop, heapreplace, merge
from itertools import groupby, islice
from operator import itemgetter
from typing import NamedTuple

from fitcheck.kernel.enumeration.problem import Choice, Problem, Row, Scale, Window, code
from fitcheck.kernel.enumeration.ties import Parts, in_order, parts_of

_PERFECT = sys.maxsize


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
        self._known: dict[tuple[int, ...], Parts] = {}

    def rows(self) -> Iterator[Row]:
        """All rows in order."""
        for _, group in groupby(self._classes(), key=itemgetter(1)):
            yield from self._rows_of([(chain, grade) for _, _, chain, grade in group])

    # ------------------------------------------------------------------ classes, by reduction

    def _classes(self) -> Iterator[tuple[int, int, tuple[int, ...], int]]:
        """Scaled reduction, pairs, chain of choices and grade, in order of the first two.

        A set of the whole train has the chain (-1, its index).
        """
        wholes = self._wholes()
        return merge(self._chains(), wholes) if wholes else self._chains()

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
            scaled, before, chain, grade, *_ = prefixes[number]
            values, codes, choices, grades = lasts[number]
            after = at + 1
            if after < ends[number]:
                heapreplace(
                    heap, (scaled * values[after], before << 16 | codes[after], number, after)
                )
            else:
                heappop(heap)
            yield value, pairs, (*chain, choices[at]), min(grade, grades[at])

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

    def _rows_of(self, members: list[tuple[tuple[int, ...], int]]) -> Iterator[Row]:
        """The rows of all classes of one pairs tuple, by price, then ids."""
        first = members[0][0]
        if first[0] < 0:
            pairs = self.problem.wholes[first[1]].pairs
        else:
            pairs = tuple([self.problem.stages[at][i].pair for at, i in enumerate(first)])
        numerator = denominator = 1
        for pair in pairs:
            numerator *= pair.driven
            denominator *= pair.driver
        ties = [(chain, grade, self._parts(chain)) for chain, grade in members]
        for unknown, price, ids, chain, items, grade in in_order(ties, self.max_price):
            choices, whole = (chain, None) if chain[0] >= 0 else ((), chain[1])
            known = None if unknown else price
            yield Row(choices, whole, items, pairs, numerator, denominator, known, ids, grade)

    def _parts(self, chain: tuple[int, ...]) -> list[Parts]:
        places = enumerate(chain) if chain[0] >= 0 else [chain]
        return [self._known.get(place) or self._sort(*place) for place in places]

    def _sort(self, stage: int, index: int) -> Parts:
        if stage < 0:
            parts = parts_of(self.problem.wholes[index].items)
        else:
            choice = self.problem.stages[stage][index]
            parts = parts_of(choice.items, choice.factory)
        self._known[stage, index] = parts
        return parts
