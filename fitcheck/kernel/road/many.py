"""Performance of many gearings of one machine at once, with numpy.

The tests hold it to a second, slow way, one gearing at a time (`tests/kernel/road/single_path.py`),
and both to published figures. Power at the wheel against
turns of the input shaft is one line of straight pieces for all gearings. On a piece the surplus
power is concave in speed wherever the air moves against the machine, so that from above zero it
comes down to zero once, if it is not above zero at the piece's end; only where a tailwind
overtakes the machine may it dip between, and there the dip's lowest point is looked at too.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from fitcheck.kernel.road.balance import (
    FLAT,
    HEADWIND_20,
    START_SURPLUS,
    TAILWIND_20,
    UP_5,
    Condition,
    Limit,
)
from fitcheck.kernel.road.driveline import Setup, speed_at, thrust_n, wheel_power
from fitcheck.kernel.road.many_times import Ways, after_distance, after_speeds, cumulate

SPEEDS_KMH = (30.0, 45.0, 60.0)
"""Speeds to which times are given, km/h."""
DISTANCE_M = 200.0
"""Distance over which a time is given, m."""
SHARE = 0.95
"""Share of the top speed to which a time is given."""

Floats = NDArray[np.float64]

LIMITS: tuple[Limit, ...] = ("start", "power", "ratio", "revs")
"""What the small numbers of `TopSpeeds.limit` mean."""

_START, _POWER, _RATIO, _REVS = range(4)
_BLOCK = 512  # gearings at once: their intermediate arrays stay in the processor's cache
_ROUNDING = 1e-9
_CLOSE = 1e-14
_ROUNDS = 100


@dataclass(frozen=True, slots=True, eq=False)
class TopSpeeds:
    """Balances of thrust and load, as arrays of one length; see `TopSpeed`.

    Attributes:
        speed_m_s: road speeds, m/s.
        rpm: engine rpm there.
        ratio: variator ratios there.
        limit: places in `LIMITS`, int8.
    """

    speed_m_s: Floats
    rpm: Floats
    ratio: Floats
    limit: NDArray[np.int8]


@dataclass(frozen=True, slots=True, eq=False)
class Many:
    """The figures of `Performance` as arrays, one value a gearing."""

    metres_per_second_per_1000rpm: Floats
    paper_top_m_s: Floats
    flat: TopSpeeds
    headwind: TopSpeeds
    uphill: TopSpeeds
    tailwind: TopSpeeds
    start_force_n: Floats
    start_gradient: Floats
    time_30_s: Floats
    time_45_s: Floats
    time_60_s: Floats
    time_200_m_s: Floats
    time_95_s: Floats


def many(setup: Setup, metres_per_turn: Floats, times: bool = True) -> Many:
    """Everything at once, for many gearings; within 1e-6 of one gearing at a time.

    Args:
        setup: the machine.
        metres_per_turn: gearings, one dimension.
        times: whether to work out times; without, theirs are not a number.

    Raises:
        ValueError: a gearing of zero or less, or more than one dimension.
    """
    gearing = np.asarray(metres_per_turn, dtype=np.float64)
    if gearing.ndim != 1:
        raise ValueError(f"gearings come in one dimension, not {gearing.ndim}")
    if not np.all((gearing > 0) & (gearing < np.inf)):
        raise ValueError("metres per turn of the input shaft are over 0")
    force = start_forces(setup, gearing)
    flat = top_speeds(setup, gearing, FLAT)
    seconds = np.full((5, len(gearing)), np.nan)
    if times:
        for first in range(0, len(gearing), _BLOCK):
            block = slice(first, first + _BLOCK)
            seconds[:, block] = _times(
                setup, gearing[block], flat.speed_m_s[block], flat.limit[block]
            )
    time_30_s, time_45_s, time_60_s, time_200_m_s, time_95_s = seconds
    return Many(
        metres_per_second_per_1000rpm=speed_at(setup, 1.0, 1000.0) * gearing,
        paper_top_m_s=speed_at(setup, 1.0, setup.curve.peak[0]) * gearing,
        flat=flat,
        headwind=top_speeds(setup, gearing, HEADWIND_20),
        uphill=top_speeds(setup, gearing, UP_5),
        tailwind=top_speeds(setup, gearing, TAILWIND_20),
        start_force_n=force,
        start_gradient=_start_gradients(setup, gearing),
        time_30_s=time_30_s,
        time_45_s=time_45_s,
        time_60_s=time_60_s,
        time_200_m_s=time_200_m_s,
        time_95_s=time_95_s,
    )


def top_speeds(setup: Setup, gearing: Floats, condition: Condition) -> TopSpeeds:
    """Speeds reached from standstill under one condition."""
    pieces = _pieces(setup)
    blocks = [
        _top_speeds(setup, pieces, gearing[first : first + _BLOCK], condition)
        for first in range(0, len(gearing), _BLOCK)
    ] or [(np.zeros(0), np.zeros(0, np.int8))]
    speed = np.concatenate([block[0] for block in blocks])
    limit = np.concatenate([block[1] for block in blocks])
    return _describe(setup, gearing, speed, limit)


def dips_between(
    setup: Setup,
    gearing: Floats,
    condition: Condition,
    *,
    start_rpm: Floats,
    end_m_s: Floats,
    apart_m_s: float,
) -> NDArray[np.bool_]:
    """Whether the thrust of a fixed ratio dips on the way to a top speed.

    It does where, at some point of the power curve, thrust has less over the load than so much
    further on.

    Args:
        setup: the machine.
        gearing: metres per turn of the input shaft, one dimension.
        condition: road and weather.
        start_rpm: engine speeds from which on dips count, one a gearing.
        end_m_s: top speeds, up to which they do, one a gearing.
        apart_m_s: how much further on.
    """
    rpm, watts = np.array(setup.curve.points).T
    speed_a_rpm = speed_at(setup, 1.0, 1.0) * gearing[:, None]
    load = setup.load

    def surplus(speed: Floats) -> Floats:
        air = speed + condition.headwind_m_s
        power = setup.driveline.efficiency * np.interp(speed / speed_a_rpm, rpm, watts)
        drag = load.drag_n_s2_m2 * air * np.abs(air)
        return np.asarray(power / speed - load.steady_n(condition.gradient) - drag)

    here = rpm * speed_a_rpm
    further = here + apart_m_s
    inside = (rpm >= start_rpm[:, None]) & (further <= end_m_s[:, None])
    found: NDArray[np.bool_] = np.any(inside & (surplus(further) > surplus(here)), axis=1)
    return found


_Pieces = tuple[Floats, Floats, Floats]


def _pieces(setup: Setup) -> _Pieces:
    """Pieces of wheel power: input shaft turns per second at their ends, slope and start.

    On piece i, power = start[i] + slope[i] · turns.
    """
    turns, watts = np.array(wheel_power(setup)).T
    slope = np.diff(watts) / np.diff(turns)
    return turns, slope, watts[:-1] - slope * turns[:-1]


def _top_speeds(
    setup: Setup, pieces: _Pieces, gearing: Floats, condition: Condition
) -> tuple[Floats, NDArray[np.int8]]:
    """(speeds reached, limits) with every balance counted as "power"."""
    turns, slope, start = pieces
    count = len(gearing)
    if not len(slope):
        return np.zeros(count), np.full(count, _START, np.int8)
    drag, wind = setup.load.drag_n_s2_m2, condition.headwind_m_s
    steady = setup.load.steady_n(condition.gradient)
    net = slope / gearing[:, None] - steady  # N, without the air and what start / v adds
    ends = (gearing[:, None] * turns[1:])[:, :, None]
    if wind < 0:
        ends = _with_dips(gearing[:, None] * turns, net, drag, wind)

    def surplus(speed: Floats, start: Floats, net: Floats) -> Floats:
        air = speed + wind
        power: Floats = start + speed * (net - drag * air * np.abs(air))
        return power

    over = surplus(ends, start[:, None], net[:, :, None]) > 0
    parts = ends.shape[2]
    ends, over = ends.reshape(count, -1), over.reshape(count, -1)
    first = np.argmin(over, axis=1)
    rows = np.arange(count)
    balance = ~over[rows, first]
    moves = net[:, 0] - drag * wind * abs(wind) > START_SURPLUS * setup.load.steady_n()

    high = ends[rows, first]
    low = np.where(first > 0, ends[rows, first - 1], 0.0)
    own_start, own_net = start[first // parts], net[rows, first // parts]
    # Newton's method from the end where power is short, which is from outside a concave curve;
    # bisecting wherever it would leave the bracket.
    at = high
    for _ in range(_ROUNDS):
        air = at + wind
        pull = own_net - drag * air * np.abs(air)
        value = own_start + at * pull
        low, high = np.where(value > 0, at, low), np.where(value > 0, high, at)
        with np.errstate(divide="ignore", invalid="ignore"):
            following = at - value / (pull - 2 * drag * at * np.abs(air))
        inside = (following >= low) & (following <= high)
        following = np.where(inside, following, (low + high) / 2)
        if np.all(np.abs(following - at) <= _CLOSE * at):
            at = following
            break
        at = following
    speed = np.where(balance, at, ends[:, -1])
    limit = np.where(balance, _POWER, _REVS)
    return np.where(moves, speed, 0.0), np.where(moves, limit, _START).astype(np.int8)


def _with_dips(nodes: Floats, net: Floats, drag: float, wind: float) -> Floats:
    """Ends of all parts of the pieces between which surplus power cannot dip, n by k by 4.

    Slower than the tailwind it is convex above two thirds of the wind's speed, least at v with
    net + drag (3 v² + 4 w v + w²) = 0.
    """
    calm = -wind
    with np.errstate(divide="ignore", invalid="ignore"):
        square = wind * wind - 3 * net / drag
        least = (2 * calm + np.sqrt(np.maximum(square, 0.0))) / 3
    least = np.clip(np.nan_to_num(least, nan=calm, posinf=calm), 2 / 3 * calm, calm)
    inner = np.stack(
        [np.full_like(net, 2 / 3 * calm), least, np.full_like(net, calm), nodes[:, 1:]], axis=2
    )
    clipped: Floats = np.clip(inner, nodes[:, :-1, None], nodes[:, 1:, None])
    return clipped


def _describe(setup: Setup, gearing: Floats, speed: Floats, limit: NDArray[np.int8]) -> TopSpeeds:
    """Add rpm and ratio to speeds, and tell the balances past the peak from the others."""
    line = setup.driveline
    turns = speed / gearing * 60
    closed = line.engage_rpm
    rpm = np.maximum(line.engage_rpm, turns * line.low_ratio)
    ratio = np.full_like(speed, line.low_ratio)
    if not line.fixed:
        closed = line.shift_rpm
        with np.errstate(divide="ignore"):
            ratio = np.clip(line.shift_rpm / turns, line.high_ratio, line.low_ratio)
        rpm = np.maximum(np.minimum(rpm, line.shift_rpm), turns * line.high_ratio)
    past = rpm > max(closed, setup.curve.peak[0]) * (1 + _ROUNDING)
    limit = np.where((limit == _POWER) & past, _RATIO, limit).astype(np.int8)
    return TopSpeeds(speed, rpm, ratio, limit)


def start_forces(setup: Setup, gearing: Floats) -> Floats:
    """Thrust at standstill, N, one a gearing."""
    force: Floats = thrust_n(setup, 1.0, 0.0) / gearing
    most = inf if setup.footing is None else setup.footing.most_thrust(setup.load)[0]
    return np.minimum(force, most)


def _start_gradients(setup: Setup, gearing: Floats) -> Floats:
    load = setup.load
    share = (thrust_n(setup, 1.0, 0.0) / gearing - load.constant_n) / (load.mass_kg * load.gravity)
    # tan(asin(s)) = s / sqrt(1 - s²)
    with np.errstate(divide="ignore", invalid="ignore"):
        gradient = share / np.sqrt((1 - share) * (1 + share))
    found: Floats = np.where(np.abs(share) < 1, gradient, np.copysign(np.inf, share))
    steepest = inf if setup.footing is None else setup.footing.steepest(load)[0]
    return np.minimum(found, steepest)


def _times(setup: Setup, gearing: Floats, speed: Floats, limit: NDArray[np.int8]) -> Floats:
    """Seconds to 30, 45 and 60 km/h, over 200 m, and to 95 % of the top speed: 5 by n."""
    turns, slope, start = _pieces(setup)
    if not len(slope):
        return np.full((5, len(gearing)), np.inf)
    low = gearing[:, None] * turns[:-1]
    middles = (turns[:-1] + turns[1:]) / 2
    engine = np.array([setup.engine_mass_kg_m2(float(turn)) for turn in middles])
    ways = Ways(
        low=low,
        c0=start,
        c1=slope / gearing[:, None] - setup.load.steady_n(),
        drag=setup.load.drag_n_s2_m2,
        mass=setup.rolling_mass_kg + engine / gearing[:, None] ** 2,
        top=speed,
        last=np.maximum((low < speed[:, None]).sum(axis=1) - 1, 0),
        balance=limit != _REVS,
        moves=limit != _START,
    )
    time, distance = cumulate(ways)
    targets = np.empty((len(gearing), 4))
    targets[:, :3] = np.array(SPEEDS_KMH) / 3.6
    targets[:, 3] = SHARE * speed
    to_30, to_45, to_60, to_share = after_speeds(ways, time, targets).T
    over_distance = after_distance(ways, time, distance, DISTANCE_M)
    return np.stack([to_30, to_45, to_60, over_distance, to_share])
