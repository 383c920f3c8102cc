"""Wheel sizes in inches and the words for a short, mid or long housing."""

from __future__ import annotations

import datetime as dt
import re
from typing import Literal

from fitcheck.services.intake.reading.cells import Cell
from fitcheck.services.intake.wording.folding import fold
from fitcheck.services.intake.wording.result import (
    Reading,
    as_cell,
    empty,
    read,
    review,
    unreadable,
)

__all__ = ["HousingWord", "Sizes", "read_housing", "read_wheel_size"]

Sizes = tuple[int, ...]
HousingWord = Literal["short", "mid", "long"]

_LEAST, _MOST = 4, 30
_INCH = r"(?:\"|''|zoll|inch(?:es)?|in(?![a-z])|pollic[ei]|pouces?|pulgadas?|pulg\.?)"
_LIST = r"[0-9]{1,2}(?:[.,]0)?(?:\s?(?:\"|'')?\s?(?:/|,|\+|&|;|und|and|e|et|y|o|oder|or|ou)\s?[0-9]{1,2}(?:[.,]0)?)*"
_WITH_INCH = re.compile(rf"(?<![0-9.,/x-])(?P<sizes>{_LIST})\s?-?\s?{_INCH}")
_RANGE = re.compile(
    rf"(?<![0-9.,/])([0-9]{{1,2}})\s?(?:\"|'')?\s?(?:-|to|bis|a|al|hasta)\s?([0-9]{{1,2}})\s?(?:{_INCH})?$"
)
_TYRE = re.compile(
    r"(?<![0-9.,/])(?:[0-9]{2,3}\s?/\s?[0-9]{2,3}|[0-9]{1,2}[.,][0-9]{1,2})"
    r"\s?(?:[a-z]{0,2})\s?[-x ]?\s?(?:r)?\s?(?P<rim>[0-9]{1,2})(?![0-9.,/])"
)
_WHEEL = (
    r"(?:rad|rader|felgen?|reifen|wheels?|rims?|tyres?|tires?|ruot[ae]|cerchi?o?|gomm[ae]|roues?"
    r"|jantes?|pneus?|ruedas?|llantas?)"
)
_NAMED = re.compile(
    rf"(?<![a-z]){_WHEEL}\s?(?:da|de|von|of|mit|:|=|size|grosse)?\s?(?P<sizes>{_LIST})(?![0-9.,/:x]|-[0-9])"
)
_BARE = re.compile(rf"r?\s?(?P<sizes>{_LIST})")

_WORDS: tuple[tuple[HousingWord, str], ...] = (
    ("short", r"short|kurz(?:e[srnm]?)?|cort[oaie]|courte?s?|cort[oa]s"),
    (
        "mid",
        r"mid|medium|middle|mittel|mittler(?:e[srnm]?)?|mittellang|medi[oaie]|medi[oa]s|moyen(?:ne)?s?",
    ),
    ("long", r"long|lang(?:e[srnm]?)?|lung[oaie]|lunghi|lunghe|longue?s?|larg[ao]s?"),
)
_NOUN = (
    r"(?:case|casing|crankcase|housing|box|gearbox case|gehause|motorgehause|carter|carters"
    r"|basamento|scatola|boite|boitier|carcasa|carter motor|version|ausfuhrung|versione)"
)
_HOUSING_WORDS = [(word, re.compile(rf"(?<![a-z])(?:{words})(?![a-z])")) for word, words in _WORDS]
_ANY = "|".join(words for _, words in _WORDS)
_NOUN_BEHIND = re.compile(rf"[\s,/&+\-]*(?:(?:{_ANY})[\s,/&+\-]+)?{_NOUN}(?![a-z])")
_NOUN_BEFORE = re.compile(rf"(?<![a-z]){_NOUN}\s?[:=]?\s?(?:(?:{_ANY})[\s,/&+\-]+)?$")
_COMPOUND = re.compile(r"(kurz|mittel|lang)(?=gehause|hauber|motor|version|carter)")
_SPANISH = re.compile(r"(?<![a-z])(?:para|carcasa|el|los|motor)(?![a-z])")


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
    if isinstance(value, (dt.datetime, dt.date)) and size_column:
        sizes = tuple(sorted({value.day, value.month}))
        return review(cell, "a spreadsheet made a date of it; look at the list", sizes)
    if isinstance(value, (bool, dt.datetime, dt.date, dt.time, dt.timedelta)):
        return unreadable(cell, "no wheel size") if size_column else empty(cell)
    if isinstance(value, (int, float)) and not size_column:
        return empty(cell, "a number; nothing says it is a wheel size")
    text = fold(cell.text).strip()
    if size_column:
        ranged = _RANGE.fullmatch(text)
        if ranged:
            low, high = int(ranged[1]), int(ranged[2])
            return review(cell, "from one size to another; which?", (low, high))
    found: list[int] = []
    rest = text
    patterns = [_TYRE, _WITH_INCH, _NAMED]
    for pattern in patterns:
        for match in pattern.finditer(rest):
            found += _numbers(match.groupdict().get("sizes") or match["rim"])
        rest = pattern.sub(lambda match: " " * len(match.group()), rest)
    if not found and size_column:
        match_bare = _BARE.fullmatch(text)
        if match_bare:
            found = _numbers(match_bare["sizes"])
    if not found:
        if size_column:
            return unreadable(cell, "no wheel size in whole inches")
        return empty(cell, "no wheel size in the text")
    wrong = [size for size in found if not _LEAST <= size <= _MOST]
    if wrong:
        return review(cell, f"{wrong[0]} inches is no size of a rim")
    return read(cell, tuple(dict.fromkeys(found)))


def _numbers(text: str) -> list[int]:
    return [int(number) for number in re.findall(r"(?<![.,])[0-9]{1,2}(?![0-9])", text)]


def read_housing(
    cell: Cell | str, *, housing_column: bool = False
) -> Reading[tuple[HousingWord, ...]]:
    """Whether a cell speaks of a short, mid or long housing.

    Args:
        cell: the cell, or bare text.
        housing_column: whether the column is known to name the housing; else the word must stand
            beside one for a housing.

    Returns:
        The words in order. Names a catalogue gives its housings are matched elsewhere: text that is
        none of these words is `unreadable` in a housing column, not wrong.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    text = _COMPOUND.sub(r"\1 ", fold(cell.text))
    found: list[tuple[int, HousingWord, str]] = []
    for word, pattern in _HOUSING_WORDS:
        for match in pattern.finditer(text):
            behind = _NOUN_BEHIND.match(text, match.end())
            if housing_column or behind or _NOUN_BEFORE.search(text[: match.start()]):
                found.append((match.start(), word, match.group()))
    if not found:
        if housing_column:
            return unreadable(cell, "no word for a short, mid or long housing")
        return empty(cell, "no word for a housing")
    found.sort()
    words = tuple(dict.fromkeys(word for _, word, _ in found))
    if any(written.startswith("larg") for _, _, written in found) and not (
        _SPANISH.search(text) or "cárter" in cell.text.lower()
    ):
        # Spanish for long, Italian for wide.
        return review(cell, "'largo' is long in Spanish and wide in Italian", words)
    return read(cell, words)
