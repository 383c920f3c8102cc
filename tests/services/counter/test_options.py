"""The owner's overview: a group for each factory train and tune, each one an answer of match."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from fitcheck.errors import UsageError
from fitcheck.services.counter.match import match
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_from_counts
from tests.conftest import EXPLORE


def listed(result):
    return [
        ([entry.id for entry in one.sets], one.road_speed_change, one.judgement.verdict, one.band)
        for one in result.combinations
    ]


@pytest.mark.parametrize("request_", [Request(), Request(band="any", top=3, proven_only=True)])
def test_every_train_under_every_tune_is_what_match_answers(demo, request_):
    families = ("godwit-200", "redshank-50", "dunlin-50")
    for family_id in families if EXPLORE else families[: 1 + (request_ == Request())]:
        family = demo.families[family_id]
        groups = list(options(demo, family, request_))
        trains = family.record.factory_trains
        assert [(group.train, group.tune.id) for group in groups] == [
            (train, tune) for train in range(len(trains)) for tune in demo.tunes
        ]
        for group in groups:
            train = trains[group.train]
            assert group.factory_train is train
            subject = subject_from_counts(
                demo,
                family.id,
                [train.pairs[stage] for stage in family.record.train_stages],
                housing_name=train.housing,
                tune_name=group.tune.id,
                wheel_size_in=train.wheel_size_in,
            )
            # It is asked as it left the factory, so all its gears are the factory's.
            assert not group.result.subject.unknown_make
            fitted = group.result.subject.roll_out
            assert (fitted is None) is (train.tyre is None)
            assert fitted is None or train.tyre in fitted.tyre_name
            result = match(replace(subject, factory_train=group.train), request_)
            assert listed(group.result) == listed(result)
            assert group.result.counts == result.counts


@pytest.mark.parametrize(
    ("wanted", "trains", "tunes"),
    [
        ({}, 5, 4),
        ({"housing": "short"}, 1, 4),
        ({"housing": "mid"}, 2, 4),
        ({"wheel_size_in": 10}, 2, 4),
        ({"housing": "mid", "wheel_size_in": 10}, 1, 4),
        ({"tune": "race"}, 5, 1),
        ({"housing": "long", "wheel_size_in": 16, "tune": "stock"}, 1, 1),
    ],
)
def test_filters_of_the_overview(demo, wanted, trains, tunes):
    groups = list(options(demo, demo.families["dunlin-50"], Request(top=1), **wanted))
    assert len({group.train for group in groups}) == trains
    assert len({group.tune.id for group in groups}) == tunes
    assert len(groups) == trains * tunes
    for group in groups:
        assert wanted.get("housing") in (None, group.factory_train.housing)
        assert wanted.get("wheel_size_in") in (None, group.factory_train.wheel_size_in)
        assert wanted.get("tune") in (None, group.tune.id)


def test_what_is_not_there_is_said_at_once(demo):
    family = demo.families["dunlin-50"]
    with pytest.raises(UsageError, match=r"no factory train of dunlin-50 like that; .*short 10 in"):
        options(demo, family, Request(), wheel_size_in=17)
    with pytest.raises(UsageError, match="like that"):
        options(demo, family, Request(), housing="short", wheel_size_in=16)
    with pytest.raises(UsageError, match="no tune 'turbo'"):
        options(demo, family, Request(), tune="turbo")
    with pytest.raises(UsageError, match="no tune is on file"):
        options(replace(demo, tunes={}), family, Request())


def test_a_family_without_factory_trains_has_no_start(load_records):
    family = {"name": "Knot", "housings": {"short": {"name": "short"}}, "stages": {"single": {}}}
    catalogue = load_records({"family": {"knot": family}})
    with pytest.raises(UsageError, match="no factory train of knot is on file"):
        options(catalogue, catalogue.families["knot"], Request())


def test_a_train_with_a_stage_missing_is_no_start(load_records):
    """`check` names such a train; the overview goes on without it."""
    half = {"housing": "short", "wheel_size_in": 10, "pairs": {"primary": "10/44"}}
    whole = {**half, "pairs": {"secondary": "12/40", "primary": "10/44"}}

    def groups(*trains):
        family = {
            "name": "Knot",
            "housings": {"short": {"name": "short"}},
            "stages": {"primary": {}, "secondary": {}},
            "factory_trains": list(trains),
        }
        catalogue = load_records(
            {"family": {"knot": family}, "tune": {"stock": {"name": "stock", "low": 5, "high": 9}}}
        )
        return options(catalogue, catalogue.families["knot"], Request())

    assert [group.train for group in groups(half, whole)] == [1]
    with pytest.raises(UsageError, match="no factory train of knot is on file in full"):
        groups(half)


def test_a_family_band_holds_in_the_overview(load_records):
    """+10 % exactly: inside the tune's 5 to 15, outside this family's 5 to 9.99."""
    family = {
        "name": "Knot",
        "housings": {"short": {"name": "short"}},
        "stages": {"single": {}},
        "factory_trains": [{"housing": "short", "wheel_size_in": 10, "pairs": {"single": "10/44"}}],
        "bands": {"stock": {"high": Decimal("9.99")}},
    }
    catalogue = load_records(
        {
            "family": {"knot": family},
            "tune": {name: {"name": name, "low": 5, "high": 15} for name in ("stock", "pipe-only")},
            "gear-set": {
                "A": {
                    "supplier": "marram",
                    "part_number": "1",
                    "pairs": {"single": "10/40"},
                    "fits": [{"family": "knot", "housings": ["short"]}],
                }
            },
        }
    )
    groups = list(options(catalogue, catalogue.families["knot"], Request()))
    assert [(group.tune.id, len(group.result.combinations)) for group in groups] == [
        ("stock", 0),
        ("pipe-only", 1),
    ]
    assert groups[1].result.combinations[0].road_speed_change == Fraction(10)
