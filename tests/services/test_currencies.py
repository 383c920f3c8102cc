"""Amounts in two currencies are never compared and never added, wherever money is.

In every case the figure in the other currency is made to win if it were compared, or to show in a
sum if it were added. Sums are worked out by hand; common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from io import StringIO
from types import SimpleNamespace

import pytest

from fitcheck.answers.figures import price_sum
from fitcheck.catalogue.ledger.state import Held
from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.screens.screen import Screen
from fitcheck.screens.shelf.plan import print_plan
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject, subject_of
from fitcheck.services.counter.why import explain
from fitcheck.services.sheet.quotation import Labour, Terms, quotations
from fitcheck.services.sheet.sheet import sheet_of
from fitcheck.services.shelf.demands import demands_of
from fitcheck.services.shelf.gaps import gaps
from fitcheck.services.shelf.parts import Part
from fitcheck.services.shelf.plan import Why, plan
from fitcheck.services.shelf.stock import stock
from fitcheck.services.shelf.stocktake import PlanRow, StockTake
from fitcheck.services.shelf.supply import BuyingPrice, buying_prices

# 15/44 and 15/43 as primary: +4.5 and +7.0 percent for 15/46; 14/50 as secondary: +10 percent.
SETS = {
    "E-1": ("primary", "15/44", "60", "marram"),
    "E-2": ("primary", "15/44", "50", "marram"),
    "E-3": ("secondary", "14/50", "40", "marram"),
    "E-4": ("primary", "15/44", None, "marram"),
    "J-1": ("primary", "15/44", "9", "ayame"),
    "J-2": ("secondary", "14/50", "8", "ayame"),
    "J-3": ("primary", "15/43", "7", "ayame"),
}


def world(load_records, sets=SETS, shelf=None) -> Catalogue:
    """One machine; Ayame's list is in yen, which its sets do not say."""
    now = {"primary": "15/46", "secondary": "14/55"}
    return load_records(
        {
            "tune": {"stock": {"name": "standard", "low": 0, "high": 20}},
            "supplier": {
                "marram": {"name": "Marram"},
                "ayame": {"name": "Ayame", "currency": "JPY"},
            },
            "family": {
                "knot": {
                    "name": "Knot 50",
                    "housings": {"short": {"name": "short case"}},
                    "stages": {"primary": {}, "secondary": {}},
                    "interfaces": {"idler_seats": ["ST-14"]},
                    "factory_trains": [{"housing": "short", "wheel_size_in": 10, "pairs": now}],
                }
            },
            "machine": {
                "it": {
                    "name": "It",
                    "family": "knot",
                    "housing": "short",
                    "pairs": now,
                    "tune": "stock",
                    "wheel_size_in": 10,
                }
            },
            "gear-set": {
                id_: {
                    "supplier": supplier,
                    "part_number": id_,
                    "pairs": {stage: pair},
                    "fits": [{"family": "knot", "housings": ["short"]}],
                    "interfaces": {"wheel_seat" if stage == "primary" else "pinion_seat": "ST-14"},
                    **({} if price is None else {"price": Decimal(price)}),
                }
                for id_, (stage, pair, price, supplier) in sets.items()
            },
            "shelf": shelf or {},
        }
    )


@pytest.fixture
def subject(load_records) -> Subject:
    return subject_of(world(load_records), "it")


def ids(found) -> list[list[str]]:
    return [[entry.id for entry in one.sets] for one in found]


def test_equals_are_ordered_by_price_within_one_currency(subject) -> None:
    found = match(subject, Request(max_sets=1))
    assert found.currency == "EUR"
    alike = [one for one in found.combinations if one.pairs["primary"].driven == 44]
    assert ids(alike) == [["E-2"], ["E-1"], ["E-4"], ["J-1"]]
    assert [one.price for one in alike] == [50, 60, None, 9]


def test_a_greatest_price_counts_what_it_cannot_be_held_against(subject) -> None:
    found = match(subject, Request(max_price=Decimal(50), percent=(None, None)))
    assert ids(found.combinations) == [["E-3"], ["E-2"]]
    # Primary sets 3 in euro (1 unpriced), 2 in yen, or the factory's; secondary 1, 1, factory's.
    # 6 * 3 - 1 = 17 choices. Unpriced: E-4 with each of 3. Wholly in euro: 3 * 2 - 1 = 5.
    assert (found.counts.price_unknown, found.counts.other_currency) == (3, 17 - 3 - 5)
    yen = match(subject, Request(max_price=Decimal(50), suppliers=frozenset({"ayame"})))
    assert (yen.currency, yen.counts.price_unknown, yen.counts.other_currency) == ("JPY", 0, 0)
    unasked = match(subject).counts
    assert (unasked.price_unknown, unasked.other_currency) == (None, None)


