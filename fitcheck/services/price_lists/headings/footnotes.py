"""Footnotes: the marks that cells bear, tied to what lines above or below the articles say."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.wording.amounts import OF_PRICES, stated_currency
from fitcheck.services.price_lists.wording.availability import read_availability, stock_spans
from fitcheck.services.price_lists.wording.harmless import says_nothing
from fitcheck.services.price_lists.wording.readings import fold

# Terms of trade that change no price of a list: common practice, no source.
TERMS = re.compile(
    rf"(?<![a-z])(?:{OF_PRICES}|mwst|ust|vat|iva|tva|ttc|ht|versand|freight|porto|all|alle|tutti|tous"
    r"|les|todos|los|zzgl|zuzuglich|inkl|exkl|incl?|excl|plus|net|netto|brutto|gross|netos?|netti"
    r"|nets?|i|ab|werk|ex|works|hors|taxes?|sin|sans|senza|ohne|without|esclusa|inclusa|in|en)(?![a-z])"
)
# Marks of footnotes: common practice, no source.
_SIGN = r"\*{1,4}|[†‡]{1,2}|[¹²³⁴⁵⁶⁷⁸⁹]"
_MARK = rf"(?:{_SIGN})\)?|[§#]{{1,2}}|\([1-9A-Za-z]\)|[1-9A-Za-z]\)|\[[1-9A-Za-z]\]"
_FOOTNOTE = re.compile(rf"(?:^|(?<=[\s;]))(?P<mark>{_MARK})\s*(?:[=:-]\s*)?(?=\w)")
_BEHIND = re.compile(rf"(?P<text>.*?)\s*(?P<mark>{_MARK})\s*", re.DOTALL)
_BEFORE = re.compile(rf"\s*(?P<mark>{_SIGN})\s*(?P<text>\w.*)", re.DOTALL)
_ONE_SIGN = re.compile(_SIGN)
_LENGTH = re.compile(r"(?<![^\W\d_])[cdm]?m$", re.IGNORECASE)


def split_footnotes(text: str) -> list[tuple[str, str]]:
    """The footnotes of a line, each by its bare mark, the mark before what it says."""
    begins = list(_FOOTNOTE.finditer(text.strip()))
    if not begins or begins[0].start():
        return []
    ends = [*(each.start() for each in begins[1:]), len(text)]
    return [
        (bare(each["mark"]), " ".join(text.strip()[each.start() : end].split()))
        for each, end in zip(begins, ends, strict=True)
    ]


_DIGITS = str.maketrans("¹²³⁴⁵⁶⁷⁸⁹", "123456789", "()[]")
_ENDS = frozenset("*†‡§#)]¹²³⁴⁵⁶⁷⁸⁹ ")
_STARTS = frozenset("*†‡¹²³⁴⁵⁶⁷⁸⁹ ")


def bare(mark: str) -> str:
    """A mark without brackets: `1)`, `(1)` and `¹` refer to one note."""
    return mark.translate(_DIGITS)


def marks_of(layout: Layout, row: int) -> Iterator[tuple[int, str, str]]:
    """The marks that cells of a row bear: column, mark, and the cell's text without it."""
    for column, value in enumerate(layout.sheet.values[row - 1], 1):
        if (
            isinstance(value, str)
            and (value[-1:] in _ENDS or value[:1] in _STARTS)
            and (found := _find_mark(value))
        ):
            yield column, *found


def _find_mark(text: str) -> tuple[str, str] | None:
    """The mark that a text bears, behind it or before it, and the text without it."""
    found = _BEHIND.fullmatch(text) or _BEFORE.fullmatch(text)
    if found is None:
        return None
    mark, rest = found["mark"], found["text"].strip()
    is_unit = mark in ("²", "³") and _LENGTH.search(rest)  # `125 cm³`
    is_bracket = mark[0].isdigit() and rest.count("(") > rest.count(")")  # `(stage 1)`
    return None if is_unit or is_bracket else (mark, rest)


def tie_marks(layout: Layout, notes: Mapping[str, str]) -> None:
    """Hold against each row the notes whose marks it bears, and read its cells without them.

    A mark whose note is missing is held against it as well, where it is a sign that is none else.
    """
    own = {each for column in layout.columns.values() for each in (column.column, column.second)}
    headed = [
        note
        for column in layout.columns.values()
        if (found := _find_mark(column.heading)) and (note := notes.get(bare(found[0])))
        if not stated_currency(note) and not _is_harmless(note, of_heading=True)
    ]
    for row in layout.data_rows:
        said = list(headed)
        for column, mark, rest in marks_of(layout, row):
            note = notes.get(bare(mark))
            is_stray = column in own and bool(rest) and _ONE_SIGN.fullmatch(mark) is not None
            if note is None and not is_stray:
                continue
            if note is None or not _is_harmless(note):
                said.append(note or f"{mark}, a mark without a note")
            layout.unmarked[row, column] = rest
        layout.hold(row, said)


def _is_harmless(note: str, *, of_heading: bool = False) -> bool:
    """Whether a footnote says nothing that could matter, or only that a part can be had.

    That of a heading may name terms of trade, which hold for all prices alike.
    """
    said = _FOOTNOTE.sub("", fold(note), count=1)
    if of_heading:
        said = TERMS.sub(" ", said)
    if read_availability(said).value in ("in-stock", "to-order"):
        for start, end in stock_spans(said):
            said = f"{said[:start]}{' ' * (end - start)}{said[end:]}"
    return says_nothing(said)
