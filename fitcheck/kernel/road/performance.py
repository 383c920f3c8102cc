"""What a machine does on the road with one gearing: all its figures at once.

The functions that give one figure alone come from `balance` and `acceleration` and are handed on
here.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, copysign, inf, tan

from fitcheck.kernel.road.acceleration import (
    launch,
)
from fitcheck.kernel.road.balance import (
    HEADWIND_20,
    TAILWIND_20,
    UP_5,
    TopSpeed,
    top_speed,
)
from fitcheck.kernel.road.driveline import Setup, speed_at, thrust_n

SPEEDS_KMH = (30.0, 45.0, 60.0)
DISTANCE_M = 200.0
SHARE = 0.95


@dataclass(frozen=True, slots=True)
class Performance:
    """What a machine does on the road.

    Attributes:
        metres_per_second_per_1000rpm: road speed per 1,000 engine rpm in the top ratio.
        paper_top_m_s: speed at the peak-power rpm in the top ratio, load or no load.
        flat: speed reached from standstill on the level without wind.
        headwind: the same against a wind of 20 km/h.
        uphill: the same up a gradient of 5 %.
        tailwind: the same with a wind of 20 km/h behind.
        start_force_n: thrust at standstill, N; the most that grip and front wheel let through.
        start_gradient: steepest gradient, rise over run, on which it moves off, likewise.
        time_30_s: from standstill to 30 km/h on the level; infinite for never.
        time_45_s: to 45 km/h.
        time_60_s: to 60 km/h.
        time_200_m_s: over 200 m.
        time_95_s: to 95 % of its own top speed.
    """

    metres_per_second_per_1000rpm: float
    paper_top_m_s: float
    flat: TopSpeed
    headwind: TopSpeed
    uphill: TopSpeed
    tailwind: TopSpeed
    start_force_n: float
    start_gradient: float
    time_30_s: float
    time_45_s: float
    time_60_s: float
    time_200_m_s: float
    time_95_s: float


def start_force_n(setup: Setup, metres_per_turn: float) -> float:
    """Thrust at standstill in N: the clutch slipping, the engine at its engagement rpm.

    Where the setup has a footing, at most what it lets through.
    """
    force = thrust_n(setup, metres_per_turn, 0.0)
    return force if setup.footing is None else min(force, setup.footing.most_thrust(setup.load)[0])


def start_gradient(setup: Setup, metres_per_turn: float) -> float:
    """Steepest gradient, rise over run, on which it moves off.

    tan(asin((F - R) / (m g))), with the rolling resistance R of the level: by a little on the
    safe side. Infinite where the force exceeds the weight; below zero where it moves off only
    downhill. Where the setup has a footing, at most what it lets through.
    """
    load = setup.load
    share = (thrust_n(setup, metres_per_turn, 0.0) - load.constant_n) / (
        load.mass_kg * load.gravity
    )
    pulled = tan(asin(share)) if abs(share) < 1 else copysign(inf, share)
    return pulled if setup.footing is None else min(pulled, setup.footing.steepest(load)[0])


def performance(setup: Setup, metres_per_turn: float) -> Performance:
    """Everything at once.

    Raises:
        ValueError: a gearing of zero or less.
    """
    start = launch(setup, metres_per_turn)
    targets = [*(speed / 3.6 for speed in SPEEDS_KMH), SHARE * start.top.speed_m_s]
    rising = sorted(targets)
    found = dict(zip(rising, start.at_speeds(rising), strict=True))
    times = [found[target][0] for target in targets]
    return Performance(
        metres_per_second_per_1000rpm=speed_at(setup, metres_per_turn, 1000.0),
        paper_top_m_s=speed_at(setup, metres_per_turn, setup.curve.peak[0]),
        flat=start.top,
        headwind=top_speed(setup, metres_per_turn, HEADWIND_20),
        uphill=top_speed(setup, metres_per_turn, UP_5),
        tailwind=top_speed(setup, metres_per_turn, TAILWIND_20),
        start_force_n=start_force_n(setup, metres_per_turn),
        start_gradient=start_gradient(setup, metres_per_turn),
        time_30_s=times[0],
        time_45_s=times[1],
        time_60_s=times[2],
        time_200_m_s=start.at_distance(DISTANCE_M),
        time_95_s=times[3] if start.top.speed_m_s else inf,
    )
