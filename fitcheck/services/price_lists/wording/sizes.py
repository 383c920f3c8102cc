"""Words for a short, mid or long housing, and rims in whole inches, alone or in a tyre's size."""

from __future__ import annotations

import datetime as dt
import re
from typing import Literal

from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording.cues import OTHER_PARTS
from fitcheck.services.price_lists.wording.readings import (
    Reading,
    as_cell,
    empty,
    fold,
    read,
    review,
    unreadable,
)
from fitcheck.services.price_lists.wording.reservations import said_against

HousingWord = Literal["short", "mid", "long"]

_WORDS: tuple[tuple[HousingWord, str], ...] = (
    ("short", r"short|kurz(?:e[srnm]?)?|cort[oaie]|courte?s?|cort[oa]s"),
    (
        "mid",
        r"mid|medium|middle|mittel|mittler(?:e[srnm]?)?|mittellang|medi[oaie]|medi[oa]s|moyen(?:ne)?s?",
    ),
    ("long", r"long|lang(?:e[srnm]?)?|lung[oaie]|lunghi|lunghe|longue?s?|larg[ao]s?"),
)
# With what each of these words begins, for a quick look.
_STEMS = re.compile("short|kurz|cort|court|mid|med|mit|moyen|long|lang|lung|larg")
_NOUN = (
    r"(?:case|casing|crankcase|housing|box|gearbox case|gehause|gehaeuse|motorgehause|geh|carters?"
    r"|basamento|scatola|boite|boitier|carcasa|carter motor)"
)
# In free text a long version may as well be one of gears.
_VERSION = r"(?:version|ausfuhrung|ausf|versione)"
_OF_CASE = re.compile(rf"[\s-]*{_NOUN}[\s-]+(?P<next>[a-z]+)")
_HOUSING_WORDS = [(word, re.compile(rf"(?<![a-z])(?:{words})(?![a-z])")) for word, words in _WORDS]
_ANY = "|".join(words for _, words in _WORDS)
_JOIN = r"(?:[\s,/&+.\-]|(?<![a-z])(?:and|und|e|et|y|or|oder|o|ou)(?![a-z]))"
_NOUN_BEHIND = re.compile(rf"{_JOIN}*(?:(?:{_ANY}){_JOIN}+){{0,2}}{_NOUN}(?![a-z])")
_NOUN_BEFORE = re.compile(rf"(?<![a-z]){_NOUN}\.?\s?[:=]?\s?(?:(?:{_ANY}){_JOIN}+){{0,2}}$")
_CASES = re.compile(
    rf"(?<![a-z])(?:(?:{_ANY}){_JOIN}*)+{_NOUN}(?![a-z])"
    rf"|(?<![a-z]){_NOUN}\.?\s?[:=]?\s?(?:{_ANY})(?:{_JOIN}+(?:{_ANY}))*(?![a-z])"
)
_TIED = re.compile(rf"(?<![a-z])(?:{_ANY})-(?:{_ANY})(?![a-z])")
_COMPOUND = re.compile(r"(kurz|mittel|lang)(?=gehause|hauber|motor|version|carter)")
_SPANISH = re.compile(r"(?<![a-z])(?:para|carcasa|el|los|motor)(?![a-z])")


_PLAIN = re.compile(
    rf"(?<![a-z])(?:{_ANY}|{_NOUN}|{_VERSION}|motor|engine|moteur|motore|and|und|e|et|y|el|la|il|le|the|of|di|de"
    r"|du|del|para|per|fur|fuer|for|pour|nur|only|solo|seulement)(?![a-z])"
)


def _doubt(cell: Cell, text: str, housing_column: bool) -> str:
    """Why the words for a housing in a cell may not be meant as they stand, or empty."""
    if denied := said_against(cell.text):
        return f"it denies or doubts something ({denied!r})"
    rest = " ".join(re.findall(r"[^\W_]+", _PLAIN.sub(" ", text))) if housing_column else ""
    return f"other words stand beside it ({rest!r})" if rest else ""


def _tied(text: str) -> str:
    """Two words tied by a hyphen may name a size between: `mid-long`."""
    found = _TIED.search(text)
    return f"{found.group()!r} may be one size or two" if found else ""


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
    text = fold(cell.text)
    found: list[tuple[int, HousingWord, str]] = []
    words_there = _HOUSING_WORDS if _STEMS.search(text) else ()
    text = _COMPOUND.sub(r"\1 ", text) if words_there else text
    for word, pattern in words_there:
        for match in pattern.finditer(text):
            behind = _NOUN_BEHIND.match(text, match.end())
            part = _OF_CASE.match(text, match.end())
            if part and part["next"] in OTHER_PARTS and not housing_column:
                continue  # `long case bolts`
            if housing_column or behind or _NOUN_BEFORE.search(text[: match.start()]):
                found.append((match.start(), word, match.group()))
    if not found:
        if housing_column:
            return unreadable(cell, "no word for a short, mid or long housing")
        return empty(cell, "no word for a housing")
    found.sort()
    words = tuple(dict.fromkeys(word for _, word, _ in found))
    if doubt := _doubt(cell, text, housing_column) or _tied(text):
        return review(cell, doubt, words)
    if any(written.startswith("larg") for _, _, written in found) and not (
        _SPANISH.search(text) or "cárter" in cell.text.lower()
    ):
        # Spanish for long, Italian for wide.
        return review(cell, "'largo' is long in Spanish and wide in Italian", words)
    return read(cell, words)


def housing_spans(folded: str) -> list[tuple[int, int]]:
    """Where a folded text speaks of a short, mid or long housing."""
    return [each.span() for each in _CASES.finditer(folded)]


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
        return review(cell, f"{wrong[0]} inches is not a rim size")
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


def wheel_spans(folded: str) -> list[tuple[int, int]]:
    """Where a folded text gives a rim or a tyre size."""
    return [
        each.span() for pattern in (_TYRE, _WITH_INCH, _NAMED) for each in pattern.finditer(folded)
    ]
