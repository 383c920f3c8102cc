"""The answer of `road`: what the machine does on the road as it stands, and with each choice.

In CSV a figure has three columns, itself and both ends of its range; what is not known, never
reached or without end is an empty cell. In Markdown the range stands beside the figure, as on
screen.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from operator import attrgetter
from typing import Annotated, TypedDict, get_args

from fitcheck.answers.combination import Combination, GearSets, combination, gear_sets
from fitcheck.answers.figures import money
from fitcheck.answers.list_road import ClassAnswer, OtherTop, Pull, figure_columns
from fitcheck.answers.machine import Header, Machine, header, machine
from fitcheck.answers.road_words import (
    LAWFUL_WORDS,
    LIMIT_WORDS,
    NOT_REACHED,
    cap_words,
    decimal_words,
    gain_words,
    hill,
    other_words,
    pull_words,
    range_words,
    seconds,
)
from fitcheck.answers.shapes import (
    ITSELF,
    At,
    AtLeast0,
    By,
    Exact,
    FractionText,
    More,
    Name,
    Pairs,
    Range,
    fill,
    plain_number,
    words,
)
from fitcheck.answers.tables import COUNT, MONEY, PERCENT, RATIO, ROAD, Column, Table
from fitcheck.kernel.gearing import reduction_change
from fitcheck.kernel.road.load import Cap
from fitcheck.kernel.rounding import percent
from fitcheck.model.fields import Stage
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import Figure
from fitcheck.services.road.results import Outcome as Compared
from fitcheck.services.road.results import RoadReport

_Held = Annotated[str, words(get_args(Cap))]


class Top(TypedDict):
    """The speed a gearing really reaches."""

    speed_km_h: Annotated[Range, At("speed")]
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

    force_n: Annotated[Range, At("start_force")]
    """Pull at the wheel as the clutch grips, N."""
    change_percent: Annotated[Range | None, At("start_change")]
    """Its change against now, percent; null for now."""
    gradient_percent: Annotated[Range | None, At("start_gradient")]
    """Steepest hill it starts on, percent; null where it does not start on the flat."""
    force_cap: _Held | None
    """What holds the pull; null: the engine."""
    gradient_cap: _Held | None
    """What holds the steepest hill; null: the engine."""


class _Times(TypedDict):
    """Seconds from standstill at full throttle on the flat; null where it never gets there."""

    to_30_km_h: Annotated[Range | None, At("time_30")]
    """To 30 km/h."""
    to_45_km_h: Annotated[Range | None, At("time_45")]
    """To 45 km/h."""
    to_60_km_h: Annotated[Range | None, At("time_60")]
    """To 60 km/h."""
    to_200_m: Annotated[Range | None, At("time_200_m")]
    """For the first 200 m."""
    to_95_percent_of_top: Annotated[Range | None, At("time_95")]
    """To 95 percent of its top speed on the flat."""


class _EngineSpeed(TypedDict):
    """One road speed."""

    km_h: float
    """Road speed, km/h."""
    rpm: float
    """Engine speed there, 1/min."""


def _engine_speed(at: tuple[float, float]) -> _EngineSpeed:
    return {"km_h": plain_number(at[0]), "rpm": plain_number(at[1])}


class _Fuel(TypedDict):
    """Use of fuel at a steady speed, roughly; null where it is not compared."""

    km_h: Annotated[float, At("fuel_speed_km_h")]
    """The steady speed, km/h."""
    change_percent: Annotated[Range | None, At("fuel_change")]
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
    road_speed_change_percent: Annotated[float, At("road_speed_change")]
    """Percent by which road speed rises on paper, a change of tyre counted in."""
    road_speed_change_exact: Annotated[FractionText, At("road_speed_change")]
    """The same, exact, percent."""
    reduction_change_percent: float
    """Percent by which the overall reduction rises: another figure for the same change of gears,
    negative where the drive is taller."""
    reduction_change_exact: FractionText
    """The same, exact, percent."""
    verdict: Annotated[Pull, At("verdict.value")]
    cautious_verdict: Annotated[Pull, At("cautious_verdict.value")]
    """The same at the low end of the range."""
    km_h_per_1000_rpm: Annotated[Range, At("per_1000_rpm")]
    """Road speed in the top ratio at 1,000 engine rpm, km/h."""
    paper_top_km_h: Annotated[Range, At("paper_top")]
    """Road speed in the top ratio at peak-power rpm, km/h."""
    top: Annotated[_Tops, ITSELF]
    top_change_km_h: Annotated[Range | None, At("top_change")]
    """Change of top speed on the flat against now, km/h; null for now."""
    start: Annotated[_Start, ITSELF]
    times_s: Annotated[_Times, ITSELF]
    rpm_at: list[Annotated[_EngineSpeed, By(_engine_speed)]]
    """Engine speed at round road speeds, those it reaches."""
    fuel: _Fuel | None
    lawful: ClassAnswer | None
    """Null where no vehicle class is known."""
    tyre_warning: str | None
    """A warning where it may go faster than the tyre's speed symbol allows."""
    help: _Help | None
    curves: _Curves


