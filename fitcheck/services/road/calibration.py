"""A measured top speed moves all inputs, each as far as its spread allows; what is left in doubt.

Inputs are counted in standard deviations z from their values, half-widths being two of them, and
the reading has a standard deviation of its own. The inputs taken are the most probable ones:
those with the least |z|² + (miss / deviation of the reading)². The runs for the ranges follow the
covariance that is left. docs/road-model.md has all of it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import hypot, sqrt
from typing import Any

import numpy as np

from fitcheck.errors import UsageError
from fitcheck.kernel.road.balance import TopSpeed, top_speed
from fitcheck.kernel.road.spread import combined, true_range
from fitcheck.services.counter.audience import around
from fitcheck.services.road.defaults import GPS_KM_H, INPUTS
from fitcheck.services.road.figures import Given, RoadAsked
from fitcheck.services.road.inputs import Calibration, Inputs, Values
from fitcheck.services.road.loads import BY_SPLIT, drag_and_rolling
from fitcheck.services.road.sweep import KMH, setup_of

_DEVIATION = GPS_KM_H / 2
"""Standard deviation of a reading, km/h."""

_EXPLAINED = 3.0
"""Standard deviations that reading and files may be apart; common practice."""

_CONTRADICTS = 3 * GPS_KM_H
"""km/h by which the present speed of a run may miss the calibrated one."""

_FURTHEST = 6.0
"""Standard deviations, all inputs together, over which no step goes: values stay over 0."""

_SCANNED = (-3.0, -2.0, -1.0, 1.0, 2.0, 3.0)
_STEP = 1e-4
_SETTLED = 1e-9
_ROUNDS = 50
_HALVINGS = 6
_KEPT, _STALLS = 6, 1
"""Straight lines kept, and how often lines beyond a kink are met before steps end."""

_SEARCHED, _MOVES, _FIRST_EDGE, _FLAT = 3, 150, 0.6, 1e-6
"""Points searched on by simplex; its most moves, first edge in standard deviations, and end."""

_ALIKE = 1e-3
"""Share under which slopes differ by nothing that counts."""

_MOVED = 0.01
"""Standard deviations from which on an input is said to be calibrated."""

_NAMED, _MOST_NAMED = 0.1, 3
"""Standard deviations from which on it is named in words, and how many are at most."""

Vector = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Reading:
    """A top speed as measured: somewhere from `low` to `high`, km/h; both the same for a GPS."""

    low: float
    high: float
    words: str

    @property
    def is_exact(self) -> bool:
        return self.low == self.high

    def target(self, speed: float) -> float:
        """What it may be that is nearest to a speed."""
        return min(max(speed, self.low), self.high)


@dataclass(frozen=True, slots=True)
class _Point:
    """Inputs in standard deviations, the top speed there, and how improbable both are."""

    z: Vector
    speed: float
    limit: str
    cost: float


@dataclass(frozen=True, slots=True)
class _Line:
    """The top speed as a straight line: `start` + `slopes` · z."""

    start: float
    slopes: Vector


class _Machine:
    """The present top speed as a function of the inputs in standard deviations."""

    def __init__(self, inputs: Inputs, reduction: float, reading: _Reading) -> None:
        self._inputs = inputs
        self._reduction = reduction
        self._reading = reading
        self.keys = tuple(key for key, given in inputs.givens.items() if given.spread > 0)
        self.still = (0.0,) * len(self.keys)

    def values(self, z: Vector) -> Values:
        """Values of all inputs."""
        givens = self._inputs.givens
        moved = {
            key: givens[key].value + each * givens[key].spread / 2
            for key, each in zip(self.keys, z, strict=True)
        }
        if "efficiency" in moved:
            moved["efficiency"] = min(moved["efficiency"], 1.0)
        return {**self._inputs.values, **moved}

    def name(self, key: str) -> str:
        """What an input is called."""
        return self._inputs.givens[key].name

    def top(self, z: Vector) -> TopSpeed:
        """The balance on the flat with the present gearing."""
        values = self.values(z)
        metres = values["roll_out"] / 1000 / self._reduction
        return top_speed(setup_of(self._inputs, values), metres)

    def speed(self, z: Vector) -> float:
        """The same as a speed, km/h."""
        return KMH * self.top(z).speed_m_s

    def point(self, z: Vector) -> _Point:
        top = self.top(z)
        speed = KMH * top.speed_m_s
        miss = (self._reading.target(speed) - speed) / _DEVIATION
        return _Point(z, speed, top.limit, _dot(z, z) + miss * miss)

    def slopes(self, z: Vector, step: float) -> Vector:
        """km/h a standard deviation of each input, by central differences."""
        return tuple(
            (self.speed(_plus(z, step, unit)) - self.speed(_plus(z, -step, unit))) / (2 * step)
            for unit in self.units()
        )

    def lines(self, point: _Point) -> list[_Line]:
        """The top speed by its slopes at a point, upward and downward; one where they agree."""
        found: list[_Line] = []
        for step in (_STEP, -_STEP):
            slopes = tuple(
                (self.speed(_plus(point.z, step, unit)) - point.speed) / step
                for unit in self.units()
            )
            if not found or hypot(*_plus(slopes, -1.0, found[0].slopes)) > _ALIKE * hypot(*slopes):
                found.append(_Line(point.speed - _dot(slopes, point.z), slopes))
        return found

    def units(self) -> Iterator[Vector]:
        """One input moved by one standard deviation, for each."""
        for place in range(len(self.keys)):
            yield tuple(float(place == other) for other in range(len(self.keys)))


def calibrate(inputs: Inputs, reduction: float, asked: RoadAsked) -> Inputs:
    """The inputs as a measured top speed leaves them; as they are where nothing was measured.

    Args:
        inputs: the machine.
        reduction: its present overall reduction.
        asked: what was measured.

    Raises:
        UsageError: the spreads of the inputs do not explain the measured speed.
    """
    reading = _reading(asked)
    if reading is None:
        return inputs
    machine = _Machine(inputs, reduction, reading)
    start = machine.point(machine.still)
    if start.cost == 0 and not reading.is_exact:
        words = f"The model's {start.speed:.0f} km/h agrees with {reading.words}: no input is set."
        band = (reading.low - GPS_KM_H, reading.high + GPS_KM_H)
        return replace(inputs, calibration=Calibration(words, None, band, is_exact=False))
    found = _most_probable(machine, start, reading)
    if found.cost > _EXPLAINED**2:
        raise UsageError(_refusal(machine, start, found, reading))
    band = _band(machine, start, found, reading)
    slopes = machine.slopes(found.z, 2.0) if reading.is_exact else machine.still
    ends, notes = _ends(machine, found, slopes, reading)
    givens = _move_inputs(inputs, machine, found.z, slopes, reading)
    words = _words(inputs, givens, machine, found, reading)
    return replace(
        inputs,
        givens=givens,
        notes=(*inputs.notes, *_out_of_bounds(inputs, givens), *notes),
        calibration=Calibration(words, ends, band, reading.is_exact),
    )


def _reading(asked: RoadAsked) -> _Reading | None:
    if asked.measured_top_km_h is not None:
        speed = asked.measured_top_km_h
        return _Reading(speed, speed, f"the measured {speed:g} km/h")
    if asked.shown_top_km_h is not None:
        low, high = true_range(asked.shown_top_km_h)
        words = (
            f"{low:.0f} to {high:.0f} km/h, which a speedometer may show as "
            f"{asked.shown_top_km_h:g} (UN R39)"
        )
        return _Reading(low, high, words)
    return None


def _most_probable(machine: _Machine, start: _Point, reading: _Reading) -> _Point:
    """The inputs of least cost.

    The top speed turns over, so steps start from several places: as it is on file, and for each
    limit met by the best of single inputs moved. It has kinks and jumps too, on which steps may
    stop: the best are searched on.
    """
    best: dict[str, _Point] = {}
    for unit in machine.units():
        for amount in _SCANNED:
            point = machine.point(_plus(machine.still, amount, unit))
            if point.limit not in best or point.cost < best[point.limit].cost:
                best[point.limit] = point
    settled = [_settle(machine, point, reading) for point in (start, *best.values())]
    settled.sort(key=lambda one: one[0].cost)
    last = [lines[-1] for _, lines in settled]
    found = [_search(machine, point, [*lines, *last]) for point, lines in settled[:_SEARCHED]]
    return min(found, key=lambda point: point.cost)


def _search(machine: _Machine, point: _Point, lines: Sequence[_Line]) -> _Point:
    """The least cost near a point, where it is a mixture of slopes: simplex of Nelder and Mead."""
    rows = np.array([point.z, *(line.slopes for line in lines)])
    _, sizes, basis = np.linalg.svd(rows, full_matrices=False)
    basis = basis[sizes > _ALIKE * sizes[0]]

    def at(place: Any) -> tuple[float, _Point]:
        found = machine.point(_limit(tuple((place @ basis).tolist())))
        return found.cost, found

    origin = basis @ np.array(point.z)
    corners = [origin + row for row in _FIRST_EDGE * np.eye(len(basis))]
    simplex = [(point.cost, point, origin), *((*at(place), place) for place in corners)]
    for _ in range(_MOVES):
        simplex.sort(key=lambda corner: corner[0])
        least, worst = simplex[0], simplex[-1]
        if worst[0] - least[0] < _FLAT:
            break
        middle = np.mean([corner[2] for corner in simplex[:-1]], axis=0)

        def move(by: float, middle: Any = middle, worst: Any = worst[2]) -> Any:
            place = middle + by * (middle - worst)
            return (*at(place), place)

        new = move(1.0)
        if new[0] < least[0]:
            new = min(new, move(2.0), key=lambda corner: corner[0])
        elif new[0] >= simplex[-2][0]:
            new = move(0.5 if new[0] < worst[0] else -0.5)
            if new[0] >= worst[0]:
                halves = [(corner[2] + least[2]) / 2 for corner in simplex[1:]]
                simplex = [least, *((*at(place), place) for place in halves)]
                continue
        simplex[-1] = new
    return min(simplex, key=lambda corner: corner[0])[1]


def _settle(machine: _Machine, point: _Point, reading: _Reading) -> tuple[_Point, Sequence[_Line]]:
    """Gauss-Newton steps with the last straight lines kept for the next: their end, and those.

    The top speed has kinks. Where no step gains, the lines at the end of the best one are on the
    other side of a kink, and are met too.
    """
    lines: deque[_Line] = deque(maxlen=_KEPT)
    stalled, met = 0, point
    for _ in range(_ROUNDS):
        lines.extend(machine.lines(met))
        target = reading.target(point.speed)
        steps = (machine.point(_limit(z)) for z in _candidates(lines, target))
        step = met = min(steps, key=lambda one: one.cost)
        for _ in range(_HALVINGS):
            if step.cost < point.cost - _SETTLED:
                break
            step = machine.point(_scale(_plus(point.z, 1.0, step.z), 0.5))
        if step.cost < point.cost - _SETTLED:
            point = met = step
            stalled = 0
        elif stalled == _STALLS:
            break
        else:
            stalled += 1
    return point, lines


def _candidates(lines: Iterable[_Line], target: float) -> Iterator[Vector]:
    """Points of least cost on each line, and on each plane where two lines agree."""
    known = list(lines)
    for line in known:
        weight = _dot(line.slopes, line.slopes) + _DEVIATION**2
        yield _scale(line.slopes, (target - line.start) / weight)
    for one, other in combinations(known, 2):
        apart = _plus(one.slopes, -1.0, other.slopes)
        square = _dot(apart, apart)
        if square < _SETTLED:
            continue
        foot = _scale(apart, (other.start - one.start) / square)
        along = _plus(one.slopes, -_dot(one.slopes, apart) / square, apart)
        miss = target - one.start - _dot(one.slopes, foot)
        yield _plus(foot, miss / (_dot(along, along) + _DEVIATION**2), along)


def _band(
    machine: _Machine, start: _Point, found: _Point, reading: _Reading
) -> tuple[float, float]:
    """The range of the present top speed by an exact reading, or what a range of speeds allows."""
    if not reading.is_exact:
        return (
            min(found.speed, reading.low - GPS_KM_H),
            max(found.speed, reading.high + GPS_KM_H),
        )
    low, high = _range_on_file(machine, start)
    half = (high - low) / 2
    half *= GPS_KM_H / hypot(half, GPS_KM_H)
    return found.speed - half, found.speed + half


def _range_on_file(machine: _Machine, start: _Point) -> tuple[float, float]:
    """The range of the present top speed before it was measured."""
    ends = [
        (machine.speed(_scale(unit, -2.0)), machine.speed(_scale(unit, 2.0)))
        for unit in machine.units()
    ]
    return combined(start.speed, ends)


def _ends(
    machine: _Machine, found: _Point, slopes: Vector, reading: _Reading
) -> tuple[tuple[tuple[Values, Values], ...], list[str]]:
    """Both runs for the range of each input, and what is said of those left out.

    An input goes to its end and all go along the slopes to make up for it: the columns of the
    symmetric root of the covariance that is left, two standard deviations long.
    """
    length = hypot(*slopes)
    middle = machine.values(found.z)
    ends, dropped = [], []
    for key, unit, slope in zip(machine.keys, machine.units(), slopes, strict=True):
        shrink = 0.0 if length == 0 else (1 - _left(length)) * slope / length**2
        column = _plus(unit, -shrink, slopes)
        pair = [_plus(found.z, amount, column) for amount in (-2.0, 2.0)]
        runs = [machine.values(z) for z in pair]
        if reading.is_exact:
            for side, (z, end) in enumerate(zip(pair, ("low", "high"), strict=True)):
                if abs(machine.speed(z) - found.speed) > _CONTRADICTS:
                    runs[side] = middle
                    dropped.append((key, end))
        ends.append((runs[0], runs[1]))
    notes = [
        f"With {machine.name(key)} at its {end} end the model cannot do {reading.words}: that run "
        "is left out of the ranges."
        for key, end in dropped
    ]
    return tuple(ends), notes


def _left(length: float) -> float:
    """Share of the doubt along the slopes that the reading leaves."""
    return _DEVIATION / hypot(length, _DEVIATION)


def _move_inputs(
    inputs: Inputs, machine: _Machine, z: Vector, slopes: Vector, reading: _Reading
) -> dict[str, Given]:
    """The inputs moved, with what is left of their spreads."""
    givens = dict(inputs.givens)
    values = machine.values(z)
    length = hypot(*slopes)
    for key, each, slope in zip(machine.keys, z, slopes, strict=True):
        before = givens[key]
        known = 0.0 if length == 0 else (1 - _left(length) ** 2) * (slope / length) ** 2
        given = replace(before, value=values[key], spread=before.spread * sqrt(1 - known))
        if abs(each) >= _MOVED:
            moved = f"moved from {_figure(before.value)} by {reading.words}; "
            words = around(before.source, moved)
            given = replace(given, kind="calibrated", before=before.value, source=words)
        givens[key] = given
    return givens


def _words(
    inputs: Inputs, givens: dict[str, Given], machine: _Machine, found: _Point, reading: _Reading
) -> str:
    """Which inputs moved most, from what to what, and how far the model now is from the reading."""
    most = sorted(zip(machine.keys, found.z, strict=True), key=lambda one: -abs(one[1]))
    named = [
        f"{inputs.givens[key].name} from {_figure(inputs.givens[key].value)} to "
        f"{_with_unit(givens[key].value, givens[key].unit)}"
        for key, each in most[:_MOST_NAMED]
        if abs(each) >= _NAMED
    ]
    after = f"the model now gives {found.speed:.1f} km/h for {reading.words}"
    if not named:
        return f"No input moves by much: {after}."
    return (
        f"All inputs are moved, each as far as its spread allows: {after}. Moved most: "
        f"{'; '.join(named)}."
    )


def _out_of_bounds(inputs: Inputs, givens: dict[str, Given]) -> Iterator[str]:
    """A warning for each input moved out of what is cited for it, or further out.

    Drag area and rolling coefficient are looked at too where they follow from the road load.
    """
    moved = {key for key, given in givens.items() if given.kind == "calibrated"}
    if not moved.isdisjoint(BY_SPLIT):
        moved |= {"drag_area", "rolling"}
    before, after = (
        {**values, **drag_and_rolling(values, inputs.loaded_kg)}
        for values in (inputs.values, {key: given.value for key, given in givens.items()})
    )
    for key, (low, high) in inputs.cited.items():
        out, was_out = (max(low - one[key], one[key] - high, 0.0) for one in (after, before))
        if out > was_out and key in moved:
            kind = INPUTS[key]
            yield (
                f"The measured speed moves {kind.name} to {_with_unit(after[key], kind.unit)}, "
                f"outside the {low:.3g} to {high:.3g} that are cited for it: check the engine's "
                "figures, the counted teeth and how the speed was measured."
            )


def _refusal(machine: _Machine, start: _Point, found: _Point, reading: _Reading) -> str:
    """Why a reading is refused, and by how much the model misses it."""
    low, high = _range_on_file(machine, start)
    length = hypot(*found.z)
    furthest = machine.speed(_scale(found.z, _EXPLAINED / length if length else 0.0))
    miss = reading.target(furthest) - furthest
    return (
        f"{reading.words} cannot be explained within the spreads of the inputs: with what is on "
        f"file this machine does {start.speed:.0f} ({low:.0f} to {high:.0f}) km/h, and with all "
        f"inputs moved towards it, {_EXPLAINED:g} standard deviations together, "
        f"{furthest:.0f} km/h, still {abs(miss):.1f} {'short of it' if miss > 0 else 'over it'}; "
        "check the engine's figures, the counted teeth and how the speed was measured"
    )


def _figure(value: float) -> str:
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"


def _with_unit(value: float, unit: str) -> str:
    return f"{_figure(value)} {unit.replace('1/min', 'rpm')}".rstrip()


def _dot(one: Vector, other: Vector) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def _plus(one: Vector, amount: float, other: Vector) -> Vector:
    return tuple(a + amount * b for a, b in zip(one, other, strict=True))


def _scale(one: Vector, amount: float) -> Vector:
    return tuple(amount * each for each in one)


def _limit(one: Vector) -> Vector:
    length = hypot(*one)
    return _scale(one, _FURTHEST / length) if length > _FURTHEST else one
