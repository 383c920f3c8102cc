"""The worked calculation, what to measure, advice, parcel; notes on combinations.

Figures named as such are facts of the trade: common practice, no source. The exact ones beside
them come from integer arithmetic on the tooth counts.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.tyres import measured_roll_out
from fitcheck.services.counter.why import explain

FAMILY = {
    "name": "Knot 50",
    "aliases": ["K50"],
    "housings": {"short": {"name": "short case"}, "long": {"name": "long case"}},
    "stages": {"primary": {"centre_distance_mm": 48}, "secondary": {}},
    "interfaces": {"idler_seats": ["ST-14"], "input_shaft_end": "D13"},
    "factory_trains": [
        {
            "housing": "short",
            "wheel_size_in": 10,
            "pairs": {"primary": "14/46", "secondary": "13/49"},
            "models": ["Knot Ten"],
        },
        {
            "housing": "short",
            "wheel_size_in": 12,
            "pairs": {"primary": "14/49", "secondary": "13/49"},
            "models": ["Knot Twelve"],
        },
    ],
}
CLAIM = [{"family": "knot-50", "housings": ["short"]}]


@pytest.fixture
def workshop(load_records):
    """A subject with these sets; each set is Marram's and stated for the short case."""

    def run(**sets):
        catalogue = load_records(
            {
                "family": {"knot-50": FAMILY},
                "machine": {
                    "it": {
                        "name": "it",
                        "family": "knot-50",
                        "housing": "short",
                        "wheel_size_in": 10,
                        "pairs": {"primary": "14/46", "secondary": "13/49"},
                    }
                },
                "gear-set": {
                    id_: {"supplier": "marram", "part_number": id_, "fits": CLAIM, **fields}
                    for id_, fields in sets.items()
                },
            }
        )
        return subject_of(catalogue, "it"), list(catalogue.gear_sets.values())

    return run


@pytest.mark.parametrize(
    ("pairs", "ratio", "quoted"),
    [
        ({"secondary": "14/47"}, Fraction(49 * 14, 13 * 47), 12),  # about 12 %
        ({"primary": "15/38"}, Fraction(46 * 15, 14 * 38), 30),  # roughly 30 %
        ({"primary": "16/37"}, Fraction(46 * 16, 14 * 37), 42),  # far beyond any band
        ({"primary": "14/49"}, Fraction(46, 49), -6),  # from a bigger wheel: slower
    ],
)
def test_changes_the_trade_quotes(workshop, pairs, ratio, quoted):
    subject, sets = workshop(A={"pairs": pairs})
    one = explain(subject, sets).combination
    assert one.road_speed_change == 100 * (ratio - 1)
    assert one.reduction_change == 100 * (1 / ratio - 1)
    assert round(one.road_speed_change) == quoted


def test_the_calculation_by_hand(workshop):
    """14/46 with 13/49: 3.28 x 3.76 = 12.33 cut at each step, exactly 2254/182 = 12.38."""
    subject, sets = workshop(A={"pairs": {"primary": "14/49"}})
    told = explain(subject, sets)
    assert told.now.stages == (Fraction("3.28"), Fraction("3.76"))
    assert (told.now.product, told.now.exact_cut) == (Fraction("12.33"), Fraction("12.38"))
    assert not told.now.agrees
    assert told.subject.reduction == Fraction(2254, 182)
    # 14/49 instead: 3.5 x 3.76 = 13.16, exactly 13.19.
    assert told.then.stages == (Fraction("3.5"), Fraction("3.76"))
    assert (told.then.product, told.then.exact_cut) == (Fraction("13.16"), Fraction("13.19"))
    assert told.combination.pairs["primary"].driven == 49


def test_questions_are_those_of_open_rules_each_once(workshop):
    open_claim = [{"family": "knot-50"}]
    subject, sets = workshop(
        A={"pairs": {"primary": "15/38"}, "fits": open_claim},
        B={"pairs": {"secondary": "14/47"}, "fits": open_claim},
    )
    told = explain(subject, sets)
    assert told.combination.judgement.verdict is Verdict.UNPROVEN
    asked = [
        answer.measure for answer in told.combination.answers if answer.verdict is Verdict.UNPROVEN
    ]
    assert None not in asked
    assert told.questions == list(dict.fromkeys(asked))
    text = " / ".join(told.questions)
    for words in (
        "which housings A fits",
        "which housings B fits",
        "input pinion",
        "seat of A and B",
    ):
        assert text.count(words) == 1, words


