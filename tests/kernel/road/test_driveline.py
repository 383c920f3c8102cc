"""Power curve, clutch and variator by hand-worked figures and by their own laws."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import atan, cos, inf, nan, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.kernel.road.balance import Condition, stretches, top_speed
from fitcheck.kernel.road.driveline import (
    Driveline,
    Setup,
    engine_rpm,
    ratio_at,
    speed_at,
    start_force_n,
    start_gradient,
    thrust_n,
    wheel_power,
)
from fitcheck.kernel.road.engine import PowerCurve, default_curve
from fitcheck.kernel.road.load import Footing, RoadLoad
from tests.conftest import table
from tests.kernel.road.single_path import breakpoints

CURVE = PowerCurve(((2000.0, 400.0), (4000.0, 1600.0), (6000.0, 3000.0), (8000.0, 1000.0)))
LINE = Driveline(2.4, 0.8, shift_rpm=6000.0, engage_rpm=3000.0, efficiency=0.8)
SETUP = Setup(CURVE, LINE, 7500.0, RoadLoad(20.0, 0.3, 150.0))


@pytest.mark.parametrize(
    ("rpm", "watts"),
    [
        (0, 0),
        (-5, 0),
        (1000, 200),
        (2000, 400),
        (3000, 1000),
        (4000, 1600),
        (5500, 2650),
        (8000, 1000),
        (8000.001, 0),
    ],
)
def test_power_between_points(rpm: float, watts: float) -> None:
    assert CURVE.power_w(rpm) == pytest.approx(watts, abs=1e-9)


def test_torque_is_power_over_speed_and_constant_below_the_first_point() -> None:
    assert CURVE.torque_nm(6000) == pytest.approx(3000 / (2 * pi * 100))
    assert CURVE.torque_nm(2000) == pytest.approx(400 / (2 * pi * 2000 / 60))
    assert CURVE.torque_nm(0) == CURVE.torque_nm(700) == CURVE.torque_nm(2000)
    assert CURVE.torque_nm(8001) == 0


def test_peak_and_the_lowest_of_equals() -> None:
    assert CURVE.peak == (6000.0, 3000.0)
    assert PowerCurve(((1.0, 5.0), (2.0, 9.0), (3.0, 9.0), (4.0, 1.0))).peak == (2.0, 9.0)
    assert CURVE.last_rpm == 8000


def test_scaled_stretches_both_ways() -> None:
    tuned = CURVE.scaled(1.2, 1.1)
    assert tuned.peak == pytest.approx((6600, 3600))
    assert tuned.power_w(5500) == pytest.approx(1.2 * CURVE.power_w(5000))
    assert CURVE.scaled() == CURVE


@given(st.floats(0.2, 1.6180))
def test_default_curve_has_its_shape(x: float) -> None:
    """x + x² - x³ within 0.0004 of the peak: h²/8 times a curvature of 7.71 at most."""
    curve = default_curve(2500.0, 6500.0)
    exact = 2500 * (x + x**2 - x**3)
    assert curve.power_w(x * 6500) == pytest.approx(exact, abs=0.0004 * 2500)


def test_default_curve_peaks_where_it_says_and_ends_at_nothing() -> None:
    curve = default_curve(2500.0, 6500.0)
    assert curve.peak == pytest.approx((6500, 2500), rel=1e-14)
    assert curve.points[0] == pytest.approx((1300, 2500 * 0.232))
    assert curve.points[-1] == pytest.approx((6500 * (1 + 5**0.5) / 2, 0))


@pytest.mark.parametrize(
    ("speed", "rpm", "ratio", "thrust"),
    # 0.12 m a turn: the low ratio takes up 3000 rpm at 2.5 m/s, 6000 rpm at 5 m/s; the variator is
    # out at 15 m/s; 7500 rpm are 18.75 m/s. Power: 1000 W at 3000 rpm, 2000 W at 7000 rpm.
    [
        (0.0, 3000, 2.4, 0.8 * 1000 / 2.5),
        (1.0, 3000, 2.4, 0.8 * 1000 / 2.5),
        (2.5, 3000, 2.4, 0.8 * 1000 / 2.5),
        (10 / 3, 4000, 2.4, 0.8 * 1600 / (10 / 3)),
        (5.0, 6000, 2.4, 0.8 * 3000 / 5),
        (10.0, 6000, 1.2, 0.8 * 3000 / 10),
        (15.0, 6000, 0.8, 0.8 * 3000 / 15),
        (17.5, 7000, 0.8, 0.8 * 2000 / 17.5),
        (18.75, 7500, 0.8, 0.8 * 1500 / 18.75),
        (18.76, 7504, 0.8, 0.0),
    ],
)
def test_four_regimes(speed: float, rpm: float, ratio: float, thrust: float) -> None:
    assert engine_rpm(SETUP, 0.12, speed) == pytest.approx(rpm)
    assert ratio_at(SETUP, 0.12, speed) == pytest.approx(ratio)
    assert thrust_n(SETUP, 0.12, speed) == pytest.approx(thrust, rel=1e-12)


def test_fixed_ratio_has_no_shift() -> None:
    line = Driveline(1.5, 1.5, shift_rpm=0.0, engage_rpm=3000.0, efficiency=0.9)
    setup = replace(SETUP, driveline=line)
    assert line.fixed
    assert not LINE.fixed
    assert engine_rpm(setup, 0.12, 1.0) == 3000
    assert engine_rpm(setup, 0.12, 8.0) == pytest.approx(6000)
    assert ratio_at(setup, 0.12, 8.0) == 1.5
    assert thrust_n(setup, 0.12, 8.0) == pytest.approx(0.9 * 3000 / 8)
    assert breakpoints(setup, 0.12) == pytest.approx((0, 4, 16 / 3, 8, 10))


def test_breakpoints_by_hand() -> None:
    """Clutch closed, points of the curve, shifting, variator out, rev limit."""
    assert breakpoints(SETUP, 0.12) == pytest.approx((0, 2.5, 10 / 3, 5, 15, 18.75))


def test_speed_at_an_rpm() -> None:
    assert speed_at(SETUP, 0.12, 6000) == pytest.approx(15)
    assert speed_at(SETUP, 0.12, 6000, ratio=2.4) == pytest.approx(5)


def test_engine_that_stops_short_of_the_rev_limit() -> None:
    setup = replace(SETUP, rev_limit_rpm=9000.0)
    assert (setup.highest_rpm, SETUP.highest_rpm) == (8000, 7500)
    assert breakpoints(setup, 0.12)[-1] == pytest.approx(20)
    assert thrust_n(setup, 0.12, 20.0) == pytest.approx(0.8 * 1000 / 20)
    assert thrust_n(setup, 0.12, 20.01) == 0


def test_rev_limit_under_the_shift_rpm_and_under_the_clutch() -> None:
    assert breakpoints(replace(SETUP, rev_limit_rpm=5000.0), 0.12)[-1] == pytest.approx(25 / 6)
    assert breakpoints(replace(SETUP, rev_limit_rpm=2999.0), 0.12) == (0,)
    assert thrust_n(replace(SETUP, rev_limit_rpm=2999.0), 0.12, 0.0) == 0


def test_rev_limit_at_the_shift_rpm_still_lets_the_variator_out() -> None:
    assert breakpoints(replace(SETUP, rev_limit_rpm=6000.0), 0.12)[-1] == pytest.approx(15)


def test_points_a_last_digit_apart_are_one() -> None:
    """A curve's point beside the shift rpm leaves no piece of no length."""
    for shift in (6000.0 * (1 + 2**-52), 6000.0 * (1 - 2**-53)):
        setup = replace(SETUP, driveline=replace(LINE, shift_rpm=shift))
        assert len(breakpoints(setup, 0.12)) == 6
        for metres in (0.12, 0.11, 0.13):
            reached = top_speed(setup, metres).speed_m_s
            assert reached == pytest.approx(top_speed(SETUP, metres).speed_m_s, rel=1e-12)


