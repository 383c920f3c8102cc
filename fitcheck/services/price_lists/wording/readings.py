"""Text made comparable, and what was read from one cell: a value, or why there is none."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Generic, Literal, TypeVar

from fitcheck.services.price_lists.reading.cells import Cell

# Only full-width forms are folded to plain ones: a general compatibility fold would turn
# superscripts and vulgar fractions into digits that nobody wrote.
_SIGNS: dict[int, str] = {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)}
_SIGNS |= dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe63"), "-")
_SIGNS |= dict.fromkeys(map(ord, "\u2044\u2215\u29f8"), "/")
_SIGNS |= dict.fromkeys(map(ord, "\u2236\ufe55\ua789"), ":")
_SIGNS |= dict.fromkeys(map(ord, "\u00d7\u2715\u2716\u2a2f"), "x")
_SIGNS |= dict.fromkeys(map(ord, "\u201c\u201d\u201e\u2033\u02ba\u00ab\u00bb"), '"')
_SIGNS |= dict.fromkeys(map(ord, "\u2018\u2019\u201a\u2032\u02b9\u00b4\u0060"), "'")
_SIGNS |= dict.fromkeys(map(ord, "\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007"), " ")
_SIGNS |= dict.fromkeys(map(ord, "\u2008\u2009\u200a\u202f\u205f\u3000\t\r\v\f"), " ")
_SIGNS |= dict.fromkeys(map(ord, "\u200b\u200c\u200d\ufeff\u00ad\u2060\u200e\u200f"), "")
_SIGNS |= {code: chr(code - 0x2050) for code in range(0x2080, 0x208A)}  # Z₁
_SIGNS |= {ord("ß"): "ss", ord("æ"): "ae", ord("Æ"): "ae", ord("œ"): "oe", ord("ø"): "o"}
_SIGNS |= {ord("\u0131"): "i", ord("ł"): "l"}
_NOT_LATIN = re.compile(r"[^\x00-\u02ff]")
"""Signs of which some combine; none below do."""

_WORDS = re.compile(r"[^\W_]+")


@lru_cache(maxsize=65_536)
def fold(text: str) -> str:
    """Lower case, no accents, one kind of dash, quote, slash and space.

    The German umlauts lose their dots (`ä` reads `a`); where they are written out (`ae`), word
    lists hold both.
    """
    if text.isascii():
        return text.translate(_SIGNS).lower()
    bare = unicodedata.normalize("NFD", text.translate(_SIGNS))
    return _NOT_LATIN.sub(_unless_combining, bare).casefold()


def _unless_combining(found: re.Match[str]) -> str:
    return "" if unicodedata.combining(found.group()) else found.group()


def words_of(text: str) -> str:
    """Folded words and digits with single spaces between, all other signs left out."""
    return " ".join(_WORDS.findall(fold(text)))


def phrases(texts: Iterable[str]) -> re.Pattern[str] | None:
    """A pattern of words and phrases, for folded text; None where there are none."""
    longest = sorted({fold(text).strip() for text in texts} - {""}, key=lambda w: (-len(w), w))
    if not longest:
        return None
    return re.compile(rf"(?<![a-z0-9])(?:{'|'.join(map(re.escape, longest))})(?![a-z0-9])")


# Letters that are mistaken for digits; common practice, no source.
_LOOK_ALIKES = str.maketrans("lI|iOoQSsB", "1111000558")
_MISREAD = re.compile(r"(?<![^\W\d_])[lI|iOoQSsB0-9]+(?:[.,/:x-][lI|iOoQSsB0-9]+)*(?![^\W\d_])")


def as_digits(text: str) -> str:
    """A text, letters that stand among digits read as digits: `l5/46`, `4O,50`."""
    return _MISREAD.sub(
        lambda found: (
            found.group().translate(_LOOK_ALIKES)
            if any(map(str.isdigit, found.group()))
            else found.group()
        ),
        text,
    )


T = TypeVar("T")

Status = Literal["read", "review", "unreadable", "empty"]


@dataclass(slots=True, unsafe_hash=True)
class Reading(Generic[T]):
    """A reading of one cell; not frozen, as cells are not, but never changed.

    Attributes:
        cell: address of the cell, such as `Prices!B12`.
        text: what stands there.
        status: read: `value` is certain by what the cell says; review: a person must choose, the
            `candidates` are what it may mean; unreadable: something stands there and makes no
            sense; empty: nothing of the kind stands there.
        value: the value where it is read, else None.
        candidates: what it may mean, where it is for review; may be empty.
        reason: one sentence: why not read, or how where that is not plain to see.
        basis: words that make another value of it, whatever it is: `per 2`, `CHF`; or empty.
    """

    cell: str
    text: str
    status: Status
    value: T | None = None
    candidates: tuple[T, ...] = ()
    reason: str = ""
    basis: str = ""

    @property
    def certain(self) -> bool:
        """Whether there is a value."""
        return self.status == "read"

    def doubted(self, reason: str) -> Reading[T]:
        """The same for review; its value is what it may mean."""
        candidates = (self.value,) if self.value else ()
        return Reading(self.cell, self.text, "review", candidates=candidates, reason=reason)


def as_cell(cell: Cell | str) -> Cell:
    """A cell, also from bare text without an address."""
    return Cell("", cell, cell or None) if isinstance(cell, str) else cell


def read(cell: Cell, value: T, reason: str = "") -> Reading[T]:
    """A value read for certain."""
    return Reading(cell.address, cell.text, "read", value, reason=reason)


def review(cell: Cell, reason: str, *candidates: T, basis: str = "") -> Reading[T]:
    """A cell that a person must look at."""
    return Reading(
        cell.address, cell.text, "review", candidates=candidates, reason=reason, basis=basis
    )


def unreadable(cell: Cell, reason: str) -> Reading[T]:
    """A cell that makes no sense."""
    return Reading(cell.address, cell.text, "unreadable", reason=reason)


def empty(cell: Cell, reason: str = "") -> Reading[T]:
    """A cell that holds nothing of the kind."""
    return Reading(cell.address, cell.text, "empty", reason=reason)
