"""Closed forms of simple cases, the energy balance, and what each answer must mean."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import acosh, atanh, exp, inf, log, pi

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fitcheck.kernel.road.acceleration import run
from fitcheck.kernel.road.balance import FLAT, HEADWIND_20, TAILWIND_20, UP_5, Condition, top_speed
from fitcheck.kernel.road.driveline import Driveline, Setup, engine_rpm, ratio_at, thrust_n
from fitcheck.kernel.road.engine import PowerCurve
from fitcheck.kernel.road.load import RoadLoad
from tests.kernel.road.single_path import (
    breakpoints,
    held_top_speed,
    performance,
    time_to_distance,
    time_to_share,
    time_to_speed,
)

# With 1 m a turn and a ratio of 1, rpm / 60 are m/s.


def pusher(thrust: float, load: RoadLoad, highest_m_s: float, rotating_kg: float = 0.0) -> Setup:
    """Constant thrust up to a speed: a clutch that slips up to the rev limit."""
    rpm = 60 * highest_m_s
    curve = PowerCurve(((rpm / 2, thrust * highest_m_s / 2), (rpm, thrust * highest_m_s)))
    return Setup(curve, Driveline(1.0, 1.0, 0.0, rpm, 1.0), rpm, load, rotating_kg)


def shifter(watts: float, load: RoadLoad, low_m_s: float, high_m_s: float) -> Setup:
    """Constant power between two speeds: a variator that runs out from one to the other."""
    rpm = 60 * high_m_s
    curve = PowerCurve(((rpm / 2, watts / 2), (rpm, watts)))
    return Setup(curve, Driveline(high_m_s / low_m_s, 1.0, rpm, rpm, 1.0), rpm, load)


@given(
    thrust=st.floats(100, 900),
    rolling=st.floats(0, 90),
    mass=st.floats(80, 400),
    rotating=st.floats(0, 40),
    share=st.floats(0.01, 1),
)
def test_constant_thrust_without_drag(thrust, rolling, mass, rotating, share) -> None:
    """V = a t, x = v² / (2 a) with a = (F - R) / (m + rotating), up to and past the rev limit."""
    setup = pusher(thrust, RoadLoad(rolling, 0.0, mass), 20.0, rotating)
    pull = (thrust - rolling) / (mass + rotating)
    speed = 20 * share
    assert time_to_speed(setup, 1.0, speed) == pytest.approx(speed / pull, rel=1e-9)
    distance = speed**2 / (2 * pull)
    assert time_to_distance(setup, 1.0, distance) == pytest.approx(speed / pull, rel=1e-9)
    top = top_speed(setup, 1.0)
    assert (top.limit, top.speed_m_s) == ("revs", pytest.approx(20))
    beyond = 20 / pull + 50 / 20  # 50 m more at the rev limit
    assert time_to_distance(setup, 1.0, 200 / pull + 50) == pytest.approx(beyond, rel=1e-9)


@given(
    thrust=st.floats(100, 900),
    drag=st.floats(0.1, 0.8),
    mass=st.floats(80, 400),
    share=st.floats(0.01, 0.9999),
)
def test_constant_thrust_against_drag(thrust, drag, mass, share) -> None:
    """V = v* tanh(t / T), v*² = F / c, T = m v* / F; x = (m / c) ln cosh(t / T)."""
    balance = (thrust / drag) ** 0.5
    setup = pusher(thrust, RoadLoad(0.0, drag, mass), 1.5 * balance)
    top = top_speed(setup, 1.0)
    assert top.speed_m_s == pytest.approx(balance, rel=1e-12)
    assert top.limit == "power"
    constant = mass * balance / thrust
    seconds = constant * atanh(share)
    assert time_to_share(setup, 1.0, share) == pytest.approx(seconds, rel=1e-8)
    for metres in (1.0, 200.0, 2e3):
        # acosh(exp(y)) for large y is y + ln 2
        y = drag * metres / mass
        folds = acosh(exp(y)) if y < 300 else y + log(2)
        assert time_to_distance(setup, 1.0, metres) == pytest.approx(constant * folds, rel=1e-8)


def test_long_after_the_top_speed_is_reached() -> None:
    """A million times the distance it takes to get there: x = v* (t - T ln 2)."""
    setup = pusher(400.0, RoadLoad(0.0, 0.4, 100.0), 40.0)
    balance, constant = 1000**0.5, 100 * 1000**0.5 / 400
    metres = 1e8
    expected = metres / balance + constant * log(2)
    assert time_to_distance(setup, 1.0, metres) == pytest.approx(expected, rel=1e-12)


@given(watts=st.floats(500, 9000), mass=st.floats(80, 400), share=st.floats(0.01, 1))
def test_constant_power_without_drag(watts, mass, share) -> None:
    """T = m (v² - u²) / (2 P) and x = m (v³ - u³) / (3 P) from u to v."""
    setup = shifter(watts, RoadLoad(0.0, 0.0, mass), 5.0, 25.0)
    speed = 5 + share * 20
    slipping = time_to_speed(setup, 1.0, 5.0)
    assert slipping == pytest.approx(mass * 25 / watts, rel=1e-9)  # constant thrust P / u before
    seconds = slipping + mass * (speed**2 - 25) / (2 * watts)
    assert time_to_speed(setup, 1.0, speed) == pytest.approx(seconds, rel=1e-9)
    metres = mass * 125 / (2 * watts) + mass * (speed**3 - 125) / (3 * watts)
    assert time_to_distance(setup, 1.0, metres) == pytest.approx(seconds, rel=1e-9)


@given(watts=st.floats(500, 9000), drag=st.floats(0.1, 0.8), share=st.floats(0.5, 0.9999))
def test_constant_power_against_drag(watts, drag, share) -> None:
    """V*³ = P / c; distance from u to v is (m / 3 c) ln((v*³ - u³) / (v*³ - v³))."""
    balance = (watts / drag) ** (1 / 3)
    mass, low = 150.0, balance / 4
    setup = shifter(watts, RoadLoad(0.0, drag, mass), low, 2 * balance)
    top = top_speed(setup, 1.0)
    assert top.speed_m_s == pytest.approx(balance, rel=1e-12)
    assert top.limit == "power"
    assert top.rpm == pytest.approx(120 * balance)
    assert top.ratio == pytest.approx(2)
    speed = share * balance
    thrust = watts / low
    constant = mass / (thrust * drag) ** 0.5
    ahead = mass / (2 * drag) * log(thrust / (thrust - drag * low**2))
    assert time_to_speed(setup, 1.0, low) == pytest.approx(
        constant * atanh(low / (thrust / drag) ** 0.5), rel=1e-8
    )
    metres = ahead + mass / (3 * drag) * log((balance**3 - low**3) / (balance**3 - speed**3))
    assert time_to_distance(setup, 1.0, metres) == pytest.approx(
        time_to_speed(setup, 1.0, speed), rel=1e-8
    )


@given(data=st.data(), condition=st.sampled_from([FLAT, HEADWIND_20, UP_5, TAILWIND_20]))
def test_work_of_the_net_force_is_kinetic_energy(data, condition, setups, gearings) -> None:
    """Trapezia over the points of a run: both its distances and its times have to be right."""
    setup, metres = data.draw(setups), data.draw(gearings)
    top = top_speed(setup, metres, condition)
    assume(top.limit != "start")
    setup = replace(setup, engine_inertia_kg_m2=0.0)
    found = run(setup, metres, n=801, condition=condition, share=0.9)
    mass = setup.load.mass_kg + setup.rotating_kg

    def net(speed: float) -> float:
        load = setup.load.force(speed, condition.gradient, condition.headwind_m_s)
        return thrust_n(setup, metres, speed) - load

    assume(min(map(net, found.speed_m_s)) > 0.02 * max(map(net, found.speed_m_s)))
    points = list(zip(found.time_s, found.speed_m_s, found.distance_m, strict=True))
    work = impulse = 0.0
    for (time, speed, distance), (later, faster, further) in pairwise(points):
        force = (net(speed) + net(faster)) / 2
        work += force * (further - distance)
        impulse += force * (later - time)
    speed = found.speed_m_s[-1]
    assert work == pytest.approx(mass * speed**2 / 2, rel=2e-3)
    assert impulse == pytest.approx(mass * speed, rel=2e-3)


def test_energy_of_a_scooter_to_seven_digits(scooter) -> None:
    """Simpson's rule over each smooth stretch of a fine run."""
    scooter = replace(scooter, engine_inertia_kg_m2=0.0)
    found = run(scooter, 0.1, n=20_001, share=0.95)
    mass = scooter.load.mass_kg + scooter.rotating_kg
    work = 0.0
    for (speed, distance), (faster, further) in pairwise(
        zip(found.speed_m_s, found.distance_m, strict=True)
    ):
        middle = (speed + faster) / 2
        net = thrust_n(scooter, 0.1, middle) - scooter.load.force(middle)
        work += net * (further - distance)
    assert work == pytest.approx(mass * found.speed_m_s[-1] ** 2 / 2, rel=1e-7)


