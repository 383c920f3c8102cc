"""What a machine meets on the road: the density of the air, what resists it, and what grips.

Air: the troposphere of the International Standard Atmosphere (ISO 2533:1975; ICAO Doc 7488):
288.15 K and 101 325 Pa at sea level, 6.5 K colder every 1,000 m. Sea-level figures were read; the
lapse rate and the top of the layer are from memory, and the tests hold them to tabulated densities.

Load: rolling, air and gradient, either by the loaded mass, after the force a US test house sets on
its dynamometer (40 CFR 86.529-98, Figure F98-9), or from the machine's own drag area and rolling
coefficient.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from math import inf, isfinite, sqrt
from typing import Literal

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of free fall, m/s²."""

SEA_LEVEL_DENSITY = 1.225
"""Density of the standard atmosphere at sea level, kg/m³."""

_PRESSURE_PA = 101_325.0
_TEMPERATURE_K = 288.15
_LAPSE_K_PER_M = 0.0065
_GAS_CONSTANT = 287.05287
_LOWEST_M, _HIGHEST_M = -1_000.0, 11_000.0
_ABSOLUTE_ZERO_C = -273.15

# Exponents for spark-ignition engines at full throttle: ISO 1585, from memory.
_POWER_BY_PRESSURE, _POWER_BY_TEMPERATURE = 1.2, 0.6


def air_density(altitude_m: float = 0.0, temperature_c: float | None = None) -> float:
    """Density of dry air in kg/m³.

    Pressure follows from the altitude, p = p0 (T/T0)^(g/(R L)) with T = T0 - L h; then
    density = p/(R T).

    Args:
        altitude_m: (geopotential) altitude, -1,000 to 11,000 m.
        temperature_c: air temperature, -60 to 60 degrees Celsius; it overrides the standard
            temperature of the altitude, and leaves the pressure as it is.

    Raises:
        ValueError: altitude or temperature out of range.
    """
    pressure, kelvin = _state(altitude_m, temperature_c)
    return pressure / (_GAS_CONSTANT * kelvin)


def power_share(altitude_m: float = 0.0, temperature_c: float | None = None) -> float:
    """Full-throttle power in this air over that in standard air at sea level.

    (p/p0)^1.2 (T0/T)^0.6, the correction of ISO 1585 for spark-ignition engines that draw their
    own air (from memory; the standard vouches for it within 7 %). It knows nothing of a carburettor
    that runs rich in thin air, which costs more.

    Args:
        altitude_m: as for `air_density`.
        temperature_c: as for `air_density`.

    Raises:
        ValueError: altitude or temperature out of range.
    """
    pressure, kelvin = _state(altitude_m, temperature_c)
    by_pressure: float = (pressure / _PRESSURE_PA) ** _POWER_BY_PRESSURE
    by_temperature: float = (_TEMPERATURE_K / kelvin) ** _POWER_BY_TEMPERATURE
    return by_pressure * by_temperature


def _state(altitude_m: float, temperature_c: float | None) -> tuple[float, float]:
    """Pressure in Pa and temperature in K."""
    if not _LOWEST_M <= altitude_m <= _HIGHEST_M:
        raise ValueError(f"an altitude is -1000 to 11000 m, not {altitude_m}")
    standard = _TEMPERATURE_K - _LAPSE_K_PER_M * altitude_m
    exponent = STANDARD_GRAVITY / (_GAS_CONSTANT * _LAPSE_K_PER_M)
    pressure: float = _PRESSURE_PA * (standard / _TEMPERATURE_K) ** exponent
    if temperature_c is None:
        kelvin = standard
    elif isfinite(temperature_c) and -60 <= temperature_c <= 60:
        kelvin = temperature_c - _ABSOLUTE_ZERO_C
    else:
        raise ValueError(f"an air temperature is -60 to 60 degrees Celsius, not {temperature_c}")
    return pressure, kelvin


_TABLE_DENSITY = 1.225
_FRONT_ROLLING = 0.088  # N/kg of the loaded mass: UN GTR No. 2, Annex 3 (from memory)
_PROVED_KMH = 65.0
_KMH_PER_M_S = 3.6

PROVED_M_S = _PROVED_KMH / _KMH_PER_M_S
"""Speed at which the coast-down of 40 CFR 86.529-98 proves the setting, m/s."""

