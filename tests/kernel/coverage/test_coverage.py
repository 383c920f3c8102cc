"""Coverage within a budget, held to trying every purchase there is, and to knapsacks by DP."""

from __future__ import annotations

import importlib.util
import math
import random
import sys
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.kernel.coverage import (
    GREEDY_SHARE,
    Coverage,
    Purchase,
    best_purchase,
    minimal_ways,
    solver_installed,
)
from fitcheck.kernel.coverage.greedy import greedy, tidy_items, upper_bound
from fitcheck.kernel.coverage.problem import reduce_coverage
from fitcheck.kernel.coverage.programme import Programme
from tests.conftest import some

pytest.importorskip("scipy")


def brute(coverage: Coverage) -> Purchase:
    """Try every purchase: the most weight, then the least money, then the first items.

    Written from the definition alone, with sets and sums of its own.
    """
    best: tuple[int, int, tuple[int, ...]] | None = None
    for mask in range(1 << len(coverage.prices)):
        items = tuple(item for item in range(len(coverage.prices)) if mask >> item & 1)
        price = sum(coverage.prices[item] for item in items)
        if price > coverage.budget:
            continue
        weight = sum(
            weight
            for weight, ways in zip(coverage.weights, coverage.ways, strict=True)
            if any(all(item in items for item in way) for way in ways)
        )
        if best is None or (-weight, price, items) < best:
            best = (-weight, price, items)
    assert best is not None
    return Purchase(best[2], -best[0], best[1])


@st.composite
def problems(draw: st.DrawFn, sizes: Sequence[int] = (1, 1, 2, 2, 3)) -> Coverage:
    number = draw(st.integers(1, 8))
    prices = draw(
        st.lists(st.sampled_from([0, 1, 2, 3, 5, 7, 10]), min_size=number, max_size=number)
    )
    item = st.integers(0, number - 1)
    way = st.sampled_from(sizes).flatmap(
        lambda size: st.lists(item, min_size=1, max_size=size, unique=True).map(tuple)
    )
    ways = draw(st.lists(st.lists(way, max_size=5).map(tuple), max_size=7))
    weights = draw(st.lists(st.integers(1, 12), min_size=len(ways), max_size=len(ways)))
    return Coverage(tuple(prices), tuple(weights), tuple(ways), draw(st.integers(0, 30)))


@settings(max_examples=3 * settings().max_examples, deadline=None)
@given(problems())
def test_the_exact_purchase_is_the_best_of_all(coverage: Coverage) -> None:
    best, found = brute(coverage), best_purchase(coverage)

    assert found.purchase == coverage.purchase(found.purchase.items)
    assert found.purchase.price <= coverage.budget
    assert found.purchase.weight == best.weight == found.bound
    assert found.optimal
    assert found.cheapest
    assert found.purchase.price == best.price
    assert found.purchase.rank <= found.greedy.rank


@settings(max_examples=3 * settings().max_examples, deadline=None)
@given(problems())
def test_greedy_keeps_to_the_budget_and_the_bound_holds(coverage: Coverage) -> None:
    best, found = brute(coverage), best_purchase(coverage, use_solver=False)

    assert found.method == "greedy"
    assert not found.solver
    assert found.purchase == found.greedy == coverage.purchase(found.purchase.items)
    assert found.purchase.price <= coverage.budget
    assert found.purchase.weight <= best.weight <= found.bound
    if found.optimal:
        assert found.purchase.weight == best.weight
    if found.cheapest:
        assert found.purchase.price == best.price
    assert best_purchase(coverage).purchase.rank <= found.purchase.rank


@settings(max_examples=3 * settings().max_examples, deadline=None)
@given(problems(sizes=(1,)))
def test_greedy_is_sure_of_its_share_where_one_item_suffices(coverage: Coverage) -> None:
    """(1 - 1/e)/2 of the optimum: Khuller, Moss and Naor, Inf. Process. Lett. 70 (1999)."""
    assert pytest.approx((1 - 1 / math.e) / 2, abs=1e-3) == GREEDY_SHARE
    found = best_purchase(coverage, use_solver=False)

    assert found.singles_only
    assert found.purchase.weight >= GREEDY_SHARE * brute(coverage).weight


@settings(max_examples=2 * settings().max_examples, deadline=None)
@given(problems(), st.integers(0, 3))
def test_any_number_of_steps_gives_a_bound(coverage: Coverage, steps: int) -> None:
    best = brute(coverage)

    assert upper_bound(coverage, 0, steps) >= best.weight
    assert upper_bound(coverage, best.weight) >= best.weight


