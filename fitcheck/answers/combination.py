"""A combination of gear sets in an answer: what it is, how it fits, what it costs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import partial
from typing import Annotated, NamedTuple, NotRequired, TypedDict, get_args

from fitcheck.answers.declared import More, words
from fitcheck.answers.figures import exact_text, money, number
from fitcheck.answers.list_road import (
    RowClassAnswer,
    RowRoad,
    road_columns,
    row_class_answer,
    row_road,
)
from fitcheck.answers.offer_words import percent_words, price_sum, stock_mark
from fitcheck.answers.tables import COUNT, MONEY, PERCENT, RATIO, Column, Figure, one_of
from fitcheck.answers.values import (
    AtLeast0,
    CurrencyCode,
    Exact,
    ExactMoney,
    FractionText,
    Name,
    Pairs,
    Place,
    Size,
    StageName,
    Whole,
    amount,
    exact,
    money_text,
    pairs_of,
    place,
)
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


def _words_of(field: str) -> More:
    """The words a field of a gear set may hold."""
    return words(get_args(GearSetRecord.model_fields[field].annotation))


class _Price(TypedDict):
    price: AtLeast0 | None
    """What the shop asks, in the currency beside it; null: not known."""
    price_exact: Annotated[ExactMoney, More(examples=["61.50"])] | None
    """The same as text, exact to the last decimal."""
    currency: CurrencyCode | None
    """ISO 4217 code of the price; null where there is none."""


class _Margin(TypedDict):
    cost: float | None
    """What the shop paid; null where that of a set is not known."""
    cost_exact: ExactMoney | None
    """The same as text, exact to the last decimal."""
    amount: float | None
    """Price less cost, below zero where it sells under cost; null: not known."""
    amount_exact: Annotated[str, More(pattern=r"^-?[0-9]+\.[0-9]{2,}$")] | None
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
            str,
            More(description="The model words or the wheel size its supplier files it under."),
        ],
    },
)
_ListedElsewhere.__doc__ = "One set that is filed under something else."


class _Choice(TypedDict):
    sets: Annotated[list[Name], More(minItems=1, maxItems=3)]
    """Ids of the gear sets to buy, from input shaft to wheel."""
    part_numbers: list[Name]
    """Their part numbers, in the same order."""
    suppliers: list[Name]
    """Ids of their suppliers, in the same order."""
    pairs: Pairs
    """Tooth counts of every stage with these sets fitted."""
    changed: list[StageName]
    """Stages whose pair comes from a set; the others stay."""
    reduction: Exact
    """Overall reduction: turns of the input shaft for one of the wheel."""
    road_speed_change_percent: float
    """Percent by which road speed rises at the same engine and variator speed, a change of tyre
    counted in. Bands are judged on the exact one."""
    road_speed_change_exact: FractionText
    """The same, exact, percent."""
    reduction_change_percent: float
    """Percent by which the overall reduction rises: another figure for the same change of gears,
    negative where the drive is taller."""
    reduction_change_exact: FractionText
    """The same, exact, percent."""
    band: _BandWord
    """Where the road-speed change lies against the tune's band, edges inside; none: no tune is
    given."""
    fit: Fit
    evidence: EvidenceWord
    weakest_rules: list[Name]
    """Ids of the rules the verdict hangs on: those on the weakest evidence, unproven, or ruling
    out."""


class _Sale(TypedDict):
    price_from: Annotated[str, words(get_args(PriceFrom))] | None
    """Whose price it is: the shelf's own selling price, the supplier's list price, or some sets of
    one and some of the other; null where there is no price."""
    availability: Annotated[str, words(AVAILABILITY)]
    """Where all sets together are to be had, the least sure of their answers: all on the shelf, or
    what their suppliers say."""
    on_shelf: Whole
    """How many times the shelf holds all sets together."""


class _Earned(TypedDict):
    margin: NotRequired[_Margin]
    """Only where margins are asked (--margins): selling price less cost of all sets, both as they
    stand on the shelf, no tax taken off."""


class _ToKnow(TypedDict):
    also_needs: list[Name]
    """What else the job needs, as the sets' entries say."""
    listed_elsewhere: list[_ListedElsewhere]
    """Sets that their supplier files under another model or wheel size: information, no proof."""
    notes: list[Name]
    """What else to know, short."""


class Combination(_Choice, _Price, _Sale, _Earned, _ToKnow):
    """One choice for each stage, at least one of them a gear set."""


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


class _ListPrice(_Price):
    price: AtLeast0 | None
    """The supplier's list price; null where it is not known."""


class _SetHead(TypedDict):
    supplier: str
    """Id of its supplier."""
    part_number: str
    """The supplier's number."""
    name: str | None
    """The supplier's words for it."""
    pairs: Pairs
    """Tooth counts of the stages it holds."""


