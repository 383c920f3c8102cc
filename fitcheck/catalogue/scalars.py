"""What a scalar without quotes means: the YAML 1.2 core schema, numbers exact.

Standard: YAML 1.2.2, section 10.3.2 (core schema). Numbers with a fraction or an exponent become
`Decimal` from the very text, so nothing is rounded on the way in.
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from typing import NamedTuple

Value = str | int | Decimal | bool | None

MAX_NUMBER_LENGTH = 40
MAX_EXPONENT = 40

_WORDS: dict[str, bool | None] = {
    "": None,
    "~": None,
    "null": None,
    "Null": None,
    "NULL": None,
    "true": True,
    "True": True,
    "TRUE": True,
    "false": False,
    "False": False,
    "FALSE": False,
}
_INTEGER = re.compile(r"[-+]?[0-9]+")
_BASED = re.compile(r"0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_INFINITE = re.compile(r"([-+]?)\.(?:inf|Inf|INF)")
_NOT_A_NUMBER = frozenset({".nan", ".NaN", ".NAN"})

# YAML 1.1 type repository: sexagesimal integers and floats, octal with a leading zero, digits
# grouped by underscores, and the many words for true and false.
_BASE_60 = re.compile(r"[-+]?[0-9][0-9_]*(?::[0-5]?[0-9])+(?:\.[0-9_]*)?")
_OLD_OCTAL = re.compile(r"[-+]?0[0-7_]+")
_GROUPED = re.compile(r"[-+]?[0-9][0-9]*_[0-9_]*(?:\.[0-9_]*)?")
_OLD_TRUE = frozenset({"yes", "Yes", "YES", "on", "On", "ON", "y", "Y"})
_OLD_FALSE = frozenset({"no", "No", "NO", "off", "Off", "OFF", "n", "N"})


class Meaning(NamedTuple):
    """Value of a plain scalar, and whether something about it needs a word.

    Attributes:
        value: what the core schema makes of the text; a number out of bounds stays text.
        too_long: the text is a number beyond the bounds of the reader.
        two_readings: older readers (YAML 1.1) take the text for something else.
    """

    value: Value
    too_long: bool = False
    two_readings: bool = False


def meaning_of(text: str) -> Meaning:
    """The value of a scalar that stands without quotes.

    Args:
        text: the scalar as YAML reads it, without comments or surrounding spaces.
    """
    if text in _WORDS:
        return Meaning(_WORDS[text])
    first = text[0]
    if not (first.isascii() and (first.isdigit() or first in "+-.")):
        return Meaning(text, two_readings=text in _OLD_TRUE or text in _OLD_FALSE)
    number = _number(text)
    if number is not None:
        return number
    return Meaning(text, two_readings=bool(_BASE_60.fullmatch(text) or _GROUPED.fullmatch(text)))


def _number(text: str) -> Meaning | None:
    infinite = _INFINITE.fullmatch(text)
    if infinite is not None:
        return Meaning(Decimal(infinite.group(1) + "Infinity"))
    if text in _NOT_A_NUMBER:
        return Meaning(Decimal("NaN"))
    if not (_INTEGER.fullmatch(text) or _BASED.fullmatch(text) or _FLOAT.fullmatch(text)):
        return None
    return Meaning(text, too_long=True) if len(text) > MAX_NUMBER_LENGTH else _finite(text)


def _finite(text: str) -> Meaning:
    if _INTEGER.fullmatch(text):
        return Meaning(int(text), two_readings=_OLD_OCTAL.fullmatch(text) is not None)
    if _BASED.fullmatch(text):
        return Meaning(int(text, 0))
    try:
        value = Decimal(text)
    except InvalidOperation:
        return Meaning(text, too_long=True)
    # Exact fractions of 1e999999999 would fill the memory; nothing on a scooter is that large.
    if value and abs(value.adjusted()) > MAX_EXPONENT:
        return Meaning(text, too_long=True)
    # A zero keeps its exponent, and so would an exact sum with it.
    return Meaning(value or Decimal(0))


def other_reading(text: str) -> str | None:
    """What a YAML 1.1 reader takes a plain scalar for, in words; None where all readers agree."""
    if text in _OLD_TRUE or text in _OLD_FALSE:
        return "true" if text in _OLD_TRUE else "false"
    if len(text) > MAX_NUMBER_LENGTH:
        return None
    if _BASE_60.fullmatch(text):
        total = Decimal(0)
        for part in text.lstrip("+-").replace("_", "").split(":"):
            total = total * 60 + Decimal(part)
        return f"the number {'-' if text.startswith('-') else ''}{total}, read in base 60"
    if _OLD_OCTAL.fullmatch(text):
        return f"the number {int(text.replace('_', ''), 8)}, read in base 8"
    if _GROUPED.fullmatch(text):
        return f"the number {text.replace('_', '')}"
    return None
