"""A measured top speed moves all inputs by their spreads, says which, and what is left."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import minimize

from fitcheck.errors import UsageError
from fitcheck.kernel.road.balance import top_speed
from fitcheck.services.counter.combination import combine
from fitcheck.services.road.calibration import calibrate
from fitcheck.services.road.comparing import compare
from fitcheck.services.road.figures import RoadAsked
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.sweep import setup_of
from tests.conftest import EXPLORE, some
from tests.services.road.conftest import MACHINE, without
from tests.services.road.drawn import FIGURES, drawn, width

SURE = {
    "power": (3, 7000),
    "mass_kg": 85,
    "rider_kg": 80,
    "drag_area_m2": 0.5,
    "rolling_coefficient": 0.015,
    "efficiency": 0.8,
    "ratios": (2.5, 0.9),
}


def taller(subject, number="MA-88"):
    return [combine(subject, [subject.catalogue.gear_sets[number]])]


def present(inputs, values, reduction=10.0):
    metres = values["roll_out"] / 1000 / reduction
    return 3.6 * top_speed(setup_of(inputs, values), metres).speed_m_s


def moves(inputs, moved):
    """Standard deviations by which each input is moved."""
    return {
        key: (moved.values[key] - given.value) / (given.spread / 2)
        for key, given in inputs.givens.items()
        if given.spread
    }


def test_the_model_meets_the_reading_as_far_as_the_reading_is_surer(it):
    """Of two normal values with s and e, a difference shrinks to e² / (s² + e²) of it."""
    plain = compare(it).before.flat.speed
    told = compare(it, asked=RoadAsked(measured_top_km_h=plain.value - 2)).before.flat.speed
    deviation = (plain.high - plain.low) / 4
    left = 2 * 0.25 / (deviation**2 + 0.25)
    assert told.value == pytest.approx(plain.value - 2 + left, abs=0.1)
    assert 0 < left < 0.5


@pytest.mark.parametrize("off", some([-3.0, -1.0, 2.5, 0.5], 1))
def test_nothing_is_more_probable_than_the_inputs_found(it, off):
    """scipy, from the inputs found and from ten places about them, finds nothing better."""
    inputs = gather(it)
    keys = [key for key, given in inputs.givens.items() if given.spread]
    speed = present(inputs, inputs.values) + off

    def cost(z):
        values = dict(inputs.values)
        for key, each in zip(keys, z, strict=True):
            values[key] += each * inputs.givens[key].spread / 2
        return float(z @ z) + ((speed - present(inputs, values)) / 0.5) ** 2

    moved = moves(inputs, calibrate(inputs, 10.0, RoadAsked(measured_top_km_h=speed)))
    found = np.array([moved[key] for key in keys])
    rng = np.random.default_rng(1)
    starts = [found, *(found + rng.standard_normal(len(found)) for _ in range(2 if EXPLORE else 0))]
    best = min(float(minimize(cost, start).fun) for start in starts)
    assert cost(found) <= best + 1e-4


def test_a_linear_top_speed_is_shared_by_the_squares_of_its_slopes(make):
    """On the rev limiter v = n s / (60 i): the update of a normal prior in closed form.

    Relative deviations are tyre 0.5 %, limit 0.75 %, ratio 1 % (all catalogue); they move in
    proportion to deviation times slope.
    """
    limited = make(without(MACHINE, engine={**MACHINE["engine"], "rev_limit_rpm": 6800}))
    inputs = gather(limited)
    top = present(inputs, inputs.values)
    assert top == pytest.approx(6.8 * 8)
    shares = {
        key: inputs.givens[key].spread / 2 / inputs.values[key] * sign
        for key, sign in (("roll_out", 1), ("rev_limit", 1), ("high_ratio", -1))
    }
    variance = top**2 * sum(share**2 for share in shares.values())
    moved = calibrate(inputs, 10.0, RoadAsked(measured_top_km_h=top - 0.6))
    for key, share in shares.items():
        exact = -0.6 * top * share / (variance + 0.25)
        assert moves(inputs, moved)[key] == pytest.approx(exact, rel=0.02)
    quiet = set(moves(inputs, moved)) - set(shares)
    assert max(abs(moves(inputs, moved)[key]) for key in quiet) < 1e-6


def test_those_moved_most_are_named_with_old_and_new_value(it):
    asked = RoadAsked(measured_top_km_h=compare(it).before.flat.speed.value - 2)
    inputs = gather(it)
    told = compare(it, asked=asked)
    changed = {given.key: given for given in told.inputs if given.before is not None}
    assert all(given.kind == "calibrated" for given in changed.values())
    moved = moves(inputs, calibrate(inputs, 10.0, asked))
    for key in sorted(moved, key=lambda key: -abs(moved[key]))[:3]:
        assert inputs.givens[key].name in told.calibrated
        assert changed[key].before == inputs.values[key]
        assert changed[key].source.endswith(inputs.givens[key].source)
    assert 3 < len(changed) < len(inputs.givens)


def test_with_the_speed_known_the_ranges_are_narrower(it):
    plain = compare(it, taller(it))
    told = compare(it, taller(it), RoadAsked(measured_top_km_h=plain.before.flat.speed.value))

    def shrinks(which):
        before, after = which(plain), which(told)
        return (after.high - after.low) / (before.high - before.low)

    speed = told.before.flat.speed
    assert speed.high - speed.low <= 2
    assert shrinks(lambda report: report.after[0].flat.speed) < 0.9
    assert shrinks(lambda report: report.before.headwind.speed) < 0.9
    assert shrinks(lambda report: report.before.per_1000_rpm) < 1


def test_every_run_for_the_ranges_is_calibrated(it):
    """A linear model would miss by no more than the reading's own two deviations."""
    speed = compare(it).before.flat.speed.value + 1
    moved = calibrate(gather(it), 10.0, RoadAsked(measured_top_km_h=speed))
    middle = present(moved, moved.values)
    for pair in moved.calibration.ends:
        for values in pair:
            assert present(moved, values) == pytest.approx(middle, abs=1.2)


