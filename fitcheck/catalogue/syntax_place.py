"""The place at which a parser gave up, with the lines round it."""

from __future__ import annotations

import re

from fitcheck.catalogue.events import NotYamlError


class SyntaxPlace:
    """The text round the offset where a parser stopped.

    Attributes:
        text: the whole text.
        problem: what the parser met, in small letters.
        context: what it was doing, in small letters.
        stopped_at: where it stopped.
        offset: the same; at the end of the text its last visible character.
        context_offset: where the thing it was reading began, if it says.
        at_end: whether nothing visible follows.
        line_start: where the line of `offset` begins.
        line: that line.
        before: the part of the line before `offset`.
        char: the character at `offset`.
    """

    def __init__(self, text: str, trouble: NotYamlError) -> None:
        self.text = text
        self.problem = trouble.problem.lower()
        self.context = trouble.context.lower()
        self.stopped_at = len(text) if trouble.offset is None else trouble.offset
        offset = _guessed_offset(text) if trouble.offset is None else min(trouble.offset, len(text))
        self.at_end = not text[offset:].strip(" \t\r\n\0")
        if self.at_end:
            # The end of the text is no place to look at; its last visible character is.
            offset = max(len(text.rstrip()) - 1, 0)
        self.offset = offset
        self.context_offset = trouble.context_offset
        self.line_start = max(text.rfind("\n", 0, offset), text.rfind("\r", 0, offset)) + 1
        ends = [end for end in (text.find("\n", offset), text.find("\r", offset)) if end >= 0]
        self.line = text[self.line_start : min(ends, default=len(text))]
        self.before = text[self.line_start : offset]
        self.char = text[offset : offset + 1]

    @property
    def token_end(self) -> int:
        """Just past the word at the offset."""
        found = re.compile(r"[^\s,\[\]{}]+").match(self.text, self.offset)
        return self.offset + 1 if found is None else found.end()

    def line_before(self) -> tuple[int, str] | None:
        """Offset and text of the nearest line above that holds more than a comment."""
        end = self.line_start
        while end > 0:
            stop = end - 1
            if self.text[stop : stop + 1] == "\n" and self.text[stop - 1 : stop] == "\r":
                stop -= 1
            start = max(self.text.rfind("\n", 0, stop), self.text.rfind("\r", 0, stop)) + 1
            line = self.text[start:stop]
            if line.strip() and not line.lstrip().startswith("#"):
                return start, line
            end = start
        return None


def _guessed_offset(text: str) -> int:
    # The Python parser fails without a place on an escape beyond the last code point.
    found = re.search(r"\\U(?!000|0010)[0-9A-Fa-f]{8}", text)
    return len(text) if found is None else found.start()
