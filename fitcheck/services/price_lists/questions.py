"""Questions gathered while rows are judged, the answers they have, and the rows that raise them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from fitcheck.services.price_lists.headings.layout import Layout

_LONGEST = 2000


def clean_text(text: str) -> str:
    """A text for the catalogue: one line, no hidden characters, at most 2000 characters."""
    if text.isprintable():
        return " ".join(text.split())[:_LONGEST]
    shown = "".join(
        char
        for char in text
        if char.isspace() or unicodedata.category(char) not in ("Cc", "Cf", "Co", "Cs", "Cn")
    )
    return " ".join(shown.split())[:_LONGEST]


Asks = Literal[
    "model",
    "families",
    "stage-word",
    "stage",
    "teeth",
    "housing-word",
    "price",
    "part-number",
    "word",
    "row",
    "counted",
    "column",
]
"""What a question is about; each has its own kind of answer, see docs/import.md."""


@dataclass(frozen=True, slots=True)
class Question:
    """Something only a person can say.

    Attributes:
        asks: its kind.
        about: the words of the list it is about; with `asks` it tells the question from others.
        text: the question, one sentence.
        choices: what it may be; may be empty.
        where: addresses of the first cells that raise it.
        count: how many rows raise it.
    """

    asks: Asks
    about: str
    text: str
    choices: tuple[str, ...] = ()
    where: tuple[str, ...] = ()
    count: int = 1

    @property
    def key(self) -> str:
        """What tells it from others, such as `price of 1544, '1.234'`."""
        return f"{self.asks} of {self.about}"


HARMLESS, ALWAYS_HARMLESS, LEFT_OUT = "harmless", "always harmless", "left out"
"""Answers about words: they say nothing that matters, in any row of the supplier's lists that has
them; nor in those of other suppliers; no such row is taken."""

AS_READ = "as read"
"""The answer that says: this text changes nothing."""

NONE = "none"
"""The answer that says: none of ours, nothing, leave it out."""

_MOST_PLACES = 5


def key_of_question(asks: str, about: str) -> str:
    """What tells a question from others; spaces and hidden signs do not count."""
    return f"{asks} of {clean_text(about)}"


class Asker:
    """Puts questions, once each, unless they are answered.

    Args:
        settled: key to answer; the text `none` for none of ours.
    """

    def __init__(self, settled: Mapping[str, str]) -> None:
        self.answers = dict(settled)
        self.questions: dict[str, Question] = {}
        self.used: dict[str, list[str]] = {}
        self.answered: dict[str, list[str]] = {}
        """Keys of the answers used for a row, by its address."""
        self.told_by_entry: set[str] = set()
        """Keys of answers that the entry itself gives as soon as it is written."""

    def answer(self, asks: Asks, about: str, row: str) -> str | None:
        """The answer there is, or None; used up for this row."""
        if not self.answers:
            return None
        key = key_of_question(asks, about)
        found = self.answers.get(key)
        if found is not None:
            self.used.setdefault(key, []).append(row)
            self.answered.setdefault(row, []).append(key)
        return found

    def forget_told(self, part: str) -> None:
        """An entry keeps other teeth than its row has, so it cannot tell their stage."""
        head = key_of_question("stage", f"{part}, ")
        self.told_by_entry = {key for key in self.told_by_entry if not key.startswith(head)}

    def ask(
        self, asks: Asks, about: str, text: str, where: str, choices: Iterable[str] = ()
    ) -> str:
        """Put a question and return its key; one put before gets one place more."""
        about = clean_text(about)
        key = key_of_question(asks, about)
        known = self.questions.get(key)
        if known is None:
            self.questions[key] = Question(asks, about, text, tuple(choices), where=(where,))
        elif where not in known.where:
            places = (*known.where, where) if len(known.where) < _MOST_PLACES else known.where
            self.questions[key] = replace(known, where=places, count=known.count + 1)
        return key


@dataclass(frozen=True, slots=True)
class Evidence:
    """A row that raises a question, as the list has it.

    Attributes:
        address: where it stands: `Prices!12`, or `12` in a text file.
        cells: heading and text of each cell that holds something, or should.
        asked: position in `cells` of the one that the question is about; None for the whole row.
        section: the line above that heads its group; may be empty.
    """

    address: str
    cells: tuple[tuple[str, str], ...]
    asked: int | None = None
    section: str = ""


_PLACE = re.compile(r"(?P<letters>[A-Z]*)(?P<row>[0-9]+)(?::(?P<column>[0-9]+))?(?:\+.*)?")
_MOST_ROWS = 3


def evidence_of(question: Question, layouts: Iterable[Layout]) -> list[Evidence]:
    """The first rows that raise a question; of one about a column its first articles."""
    found: dict[str, Evidence] = {}
    for where in question.where:
        name, _, place = where.rpartition("!")
        at = _PLACE.fullmatch(place)
        if at is None:
            continue
        row, column = int(at["row"]), int(at["column"] or 0)
        for letter in at["letters"]:
            column = column * 26 + ord(letter) - ord("A") + 1
        for layout in layouts:
            if layout.sheet.name != name or not layout.first_row <= row <= layout.last_row:
                continue
            rows = layout.data_rows[:_MOST_ROWS] if row in layout.header_rows else [row]
            for each in rows:
                evidence = _evidence(layout, each, column)
                found.setdefault(evidence.address, evidence)
    return list(found.values())[:_MOST_ROWS]


def _evidence(layout: Layout, row: int, column: int) -> Evidence:
    cells = dict(_cells(layout, row))
    asked = list(cells).index(column) if column in cells else None
    noted = tuple(("", clean_text(each)) for each in layout.sheet.comments.get(row, ()))
    section = clean_text(layout.sections.get(row, ""))
    return Evidence(layout.sheet.row_address(row), (*cells.values(), *noted), asked, section)


def _cells(layout: Layout, row: int) -> Iterator[tuple[int, tuple[str, str]]]:
    """Number, heading and text of each cell of a row; empty ones only where we read the column."""
    headed = dict(layout.others)
    for held in layout.columns.values():
        texts = held.heading.split(" + ") if held.second else [held.heading]
        headed |= dict(zip((held.column, held.second), texts, strict=False))
    ours = {each for held in layout.columns.values() for each in (held.column, held.second)}
    for column in range(1, max(layout.sheet.column_count, *headed) + 1):
        text = clean_text(layout.sheet.cell(row, column).text)
        if text or column in ours:
            yield column, (clean_text(headed.get(column, "")), text)
