"""The model run over gearings, and again with every input at both ends of its spread.

The method of the ranges: each input is put to value - spread and value + spread, one at a time,
or to what a measured speed leaves of that, and everything is worked out again. Downward and upward
effects are each combined by root sum of squares, as for uncorrelated inputs in JCGM 100:2008
(GUM); those on times by their logarithms, since a time may grow many times over but never falls
under 0. Changes against now are worked out inside each of those runs, so what old and new gearing
share drops out of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.kernel.road.balance import FLAT, HEADWIND_20, TAILWIND_20, UP_5
from fitcheck.kernel.road.driveline import Driveline, Setup, speed_at
from fitcheck.kernel.road.load import measured_load
from fitcheck.kernel.road.many import (
    LIMITS,
    TopSpeeds,
    dips_between,
    many,
    start_forces,
    top_speeds,
)
from fitcheck.services.road.defaults import FOOTING, ROTATING_SHARE
from fitcheck.services.road.figures import Figure, OtherTop, PullVerdict, pull_verdict
from fitcheck.services.road.inputs import Calibration, Inputs, Values
from fitcheck.services.road.loads import drag_and_rolling

KMH = 3.6

Figures = dict[str, Any]
"""Figures by name, arrays of one entry a gearing."""

_PEAKS_APART = 2.0
"""km/h from which on two top speeds are two; our own choice."""


@dataclass(frozen=True)
class _Run:
    """One run of the model over all gearings.

    Attributes:
        figures: every figure.
        tops: top speeds by condition.
        setup: the machine of this run.
        metres: metres per turn of the gearbox input shaft, one a gearing.
    """

    figures: Figures
    tops: dict[str, TopSpeeds]
    setup: Setup
    metres: Any

    @property
    def split_rpm(self) -> float:
        """Engine speed half-way between the variator's shift and the peak-power rpm.

        0 where it shifts at the peak or past it.
        """
        shift, peak = self.setup.driveline.shift_rpm, self.setup.curve.peak[0]
        return 0.0 if shift >= peak else (shift + peak) / 2

    def dips_above(self, other: _Run, name: str) -> Any:
        """Whether a fixed ratio's torque dips between another run's slower top speed and its own.

        Engine speeds of the other run go by its own peak-power rpm.
        """
        peaks = self.setup.curve.peak[0] / other.setup.curve.peak[0]
        return dips_between(
            self.setup,
            self.metres,
            _TOPS[name],
            start_rpm=other.tops[name].rpm * peaks,
            end_m_s=self.tops[name].speed_m_s,
            apart_m_s=_PEAKS_APART / KMH,
        )


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
    """Every figure of every gearing, with its range; arrays of one entry a gearing.

    `other` is the mean top speed on the flat of runs that jump: the variator comes out where it
    does not in the middle one, or the other way about, or a fixed ratio pulls through a dip in the
    torque curve or does not. It is not a number where none does.
    """

    nominal: Figures
    low: Figures
    high: Figures
    tops: dict[str, TopSpeeds]
    other: Any
    is_fixed: bool

    def verdict(self, index: int, change: float, cautious: bool = False) -> PullVerdict:
        """Whether the engine pulls one gearing; cautious: at the low end of the range.

        Args:
            index: which gearing.
            change: as for `pull_verdict`.
            cautious: judge by the low ends.
        """
        found = self.low if cautious else self.nominal
        reach, gain, tailwind, hill = (
            float(found[key][index])
            for key in ("reach", "gain", "tailwind_reach", "start_gradient")
        )
        return pull_verdict(reach, gain, tailwind, hill, change)

    def limit(self, key: str, index: int) -> str:
        """What limits the top speed of one gearing: `revs`, `ratio`, `power` or `start`."""
        return LIMITS[int(self.tops[key].limit[index])]

    def other_top(self, index: int) -> OtherTop | None:
        """The second of two top speeds on the flat; None where there is one alone."""
        value = float(self.other[index])
        if not np.isfinite(value):
            return None
        less = value < float(self.nominal["flat"][index])
        if self.is_fixed:
            words = "does not pull" if less else "pulls"
            return OtherTop(value, f"if it {words} through the dip in its torque")
        words = "does not come out" if less else "comes fully out"
        return OtherTop(value, f"if the variator {words}")

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
    load = drag_and_rolling(values, inputs.loaded_kg)
    return Setup(
        curve=curve,
        driveline=Driveline(
            low_ratio=low,
            high_ratio=min(values.get("high_ratio", low), low),
            shift_rpm=shift,
            engage_rpm=min(values["engage_rpm"], shift),
            efficiency=min(values["efficiency"], 1.0),
        ),
        rev_limit_rpm=limit,
        load=measured_load(mass, load["drag_area"], load["rolling"], inputs.air_density),
        rotating_kg=ROTATING_SHARE * values["running_order"],
        engine_inertia_kg_m2=values["engine_inertia"],
        footing=FOOTING,
    )


def sweep(
    inputs: Inputs,
    gearings: Gearings,
    *,
    times: bool = True,
    instead: Values | None = None,
    scaled: Values | None = None,
    brief: bool = False,
) -> Ranged:
    """Run all gearings, and again for both ends of every input.

    Args:
        inputs: the machine.
        gearings: the present gearing first.
        times: work out times as well.
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

    run = _figures(inputs, moved(values), gearings, times)
    nominal = run.figures
    spans = _Spans(run, _BRIEF if brief else tuple(nominal))
    for pair in _ends(inputs):
        ends = [
            _brief_figures(inputs, end, gearings)
            if brief
            else _figures(inputs, end, gearings, times)
            for end in map(moved, pair)
        ]
        spans.widen(ends[0], ends[1])
    low, high = (nominal | found for found in spans.ranges())
    # Effects of several inputs add up, but the rev limit lets no speed beyond it.
    for name in _TOPS.keys() & spans.middle.keys():
        high[name] = np.minimum(high[name], np.maximum(high["rev_top"], nominal[name]))
    if "top_change" in spans.middle:
        room = np.maximum(high["rev_room"], nominal["top_change"])
        high["top_change"] = np.minimum(high["top_change"], room)
    if inputs.calibration is not None and not (instead or scaled):
        _keep_to(inputs.calibration, low["flat"], high["flat"])
    return Ranged(
        nominal=nominal,
        low=low,
        high=high,
        tops=run.tops,
        other=spans.other_flat(),
        is_fixed=inputs.is_fixed,
    )


