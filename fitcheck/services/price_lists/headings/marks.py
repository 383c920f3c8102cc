"""Cells that stand for something else: ditto marks, and a spreadsheet's own errors."""

from __future__ import annotations

import re

from fitcheck.services.price_lists.wording.folding import fold

# Common practice, no source.
_DITTO = re.compile(
    r"-?\s?(?:\"|''|,,)\s?-?|\u3003|(?:dto|ditto|idem|id|do|c\. ?s)\.?|wie oben|as above|come sopra"
    r"|ci-dessus|idem ci-dessus|siehe oben"
)
# What spreadsheet programs show for a formula that failed, in the five languages.
_ERROR = re.compile(
    r"#(?:name\?|n/a|n/d|n/v|nv|nd|ref!|value!|div/0!|num!|null!|wert!|bezug!|zahl!|nome\?|rif!"
    r"|valore!|nom\s?\?|valeur!|nombre!|nul!|nombre\?|valor!|\u00a1?ref!|bloqueo!)"
    r"|err:[0-9]{3}"
)

_LONGEST = 20
_STARTS = frozenset("-\"',dDiIcCwWaAsS`")
"""What a ditto mark may begin with, as it is written."""


def is_ditto(text: str) -> bool:
    """Whether a cell says nothing but `the same as above`."""
    text = text.strip()
    if not text or len(text) > _LONGEST or (text[0].isascii() and text[0] not in _STARTS):
        return False
    return _DITTO.fullmatch(fold(text).strip()) is not None


def is_error(text: str) -> bool:
    """Whether a cell holds what a spreadsheet shows for a formula that failed."""
    if len(text) > _LONGEST or not ("#" in text or ":" in text):
        return False
    return _ERROR.fullmatch(fold(text).strip()) is not None
