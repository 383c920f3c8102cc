"""Columns of the road and the law in rows of a list: CSV, Markdown and DataFrame.

They are there only where they are asked for, so that other lists keep their shape. A figure has
its range beside it; plain numbers have three decimals. A speed never reached is an empty cell.
"""

from __future__ import annotations

from math import isfinite

from fitcheck.report.cells import Cell
from fitcheck.report.cells import Figure as NumberCell
from fitcheck.report.road_words import LAWFUL_WORDS, ranged, rounded, tenths
from fitcheck.services.combination import Combination
from fitcheck.services.request import Request
from fitcheck.services.road.figures import RoadRow

__all__ = [
    "LAW_WORDS",
    "NUMBERS",
    "TYRE",
    "csv_cells",
    "csv_columns",
    "law_words",
    "markdown_cells",
    "markdown_columns",
    "numbers",
    "tyre_warning",
]

_PLACES = 3

NUMBERS = (
    "top_flat_km_h",
    "top_flat_low_km_h",
    "top_flat_high_km_h",
    "top_flat_other_km_h",
    "top_change_km_h",
    "start_force_n",
    "start_force_low_n",
    "start_force_high_n",
    "start_change_percent",
    "to_45_km_h_s",
)
"""Names of the numbers of the road, their unit last."""

TYRE = "tyre_warning"
"""Name of the column that warns of too much speed for the tyre."""

LAW_WORDS = ("class", "lawful", "law")
"""Names of the columns of the law."""


def numbers(row: RoadRow | None) -> list[float | None]:
    """The values of `NUMBERS`; None where there is none."""
    if row is None:
        return [None] * len(NUMBERS)
    return [
        row.top.value,
        row.top.low,
        row.top.high,
        None if row.other_top is None else row.other_top.km_h,
        row.top_change,
        row.start_force.value,
        row.start_force.low,
        row.start_force.high,
        row.start_change,
        row.time_45,
    ]


def tyre_warning(one: Combination) -> str:
    """The value of `TYRE`."""
    return "" if one.road is None else one.road.tyre_warning or ""


def law_words(one: Combination) -> tuple[str, str, str]:
    """The values of `LAW_WORDS`: id of the class, its answer, and that in sentences."""
    lawful = one.lawful
    if lawful is None:
        return "", "", ""
    sentences = " ".join([lawful.sentence, *lawful.others])
    return lawful.vehicle_class.id, lawful.answer.name.lower(), sentences


def csv_columns(request: Request) -> list[str]:
    """Column names in CSV."""
    road = ["verdict", *NUMBERS, TYRE] if request.show_road else []
    return [*road, *(LAW_WORDS if request.on_road else ())]


def csv_cells(one: Combination, request: Request) -> list[Cell]:
    """The cells of `csv_columns`."""
    cells: list[Cell] = []
    if request.show_road:
        cells.append("" if one.road is None else one.road.verdict.value)
        cells += [_plain(value) for value in numbers(one.road)]
        cells.append(tyre_warning(one))
    if request.on_road:
        cells += law_words(one)
    return cells


def markdown_columns(request: Request) -> list[str]:
    """Column names in Markdown."""
    road = [
        "engine",
        "top speed on the flat, km/h",
        "against now, km/h",
        "start-off pull, N",
        "pull against now, %",
        "0 to 45 km/h, s",
        "tyre",
    ]
    return [*(road if request.show_road else ()), *(LAW_WORDS[:2] if request.on_road else ())]


def markdown_cells(one: Combination, request: Request) -> list[Cell]:
    """The cells of `markdown_columns`."""
    row, cells = one.road, []
    if request.show_road and row is None:
        cells += [""] * 7
    elif request.show_road and row is not None:
        cells += [
            row.verdict.value,
            NumberCell(ranged(row.top)),
            NumberCell(rounded(row.top_change, signed=True)),
            NumberCell(ranged(row.start_force)),
            NumberCell(rounded(row.start_change, signed=True)),
            NumberCell(tenths(row.time_45)),
            tyre_warning(one),
        ]
    if request.on_road:
        lawful = one.lawful
        cells += [law_words(one)[0], "" if lawful is None else LAWFUL_WORDS[lawful.answer]]
    return cells


def _plain(value: float | None) -> NumberCell:
    if value is None or not isfinite(value):
        return NumberCell("")
    return NumberCell(f"{round(value, _PLACES) + 0.0:.{_PLACES}f}")
