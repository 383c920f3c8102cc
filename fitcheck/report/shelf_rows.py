"""The answers of `shelf` as rows: CSV for other programs, Markdown for people.

Money is plain decimal figures in the currency beside it, with as many decimals as it has and at
least two; what is not known is an empty cell.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from fitcheck.answers.figures import money
from fitcheck.answers.tables import Cell, Figure, csv_text, markdown_text
from fitcheck.catalogue.ledger import Held
from fitcheck.catalogue.ledger.line import Detail
from fitcheck.services.shelf.history import History
from fitcheck.services.shelf.parts import Part
from fitcheck.services.shelf.stock import Stock
from fitcheck.services.shelf.stocktake import PlanRow, StockTake

__all__ = [
    "HISTORY_HEADS",
    "STOCKTAKE_HEADS",
    "STOCK_HEADS",
    "amount",
    "detail_words",
    "history_csv",
    "history_markdown",
    "history_rows",
    "stock_csv",
    "stock_markdown",
    "stock_rows",
    "stocktake_csv",
    "stocktake_markdown",
    "stocktake_rows",
]

STOCK_HEADS = {
    "id": "part",
    "part_number": "part number",
    "supplier": "supplier",
    "families": "families",
    "teeth": "teeth",
    "quantity": "pieces",
    "place": "place",
    "cost": "cost",
    "price": "price",
    "currency": "currency",
    "value_at_cost": "at last cost",
    "value_at_price": "at price",
}
"""Column names in CSV, and the heads that people read."""

HISTORY_HEADS = {
    "seq": "no.",
    "time": "time",
    "action": "action",
    "part": "part",
    "part_number": "part number",
    "change": "change",
    "quantity_after": "then",
    "place": "place",
    "cost": "cost",
    "price": "price",
    "currency": "currency",
    "by": "by",
    "reason": "reason",
}

STOCKTAKE_HEADS = {
    "part": "part",
    "part_number": "part number",
    "where": "counted at",
    "ledger": "ledger",
    "shelf_file": "file",
    "counted": "counted",
    "change": "change",
    "outcome": "outcome",
    "place": "place",
    "cost": "cost",
    "price": "price",
    "currency": "currency",
    "value_at_cost": "at last cost",
}


def stock_csv(found: Stock) -> str:
    """The entries as CSV, lines ending in a line feed; `shelf count` reads it back."""
    return csv_text(list(STOCK_HEADS), stock_rows(found))


def stock_markdown(found: Stock) -> str:
    """The entries as a Markdown table."""
    return markdown_text(list(STOCK_HEADS.values()), stock_rows(found))


def history_csv(found: History) -> str:
    """The lines as CSV."""
    return csv_text(list(HISTORY_HEADS), history_rows(found))


def history_markdown(found: History) -> str:
    """The lines as a Markdown table."""
    return markdown_text(list(HISTORY_HEADS.values()), history_rows(found))


def stocktake_csv(found: StockTake) -> str:
    """Every row of the stock-take as CSV, those that change nothing included."""
    return csv_text(list(STOCKTAKE_HEADS), stocktake_rows(found.rows))


def stocktake_markdown(found: StockTake) -> str:
    """Every row of the stock-take as a Markdown table."""
    return markdown_text(list(STOCKTAKE_HEADS.values()), stocktake_rows(found.rows))


def stock_rows(found: Stock) -> Iterator[list[Cell]]:
    """The cells of each entry, in the order of `STOCK_HEADS`."""
    for item in found.items:
        gear_set, held = item.part.gear_set, item.held
        record = None if gear_set is None else gear_set.record
        yield [
            item.part.id,
            "" if record is None else record.part_number,
            "" if record is None else record.supplier,
            "; ".join(item.families),
            "" if record is None else ", ".join(str(record.pairs[s]) for s in record.stages),
            Figure(held.quantity),
            held.place or "",
            *_money(held),
            item.part.currency or "",
            amount(item.at_cost),
            amount(item.at_price),
        ]


def history_rows(found: History) -> Iterator[list[Cell]]:
    """The cells of each line, in the order of `HISTORY_HEADS`."""
    for one in found.lines:
        line = one.line
        yield [
            Figure(line.seq),
            line.time,
            line.action,
            line.part,
            _number(one.part),
            Figure(line.change),
            Figure(line.quantity_after),
            detail_words(line.sets, "place"),
            detail_words(line.sets, "cost"),
            detail_words(line.sets, "price"),
            one.part.currency or "" if {"cost", "price"} & set(line.sets) else "",
            line.by or "",
            line.reason or "",
        ]


def stocktake_rows(rows: tuple[PlanRow, ...]) -> Iterator[list[Cell]]:
    """The cells of each row, in the order of `STOCKTAKE_HEADS`."""
    for row in rows:
        yield [
            row.part.id,
            _number(row.part),
            row.where,
            _pieces(row.held),
            _pieces(row.shelf),
            _pieces(row.target),
            Figure(row.change),
            row.outcome,
            *(detail_words(row.sets, name) for name in ("place", "cost", "price")),
            row.part.currency or "",
            amount(row.value),
        ]


def amount(value: Decimal | None) -> Figure:
    """Money as a figure; empty where it is not known."""
    return Figure("" if value is None else money(value))


def detail_words(sets: Mapping[str, Detail], name: str) -> Cell:
    """What is set anew of place, cost or price; empty where it stays, `none` where it goes."""
    if name not in sets:
        return "" if name == "place" else Figure("")
    value = sets[name]
    if value is None:
        return "none"
    return amount(value) if isinstance(value, Decimal) else value


def _money(held: Held) -> tuple[Figure, Figure]:
    return amount(held.cost), amount(held.price)


def _pieces(held: Held | None) -> Figure:
    return Figure("" if held is None else held.quantity)


def _number(part: Part) -> str:
    return "" if part.gear_set is None else part.gear_set.record.part_number
