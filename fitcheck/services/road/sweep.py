"""The model run over gearings, and again with every input at both ends of its spread.

The method of the ranges: each input is put to value - spread and value + spread, one at a time,
and everything is worked out anew. Downward and upward effects are each combined by root sum of
squares, as for uncorrelated inputs in JCGM 100:2008 (GUM); those on times by their logarithms,
since a time may grow many times over but never falls under 0. Changes against now are worked out
inside each of those runs, so what old and new gearing share drops out of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.kernel.road.driveline import Driveline, Setup, speed_at, thrust_n
from fitcheck.kernel.road.load import measured_load
from fitcheck.kernel.road.many import LIMITS, Many, many, top_speeds
from fitcheck.kernel.road.performance import FLAT
from fitcheck.services.road.defaults import ROTATING_SHARE
from fitcheck.services.road.inputs import Inputs
from fitcheck.services.road.results import Figure, PullVerdict
from fitcheck.services.road.verdicts import pull_verdict

__all__ = ["Gearings", "Ranged", "Recalibration", "Values", "setup_of", "sweep"]

Values = dict[str, float]
Recalibration = Callable[[Values], Values]

KMH = 3.6


@dataclass(frozen=True)
class Gearings:
    """The gearings to run, the present one first.

    Attributes:
        reductions: overall reductions.
        tyre_ratios: distance per wheel turn over the present tyre's, one a reduction.
    """

    reductions: tuple[float, ...]
    tyre_ratios: tuple[float, ...]

    def metres_per_turn(self, roll_out_mm: float) -> Any:
        """Metres travelled per turn of the gearbox input shaft, one a gearing."""
        return roll_out_mm / 1000 * np.asarray(self.tyre_ratios) / np.asarray(self.reductions)


@dataclass(frozen=True)
class Ranged:
    """Every figure of every gearing, with its range; arrays of one entry a gearing."""

    nominal: dict[str, Any]
    low: dict[str, Any]
    high: dict[str, Any]
    run: Many

    def verdict(self, index: int, change: float | None, cautious: bool = False) -> PullVerdict:
        """Whether the engine pulls one gearing; cautious: at the low end of the range.

        Args:
            index: which gearing.
            change: as for `pull_verdict`.
            cautious: judge by the low ends.
        """
        found = self.low if cautious else self.nominal
        reach, gain, tailwind = (
            float(found[key][index]) for key in ("reach", "gain", "tailwind_reach")
        )
        return pull_verdict(reach, gain, tailwind, change)

    def limit(self, key: str, index: int) -> str:
        """What limits the top speed of one gearing: `revs`, `ratio`, `power` or `start`."""
        return LIMITS[int(getattr(self.run, key).limit[index])]

    def figure(self, key: str, index: int) -> Figure | None:
        """One figure of one gearing; None where it has no finite value."""
        value = float(self.nominal[key][index])
        if not np.isfinite(value):
            return None
        low, high = float(self.low[key][index]), float(self.high[key][index])
        return Figure(value, min(low, value), max(high, value))


def setup_of(inputs: Inputs, values: Values) -> Setup:
    """The kernel's picture of the machine for one choice of input values."""
    rpm, watts = inputs.curve.peak
    power = 1000 * values["peak_power"] * inputs.power_share
    curve = inputs.curve.scaled(power / watts, values["peak_rpm"] / rpm)
    limit = values["rev_limit"]
    # Near its edges a spread may cross the next engine speed; the machine itself cannot.
    shift = min(values.get("shift_rpm", limit), limit)
    low = values["low_ratio"]
    mass = values["running_order"] + values["rider"]
    return Setup(
        curve,
        Driveline(
            low,
            min(values.get("high_ratio", low), low),
            shift,
            min(values["engage_rpm"], shift),
            min(values["efficiency"], 1.0),
        ),
        limit,
        measured_load(mass, values["drag_area"], values["rolling"], inputs.air_density),
        ROTATING_SHARE * values["running_order"],
    )


