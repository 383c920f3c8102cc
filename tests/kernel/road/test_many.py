"""Many gearings at once held to the single path, figure by figure."""

from __future__ import annotations

from dataclasses import fields, replace
from math import inf, isinf, isnan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.kernel.road.balance import FLAT, TAILWIND_20, Condition, TopSpeed, top_speed
from fitcheck.kernel.road.driveline import Driveline, Setup, thrust_n
from fitcheck.kernel.road.engine import PowerCurve
from fitcheck.kernel.road.load import RoadLoad
from fitcheck.kernel.road.many import LIMITS, Many, TopSpeeds, many, top_speeds
from tests.kernel.road.single_path import performance

TOLERANCE = 1e-6


def apart(one: float, other: float) -> float:
    """Relative difference; infinite where only one is finite or a number."""
    if one == other:
        return 0.0
    if isinf(one) or isinf(other) or isnan(one) or isnan(other):
        return inf
    return abs(one - other) / max(abs(one), abs(other))


def top_differs(single: TopSpeed, found: TopSpeeds, place: int) -> dict[str, float]:
    differences = {
        name: apart(getattr(single, name), float(getattr(found, name)[place]))
        for name in ("speed_m_s", "rpm", "ratio")
    }
    differences["limit"] = 0.0 if LIMITS[found.limit[place]] == single.limit else inf
    return differences


def differences(setup: Setup, gearing: list[float]) -> dict[str, float]:
    """The greatest relative difference of every figure."""
    found = many(setup, np.array(gearing))
    worst: dict[str, float] = {}
    for place, metres in enumerate(gearing):
        single = performance(setup, metres)
        for field in fields(single):
            one, other = getattr(single, field.name), getattr(found, field.name)
            if isinstance(one, TopSpeed):
                each = top_differs(one, other, place)
                these = {f"{field.name}.{name}": value for name, value in each.items()}
            else:
                these = {field.name: apart(one, float(other[place]))}
            for name, value in these.items():
                worst[name] = max(worst.get(name, 0.0), value)
    return worst


def held(setup: Setup, gearing: list[float], tolerance: float = TOLERANCE) -> None:
    worst = differences(setup, gearing)
    assert len(worst) == 25  # nine figures, and four balances of four each
    assert {name: value for name, value in worst.items() if value > tolerance} == {}


@settings(max_examples=4 * settings().max_examples)
@given(data=st.data())
def test_random_machines(data, setups, gearings) -> None:
    setup = data.draw(setups)
    held(setup, data.draw(st.lists(gearings, min_size=1, max_size=4)))


@settings(max_examples=4 * settings().max_examples)
@given(data=st.data(), wind=st.floats(-25, 25), gradient=st.floats(-0.1, 0.25))
def test_random_conditions(data, wind: float, gradient: float, setups, gearings) -> None:
    setup, metres = data.draw(setups), data.draw(gearings)
    condition = Condition(gradient, wind)
    worst = top_differs(
        top_speed(setup, metres, condition), top_speeds(setup, np.array([metres]), condition), 0
    )
    assert max(worst.values()) <= TOLERANCE, worst


def test_every_limit_over_the_gearings_of_one_machine(scooter) -> None:
    gearing = [0.03 * 1.07**step for step in range(70)]
    held(scooter, gearing, 1e-10)
    found = many(scooter, np.array(gearing))
    assert {LIMITS[code] for code in found.flat.limit} == {"start", "power", "ratio", "revs"}


def test_fixed_ratio(scooter) -> None:
    line = Driveline(1.2, 1.2, shift_rpm=0.0, engage_rpm=3500.0, efficiency=0.8)
    setup = replace(scooter, driveline=line)
    gearing = [0.05, 0.1, 0.15, 0.2, 0.3]
    held(setup, gearing)
    assert set(many(setup, np.array(gearing)).flat.ratio) == {1.2}


def test_cannot_start(scooter) -> None:
    heavy = replace(scooter, load=RoadLoad(5000.0, 0.3, 200.0))
    held(heavy, [0.1, 0.2])
    found = many(heavy, np.array([0.1]))
    assert LIMITS[found.flat.limit[0]] == "start"
    assert found.flat.speed_m_s[0] == 0
    assert found.time_200_m_s[0] == found.time_95_s[0] == found.time_30_s[0] == inf


def test_clutch_that_never_engages(scooter) -> None:
    """It engages above the rev limit, so there is no thrust at all."""
    line = Driveline(2.8, 0.85, shift_rpm=9500.0, engage_rpm=9500.0, efficiency=0.75)
    setup = replace(scooter, driveline=line)
    held(setup, [0.1])
    found = many(setup, np.array([0.1, 0.2]))
    assert list(found.flat.limit) == [LIMITS.index("start")] * 2
    assert list(found.start_force_n) == [0.0, 0.0]


