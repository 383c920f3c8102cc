"""Times and distances under full throttle from standstill.

t = ∫ m dv / (F - L) and x = ∫ m v dv / (F - L), m with what turns, over the stretches between
breakpoints; m is constant over each. Next to a balance v* the integrand has a pole; there the
surplus power is written (v - v*) Q(v), and with v = v* - (v* - a) exp(-s) both integrals run over
s, smoothly: dt = -m v / Q(v) ds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import count as count_from
from math import cos, exp, inf, isfinite, log, pi

from fitcheck.kernel.road.balance import FLAT, Condition, Stretch, TopSpeed, stretches, top_speed
from fitcheck.kernel.road.driveline import Setup

Pair = tuple[float, float]

_DEEPEST = 60
_MOST = 5_000  # intervals; where rounding alone keeps them from settling, more would not help


def legendre_rule(points: int) -> tuple[Pair, ...]:
    """(node, weight) on [-1, 1] of the Gauss-Legendre rule, by Newton's method."""
    rule = []
    for number in range(points):
        x = cos(pi * (number + 0.75) / (points + 0.5))
        for _ in range(100):
            here, before = x, 1.0
            for order in range(2, points + 1):
                here, before = ((2 * order - 1) * x * here - (order - 1) * before) / order, here
            slope = points * (x * here - before) / (x * x - 1)
            step = here / slope
            x -= step
            if abs(step) < 1e-16:
                break
        rule.append((x, 2 / ((1 - x * x) * slope * slope)))
    return tuple(rule)


_RULE = legendre_rule(8)


def _once(integrands: Callable[[float], Pair], low: float, high: float) -> Pair:
    middle, half = (low + high) / 2, (high - low) / 2
    one = two = 0.0
    for node, weight in _RULE:
        first, second = integrands(middle + half * node)
        one += weight * first
        two += weight * second
    return one * half, two * half


def integrate_pair(
    integrands: Callable[[float], Pair], low: float, high: float, tolerance: float = 1e-10
) -> Pair:
    """Integrals of two functions that do not change sign, from low to high.

    An interval is accepted when the eight-point rule on it and on its halves differ by less than
    the tolerance of its own integral; the halves are kept. As neither function changes sign, the
    tolerance holds for the sums too; the real error is mostly far smaller.

    Args:
        integrands: gives both values at a point; smooth inside, poles outside are fine.
        low: lower limit.
        high: upper limit, not under the lower one.
        tolerance: greatest relative difference.
    """
    if not high > low:
        return 0.0, 0.0
    one = two = 0.0
    waiting = [(low, high, _once(integrands, low, high), 0)]
    for count in count_from(1):
        if not waiting:
            break
        left, right, whole, depth = waiting.pop()
        middle = (left + right) / 2
        first, second = _once(integrands, left, middle), _once(integrands, middle, right)
        sums = first[0] + second[0], first[1] + second[1]
        settled = all(
            abs(coarse - fine) <= tolerance * abs(fine)
            for coarse, fine in zip(whole, sums, strict=True)
        )
        if settled or depth == _DEEPEST or count > _MOST or not left < middle < right:
            one += sums[0]
            two += sums[1]
        else:
            waiting += [(left, middle, first, depth + 1), (middle, right, second, depth + 1)]
    return one, two


# Rounding may leave no surplus right beside a balance: then the time is without end.
_LEAST = 1e-300
_FOLDS = 36.0  # exp(-36): what is still missing of the top speed is then below the last digit


@dataclass(frozen=True, slots=True)
class _Leg:
    """One stretch on the way up, integrated over its own variable.

    Attributes:
        low: speed at its start, m/s.
        high: speed at its end.
        end: its variable at the end; 0 at the start.
        variable: the variable at a speed.
        rates: (dt, dx) over the variable.
    """

    low: float
    high: float
    end: float
    variable: Callable[[float], float]
    rates: Callable[[float], Pair]


def _open_leg(stretch: Stretch, high: float, mass: float) -> _Leg:
    """A stretch that ends before the balance: over the speed gained."""
    low, _, c0, c1, c2, c3 = stretch

    def rates(gained: float) -> Pair:
        speed = low + gained
        pace = mass / max(c0 / speed + c1 + speed * (c2 + speed * c3), _LEAST)
        return pace, pace * speed

    return _Leg(low=low, high=high, end=high - low, variable=lambda speed: speed - low, rates=rates)