@given(data=st.data(), place=st.floats(0, 1))
def test_wheel_power_line_is_thrust_times_speed(data, place: float, setups, gearings) -> None:
    """The pieces that are integrated and the formula of the regimes are the same thrust."""
    setup, metres = data.draw(setups), data.draw(gearings)
    points = wheel_power(setup)
    for (turns, watts), (following, more) in pairwise(points):
        between = turns + place * (following - turns)
        expected = watts + place * (more - watts)
        speed = between * metres
        assert thrust_n(setup, metres, speed) * speed == pytest.approx(
            expected, rel=1e-9, abs=1e-9 * max(watts, more)
        )


conditions = st.builds(Condition, st.floats(-0.1, 0.3), st.floats(-15, 15))


@given(data=st.data(), place=st.floats(0.001, 1), condition=conditions)
def test_surplus_is_thrust_less_load(data, place, condition, setups, gearings) -> None:
    up, wind = condition.gradient, condition.headwind_m_s
    setup, metres = data.draw(setups), data.draw(gearings)
    for stretch in stretches(setup, metres, condition):
        speed = stretch.low + place * (stretch.high - stretch.low)
        thrust = thrust_n(setup, metres, speed)
        expected = thrust - setup.load.force(speed, up, wind)
        scale = thrust + setup.load.force(speed, abs(up), abs(wind))
        assert stretch.surplus_n(speed) == pytest.approx(expected, abs=1e-9 * scale)
        assert stretch.surplus_w(speed) == pytest.approx(expected * speed, abs=1e-9 * scale * speed)