def sweep(
    inputs: Inputs,
    gearings: Gearings,
    *,
    keys: Sequence[str] | None = None,
    times: bool = True,
    recalibrated: Recalibration | None = None,
    instead: Values | None = None,
    scaled: Values | None = None,
    brief: bool = False,
) -> Ranged:
    """Run all gearings, and again for both ends of every input.

    Args:
        inputs: the machine.
        gearings: the present gearing first.
        keys: inputs to vary; None for all.
        times: work out times as well.
        recalibrated: sets the calibrated input anew for changed values of the others.
        instead: values to run with in place of the inputs' own, known exactly; a calibration
            still holds for the inputs' own.
        scaled: factors on the inputs' own values and on both their ends, likewise.
        brief: give ranges of the top speed on the flat and the start-off pull alone, which takes
            a quarter of the time; the other figures are then without a range.
    """
    values = inputs.values
    instead = instead if instead is not None else {}
    scaled = scaled if scaled is not None else {}

    def moved(values: Values) -> Values:
        factors = {key: values[key] * factor for key, factor in scaled.items()}
        return {**values, **factors, **instead}

    nominal, run = _figures(inputs, moved(values), gearings, times)
    ranged = _BRIEF if brief else tuple(nominal)
    down = {name: np.zeros(len(gearings.reductions)) for name in ranged}
    up = {name: np.zeros(len(gearings.reductions)) for name in ranged}
    for key in values if keys is None else keys:
        spread = inputs.givens[key].spread
        if spread == 0:
            continue
        ends = []
        for sign in (-1, 1):
            changed = {**values, key: values[key] + sign * spread}
            if recalibrated is not None and key != inputs.calibrated:
                changed = recalibrated(changed)
            changed = moved(changed)
            ends.append(
                _brief_figures(inputs, changed, gearings)
                if brief
                else _figures(inputs, changed, gearings, times)[0]
            )
        for name in ranged:
            fall, rise = _effects(name, nominal[name], ends[0][name], ends[1][name])
            down[name], up[name] = down[name] + fall**2, up[name] + rise**2
    low = nominal | {name: _moved(name, nominal[name], -np.sqrt(down[name])) for name in ranged}
    high = nominal | {name: _moved(name, nominal[name], np.sqrt(up[name])) for name in ranged}
    # Effects of several inputs add up, but the rev limit lets no speed beyond it.
    for name in _TOPS & set(ranged):
        high[name] = np.minimum(high[name], np.maximum(high["rev_top"], nominal[name]))
    if "top_change" in ranged:
        room = np.maximum(high["rev_room"], nominal["top_change"])
        high["top_change"] = np.minimum(high["top_change"], room)
    return Ranged(nominal, low, high, run)


_BRIEF = ("flat", "start_force", "rev_top")

_TOPS = {"flat", "headwind", "uphill", "tailwind"}
_NEVER_NEGATIVE = _TOPS | {"start_force"}
_TIMES = {"time_30", "time_45", "time_60", "time_200_m", "time_95"}
"""Combined by their logarithms: a time may be many times as long, but never under 0."""


def _effects(name: str, middle: Any, first: Any, second: Any) -> tuple[Any, Any]:
    """How far one input moves a figure down and up."""
    lowest = np.fmin(np.fmin(first, second), middle)
    highest = np.fmax(np.fmax(first, second), middle)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        if name in _TIMES:
            fall, rise = np.log(middle / lowest), np.log(highest / middle)
        else:
            fall, rise = middle - lowest, highest - middle
    return np.nan_to_num(fall, nan=0.0, posinf=np.inf), np.nan_to_num(rise, nan=0.0, posinf=np.inf)


def _moved(name: str, middle: Any, by: Any) -> Any:
    """A figure moved by what its effects come to."""
    with np.errstate(invalid="ignore", over="ignore"):
        if name in _TIMES:
            return middle * np.exp(by)
        moved = middle + by
    return np.maximum(moved, 0.0) if name in _NEVER_NEGATIVE else moved


def _figures(
    inputs: Inputs, values: Values, gearings: Gearings, times: bool
) -> tuple[dict[str, Any], Many]:
    """Every figure of one choice of values; speeds in km/h, changes against the first gearing."""
    setup = setup_of(inputs, values)
    metres = gearings.metres_per_turn(values["roll_out"])
    run = many(setup, metres, times=times)
    flat, start = KMH * run.flat.speed_m_s, run.start_force_n
    per_1000 = KMH * run.metres_per_second_per_1000rpm
    # The speed at which the engine has given all it has in the top ratio.
    target = per_1000 * min(setup.curve.peak[0], setup.highest_rpm) / 1000
    tailwind = KMH * run.tailwind.speed_m_s
    with np.errstate(divide="ignore", invalid="ignore"):
        found = {
            "per_1000_rpm": per_1000,
            "rev_top": per_1000 * setup.highest_rpm / 1000,
            "paper_top": KMH * run.paper_top_m_s,
            "flat": flat,
            "headwind": KMH * run.headwind.speed_m_s,
            "uphill": KMH * run.uphill.speed_m_s,
            "tailwind": tailwind,
            "start_force": start,
            "start_gradient": 100 * run.start_gradient,
            "reach": flat / target,
            "tailwind_reach": tailwind / target,
            "gain": flat / flat[0] - 1,
            "top_change": flat - flat[0],
            "rev_room": per_1000 * setup.highest_rpm / 1000 - flat[0],
            "start_change": 100 * (start / start[0] - 1),
        }
    if times:
        found |= {
            "time_30": run.time_30_s,
            "time_45": run.time_45_s,
            "time_60": run.time_60_s,
            "time_200_m": run.time_200_m_s,
            "time_95": run.time_95_s,
        }
    return found, run


def _brief_figures(inputs: Inputs, values: Values, gearings: Gearings) -> dict[str, Any]:
    """The figures of `_BRIEF` alone, the same as `_figures` gives."""
    setup = setup_of(inputs, values)
    metres = gearings.metres_per_turn(values["roll_out"])
    return {
        "flat": KMH * top_speeds(setup, metres, FLAT).speed_m_s,
        "start_force": thrust_n(setup, 1.0, 0.0) / metres,
        "rev_top": KMH * metres * speed_at(setup, 1.0, setup.highest_rpm),
    }
