"""Worked examples of textbooks.

Where only a book's inputs were read, the expected answer was worked out from its own formulae and
is marked computed.
"""

from __future__ import annotations

from dataclasses import replace
from math import asin, pi, tan

import pytest

from fitcheck.kernel.road.balance import Condition, top_speed
from fitcheck.kernel.road.driveline import Driveline, Setup, speed_at, start_gradient, thrust_n
from fitcheck.kernel.road.engine import PowerCurve
from fitcheck.kernel.road.load import STANDARD_GRAVITY, RoadLoad, measured_load
from tests.conftest import some
from tests.kernel.road.single_path import held_top_speed, time_to_speed

# Yu Zhisheng, "Automobile Theory" (Tsinghua), problem 1.3, a light truck; inputs read.
MASS, RADIUS, EFFICIENCY, AXLE = 3880.0, 0.367, 0.85, 5.83
METRES = 2 * pi * RADIUS / AXLE
# The book rounds 0.12 pi to 0.377 in u = 0.377 r n / i; its speeds are larger by this factor.
BOOK_SPEED = 0.377 / (0.12 * pi)


def truck_torque(rpm: float) -> float:
    x = rpm / 1000
    return -19.313 + 295.27 * x - 165.44 * x**2 + 40.874 * x**3 - 3.8445 * x**4


# A point every rpm: linear between, power is off by less than 1e-7.
TRUCK_CURVE = PowerCurve(
    tuple((float(rpm), truck_torque(rpm) * rpm * pi / 30) for rpm in range(600, 4001))
)


def truck(
    gear: float,
    gravity: float,
    rotating_kg: float = 0.0,
    engage: float = 600.0,
    air_n: float = 0.0,
) -> Setup:
    # The book's drag is CdA u² / 21.15 N, u its own km/h.
    drag = 2.77 / 21.15 * (3.6 * BOOK_SPEED) ** 2
    load = RoadLoad(0.013 * MASS * gravity + air_n, drag, MASS, gravity)
    line = Driveline(gear, gear, 0.0, engage, EFFICIENCY)
    return Setup(TRUCK_CURVE, line, 4000.0, load, rotating_kg)


def book_kmh(speed_m_s: float) -> float:
    return speed_m_s * 3.6 * BOOK_SPEED


@pytest.mark.parametrize(
    ("gravity", "kmh", "rpm"),
    [
        (10.0, 98.757, 3299.92),  # read
        (9.8, 99.083, 3310.8),  # computed; answer key 99.08 from memory
        (9.80665, 99.0725, 3310.46),  # computed
    ],
)
def test_truck_top_speed_in_fifth(gravity: float, kmh: float, rpm: float) -> None:
    found = top_speed(truck(0.793, gravity), METRES)
    assert book_kmh(found.speed_m_s) == pytest.approx(kmh, abs=6e-4)
    assert found.rpm == pytest.approx(rpm, abs=0.05 if gravity != 10.0 else 0.005)
    assert found.limit == "power"
    assert found.ratio == 0.793


def test_truck_runs_into_its_governor_in_fourth() -> None:
    found = top_speed(truck(1.0, 10.0), METRES)  # computed from the book's inputs
    assert found.limit == "revs"
    assert book_kmh(found.speed_m_s) == pytest.approx(94.93, abs=0.005)
    assert found.rpm == pytest.approx(4000)


@pytest.mark.parametrize(("gravity", "seconds"), some([(9.8, 25.99), (10.0, 26.12)], 1))  # computed
def test_truck_from_second_gear_to_70_kmh(gravity: float, seconds: float) -> None:
    """At full torque from 600 rpm, shifting at 4,000 rpm in no time, each gear with its inertia."""
    speed = 600 / 4000 * speed_at(truck(2.769, gravity), METRES, 4000.0)
    total = 0.0
    for gear in (2.769, 1.644, 1.0):
        wheels = (1.798 + 3.598) / RADIUS**2
        setup = replace(truck(gear, gravity, wheels), engine_inertia_kg_m2=0.218)
        upto = min(70 / 3.6 / BOOK_SPEED, speed_at(setup, METRES, 4000.0))
        total += time_to_speed(setup, METRES, upto) - time_to_speed(setup, METRES, speed)
        speed = upto
    # The book's clock runs on the book's speeds.
    assert total * BOOK_SPEED == pytest.approx(seconds, abs=0.005)


def test_truck_steepest_grade_in_first() -> None:
    """tan(asin((Ft - Ff - Fw) / G)) is most at 2,035 rpm, 0.3522 (computed; key 0.352)."""
    setup = truck(5.56, 9.8)
    grades = {}
    for rpm in range(1500, 2601, 5):
        speed = speed_at(setup, METRES, rpm)
        spare = thrust_n(setup, METRES, speed) - setup.load.force(speed)
        grades[rpm] = tan(asin(spare / (MASS * 9.8)))
    steepest = max(grades, key=grades.__getitem__)
    assert steepest == 2035
    assert grades[steepest] == pytest.approx(0.3522, abs=5e-5)


def test_truck_steepest_grade_from_standstill() -> None:
    """The same with the clutch holding 2,035 rpm and the book's air drag there made constant."""
    speed = speed_at(truck(5.56, 9.8), METRES, 2035.0)
    air = 2.77 / 21.15 * book_kmh(speed) ** 2
    setup = truck(5.56, 9.8, engage=2035.0, air_n=air)
    assert start_gradient(setup, METRES) == pytest.approx(0.3522, abs=5e-5)


