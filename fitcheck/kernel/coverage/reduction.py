"""A coverage problem made smaller without losing its best purchase.

Ways that cost more than the budget go; demands served in the very same ways become one; and an
item goes where another that costs no more can take its place in every way it helps (dominance).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from fitcheck.kernel.coverage.problem import Coverage, Way, minimal_ways


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
    gone: set[int] = set()
    for item in sorted(uses, key=lambda item: (-price[item], -item)):
        mine = {
            demand: [items for items in found if items in ways[demand]]
            for demand, found in uses[item].items()
        }
        mine = {demand: found for demand, found in mine.items() if found}
        if not mine:
            continue
        fewest = min(mine, key=lambda demand: (len(ways[demand]), demand))
        others = {other for items in ways[fewest] for other in items} - {item} - gone
        for other in sorted(others):
            if (
                (price[other], other) < (price[item], item)
                and all(demand in uses[other] for demand in mine)
                and _replaces(other, item, mine, ways)
            ):
                gone.add(item)
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
            if swapped not in known and not any(
                way <= swapped for way in _small_ways(swapped, known)
            ):
                return False
    return True


def _small_ways(
    items: frozenset[int], known: dict[frozenset[int], Way]
) -> Iterable[frozenset[int]]:
    """Known ways made of some of a few items, all of them left out."""
    listed = sorted(items)
    for mask in range(1, (1 << len(listed)) - 1):
        part = frozenset(item for place, item in enumerate(listed) if mask >> place & 1)
        if part in known:
            yield part
