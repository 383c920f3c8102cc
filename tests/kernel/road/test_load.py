"""Air and road load against the regulation, standard atmospheres and the definitions."""

from __future__ import annotations

import csv
from itertools import pairwise
from math import cos, inf, nan, sin
from pathlib import Path

import pytest

from fitcheck.kernel.road.acceleration import integrate_pair
from fitcheck.kernel.road.load import (
    SEA_LEVEL_DENSITY,
    STANDARD_GRAVITY,
    RoadLoad,
    air_density,
    dynamometer_load,
    measured_load,
    power_share,
    table_load,
)

# 40 CFR 86.529-98, Figure F98-9, read (law.cornell.edu), rows up to 345 kg.
FIGURE = Path(__file__).with_name("figure_f98_9.csv")
with FIGURE.open(encoding="utf-8", newline="") as _file:
    ROWS = list(csv.DictReader(_file))
MASSES = [float(row["equiv_inertial_mass_kg"]) for row in ROWS]
MISPRINT_KG = 160.0  # prints 4.10 s; its own A and C give 4.18 s, in the middle of its 4.0 to 4.4


def coast_down_s(load: RoadLoad, from_kmh: float, to_kmh: float) -> float:
    """Seconds out of gear, by the integrator of the road model."""
    return integrate_pair(
        lambda speed: (load.mass_kg / load.force(speed), 1.0), to_kmh / 3.6, from_kmh / 3.6
    )[0]


def test_the_figure_has_its_rows() -> None:
    assert len(ROWS) == 25
    assert (MASSES[0], MASSES[-1]) == (100, 340)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["equiv_inertial_mass_kg"])
def test_force_at_65_kmh_and_coast_down_of_every_row(row: dict[str, str]) -> None:
    mass = float(row["equiv_inertial_mass_kg"])
    setting = dynamometer_load(mass)
    assert setting.constant_n == pytest.approx(float(row["A_N"]), abs=1e-12)
    assert setting.quadratic_n_per_kmh2 == pytest.approx(float(row["C_N_per_(km/h)2"]), abs=1e-15)
    assert not setting.extrapolated

    load = RoadLoad(setting.constant_n, setting.quadratic_n_per_kmh2 * 3.6**2, mass)
    # C is printed to 0.0001, which leaves 0.2 N at 65 km/h.
    assert load.force(65 / 3.6) == pytest.approx(float(row["F_at_65_N"]), abs=0.25)
    seconds = coast_down_s(load, 70, 60)
    # The coast-down proves the sum alone: with more of it rolling the time stays the same.
    split = table_load(mass)
    assert split.force(65 / 3.6) == pytest.approx(load.force(65 / 3.6), rel=1e-12)
    assert coast_down_s(split, 70, 60) == pytest.approx(seconds, rel=0.002)
    assert float(row["shortest_s"]) < seconds < float(row["longest_s"])
    printed = float(row["t_70_60_target_s"])
    if mass == MISPRINT_KG:
        assert printed == 4.10
        assert seconds == pytest.approx(4.18, abs=0.005)
    else:
        assert seconds == pytest.approx(printed, rel=0.003)


@pytest.mark.parametrize(("mass", "next_mass"), list(pairwise(MASSES)))
def test_straight_between_the_rows(mass: float, next_mass: float) -> None:
    low, high = dynamometer_load(mass), dynamometer_load(next_mass)
    between = dynamometer_load(mass + 2.5)
    assert between.mass_kg == mass + 2.5
    assert between.constant_n == pytest.approx(0.75 * low.constant_n + 0.25 * high.constant_n)
    assert between.quadratic_n_per_kmh2 == pytest.approx(
        0.75 * low.quadratic_n_per_kmh2 + 0.25 * high.quadratic_n_per_kmh2
    )
    assert not between.extrapolated


@pytest.mark.parametrize(
    ("mass", "constant", "quadratic"),
    # 350 and 400 kg: worked out from a line through the read rows, not published; 80 kg: no
    # dynamometer pulls, so A stops at 0.
    [(350.0, 21.80, 0.0293), (400.0, 26.17, 0.0307), (80.0, 0.0, 0.02185)],
)
def test_beyond_the_figure(mass: float, constant: float, quadratic: float) -> None:
    found = dynamometer_load(mass)
    assert found.extrapolated
    assert found.constant_n == pytest.approx(constant, abs=0.005)
    assert found.quadratic_n_per_kmh2 == pytest.approx(quadratic, abs=5.1e-5)


