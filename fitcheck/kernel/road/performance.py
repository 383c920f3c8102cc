"""What a machine does on the road with one gearing: all its figures at once.

The functions that give one figure alone come from `balance` and `acceleration` and are handed on
here.
"""

from __future__ import annotations

from math import asin, copysign, inf, tan

from fitcheck.kernel.road.driveline import Setup, thrust_n


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
