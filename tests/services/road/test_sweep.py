"""Ranges: checked against sums of squares worked by hand on figures with closed forms."""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal
from math import exp, hypot, log, sqrt

import pytest

from fitcheck.kernel.road.balance import top_speed
from fitcheck.kernel.road.spread import combined
from fitcheck.services.road.figures import RoadAsked
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.sweep import Gearings, setup_of, sweep
from tests.kernel.road.single_path import performance
from tests.services.road.conftest import MACHINE, without

GEARINGS = Gearings((10.0, 8.8, 8.0, 11.5), (1.0, 1.0, 1.0, 1.0))


@pytest.fixture(scope="module")
def inputs(it):
    return gather(it)


@pytest.fixture(scope="module")
def ranged(inputs):
    return sweep(inputs, GEARINGS)


def test_the_nominal_run_is_the_kernels_single_path(inputs, ranged):
    setup = setup_of(inputs, inputs.values)
    for index, reduction in enumerate(GEARINGS.reductions):
        one = performance(setup, 1.2 / reduction)
        assert ranged.nominal["flat"][index] == pytest.approx(3.6 * one.flat.speed_m_s, rel=1e-6)
        assert ranged.nominal["time_45"][index] == pytest.approx(one.time_45_s, rel=1e-6)
        assert ranged.nominal["start_force"][index] == pytest.approx(one.start_force_n, rel=1e-6)
        assert ranged.limit("flat", index) == one.flat.limit
        assert ranged.limit("uphill", index) == one.uphill.limit


def test_speed_per_1000_rpm_is_off_by_tyre_and_top_ratio_alone(inputs, ranged):
    """v = 1000 rpm / (ratio x reduction) x roll-out: 60 x 1.2 / (0.9 x 10) = 8 km/h by hand."""
    figure = ranged.figure("per_1000_rpm", 0)
    assert figure.value == pytest.approx(8.0)
    tyre = inputs.givens["roll_out"].spread / inputs.values["roll_out"]
    ratio = inputs.givens["high_ratio"].spread / inputs.values["high_ratio"]
    down = hypot(tyre, 1 - 1 / (1 + ratio))
    up = hypot(tyre, 1 / (1 - ratio) - 1)
    assert figure.low == pytest.approx(8 * (1 - down), rel=1e-12)
    assert figure.high == pytest.approx(8 * (1 + up), rel=1e-12)


def test_the_change_of_start_off_pull_is_certain_whatever_the_inputs(ranged):
    """Pull goes with the reduction: 8.8/10 is 12 % less, and nothing unknown is in it."""
    figure = ranged.figure("start_change", 1)
    assert figure.value == pytest.approx(-12)
    assert figure.high - figure.low < 1e-9


def test_the_gain_is_surer_than_the_two_speeds_it_comes_from(ranged):
    now, then = ranged.figure("flat", 0), ranged.figure("flat", 1)
    gain = ranged.figure("top_change", 1)
    assert gain.value == pytest.approx(then.value - now.value)
    assert gain.high - gain.low < hypot(now.high - now.low, then.high - then.low)


def test_ranges_agree_with_the_kernels_rule_one_input_at_a_time(inputs, ranged):
    ends = []
    for key, given in inputs.givens.items():
        pair = []
        for sign in (-1, 1):
            values = {**inputs.values, key: given.value + sign * given.spread}
            metres = values["roll_out"] / 1000 / 8.8
            pair.append(3.6 * performance(setup_of(inputs, values), metres).flat.speed_m_s)
        ends.append(tuple(pair))
    low, high = combined(float(ranged.nominal["flat"][1]), ends)
    assert ranged.figure("flat", 1).low == pytest.approx(low, rel=1e-6)
    assert ranged.figure("flat", 1).high == pytest.approx(high, rel=1e-6)


def test_known_exactly_means_no_range(inputs):
    sure = replace(
        inputs, givens={key: replace(one, spread=0.0) for key, one in inputs.givens.items()}
    )
    figure = sweep(sure, GEARINGS).figure("flat", 2)
    assert figure.low == figure.value == figure.high


def test_a_speed_never_reached_has_no_time(it):
    weak = gather(it, RoadAsked(power=(0.6, 7000)))
    assert sweep(weak, GEARINGS).figure("time_60", 0) is None


def test_a_value_instead_is_known_exactly(inputs, ranged):
    light = sweep(inputs, GEARINGS, instead={"rider": 75.0})
    assert light.nominal["time_45"][0] < ranged.nominal["time_45"][0]
    lighter = replace(
        inputs,
        givens={
            **inputs.givens,
            "rider": replace(inputs.givens["rider"], value=75.0, spread=0.0),
        },
    )
    again = sweep(lighter, GEARINGS)
    assert light.figure("flat", 0) == again.figure("flat", 0)


def test_a_spread_that_crosses_the_next_engine_speed_is_no_fault(it):
    tight = gather(it, RoadAsked(engage_rpm=6499, shift_rpm=6500, rev_limit_rpm=6501))
    assert sweep(tight, GEARINGS).figure("flat", 0).value > 0


