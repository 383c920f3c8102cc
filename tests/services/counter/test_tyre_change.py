"""A change of tyre, set against the present one in the same way of knowing."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.services.counter.match import match
from fitcheck.services.counter.remarks import remarks_on
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_from_counts, subject_of
from fitcheck.services.counter.tyre_change import change_tyre
from fitcheck.services.counter.tyres import name_tyre


def tyre(roll_out: int, basis: str) -> dict[str, object]:
    return {"size": "3.50-10", "wheel_size_in": 10, "roll_out_mm": roll_out, "basis": basis}


TYRES = {
    "rule": tyre(1300, "estimate"),
    "list": tyre(1310, "catalogue"),
    "floor": tyre(1250, "counted"),
    "larger": tyre(1365, "standard"),
    "rolled": tyre(1275, "counted"),
}


@pytest.fixture
def shop(load_records):
    def run(**machine):
        family = {
            "name": "Knot",
            "housings": {"short": {"name": "short case"}},
            "stages": {"single": {}},
            "factory_trains": [
                {"housing": "short", "wheel_size_in": 10, "pairs": {"single": "10/40"}}
            ],
        }
        gear_set = {
            "supplier": "marram",
            "part_number": "1",
            "pairs": {"single": "10/40"},
            "fits": [{"family": "knot", "housings": ["short"]}],
        }
        it = {"name": "it", "family": "knot", "housing": "short", "pairs": {"single": "10/40"}}
        return load_records(
            {
                "family": {"knot": family},
                "tyre": TYRES,
                "machine": {"it": {**it, **machine}},
                "gear-set": {"A": gear_set},
            }
        )

    return run


@pytest.mark.parametrize(
    ("machine", "asked", "ratio", "mixed"),
    [
        # Listed against listed, whatever was measured of the present tyre.
        ({"tyre": "rule"}, ("larger", None), (1365, 1300), "worked out, not measured"),
        ({"tyre": "rule", "roll_out_mm": 1256}, ("larger", None), (1365, 1300), "worked out"),
        ({"tyre": "list", "roll_out_mm": 1256}, ("list", None), (1, 1), ""),
        # Measured against measured.
        ({"tyre": "rule", "roll_out_mm": 1250}, ("rolled", None), (1275, 1250), ""),
        ({"tyre": "floor"}, ("rolled", None), (1275, 1250), ""),
        ({"tyre": "floor", "roll_out_mm": 1260}, ("rolled", None), (1275, 1260), ""),
        ({"roll_out_mm": 1250}, (1275, None), (1275, 1250), ""),
        ({"tyre": "rule"}, (1275, 1250), (1275, 1250), ""),
        # What is measured just now may be another tyre than the record's.
        ({"tyre": "rule"}, ("larger", 1250), (1365, 1250), "rule, the present one's measured"),
        ({"roll_out_mm": 1250}, ("larger", None), (1365, 1250), "from a standard's rule, the"),
        ({"tyre": "floor"}, ("rule", None), (1300, 1250), "estimate, the present one's measured"),
        ({"tyre": "list"}, (1275, None), (1275, 1310), "measured, the present one's from a"),
    ],
)
def test_like_is_set_against_like_or_the_mixture_told(shop, machine, asked, ratio, mixed):
    catalogue = shop(**machine)
    before = subject_of(catalogue, "it")
    new, present = asked
    tyre_to_come = catalogue.tyres[new] if isinstance(new, str) else Fraction(new)
    now = None if present is None else Fraction(present)
    subject = change_tyre(before, tyre_to_come, now)
    assert subject.roll_out_ratio == Fraction(*ratio)
    assert subject.roll_out_mm == (before.roll_out_mm if present is None else present)
    assert remarks_on(subject)[: len(remarks_on(before))] == remarks_on(before)
    told = remarks_on(subject)[len(remarks_on(before)) :]
    assert len(told) == bool(mixed)
    assert mixed in "".join(told)
    # The same gears: the tyre alone makes the change, to the last digit.
    (one,) = match(subject, Request(band="any")).combinations
    assert one.road_speed_change == 100 * (Fraction(*ratio) - 1)
    assert one.reduction_change == 0


def test_without_the_present_roll_out_a_new_tyre_says_nothing(shop):
    catalogue = shop()
    for subject in (
        subject_of(catalogue, "it"),
        subject_from_counts(catalogue, "knot", [Pair(10, 40)]),
    ):
        with pytest.raises(UsageError, match="give --roll-out too"):
            change_tyre(subject, catalogue.tyres["rule"])


def test_a_tyre_for_another_rim_is_told(shop):
    catalogue = shop(tyre="list", wheel_size_in=12)
    subject = change_tyre(subject_of(catalogue, "it"), catalogue.tyres["list"])
    told = " ".join(remarks_on(subject))
    assert "for a 10 in rim and this machine has a 12 in wheel" in told
    assert "rim" not in " ".join(remarks_on(subject_of(catalogue, "it")))


def test_a_counted_tyre_beside_one_known_by_rule_only_is_compared_by_the_rule(shop):
    catalogue = shop(tyre_size="110/75-17")
    counted = catalogue.tyres["floor"]
    found = change_tyre(subject_of(catalogue, "it"), counted)
    new, now = (name_tyre(catalogue, size).rule for size in (counted.record.size, "110/75-17"))
    assert found.roll_out_ratio == new.mm / now.mm
    assert "worked out, not measured" in found.told[-1]


@pytest.mark.parametrize("present", [{"tyre": "only"}, {"tyre_size": "130/60-13"}])
@pytest.mark.parametrize("measured_mm", [None, 1365])
def test_the_same_tyre_again_changes_nothing(load_records, present, measured_mm):
    """However it is named, and whatever was measured of it on this machine."""
    only = {"size": "130/60-13", "wheel_size_in": 13, "roll_out_mm": 1361, "basis": "counted"}
    machine = {"name": "it", "family": "knot", "pairs": {"single": "10/40"}, **present}
    if measured_mm is not None:
        machine["roll_out_mm"] = measured_mm
    family = {"name": "Knot", "housings": {"short": {"name": "short"}}, "stages": {"single": {}}}
    catalogue = load_records(
        {"family": {"knot": family}, "tyre": {"only": only}, "machine": {"it": machine}}
    )
    subject = subject_of(catalogue, "it")
    for new in (catalogue.tyres["only"], name_tyre(catalogue, "130/60-13")):
        assert change_tyre(subject, new).roll_out_ratio == 1
