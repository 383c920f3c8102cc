"""Root finder and integrator against scipy, which knows neither breakpoints nor cubics.

scipy gets thrust and load by their formulae alone; our way goes over pieces of wheel power.
Balances agree within 1e-12, times within 1e-8, both relative; most of the latter is scipy's own.
"""

from __future__ import annotations

from math import inf, log, pi

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from fitcheck.kernel.road.acceleration import integrate_pair, legendre_rule, run
from fitcheck.kernel.road.balance import FLAT, HEADWIND_20, TAILWIND_20, UP_5, Condition, top_speed
from fitcheck.kernel.road.driveline import Setup, engine_rpm, thrust_n
from tests.conftest import EXPLORE, some
from tests.kernel.road.single_path import (
    breakpoints,
    held_top_speed,
    time_to_distance,
    time_to_share,
    time_to_speed,
)


def surplus(setup: Setup, metres: float, condition: Condition, speed: float) -> float:
    load = setup.load.force(speed, condition.gradient, condition.headwind_m_s)
    return thrust_n(setup, metres, speed) - load


def crossings(setup: Setup, metres: float, condition: Condition) -> list[tuple[float, float]]:
    """(balance, surplus just before it) on a fine grid, by brentq."""
    cap = breakpoints(setup, metres)[-1] * (1 - 1e-13)
    grid = np.unique(np.append(np.linspace(0, cap, 1200), breakpoints(setup, metres)[:-1]))
    values = [surplus(setup, metres, condition, float(speed)) for speed in grid]
    found = []
    for place in range(len(grid) - 1):
        if values[place] * values[place + 1] < 0:
            root = brentq(
                lambda speed: surplus(setup, metres, condition, speed),
                grid[place],
                grid[place + 1],
                xtol=1e-15,
                rtol=4 * np.finfo(float).eps,
            )
            found.append((float(root), values[place]))
    return found


@settings(max_examples=60 if EXPLORE else 30)
@given(data=st.data(), condition=st.sampled_from([FLAT, HEADWIND_20, UP_5, TAILWIND_20]))
def test_balances_against_brentq(data, condition, setups, gearings) -> None:
    setup, metres = data.draw(setups), data.draw(gearings)
    assume(len(breakpoints(setup, metres)) > 1)
    start = surplus(setup, metres, condition, 0.0)
    assume(abs(start) > 1e-3)
    found = crossings(setup, metres, condition)
    reached, held = top_speed(setup, metres, condition), held_top_speed(setup, metres, condition)
    cap = breakpoints(setup, metres)[-1]
    if start < 0:
        assert (reached.limit, reached.speed_m_s) == ("start", 0)
    elif not found:
        assert reached.limit == "revs"
        assert reached.speed_m_s == pytest.approx(cap, rel=1e-12)
    else:
        assert reached.limit in ("power", "ratio")
        assert reached.speed_m_s == pytest.approx(found[0][0], rel=1e-12)
    if surplus(setup, metres, condition, cap * (1 - 1e-12)) > 0:
        assert held.limit == "revs"
        assert held.speed_m_s == pytest.approx(cap, rel=1e-12)
    elif found:
        assert held.speed_m_s == pytest.approx(found[-1][0], rel=1e-12)
        assert found[-1][1] > 0  # thrust falls short beyond it
    else:
        assert (held.limit, held.speed_m_s) == ("start", 0)
    assert held.speed_m_s >= reached.speed_m_s * (1 - 1e-12)


def test_dip_against_brentq(dipped) -> None:
    found = [root for root, _ in crossings(dipped, 1.0, FLAT)]
    assert found == pytest.approx([90 / 7, 180 / 11, 70 / 3], rel=1e-12)
    assert top_speed(dipped, 1.0).speed_m_s == pytest.approx(found[0], rel=1e-12)
    assert held_top_speed(dipped, 1.0).speed_m_s == pytest.approx(found[2], rel=1e-12)


def accelerated(setup: Setup, metres: float, speed: float) -> float:
    """Mass with all that turns, kg: the engine counts where its speed rises with the road's."""
    step = 1e-6 * speed
    slow, fast = (engine_rpm(setup, metres, speed + side * step) for side in (-1, 1))
    gain = (fast - slow) / (2 * step) * pi / 30  # rad/s of the engine a m/s
    engine = setup.driveline.efficiency * setup.engine_inertia_kg_m2 * gain**2
    return setup.load.mass_kg + setup.rotating_kg + engine


def ridden(setup: Setup, metres: float, condition: Condition, upto: float) -> tuple[float, float]:
    """(s, m) from standstill to a speed, by an explicit Runge-Kutta method of order 8.

    It runs over speed, not time, and anew from every breakpoint.
    """
    ends = [speed for speed in breakpoints(setup, metres) if speed < upto]
    if condition.headwind_m_s < 0:
        ends = sorted({*ends, min(-condition.headwind_m_s, upto)})
    state = [0.0, 0.0]
    for low, high in zip(ends, [*ends[1:], upto], strict=True):
        mass = accelerated(setup, metres, (low + high) / 2)
        solution = solve_ivp(
            lambda speed, _, mass=mass: [
                mass / surplus(setup, metres, condition, speed),
                mass * speed / surplus(setup, metres, condition, speed),
            ],
            (low, high),
            state,
            method="DOP853",
            rtol=1e-11,
            atol=1e-12,
        )
        state = list(solution.y[:, -1])
    return state[0], state[1]


