"""A fault met while reading one text, by offset; `source.py` turns it into a finding."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from fitcheck.catalogue.nodes import Node
from fitcheck.diagnostics.finding import printable
from fitcheck.model.fields import MAX_ID_LENGTH, is_id

SHOWN_LENGTH = 40


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault; offsets in code points of the file's text.

    Attributes:
        code: code of the finding.
        message: one sentence.
        start: offset of the first character concerned.
        end: offset just past the last.
        path: keys and list positions that lead to the place.
        help: what to do.
        related: other places as (start, end, label).
        suggestion: what to put in place.
    """

    code: str
    message: str
    start: int
    end: int
    path: tuple[str | int, ...] = ()
    help: str | None = None
    related: tuple[tuple[int, int, str], ...] = ()
    suggestion: str | None = None

    @classmethod
    def at(
        cls,
        node: Node,
        code: str,
        message: str,
        advice: str,
        *,
        path: tuple[str | int, ...] = (),
        suggestion: str | None = None,
    ) -> Problem:
        """A fault of a key or value; it points at one character at least."""
        end = max(node.end, node.start + 1)
        return cls(code, message, node.start, end, path=path, help=advice, suggestion=suggestion)


class StopReadingError(Exception):
    """A fault after which the rest of the file cannot be trusted."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


def shown(text: str, limit: int = SHOWN_LENGTH) -> str:
    """Text from a file as it goes into one line: breaks and hidden characters made visible."""
    return printable(text if len(text) <= limit else text[: limit - 3] + "...")


def bad_id_words(text: str) -> tuple[str, str, str | None]:
    """Message, advice and a well-formed id near by, for a text that is no id."""
    if len(text) > MAX_ID_LENGTH:
        return f"{shown(text)!r} is no id: over {MAX_ID_LENGTH} characters", "shorten it", None
    plain = "".join(
        char for char in unicodedata.normalize("NFKD", text) if not unicodedata.combining(char)
    )
    corrected = re.sub(r"[^A-Za-z0-9._-]+", "-", plain.strip()).strip("-")
    good = is_id(corrected)
    return (
        f"{shown(text)!r} is no id: a letter, then letters, digits, dots, dashes, underscores",
        f"write {corrected}" if good else "begin it with a letter, such as the supplier's initials",
        corrected if good else None,
    )
