"""What a list tells of the road and the law, where that is asked."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import Annotated, Any, TypedDict

from fitcheck.answers.road_words import LAWFUL_WORDS, decimal_words, range_words, tenths
from fitcheck.answers.shapes import At, By, Date, More, Name, Range, RecordPlace, words
from fitcheck.answers.tables import ROAD, Column, one_of
from fitcheck.services.counter.request import Request
from fitcheck.services.road.figures import PULL_ORDER, LawfulAnswer, PullVerdict, RoadRow

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
    when: Annotated[str, At("words"), More(examples=["if the variator does not come out"])]
    """When."""


class RowRoad(TypedDict):
    """What a gearing of a list does on the road, in short."""

    verdict: Annotated[Pull, At("verdict.value")]
    top_km_h: Annotated[Range, At("top")]
    """The speed it really reaches on the flat in still air, km/h."""
    other_top: OtherTop | None
    """A second speed, where runs for the range jump to it; null where none does."""
    top_change_km_h: Annotated[float, At("top_change")]
    """Its change against now, km/h."""
    start_force_n: Annotated[Range, At("start_force")]
    """Pull at the wheel as the clutch engages, N."""
    start_change_percent: Annotated[float | None, At("start_change")]
    """Its change against now, percent; null where the machine has no pull now."""
    to_45_km_h_s: Annotated[float | None, At("time_45")]
    """Seconds from standstill to 45 km/h; null where it never gets there."""
    tyre_warning: str | None
    """A warning where it may go faster than the tyre's speed symbol allows."""


class RowClassAnswer(TypedDict):
    """A gearing of a list against the class that `law` names; local law decides."""

    answer: Annotated[Lawful, By(lambda answer: answer.name.lower())]
    """Where the top speed lies against the ceiling; straddles: the range lies on both sides of
    it."""
    top_km_h: Annotated[Range | None, At("top")]
    """Predicted top speed on the flat with a rider of 75 kg, km/h."""
    sentence: str
    """The answer in words."""
    others: list[Name]
    """What else speaks against the class."""


_Class = TypedDict(
    "_Class",
    {
        "class": Annotated[str, More(description="Id of the class."), At("vehicle_class.id")],
        "name": Annotated[
            str, More(description="Name of the class."), At("vehicle_class.record.name")
        ],
        "where": Annotated[
            str, More(description="Where it applies."), At("vehicle_class.record.place")
        ],
        "ceiling_km_h": Annotated[
            float | None, More(description="Its greatest design speed, km/h; null: none.")
        ],
    },
)


class _Source(TypedDict):
    source: Annotated[str, At("vehicle_class.record.source")]
    """The rule the class is taken from."""
    date: Annotated[Date, At("vehicle_class.record.date")]
    """Date of the text read."""
    place: Annotated[RecordPlace, At("vehicle_class")]
    """Where its record stands."""


class ClassAnswer(_Class, RowClassAnswer, _Source):
    """A gearing against the ceilings of a vehicle class; local law decides."""


def road_columns(request: Request) -> list[Column]:
    """The columns of the road and the law in a list; none where they are not asked.

    A figure has its range beside it, in CSV and frames in columns of its own. A speed never
    reached is an empty cell.
    """
    return [*(_ROAD if request.show_road else ()), *(_LAW if request.on_road else ())]


def figure_columns(
    name: str, unit: str, head: str, path: str, shown: Callable[[Any], str] | None = None
) -> list[Column]:
    """A figure, in Markdown with its range, and for CSV the ends of the range."""
    return [
        Column(f"{name}{unit}", head, f"{path}.value", ROAD, shown=shown),
        Column(f"{name}_low{unit}", "", f"{path}.low", ROAD),
        Column(f"{name}_high{unit}", "", f"{path}.high", ROAD),
    ]


def _of(side: str, value: Callable[[Any], Any], nothing: Any = None) -> Callable[[Any], Any]:
    """A value of what a row has of the road or the law."""

    def read(row: Any) -> Any:
        found = getattr(row.one, side)
        return nothing if found is None else value(found)

    return read


def _start_change(road: RoadRow) -> str:
    return "" if road.start_change is None else decimal_words(road.start_change, signed=True)


_ROAD = (
    Column(
        "verdict",
        "engine",
        "one.road.verdict.value",
        one_of((pull.value for pull in reversed(PULL_ORDER)), ordered=True),
    ),
    *figure_columns(
        "top_flat",
        "_km_h",
        "top speed on the flat, km/h",
        "one.road.top",
        _of("road", lambda road: range_words(road.top), ""),
    ),
    Column("top_flat_other_km_h", "", "one.road.other_top.km_h", ROAD),
    Column(
        "top_change_km_h",
        "against now, km/h",
        "one.road.top_change",
        ROAD,
        shown=_of("road", lambda road: decimal_words(road.top_change, signed=True), ""),
    ),
    *figure_columns(
        "start_force",
        "_n",
        "start-off pull, N",
        "one.road.start_force",
        _of("road", lambda road: range_words(road.start_force), ""),
    ),
    Column(
        "start_change_percent",
        "pull against now, %",
        "one.road.start_change",
        ROAD,
        shown=_of("road", _start_change, ""),
    ),
    Column(
        "to_45_km_h_s",
        "0 to 45 km/h, s",
        _of("road", lambda road: inf if road.time_45 is None else road.time_45),
        ROAD,
        shown=_of("road", lambda road: tenths(road.time_45), ""),
    ),
    Column("tyre_warning", "tyre", _of("road", lambda road: road.tyre_warning or "", "")),
)
_LAW = (
    Column("class", "class", "one.lawful.vehicle_class.id"),
    Column(
        "lawful",
        "lawful",
        _of("lawful", lambda law: law.answer.name.lower()),
        one_of((answer.name.lower() for answer in sorted(LawfulAnswer)), ordered=True),
        shown=_of("lawful", lambda law: LAWFUL_WORDS[law.answer], ""),
    ),
    Column("law", "", _of("lawful", lambda law: " ".join([law.sentence, *law.others]))),
)
