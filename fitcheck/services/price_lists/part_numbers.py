"""Part numbers as the cells of a list give them: read as they stand, or doubted."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from fitcheck.services.price_lists.reading import Cell, plain_text

_SHORTENED = re.compile(r"[0-9](?:[.,][0-9]+)?e\+[0-9]{2,}", re.IGNORECASE)
# A slash without spaces may belong to the number where what it parts is short: `12/34`.
_PARTING = re.compile(
    r"[\n;,|]|\s[/+&]\s|(?<=\w{4})/(?=\w{4})|\s?(?:→|[-=]>)\s?"
    r"|\s(?:oder|or|o|ou|bzw\.?|und|and|e|et|y|bis|to|jusqu'a|hasta|ersetzt|replaces|sostituisce|"
    r"remplace|sustituye)\s|(?<=[0-9])\s(?=[^\W\d_]+-?[0-9]{2})"
)
_FORMER = re.compile(
    r"(?P<now>\S*[0-9]\S*)\s*[(\[]\s*(?:alt|old|ex|fr(?:ü|ue)her|vorher|formerly|was|vecchio|prima|"
    r"anc(?:ien)?|avant|antes|antiguo)\b[.:]?\s*(?P<then>\S*[0-9]\S*?)\s*[)\]]",
    re.IGNORECASE,
)


@lru_cache(maxsize=4096)
def number_key(text: str) -> str:
    """A part number for comparing: capitals, composed letters and widths of spaces do not count."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text)
    return " ".join(text.split()).casefold()


@dataclass(frozen=True, slots=True)
class PartNumber:
    """A part number as the cell gives it.

    Attributes:
        text: the number; empty where there is none.
        cell: where it stands.
        doubt: why it may be another one than the supplier wrote, or empty.
        parts: the numbers it may be instead, where it holds several.
        counted: whether a spreadsheet holds it as a number, so that leading zeros and powers of
            ten may be lost.
    """

    text: str
    cell: str
    doubt: str = ""
    counted: bool = False
    parts: tuple[str, ...] = ()


def read_part_number(cell: Cell) -> PartNumber:
    """The part number of a cell, and why it may be another than the supplier wrote."""
    text = " ".join(cell.text.split())
    value = cell.value
    doubt = ""
    counted = isinstance(value, (int, float)) and text == plain_text(value)
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        doubt = "a spreadsheet made a date or time of it"
    elif isinstance(value, bool):
        doubt = "a spreadsheet made yes or no of it"
    elif cell.rounded:
        doubt = "a spreadsheet keeps no more than 15 digits of it"
    elif isinstance(value, float) and not value.is_integer():
        doubt = "a spreadsheet holds it as a number with decimals"
    elif isinstance(value, str) and _SHORTENED.fullmatch(text):
        doubt = "a spreadsheet shortened it to a power of ten"
    parts = _numbers_in(cell.text)
    if parts and not doubt:
        doubt = "it may be several"
    return PartNumber(text, cell.address, doubt, counted, parts=parts)


def _numbers_in(text: str) -> tuple[str, ...]:
    """The part numbers of a cell with several: those written alike, or one and its old one."""
    if text.isalnum():
        return ()
    if named := _FORMER.fullmatch(text.strip()):
        return tuple(each.strip() for each in (named["now"], named["then"]))
    parts = [part for each in _PARTING.split(text) if (part := " ".join(each.split()))]
    shapes = {re.sub(r"[0-9]", "9", re.sub(r"[^\W\d_]", "a", part)) for part in parts}
    alike = len(parts) > 1 and len(shapes) == 1 and len(parts[0]) > 2 and "9" in shapes.pop()
    return tuple(parts) if alike else ()
