"""What becomes of each row of a list, what it writes, what looks wrong of it, how it adds up."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Literal, get_args

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import gc_paused
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import MOST_MONEY, Stage
from fitcheck.model.gear_set import GearSet, Listing, SetInterfaces, SetSource
from fitcheck.model.trade import ListMapping, Supplier
from fitcheck.rules.checks.prices import prices
from fitcheck.rules.checks.stages import set_trains
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.headings.footnotes import split_footnotes
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.housing_claims import Listed
from fitcheck.services.price_lists.questions import Question, clean_text
from fitcheck.services.price_lists.reading import Note
from fitcheck.services.price_lists.stage_assignment import Pairs
from fitcheck.services.price_lists.wording.amounts import Price

Outcome = Literal["new", "changed", "unchanged", "review", "unreadable", "ignored"]
OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)


@dataclass(frozen=True, slots=True)
class Change:
    """One field of an entry that the list has otherwise.

    Attributes:
        field: name of the field.
        old: what the catalogue has, as text; empty where nothing.
        new: what the list has, as text.
        loud: whether it must not be overlooked: teeth, stages, price, and families stated.
    """

    field: str
    old: str
    new: str
    loud: bool = False

    def __str__(self) -> str:
        return f"{self.field} {self.old or 'none'} -> {self.new}"


@dataclass(frozen=True, slots=True)
class RowOutcome:
    """What becomes of one row; every row of a list has exactly one.

    Attributes:
        sheet: name of the sheet, empty for a text file.
        row: its number, from 1.
        address: where it stands: `Prices!12`, or `12` in a text file.
        outcome: the one of the six.
        part_number: the supplier's number, where read.
        set_id: id of the entry: of the one there is, or of the one to be made.
        families: ids of the families its words stand for.
        fields: what is to be written of a new entry or of a changed one: field to value.
        readings: what is read of a row for review, as far as that is certain: field to value.
        changes: for a changed entry, each field with its old and its new value.
        reason: one sentence; for an ignored row what it is.
        cell: for an unreadable row, the cell it fails at.
        questions: keys of the questions it raises.
        notes: what else to know, such as a wheel size that was left out.
        kind: for an ignored row: blank, title, header, section, footer, note, unrelated, hidden,
            repeat, other-article, left-out.
        same_as: for a repeated row, the address of the row it repeats.
    """

    sheet: str
    row: int
    address: str
    outcome: Outcome
    part_number: str = ""
    set_id: str = ""
    families: tuple[str, ...] = ()
    fields: Mapping[str, Any] = field(default_factory=dict)
    readings: Mapping[str, Any] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    reason: str = ""
    cell: str = ""
    questions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    kind: str = ""
    same_as: str = ""

    def become(self, outcome: Outcome, reason: str, **rest: Any) -> RowOutcome:
        """Another outcome of the same part at the same place; `rest` are other fields of it."""
        number = self.part_number
        return RowOutcome(
            self.sheet, self.row, self.address, outcome, part_number=number, reason=reason, **rest
        )

    @property
    def changes_teeth(self) -> bool:
        """Whether teeth or stages change."""
        return any(change.field == "pairs" for change in self.changes)

    @property
    def changes_price(self) -> bool:
        """Whether the price changes, or comes where there was none."""
        return any(change.field == "price" for change in self.changes)


@dataclass(frozen=True, slots=True)
class Gone:
    """An entry of the catalogue that came from a list of this supplier and is not in this one.

    Attributes:
        set_id: its id.
        part_number: its number.
        list_name: the list it came from.
        same_list: whether that is this list by name; an entry of another list may well be in
            the next issue of that one.
    """

    set_id: str
    part_number: str
    list_name: str
    same_list: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """What taking a list in would do; nothing is written by it.

    Attributes:
        path: the list, as given.
        list_name: what the entries will say they come from.
        supplier: id of the supplier.
        date: the date the entries will bear.
        rows: every row of every sheet, in order.
        gone: entries that the list no longer has.
        questions: by key, in the order in which they came up.
        notes: what was found out about the file.
        layouts: the tables found.
        mapping: the mapping that would be saved: the supplier's, or one proposed.
        proposed: whether the columns of `mapping` were found, not read from the supplier's file.
        remembered: the supplier's mapping with the answers given now, its columns as they were.
        spent: keys of those answers that need not be kept once the entries are written.
        answered: answers taken in, by key of their question.
        unused: keys of answers that answer nothing this list asks.
    """

    path: str
    list_name: str
    supplier: str
    date: dt.date
    rows: tuple[RowOutcome, ...]
    gone: tuple[Gone, ...] = ()
    questions: Mapping[str, Question] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()
    layouts: tuple[Layout, ...] = ()
    mapping: ListMapping | None = None
    proposed: bool = False
    remembered: ListMapping | None = None
    spent: frozenset[str] = frozenset()
    answered: Mapping[str, str] = field(default_factory=dict)
    unused: tuple[str, ...] = ()

    @property
    def counts(self) -> dict[Outcome, int]:
        """Rows of each outcome, those without any included."""
        counted = Counter(row.outcome for row in self.rows)
        return {outcome: counted[outcome] for outcome in OUTCOMES}

    @property
    def open(self) -> bool:
        """Whether a person is needed: questions are open, or rows could not be read."""
        counts = self.counts
        return bool(counts["review"] or counts["unreadable"])

    def of(self, outcome: Outcome) -> list[RowOutcome]:
        """The rows of one outcome, in order."""
        return [row for row in self.rows if row.outcome == outcome]

    def hold_back(self, entries: Collection[str]) -> Plan:
        """The same with nothing written of some entries; the next run brings their rows again.

        Args:
            entries: their ids.
        """
        rows = tuple(
            row.become("review", "held back", set_id=row.set_id)
            if row.outcome in ("new", "changed") and row.set_id in entries
            else row
            for row in self.rows
        )
        return replace(self, rows=rows)

    def proof(self, row_count: int) -> str:
        """The sum that shows that no row is lost: `120 rows = 30 new + ...`.

        Args:
            row_count: rows of the list as it was read.

        Raises:
            AssertionError: rows are missing or counted twice; a fault of the program.
        """
        counts = self.counts
        total = sum(counts.values())
        places = {(row.sheet, row.row) for row in self.rows}
        assert total == row_count == len(places), "rows of the list were lost or counted twice"
        parts = " + ".join(f"{number:,} {outcome}" for outcome, number in counts.items())
        return f"{row_count:,} row{'s' * (row_count != 1)} = {parts}"


NO_VALUE = "a formula without a stored value; open and save the list in a spreadsheet program"
"""Why a cell that holds a formula alone cannot be read."""


def outcome_of(article: Article, outcome: Outcome, **rest: Any) -> RowOutcome:
    """An outcome at the place of a row; `rest` are other fields of it."""
    return RowOutcome(article.layout.sheet.name, article.row, article.address, outcome, **rest)


def unreadable(article: Article, part: str, cell: str, reason: str) -> RowOutcome:
    """A row with a cell that makes no sense; without an address the row itself is named."""
    where = cell or article.address
    return outcome_of(article, "unreadable", part_number=part, cell=where, reason=reason)


def ignored(article: Article, part: str, kind: str, reason: str) -> RowOutcome:
    """A row that is no article of ours, and what it is instead."""
    return outcome_of(article, "ignored", part_number=part, kind=kind, reason=reason)


def quote_cell(text: str) -> str:
    """A cell's text in quotes for a sentence, cut at 60 characters."""
    shown = " ".join(text.split())
    return repr(shown if len(shown) <= 60 else f"{shown[:57]}...")


