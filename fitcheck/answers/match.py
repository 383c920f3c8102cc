"""The answers of `match` and `options`: the list, its window and filters, all counts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Literal, NamedTuple, NotRequired, TypedDict, get_args

from fitcheck.answers.combination import (
    GearSets,
    RankedCombination,
    columns,
    gear_sets,
    match_rows,
    ranked_combination,
)
from fitcheck.answers.list_road import ClassAnswer, RowRoad
from fitcheck.answers.machine import (
    Band,
    FactoryTrain,
    Header,
    Machine,
    band,
    factory_train,
    header,
    machine,
)
from fitcheck.answers.search import SearchedList, searched_lists
from fitcheck.answers.shapes import (
    ITSELF,
    At,
    AtLeast0,
    By,
    Exact,
    More,
    Name,
    Place,
    RecordPlace,
    Size,
    Whole,
    fill,
    words,
)
from fitcheck.answers.tables import COUNT, Column, Table
from fitcheck.catalogue.reader import Entry
from fitcheck.model.family import Family
from fitcheck.services.counter.combination import Combination as Found
from fitcheck.services.counter.match import Counts, Match
from fitcheck.services.counter.options import OptionGroup
from fitcheck.services.counter.request import RankBy, Request
from fitcheck.services.price_lists.list_fit import ListFit
from fitcheck.services.road.figures import RoadSide
from fitcheck.services.road.lawful import APPROVAL

_Window = TypedDict(
    "_Window",
    {
        "from": Annotated[
            Literal["percent", "band", "stretch", "any"],
            More(
                description="What sets it: a percent window asked for, the band, the band up to "
                "its stretch, or any change."
            ),
        ],
        "low": Annotated[
            Exact | None,
            More(
                description="Lower edge, percent of road-speed change; null: open. At least 0 "
                "where taller_only is asked."
            ),
        ],
        "high": Annotated[
            Exact | None, More(description="Upper edge, percent of road-speed change; null: open.")
        ],
    },
)
_Window.__doc__ = "The road-speed changes listed; edges are inside."


class _Filters(TypedDict):
    """What else was asked for."""

    top: Size | None
    """Combinations listed at most; null: all."""
    suppliers: Annotated[list[Name], By(sorted)]
    """Only sets of these suppliers; empty: of all."""
    max_price: AtLeast0 | None
    """Greatest price of a combination, in `currency`."""
    max_sets: Size | None
    """Greatest number of sets bought."""
    in_stock: bool
    """Only sets on the shop's shelf."""
    orderable: bool
    """What cannot be had now was left out."""
    taller_only: bool
    """What makes the machine shorter was left out."""
    proven_only: bool
    """What is unproven was left out."""


class _Counts(TypedDict):
    """How many choices there are: fits + unproven + ruled_out = all_choices, and shorter + below +
    in_band + stretch + over = fits + unproven where a tune is given.
    """

    all_choices: Whole
    """Every combination the catalogue can make for this train."""
    fits: Whole
    """Proved at stated or better."""
    unproven: Whole
    """Nothing speaks against them, some datum is missing."""
    ruled_out: Whole
    """A rule speaks against them."""
    shorter: Whole
    """Fits or unproven, but shorter than now."""
    below: Whole | None
    """Taller than now, under the band; null where no tune is given."""
    in_band: Whole | None
    """In the band; null where no tune is given."""
    stretch: Whole | None
    """Over the band, in its stretch; null where no tune is given."""
    over: Whole | None
    """Beyond that; null where no tune is given."""
    listed: Whole
    """Those that pass window and filters, before top cuts them."""
    unlawful: NotRequired[Whole]
    """Only where lawful ones are asked (--lawful): those that pass window and other filters, but
    are over the class's speed or, with proven_only, may be."""
    price_unknown: NotRequired[Whole]
    """Only where a greatest price is asked (--max-price): those that pass window and other
    filters, before the law, but hold a set of unknown price; left out."""
    other_currency: NotRequired[Whole]
    """Likewise: those of known prices that hold a set priced in another currency than `currency`;
    left out."""


_Side = Annotated[
    list[Name], More(description="Ids of sets; factory stands for the gear that is there.")
]


class Exclusion(TypedDict):
    """Choices that one reason rules out, kept at the smallest part that died of it."""

    rule: str
    """Id of the rule."""
    reason: str
    """Why, in one sentence."""
    sets: Annotated[list[_Side], More(minItems=1, maxItems=2)]
    """One side: sets ruled out by themselves. Two sides: any of the first with any of the
    second."""
    places: list[Place]
    """Where the data stand that speak against it."""
    combinations: Whole
    """Choices that died here and not before."""


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


class _Result(TypedDict):
    """The members that one matching gives, in `match` and in every group of `options`."""

    band: Band | None
    """Null where no tune is given."""
    window: _Window
    filters: _Filters
    currency: str | None
    """The currency in which prices are ordered and compared with max_price: the one given with
    it, else the shop's usual one; null where no price is known."""
    road: NotRequired[_RoadMember]
    law: NotRequired[_LawMember | None]
    combinations: list[RankedCombination]
    """What fits or may fit, by road-speed change falling, then pairs, price and ids; before that
    by `road.rank`, where the road is asked."""
    shorter: list[RankedCombination]
    """Single sets that fit or may fit but make the machine shorter, ranked among themselves; empty
    where taller_only is asked, and where the window has no lower edge or one under zero: they are
    then among the combinations."""
    ruled_out: list[Exclusion] | None
    """What was ruled out, and why; null where nobody asked."""
    counts: _Counts


class _About(Header):
    machine: Machine


class _Sets(TypedDict):
    gear_sets: GearSets
    """Every gear set the combinations name, once, by id."""


