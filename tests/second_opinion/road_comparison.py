"""What the command answers beside what the second model says."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from click.testing import CliRunner

from fitcheck.cli.main import cli
from tests.second_opinion.draws import Case
from tests.second_opinion.figures import Range, Study, verdict
from tests.second_opinion.road import KM_H, SLOPE, WIND, Floats, Ride

ENDS = ("value", "low", "high")
HIDDEN = ("share.", "rev_limit", "peak.", "other.", "unbound.", "top.behind", "top.now")
STEADY = 40.0


@dataclass(frozen=True)
class Pair:
    """One thing told: by which gearing, ours and theirs, and how far they may lie apart."""

    gearing: str
    figure: str
    ours: Any
    told: Any
    allowed: float = 0.0

    @property
    def apart(self) -> float:
        """How far apart they are; infinite where they are not the same sort of thing."""
        if self.ours == self.told:
            return 0.0
        numbers = all(isinstance(each, float | int) for each in (self.ours, self.told))
        return abs(self.ours - self.told) if numbers else math.inf

    @property
    def agree(self) -> bool:
        return self.apart <= self.allowed


def ask(words: list[str], case: Case, folder: Path) -> dict[str, Any]:
    """The JSON that a command answers on a catalogue of the case."""
    case.write(folder)
    result = CliRunner().invoke(
        cli, [*words, *case.arguments, "--catalog", str(folder), "--format", "json"]
    )
    # 3: ruled out by fit, which is not asked here.
    assert result.exit_code in (0, 3), (result.output, result.exception)
    return dict(json.loads(result.stdout))


def rounded(ours: float) -> float:
    """What rounding to four decimals and two integrators may make of a figure."""
    return 1e-4 + 2e-6 * abs(ours)


def told_point(study: Study, told: Mapping[str, Any]) -> Floats:
    """Where a measured speed has put the inputs, by what is told of them."""
    values = {each["key"]: each["value"] for each in told["inputs"]}
    return (np.array([values[key] for key in study.keys]) - study.middle) / (study.half / 2)


def held(
    study: Study, told: Mapping[str, Any], truth: list[dict[str, float]]
) -> Iterator[tuple[str, bool]]:
    """Whether each range that is told holds the truth."""
    for name, outcome, figures in zip(
        ("before", "after"), [told["before"], *told["after"]], truth, strict=True
    ):
        for figure, true in figures.items():
            if figure.startswith(HIDDEN) or (name == "before" and "change" in figure):
                continue
            range_ = find_range(outcome, figure)
            if range_ is not None:
                high = math.inf if range_["high"] is None else range_["high"]
                rim = rounded(range_["value"])
                yield f"{name}.{figure}", range_["low"] - rim <= true <= high + rim


def find_range(outcome: Mapping[str, Any], figure: str) -> dict[str, Any] | None:
    """The range of a figure in an outcome."""
    told: Any = outcome
    for part in (figure + (".speed_km_h" if figure.startswith("top.") else "")).split("."):
        told = told[part] if told is not None else None
    return told


def study_of(case: Case) -> Study:
    now, then = case.gearings
    return Study(case.known, now, [then])


def compare_inputs(case: Case, told: Mapping[str, Any]) -> Iterator[Pair]:
    """Value, kind and half-width of every input."""
    known, theirs = case.known, {each["key"]: each for each in told["inputs"]}
    yield Pair("inputs", "keys", sorted(known.inputs), sorted(theirs))
    for key, (value, kind) in known.inputs.items():
        each = theirs[key]
        yield Pair("inputs", f"{key}.kind", kind, each["kind"])
        yield Pair("inputs", f"{key}.value", value, each["value"], 2e-6)
        yield Pair("inputs", f"{key}.spread", known.halves[key], each["spread"], 2e-6)


def compare_moved(study: Study, told: Mapping[str, Any], z: Floats, left: Floats) -> Iterator[Pair]:
    """What is told of inputs that a measured speed has moved, `left` of their spreads."""
    inputs = {each["key"]: each for each in told["inputs"]}
    for key, move, middle, half in zip(study.keys, z, study.middle, study.half * left, strict=True):
        each = inputs[key]
        yield Pair("inputs", f"{key}.spread", half, each["spread"], 1e-3 * half)
        # Between them the rounding of the values decides.
        if not 0.008 < abs(move) < 0.012:
            moved = abs(move) >= 0.01
            kind = "calibrated" if moved else study.machine.inputs[key][1]
            yield Pair("inputs", f"{key}.kind", kind, each["kind"])
            if moved:
                yield Pair("inputs", f"{key}.before", float(middle), each["before"], 2e-6)
            else:
                yield Pair("inputs", f"{key}.before", None, each["before"])


def compare_answer(
    study: Study, told: Mapping[str, Any], z: Floats, ranges: list[dict[str, Range]]
) -> Iterator[Pair]:
    """Every figure of the machine as it stands and with the other gears."""
    now = study.ride(z, study.gearings[0])
    outcomes = [told["before"], *told["after"]]
    for name, outcome, per_turn, figures in zip(
        ("before", "after"), outcomes, study.gearings, ranges, strict=True
    ):
        ride = study.ride(z, per_turn)
        for figure, range_ in figures.items():
            if figure.startswith(HIDDEN) or (name == "before" and "change" in figure):
                continue
            yield from compare_range(name, figure, range_, outcome)
        yield compare_other(name, figures, outcome["top"]["flat"]["other"])
        yield from compare_ride(name, ride, outcome)
        yield from compare_curves(name, ride, outcome["curves"])
        for key, end in (("verdict", "value"), ("cautious_verdict", "low")):
            yield Pair(name, key, verdict(figures, end), outcome[key])
        if name == "after" and outcome.get("fuel"):
            yield from compare_fuel(name, study, now, ride, outcome["fuel"])


def compare_range(
    name: str, figure: str, range_: Range, outcome: Mapping[str, Any]
) -> Iterator[Pair]:
    told = find_range(outcome, figure)
    if told is None:
        yield Pair(name, figure, math.isfinite(range_.value) and range_.value > 0, False)
        return
    for end in ENDS:
        ours, theirs = getattr(range_, end), told[end]
        theirs = math.inf if theirs is None else theirs
        yield Pair(name, f"{figure}.{end}", ours, theirs, rounded(ours))


def compare_other(name: str, figures: Mapping[str, Range], told: Mapping[str, Any] | None) -> Pair:
    """The second top speed, where it may jump."""
    other = figures["other.flat"].value
    if told is None or math.isnan(other):
        return Pair(name, "top.flat.other", None if math.isnan(other) else other, told)
    return Pair(name, "top.flat.other", other, told["km_h"], rounded(other))


def compare_ride(name: str, ride: Ride, outcome: Mapping[str, Any]) -> Iterator[Pair]:
    """Engine speeds and what limits."""
    tops = {
        "flat": ride.flat,
        "headwind": ride.top(ride.load(WIND)),
        "uphill": ride.top(ride.load(0.0, SLOPE)),
    }
    for key, top in tops.items():
        yield Pair(name, f"top.{key}.limit", top.limit, outcome["top"][key]["limit"])
        yield Pair(name, f"top.{key}.rpm", top.rpm, outcome["top"][key]["rpm"], rounded(top.rpm))
    for key, (_, cap) in {"force_cap": ride.pull, "gradient_cap": ride.steepest}.items():
        yield Pair(name, f"start.{key}", cap, outcome["start"][key])
    for each in outcome["rpm_at"]:
        rpm = float(ride.engine_speed(np.array(each["km_h"] / KM_H)))
        yield Pair(name, "rpm_at", rpm, each["rpm"], rounded(rpm))
    reached = [km_h for km_h in range(20, 500, 10) if km_h / KM_H < ride.flat.v]
    yield Pair(name, "rpm_at.km_h", reached, [each["km_h"] for each in outcome["rpm_at"]])


def compare_curves(name: str, ride: Ride, curves: Mapping[str, list[float]]) -> Iterator[Pair]:
    """Thrust against speed and speed against time, at some of the points."""
    for km_h, thrust in list(zip(curves["speed_km_h"], curves["thrust_n"], strict=True))[:-1:5]:
        ours = ride.thrust_at(km_h / KM_H)
        # The speed is rounded to four decimals, near standstill of the road a large share.
        yield Pair(name, "curves.thrust_n", ours, thrust, 1e-4 + 1e-4 * ours)
    for seconds, km_h in list(zip(curves["time_s"], curves["time_speed_km_h"], strict=True))[
        :-1:20
    ]:
        v = km_h / KM_H
        if v < 0.95 * ride.flat.v:
            slow = float(ride.slowness(np.array(v)))
            yield Pair(name, "curves.time_s", ride.time_to(v), seconds, 1e-4 + 1e-4 * slow)


def compare_fuel(
    name: str, study: Study, now: Ride, then: Ride, told: Mapping[str, Any]
) -> Iterator[Pair]:
    """Change of the use of fuel, by friction of 1.5, 1 and 2 bar."""
    v = told["km_h"] / KM_H
    speeds = [float(ride.engine_speed(np.array(v))) for ride in (now, then)]
    if math.isclose(*speeds):
        yield Pair(name, "fuel.change_percent", None, told["change_percent"])
        return
    if told["change_percent"] is None:
        yield Pair(name, "fuel.change_percent", speeds, None)
        return
    size, turns = study.machine.swept
    found = []
    for bar in (1.5, 1.0, 2.0):
        use = [
            ride.load().at(v) * v / ride.efficiency + bar * 1e5 * size * rpm / (60 * turns)
            for ride, rpm in zip((now, then), speeds, strict=True)
        ]
        found.append(100 * (use[1] / use[0] - 1))
    for end, ours in zip(ENDS, (found[0], min(found), max(found)), strict=True):
        yield Pair(
            name, f"fuel.change_percent.{end}", ours, told["change_percent"][end], rounded(ours)
        )


def compare_lawful(
    case: Case, told: Mapping[str, Any], z: Floats, runs: Sequence[tuple[Floats, Floats]]
) -> Iterator[Pair]:
    """Top speed as the class sees it, and where it lies against the ceiling."""
    now, then = case.gearings
    ranges = Study(case.before_law, now, [then]).ranges(z, runs)
    for name, outcome, figures in zip(
        ("before", "after"), [told["before"], *told["after"]], ranges, strict=True
    ):
        top, lawful = figures["top.flat"], outcome["lawful"]
        for end in ENDS:
            ours = getattr(top, end)
            yield Pair(name, f"lawful.top.{end}", ours, lawful["top_km_h"][end], rounded(ours))
        ours = (
            "within"
            if top.high <= case.ceiling
            else "over"
            if top.low > case.ceiling
            else "straddles"
        )
        yield Pair(name, "lawful.answer", ours, lawful["answer"])


def compare_loads(study: Study, told: Mapping[str, Any]) -> Iterator[Pair]:
    """What the road takes."""
    ride = study.ride(np.zeros(len(study.keys)), study.gearings[0])
    loads = {
        "flat_n": ride.load(),
        "headwind_n": ride.load(WIND),
        "uphill_n": ride.load(0.0, SLOPE),
    }
    for key, load in loads.items():
        for km_h, force in list(zip(told["loads"]["speed_km_h"], told["loads"][key], strict=True))[
            ::9
        ]:
            ours = load.at(km_h / KM_H)
            yield Pair("loads", key, ours, force, 2e-4 + 1e-5 * ours)


def compare_row(name: str, figures: Mapping[str, Range], told: Mapping[str, Any]) -> Iterator[Pair]:
    """What `match --road` says of one gearing."""
    for key, figure in (("top_km_h", "top.flat"), ("start_force_n", "start.force_n")):
        for end in ENDS:
            ours = getattr(figures[figure], end)
            yield Pair(name, f"{key}.{end}", ours, told[key][end], rounded(ours))
    for key, figure in (
        ("top_change_km_h", "top_change_km_h"),
        ("start_change_percent", "start.change_percent"),
        ("to_45_km_h_s", "times_s.to_45_km_h"),
    ):
        ours = figures[figure].value
        theirs = math.inf if told[key] is None else told[key]
        yield Pair(name, key, ours, theirs, rounded(ours) if math.isfinite(ours) else 0.0)
    yield Pair(name, "verdict", verdict(figures), told["verdict"])
    yield compare_other(name, figures, told["other_top"])
