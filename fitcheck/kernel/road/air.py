"""Density of dry air by altitude and temperature, and what it leaves of an engine's power.

The troposphere of the International Standard Atmosphere (ISO 2533:1975; ICAO Doc 7488): 288.15 K
and 101 325 Pa at sea level, 6.5 K colder every 1,000 m. Sea-level figures were read; the lapse rate
and the top of the layer are from memory, and are held to tabulated densities in the tests.
"""

from __future__ import annotations

from math import isfinite

from fitcheck.kernel.road.load import STANDARD_GRAVITY

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
        temperature_c: air temperature, -60 to 60 degrees Celsius; it stands before the standard
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