def test_start_by_hand() -> None:
    """320 N of thrust, 20 N of rolling: 300 N of 1471 N of weight is sin(a)."""
    assert start_force_n(SETUP, 0.12) == pytest.approx(320)
    share = 300 / (150 * 9.80665)
    assert start_gradient(SETUP, 0.12) == pytest.approx(share / (1 - share**2) ** 0.5)


def test_start_on_a_wall_and_start_downhill_only() -> None:
    assert start_gradient(SETUP, 0.12 * 300 / 1491) > 10
    assert start_gradient(SETUP, 0.12 * 320 / 1492) == inf
    heavy = replace(SETUP, load=RoadLoad(340.0, 0.3, 150.0))
    share = 20 / (150 * 9.80665)
    assert start_gradient(heavy, 0.12) == pytest.approx(-share / (1 - share**2) ** 0.5)
    assert start_gradient(replace(SETUP, load=RoadLoad(5e4, 0.3, 150.0)), 0.12) == -inf


@given(data=st.data())
def test_it_starts_below_its_start_gradient_and_no_further(data, setups, gearings) -> None:
    """The formula keeps the rolling resistance of the level: safe by no more than its part."""
    setup, metres = replace(data.draw(setups), footing=None), data.draw(gearings)
    gradient = start_gradient(setup, metres)
    if not 0.001 < gradient < 1:
        return
    below = top_speed(setup, metres, Condition(gradient * 0.9999))
    assert below.limit != "start"
    spare = setup.load.constant_n * gradient**2
    above = gradient * 1.0001 + 3 * spare / (setup.load.mass_kg * setup.load.gravity)
    assert top_speed(setup, metres, Condition(above)).limit == "start"


FOOTING = Footing(friction=0.8, driven_share=0.6, height_share=0.52)


@pytest.mark.parametrize("footing", [FOOTING, replace(FOOTING, friction=0.5)])
def test_on_the_level_the_moments_about_both_wheels_hold(footing) -> None:
    """Forces and moments of a body that accelerates by its thrust; wheelbase 1 m.

    Front load times the wheelbase is weight times its arm less thrust times height.
    """
    load = RoadLoad(0.0, 0.3, 150.0)
    thrust, cap = footing.most_thrust(load)
    weight = 150 * 9.80665
    front = weight * (1 - footing.driven_share) - thrust * footing.height_share
    if cap == "front wheel":
        assert front == pytest.approx(0, abs=1e-9)
        assert thrust <= footing.friction * weight
    else:
        assert front > 0
        assert thrust == pytest.approx(footing.friction * (weight - front))


@pytest.mark.parametrize("footing", [FOOTING, replace(FOOTING, friction=0.5)])
def test_on_the_steepest_start_the_wheels_carry_the_weight(footing) -> None:
    """A steady crawl: thrust is rolling and weight along the slope; moments about each wheel."""
    load = RoadLoad(25.0, 0.3, 150.0)
    gradient, cap = footing.steepest(load)
    slope, weight = atan(gradient), 150 * 9.80665
    front = weight * ((1 - footing.driven_share) * cos(slope) - footing.height_share * sin(slope))
    thrust = load.force(0.0, gradient)
    if cap == "front wheel":
        assert front == pytest.approx(0, abs=1e-9)
        assert thrust <= footing.friction * weight * cos(slope)
    else:
        assert front > 0
        assert thrust == pytest.approx(footing.friction * (weight * cos(slope) - front))