@pytest.mark.parametrize("edge", [100.0, 340.0])
def test_no_jump_at_the_ends_of_the_figure(edge: float) -> None:
    inside, outside = dynamometer_load(edge), dynamometer_load(edge * (1 + 1e-9 * (edge - 200)))
    assert (inside.extrapolated, outside.extrapolated) == (False, True)
    assert outside.constant_n == pytest.approx(inside.constant_n, abs=0.01)
    assert outside.quadratic_n_per_kmh2 == pytest.approx(inside.quadratic_n_per_kmh2, abs=5e-6)


def test_drag_area_and_rolling_by_mass() -> None:
    """At 160 kg 14.08 N of front wheel (0.088 N/kg, from memory) of the 107.0 N at 65 km/h.

    That leaves 92.93 / 65² = 0.021996 N/(km/h)², and 2 · 3.6² of it over 1.225 is 0.4654 m².
    """
    for mass, rolling, area in (
        (100.0, 8.8, 0.4299),
        (160.0, 14.08, 0.4654),
        (340.0, 29.92, 0.5685),
    ):
        load = table_load(mass)
        assert load.constant_n == pytest.approx(rolling)
        assert load.drag_n_s2_m2 * 2 / 1.225 == pytest.approx(area, abs=5e-5)


def test_two_regulations_agree_on_the_force_at_65_kmh() -> None:
    """UN GTR No. 2, Annex 3: 0.088 m + (0.02 + 0.000015 m) V² (from memory), 130 to 250 kg."""
    for mass in (130.0, 160.0, 190.0, 220.0, 250.0):
        other = 0.088 * mass + (0.02 + 0.000015 * mass) * 65**2
        assert table_load(mass).force(65 / 3.6) == pytest.approx(other, rel=0.032)


def test_table_load_scales_with_density_and_adds_the_driven_tyre() -> None:
    plain, thin = table_load(200.0), table_load(200.0, air_density=0.98, driven_rolling_n=12.5)
    assert thin.drag_n_s2_m2 == pytest.approx(plain.drag_n_s2_m2 * 0.8, rel=1e-14)
    assert thin.constant_n == pytest.approx(plain.constant_n + 12.5)
    assert plain.constant_n == pytest.approx(0.088 * 200)
    assert (thin.mass_kg, thin.gravity) == (200.0, STANDARD_GRAVITY)


def test_measured_load_by_its_definition() -> None:
    load = measured_load(180.0, 0.6, 0.015, air_density=1.2)
    assert load.constant_n == pytest.approx(0.015 * 180 * 9.80665)
    assert load.drag_n_s2_m2 == pytest.approx(0.36)
    assert measured_load(180.0, 0.6, 0.015).drag_n_s2_m2 == pytest.approx(0.3675)


def test_force_by_its_definition() -> None:
    """On a slope whose angle is 0.1 rad, into 3 m/s of wind."""
    load = RoadLoad(30.0, 0.4, 150.0, gravity=10.0)
    gradient = sin(0.1) / cos(0.1)
    expected = 30 * cos(0.1) + 0.4 * 13**2 + 150 * 10 * sin(0.1)
    assert load.force(10.0, gradient, 3.0) == pytest.approx(expected, rel=1e-14)
    assert load.force(10.0) == pytest.approx(70)


def test_tailwind_pushes_and_rolling_resistance_does_not() -> None:
    load = RoadLoad(30.0, 0.4, 150.0)
    assert load.force(0.0, headwind_m_s=-10.0) == pytest.approx(30 - 40)
    assert load.force(10.0, headwind_m_s=-10.0) == pytest.approx(30)
    assert load.force(0.0) == 30


# US Standard Atmosphere 1976 and ICAO Doc 7488 by geopotential altitude; sea level read, the
# others from memory.
@pytest.mark.parametrize(
    ("altitude", "density"),
    [
        (0.0, 1.2250),
        (1000.0, 1.11164),
        (2000.0, 1.00649),
        (3000.0, 0.909122),
        (5000.0, 0.736116),
        (11000.0, 0.363918),
    ],
)
def test_standard_atmosphere(altitude: float, density: float) -> None:
    assert air_density(altitude) == pytest.approx(density, rel=1e-5)


