"""One gearing at a time, by plain Python: the slow way to the figures that `many` gives for all.

The product shows figures of `many`; the tests hold the two ways together, and both to published
figures and closed forms.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from fitcheck.kernel.road.acceleration import Launch, integrate_pair, launch
from fitcheck.kernel.road.balance import (
    FLAT,
    HEADWIND_20,
    TAILWIND_20,
    UP_5,
    Condition,
    Limit,
    Stretch,
    TopSpeed,
    stretches,
    top_speed,
)
from fitcheck.kernel.road.driveline import (
    Setup,
    engine_rpm,
    ratio_at,
    require_gearing,
    speed_at,
    start_force_n,
    start_gradient,
    wheel_power,
)
from fitcheck.kernel.road.many import DISTANCE_M, SHARE, SPEEDS_KMH


def breakpoints(setup: Setup, metres_per_turn: float) -> tuple[float, ...]:
    """Road speeds in m/s, rising from 0, between which power at the wheel is linear in speed.

    The regime, or the piece of the power curve, changes there; the last one belongs to the
    highest rpm.
    """
    require_gearing(metres_per_turn)
    return tuple(turns * metres_per_turn for turns, _ in wheel_power(setup))


def held_top_speed(setup: Setup, metres_per_turn: float, condition: Condition = FLAT) -> TopSpeed:
    """The highest speed, rev limit kept, at which thrust still meets the load, by bisection.

    What it can hold once it has been helped there: the same as `top_speed`, or more where thrust
    has a dip that it does not pull through by itself.

    Raises:
        ValueError: a gearing of zero or less.
    """
    track = stretches(setup, metres_per_turn, condition)
    line = setup.driveline
    speed = 0.0
    for stretch in reversed(track):
        for left, right in reversed(list(stretch.parts())):
            if stretch.surplus_n(right) >= 0:
                speed = right
            elif stretch.surplus_n(left) > 0:
                speed = _bisect(stretch, left, right)
            if speed:
                break
        if speed:
            break
    else:
        return TopSpeed(0.0, line.engage_rpm, line.low_ratio, "start")
    rpm = engine_rpm(setup, metres_per_turn, speed)
    closed = line.engage_rpm if line.fixed else line.shift_rpm  # above it, in the top ratio
    limit: Limit = "ratio" if rpm > max(closed, setup.curve.peak[0]) * (1 + 1e-9) else "power"
    if speed == track[-1].high and track[-1].surplus_n(speed) > 0:
        limit = "revs"
    return TopSpeed(speed, rpm, ratio_at(setup, metres_per_turn, speed), limit)


def _bisect(stretch: Stretch, low: float, high: float) -> float:
    """The speed between two at which the surplus, above zero at the lower one, is zero."""
    while low < (middle := (low + high) / 2) < high:
        low, high = (middle, high) if stretch.surplus_n(middle) > 0 else (low, middle)
    return low


def time_to_speed(
    setup: Setup, metres_per_turn: float, speed_m_s: float, condition: Condition = FLAT
) -> float:
    """Seconds from standstill to a speed in m/s; infinite if it never gets there.

    Relative error below 1e-9 (integration).
    """
    return launch(setup, metres_per_turn, condition).at_speeds([speed_m_s])[0][0]


def time_to_distance(
    setup: Setup, metres_per_turn: float, metres: float, condition: Condition = FLAT
) -> float:
    """Seconds from standstill over a distance in m; infinite if it cannot move off."""
    return at_distance(launch(setup, metres_per_turn, condition), metres)


def at_distance(start: Launch, metres: float) -> float:
    """Seconds over a distance in m; infinite where it cannot move off."""
    if metres <= 0:
        return 0.0
    if not start.legs:
        return inf
    time = distance = 0.0
    for leg in start.legs:
        more = integrate_pair(leg.rates, 0.0, leg.end)
        if distance + more[1] >= metres:
            return time + _within(leg, metres - distance, more[1])
        time, distance = time + more[0], distance + more[1]
    return time + (metres - distance) / start.top.speed_m_s


def _within(leg, metres: float, whole: float) -> float:
    """Seconds until so many metres of a leg are done: Newton's method in a bracket."""
    low, high = 0.0, leg.end
    place, done, seconds = 0.0, 0.0, 0.0  # how far it is integrated
    at = leg.end * metres / whole
    for _ in range(80):
        step = integrate_pair(leg.rates, min(place, at), max(place, at))
        sign = 1 if at >= place else -1
        place, done, seconds = at, done + sign * step[1], seconds + sign * step[0]
        low, high = (place, high) if done < metres else (low, place)
        change = (metres - done) / leg.rates(place)[1] if place else inf
        at = place + change
        if not low <= at <= high:
            at = (low + high) / 2
        if abs(at - place) <= 1e-14 * leg.end:
            break
    pace = leg.rates(place)
    return seconds + (metres - done) * pace[0] / pace[1]


def time_to_share(
    setup: Setup, metres_per_turn: float, share: float = 0.95, condition: Condition = FLAT
) -> float:
    """Seconds from standstill to a share of its own top speed; infinite if it cannot move off.

    Raises:
        ValueError: a share that is not above 0 and below 1.
    """
    if not 0 < share < 1:
        raise ValueError(f"a share of the top speed is between 0 and 1, not {share}")
    start = launch(setup, metres_per_turn, condition)
    if start.top.limit == "start":
        return inf
    return start.at_speeds([share * start.top.speed_m_s])[0][0]


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
        time_200_m_s=at_distance(start, DISTANCE_M),
        time_95_s=times[3] if start.top.speed_m_s else inf,
    )