def test_what_fits_asks_nothing_and_what_is_ruled_out_names_its_rule(workshop):
    subject, sets = workshop(
        A={"pairs": {"primary": "15/38"}},
        B={"pairs": {"primary": "15/38"}, "interfaces": {"input_shaft_end": "D14"}},
    )
    fits, out = explain(subject, sets[:1]), explain(subject, sets[1:])
    assert (fits.combination.judgement.verdict, fits.questions) == (Verdict.FITS, [])
    assert out.combination.judgement.weakest == ("input-shaft-end",)
    assert out.combination.notes == ("ruled out: input-shaft-end",)


def test_advice_on_hunting_tooth_and_undercut(workshop):
    geometry = {"normal_module_mm": 1.5, "helix_angle_deg": 20, "driver_profile_shift": -0.1}
    subject, sets = workshop(
        A={"pairs": {"primary": "14/42"}, "geometry": {"primary": geometry}},
        B={"pairs": {"secondary": "14/47"}},
    )
    hunting, weak, shifted, _ = explain(subject, sets).advice
    assert hunting.startswith("14/42 is not a hunting-tooth pair")
    assert "every 3 pinion turns" in hunting
    # x_min of 14 teeth at 20 degrees: 1 - 14 / 14.40663 = 0.0282.
    assert "-0.100 where +0.028 is needed" in weak
    assert "the primary pair 14/42 needs profile shifts of" in shifted
    assert explain(subject, sets[1:]).advice == []


@pytest.mark.parametrize(
    ("ratio", "advised"),
    [(Fraction(21, 20), True), (Fraction(1), False), (Fraction(19, 20), False)],
)
def test_a_larger_tyre_is_to_be_checked_for_room(workshop, ratio, advised):
    subject, sets = workshop(A={"pairs": {"primary": "15/38"}})
    subject = replace(subject, roll_out=measured_roll_out(Fraction(1257)), roll_out_ratio=ratio)
    notes = [note for note in explain(subject, sets).advice if "tyre" in note]
    # 1257 mm is 200.06 mm of radius; a twentieth more is 10 mm.
    assert [("about 10 mm larger in radius" in note) for note in notes] == [True] * advised


def test_the_parcel_holds_each_thing_once_in_order(workshop):
    subject, sets = workshop(
        B={"pairs": {"secondary": "14/47"}, "also_needs": ["gear oil", "seal"]},
        A={"pairs": {"primary": "15/38"}, "also_needs": ["cover gasket", "gear oil"]},
    )
    assert explain(subject, sets).parcel == ["cover gasket", "gear oil", "seal"]
    assert [entry.id for entry in explain(subject, sets).combination.sets] == ["A", "B"]


def test_retired_sets_are_explained_with_their_successor(workshop):
    subject, sets = workshop(
        A={"pairs": {"primary": "15/38"}, "status": "retired", "successor": "C"},
        B={"pairs": {"secondary": "14/47"}, "status": "retired"},
        C={"pairs": {"primary": "15/38"}},
    )
    told = explain(subject, sets[:2])
    assert told.retired == [
        "A is retired; its successor is C",
        "B is retired, and no successor is named",
    ]
    assert explain(subject, sets[2:]).retired == []


def test_two_sets_of_one_stage_are_no_combination(workshop):
    subject, sets = workshop(
        A={"pairs": {"primary": "15/38"}},
        W={"pairs": {"primary": "15/38", "secondary": "14/47"}},
    )
    with pytest.raises(UsageError, match="A and W both hold the primary stage"):
        explain(subject, sets)
    with pytest.raises(UsageError, match="at least one"):
        explain(subject, [])
    whole = explain(subject, sets[1:]).combination
    assert whole.changed == ("primary", "secondary")
    assert "idler-seat" not in [answer.rule for answer in whole.answers]


def test_prices_add_up_where_all_are_known_in_one_currency(workshop):
    subject, sets = workshop(
        A={"pairs": {"primary": "15/38"}, "price": 10},
        B={"pairs": {"secondary": "14/47"}, "price": 5},
        D={"pairs": {"secondary": "14/47"}, "price": 5, "currency": "USD"},
        E={"pairs": {"secondary": "14/47"}},
    )
    a, b, d, e = sets
    assert (combine(subject, [a, b]).price, combine(subject, [a, b]).currency) == (15, "EUR")
    assert combine(subject, [a, d]).price is None
    assert combine(subject, [a, e]).price is None


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("A-1", "A-1"),
        ("a1", "A-1"),
        ("0017", "A-1"),
        ("old 17", "A-1"),
        ("18", "B"),
        ("b", "B"),
    ],
)
def test_sets_are_found_by_id_number_or_alias(workshop, name, found):
    subject, _ = workshop(
        B={"pairs": {"primary": "15/38"}, "part_number": "18"},
        **{"A-1": {"pairs": {"primary": "15/38"}, "part_number": "0017", "aliases": ["OLD-17"]}},
    )
    assert find_set(subject.catalogue, name).id == found


