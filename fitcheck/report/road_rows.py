"""The answer of `road` as rows, one a gearing, the machine as it stands first.

In CSV a figure has three columns, itself and both ends of its range, plain numbers with three
decimals; what is not known, never reached or without end is an empty cell. In Markdown the range
stands beside the figure, as on screen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite

from fitcheck.answers.figures import decimal_text, money, percent
from fitcheck.answers.road_words import (
    LAWFUL_WORDS,
    LIMIT_WORDS,
    NOT_REACHED,
    capped,
    gained,
    hill,
    other_words,
    pull_words,
    ranged,
    rounded,
    seconds,
)
from fitcheck.answers.tables import Cell, csv_text, markdown_text
from fitcheck.answers.tables import Figure as NumberCell
from fitcheck.report.json_parts import price_text
from fitcheck.services.road.results import Figure, Outcome, RoadReport

__all__ = ["as_csv", "as_markdown", "csv_columns", "markdown_columns"]

_PLACES = 3

_FIGURES: tuple[tuple[str, str, Callable[[Outcome], Figure | None]], ...] = (
    ("km_h_per_1000_rpm", "", lambda one: one.per_1000_rpm),
    ("top_on_paper", "_km_h", lambda one: one.paper_top),
    ("top_flat", "_km_h", lambda one: one.flat.speed),
    ("top_change", "_km_h", lambda one: one.top_change),
    ("top_headwind", "_km_h", lambda one: one.headwind.speed),
    ("top_uphill", "_km_h", lambda one: one.uphill.speed),
    ("start_force", "_n", lambda one: one.start_force),
    ("start_change", "_percent", lambda one: one.start_change),
    ("start_gradient", "_percent", lambda one: one.start_gradient),
    ("to_30_km_h", "_s", lambda one: one.time_30),
    ("to_45_km_h", "_s", lambda one: one.time_45),
    ("to_60_km_h", "_s", lambda one: one.time_60),
    ("to_200_m", "_s", lambda one: one.time_200_m),
    ("to_95_percent_of_top", "_s", lambda one: one.time_95),
    ("fuel_change", "_percent", lambda one: one.fuel_change),
)
"""Figures of the CSV: name, unit, and where it is."""

_RANGED: tuple[tuple[str, Callable[[Outcome], str]], ...] = (
    ("km/h per 1,000 rpm", lambda one: ranged(one.per_1000_rpm, 1)),
    ("top speed on paper, km/h", lambda one: ranged(one.paper_top)),
    (
        "top speed on the flat, km/h",
        lambda one: f"{ranged(one.flat.speed)}{other_words(one.flat.other)}",
    ),
    ("against now, km/h", lambda one: gained(one.top_change)),
    ("limited by", lambda one: LIMIT_WORDS.get(one.flat.limit, one.flat.limit)),
    ("engine there, rpm", lambda one: rounded(round(one.flat.rpm, -2))),
    ("top speed into 20 km/h wind, km/h", lambda one: ranged(one.headwind.speed)),
    ("top speed up 5 %, km/h", lambda one: ranged(one.uphill.speed)),
    ("start-off pull, N", lambda one: capped(one.start_force, one.force_cap)),
    ("pull against now, %", lambda one: _change(one.start_change)),
    ("steepest hill, %", hill),
    ("0 to 30 km/h, s", lambda one: seconds(one.time_30)),
    ("0 to 45 km/h, s", lambda one: seconds(one.time_45)),
    ("0 to 60 km/h, s", lambda one: seconds(one.time_60)),
    ("first 200 m, s", lambda one: seconds(one.time_200_m)),
    ("to 95 % of top speed, s", lambda one: seconds(one.time_95)),
)


def as_csv(report: RoadReport) -> str:
    """A row a gearing as CSV, lines ending in a line feed."""
    speeds = _speeds(report)
    rows = (_csv_cells(one, report, speeds) for one in _gearings(report))
    return csv_text(csv_columns(report), rows)


def as_markdown(report: RoadReport) -> str:
    """A row a gearing as a Markdown table."""
    speeds = _speeds(report)
    rows = (_markdown_cells(one, report, speeds) for one in _gearings(report))
    return markdown_text(markdown_columns(report), rows)


def csv_columns(report: RoadReport) -> list[str]:
    """Column names in CSV; speeds at which to tell the engine's differ by answer."""
    return [
        "gearing",
        "part_numbers",
        *report.subject.stages,
        "overall_reduction",
        "road_speed_change_percent",
        "verdict",
        "cautious_verdict",
        *(f"{name}{end}{unit}" for name, unit, _ in _FIGURES for end in ("", "_low", "_high")),
        "pull_held_by",
        "hill_held_by",
        "top_flat_other_km_h",
        "limited_by",
        "top_flat_rpm",
        *(f"rpm_at_{speed:g}_km_h" for speed in _speeds(report)),
        "fuel_at_km_h",
        "class",
        "ceiling_km_h",
        "lawful",
        "tyre_warning",
        "fit",
        "evidence",
        "price",
        "currency",
    ]