class GearSet(_SetHead, _ListPrice):
    """One gear set a combination names."""

    availability: Annotated[str, _words_of("availability")]
    """What the supplier says of its own stock."""
    status: Annotated[str, _words_of("status")]
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
    place: Place
    """Where its record stands."""


GearSets = dict[str, GearSet]


def _price(price: Decimal | None, currency: str | None) -> _Price:
    return {
        "price": amount(price),
        "price_exact": money_text(price),
        "currency": None if price is None else currency,
    }


def combination(one: Found, subject: Subject, *, margins: bool = False) -> Combination:
    """One combination, with what the shop earns where margins are asked."""
    elsewhere = [(entry.id, filed_elsewhere(entry, subject)) for entry in one.sets]
    return {
        "sets": [entry.id for entry in one.sets],
        "part_numbers": [entry.record.part_number for entry in one.sets],
        "suppliers": [entry.record.supplier for entry in one.sets],
        "pairs": pairs_of(one.pairs),
        "changed": list(one.changed),
        "reduction": exact(one.reduction),
        "road_speed_change_percent": number(one.road_speed_change),
        "road_speed_change_exact": exact_text(one.road_speed_change),
        "reduction_change_percent": number(one.reduction_change),
        "reduction_change_exact": exact_text(one.reduction_change),
        "band": one.band.value,
        "fit": one.judgement.verdict.value,
        "evidence": one.judgement.evidence.word,
        "weakest_rules": list(one.judgement.weakest),
        **_price(one.price, one.currency),
        "price_from": one.price_from,
        "availability": one.availability,
        "on_shelf": one.pieces,
        **_earned(one, margins),
        "also_needs": also_needed(one.sets),
        "listed_elsewhere": [
            {"set": set_id, "as": filed} for set_id, filed in elsewhere if filed is not None
        ],
        "notes": list(one.notes),
    }


def ranked_combination(one: Found, subject: Subject, request: Request) -> RankedCombination:
    """One combination of a list, with its rank and what the list was asked of the road."""
    return {
        "rank": one.rank,
        **combination(one, subject, margins=request.margins),
        **_on_the_road(one, request),
    }


def _on_the_road(one: Found, request: Request) -> _OnTheRoad:
    found: _OnTheRoad = {}
    if request.show_road and one.road is not None:
        found["road"] = row_road(one.road)
    if request.on_road:
        found["lawful"] = None if one.lawful is None else row_class_answer(one.lawful)
    return found


def _earned(one: Found, asked: bool) -> _Earned:
    if not asked:
        return {}
    margin = one.margin
    return {
        "margin": {
            "cost": amount(margin.cost),
            "cost_exact": money_text(margin.cost),
            "amount": amount(margin.amount),
            "amount_exact": money_text(margin.amount),
            "percent": None if margin.percent is None else number(margin.percent),
            "cost_unknown": list(margin.cost_unknown),
        }
    }


def gear_sets(catalogue: Catalogue, combinations: Iterable[Found]) -> GearSets:
    """Every gear set the combinations name, once, by id."""
    return named_sets(catalogue, {entry.id for one in combinations for entry in one.sets})


def named_sets(catalogue: Catalogue, ids: Iterable[str]) -> GearSets:
    """Gear sets by id, each once."""
    return {id_: _gear_set(catalogue, catalogue.gear_sets[id_]) for id_ in sorted(set(ids))}


def set_pairs(entry: Entry[GearSetRecord]) -> Pairs:
    """Tooth counts of a gear set, from input shaft to wheel."""
    record = entry.record
    return pairs_of({stage: record.pairs[stage] for stage in record.stages})


def teeth(entry: Entry[GearSetRecord]) -> str:
    """The same for a cell."""
    return ", ".join(str(entry.record.pairs[stage]) for stage in entry.record.stages)


def _gear_set(catalogue: Catalogue, entry: Entry[GearSetRecord]) -> GearSet:
    record = entry.record
    held = catalogue.shelf.get(entry.id)
    price, own = list_price(entry), shelf_price(catalogue, entry)
    return {
        "supplier": record.supplier,
        "part_number": record.part_number,
        "name": record.name,
        "pairs": set_pairs(entry),
        "price": amount(price),
        "price_exact": money_text(price),
        "currency": record.currency if (price, own) != (None, None) else None,
        "availability": record.availability,
        "status": record.status,
        "shelf_price": amount(own),
        "shelf_price_exact": money_text(own),
        "on_shelf": None if held is None else held.record.quantity,
        "shelf_place": None if held is None else held.record.place,
        "place": place(entry.span()),
    }