def test_times_stay_over_zero_however_wide_the_spreads(it):
    weak = gather(it, RoadAsked(power=(1.05, 7000)))
    wide = replace(
        weak,
        givens={key: replace(one, spread=0.25 * one.value) for key, one in weak.givens.items()},
    )
    figure = sweep(wide, GEARINGS).figure("time_95", 0)
    assert 0 < figure.low < figure.value < figure.high


def test_times_are_combined_by_their_logarithms(inputs, ranged):
    logs = [0.0, 0.0]
    middle = float(ranged.nominal["time_45"][0])
    for key, given in inputs.givens.items():
        times = []
        for sign in (-1, 1):
            values = {**inputs.values, key: given.value + sign * given.spread}
            metres = values["roll_out"] / 1000 / 10
            times.append(performance(setup_of(inputs, values), metres).time_45_s)
        logs[0] += log(middle / min(*times, middle)) ** 2
        logs[1] += log(max(*times, middle) / middle) ** 2
    figure = ranged.figure("time_45", 0)
    assert figure.low == pytest.approx(middle * exp(-sqrt(logs[0])), rel=1e-6)
    assert figure.high == pytest.approx(middle * exp(sqrt(logs[1])), rel=1e-6)


def test_no_range_goes_beyond_what_the_rev_limit_allows(it):
    """Several inputs may each lift the top speed to the limiter; together they lift it no more."""
    held = gather(it, RoadAsked(rev_limit_rpm=7600, rider_kg=130))
    wide = replace(
        held,
        givens={
            key: replace(one, spread=0.2 * one.value)
            if key in {"peak_power", "efficiency", "drag_area"}
            else replace(one, spread=0.0)
            for key, one in held.givens.items()
        },
    )
    found = sweep(wide, GEARINGS)
    for index in range(4):
        limit = 8.0 * 10 / GEARINGS.reductions[index] * 7.6
        assert found.figure("flat", index).high <= limit * (1 + 1e-12)
    assert found.figure("flat", 1).high == pytest.approx(8.0 / 0.88 * 7.6)


def test_a_run_that_does_not_move_at_all_is_no_other_top_speed(inputs):
    """The power so much in doubt that the machine may stand still, though its engine turns fast."""
    power = inputs.givens["peak_power"]
    doubt = replace(power, spread=0.999 * power.value)
    found = sweep(replace(inputs, givens={**inputs.givens, "peak_power": doubt}), GEARINGS)
    assert found.figure("flat", 0).low == 0
    assert found.other_top(0) is None


DIP = [
    {"rpm": rpm, "power_kw": Decimal(kw)}
    for rpm, kw in (
        (3000, "1.2"),
        (4500, "1.9"),
        (5500, "1.85"),
        (6500, "3"),
        (7500, "3.6"),
        (8500, "3"),
        (9500, "1"),
    )
]


@pytest.fixture(scope="module")
def dipping(make):
    """A fixed ratio whose torque falls from 4.0 to 3.2 N m at 5,500 rpm and comes back to 4.6."""
    engine = {"points": DIP, "rev_limit_rpm": 9500}
    return gather(make(without(MACHINE, "variator", engine=engine, fixed_ratio=Decimal("0.9"))))


@pytest.mark.parametrize(("reduction", "peaks"), [(10.0, 1), (7.7, 2), (7.4, 2), (6.6, 1)])
def test_a_dip_in_the_torque_of_a_fixed_ratio_keeps_two_top_speeds_apart(dipping, reduction, peaks):
    """The truth by drawn machines: no range goes beyond both peaks, and both are told."""
    found = sweep(dipping, Gearings((reduction,), (1.0,)), times=False)
    told, other = found.figure("flat", 0), found.other_top(0)
    rng = random.Random(1)
    true = []
    for _ in range(300):
        values = {k: rng.gauss(one.value, one.spread / 2) for k, one in dipping.givens.items()}
        setup = setup_of(dipping, values)
        true.append(3.6 * top_speed(setup, values["roll_out"] / 1000 / reduction).speed_m_s)
    held = sum(told.low <= each <= told.high for each in true) / len(true)
    assert held >= 0.9
    assert min(true) - 3 < told.low <= told.high < max(true) + 4
    if peaks == 1:
        assert other is None
        return
    near = [each for each in true if abs(each - told.value) < 6]
    far = [each for each in true if abs(each - told.value) >= 8]
    assert len(near) + len(far) >= 0.95 * len(true)
    assert len(far) >= 0.05 * len(true)
    assert other.km_h == pytest.approx(sum(far) / len(far), abs=3)
    slower = other.km_h < told.value
    assert other.words == (
        f"if it {'does not pull' if slower else 'pulls'} through the dip in its torque"
    )


def test_a_top_speed_that_slides_over_a_shallow_dip_is_one(dipping):
    """Geared short the load rises faster than the torque comes back: nothing jumps."""
    short = sweep(dipping, Gearings((14.0,), (1.0,)), times=False)
    assert short.other_top(0) is None