def test_what_is_left_is_the_covariance_of_the_update(it):
    """Squares of the runs' moves along any direction sum to the posterior variance."""
    inputs = gather(it)
    speed = present(inputs, inputs.values)
    moved = calibrate(inputs, 10.0, RoadAsked(measured_top_km_h=speed))
    keys = [key for key, given in inputs.givens.items() if given.spread]
    half = np.array([inputs.givens[key].spread / 2 for key in keys])
    middle = np.array([moved.values[key] for key in keys])
    root = np.array(
        [
            (np.array([high[key] for key in keys]) - middle) / (2 * half)
            for _, high in moved.calibration.ends
        ]
    )
    slopes = np.array(
        [
            (
                present(moved, {**moved.values, key: middle[at] + 2 * half[at]})
                - present(moved, {**moved.values, key: middle[at] - 2 * half[at]})
            )
            / 4
            for at, key in enumerate(keys)
        ]
    )
    kalman = np.eye(len(keys)) - np.outer(slopes, slopes) / (slopes @ slopes + 0.25)
    assert root.T @ root == pytest.approx(kalman, abs=1e-6)
    for at, key in enumerate(keys):
        left = math.sqrt(kalman[at, at])
        assert moved.givens[key].spread == pytest.approx(2 * half[at] * left, rel=1e-6)