# Equivalent inertial mass kg, A in N, C in N/(km/h)²: 40 CFR 86.529-98, Figure F98-9.
_TABLE = (
    (100.0, 0.00, 0.0224),
    (110.0, 0.82, 0.0227),
    (120.0, 1.70, 0.0230),
    (130.0, 2.57, 0.0233),
    (140.0, 3.44, 0.0235),
    (150.0, 4.32, 0.0238),
    (160.0, 5.19, 0.0241),
    (170.0, 6.06, 0.0244),
    (180.0, 6.94, 0.0246),
    (190.0, 7.81, 0.0249),
    (200.0, 8.69, 0.0252),
    (210.0, 9.56, 0.0255),
    (220.0, 10.43, 0.0257),
    (230.0, 11.31, 0.0260),
    (240.0, 12.18, 0.0263),
    (250.0, 13.06, 0.0266),
    (260.0, 13.93, 0.0268),
    (270.0, 14.80, 0.0271),
    (280.0, 15.68, 0.0274),
    (290.0, 16.55, 0.0277),
    (300.0, 17.43, 0.0279),
    (310.0, 18.30, 0.0282),
    (320.0, 19.17, 0.0285),
    (330.0, 20.05, 0.0288),
    (340.0, 20.92, 0.0290),
)


@dataclass(frozen=True, slots=True)
class DynamometerLoad:
    """Force A + C·V² that a dynamometer is set to, V in km/h.

    Attributes:
        constant_n: A, N.
        quadratic_n_per_kmh2: C, N/(km/h)².
        mass_kg: loaded mass it was asked for, kg.
        extrapolated: whether the mass lies outside the table.
    """

    constant_n: float
    quadratic_n_per_kmh2: float
    mass_kg: float
    extrapolated: bool


@dataclass(frozen=True, slots=True)
class RoadLoad:
    """A machine's resistance to motion on the road.

    Attributes:
        constant_n: rolling resistance on the level, N.
        drag_n_s2_m2: air drag over the square of air speed, N s²/m².
        mass_kg: loaded mass, kg.
        gravity: acceleration of free fall, m/s².
    """

    constant_n: float
    drag_n_s2_m2: float
    mass_kg: float
    gravity: float = STANDARD_GRAVITY

    def __post_init__(self) -> None:
        """Refuse what no machine has."""
        if not 0 <= self.constant_n < inf:
            raise ValueError(f"a rolling resistance is 0 N or more, not {self.constant_n}")
        if not 0 <= self.drag_n_s2_m2 < inf:
            raise ValueError(f"a drag is 0 N s2/m2 or more, not {self.drag_n_s2_m2}")
        if not 0 < self.mass_kg < inf:
            raise ValueError(f"a loaded mass is over 0 kg, not {self.mass_kg}")
        if not 0 < self.gravity < inf:
            raise ValueError(f"a gravity is over 0 m/s2, not {self.gravity}")

    def steady_n(self, gradient: float = 0.0) -> float:
        """Rolling and climbing resistance in N on a gradient (rise over run), without the air."""
        slope = sqrt(1 + gradient * gradient)  # 1/cos of the slope's angle
        return (self.constant_n + self.mass_kg * self.gravity * gradient) / slope

    def force(self, speed_m_s: float, gradient: float = 0.0, headwind_m_s: float = 0.0) -> float:
        """Resistance to forward motion, N.

        F = R cos(a) + c (v + w) |v + w| + m g sin(a), a = atan(gradient). A tailwind faster than
        the machine, or a downhill, push: the sum may be below zero. Rolling resistance never
        pushes; at standstill the sum is the force that has to be exceeded to move off forwards.

        Args:
            speed_m_s: forward speed, 0 or more.
            gradient: rise over run, 0.05 for 5 %.
            headwind_m_s: air moving against the machine; below zero a tailwind.

        Raises:
            ValueError: a speed below zero.
        """
        if not speed_m_s >= 0:
            raise ValueError(f"a speed is 0 m/s or more, not {speed_m_s}")
        air = speed_m_s + headwind_m_s
        return self.steady_n(gradient) + self.drag_n_s2_m2 * air * abs(air)


def dynamometer_load(loaded_mass_kg: float) -> DynamometerLoad:
    """Dynamometer setting for a loaded mass: 40 CFR 86.529-98, Figure F98-9.

    The regulation steps by classes of 10 kg, named by their equivalent inertial mass; here the
    figures run linearly between those masses, 100 to 340 kg. Outside, a straight line fitted to
    the table's rows is used (A = 0.0874 m - 8.79, never below 0; C = 0.0224 + 2.75e-5 (m - 100);
    computed, not published) and the answer says that it is extrapolated.

    Raises:
        ValueError: a mass of zero or less, or one at which the fitted drag would not be over zero.
    """
    if not 0 < loaded_mass_kg < inf:
        raise ValueError(f"a loaded mass is over 0 kg, not {loaded_mass_kg}")
    if not _TABLE[0][0] <= loaded_mass_kg <= _TABLE[-1][0]:
        constant = max(0.0, 0.0874 * loaded_mass_kg - 8.79)
        quadratic = 0.0224 + 2.75e-5 * (loaded_mass_kg - 100)
        return DynamometerLoad(constant, quadratic, loaded_mass_kg, extrapolated=True)
    place = bisect_right(_TABLE, loaded_mass_kg, hi=len(_TABLE) - 1, key=lambda row: row[0])
    (mass, constant, quadratic), (next_mass, next_constant, next_quadratic) = _TABLE[
        place - 1 : place + 1
    ]
    part = (loaded_mass_kg - mass) / (next_mass - mass)
    return DynamometerLoad(
        constant + part * (next_constant - constant),
        quadratic + part * (next_quadratic - quadratic),
        loaded_mass_kg,
        extrapolated=False,
    )


