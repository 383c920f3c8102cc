"""What a list tells of the road and the law, where that is asked."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Annotated, Any, NotRequired, TypedDict, get_args

from fitcheck.answers.declared import More, words
from fitcheck.answers.road_words import LAWFUL_WORDS, ranged, rounded, tenths
from fitcheck.answers.tables import ROAD, Column, Kind, one_of
from fitcheck.answers.values import Name, Place, Range, place, range_of, range_or_none, road_number
from fitcheck.services.counter.request import RankBy, Request
from fitcheck.services.road.figures import (
    PULL_ORDER,
    LawfulAnswer,
    PullVerdict,
    RoadRow,
    RoadSide,
)
from fitcheck.services.road.figures import ClassAnswer as Answered
from fitcheck.services.road.figures import OtherTop as SecondTop
from fitcheck.services.road.lawful import APPROVAL

Pull = Annotated[
    str,
    More(
        description="Whether the engine pulls the gearing.",
        enum=[verdict.value for verdict in PullVerdict],
    ),
]
Lawful = Annotated[str, words(answer.name.lower() for answer in LawfulAnswer)]


class OtherTop(TypedDict):
    """A second top speed on the flat: the variator comes out or not, or torque dips."""

    km_h: float
    """Road speed, about, km/h."""
    when: Annotated[str, More(examples=["if the variator does not come out"])]
    """When."""


class RowRoad(TypedDict):
    """What a gearing of a list does on the road, in short."""

    verdict: Pull
    top_km_h: Range
    """The speed it really reaches on the flat in still air, km/h."""
    other_top: OtherTop | None
    """A second speed, where runs for the range jump to it; null where none does."""
    top_change_km_h: float
    """Its change against now, km/h."""
    start_force_n: Range
    """Pull at the wheel as the clutch grips, N."""
    start_change_percent: float
    """Its change against now, percent."""
    to_45_km_h_s: float | None
    """Seconds from standstill to 45 km/h; null where it never gets there."""
    tyre_warning: str | None
    """A warning where it may go faster than the tyre's speed symbol allows."""


class RowClassAnswer(TypedDict):
    """A gearing of a list against the class that `law` names; local law decides."""

    answer: Lawful
    """Where the top speed lies against the ceiling; straddles: the range lies on both sides of
    it."""
    top_km_h: Range | None
    """Predicted top speed on the flat with a rider of 75 kg, km/h."""
    sentence: str
    """The answer in words."""
    others: list[Name]
    """What else speaks against the class."""


_Class = TypedDict(
    "_Class",
    {
        "class": Annotated[str, More(description="Id of the class.")],
        "name": Annotated[str, More(description="Name of the class.")],
        "where": Annotated[str, More(description="Where it applies.")],
        "ceiling_km_h": Annotated[
            float | None, More(description="Its greatest design speed, km/h; null: none.")
        ],
    },
)


class _Source(TypedDict):
    source: str
    """The rule the class is taken from."""
    date: Annotated[str, More(format="date")]
    """Date of the text read."""
    place: Place
    """Where its record stands."""


class ClassAnswer(_Class, RowClassAnswer, _Source):
    """A gearing against the ceilings of a vehicle class; local law decides."""


class _RoadMember(TypedDict):
    """Only where the road is asked (--road, --rank): the present gearing, and the model."""

    rank: Annotated[str, words(get_args(RankBy))]
    """What comes first in `combinations` and `shorter`: most road-speed change; or by the model
    most top speed, most start-off pull, least time to 45 km/h, or what the engine pulls (then most
    top speed)."""
    now: Annotated[RowRoad, More(description="The machine as it stands.")]
    calibrated: str | None
    """Which inputs the measured top speed has moved most, and how far; null where none was
    measured."""
    notes: list[Name]
    """Cautions of the model."""


class _LawMember(TypedDict):
    """Only where the road or the law is asked (--road, --rank, --lawful); null where no vehicle
    class is known.
    """

    only_lawful: bool
    """What takes the machine over its class was left out."""
    now: ClassAnswer
    """The class, and its answer to the present gearing."""
    approval: str
    """What is said with every answer about the law."""


class RoadMembers(TypedDict):
    """Members that a list has for the whole of it, where the road or the law is asked."""

    road: NotRequired[_RoadMember]
    law: NotRequired[_LawMember | None]


def other_top(other: SecondTop | None) -> OtherTop | None:
    """A second top speed; None where there is one alone."""
    return None if other is None else {"km_h": road_number(other.km_h), "when": other.words}


def row_road(row: RoadRow) -> RowRoad:
    """What one gearing does on the road."""
    return {
        "verdict": row.verdict.value,
        "top_km_h": range_of(row.top),
        "other_top": other_top(row.other_top),
        "top_change_km_h": road_number(row.top_change),
        "start_force_n": range_of(row.start_force),
        "start_change_percent": road_number(row.start_change),
        "to_45_km_h_s": None if row.time_45 is None else road_number(row.time_45),
        "tyre_warning": row.tyre_warning,
    }


