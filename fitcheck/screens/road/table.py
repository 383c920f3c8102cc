"""Before and after on the road as a table: a line a figure, a column a gearing.

Columns that do not fit beside the present state go into a further block below, the present state
again at its head. Where not even one fits, each figure is told in words: now so much, then so much.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from fitcheck.answers.figures import price_sum
from fitcheck.answers.road_words import (
    CONDITIONS,
    LAWFUL_STYLES,
    LAWFUL_WORDS,
    LIMIT_WORDS,
    NOT_REACHED,
    cap_words,
    decimal_words,
    gain_words,
    hill,
    range_words,
    seconds,
)
from fitcheck.kernel.rounding import decimal_text, percent
from fitcheck.screens.screen import Screen, padded, wrapped
from fitcheck.screens.words import VERDICT_STYLES, edges_of, fit_words
from fitcheck.services.road.figures import Figure, LawfulAnswer
from fitcheck.services.road.lawful import ceiling_words
from fitcheck.services.road.results import Outcome, RoadReport

_GAP = "  "
_WIDEST_HEAD = 14

_STANDSTILL = "From a standstill"
PULL = "pull at the wheel, N"
"""The line that also says whether a wheel slips or lifts."""

_DECIDE = (
    "road speed on paper",
    "Top speed, km/h",
    "really, on the flat",
    "  against now",
    "tyre",
    "fit",
    "price",
    _STANDSTILL,
    PULL,
    "  against now, %",
    "  or, by variator",
    CONDITIONS["uphill"],
)
"""Lines by which a gearing is chosen, beside its class, those most missed first."""


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of the table.

    Attributes:
        label: what it tells, its unit last.
        cells: one a gearing, the present one first.
        styles: colours of the cells.
        deep: whether it belongs under the line before it that is not.
    """

    label: str
    cells: tuple[str, ...]
    styles: tuple[str, ...]
    deep: bool = False

    @property
    def is_heading(self) -> bool:
        """Whether it only heads those beneath."""
        return not any(self.cells)


def deciding(report: RoadReport) -> list[str]:
    """Labels of the lines by which a gearing is chosen, those most missed first."""
    outcomes = [report.before, *report.after]
    # A time that one of them never reaches compares nothing.
    speed = 30 if any(one.time_45 is None for one in outcomes) else 45
    return [_class_label(outcomes), *_DECIDE, f"to {speed} km/h, s"]


def print_table(
    out: Screen, report: RoadReport, heads: Sequence[str], kept: Sequence[str] | None = None
) -> None:
    """Print the table.

    Args:
        out: where.
        report: what is told.
        heads: the names of the gearings, the present one first.
        kept: labels of the only lines wanted; None for all.
    """
    lines = [line for line in table_lines(report) if kept is None or line.label in kept]
    label_width = max(cell_len(_label(line)) for line in lines)
    widths = [
        max(
            *(cell_len(line.cells[column]) for line in lines),
            min(cell_len(head), _WIDEST_HEAD),
        )
        for column, head in enumerate(heads)
    ]
    blocks = list(_blocks(widths, out.width - label_width, len(heads) > 1))
    if not blocks:
        _print_in_words(out, lines, heads)
        return
    for number, columns in enumerate(blocks):
        if number:
            out.line()
        _print_block(out, lines, {column: widths[column] for column in columns}, heads)


def _blocks(widths: Sequence[int], room: int, compared: bool) -> Iterator[list[int]]:
    """Columns of each block; none at all where a block cannot hold what it compares."""
    first = widths[0] + len(_GAP)
    rest = list(range(1, len(widths)))
    if first + (max(widths[1:]) + len(_GAP) if compared else 0) > room:
        return
    if not compared:
        yield [0]
    while rest:
        columns, used = [0], first
        while rest and used + widths[rest[0]] + len(_GAP) <= room:
            used += widths[rest[0]] + len(_GAP)
            columns.append(rest.pop(0))
        yield columns