def test_the_one_that_stands_for_a_gearing_is_the_cheapest_of_one_currency(load_records) -> None:
    sheet = sheet_of(subject_of(world(load_records), "it"), [])
    assert sheet is not None
    chosen = {one.combination.reduction: one.combination for one in sheet.options}
    assert all(
        one.currency in ("EUR", None) or one.pairs["primary"].driven == 43
        for one in chosen.values()
    )
    assert "one gearing, the cheapest priced in EUR stands for all." in str(sheet.chosen)
    euros = {id_: each for id_, each in SETS.items() if each[3] == "marram"}
    alone = sheet_of(subject_of(world(load_records, euros), "it"), [])
    assert alone is not None
    assert "one gearing, the cheapest stands for all." in str(alone.chosen)


@pytest.mark.parametrize("first", ["J-0", "Z-0"])
def test_what_is_priced_in_the_usual_currency_stands_whatever_comes_first(
    load_records, first
) -> None:
    """15/45 and 16/48 are one reduction: the order of pairs puts the yen first or last."""
    pair, other = ("15/45", "16/48") if first == "J-0" else ("16/48", "15/45")
    sets = {
        first: ("primary", pair, "1", "ayame"),
        "E-0": ("primary", other, "90", "marram"),
        "E-9": ("primary", other, "95", "marram"),
    }
    sheet = sheet_of(subject_of(world(load_records, sets), "it"), [])
    assert sheet is not None
    assert ids([one.combination for one in sheet.options]) == [["E-0"]]


def test_one_figure_for_labour_is_not_quoted_in_two_currencies(subject) -> None:
    sets = subject.catalogue.gear_sets
    told = [explain(subject, [sets[id_]]) for id_ in ("E-1", "J-1")]
    for terms in (
        Terms(labour=Labour(hours=Decimal("1.5"), rate=Decimal(48))),
        Terms(extras={"cleaning": Decimal(5)}),
    ):
        with pytest.raises(UsageError, match=r"\(option A in EUR, B in JPY\).*--currency") as no:
            quotations(told, None, terms)
        assert "\n" not in str(no.value)
        one, two = quotations(told, None, replace(terms, currency="CHF"))
        assert [total.currency for total in one.totals] == ["EUR", "CHF"]
        assert [total.currency for total in two.totals] == ["JPY", "CHF"]
        # What is not quoted does not count.
        (alone,) = quotations(told, [1], terms)
        assert [total.currency for total in alone.totals] == ["JPY"]
    assert len(quotations(told, None, Terms())) == 2


def test_sums_and_margins_are_of_one_currency(load_records) -> None:
    held = {
        "E-1": {"quantity": 2, "cost": 30, "price": 61},
        "J-2": {"quantity": 3, "cost": 4, "price": 9},
    }
    subject = subject_of(world(load_records, shelf=held), "it")
    sets = subject.catalogue.gear_sets
    both = combine(subject, [sets["E-1"], sets["J-2"]])
    assert (both.price, both.currency) == (None, None)
    assert (both.margin.price, both.margin.cost, both.margin.amount) == (None, None, None)
    alone = combine(subject, [sets["J-2"]])
    assert (alone.price, alone.currency, alone.margin.amount) == (9, "JPY", 5)
    found = stock(subject.catalogue)
    assert [(each.currency, each.at_cost, each.at_price) for each in found.totals] == [
        ("EUR", 60, 122),
        ("JPY", 12, 27),
    ]


def test_what_closes_a_gap_is_ordered_within_one_currency(load_records) -> None:
    found = gaps(demands_of(world(load_records)))
    kits = found.families[0].machines[0].closers
    assert [(kit.buy, kit.currency) for kit in kits] == [
        (("E-3",), "EUR"),
        (("E-2",), "EUR"),
        (("E-1",), "EUR"),
        (("J-3",), "JPY"),
        (("J-2",), "JPY"),
        (("J-1",), "JPY"),
        (("E-4",), None),
    ]