@pytest.mark.night
@pytest.mark.parametrize("machine", some(["variator", "fixed", "limited"], 2))
def test_figures_that_nobody_measured_get_surer_over_drawn_machines(make, machine):
    """The truth is drawn from the stated spreads; see tests/bench/road_calibration.py."""
    record = {
        "variator": MACHINE,
        "limited": without(MACHINE, engine={**MACHINE["engine"], "rev_limit_rpm": 7000}),
        "fixed": without(MACHINE, "variator", fixed_ratio=0.9),
    }[machine]
    inputs = gather(make(record))
    count = 40 if EXPLORE else 12
    found = drawn(inputs, 10.0, 1.15, count=count, seed=2)
    assert len(found) >= 0.95 * count  # √J over 3 is one in 370

    def error(which, place):
        return math.sqrt(sum(one.error(getattr(one, which), place) ** 2 for one in found))

    assert all(width(one.after, 0) <= width(one.before, 0) + 1e-9 for one in found)
    assert error("after", 0) < 0.7 * error("before", 0)
    others = range(1, len(FIGURES))
    assert sum(error("after", at) for at in others) < sum(error("before", at) for at in others)
    for at in others:
        assert sum(width(one.after, at) for one in found) <= 1.01 * sum(
            width(one.before, at) for one in found
        )
    held = sum(one.holds(one.after, at) for one in found for at in range(len(FIGURES)))
    assert held >= 0.88 * len(found) * len(FIGURES)


def test_a_speedometer_gives_a_range_of_true_speeds(it):
    """UN R39, 5.3 (read): shown 59 is true 50 to 59. In the range nothing is moved."""
    plain = compare(it).before.flat.speed
    told = compare(it, [], RoadAsked(shown_top_km_h=plain.value + 1))
    assert told.before.flat.speed.value == plain.value
    assert told.before.flat.speed.high == pytest.approx(min(plain.high, plain.value + 2))
    assert "agrees with" in told.calibrated
    assert "UN R39" in told.calibrated
    assert not [given for given in told.inputs if given.kind == "calibrated"]


def test_outside_it_the_nearer_end_is_met(it):
    plain = compare(it).before.flat.speed
    for shown, true in some(
        [((plain.value + 2) * 1.1 + 4, 0), (plain.value - 2, plain.value - 2)], 1
    ):
        end = true or plain.value + 2
        told = compare(it, [], RoadAsked(shown_top_km_h=shown)).before.flat.speed
        exact = compare(it, [], RoadAsked(measured_top_km_h=end)).before.flat.speed
        assert told.value == pytest.approx(exact.value, abs=1e-3)
        assert told.high - told.low > exact.high - exact.low


@pytest.mark.night
def test_a_higher_reading_never_means_a_lower_speed(it):
    middle = compare(it).before.flat.speed.value
    tops = [
        compare(it, [], RoadAsked(shown_top_km_h=middle + shown)).before.flat.speed.value
        for shown in some(range(-3, 14, 2), 3)
    ]
    assert all(low <= high + 1e-6 for low, high in pairwise(tops))


@pytest.mark.parametrize(("speed", "side"), [(20, "over it"), (140, "short of it")])
def test_a_speed_that_nothing_explains_is_refused_with_what_the_model_gives(it, speed, side):
    words = rf"{speed} km/h cannot be explained .* does \d+ \(\d+ to \d+\) km/h.*{side}"
    with pytest.raises(UsageError, match=words):
        compare(it, [], RoadAsked(measured_top_km_h=speed))


def test_an_input_moved_out_of_what_is_cited_is_warned_of(it):
    """0.18 to 0.7 m2 is cited for a drag area that is given (read)."""
    given = {**SURE, "drag_area_m2": 0.695}
    slow = compare(it, asked=RoadAsked(**given)).before.flat.speed.value - 1.5
    notes = compare(it, asked=RoadAsked(**given, measured_top_km_h=slow)).notes
    assert any("drag area" in note and "outside the 0.18 to 0.7" in note for note in notes)
    fast = compare(it, asked=RoadAsked(**given, measured_top_km_h=slow + 2)).notes
    assert not any("drag area" in note for note in fast)


def test_a_speedometer_that_agrees_with_the_model_is_never_refused(it):
    """Only the middle of the range UN R39 leaves may be out of reach; any speed in it will do."""
    top = compare(it, asked=RoadAsked(**SURE)).before.flat.speed.value
    told = compare(it, asked=RoadAsked(**SURE, shown_top_km_h=top + 0.1))
    low, high = (top + 0.1 - 4) / 1.1, top + 0.1
    assert low - 1e-5 <= told.before.flat.speed.value <= high + 1e-5