@given(data=st.data(), condition=st.sampled_from([FLAT, HEADWIND_20, UP_5, TAILWIND_20]))
def test_what_a_limit_says(data, condition, setups, gearings) -> None:
    """A taller gear is faster where "ratio" limits and nowhere else; "revs" has power left over."""
    setup, metres = data.draw(setups), data.draw(gearings)
    found = top_speed(setup, metres, condition)
    peak = setup.curve.peak[0]
    line = setup.driveline
    if found.limit == "start":
        low = setup.driveline.low_ratio
        assert (found.speed_m_s, found.rpm, found.ratio) == (0, line.engage_rpm, low)
        return
    assert found.speed_m_s > 0
    assert found.rpm == engine_rpm(setup, metres, found.speed_m_s)
    assert found.ratio == ratio_at(setup, metres, found.speed_m_s)
    load = setup.load.force(found.speed_m_s, condition.gradient, condition.headwind_m_s)
    thrust = thrust_n(setup, metres, found.speed_m_s)
    if found.limit == "revs":
        assert found.speed_m_s == breakpoints(setup, metres)[-1]
        assert thrust > load
        taller = top_speed(setup, metres * 1.0001, condition)
        assert taller.speed_m_s >= found.speed_m_s * (1 - 1e-9)
        return
    assert thrust == pytest.approx(load, abs=1e-9 * (thrust + abs(load)))
    if found.limit == "ratio":
        assert found.rpm > peak
        assert found.ratio == line.high_ratio
    elif found.rpm > peak * 1.001:
        # Held there by the clutch or by the variator, whatever the gear.
        closed = line.engage_rpm if line.fixed else line.shift_rpm
        assert found.rpm <= closed * (1 + 1e-9)


