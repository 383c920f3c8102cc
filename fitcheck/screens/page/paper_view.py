"""The calculation as one would write it on paper, now and with each option."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from fitcheck.answers.figures import exact_text
from fitcheck.kernel.gearing import PaperCheck
from fitcheck.kernel.teeth import Pair
from fitcheck.screens.page.gear_view import NONE
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.view import LETTERS, Cell, Row
from fitcheck.screens.words import edges_of
from fitcheck.services.sheet.sheet import Sheet

_TIMES = "\N{MULTIPLICATION SIGN}"


def arithmetic(sheet: Sheet, local: Local) -> tuple[Row, ...]:
    """The calculation as on paper, now and with each option."""
    subject, options = sheet.subject, sheet.options
    trains: list[tuple[Sequence[Pair], PaperCheck]] = [
        (subject.pairs, options[0].now),
        *((tuple(told.combination.pairs.values()), told.then) for told in options),
    ]
    rows = []
    for position, stage in enumerate(subject.stages):
        cells = []
        for pairs, check in trains:
            pair, cut = pairs[position], check.stages[position]
            cells.append(
                Cell(
                    f"{pair.driven} / {pair.driver} = {local.exact(pair.reduction, 4)}",
                    f"cut {local.exact(cut, 2)}",
                )
            )
        rows.append(Row(stage.capitalize(), tuple(cells)))
    reductions = [subject.reduction, *(told.combination.reduction for told in options)]
    rows.append(
        Row(
            "Overall",
            tuple(Cell(f"{exact_text(one)} = {local.exact(one, 4)}") for one in reductions),
            strong=True,
        )
    )
    if len(subject.stages) > 1:
        by_hand = tuple(
            Cell(
                f" {_TIMES} ".join(local.exact(stage, 2) for stage in check.stages)
                + f" = {local.exact(check.product, 2)}"
            )
            for _, check in trains
        )
        rows.append(Row("By hand", by_hand))
    rows.append(_road_speed_row(sheet, local))
    rows.append(_reduction_row(sheet, local))
    return tuple(rows)


def _road_speed_row(sheet: Sheet, local: Local) -> Row:
    subject = sheet.subject
    cells = []
    for told in sheet.options:
        one = told.combination
        words = f"{local.exact(subject.reduction, 4)} / {local.exact(one.reduction, 4)}"
        if subject.roll_out_ratio != 1:
            words += f" {_TIMES} {local.exact(subject.roll_out_ratio, 4)} (tyre)"
        words += f" = {local.exact(1 + one.road_speed_change / 100, 4)}"
        percent = local.percent(one.road_speed_change, edges_of(subject))
        cells.append(Cell(words, f"{percent} ({_exact_percent(one.road_speed_change)})"))
    return Row("Road speed", (NONE, *cells), strong=True)


def _reduction_row(sheet: Sheet, local: Local) -> Row:
    old = sheet.subject.reduction
    cells = []
    for told in sheet.options:
        one = told.combination
        words = f"{local.exact(one.reduction, 4)} / {local.exact(old, 4)}"
        words += f" = {local.exact(one.reduction / old, 4)}"
        percent = local.percent(one.reduction_change)
        cells.append(Cell(words, f"{percent} ({_exact_percent(one.reduction_change)})"))
    return Row("Reduction", (NONE, *cells))


def _exact_percent(value: Fraction) -> str:
    text = str(value.numerator) if value.denominator == 1 else exact_text(value)
    text = text.replace("-", "\N{MINUS SIGN}")
    return f"{text}\N{NO-BREAK SPACE}%"


def paper_note(sheet: Sheet, local: Local) -> str:
    """Where cutting at every step gives another figure than the exact one; empty where nowhere."""
    checks = [("now", sheet.options[0].now)]
    checks += list(zip(LETTERS, (told.then for told in sheet.options), strict=False))
    differs = [
        f"{who} {local.exact(check.product, 2)} for {local.exact(check.exact_cut, 2)}"
        for who, check in checks
        if not check.agrees
    ]
    if not differs:
        return ""
    return (
        "Cut at two decimals at every step, paper gives another figure than the exact one: "
        f"{'; '.join(differs)}."
    )