def test_grip_and_front_wheel_cap_pull_and_hill() -> None:
    """320 N on 150 kg are far from either; geared short by ten the machine would climb a wall."""
    setup = replace(SETUP, footing=FOOTING)
    assert start_force_n(setup, 0.12) == pytest.approx(320)
    weight = 150 * 9.80665
    assert start_force_n(setup, 0.012) == pytest.approx(weight * 0.4 / 0.52)
    assert start_gradient(setup, 0.012) == pytest.approx(0.4 / 0.52)
    wet = replace(setup, footing=replace(FOOTING, friction=0.4))
    assert start_force_n(wet, 0.012) == pytest.approx(weight * 0.24 / (1 - 0.208))
    assert start_gradient(wet, 0.012) == pytest.approx((0.24 - 20 / weight) / (1 - 0.208))


def test_glue_slips_never() -> None:
    assert replace(FOOTING, friction=2.0).most_thrust(SETUP.load)[1] == "front wheel"


@table(
    ("call", "message"),
    [
        (lambda: replace(FOOTING, friction=0.0), "friction"),
        (lambda: replace(FOOTING, driven_share=1.0), "share"),
        (lambda: PowerCurve(((1000.0, 5.0),)), "two points"),
        (lambda: PowerCurve(((1000.0, 5.0), (1000.0, 6.0))), "1000.0 comes after 1000.0"),
        (lambda: PowerCurve(((2000.0, 5.0), (1000.0, 6.0))), "rise"),
        (lambda: PowerCurve(((0.0, 0.0), (1000.0, 6.0))), "over 0, not 0.0"),
        (lambda: PowerCurve(((500.0, -1.0), (1000.0, 6.0))), "not -1.0 at 500.0 rpm"),
        (lambda: PowerCurve(((500.0, 0.0), (1000.0, 0.0))), "some power"),
        (lambda: PowerCurve(((500.0, nan), (1000.0, 1.0))), "0 W or more"),
        (lambda: CURVE.scaled(0.0), "factors"),
        (lambda: CURVE.scaled(1.0, -1.0), "factors"),
        (lambda: default_curve(0.0, 7000.0), "peak power is over 0"),
        (lambda: default_curve(1.0, 0.0), "peak-power rpm"),
        (lambda: Driveline(0.8, 2.4, 6000.0, 3000.0, 0.8), "low ratio is the larger"),
        (lambda: Driveline(2.4, 0.0, 6000.0, 3000.0, 0.8), "low ratio is the larger"),
        (lambda: Driveline(2.4, 0.8, 6000.0, -1.0, 0.8), "engages"),
        (lambda: Driveline(2.4, 0.8, 2999.0, 3000.0, 0.8), "at or above"),
        (lambda: Driveline(2.4, 0.8, 0.0, 0.0, 0.8), "at or above"),
        (lambda: Driveline(2.4, 0.8, 6000.0, 3000.0, 0.0), "efficiency"),
        (lambda: Driveline(2.4, 0.8, 6000.0, 3000.0, 1.01), "efficiency"),
        (lambda: replace(SETUP, rev_limit_rpm=0.0), "rev limit"),
        (lambda: replace(SETUP, rotating_kg=-1.0), "rotating"),
        (lambda: replace(SETUP, engine_inertia_kg_m2=-1.0), "inertia"),
        (lambda: thrust_n(SETUP, 0.0, 1.0), "metres per turn"),
        (lambda: breakpoints(SETUP, -1.0), "metres per turn"),
        (lambda: speed_at(SETUP, nan, 1.0), "metres per turn"),
        (lambda: top_speed(SETUP, inf), "metres per turn"),
        (lambda: Condition(nan), "finite"),
        (lambda: Condition(0.0, inf), "finite"),
    ],
)
def test_nonsense_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()


def test_edges_are_within() -> None:
    assert Driveline(2.4, 0.8, 3000.0, 3000.0, 1.0).efficiency == 1
    assert replace(SETUP, rotating_kg=12.0).rolling_mass_kg == 162