class Listed(NamedTuple):
    """A combination in the list it stands in: a row of a table."""

    one: Found
    rank: int | None
    result: Match


def listed(result: Match) -> Iterator[Listed]:
    """Every combination an answer shows; what makes the machine shorter last, without a rank."""
    for one in result.combinations:
        yield Listed(one, one.rank, result)
    for one in result.shorter:
        yield Listed(one, None, result)


def columns(stages: Sequence[Stage], request: Request) -> list[Column]:
    """The columns of a list; margins, the road and the law where they are asked."""
    return [
        Column("rank", "#", lambda row: row.rank, COUNT._replace(dtype="Int64")),
        Column("sets", "sets", lambda row: _joined(entry.id for entry in row.one.sets)),
        Column("part_numbers", "part numbers", _of_sets("part_number")),
        Column("", "", _of_sets("supplier"), frame="suppliers"),
        Column("", "", lambda row: len(row.one.sets), COUNT, frame="set_count"),
        *(Column(stage, stage, partial(_pair, stage)) for stage in stages),
        Column(
            "overall_reduction",
            "overall reduction",
            lambda row: row.one.reduction,
            RATIO,
            frame="reduction",
        ),
        Column("", "", lambda row: exact_text(row.one.reduction), frame="reduction_exact"),
        Column(
            "road_speed_change_percent",
            "road-speed change",
            lambda row: row.one.road_speed_change,
            PERCENT,
            lambda row: percent(row.one.road_speed_change, _edges(row.result)),
        ),
        Column(
            "",
            "",
            lambda row: exact_text(row.one.road_speed_change),
            frame="road_speed_change_exact",
        ),
        Column(
            "reduction_change_percent",
            "reduction change",
            lambda row: row.one.reduction_change,
            PERCENT,
        ),
        Column(
            "band",
            "band",
            lambda row: row.one.band.value,
            one_of(verdict.value for verdict in BandVerdict),
            lambda row: BAND_WORDS[row.one.band],
        ),
        Column("fit", "fit", lambda row: row.one.judgement.verdict.value, _FIT),
        Column("evidence", "evidence", lambda row: row.one.judgement.evidence.word, _EVIDENCE),
        Column("price", "price", lambda row: row.one.price, MONEY, _price_shown),
        Column("currency", "currency", _currency),
        Column("price_from", "price from", lambda row: row.one.price_from, _PRICE_FROM),
        Column("availability", "", lambda row: row.one.availability, one_of(AVAILABILITY)),
        Column("on_shelf", "", lambda row: row.one.pieces, COUNT),
        Column("shelf_places", "", lambda row: places_of(row.one.offers) or None),
        Column("", "stock", _stock, frame=""),
        *(_MARGIN_COLUMNS if request.margins else ()),
        *road_columns(request),
        Column("note", "note", lambda row: "; ".join(row.one.notes)),
    ]


_FIT = one_of((v.value for v in (Verdict.RULED_OUT, Verdict.UNPROVEN, Verdict.FITS)), ordered=True)
_EVIDENCE = one_of((evidence.word for evidence in sorted(Evidence)), ordered=True)
_PRICE_FROM = one_of(get_args(PriceFrom))
_MARGIN_COLUMNS = (
    Column(
        "cost",
        "cost",
        lambda row: row.one.margin.cost,
        MONEY,
        lambda row: "cost?" if row.one.margin.cost is None else money(row.one.margin.cost),
    ),
    Column("margin", "margin", lambda row: row.one.margin.amount, MONEY),
    Column(
        "margin_percent",
        "margin %",
        lambda row: row.one.margin.percent,
        PERCENT._replace(shown=lambda value: Figure(percent_words(value))),
    ),
)


def _joined(words: Iterable[str]) -> str:
    return " + ".join(words)


def _of_sets(field: str) -> Callable[[Listed], str]:
    return lambda row: _joined(getattr(entry.record, field) for entry in row.one.sets)


def _pair(stage: Stage, row: Listed) -> str:
    return str(row.one.pairs[stage])


def _edges(result: Match) -> tuple[Fraction, ...]:
    band = result.band
    return () if band is None else (band.low, band.high, band.stretch)


def _price_shown(row: Listed) -> str:
    """The price; where the sets are priced in several currencies, the sum of each."""
    return price_sum(row.one) if row.one.price is None else money(row.one.price)


def _currency(row: Listed) -> str | None:
    return None if row.one.price is None else row.one.currency


def _stock(row: Listed) -> str:
    """Where it can be had; with the drawers where only what lies there is asked for."""
    places = places_of(row.one.offers) if row.result.request.in_stock else ""
    return f"{stock_mark(row.one)}, {places}" if places else stock_mark(row.one)