_WRITTEN = re.compile(r"(?<![0-9])(?P<one>[0-9]+)\s*[/:xX*\-]\s*(?P<other>[0-9]+)(?![0-9])")


def fields_of(
    article: Article,
    part: str,
    pairs: Pairs | None,
    listed: Listed,
    price: Price | None,
    *,
    currency: str,
) -> dict[str, Any]:
    """What a row says, as fields of a record; only what it says.

    Args:
        article: the row.
        part: its part number.
        pairs: its pairs by stage.
        listed: what it is listed for.
        price: its price.
        currency: the supplier's, ISO 4217; for a price that names none.
    """
    fields: dict[str, Any] = {"part_number": part}
    if name := clean_text(article.name):
        fields["name"] = name
    if pairs:
        fields["pairs"] = pairs
    if listed.fits:
        fields["fits"] = listed.fits
    listing: dict[str, Any] = {}
    models = [model for each in listed.models if (model := clean_text(each))]
    if models:
        listing["models"] = list(dict.fromkeys(models))
    if listed.wheel is not None:
        listing["wheel_size_in"] = listed.wheel
    if listing:
        fields["listed_for"] = listing
    if price is not None:
        fields["price"] = _with_cents(price.amount)
        fields["currency"] = price.currency or currency
    if article.availability.certain:
        fields["availability"] = article.availability.value
    # What a mark of the row refers to is kept with its remark.
    lines = article.layout.stated.get(article.row, ())
    footnotes = [each for each in lines if split_footnotes(each)]
    remarks = dict.fromkeys(filter(None, (article.remark, *listed.words, *footnotes)))
    if remark := clean_text(" | ".join(remarks)):
        fields["notes"] = remark
    return fields


def _with_cents(amount: Decimal) -> Decimal:
    """An amount with two decimals at least, as prices are written; its value stays."""
    places = -int(amount.as_tuple().exponent)
    return amount if places >= 2 else amount.quantize(Decimal("0.01"))


def notes_on_left_out(article: Article, price: Price | None) -> list[str]:
    """Cells of a row that say nothing that can be written, each with why; and a hidden row."""
    notes = []
    stock = article.availability
    if stock.status in ("review", "unreadable"):
        notes.append(f"availability {quote_cell(stock.text)} left out: {stock.reason}")
    if price is None and article.price.status == "empty" and article.price.reason:
        notes.append(article.price.reason)
    if article.withdrawn:
        notes.append(article.withdrawn)
    if article.row in article.layout.sheet.hidden_rows:
        notes.append("the row is hidden in its sheet")
    return notes