@settings(max_examples=3 * settings().max_examples, deadline=None)
@given(problems())
def test_reducing_keeps_the_best_weight_at_its_price(coverage: Coverage) -> None:
    smaller = reduce_coverage(coverage)
    best, left = brute(coverage), brute(smaller.coverage)

    assert (left.weight, left.price) == (best.weight, best.price)
    back = coverage.purchase(smaller.original(left.items))
    assert (back.weight, back.price) == (left.weight, left.price)


@settings(max_examples=2 * settings().max_examples, deadline=None)
@given(problems(), st.data())
def test_tidying_sells_nothing_that_serves(coverage: Coverage, data: st.DataObject) -> None:
    items = data.draw(st.sets(st.integers(0, len(coverage.prices) - 1)))
    before, after = coverage.purchase(items), tidy_items(coverage, items)

    assert set(after.items) <= set(items)
    assert after.weight == before.weight
    assert all(
        coverage.purchase(set(after.items) - {item}).weight < after.weight for item in after.items
    )


def test_greedy_by_value_alone_would_buy_the_wrong_one() -> None:
    """Weights 1 and p, prices 1 and p + 1, budget p + 1: the best one is bought.

    The instance that keeps greedy by weight for money from any share by itself, as in Khuller,
    Moss and Naor, section 2.
    """
    p = 50
    coverage = Coverage((1, p + 1), (1, p), (((0,),), ((1,),)), p + 1)

    assert greedy(coverage).items == (1,)


def knapsack(prices: Sequence[int], worths: Sequence[int], budget: int) -> list[int]:
    """The best worth of a 0/1 knapsack for each budget up to one, by dynamic programming."""
    best = [0] * (budget + 1)
    for price, worth in zip(prices, worths, strict=True):
        for money in range(budget, price - 1, -1):
            best[money] = max(best[money], best[money - price] + worth)
    return best


def as_coverage(prices: Sequence[int], worths: Sequence[int], budget: int) -> Coverage:
    """A knapsack: each item serves one demand of its own."""
    ways = tuple(((item,),) for item in range(len(prices)))
    return Coverage(tuple(prices), tuple(worths), ways, budget)


def test_a_knapsack_of_the_literature() -> None:
    """Ten items, capacity 165, optimum 309: a set that goes round in courses; from memory.

    The dynamic programme above confirms it.
    """
    prices = [23, 31, 29, 44, 53, 38, 63, 85, 89, 82]
    worths = [92, 57, 49, 68, 60, 43, 67, 84, 87, 72]
    found = best_purchase(as_coverage(prices, worths, 165))

    assert knapsack(prices, worths, 165)[165] == found.purchase.weight == found.bound == 309


@pytest.mark.parametrize("seed", some(range(5), 1))
def test_larger_knapsacks_with_cents(seed: int) -> None:
    chance = random.Random(seed)
    prices = [chance.randrange(1, 2000) for _ in range(60)]
    worths = [chance.randrange(1, 100) for _ in range(60)]
    best = knapsack(prices, worths, sum(prices))
    budgets = (0, 7001, sum(prices) - 1, min(prices) - 1, min(prices), sum(prices))
    for budget in some(budgets, 3):
        found = best_purchase(as_coverage(prices, worths, budget))
        assert found.optimal
        assert found.purchase.weight == best[budget]
        assert found.purchase.price <= budget
        quick = best_purchase(as_coverage(prices, worths, budget), use_solver=False)
        assert quick.purchase.weight <= found.purchase.weight <= quick.bound
    everything = best_purchase(as_coverage(prices, worths, sum(prices)))
    assert everything.purchase.items == tuple(range(60))


@pytest.mark.parametrize(("vertices", "edges"), [(6, 9), (7, 12)])
@pytest.mark.parametrize("seed", range(3))
def test_pairs_only_is_the_densest_subgraph(vertices: int, edges: int, seed: int) -> None:
    """With unit prices and a demand for each edge, the plan is a densest k-subgraph."""
    chance = random.Random(seed)
    pairs = [(a, b) for a in range(vertices) for b in range(a + 1, vertices)]
    graph = chance.sample(pairs, edges)
    for k in range(vertices + 1):
        coverage = Coverage((1,) * vertices, (1,) * edges, tuple((edge,) for edge in graph), k)
        found = best_purchase(coverage)
        assert found.purchase.weight == brute(coverage).weight
        assert found.singles_only == (k < 2)  # under two, no pair is in reach


def test_a_budget_that_just_reaches() -> None:
    coverage = Coverage((333, 334, 333), (1, 1, 1), (((0,),), ((1,),), ((2,),)), 1000)
    assert best_purchase(coverage).purchase.items == (0, 1, 2)
    less = Coverage(coverage.prices, coverage.weights, coverage.ways, 999)
    assert best_purchase(less).purchase == Purchase((0, 2), 2, 666)


