"""Where thrust meets the load: the speed a machine reaches, and the speed it can hold.

Between breakpoints the power at the wheel is linear in speed and the power the road takes is a
cubic, so the surplus power G(v) = v (F(v) - L(v)) is a cubic too. Its turning points split every
stretch into monotone parts; a change of sign over a part brackets exactly one balance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import copysign, inf, isfinite, sqrt
from typing import Literal, NamedTuple

from fitcheck.kernel.road.driveline import (
    Setup,
    engine_rpm,
    ratio_at,
    require_gearing,
    wheel_power,
)

Limit = Literal["start", "power", "ratio", "revs"]

_KMH = 1 / 3.6
START_SURPLUS = 1e-6
"""Share of the load that thrust has to exceed it by at standstill: less is no start."""

_ROUNDING = 1e-9  # a balance on the edge of a regime belongs to the regime below it
_POLISHED = 1e-15


@dataclass(frozen=True, slots=True)
class Condition:
    """Road and weather.

    Attributes:
        gradient: rise over run, 0.05 for 5 %.
        headwind_m_s: air moving against the machine, m/s; below zero a tailwind.
    """

    gradient: float = 0.0
    headwind_m_s: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what is no number."""
        if not (isfinite(self.gradient) and isfinite(self.headwind_m_s)):
            raise ValueError("gradient and headwind are finite numbers")


FLAT = Condition()
HEADWIND_20 = Condition(headwind_m_s=20 * _KMH)
UP_5 = Condition(gradient=0.05)
TAILWIND_20 = Condition(headwind_m_s=-20 * _KMH)


@dataclass(frozen=True, slots=True)
class TopSpeed:
    """A balance of thrust and load.

    Attributes:
        speed_m_s: road speed, m/s.
        rpm: engine rpm there.
        ratio: variator ratio there.
        limit: what keeps it from going faster. "revs": rev limit, or end of the power curve, with
            thrust to spare. "ratio": balance in the top ratio past the peak-power rpm; a taller
            gear would be faster. "power": any other balance; a taller gear would not be faster.
            "start": it cannot move off, or hold any speed.
    """

    speed_m_s: float
    rpm: float
    ratio: float
    limit: Limit


class Stretch(NamedTuple):
    """Speeds from low to high over which surplus power is one cubic.

    G(v) = c0 + c1 v + c2 v² + c3 v³ in W, v in m/s.
    """

    low: float
    high: float
    c0: float
    c1: float
    c2: float
    c3: float

    def surplus_w(self, speed: float) -> float:
        """Power at the wheel less the power the road takes, W."""
        return self.c0 + speed * (self.c1 + speed * (self.c2 + speed * self.c3))

    def surplus_n(self, speed: float) -> float:
        """Thrust less load, N; at standstill too, where c0 is zero."""
        steady = self.c0 / speed if speed else 0.0
        return steady + self.c1 + speed * (self.c2 + speed * self.c3)

    def parts(self) -> Iterator[tuple[float, float]]:
        """(from, to) over which surplus power only rises or only falls."""
        turns = sorted(
            turn
            for turn in _quadratic_roots(3 * self.c3, 2 * self.c2, self.c1)
            if self.low < turn < self.high
        )
        return pairwise([self.low, *turns, self.high])


def stretches(
    setup: Setup, metres_per_turn: float, condition: Condition = FLAT
) -> tuple[Stretch, ...]:
    """Surplus power from standstill up to the highest rpm, cut where it changes its cubic."""
    require_gearing(metres_per_turn)
    drag, wind = setup.load.drag_n_s2_m2, condition.headwind_m_s
    steady = setup.load.steady_n(condition.gradient)
    found = []
    for (turns, watts), (next_turns, next_watts) in pairwise(wheel_power(setup)):
        low, high = turns * metres_per_turn, next_turns * metres_per_turn
        slope = (next_watts - watts) / (high - low)
        start = watts - slope * low if low else 0.0
        calm = -wind  # the speed of the air: slower, the wind pushes
        ends = [low, calm, high] if low < calm < high else [low, high]
        for left, right in pairwise(ends):
            against = drag if right > calm else -drag
            found.append(
                Stretch(
                    low=left,
                    high=right,
                    c0=start,
                    c1=slope - steady - against * wind * wind,
                    c2=-2 * against * wind,
                    c3=-against,
                )
            )
    return tuple(found)


def top_speed(setup: Setup, metres_per_turn: float, condition: Condition = FLAT) -> TopSpeed:
    """Speed reached from standstill: the first at which thrust no longer exceeds the load.

    Raises:
        ValueError: a gearing of zero or less.
    """
    track = stretches(setup, metres_per_turn, condition)
    if not track or track[0].surplus_n(0.0) <= START_SURPLUS * setup.load.steady_n():
        return _standstill(setup)
    for stretch in track:
        for left, right in stretch.parts():
            if stretch.surplus_n(left) <= 0:  # a breakpoint that rounding fell on
                return _balance(setup, metres_per_turn, left)
            if stretch.surplus_n(right) <= 0:
                return _balance(setup, metres_per_turn, _polish(stretch, left, right))
    return _at(setup, metres_per_turn, track[-1].high, "revs")


def _standstill(setup: Setup) -> TopSpeed:
    return TopSpeed(0.0, setup.driveline.engage_rpm, setup.driveline.low_ratio, "start")


def _at(setup: Setup, metres_per_turn: float, speed: float, limit: Limit) -> TopSpeed:
    rpm = engine_rpm(setup, metres_per_turn, speed)
    return TopSpeed(speed, rpm, ratio_at(setup, metres_per_turn, speed), limit)


def _balance(setup: Setup, metres_per_turn: float, speed: float) -> TopSpeed:
    line = setup.driveline
    rpm = engine_rpm(setup, metres_per_turn, speed)
    closed = line.engage_rpm if line.fixed else line.shift_rpm  # above it, in the top ratio
    past = rpm > max(closed, setup.curve.peak[0]) * (1 + _ROUNDING)
    return _at(setup, metres_per_turn, speed, "ratio" if past else "power")


def _polish(stretch: Stretch, left: float, right: float) -> float:
    """The one balance between two speeds with surplus power above zero at the left one.

    Newton's method, bisecting wherever it would leave the bracket or closes it too slowly.
    """
    low, high = left, right
    speed, last = (low + high) / 2, high - low
    while high - low > _POLISHED * high:
        value = stretch.surplus_w(speed)
        if value > 0:
            low = speed
        elif value < 0:
            high = speed
        else:
            return speed
        slope = stretch.c1 + speed * (2 * stretch.c2 + 3 * speed * stretch.c3)
        step = value / slope if slope else inf
        following = speed - step
        if not low < following < high or abs(step) > last / 2:
            following = (low + high) / 2
            if not low < following < high:
                break
        last = abs(following - speed)
        if last <= _POLISHED * high:
            return following
        speed = following
    return (low + high) / 2


def _quadratic_roots(a: float, b: float, c: float) -> list[float]:
    """Real roots of a x² + b x + c, without cancellation; none where all coefficients are zero."""
    square = b * b - 4 * a * c
    if square < 0:
        return []
    root = -(b + copysign(sqrt(square), b)) / 2
    return [part / whole for part, whole in ((root, a), (c, root)) if whole]
