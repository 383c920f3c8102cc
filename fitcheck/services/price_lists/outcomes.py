"""What becomes of each row of a list, what it asks, and how it all adds up."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from fitcheck.model.trade import ListMapping
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.questions import Question
from fitcheck.services.price_lists.reading import Note

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