def test_a_plan_spends_one_currency(load_records) -> None:
    demands = demands_of(world(load_records))
    found = plan(demands, Decimal(45))
    assert ([one.gear_set.id for one in found.bought], found.spent) == (["E-3"], 40)
    assert found.other_currencies == {"JPY": 3}
    assert plan(demands, Decimal(39)).bought == ()
    yen = plan(demands, Decimal(45), currency="JPY")
    assert ([one.gear_set.id for one in yen.bought], yen.spent) == (["J-3"], 7)


def test_a_pair_of_two_currencies_is_not_of_unknown_price(load_records) -> None:
    """Only 15/44 with 14/50 lies in the band, one set of each currency."""
    sets = {each: SETS[each] for each in ("E-1", "J-2")}
    catalogue = world(load_records, sets)
    tune = catalogue.tunes["stock"]
    narrow = tune.record.model_copy(update={"low": Decimal(14)})
    narrowed = replace(catalogue, tunes={"stock": replace(tune, record=narrow)})
    found = plan(demands_of(narrowed), Decimal(1000))
    assert [one.why for one in found.unserved] == [Why.CURRENCY]


def test_from_the_shelf_goes_with_a_purchase_what_is_cheapest_in_one_currency(
    load_records,
) -> None:
    """A purchase of E-3 may go with any primary set that lies on the shelf, all of one pair."""
    held = {id_: {"quantity": 1} for id_ in ("E-1", "E-2", "J-1")}
    sets = {id_: SETS[id_] for id_ in ("E-1", "E-2", "J-1", "E-3")}
    catalogue = world(load_records, sets, held)
    tune = catalogue.tunes["stock"]
    narrow = tune.record.model_copy(update={"low": Decimal(14)})
    narrowed = replace(catalogue, tunes={"stock": replace(tune, record=narrow)})
    (served,) = plan(demands_of(narrowed), Decimal(40)).served
    assert served.kit.sets == ("E-2", "E-3")


def test_what_a_stock_take_is_worth_is_told_by_currency() -> None:
    parts = {
        code: Part(code, SimpleNamespace(record=SimpleNamespace(currency=code)))
        for code in ("EUR", "JPY")
    }
    rows = [
        PlanRow(
            parts[code], Held(was, cost=cost), Held(was, cost=cost), Held(now, cost=cost), "list:1"
        )
        for code, was, now, cost in (
            ("EUR", 1, 3, Decimal(15)),
            ("JPY", 2, 1, Decimal(4)),
            ("EUR", 0, 1, Decimal(12)),
            ("EUR", 5, 1, None),
        )
    ]
    found = StockTake(tuple(rows), written=False, not_counted=0)
    assert dict(found.worth) == {"EUR": 42, "JPY": -4}
    assert found.unknown_worth == 4


def test_a_supplier_that_vanished_leaves_its_prices_in_the_default_currency(load_records) -> None:
    """Ayame's sets do not say yen; without Ayame nothing on file does, and the plan says so."""
    there = world(load_records)
    assert there.gear_sets["J-1"].record.currency == "JPY"
    rest = {id_: entry for id_, entry in there.suppliers.items() if id_ != "ayame"}
    gone = replace(there, suppliers=rest)
    assert buying_prices(gone, ["J-1"])["J-1"] == BuyingPrice(Decimal(9), "EUR", "list price")
    back = replace(gone, suppliers=there.suppliers)
    assert back.gear_sets["J-1"].record.currency == "JPY"

    out = StringIO()
    print_plan(Screen(out, 200, colour=False), plan(demands_of(gone), Decimal(10)))
    said = "ayame, not in the catalogue, so its discount and perhaps its currency are unknown"
    assert said in out.getvalue()


def test_a_screen_shows_a_sum_for_each_currency(subject) -> None:
    priced = {
        tuple(entry.id for entry in one.sets): one
        for one in match(subject, Request(percent=(None, None))).combinations
    }
    assert price_sum(priced["E-1", "E-3"]) == "100.00 EUR"
    assert price_sum(priced["E-1", "J-2"]) == "60.00 EUR + 8.00 JPY"
    assert price_sum(priced["J-1", "E-3"]) == "9.00 JPY + 40.00 EUR"
    assert price_sum(priced["E-4", "J-2"]) == "price?"
    assert priced["E-1", "J-2"].price is None
