"""The machine on the road: air, load, engine, driveline, and what follows from them.

Floats in SI units throughout, rpm excepted. Everything here is plain Python; the module
`fitcheck.kernel.road.many` gives the same figures for many gearings at once with numpy.
"""

from __future__ import annotations

from fitcheck.kernel.road.acceleration import (
    Run,
    run,
)
from fitcheck.kernel.road.balance import (
    FLAT,
    HEADWIND_20,
    TAILWIND_20,
    UP_5,
    Condition,
    Limit,
    TopSpeed,
    top_speed,
)
from fitcheck.kernel.road.driveline import (
    Driveline,
    Setup,
    engine_rpm,
    ratio_at,
    speed_at,
    start_force_n,
    start_gradient,
    thrust_n,
)
from fitcheck.kernel.road.engine import PowerCurve, default_curve, steady_fuel_change
from fitcheck.kernel.road.load import (
    SEA_LEVEL_DENSITY,
    STANDARD_GRAVITY,
    DynamometerLoad,
    Footing,
    RoadLoad,
    air_density,
    dynamometer_load,
    measured_load,
    table_load,
)
from fitcheck.kernel.road.spread import combined

__all__ = [
    "FLAT",
    "HEADWIND_20",
    "SEA_LEVEL_DENSITY",
    "STANDARD_GRAVITY",
    "TAILWIND_20",
    "UP_5",
    "Condition",
    "Driveline",
    "DynamometerLoad",
    "Footing",
    "Limit",
    "PowerCurve",
    "RoadLoad",
    "Run",
    "Setup",
    "TopSpeed",
    "air_density",
    "combined",
    "default_curve",
    "dynamometer_load",
    "engine_rpm",
    "measured_load",
    "ratio_at",
    "run",
    "speed_at",
    "start_force_n",
    "start_gradient",
    "steady_fuel_change",
    "table_load",
    "thrust_n",
    "top_speed",
]
