"""What the shelf holds of a part, and the answer of `shelf list`."""

from __future__ import annotations

from typing import Annotated, Literal, TypedDict

from fitcheck.answers.combination import set_pairs, teeth
from fitcheck.answers.machine import Header, header
from fitcheck.answers.shapes import At, By, CurrencyCode, Money, Name, Pairs, Place, Whole, fill
from fitcheck.answers.tables import COUNT, MONEY, Column, Table
from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.shelf.stock import Stock


class Part(TypedDict):
    """A part of the shelf."""

    part: Annotated[str, At("id")]
    """Id of the gear set, which is that of its entry on the shelf."""
    part_number: Annotated[str | None, At("gear_set.record.part_number")]
    """The supplier's number; null where the catalogue no longer knows the part."""
    supplier: Annotated[str | None, At("gear_set.record.supplier")]
    """Id of its supplier; null likewise."""
    currency: CurrencyCode | None
    """ISO 4217 code of its money; null likewise."""


class Held(TypedDict):
    """What the shelf holds of a part."""

    quantity: Whole
    """Pieces."""
    shelf_place: Annotated[str | None, At("place")]
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
    """Ids of the families it is confirmed or listed for; a listing proves no fit."""
    pairs: Annotated[Annotated[Pairs, By(set_pairs)] | None, At("part.gear_set.record")]
    """Tooth counts; null where the part is not known."""
    status: Annotated[Literal["active", "retired"] | None, At("part.gear_set.record.status")]
    """retired: kept on file, no longer matched; null where it is not known."""


class _Entry(Part, _Known, Held):
    """One entry of the shelf."""

    value_at_cost: Annotated[Money | None, At("at_cost")]
    """Pieces times cost; null where the cost is not known."""
    value_at_price: Annotated[Money | None, At("at_price")]
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
    shelf_file: Annotated[Held | None, At("shelf")]
    """What the file says; null: it has no entry."""
    fields: list[Name]
    """Names of the fields that differ."""


class StockAnswer(Header):
    """One answer of `shelf list`."""

    filters: Annotated[_Filters, At("asked")]
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
    entries = [
        fill(_Entry, item, **fill(Part, item.part), **fill(Held, item.held)) for item in found.items
    ]
    return fill(StockAnswer, found, **header("shelf-list", catalogue), entries=entries)


def stock_table(found: Stock) -> Table:
    """The entries, a row each; `shelf count` reads the CSV back."""
    return Table(_COLUMNS, found.items)


PART_NUMBER = Column("part_number", value="part.gear_set.record.part_number")
CURRENCY = Column("currency", value="part.currency")
_COLUMNS = (
    Column("id", "part", "part.id"),
    PART_NUMBER,
    Column("supplier", value="part.gear_set.record.supplier"),
    Column("families", value=lambda item: "; ".join(item.families)),
    Column("teeth", value=lambda item: item.part.gear_set and teeth(item.part.gear_set)),
    Column("quantity", "pieces", "held.quantity", COUNT),
    Column("place", value="held.place"),
    Column("cost", value="held.cost", kind=MONEY),
    Column("price", value="held.price", kind=MONEY),
    CURRENCY,
    Column("value_at_cost", "at last cost", "at_cost", MONEY),
    Column("value_at_price", "at price", "at_price", MONEY),
)