def _outcome(one: Compared, subject: Subject) -> Outcome:
    """What the machine does on the road with one gearing."""
    turns = reduction_change(subject.reduction, one.reduction)
    return fill(
        Outcome,
        one,
        combination=None if one.combination is None else combination(one.combination, subject),
        reduction_change_percent=turns,
        reduction_change_exact=turns,
        fuel=None if one.fuel_speed_km_h is None else fill(_Fuel, one),
    )


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


_SIX_PLACES = By(lambda value: round(value, 6))
_SixPlaces = Annotated[float, _SIX_PLACES]


class Input(TypedDict):
    """One input of the model."""

    key: Annotated[str, More(examples=["peak_power"])]
    """What it is in the model; stable."""
    name: str
    """What it is called."""
    value: _SixPlaces
    """Its value, rounded to six decimals."""
    spread: Annotated[AtLeast0, _SIX_PLACES]
    """Half-width of the range it may lie in: two standard deviations."""
    unit: Annotated[str, More(examples=["kW"])]
    """Unit of both; empty for a ratio."""
    kind: Annotated[str, words(_KINDS)]
    """How it is known; calibrated: moved by a measured top speed."""
    before: _SixPlaces | None
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
    return fill(
        RoadAnswer,
        report,
        **header("road", subject.catalogue),
        machine=machine(subject),
        before=_outcome(report.before, subject),
        after=[_outcome(one, subject) for one in report.after],
        loads=fill(
            _Loads,
            report,
            speed_km_h=report.load_speed_km_h,
            **{f"{load}_n": points for load, points in report.loads_n.items()},
        ),
        gear_sets=gear_sets(subject.catalogue, chosen),
    )


