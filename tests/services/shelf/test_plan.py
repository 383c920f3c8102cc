"""The plan on catalogues: held to trying every purchase, with money and visits at their edges."""

from __future__ import annotations

import importlib.util
import os
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.shelf.demands import Demands, Visits, demands_of
from fitcheck.services.shelf.plan import Plan, Why, plan
from fitcheck.services.shelf.supply import buying_prices
from tests.conftest import EXPLORE, some

ROOT = Path(__file__).parents[3]
pytest.importorskip("scipy")


def held(catalogue: Catalogue, id_: str) -> bool:
    return id_ in catalogue.shelf and catalogue.shelf[id_].record.quantity > 0


def kits_of(demands: Demands, lawful: bool) -> list[tuple[Fraction, list[set[str]] | None]]:
    """Weight of each machine, and what must be bought for each choice that `match` lists.

    None where the shelf serves it as it is.
    """
    catalogue = demands.catalogue
    found: list[tuple[Fraction, list[set[str]] | None]] = []
    for demand in demands.judged:
        try:
            listed = match(demand.subject, Request(proven_only=True, lawful=lawful)).combinations
        except UsageError:
            listed = []  # nobody can say what is lawful
        kits = []
        for one in listed:
            buy = {entry.id for entry in one.sets if not held(catalogue, entry.id)}
            records = [catalogue.gear_sets[id_].record for id_ in buy]
            if not any(record.availability == "discontinued" for record in records):
                kits.append(buy)
        found.append((demand.weight, None if set() in kits else kits))
    return found


def buying(catalogue: Catalogue, id_: str) -> Decimal | None:
    """What the shop paid last, else what the supplier lists it for, less its discount."""
    held = catalogue.shelf.get(id_)
    cost = None if held is None else held.record.cost
    record = catalogue.gear_sets[id_].record
    supplier = catalogue.suppliers.get(record.supplier)
    discount = None if supplier is None else supplier.record.discount_percent
    if cost or not record.price or discount is None:
        return cost or record.price
    return (record.price * (1 - discount / 100)).quantize(Decimal("0.01"), ROUND_HALF_UP)


def affordable(
    ids: Sequence[str], prices: dict[str, Decimal], money: Decimal
) -> Iterator[frozenset[str]]:
    if not ids:
        yield frozenset()
        return
    first, rest = ids[0], ids[1:]
    yield from affordable(rest, prices, money)
    if prices[first] <= money:
        for more in affordable(rest, prices, money - prices[first]):
            yield more | {first}


def best(
    kits: list[tuple[Fraction, list[set[str]] | None]], catalogue: Catalogue, money: Decimal
) -> tuple[Fraction, Decimal]:
    """The most weight newly served within the money, and the least money that does it."""
    ids = sorted({id_ for _, each in kits if each for kit in each for id_ in kit})
    records = {id_: catalogue.gear_sets[id_].record for id_ in ids}
    euros = {id_: buying(catalogue, id_) for id_, r in records.items() if r.currency == "EUR"}
    prices = {id_: price for id_, price in euros.items() if price}
    found = (Fraction(0), Decimal(0))
    for bought in affordable(list(prices), prices, money):
        weight = sum(
            (w for w, each in kits if each and any(kit <= bought for kit in each)), Fraction(0)
        )
        price = sum((prices[id_] for id_ in bought), Decimal(0))
        if (-weight, price) < (-found[0], found[1]):
            found = (weight, price)
    return found


def newly(found: Plan) -> Fraction:
    return found.after.weight - found.before.weight


CASES = [
    ("machines", "godwit-200", 170, False),
    ("machines", "whimbrel-125", 130, False),
    ("machines", "sanderling-50", 90, False),
    ("machines", "avocet-100", 140, True),
    ("families", "curlew-125", 150, True),
    ("families", "turnstone-70", 160, False),
    ("families", "redshank-50", 140, False),
    ("families", "godwit-200", 200, True),
]