def _last_leg(stretch: Stretch, balance: float, mass: float) -> _Leg:
    """The stretch that ends in the balance: over the e-folds of the speed still missing."""
    low, _, _, c1, c2, c3 = stretch
    missing = balance - low
    q1 = c2 + c3 * balance
    q0 = c1 + q1 * balance

    def variable(speed: float) -> float:
        return log(missing / (balance - speed)) if speed < balance else inf

    def rates(folds: float) -> Pair:
        speed = balance - missing * exp(-folds)
        pace = mass * speed / max(-q0 - speed * (q1 + speed * c3), _LEAST)
        return pace, pace * speed

    return _Leg(low=low, high=balance, end=_FOLDS, variable=variable, rates=rates)


@dataclass(frozen=True, slots=True)
class Launch:
    """A start under full throttle, ready to be asked for times.

    Attributes:
        top: the speed it reaches.
        legs: the stretches on the way up; none where it cannot move off.
    """

    top: TopSpeed
    legs: tuple[_Leg, ...]

    def at_speeds(self, speeds: list[float]) -> list[Pair]:
        """(s, m) until each of some rising speeds in m/s; infinite where it is never reached.

        A balance is only ever approached; the rev limit is reached.
        """
        found: list[Pair] = []
        time = distance = 0.0
        legs = iter(self.legs)
        leg, done = next(legs, None), 0.0
        for speed in speeds:
            if speed <= 0:
                found.append((0.0, 0.0))
                continue
            reached = speed < self.top.speed_m_s or (
                self.top.limit == "revs" and speed == self.top.speed_m_s
            )
            if not reached:
                found.append((inf, inf))
                continue
            while leg is not None and leg.high < speed:
                more = integrate_pair(leg.rates, done, leg.end)
                time, distance = time + more[0], distance + more[1]
                leg, done = next(legs, None), 0.0
            assert leg is not None
            upto = min(leg.variable(speed), leg.end)
            more = integrate_pair(leg.rates, done, upto)
            time, distance, done = time + more[0], distance + more[1], upto
            found.append((time, distance))
        return found


def launch(setup: Setup, metres_per_turn: float, condition: Condition = FLAT) -> Launch:
    """Make a start under full throttle ready.

    Raises:
        ValueError: a gearing of zero or less.
    """
    top = top_speed(setup, metres_per_turn, condition)
    if top.limit == "start":
        return Launch(top, ())
    way = [
        stretch
        for stretch in stretches(setup, metres_per_turn, condition)
        if stretch.low < top.speed_m_s
    ]
    masses = [_mass(setup, metres_per_turn, stretch) for stretch in way]
    legs = [_open_leg(one, one.high, mass) for one, mass in zip(way, masses, strict=True)]
    if top.limit != "revs":
        legs[-1] = _last_leg(way[-1], top.speed_m_s, masses[-1])
    return Launch(top, tuple(legs))


def _mass(setup: Setup, metres_per_turn: float, stretch: Stretch) -> float:
    """Mass that is accelerated over a stretch, kg."""
    turns = (stretch.low + stretch.high) / 2 / metres_per_turn
    return setup.rolling_mass_kg + setup.engine_mass_kg_m2(turns) / metres_per_turn**2


@dataclass(frozen=True, slots=True)
class Run:
    """A start under full throttle as points for a chart; all three of one length.

    Attributes:
        time_s: seconds since the start.
        speed_m_s: road speed.
        distance_m: metres since the start.
    """

    time_s: tuple[float, ...]
    speed_m_s: tuple[float, ...]
    distance_m: tuple[float, ...]


def run(
    setup: Setup,
    metres_per_turn: float,
    n: int = 201,
    condition: Condition = FLAT,
    share: float = 0.99,
) -> Run:
    """A start from standstill to a share of the top speed, by so many evenly spaced speeds.

    One point, at rest, where it cannot move off.

    Raises:
        ValueError: fewer than two points, or a share that is not above 0 and below 1.
    """
    if n < 2:
        raise ValueError(f"a run has two points or more, not {n}")
    if not (isfinite(share) and 0 < share < 1):
        raise ValueError(f"a share of the top speed is between 0 and 1, not {share}")
    start = launch(setup, metres_per_turn, condition)
    if start.top.limit == "start":
        return Run((0.0,), (0.0,), (0.0,))
    speeds = [share * start.top.speed_m_s * number / (n - 1) for number in range(n)]
    points = start.at_speeds(speeds)
    return Run(
        tuple(time for time, _ in points),
        tuple(speeds),
        tuple(distance for _, distance in points),
    )