@settings(max_examples=40 if EXPLORE else 25)
@given(
    data=st.data(),
    share=st.floats(0.05, 0.97),
    condition=st.sampled_from([FLAT, HEADWIND_20, UP_5, TAILWIND_20]),
)
def test_times_against_runge_kutta(data, share, condition, setups, gearings) -> None:
    setup, metres = data.draw(setups), data.draw(gearings)
    top = top_speed(setup, metres, condition)
    assume(top.limit != "start")
    speed = share * top.speed_m_s
    # A start by a hair takes hours, and digits with it.
    assume(surplus(setup, metres, condition, 0.0) > 0.01 * setup.load.constant_n)
    seconds, distance = ridden(setup, metres, condition, speed)
    assume(seconds < 3600)
    assert time_to_speed(setup, metres, speed, condition) == pytest.approx(seconds, rel=1e-8)
    assert time_to_share(setup, metres, share, condition) == pytest.approx(seconds, rel=1e-8)
    assert time_to_distance(setup, metres, distance, condition) == pytest.approx(seconds, rel=1e-8)


@pytest.mark.parametrize("metres", some([0.08, 0.05, 0.14, 0.11, 0.3], 2))
def test_scooter_over_time_against_runge_kutta(scooter, metres: float) -> None:
    """In time itself, with events: speeds and a distance at once."""
    cap = breakpoints(scooter, metres)[-1]

    def slope(_: float, state: np.ndarray) -> list[float]:
        speed = max(0.0, min(float(state[0]), cap))
        mass = accelerated(scooter, metres, max(speed, 1e-3))
        return [surplus(scooter, metres, FLAT, speed) / mass if state[0] < cap else 0.0, speed]

    def event(index: int, value: float):
        return lambda _, state: state[index] - value

    speeds = [30 / 3.6, 45 / 3.6, 60 / 3.6]
    solution = solve_ivp(
        slope,
        (0, 120),
        [0.0, 0.0],
        method="LSODA",
        events=[*(event(0, speed) for speed in speeds), event(1, 200.0)],
        rtol=1e-10,
        atol=1e-10,
        max_step=0.02,
    )
    for speed, hit in zip(speeds, solution.t_events, strict=False):
        expected = hit[0] if len(hit) else inf
        assert time_to_speed(scooter, metres, speed) == pytest.approx(expected, rel=1e-6)
    hit = solution.t_events[-1][0]
    assert time_to_distance(scooter, metres, 200.0) == pytest.approx(hit, rel=1e-6)


def test_run_against_runge_kutta(scooter) -> None:
    found = run(scooter, 0.1, n=7)
    assert len(found.time_s) == len(found.speed_m_s) == len(found.distance_m) == 7
    assert found.time_s[0] == found.speed_m_s[0] == found.distance_m[0] == 0
    top = top_speed(scooter, 0.1).speed_m_s
    assert found.speed_m_s == pytest.approx([0.99 * top * step / 6 for step in range(7)])
    for time, speed, distance in zip(
        found.time_s[1:], found.speed_m_s[1:], found.distance_m[1:], strict=True
    ):
        assert (time, distance) == pytest.approx(ridden(scooter, 0.1, FLAT, speed), rel=1e-8)


@pytest.mark.parametrize("points", [1, 2, 5, 8, 20])
def test_rule_against_numpy(points: int) -> None:
    nodes, weights = np.polynomial.legendre.leggauss(points)
    rule = sorted(legendre_rule(points))
    assert [node for node, _ in rule] == pytest.approx(nodes, abs=2e-16 * 4)
    assert [weight for _, weight in rule] == pytest.approx(weights, rel=1e-14)


def test_integrator_next_to_a_pole() -> None:
    """∫ 1/(1-x) from 0 to 1 - 1e-9 is 9 ln 10; ∫ 1/(1-x)² is 1e9 - 1."""
    found = integrate_pair(lambda x: (1 / (1 - x), 1 / (1 - x) ** 2), 0.0, 1 - 1e-9)
    assert found == pytest.approx((9 * log(10), 1e9 - 1), rel=1e-7)  # 1 - 1e-9 itself is rounded
    apart = integrate_pair(lambda x: (1 / (1.001 - x), 1 / (1.001 - x) ** 2), 0.0, 1.0)
    assert apart == pytest.approx((log(1001), 1000 - 1 / 1.001), rel=1e-12)


def test_integrator_over_a_narrow_peak() -> None:
    """∫ 1/(x² + e²) from -1 to 2, e = 1e-4, as over a near miss of thrust and load."""
    narrow = 1e-4
    exact = quad(
        lambda x: 1 / (x * x + narrow**2), -1, 2, points=[-1e-3, 0, 1e-3], epsrel=1e-12, limit=500
    )[0]
    assert exact == pytest.approx(pi / narrow - 1 - 0.5, rel=1e-7)
    found = integrate_pair(lambda x: (1 / (x * x + narrow**2), 1.0), -1.0, 2.0)
    assert found == pytest.approx((exact, 3.0), rel=1e-11)


def test_integrator_on_nothing_and_on_noise() -> None:
    assert integrate_pair(lambda x: (x, x), 1.0, 1.0) == (0, 0)
    assert integrate_pair(lambda x: (x, x), 1.0, 0.5) == (0, 0)
    calls = 0

    def noise(x: float) -> tuple[float, float]:
        nonlocal calls
        calls += 1
        return 1 + (hash(x) % 1000) / 1000, 1.0

    found = integrate_pair(noise, 0.0, 1.0)
    assert calls < 200_000  # it gives up rather than halve for ever
    assert 1.4 < found[0] < 1.6
    assert found[1] == pytest.approx(1)
