"""What the template is given: words and figures ready to show, and text made fit for a page.

Escaping is the template's; `clean` takes what escaping leaves: control characters, marks that turn
the direction of writing, heaps of accents, names of a thousand letters.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

LETTERS = "ABCD"

NOW = "Now"
"""What the machine as it stands is called, in tables, charts and sentences alike."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table.

    Attributes:
        text: what it says.
        small: what stands under it, such as the range of a figure.
        tone: `good`, `open`, `bad`, or empty; the words say the same.
    """

    text: str
    small: str = ""
    tone: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table, one cell a column; `strong` for the figures that decide."""

    label: str
    cells: tuple[Cell, ...]
    small: str = ""
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under a heading of their own."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Lettered:
    """A sentence, and the letters of the options it holds for; none: for all."""

    letters: str
    text: str


@dataclass(frozen=True, slots=True)
class SetView:
    """One gear set in the price list, and the letters of the options it belongs to."""

    letters: str
    name: str
    holds: str
    supplier: str
    availability: str
    price: str


@dataclass(frozen=True, slots=True)
class SourceRow:
    """Inputs of the model that are known in one way: each as (name, value and spread)."""

    inputs: tuple[tuple[str, str], ...]
    kind: str
    source: str


@dataclass(frozen=True, slots=True)
class QuoteView:
    """A quotation: its lines and totals, a column for each option quoted.

    Attributes:
        columns: letters of the options quoted.
        lines: gear sets, extras, labour.
        totals: what they come to.
        notes: what the totals are without.
        valid: until when, and how tax is counted, in sentences.
        covers_sets: whether every set of the sheet is on it, so that no other price list is needed.
    """

    columns: tuple[str, ...]
    lines: tuple[Row, ...]
    totals: tuple[Row, ...]
    notes: tuple[Lettered, ...]
    valid: str
    covers_sets: bool


def gather(sentences: Sequence[Iterable[str]]) -> tuple[Lettered, ...]:
    """Each sentence once, with the letters of all options it is said of.

    Args:
        sentences: what is said of each option, in their order.
    """
    letters: dict[str, str] = {}
    for letter, said in zip(LETTERS, sentences, strict=False):
        for sentence in dict.fromkeys(said):
            letters[sentence] = letters.get(sentence, "") + letter
    every = LETTERS[: len(sentences)]
    return tuple(
        Lettered("" if who == every else ", ".join(who), sentence)
        for sentence, who in letters.items()
    )


_JOINERS = "\N{ZERO WIDTH NON-JOINER}\N{ZERO WIDTH JOINER}"
"""Needed to write Persian, many scripts of India, and signs made of several signs."""

_DROPPED = (
    "\N{LEFT-TO-RIGHT MARK}\N{RIGHT-TO-LEFT MARK}\N{ARABIC LETTER MARK}"
    "\N{ZERO WIDTH NO-BREAK SPACE}\N{SOFT HYPHEN}\N{WORD JOINER}"
)
"""Harmless by themselves, and of no use on a page where each name is set apart."""

_KEPT_BLANKS = "\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}"
"""Blanks that hold a figure together."""

_MOST_MARKS = 4
"""Accents on one letter; Vietnamese and Hebrew need two, three at the most."""


def clean(text: Any) -> Any:
    """Text as it may stand on the page; anything but plain text is handed back as it is.

    White space becomes single blanks, those that never break stay; whatever else does not print
    becomes a replacement mark.
    """
    if isinstance(text, Markup) or not isinstance(text, str):
        return text
    shown: list[str] = []
    marks = 0
    for char in unicodedata.normalize("NFC", text):
        category = unicodedata.category(char)
        if category in ("Mn", "Me"):
            marks += 1
            if marks > _MOST_MARKS:
                continue
        else:
            marks = 0
        if char in _DROPPED:
            continue
        if char.isspace() and char not in _KEPT_BLANKS:
            if not shown or shown[-1] != " ":
                shown.append(" ")
        elif category in ("Cc", "Cf", "Cs") and char not in _JOINERS:
            shown.append("\N{REPLACEMENT CHARACTER}")
        else:
            shown.append(char)
    return "".join(shown).strip(" ")


def shorten(text: str, most: int) -> str:
    """Cleaned text of at most so many characters, an ellipsis for the rest."""
    whole = str(clean(text))
    if len(whole) <= most:
        return whole
    end = most - 1
    while end > 1 and (unicodedata.combining(whole[end]) or whole[end] in _JOINERS):
        end -= 1
    return f"{whole[:end].rstrip()}\N{HORIZONTAL ELLIPSIS}"
