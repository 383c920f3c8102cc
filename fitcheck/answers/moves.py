"""The answers about moves of the shelf: `shelf history`, a single move, and `shelf count`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Annotated, Any, NotRequired, TypedDict, get_args

from fitcheck.answers.declared import More, words
from fitcheck.answers.figures import money
from fitcheck.answers.machine import Header, header
from fitcheck.answers.shelf import (
    CURRENCY,
    PART_NUMBER,
    Held,
    Part,
    held_of,
    held_or_none,
    part_of,
)
from fitcheck.answers.tables import COUNT, MONEY, TEXT, Cell, Column, Figure, Table
from fitcheck.answers.values import Money, Name, Place, Size, Whole, money_of, money_or_none, place
from fitcheck.catalogue.ledger.line import ACTIONS, DETAILS, Detail
from fitcheck.catalogue.ledger.line import LedgerLine as Line
from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.shelf.moves import Moved
from fitcheck.services.shelf.stock import History
from fitcheck.services.shelf.stocktake import Outcome, PlanRow, StockTake


class _Sets(TypedDict):
    """Place, cost and price as far as the move changes them; null takes one away."""

    shelf_place: NotRequired[str | None]
    """Where it lies from then on."""
    cost: NotRequired[Money | None]
    """What a piece cost."""
    price: NotRequired[Money | None]
    """The selling price from then on."""


class LedgerLine(TypedDict):
    """One line of a ledger."""

    seq: Size
    """Number of the line in its ledger, from 1."""
    time: Annotated[
        str,
        More(pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$", examples=["2026-11-25T14:03:09Z"]),
    ]
    """When, UTC."""
    action: Annotated[str, words(ACTIONS)]
    """What was done; open: what the file said when the ledger began; count: a stock-take; close:
    taken out of the shelf file."""
    change: int
    """Pieces more, or less where below zero."""
    quantity_after: Whole
    """Pieces on the shelf after it."""
    sets: _Sets
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
    after: Held
    """What is held now."""
    line: LedgerLine
    """Its line in the ledger."""
    remarks: list[Name]
    """What else to know, a sentence each; for people."""


def history_answer(catalogue: Catalogue, found: History) -> HistoryAnswer:
    """One answer of `shelf history` as plain data."""
    return {
        **header("shelf-history", catalogue),
        "part": None if found.part is None else part_of(found.part),
        "lines": [
            {**part_of(one.part), **_line(one.line), "place": place(one.place)}
            for one in found.lines
        ],
        "all_lines": found.all_lines,
    }


def move_answer(catalogue: Catalogue, moved: Moved) -> MoveAnswer:
    """What `shelf receive`, `issue`, `price` or `place` has moved, as plain data."""
    return {
        **header("shelf-move", catalogue),
        **part_of(moved.part),
        "before": held_or_none(moved.before),
        "after": held_of(moved.held),
        "line": _line(moved.line),
        "remarks": list(moved.remarks),
    }


def _line(line: Line) -> LedgerLine:
    return {
        "seq": line.seq,
        "time": line.time,
        "action": line.action,
        "change": line.change,
        "quantity_after": line.quantity_after,
        "sets": _changes(line.sets),
        "reason": line.reason,
        "by": line.by,
    }


def _changes(sets: Mapping[str, Detail]) -> _Sets:
    found = {
        name: money_of(value) if isinstance(value, Decimal) else value
        for name, value in sets.items()
    }
    if "place" in found:
        found = {"shelf_place": found.pop("place"), **found}
    return found  # type: ignore[return-value]


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
    return [Column(name, name, cell(name), TEXT if name == "place" else amount) for name in DETAILS]


_HISTORY = (
    Column("seq", "no.", lambda one: one.line.seq, COUNT),
    Column("time", "time", lambda one: one.line.time),
    Column("action", "action", lambda one: one.line.action),
    Column("part", "part", lambda one: one.line.part),
    PART_NUMBER,
    Column("change", "change", lambda one: one.line.change, COUNT),
    Column("quantity_after", "then", lambda one: one.line.quantity_after, COUNT),
    *_detail_columns(lambda one: one.line.sets),
    CURRENCY._replace(
        value=lambda one: one.part.currency if {"cost", "price"} & set(one.line.sets) else None
    ),
    Column("by", "by", lambda one: one.line.by),
    Column("reason", "reason", lambda one: one.line.reason),
)


class _Counted(Part):
    """What the stock-take does to one part."""

    where: str | None
    """File and row of the count; null where it was not counted."""
    ledger: Held | None
    """What the ledger says; null: nothing of it."""
    shelf_file: Held | None
    """What the shelf file says; null: no entry."""
    counted: Held | None
    """What both are to say; null: no entry."""
    change: int
    """Pieces more or less than the ledger says."""
    outcome: Outcome
    """new: had no entry; details: only place, cost or price; file: the ledger was right and the
    file edited by hand; gone: is out of the file."""
    sets: _Sets
    value_at_cost: Money | None
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
    pieces_without_cost: Whole
    """Pieces more or fewer whose cost is not known."""
    lines: list[LedgerLine]
    """Its lines in the ledger; empty for a plan."""
    remarks: list[Name]
    """What else to know, a sentence each; for people."""


def count_answer(catalogue: Catalogue, found: StockTake) -> CountAnswer:
    """One answer of `shelf count` as plain data."""
    outcomes = [row.outcome for row in found.rows]
    return {
        **header("shelf-count", catalogue),
        "written": found.written,
        "rows": [_counted(row) for row in found.rows],
        "counts": {
            **{word: outcomes.count(word) for word in get_args(Outcome)},  # type: ignore[typeddict-item]
            "not_counted": found.not_counted,
        },
        "worth_at_cost": [
            {"currency": currency, "amount": money_of(value)}
            for currency, value in found.worth.items()
        ],
        "pieces_without_cost": found.unknown_worth,
        "lines": [_line(line) for line in found.lines],
        "remarks": list(found.remarks),
    }


def _counted(row: PlanRow) -> _Counted:
    return {
        **part_of(row.part),
        "where": row.where or None,
        "ledger": held_or_none(row.held),
        "shelf_file": held_or_none(row.shelf),
        "counted": held_or_none(row.target),
        "change": row.change,
        "outcome": row.outcome,
        "sets": _changes(row.sets),
        "value_at_cost": money_or_none(row.value),
    }


def count_table(rows: Sequence[PlanRow]) -> Table:
    """Rows of a stock-take, those that change nothing included."""
    return Table(_COUNT, rows)


def _pieces(side: str) -> Callable[[PlanRow], int | None]:
    """Pieces by one side; None where it has no entry."""
    return lambda row: None if getattr(row, side) is None else getattr(row, side).quantity


_COUNT = (
    Column("part", "part", lambda row: row.part.id),
    PART_NUMBER,
    Column("where", "counted at", lambda row: row.where),
    Column("ledger", "ledger", _pieces("held"), COUNT),
    Column("shelf_file", "file", _pieces("shelf"), COUNT),
    Column("counted", "counted", _pieces("target"), COUNT),
    Column("change", "change", lambda row: row.change, COUNT),
    Column("outcome", "outcome", lambda row: row.outcome),
    *_detail_columns(lambda row: row.sets),
    CURRENCY,
    Column("value_at_cost", "at last cost", lambda row: row.value, MONEY),
)
