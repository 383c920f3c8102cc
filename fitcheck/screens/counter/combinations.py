"""Ranked combinations on screen: a line of figures for equal pairs, then their sets by price.

Under the figures price and fit come first, since they are of like width, on a wide screen also
where the sets can be had; the sets follow, and their notes stand beside them where there is
room, else beneath. What a gearing does on the road, if that is asked, ends the line of figures
where there is room, else it is a line of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from rich.cells import cell_len
from rich.text import Text

from fitcheck.answers.figures import (
    margin_words,
    percent_window,
    price_sum,
    shelf_words,
    source_mark,
    stock_mark,
)
from fitcheck.answers.road_words import PULL_STYLES
from fitcheck.kernel.rounding import decimal_text, percent
from fitcheck.screens.counter.list_road import Columns, marks, sentence
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import WIDE, Screen, padded, wrapped
from fitcheck.screens.words import BAND_STYLES, VERDICT_STYLES, edges_of, fit_words
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.subject import BAND_WORDS, Subject
from fitcheck.services.road.figures import RoadSide

INDENT = " " * 5
_NOTE_ROOM = 44
_GAP = "  "


def print_combinations(
    out: Screen,
    subject: Subject,
    combinations: Sequence[Combination],
    side: RoadSide | None = None,
    *,
    margins: bool = False,
    shelf: bool = False,
) -> None:
    """Print ranked combinations, those of equal pairs under one line of figures.

    Args:
        out: where.
        subject: the machine.
        combinations: one or more.
        side: what was asked of the road for the whole list.
        margins: whether to tell what the shop earns, a line each.
        shelf: whether to tell how many pieces lie where.
    """
    groups = [
        list(group)
        for _, group in groupby(combinations, key=lambda one: (one.rank, tuple(one.pairs.values())))
    ]
    _Listing(out, subject, combinations, side, margins=margins, shelf=shelf).print(groups)


def speed_words(low: Fraction | None, high: Fraction | None) -> str:
    """A window of road-speed change, such as `road speed +10 to +15 %`."""
    comma = "," if low is None and high is None else ""
    return f"road speed{comma} {percent_window(low, high)}"


def sets_words(one: Combination) -> str:
    """The sets of a combination with their part numbers."""
    return " + ".join(_set_words(one))


def _set_words(one: Combination) -> list[str]:
    words = []
    for entry in one.sets:
        number = one_line(entry.record.part_number)
        words.append(entry.id if number == entry.id else f"{entry.id} (no. {number})")
    return words


class _Listing:
    """One list: its columns are as wide as its widest cells."""

    def __init__(
        self,
        out: Screen,
        subject: Subject,
        combinations: Sequence[Combination],
        side: RoadSide | None,
        *,
        margins: bool,
        shelf: bool,
    ) -> None:
        self.out = out
        self.margins = margins
        self.shelf = shelf
        self.side = side
        self.road = Columns([one.road for one in combinations])
        self.stages = subject.stages
        self.edges = edges_of(subject)
        pairs_of: dict[int, set[tuple[object, ...]]] = {}
        for one in combinations:
            pairs_of.setdefault(one.rank, set()).add(tuple(one.pairs.values()))
        # An equals sign marks different pairs of exactly equal reduction.
        self.tied = {rank for rank, pairs in pairs_of.items() if len(pairs) > 1}
        self.price_width = max(len(price_sum(one)) for one in combinations)
        self.source_width = max(
            len(source_mark(one, wide=out.width >= WIDE)) for one in combinations
        )
        self.fit_width = max(len(fit_words(one.judgement)) for one in combinations)
        start = len(INDENT) + self.price_width + len(_GAP) + self.fit_width + len(_GAP)
        start += self.source_width
        self.stock_width = (
            max(len(stock_mark(one)) for one in combinations) if out.width >= WIDE else 0
        )
        self.stock_start = start
        start += self.stock_width + len(_GAP) if self.stock_width else 0
        widest = max(cell_len(sets_words(one)) for one in combinations)
        self.beside = out.width >= WIDE and out.width - start - widest - len(_GAP) >= _NOTE_ROOM
        self.sets_start = start
        self.sets_width = widest if self.beside else out.width - start

    def print(self, groups: Sequence[Sequence[Combination]]) -> None:
        figures = [self._figures(group[0]) for group in groups]
        heads = ["# ", *self.stages, "overall", "road speed", "reduction", "band"]
        widths = [max(map(len, column)) for column in zip(heads, *figures, strict=True)]
        widths[0] = max(widths[0], 4)
        for position in range(1, 1 + len(self.stages)):
            widths[position] = max(widths[position], 7)
        in_columns = sum(widths) + len(_GAP) * (len(widths) - 1) <= self.out.width
        place = self._road_place(widths, in_columns)
        if in_columns:
            head = self._row(heads, widths)
            beside = f"{_GAP}{self.road.heads()}" if place == "beside" else ""
            self.out.line(Text(head + beside, style="dim"))
        if place == "below":
            self.out.line(Text(f"{INDENT}{self.road.heads()}", style="dim"))
        for group, cells in zip(groups, figures, strict=True):
            first = group[0]
            if in_columns:
                line = self._figure_line(cells, widths, first)
                if place == "beside" and first.road is not None:
                    line.append(_GAP).append(self.road.line(first.road))
                self.out.line(line)
            else:
                self._print_stacked(cells, first)
            self._print_road(first, place)
            for one in group:
                self._print_item(one)

    def _road_place(self, widths: Sequence[int], in_columns: bool) -> str:
        """Where the columns of the road stand: beside the others, below them, in words, nowhere."""
        if not self.road.width:
            return ""
        # One blank parts the rank from the pairs.
        line = sum(widths) + 1 + len(_GAP) * (len(widths) - 2)
        if in_columns and line + len(_GAP) + self.road.width <= self.out.width:
            return "beside"
        return "below" if len(INDENT) + self.road.width <= self.out.width else "words"

    def _print_road(self, one: Combination, place: str) -> None:
        """Figures of the road that do not stand beside the others, and the marks."""
        if place == "below" and one.road is not None:
            self.out.line(Text(INDENT).append(self.road.line(one.road)))
        elif place == "words" and one.road is not None:
            self.out.paragraph(sentence(one.road), INDENT, style=PULL_STYLES[one.road.verdict])
        for mark in marks(one, self.side):
            self.out.paragraph(mark.words, INDENT, style=mark.style)

    def _figures(self, one: Combination) -> list[str]:
        return [
            f"{one.rank}{'=' if one.rank in self.tied else ' '}",
            *map(str, one.pairs.values()),
            decimal_text(one.reduction, 4),
            percent(one.road_speed_change, self.edges),
            percent(one.reduction_change),
            BAND_WORDS[one.band],
        ]

    def _row(self, cells: Sequence[str], widths: Sequence[int]) -> str:
        left = 1 + len(self.stages)
        shown = [f"{cells[0]:>{widths[0]}}"]
        for position in range(1, len(cells)):
            word, width = cells[position], widths[position]
            is_word = position < left or position == len(cells) - 1
            shown.append(f"{word:<{width}}" if is_word else f"{word:>{width}}")
        # The rank's equals sign already parts it from the pairs.
        return f"{shown[0]} {_GAP.join(shown[1:])}"

    def _figure_line(self, cells: Sequence[str], widths: Sequence[int], one: Combination) -> Text:
        line = Text(self._row(cells, widths))
        ends = []
        position = widths[0] + 1
        for width in widths[1:]:
            position += width
            ends.append(position)
            position += len(_GAP)
        speed = ends[len(self.stages) + 1]
        line.stylize("bold", speed - len(cells[-3]), speed)
        band = ends[-2] + len(_GAP)
        line.stylize(BAND_STYLES[one.band], band, band + len(cells[-1]))
        return line

    def _print_stacked(self, cells: Sequence[str], one: Combination) -> None:
        rank, *pairs, overall, speed, reduction, band = cells
        words = (
            f"{', '.join(pairs)}; overall {overall}; road speed {speed}; reduction {reduction}; "
            f"{band}"
        )
        self.out.paragraph(words, f"{rank:>4} ", INDENT, BAND_STYLES[one.band])

    def _print_item(self, one: Combination) -> None:
        head = Text(f"{INDENT}{price_sum(one):>{self.price_width}}")
        mark = source_mark(one, wide=self.out.width >= WIDE)
        head.append(f"{mark:<{self.source_width}}", style="dim").append(_GAP)
        fit = fit_words(one.judgement)
        head.append(fit, style=VERDICT_STYLES[one.judgement.verdict])
        if self.out.width - self.sets_start < 24:
            self._print_narrow(head, one)
            return
        if self.stock_width:
            head.append(" " * (self.stock_start - head.cell_len))
            head.append(stock_mark(one))
        head.append(" " * (self.sets_start - head.cell_len))
        sets = list(_broken(_set_words(one), self.sets_width))
        notes = self._notes(one)
        blank = " " * self.sets_start
        for position, line in enumerate(sets):
            shown = head if position == 0 else Text(blank)
            if self.beside and notes:
                shown.append(padded(line, self.sets_width) + _GAP)
                shown.append(notes.pop(0), style="italic")
            else:
                shown.append(line)
            self.out.line(shown)
        if self.beside:
            blank += " " * (self.sets_width + len(_GAP))
        for note in notes:
            self.out.line(Text(blank).append(note, style="italic"))

    def _notes(self, one: Combination) -> list[str]:
        notes = self._told(one)
        if self.beside:
            room = self.out.width - self.sets_start - self.sets_width - len(_GAP)
            return wrapped("; ".join(notes), room) if notes else []
        room = self.out.width - self.sets_start
        return [line for note in notes for line in wrapped(note, room, "", "  ")]

    def _told(self, one: Combination) -> list[str]:
        """Place on the shelf and margin where they are asked, then the notes."""
        told = shelf_words(one.offers) if self.shelf else []
        if self.margins:
            told.append(f"margin {margin_words(one.margin, one.currency)}")
        return [*told, *one.notes]

    def _print_narrow(self, head: Text, one: Combination) -> None:
        self.out.line(head)
        for words in _set_words(one):
            self.out.paragraph(words, f"{INDENT}  ", f"{INDENT}    ")
        notes = self._told(one)
        if notes:
            self.out.paragraph("; ".join(notes), f"{INDENT}  ", style="italic")


def _broken(words: Iterable[str], width: int) -> Iterator[str]:
    """Sets joined by plus signs, broken after one where a line is full."""
    line = ""
    for word in words:
        if line and cell_len(f"{line} + {word}") > width:
            yield f"{line} +"
            line = ""
        if not line and cell_len(word) > width:
            *heads, line = wrapped(word, width, "", "  ")
            yield from heads
        else:
            line = f"{line} + {word}" if line else word
    yield line
