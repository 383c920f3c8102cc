"""A scalar as text: without quotes where readers of YAML 1.1 and 1.2 agree on it, else quoted.

Standards: YAML 1.2.2, sections 7.3 and 10.3.2; the type repository of YAML 1.1 (int, float, bool,
null, timestamp, merge, value) for what older readers make of plain text.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Literal

from fitcheck.catalogue.editing.values import Bare, number_text
from fitcheck.catalogue.scalars import meaning_of

Quote = Literal["", "'", '"']

_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

# Whatever is made of these alone looks like a number, a time, or a spreadsheet's idea of either.
_NUMBER_LIKE = re.compile(r"[-+.0-9][-+.0-9_:,eE]*")
_OTHER_NUMBERS = re.compile(
    r"[-+]?0[bB][01_]+|[-+]?0[xX][0-9a-fA-F_]+|[-+]?0[oO][0-7_]+|[-+]?\.(?:inf|nan)", re.IGNORECASE
)
_TIME = re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}(?:[Tt \t].*)?")
_WORDS = frozenset(
    ("~", "null", "true", "false", "yes", "no", "on", "off", "y", "n", "=", "<<", "---", "...")
)
_OPENERS = frozenset("-?:,[]{}#&*!|>'\"%@`=<~.+")
_FLOW_SIGNS = re.compile(r"[,\[\]{}:?]")
_MAX_KEY = 120


def can_stand_bare(text: str, *, flow: bool) -> bool:
    """Whether a text means itself without quotes, to every reader, in brackets or outside.

    Where in doubt the answer is no.
    """
    if not text or text != text.strip() or not text.isprintable() or text[0] in _OPENERS:
        return False
    if ": " in text or " #" in text or text.endswith(":"):
        return False
    if flow and _FLOW_SIGNS.search(text):
        return False
    return not _means_another(text)


def _means_another(text: str) -> bool:
    """Whether some reader takes a text without quotes for a number, a word or a time."""
    if text.casefold() in _WORDS:
        return True
    if _NUMBER_LIKE.fullmatch(text) or _OTHER_NUMBERS.fullmatch(text) or _TIME.fullmatch(text):
        return True
    value, _, two_readings = meaning_of(text)
    return two_readings or not isinstance(value, str)


def double_quoted(text: str) -> str:
    """A text in double quotes, on one line."""
    inner = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return '"' + inner.replace("\t", "\\t") + '"'


def inline_text(
    value: object, *, flow: bool, quote: Quote = "", key: bool = False, other: Quote = '"'
) -> str:
    """A scalar on one line.

    Args:
        value: text, `Bare`, int, Decimal, bool or None.
        flow: whether it stands in brackets.
        quote: how a text is to be written if it can: bare, or in these quotes.
        key: whether it is a key.
        other: quotes for a text that cannot stand bare.
    """
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, int | Decimal):
        return number_text(value)
    text = str(value)
    if isinstance(value, Bare) and not quote:
        return text
    if not quote and can_stand_bare(text, flow=flow or key) and not (key and len(text) > _MAX_KEY):
        return text
    if (quote or other) == "'" and text.isprintable():
        return "'" + text.replace("'", "''") + "'"
    return double_quoted(text)


def bare_date(text: str) -> bool:
    """Whether a text is a date, which may stand bare where another did."""
    return _DATE.fullmatch(text) is not None


def block_text(text: str, indent: str, eol: str, sign: str = "|") -> tuple[str, str] | None:
    """A text as a block of lines of its own.

    Args:
        text: the text.
        indent: what each line begins with.
        eol: the line break.
        sign: `|`, or `>` which is taken only for a single line.

    Returns:
        The header, and the lines without the last break; None where a block cannot hold the text.
    """
    body = text.removesuffix("\n")
    lines = body.split("\n")
    if not body or "\t" in body or lines[0].startswith(" ") or not lines[0] or not lines[-1]:
        return None
    if any(line != line.rstrip() or not line.isprintable() for line in lines):
        return None
    if sign == ">" and len(lines) > 1:
        sign = "|"
    header = sign if body != text else sign + "-"
    return header, eol.join(indent + line if line else "" for line in lines)
