"""What serves a machine, and the gaps: held to nested loops over every set of the catalogue."""

from __future__ import annotations

import shutil
from collections import Counter
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.errors import UsageError
from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.shelf.demands import Demand, demands_of
from fitcheck.services.shelf.gaps import State, gaps, state_of
from fitcheck.services.shelf.supply import Market, Supply
from tests.conftest import EXPLORE, some

ROOT = Path(__file__).parents[3]


def in_band(demand: Demand, change: Fraction) -> bool:
    """The edges of the tune, or of the family where it has its own; both inside."""
    tune, own = demand.subject.tune, demand.family.record.bands.get(demand.subject.tune.id)
    low = tune.record.low if own is None or own.low is None else own.low
    high = tune.record.high if own is None or own.high is None else own.high
    return Fraction(low) <= change <= Fraction(high)


def held(catalogue: Catalogue, id_: str) -> bool:
    return id_ in catalogue.shelf and catalogue.shelf[id_].record.quantity > 0


def looped(demand: Demand, found: list) -> tuple[int, int, dict[frozenset[str], Decimal | None]]:
    """Choices on the shelf that serve, those unproven, and what would have to be bought."""
    catalogue = demand.subject.catalogue
    inside = [
        one for one in found if one.verdict is not Verdict.RULED_OUT and in_band(demand, one.change)
    ]
    on_shelf = [one for one in inside if all(held(catalogue, id_) for id_ in one.ids)]
    proved = Counter(one.verdict for one in on_shelf)
    buy = set()
    for one in inside:
        missing = [entry for entry in one.sets if not held(catalogue, entry.id)]
        if one.verdict is not Verdict.FITS or not missing:
            continue
        if all(entry.record.availability != "discontinued" for entry in missing):
            buy.add(frozenset(entry.id for entry in missing))
    least = {ids for ids in buy if not any(other < ids for other in buy)}
    sets = catalogue.gear_sets

    def buying(id_: str) -> Decimal | None:
        entry = catalogue.shelf.get(id_)
        cost = None if entry is None else entry.record.cost
        record = sets[id_].record
        supplier = catalogue.suppliers.get(record.supplier)
        off = None if supplier is None else supplier.record.discount_percent
        if cost or not record.price or off is None:
            return cost or record.price
        return (record.price * (1 - off / 100)).quantize(Decimal("0.01"), ROUND_HALF_UP)

    prices = {
        ids: None
        if any(buying(id_) is None for id_ in ids)
        or len({sets[id_].record.currency for id_ in ids}) > 1
        else sum((buying(id_) for id_ in ids), Decimal(0))
        for ids in least
    }
    return proved[Verdict.FITS], proved[Verdict.UNPROVEN], prices


def hold(supply: Supply, found: list) -> None:
    """Assert that a supply is what the loops give."""
    serving, unproven, prices = looped(supply.demand, found)
    assert (supply.in_band, supply.unproven) == (serving, unproven)
    assert {frozenset(kit.buy): kit.price for kit in supply.kits} == prices
    known = [kit.price for kit in supply.kits if kit.price is not None]
    assert known == sorted(known)
    by_ids = {one.ids: one for one in found}
    assert len(by_ids) == len(found)
    for kit in supply.kits:
        assert set(kit.buy) <= set(kit.sets)
        one = by_ids[kit.sets]
        assert one.verdict is Verdict.FITS
        assert in_band(supply.demand, one.change)
        assert all(held(supply.demand.subject.catalogue, i) for i in kit.sets if i not in kit.buy)


def test_machines_of_the_demo_against_nested_loops(demo, loops) -> None:
    market = Market(demo)
    demands = demands_of(demo).judged
    assert len(demands) == len(demo.machines)
    for demand in some(demands, 2):
        hold(market.supply(demand), loops.universe(demand.subject))


@pytest.mark.night
@pytest.mark.parametrize("family", some(["godwit-200", "turnstone-70"], 1))
def test_factory_trains_against_nested_loops(demo, loops, family: str) -> None:
    market = Market(demo)
    demands = demands_of(demo, "families", family=family).judged
    trains = demo.families[family].record.factory_trains
    assert len(demands) == len(trains) * len(demo.tunes)
    universes: dict[int | None, list] = {}
    for demand in demands:
        if demand.train not in universes:
            universes[demand.train] = loops.universe(demand.subject)
        hold(market.supply(demand), universes[demand.train])