def table_load(
    mass_kg: float, air_density: float = _TABLE_DENSITY, driven_rolling_n: float = 0.0
) -> RoadLoad:
    """Road load of a machine of which only the loaded mass is known.

    The sum at 65 km/h is that of the dynamometer setting, which one coast-down from 70 to 60 km/h
    proves. The front wheel rolls by UN GTR No. 2; the air takes the rest, at 1.225 kg/m³, and is
    scaled by the density (neither names one). The driven tyre rolls on the dynamometer's roller,
    so its own loss is in neither.

    Args:
        mass_kg: loaded mass, kg.
        air_density: kg/m³.
        driven_rolling_n: rolling resistance of the driven tyre, added to the constant part, N.

    Raises:
        ValueError: a mass or density of zero or less, a rolling resistance below zero.
    """
    _require_density(air_density)
    if not 0 <= driven_rolling_n < inf:
        raise ValueError(f"a rolling resistance is 0 N or more, not {driven_rolling_n}")
    setting = dynamometer_load(mass_kg)
    front = _FRONT_ROLLING * mass_kg
    quadratic = setting.quadratic_n_per_kmh2 + (setting.constant_n - front) / _PROVED_KMH**2
    drag = quadratic * _KMH_PER_M_S**2 * air_density / _TABLE_DENSITY
    return RoadLoad(front + driven_rolling_n, drag, mass_kg)


def measured_load(
    mass_kg: float,
    drag_area_m2: float,
    rolling_coefficient: float,
    air_density: float = _TABLE_DENSITY,
) -> RoadLoad:
    """Road load from a drag area (drag coefficient times frontal area) and a rolling coefficient.

    R = f m g and c = density · CdA / 2.

    Args:
        mass_kg: loaded mass, kg.
        drag_area_m2: CdA, m².
        rolling_coefficient: f, rolling resistance over weight.
        air_density: kg/m³.

    Raises:
        ValueError: a mass or density of zero or less, a drag area or coefficient below zero.
    """
    _require_density(air_density)
    if not 0 <= drag_area_m2 < inf:
        raise ValueError(f"a drag area is 0 m2 or more, not {drag_area_m2}")
    if not 0 <= rolling_coefficient < inf:
        raise ValueError(f"a rolling coefficient is 0 or more, not {rolling_coefficient}")
    rolling = rolling_coefficient * mass_kg * STANDARD_GRAVITY
    return RoadLoad(rolling, air_density * drag_area_m2 / 2, mass_kg)


def _require_density(air_density: float) -> None:
    if not 0 < air_density < inf:
        raise ValueError(f"an air density is over 0 kg/m3, not {air_density}")


Cap = Literal["grip", "front wheel"]


@dataclass(frozen=True, slots=True)
class Footing:
    """Grip of the driven wheel, and where the weight is; all shares.

    Attributes:
        friction: between driven tyre and road.
        driven_share: weight on the driven wheel at rest on the level over the whole weight.
        height_share: height of the centre of gravity over the wheelbase.
    """

    friction: float
    driven_share: float
    height_share: float

    def __post_init__(self) -> None:
        """Refuse what no machine has."""
        if not (0 < self.friction < inf and 0 < self.height_share < inf):
            raise ValueError("friction and height of the centre of gravity are over 0")
        if not 0 < self.driven_share < 1:
            raise ValueError(f"a share of the weight is over 0 and below 1: {self.driven_share}")

    def most_thrust(self, load: RoadLoad) -> tuple[float, Cap]:
        """The most thrust on the level, N, and what sets it.

        The thrust accelerates the machine, which takes weight off the front wheel: the driven
        wheel carries q m g + F k, and has friction times that.
        """
        weight = load.mass_kg * load.gravity
        slips = weight * self._gripped(self.friction * self.driven_share)
        lifts = weight * (1 - self.driven_share) / self.height_share
        return (slips, "grip") if slips < lifts else (lifts, "front wheel")

    def steepest(self, load: RoadLoad) -> tuple[float, Cap]:
        """The steepest gradient, rise over run, on which it can start, and what sets it.

        At a steady crawl: friction (q cos a + k sin a) = R cos a / (m g) + sin a.
        """
        rolling = load.constant_n / (load.mass_kg * load.gravity)
        slips = self._gripped(self.friction * self.driven_share - rolling)
        lifts = (1 - self.driven_share) / self.height_share
        return (slips, "grip") if slips < lifts else (lifts, "front wheel")

    def _gripped(self, share: float) -> float:
        """A share of the weight, raised by what the slope or the thrust puts on the wheel."""
        left = 1 - self.friction * self.height_share
        return share / left if left > 0 else inf
