"""What a list says of its stock: in stock, to order, discontinued, or nothing for certain."""

from __future__ import annotations

import datetime as dt
import re
from typing import Literal

from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.readings import (
    Reading,
    as_cell,
    empty,
    fold,
    read,
    review,
)

Availability = Literal["in-stock", "to-order", "out-of-stock", "discontinued", "unknown"]

# Looked for in this order: what says no goes before what says yes.
_PATTERNS: tuple[tuple[Availability, re.Pattern[str]], ...] = tuple(
    (name, re.compile(rf"(?<![a-z]){cues.any_of(cues.WORDS['stock'][name])}(?![a-z])"))
    for name in ("discontinued", "out-of-stock", "unknown", "to-order", "in-stock")
)
_SCARCE = re.compile(cues.any_of(cues.WORDS["stock"]["scarce"]))
_WITHDRAWN = re.compile(cues.any_of(cues.WORDS["stock"]["withdrawn"]))
_COUNT = re.compile(
    r"(?:ca\.?|circa|env\.?|aprox\.?|approx\.?|>|<|>=|uber|oltre|plus de|mas de|\+)?\s?"
    r"(?P<count>[0-9]{1,6})(?:[.,]0+)?\s?\+?\s?"
    r"(?:stk|stuck|st|pcs|pc|pieces?|pz|pezzi|piezas?|uds?|unidades|unites?|ex)?\.?"
)
_TIME = re.compile(
    r"[0-9]{1,3}\s?(?:-|/|bis|to|a)?\s?(?:[0-9]{1,3})?\s?"
    r"(?:working |business |arbeits|werk)?"
    r"(?:tag(?:en?)?|days?|d|giorni|gg|jours?|j|dias?"
    r"|wochen?|weeks?|wk|settiman[ae]|sett|semaines?|sem|semanas?"
    r"|monate?n?|months?|mes[ei]|mois|meses|h|std|stunden|hours?|ore)\.?"
)
_SIGNS = frozenset(",;:.!|/()[]*-\N{EN DASH}")
_NO = re.compile(r"no|nein|non|n|-+|○")


def words_of_stock(text: str) -> Availability | None:
    """What the words of a free text say of the article's stock, where they say that none is left.

    They do at its start or end, or set apart there by a sign: between other words they may be said
    of something else, as in `primary set for discontinued scooters`.
    """
    folded = fold(text)
    for answer, pattern in _PATTERNS[:2]:
        if any(_is_apart(folded, *each.span()) for each in pattern.finditer(folded)):
            return answer
    return None


def _is_apart(folded: str, start: int, end: int) -> bool:
    """Whether words stand at the start or end of a text, or between two signs."""
    before, behind = folded[:start].rstrip(), folded[end:].lstrip()
    starts, ends = not any(map(str.isalnum, before)), not any(map(str.isalnum, behind))
    return starts or ends or (before[-1] in _SIGNS and behind[0] in _SIGNS)


def read_availability(cell: Cell | str, *, stock_column: bool = False) -> Reading[Availability]:
    """What a cell says of the supplier's stock.

    Args:
        cell: the cell, or a text.
        stock_column: whether it stands in a column about stock.

    A number is taken for pieces on the supplier's shelf; none there, or sold out, is
    `out-of-stock`: nothing says whether more will come. A time or a date of delivery is `to-order`.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    if isinstance(cell.value, bool):
        return read(cell, "in-stock" if cell.value else "out-of-stock")
    if isinstance(cell.value, dt.date):
        return read(cell, "to-order", "a date of delivery")
    text = " ".join(fold(cell.text).strip(" .!").split())
    counted = _COUNT.fullmatch(text)
    if counted:
        return _of_count(cell, int(counted["count"]), fewer=text.startswith("<"))
    if _NO.fullmatch(text):
        is_dash = text.startswith("-")
        return read(cell, "unknown" if is_dash else "out-of-stock", "not in stock")
    is_scarce = stock_column and _SCARCE.fullmatch(text)
    return read(cell, "in-stock", "few are left") if is_scarce else _of_words(cell, text)


def _of_count(cell: Cell, pieces: int, *, fewer: bool) -> Reading[Availability]:
    reason = f"{'fewer than ' if fewer else ''}{pieces} pieces in stock"
    return read(cell, "in-stock" if pieces > fewer else "out-of-stock", reason)


def _of_words(cell: Cell, text: str) -> Reading[Availability]:
    if _WITHDRAWN.fullmatch(text):
        return read(cell, "discontinued")
    said: list[Availability] = []
    rest = text
    for answer, pattern in _PATTERNS:
        if pattern.search(rest):
            said.append(answer)
            rest = pattern.sub(" ", rest)
    if _TIME.search(text):
        if not said:
            return read(cell, "to-order", "a time of delivery")
        if said == ["in-stock"]:
            return review(cell, "in stock, and a time of delivery", "in-stock", "to-order")
    if said in (["out-of-stock", "to-order"], ["unknown", "to-order"]):
        return read(cell, "to-order", "none in stock, to order")
    if len(said) == 1:
        return read(cell, said[0])
    why = f"it says {' and '.join(said)}" if said else "no word for stock or delivery"
    return review(cell, why, *said)


def stock_spans(folded: str, *, stock_column: bool = False) -> list[tuple[int, int]]:
    """Where a folded text speaks of stock or delivery.

    Args:
        folded: the text.
        stock_column: whether it is a cell about stock: pieces and times are of stock there.
    """
    patterns = [pattern for _, pattern in _PATTERNS]
    if stock_column:
        patterns += [_WITHDRAWN, _TIME, _COUNT, _NO, _SCARCE]
    return [
        each.span()
        for pattern in patterns
        for each in pattern.finditer(folded)
        if stock_column or pattern not in patterns[:2] or _is_apart(folded, *each.span())
    ]
