"""A combination of gear sets in an answer: what it is, how it fits, what it costs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from functools import partial
from operator import attrgetter
from typing import Annotated, Any, NamedTuple, NotRequired, TypedDict, get_args

from fitcheck.answers.figures import exact_text, money, percent_words, price_sum, stock_mark
from fitcheck.answers.list_road import RowClassAnswer, RowRoad, road_columns
from fitcheck.answers.shapes import (
    ITSELF,
    At,
    AtLeast0,
    By,
    CurrencyCode,
    Exact,
    ExactMoney,
    FractionText,
    More,
    Name,
    Pairs,
    RecordPlace,
    SignedMoney,
    Size,
    StageName,
    Whole,
    fill,
    pairs_of,
    words,
)
from fitcheck.answers.tables import COUNT, MONEY, PERCENT, RATIO, YES_NO, Column, Figure, one_of
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.kernel.rounding import percent
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet as GearSetRecord
from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.services.counter.combination import Combination as Found
from fitcheck.services.counter.combination import also_needed, filed_elsewhere
from fitcheck.services.counter.match import Match
from fitcheck.services.counter.offer import (
    AVAILABILITY,
    PriceFrom,
    list_price,
    places_of,
    shelf_price,
)
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import BAND_WORDS, BandVerdict, Subject

Fit = Annotated[
    str,
    More(
        description="fits: every rule is proved; unproven: nothing speaks against it, some datum "
        "is missing; ruled out: a rule speaks against it.",
        enum=[verdict.value for verdict in Verdict],
    ),
]
EvidenceWord = Annotated[
    str,
    More(
        description="The weakest evidence behind a fit; none unless it fits.",
        enum=[evidence.word for evidence in sorted(Evidence, reverse=True)],
    ),
]
_BandWord = Annotated[str, words(verdict.value for verdict in BandVerdict)]


EntryId = Annotated[Name, By(attrgetter("id"))]
"""The id of an entry."""
_PartNumber = Annotated[Name, By(attrgetter("record.part_number"))]
_Supplier = Annotated[Name, By(attrgetter("record.supplier"))]


def _words_of(field: str) -> More:
    """The words a field of a gear set may hold."""
    return words(get_args(GearSetRecord.model_fields[field].annotation))


def set_pairs(record: GearSetRecord) -> Pairs:
    """Tooth counts of a gear set, from input shaft to wheel."""
    return pairs_of({stage: record.pairs[stage] for stage in record.stages})


class _Margin(TypedDict):
    cost: float | None
    """What the shop paid; null where that of a set is not known."""
    cost_exact: Annotated[ExactMoney | None, At("cost")]
    """The same as text, exact to the last decimal."""
    amount: float | None
    """Price less cost, below zero where it sells under cost; null: not known."""
    amount_exact: Annotated[SignedMoney | None, At("amount")]
    """The same as text, exact to the last decimal."""
    percent: float | None
    """Percent of the selling price; null: not known."""
    cost_unknown: list[Name]
    """Ids of the sets whose cost is not known."""


_ListedElsewhere = TypedDict(
    "_ListedElsewhere",
    {
        "set": Annotated[str, More(description="Id of the set.")],
        "as": Annotated[
            str, More(description="The model words or the wheel size its supplier files it under.")
        ],
    },
)
_ListedElsewhere.__doc__ = "One set that is filed under something else."


class Combination(TypedDict):
    """One choice for each stage, at least one of them a gear set."""

    sets: Annotated[list[EntryId], More(minItems=1, maxItems=3)]
    """Ids of the gear sets to buy, from input shaft to wheel."""
    part_numbers: Annotated[list[_PartNumber], At("sets")]
    """Their part numbers, in the same order."""
    suppliers: Annotated[list[_Supplier], At("sets")]
    """Ids of their suppliers, in the same order."""
    pairs: Pairs
    """Tooth counts of every stage with these sets fitted."""
    changed: list[StageName]
    """Stages whose pair comes from a set; the others stay."""
    reduction: Exact
    """Overall reduction: turns of the input shaft for one of the wheel."""
    road_speed_change_percent: Annotated[float, At("road_speed_change")]
    """Percent by which road speed rises at the same engine and variator speed, a change of tyre
    counted in. Bands are judged on the exact one."""
    road_speed_change_exact: Annotated[FractionText, At("road_speed_change")]
    """The same, exact, percent."""
    reduction_change_percent: Annotated[float, At("reduction_change")]
    """Percent by which the overall reduction rises: another figure for the same change of gears,
    negative where the drive is taller."""
    reduction_change_exact: Annotated[FractionText, At("reduction_change")]
    """The same, exact, percent."""
    band: Annotated[_BandWord, At("band.value")]
    """Where the road-speed change lies against the tune's band, edges inside; none: no tune is
    given."""
    fit: Annotated[Fit, At("judgement.verdict.value")]
    evidence: Annotated[EvidenceWord, At("judgement.evidence.word")]
    weakest_rules: Annotated[list[Name], At("judgement.weakest")]
    """Ids of the rules the verdict depends on: those on the weakest evidence, unproven, or ruling
    out."""
    price: AtLeast0 | None
    """What the shop asks, in the currency beside it; null: not known."""
    price_exact: Annotated[Annotated[ExactMoney, More(examples=["61.50"])] | None, At("price")]
    """The same as text, exact to the last decimal."""
    currency: CurrencyCode | None
    """ISO 4217 code of the price; null where there is none."""
    price_from: Annotated[str, words(get_args(PriceFrom))] | None
    """Whose price it is: the shelf's own selling price, the supplier's list price, or some sets of
    one and some of the other; null where there is no price."""
    availability: Annotated[str, words(AVAILABILITY)]
    """Where all sets together can be had, the least sure of their answers: all on the shelf, or
    what their suppliers say."""
    on_shelf: Annotated[Whole, At("pieces")]
    """How many times the shelf holds all sets together."""
    orderable: bool
    """Whether all sets can be had now; false: one is discontinued and not on the shelf."""
    margin: NotRequired[_Margin]
    """Only where margins are asked (--margins): selling price less cost of all sets, both as they
    stand on the shelf, no tax taken off."""
    also_needs: Annotated[list[Name], At("sets"), By(also_needed)]
    """What else the job needs, as the sets' entries say."""
    listed_elsewhere: list[_ListedElsewhere]
    """Sets that their supplier files under another model or wheel size: information, no proof."""
    notes: list[Name]
    """What else to know, short."""


