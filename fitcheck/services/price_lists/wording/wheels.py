"""Wheel sizes: rims in whole inches, alone, in a list, or at the end of a tyre's size."""

from __future__ import annotations

import datetime as dt
import re

from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording.folding import fold
from fitcheck.services.price_lists.wording.result import (
    Reading,
    as_cell,
    empty,
    read,
    review,
    unreadable,
)

Sizes = tuple[int, ...]

_LEAST, _MOST = 4, 30
_INCH = r"(?:\"|''|zoll|inch(?:es)?|in(?![a-z])|pollic[ei]|pouces?|pulgadas?|pulg\.?)"
_SIZE = r"[0-9]{1,2}(?:[.,]0)?"
_AND = r"(?:/|,|\+|&|;|und|and|e|et|y|o|oder|or|ou)"
_LIST = rf"{_SIZE}(?:\s?(?:\"|'')?\s?{_AND}\s?{_SIZE})*"
_WITH_INCH = re.compile(rf"(?<![0-9.,/x-])(?P<sizes>{_LIST})\s?-?\s?{_INCH}")
_RANGE = re.compile(
    rf"(?<![0-9.,/])([0-9]{{1,2}})\s?(?:\"|'')?\s?(?:-|to|bis|a|al|hasta)\s?"
    rf"([0-9]{{1,2}})\s?(?:{_INCH})?$"
)
_TYRE = re.compile(
    r"(?<![0-9.,/])(?:[0-9]{2,3}\s?/\s?[0-9]{2,3}|[0-9]{1,2}[.,][0-9]{1,2})"
    r"\s?(?:[a-z]{0,2})\s?[-x ]?\s?(?:r)?\s?(?P<sizes>[0-9]{1,2})(?![0-9.,/])"
)
_WHEEL = (
    r"(?:rad|rader|felgen?|reifen|wheels?|rims?|tyres?|tires?|ruot[ae]|cerchi?o?|gomm[ae]|roues?"
    r"|jantes?|pneus?|ruedas?|llantas?)"
)
_NAMED = re.compile(
    rf"(?<![a-z]){_WHEEL}\s?(?:da|de|von|of|mit|:|=|size|grosse)?\s?"
    rf"(?P<sizes>{_LIST})(?![0-9.,/:x]|-[0-9])"
)
_BARE = re.compile(rf"r?\s?(?P<sizes>{_LIST})")


def read_wheel_size(cell: Cell | str, *, size_column: bool = False) -> Reading[Sizes]:
    """The rim sizes a cell names, whole inches.

    Args:
        cell: the cell, or bare text.
        size_column: whether the column is known to hold wheel sizes; bare numbers are taken then.

    Returns:
        One size or several in the order written; a tyre size gives its rim.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    value = cell.value
    if isinstance(value, dt.date) and size_column:
        sizes = tuple(sorted({value.day, value.month}))
        return review(cell, "a spreadsheet made a date of it; look at the list", sizes)
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    found: list[int] = []
    if isinstance(value, str) or (number and size_column):
        text = fold(cell.text).strip()
        ranged = _RANGE.fullmatch(text) if size_column else None
        if ranged:
            reason = "from one size to another; which?"
            return review(cell, reason, (int(ranged[1]), int(ranged[2])))
        found = _in_text(text, size_column)
    if not found:
        none = "no wheel size in whole inches"
        return unreadable(cell, none) if size_column else empty(cell, none)
    wrong = [size for size in found if not _LEAST <= size <= _MOST]
    if wrong:
        return review(cell, f"{wrong[0]} inches is no size of a rim")
    return read(cell, tuple(dict.fromkeys(found)))


def _in_text(text: str, size_column: bool) -> list[int]:
    found: list[int] = []
    rest = text
    for pattern in (_TYRE, _WITH_INCH, _NAMED):
        matches = list(pattern.finditer(rest))
        if matches:
            found += [size for match in matches for size in _numbers(match["sizes"])]
            rest = pattern.sub(lambda match: " " * len(match.group()), rest)
    bare = _BARE.fullmatch(text) if size_column and not found else None
    return _numbers(bare["sizes"]) if bare else found


def _numbers(text: str) -> list[int]:
    return [int(number) for number in re.findall(r"(?<![.,])[0-9]{1,2}(?![0-9])", text)]
