"""Every combination in the contract's order, lazily, and their number, in plain Python.

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
from collections import Counter
from collections.abc import Iterator
from heapq import heapify, heappop, heapreplace, merge
from itertools import accumulate, groupby, islice
from operator import itemgetter
from typing import NamedTuple

from fitcheck.kernel.enumeration.problem import Choice, Counts, Problem, Row, Scale, Window, code
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
    found = _Enumeration(
        problem, window, max_price=max_price, max_sets=max_sets, min_grade=min_grade
    ).rows()
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


_NO_STAGE = _Prefix(value=1, code=0, chain=(), grade=_PERFECT, needs=0, factory=False, bought=0)


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
        *,
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
        found = [_NO_STAGE]
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
                            value=before.value * values[index],
                            code=before.code << 16 | codes[index],
                            chain=(*before.chain, index),
                            grade=min(before.grade, grade),
                            needs=choice.needs,
                            factory=choice.factory,
                            bought=bought,
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
        """Grade of a choice and its joint; None if it cannot follow or is not asked for."""
        grade = self.problem.grade(stage, needs, factory, choice) if choice.items else None
        return None if grade is None or grade < self.min_grade else grade

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
            # In the order of the fields: keywords cost a fifth of the time of a long list.
            yield Row._make(
                (choices, whole, items, pairs, numerator, denominator, known, ids, grade)
            )

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


# ---------------------------------------------------------------------- how many there are

_State = tuple[int, bool, int]
"""What the last stage sees of the stages before: seat needed, factory kept, sets bought."""

_Sums = tuple[list[int], list[int]]
"""Scaled reductions, rising, and the number of items before each (and after the last)."""


def count(
    problem: Problem, window: Window = (None, None), *, max_sets: int | None = None
) -> Counts:
    """Count combinations by grade, those a joint rules out apart.

    Args:
        problem: the choices.
        window: overall reductions counted, both edges inclusive.
        max_sets: greatest number of sets bought; a set of the whole train counts as one.

    Returns:
        Exact counts; over an open window their total is the product of the choices less the
        factory train, plus the sets of the whole train.
    """
    limit = sys.maxsize if max_sets is None else max_sets
    scale = Scale(problem)
    least, greatest = scale.window(window)
    by_grade: Counter[int] = Counter()
    ruled_out = 0
    if limit >= 1:
        for whole in problem.wholes:
            value = scale.whole(whole)
            if least <= value and (greatest is None or value <= greatest):
                by_grade[whole.grade] += len(whole.items)

    last = len(problem.stages) - 1
    sums: dict[_State, dict[int | None, _Sums]] = {}
    # State, scaled reduction and grade of all stages but the last; grade None is ruled out.
    for (state, value, before), number in _prefixes(problem, scale, limit).items():
        grades = sums.get(state)
        if grades is None:
            grades = sums[state] = _by_grade(problem, scale, last, state, limit)
        for grade, (values, below) in grades.items():
            end = len(values) if greatest is None else bisect_right(values, greatest // value)
            inside = below[end] - below[min(end, bisect_left(values, -(-least // value)))]
            if before is None or grade is None:
                ruled_out += number * inside
            elif inside:
                by_grade[min(before, grade)] += number * inside
    return Counts(
        {grade: by_grade[grade] for grade in sorted(by_grade) if by_grade[grade]}, ruled_out
    )


def _prefixes(
    problem: Problem, scale: Scale, limit: int
) -> Counter[tuple[_State, int, int | None]]:
    found: Counter[tuple[_State, int, int | None]] = Counter({((0, False, 0), 1, sys.maxsize): 1})
    for stage in range(len(problem.stages) - 1):
        longer: Counter[tuple[_State, int, int | None]] = Counter()
        for (state, value, before), number in found.items():
            for choice, scaled in zip(problem.stages[stage], scale.values[stage], strict=True):
                bought = state[2] + (not choice.factory)
                if bought > limit:
                    continue
                grade = problem.grade(stage, state[0], state[1], choice)
                worst = None if before is None or grade is None else min(before, grade)
                after = (choice.needs, choice.factory, bought)
                longer[after, value * scaled, worst] += number * len(choice.items)
        found = longer
    return found


def _by_grade(
    problem: Problem, scale: Scale, stage: int, state: _State, limit: int
) -> dict[int | None, _Sums]:
    """The last stage's items after a state, by grade of choice and joint together."""
    found: dict[int | None, list[tuple[int, int]]] = {}
    for choice, scaled in zip(problem.stages[stage], scale.values[stage], strict=True):
        if 1 <= state[2] + (not choice.factory) <= limit:
            grade = problem.grade(stage, state[0], state[1], choice)
            found.setdefault(grade, []).append((scaled, len(choice.items)))
    return {
        grade: (
            [value for value, _ in sorted(entries)],
            list(accumulate((number for _, number in sorted(entries)), initial=0)),
        )
        for grade, entries in found.items()
    }
