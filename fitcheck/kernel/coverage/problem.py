"""Budgeted maximum coverage: which items to buy so that the most demands are served.

A demand may be served in several ways, and a way may ask for several items bought together; that
makes it harder than plain coverage, where one item always suffices. Prices, weights and the
budget are whole numbers, so that nothing is lost to rounding.

A problem is made smaller without losing its best purchase: ways that cost more than the budget go;
demands served in the very same ways become one; and an item goes where another that costs no more
can take its place in every way it helps (dominance).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cached_property

Way = tuple[int, ...]
"""Items that serve a demand when all of them are bought; each named once."""


@dataclass(frozen=True)
class Coverage:
    """What can be bought, what it serves, and how much money there is.

    Attributes:
        prices: price of each item, in least units of the currency, zero or more. Where two items
            are alike, the one with the lower number is bought.
        weights: what serving each demand is worth, over zero.
        ways: for each demand the ways to serve it.
        budget: money there is, in the units of the prices, zero or more.

    Raises:
        ValueError: the parts do not belong together.
    """

    prices: tuple[int, ...]
    weights: tuple[int, ...]
    ways: tuple[tuple[Way, ...], ...]
    budget: int

    def __post_init__(self) -> None:
        if len(self.weights) != len(self.ways):
            raise ValueError("there is one weight for each demand")
        if self.budget < 0 or min(self.prices, default=0) < 0:
            raise ValueError("a budget and prices are zero or more")
        if min(self.weights, default=1) < 1:
            raise ValueError("a weight is one or more")
        items = range(len(self.prices))
        for way in (way for ways in self.ways for way in ways):
            if not way or len(set(way)) != len(way) or any(item not in items for item in way):
                raise ValueError(f"{way} is no way: it names items, each once, one at least")

    @cached_property
    def singles_only(self) -> bool:
        """Whether one item always suffices, so that this is plain coverage."""
        return all(len(way) == 1 for ways in self.ways for way in ways)

    def price(self, items: Iterable[int]) -> int:
        """What different items cost together."""
        return sum(self.prices[item] for item in items)

    def served(self, items: Collection[int]) -> list[int]:
        """The demands that these items serve, in order."""
        bought = set(items)
        return [
            demand
            for demand, ways in enumerate(self.ways)
            if any(bought.issuperset(way) for way in ways)
        ]

    def purchase(self, items: Iterable[int]) -> Purchase:
        """The purchase of these items, with what it serves and costs."""
        bought = tuple(sorted(set(items)))
        weight = sum(self.weights[demand] for demand in self.served(bought))
        return Purchase(bought, weight, self.price(bought))


@dataclass(frozen=True, slots=True)
class Purchase:
    """Items to buy.

    Attributes:
        items: their numbers, rising.
        weight: of the demands they serve.
        price: of all of them.
    """

    items: tuple[int, ...]
    weight: int
    price: int

    @property
    def rank(self) -> tuple[int, int, tuple[int, ...]]:
        """What is least is best: the most weight, then the least money, then the first items."""
        return (-self.weight, self.price, self.items)


def minimal_ways(ways: Iterable[Way]) -> tuple[Way, ...]:
    """Ways without those that hold all the items of another, each in its order, sorted."""
    kept: list[Way] = []
    by_size = sorted({frozenset(way): way for way in sorted(ways)}.items(), key=_size)
    small: set[frozenset[int]] = set()
    for items, way in by_size:
        if not any(part in small for part in _parts(items)):
            small.add(items)
            kept.append(way)
    return tuple(sorted(kept))


def _size(entry: tuple[frozenset[int], Way]) -> tuple[int, Way]:
    return len(entry[0]), entry[1]


def _parts(items: frozenset[int]) -> Iterable[frozenset[int]]:
    """Every part of some items that is smaller than they are, the empty one left out."""
    listed = sorted(items)
    for mask in range(1, (1 << len(listed)) - 1):
        yield frozenset(item for place, item in enumerate(listed) if mask >> place & 1)


@dataclass(frozen=True)
class Reduced:
    """A smaller problem with the same best weight at the same least price.

    Attributes:
        coverage: the smaller problem.
        items: for each of its items the number it had.
    """

    coverage: Coverage
    items: tuple[int, ...]

    def original(self, items: Iterable[int]) -> list[int]:
        """Numbers that items of the smaller problem have in the problem it was made of."""
        return [self.items[item] for item in items]


def reduce_coverage(coverage: Coverage) -> Reduced:
    """Reduce a problem; any purchase in it is one of the same weight and price in the original."""
    affordable = [
        minimal_ways(way for way in ways if coverage.price(way) <= coverage.budget)
        for ways in coverage.ways
    ]
    left = _without_dominated(coverage.prices, affordable)
    weights: dict[tuple[Way, ...], int] = {}
    for ways, weight in zip(left, coverage.weights, strict=True):
        if ways:
            weights[ways] = weights.get(ways, 0) + weight
    items = sorted({item for ways in weights for way in ways for item in way})
    number = {item: position for position, item in enumerate(items)}
    return Reduced(
        Coverage(
            tuple(coverage.prices[item] for item in items),
            tuple(weights.values()),
            tuple(tuple(tuple(number[item] for item in way) for way in ways) for ways in weights),
            coverage.budget,
        ),
        tuple(items),
    )


def _without_dominated(
    prices: Collection[int], all_ways: list[tuple[Way, ...]]
) -> list[tuple[Way, ...]]:
    """The ways left when dominated items are bought no more."""
    price = list(prices)
    ways = [{frozenset(way): way for way in each} for each in all_ways]
    uses: dict[int, dict[int, list[frozenset[int]]]] = {}
    for demand, each in enumerate(ways):
        for items in each:
            for item in items:
                uses.setdefault(item, {}).setdefault(demand, []).append(items)
    dropped: set[int] = set()
    for item in sorted(uses, key=lambda item: (-price[item], -item)):
        mine = {
            demand: [items for items in found if items in ways[demand]]
            for demand, found in uses[item].items()
        }
        mine = {demand: found for demand, found in mine.items() if found}
        if not mine:
            continue
        fewest = min(mine, key=lambda demand: (len(ways[demand]), demand))
        others = {other for items in ways[fewest] for other in items} - {item} - dropped
        for other in sorted(others):
            if (
                (price[other], other) < (price[item], item)
                and all(demand in uses[other] for demand in mine)
                and _replaces(other, item, mine, ways)
            ):
                dropped.add(item)
                for demand, found in mine.items():
                    for items in found:
                        del ways[demand][items]
                break
    return [tuple(sorted(each.values())) for each in ways]


def _replaces(
    other: int,
    item: int,
    mine: dict[int, list[frozenset[int]]],
    ways: list[dict[frozenset[int], Way]],
) -> bool:
    """Whether each way that asks for an item still serves with the other in its place."""
    for demand, found in mine.items():
        known = ways[demand]
        for items in found:
            swapped = items - {item} | {other}
            if swapped not in known and not any(part in known for part in _parts(swapped)):
                return False
    return True
