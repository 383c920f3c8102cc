"""The answers of the road model: outcomes with their curves, the whole report."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import (
    ClassAnswer,
    Figure,
    Given,
    OtherTop,
    PullVerdict,
)


@dataclass(frozen=True, slots=True)
class TopFigure:
    """The speed a gearing really reaches under one condition.

    Attributes:
        speed: km/h.
        rpm: engine speed there, 1/min.
        limit: what limits it: `revs`, `ratio`, `power` or `start` (it cannot move off).
        other: on the flat, what it may be instead; None where it is one speed alone.
    """

    speed: Figure
    rpm: float
    limit: str
    other: OtherTop | None = None


@dataclass(frozen=True, slots=True)
class Curves:
    """Points to draw, all lists of one gearing of equal length within a pair.

    Attributes:
        speed_km_h: speeds of `thrust_n`, rising.
        thrust_n: full-throttle thrust at the wheel, N.
        time_s: times from standstill, rising.
        time_speed_km_h: speed at those times.
    """

    speed_km_h: tuple[float, ...]
    thrust_n: tuple[float, ...]
    time_s: tuple[float, ...]
    time_speed_km_h: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Help:
    """What would help a gearing.

    Attributes:
        start_ratio: starting variator ratio that gives back the old start-off pull, or None.
        variators: ids of variators in the catalogue for this family that reach it.
        sentences: all of it in words, rollers included; the starting ratio first, if any.
    """

    start_ratio: float | None
    variators: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the machine does on the road with one gearing.

    Attributes:
        label: `now`, or the ids of the sets joined by ` + `.
        combination: the sets and their fit; None for the machine as it stands.
        pairs: by stage.
        reduction: overall reduction, exact.
        road_speed_change: percent against now, exact, a change of tyre counted in.
        per_1000_rpm: km/h per 1,000 engine rpm in the top ratio.
        paper_top: km/h at peak-power rpm in the top ratio.
        flat, headwind, uphill: what it really reaches: on the flat, into 20 km/h, up 5 %.
        start_force: pull at the wheel as the clutch engages, N.
        start_gradient: steepest hill it starts on, percent; None: it does not start on the flat.
        force_cap: what holds `start_force` rather than the engine: `grip` or `front wheel`; None.
        gradient_cap: the same of `start_gradient`.
        time_30, time_45, time_60: seconds from standstill to so many km/h; None: never reached.
        time_200_m: seconds for the first 200 m; None where it cannot start.
        time_95: seconds to 95 % of its top speed.
        rpm_at: engine rpm at round speeds, as (km/h, rpm); only speeds it reaches.
        top_change: change of the real top speed against now, km/h; None for now.
        start_change: change of the start-off pull against now, percent; None for now, and where
            the machine has no pull now.
        fuel_change: rough change of fuel use at `fuel_speed_km_h`, percent; None for now, or
            where the variator takes the change up.
        fuel_speed_km_h: the steady speed meant.
        verdict: whether the engine pulls it.
        cautious_verdict: the same at the low end of the range.
        lawful: the class's answer; None where no class is known.
        tyre_warning: set where it may go faster than the tyre's speed symbol allows.
        help: what would help; None for now.
        curves: for charts.
    """

    label: str
    combination: Combination | None
    pairs: dict[Stage, Pair]
    reduction: Fraction
    road_speed_change: Fraction
    per_1000_rpm: Figure
    paper_top: Figure
    flat: TopFigure
    headwind: TopFigure
    uphill: TopFigure
    start_force: Figure
    start_gradient: Figure | None
    force_cap: str | None
    gradient_cap: str | None
    time_30: Figure | None
    time_45: Figure | None
    time_60: Figure | None
    time_200_m: Figure | None
    time_95: Figure | None
    rpm_at: tuple[tuple[float, float], ...]
    top_change: Figure | None
    start_change: Figure | None
    fuel_change: Figure | None
    fuel_speed_km_h: float | None
    verdict: PullVerdict
    cautious_verdict: PullVerdict
    lawful: ClassAnswer | None
    tyre_warning: str | None
    help: Help | None
    curves: Curves


@dataclass(frozen=True)
class RoadReport:
    """Before and after on the road.

    Attributes:
        subject: the machine.
        before: as it stands.
        after: with each combination asked for.
        inputs: every input with its kind, spread and source.
        load_speed_km_h: speeds of the road loads, rising.
        loads_n: road load by condition: `flat`, `headwind`, `uphill`, N.
        calibrated: which inputs the measured speed has moved, and how far; None where none was
            measured.
        notes: extrapolations and other cautions, one sentence each.
    """

    subject: Subject
    before: Outcome
    after: tuple[Outcome, ...]
    inputs: tuple[Given, ...]
    load_speed_km_h: tuple[float, ...]
    loads_n: dict[str, tuple[float, ...]]
    calibrated: str | None
    notes: tuple[str, ...]
