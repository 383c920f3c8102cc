"""Roll-outs: rule, catalogue, measured, in this order of standing; names, spreads and symbols.

The rule's figures are those of tests/kernel/tyres_metric.csv and tyres_inch.csv, worked out apart
from this project from rules known from memory. Spreads and the order of standing are ours.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from fitcheck.errors import UsageError
from fitcheck.model.machine import Machine
from fitcheck.services.counter.remarks import remarks_on
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.tyre_change import change_tyre, present_tyre
from fitcheck.services.counter.tyres import (
    RollOut,
    measured_roll_out,
    name_tyre,
    roll_out_of,
    speed_symbol_warning,
)

TYRES = {
    "rule": {"size": "120/70-12", "wheel_size_in": 12, "load_index": 51, "speed_symbol": "L"},
    "floor": {
        "size": "120/70-12 58P",
        "wheel_size_in": 12,
        "roll_out_mm": 1436,
        "basis": "counted",
        "spread_percent": 0.5,
    },
    "list": {
        "size": "130/70-12",
        "wheel_size_in": 12,
        "roll_out_mm": 1480,
        "basis": "catalogue",
        "source": "a list",
    },
    "inch": {"size": "3½-12", "wheel_size_in": 12},
    "odd": {"size": "MT90-12", "wheel_size_in": 12, "roll_out_mm": 1500, "basis": "counted"},
}


@pytest.fixture
def shop(load_records):
    family = {
        "name": "Knot",
        "housings": {"short": {"name": "short case"}},
        "stages": {"single": {}},
    }
    return lambda **machine: load_records(
        {
            "family": {"knot": family},
            "tyre": TYRES,
            "machine": {
                "it": {"name": "it", "family": "knot", "pairs": {"single": "10/40"}, **machine}
            },
        }
    )


def told(roll_out: RollOut | None) -> tuple[object, ...] | None:
    if roll_out is None:
        return None
    return (roll_out.mm, roll_out.kind, roll_out.spread_percent, roll_out.speed_symbol)


RULE = Fraction("1442.65")  # 3.05 x 473


@pytest.mark.parametrize(
    ("machine", "given", "wanted"),
    [
        ({}, {}, None),
        # The record: measured, else the catalogue's tyre, else the rule for the size.
        ({"tyre": "rule"}, {}, (RULE, "standard", 4, "L")),
        ({"tyre": "floor"}, {}, (1436, "counted", Fraction(1, 2), "P")),
        ({"tyre": "list"}, {}, (1480, "catalogue", 2, None)),
        ({"tyre": "inch"}, {}, (Fraction("3.05") * 483, "approximate", 5, None)),
        ({"tyre": "odd"}, {}, (1500, "counted", 1, None)),
        ({"tyre": "rule", "roll_out_mm": 1440}, {}, (1440, "counted", 1, "L")),
        ({"roll_out_mm": 1440}, {}, (1440, "counted", 1, None)),
        # A size: the catalogue's tyre where it has that size, the best known of them.
        ({"tyre_size": "120/70 - 12"}, {}, (1436, "counted", Fraction(1, 2), "P")),
        ({"tyre_size": "120/70-12 46J"}, {}, (1436, "counted", Fraction(1, 2), "J")),
        ({"tyre_size": "130/70-12 56P"}, {}, (1480, "catalogue", 2, "P")),
        ({"tyre_size": "120/70R12"}, {}, (RULE, "standard", 3, None)),
        ({"tyre_size": "110/70-13 48P"}, {}, (Fraction("3.05") * 484, "standard", 4, "P")),
        ({"tyre_size": "110/70-13 48P", "roll_out_mm": 1470}, {}, (1470, "counted", 1, "P")),
        ({"tyre_size": "nonsense"}, {}, None),
        # What is given stands before all of that; a size given is another tyre than was measured.
        ({"tyre": "rule"}, {"given_mm": Fraction(1431)}, (1431, "counted", 1, "L")),
        ({}, {"given_mm": Fraction(1431)}, (1431, "counted", 1, None)),
        (
            {"tyre": "rule", "roll_out_mm": 1440},
            {"given_size": "130/70-12"},
            (1480, "catalogue", 2, None),
        ),
        (
            {"roll_out_mm": 1440},
            {"given_size": "inch"},
            (Fraction("1473.15"), "approximate", 5, None),
        ),
        (
            {"tyre": "rule"},
            {"given_mm": Fraction(1431), "given_size": "90/90-12 44J"},
            (1431, "counted", 1, "J"),
        ),
    ],
)
def test_what_stands_before_what(shop, machine, given, wanted):
    catalogue = shop(**machine)
    record = catalogue.machines["it"].record
    assert told(roll_out_of(catalogue, record, **given)) == wanted
    if not given:
        assert told(subject_of(catalogue, "it").roll_out) == wanted


def test_without_a_record(shop):
    catalogue = shop()
    assert roll_out_of(catalogue, None) is None
    assert roll_out_of(catalogue, None, given_size="floor").mm == 1436
    assert roll_out_of(catalogue, None, given_mm=Fraction(1400)).tyre_name is None


def test_each_says_where_it_comes_from_and_what_it_is_called(shop):
    catalogue = shop()
    of = {name: roll_out_of(catalogue, None, given_size=name) for name in TYRES}
    assert of["rule"].source == "by rule from the size: 3.05 x 473 mm"
    assert of["inch"].source == "by rule from the size: 3.05 x 483 mm, height taken as the width"
    assert of["list"].source == "a list"
    assert of["floor"].source == "counted on the floor"
    assert of["rule"].tyre_name == "120/70-12 (rule)"
    assert roll_out_of(catalogue, None, given_size="110/70 - 13").tyre_name == "110/70-13"
    assert [each.by_rule for each in of.values()] == [True, False, False, True, False]
    assert of["rule"].max_speed_km_h == 120  # L, from memory


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("rull", "did you mean rule?"),
        ("", "no tyre ''"),
        ("120/700-12", "tyre size: a section height of 700 %"),
        ("350-12", "did you mean 3.50-12?"),
        ("?", "is no tyre size"),
    ],
)
def test_tyres_that_are_neither(shop, name, says):
    with pytest.raises(UsageError) as refused:
        name_tyre(shop(), name)
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


def test_an_unread_size_on_record_is_told(shop):
    subject = subject_of(shop(tyre_size="12/7-120"), "it")
    assert subject.roll_out is None
    assert "The tyre size '12/7-120' on file cannot be read" in " ".join(remarks_on(subject))
    measured_all_the_same = subject_of(shop(tyre_size="12/7-120", roll_out_mm=1440), "it")
    assert "cannot be read" not in " ".join(remarks_on(measured_all_the_same))


def test_the_record_takes_one_tyre():
    with pytest.raises(ValueError, match="tyre and tyre_size are both given"):
        Machine.model_validate(
            {
                "name": "it",
                "family": "knot",
                "pairs": {"single": "10/40"},
                "tyre": "rule",
                "tyre_size": "120/70-12",
            }
        )


# ---------------------------------------------------------------- changed by name


@pytest.mark.parametrize(
    ("machine", "asked", "ratio", "mixed"),
    [
        # By rule against by rule: exactly the ratio of the diameters.
        ({"tyre": "rule"}, {"new": "140/70-12"}, Fraction(305 + 2 * 98, 473), False),
        ({"tyre_size": "110/70-13"}, {"new": "130/70-13"}, Fraction(512, 484), False),
        # A size that the catalogue has counted and a tyre that is counted.
        ({"tyre": "floor"}, {"new": "120/70-12"}, Fraction(1), False),
        # Not counted: the rule for both sizes, though the present tyre was counted.
        ({"tyre": "floor"}, {"new": "110/70-12"}, Fraction(459, 473), False),
        ({"tyre": "floor"}, {"new": "rule"}, Fraction(1), False),
        ({"tyre": "rule", "roll_out_mm": 1440}, {"new": "110/70-12"}, Fraction(459, 473), False),
        # The catalogue's figure of the new tyre against the present one's rule.
        ({"tyre": "rule"}, {"new": "130/70-12"}, Fraction(1480) / RULE, False),
        # The tyre that is on now by its size, whatever the record has.
        ({"tyre": "floor"}, {"new": "130/70-12", "on": "list"}, Fraction(1), False),
        ({}, {"new": "3½-12", "on": "inch"}, Fraction(1), False),
        # Nothing but a measured roll-out: the mixture is told.
        ({"roll_out_mm": 1440}, {"new": "110/70-12"}, Fraction("1399.95") / 1440, True),
        ({"tyre": "odd"}, {"new": "110/70-12"}, Fraction("1399.95") / 1500, True),
        ({"tyre": "floor"}, {"new": "list"}, Fraction(1480, 1436), True),
    ],
)
def test_a_new_tyre_by_its_size(shop, machine, asked, ratio, mixed):
    catalogue = shop(**machine)
    on = None if "on" not in asked else name_tyre(catalogue, asked["on"])
    subject = change_tyre(
        subject_of(catalogue, "it"), name_tyre(catalogue, asked["new"]), present=on
    )
    assert subject.roll_out_ratio == ratio
    assert any("difference between the two ways" in note for note in subject.told) is mixed
    after = subject.roll_out_after
    assert after.mm == subject.roll_out.mm * ratio
    assert after.tyre_name == subject.new_roll_out.tyre_name


def test_the_tyre_to_come_brings_its_own_speed_symbol(shop):
    before = subject_of(shop(tyre="floor"), "it")
    assert before.roll_out_after is before.roll_out
    subject = change_tyre(before, name_tyre(before.catalogue, "110/70-12 47J"))
    after = subject.roll_out_after
    assert (subject.roll_out.speed_symbol, after.speed_symbol) == ("P", "J")
    # 1436 mm as counted, changed by the rule's ratio, and no surer than the rule.
    assert (after.mm, after.spread_percent) == (Fraction(1436 * 459, 473), 4)
    plain = change_tyre(before, Fraction(1500))
    assert (plain.roll_out_after.mm, plain.roll_out_after.speed_symbol) == (1500, None)


def test_a_new_tyre_for_another_rim(shop):
    before = subject_of(shop(tyre="rule", wheel_size_in=12), "it")
    subject = change_tyre(before, name_tyre(before.catalogue, "120/70-13"))
    assert "for a 13 in rim and this machine has a 12 in wheel" in " ".join(subject.told)


def test_the_present_tyre_alone(shop):
    before = subject_of(shop(tyre="rule", roll_out_mm=1440), "it")
    catalogue = before.catalogue
    assert present_tyre(before) is before
    assert present_tyre(before, name_tyre(catalogue, "list")).roll_out_mm == 1480
    both = present_tyre(before, name_tyre(catalogue, "list"), Fraction(1477))
    assert (both.roll_out_mm, both.roll_out.tyre_name) == (1477, "130/70-12 (list)")
    assert present_tyre(before, measured_mm=Fraction(1450)).roll_out.speed_symbol == "L"


# ---------------------------------------------------------------- speed symbol


@pytest.mark.parametrize(
    ("speed", "shown"), [(50, None), (49.99, None), (50.001, "50.1"), (61.23, "61.3"), (62, "62 ")]
)
def test_over_the_speed_symbol(speed, shown):
    """Symbol B is for 50 km/h (from memory)."""
    roll_out = RollOut(Fraction(1600), "standard", Fraction(4), "", "2 1/2-16", "B", 50)
    warning = speed_symbol_warning(roll_out, speed)
    if shown is None:
        assert warning is None
        return
    assert warning.startswith(f"TOO FAST FOR THE TYRE: it may reach {shown}")
    assert "speed symbol B of 2 1/2-16 is for 50 km/h" in warning
    assert speed_symbol_warning(measured_roll_out(Fraction(1600)), speed) is None