def _print_block(
    out: Screen, lines: Sequence[_Line], columns: dict[int, int], heads: Sequence[str]
) -> None:
    """Print some columns; `columns` gives the width of each."""
    label_width = max(cell_len(_label(line)) for line in lines)
    split = [wrapped(heads[column], width) for column, width in columns.items()]
    for row in range(max(map(len, split))):
        cells = [
            padded(head[row] if row < len(head) else "", width)
            for head, width in zip(split, columns.values(), strict=True)
        ]
        out.line(_GAP.join([" " * label_width, *cells]), "bold")
    for line in lines:
        if not line.is_heading and not any(line.cells[column] for column in columns):
            continue
        shown = Text(padded(_label(line), label_width), style="bold" if line.is_heading else "")
        for column, width in columns.items():
            shown.append(_GAP)
            shown.append(padded(line.cells[column], width), line.styles[column])
        out.line(shown)


def _print_in_words(out: Screen, lines: Sequence[_Line], heads: Sequence[str]) -> None:
    for line in lines:
        indent = "  " if line.deep else ""
        if line.is_heading:
            out.paragraph(line.label, indent, style="bold")
            continue
        if len(heads) == 1:
            said = line.cells[0]
        else:
            short = [head.split()[0] for head in heads] if len(heads) > 2 else ["now", "then"]
            said = "; ".join(
                f"{head} {cell}" for head, cell in zip(short, line.cells, strict=True) if cell
            )
        out.paragraph(f"{line.label.strip()}: {said}", indent, f"{indent}  ")


def _label(line: _Line) -> str:
    return f"  {line.label}" if line.deep else line.label


class _Lines:
    """Lines in the making; one that would be empty is left out."""

    def __init__(self, outcomes: Sequence[Outcome]) -> None:
        self.outcomes = outcomes
        self.lines: list[_Line] = []

    def head(self, label: str) -> None:
        nothing = ("",) * len(self.outcomes)
        self.lines.append(_Line(label, nothing, nothing))

    def add(
        self,
        label: str,
        cell: Callable[[Outcome], str],
        style: Callable[[Outcome], str] = lambda _: "",
        *,
        deep: bool = True,
    ) -> None:
        cells = tuple(cell(one) for one in self.outcomes)
        if any(cells):
            styles = tuple(style(one) for one in self.outcomes)
            self.lines.append(_Line(label, cells, styles, deep))

    def finished(self) -> list[_Line]:
        """All lines, without headings that have nothing beneath."""
        after = [*self.lines[1:], None]
        return [
            line
            for line, below in zip(self.lines, after, strict=True)
            if not line.is_heading or (below is not None and below.deep)
        ]


