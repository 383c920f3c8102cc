"""A measured top speed sets one input, says which, and narrows the ranges."""

from __future__ import annotations

import pytest

from fitcheck.errors import UsageError
from fitcheck.kernel.road import top_speed
from fitcheck.services.matching import combine
from fitcheck.services.road.asked import RoadAsked
from fitcheck.services.road.calibration import calibrated
from fitcheck.services.road.comparing import compare
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.sweep import setup_of
from tests.services.road.conftest import MACHINE, without


def taller(subject, number="MA-88"):
    return [combine(subject, [subject.catalogue.gear_sets[number]])]


def test_the_present_gearing_then_does_what_was_measured(it):
    plain = compare(it, taller(it))
    assert plain.calibrated is None
    told = compare(it, taller(it), RoadAsked(measured_top_km_h=plain.before.flat.speed.value - 2))
    assert told.before.flat.speed.value == pytest.approx(
        plain.before.flat.speed.value - 2, abs=1e-5
    )
    assert "least known" in told.calibrated
    assert [given.kind for given in told.inputs].count("calibrated") == 1


def test_the_input_that_moves_the_speed_most_is_the_one_set(it):
    inputs = gather(it)
    effects = {}
    for key, given in inputs.givens.items():
        tops = []
        for sign in (-1, 1):
            values = {**inputs.values, key: given.value + sign * given.spread}
            metres = values["roll_out"] / 1000 / 10
            tops.append(top_speed(setup_of(inputs, values), metres).speed_m_s)
        effects[key] = abs(tops[1] - tops[0])
    asked = RoadAsked(measured_top_km_h=compare(it).before.flat.speed.value + 1)
    assert calibrated(inputs, 10.0, asked).inputs.calibrated == max(effects, key=effects.get)


def test_with_the_speed_known_the_ranges_are_narrower(it):
    def width(figure):
        return figure.high - figure.low

    plain = compare(it, taller(it))
    top = plain.before.flat.speed.value
    told = compare(it, taller(it), RoadAsked(measured_top_km_h=top))
    assert width(told.before.flat.speed) <= 2.3  # +-1 km/h of the measurement, and little else
    assert width(told.after[0].flat.speed) < 0.6 * width(plain.after[0].flat.speed)


def test_a_limiter_known_to_be_reached_is_met_by_tyre_ratio_or_limit(make):
    limited = make(without(MACHINE, engine={**MACHINE["engine"], "rev_limit_rpm": 6800}))
    now = compare(limited).before
    assert now.flat.limit == "revs"
    told = calibrated(gather(limited), 10.0, RoadAsked(measured_top_km_h=now.flat.speed.value + 1))
    assert told.inputs.calibrated in {"roll_out", "high_ratio", "rev_limit"}


def test_a_speedometer_gives_a_range_of_true_speeds(it):
    """UN R39, 5.3 (read): shown 59 is true 50 to 59. In the range nothing is set."""
    plain = compare(it).before.flat.speed
    told = compare(it, [], RoadAsked(shown_top_km_h=plain.value + 1))
    assert told.before.flat.speed == plain
    assert "agrees with" in told.calibrated
    assert "UN R39" in told.calibrated
    assert not [given for given in told.inputs if given.kind == "calibrated"]


@pytest.mark.parametrize(("shown", "true"), [(60, 60), (76, (76 - 4) / 1.1), (59, 59)])
def test_outside_it_the_nearer_end_is_met(it, shown, true):
    plain = compare(it).before.flat.speed
    assert not (shown - 4) / 1.1 <= plain.value <= shown
    told = compare(it, [], RoadAsked(shown_top_km_h=shown)).before.flat.speed
    assert told.value == pytest.approx(true, abs=1e-5)
    assert told.high - told.low > 2.3  # a speedometer narrows nothing


def test_a_higher_reading_never_means_a_lower_speed(it):
    tops = [
        compare(it, [], RoadAsked(shown_top_km_h=shown)).before.flat.speed.value
        for shown in range(58, 80, 2)
    ]
    assert tops == sorted(tops)


@pytest.mark.parametrize("speed", [20, 140])
def test_a_speed_that_nothing_explains_is_refused_with_what_the_model_gives(it, speed):
    with pytest.raises(UsageError, match=rf"{speed} km/h cannot be explained .* does \d+ km/h"):
        compare(it, [], RoadAsked(measured_top_km_h=speed))


def test_the_calibration_holds_while_other_inputs_vary(it):
    asked = RoadAsked(measured_top_km_h=compare(it).before.flat.speed.value)
    found = calibrated(gather(it), 10.0, asked)
    values = found.again({**found.inputs.values, "running_order": 95.0, "efficiency": 0.78})
    metres = values["roll_out"] / 1000 / 10
    top = 3.6 * top_speed(setup_of(found.inputs, values), metres).speed_m_s
    assert top == pytest.approx(asked.measured_top_km_h, abs=1e-5)


def test_a_speedometer_that_agrees_with_the_model_is_never_refused(it):
    """Only the middle of the range UN R39 leaves may be out of reach; any speed in it will do."""
    sure = {
        "power": (3, 7000),
        "mass_kg": 85,
        "rider_kg": 80,
        "drag_area_m2": 0.5,
        "rolling_coefficient": 0.015,
        "efficiency": 0.8,
        "ratios": (2.5, 0.9),
    }
    top = compare(it, asked=RoadAsked(**sure)).before.flat.speed.value
    told = compare(it, asked=RoadAsked(**sure, shown_top_km_h=top + 0.1))
    low, high = (top + 0.1 - 4) / 1.1, top + 0.1
    assert low - 1e-5 <= told.before.flat.speed.value <= high + 1e-5
