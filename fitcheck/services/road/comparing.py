"""Before and after on the road, for any combination of gear sets or any change of gearing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.kernel.road.acceleration import run
from fitcheck.kernel.road.balance import FLAT, HEADWIND_20, UP_5, Condition, top_speed
from fitcheck.kernel.road.driveline import (
    Setup,
    engine_rpm,
    speed_at,
    start_force_n,
    start_gradient,
    thrust_n,
)
from fitcheck.kernel.road.engine import steady_fuel_change
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.subject import Subject
from fitcheck.services.counter.succession import ways_on
from fitcheck.services.counter.tyres import speed_symbol_warning
from fitcheck.services.road.calibration import calibrate
from fitcheck.services.road.defaults import FOOTING, FRICTION_MEP_BAR
from fitcheck.services.road.figures import Figure, RoadAsked
from fitcheck.services.road.helping import help_for
from fitcheck.services.road.inputs import Inputs, gather
from fitcheck.services.road.lawful import class_of
from fitcheck.services.road.results import Curves, Outcome, RoadReport, TopFigure
from fitcheck.services.road.rows import class_answers
from fitcheck.services.road.sweep import KMH, Gearings, Ranged, setup_of, sweep

_CONDITIONS: dict[str, Condition] = {"flat": FLAT, "headwind": HEADWIND_20, "uphill": UP_5}
_ROUND_SPEEDS = tuple(range(20, 141, 10))
_CURVE_POINTS = 61


def compare(
    subject: Subject,
    combinations: Sequence[Combination] = (),
    asked: RoadAsked | None = None,
) -> RoadReport:
    """What the machine does on the road as it stands, and with each combination.

    A change of tyre asked of the subject is counted into every gearing after; without any
    combination the report then tells what the tyre alone does.

    Args:
        subject: the machine.
        combinations: one choice of gear sets each.
        asked: inputs that override the files.

    Raises:
        UsageError: the model lacks an input that nobody can guess, inputs contradict each other,
            or a measured speed cannot be explained.
    """
    asked = asked if asked is not None else RoadAsked()
    inputs = calibrate(gather(subject, asked), float(subject.reduction), asked)
    gearings = [None, *combinations]
    if not combinations and subject.roll_out_ratio != 1:
        gearings.append(None)
    found = _Outcomes(subject, asked, inputs, _line_up(subject, gearings))
    outcomes = [found.outcome(index, one) for index, one in enumerate(gearings)]
    speeds = found.speeds
    load = found.setup.load
    named = [entry for one in combinations for entry in one.sets]
    return RoadReport(
        subject=subject,
        before=outcomes[0],
        after=tuple(outcomes[1:]),
        inputs=tuple(inputs.givens.values()),
        load_speed_km_h=speeds,
        loads_n={
            name: tuple(
                load.force(speed / KMH, condition.gradient, condition.headwind_m_s)
                for speed in speeds
            )
            for name, condition in _CONDITIONS.items()
        },
        calibrated=None if inputs.calibration is None else inputs.calibration.words,
        notes=(
            *ways_on(subject.catalogue, named),
            *inputs.notes,
            *_out_of_reach(asked, outcomes),
        ),
    )


def _out_of_reach(asked: RoadAsked, outcomes: Sequence[Outcome]) -> list[str]:
    """Speeds that were asked about and that no gearing here reaches."""
    top = max(one.flat.speed.value for one in outcomes)
    notes = [
        f"{speed:g} km/h is over every top speed here, so no engine rpm is given for it."
        for speed in asked.extra_speeds_km_h
        if speed > top
    ]
    steady = asked.steady_km_h
    if steady is not None and all(one.fuel_speed_km_h is None for one in outcomes[1:]):
        notes.append(
            f"No gearing here is compared at a steady {steady:g} km/h: not both hold that speed."
        )
    return notes


def _line_up(subject: Subject, gearings: Sequence[Combination | None]) -> Gearings:
    tyre = float(subject.roll_out_ratio)
    return Gearings(
        tuple(float(subject.reduction if one is None else one.reduction) for one in gearings),
        (1.0, *(tyre for _ in gearings[1:])),
    )


class _Outcomes:
    """Turns the arrays of one sweep into the outcome of each gearing."""

    def __init__(
        self,
        subject: Subject,
        asked: RoadAsked,
        inputs: Inputs,
        gearings: Gearings,
    ) -> None:
        self.subject = subject
        self.asked = asked
        self.inputs = inputs
        self.gearings = gearings
        self.ranged: Ranged = sweep(inputs, gearings)
        self.setup: Setup = setup_of(inputs, inputs.values)
        self.metres = [float(m) for m in gearings.metres_per_turn(inputs.values["roll_out"])]
        vehicle_class = asked.vehicle_class or class_of(subject)
        self.lawful = list(class_answers(vehicle_class, inputs, gearings))
        self.tyres = (subject.roll_out, subject.roll_out_after)
        self.speeds = self._speeds()

    def outcome(self, index: int, combination: Combination | None) -> Outcome:
        """Everything about one gearing; without a combination the train stays as it is."""
        subject, now = self.subject, index == 0
        label = "now" if now else "the new tyre"
        pairs = dict(zip(subject.stages, subject.pairs, strict=True))
        reduction, change = subject.reduction, 0 * subject.reduction
        if combination is not None:
            label = " + ".join(entry.id for entry in combination.sets)
            pairs, reduction = combination.pairs, combination.reduction
            change = combination.road_speed_change
        elif not now:
            change = 100 * (subject.roll_out_ratio - 1)
        metres = self.metres[index]
        flat = self._top("flat", index)
        top_change = None if now else self._figure("top_change", index)
        steady = None if now else self._steady(index)
        taller = metres / self.metres[0] - 1
        hill = self._figure("start_gradient", index)
        force_cap, gradient_cap = self._caps(metres)
        return Outcome(
            label=label,
            combination=combination,
            pairs=pairs,
            reduction=reduction,
            road_speed_change=change,
            per_1000_rpm=self._figure("per_1000_rpm", index),
            paper_top=self._figure("paper_top", index),
            flat=flat,
            headwind=self._top("headwind", index),
            uphill=self._top("uphill", index),
            start_force=self._figure("start_force", index),
            start_gradient=hill if hill.value > 0 else None,
            force_cap=force_cap,
            gradient_cap=gradient_cap,
            time_30=self.ranged.figure("time_30", index),
            time_45=self.ranged.figure("time_45", index),
            time_60=self.ranged.figure("time_60", index),
            time_200_m=self.ranged.figure("time_200_m", index),
            time_95=self.ranged.figure("time_95", index),
            rpm_at=self._rpm_at(metres, flat.speed.value),
            top_change=top_change,
            start_change=None if now else self.ranged.figure("start_change", index),
            fuel_change=None if steady is None else self._fuel(index, steady),
            fuel_speed_km_h=steady,
            verdict=self.ranged.verdict(index, taller),
            cautious_verdict=self.ranged.verdict(index, taller, cautious=True),
            lawful=self.lawful[index] if self.lawful else None,
            tyre_warning=speed_symbol_warning(self.tyres[index > 0], flat.speed.high),
            help=None if now else help_for(subject, self.inputs, metres / self.metres[0]),
            curves=self._curves(metres),
        )

    def _figure(self, key: str, index: int) -> Figure:
        found = self.ranged.figure(key, index)
        return Figure(math.inf, math.inf, math.inf) if found is None else found

    def _top(self, key: str, index: int) -> TopFigure:
        speed = self._figure(key, index)
        metres = self.metres[index]
        rpm = engine_rpm(self.setup, metres, speed.value / KMH)
        return TopFigure(
            speed,
            rpm if speed.value else 0.0,
            self.ranged.limit(key, index),
            self.ranged.other_top(index) if key == "flat" else None,
        )

    def _caps(self, metres: float) -> tuple[str | None, str | None]:
        """What holds pull and steepest start, where it is not the engine."""
        load = self.setup.load
        most, holds_force = FOOTING.most_thrust(load)
        steepest, holds_hill = FOOTING.steepest(load)
        return (
            holds_force if start_force_n(self.setup, metres) >= most else None,
            holds_hill if start_gradient(self.setup, metres) >= steepest else None,
        )

    def _rpm_at(self, metres: float, top: float) -> tuple[tuple[float, float], ...]:
        asked = self.asked.extra_speeds_km_h
        speeds = sorted({*map(float, _ROUND_SPEEDS), *asked})
        return tuple(
            (speed, engine_rpm(self.setup, metres, speed / KMH)) for speed in speeds if speed <= top
        )

    def _steady(self, index: int) -> float | None:
        """The steady speed asked for, else the least round one with the variator fully out.

        None where one of the two gearings does not hold such a speed.
        """
        asked = self.asked.steady_km_h
        tops = self.ranged.nominal["flat"]
        top = min(float(tops[0]), float(tops[index]))
        out = max(self._fully_out(self.metres[i]) for i in (0, index))
        speed = asked if asked is not None else 5 * math.ceil(out / 5)
        return speed if speed <= top else None

    def _fully_out(self, metres: float) -> float:
        """km/h from which on the variator is in its top ratio."""
        line = self.setup.driveline
        rpm = line.engage_rpm if line.fixed else line.shift_rpm
        return KMH * speed_at(self.setup, metres, rpm)

    def _fuel(self, index: int, steady: float) -> Figure | None:
        """Rough change of fuel use, percent, from the least to the greatest usual friction."""
        speed = steady / KMH
        size = self.inputs.displacement_cm3
        before, after = (engine_rpm(self.setup, self.metres[i], speed) for i in (0, index))
        if size is None or before == after:
            return None
        power = self.setup.load.force(speed) * speed / self.setup.driveline.efficiency
        strokes = 2 if self.subject.family.record.cycle == "two-stroke" else 4
        least, usual, most = (
            100 * steady_fuel_change(power, before, after, size, bar, strokes=strokes)
            for bar in FRICTION_MEP_BAR
        )
        return Figure(usual, min(least, most), max(least, most))

    def _speeds(self) -> tuple[float, ...]:
        high = max(
            KMH * metres / 60 / self.setup.driveline.high_ratio * self.setup.highest_rpm
            for metres in self.metres
        )
        top = min(high, 1.25 * max(map(float, self.ranged.nominal["tailwind"])))
        return tuple(top * step / (_CURVE_POINTS - 1) for step in range(_CURVE_POINTS))

    def _curves(self, metres: float) -> Curves:
        setup = self.setup
        highest = KMH * metres / 60 / setup.driveline.high_ratio * setup.highest_rpm
        speeds = [speed for speed in self.speeds if speed < highest]
        if highest <= self.speeds[-1]:
            speeds.append(highest)
        times = run(setup, metres)
        return Curves(
            tuple(speeds),
            tuple(thrust_n(setup, metres, speed / KMH) for speed in speeds),
            tuple(times.time_s),
            tuple(KMH * speed for speed in times.speed_m_s),
        )


@dataclass(frozen=True, slots=True)
class TurnOverPoint:
    """One gearing of the curve.

    Attributes:
        percent: road-speed change against the present gearing.
        top_km_h: real top speed on the flat.
        rpm: engine speed there.
        limit: `revs`, `ratio`, `power` or `start`.
    """

    percent: float
    top_km_h: float
    rpm: float
    limit: str


def turn_over(
    subject: Subject, percents: Sequence[float], asked: RoadAsked | None = None
) -> list[TurnOverPoint]:
    """Real top speed on the flat with gearings so many percent taller than now.

    Raises:
        UsageError: the model lacks an input that nobody can guess.
    """
    inputs = gather(subject, asked)
    setup = setup_of(inputs, inputs.values)
    now = inputs.values["roll_out"] / 1000 / float(subject.reduction)
    found = []
    for percent in percents:
        top = top_speed(setup, now * (1 + percent / 100))
        found.append(TurnOverPoint(percent, KMH * top.speed_m_s, top.rpm, top.limit))
    return found
