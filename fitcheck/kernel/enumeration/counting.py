"""How many combinations there are, by grade, without building one."""

from __future__ import annotations

import sys
from bisect import bisect_left, bisect_right
from collections import Counter
from itertools import accumulate

from fitcheck.kernel.enumeration.problem import Choice, Counts, Problem, Scale, Window

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
                grade = _grade(problem, stage, state, choice)
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
            grade = _grade(problem, stage, state, choice)
            found.setdefault(grade, []).append((scaled, len(choice.items)))
    return {
        grade: (
            [value for value, _ in sorted(entries)],
            list(accumulate((number for _, number in sorted(entries)), initial=0)),
        )
        for grade, entries in found.items()
    }


def _grade(problem: Problem, stage: int, state: _State, choice: Choice) -> int | None:
    needs, factory, _ = state
    if not stage or (factory and choice.factory):
        return choice.grade
    joint = problem.joints[stage - 1][needs][choice.brings]
    return None if joint is None else min(joint, choice.grade)
