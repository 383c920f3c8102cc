"""Lines above the rows of a group, such as a model or a stage, and lines that only go on.

A line with one cell may head the rows below it, or go on with the text of the row above it. It is
believed to head them where the table begins with one such line, or where it is set apart.
"""

from __future__ import annotations

import re
from collections.abc import Container, Sequence
from dataclasses import dataclass

from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.wording.cues import FILLER_WORDS, GEAR_WORDS
from fitcheck.services.price_lists.wording.folding import fold
from fitcheck.services.price_lists.wording.stages import find_stages, names_whole_train

Kind = str
"""`head`, or `more` for a line that goes on with the one above, or `unsure`."""

_DECORATED = re.compile(r"[^\w\s(\"'.+]{1,}\s*\w.*|.*\w\s*(?:[:=*#<\u2014_~-]{1,})", re.DOTALL)
# Words by which a line goes on. Common practice, no source.
_GOING_ON = re.compile(
    r"[(+]|(?:fur|fuer|for|fits|per|pour|para|passend|passt|geeignet|adatto|adattabile|adaptable|"
    r"auch|also|anche|aussi|tambien|inkl|incl|mit|with|con|avec|not|nicht|non|sauf|tranne|excepto|"
    r"except|ausser|nur|only|solo|seulement|siehe|see|vedi|voir|ver|ersetzt|replaces|bitte|please|"
    r"und|and|et|y)(?![a-z])"
)


@dataclass(frozen=True, slots=True)
class Head:
    """A line with one cell that may head a group.

    Attributes:
        row: its number.
        column: where its cell stands.
        text: what it says.
        apart: whether it is set apart: by a blank line or a heading above it, a merged cell, a
            header below it.
        above: whether it stands above all articles of its table.
        long: whether it has so many words that it is rather a note.
    """

    row: int
    column: int
    text: str
    apart: bool
    above: bool
    long: bool = False

    @property
    def believed(self) -> bool:
        """Whether it heads a group whatever the others are."""
        if self.long:
            return False
        return self.apart or self.above or _DECORATED.fullmatch(self.text.strip()) is not None


def kinds_of(heads: Sequence[Head], articles: Sequence[int], names: int) -> dict[int, Kind]:
    """What each line is.

    Args:
        heads: the lines in order.
        articles: rows of articles in order.
        names: number of the column of names; 0 where there is none.

    Returns:
        Row to kind.
    """
    believed = [head for head in heads if head.believed]
    columns = {head.column for head in believed}
    manners = {_manner(head.text) for head in believed}
    last = articles[-1] if articles else 0
    # A heading never comes last, right below an article.
    trailing = {h.column for h in heads if not (h.believed or h.long) and h.row > last}
    kinds: dict[int, Kind] = {}
    for head in heads:
        if head.believed:
            kinds[head.row] = "head"
        elif head.column not in columns:
            elsewhere = not believed or head.column == names
            kinds[head.row] = "more" if elsewhere else "unsure"
        elif head.long or head.column in trailing or _goes_on(head.text, manners):
            kinds[head.row] = "unsure"
        else:
            kinds[head.row] = "head"
    return kinds


def sections_of(
    heads: Sequence[Head], kinds: dict[int, Kind], articles: Container[int], last: int
) -> dict[int, str]:
    """The headings that hold for each article.

    One that names a stage alone goes below the one of its group: `DUNLIN 50`, then `PRIMARY`.

    Args:
        heads: the lines in order.
        kinds: what each is.
        articles: rows of articles.
        last: the last row of the table.
    """
    by_row = {head.row: head for head in heads}
    found: dict[int, str] = {}
    group, stage = "", ""
    adjoining = grouped = False
    for row in range(min(by_row, default=last), last + 1):
        if row in articles:
            adjoining = grouped = False
            if text := " | ".join(filter(None, (group, stage))):
                found[row] = text
            continue
        head = by_row.get(row)
        if head is None or kinds[row] == "more":
            continue
        if kinds[row] == "unsure":
            group, stage = "", ""
        elif _names_stage_alone(head.text):
            stage = head.text
        else:
            group = f"{group} | {head.text}" if grouped else head.text
            stage = stage if adjoining else ""
            grouped = True
        adjoining = True
    return found


def name_sheets(layouts: Sequence[Layout]) -> None:
    """Let the name of each sheet head its articles, where a workbook has several with tables.

    A name that speaks of gears only says nothing.
    """
    if len({layout.sheet.name for layout in layouts}) < 2:
        return
    for layout in layouts:
        name = layout.sheet.name.strip()
        words = set(re.findall(r"[a-z]+", fold(name)))
        if words & GEAR_WORDS and not find_stages(fold(name)):
            continue
        for row in layout.data_rows:
            below = layout.sections.get(row, "")
            layout.sections[row] = f"{name} | {below}" if below else name


def _goes_on(text: str, manners: Container[str]) -> bool:
    """Whether a line reads as one that goes on, and no heading begins like it."""
    return _GOING_ON.match(fold(text).strip()) is not None and _manner(text) not in manners


def _manner(text: str) -> str:
    """The first word of a line: `for Dunlin 50` and `for Whimbrel 125` are of one manner."""
    return next(iter(re.findall(r"[a-z]+", fold(text))), "")


def _names_stage_alone(text: str) -> bool:
    folded = fold(text)
    found = find_stages(folded)
    if not found:
        return names_whole_train(folded)
    rest = folded
    for word in reversed(found):
        rest = f"{rest[: word.start]} {rest[word.end :]}"
    return set(re.findall(r"[a-z0-9]+", rest)) <= GEAR_WORDS | FILLER_WORDS
