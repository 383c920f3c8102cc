"""What the shelf holds of a part, and the answer of `shelf list`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, TypedDict

from fitcheck.answers.combination import set_pairs, teeth
from fitcheck.answers.machine import Header, header
from fitcheck.answers.tables import COUNT, MONEY, Column, Table
from fitcheck.answers.values import (
    CurrencyCode,
    Money,
    Name,
    Pairs,
    Place,
    Whole,
    money_of,
    money_or_none,
    place,
)
from fitcheck.catalogue.ledger.state import Difference
from fitcheck.catalogue.ledger.state import Held as Holding
from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.shelf.parts import Part as Named
from fitcheck.services.shelf.stock import Item, Stock, Total


class Part(TypedDict):
    """A part of the shelf."""

    part: str
    """Id of the gear set, which is that of its entry on the shelf."""
    part_number: str | None
    """The supplier's number; null where the catalogue no longer knows the part."""
    supplier: str | None
    """Id of its supplier; null likewise."""
    currency: CurrencyCode | None
    """ISO 4217 code of its money; null likewise."""


class Held(TypedDict):
    """What the shelf holds of a part."""

    quantity: Whole
    """Pieces."""
    shelf_place: str | None
    """Where it lies."""
    cost: Money | None
    """What was paid last for a piece; null where nobody wrote it down."""
    price: Money | None
    """The shop's selling price for a piece; null where there is none."""


class _Filters(TypedDict):
    """What was asked for."""

    supplier: str | None
    """Id of the only supplier."""
    family: str | None
    """Id of the only family."""
    place: str | None
    """Words of a place, or their beginnings."""
    low: Whole | None
    """The most pieces."""


class _Known(TypedDict):
    families: list[Name]
    """Ids of the families it is vouched or listed for; a listing proves no fit."""
    pairs: Pairs | None
    """Tooth counts; null where the part is not known."""
    status: Literal["active", "retired"] | None
    """retired: kept on file, no longer matched; null where it is not known."""


class _Entry(Part, _Known, Held):
    """One entry of the shelf."""

    value_at_cost: Money | None
    """Pieces times cost; null where the cost is not known."""
    value_at_price: Money | None
    """Pieces times price; null where there is no price."""
    place: Place
    """Where its entry stands in the shelf file."""


class _Total(TypedDict):
    """What the entries of one currency add up to."""

    currency: str | None
    """ISO 4217 code; null: of parts that are not known."""
    entries: Whole
    """How many entries."""
    pieces: Whole
    """How many pieces."""
    at_cost: Money
    """Sum of value_at_cost over those where it is known."""
    pieces_without_cost: Whole
    """Pieces that sum leaves out."""
    at_price: Money
    """Sum of value_at_price over those where it is known."""
    pieces_without_price: Whole
    """Pieces that sum leaves out."""


class _Difference(TypedDict):
    """A part on which the shelf file and its ledger do not agree."""

    part: str
    """Its id."""
    ledger: Held | None
    """What the ledger adds up to; null: nothing of it."""
    shelf_file: Held | None
    """What the file says; null: it has no entry."""
    fields: list[Name]
    """Names of the fields that differ."""


class StockAnswer(Header):
    """One answer of `shelf list`."""

    filters: _Filters
    entries: list[_Entry]
    """In the order of the shelf file."""
    totals: list[_Total]
    """By currency."""
    all_entries: Whole
    """Entries of the shelf, whatever was asked for."""
    differences: list[_Difference]
    """Edits by hand since the last move, of all entries."""


def stock_answer(catalogue: Catalogue, found: Stock) -> StockAnswer:
    """One answer of `shelf list` as plain data for `json.dumps`."""
    asked = found.asked
    return {
        **header("shelf-list", catalogue),
        "filters": {
            "supplier": asked.supplier,
            "family": asked.family,
            "place": asked.place,
            "low": asked.low,
        },
        "entries": [_entry(item) for item in found.items],
        "totals": [_total(total) for total in found.totals],
        "all_entries": found.all_entries,
        "differences": [_difference(each) for each in found.differences],
    }


def part_of(part: Named) -> Part:
    """A part of the shelf."""
    record = None if part.gear_set is None else part.gear_set.record
    return {
        "part": part.id,
        "part_number": None if record is None else record.part_number,
        "supplier": None if record is None else record.supplier,
        "currency": part.currency,
    }


def held_of(held: Holding) -> Held:
    """What the shelf holds of a part."""
    return {
        "quantity": held.quantity,
        "shelf_place": held.place,
        "cost": money_or_none(held.cost),
        "price": money_or_none(held.price),
    }


def held_or_none(held: Holding | None) -> Held | None:
    """The same, or null where it has no entry."""
    return None if held is None else held_of(held)


def _entry(item: Item) -> _Entry:
    record = None if item.part.gear_set is None else item.part.gear_set.record
    return {
        **part_of(item.part),
        "families": list(item.families),
        "pairs": None if item.part.gear_set is None else set_pairs(item.part.gear_set),
        "status": None if record is None else record.status,
        **held_of(item.held),
        "value_at_cost": money_or_none(item.at_cost),
        "value_at_price": money_or_none(item.at_price),
        "place": place(item.place),
    }


def _total(total: Total) -> _Total:
    return {
        "currency": total.currency,
        "entries": total.entries,
        "pieces": total.pieces,
        "at_cost": money_of(total.at_cost),
        "pieces_without_cost": total.pieces_without_cost,
        "at_price": money_of(total.at_price),
        "pieces_without_price": total.pieces_without_price,
    }


def _difference(one: Difference) -> _Difference:
    return {
        "part": one.part,
        "ledger": held_or_none(one.ledger),
        "shelf_file": held_or_none(one.shelf),
        "fields": list(one.fields),
    }


def stock_table(found: Stock) -> Table:
    """The entries, a row each; `shelf count` reads the CSV back."""
    return Table(_COLUMNS, found.items)


def _of_record(field: str) -> Callable[[Any], Any]:
    """A field of the gear set; None where the catalogue no longer knows the part."""
    return lambda row: row.part.gear_set and getattr(row.part.gear_set.record, field)


PART_NUMBER = Column("part_number", "part number", _of_record("part_number"))
CURRENCY = Column("currency", "currency", lambda row: row.part.currency)
_COLUMNS = (
    Column("id", "part", lambda item: item.part.id),
    PART_NUMBER,
    Column("supplier", "supplier", _of_record("supplier")),
    Column("families", "families", lambda item: "; ".join(item.families)),
    Column("teeth", "teeth", lambda item: item.part.gear_set and teeth(item.part.gear_set)),
    Column("quantity", "pieces", lambda item: item.held.quantity, COUNT),
    Column("place", "place", lambda item: item.held.place),
    Column("cost", "cost", lambda item: item.held.cost, MONEY),
    Column("price", "price", lambda item: item.held.price, MONEY),
    CURRENCY,
    Column("value_at_cost", "at last cost", lambda item: item.at_cost, MONEY),
    Column("value_at_price", "at price", lambda item: item.at_price, MONEY),
)
