"""The answers about moves of the shelf: `shelf history`, a single move, and `shelf count`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Annotated, Any, NotRequired, TypedDict, get_args

from fitcheck.answers.figures import money
from fitcheck.answers.machine import Header, header
from fitcheck.answers.shapes import (
    At,
    By,
    Money,
    More,
    Name,
    Place,
    Size,
    Whole,
    fill,
    money_of,
    words,
)
from fitcheck.answers.shelf import CURRENCY, PART_NUMBER, Held, Part
from fitcheck.answers.tables import COUNT, MONEY, TEXT, Cell, Column, Figure, Table
from fitcheck.catalogue.ledger.line import ACTIONS, DETAILS, Detail
from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.shelf.moves import Moved
from fitcheck.services.shelf.stock import History, HistoryLine
from fitcheck.services.shelf.stocktake import Outcome, PlanRow, StockTake


class _Sets(TypedDict):
    """Place, cost and price as far as the move changes them; null takes one away."""

    shelf_place: NotRequired[str | None]
    """Where it lies from then on."""
    cost: NotRequired[Money | None]
    """What a piece cost."""
    price: NotRequired[Money | None]
    """The selling price from then on."""


def _changes(sets: Mapping[str, Detail]) -> _Sets:
    found = {
        name: money_of(value) if isinstance(value, Decimal) else value
        for name, value in sets.items()
    }
    if "place" in found:
        found = {"shelf_place": found.pop("place"), **found}
    return found  # type: ignore[return-value]


class LedgerLine(TypedDict):
    """One line of a ledger."""

    seq: Size
    """Number of the line in its ledger, from 1."""
    time: Annotated[
        str, More(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$", examples=["2026-11-25T14:03:09Z"])
    ]
    """When, UTC."""
    action: Annotated[str, words(ACTIONS)]
    """What was done; open: what the file said when the ledger began; count: a stock-take; close:
    taken out of the shelf file."""
    change: int
    """Pieces more, or less where below zero."""
    quantity_after: Whole
    """Pieces on the shelf after it."""
    sets: Annotated[_Sets, By(_changes)]
    reason: str | None
    """Why."""
    by: str | None
    """Who."""


class _HistoryLine(Part, LedgerLine):
    """One line."""

    place: Place
    """Where it stands in the ledger."""


class _Asked(Part):
    """The part asked for."""


class HistoryAnswer(Header):
    """One answer of `shelf history`."""

    part: _Asked | None
    """The part asked for; null: all."""
    lines: list[_HistoryLine]
    """Oldest first."""
    all_lines: Whole
    """Lines there are of what was asked for, before --last cuts them."""


class MoveAnswer(Header, Part):
    """What `shelf receive`, `issue`, `price` or `place` has moved."""

    before: Held | None
    """What was held; null: the part had no entry."""
    after: Annotated[Held, At("held")]
    """What is held now."""
    line: LedgerLine
    """Its line in the ledger."""
    remarks: list[Name]
    """What else to know, a sentence each; for people."""


def history_answer(catalogue: Catalogue, found: History) -> HistoryAnswer:
    """One answer of `shelf history` as plain data."""
    lines = [
        fill(_HistoryLine, one, **fill(Part, one.part), **fill(LedgerLine, one.line))
        for one in found.lines
    ]
    return fill(HistoryAnswer, found, **header("shelf-history", catalogue), lines=lines)


def move_answer(catalogue: Catalogue, moved: Moved) -> MoveAnswer:
    """What `shelf receive`, `issue`, `price` or `place` has moved, as plain data."""
    return fill(MoveAnswer, moved, **header("shelf-move", catalogue), **fill(Part, moved.part))


def history_table(found: History) -> Table:
    """The lines, a row each."""
    return Table(_HISTORY, found.lines)


def detail_cell(value: Detail) -> Cell:
    """A place, cost or price that a move changes; `none` where it is taken away."""
    if value is None:
        return "none"
    return Figure(money(value)) if isinstance(value, Decimal) else value


def _detail_columns(sets: Callable[[Any], Mapping[str, Detail]]) -> list[Column]:
    """Place, cost and price of rows with such details; empty where they stay as they are."""

    def cell(name: str) -> Callable[[Any], Cell | None]:
        return lambda row: detail_cell(sets(row)[name]) if name in sets(row) else None

    amount = MONEY._replace(plain=detail_cell, shown=detail_cell)
    return [
        Column(name, value=cell(name), kind=TEXT if name == "place" else amount) for name in DETAILS
    ]


def _moved_currency(one: HistoryLine) -> str | None:
    return one.part.currency if {"cost", "price"} & set(one.line.sets) else None


_HISTORY = (
    Column("seq", "no.", "line.seq", COUNT),
    Column("time", value="line.time"),
    Column("action", value="line.action"),
    Column("part", value="line.part"),
    PART_NUMBER,
    Column("change", value="line.change", kind=COUNT),
    Column("quantity_after", "then", "line.quantity_after", COUNT),
    *_detail_columns(lambda one: one.line.sets),
    Column("currency", value=_moved_currency),
    Column("by", value="line.by"),
    Column("reason", value="line.reason"),
)


class _Counted(Part):
    """What the stock-take does to one part."""

    where: str | None
    """File and row of the count; null where it was not counted."""
    ledger: Annotated[Held | None, At("held")]
    """What the ledger says; null: nothing of it."""
    shelf_file: Annotated[Held | None, At("shelf")]
    """What the shelf file says; null: no entry."""
    counted: Annotated[Held | None, At("target")]
    """What both are to say; null: no entry."""
    change: int
    """Pieces more or less than the ledger says."""
    outcome: Outcome
    """new: had no entry; details: only place, cost or price; file: the ledger was right and the
    file edited by hand; gone: is out of the file."""
    sets: Annotated[_Sets, By(_changes)]
    value_at_cost: Annotated[Money | None, At("value")]
    """The change times the last cost; null where not known."""


_Counts = TypedDict(
    "_Counts",
    {
        **{  # type: ignore[misc]
            word: Annotated[Whole, More(description=f"Rows with the outcome {word}.")]
            for word in get_args(Outcome)
        },
        "not_counted": Annotated[
            Whole, More(description="Parts not counted, which stay as they are.")
        ],
    },
)
_Counts.__doc__ = "How many rows of each outcome."


class _Worth(TypedDict):
    """What the differences in one currency add up to."""

    currency: str | None
    """ISO 4217 code; null: of parts that are not known."""
    amount: Money
    """At last cost; below zero where pieces are missing."""


class CountAnswer(Header):
    """One answer of `shelf count`."""

    written: bool
    """Whether it was carried out; else this is the plan."""
    rows: list[_Counted]
    """Parts counted, in the list's order; then others that change."""
    counts: _Counts
    worth_at_cost: list[_Worth]
    """What all differences are worth at the last cost, by currency."""
    pieces_without_cost: Annotated[Whole, At("unknown_worth")]
    """Pieces more or fewer whose cost is not known."""
    lines: list[LedgerLine]
    """Its lines in the ledger; empty for a plan."""
    remarks: list[Name]
    """What else to know, a sentence each; for people."""


