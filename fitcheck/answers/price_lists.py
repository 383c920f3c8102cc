"""The answer of `import`: what becomes of every row of a supplier's list, and what is open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from operator import itemgetter
from typing import Annotated, Any, Literal, TypedDict, get_args

from fitcheck.answers.figures import money
from fitcheck.answers.machine import Header, header
from fitcheck.answers.shapes import (
    PAIR_BY_STAGE,
    At,
    By,
    CurrencyCode,
    Date,
    ExactMoney,
    More,
    Name,
    Size,
    Whole,
    fill,
    pairs_of,
    words,
)
from fitcheck.answers.tables import COUNT, TEXT, Column, Table
from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.price_lists.headings.columns import FIELDS
from fitcheck.services.price_lists.headings.layout import Sureness
from fitcheck.services.price_lists.month import Month, compare_month
from fitcheck.services.price_lists.outcomes import OUTCOMES, Plan, RowOutcome
from fitcheck.services.price_lists.questions import Asks
from fitcheck.services.price_lists.reading import SupplierList
from fitcheck.services.price_lists.wording.availability import Availability

_MEANINGS = {
    "new": "an entry is made.",
    "changed": "an entry is changed.",
    "unchanged": "the catalogue says the same.",
    "review": "a person must answer first.",
    "unreadable": "a cell makes no sense.",
    "ignored": "no article of ours.",
}


class _Note(TypedDict):
    """Something found out about the file."""

    topic: str
    """A word or two."""
    text: str
    """One sentence."""
    sure: bool
    """False where another reading is possible."""


class _List(TypedDict):
    """The list."""

    path: str
    """The file, as given."""
    kind: Literal["csv", "xlsx", "xls", "ods"]
    """What it is."""
    name: Annotated[str, At("list_name")]
    """What entries say they come from."""
    date: Date
    """The date entries bear."""
    supplier: str
    """Id of the supplier."""
    notes: list[_Note]
    """What was found out."""


class _Column(TypedDict):
    """One column of the list."""

    sheet: str | None
    """Name of the sheet; null for a text file."""
    header_rows: list[Annotated[Size, More(description="A row number.")]]
    """Rows of the header."""
    field: Annotated[str, words(FIELDS)]
    """What it holds."""
    heading: str
    """Its heading."""
    sureness: Annotated[str, words(get_args(Sureness))]
    """How sure that is."""
    reason: str
    """One sentence."""


class _Mapping(TypedDict):
    """How the list reads."""

    proposed: bool
    """Whether its columns were found, not read from the supplier's file."""
    columns: Annotated[
        dict[str, Name],
        More(propertyNames={"enum": list(FIELDS)}),
        By(lambda columns: {str(field): heading for field, heading in columns.items()}),
    ]
    """Our field to the heading of the list's column."""
    decimal_mark: Literal[".", ","]
    """Decimal mark of its prices."""


def _rows_where(outcome: str) -> More:
    return More(description=f"Rows where {_MEANINGS[outcome]}")


class _Counts(TypedDict):
    """How many rows end how; the six outcomes add up to `rows`."""

    rows: Whole
    """Rows of the list, all sheets, blank ones included."""
    new: Annotated[Whole, _rows_where("new")]
    changed: Annotated[Whole, _rows_where("changed")]
    unchanged: Annotated[Whole, _rows_where("unchanged")]
    review: Annotated[Whole, _rows_where("review")]
    unreadable: Annotated[Whole, _rows_where("unreadable")]
    ignored: Annotated[Whole, _rows_where("ignored")]
    gone: Whole
    """Entries that came from this list and are no longer in it."""


class _Claim(TypedDict):
    """What the list itself states."""

    family: str
    """Id of the family."""
    housings: list[Name]
    """Ids of its housings; none where nobody says which."""


_Pairs = TypedDict("_Pairs", PAIR_BY_STAGE)  # type: ignore[misc]