def _csv_cells(one: Outcome, report: RoadReport, speeds: Sequence[float]) -> list[Cell]:
    combination, lawful = one.combination, one.lawful
    price = None if combination is None else combination.price
    rpm = dict(one.rpm_at)
    return [
        one.label,
        _part_numbers(one),
        *(str(one.pairs[stage]) for stage in report.subject.stages),
        NumberCell(decimal_text(one.reduction, 6)),
        NumberCell(decimal_text(one.road_speed_change, 6)),
        one.verdict.value,
        one.cautious_verdict.value,
        *(cell for _, _, figure in _FIGURES for cell in _three(figure(one))),
        one.force_cap or "",
        one.gradient_cap or "",
        _plain(None if one.flat.other is None else one.flat.other.km_h),
        one.flat.limit,
        _plain(one.flat.rpm),
        *(_plain(rpm.get(speed)) for speed in speeds),
        _plain(one.fuel_speed_km_h),
        "" if lawful is None else lawful.vehicle_class.id,
        _plain(None if lawful is None else lawful.ceiling_km_h),
        "" if lawful is None else lawful.answer.name.lower(),
        one.tyre_warning or "",
        "" if combination is None else combination.judgement.verdict.value,
        "" if combination is None else combination.judgement.evidence.word,
        NumberCell("" if price is None else price_text(price)),
        "" if combination is None or price is None else combination.currency or "",
    ]


def markdown_columns(report: RoadReport) -> list[str]:
    """Column names in Markdown."""
    return [
        "gearing",
        "part numbers",
        *report.subject.stages,
        "overall reduction",
        "road speed on paper",
        "verdict",
        *(name for name, _ in _RANGED),
        *(f"rpm at {speed:g} km/h" for speed in _speeds(report)),
        "fuel at steady speed, %",
        "class",
        "lawful",
        "tyre",
        "fit",
        "price",
        "currency",
    ]


def _markdown_cells(one: Outcome, report: RoadReport, speeds: Sequence[float]) -> list[Cell]:
    combination, lawful = one.combination, one.lawful
    price = None if combination is None else combination.price
    rpm = dict(one.rpm_at)
    now = one is report.before
    return [
        one.label,
        _part_numbers(one),
        *(str(one.pairs[stage]) for stage in report.subject.stages),
        NumberCell(decimal_text(one.reduction, 4)),
        NumberCell("" if now else percent(one.road_speed_change)),
        pull_words(one),
        *(NumberCell(cell(one)) for _, cell in _RANGED),
        *(
            NumberCell(rounded(round(rpm[speed], -1)) if speed in rpm else NOT_REACHED)
            for speed in speeds
        ),
        "" if one.fuel_change is None else f"{_change(one.fuel_change)} at {one.fuel_speed_km_h:g}",
        "" if lawful is None else lawful.vehicle_class.id,
        "" if lawful is None else LAWFUL_WORDS[lawful.answer],
        one.tyre_warning or "",
        "" if combination is None else combination.judgement.verdict.value,
        NumberCell("" if combination is None else money(price)),
        "" if combination is None or price is None else combination.currency or "",
    ]


def _gearings(report: RoadReport) -> list[Outcome]:
    return [report.before, *report.after]


def _speeds(report: RoadReport) -> list[float]:
    """Every road speed at which some gearing tells its engine speed."""
    return sorted({speed for one in _gearings(report) for speed, _ in one.rpm_at})


def _part_numbers(one: Outcome) -> str:
    sets = () if one.combination is None else one.combination.sets
    return " + ".join(entry.record.part_number for entry in sets)


def _change(figure: Figure | None) -> str:
    return "" if figure is None else ranged(figure, signed=True)


def _three(figure: Figure | None) -> list[NumberCell]:
    if figure is None:
        return [NumberCell("")] * 3
    return [_plain(each) for each in (figure.value, figure.low, figure.high)]


def _plain(value: float | None) -> NumberCell:
    if value is None or not isfinite(value):
        return NumberCell("")
    return NumberCell(f"{round(value, _PLACES) + 0.0:.{_PLACES}f}")