def count_answer(catalogue: Catalogue, found: StockTake) -> CountAnswer:
    """One answer of `shelf count` as plain data."""
    outcomes = [row.outcome for row in found.rows]
    return fill(
        CountAnswer,
        found,
        **header("shelf-count", catalogue),
        rows=[fill(_Counted, row, **fill(Part, row.part)) for row in found.rows],
        counts={
            **{word: outcomes.count(word) for word in get_args(Outcome)},
            "not_counted": found.not_counted,
        },
        worth_at_cost=[
            {"currency": currency, "amount": money_of(value)}
            for currency, value in found.worth.items()
        ],
    )


def count_table(rows: Sequence[PlanRow]) -> Table:
    """Rows of a stock-take, those that change nothing included."""
    return Table(_COUNT, rows)


_COUNT = (
    Column("part", value="part.id"),
    PART_NUMBER,
    Column("where", "counted at"),
    Column("ledger", value="held.quantity", kind=COUNT),
    Column("shelf_file", "file", "shelf.quantity", COUNT),
    Column("counted", value="target.quantity", kind=COUNT),
    Column("change", kind=COUNT),
    Column("outcome"),
    *_detail_columns(lambda row: row.sets),
    CURRENCY,
    Column("value_at_cost", "at last cost", "value", MONEY),
)
