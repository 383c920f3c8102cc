"""Clutch, stepless belt variator and gearbox: from engine speed to road speed and thrust.

The gearing is one number, *metres per turn*: roll-out (m) over overall reduction, the distance
travelled in one turn of the gearbox input shaft, which is the output side of the variator.

Under full throttle four regimes follow one another as the machine gathers speed. The clutch slips
and holds the engine at its engagement rpm; then the engine pulls through the low ratio up to the
shift rpm; there it stays while the variator runs out to its high ratio; then rpm rise again with
road speed. In every regime the power at the wheel is linear in road speed between breakpoints.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, copysign, inf, pi, tan

from fitcheck.kernel.road.engine import PowerCurve
from fitcheck.kernel.road.load import Footing, RoadLoad

_ROUNDING = 1e-12  # speeds closer than this are one, whatever the last digit says


@dataclass(frozen=True, slots=True)
class Driveline:
    """What lies between engine and gearbox.

    Attributes:
        low_ratio: engine turns per turn of the gearbox input shaft when starting off.
        high_ratio: the same with the variator fully out; equal to low_ratio for a fixed ratio.
        shift_rpm: engine rpm at which the variator runs out; unused with a fixed ratio.
        engage_rpm: engine rpm at which the clutch holds the engine while it slips; 0 for none.
        efficiency: power at the wheel over power of the engine.
    """

    low_ratio: float
    high_ratio: float
    shift_rpm: float
    engage_rpm: float
    efficiency: float

    def __post_init__(self) -> None:
        """Refuse what no driveline has."""
        if not 0 < self.high_ratio <= self.low_ratio < inf:
            raise ValueError(
                "a variator's low ratio is the larger one and both are over 0, "
                f"not {self.low_ratio} low and {self.high_ratio} high"
            )
        if not 0 <= self.engage_rpm < inf:
            raise ValueError(f"a clutch engages at 0 rpm or more, not {self.engage_rpm}")
        if not self.fixed and not max(self.engage_rpm, 1e-9) <= self.shift_rpm < inf:
            raise ValueError(
                "a variator shifts at or above the rpm at which the clutch engages, "
                f"not at {self.shift_rpm} with {self.engage_rpm}"
            )
        if not 0 < self.efficiency <= 1:
            raise ValueError(f"an efficiency is over 0 and at most 1, not {self.efficiency}")

    @property
    def fixed(self) -> bool:
        """Whether there is one ratio only."""
        return self.low_ratio == self.high_ratio


@dataclass(frozen=True, slots=True)
class Setup:
    """All of a machine but its gearing.

    Attributes:
        curve: full-throttle power of the engine.
        driveline: clutch and variator.
        rev_limit_rpm: the engine gives nothing above it.
        load: resistance on the road.
        rotating_kg: mass to add for the inertia of what turns with the wheels, kg.
        engine_inertia_kg_m2: moment of inertia of what turns with the engine.
        footing: limits of grip and front wheel; None where they are not asked about.
    """

    curve: PowerCurve
    driveline: Driveline
    rev_limit_rpm: float
    load: RoadLoad
    rotating_kg: float = 0.0
    engine_inertia_kg_m2: float = 0.0
    footing: Footing | None = None

    def __post_init__(self) -> None:
        """Refuse what no machine has."""
        if not 0 < self.rev_limit_rpm < inf:
            raise ValueError(f"a rev limit is over 0 rpm, not {self.rev_limit_rpm}")
        if not 0 <= self.rotating_kg < inf:
            raise ValueError(f"a rotating mass is 0 kg or more, not {self.rotating_kg}")
        if not 0 <= self.engine_inertia_kg_m2 < inf:
            raise ValueError(f"an inertia is 0 kg m2 or more, not {self.engine_inertia_kg_m2}")

    @property
    def highest_rpm(self) -> float:
        """Rpm above which there is no power: rev limit or end of the curve."""
        return min(self.rev_limit_rpm, self.curve.last_rpm)

    @property
    def rolling_mass_kg(self) -> float:
        """Mass that is accelerated without the engine: the loaded mass and the rotating mass."""
        return self.load.mass_kg + self.rotating_kg

    def engine_mass_kg_m2(self, turns_per_second: float) -> float:
        """Mass to add for the engine's inertia, times metres per turn squared.

        Efficiency · J · (2 pi · ratio)² while the engine gathers speed with the machine, as in
        Yu's "Automobile Theory"; 0 while the clutch slips or the variator runs out, as the engine
        then keeps its speed.

        Args:
            turns_per_second: of the gearbox input shaft, not at the edge of a regime.
        """
        line, rpm = self.driveline, 60 * turns_per_second
        if rpm * line.low_ratio < line.engage_rpm:
            return 0.0
        ratio = line.low_ratio
        if not line.fixed and rpm * ratio > line.shift_rpm:
            ratio = line.high_ratio
            if rpm * ratio < line.shift_rpm:
                return 0.0
        return line.efficiency * self.engine_inertia_kg_m2 * (2 * pi * ratio) ** 2


def require_gearing(metres_per_turn: float) -> None:
    """Refuse a gearing of zero or less with a ValueError."""
    if not 0 < metres_per_turn < inf:
        raise ValueError(f"metres per turn of the input shaft are over 0, not {metres_per_turn}")


def speed_at(setup: Setup, metres_per_turn: float, rpm: float, ratio: float | None = None) -> float:
    """Road speed in m/s at an engine rpm, clutch closed; in the high ratio unless one is given."""
    require_gearing(metres_per_turn)
    return rpm / 60 / (setup.driveline.high_ratio if ratio is None else ratio) * metres_per_turn


def engine_rpm(setup: Setup, metres_per_turn: float, speed_m_s: float) -> float:
    """Engine rpm at a road speed in m/s under full throttle; may be above the rev limit."""
    require_gearing(metres_per_turn)
    line = setup.driveline
    turns = speed_m_s / metres_per_turn * 60
    if line.fixed:
        return max(line.engage_rpm, turns * line.low_ratio)
    shifting = min(max(line.engage_rpm, turns * line.low_ratio), line.shift_rpm)
    return max(shifting, turns * line.high_ratio)


def ratio_at(setup: Setup, metres_per_turn: float, speed_m_s: float) -> float:
    """Ratio of the variator at a road speed in m/s: low, or on its way, or high."""
    require_gearing(metres_per_turn)
    line = setup.driveline
    turns = speed_m_s / metres_per_turn * 60
    if line.fixed or turns * line.low_ratio <= line.shift_rpm:
        return line.low_ratio
    return max(line.high_ratio, line.shift_rpm / turns)


def thrust_n(setup: Setup, metres_per_turn: float, speed_m_s: float) -> float:
    """Full-throttle thrust at the wheel in N; 0 beyond the rev limit.

    While the clutch slips it hands on the torque of the engagement rpm,
    F = efficiency · T · low ratio · 2 pi / metres per turn; then F = efficiency · P(n) / v.
    """
    rpm = engine_rpm(setup, metres_per_turn, speed_m_s)
    highest = setup.highest_rpm
    if rpm > highest * (1 + _ROUNDING):
        return 0.0
    line = setup.driveline
    torque = setup.curve.torque_nm(min(rpm, highest))
    ratio = ratio_at(setup, metres_per_turn, speed_m_s)
    return line.efficiency * torque * ratio * 2 * pi / metres_per_turn


def wheel_power(setup: Setup) -> tuple[tuple[float, float], ...]:
    """Power at the wheel by points, the same for every gearing.

    Returns:
        (turns of the gearbox input shaft per second, W), from (0, 0) up to the highest rpm; linear
        between the points. The first point alone where the clutch engages beyond the rev limit.
    """
    line, curve, highest = setup.driveline, setup.curve, setup.highest_rpm
    points = [(0.0, 0.0)]

    def pull(ratio: float, low: float, high: float) -> None:
        """Let the engine run from one rpm to another in one ratio."""
        inner = [rpm for rpm, _ in curve.points if low < rpm < high]
        for rpm in (low, *inner, high):
            point = (rpm / 60 / ratio, line.efficiency * curve.power_w(rpm))
            if point[0] > points[-1][0] * (1 + _ROUNDING):
                points.append(point)

    if line.engage_rpm > highest:
        return tuple(points)
    if line.fixed:
        pull(line.low_ratio, line.engage_rpm, highest)
    else:
        pull(line.low_ratio, line.engage_rpm, min(line.shift_rpm, highest))
        if line.shift_rpm <= highest:
            pull(line.high_ratio, line.shift_rpm, highest)
    return tuple(points)


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