class _Rank(TypedDict):
    rank: Size
    """1 for the most road speed, or for the first by `road.rank`; equal reductions, or equal
    figures, share a rank."""


class _OnTheRoad(TypedDict):
    road: NotRequired[RowRoad]
    """Only where the road is asked: what it does there."""
    lawful: NotRequired[RowClassAnswer | None]
    """Only where the road or the law is asked: the class's answer; null where no vehicle class is
    known."""


class RankedCombination(_Rank, Combination, _OnTheRoad):
    """One choice for each stage, at least one of them a gear set, in its place in the list."""


class GearSet(TypedDict):
    """One gear set a combination names."""

    supplier: Annotated[str, At("record.supplier")]
    """Id of its supplier."""
    part_number: Annotated[str, At("record.part_number")]
    """The supplier's number."""
    name: Annotated[str | None, At("record.name")]
    """The supplier's words for it."""
    pairs: Annotated[Pairs, At("record"), By(set_pairs)]
    """Tooth counts of the stages it holds."""
    price: AtLeast0 | None
    """The supplier's list price; null where it is not known."""
    price_exact: Annotated[Annotated[ExactMoney, More(examples=["61.50"])] | None, At("price")]
    """The same as text, exact to the last decimal."""
    currency: CurrencyCode | None
    """ISO 4217 code of the price; null where there is none."""
    availability: Annotated[str, _words_of("availability"), At("record.availability")]
    """What the supplier says of its own stock."""
    status: Annotated[str, _words_of("status"), At("record.status")]
    """retired: kept on file, no longer matched."""
    shelf_price: AtLeast0 | None
    """The shop's own selling price, in the set's currency; null where the shelf has none. It
    overrides the list price."""
    shelf_price_exact: ExactMoney | None
    """The same as text, exact to the last decimal."""
    on_shelf: Whole | None
    """Pieces on the shop's shelf; null where it has no entry."""
    shelf_place: str | None
    """Where they lie."""
    place: Annotated[RecordPlace, ITSELF]
    """Where its record stands."""


GearSets = dict[str, GearSet]


def combination(one: Found, subject: Subject, *, margins: bool = False) -> Combination:
    """One combination, with what the shop earns where margins are asked."""
    return fill(Combination, one, **_own(one, subject, margins))


def ranked_combination(one: Found, subject: Subject, request: Request) -> RankedCombination:
    """One combination of a list, with its rank and what the list was asked of the road."""
    own = _own(one, subject, request.margins)
    if request.show_road and one.road is not None:
        own["road"] = one.road
    if request.on_road:
        own["lawful"] = one.lawful
    return fill(RankedCombination, one, **own)


def _own(one: Found, subject: Subject, margins: bool) -> dict[str, Any]:
    """What is not read of a combination as it stands."""
    elsewhere = [(entry.id, filed_elsewhere(entry, subject)) for entry in one.sets]
    own: dict[str, Any] = {
        "currency": None if one.price is None else one.currency,
        "listed_elsewhere": [
            {"set": set_id, "as": filed} for set_id, filed in elsewhere if filed is not None
        ],
    }
    return {**own, "margin": one.margin} if margins else own


def gear_sets(catalogue: Catalogue, combinations: Iterable[Found]) -> GearSets:
    """Every gear set the combinations name, once, by id."""
    return named_sets(catalogue, {entry.id for one in combinations for entry in one.sets})


def named_sets(catalogue: Catalogue, ids: Iterable[str]) -> GearSets:
    """Gear sets by id, each once."""
    return {id_: _gear_set(catalogue, catalogue.gear_sets[id_]) for id_ in sorted(set(ids))}