def test_truck_holds_0_3531_with_rolling_resistance_by_the_slope() -> None:
    """With Ff = G f cos(a), as the road load has it, the steepest is 0.3531 (computed)."""
    setup = truck(5.56, 9.8)
    held = held_top_speed(setup, METRES, Condition(0.35305))
    assert held.rpm == pytest.approx(2035, abs=100)
    assert held_top_speed(setup, METRES, Condition(0.35315)).limit == "start"


# Mannering, Kilareski, Washburn, "Principles of Highway Engineering and Traffic Analysis", ch. 2,
# in US units: f = 0.01 (1 + V/147) with V in ft/s; the book takes sin and tan of a grade for one.
LB = 0.45359237 * STANDARD_GRAVITY  # N
FOOT = 0.3048
MPH = 0.44704
SLUG_PER_FT3 = LB / FOOT / FOOT**3  # lb s²/ft and ft³, kg/m³


def car_load(
    pounds: float, mph: float, area_ft2: float, drag_coefficient: float, slugs: float
) -> RoadLoad:
    """With the rolling coefficient of one speed."""
    coefficient = 0.01 * (1 + mph * MPH / FOOT / 147)
    return measured_load(
        pounds * LB / STANDARD_GRAVITY,
        drag_coefficient * area_ft2 * FOOT**2,
        coefficient,
        slugs * SLUG_PER_FT3,
    )


def test_mannering_2_31() -> None:
    """Answers read: Ra 75.44, Rrl 33.97, Rg 100, all 209.41 lb."""
    load = car_load(2000, 70, 20, 0.35, 0.002045)
    speed = 70 * MPH
    assert load.constant_n / LB == pytest.approx(33.97, abs=0.005)
    assert (load.force(speed) - load.constant_n) / LB == pytest.approx(75.44, abs=0.01)
    # 5 % as a tangent is less than 5 % as a sine by 0.00125 of (2000 · 0.05 + 33.97) lb.
    assert load.force(speed, 0.05) / LB == pytest.approx(209.41 - 0.167, abs=0.01)


def test_mannering_example_of_a_grade() -> None:
    """Ra 86.22 and Rrl 33.97 lb read; with 255 lb of thrust G = 0.0674 computed."""
    load = car_load(2000, 70, 20, 0.40, 0.002045)
    speed = 70 * MPH
    assert (load.force(speed) - load.constant_n) / LB == pytest.approx(86.22, abs=0.01)
    spare = 255 - load.force(speed) / LB
    assert spare / 2000 == pytest.approx(0.0674, abs=5e-5)
    sine = tan(asin(0.0674))
    assert load.force(speed, sine) / LB == pytest.approx(255, abs=0.1)


def test_mannering_2_7() -> None:
    """Top speed 130 mph: 4469.15 rpm (read), 136.35 ft lb (computed from the read inputs).

    A driven wheel that slips by 3 % goes less far; the book's thrust knows no slip, so the
    efficiency here takes it away again.
    """
    metres = 2 * pi * 12.6 / 12 * FOOT * 0.97 / 2.5
    torque = 136.35 * LB * FOOT
    curve = PowerCurve(tuple((rpm, torque * rpm * pi / 30) for rpm in (1000.0, 6000.0)))
    line = Driveline(1.0, 1.0, 0.0, 1000.0, 0.88 * 0.97)
    setup = Setup(curve, line, 6000.0, car_load(3400, 130, 19.8, 0.28, 0.00206))
    found = top_speed(setup, metres)
    assert found.speed_m_s / MPH == pytest.approx(130, abs=0.01)
    assert found.rpm == pytest.approx(4469.15, abs=0.3)
    assert speed_at(setup, metres, 4469.15) / MPH == pytest.approx(130, abs=1e-4)


def test_mannering_2_6() -> None:
    """At 3,600 rpm and 210 ft lb: 90.43 mph, 535.7 lb, 9.12 % (computed from the read inputs)."""
    metres = 2 * pi * 14 / 12 * FOOT * 0.965 / 3.2
    torque = 210 * LB * FOOT
    curve = PowerCurve(tuple((rpm, torque * rpm * pi / 30) for rpm in (1000.0, 6000.0)))
    line = Driveline(1.0, 1.0, 0.0, 1000.0, 0.93 * 0.965)
    setup = Setup(curve, line, 6000.0, car_load(3200, 90.43, 25, 0.35, 0.002378))
    speed = speed_at(setup, metres, 3600.0)
    assert speed / MPH == pytest.approx(90.43, abs=0.005)
    thrust = thrust_n(setup, metres, speed)
    assert thrust / LB == pytest.approx(535.7, abs=0.05)
    assert (thrust - setup.load.force(speed)) / LB / 3200 == pytest.approx(0.0912, abs=5e-5)


def test_moran_and_shapiro_2_23() -> None:
    """Moran and Shapiro, "Fundamentals of Engineering Thermodynamics", 8th ed.: inputs read.

    3,040 lbf at 55 mph: 8.92 hp of rolling, 1.85 hp of air, 10.77 hp (computed).
    """
    horsepower = 550 * LB * FOOT
    density = 0.08 * 0.45359237 / FOOT**3
    load = measured_load(3040 * 0.45359237, 0.25 * 6.24 * FOOT**2, 0.02, density)
    speed = 55 * MPH
    rolling, whole = load.constant_n * speed, load.force(speed) * speed
    assert rolling / horsepower == pytest.approx(8.92, abs=0.005)
    assert (whole - rolling) / horsepower == pytest.approx(1.85, abs=0.005)
    assert whole / horsepower == pytest.approx(10.77, abs=0.005)
