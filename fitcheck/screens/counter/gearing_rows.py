"""Gearings on screen, a line each: what they change, and the sets to sell.

Sets that do not fit on the line stand beneath it; where not even the figures fit, each gearing is
told in words.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from rich.cells import cell_len
from rich.text import Text

from fitcheck.answers.figures import margin_words, money, price_sum, shelf_words, stock_mark
from fitcheck.answers.road_words import (
    LAWFUL_STYLES,
    LAWFUL_WORDS,
    PULL_STYLES,
    decimal_words,
    tenths,
)
from fitcheck.kernel.rounding import percent
from fitcheck.rules.answers import Verdict
from fitcheck.screens.counter.combinations import sets_words
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import padded, wrapped
from fitcheck.screens.words import BAND_STYLES, VERDICT_STYLES, edges_of
from fitcheck.services.counter.combination import Combination, change_from_factory
from fitcheck.services.counter.match import Match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import BAND_WORDS, Subject
from fitcheck.services.road.figures import RoadRow

_GAP = "  "
_INDENT = " " * 5
_RANK = "# "
_LEAST_SETS = 12
"""Cells from which the sets have a column; narrower, all of them stand beneath."""


@dataclass(frozen=True, slots=True)
class _Column:
    """A column, one cell a gearing.

    Attributes:
        head: its name.
        cells: what it says.
        right: whether the cells stand to the right.
        styles: their colours; empty: none.
    """

    head: str
    cells: Sequence[str]
    right: bool = True
    styles: Sequence[str] = field(default=())

    @property
    def width(self) -> int:
        """Cells of its widest line."""
        return max(map(cell_len, (self.head, *self.cells)))

    def text(self, at: int | None) -> Text:
        """Its head, or the cell of a gearing, as wide as the column."""
        words = self.head if at is None else self.cells[at]
        blank = " " * (self.width - cell_len(words))
        shown = Text(blank + words if self.right else words + blank)
        if at is not None and self.styles and words:
            start = len(blank) if self.right else 0
            shown.stylize(self.styles[at], start, start + len(words))
        return shown


class GearingLine(NamedTuple):
    """One line to be.

    Attributes:
        subject: the machine.
        one: the choice to sell.
        tied: whether another gearing has its rank.
        label: what stands before it, such as a tune.
    """

    subject: Subject
    one: Combination
    tied: bool
    label: str = ""


def lines_of(result: Match, rows: int | None, label: str = "") -> list[GearingLine]:
    """The first lines of a match; a rank is marked that only a line left out shares, too."""
    ranks = Counter(one.rank for one in result.combinations)
    return [
        GearingLine(result.subject, one, ranks[one.rank] > 1, label)
        for one in result.combinations[:rows]
    ]


def gearing_lines(
    gearings: Sequence[GearingLine], request: Request, width: int
) -> tuple[list[Text], list[list[Text]]]:
    """The line of heads, if there is one, and the lines of each gearing.

    Args:
        gearings: one or more.
        request: what was asked.
        width: cells in a line.
    """
    shown = [each.one for each in gearings]
    before, after = list(_changes(gearings, request)), list(_dealings(shown))
    taken = sum(column.width for column in (*before, *after))
    taken += len(_GAP) * (len(before) + len(after) - 1) - 1
    sets = [sets_words(one) for one in shown]
    room = width - taken - len(_GAP)
    if max(map(cell_len, sets)) > room:
        sets = [_short_words(one) for one in shown]
    beside = [words if cell_len(words) <= room >= _LEAST_SETS else "" for words in sets]
    columns = [*before, *([_Column("sets", beside, right=False)] if any(beside) else []), *after]
    heads = [Text(_line(columns, None).plain, style="dim")] if taken <= width else []
    found = []
    for at, one in enumerate(shown):
        if taken <= width:
            lines = [_line(columns, at)]
        else:
            words = [f"{column.head} {column.cells[at]}".strip() for column in columns[1:]]
            stacked = wrapped(", ".join(words), width, f"{before[0].cells[at]:>4} ", _INDENT)
            lines = list(map(Text, stacked))
        under = [*([] if beside[at] else [sets[at]]), *_asked_for(one, request)]
        lines += [Text(line) for words in under for line in wrapped(words, width, _INDENT)]
        found.append(lines)
    return heads, found


def _line(columns: Sequence[_Column], at: int | None) -> Text:
    line = Text()
    for column in columns:
        line.append(column.text(at))
        # The rank, which ends in a blank or an equals sign, needs one more.
        line.append(" " if column.head == _RANK else _GAP)
    line.rstrip()
    return line


def _changes(gearings: Sequence[GearingLine], request: Request) -> Iterator[_Column]:
    """Rank, teeth, and the changes that are known or were asked for."""
    shown = [each.one for each in gearings]
    edges = [edges_of(each.subject) for each in gearings]
    labels = [each.label for each in gearings]
    firsts = [label * (at == 0 or labels[at - 1] != label) for at, label in enumerate(labels)]
    ranks = [f"{each.one.rank:>2}{'=' if each.tied else ' '}" for each in gearings]
    if any(labels):
        yield _Column("", firsts, right=False)
    yield _Column(_RANK, ranks)
    stages = [[str(one.pairs[stage]) for one in shown] for stage in gearings[0].subject.stages]
    wide = [max(map(len, cells)) for cells in stages]
    pairs = [" ".join(map(padded, cells, wide)) for cells in zip(*stages, strict=True)]
    yield _Column("teeth", pairs, right=False)
    yield _Column(
        "speed%",
        [_bare(one.road_speed_change, edge) for one, edge in zip(shown, edges, strict=True)],
        styles=["bold"] * len(shown),
    )
    if any(edges) and (request.percent is not None or request.band != "in"):
        bands = [BAND_WORDS[one.band] for one in shown]
        yield _Column("band", bands, right=False, styles=[BAND_STYLES[one.band] for one in shown])
    in_all = [change_from_factory(each.subject, each.one.reduction) for each in gearings]
    if any(change is not None for change in in_all):
        cells = ["" if c is None else _bare(c, e) for c, e in zip(in_all, edges, strict=True)]
        yield _Column("factory", cells)
    roads = [one.road for one in shown]
    if any(roads):
        styles = ["" if road is None else _loud(PULL_STYLES[road.verdict]) for road in roads]
        yield _Column("km/h", list(map(_top, roads)), styles=styles)
        yield _Column("pull%", list(map(_pull, roads)))
        if any(each.label for each in gearings) and any(one.lawful for one in shown):
            law = [one.lawful for one in shown]
            words = ["" if each is None else LAWFUL_WORDS[each.answer] for each in law]
            colours = ["" if each is None else _loud(LAWFUL_STYLES[each.answer]) for each in law]
            yield _Column("class", words, right=False, styles=colours)
        if request.rank == "0-45":
            yield _Column("0-45 s", ["" if r is None else tenths(r.time_45) for r in roads])


def _bare(change: Fraction, edges: tuple[Fraction, ...]) -> str:
    """A percentage without its sign, which the head says."""
    return percent(change, edges).removesuffix(" %")


def _top(road: RoadRow | None) -> str:
    """The real top speed and its change; a question mark where it may well be another."""
    if road is None:
        return ""
    doubt = "" if road.other_top is None else "?"
    return (
        f"{decimal_words(road.top.value)}{doubt} {decimal_words(road.top_change, signed=True):>2}"
    )


def _pull(road: RoadRow | None) -> str:
    if road is None or road.start_change is None:
        return ""
    return decimal_words(road.start_change, signed=True)


def _dealings(shown: Sequence[Combination]) -> Iterator[_Column]:
    """Price, and where the sets can be had or that they are not proved to fit."""
    known = [one for one in shown if one.price is not None]
    # One currency stands over the column, where no sum is of several.
    currencies = {one.currency or "" for one in known}
    alike = len(currencies) == 1 and all(len(_currencies(one)) == 1 for one in shown)
    prices = [money(one.price) if alike else price_sum(one) for one in shown]
    yield _Column(currencies.pop() if alike else "price", prices)
    styles = [_loud(VERDICT_STYLES[one.judgement.verdict]) for one in shown]
    yield _Column("", list(map(_stock_word, shown)), right=False, styles=styles)


def _loud(style: str) -> str:
    """No colour says that all is well: what speaks against it may stand in another column."""
    return "" if style == "green" else style


def _currencies(one: Combination) -> set[str]:
    return {offer.currency for offer in one.offers}


def _stock_word(one: Combination) -> str:
    if not one.orderable:
        return "not to be had"
    if one.judgement.verdict is Verdict.UNPROVEN:
        return "unproven"
    return f"{one.pieces} here" if one.availability == "on-shelf" else stock_mark(one)


def _short_words(one: Combination) -> str:
    """The sets by their ids, as a command takes them; a part number that an id does not end in."""
    words = []
    for entry in one.sets:
        number = one_line(entry.record.part_number)
        bare = [re.sub(r"[\W_]", "", each).lower() for each in (entry.id, number)]
        words.append(entry.id if bare[0].endswith(bare[1]) else f"{entry.id} ({number})")
    return "+".join(words)


def _asked_for(one: Combination, request: Request) -> list[str]:
    """Drawers and margin, where they are asked."""
    told = shelf_words(one.offers) if request.in_stock else []
    if request.margins:
        told = [*told, f"margin {margin_words(one.margin, one.currency)}"]
    return ["; ".join(told)] if told else []