def teeth(entry: Entry[GearSetRecord]) -> str:
    """Tooth counts of a gear set in a cell, from input shaft to wheel."""
    return ", ".join(set_pairs(entry.record).values())  # type: ignore[arg-type]


def _gear_set(catalogue: Catalogue, entry: Entry[GearSetRecord]) -> GearSet:
    held = catalogue.shelf.get(entry.id)
    listed, own = list_price(entry), shelf_price(catalogue, entry)
    return fill(
        GearSet,
        entry,
        price=listed,
        price_exact=listed,
        currency=entry.record.currency if (listed, own) != (None, None) else None,
        shelf_price=own,
        shelf_price_exact=own,
        on_shelf=None if held is None else held.record.quantity,
        shelf_place=None if held is None else held.record.place,
    )


class MatchRow(NamedTuple):
    """A combination in the list it stands in: a row of a table."""

    one: Found
    rank: int | None
    result: Match


def match_rows(result: Match) -> Iterator[MatchRow]:
    """Every combination an answer shows; what makes the machine shorter last, without a rank."""
    for one in result.combinations:
        yield MatchRow(one, one.rank, result)
    for one in result.shorter:
        yield MatchRow(one, None, result)


def columns(stages: Sequence[Stage], request: Request) -> list[Column]:
    """The columns of a list; margins, the road and the law where they are asked."""
    return [
        Column("rank", "#", kind=COUNT._replace(dtype="Int64")),
        Column("sets", value=_of_sets("id")),
        Column("part_numbers", value=_of_sets("record.part_number")),
        Column("", value=_of_sets("record.supplier"), frame="suppliers"),
        Column("", value=lambda row: len(row.one.sets), kind=COUNT, frame="set_count"),
        *(Column(stage, value=partial(_pair, stage)) for stage in stages),
        Column("overall_reduction", value="one.reduction", kind=RATIO, frame="reduction"),
        Column("", value=lambda row: exact_text(row.one.reduction), frame="reduction_exact"),
        Column(
            "road_speed_change_percent",
            "road-speed change",
            "one.road_speed_change",
            PERCENT,
            shown=lambda row: percent(row.one.road_speed_change, _edges(row.result)),
        ),
        Column(
            "",
            value=lambda row: exact_text(row.one.road_speed_change),
            frame="road_speed_change_exact",
        ),
        Column("reduction_change_percent", "reduction change", "one.reduction_change", PERCENT),
        Column(
            "band",
            value="one.band.value",
            kind=one_of(verdict.value for verdict in BandVerdict),
            shown=lambda row: BAND_WORDS[row.one.band],
        ),
        Column("fit", value="one.judgement.verdict.value", kind=_FIT),
        Column("evidence", value="one.judgement.evidence.word", kind=_EVIDENCE),
        Column("price", value="one.price", kind=MONEY, shown=_price_shown),
        Column("currency", value=_currency),
        Column("price_from", value="one.price_from", kind=one_of(get_args(PriceFrom))),
        Column("availability", "", "one.availability", one_of(AVAILABILITY)),
        Column("on_shelf", "", "one.pieces", COUNT),
        Column("orderable", "", "one.orderable", YES_NO),
        Column("shelf_places", "", lambda row: places_of(row.one.offers) or None),
        Column("", "stock", _stock),
        *(_MARGIN if request.margins else ()),
        *road_columns(request),
        Column("note", value=lambda row: "; ".join(row.one.notes)),
    ]


_FIT = one_of((v.value for v in (Verdict.RULED_OUT, Verdict.UNPROVEN, Verdict.FITS)), ordered=True)
_EVIDENCE = one_of((evidence.word for evidence in sorted(Evidence)), ordered=True)
_MARGIN = (
    Column(
        "cost",
        value="one.margin.cost",
        kind=MONEY,
        shown=lambda row: "cost?" if row.one.margin.cost is None else money(row.one.margin.cost),
    ),
    Column("margin", value="one.margin.amount", kind=MONEY),
    Column(
        "margin_percent",
        "margin %",
        "one.margin.percent",
        PERCENT._replace(shown=lambda value: Figure(percent_words(value))),
    ),
)


def _of_sets(path: str) -> Callable[[MatchRow], str]:
    read = attrgetter(path)
    return lambda row: " + ".join(read(entry) for entry in row.one.sets)


def _pair(stage: Stage, row: MatchRow) -> str:
    return str(row.one.pairs[stage])


def _edges(result: Match) -> tuple[Fraction, ...]:
    band = result.band
    return () if band is None else (band.low, band.high, band.stretch)


def _price_shown(row: MatchRow) -> str:
    """The price; where the sets are priced in several currencies, the sum of each."""
    return price_sum(row.one) if row.one.price is None else money(row.one.price)


def _currency(row: MatchRow) -> str | None:
    return None if row.one.price is None else row.one.currency


def _stock(row: MatchRow) -> str:
    """Where it can be had; with the drawers where only what lies there is asked for."""
    places = places_of(row.one.offers) if row.result.request.in_stock else ""
    return f"{stock_mark(row.one)}, {places}" if places else stock_mark(row.one)
