"""What the machine does on the road with one gearing, in an answer."""

from __future__ import annotations

from typing import Annotated, TypedDict, get_args

from fitcheck.answers.combination import Combination, combination
from fitcheck.answers.declared import words
from fitcheck.answers.figures import exact_text, number
from fitcheck.answers.list_road import ClassAnswer, OtherTop, Pull, class_answer, other_top
from fitcheck.answers.road_words import LIMIT_WORDS
from fitcheck.answers.values import (
    Exact,
    FractionText,
    Name,
    Pairs,
    Range,
    exact,
    pairs_of,
    range_of,
    range_or_none,
    road_number,
)
from fitcheck.kernel.gearing import reduction_change
from fitcheck.kernel.road.load import Cap
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.results import Curves, Help, TopFigure
from fitcheck.services.road.results import Outcome as Compared

_Held = Annotated[str, words(get_args(Cap))]


class Top(TypedDict):
    """The speed a gearing really reaches."""

    speed_km_h: Range
    """Road speed, km/h."""
    other: OtherTop | None
    """A second speed, where runs for the range jump to it; null where none does."""
    rpm: float
    """Engine speed there, 1/min."""
    limit: Annotated[str, words(LIMIT_WORDS)]
    """What limits it. revs: the rev limit; ratio: geared short, past the power peak; power: geared
    long enough, drag takes all; start: it cannot move off."""


class _Tops(TypedDict):
    """The speed it really reaches."""

    flat: Top
    """On the flat in still air."""
    headwind: Top
    """On the flat into a wind of 20 km/h."""
    uphill: Top
    """Up 5 percent in still air."""


class _Start(TypedDict):
    """Moving off."""

    force_n: Range
    """Pull at the wheel as the clutch grips, N."""
    change_percent: Range | None
    """Its change against now, percent; null for now."""
    gradient_percent: Range | None
    """Steepest hill it starts on, percent; null where it does not start on the flat."""
    force_cap: _Held | None
    """What holds the pull; null: the engine."""
    gradient_cap: _Held | None
    """What holds the steepest hill; null: the engine."""


class _Times(TypedDict):
    """Seconds from standstill at full throttle on the flat; null where it never gets there."""

    to_30_km_h: Range | None
    """To 30 km/h."""
    to_45_km_h: Range | None
    """To 45 km/h."""
    to_60_km_h: Range | None
    """To 60 km/h."""
    to_200_m: Range | None
    """For the first 200 m."""
    to_95_percent_of_top: Range | None
    """To 95 percent of its top speed on the flat."""


class _EngineSpeed(TypedDict):
    """One road speed."""

    km_h: float
    """Road speed, km/h."""
    rpm: float
    """Engine speed there, 1/min."""


class _Fuel(TypedDict):
    """Use of fuel at a steady speed, roughly; null where it is not compared."""

    km_h: float
    """The steady speed, km/h."""
    change_percent: Range | None
    """Change against now, percent; null for now, or where the variator takes the change up."""


class _Help(TypedDict):
    """What would help; null for now."""

    start_ratio: float | None
    """Starting variator ratio that gives the old start-off pull back."""
    variators: list[Name]
    """Ids of variators in the catalogue that have such a ratio."""
    sentences: list[Name]
    """All of it in words."""


class _Curves(TypedDict):
    """Points to draw; lists of one pair are of equal length."""

    speed_km_h: list[float]
    """Road speeds, rising, km/h."""
    thrust_n: list[float]
    """Full-throttle thrust at the wheel there, N."""
    time_s: list[float]
    """Times from standstill, rising, s."""
    time_speed_km_h: list[float]
    """Road speed at those times, km/h."""


