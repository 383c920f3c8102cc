"""The answer of `road`: what the machine does on the road as it stands, and with each choice.

In CSV a figure has three columns, itself and both ends of its range; what is not known, never
reached or without end is an empty cell. In Markdown the range stands beside the figure, as on
screen.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Annotated, Any, TypedDict

from fitcheck.answers.combination import GearSets, gear_sets
from fitcheck.answers.declared import More, words
from fitcheck.answers.figures import money
from fitcheck.answers.machine import Header, Machine, header, machine
from fitcheck.answers.outcome import Outcome, outcome
from fitcheck.answers.road_words import (
    LAWFUL_WORDS,
    LIMIT_WORDS,
    NOT_REACHED,
    capped,
    gained,
    hill,
    other_words,
    pull_words,
    ranged,
    rounded,
    seconds,
)
from fitcheck.answers.tables import COUNT, MONEY, PERCENT, RATIO, ROAD, Column, Table
from fitcheck.answers.values import AtLeast0, Name, road_number
from fitcheck.kernel.rounding import percent
from fitcheck.model.fields import Stage
from fitcheck.services.counter.combination import Combination
from fitcheck.services.road.figures import ClassAnswer, Figure, Given
from fitcheck.services.road.results import Outcome as Compared
from fitcheck.services.road.results import RoadReport

_KINDS = ("counted", "given", "calibrated", "catalogue", "standard", "approximate", "estimate")


class _Loads(TypedDict):
    """What the road takes; lists of equal length."""

    speed_km_h: list[float]
    """Road speeds, rising, km/h."""
    flat_n: list[float]
    """Load on the flat in still air, N."""
    headwind_n: list[float]
    """Load into a wind of 20 km/h, N."""
    uphill_n: list[float]
    """Load up 5 percent, N."""


class Input(TypedDict):
    """One input of the model."""

    key: Annotated[str, More(examples=["peak_power"])]
    """What it is in the model; stable."""
    name: str
    """What it is called."""
    value: float
    """Its value, rounded to six decimals."""
    spread: AtLeast0
    """Half-width of the range it may lie in: two standard deviations."""
    unit: Annotated[str, More(examples=["kW"])]
    """Unit of both; empty for a ratio."""
    kind: Annotated[str, words(_KINDS)]
    """How it is known; calibrated: moved by a measured top speed."""
    before: float | None
    """Its value before a measured speed moved it; null where none did."""
    source: str
    """Where it comes from: a place in a file, a rule, an option."""


class RoadAnswer(Header):
    """One answer of `road`."""

    machine: Machine
    before: Outcome
    """The machine as it stands."""
    after: list[Outcome]
    """With each choice asked for, in the order asked."""
    loads: _Loads
    inputs: list[Input]
    """Every input of the model."""
    calibrated: str | None
    """Which inputs the measured top speed has moved most, and how far; null where none was
    measured."""
    notes: list[Name]
    """Extrapolations and other cautions, a sentence each."""
    gear_sets: GearSets
    """Every gear set the combinations name, once, by id."""


def road_answer(report: RoadReport) -> RoadAnswer:
    """One answer of `road` as plain data for `json.dumps`."""
    subject = report.subject
    chosen = [one.combination for one in report.after if one.combination is not None]
    return {
        **header("road", subject.catalogue),
        "machine": machine(subject),
        "before": outcome(report.before, subject),
        "after": [outcome(one, subject) for one in report.after],
        "loads": {
            "speed_km_h": list(map(road_number, report.load_speed_km_h)),
            "flat_n": list(map(road_number, report.loads_n["flat"])),
            "headwind_n": list(map(road_number, report.loads_n["headwind"])),
            "uphill_n": list(map(road_number, report.loads_n["uphill"])),
        },
        "inputs": [_input(given) for given in report.inputs],
        "calibrated": report.calibrated,
        "notes": list(report.notes),
        "gear_sets": gear_sets(subject.catalogue, chosen),
    }


def _input(given: Given) -> Input:
    return {
        "key": given.key,
        "name": given.name,
        "value": round(given.value, 6),
        "spread": round(given.spread, 6),
        "unit": given.unit,
        "kind": given.kind,
        "before": None if given.before is None else round(given.before, 6),
        "source": given.source,
    }


def road_table(report: RoadReport) -> Table:
    """A row a gearing, the machine as it stands first."""
    rows = [report.before, *report.after]
    speeds = sorted({speed for one in rows for speed, _ in one.rpm_at})
    columns = [
        Column("gearing", "gearing", lambda one: one.label),
        Column(
            "part_numbers",
            "part numbers",
            _choice(lambda choice: " + ".join(each.record.part_number for each in choice.sets)),
        ),
        *(Column(stage, stage, partial(_pair, stage)) for stage in report.subject.stages),
        Column("overall_reduction", "overall reduction", lambda one: one.reduction, RATIO),
        Column(
            "road_speed_change_percent",
            "road speed on paper",
            lambda one: one.road_speed_change,
            PERCENT,
            lambda one: "" if one is report.before else percent(one.road_speed_change),
        ),
        *_FIGURES,
        *map(_rpm_at, speeds),
        *_FUEL,
        *_LAW,
        *_SALE,
    ]
    return Table(columns, rows)


def _pair(stage: Stage, one: Compared) -> str:
    return str(one.pairs[stage])


def _choice(value: Callable[[Combination], Any]) -> Callable[[Compared], Any]:
    return lambda one: None if one.combination is None else value(one.combination)


def _law(value: Callable[[ClassAnswer], Any]) -> Callable[[Compared], Any]:
    return lambda one: None if one.lawful is None else value(one.lawful)


def _figure(
    name: str,
    unit: str,
    head: str,
    figure: Callable[[Compared], Figure | None],
    shown: Callable[[Compared], str] | None = None,
) -> list[Column]:
    """A figure, in Markdown with its range, and for CSV the ends of the range."""
    return [
        Column(f"{name}{unit}", head, partial(_end, "value", figure), ROAD, shown),
        Column(f"{name}_low{unit}", "", partial(_end, "low", figure), ROAD),
        Column(f"{name}_high{unit}", "", partial(_end, "high", figure), ROAD),
    ]


def _end(which: str, figure: Callable[[Compared], Figure | None], one: Compared) -> Any:
    found = figure(one)
    return None if found is None else getattr(found, which)


def _time(name: str, head: str, figure: Callable[[Compared], Figure | None]) -> list[Column]:
    return _figure(name, "_s", head, figure, lambda one: seconds(figure(one)))


def _change(figure: Figure | None) -> str:
    return "" if figure is None else ranged(figure, signed=True)


def _fuel_words(one: Compared) -> str | None:
    if one.fuel_change is None:
        return None
    return f"{_change(one.fuel_change)} at {one.fuel_speed_km_h:g}"


def _rpm_at(speed: float) -> Column:
    """Engine speed at a road speed."""

    def rpm(one: Compared) -> float | None:
        return dict(one.rpm_at).get(speed)

    def shown(one: Compared) -> str:
        found = rpm(one)
        return NOT_REACHED if found is None else rounded(round(found, -1))

    return Column(f"rpm_at_{speed:g}_km_h", f"rpm at {speed:g} km/h", rpm, ROAD, shown)


_FIGURES = (
    Column("verdict", "verdict", lambda one: one.verdict.value, shown=pull_words),
    Column("cautious_verdict", "", lambda one: one.cautious_verdict.value),
    *_figure(
        "km_h_per_1000_rpm",
        "",
        "km/h per 1,000 rpm",
        lambda one: one.per_1000_rpm,
        lambda one: ranged(one.per_1000_rpm, 1),
    ),
    *_figure(
        "top_on_paper",
        "_km_h",
        "top speed on paper, km/h",
        lambda one: one.paper_top,
        lambda one: ranged(one.paper_top),
    ),
    *_figure(
        "top_flat",
        "_km_h",
        "top speed on the flat, km/h",
        lambda one: one.flat.speed,
        lambda one: f"{ranged(one.flat.speed)}{other_words(one.flat.other)}",
    ),
    *_figure(
        "top_change",
        "_km_h",
        "against now, km/h",
        lambda one: one.top_change,
        lambda one: gained(one.top_change),
    ),
    # Words, but in Markdown they stand to the right like the figures beside them.
    Column("", "limited by", lambda one: LIMIT_WORDS[one.flat.limit], COUNT),
    Column("", "engine there, rpm", lambda one: rounded(round(one.flat.rpm, -2)), COUNT),
    *_figure(
        "top_headwind",
        "_km_h",
        "top speed into 20 km/h wind, km/h",
        lambda one: one.headwind.speed,
        lambda one: ranged(one.headwind.speed),
    ),
    *_figure(
        "top_uphill",
        "_km_h",
        "top speed up 5 %, km/h",
        lambda one: one.uphill.speed,
        lambda one: ranged(one.uphill.speed),
    ),
    *_figure(
        "start_force",
        "_n",
        "start-off pull, N",
        lambda one: one.start_force,
        lambda one: capped(one.start_force, one.force_cap),
    ),
    *_figure(
        "start_change",
        "_percent",
        "pull against now, %",
        lambda one: one.start_change,
        lambda one: _change(one.start_change),
    ),
    *_figure(
        "start_gradient", "_percent", "steepest hill, %", lambda one: one.start_gradient, hill
    ),
    *_time("to_30_km_h", "0 to 30 km/h, s", lambda one: one.time_30),
    *_time("to_45_km_h", "0 to 45 km/h, s", lambda one: one.time_45),
    *_time("to_60_km_h", "0 to 60 km/h, s", lambda one: one.time_60),
    *_time("to_200_m", "first 200 m, s", lambda one: one.time_200_m),
    *_time("to_95_percent_of_top", "to 95 % of top speed, s", lambda one: one.time_95),
    *_figure("fuel_change", "_percent", "", lambda one: one.fuel_change),
    Column("pull_held_by", "", lambda one: one.force_cap),
    Column("hill_held_by", "", lambda one: one.gradient_cap),
    Column(
        "top_flat_other_km_h",
        "",
        lambda one: None if one.flat.other is None else one.flat.other.km_h,
        ROAD,
    ),
    Column("limited_by", "", lambda one: one.flat.limit),
    Column("top_flat_rpm", "", lambda one: one.flat.rpm, ROAD),
)
_FUEL = (
    Column("fuel_at_km_h", "", lambda one: one.fuel_speed_km_h, ROAD),
    Column("", "fuel at steady speed, %", _fuel_words),
)
_LAW = (
    Column("class", "class", _law(lambda law: law.vehicle_class.id)),
    Column("ceiling_km_h", "", _law(lambda law: law.ceiling_km_h), ROAD),
    Column(
        "lawful",
        "lawful",
        _law(lambda law: law.answer.name.lower()),
        shown=lambda one: "" if one.lawful is None else LAWFUL_WORDS[one.lawful.answer],
    ),
    Column("tyre_warning", "tyre", lambda one: one.tyre_warning),
)
_SALE = (
    Column("fit", "fit", _choice(lambda choice: choice.judgement.verdict.value)),
    Column("evidence", "", _choice(lambda choice: choice.judgement.evidence.word)),
    Column(
        "price",
        "price",
        _choice(lambda choice: choice.price),
        MONEY,
        lambda one: "" if one.combination is None else money(one.combination.price),
    ),
    Column(
        "currency",
        "currency",
        _choice(lambda choice: None if choice.price is None else choice.currency),
    ),
)
