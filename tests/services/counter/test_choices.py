"""Prices as whole numbers, classes of sets, and filters on small catalogues written out."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.model.money import amount, minor_units, price_places
from fitcheck.rules import fit
from fitcheck.rules.answers import Answer, Evidence, Verdict, judge
from fitcheck.rules.fit import idler_seat, set_answers
from fitcheck.rules.fit.seats import SeatSide
from fitcheck.services.counter import choices as choices_module
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.match import match
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from tests.conftest import demo_catalogue

D = Decimal


@pytest.mark.parametrize(
    ("prices", "places"),
    [
        ([], 2),
        ([None], 2),
        (["1", "2.5", "61.50"], 2),
        (["61.500"], 2),
        (["61.505"], 3),
        (["0.00001", None, "3"], 5),
    ],
)
def test_places_are_enough_for_every_price(prices, places):
    assert price_places(None if p is None else D(p) for p in prices) == places


@given(st.decimals(0, 1_000_000, places=7), st.decimals(0, 1_000_000, places=4))
def test_prices_keep_their_order_and_value(one, other):
    places = price_places([one, other])
    units = [minor_units(one, places), minor_units(other, places)]
    assert (units[0] < units[1]) == (one < other)
    assert [amount(each, places) for each in units] == [one, other]
    assert amount(sum(units), places) == one + other


@pytest.mark.parametrize(
    ("units", "places", "shown"),
    [
        (6150, 2, "61.50"),
        (0, 2, "0.00"),
        (61500, 3, "61.50"),
        (61505, 3, "61.505"),
        (100000, 5, "1.00"),
        (7, 3, "0.007"),
    ],
)
def test_an_amount_shows_two_decimals_or_all_it_has(units, places, shown):
    with localcontext() as context:
        context.prec = 3  # whatever a caller's context rounds to
        assert str(amount(units, places)) == shown


def test_a_limit_between_units_is_cut():
    assert minor_units(D("10.009"), 2) == 1000
    assert minor_units(None) is None


CLAIM = [{"family": "knot", "housings": ["short"]}]


def world(sets, **machine):
    family = {
        "name": "Knot",
        "housings": {"short": {"name": "short case"}, "long": {"name": "long case"}},
        "stages": {"primary": {}, "secondary": {}},
        "interfaces": {"idler_seats": ["ST-14"]},
        "factory_trains": [
            {
                "housing": "short",
                "wheel_size_in": 10,
                "pairs": {"primary": "10/40", "secondary": "12/48"},
            }
        ],
    }
    return {
        "family": {"knot": family},
        "machine": {
            "it": {
                "name": "it",
                "family": "knot",
                "housing": "short",
                "pairs": {"primary": "10/40", "secondary": "12/48"},
                **machine,
            }
        },
        "gear-set": {
            id_: {"supplier": "marram", "part_number": id_, "fits": CLAIM, **fields}
            for id_, fields in sets.items()
        },
    }


def listed(result):
    return [[entry.id for entry in one.sets] for one in result.combinations]


@pytest.mark.parametrize(
    ("currency", "asked"),
    [
        ("EUR", {"A": "42.00", "B": "42.00", "C": "41.99", "D": "41.00"}),
        ("JPY", {"A": "42", "B": "42", "C": "42", "D": "41"}),
        ("KWD", {"A": "41.996", "B": "41.995", "C": "41.994", "D": "41"}),
    ],
)
def test_prices_finer_than_a_coin_are_rounded_once_for_order_limit_and_sum(
    load_records, currency, asked
):
    """Half up, by hand; decimals of the least unit by ISO 4217."""
    prices = {"A": "41.996", "B": "41.995", "C": "41.9944", "D": "41"}
    sets = {
        id_: {"pairs": {"primary": "10/36"}, "price": D(price), "currency": currency}
        for id_, price in prices.items()
    }
    subject = subject_of(load_records(world(sets)), "it")
    result = match(subject)
    found = {one.sets[0].id: one.price for one in result.combinations}
    assert found == {id_: D(price) for id_, price in asked.items()}
    in_order = sorted(asked, key=lambda id_: (found[id_], id_))
    assert listed(result) == [[id_] for id_ in in_order]
    within = [id_ for id_ in in_order if found[id_] <= D("41.994")]
    assert listed(match(subject, Request(max_price=D("41.994")))) == [[id_] for id_ in within]


@pytest.mark.parametrize(
    ("asked", "in_list", "shorter", "all_shorter"),
    [
        ({}, ["A", "AD", "B"], ["D", "C"], 4),  # C, D, BD and CD
        ({"max_sets": 1}, ["A", "B"], ["D", "C"], 2),
        ({"max_price": D(7)}, ["A", "B"], ["D", "C"], 3),  # CD asks 8
        ({"taller_only": True}, ["A", "AD", "B"], [], 0),
        ({"taller_only": True, "percent": (Fraction(1, 2), None)}, ["A", "AD"], [], 0),
        ({"taller_only": True, "percent": (-20, None)}, ["A", "AD", "B"], [], 0),
        ({"taller_only": True, "percent": (None, None)}, ["A", "AD", "B"], [], 0),
    ],
    ids=str,
)
def test_what_is_shorter_by_hand(load_records, asked, in_list, shorter, all_shorter):
    """From 16: A 14.4, AD 15.6, B 16 with the teeth of now, D and BD 17.33, C 17.6, CD 19.07."""
    sets = {
        "A": {"pairs": {"primary": "10/36"}, "price": D(5)},
        "B": {"pairs": {"primary": "10/40"}, "price": D(1)},
        "C": {"pairs": {"primary": "10/44"}, "price": D(5)},
        "D": {"pairs": {"secondary": "12/52"}, "price": D(3)},
    }
    subject = subject_of(load_records(world(sets)), "it")
    found = match(subject, Request(**{"percent": (0, None), **asked}))
    assert ["".join(ids) for ids in listed(found)] == in_list
    assert [one.sets[0].id for one in found.shorter] == shorter
    assert (found.counts.listed, found.all_shorter) == (len(in_list), all_shorter)
    assert (found.counts.all_choices, found.counts.shorter) == (7, 4)


def test_a_sum_of_prices_is_held_to_the_limit_not_each_price(load_records):
    sets = {
        "P": {
            "pairs": {"primary": "10/36"},
            "price": D("60.10"),
            "interfaces": {"wheel_seat": "X"},
        },
        "S": {
            "pairs": {"secondary": "12/44"},
            "price": D("40.20"),
            "interfaces": {"pinion_seat": "X"},
        },
    }
    subject = subject_of(load_records(world(sets)), "it")
    # Seats differ from the factory's, so that only the two together fit.
    assert listed(match(subject, Request(max_price=D("100.30")))) == [["P", "S"]]
    assert listed(match(subject, Request(max_price=D("100.29")))) == []


def test_a_price_in_another_currency_is_told_but_ranked_as_unknown(load_records):
    sets = {
        "A": {"pairs": {"primary": "10/36"}, "price": D(50)},
        "B": {"pairs": {"primary": "10/36"}, "price": D(10), "currency": "USD"},
        "C": {"pairs": {"primary": "10/36"}, "price": D(60)},
        "E": {"pairs": {"primary": "10/36"}},
        "U": {
            "pairs": {"primary": "10/36"},
            "price": D(9),
            "currency": "USD",
            "supplier": "samphire",
        },
    }
    subject = subject_of(load_records(world(sets)), "it")
    result = match(subject)
    # Two prices in either currency: the first by name.
    assert result.currency == "EUR"
    assert listed(result) == [["A"], ["C"], ["B"], ["E"], ["U"]]
    assert [one.price for one in result.combinations] == [50, 60, 10, None, 9]
    assert [one.currency for one in result.combinations][2:] == ["USD", "EUR", "USD"]
    cheap = match(subject, Request(max_price=D(55)))
    assert listed(cheap) == [["A"]]
    assert (cheap.counts.price_unknown, cheap.counts.other_currency) == (1, 2)  # E; B and U
    own = Request(max_price=D(55), suppliers=frozenset({"marram"}))
    counts = match(subject, own).counts
    assert (counts.listed, counts.price_unknown, counts.other_currency) == (1, 1, 1)  # A; E; B
    # Of that supplier alone, dollars are the currency.
    alone = match(subject, Request(suppliers=frozenset({"samphire"})))
    assert (alone.currency, alone.combinations[0].price) == ("USD", 9)
    mixed = combine(subject, [subject.catalogue.gear_sets["B"]])
    assert (mixed.price, mixed.currency) == (10, "USD")


def test_retired_sets_are_never_matched_and_not_counted(load_records):
    sets = {
        "A": {"pairs": {"primary": "10/36"}},
        "R": {"pairs": {"primary": "10/35"}, "status": "retired", "successor": "A"},
        "W": {"pairs": {"primary": "10/35", "secondary": "12/44"}, "status": "retired"},
        "X": {"pairs": {"primary": "10/37"}},
    }
    subject = subject_of(load_records(world(sets)), "it")
    result = match(subject, Request(exclusions=True))
    assert listed(result) == [["A"], ["X"]]
    assert (result.counts.all_choices, result.exclusions) == (2, [])


def test_all_choices_and_what_each_reason_rules_out_by_hand(load_records):
    """(1 + 2) (1 + 3) - 1 over the stages, 3 of the whole train, 1 of another stage: 15."""
    first, second = {"primary": "10/36"}, {"secondary": "12/44"}
    elsewhere = {"fits": [{"family": "stint", "housings": ["short"]}]}
    sets = {
        "A": {"pairs": first},
        "B": {"pairs": second},
        "U": {"pairs": {**first, **second}, "fits": [{"family": "knot"}]},
        "V": {"pairs": {**first, **second}, **elsewhere},
        "W": {"pairs": {**first, **second}},
        "X": {"pairs": first, **elsewhere},
        "Y": {"pairs": second, **elsewhere},
        "Z": {"pairs": second, **elsewhere},
        "T": {"pairs": {"tertiary": "10/30"}},
    }
    given = world(sets)
    given["family"]["stint"] = {**given["family"]["knot"], "name": "Stint"}
    subject = subject_of(load_records(given), "it")
    result = match(subject, Request(exclusions=True))
    # X with each of 1 + 3; Y and Z with A or with the pair kept, since X died before.
    died = {"X": 4, "Y": 2, "Z": 2, "V": 1, "T": 1}
    assert {one.sets[0][0]: one.combinations for one in result.exclusions} == died
    assert (result.counts.all_choices, result.counts.ruled_out) == (15, 10)
    # Nobody knows the seat between A and B, nor whether U is for this housing.
    assert (result.counts.fits, result.counts.unproven) == (3, 2)
    assert sorted("".join(ids) for ids in listed(result)) == ["A", "AB", "B", "U", "W"]
    proven = listed(match(subject, Request(proven_only=True)))
    assert sorted("".join(ids) for ids in proven) == ["A", "B", "W"]
    # A filter narrows the list and no other count.
    nobody = match(subject, Request(suppliers=frozenset({"samphire"})))
    assert nobody.counts == replace(result.counts, listed=0)


def test_sets_alike_share_a_class_whatever_their_price(load_records):
    seats = {"wheel_seat": "ST-14"}
    pairs = {"primary": "10/36"}
    sets = {
        "A": {"pairs": pairs, "interfaces": seats, "price": D(1)},
        "B": {"pairs": pairs, "interfaces": {"wheel_seat": "st 14"}, "price": D(2)},
        "C": {"pairs": pairs, "interfaces": seats, "supplier": "samphire"},
        # Different evidence, or no seat: other classes.
        "D": {"pairs": pairs, "interfaces": seats, "measured": ["wheel_seat"]},
        "E": {"pairs": pairs},
        "F": {"pairs": pairs, "interfaces": {"wheel_seat": "SF-14"}},
        "G": {"pairs": {"primary": "10/35"}, "interfaces": seats},
    }
    subject = subject_of(load_records(world(sets)), "it")
    classes = Choices.of(subject).problem().stages[0]
    ids = sorted("".join(item.id for item in choice.items) for choice in classes)
    assert ids == ["", "ABC", "D", "E", "F", "G"]


GEOMETRY = {"normal_module_mm": 1.5, "helix_angle_deg": 20, "driver_hand": "left"}
ALIKE = {"pairs": {"primary": "10/36"}, "interfaces": {"wheel_seat": "ST-14"}}


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({}, {"pairs": {"secondary": "12/44"}}),
        ({}, {"fits": [{"family": "knot"}]}),
        ({"fits": []}, {"fits": [], "listed_for": {"models": ["Stint"]}}),
        (
            {"geometry": {"primary": GEOMETRY}},
            {"geometry": {"primary": {**GEOMETRY, "driver_hand": "right"}}},
        ),
        ({}, {"interfaces": {"wheel_seat": "ST-14", "input_shaft_end": "D14"}}),
        ({"measured": ["pairs"]}, {}),
        ({}, {"members": {"primary": ["driver"]}}),
    ],
)
def test_sets_that_differ_in_any_fit_datum_are_judged_apart(load_records, first, second):
    """Judgements are kept by fit data: each field that a rule reads has to count."""
    given = world({"A": {**ALIKE, **first}, "B": {**ALIKE, **second}})
    given["family"]["knot"]["stages"]["primary"] = {"centre_distance_mm": 37, "driver_hand": "left"}
    given["family"]["knot"]["interfaces"]["input_shaft_end"] = "D13"
    given["family"]["stint"] = {**given["family"]["knot"], "name": "Stint"}
    subject = subject_of(load_records(given), "it")
    choices = Choices.of(subject)
    kept = {one.gear_set.id: one.judgement for stage in choices.alive for one in stage}
    dead = [one.gear_set.id for stage in choices.dead for one in stage]
    said = {
        id_: set_answers(entry, subject.setting)
        for id_, entry in subject.catalogue.gear_sets.items()
    }
    fresh = {id_: judge(answers) for id_, answers in said.items()}
    assert said["A"] != said["B"]
    assert fresh["A"] == kept["A"]
    if fresh["B"].verdict is Verdict.RULED_OUT:
        assert dead == ["B"]
    else:
        assert fresh["B"] == kept["B"]


def test_exactly_on_the_edge_of_a_decimal_band_from_yaml(load_records):
    """10/40 to 32/9 on the primary is +12.5 % to the last digit; 12.4 % and 12.6 % are not it."""
    sets = {"A": {"pairs": {"primary": "18/64"}}}
    for low, high, word in [
        ("12.5", "20", "in"),
        ("5", "12.5", "in"),
        ("12.500001", "20", "below"),
        ("5", "12.499999", "over"),
    ]:
        given = world(sets, tune="stock")
        given["tune"] = {"stock": {"name": "stock", "low": D(low), "high": D(high)}}
        subject = subject_of(load_records(given), "it")
        (one,) = match(subject, Request(band="any")).combinations
        assert one.road_speed_change == Fraction(25, 2)
        assert one.band == word
        assert bool(match(subject).combinations) is (word == "in")


@pytest.mark.parametrize(
    ("band", "own", "numbers"),
    [
        # in, below, stretch, over, shorter
        ({"low": 5, "high": D("12.5"), "stretch": 20}, {}, (2, 2, 1, 1, 3)),
        ({"low": 0, "high": 10}, {}, (2, 0, 0, 4, 3)),
        ({"low": -5, "high": D("12.5"), "stretch": 20}, {}, (5, 0, 1, 1, 2)),
        ({"low": -10, "high": -1, "stretch": 1}, {}, (2, 0, 1, 5, 1)),
        ({"low": 5, "high": D("12.5"), "stretch": 20}, {"low": 21}, (0, 5, 0, 1, 3)),  # no window
    ],
    ids=str,
)
def test_where_choices_lie_against_a_band_by_hand(load_records, band, own, numbers):
    """+21.2, +14.3, +12.5, +11.1, +2.6, 0, -4.8, -9.1 and -20 % from 10/40."""
    pairs = ["10/33", "10/35", "18/64", "10/36", "10/39", "10/40", "10/42", "10/44", "10/50"]
    given = world({f"S{n}": {"pairs": {"primary": p}} for n, p in enumerate(pairs)}, tune="stock")
    given["tune"] = {"stock": {"name": "stock", **band}}
    given["family"]["knot"]["bands"] = {"stock": own}
    subject = subject_of(load_records(given), "it")
    for word, listed_then in (("in", numbers[0]), ("stretch", numbers[0] + numbers[2]), ("any", 9)):
        counts = match(subject, Request(band=word)).counts
        assert counts.listed == listed_then
        found = counts.in_band, counts.below, counts.stretch, counts.over, counts.shorter
        assert found == numbers


def test_nothing_to_choose_from(load_records):
    result = match(subject_of(load_records(world({})), "it"), Request(exclusions=True))
    assert (result.combinations, result.shorter, result.exclusions) == ([], [], [])
    assert (result.counts.all_choices, result.currency) == (0, None)


def test_a_rule_added_tomorrow_is_asked_of_every_set(load_records, monkeypatch):
    """Sets are judged one by one, so a rule may read any field and nothing else need be touched."""

    def finish(gear_set, setting):
        verdict = Verdict.RULED_OUT if gear_set.record.notes == "unground" else Verdict.FITS
        return Answer("finish", verdict, Evidence.STATED, "as the notes say")

    sets = {
        id_: {"pairs": {"primary": "10/36"}, "notes": notes}
        for id_, notes in {"A": "ground", "B": "unground", "C": "ground"}.items()
    }
    subject = subject_of(load_records(world(sets)), "it")
    assert listed(match(subject)) == [["A"], ["B"], ["C"]]
    monkeypatch.setattr(fit, "_WHOLE_SET", (*fit._WHOLE_SET, finish))
    result = match(subject, Request(exclusions=True))
    assert listed(result) == [["A"], ["C"]]
    assert [(one.rule, one.sets) for one in result.exclusions] == [("finish", (("B",),))]


def test_the_seat_of_a_joint_hangs_on_its_two_sides_and_nothing_else():
    """Sets of equal sides are judged as one, so what a joint answers must be a function of them."""
    subject = subject_of(demo_catalogue(), "dunlin-ten-regeared")
    choices = Choices.of(subject)
    wheels, pinions = ([one.gear_set for one in alive] for alive in choices.alive)
    seen = {}
    for wheel, pinion in product([None, *wheels], [None, *pinions]):
        answer = idler_seat(wheel, pinion, 0, subject.setting)
        sides = tuple(
            None if entry is None else SeatSide.of(entry, gear, subject.setting)
            for entry, gear in ((wheel, "wheel"), (pinion, "pinion"))
        )
        said = None if answer is None else (answer.verdict, answer.evidence)
        assert seen.setdefault(sides, said) == said
    assert len(seen) < (1 + len(wheels)) * (1 + len(pinions))


def test_each_set_and_each_seat_is_judged_once_for_a_question(monkeypatch):
    """A long list, its counts and its exclusions, and every tune of a factory train."""
    catalogue = demo_catalogue()
    judged, seats = Counter(), Counter()

    def count_set(gear_set, setting):
        judged[gear_set.id] += 1
        return set_answers(gear_set, setting)

    def count_seat(wheel, pinion, joint, setting):
        seats[wheel and wheel.id, pinion and pinion.id, joint] += 1
        return idler_seat(wheel, pinion, joint, setting)

    monkeypatch.setattr(choices_module, "set_answers", count_set)
    monkeypatch.setattr(choices_module, "idler_seat", count_seat)
    on_sale = [e.id for e in catalogue.gear_sets.values() if e.record.status != "retired"]
    asked = Request(band="any", max_price=D(200), in_stock=True, exclusions=True)
    match(subject_of(catalogue, "dunlin-ten-regeared"), asked)
    assert judged == Counter(on_sale)
    assert set(seats.values()) == {1}
    judged.clear()
    family = catalogue.families["dunlin-50"]
    groups = list(options(catalogue, family, Request(percent=(Fraction(5), None))))
    trains = {group.train for group in groups}
    assert len(groups) > len(trains)
    assert judged == Counter(on_sale * len(trains))


def test_a_row_leads_to_what_was_judged(load_records):
    """The answers, the offer and the price of a listed combination are those of its sets."""
    sets = {
        "A": {"pairs": {"primary": "10/36"}, "price": D("20.5")},
        "B": {"pairs": {"secondary": "12/44"}, "price": D("30.25")},
        "C": {"pairs": {"primary": "10/36", "secondary": "12/44"}, "price": D("40")},
        "D": {"pairs": {"primary": "10/36"}},
    }
    subject = subject_of(load_records(world(sets)), "it")
    found = match(subject, Request(band="any")).combinations
    assert sorted("".join(one.id for one in row.sets) for row in found) == [
        "A",
        "AB",
        "B",
        "C",
        "D",
        "DB",
    ]
    for row in found:
        alone = combine(subject, row.sets)
        assert (row.answers, row.offers, row.pairs) == (alone.answers, alone.offers, alone.pairs)
        prices = [sets[one.id].get("price") for one in row.sets]
        assert row.price == (None if None in prices else sum(prices))