def test_states_are_what_match_in_stock_lists(demo) -> None:
    """The other way round: the list of `match --in-stock`, of proved fit, has as many rows."""
    states = set()
    for id_ in demo.families if EXPLORE else ("sanderling-50", "turnstone-70"):
        (family,) = gaps(demands_of(demo, family=id_)).families
        for gap in family.machines:
            request = Request(in_stock=True, proven_only=True)
            listed = match(gap.supply.demand.subject, request).counts.listed
            assert gap.supply.serving == listed
            states.add(gap.state)
            expected = {0: State.NOTHING, 1: State.ONE}.get(listed, State.SERVED)
            assert gap.state is expected
    assert states == {State.NOTHING, State.ONE, State.SERVED}


def test_lawful_counts_are_those_of_match_lawful(demo) -> None:
    states = set()
    for id_ in demo.families if EXPLORE else ("sanderling-50", "turnstone-70"):
        (family,) = gaps(demands_of(demo, family=id_), lawful=True).families
        for gap in family.machines:
            states.add(gap.state)
            supply = gap.supply
            law = supply.law
            assert law is not None
            assert law.within + law.unclear + law.over == supply.in_band
            subject = supply.demand.subject
            asked = Request(in_stock=True, proven_only=True, lawful=True)
            if law.problem is not None:
                with pytest.raises(UsageError) as refused:
                    match(subject, asked)
                assert law.problem.startswith(str(refused.value).partition("; ")[0])
                assert "--" not in law.problem
                assert law.within == law.over == 0
                assert not supply.kits
                continue
            assert law.within == match(subject, asked).counts.listed
            every = match(subject, Request(proven_only=True, lawful=True))
            lawful = {tuple(entry.id for entry in one.sets) for one in every.combinations}
            assert all(kit.sets in lawful for kit in supply.kits)
            needed = [
                {id_ for id_ in ids if not held(demo, id_)}
                for ids in lawful
                if all(
                    held(demo, id_) or demo.gear_sets[id_].record.availability != "discontinued"
                    for id_ in ids
                )
            ]
            least = {frozenset(n) for n in needed if n and not any(m and m < n for m in needed)}
            assert {frozenset(kit.buy) for kit in supply.kits} == least
            if not supply.kits:
                plain = Market(demo).supply(supply.demand)
                assert bool(plain.kits) == bool(supply.unclear_kits or supply.over_kits)
    assert states >= {State.NOTHING, State.UNLAWFUL, State.ONE}
    assert not EXPLORE or State.UNCLEAR in states


def test_a_class_that_is_broken_whatever_the_gears_makes_nothing_sure(tmp_path) -> None:
    """5.1 kW against five brake horsepower, 3.73 kW: 49 CFR 571.3, motor-driven cycle."""
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    path = tmp_path / "catalog" / "machines" / "dunlin-50.yaml"
    text = path.read_text(encoding="utf-8")
    head = "  dunlin-ten-kit:\n"
    assert head in text
    path.write_text(
        text.replace(head, f"{head}    vehicle_class: US-motor-driven-cycle\n"), encoding="utf-8"
    )
    catalogue = load(tmp_path / "catalog")
    (demand,) = (one for one in demands_of(catalogue).judged if one.id == "dunlin-ten-kit")
    supply = Market(catalogue, lawful=True).supply(demand)

    assert supply.in_band
    assert supply.law is not None
    assert (supply.law.within, supply.law.unclear) == (0, supply.in_band)
    assert "5.1 kW" in supply.law.problem
    assert supply.kits == ()
    assert state_of(supply) is State.UNCLEAR


def test_the_law_is_asked_only_where_somebody_wants_it(demo) -> None:
    demand = next(one for one in demands_of(demo).judged if one.id == "dunlin-ten")
    assert Market(demo).supply(demand).law is None
    assert Market(demo, lawful=True).supply(demand).law is not None


def test_the_law_takes_away_and_never_adds(demo) -> None:
    for asked in some(("machines", "families"), 1):
        demands = demands_of(demo, asked, family=None if EXPLORE else "sanderling-50")
        plain = {g.supply.demand.id: g for f in gaps(demands).families for g in f.machines}
        for family in gaps(demands, lawful=True).families:
            for gap in family.machines:
                before = plain[gap.supply.demand.id]
                assert gap.supply.in_band == before.supply.in_band
                assert gap.supply.serving <= before.supply.serving
                if before.state is State.NOTHING:
                    assert gap.state is State.NOTHING


SHELF = {
    "tune": {"stock": {"name": "standard", "low": 10, "high": 15}},
    "supplier": {"marram": {"name": "Marram"}, "samphire": {"name": "Samphire", "currency": "GBP"}},
    "family": {
        "dunlin": {
            "name": "Dunlin",
            "housings": {"short": {"name": "short case"}},
            "stages": {"single": {}},
            "factory_trains": [
                {"housing": "short", "wheel_size_in": 10, "pairs": {"single": "10/50"}}
            ],
        }
    },
}