@pytest.mark.parametrize(
    ("metres", "limit"),
    [(0.03, "revs"), (0.1, "ratio"), (0.14, "power"), (4.0, "start")],
)
def test_a_taller_gear_is_faster_only_where_the_limit_says_so(scooter, metres, limit) -> None:
    found, taller = top_speed(scooter, metres), top_speed(scooter, metres * 1.02)
    assert found.limit == limit
    if limit in ("revs", "ratio"):
        assert taller.speed_m_s > found.speed_m_s * 1.001
    else:
        assert taller.speed_m_s <= found.speed_m_s * (1 + 1e-12)


def test_fixed_ratio_balanced_under_and_past_its_peak(scooter) -> None:
    """One ratio is always the top one; the same machine, geared tall and short."""
    setup = replace(scooter, driveline=Driveline(1.0, 1.0, 0.0, 3000.0, 0.75))
    tall, short = top_speed(setup, 0.18), top_speed(setup, 0.12)
    assert (tall.limit, short.limit) == ("power", "ratio")
    assert tall.rpm < 7000 < short.rpm


def test_variator_out_and_past_its_shift_but_short_of_the_peak(scooter) -> None:
    """Balanced in the top ratio under the peak-power rpm: no taller gear would help."""
    line = replace(scooter.driveline, shift_rpm=5000.0, engage_rpm=3500.0)
    found = top_speed(replace(scooter, driveline=line), 0.16)
    assert found.ratio == 0.85
    assert 5000 < found.rpm < 7000
    assert found.limit == "power"


