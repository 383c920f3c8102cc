"""The road and the law of a list on screen: columns, loud marks, and what they rest on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from rich.text import Text

from fitcheck.answers.road_words import PULL_STYLES, decimal_words, other_words, range_words, tenths
from fitcheck.screens.screen import Screen
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.request import Request
from fitcheck.services.road.figures import (
    ClassAnswer,
    LawfulAnswer,
    RoadRow,
    RoadSide,
)
from fitcheck.services.road.lawful import APPROVAL, ceiling_words, decimals

_GAP = "  "
_HEADS = ("top km/h", "", "pull N", "", "0-45 s", "engine")

_RANKS = {
    "top-speed": "by real top speed",
    "start-off": "by start-off pull",
    "0-45": "by time to 45 km/h",
    "verdict": "by what the engine pulls",
}

_LEGEND = (
    "On the road: top speed really reached on the flat and what that is against now; pull at the "
    "wheel as the clutch engages; seconds to 45 km/h; whether the engine pulls it. See fitcheck "
    "road. In brackets are the ranges that the inputs leave: about 19 times in 20 the true "
    "figure lies inside."
)
_NARROWS = "A top speed by GPS (--measured-top) narrows some of them."


class Columns:
    """Columns of the road, as wide as their widest cells.

    Attributes:
        width: cells of a line of them; 0 where the list tells nothing of the road.
    """

    def __init__(self, rows: Sequence[RoadRow | None]) -> None:
        table = [_cells(row) for row in rows if row is not None]
        self._widths = [max(map(len, column)) for column in zip(_HEADS, *table, strict=True)]
        # A change stands close to the figure that it is of.
        self.width = sum(self._widths) + 3 * len(_GAP) + 2 if table else 0

    def heads(self) -> str:
        """The line of column names."""
        return self._line(_HEADS).rstrip()

    def line(self, row: RoadRow) -> Text:
        """One line of figures."""
        cells = _cells(row)
        shown = Text(self._line(cells))
        shown.stylize("bold", self._widths[0] - len(cells[0]), self._widths[0])
        start = len(shown) - self._widths[-1]
        shown.stylize(PULL_STYLES[row.verdict], start, start + len(cells[-1]))
        return shown

    def _line(self, cells: Sequence[str]) -> str:
        top, more, pull, less, time, engine = (
            f"{cell:{'<' if position == 5 else '>'}{width}}"
            for position, (cell, width) in enumerate(zip(cells, self._widths, strict=True))
        )
        return _GAP.join([f"{top} {more}", f"{pull} {less}", time, engine])


def _cells(row: RoadRow) -> tuple[str, ...]:
    return (
        range_words(row.top),
        decimal_words(row.top_change, signed=True),
        range_words(row.start_force),
        "" if row.start_change is None else f"{decimal_words(row.start_change, signed=True)} %",
        tenths(row.time_45),
        row.verdict.value,
    )


def sentence(row: RoadRow, *, now: bool = False) -> str:
    """The figures of a row in words, for where columns do not fit."""
    top, more, pull, less, time, engine = _cells(row)
    against = ("", "") if now else (f", {more}", f", {less}" if less else "")
    time = "45 km/h never reached" if row.time_45 is None else f"0-45 km/h in {time} s"
    other = other_words(row.other_top)
    return f"top {top} km/h{against[0]}{other}; pull {pull} N{against[1]}; {time}; {engine}"


class Mark(NamedTuple):
    """A loud line under a row."""

    words: str
    style: str


def marks(one: Combination, side: RoadSide | None) -> list[Mark]:
    """What no one may miss of a combination, or of a group of one gearing."""
    found = []
    lawful = one.lawful
    if one.road is not None and one.road.other_top is not None:
        found.append(Mark(f"top speed {_other(one.road)}", "yellow"))
    if lawful is not None:
        found += _law_marks(lawful, side)
    if one.road is not None and one.road.tyre_warning is not None:
        found.append(Mark(one.road.tyre_warning, "bold red"))
    return found


def _other(row: RoadRow) -> str:
    return f"{decimal_words(row.top.value)} km/h{other_words(row.other_top)}"


def _law_marks(lawful: ClassAnswer, side: RoadSide | None) -> list[Mark]:
    ceiling, reached = lawful.ceiling_km_h, lawful.top
    limit = "" if ceiling is None else ceiling_words(ceiling)
    top = ""
    if ceiling is not None and reached is not None:
        top = f"{range_words(reached, decimals(reached, ceiling))} km/h against {limit}"
    found = []
    if lawful.answer is LawfulAnswer.OVER:
        found.append(Mark(f"LEAVES ITS CLASS: {top or lawful.sentence}", "bold red"))
    elif lawful.answer is LawfulAnswer.STRADDLES:
        found.append(Mark(f"MAY LEAVE ITS CLASS, measure: {top}", "bold yellow"))
    elif lawful.answer is LawfulAnswer.UNKNOWN:
        found.append(Mark(f"MAY LEAVE ITS CLASS of {limit}: top speed unknown", "bold yellow"))
    told = () if side is None or side.lawful_now is None else side.lawful_now.others
    found += [Mark(f"AGAINST ITS CLASS: {o}", "bold red") for o in lawful.others if o not in told]
    return found


def rank_words(request: Request) -> str:
    """How a list is ranked, such as `, by real top speed`; empty for its usual order."""
    return f", {_RANKS[request.rank]}" if request.rank in _RANKS else ""


def print_now(out: Screen, side: RoadSide | None) -> None:
    """Print what the machine does as it stands."""
    if side is not None and side.now is not None:
        out.labelled("Road now", sentence(side.now, now=True))


def print_model(out: Screen, sides: Sequence[RoadSide]) -> None:
    """Print what the figures of lists rest on and mean, each thing once."""
    for words in dict.fromkeys(side.calibrated for side in sides if side.calibrated is not None):
        out.labelled("Calibrated", words)
    for note in dict.fromkeys(note for side in sides for note in side.notes):
        out.labelled("Model", note)
    if any(side.now is not None for side in sides):
        measured = any(side.calibrated is not None for side in sides)
        out.paragraph(_LEGEND if measured else f"{_LEGEND} {_NARROWS}", style="dim")


def print_law(out: Screen, sides: Sequence[RoadSide]) -> None:
    """Print what the law asks of any change of gears, where a class is known."""
    if any(side.lawful_now is not None for side in sides):
        out.line()
        out.labelled("Law", APPROVAL)
