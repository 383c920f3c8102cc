"""Coverage asked part by part, and a search that the clock ends: held to trying every purchase."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.kernel.coverage import Coverage, best_purchase, minimal_ways
from fitcheck.kernel.coverage.by_parts import parts_of, solve_by_parts
from fitcheck.kernel.coverage.programme import Programme
from tests.conftest import some
from tests.kernel.coverage.test_coverage import brute

pytest.importorskip("scipy")


@st.composite
def families(draw: st.DrawFn) -> Coverage:
    """Two or three families of two to four sets: singles, and pairs of them; prices in cents."""
    prices: list[int] = []
    ways, weights = [], []
    for _ in range(draw(st.integers(2, 3))):
        first, number = len(prices), draw(st.integers(2, 4))
        prices += draw(st.lists(st.integers(1, 9999), min_size=number, max_size=number))
        item = st.integers(first, first + number - 1)
        way = st.lists(item, min_size=1, max_size=2, unique=True).map(tuple)
        for _ in range(draw(st.integers(1, 4))):
            ways.append(minimal_ways(draw(st.lists(way, min_size=1, max_size=5))))
            weights.append(draw(st.integers(1, 60)))
    budget = draw(st.integers(0, sum(prices)))
    return Coverage(tuple(prices), tuple(weights), tuple(ways), budget)


@settings(max_examples=2 * settings().max_examples, deadline=None)
@given(families())
def test_parts_share_no_item_and_lose_no_demand(coverage: Coverage) -> None:
    parts = parts_of(coverage)
    held = [item for part in parts for item in part.items]
    assert len(held) == len(set(held))
    assert sum(len(part.coverage.ways) for part in parts) == len(coverage.ways)
    whole = range(len(coverage.prices))
    assert sum(part.purchase(whole).weight for part in parts) == coverage.purchase(whole).weight
    # What two demands share keeps them together.
    for part in parts:
        apart = parts_of(part.coverage)
        assert len(apart) == 1


@settings(max_examples=2 * settings().max_examples, deadline=None)
@given(families())
def test_part_by_part_the_purchase_is_within_and_the_bound_over_the_best(
    coverage: Coverage,
) -> None:
    best = brute(coverage)
    nothing = coverage.purchase(())
    found, bound = solve_by_parts(
        coverage, parts_of(coverage), nothing, sum(coverage.weights), math.inf
    )
    assert found == coverage.purchase(found.items)
    assert found.price <= coverage.budget
    assert found.weight <= best.weight <= bound


@settings(max_examples=settings().max_examples, deadline=None)
@given(families())
def test_a_search_that_the_clock_ends_still_says_what_is_true(coverage: Coverage) -> None:
    """As if the time for the whole, and for the price, ran out with nothing found."""
    best = brute(coverage)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Programme, "most_weight", lambda self, bound, limit: (None, bound, False))
        patched.setattr(Programme, "least_price", lambda self, known, limit: (None, False, False))
        found = best_purchase(coverage, 1.0)
    assert found.purchase.price <= coverage.budget
    assert found.purchase.weight <= best.weight <= found.bound
    if found.optimal:
        assert found.purchase.weight == best.weight
    if not found.optimal:
        assert not found.ended
        assert not found.cheapest
    if found.cheapest:
        assert found.purchase.price == best.price


def pair_heavy(seed: int = 7, count: int = 10, number: int = 14) -> Coverage:
    """Families whose machines need a first and a second set together, mostly."""
    chance = random.Random(seed)
    prices, weights, ways = [], [], []
    for family in range(count):
        first = family * 2 * number
        prices += [chance.randrange(30, 95) * 100 - 5 for _ in range(2 * number)]
        for _ in range(number):
            found = {
                (first + chance.randrange(number), first + number + chance.randrange(number))
                for _ in range(25)
            }
            ways.append(minimal_ways(found))
            weights.append(chance.randint(1, 60))
    return Coverage(tuple(prices), tuple(weights), tuple(ways), 60_000)


@pytest.mark.parametrize("limit", some([0.3, 0.0], 1))
def test_when_the_time_runs_out_the_best_found_is_given_with_its_bound(limit: float) -> None:
    coverage = pair_heavy()
    found = best_purchase(coverage, limit)
    assert found.solver
    assert not found.ended
    assert not found.optimal
    assert found.purchase == coverage.purchase(found.purchase.items)
    assert found.purchase.price <= coverage.budget
    assert found.purchase.rank <= found.greedy.rank
    assert found.purchase.weight < found.bound < sum(coverage.weights)


def test_where_no_money_couples_the_parts_they_prove_the_best() -> None:
    """Money for all that is worth its price: each part is bought for itself."""
    coverage = Coverage((10, 10, 10, 10), (5, 7), (((0, 1),), ((2, 3),)), 40)
    parts = parts_of(coverage)
    found, bound = solve_by_parts(coverage, parts, coverage.purchase(()), 12, math.inf)
    assert (found.items, found.weight, bound) == ((0, 1, 2, 3), 12, 12)