def test_dip_reached_and_dip_held(dipped) -> None:
    reached, held = top_speed(dipped, 1.0), held_top_speed(dipped, 1.0)
    assert reached.speed_m_s == pytest.approx(90 / 7, rel=1e-12)
    assert (reached.limit, held.limit) == ("power", "ratio")
    assert held.speed_m_s == pytest.approx(70 / 3, rel=1e-12)
    assert time_to_speed(dipped, 1.0, 20.0) == inf


def test_held_where_it_cannot_start() -> None:
    """Too little at standstill, enough at speed: it holds what it is pushed to."""
    curve = PowerCurve(((60.0, 50.0), (1200.0, 4000.0), (1800.0, 1000.0)))
    setup = Setup(curve, Driveline(1.0, 1.0, 0.0, 60.0, 1.0), 1800.0, RoadLoad(80.0, 0.0, 150.0))
    assert top_speed(setup, 1.0).limit == "start"
    held = held_top_speed(setup, 1.0)
    # 4000 - 300 (v - 20) = 80 v
    assert held.speed_m_s == pytest.approx(10_000 / 380, rel=1e-12)
    assert held.limit == "ratio"
    assert time_to_speed(setup, 1.0, 1.0) == inf
    assert time_to_distance(setup, 1.0, 1.0) == inf
    assert time_to_share(setup, 1.0) == inf
    assert run(setup, 1.0) == run(setup, 1.0, n=2)
    assert run(setup, 1.0).time_s == (0.0,)


def test_held_at_the_rev_limit_beyond_a_dip(dipped) -> None:
    setup = replace(dipped, rev_limit_rpm=1200.0)
    held = held_top_speed(setup, 1.0)
    assert (held.speed_m_s, held.limit) == (pytest.approx(20), "revs")
    assert top_speed(setup, 1.0).speed_m_s == pytest.approx(90 / 7)


def test_held_nowhere(scooter) -> None:
    heavy = replace(scooter, load=RoadLoad(4000.0, 0.3, 200.0))
    assert held_top_speed(heavy, 0.1) == top_speed(heavy, 0.1)
    assert held_top_speed(heavy, 0.1).limit == "start"
    dead = replace(scooter, rev_limit_rpm=3000.0)
    assert held_top_speed(dead, 0.1).limit == top_speed(dead, 0.1).limit == "start"


def test_a_hairs_breadth_is_no_start() -> None:
    """Thrust must exceed the load at standstill by more than a millionth."""
    for share, limit in ((1 - 2e-6, "revs"), (1 - 0.5e-6, "start"), (1.0, "start")):
        assert top_speed(pusher(100.0, RoadLoad(100 * share, 0.0, 150.0), 20.0), 1.0).limit == limit


def test_wind_against_it_at_standstill() -> None:
    setup = pusher(100.0, RoadLoad(20.0, 0.8, 150.0), 20.0)
    assert top_speed(setup, 1.0, Condition(headwind_m_s=10.1)).limit == "start"
    assert top_speed(setup, 1.0, Condition(headwind_m_s=9.9)).limit == "power"
    pushed = pusher(10.0, RoadLoad(20.0, 0.8, 150.0), 20.0)
    assert top_speed(pushed, 1.0).limit == "start"
    helped = top_speed(pushed, 1.0, Condition(headwind_m_s=-10.0))
    # 10 + 0.8 (10 - v)² = 20
    assert helped.speed_m_s == pytest.approx(10 - 12.5**0.5, rel=1e-12)


