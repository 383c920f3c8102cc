"""Every figure that is told of a machine on the road, its range, and what a measured speed does.

After docs/road-model.md, "Ranges", "A measured top speed" and "The verdict"; written a second time,
nothing of fitcheck is used. A point z is in standard deviations of each input, half its half-width.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.optimize import minimize

from tests.second_opinion.machine import Machine
from tests.second_opinion.road import KM_H, SLOPE, WIND, Floats, G, Load, Ride, Top

Figures = dict[str, Any]
TIMES = {"to_30_km_h": 30.0, "to_45_km_h": 45.0, "to_60_km_h": 60.0}
GPS = 0.5
# The top speeds on which a figure rests, where it may jump.
RESTS_ON = {
    "top.flat": ("flat",),
    "top.headwind": ("headwind",),
    "top.uphill": ("uphill",),
    "share.revs": ("flat",),
    "share.behind": ("behind",),
    "share.gained": ("flat", "now"),
    "top_change_km_h": ("flat", "now"),
}


@dataclass(frozen=True)
class Range:
    """A figure and the ends of its range."""

    value: float
    low: float
    high: float


class Study:
    """A machine as it stands and with other gearings."""

    def __init__(self, machine: Machine, now: float, others: Sequence[float]) -> None:
        self.machine = machine
        self.gearings = [now, *others]
        self.keys = list(machine.inputs)
        self.middle = np.array([machine.values[key] for key in self.keys])
        self.half = np.array([machine.halves[key] for key in self.keys])

    def ride(self, z: Floats, per_turn: float) -> Ride:
        values = dict(zip(self.keys, (self.middle + z * self.half / 2).tolist(), strict=True))
        # What turns goes by the record's mass, as the mass moves.
        values["turning"] = 0.07 * values["running_order"]
        if "road_load" in values:
            values.update(split(values["road_load"], values["rolling_share"], self.machine.loaded))
        return Ride(values, self.machine.shape, per_turn, self.machine.air)

    def top_now(self, z: Floats) -> float:
        return self.ride(z, self.gearings[0]).flat.v * KM_H

    def figures(self, z: Floats) -> list[Figures]:
        """The figures of each gearing at a point."""
        rides = [self.ride(z, per_turn) for per_turn in self.gearings]
        return [figures_of(ride, rides[0]) for ride in rides]

    def ranges(self, z: Floats, runs: Sequence[tuple[Floats, Floats]]) -> list[dict[str, Range]]:
        """Each figure at a point, with the range that pairs of runs leave it."""
        middle = self.figures(z)
        ends = [[self.figures(end) for end in pair] for pair in runs]
        return [
            ranges_of(each, [[end[place] for end in pair] for pair in ends])
            for place, each in enumerate(middle)
        ]

    @cached_property
    def plain_runs(self) -> list[tuple[Floats, Floats]]:
        """One input at a time at either end."""
        return [(-2 * row, 2 * row) for row in np.eye(len(self.keys))]


def split(level: float, share: float, loaded: float) -> dict[str, float]:
    """Drag area and rolling coefficient of a load at 65 km/h, and the rolling's share of it."""
    rolling = min(share, 1.0) * level
    air = (level - rolling) / (65 / KM_H) ** 2
    return {"drag_area": 2 * air / 1.225, "rolling": rolling / (loaded * G)}


def figures_of(ride: Ride, now: Ride) -> Figures:
    """Every figure of one gearing that has a range."""
    each = ride.s / (60 * ride.high) * KM_H
    tops = {
        "flat": ride.flat,
        "headwind": ride.top(ride.load(WIND)),
        "uphill": ride.top(ride.load(0.0, SLOPE)),
        "behind": ride.top(ride.load(-WIND)),
        "now": now.flat,
    }
    found = {f"top.{name}": top.v * KM_H for name, top in tops.items()}
    found |= {
        "peak.flat": Peak(ride, ride.load(), ride.flat),
        "peak.headwind": Peak(ride, ride.load(WIND), tops["headwind"]),
        "peak.uphill": Peak(ride, ride.load(0.0, SLOPE), tops["uphill"]),
        "peak.behind": Peak(ride, ride.load(-WIND), tops["behind"]),
        "peak.now": Peak(now, now.load(), now.flat),
    }
    found |= {
        "km_h_per_1000_rpm": 1000 * each,
        "paper_top_km_h": ride.peak * each,
        "rev_limit_km_h": ride.end * KM_H,
        "rev_limit_change_km_h": (ride.end - now.flat.v) * KM_H,
        "top_change_km_h": (ride.flat.v - now.flat.v) * KM_H,
        "start.force_n": ride.pull[0],
        "start.change_percent": 100 * (ride.pull[0] / now.pull[0] - 1),
        "start.gradient_percent": ride.steepest[0] * 100,
        "times_s.to_200_m": ride.time_over(200.0),
        "times_s.to_95_percent_of_top": ride.time_to(0.95 * ride.flat.v),
        "share.revs": shared_revs(ride, ride.flat.v),
        "share.behind": shared_revs(ride, tops["behind"].v),
        "share.gained": shared_gain(ride, now),
    }
    for name, km_h in TIMES.items():
        found[f"times_s.{name}"] = ride.time_to(km_h / KM_H)
    return found


