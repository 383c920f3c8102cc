"""A coverage problem asked part by part, its parts bound together by the money alone.

Demands that have no item in common, not by way of others either, fall into parts: mostly the engine
families. Only the budget couples them. Relaxed by a rate, the weight that a unit of money must
bring, each part is asked by itself: which purchase brings the most beyond the rate times its price?
What the parts bring at most, and the rate times the budget, is a bound at any rate (weak duality;
Fisher, The Lagrangian relaxation method for solving integer programming problems, Management
Science 27 (1981); cited from memory). It is never worse than the relaxation of the whole, for in
each part items stay whole. The purchases found on the way are put together again so that the budget
holds.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fitcheck.kernel.coverage.greedy import complete_way
from fitcheck.kernel.coverage.problem import Coverage, Purchase
from fitcheck.kernel.coverage.programme import Programme

_TURNS = 15
_SHARE = 6
"""One part takes at most so great a part of the time that is left: a sixth."""

_MOST_TOGETHER = 5000
"""So many purchases of the first parts are kept while parts are put together."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a problem.

    Attributes:
        coverage: the part; its budget is that of the whole.
        items: for each of its items the number it has in the whole.
    """

    coverage: Coverage
    items: tuple[int, ...]

    def purchase(self, items: Iterable[int]) -> Purchase:
        """Its share of a purchase of the whole."""
        bought = set(items)
        return self.coverage.purchase(at for at, item in enumerate(self.items) if item in bought)


def parts_of(coverage: Coverage) -> list[Part]:
    """The parts that have no item in common, in the order of their first demands."""
    leads = list(range(len(coverage.prices)))

    def lead(item: int) -> int:
        while leads[item] != item:
            leads[item] = leads[leads[item]]
            item = leads[item]
        return item

    for ways in coverage.ways:
        for item in (item for way in ways for item in way):
            leads[lead(item)] = lead(ways[0][0])
    demands: dict[int, list[int]] = {}
    for demand, ways in enumerate(coverage.ways):
        if ways:
            demands.setdefault(lead(ways[0][0]), []).append(demand)
    return [_part(coverage, mine) for mine in demands.values()]


def _part(coverage: Coverage, demands: Sequence[int]) -> Part:
    items = sorted({item for demand in demands for way in coverage.ways[demand] for item in way})
    number = {item: at for at, item in enumerate(items)}
    ways = tuple(
        tuple(tuple(number[item] for item in way) for way in coverage.ways[demand])
        for demand in demands
    )
    return Part(
        Coverage(
            tuple(coverage.prices[item] for item in items),
            tuple(coverage.weights[demand] for demand in demands),
            ways,
            coverage.budget,
        ),
        tuple(items),
    )


def solve_by_parts(
    coverage: Coverage, parts: Sequence[Part], known: Purchase, bound: int, ends: float
) -> tuple[Purchase, int]:
    """Look for a better purchase and a better bound.

    Args:
        coverage: the problem, best reduced before.
        parts: its parts.
        known: a purchase within the budget.
        bound: a weight known not to be exceeded.
        ends: when to stop, of `time.monotonic`.

    Returns:
        The best purchase, that known or better, and the least bound.
    """
    if len(parts) < 2 or coverage.budget == 0:
        return known, bound
    programmes = [Programme(part.coverage) for part in parts]
    pools = [{part.coverage.purchase(()), part.purchase(known.items)} for part in parts]
    rate, best = known.weight / coverage.budget / 2, known
    for turn in range(_TURNS):
        # If the time runs out on the first turn, a part not asked yet has its relaxation's bound.
        most = [
            one.most_beyond(rate, _left(ends) / 10, relaxed=True)[1] if turn == 0 else math.inf
            for one in programmes
        ]
        for place, programme in enumerate(programmes):
            if _left(ends) <= 0:
                break
            found, value = programme.most_beyond(rate, _left(ends) / _SHARE)
            most[place] = min(most[place], value)
            pools[place] |= found
        total = rate * coverage.budget + sum(most)
        if total < bound:
            bound = max(best.weight, math.floor(total))
        best = min(best, _together(coverage, parts, pools), key=lambda each: each.rank)
        next_rate, expected = _next_rate(coverage.budget, pools)
        if best.weight == bound or expected >= bound or _left(ends) <= 0:
            break
        rate = next_rate
    return best, bound


def _left(ends: float) -> float:
    return ends - time.monotonic()


def _next_rate(budget: int, pools: Sequence[Iterable[Purchase]]) -> tuple[float, float]:
    """The rate at which the purchases known give the least bound, and that bound."""

    def at(rate: float) -> tuple[float, float]:
        value, spent = rate * budget, 0
        for pool in pools:
            best = max(pool, key=lambda each: (each.weight - rate * each.price, -each.price))
            value += best.weight - rate * best.price
            spent += best.price
        return value, spent

    low, high = 0.0, float(sum(max(each.weight for each in pool) for pool in pools) or 1)
    for _ in range(80):
        middle = (low + high) / 2
        if at(middle)[1] > budget:
            low = middle
        else:
            high = middle
    return high, at(high)[0]


def _together(
    coverage: Coverage, parts: Sequence[Part], pools: Sequence[Iterable[Purchase]]
) -> Purchase:
    """The best purchase of one from each pool within the budget, completed greedily."""
    front: list[tuple[int, int, tuple[int, ...]]] = [(0, 0, ())]
    for part, pool in zip(parts, pools, strict=True):
        choices = [
            (each.price, each.weight, tuple(part.items[item] for item in each.items))
            for each in pool
        ]
        wider = sorted(
            (
                (price + more, weight + served, items + others)
                for price, weight, items in front
                for more, served, others in choices
                if price + more <= coverage.budget
            ),
            key=lambda each: (each[0], -each[1]),
        )
        front = []
        for each in wider:
            if not front or each[1] > front[-1][1]:
                front.append(each)
        if len(front) > _MOST_TOGETHER:
            step = len(front) / _MOST_TOGETHER
            front = [front[int(at * step)] for at in range(_MOST_TOGETHER - 1)] + front[-1:]
    return complete_way(coverage, front[-1][2])