def road_table(report: RoadReport) -> Table:
    """A row a gearing, the machine as it stands first."""
    rows = [report.before, *report.after]
    speeds = sorted({speed for one in rows for speed, _ in one.rpm_at})
    columns = [
        Column("gearing", value="label"),
        Column("part_numbers", value=_part_numbers),
        *(Column(stage, value=partial(_pair, stage)) for stage in report.subject.stages),
        Column("overall_reduction", value="reduction", kind=RATIO),
        Column(
            "road_speed_change_percent",
            "road speed on paper",
            "road_speed_change",
            PERCENT,
            shown=lambda one: "" if one is report.before else percent(one.road_speed_change),
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


def _currency(one: Compared) -> str | None:
    choice = one.combination
    return None if choice is None or choice.price is None else choice.currency


def _part_numbers(one: Compared) -> str | None:
    sets = None if one.combination is None else one.combination.sets
    return None if sets is None else " + ".join(each.record.part_number for each in sets)


def _time(name: str, head: str, path: str) -> list[Column]:
    read = attrgetter(path)
    return figure_columns(name, "_s", head, path, lambda one: seconds(read(one)))


def _ranged(path: str, places: int = 0) -> Callable[[Compared], str]:
    read = attrgetter(path)
    return lambda one: range_words(read(one), places)


def _change(figure: Figure | None) -> str:
    return "" if figure is None else range_words(figure, signed=True)


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
        return NOT_REACHED if found is None else decimal_words(round(found, -1))

    return Column(f"rpm_at_{speed:g}_km_h", f"rpm at {speed:g} km/h", rpm, ROAD, shown=shown)


_FIGURES = (
    Column("verdict", value="verdict.value", shown=pull_words),
    Column("cautious_verdict", "", "cautious_verdict.value"),
    *figure_columns(
        "km_h_per_1000_rpm", "", "km/h per 1,000 rpm", "per_1000_rpm", _ranged("per_1000_rpm", 1)
    ),
    *figure_columns(
        "top_on_paper", "_km_h", "top speed on paper, km/h", "paper_top", _ranged("paper_top")
    ),
    *figure_columns(
        "top_flat",
        "_km_h",
        "top speed on the flat, km/h",
        "flat.speed",
        lambda one: f"{range_words(one.flat.speed)}{other_words(one.flat.other)}",
    ),
    *figure_columns(
        "top_change",
        "_km_h",
        "against now, km/h",
        "top_change",
        lambda one: gain_words(one.top_change),
    ),
    # Words, but in Markdown they stand to the right like the figures beside them.
    Column("", "limited by", lambda one: LIMIT_WORDS[one.flat.limit], COUNT),
    Column("", "engine there, rpm", lambda one: decimal_words(round(one.flat.rpm, -2)), COUNT),
    *figure_columns(
        "top_headwind",
        "_km_h",
        "top speed into 20 km/h wind, km/h",
        "headwind.speed",
        _ranged("headwind.speed"),
    ),
    *figure_columns(
        "top_uphill", "_km_h", "top speed up 5 %, km/h", "uphill.speed", _ranged("uphill.speed")
    ),
    *figure_columns(
        "start_force",
        "_n",
        "start-off pull, N",
        "start_force",
        lambda one: cap_words(one.start_force, one.force_cap),
    ),
    *figure_columns(
        "start_change",
        "_percent",
        "pull against now, %",
        "start_change",
        lambda one: _change(one.start_change),
    ),
    *figure_columns("start_gradient", "_percent", "steepest hill, %", "start_gradient", hill),
    *_time("to_30_km_h", "0 to 30 km/h, s", "time_30"),
    *_time("to_45_km_h", "0 to 45 km/h, s", "time_45"),
    *_time("to_60_km_h", "0 to 60 km/h, s", "time_60"),
    *_time("to_200_m", "first 200 m, s", "time_200_m"),
    *_time("to_95_percent_of_top", "to 95 % of top speed, s", "time_95"),
    *figure_columns("fuel_change", "_percent", "", "fuel_change"),
    Column("pull_held_by", "", "force_cap"),
    Column("hill_held_by", "", "gradient_cap"),
    Column("top_flat_other_km_h", "", "flat.other.km_h", ROAD),
    Column("limited_by", "", "flat.limit"),
    Column("top_flat_rpm", "", "flat.rpm", ROAD),
)
_FUEL = (
    Column("fuel_at_km_h", "", "fuel_speed_km_h", ROAD),
    Column("", "fuel at steady speed, %", _fuel_words),
)
_LAW = (
    Column("class", value="lawful.vehicle_class.id"),
    Column("ceiling_km_h", "", "lawful.ceiling_km_h", ROAD),
    Column(
        "lawful",
        value=lambda one: None if one.lawful is None else one.lawful.answer.name.lower(),
        shown=lambda one: "" if one.lawful is None else LAWFUL_WORDS[one.lawful.answer],
    ),
    Column("tyre_warning", "tyre"),
)
_SALE = (
    Column("fit", value="combination.judgement.verdict.value"),
    Column("evidence", "", "combination.judgement.evidence.word"),
    Column(
        "price",
        value="combination.price",
        kind=MONEY,
        shown=lambda one: "" if one.combination is None else money(one.combination.price),
    ),
    Column("currency", value=_currency),
)