def test_a_top_speed_is_reached_at_the_rev_limit_and_only_approached_in_a_balance(scooter) -> None:
    cap = top_speed(scooter, 0.05)
    assert cap.limit == "revs"
    assert 0 < time_to_speed(scooter, 0.05, cap.speed_m_s) < 60
    assert time_to_speed(scooter, 0.05, cap.speed_m_s * (1 + 1e-12)) == inf
    balance = top_speed(scooter, 0.1)
    assert balance.limit == "ratio"
    assert time_to_speed(scooter, 0.1, balance.speed_m_s) == inf
    assert time_to_speed(scooter, 0.1, balance.speed_m_s * (1 - 1e-12)) < 600
    assert time_to_speed(scooter, 0.1, 0.0) == 0
    assert time_to_distance(scooter, 0.1, 0.0) == 0


def test_performance_is_its_parts(scooter) -> None:
    found = performance(scooter, 0.1)
    assert found.metres_per_second_per_1000rpm == pytest.approx(1000 / 60 * 0.1 / 0.85)
    assert found.paper_top_m_s == pytest.approx(7000 / 60 * 0.1 / 0.85)
    for name, condition in (
        ("flat", FLAT),
        ("headwind", HEADWIND_20),
        ("uphill", UP_5),
        ("tailwind", TAILWIND_20),
    ):
        assert getattr(found, name) == top_speed(scooter, 0.1, condition)
    assert found.start_force_n == thrust_n(scooter, 0.1, 0.0)
    for name, kmh in (("time_30_s", 30), ("time_45_s", 45), ("time_60_s", 60)):
        assert getattr(found, name) == pytest.approx(
            time_to_speed(scooter, 0.1, kmh / 3.6), rel=1e-9
        )
    assert found.time_200_m_s == time_to_distance(scooter, 0.1, 200.0)
    assert found.time_95_s == pytest.approx(time_to_share(scooter, 0.1, 0.95), rel=1e-9)


def test_conditions_are_what_they_are_called() -> None:
    assert (FLAT.gradient, FLAT.headwind_m_s) == (0, 0)
    assert (HEADWIND_20.gradient, HEADWIND_20.headwind_m_s * 3.6) == (0, pytest.approx(20))
    assert (TAILWIND_20.gradient, TAILWIND_20.headwind_m_s * 3.6) == (0, pytest.approx(-20))
    assert (UP_5.gradient, UP_5.headwind_m_s) == (0.05, 0)


def test_thrust_from_torque_by_hand(scooter) -> None:
    """Torque at the clutch's 4,000 rpm through 2.8 and 0.1 m a turn, 75 % of it."""
    x = 4000 / 7000
    torque = 3000 * (x + x**2 - x**3) / (4000 * pi / 30)
    expected = 0.75 * torque * 2.8 * 2 * pi / 0.1
    assert performance(scooter, 0.1).start_force_n == pytest.approx(expected, rel=4e-4)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda setup: time_to_share(setup, 0.1, 1.0), "share"),
        (lambda setup: time_to_share(setup, 0.1, 0.0), "share"),
        (lambda setup: run(setup, 0.1, n=1), "two points"),
        (lambda setup: run(setup, 0.1, share=1.0), "share"),
        (lambda setup: run(setup, 0.1, share=0.0), "share"),
        (lambda setup: performance(setup, 0.0), "metres per turn"),
        (lambda setup: held_top_speed(setup, 0.0), "metres per turn"),
    ],
)
def test_nonsense_is_refused(scooter, call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call(scooter)
