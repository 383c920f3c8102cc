"""The answer of `match` as rows: CSV for other programs, Markdown for people.

One row a combination, in the order of the answer; those that make the machine shorter stand last
and have no rank. Figures in CSV are plain numbers with six decimals, percentages without a sign
for percent and prices with a decimal point; what is not known is an empty cell.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from fitcheck.model.fields import Stage
from fitcheck.report import list_road_rows
from fitcheck.report.cells import Cell, Figure, csv_text, markdown_text
from fitcheck.report.figures import decimal_text, money, percent
from fitcheck.report.json_parts import price_text, signed_price_text
from fitcheck.report.offer_text import percent_words, price_sum, signed_money, stock_mark
from fitcheck.report.words import BAND_WORDS
from fitcheck.services.matching import Combination, Match
from fitcheck.services.offer import places_of
from fitcheck.services.request import Request

__all__ = [
    "as_csv",
    "as_markdown",
    "csv_cells",
    "csv_columns",
    "listed",
    "markdown_cells",
    "markdown_columns",
]

_PLACES = 6


def as_csv(result: Match) -> str:
    """The combinations as CSV, lines ending in a line feed."""
    stages = result.subject.stages
    request = result.request
    rows = (csv_cells(one, rank, stages, request) for rank, one in listed(result))
    return csv_text(csv_columns(stages, request), rows)


def as_markdown(result: Match) -> str:
    """The combinations as a Markdown table."""
    stages = result.subject.stages
    rows = (markdown_cells(one, rank, result) for rank, one in listed(result))
    return markdown_text(markdown_columns(stages, result.request), rows)


def listed(result: Match) -> Iterator[tuple[int | None, Combination]]:
    """Every combination an answer shows, with its rank; None for those that are shorter."""
    for one in result.combinations:
        yield one.rank, one
    for one in result.shorter:
        yield None, one


def csv_columns(stages: Sequence[Stage], request: Request) -> list[str]:
    """Column names of a combination in CSV; those of the road and the law where asked for."""
    return [
        "rank",
        "sets",
        "part_numbers",
        *stages,
        "overall_reduction",
        "road_speed_change_percent",
        "reduction_change_percent",
        "band",
        "fit",
        "evidence",
        "price",
        "currency",
        "price_from",
        "availability",
        "on_shelf",
        "shelf_places",
        *(["cost", "margin", "margin_percent"] if request.margins else []),
        *list_road_rows.csv_columns(request),
        "note",
    ]


def csv_cells(
    one: Combination, rank: int | None, stages: Sequence[Stage], request: Request
) -> list[Cell]:
    """The cells of one combination in CSV, in the order of `csv_columns`."""
    return [
        Figure("" if rank is None else rank),
        *_names(one),
        *(str(one.pairs[stage]) for stage in stages),
        Figure(decimal_text(one.reduction, _PLACES)),
        Figure(decimal_text(one.road_speed_change, _PLACES)),
        Figure(decimal_text(one.reduction_change, _PLACES)),
        one.band.value,
        one.judgement.verdict.value,
        one.judgement.evidence.word,
        Figure("" if one.price is None else price_text(one.price)),
        (one.currency or "") if one.price is not None else "",
        one.price_from or "",
        one.availability,
        Figure(one.pieces),
        places_of(one.offers),
        *(_csv_margin(one) if request.margins else []),
        *list_road_rows.csv_cells(one, request),
        "; ".join(one.notes),
    ]


def markdown_columns(stages: Sequence[Stage], request: Request) -> list[str]:
    """Column names of a combination in Markdown; as `csv_columns`."""
    return [
        "#",
        "sets",
        "part numbers",
        *stages,
        "overall reduction",
        "road-speed change",
        "reduction change",
        "band",
        "fit",
        "evidence",
        "price",
        "currency",
        "price from",
        "stock",
        *(["cost", "margin", "margin %"] if request.margins else []),
        *list_road_rows.markdown_columns(request),
        "note",
    ]


def markdown_cells(one: Combination, rank: int | None, result: Match) -> list[Cell]:
    """The cells of one combination in Markdown, in the order of `markdown_columns`."""
    band = result.band
    edges: tuple[Fraction, ...] = () if band is None else (band.low, band.high, band.stretch)
    return [
        Figure("" if rank is None else rank),
        *_names(one),
        *(str(one.pairs[stage]) for stage in result.subject.stages),
        Figure(decimal_text(one.reduction, 4)),
        Figure(percent(one.road_speed_change, edges)),
        Figure(percent(one.reduction_change)),
        BAND_WORDS[one.band],
        one.judgement.verdict.value,
        one.judgement.evidence.word,
        Figure(money(one.price) if one.price is not None else price_sum(one)),
        (one.currency or "") if one.price is not None else "",
        one.price_from or "",
        _stock(one, result.request),
        *(_markdown_margin(one) if result.request.margins else []),
        *list_road_rows.markdown_cells(one, result.request),
        "; ".join(one.notes),
    ]


def _stock(one: Combination, request: Request) -> str:
    """Where it is to be had; with the drawers where only what lies there is asked for."""
    places = places_of(one.offers) if request.in_stock else ""
    return f"{stock_mark(one)}, {places}" if places else stock_mark(one)


def _csv_margin(one: Combination) -> list[Cell]:
    """Cost, margin and its percent of the price; empty where not known."""
    margin = one.margin
    return [
        Figure("" if margin.cost is None else price_text(margin.cost)),
        Figure("" if margin.amount is None else signed_price_text(margin.amount)),
        Figure("" if margin.percent is None else decimal_text(margin.percent, _PLACES)),
    ]


def _markdown_margin(one: Combination) -> list[Cell]:
    margin = one.margin
    return [
        Figure("cost?" if margin.cost is None else money(margin.cost)),
        Figure("" if margin.amount is None else signed_money(margin.amount)),
        Figure("" if margin.percent is None else percent_words(margin.percent)),
    ]


def _names(one: Combination) -> tuple[str, str]:
    return (
        " + ".join(entry.id for entry in one.sets),
        " + ".join(entry.record.part_number for entry in one.sets),
    )
