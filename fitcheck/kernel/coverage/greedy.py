"""A purchase and a bound for coverage within a budget, both without a solver.

Cost-benefit greedy: again and again the way with the most newly served weight for its money is
bought. The best of that and the one best way (completed greedily) is at least (1 - 1/e)/2 = 0.316
of the optimum where one item always suffices: Khuller, Moss and Naor, The budgeted maximum coverage
problem, Information Processing Letters 70 (1999). Where ways ask for several items there is no such
promise, for then the problem holds the densest-subgraph problem; only a bound worked out afterwards
says how good the purchase is.

The bound: each way asks for its first item and for its last. So a demand is served only where one
of the first items of its ways is bought, and only where one of the last is: two rows a demand, one
where they are the same. Relaxed by multipliers on those rows, what is left is a knapsack that may
be cut, solved by sorting. Any multipliers give a valid bound (weak duality; Fisher, The Lagrangian
relaxation method for solving integer programming problems, Management Science 27 (1981), cited from
memory); a few steps of the subgradient method look for good ones in floats, and the bound itself is
then worked out in whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cmp_to_key
from heapq import heapify, heappop, heappush

from fitcheck.kernel.coverage.problem import Coverage, Purchase, Way

GREEDY_SHARE = 0.316
"""(1 - 1/e)/2, cut: the least share of the optimum, where one item always suffices."""

_SCALE = 1 << 40
_STEPS = 150
_UNIT = 1 << 20
_PATIENCE = 8


def greedy(coverage: Coverage) -> Purchase:
    """A good purchase within the budget, the same for the same problem."""
    first = complete_way(coverage, ())
    single = _Market(coverage).best_way()
    second = first if single is None else complete_way(coverage, single)
    return min(first, second, key=lambda purchase: purchase.rank)


def tidy_items(coverage: Coverage, items: Iterable[int]) -> Purchase:
    """The purchase without the items that serve nothing the others do not, dearest first."""
    kept = set(items)
    helped: dict[int, list[int]] = {}
    for demand, ways in enumerate(coverage.ways):
        for item in {item for way in ways for item in way}:
            helped.setdefault(item, []).append(demand)
    served = set(coverage.served(kept))
    for item in sorted(kept, key=lambda item: (-coverage.prices[item], -item)):
        without = kept - {item}
        if all(
            any(without.issuperset(way) for way in coverage.ways[demand])
            for demand in helped.get(item, ())
            if demand in served
        ):
            kept = without
    return coverage.purchase(kept)


def complete_way(coverage: Coverage, start: Way) -> Purchase:
    """Buy greedily after a first purchase; sell what has become useless and go on, till the end."""
    best = coverage.purchase(start)
    while True:
        market = _Market(coverage)
        market.buy(best.items)
        market.buy_greedily()
        found = tidy_items(coverage, market.bought)
        if found.rank >= best.rank:
            return best
        best = found


class _Market:
    """What is bought, and for every way still open what it would serve and cost.

    Demands are bits of whole numbers, so that what several ways serve together is one `|`.

    Attributes:
        bought: the items bought.
        money: what is left of the budget.
    """

    def __init__(self, coverage: Coverage) -> None:
        self._coverage = coverage
        self.bought: set[int] = set()
        self.money = coverage.budget
        # What is still to be bought for a way, and the demands that wait for it.
        self._waiting: dict[frozenset[int], int] = {}
        self._holding: dict[int, set[frozenset[int]]] = {}
        self._parts: dict[frozenset[int], tuple[frozenset[int], ...]] = {}
        for demand, ways in enumerate(coverage.ways):
            for way in ways:
                self._wait(frozenset(way), 1 << demand)
        self._open = (1 << len(coverage.ways)) - 1
        # For each binary digit of the weights, the demands whose weight has it.
        digits = max(coverage.weights, default=0).bit_length()
        self._digits = [
            sum(
                1 << demand for demand, weight in enumerate(coverage.weights) if weight >> digit & 1
            )
            for digit in range(digits)
        ]

    def _wait(self, items: frozenset[int], demands: int) -> None:
        self._waiting[items] = self._waiting.get(items, 0) | demands
        for item in items:
            self._holding.setdefault(item, set()).add(items)

    def best_way(self) -> Way | None:
        """The one way that serves the most weight within the money left."""
        offers = [
            (-gain, price, tuple(sorted(items)))
            for items in self._waiting
            if (price := self._coverage.price(items)) <= self.money
            and (gain := self._gain(items)) > 0
        ]
        return min(offers)[2] if offers else None

    def _gain(self, items: frozenset[int]) -> int:
        """Weight that is newly served once these items are bought."""
        parts = self._parts.get(items)
        if parts is None:
            parts = self._parts[items] = tuple(_all_parts(items))
        demands = 0
        for part in parts:
            demands |= self._waiting.get(part, 0)
        demands &= self._open
        return sum(
            (demands & having).bit_count() << digit for digit, having in enumerate(self._digits)
        )

    def buy(self, items: Iterable[int]) -> set[frozenset[int]]:
        """Buy items; returns the ways that have become cheaper by it."""
        cheaper: set[frozenset[int]] = set()
        for item in items:
            if item in self.bought:
                continue
            self.bought.add(item)
            self.money -= self._coverage.prices[item]
            for held in self._holding.pop(item, ()):
                demands = self._waiting.pop(held)
                rest = held - {item}
                for other in rest:
                    self._holding[other].discard(held)
                cheaper.discard(held)
                if not rest:
                    self._open &= ~demands
                elif demands & self._open:
                    self._wait(rest, demands & self._open)
                    cheaper.add(rest)
        return cheaper

    def buy_greedily(self) -> None:
        """Buy the way with the most weight for its money, again and again."""
        heap = [offer for items in self._waiting if (offer := self._offer(items)) is not None]
        heapify(heap)
        while heap:
            offer = heappop(heap)
            items = frozenset(offer[2])
            if items not in self._waiting:
                continue
            now = self._offer(items)
            if now is None:
                continue
            if now > offer:
                heappush(heap, now)
                continue
            # Only what has become cheaper can have risen, and what holds that.
            cheaper = self.buy(now[2])
            risen = {held for each in cheaper for held in self._holding[min(each)] if held >= each}
            for each in risen:
                again = self._offer(each)
                if again is not None:
                    heappush(heap, again)

    def _offer(self, items: frozenset[int]) -> tuple[int, int, Way] | None:
        """What ranks a way, least first: weight for money falling, price, items; None: no use."""
        price = self._coverage.price(items)
        if price > self.money:
            return None
        gain = self._gain(items)
        if gain == 0:
            return None
        # Of free ways the one of most weight comes first; none of those is ever out of reach.
        value = gain * _SCALE // price if price else gain * _SCALE * _SCALE
        return (-value, price, tuple(sorted(items)))


def _all_parts(items: frozenset[int]) -> Iterator[frozenset[int]]:
    listed = sorted(items)
    for mask in range(1, 1 << len(listed)):
        yield frozenset(item for place, item in enumerate(listed) if mask >> place & 1)


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
