"""A measured top speed sets the one least-known input, and the ranges narrow with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from fitcheck.errors import UsageError
from fitcheck.kernel.road.performance import top_speed
from fitcheck.kernel.speedometer import true_range
from fitcheck.services.road.asked import RoadAsked
from fitcheck.services.road.defaults import GPS_KM_H
from fitcheck.services.road.inputs import Inputs
from fitcheck.services.road.sweep import KMH, setup_of

__all__ = ["Calibration", "calibrated"]

_REACHES = (3.0, 5.0)
"""An input is moved by up to so many of its spreads to meet a measured speed: first, at last."""

_ENOUGH = 1e-7
"""km/h between the measured speed and the model's that needs no further step."""


@dataclass(frozen=True)
class Calibration:
    """The inputs after calibration, and how to keep them calibrated while others vary."""

    inputs: Inputs
    words: str
    again: Callable[[dict[str, float]], dict[str, float]]


@dataclass(frozen=True, slots=True)
class _Measured:
    """A top speed as measured, in km/h.

    Attributes:
        speed: the speed, or the middle of what it may be.
        give: what it may be off.
        words: what it is called.
        exact: whether the speed itself is to be met, or any in its range will do.
    """

    speed: float
    give: float
    words: str
    exact: bool

    def target(self, nominal: float) -> float:
        """The speed to meet: the measured one, or that in the range nearest to the model's own."""
        if self.exact:
            return self.speed
        return min(max(nominal, self.speed - self.give), self.speed + self.give)


def calibrated(inputs: Inputs, reduction: float, asked: RoadAsked) -> Calibration | None:
    """Set the least-known input so that the model gives the measured top speed.

    The least-known input is the one whose spread moves the present top speed the most. It is
    moved by at most three of its spreads; where that does not reach the measured speed, the next
    is tried, and after the last all once more by up to five. A speed that the speedometer shows
    is a range: where the model's own lies in it nothing is set, else its nearer end is met.

    Args:
        inputs: the machine.
        reduction: its present overall reduction.
        asked: what was measured.

    Returns:
        None where nothing was measured.

    Raises:
        UsageError: no input explains the measured speed.
    """
    measured = _measured(asked)
    if measured is None:
        return None

    def top(values: dict[str, float]) -> float:
        metres = values["roll_out"] / 1000 / reduction
        return KMH * top_speed(setup_of(inputs, values), metres).speed_m_s

    values = inputs.values
    effects = {key: _effect(top, inputs, key) for key in values}
    ranking = [key for key in sorted(effects, key=lambda key: -effects[key]) if effects[key] > 0]
    nominal = top(values)
    if not measured.exact and abs(nominal - measured.speed) <= measured.give:
        told = f"The model's {nominal:.0f} km/h agrees with {measured.words}: no input is set."
        return Calibration(inputs, told, lambda others: others)
    speed = measured.target(nominal)
    for reach in _REACHES:
        for key in ranking:
            found = _solve(top, values, key, speed, _bounds(inputs, key, reach))
            if found is not None:
                return _set(inputs, key, found, measured, top)
    ends = [
        top({**values, key: bound}) for key in values for bound in _bounds(inputs, key, _REACHES[0])
    ]
    raise UsageError(
        f"a top speed of {measured.words} cannot be explained by any one input: with what is on "
        f"file this machine does {nominal:.0f} km/h, at the ends {min(ends):.0f} to "
        f"{max(ends):.0f}; check the engine's figures, the counted teeth and how the speed was "
        "measured"
    )


def _set(
    inputs: Inputs,
    key: str,
    found: float,
    measured: _Measured,
    top: Callable[[dict[str, float]], float],
) -> Calibration:
    """The inputs with one of them set; its spread is what the measured speed may be off.

    A speedometer leaves too wide a range to narrow anything: the input then keeps its own spread.
    """
    before = inputs.givens[key]
    bounds = _bounds(inputs, key, 2 * _REACHES[-1])
    spread = before.spread
    if measured.exact:
        ends = [
            _solve(top, inputs.values, key, measured.speed + give, bounds)
            for give in (-measured.give, measured.give)
        ]
        spread = max(before.spread if end is None else abs(found - end) for end in ends)
    given = replace(
        before,
        value=found,
        spread=spread,
        kind="calibrated",
        source=f"set from {_figure(before.value)} so that it now does {measured.words}",
    )
    changed = replace(inputs, givens={**inputs.givens, key: given}, calibrated=key)

    def again(others: dict[str, float]) -> dict[str, float]:
        now = top(others)
        wanted = measured.target(now)
        fitted = None if wanted == now else _solve(top, others, key, wanted, bounds)
        return others if fitted is None else {**others, key: fitted}

    unit = f" {before.unit.replace('1/min', 'rpm')}" if before.unit else ""
    told = (
        f"{before.name.capitalize()} is the least known input: set from {_figure(before.value)} "
        f"to {_figure(found)}{unit}, so that the present gearing does {measured.words}."
    )
    return Calibration(changed, told, again)


def _figure(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def _measured(asked: RoadAsked) -> _Measured | None:
    if asked.measured_top_km_h is not None:
        speed = asked.measured_top_km_h
        return _Measured(speed, GPS_KM_H, f"the measured {speed:g} km/h", exact=True)
    if asked.shown_top_km_h is not None:
        low, high = true_range(asked.shown_top_km_h)
        words = (
            f"{low:.0f} to {high:.0f} km/h, which a speedometer may show as "
            f"{asked.shown_top_km_h:g} (UN R39)"
        )
        return _Measured((low + high) / 2, (high - low) / 2, words, exact=False)
    return None


def _effect(top: Callable[[dict[str, float]], float], inputs: Inputs, key: str) -> float:
    values, spread = inputs.values, inputs.givens[key].spread
    low, high = (top({**values, key: values[key] + sign * spread}) for sign in (-1, 1))
    return abs(high - low)


def _bounds(inputs: Inputs, key: str, reach: float) -> tuple[float, float]:
    given = inputs.givens[key]
    low, high = given.value - reach * given.spread, given.value + reach * given.spread
    if key == "efficiency":
        high = min(high, 1.0)
    return max(low, 0.1 * given.value), high


def _solve(
    top: Callable[[dict[str, float]], float],
    values: dict[str, float],
    key: str,
    wanted: float,
    bounds: tuple[float, float],
) -> float | None:
    """The value of one input at which the top speed is as wanted; None where none is."""

    def off(value: float) -> float:
        return top({**values, key: value}) - wanted

    left, right = bounds
    off_left, off_right = off(left), off(right)
    if off_left * off_right > 0:
        return None
    # Regula falsi, halving the side that stays (Illinois): keeps its bracket.
    side = 0
    middle = left
    for _ in range(100):
        if off_right == off_left:
            break
        middle = (left * off_right - right * off_left) / (off_right - off_left)
        off_middle = off(middle)
        if abs(off_middle) < _ENOUGH:
            break
        if off_middle * off_right > 0:
            right, off_right = middle, off_middle
            off_left /= 2 if side == -1 else 1
            side = -1
        else:
            left, off_left = middle, off_middle
            off_right /= 2 if side == 1 else 1
            side = 1
    return middle