def shared_revs(ride: Ride, v: float) -> float:
    """Engine speed in the top ratio over peak-power speed, or rev limit if lower."""
    return v / ride.speed_at(min(ride.peak, ride.rev_limit), ride.high)


def shared_gain(ride: Ride, now: Ride) -> float:
    """Gain in top speed over gain on paper of a taller gearing."""
    promised = ride.s / now.s - 1
    if not now.flat.v or promised <= 0:
        return 0.0
    return (ride.flat.v / now.flat.v - 1) / promised


@dataclass(frozen=True)
class Peak:
    """A top speed of one run, and whether that of another lies on another peak."""

    ride: Ride
    load: Load
    top: Top

    @property
    def out(self) -> bool:
        """Whether a variator counts as fully out."""
        return self.top.rpm > (self.ride.shift + self.ride.peak) / 2

    def jumps(self, other: Peak) -> bool:
        slower, faster = sorted((self, other), key=lambda each: each.top.v)
        if (faster.top.v - slower.top.v) * KM_H < 2:
            return False
        if self.ride.variator:
            return self.out != other.out
        return slower.top.v > 0 and faster.dips_from(slower.top.rpm / slower.ride.peak)

    def dips_from(self, share: float) -> bool:
        """Whether a point of the curve has less power left over than 2 km/h further on."""
        step = 2 / KM_H
        for rpm in self.ride.rpm[self.ride.rpm >= share * self.ride.peak]:
            v = self.ride.speed_at(rpm, self.ride.high)
            here, further = (self.ride.thrust_at(at) - self.load.at(at) for at in (v, v + step))
            if v + step <= self.top.v and further > here:
                return True
        return False


def ranges_of(middle: Figures, ends: Sequence[Sequence[Figures]]) -> dict[str, Range]:
    """The range of each figure from pairs of runs."""

    def jumps(end: Figures, key: str) -> bool:
        return any(middle[f"peak.{top}"].jumps(end[f"peak.{top}"]) for top in RESTS_ON.get(key, ()))

    found = {
        key: combine(
            key,
            value,
            [[end[key] for end in pair] for pair in ends],
            [[jumps(end, key) for end in pair] for pair in ends],
        )
        for key, value in middle.items()
        if not key.startswith("peak.")
    }
    found["unbound.flat"] = found["top.flat"]
    for key in ("top.flat", "top.headwind", "top.uphill"):
        found[key] = capped(found[key], found["rev_limit_km_h"].high)
    others = [end["top.flat"] for pair in ends for end in pair if jumps(end, "top.flat")]
    found["other.flat"] = Range(*[sum(others) / len(others) if others else math.nan] * 3)
    highest = found["rev_limit_change_km_h"].high
    found["top_change_km_h"] = capped(found["top_change_km_h"], highest)
    return found


def combine(
    key: str, value: float, ends: Sequence[Sequence[float]], jumps: Sequence[Sequence[bool]]
) -> Range:
    """A range: effects upward and downward, each by the root of the sum of squares."""
    logs = key.startswith("times_s")
    if not math.isfinite(value) or (logs and value <= 0):
        return Range(value, value, value)
    moved = [[math.log(end / value) if logs else end - value for end in pair] for pair in ends]
    up = math.hypot(*(max(0.0, *pair) for pair in moved))
    down = math.hypot(*(max(0.0, *(-move for move in pair)) for pair in moved))
    if logs:
        return Range(value, value * math.exp(-down), value * math.exp(up))
    low, high = value - down, value + up
    jumped = [
        end
        for pair, jump in zip(ends, jumps, strict=True)
        for end, is_ in zip(pair, jump, strict=True)
        if is_
    ]
    if jumped:
        rest = [
            [0.0 if is_ else move for move, is_ in zip(pair, jump, strict=True)]
            for pair, jump in zip(moved, jumps, strict=True)
        ]
        up = math.hypot(*(max(0.0, *pair) for pair in rest))
        down = math.hypot(*(max(0.0, *(-move for move in pair)) for pair in rest))
        low = max(low, min(value, *jumped) - down)
        high = min(high, max(value, *jumped) + up)
    if not key.endswith(("change_km_h", "change_percent")):
        low = max(low, 0.0)
    return Range(value, low, high)


