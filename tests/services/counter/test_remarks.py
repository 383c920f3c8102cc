"""What is told of a machine before the answer: slips in counting, earlier changes, its class."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from fitcheck.catalogue.reader import Catalogue
from fitcheck.kernel.gearing import road_speed_change
from fitcheck.kernel.teeth import read_train
from fitcheck.services.counter.match import match
from fitcheck.services.counter.remarks import remarks_on
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_from_counts, subject_of
from tests.conftest import demo_catalogue


@pytest.fixture(scope="module")
def demo() -> Catalogue:
    return demo_catalogue()


def _told(demo: Catalogue, teeth: str, **options: object) -> str:
    given = {"housing_name": "short", "wheel_size_in": 10, "tune_name": "stock", **options}
    pairs = read_train(teeth)
    return " ".join(remarks_on(subject_from_counts(demo, "dunlin-50", pairs, **given)))


@pytest.mark.parametrize(
    ("teeth", "words"),
    [
        ("14/55,15/46", "another order, if it is the factory train 15/46, 14/55 of the short"),
        ("15/47,14/55", "the idler wheel would have 46, counted 47"),
        ("15/46,14/54", "the final wheel would have 55, counted 54"),
        ("15/55,14/46", "paired across the stages"),
        ("15/64,14/55", "the idler wheel would have 46, written 64"),
        ("51/46,14/55", "the input pinion would have 15, written 51"),
        # 15/28 for 15/46 leaves 28/46 of the reduction; 14/67 for 14/55 is over 20 % more.
        (
            "15/28,14/55",
            "differs by -39.13 % from the nearest factory train, 15/46, 14/55",
        ),
        ("15/46,14/67", "the final wheel would have 55, counted 67. Check the final wheel again"),
    ],
)
def test_counts_that_one_slip_explains_are_questioned(demo, teeth, words):
    told = _told(demo, teeth)
    assert "Count again before you order" in told
    assert words in told


@pytest.mark.parametrize("teeth", ["15/46,14/55", "15/40,14/55", "19/60,11/35", "15/46,14/66"])
def test_counts_that_no_slip_explains_are_taken(demo, teeth):
    assert "Count again" not in _told(demo, teeth)


@pytest.mark.parametrize(
    ("teeth", "tune", "questioned"),
    [
        # 15/36 for 15/46 is 27.8 % of road speed, 15/35 is 31.4 %; a race build is sold 20 to 30 %.
        ("15/36,14/55", "race", False),
        ("15/35,14/55", "race", True),
        ("15/36,14/55", "big-bore", False),  # 15 to 25 %, and a stretch to 30 %
        ("15/36,14/55", "stock", True),
        ("15/36,14/55", None, True),
    ],
)
def test_what_the_tune_is_sold_up_to_is_not_far(demo, teeth, tune, questioned):
    assert ("Count again" in _told(demo, teeth, tune_name=tune)) is questioned


def test_counts_far_from_every_factory_train_are_questioned_without_a_housing(demo):
    told = _told(demo, "15/28,14/55", housing_name=None, wheel_size_in=None)
    assert told.count("Count again before you order") == 1
    # 15/28 with 14/55 is 22/3; of the Dunlin's trains 13/46 with 14/55 and others lie further off.
    assert "the nearest factory train, 15/46, 14/55" in told


def test_an_earlier_change_is_told_once_and_beside_every_row(demo):
    # 15/46 to 15/40 with the same secondary is exactly 46/40 of the road speed.
    subject = subject_of(demo, "dunlin-ten-regeared")
    assert any("already runs +15.00 % against the factory" in each for each in remarks_on(subject))
    factory = Fraction(46, 15) * Fraction(55, 14)
    found = match(subject, Request(top=40)).combinations
    assert found
    for one in found:
        change = road_speed_change(factory, one.reduction)
        verdict = "over" if change > 17 else "stretch" if change > 15 else "in band"
        assert f"{float(change):+.2f} % from the factory, {verdict}" in one.notes
    assert all("over" in " ".join(one.notes) for one in found)


def test_a_machine_as_it_left_the_works_has_no_such_note(demo):
    for one in match(subject_of(demo, "dunlin-ten"), Request(band="any")).combinations:
        assert not any("from the factory" in note for note in one.notes)


def test_swapped_stages_come_to_the_same_and_need_no_second_figure(demo):
    pairs = read_train("14/55,15/46")
    subject = subject_from_counts(
        demo, "dunlin-50", pairs, housing_name="short", wheel_size_in=10, tune_name="stock"
    )
    for one in match(subject, Request(band="any")).combinations:
        assert not any("from the factory" in note for note in one.notes)


def test_the_tyre_counts_in_the_change_from_the_works(demo):
    subject = replace(subject_of(demo, "dunlin-ten-regeared"), roll_out_ratio=Fraction(11, 10))
    one = match(subject, Request(band="any", top=1)).combinations[0]
    factory = Fraction(46, 15) * Fraction(55, 14)
    change = road_speed_change(factory, one.reduction, Fraction(10), Fraction(11))
    assert f"{float(change):+.2f} % from the factory, over" in one.notes


def test_the_design_speed_of_the_class_is_told(demo):
    # 45 km/h for L1e-B: Regulation (EU) 168/2013, Annex I.
    told = " ".join(remarks_on(subject_of(demo, "dunlin-ten")))
    assert "L1e-B" in told
    assert "at most 45 km/h by design" in told
    assert "local law decides" in told


def test_a_record_without_a_class_is_told_what_its_family_left_the_works_as(demo):
    subject = subject_of(demo, "dunlin-ten")
    entry = replace(
        subject.entry, record=subject.entry.record.model_copy(update={"vehicle_class": None})
    )
    told = " ".join(remarks_on(replace(subject, entry=entry)))
    assert "No class is on file for it" in told
    assert "at most 45 km/h" in told
    assert "--class L1e-B" in told


def test_a_class_without_a_ceiling_of_speed_is_not_told(demo):
    machines = [
        entry.id
        for entry in demo.machines.values()
        if entry.record.vehicle_class is not None
        and demo.vehicle_classes[entry.record.vehicle_class].record.max_speed_km_h is None
    ]
    assert machines
    for machine in machines:
        assert not any("Registered" in each for each in remarks_on(subject_of(demo, machine)))


def test_a_change_from_the_works_is_never_shown_on_an_edge_it_misses(load_records):
    # Two decimals would show 15.00, and the band, which holds 15, does not hold it.
    factory, now, new = "57/191", "57/190", "58/169"
    change = road_speed_change(Fraction(191, 57), Fraction(169, 58))
    assert 15 < change < Fraction("15.005")
    family = {
        "name": "Knot",
        "housings": {"short": {"name": "short case"}},
        "stages": {"single": {}},
        "factory_trains": [{"housing": "short", "wheel_size_in": 10, "pairs": {"single": factory}}],
    }
    gear_set = {
        "supplier": "marram",
        "part_number": "1",
        "pairs": {"single": new},
        "fits": [{"family": "knot", "housings": ["short"]}],
    }
    machine = {
        "name": "it",
        "family": "knot",
        "housing": "short",
        "wheel_size_in": 10,
        "pairs": {"single": now},
        "tune": "stock",
    }
    catalogue = load_records(
        {
            "family": {"knot": family},
            "tune": {"stock": {"name": "standard", "low": 10, "high": 15}},
            "machine": {"it": machine},
            "gear-set": {"A": gear_set},
        }
    )
    (one,) = match(subject_of(catalogue, "it"), Request(band="any")).combinations
    assert [note for note in one.notes if "factory" in note] == ["+15.001 % from the factory, over"]