# Density of dry air at 101.325 kPa, common tables (from memory).
@pytest.mark.parametrize(
    ("temperature", "density"), [(0.0, 1.2922), (15.0, 1.2250), (20.0, 1.2041), (25.0, 1.1839)]
)
def test_temperature_stands_before_the_standard_one(temperature: float, density: float) -> None:
    assert air_density(temperature_c=temperature) == pytest.approx(density, abs=1e-4)


# ISO 1585 (from memory) multiplies what is measured by (99 kPa/p)^1.2 (T/298 K)^0.6: what is left
# is one over that, here against standard air in place of its own 99 kPa and 298 K. Pressure at
# 1,000 and 2,000 m from ICAO tables (from memory): 89.874 and 79.495 kPa at 281.65 and 275.15 K.
@pytest.mark.parametrize(
    ("altitude", "temperature", "kpa", "kelvin"),
    [(1000.0, None, 89.874, 281.65), (2000.0, None, 79.495, 275.15), (0.0, 35.0, 101.325, 308.15)],
)
def test_power_left_by_iso_1585(
    altitude: float, temperature: float | None, kpa: float, kelvin: float
) -> None:
    def correction(kilopascal: float, absolute: float) -> float:
        return (99 / kilopascal) ** 1.2 * (absolute / 298) ** 0.6

    left = correction(101.325, 288.15) / correction(kpa, kelvin)
    assert power_share(altitude, temperature) == pytest.approx(left, rel=1e-4)


def test_standard_air_leaves_all_power() -> None:
    assert power_share() == 1.0


def test_temperature_leaves_the_pressure_of_the_altitude() -> None:
    standard_c = 15 - 6.5 * 2
    assert air_density(2000.0, standard_c) == pytest.approx(air_density(2000.0), rel=1e-14)
    warm = air_density(2000.0, 30.0)
    assert warm == pytest.approx(air_density(2000.0) * (standard_c + 273.15) / 303.15, rel=1e-12)
    assert air_density() == pytest.approx(SEA_LEVEL_DENSITY, rel=1e-5)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: air_density(11_000.1), "altitude"),
        (lambda: air_density(-1_000.1), "altitude"),
        (lambda: air_density(nan), "altitude"),
        (lambda: air_density(0, 60.1), "temperature"),
        (lambda: air_density(0, -60.1), "temperature"),
        (lambda: air_density(0, nan), "temperature"),
        (lambda: dynamometer_load(0.0), "mass"),
        (lambda: dynamometer_load(inf), "mass"),
        (lambda: dynamometer_load(nan), "mass"),
        (lambda: table_load(200.0, air_density=0.0), "density"),
        (lambda: table_load(200.0, driven_rolling_n=-0.1), "rolling resistance"),
        (lambda: measured_load(0.0, 0.5, 0.01), "mass"),
        (lambda: measured_load(200.0, -0.1, 0.01), "drag area"),
        (lambda: measured_load(200.0, 0.5, -0.01), "rolling coefficient"),
        (lambda: measured_load(200.0, 0.5, 0.01, air_density=nan), "density"),
        (lambda: RoadLoad(-1.0, 0.3, 100.0), "rolling resistance"),
        (lambda: RoadLoad(1.0, -0.3, 100.0), "drag"),
        (lambda: RoadLoad(1.0, 0.3, 0.0), "mass"),
        (lambda: RoadLoad(1.0, 0.3, 100.0, gravity=0.0), "gravity"),
        (lambda: RoadLoad(1.0, 0.3, 100.0).force(-0.1), "speed"),
        (lambda: RoadLoad(1.0, 0.3, 100.0).force(nan), "speed"),
    ],
)
def test_nonsense_is_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()


def test_edges_are_within() -> None:
    assert air_density(11_000.0) < air_density(-1_000.0)
    assert air_density(0, 60.0) < air_density(0, -60.0)
    assert RoadLoad(0.0, 0.0, 1.0).force(0.0) == 0