@pytest.mark.parametrize(("asked", "family", "money", "lawful"), some(CASES, 2))
def test_the_demo_against_every_purchase(demo, asked, family, money, lawful) -> None:
    chance = random.Random(family)
    ids = [one.id for one in demands_of(demo, asked, family=family).judged]
    visits = Visits({id_: Fraction(chance.randrange(9), 2) for id_ in ids})
    for weights in (None, visits):
        demands = demands_of(demo, asked, family=family, visits=weights)
        kits = kits_of(demands, lawful)
        for budget in (Decimal(money), Decimal(money) / 2):
            weight, price = best(kits, demo, budget)
            found = plan(demands, budget, lawful=lawful)
            assert (newly(found), found.spent) == (weight, price)
            assert found.quality.optimal
            assert found.quality.cheapest
            assert found.quality.most == weight
            quick = plan(demands, budget, lawful=lawful, use_solver=False)
            assert newly(quick) <= weight <= quick.quality.most
            assert newly(quick) == quick.quality.greedy == found.quality.greedy
            assert quick.spent <= budget
            check(found, kits)
            check(quick, kits)


def check(found: Plan, kits: list[tuple[Fraction, list[set[str]] | None]]) -> None:
    """What holds of every plan: sums, lists and machines agree with one another."""
    bought = {one.gear_set.id for one in found.bought}
    catalogue = found.demands.catalogue
    prices = [buying(catalogue, one.gear_set.id) for one in found.bought]
    assert [one.price for one in found.bought] == prices
    assert found.spent == sum(prices, Decimal(0))
    assert found.spent + found.left == found.budget
    assert found.left >= 0
    weights = {one.id: one.weight for one in found.demands.judged}
    served = {one.demand.id for one in found.served}
    unserved = {one.demand.id for one in found.unserved}
    before = {
        one.id for one, (_, each) in zip(found.demands.judged, kits, strict=True) if each is None
    }
    assert served | unserved | before == set(weights)
    assert len(served) + len(unserved) + len(before) == len(weights)
    assert found.before.machines == len(before)
    assert found.after.machines == len(before | served)
    assert found.after.weight == sum(weights[id_] for id_ in before | served)
    assert found.all_machines.weight == sum(weights.values())
    for one in found.served:
        assert set(one.kit.buy) <= bought
        assert all(id_ in one.kit.buy or held(found.demands.catalogue, id_) for id_ in one.kit.sets)
    for one, (_, each) in zip(found.demands.judged, kits, strict=True):
        if each is not None:
            assert (one.id in served) == any(kit <= bought for kit in each)
    for item in found.bought:
        assert item.serves
        assert {demand.id for demand in item.serves} <= served
        assert not held(found.demands.catalogue, item.gear_set.id)
    for lost in found.unserved:
        assert (lost.kit is not None) == (lost.why in (Why.MONEY, Why.BUDGET))
        if lost.kit is not None:
            assert (lost.kit.price > found.budget) == (lost.why is Why.BUDGET)


def test_more_money_never_serves_fewer(demo) -> None:
    demands = demands_of(demo)
    served = [
        plan(demands, Decimal(money)).after.machines for money in some((0, 150, 5000, 50, 400), 2)
    ]
    assert served == sorted(served)
    everything = plan(demands, Decimal(5000))
    assert not [one for one in everything.unserved if one.why is Why.MONEY]
    assert everything.after.machines == demands_count(demands) - len(everything.unserved)


def demands_count(demands: Demands) -> int:
    return len(demands.judged)


def test_a_cent_less_buys_something_else(demo) -> None:
    demands = demands_of(demo, family=None if EXPLORE else "godwit-200")
    found = plan(demands, Decimal(300))
    again = plan(demands, found.spent)
    assert again.spent == found.spent
    assert again.left == 0
    assert newly(again) == newly(found)
    less = plan(demands, found.spent - Decimal("0.01"))
    assert less.spent < found.spent
    assert newly(less) < newly(found)  # `cheapest` said that none is cheaper


def test_nothing_is_bought_for_nothing(demo) -> None:
    found = plan(demands_of(demo), Decimal(0))
    assert found.bought == ()
    assert found.before == found.after
    assert found.quality.optimal
    assert found.quality.most == 0


def test_visits_turn_the_plan(demo) -> None:
    plain = plan(demands_of(demo), Decimal(70))
    other = next(one for one in plain.unserved if one.kit and one.kit.price <= 70)
    visits = Visits({other.demand.id: Fraction(1000)})
    demands = demands_of(demo, visits=visits)
    found = plan(demands, Decimal(70))

    assert demands.weighted
    assert demands.unweighted == len(demo.machines) - 1
    assert other.demand.id in {one.demand.id for one in found.served}
    assert newly(found) >= 1000


def test_a_machine_that_never_comes_is_not_bought_for(demo) -> None:
    plain = plan(demands_of(demo, family="godwit-200"), Decimal(200))
    visits = Visits({one.demand.id: Fraction(0) for one in plain.served})
    found = plan(demands_of(demo, family="godwit-200", visits=visits), Decimal(200))
    assert plain.bought
    assert not found.bought