def _ends(inputs: Inputs) -> Sequence[tuple[Values, Values]]:
    """Values of both runs for each input in doubt."""
    if inputs.calibration is not None and inputs.calibration.ends is not None:
        return inputs.calibration.ends
    values = inputs.values
    return [
        (
            {**values, key: values[key] - given.spread},
            {**values, key: values[key] + given.spread},
        )
        for key, given in inputs.givens.items()
        if given.spread > 0
    ]


def _keep_to(calibration: Calibration, low: Any, high: Any) -> None:
    """Put or cut the range of the present gearing, the first, to what was measured."""
    least, most = calibration.band
    if calibration.is_exact:
        low[0], high[0] = least, most
    else:
        low[0], high[0] = max(low[0], least), min(high[0], most)


class _Spans:
    """Ranges in the making: effects of single inputs, summed by their squares.

    A top speed may jump as the variator comes out or does not, or as a fixed ratio pulls through a
    dip in the torque curve or does not. Runs that jump from the middle one are all one effect: the
    range goes no further than the furthest of them and the effects of the others from there.
    """

    def __init__(self, run: _Run, names: Sequence[str]) -> None:
        self.middle = middle = {name: run.figures[name] for name in names}
        self._run = run
        nothing = np.zeros(len(run.figures["flat"]))
        # Sums of squares, down and up: of all runs, and of those alone that do not jump.
        self._all = {name: np.zeros((2, len(nothing))) for name in middle}
        self._steady = {name: np.zeros((2, len(nothing))) for name in middle}
        self._least, self._most = dict(middle), dict(middle)
        self._others = np.zeros((2, len(nothing)))  # their sum on the flat, and how many

    def widen(self, *runs: _Run) -> None:
        """Count in both runs of one input."""
        jumps = [self._jumps(run) for run in runs]
        for name, middle in self.middle.items():
            ends = [run.figures[name] for run in runs]
            self._all[name] += np.square(_effects(name, middle, *ends))
            if name not in _SPEED_OF:
                continue
            jumped = [each[_SPEED_OF[name]] for each in jumps]
            for end, other in zip(ends, jumped, strict=True):
                there = np.where(other, end, middle)
                self._least[name] = np.fmin(self._least[name], there)
                self._most[name] = np.fmax(self._most[name], there)
            steady = [np.where(o, middle, e) for e, o in zip(ends, jumped, strict=True)]
            self._steady[name] += np.square(_effects(name, middle, *steady))
        for run, each in zip(runs, jumps, strict=True):
            flat = np.where(each["flat"], run.figures["flat"], 0.0)
            self._others += np.stack([flat, each["flat"]])

    def ranges(self) -> tuple[Figures, Figures]:
        """Low and high ends."""
        low, high = {}, {}
        for name, middle in self.middle.items():
            down, up = np.sqrt(self._all[name])
            low[name], high[name] = _move(name, middle, -down), _move(name, middle, up)
            if name in _SPEED_OF:
                down, up = np.sqrt(self._steady[name])
                low[name] = np.fmax(low[name], _move(name, self._least[name], -down))
                high[name] = np.fmin(high[name], _move(name, self._most[name], up))
        return low, high

    def other_flat(self) -> Any:
        """Mean top speed on the flat of the runs on the other peak; not a number without any."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return self._others[0] / self._others[1]

    def _jumps(self, run: _Run) -> dict[str, Any]:
        """By condition, whether the top speed jumps from the middle run's."""
        middle, found = self._run, {}
        for name, there in run.tops.items():
            here = middle.tops[name]
            rises = there.speed_m_s - here.speed_m_s
            jumps = (KMH * np.abs(rises) >= _PEAKS_APART) & (here.speed_m_s * there.speed_m_s > 0)
            if not run.setup.driveline.fixed:
                jumps &= (here.rpm > middle.split_rpm) != (there.rpm > run.split_rpm)
            elif np.any(jumps):
                jumps &= np.where(
                    rises > 0, run.dips_above(middle, name), middle.dips_above(run, name)
                )
            found[name] = jumps
        found["change"] = found["flat"] | found["flat"][0]
        return found


