"""What the template is given: words and figures ready to show, nothing left to work out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fitcheck.screens.page.chart import Chart

LETTERS = "ABCD"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table.

    Attributes:
        text: what it says.
        small: what stands under it, such as the range of a figure.
        tone: `good`, `open`, `bad`, or empty; the words say the same.
    """

    text: str
    small: str = ""
    tone: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table, one cell a column; `strong` for the figures that decide."""

    label: str
    cells: tuple[Cell, ...]
    small: str = ""
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under a heading of their own."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Lettered:
    """A sentence, and the letters of the options it holds for; none: for all."""

    letters: str
    text: str


@dataclass(frozen=True, slots=True)
class SetView:
    """One gear set in the price list, and the letters of the options it belongs to."""

    letters: str
    name: str
    holds: str
    supplier: str
    availability: str
    price: str


@dataclass(frozen=True, slots=True)
class SourceRow:
    """Inputs of the model that are known in one way: each as (name, value and spread)."""

    inputs: tuple[tuple[str, str], ...]
    kind: str
    source: str


@dataclass(frozen=True, slots=True)
class ChartView:
    """A chart with its words: title, description, axes, and the same figures as a table."""

    key: str
    title: str
    description: str
    x_title: str
    y_title: str
    chart: Chart
    x_words: tuple[str, ...]
    y_words: tuple[str, ...]
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class QuoteView:
    """A quotation: its lines and totals, a column for each option quoted.

    Attributes:
        columns: letters of the options quoted.
        lines: gear sets, extras, labour.
        totals: what they come to.
        notes: what the totals are without.
        valid: until when, and how tax is counted, in sentences.
        covers_sets: whether every set of the sheet is on it, so that no other price list is needed.
    """

    columns: tuple[str, ...]
    lines: tuple[Row, ...]
    totals: tuple[Row, ...]
    notes: tuple[Lettered, ...]
    valid: str
    covers_sets: bool


@dataclass(frozen=True, slots=True)
class SheetView:
    """The whole sheet.

    Attributes:
        machine: what it is called.
        date, date_iso, date_language: the day it was made.
        shop, customer, remark: as given, or empty.
        is_demo: whether all of it is invented.
        facts: the machine as counted, as (name, words).
        notes: what to know before reading on.
        alarms: what nobody may miss.
        chosen: by which rule the options were chosen, or empty.
        columns: letters of the tables' columns after `now`.
        comparison: side by side.
        without_road: why there is no road part, or empty.
        charts: two of them, or none.
        road_notes: cautions of the model, calibration first.
        helps: what would help.
        arithmetic: worked out as on paper.
        paper_note: where cutting decimals gives another figure, or empty.
        fit: every rule against every option.
        fit_reasons: why a rule speaks against an option, or is open with nothing to measure.
        questions: what to measure, with boxes.
        answers: every rule's answer in words, one list for each set of an option and for the seats
            between its sets, under the words of its heading.
        advice: worth knowing.
        parcel: what else the job needs.
        orders: notes before ordering, such as retired sets.
        law: the class's answers.
        law_sources: where the class's ceiling is from.
        sets: the price list.
        tax_basis: whether its prices are with tax, or empty.
        quote: the quotation, or None.
        sources: inputs of the model.
        lists: which list of its supplier a set and its price are from.
        mesh: pairs to find when the delivered gears are counted.
        density: `dense` where paper takes it all only in smaller type, `airy` where there is room
            for larger type, else empty.
        version: of fitcheck.
    """

    machine: str
    date: str
    date_iso: str
    date_language: str
    shop: str
    customer: str
    remark: str
    is_demo: bool
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    alarms: tuple[Lettered, ...]
    chosen: str
    columns: tuple[str, ...]
    comparison: tuple[Group, ...]
    without_road: str
    charts: tuple[ChartView, ...]
    road_notes: tuple[str, ...]
    helps: tuple[Lettered, ...]
    arithmetic: tuple[Row, ...]
    paper_note: str
    fit: tuple[Row, ...]
    fit_reasons: tuple[Lettered, ...]
    questions: tuple[Lettered, ...]
    answers: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...]
    advice: tuple[Lettered, ...]
    parcel: tuple[Lettered, ...]
    orders: tuple[Lettered, ...]
    law: tuple[Lettered, ...]
    law_sources: tuple[str, ...]
    sets: tuple[SetView, ...]
    tax_basis: str
    quote: QuoteView | None
    sources: tuple[SourceRow, ...]
    lists: tuple[tuple[str, str], ...]
    mesh: tuple[Lettered, ...]
    density: str
    version: str


def gathered(sentences: Sequence[Iterable[str]]) -> tuple[Lettered, ...]:
    """Each sentence once, with the letters of all options it is said of.

    Args:
        sentences: what is said of each option, in their order.
    """
    letters: dict[str, str] = {}
    for letter, said in zip(LETTERS, sentences, strict=False):
        for sentence in dict.fromkeys(said):
            letters[sentence] = letters.get(sentence, "") + letter
    every = LETTERS[: len(sentences)]
    return tuple(
        Lettered("" if who == every else ", ".join(who), sentence)
        for sentence, who in letters.items()
    )
