"""The form of an id, and what to write where it is another."""

from __future__ import annotations

import re
import unicodedata

from fitcheck.catalogue.problems import shown

ID_PATTERN = r"^[A-Za-z][A-Za-z0-9._-]*$"
"""As the models of `fitcheck.model.fields` give it; a test holds the two together."""

MAX_ID_LENGTH = 60

_ID = re.compile(ID_PATTERN.removesuffix("$") + r"\Z")


def is_id(text: str) -> bool:
    """Whether a text has the form of an id."""
    return len(text) <= MAX_ID_LENGTH and _ID.match(text) is not None


def bad_id_words(text: str) -> tuple[str, str, str | None]:
    """Message, advice and a well-formed id near by, for a text that is no id."""
    if len(text) > MAX_ID_LENGTH:
        return f"{shown(text)!r} is no id: over {MAX_ID_LENGTH} characters", "shorten it", None
    plain = "".join(
        char for char in unicodedata.normalize("NFKD", text) if not unicodedata.combining(char)
    )
    mended = re.sub(r"[^A-Za-z0-9._-]+", "-", plain.strip()).strip("-")
    good = is_id(mended)
    return (
        f"{shown(text)!r} is no id: a letter, then letters, digits, dots, dashes, underscores",
        f"write {mended}" if good else "begin it with a letter, such as the supplier's initials",
        mended if good else None,
    )
