"""What goes onto a sheet: which options are chosen, and when the road part is left out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.lookup import find_class, find_set
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import BandVerdict, Subject, subject_of
from fitcheck.services.road.comparing import compare
from fitcheck.services.road.figures import LawfulAnswer, PullVerdict, RoadAsked
from fitcheck.services.sheet.sheet import MOST_OPTIONS, sheet_of
from tests.conftest import some


def named(subject: Subject, *choices: str):
    return [
        combine(subject, [find_set(subject.catalogue, one) for one in choice.split("+")])
        for choice in choices
    ]


def test_named_options_keep_their_order(demo: Catalogue) -> None:
    subject = subject_of(demo, "dunlin-ten")
    options = named(subject, "SA-108", "MA-1545+SA-107", "GW-20-108")
    sheet = sheet_of(subject, options)

    assert sheet is not None
    assert [told.combination.sets for told in sheet.options] == [one.sets for one in options]
    assert sheet.chosen is None
    assert sheet.road is not None
    assert [one.combination.sets for one in sheet.road.after] == [one.sets for one in options]


@pytest.mark.parametrize(
    "machine",
    some(["dunlin-ten", "dunlin-twelve-pipe", "godwit-bar", "dunlin-twelve", "whimbrel-moor"], 1),
)
def test_unnamed_options_are_the_best_by_the_rule(demo: Catalogue, machine: str) -> None:
    subject = subject_of(demo, machine)
    sheet = sheet_of(subject, [])
    assert sheet is not None
    chosen = [told.combination for told in sheet.options]

    # The rule anew, by hand: proven, in band, one a gearing, pulled, not certainly unlawful.
    proven = match(subject, Request(proven_only=True)).combinations
    road = compare(subject, proven)
    outcome = dict(zip((one.reduction for one in proven), road.after, strict=True))
    pulled = {r for r, one in outcome.items() if one.verdict is PullVerdict.PULLS}
    windy = {r for r, one in outcome.items() if one.verdict is PullVerdict.WIND}
    good = pulled or windy
    assert good, "the demo has none that is pulled: choose another machine"
    lawful = {
        r
        for r in good
        if outcome[r].lawful is None or outcome[r].lawful.answer is not LawfulAnswer.OVER
    }
    wanted = sorted(lawful or good)

    assert {one.reduction for one in chosen} <= set(wanted)
    assert 1 <= len(chosen) == min(3, len(wanted))
    assert chosen[0].reduction == wanted[0]
    assert chosen[-1].reduction == wanted[-1]
    for one in chosen:
        assert one.judgement.verdict is Verdict.FITS
        assert one.band is BandVerdict.IN
        same = [other for other in proven if other.reduction == one.reduction]
        prices = [other.price for other in same if other.price is not None]
        assert one.price == (min(prices) if prices else None)
    assert sheet.chosen is not None
    assert ("(all are)" in sheet.chosen) is not bool(lawful)
    assert ("only with a tailwind (none without)" in sheet.chosen) is not bool(pulled)


def test_the_class_given_by_hand_decides_what_is_chosen(demo: Catalogue) -> None:
    subject = subject_of(demo, "dunlin-ten")
    free = sheet_of(subject, [], RoadAsked(vehicle_class=find_class(demo, "L3e-A1")))

    assert free is not None
    assert "not certain to leave the class" in str(free.chosen)
    assert "certain to leave the class (all are)" in str(sheet_of(subject, []).chosen)


def test_where_the_engine_pulls_none_the_wind_has_to_help(demo: Catalogue) -> None:
    """A weak engine: the speed measured leaves it no more than its present gearing takes."""
    subject = subject_of(demo, "dunlin-twelve-pipe")
    sheet = sheet_of(subject, [], RoadAsked(measured_top_km_h=58.0))

    assert sheet is not None
    assert sheet.road is not None
    assert {one.verdict for one in sheet.road.after} == {PullVerdict.WIND}
    assert "pulled only with a tailwind (none without)" in str(sheet.chosen)


def test_where_nothing_is_proven_it_says_so(demo: Catalogue) -> None:
    subject = subject_of(demo, "turnstone-race")
    assert match(subject, Request(proven_only=True)).combinations == []
    sheet = sheet_of(subject, [])

    assert sheet is not None
    assert "open in fit (none is proven)" in str(sheet.chosen)
    assert {told.combination.judgement.verdict for told in sheet.options} == {Verdict.UNPROVEN}


def test_where_nothing_in_the_band_may_fit_there_is_no_sheet(demo: Catalogue) -> None:
    subject = subject_of(demo, "redshank-creek")
    assert match(subject).combinations == []

    assert sheet_of(subject, []) is None


def test_without_a_band_nothing_is_chosen(demo: Catalogue) -> None:
    subject = replace(subject_of(demo, "dunlin-ten"), tune=None)

    with pytest.raises(UsageError, match=r"no tune is given.*give --tune, or name up to 4"):
        sheet_of(subject, [])
    assert sheet_of(subject, named(subject, "SA-108")) is not None


def test_more_than_fit_side_by_side_are_refused(demo: Catalogue) -> None:
    subject = subject_of(demo, "dunlin-ten")
    five = match(subject, Request(band="any", top=5)).combinations
    assert len(five) == MOST_OPTIONS + 1

    with pytest.raises(UsageError, match="5 options are named and 4 fit side by side"):
        sheet_of(subject, five)


def test_the_road_is_left_out_where_an_input_lacks(demo: Catalogue) -> None:
    subject = subject_of(demo, "avocet-reserve")
    with pytest.raises(UsageError, match="the engine power"):
        compare(subject)
    sheet = sheet_of(subject, [])

    assert sheet is not None
    assert sheet.road is None
    assert str(sheet.without_road).startswith("the engine power")
    assert "pulled" not in str(sheet.chosen)


def test_inputs_given_by_hand_must_make_a_model(demo: Catalogue) -> None:
    subject = subject_of(demo, "avocet-reserve")
    options = named(subject, match(subject).combinations[0].sets[0].id)

    with pytest.raises(UsageError, match="the engine power"):
        sheet_of(subject, options, RoadAsked(mass_kg=90.0))
    sheet = sheet_of(subject, options, RoadAsked(power=(6.0, 8000.0)))
    assert sheet is not None
    assert sheet.road is not None


def test_of_two_currencies_neither_is_called_cheaper(load_records) -> None:
    pairs = {"primary": "15/44"}
    fits = [{"family": "stint-50", "housings": ["a"]}]
    sets = {
        name: {"supplier": "eel", "part_number": name, "pairs": pairs, "fits": fits, **price}
        for name, price in {
            "A": {"price": 60},
            "B": {"price": 20, "currency": "SEK"},
            "C": {"price": 50},
            "D": {},
        }.items()
    }
    catalogue = load_records(
        {
            "family": {
                "stint-50": {
                    "name": "Stint 50",
                    "housings": {"a": {"name": "case A"}},
                    "stages": {"primary": {}, "secondary": {}},
                    "factory_trains": [
                        {
                            "housing": "a",
                            "wheel_size_in": 10,
                            "pairs": {"primary": "14/45", "secondary": "13/48"},
                        }
                    ],
                }
            },
            "gear-set": sets,
            "supplier": {"eel": {"name": "Eel"}},
            "tune": {"calm": {"name": "calm", "low": 5, "high": 12}},
            "machine": {
                "one": {
                    "name": "One",
                    "family": "stint-50",
                    "housing": "a",
                    "pairs": {"primary": "14/45", "secondary": "13/48"},
                    "wheel_size_in": 10,
                    "tune": "calm",
                }
            },
        }
    )
    sheet = sheet_of(subject_of(catalogue, "one"), [])

    assert sheet is not None
    assert [[entry.id for entry in told.combination.sets] for told in sheet.options] == [["C"]]