class _Lists(TypedDict):
    lists: NotRequired[list[SearchedList]]
    """Only where suppliers' lists are searched (--list). Combinations then hold an article of them,
    and what --beside says; `counts` are of the catalogue with the lists' certain rows in it, and
    sets that are not on file yet stand at their row of the list."""


class MatchAnswer(_About, _Result, _Sets, _Lists):
    """One answer of `match`."""


class _Family(TypedDict):
    """The engine family."""

    id: str
    """Its id."""
    name: Annotated[str, At("record.name")]
    """Its name."""
    displacement_cm3: Annotated[float | None, At("record.displacement_cm3")]
    """Displacement as made, cm³."""
    place: Annotated[RecordPlace, ITSELF]
    """Where its record stands."""


class _Start(TypedDict):
    factory_train: FactoryTrain
    tune: Annotated[str, At("tune.id")]
    """Id of the tune."""
    tune_name: Annotated[str, At("tune.record.name")]
    """Name of the tune."""


class _Group(_Start, _Result):
    """The choices for one factory train under one tune."""


class _Groups(Header):
    family: _Family
    groups: list[_Group]
    """By factory train, then by tune."""


class OptionsAnswer(_Groups, _Sets, _Lists):
    """One answer of `options`."""


def match_answer(result: Match, lists: Sequence[ListFit] | None = None) -> MatchAnswer:
    """One answer of `match` as plain data for `json.dumps`.

    Args:
        result: the answer.
        lists: the suppliers' lists that were searched; None where none was.
    """
    subject = result.subject
    return {
        **header("match", subject.catalogue),
        "machine": machine(subject, None if result.road is None else result.road.lawful_now),
        **_result(result),
        "gear_sets": gear_sets(subject.catalogue, [*result.combinations, *result.shorter]),
        **_lists(lists),
    }


def options_answer(
    family: Entry[Family],
    groups: Sequence[OptionGroup],
    lists: Sequence[ListFit] | None = None,
) -> OptionsAnswer:
    """One answer of `options` as plain data for `json.dumps`; arguments as of `match_answer`."""
    catalogue = groups[0].result.subject.catalogue if groups else None
    named = [one for group in groups for one in (*group.result.combinations, *group.result.shorter)]
    return {
        **header("options", catalogue),
        "family": fill(_Family, family),
        "groups": [_group(group) for group in groups],
        "gear_sets": {} if catalogue is None else gear_sets(catalogue, named),
        **_lists(lists),
    }


def _lists(lists: Sequence[ListFit] | None) -> _Lists:
    return {} if lists is None else {"lists": searched_lists(lists)}


def _group(group: OptionGroup) -> _Group:
    train = factory_train(group.family, group.train)
    return {**fill(_Start, group, factory_train=train), **_result(group.result)}


def _result(result: Match) -> _Result:
    """Band, window, filters, lists and counts of one matching."""
    subject, request = result.subject, result.request
    low, high = result.window
    return fill(
        _Result,
        result,
        band=band(subject),
        window=fill(_Window, result, **{"from": _window_origin(result)}, low=low, high=high),
        filters=fill(_Filters, request),
        **_road_members(result.road, request),
        combinations=_ranked(result.combinations, result),
        shorter=_ranked(result.shorter, result),
        ruled_out=result.exclusions if request.exclusions else None,
        counts=_counts(result.counts),
    )


def _road_members(side: RoadSide | None, request: Request) -> dict[str, Any]:
    """By what a list is ranked, the present gearing, the model's cautions, and the law."""
    found: dict[str, Any] = {}
    if side is None:
        return found
    if side.now is not None and request.show_road:
        found["road"] = fill(_RoadMember, side, rank=request.rank)
    found["law"] = None
    if side.lawful_now is not None:
        now = fill(ClassAnswer, side.lawful_now)
        found["law"] = {"only_lawful": request.lawful, "now": now, "approval": APPROVAL}
    return found


def _window_origin(result: Match) -> Literal["percent", "band", "stretch", "any"]:
    if result.request.percent is not None:
        return "percent"
    if result.band is None or result.request.band == "any":
        return "any"
    return "band" if result.request.band == "in" else "stretch"


def _ranked(found: Sequence[Found], result: Match) -> list[RankedCombination]:
    return [ranked_combination(one, result.subject, result.request) for one in found]


def _counts(counts: Counts) -> _Counts:
    """The counts, those on request where there are any."""
    names = ("unlawful", "price_unknown", "other_currency")
    asked = {name: getattr(counts, name) for name in names}
    return fill(_Counts, counts, **{k: number for k, number in asked.items() if number is not None})


def match_table(result: Match) -> Table:
    """The combinations, a row each, in the order of the answer."""
    return Table(columns(result.subject.stages, result.request), list(match_rows(result)))


def options_table(groups: Sequence[OptionGroup]) -> Table:
    """Every choice of every group: where it starts from, then the choice as in `match`."""
    rows = [_Row(*one, group) for group in groups for one in match_rows(group.result)]
    first = groups[0].result if groups else None
    heart = (
        columns((), Request()) if first is None else columns(first.subject.stages, first.request)
    )
    return Table([*_START, *heart], rows)


class _Row(NamedTuple):
    one: Found
    rank: int | None
    result: Match
    group: OptionGroup


_START = (
    Column("family", value="group.family.id"),
    Column("housing", value="group.factory_train.housing"),
    Column("wheel_size_in", "wheel", "group.factory_train.wheel_size_in", COUNT),
    Column("factory_train", value=lambda row: ", ".join(map(str, row.result.subject.pairs))),
    Column("tune", value="group.tune.id"),
)
