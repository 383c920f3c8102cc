"""Text from others made fit for a page: nothing in it can steer, hide or pile up.

Escaping is the template's; here goes what escaping leaves: control characters, marks that turn the
direction of writing, heaps of accents, names of a thousand letters.
"""

from __future__ import annotations

import unicodedata
from typing import Any

from markupsafe import Markup

_JOINERS = "\N{ZERO WIDTH NON-JOINER}\N{ZERO WIDTH JOINER}"
"""Needed to write Persian, many scripts of India, and signs made of several signs."""

_DROPPED = (
    "\N{LEFT-TO-RIGHT MARK}\N{RIGHT-TO-LEFT MARK}\N{ARABIC LETTER MARK}"
    "\N{ZERO WIDTH NO-BREAK SPACE}\N{SOFT HYPHEN}\N{WORD JOINER}"
)
"""Harmless by themselves, and of no use on a page where each name is set apart."""

_KEPT_BLANKS = "\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}"
"""Blanks that hold a figure together."""

_MOST_MARKS = 4
"""Accents on one letter; Vietnamese and Hebrew need two, three at the most."""


def clean(text: Any) -> Any:
    """Text as it may stand on the page; anything but plain text is handed back as it is.

    White space becomes single blanks, those that never break stay; whatever else does not print
    becomes a replacement mark.
    """
    if isinstance(text, Markup) or not isinstance(text, str):
        return text
    shown: list[str] = []
    marks = 0
    for char in unicodedata.normalize("NFC", text):
        category = unicodedata.category(char)
        if category in ("Mn", "Me"):
            marks += 1
            if marks > _MOST_MARKS:
                continue
        else:
            marks = 0
        if char in _DROPPED:
            continue
        if char.isspace() and char not in _KEPT_BLANKS:
            if not shown or shown[-1] != " ":
                shown.append(" ")
        elif category in ("Cc", "Cf", "Cs") and char not in _JOINERS:
            shown.append("\N{REPLACEMENT CHARACTER}")
        else:
            shown.append(char)
    return "".join(shown).strip(" ")


def clipped(text: str, most: int) -> str:
    """Cleaned text of at most so many characters, an ellipsis for the rest."""
    whole = str(clean(text))
    if len(whole) <= most:
        return whole
    end = most - 1
    while end > 1 and (unicodedata.combining(whole[end]) or whole[end] in _JOINERS):
        end -= 1
    return f"{whole[:end].rstrip()}\N{HORIZONTAL ELLIPSIS}"