def single(pair: str, **more: object) -> dict[str, object]:
    fits = [{"family": "dunlin", "housings": ["short"]}]
    return {
        "supplier": "marram",
        "part_number": "P",
        "pairs": {"single": pair},
        "fits": fits,
        "interfaces": {},
        "price": 50,
        **more,
    }


def shop(load_records, sets: dict, shelf: dict, machines: dict | None = None) -> Catalogue:
    numbered = {id_: {**fields, "part_number": id_} for id_, fields in sets.items()}
    machine = {"name": "One", "family": "dunlin", "housing": "short", "pairs": {"single": "10/50"}}
    return load_records(
        {
            **SHELF,
            "machine": machines or {"one": {**machine, "tune": "stock"}},
            "gear-set": numbered,
            "shelf": {id_: {"quantity": quantity} for id_, quantity in shelf.items()},
        }
    )


# 10/50 is 5.0: 10/45 is 4.5 and +11.1 %, 11/49 is 4.4545 and +12.2 %, 10/44 is 4.4 and +13.6 %.
ON, TWO, THREE, OVER = "10/45", "11/49", "10/44", "12/45"


def only_gap(catalogue: Catalogue):
    (family,) = gaps(demands_of(catalogue)).families
    (gap,) = family.machines
    return gap


def test_what_is_sold_out_is_to_buy_and_what_is_given_up_is_not(load_records) -> None:
    sets = {
        "A": single(ON),
        "B": single(TWO, availability="discontinued"),
        "C": single(THREE, status="retired"),
        "D": single(OVER),
        "E": single(TWO, fits=[]),
        "F": single(TWO, price=40),
    }
    gap = only_gap(shop(load_records, sets, {"A": 0, "B": 0, "C": 3, "D": 2, "E": 1}))

    assert gap.state is State.NOTHING
    assert [kit.buy for kit in gap.closers] == [("F",), ("A",)]
    assert gap.supply.unproven == 1  # E, which nobody vouches for


def test_what_is_given_up_by_its_supplier_still_sells_from_the_shelf(load_records) -> None:
    sets = {"B": single(TWO, availability="discontinued")}
    assert only_gap(shop(load_records, sets, {"B": 1})).state is State.ONE


def test_closers_by_price_then_id_with_other_money_and_unknown_prices_last(load_records) -> None:
    no_price = single(ON)
    del no_price["price"]
    sets = {
        "B": single(ON, price=30),
        "A": single(ON, price=30),
        "C": single(TWO, price=20),
        "D": single(TWO, price=10, supplier="samphire", currency="GBP"),
        "E": no_price,
    }
    gap = only_gap(shop(load_records, sets, {}))

    assert [kit.buy[0] for kit in gap.closers] == ["C", "A", "B", "D", "E"]
    assert [kit.currency for kit in gap.closers] == ["EUR", "EUR", "EUR", "GBP", None]


def test_a_served_machine_has_no_closers(load_records) -> None:
    sets = {"A": single(ON), "B": single(TWO), "C": single(THREE)}
    gap = only_gap(shop(load_records, sets, {"A": 1, "B": 1}))

    assert gap.state is State.SERVED
    assert gap.closers == ()
    assert [kit.buy for kit in gap.supply.kits] == [("C",)]


def test_machines_that_cannot_be_judged_are_told(load_files) -> None:
    catalogue = load_files(
        {
            "a.yaml": "kind: tune\nrecords:\n  stock: {name: s, low: 10, high: 15}\n",
            "b.yaml": "kind: family\nrecords:\n  dunlin: {name: Dunlin, housings: {short: {name: "
            "s}}, stages: {single: {}}}\n",
            "c.yaml": "kind: machine\nrecords:\n"
            "  bare: {name: Bare, family: dunlin, pairs: {single: 10/50}}\n"
            "  lost: {name: Lost, family: curlew, pairs: {single: 10/50}, tune: stock}\n",
        }
    )
    found = demands_of(catalogue)
    assert found.judged == ()
    told = {one.id: one.reason for one in found.unjudged}
    assert "no tune is on file" in told["bare"]
    assert "curlew" in told["lost"]
    assert [one.id for one in demands_of(catalogue, family="dunlin").unjudged] == ["bare"]
    works = demands_of(catalogue, "families")
    assert [one.reason.partition(",")[0] for one in works.unjudged] == [
        "no factory train is on file"
    ]


def test_kits_never_hold_one_another(demo) -> None:
    market = Market(demo)
    for demand in some(demands_of(demo, "families").judged, 20):
        kits = [set(kit.buy) for kit in market.supply(demand).kits]
        assert not any(one <= other or other <= one for one, other in combinations(kits, 2))
