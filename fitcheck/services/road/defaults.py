"""What the road model takes where nobody has said, and how surely each input is known.

Every spread is a half-width of two standard deviations: about 19 times in 20 the true value is
expected within value - spread to value + spread.
docs/road-model.md tells the same in a table; "common practice" means no source was read.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from typing import Any, NamedTuple

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.road.load import Footing
from fitcheck.services.counter.audience import on_record
from fitcheck.services.road.figures import Given

BELT_EFFICIENCY = 0.83
"""Rubber-belt variator, engine to gearbox; common practice, figures read range 0.70 to 0.90."""

GEAR_EFFICIENCY = 0.96
"""One mesh of spur or helical gears with its bearings; general guidance is 0.94 to 0.98."""

ONE_DRIVE_EFFICIENCY = 0.95
"""One fixed drive between engine and gearbox; common practice."""

DRIVEN_TYRE_ROLLING = 0.015
"""Rolling loss of the driven tyre over its load; common practice for small scooter tyres."""

DRIVEN_TYRE_LOAD = 0.6
"""Share of the loaded mass on the driven wheel; common practice."""

SPEED_SHARES = {"engage_rpm": 0.5, "shift_rpm": 0.93, "rev_limit": 1.2}
"""Where the clutch engages, a standard variator shifts and an engine revs no higher, over the
peak-power rpm; common practice."""

LOW_RATIO, HIGH_RATIO = 2.6, 0.85
"""Starting and top ratio of a small scooter's variator; from memory, low confidence."""

RIDER_KG = 75.0
"""Rider where none is said: the rider of (EU) No 134/2014, Annex X, Appendix 1, 3.1.1."""

LEGAL_RIDER_KG = 75.0
"""Rider of the maximum-speed test of (EU) No 134/2014, Annex X, Appendix 1, 3.1.1."""

RUNNING_ORDER_KG = ((60.0, 90.0), (110.0, 105.0), (160.0, 125.0), (float("inf"), 150.0))
"""Mass in running order by displacement up to so many cm3; common practice."""

FOOTING = Footing(friction=0.8, driven_share=DRIVEN_TYRE_LOAD, height_share=0.65 / 1.25)
"""A dry road; centre of gravity 0.65 m high on 1.25 m of wheelbase, rider on; common practice."""

ROTATING_SHARE = 0.07
"""Rotating mass of both wheels over the machine's: UN GTR No. 2, from memory; 4 % is read there for
the driven wheel alone."""

ENGINE_INERTIA = 0.00006
"""Crankshaft, flywheel, variator and clutch, kg m2 a cm3; from memory, low confidence."""

FRICTION_MEP_BAR = (1.0, 1.5, 2.0)
"""Friction mean effective pressure of a small engine: least, usual, greatest; common practice."""

GPS_KM_H = 1.0
"""What a measured top speed may be off, wind and slope of the day included; common practice."""

FACTORY_TYRE_PERCENT = 6
"""What the roll-out of a factory tyre may be off where nobody looked which tyre is on; common
practice."""


class Kind(NamedTuple):
    """What an input is called, its unit, and its half-widths by kind of evidence, as shares."""

    name: str
    unit: str
    spreads: dict[str, float]


INPUTS: dict[str, Kind] = {
    "peak_power": Kind(
        "peak power at the crankshaft",
        "kW",
        {"given": 0.05, "counted": 0.04, "catalogue": 0.06, "estimate": 0.12},
    ),
    "peak_rpm": Kind(
        "peak-power speed",
        "1/min",
        {"given": 0.02, "counted": 0.02, "catalogue": 0.03, "estimate": 0.05},
    ),
    "rev_limit": Kind("rev limit", "1/min", {"given": 0.01, "catalogue": 0.015, "estimate": 0.08}),
    "shift_rpm": Kind(
        "shift speed of the variator",
        "1/min",
        {"given": 0.02, "catalogue": 0.04, "estimate": 0.07},
    ),
    "engage_rpm": Kind(
        "clutch engages at", "1/min", {"given": 0.03, "catalogue": 0.06, "estimate": 0.15}
    ),
    "low_ratio": Kind(
        "starting ratio of the variator",
        "",
        {"given": 0.02, "catalogue": 0.03, "estimate": 0.08},
    ),
    "high_ratio": Kind(
        "top ratio of the variator", "", {"given": 0.01, "catalogue": 0.02, "estimate": 0.06}
    ),
    "efficiency": Kind(
        "driveline efficiency", "", {"given": 0.03, "catalogue": 0.05, "estimate": 0.08}
    ),
    "running_order": Kind(
        "machine in running order", "kg", {"given": 0.02, "catalogue": 0.03, "estimate": 0.12}
    ),
    "rider": Kind("rider", "kg", {"given": 0.03, "catalogue": 0.05, "standard": 0.13}),
    "drag_area": Kind("drag area", "m2", {"given": 0.05, "catalogue": 0.08, "standard": 0.12}),
    "rolling": Kind("rolling coefficient", "", {"given": 0.1, "catalogue": 0.15, "estimate": 0.3}),
    "road_load": Kind("road load at 65 km/h", "N", {"standard": 0.08}),
    "rolling_share": Kind("rolling's share of the road load", "", {"estimate": 0.3}),
    "engine_inertia": Kind("inertia of engine, variator and clutch", "kg m2", {"estimate": 0.5}),
}
"""Every input of the model but the tyre's roll-out, which brings its own spread (docs/tyres.md)."""


def cited_ranges(stages: int, is_fixed: bool, by_mass: bool) -> dict[str, tuple[float, float]]:
    """Least and greatest values that are cited for some inputs, for which docs/road-model.md says.

    Args:
        stages: gear stages between variator and wheel.
        is_fixed: one fixed ratio in place of the variator.
        by_mass: the drag area follows from the loaded mass.
    """
    low, high = (0.9, 0.98) if is_fixed else (0.7, 0.9)
    return {
        "drag_area": (0.43, 0.57) if by_mass else (0.18, 0.7),
        "efficiency": (low * 0.94**stages, high * 0.98**stages),
        "rolling": (0.009, 0.0224),
    }


@dataclass(frozen=True, slots=True)
class Known:
    """How an input is known: kind of evidence, and where from."""

    kind: str
    source: str


SAID = Known("given", "said at the counter")


def make_input(key: str, value: float, known: Known, name: str | None = None) -> Given:
    """An input with the spread that is usual for its kind of evidence."""
    kind = INPUTS[key]
    return Given(
        key=key,
        name=name or kind.name,
        value=value,
        unit=kind.unit,
        kind=known.kind,
        spread=kind.spreads[known.kind] * value,
        source=known.source,
    )


def find_input(
    key: str,
    said: float | None,
    *on_file: tuple[Entry[Any] | None, str],
    name: str | None = None,
) -> Given | None:
    """An input as it was said, else as the first record has it; None where nobody knows it.

    Args:
        key: which input.
        said: what was said at the counter.
        on_file: records, and the field of each, such as `masses.rider_kg`.
        name: what it is called, where not as usual.
    """
    if said is not None:
        return make_input(key, said, SAID, name)
    for entry, field in on_file:
        steps = field.split(".")
        if entry is not None and (value := reduce(getattr, steps, entry.record)) is not None:
            known = Known("catalogue", on_record(entry, *steps))
            return make_input(key, float(value), known, name)
    return None