def test_names_that_find_no_set_or_several(workshop):
    subject, _ = workshop(
        **{
            "MA-1544": {"pairs": {"primary": "15/38"}, "part_number": "44"},
            "CG-1544": {"pairs": {"primary": "15/38"}, "part_number": "4 4"},
        }
    )
    with pytest.raises(UsageError, match="may be MA-1544 or CG-1544"):
        find_set(subject.catalogue, "4-4")
    with pytest.raises(UsageError, match="did you mean MA-1544"):
        find_set(subject.catalogue, "MAA-1544")
    for nonsense in ("MA-1554", "", "?", "zzzzzzzz", "x" * 500):
        with pytest.raises(UsageError) as refused:
            find_set(subject.catalogue, nonsense)
        assert len(str(refused.value)) < 150


LISTINGS = [
    ({}, None),
    ({"models": ["Knot Ten"]}, None),
    ({"models": ["KNOT-TEN", "Nightjar"]}, None),
    ({"models": ["K50"], "wheel_size_in": 10}, None),
    ({"wheel_size_in": 10}, None),
    ({"models": ["Knot Twelve"]}, "Knot Twelve"),
    ({"models": ["Knot Twelve"], "wheel_size_in": 12}, "Knot Twelve, 12 in wheel"),
    ({"models": ["Knot Ten"], "wheel_size_in": 12}, "Knot Ten, 12 in wheel"),
    ({"wheel_size_in": 12}, "12 in wheel"),
    ({"models": ["Nightjar"], "wheel_size_in": 10}, "Nightjar"),
]


@pytest.mark.parametrize(("listing", "words"), LISTINGS)
def test_sets_filed_elsewhere_are_in_and_marked(workshop, listing, words):
    subject, sets = workshop(A={"pairs": {"primary": "15/38"}, "listed_for": listing})
    one = combine(subject, sets)
    assert one.judgement.verdict is Verdict.FITS
    assert one.notes == (() if words is None else (f"A filed under {words}",))
    # Where the wheel is not known, only model words can be strange.
    blind = combine(replace(subject, wheel_size_in=None), sets)
    assert bool(blind.notes) is ("Nightjar" in (words or ""))


def test_only_a_set_of_which_every_pair_is_as_now_has_the_same_teeth(workshop):
    subject, (one, both) = workshop(
        A={"pairs": {"primary": "14/46"}},
        B={"pairs": {"primary": "14/46", "secondary": "14/47"}},
    )
    assert "A has the same teeth as now" in combine(subject, [one]).notes
    assert not any("same teeth" in note for note in combine(subject, [both]).notes)


def test_a_change_from_the_works_is_told_where_no_tune_gives_a_band(workshop):
    subject, sets = workshop(A={"pairs": {"secondary": "14/47"}})
    changed = replace(subject, pairs=(Pair(15, 38), subject.pairs[1]))
    change = 100 * (Fraction(46 * 15, 14 * 38) * Fraction(49 * 14, 13 * 47) - 1)
    assert f"{float(change):+.2f} % from the factory" in combine(changed, sets).notes


def test_notes_name_what_stays_open_and_what_is_discontinued(workshop):
    subject, sets = workshop(
        A={"pairs": {"primary": "15/38"}, "interfaces": {"wheel_seat": "ST-14"}},
        B={"pairs": {"secondary": "14/47"}, "availability": "discontinued"},
    )
    assert combine(subject, sets).notes == ("open: idler-seat", "B discontinued")


def test_sets_may_be_named_by_id_or_number(workshop):
    subject, _ = workshop(A={"pairs": {"primary": "15/38"}, "part_number": "0017"})
    entry = subject.catalogue.gear_sets["A"]
    assert explain(subject, ["0017"]).combination.sets == (entry,)
    with pytest.raises(UsageError, match="no gear set 'B'"):
        explain(subject, ["B"])