def test_rev_limited_while_still_in_the_low_ratio(scooter) -> None:
    setup = replace(scooter, rev_limit_rpm=6000.0)
    held(setup, [0.05, 0.1])
    found = many(setup, np.array([0.1]))
    assert LIMITS[found.flat.limit[0]] == "revs"
    assert found.flat.rpm[0] == pytest.approx(6000)
    assert found.flat.ratio[0] == 2.8


def test_dip_with_two_balances(dipped) -> None:
    """The lower balance is the one reached: 1200 - 60 (v - 10) = 80 v gives v = 90/7."""
    held(dipped, [1.0, 0.9, 1.1])
    assert many(dipped, np.array([1.0])).flat.speed_m_s[0] == pytest.approx(90 / 7, rel=1e-12)


def test_near_miss(dipped) -> None:
    """Thrust falls to 60 N at 15 m/s, a hair over the load: the pieces have to be cut there."""
    setup = replace(dipped, load=RoadLoad(60 - 1e-7, 0.0, 150.0))
    held(setup, [1.0], 1e-9)
    found = many(setup, np.array([1.0]))
    assert found.time_60_s[0] > 150  # alone the last tenth of a m/s below 15 takes over 100 s
    assert np.isfinite(found.time_60_s[0])


def test_dip_that_only_a_tailwind_makes() -> None:
    """Thrust rises with speed while the wind's push fades: between, it falls short.

    Up to 20 km/h the load is 83 N less 6 (5.556 - v)² N; thrust is 120 N - 200 W / v from 2 m/s.
    """
    curve = PowerCurve(((120.0, 40.0), (600.0, 1000.0), (900.0, 900.0)))
    setup = Setup(curve, Driveline(1.0, 1.0, 0.0, 120.0, 1.0), 1000.0, RoadLoad(83.0, 6.0, 100.0))
    surplus = [
        thrust_n(setup, 1.0, speed) - setup.load.force(speed, headwind_m_s=-20 / 3.6)
        for speed in (2.0, 4.8, 5.55)
    ]
    assert surplus[0] > 0
    assert surplus[1] < 0 < surplus[2]
    held(setup, [1.0])
    found = many(setup, np.array([1.0])).tailwind
    assert 2 < found.speed_m_s[0] < 4.8


def test_no_air_drag(scooter) -> None:
    held(replace(scooter, load=RoadLoad(60.0, 0.0, 180.0)), [0.04, 0.08, 0.2, 0.5])


def test_nothing_asked(scooter) -> None:
    found = many(scooter, np.zeros(0))
    sizes = [len(getattr(found, field.name)) for field in fields(Many) if "time" in field.name]
    assert sizes == [0] * 5
    assert len(found.flat.limit) == len(found.tailwind.speed_m_s) == 0


def test_more_gearings_than_one_block(scooter) -> None:
    """Each gearing gets its own figures wherever it stands."""
    gearing = np.linspace(0.05, 0.3, 600)
    whole = many(scooter, gearing)
    for place in (0, 255, 256, 511, 512, 599):
        alone = many(scooter, gearing[place : place + 1])
        assert whole.flat.speed_m_s[place] == alone.flat.speed_m_s[0]
        assert whole.time_200_m_s[place] == pytest.approx(alone.time_200_m_s[0], rel=1e-12)
        assert whole.uphill.limit[place] == alone.uphill.limit[0]


def test_without_times(scooter) -> None:
    gearing = np.array([0.08, 0.1])
    full, quick = many(scooter, gearing), many(scooter, gearing, times=False)
    for field in fields(Many):
        if "time" in field.name:
            assert np.isnan(getattr(quick, field.name)).all()
            assert np.isfinite(full.time_30_s).all()
        elif field.name.startswith("start"):
            assert (getattr(quick, field.name) == getattr(full, field.name)).all()
    assert (quick.flat.speed_m_s == full.flat.speed_m_s).all()


def test_conditions_are_told_apart(scooter) -> None:
    found = many(scooter, np.array([0.12]))
    speeds = [
        float(getattr(found, name).speed_m_s[0])
        for name in ("uphill", "headwind", "flat", "tailwind")
    ]
    assert speeds == sorted(speeds)
    assert len(set(speeds)) == 4
    tail = top_speeds(scooter, np.array([0.12]), TAILWIND_20)
    assert tail.speed_m_s[0] == found.tailwind.speed_m_s[0]
    assert top_speeds(scooter, np.array([0.12]), FLAT).speed_m_s[0] == speeds[2]


@pytest.mark.parametrize("wrong", [[0.1, 0.0], [-0.1], [float("nan")], [inf]])
def test_wrong_gearings_are_refused(scooter, wrong: list[float]) -> None:
    with pytest.raises(ValueError, match="over 0"):
        many(scooter, np.array(wrong))


def test_gearings_in_a_table_are_refused(scooter) -> None:
    with pytest.raises(ValueError, match="one dimension"):
        many(scooter, np.ones((2, 2)))