class _Fields(TypedDict):
    """What is written of a new entry; of a changed one what is replaced."""

    name: str | None
    """The supplier's words."""
    pairs: _Pairs
    """Tooth counts by stage, driver/driven."""
    fits: list[_Claim]
    """Family and housings, where the list names both."""
    models: list[Name]
    """Model words: information, no proof."""
    wheel_size_in: Annotated[int, More(minimum=4)] | None
    """Rim size listed, inches."""
    price: Annotated[str, More(pattern=r"^[0-9]+(\.[0-9]+)?$")] | None
    """Price, exact."""
    currency: CurrencyCode | None
    """ISO 4217 code."""
    availability: Annotated[str, words(get_args(Availability))] | None
    """The supplier's stock."""


def _fields(fields: Mapping[str, Any]) -> _Fields:
    """What is written of an entry, its figures as text that loses nothing."""
    listed = fields.get("listed_for") or {}
    price = fields.get("price")
    return {
        "name": fields.get("name"),
        "pairs": pairs_of(fields.get("pairs") or {}),
        "fits": [
            {"family": claim["family"], "housings": list(claim.get("housings", ()))}
            for claim in fields.get("fits", ())
        ],
        "models": list(listed.get("models", ())),
        "wheel_size_in": listed.get("wheel_size_in"),
        "price": None if price is None else money(price),
        "currency": fields.get("currency"),
        "availability": fields.get("availability"),
    }


def _tenth(percent: Decimal) -> float:
    return round(float(percent), 1)


class _Change(TypedDict):
    """One field that the list has otherwise."""

    field: str
    """Which."""
    old: str | None
    """What the catalogue has; null where nothing."""
    new: str
    """What the list has."""
    loud: bool
    """Whether it must not be overlooked: teeth, stages, price, claims."""


class _Row(TypedDict):
    """One row."""

    sheet: str | None
    """Name of the sheet; null for a text file."""
    row: Size
    """Its number."""
    address: str
    """Where it stands, such as `Prices!12`."""
    outcome: Annotated[
        str,
        More(description="; ".join(f"{k}: {v[:-1]}" for k, v in _MEANINGS.items())),
        words(OUTCOMES),
    ]
    part_number: str | None
    """The supplier's number, where read."""
    set: Annotated[str | None, At("set_id")]
    """Id of the entry there is, or will be made."""
    fields: Annotated[_Fields, By(_fields)]
    changes: list[_Change]
    """Of a changed entry."""
    reason: str | None
    """One sentence."""
    cell: str | None
    """The cell that cannot be read."""
    kind: str | None
    """What an ignored row is: title, blank, repeat and so on."""
    same_as: str | None
    """The row it repeats."""
    questions: list[Name]
    """Keys of the questions it raises."""
    notes: list[Name]
    """What else to know."""


class _Gone(TypedDict):
    set: Annotated[str, More(description="Its id."), At("set_id")]
    part_number: Annotated[str, More(description="Its number.")]
    list: Annotated[str, More(description="The list it came from."), At("list_name")]
    same_list: Annotated[bool, More(description="Whether that is this list, by name.")]


_Gone.__doc__ = "An entry that came from a list of the supplier and is not in this one."


class _PriceChange(TypedDict):
    """A price that the list changes."""

    set: Annotated[str, At("set_id")]
    """Id of the entry."""
    old: ExactMoney | None
    """The price on file; null where there is none, or one in another currency."""
    new: ExactMoney
    """The list's."""
    currency: CurrencyCode
    """ISO 4217 code of the new price."""
    percent: Annotated[float, By(_tenth)] | None
    """By how much it changes, percent, one decimal."""


class _Sold(TypedDict):
    """A part that is gone from the list and sells."""

    set: Annotated[str, At("set_id")]
    """Id of its entry."""
    pieces: Size
    """Pieces sold from the shelf in the 12 months before the list."""


class _Month(TypedDict):
    """What the list changes of the month before."""

    known: Whole
    """Rows of the list that the catalogue has."""
    median_percent: Annotated[float, By(_tenth)] | None
    """Median of the changes of price, percent, one decimal."""
    prices: list[_PriceChange]
    """Prices that change, the largest change first."""
    gone_selling: list[_Sold]
    """Parts that are gone from the list, and were sold from the shelf in the last 12 months."""


class _Question(TypedDict):
    """Something only a person can say."""

    key: str
    """What tells it from others."""
    asks: Annotated[str, words(get_args(Asks))]
    """Its kind."""
    about: str
    """The words of the list it is about."""
    text: str
    """The question."""
    choices: list[Name]
    """What it may be."""
    where: list[Name]
    """The first cells that raise it."""
    rows: Annotated[Size, At("count")]
    """How many rows raise it."""