def test_weights_of_any_fraction_are_exact(demo) -> None:
    family = None if EXPLORE else "godwit-200"
    ids = [one.id for one in demands_of(demo, family=family).judged]
    third = Visits({id_: Fraction(1, 3) for id_ in ids})
    found = plan(demands_of(demo, family=family, visits=third), Decimal(300))
    plain = plan(demands_of(demo, family=family), Decimal(300))
    assert newly(found) * 3 == newly(plain)
    assert found.spent == plain.spent


def test_visits_of_an_unknown_machine_are_refused(demo) -> None:
    slip = Visits({"dunlin-tan": Fraction(1)}, {"dunlin-tan": "till.csv:3"})
    with pytest.raises(UsageError, match=r"^till.csv:3: .*did you mean dunlin-ten"):
        demands_of(demo, visits=slip)
    with pytest.raises(UsageError, match="no such factory train is on file"):
        demands_of(demo, "families", visits=Visits({"dunlin-ten": Fraction(1)}))


def two_currencies(load_records, shelf: dict | None = None) -> Catalogue:
    """One machine served in euros, one in pounds, one by a pair of both, one at no price."""
    machine = {"family": "dunlin", "housing": "short", "tune": "stock"}
    fits = [{"family": "dunlin", "housings": ["short"]}]
    return load_records(
        {
            "tune": {"stock": {"name": "standard", "low": 10, "high": 15}},
            "supplier": {"marram": {"name": "Marram"}},
            "family": {
                "dunlin": {
                    "name": "Dunlin",
                    "housings": {"short": {"name": "short case"}},
                    "stages": {"single": {}},
                }
            },
            "machine": {
                "one": {"name": "One", "pairs": {"single": "10/50"}, **machine},
                "two": {"name": "Two", "pairs": {"single": "10/60"}, **machine},
                "three": {"name": "Three", "pairs": {"single": "10/80"}, **machine},
            },
            "gear-set": {
                id_: {
                    "supplier": "marram",
                    "part_number": id_,
                    "pairs": {"single": pair},
                    "fits": fits,
                    **({} if price is None else {"price": Decimal(price)}),
                    "currency": currency,
                }
                for id_, pair, price, currency in (
                    ("E", "10/45", "40.005", "EUR"),
                    ("E2", "12/100", "1", "EUR"),
                    ("P", "10/53", "30", "GBP"),
                    ("N", "10/71", None, "EUR"),
                )
            },
            "shelf": shelf or {},
        }
    )


def test_what_the_shop_paid_last_stands_before_the_list_price(load_records) -> None:
    sold_out = {
        "E": {"quantity": 0, "cost": Decimal("31.40")},
        "N": {"quantity": 0, "cost": 20},
        "P": {"quantity": 0, "cost": 0},  # free once: no price to buy at
    }
    demands = demands_of(two_currencies(load_records, sold_out))
    found = plan(demands, Decimal("51.40"))

    assert [(b.gear_set.id, b.price, b.source) for b in found.bought] == [
        ("E", Decimal("31.40"), "last cost"),
        ("N", Decimal(20), "last cost"),
    ]
    assert (found.spent, found.left, found.unpriced) == (Decimal("51.40"), 0, 0)
    assert plan(demands, Decimal("31.39")).bought[0].gear_set.id == "N"
    assert [one.kit.at_cost for one in found.served] == [("E",), ("N",)]
    pounds = plan(demands, Decimal(100), currency="GBP")
    assert [(b.price, b.source) for b in pounds.bought] == [(Decimal(30), "list price")]


def test_a_discount_makes_sets_never_bought_comparable(load_records) -> None:
    """By hand: 40.005 less 35 % is 26.00325, so 26.00; what was paid overrides it."""
    catalogue = two_currencies(load_records, {"N": {"quantity": 0, "cost": 20}})
    assert plan(demands_of(catalogue), Decimal(100)).at_list == 1
    entry = catalogue.suppliers["marram"]
    cheaper = entry.record.model_copy(update={"discount_percent": Decimal(35)})
    known = replace(catalogue, suppliers={"marram": replace(entry, record=cheaper)})
    found = plan(demands_of(known), Decimal(46))
    assert [(b.gear_set.id, b.price, b.source) for b in found.bought] == [
        ("E", Decimal("26.00"), "list less discount"),
        ("N", Decimal(20), "last cost"),
    ]
    assert (found.spent, found.at_list, found.helping) == (46, 0, 2)
    kits = {one.demand.id: one.kit for one in found.served}
    assert (kits["one"].at_cost, kits["one"].at_list) == ((), ())
    assert kits["three"].at_cost == ("N",)