_BRIEF = ("flat", "start_force", "rev_top")

_TOPS = {"flat": FLAT, "headwind": HEADWIND_20, "uphill": UP_5, "tailwind": TAILWIND_20}
_SPEED_OF = {name: name for name in _TOPS} | {
    "reach": "flat",
    "gain": "change",
    "top_change": "change",
    "tailwind_reach": "tailwind",
}
"""Figures that jump with a top speed."""
_NEVER_NEGATIVE = _TOPS.keys() | {"start_force", "start_gradient"}
_TIMES = ("time_30", "time_45", "time_60", "time_200_m", "time_95")
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


def _move(name: str, middle: Any, by: Any) -> Any:
    """A figure moved by what its effects come to."""
    with np.errstate(invalid="ignore", over="ignore"):
        if name in _TIMES:
            return middle * np.exp(by)
        moved = middle + by
    return np.maximum(moved, 0.0) if name in _NEVER_NEGATIVE else moved


def _figures(inputs: Inputs, values: Values, gearings: Gearings, times: bool) -> _Run:
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
        found |= {name: getattr(run, f"{name}_s") for name in _TIMES}
    tops = {name: getattr(run, name) for name in _TOPS}
    return _Run(found, tops, setup, metres)


def _brief_figures(inputs: Inputs, values: Values, gearings: Gearings) -> _Run:
    """The figures of `_BRIEF` alone, the same as `_figures` gives."""
    setup = setup_of(inputs, values)
    metres = gearings.metres_per_turn(values["roll_out"])
    flat = top_speeds(setup, metres, FLAT)
    found = {
        "flat": KMH * flat.speed_m_s,
        "start_force": start_forces(setup, metres),
        "rev_top": KMH * metres * speed_at(setup, 1.0, setup.highest_rpm),
    }
    return _Run(found, {"flat": flat}, setup, metres)