def notes_on_turned(text: str, pairs: Pairs | None) -> list[str]:
    """Pairs that a text writes with the larger count first, each as it is read."""
    turned = {(str(pair.driven), str(pair.driver)): pair for pair in (pairs or {}).values()}
    return [
        f"{written.group()!r} is read as {pair}, the smaller as driver"
        for written in _WRITTEN.finditer(text)
        if (pair := turned.get((written["one"], written["other"])))
    ]


# ------------------------------------------------------------------ what checks would warn of

_LEAST, _MOST = 1.2, 8
"""Reductions of one pair outside these are rare in a gearbox (judgement)."""

_UNSAID = {"interfaces": SetInterfaces(), "source": SetSource(), "listed_for": Listing()}
"""Parts of a record that hold for all new ones alike: made once, not copied for each."""


def with_remarks(
    catalogue: Catalogue, supplier: Entry[Supplier], rows: Sequence[RowOutcome]
) -> list[RowOutcome]:
    """The rows, each new or changed one with what looks wrong of its pairs and its price.

    One whose entry would be an error cannot be taken as it is read.

    Args:
        catalogue: the catalogue as it is.
        supplier: whose list it is.
        rows: what becomes of the rows.
    """
    written = {row.set_id: row for row in rows if row.outcome in ("new", "changed")}
    kept: dict[str, GearSet | None] = {}
    entries = {
        set_id: entry
        for set_id, row in written.items()
        if (entry := _entry(catalogue, supplier, row, kept)) is not None
    }
    if not entries:
        return list(rows)
    with gc_paused():
        later = replace(catalogue, gear_sets=MappingProxyType({**catalogue.gear_sets, **entries}))
        alone = replace(catalogue, gear_sets=MappingProxyType(entries))
        told: dict[str, list[str]] = {}
        errors: dict[str, str] = {}
        for finding in (*set_trains(alone), *prices(later)):
            row_of = written.get(finding.record or "")
            # A jump of the price is told already.
            jumped = row_of is not None and any("!! the price" in n for n in row_of.notes)
            if finding.code == "FC261" and jumped:
                continue
            if row_of is not None and finding.severity == "error":
                advice = f"; {finding.help}" if finding.help else ""
                errors.setdefault(row_of.set_id, f"{finding.message}{advice}")
                continue
            field = "price" if finding.code == "FC261" else "pairs"
            if row_of is not None and (field in row_of.fields or "fits" in row_of.fields):
                told.setdefault(row_of.set_id, []).append(f"!! {finding.message}")
    remarked = []
    for row in rows:
        remark = row
        if written.get(row.set_id) is row:
            more = [*_odd_pairs(row.fields.get("pairs", {})), *told.get(row.set_id, ())]
            if (error := errors.get(row.set_id)) is not None:
                remark = row.become("unreadable", error, cell=row.address, notes=row.notes)
            elif more:
                remark = replace(row, notes=(*row.notes, *more))
        remarked.append(remark)
    return remarked


def _entry(
    catalogue: Catalogue,
    supplier: Entry[Supplier],
    row: RowOutcome,
    kept: dict[str, GearSet | None],
) -> Entry[GearSet] | None:
    """The entry as it would be; None where the writing itself will say what is wrong.

    Args:
        catalogue: the catalogue as it is.
        supplier: whose list it is.
        row: what becomes of a row.
        kept: new records by what they say beside number, words and price; None for refused ones.
    """
    before = catalogue.gear_sets.get(row.set_id)
    written = _plain(row.fields)
    if before is not None:
        record = _record(before.record.model_dump(exclude_unset=True) | written)
        return None if record is None else replace(before, record=record)
    price = written.pop("price", None)
    # Texts of a list are clean, and no check looks at them.
    own = {"part_number": written.pop("part_number"), "name": written.pop("name", None)}
    written.pop("notes", None)
    written.get("listed_for", {}).pop("models", None)
    alike = repr(written)
    if alike not in kept:
        said = {"supplier": supplier.id, "currency": supplier.record.currency, **_UNSAID}
        kept[alike] = _record({**said, **written, "part_number": "1"})
    record = kept[alike]
    if record is None or not 0 <= (price or 0) <= MOST_MONEY:
        return None
    record = record.model_copy(update={**own, "price": price})
    return Entry("gear-set", row.set_id, record, supplier.source)


def _record(fields: dict[str, Any]) -> GearSet | None:
    try:
        return GearSet.model_validate(fields)
    except ValueError:
        return None


def _plain(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Fields as a file has them: pairs as text."""
    plain = dict(fields)
    # Where an entry comes from is nothing that a check looks at.
    plain.pop("source", None)
    if "listed_for" in plain:
        plain["listed_for"] = dict(plain["listed_for"])
    if "pairs" in plain:
        plain["pairs"] = {stage: str(pair) for stage, pair in plain["pairs"].items()}
    return plain


def _odd_pairs(pairs: Mapping[Stage, Pair]) -> list[str]:
    return [
        f"!! {pair} reduces {pair.driven / pair.driver:.1f} times, which is rare; count again"
        for pair in pairs.values()
        if not _LEAST <= pair.driven / pair.driver <= _MOST
    ]