class Outcome(TypedDict):
    """What the machine does on the road with one gearing."""

    label: str
    """What to call it: now, or the ids of the sets joined by ` + `."""
    combination: Combination | None
    """The sets and how they fit; null for the machine as it stands."""
    pairs: Pairs
    """Tooth counts of every stage."""
    reduction: Exact
    """Overall reduction."""
    road_speed_change_percent: float
    """Percent by which road speed rises on paper, a change of tyre counted in."""
    road_speed_change_exact: FractionText
    """The same, exact, percent."""
    reduction_change_percent: float
    """Percent by which the overall reduction rises: another figure for the same change of gears,
    negative where the drive is taller."""
    reduction_change_exact: FractionText
    """The same, exact, percent."""
    verdict: Pull
    cautious_verdict: Pull
    """The same at the low end of the range."""
    km_h_per_1000_rpm: Range
    """Road speed in the top ratio at 1,000 engine rpm, km/h."""
    paper_top_km_h: Range
    """Road speed in the top ratio at peak-power rpm, km/h."""
    top: _Tops
    top_change_km_h: Range | None
    """Change of top speed on the flat against now, km/h; null for now."""
    start: _Start
    times_s: _Times
    rpm_at: list[_EngineSpeed]
    """Engine speed at round road speeds, those it reaches."""
    fuel: _Fuel | None
    lawful: ClassAnswer | None
    """Null where no vehicle class is known."""
    tyre_warning: str | None
    """A warning where it may go faster than the tyre's speed symbol allows."""
    help: _Help | None
    curves: _Curves


def outcome(one: Compared, subject: Subject) -> Outcome:
    """What the machine does on the road with one gearing."""
    turns = reduction_change(subject.reduction, one.reduction)
    return {
        "label": one.label,
        "combination": None if one.combination is None else combination(one.combination, subject),
        "pairs": pairs_of(one.pairs),
        "reduction": exact(one.reduction),
        "road_speed_change_percent": number(one.road_speed_change),
        "road_speed_change_exact": exact_text(one.road_speed_change),
        "reduction_change_percent": number(turns),
        "reduction_change_exact": exact_text(turns),
        "verdict": one.verdict.value,
        "cautious_verdict": one.cautious_verdict.value,
        "km_h_per_1000_rpm": range_of(one.per_1000_rpm),
        "paper_top_km_h": range_of(one.paper_top),
        "top": {
            "flat": _top(one.flat),
            "headwind": _top(one.headwind),
            "uphill": _top(one.uphill),
        },
        "top_change_km_h": range_or_none(one.top_change),
        "start": _start(one),
        "times_s": {
            "to_30_km_h": range_or_none(one.time_30),
            "to_45_km_h": range_or_none(one.time_45),
            "to_60_km_h": range_or_none(one.time_60),
            "to_200_m": range_or_none(one.time_200_m),
            "to_95_percent_of_top": range_or_none(one.time_95),
        },
        "rpm_at": [
            {"km_h": road_number(speed), "rpm": road_number(rpm)} for speed, rpm in one.rpm_at
        ],
        "fuel": _fuel(one),
        "lawful": None if one.lawful is None else class_answer(one.lawful),
        "tyre_warning": one.tyre_warning,
        "help": None if one.help is None else _help(one.help),
        "curves": _curves(one.curves),
    }


def _top(top: TopFigure) -> Top:
    return {
        "speed_km_h": range_of(top.speed),
        "other": other_top(top.other),
        "rpm": road_number(top.rpm),
        "limit": top.limit,
    }


def _start(one: Compared) -> _Start:
    return {
        "force_n": range_of(one.start_force),
        "change_percent": range_or_none(one.start_change),
        "gradient_percent": range_or_none(one.start_gradient),
        "force_cap": one.force_cap,
        "gradient_cap": one.gradient_cap,
    }


def _fuel(one: Compared) -> _Fuel | None:
    if one.fuel_speed_km_h is None:
        return None
    return {
        "km_h": road_number(one.fuel_speed_km_h),
        "change_percent": range_or_none(one.fuel_change),
    }


def _help(told: Help) -> _Help:
    return {
        "start_ratio": None if told.start_ratio is None else road_number(told.start_ratio),
        "variators": list(told.variators),
        "sentences": list(told.sentences),
    }


def _curves(points: Curves) -> _Curves:
    return {
        "speed_km_h": list(map(road_number, points.speed_km_h)),
        "thrust_n": list(map(road_number, points.thrust_n)),
        "time_s": list(map(road_number, points.time_s)),
        "time_speed_km_h": list(map(road_number, points.time_speed_km_h)),
    }