@pytest.mark.parametrize(
    ("discount", "price"),
    # By hand, of 40.005: as it is, less nothing, less a half (20.0025), less 35 % (26.00325).
    [(None, "40.01"), ("0", "40.01"), ("50", "20.00"), ("35", "26.00")],
)
def test_what_a_list_comes_to_is_rounded_once(load_records, discount, price) -> None:
    catalogue = two_currencies(load_records)
    entry = catalogue.suppliers["marram"]
    change = {"discount_percent": None if discount is None else Decimal(discount)}
    own = replace(entry, record=entry.record.model_copy(update=change))
    known = replace(catalogue, suppliers={"marram": own})
    assert buying_prices(known, ["E"])["E"].amount == Decimal(price)


def test_a_list_price_of_nothing_is_no_price_to_buy_at(load_records) -> None:
    # Of the set without a price, `N`: 0 says as little as none.
    free = two_currencies(load_records)
    record = free.gear_sets["N"].record.model_copy(update={"price": Decimal(0)})
    sets = {**free.gear_sets, "N": replace(free.gear_sets["N"], record=record)}
    found = plan(demands_of(replace(free, gear_sets=sets)), Decimal(100))
    assert [one.gear_set.id for one in found.bought] == ["E"]
    assert found.unpriced == 1


def test_one_currency_at_a_time_and_the_rest_is_said(load_records) -> None:
    demands = demands_of(two_currencies(load_records))
    found = plan(demands, Decimal(100))

    assert found.currency == "EUR"
    assert [one.gear_set.id for one in found.bought] == ["E"]
    assert found.spent == Decimal("40.01")  # 40.005 on the list, half up
    assert found.other_currencies == {"GBP": 1}
    assert found.unpriced == 1
    assert {one.demand.id: one.why for one in found.unserved} == {
        "two": Why.CURRENCY,
        "three": Why.PRICE,
    }
    pounds = plan(demands, Decimal(100), currency="GBP")
    assert [one.gear_set.id for one in pounds.bought] == ["P"]
    assert pounds.other_currencies == {"EUR": 1}
    with pytest.raises(UsageError, match="priced in CHF; there is EUR, GBP"):
        plan(demands, Decimal(100), currency="CHF")


def test_money_is_exact_beyond_cents(load_records) -> None:
    demands = demands_of(two_currencies(load_records, {"E": {"quantity": 0, "cost": 40.005}}))
    assert plan(demands, Decimal("40.005")).left == 0
    assert not plan(demands, Decimal("40.0049")).bought


def test_without_scipy_the_answer_is_greedy(demo, monkeypatch: pytest.MonkeyPatch) -> None:
    looked = importlib.util.find_spec
    demands = demands_of(demo)
    exact = plan(demands, Decimal(300))
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name, *a: None if name == "scipy" else looked(name, *a)
    )
    found = plan(demands, Decimal(300))

    assert exact.quality.solver
    assert not found.quality.solver
    assert found.quality.method == "greedy"
    assert newly(found) <= newly(exact) <= found.quality.most


def test_the_same_question_has_the_same_answer(demo) -> None:
    demands = demands_of(demo, "families", family=None if EXPLORE else "godwit-200")
    first, second = (plan(demands, Decimal(400)) for _ in range(2))
    assert [one.gear_set.id for one in first.bought] == [one.gear_set.id for one in second.bought]
    assert first.quality == second.quality


def test_what_the_solver_prints_stays_out_of_the_answer(
    demo: Catalogue, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """HiGHS prints past Python, whatever it is told: a line in front of JSON would spoil it."""
    import scipy.optimize

    real = scipy.optimize.milp
    asked = []

    def chatty(*given: Any, **options: Any) -> Any:
        asked.append(given)
        os.write(1, b"a line of the solver\n")
        return real(*given, **options)

    monkeypatch.setattr(scipy.optimize, "milp", chatty)
    print("before")
    plan(demands_of(demo, family="godwit-200"), Decimal(170))
    print("the answer")
    assert asked
    assert capfd.readouterr().out == "before\nthe answer\n"