def table_lines(report: RoadReport) -> list[_Line]:
    """Every line of the table, in order."""
    lines = _Lines([report.before, *report.after])
    edges = edges_of(report.subject)
    lines.add("overall reduction", lambda one: decimal_text(one.reduction, 4), deep=False)
    lines.add(
        "road speed on paper",
        lambda one: "" if one is report.before else percent(one.road_speed_change, edges),
        deep=False,
    )
    lines.add("km/h per 1,000 rpm", lambda one: range_words(one.per_1000_rpm, 1), deep=False)
    lines.head("Top speed, km/h")
    lines.add("on paper", lambda one: range_words(one.paper_top))
    lines.add("really, on the flat", lambda one: range_words(one.flat.speed), lambda _: "bold")
    lines.add("  or, by variator", _other)
    lines.add("  against now", lambda one: gain_words(one.top_change))
    lines.add("  limited by", lambda one: LIMIT_WORDS.get(one.flat.limit, one.flat.limit))
    lines.add("  at engine rpm", lambda one: decimal_words(round(one.flat.rpm, -2)))
    lines.add(CONDITIONS["headwind"], lambda one: range_words(one.headwind.speed))
    lines.add(CONDITIONS["uphill"], lambda one: range_words(one.uphill.speed))
    lines.head(_STANDSTILL)
    lines.add(PULL, lambda one: cap_words(one.start_force, one.force_cap))
    lines.add("  against now, %", lambda one: _change(one.start_change))
    lines.add("steepest hill, %", hill)
    lines.add("to 30 km/h, s", lambda one: seconds(one.time_30))
    lines.add("to 45 km/h, s", lambda one: seconds(one.time_45))
    lines.add("to 60 km/h, s", lambda one: seconds(one.time_60))
    lines.add("first 200 m, s", lambda one: seconds(one.time_200_m))
    lines.add("to 95 % of top, s", lambda one: seconds(one.time_95))
    lines.head("Engine rpm")
    for speed in sorted({speed for one in lines.outcomes for speed, _ in one.rpm_at}):
        lines.add(f"at {speed:g} km/h", lambda one, speed=speed: _rpm(one, speed))  # type: ignore[misc]
    alike = len(_fuel_speeds(lines.outcomes)) < 2
    lines.add(_fuel_label(lines.outcomes), lambda one: _fuel(one, alike), deep=False)
    lines.add(_class_label(lines.outcomes), _lawful, _lawful_style, deep=False)
    lines.add(
        "tyre",
        lambda one: "" if one.tyre_warning is None else "OVER ITS MARK",
        lambda _: "bold red",
        deep=False,
    )
    lines.add(
        "fit",
        lambda one: "" if one.combination is None else fit_words(one.combination.judgement),
        lambda one: (
            "" if one.combination is None else VERDICT_STYLES[one.combination.judgement.verdict]
        ),
        deep=False,
    )
    lines.add(
        "price",
        lambda one: "" if one.combination is None else price_sum(one.combination),
        deep=False,
    )
    return lines.finished()


def _other(outcome: Outcome) -> str:
    other = outcome.flat.other
    if other is None:
        return ""
    is_out = other.km_h > outcome.flat.speed.value
    return f"{decimal_words(other.km_h)} if {'out' if is_out else 'not out'}"


def _change(figure: Figure | None) -> str:
    return "" if figure is None else range_words(figure, signed=True)


def _rpm(outcome: Outcome, speed: float) -> str:
    return next(
        (decimal_words(round(rpm, -1)) for at, rpm in outcome.rpm_at if at == speed), NOT_REACHED
    )


def _fuel_speeds(outcomes: Sequence[Outcome]) -> set[float]:
    told = [one.fuel_speed_km_h for one in outcomes if one.top_change is not None]
    return {speed for speed in told if speed is not None}


def _fuel_label(outcomes: Sequence[Outcome]) -> str:
    speeds = _fuel_speeds(outcomes)
    return f"fuel at {speeds.pop():g} km/h, %" if len(speeds) == 1 else "fuel, %"


def _fuel(outcome: Outcome, alike: bool) -> str:
    """The change of fuel use; with the speed it is of, unless that is the same for all."""
    if outcome.top_change is None or outcome.fuel_speed_km_h is None:
        return ""  # now itself, or one of the two does not hold such a speed
    words = "as now" if outcome.fuel_change is None else _change(outcome.fuel_change)
    return words if alike else f"{words} at {outcome.fuel_speed_km_h:g}"


def _class_label(outcomes: Sequence[Outcome]) -> str:
    lawful = next((one.lawful for one in outcomes if one.lawful is not None), None)
    if lawful is None:
        return "class"
    limit = lawful.ceiling_km_h
    ceiling = "" if limit is None else f", up to {ceiling_words(limit)}"
    return f"{lawful.vehicle_class.id}{ceiling}"


def _lawful(outcome: Outcome) -> str:
    if outcome.lawful is None:
        return ""
    if outcome.lawful.ceiling_km_h is None and outcome.lawful.answer is LawfulAnswer.WITHIN:
        return "no ceiling"
    return LAWFUL_WORDS[outcome.lawful.answer]


def _lawful_style(outcome: Outcome) -> str:
    return "" if outcome.lawful is None else LAWFUL_STYLES[outcome.lawful.answer]
