"""A fault met while reading one text, by offset; `source.py` turns it into a finding."""

from __future__ import annotations

from dataclasses import dataclass, field

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
    related: tuple[tuple[int, int, str], ...] = field(default=())
    suggestion: str | None = None


class StopReadingError(Exception):
    """A fault after which the rest of the file cannot be trusted."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


def shown(text: str, limit: int = SHOWN_LENGTH) -> str:
    """Text from a file as it goes into one line: breaks and hidden characters made visible."""
    cut = text if len(text) <= limit else text[: limit - 3] + "..."
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode("ascii")
        for char in cut
    )
