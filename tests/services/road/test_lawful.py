"""Vehicle classes: three-valued on speed, and what else speaks against one."""

from __future__ import annotations

import pytest

from fitcheck.errors import UsageError
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.road.figures import Figure, LawfulAnswer
from fitcheck.services.road.lawful import Standing, class_answer, needed_class


@pytest.fixture(scope="module")
def classes(demo):
    return demo.vehicle_classes


@pytest.mark.parametrize(
    ("low", "value", "high", "answer"),
    [
        (40, 43, 45, LawfulAnswer.WITHIN),  # exactly on the ceiling is inside
        (43, 44, 45.1, LawfulAnswer.STRADDLES),
        (45, 47, 49, LawfulAnswer.STRADDLES),
        (45.1, 47, 49, LawfulAnswer.OVER),
    ],
)
def test_the_range_against_45_km_h(classes, low, value, high, answer):
    """L1e-B: design speed at most 45 km/h. Regulation (EU) No 168/2013, Annex I (read)."""
    told = class_answer(classes["L1e-B"], Figure(value, low, high))
    assert told.answer is answer
    assert told.ceiling_km_h == 45


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (40.4, 44.6, "40 to 45 km/h"),  # 45 itself is inside
        (44.6, 46.4, "45 to 46 km/h"),
        (44.6, 45.3, "44.6 to 45.3 km/h"),  # not 45 to 45
        (45.04, 49.0, "45.04 to 49.00 km/h"),
    ],
)
def test_rounding_never_puts_an_end_on_the_wrong_side(classes, low, high, shown):
    assert shown in class_answer(classes["L1e-B"], Figure((low + high) / 2, low, high)).sentence


def test_a_machine_that_does_not_start_is_told_so(classes):
    told = class_answer(classes["L1e-B"], Figure(0.0, 0.0, 0.0))
    assert told.answer is LawfulAnswer.WITHIN
    assert told.sentence.endswith("with a rider of 75 kg it does not start on the flat.")
    assert "0 to 12 km/h" in class_answer(classes["L1e-B"], Figure(0.0, 0.0, 12.0)).sentence


def test_nobody_is_asked_to_measure_what_was_measured(classes):
    asked = class_answer(classes["L1e-B"], Figure(44, 43, 46)).sentence
    assert "--measured-top" in asked
    told = class_answer(classes["L1e-B"], Figure(44, 43, 46), measured=True).sentence
    assert "--measured-top" not in told


def test_an_unknown_speed_proves_nothing(classes):
    assert class_answer(classes["L1e-B"], None).answer is LawfulAnswer.UNKNOWN


def test_a_class_without_a_ceiling_needs_no_speed(classes):
    told = class_answer(classes["L3e-A1"], None)
    assert told.answer is LawfulAnswer.WITHIN
    assert told.ceiling_km_h is None


@pytest.mark.parametrize(
    ("name", "standing", "words"),
    [
        # Regulation (EU) No 168/2013, Annex I (read): limits and one step over each.
        ("L1e-B", Standing(displacement_cm3=50, power_w=4000), ()),
        ("L1e-B", Standing(displacement_cm3=70), ("70 cm3 is over the 50 cm3",)),
        ("L1e-B", Standing(power_w=4100), ("4.1 kW at the crankshaft is over the 4 kW",)),
        ("L3e-A1", Standing(power_w=11000, running_order_kg=110), ()),
        ("L3e-A1", Standing(power_w=11000, running_order_kg=105), ("105 W/kg is over the 100",)),
        ("L3e-A2", Standing(power_w=35000, running_order_kg=175), ()),
        ("L2e", Standing(running_order_kg=271), ("271 kg is over the 270 kg",)),
    ],
)
def test_what_else_speaks_against_a_class(classes, name, standing, words):
    told = class_answer(classes[name], Figure(40, 38, 42), standing=standing)
    assert len(told.others) == len(words)
    for word, sentence in zip(words, told.others, strict=True):
        assert word in sentence


@pytest.mark.parametrize(("name", "least"), [("L3e-AxE", 6.0), ("L3e-AxT", 7.5)])
def test_least_overall_ratio_of_enduro_and_trial(classes, name, least):
    """Annex I (read): overall ratio in the highest speed at least 6.0, trial 7.5."""
    entry = next(each for id_, each in classes.items() if id_.startswith(name))
    assert class_answer(entry, None, reduction=least).answer is LawfulAnswer.WITHIN
    told = class_answer(entry, None, reduction=least - 0.01)
    assert told.answer is LawfulAnswer.OVER
    assert f"under the {least:g}" in told.sentence


def test_without_a_class_one_line_says_what_to_give(load_records):
    subject = subject_of(
        load_records(
            {
                "family": {
                    "knot": {
                        "name": "Knot",
                        "housings": {"short": {"name": "short case"}},
                        "stages": {"single": {}},
                    }
                },
                "machine": {"it": {"name": "it", "family": "knot", "pairs": {"single": "10/40"}}},
            }
        ),
        "it",
    )
    with pytest.raises(UsageError, match=r"no class on file.*--class NAME.*machine\.yaml:\d+:\d+"):
        needed_class(subject)