def capped(range_: Range, high: float) -> Range:
    return Range(range_.value, range_.low, max(range_.value, min(range_.high, high)))


def verdict(figures: Mapping[str, Range], end: str = "value") -> str:
    """Whether the engine pulls a gearing."""
    start, revs, behind, gained = (
        getattr(figures[key], end)
        for key in ("start.gradient_percent", "share.revs", "share.behind", "share.gained")
    )
    if start < 5:
        return "will not pull it"
    if revs >= 0.97 or gained >= 0.5:
        return "pulls it"
    return "only with a tailwind" if behind >= 0.97 else "will not pull it"


@dataclass(frozen=True)
class Reading:
    """A measured top speed, km/h, or the range that a shown one leaves."""

    low: float
    high: float

    @classmethod
    def shown(cls, km_h: float) -> Reading:
        """UN Regulation No. 39, 5.3."""
        return cls((km_h - 4) / 1.1, km_h)

    def miss(self, top: float) -> float:
        return max(self.low - top, 0.0) - max(top - self.high, 0.0)

    def bounded(self, range_: Range) -> Range:
        """The range of the present top speed, no wider than a shown one allows."""
        low = max(range_.low, min(self.low - 2 * GPS, range_.value))
        return Range(range_.value, low, min(range_.high, max(self.high + 2 * GPS, range_.value)))

    def distance(self, study: Study, z: Floats) -> float:
        """J: how unlikely inputs and reading are together."""
        return float(z @ z + (self.miss(study.top_now(z)) / GPS) ** 2)


def slopes(study: Study, z: Floats, step: float) -> Floats:
    """Change of the present top speed with each input, km/h a standard deviation."""
    rows = np.eye(len(z)) * step
    return np.array(
        [(study.top_now(z + row) - study.top_now(z - row)) / (2 * step) for row in rows]
    )


def calibrate(study: Study, reading: Reading) -> Floats:
    """The most probable inputs.

    At the least J, z is a mixture of the slopes on all sides of it. So from several starts: a
    search by scipy over the last four slopes met, until nothing is gained.
    """
    size = len(study.keys)
    starts = [sign * row * 2 for row in np.eye(size) for sign in (-1, 1)]
    best: dict[str, Floats] = {}
    for start in starts:
        limit = study.ride(start, study.gearings[0]).flat.limit
        if limit not in best or reading.distance(study, start) < reading.distance(
            study, best[limit]
        ):
            best[limit] = start
    found = [descend(study, reading, start) for start in (np.zeros(size), *best.values())]
    return min(found, key=lambda z: reading.distance(study, z))


def descend(study: Study, reading: Reading, z: Floats) -> Floats:
    """The least J near a start."""
    met: list[Floats] = []
    least = reading.distance(study, z)
    for _ in range(8):
        met = [*met, slopes(study, z, 1e-3)][-4:]
        basis = np.linalg.svd(np.array([*met, z]), full_matrices=False)
        rows = basis.Vh[1e-9 * basis.S[0] < basis.S] if basis.S[0] else np.zeros((0, len(z)))
        if not len(rows):
            return z
        result = minimize(
            lambda share, rows=rows: reading.distance(study, share @ rows),
            rows @ z,
            method="Nelder-Mead",
            options={"xatol": 1e-4, "fatol": 1e-7, "maxfev": 200},
        )
        if result.fun > least - 1e-6:
            break
        z, least = result.x @ rows, result.fun
    return z


def measured_top(study: Study, z: Floats) -> Range:
    """The range of the present top speed after a measured one: what both leave of it together."""
    before = study.ranges(np.zeros(len(z)), study.plain_runs)[0]["unbound.flat"]
    half = (before.high - before.low) / 2
    top, half = study.top_now(z), half * 2 * GPS / math.hypot(half, 2 * GPS)
    return Range(top, top - half, top + half)


def calibrated_runs(study: Study, z: Floats) -> tuple[list[tuple[Floats, Floats]], Floats]:
    """Runs along the columns of the root of what is left of the spreads, and the share left."""
    g = slopes(study, z, 2.0)
    size = float(np.linalg.norm(g))
    u = g / size if size else g
    q = GPS / math.hypot(size, GPS)
    runs = []
    for place, row in enumerate(np.eye(len(z))):
        move = 2 * (row - (1 - q) * u[place] * u)
        pair = [z - move, z + move]
        top = study.top_now(z)
        runs.append(tuple(end if abs(study.top_now(end) - top) <= 3 else z for end in pair))
    return runs, np.sqrt(1 - (1 - q**2) * u**2)