def row_class_answer(answer: Answered) -> RowClassAnswer:
    """The class's answer to one gearing of a list; the class itself is named once."""
    return {
        "answer": answer.answer.name.lower(),
        "top_km_h": range_or_none(answer.top),
        "sentence": answer.sentence,
        "others": list(answer.others),
    }


def class_answer(answer: Answered) -> ClassAnswer:
    """The class's answer to one gearing, and the class."""
    entry = answer.vehicle_class
    ceiling = answer.ceiling_km_h
    return {
        "class": entry.id,
        "name": entry.record.name,
        "where": entry.record.place,
        "ceiling_km_h": None if ceiling is None else road_number(ceiling),
        **row_class_answer(answer),
        "source": entry.record.source,
        "date": entry.record.date.isoformat(),
        "place": place(entry.span()),
    }


def road_members(side: RoadSide | None, request: Request) -> RoadMembers:
    """By what a list is ranked, the present gearing, the model's cautions, and the law."""
    found: RoadMembers = {}
    if side is not None and side.now is not None and request.show_road:
        found["road"] = {
            "rank": request.rank,
            "now": row_road(side.now),
            "calibrated": side.calibrated,
            "notes": list(side.notes),
        }
    if side is not None:
        found["law"] = None
        if side.lawful_now is not None:
            found["law"] = {
                "only_lawful": request.lawful,
                "now": class_answer(side.lawful_now),
                "approval": APPROVAL,
            }
    return found


def road_columns(request: Request) -> list[Column]:
    """The columns of the road and the law in a list; none where they are not asked.

    A figure has its range beside it, in CSV and frames in columns of its own. A speed never
    reached is an empty cell.
    """
    return [*(_ROAD if request.show_road else ()), *(_LAW if request.on_road else ())]


def _road(
    name: str,
    head: str,
    value: Callable[[RoadRow], Any],
    shown: Callable[[RoadRow], str] | None = None,
    kind: Kind = ROAD,
) -> Column:
    """A value of the road; None, in Markdown an empty cell, where a row has none."""

    def cell(row: Any) -> str:
        return "" if row.one.road is None or shown is None else shown(row.one.road)

    return Column(
        name,
        head,
        lambda row: None if row.one.road is None else value(row.one.road),
        kind,
        None if shown is None else cell,
    )


def _law(value: Callable[[Answered], Any]) -> Callable[[Any], Any]:
    return lambda row: None if row.one.lawful is None else value(row.one.lawful)


_ROAD = (
    _road(
        "verdict",
        "engine",
        lambda road: road.verdict.value,
        kind=one_of((pull.value for pull in reversed(PULL_ORDER)), ordered=True),
    ),
    _road(
        "top_flat_km_h",
        "top speed on the flat, km/h",
        lambda road: road.top.value,
        lambda road: ranged(road.top),
    ),
    _road("top_flat_low_km_h", "", lambda road: road.top.low),
    _road("top_flat_high_km_h", "", lambda road: road.top.high),
    _road("top_flat_other_km_h", "", lambda road: road.other_top and road.other_top.km_h),
    _road(
        "top_change_km_h",
        "against now, km/h",
        lambda road: road.top_change,
        lambda road: rounded(road.top_change, signed=True),
    ),
    _road(
        "start_force_n",
        "start-off pull, N",
        lambda road: road.start_force.value,
        lambda road: ranged(road.start_force),
    ),
    _road("start_force_low_n", "", lambda road: road.start_force.low),
    _road("start_force_high_n", "", lambda road: road.start_force.high),
    _road(
        "start_change_percent",
        "pull against now, %",
        lambda road: road.start_change,
        lambda road: rounded(road.start_change, signed=True),
    ),
    _road(
        "to_45_km_h_s",
        "0 to 45 km/h, s",
        lambda road: inf if road.time_45 is None else road.time_45,
        lambda road: tenths(road.time_45),
    ),
    Column(
        "tyre_warning",
        "tyre",
        lambda row: "" if row.one.road is None else row.one.road.tyre_warning or "",
    ),
)
_LAW = (
    Column("class", "class", _law(lambda law: law.vehicle_class.id)),
    Column(
        "lawful",
        "lawful",
        _law(lambda law: law.answer.name.lower()),
        one_of((answer.name.lower() for answer in sorted(LawfulAnswer)), ordered=True),
        lambda row: "" if row.one.lawful is None else LAWFUL_WORDS[row.one.lawful.answer],
    ),
    Column("law", "", _law(lambda law: " ".join([law.sentence, *law.others]))),
)
