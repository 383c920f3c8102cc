"""Cost-benefit greedy for coverage within a budget.

Again and again the way with the most newly served weight for its money is bought. The best of that
and the one best way (completed greedily) is at least (1 - 1/e)/2 = 0.316 of the optimum where one
item always suffices: Khuller, Moss and Naor, The budgeted maximum coverage problem, Information
Processing Letters 70 (1999). Where ways ask for several items there is no such promise, for then
the problem holds the densest-subgraph problem; only a bound worked out afterwards says how good
the purchase is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from heapq import heapify, heappop, heappush

from fitcheck.kernel.coverage.problem import Coverage, Purchase, Way

GREEDY_SHARE = 0.316
"""(1 - 1/e)/2, cut: the least share of the optimum, where one item always suffices."""

_SCALE = 1 << 40


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
