"""What resists the machine on the road: by its mass alone, or by drag area and rolling coefficient.

Where nobody has said either of the two, both come from the force that a regulation gives by mass.
It is sure of their sum and not of its two parts: the inputs are then the sum and how it is split.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fitcheck.kernel.road.load import (
    PROVED_M_S,
    SEA_LEVEL_DENSITY,
    STANDARD_GRAVITY,
    dynamometer_load,
    table_load,
)
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road import defaults
from fitcheck.services.road.defaults import Known, find_input, make_input
from fitcheck.services.road.figures import Given, RoadAsked

BY_SPLIT = ("road_load", "rolling_share")
"""The inputs from which drag area and rolling coefficient follow where neither is known."""

_FRONT = "UN GTR No. 2 for the front wheel (from memory)"
_DRIVEN = f"{defaults.DRIVEN_TYRE_ROLLING:g} of its load for the driven tyre"


@dataclass(frozen=True, slots=True)
class _KnownLoad:
    """What is known of drag and rolling, which of it follows from the loaded mass, and cautions."""

    givens: tuple[Given, ...]
    by_mass: tuple[str, ...]
    notes: tuple[str, ...]


def load_by_mass(mass_kg: float) -> dict[str, float]:
    """By loaded mass, where nobody has said: both the parts of the road load, and sum and split.

    Drag area in m2, rolling coefficient, road load at 65 km/h in N, rolling's share of it.
    """
    weight = mass_kg * STANDARD_GRAVITY
    driven = defaults.DRIVEN_TYRE_ROLLING * defaults.DRIVEN_TYRE_LOAD * weight
    table = table_load(mass_kg, driven_rolling_n=driven)
    level = table.force(PROVED_M_S)
    return {
        "drag_area": 2 * table.drag_n_s2_m2 / SEA_LEVEL_DENSITY,
        "rolling": table.constant_n / weight,
        "road_load": level,
        "rolling_share": table.constant_n / level,
    }


def drag_and_rolling(values: Mapping[str, float], loaded_kg: float) -> dict[str, float]:
    """Drag area in m2 and rolling coefficient, as they are known or as sum and split give them.

    Args:
        values: of the inputs.
        loaded_kg: loaded mass for which the sum is known.
    """
    if "road_load" not in values:
        return {key: values[key] for key in ("drag_area", "rolling")}
    # Far from where it is known a split could leave the air less than nothing.
    rolling = values["road_load"] * min(values["rolling_share"], 1.0)
    air = values["road_load"] - rolling
    return {
        "drag_area": 2 * air / (SEA_LEVEL_DENSITY * PROVED_M_S**2),
        "rolling": rolling / (loaded_kg * STANDARD_GRAVITY),
    }


def load_of(subject: Subject, asked: RoadAsked, mass: float) -> _KnownLoad:
    """Drag area and rolling coefficient as far as somebody has said them, the rest by the mass."""
    area = find_input("drag_area", asked.drag_area_m2, (subject.entry, "drag_area_m2"))
    rolling = find_input(
        "rolling", asked.rolling_coefficient, (subject.entry, "rolling_coefficient")
    )
    table = load_by_mass(mass)
    regulation = f"40 CFR 86.529-98 at {mass:.0f} kg loaded"
    note = (
        f"Drag at {mass:.0f} kg loaded lies outside the table of 40 CFR 86.529-98 (100 to 340 "
        "kg): extrapolated from it."
    )
    notes = (note,) if area is None and dynamometer_load(mass).extrapolated else ()
    if area is None and rolling is None:
        level = Known("standard", f"{regulation}, and {_DRIVEN}")
        split = Known(
            "estimate",
            f"{_FRONT}, and {_DRIVEN}: {table['rolling']:.2g} of the weight, which leaves a drag "
            f"area of {table['drag_area']:.2f} m2",
        )
        both = (
            make_input("road_load", table["road_load"], level),
            make_input("rolling_share", table["rolling_share"], split),
        )
        return _KnownLoad(both, BY_SPLIT, notes)
    by_mass: tuple[str, ...] = ()
    if area is None:
        by_mass = ("drag_area",)
        known = Known("standard", f"{regulation}, less the rolling in front")
        area = make_input("drag_area", table["drag_area"], known)
    if rolling is None:
        by_mass = ("rolling",)
        known = Known("estimate", f"{_FRONT}, and {_DRIVEN}")
        rolling = make_input("rolling", table["rolling"], known)
    return _KnownLoad((area, rolling), by_mass, notes)
