"""Texts of a list made fit for a catalogue file and for a line on a screen."""

from __future__ import annotations

import unicodedata

_LONGEST = 2000


def clean_text(text: str) -> str:
    """A text for the catalogue: one line, no hidden characters, at most 2000 characters."""
    if text.isprintable():
        return " ".join(text.split())[:_LONGEST]
    shown = "".join(
        char
        for char in text
        if char.isspace() or unicodedata.category(char) not in ("Cc", "Cf", "Co", "Cs", "Cn")
    )
    return " ".join(shown.split())[:_LONGEST]