def test_of_equals_the_cheaper_is_bought_then_the_first() -> None:
    alike = (((0,), (1,), (2,)),)
    assert best_purchase(Coverage((5, 4, 6), (1,), alike, 10)).purchase.items == (1,)
    assert best_purchase(Coverage((5, 5, 5), (1,), alike, 10)).purchase.items == (0,)
    pair = (((2,), (0, 1)),)
    assert best_purchase(Coverage((2, 2, 5), (1,), pair, 10)).purchase.items == (0, 1)
    assert best_purchase(Coverage((2, 4, 5), (1,), pair, 10)).purchase.items == (2,)


def test_nothing_to_serve_or_nothing_in_reach_buys_nothing() -> None:
    for coverage in (
        Coverage((), (), (), 100),
        Coverage((5,), (1,), ((),), 100),
        Coverage((5,), (1,), (((0,),),), 4),
    ):
        for use_solver in (True, False):
            found = best_purchase(coverage, use_solver=use_solver)
            assert found.purchase == Purchase((), 0, 0)
            assert found.optimal
            assert found.cheapest


def test_what_is_free_is_taken_where_it_serves() -> None:
    coverage = Coverage((0, 0, 3), (2, 1), (((0,),), ((2,),)), 0)
    for use_solver in (True, False):
        assert best_purchase(coverage, use_solver=use_solver).purchase == Purchase((0,), 2, 0)


def test_the_order_of_demands_does_not_change_the_purchase() -> None:
    chance = random.Random(7)
    ways = tuple(
        tuple(tuple(chance.sample(range(12), chance.choice([1, 2]))) for _ in range(4))
        for _ in range(25)
    )
    prices = tuple(chance.randrange(1, 9) for _ in range(12))
    weights = tuple(chance.randrange(1, 4) for _ in ways)
    found = set()
    for _ in range(5):
        order = chance.sample(range(25), 25)
        coverage = Coverage(
            prices, tuple(weights[i] for i in order), tuple(ways[i] for i in order), 12
        )
        found.add(best_purchase(coverage).purchase)
        assert greedy(coverage) == greedy(Coverage(prices, weights, ways, 12))
    assert len(found) == 1


def large(seed: int = 1, machines: int = 150, sets: int = 120) -> Coverage:
    chance = random.Random(seed)
    ways = tuple(
        tuple(
            tuple(chance.sample(range(sets), 2 if chance.random() < 0.5 else 1)) for _ in range(6)
        )
        for _ in range(machines)
    )
    prices = tuple(chance.randrange(3000, 12000, 5) for _ in range(sets))
    return Coverage(prices, (1,) * machines, ways, 120_000)


def test_a_solver_without_time_leaves_greedy_and_the_bound() -> None:
    coverage = large()
    found = best_purchase(coverage, time_limit_s=0.0)

    assert found.solver
    assert found.purchase.rank <= found.greedy.rank
    assert found.purchase.price <= coverage.budget
    assert found.purchase.weight <= found.bound


def test_a_purchase_over_the_budget_by_the_solvers_tolerance_is_not_taken(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    coverage = Coverage((3, 4), (1, 1), (((0,),), ((1,),)), 6)
    monkeypatch.setattr(Programme, "_bought", lambda *_: [0, 1])
    found = best_purchase(coverage)

    assert found.purchase.price <= 6
    assert found.purchase.weight == 1


def test_without_scipy_greedy_answers_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name, *a: None if name == "scipy" else looked(name, *a)
    )
    assert not solver_installed()
    found = best_purchase(large())

    assert found.method == "greedy"
    assert not found.solver
    assert 0 < found.purchase.weight <= found.bound


def test_a_scipy_that_was_blocked_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "scipy", None)
    assert not solver_installed()


@pytest.mark.parametrize(
    ("prices", "weights", "ways", "budget"),
    [
        ((1,), (1, 1), (((0,),),), 1),
        ((1,), (1,), (((1,),),), 1),
        ((1,), (1,), (((0, 0),),), 1),
        ((1,), (1,), (((),),), 1),
        ((-1,), (1,), (((0,),),), 1),
        ((1,), (0,), (((0,),),), 1),
        ((1,), (1,), (((0,),),), -1),
    ],
)
def test_parts_that_do_not_belong_together_are_refused(prices, weights, ways, budget) -> None:
    with pytest.raises(ValueError, match=r"."):
        Coverage(prices, weights, ways, budget)


def test_ways_that_hold_another_go() -> None:
    ways = [(3, 1), (1, 2), (2,), (4, 1, 3), (5, 6, 7), (2,)]
    assert minimal_ways(ways) == ((2,), (3, 1), (5, 6, 7))
    assert minimal_ways([]) == ()
