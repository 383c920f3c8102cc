"""The most that any purchase within the budget can serve: a bound that needs no solver.

Each way asks for its first item and for its last. So a demand is served only where one of the first
items of its ways is bought, and only where one of the last is: two rows a demand, one where they
are the same. Relaxed by multipliers on those rows, what is left is a knapsack that may be cut,
solved by sorting. Any multipliers give a valid bound (weak duality; Fisher, The Lagrangian
relaxation method for solving integer programming problems, Management Science 27 (1981), cited from
memory); a few steps of the subgradient method look for good ones in floats, and the bound itself is
then worked out in whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cmp_to_key

from fitcheck.kernel.coverage.problem import Coverage

_STEPS = 150
_UNIT = 1 << 20
_PATIENCE = 8


def upper_bound(coverage: Coverage, known: int, steps: int = _STEPS) -> int:
    """A weight that no purchase within the budget can exceed.

    Args:
        coverage: the problem.
        known: weight of a purchase that is known; it ends the search early and sets its steps.
        steps: at most so many steps.
    """
    rows: list[tuple[int, tuple[int, ...]]] = []
    for demand, ways in enumerate(coverage.ways):
        firsts = {way[0] for way in ways}
        lasts = {way[-1] for way in ways}
        rows += [(demand, tuple(sorted(each))) for each in {frozenset(firsts), frozenset(lasts)}]
    rows.sort()
    share: list[int] = [0] * len(coverage.ways)
    for demand, _ in rows:
        share[demand] += 1
    multipliers = [coverage.weights[demand] / share[demand] for demand, _ in rows]
    reachable = sum(
        weight
        for weight, ways in zip(coverage.weights, coverage.ways, strict=True)
        if any(coverage.price(way) <= coverage.budget for way in ways)
    )
    best = min(reachable, _certify_bound(coverage, rows, multipliers))
    least, best_multipliers = float("inf"), multipliers
    eager, stuck = 1.0, 0
    for _ in range(steps):
        if best <= known:
            break
        value, slope = _relax_budget(coverage, rows, multipliers)
        if value < least - 1e-9 * abs(value):
            least, best_multipliers, stuck = value, multipliers, 0
            if value < best:
                best = min(best, _certify_bound(coverage, rows, multipliers))
        else:
            stuck += 1
            if stuck == _PATIENCE:
                eager, stuck, multipliers = eager / 2, 0, best_multipliers
                continue
        norm = sum(each * each for each in slope)
        if norm < 1e-12:
            break
        step = eager * max(value - known, 1e-6 * value) / norm
        multipliers = [
            max(0.0, multiplier - step * each)
            for multiplier, each in zip(multipliers, slope, strict=True)
        ]
    return max(best, known)


def _relax_budget(
    coverage: Coverage, rows: Sequence[tuple[int, tuple[int, ...]]], multipliers: Sequence[float]
) -> tuple[float, list[float]]:
    """The relaxed optimum and its slope by each multiplier."""
    value = [0.0] * len(coverage.prices)
    left = [float(weight) for weight in coverage.weights]
    for (demand, items), multiplier in zip(rows, multipliers, strict=True):
        left[demand] -= multiplier
        if multiplier:
            for item in items:
                value[item] += multiplier
    bought = [0.0] * len(value)
    money = float(coverage.budget)
    total = sum(each for each in left if each > 0)
    worth = [item for item, each in enumerate(value) if each > 0]
    prices = coverage.prices
    worth.sort(key=lambda item: value[item] / max(prices[item], 1e-9), reverse=True)
    for item in worth:
        part = 1.0 if prices[item] <= money else money / prices[item]
        bought[item] = part
        total += part * value[item]
        money -= part * prices[item]
        if part < 1.0:
            break
    slope = [
        sum(bought[item] for item in items) - (1.0 if left[demand] > 0 else 0.0)
        for demand, items in rows
    ]
    return total, slope


def _certify_bound(
    coverage: Coverage, rows: Sequence[tuple[int, tuple[int, ...]]], multipliers: Sequence[float]
) -> int:
    """The relaxed optimum in whole numbers, cut to the whole weight under it."""
    value = [0] * len(coverage.prices)
    left = [weight * _UNIT for weight in coverage.weights]
    for (demand, items), multiplier in zip(rows, multipliers, strict=True):
        scaled = int(multiplier * _UNIT)
        left[demand] -= scaled
        for item in items:
            value[item] += scaled
    prices = coverage.prices

    def falling(one: int, other: int) -> int:
        return value[other] * prices[one] - value[one] * prices[other]

    free = [item for item, each in enumerate(value) if each and not prices[item]]
    dear = [item for item, each in enumerate(value) if each and prices[item]]
    total = Fraction(sum(each for each in left if each > 0) + sum(value[item] for item in free))
    money = coverage.budget
    for item in sorted(dear, key=cmp_to_key(falling)):
        if prices[item] > money:
            total += Fraction(value[item] * money, prices[item])
            break
        money -= prices[item]
        total += value[item]
    return int(total / _UNIT)
