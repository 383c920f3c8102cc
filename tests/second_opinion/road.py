"""The road model a second time: its equations as docs/road-model.md gives them.

Nothing of fitcheck is used. Balances are looked for on a grid and closed in by scipy's `brentq`;
times are Gauss-Legendre sums over cells that shrink towards the balance.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

Floats = NDArray[np.float64]
Inputs = Mapping[str, float]

G = 9.80665
GAS = 287.05287
KM_H = 3.6
WIND = 20 / KM_H
SLOPE = 0.05
FRICTION, ON_DRIVEN, HEIGHT = 0.8, 0.6, 0.65 / 1.25
# Figure F98-9 of 40 CFR 86.529-98: equivalent mass, A, C; read.
FIGURE = Path(__file__).parents[1] / "kernel" / "road" / "figure_f98_9.csv"
COLUMNS = ("equiv_inertial_mass_kg", "A_N", "C_N_per_(km/h)2")
with FIGURE.open(encoding="utf-8") as rows:
    MASSES, CONSTANTS, SQUARES = np.array(
        [[float(row[name]) for name in COLUMNS] for row in csv.DictReader(rows)]
    ).T
NODES, WEIGHTS = np.polynomial.legendre.leggauss(10)
BELOW = 1 - 1e-13


def air_of(altitude_m: float | None, celsius: float | None) -> tuple[float, float]:
    """Density, kg/m³, and the share of its power that an engine keeps."""
    kelvin = 288.15 - 0.0065 * (altitude_m or 0.0)
    pressure = 101_325 * (kelvin / 288.15) ** (G / (GAS * 0.0065))
    if celsius is not None:
        kelvin = celsius + 273.15
    kept = (pressure / 101_325) ** 1.2 * (288.15 / kelvin) ** 0.6
    return pressure / (GAS * kelvin), kept


def load_by_mass(mass_kg: float) -> tuple[float, float]:
    """Drag area, m², and rolling coefficient of both wheels by the loaded mass."""
    if 100 <= mass_kg <= 340:
        constant = float(np.interp(mass_kg, MASSES, CONSTANTS))
        square = float(np.interp(mass_kg, MASSES, SQUARES))
    else:
        constant = max(0.0, 0.0874 * mass_kg - 8.79)
        square = 0.0224 + 0.0000275 * (mass_kg - 100)
    air = (constant + 65**2 * square - 0.088 * mass_kg) / 65**2
    return 2 * KM_H**2 * air / 1.225, 0.088 / G + 0.015 * 0.6


def default_shape() -> tuple[Floats, Floats]:
    """Power over peak power at speeds over peak-power speed, in steps of 0.02 to its zero."""
    x = np.append(np.arange(10, 81) / 50, (1 + math.sqrt(5)) / 2)
    return x, np.append((x + x**2 - x**3)[:-1], 0.0)


@dataclass(frozen=True)
class Load:
    """What the road takes, N."""

    rolling_n: float
    drag: float
    weight_n: float
    wind: float = 0.0
    slope: float = 0.0

    @cached_property
    def fixed(self) -> float:
        angle = math.atan(self.slope)
        return self.rolling_n * math.cos(angle) + self.weight_n * math.sin(angle)

    def at(self, v: float) -> float:
        return self.fixed + self.drag * (v + self.wind) * abs(v + self.wind)

    def over(self, v: Floats) -> Floats:
        return np.asarray(self.fixed + self.drag * (v + self.wind) * np.abs(v + self.wind))


@dataclass(frozen=True)
class Top:
    """The speed reached from standstill, m/s, and the highest one held."""

    v: float
    rpm: float
    limit: str
    held: float


def cut(edges: Floats, parts: int) -> Floats:
    """The pieces between edges in equal cells, so that there are some `parts` in all."""
    if len(edges) < 2:
        return edges
    width = np.diff(edges)
    cells = 2 + (parts * width / edges[-1]).astype(int)
    place = np.arange(cells.sum()) - np.repeat(np.cumsum(cells) - cells, cells)
    starts = np.repeat(edges[:-1], cells) + np.repeat(width / cells, cells) * place
    return np.append(starts, edges[-1])


def least(engine: float, grip: float, wheel: float) -> tuple[float, str | None]:
    """The least of three, and its name where it is not the engine."""
    if engine <= min(grip, wheel):
        return engine, None
    return min((grip, "grip"), (wheel, "front wheel"))


class Ride:
    """One machine with one gearing: what its inputs make it do."""

    def __init__(
        self,
        inputs: Inputs,
        shape: tuple[Floats, Floats],
        per_turn: float,
        air: tuple[float, float],
    ) -> None:
        """`per_turn`: turns of the wheel a turn of the gearbox input, times new over old tyre."""
        self.s = inputs["roll_out"] / 1000 * per_turn
        self.peak = inputs["peak_rpm"]
        self.rpm = shape[0] * self.peak
        self.power = shape[1] * inputs["peak_power"] * 1000 * air[1]
        self.rev_limit = inputs["rev_limit"]
        self.variator = "high_ratio" in inputs
        self.low = inputs["low_ratio"]
        self.high = min(inputs.get("high_ratio", self.low), self.low)
        self.shift = min(inputs["shift_rpm"], self.rev_limit) if self.variator else math.inf
        self.engage = min(inputs["engage_rpm"], self.shift, self.rev_limit)
        self.efficiency = min(inputs["efficiency"], 1.0)
        self.mass = inputs["running_order"] + inputs["rider"]
        self.turning = inputs["turning"]
        self.inertia = inputs["engine_inertia"]
        self.rolling_n = inputs["rolling"] * self.mass * G
        self.drag = air[0] * inputs["drag_area"] / 2
        self.last = min(self.rev_limit, float(self.rpm[-1]))
        self.closed = self.speed_at(self.engage, self.low)
        self.end = self.speed_at(self.last, self.high)

    def speed_at(self, rpm: float, ratio: float) -> float:
        return rpm * self.s / (60 * ratio)

    def load(self, wind: float = 0.0, slope: float = 0.0) -> Load:
        return Load(self.rolling_n, self.drag, self.mass * G, wind, slope)

    def engine_power(self, rpm: Floats) -> Floats:
        """Full-throttle power, W: torque constant below the first point, none above the last."""
        table = np.interp(rpm, self.rpm, self.power, right=0.0)
        return np.where(rpm < self.rpm[0], self.power[0] * rpm / self.rpm[0], table)

    def engine_speed(self, v: Floats) -> Floats:
        """Engine speed under full throttle, 1/min."""
        low = 60 * v * self.low / self.s
        high = 60 * v * self.high / self.s
        if not self.variator:
            return np.maximum(low, self.engage)
        return np.where(
            low > self.shift, np.maximum(high, self.shift), np.maximum(low, self.engage)
        )

    def thrust(self, v: Floats) -> Floats:
        pull = self.efficiency * self.engine_power(self.engine_speed(v))
        return pull / np.maximum(v, self.closed)

    def thrust_at(self, v: float) -> float:
        """The same at one speed, which is asked far more often."""
        low, high = 60 * v * self.low / self.s, 60 * v * self.high / self.s
        past = self.variator and low > self.shift
        rpm = max(high, self.shift) if past else max(low, self.engage)
        first = float(self.rpm[0])
        if rpm < first:
            power = float(self.power[0]) * rpm / first
        else:
            power = float(np.interp(rpm, self.rpm, self.power, right=0.0))
        return self.efficiency * power / max(v, self.closed)

    @cached_property
    def start_n(self) -> float:
        """Pull of the engine at standstill, N."""
        return self.efficiency * float(self.engine_power(np.array(self.engage))) / self.closed

    @cached_property
    def pull(self) -> tuple[float, str | None]:
        """Pull at standstill, N, and what but the engine limits it."""
        weight, carried = self.mass * G, 1 - FRICTION * HEIGHT
        return least(
            self.start_n,
            weight * FRICTION * ON_DRIVEN / carried if carried > 0 else math.inf,
            weight * (1 - ON_DRIVEN) / HEIGHT,
        )

    @cached_property
    def steepest(self) -> tuple[float, str | None]:
        """Steepest start, rise over run, and what but the engine limits it; 0 or less: none."""
        carried, rolling = 1 - FRICTION * HEIGHT, self.rolling_n / (self.mass * G)
        sine = self.start_n / (self.mass * G) - rolling
        return least(
            math.inf if sine >= 1 else math.tan(math.asin(max(sine, -0.999))),
            (FRICTION * ON_DRIVEN - rolling) / carried if carried > 0 else math.inf,
            (1 - ON_DRIVEN) / HEIGHT,
        )

    @cached_property
    def breaks(self) -> Floats:
        """Speeds between which thrust is smooth, m/s, from standstill to the end of the revs."""
        low, high = (self.rpm * self.s / (60 * ratio) for ratio in (self.low, self.high))
        own = [0.0, self.closed, self.end]
        if self.variator:
            own += [self.speed_at(self.shift, ratio) for ratio in (self.low, self.high)]
        points = np.unique(np.concatenate([own, low, high]))
        return points[points <= self.end]

    @cached_property
    def grid(self) -> tuple[Floats, Floats]:
        """Speeds and thrust at them; just below, as there is none past the end of the revs."""
        v = cut(self.breaks, 160) * BELOW
        return v, self.thrust(v)

    def top(self, load: Load) -> Top:
        v, thrust = self.grid
        if 0 < -load.wind < self.end:
            v = cut(np.unique(np.append(self.breaks, -load.wind)), 160) * BELOW
            thrust = self.thrust(v)
        over = thrust - load.over(v)

        def surplus(at: float) -> float:
            return self.thrust_at(at) - load.at(at)

        falls = np.flatnonzero((over[:-1] > 0) & (over[1:] <= 0))
        roots = [brentq(surplus, v[at], v[at + 1], xtol=1e-13) for at in falls]
        roots += [float(self.end)] if over[-1] > 0 else []
        if self.start_n <= load.at(0.0) * (1 + 1e-6):
            return Top(0.0, 0.0, "start", [0.0, *roots][-1])
        reached = roots[0]
        rpm = float(self.engine_speed(np.array(reached)))
        top_ratio = not self.variator or 60 * reached * self.high / self.s >= self.shift * BELOW
        if reached == self.end:
            limit = "revs"
        else:
            limit = "ratio" if top_ratio and rpm > self.peak else "power"
        return Top(reached, rpm, limit, roots[-1])

    @cached_property
    def flat(self) -> Top:
        return self.top(self.load())

    def ratio_at(self, v: float) -> float:
        """Ratio of the variator at a road speed."""
        return float(self.engine_speed(np.array(v))) * self.s / (60 * v)

    def slowness(self, v: Floats) -> Floats:
        """Time over a rise in speed, s²/m."""
        low = 60 * v * self.low / self.s
        high = 60 * v * self.high / self.s
        ratio = np.where((low >= self.engage) & (low <= self.shift), self.low, 0.0)
        if self.variator:
            ratio = np.where(high >= self.shift, self.high, ratio)
        spun = self.efficiency * self.inertia * (2 * math.pi * ratio / self.s) ** 2
        return (self.mass + self.turning + spun) / (self.thrust(v) - self.load().over(v))

    @cached_property
    def run(self) -> tuple[Floats, Floats, Floats, float]:
        """Speeds, times and distances from standstill; time of an e-fold of the approach, s."""
        top = self.flat
        if top.v == 0.0:
            return np.zeros(1), np.zeros(1), np.zeros(1), 0.0
        edges = self.breaks[self.breaks < top.v * BELOW]
        if top.v == self.end:
            edges = np.append(edges, top.v)
        v = [cut(edges, 12)[:-1]]
        fold = 0.0
        if top.v == self.end:
            v.append(np.array([top.v]))
        else:
            # Cells of a third of an e-fold, until a ten-millionth of the piece is missing.
            missing = (top.v - edges[-1]) * np.exp(-np.arange(48) / 3)
            v.append(top.v - missing)
            fold = float(self.slowness(v[-1][-1:])[0] * missing[-1])
        speeds = np.concatenate(v)
        half = np.diff(speeds)[:, None] / 2
        inside = speeds[:-1, None] + half * (1 + NODES)
        slow = self.slowness(inside) * half
        time = np.append(0.0, np.cumsum(slow @ WEIGHTS))
        way = np.append(0.0, np.cumsum((slow * inside) @ WEIGHTS))
        return speeds, time, way, fold

    def between(self, start: float, stop: float) -> tuple[float, float]:
        """Time and way between two near speeds."""
        half = (stop - start) / 2
        inside = start + half * (1 + NODES)
        slow = self.slowness(inside) * half
        return float(slow @ WEIGHTS), float((slow * inside) @ WEIGHTS)

    def time_to(self, v: float) -> float:
        """Seconds from standstill to a road speed, m/s; inf: never."""
        speeds, times, _, fold = self.run
        if self.flat.v == 0 or v > self.flat.v or (v == self.flat.v and fold):
            return math.inf
        at = int(np.searchsorted(speeds, v, side="right")) - 1
        if at < len(speeds) - 1:
            return float(times[at]) + self.between(float(speeds[at]), v)[0]
        if not fold:
            return float(times[at])
        return float(times[at]) + fold * math.log((self.flat.v - speeds[at]) / (self.flat.v - v))

    def time_over(self, distance: float) -> float:
        """Seconds from standstill for a distance, m; inf: it stays."""
        speeds, times, ways, _ = self.run
        if self.flat.v == 0:
            return math.inf
        if distance >= ways[-1]:
            # What it still gains is a ten-millionth of a piece.
            return float(times[-1] + (distance - ways[-1]) / self.flat.v)
        at = int(np.searchsorted(ways, distance, side="right")) - 1
        start, left = float(speeds[at]), distance - ways[at]
        v = brentq(lambda v: self.between(start, v)[1] - left, start, float(speeds[at + 1]))
        return float(times[at]) + self.between(start, v)[0]