class _ListMember(TypedDict):
    list: _List


class _Rest(TypedDict):
    columns: list[_Column]
    """The columns recognised, by sheet."""
    mapping: _Mapping | None
    counts: _Counts
    rows: list[_Row]
    """Every row of every sheet, in order, each with one outcome."""
    gone: list[_Gone]
    """Reported, never deleted."""
    month: _Month
    """What the list changes of the month before."""
    questions: list[_Question]
    """What is open, each question once."""
    unused_answers: Annotated[list[Name], At("unused")]
    """Keys of answers to what this list does not ask."""
    written: list[Name] | None
    """Files that were written; null where nothing was to be."""
    diff: str | None
    """What writing changes, as a unified diff; null if not asked."""


class ImportAnswer(Header, _ListMember, _Rest):
    """One answer of `import`."""


def import_answer(
    catalogue: Catalogue,
    supplier_list: SupplierList,
    plan: Plan,
    *,
    written: Sequence[str] | None,
    diff: str | None,
) -> ImportAnswer:
    """One answer of `import` as plain data for `json.dumps`.

    Args:
        catalogue: what the list was held against.
        supplier_list: the list as it was read.
        plan: what becomes of it.
        written: files that were written; None where nothing was to be.
        diff: what writing changes, where that was asked.
    """
    plan.proof(supplier_list.row_count)
    gone = sum(one.same_list for one in plan.gone)
    return fill(
        ImportAnswer,
        plan,
        **header("import", catalogue),
        list=fill(_List, plan, kind=supplier_list.kind),
        columns=_columns(plan),
        mapping=None
        if plan.mapping is None
        else fill(_Mapping, plan.mapping, proposed=plan.proposed),
        counts={"rows": supplier_list.row_count, **plan.counts, "gone": gone},
        month=_month(compare_month(catalogue, plan)),
        questions=plan.questions.values(),
        written=written,
        diff=diff,
    )


def _month(month: Month) -> _Month:
    selling = [
        fill(_Sold, each, pieces=month.sold[each.set_id])
        for each in month.gone
        if each.set_id in month.sold
    ]
    return fill(_Month, month, gone_selling=selling)


def _columns(plan: Plan) -> list[_Column]:
    return [
        fill(_Column, column, sheet=layout.sheet.name, header_rows=layout.header_rows)
        for layout in plan.layouts
        if layout.found
        for column in layout.columns.values()
    ]


def import_table(plan: Plan) -> Table:
    """One row of the list a row, in the list's order; entries that are gone stand last."""
    return Table(_COLUMNS, list(_lines(plan)))


def reason_of(row: RowOutcome) -> str:
    """Why a row ends as it does, its notes included."""
    return "; ".join(part for part in (row.reason, *row.notes) if part)


_COLUMNS = [
    Column(
        name, name.replace("_", " "), itemgetter(at), COUNT if name in ("row", "price") else TEXT
    )
    for at, name in enumerate(
        (
            "sheet",
            "row",
            "outcome",
            "part_number",
            "set",
            "changes",
            "teeth_change",
            "price_change",
            "teeth",
            "models",
            "price",
            "cell",
            "reason",
        )
    )
]


def _lines(plan: Plan) -> Iterator[tuple[object, ...]]:
    for row in plan.rows:
        price = row.fields.get("price")
        yield (
            row.sheet,
            row.row,
            row.outcome,
            row.part_number,
            row.set_id,
            "; ".join(map(str, row.changes)),
            "yes" if row.changes_teeth else "",
            "yes" if row.changes_price else "",
            ", ".join(f"{stage} {pair}" for stage, pair in row.fields.get("pairs", {}).items()),
            ", ".join(row.fields.get("listed_for", {}).get("models", ())),
            None if price is None else money(price),
            row.cell,
            reason_of(row),
        )
    for gone in plan.gone:
        outcome = "gone" if gone.same_list else "in another list"
        came_from = "" if gone.same_list else f"came from {gone.list_name}"
        yield (*("", None, outcome, gone.part_number, gone.set_id), *[""] * 5, None, "", came_from)
