"""What the shop asks, pays and holds: every sum worked by hand; common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.match import match
from fitcheck.services.counter.offer import offer_of, stock_words
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.why import explain

FITS = [{"family": "knot", "housings": ["short"]}]


def gear_set(stage: str, pair: str, **more):
    return {
        "supplier": "marram",
        "part_number": stage[0] + pair.replace("/", ""),
        "pairs": {stage: pair},
        "fits": FITS,
        **more,
    }


SETS = {
    "A": gear_set("primary", "15/40", price=Decimal("60.00"), availability="to-order"),
    "B": gear_set("primary", "16/40", price=Decimal("55.50"), availability="in-stock"),
    "C": gear_set("primary", "16/41"),
    "X": gear_set("secondary", "15/55", price=Decimal("40.05"), availability="discontinued"),
    "Y": gear_set("secondary", "16/55", price=Decimal(10), currency="GBP"),
}
SHELF = {
    "A": {"quantity": 2, "place": "drawer A4", "price": Decimal("64.90"), "cost": Decimal("41.50")},
    "B": {"quantity": 0, "place": "drawer A5", "price": Decimal(50), "cost": Decimal(51)},
    "C": {"quantity": 1, "price": Decimal("44.9")},
    "X": {"quantity": 3, "cost": Decimal("20.10")},
}


@pytest.fixture
def subject(load_records):
    return shop(load_records, SHELF)


def shop(load_records, shelf, sets=SETS):
    now = {"primary": "15/46", "secondary": "14/55"}
    catalogue = load_records(
        {
            "family": {
                "knot": {
                    "name": "Knot 50",
                    "housings": {"short": {"name": "short case"}},
                    "stages": {"primary": {}, "secondary": {}},
                    "factory_trains": [{"housing": "short", "wheel_size_in": 10, "pairs": now}],
                }
            },
            "gear-set": sets,
            "machine": {
                "it": {
                    "name": "it",
                    "family": "knot",
                    "housing": "short",
                    "pairs": now,
                    "wheel_size_in": 10,
                }
            },
            "tune": {"stock": {"name": "stock", "low": 0, "high": 60}},
            **({"shelf": shelf} if shelf else {}),
        }
    )
    return subject_of(catalogue, "it")


def offers(subject, *ids):
    return combine(subject, [subject.catalogue.gear_sets[id_] for id_ in ids])


@pytest.mark.parametrize(
    ("ids", "price", "source"),
    [
        (["A"], "64.90", "shelf"),
        (["B"], "50", "shelf"),  # none lies there, and the shop's price still stands
        (["C"], "44.9", "shelf"),
        (["X"], "40.05", "supplier"),
        (["A", "X"], "104.95", "both"),  # 64.90 + 40.05
        (["A", "Y"], None, None),  # two currencies are never added
        (["Y"], "10", "supplier"),
    ],
)
def test_the_shops_price_stands_before_the_list(subject, ids, price, source) -> None:
    one = offers(subject, *ids)

    assert one.price == (None if price is None else Decimal(price))
    assert one.price_from == source


@pytest.mark.parametrize(
    ("ids", "availability", "pieces"),
    [
        (["A"], "on-shelf", 2),
        (["B"], "in-stock", 0),
        (["Y"], "unknown", 0),
        (["A", "X"], "on-shelf", 2),  # 2 and 3 pieces make 2 kits
        (["B", "X"], "in-stock", 0),
        (["A", "Y"], "unknown", 0),
    ],
)
def test_a_kit_is_as_sure_as_its_least_sure_set(subject, ids, availability, pieces) -> None:
    one = offers(subject, *ids)

    assert (one.availability, one.pieces) == (availability, pieces)


@pytest.mark.parametrize(
    ("ids", "sums", "percent", "unknown"),
    [
        (["A"], ("41.50", "23.40"), Fraction(2340, 6490) * 100, ()),  # 64.90 - 41.50
        (["B"], ("51", "-1"), Fraction(-2), ()),  # sold under cost: -1 of 50
        (["A", "X"], ("61.60", "43.35"), Fraction(4335, 10495) * 100, ()),  # 104.95 - 61.60
        (["C"], None, None, ("C",)),
        (["A", "Y"], None, None, ("Y",)),
    ],
)
def test_margin_by_hand(subject, ids, sums, percent, unknown) -> None:
    margin = offers(subject, *ids).margin

    expected = (None, None) if sums is None else tuple(map(Decimal, sums))
    assert (margin.cost, margin.amount) == expected
    assert margin.percent == percent
    assert margin.cost_unknown == unknown


def test_a_price_of_nothing_has_no_percentage(load_records) -> None:
    given = shop(load_records, {"A": {"quantity": 1, "price": Decimal(0), "cost": Decimal(3)}})
    margin = offers(given, "A").margin

    assert (margin.amount, margin.percent) == (Decimal(-3), None)


def test_where_to_get_it_in_words(subject, load_records) -> None:
    assert explain(subject, ["A", "X"]).stock == [
        "A: 2 on the shelf, drawer A4",
        "X: 3 on the shelf",
    ]
    assert explain(subject, ["B"]).stock == ["B: none on the shelf, in stock at the supplier"]
    bare = shop(load_records, None)
    told = {id_: explain(bare, [id_]).stock[0] for id_ in SETS}
    assert told == {
        "A": "A: to order",
        "B": "B: in stock at the supplier",
        "C": "C: the supplier's stock is not known",
        "X": "X: discontinued by the supplier",
        "Y": "Y: the supplier's stock is not known",
    }
    entry = subject.catalogue.gear_sets["A"]
    offer = offer_of(subject.catalogue, entry)
    assert stock_words(offer, shelf_is_kept=True, with_place=False) == "2 on the shelf"


def test_filter_and_order_use_the_same_price(subject) -> None:
    anything = Request(band="any", max_sets=1)
    told = {one.sets[0].id: one.price for one in match(subject, anything).combinations}
    assert told["A"] == Decimal("64.90")
    assert told["B"] == Decimal(50)

    listed = match(subject, replace(anything, max_price=Decimal(60))).combinations
    # By the list price A (60.00) would pass and by the shelf's (64.90) it does not.
    assert "A" not in {one.sets[0].id for one in listed}
    assert "B" in {one.sets[0].id for one in listed}


def test_equal_pairs_stand_by_the_shops_price(load_records) -> None:
    other = gear_set("primary", "15/40", price=Decimal(59)) | {"part_number": "other"}
    shelf = {**SHELF, "A2": {"quantity": 0, "price": Decimal("64.95")}}
    given = shop(load_records, shelf, {**SETS, "A2": other})
    alike = [
        one.sets[0].id
        for one in match(given, Request(band="any", max_sets=1)).combinations
        if one.sets[0].id in ("A", "A2")
    ]
    assert alike == ["A", "A2"]  # 64.90 before 64.95; the lists say 60 and 59


def test_in_stock_wants_a_piece_of_every_set(subject) -> None:
    asked = Request(band="any", in_stock=True)
    shelf = subject.catalogue.shelf
    listed = match(subject, asked).combinations
    ids = {tuple(entry.id for entry in one.sets) for one in listed}

    assert {("A",), ("C",), ("X",), ("A", "X"), ("C", "X")} == ids  # B: 0 pieces; Y: no entry
    for one in listed:
        named = [entry.id for entry in one.sets]
        assert len(set(named)) == len(named)  # no set is needed twice
        assert all(shelf[id_].record.quantity > 0 for id_ in named)
        assert one.availability == "on-shelf"
