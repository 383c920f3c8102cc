"""The words and tables that go with the charts: what a reader who cannot see them is told."""

from __future__ import annotations

from fitcheck.screens.curves import interpolated
from fitcheck.screens.page.chart import LOADS, NOW, Chart, speed_chart, thrust_chart
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.road_view import lettered, ranged_cell, speed_cell, time_cell
from fitcheck.screens.page.view import ChartView
from fitcheck.services.road.results import RoadReport


def charts(report: RoadReport, local: Local) -> tuple[ChartView, ...]:
    """Both charts with the words and the table that say the same."""
    thrust = thrust_chart(report)
    found = [
        _chart_view(
            ("thrust", "Thrust and road load", _thrust_words(report, local)),
            ("Speed, km/h", "Force at the wheel, N"),
            thrust,
            _thrust_table(report, thrust, local),
            local,
        )
    ]
    speed = speed_chart(report)
    if speed.lines:
        found.append(
            _chart_view(
                ("speed", "Speed against time", _speed_words(report, local)),
                ("Time from standstill, s", "Speed, km/h"),
                speed,
                _speed_table(report, speed, local),
                local,
            )
        )
    return tuple(found)


_Table = tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]


def _chart_view(
    words: tuple[str, str, str],
    axes: tuple[str, str],
    chart: Chart,
    table: _Table,
    local: Local,
) -> ChartView:
    return ChartView(
        *words,
        *axes,
        chart,
        _ticks([tick.value for tick in chart.x_ticks], local),
        _ticks([tick.value for tick in chart.y_ticks], local),
        *table,
    )


def _ticks(values: list[float], local: Local) -> tuple[str, ...]:
    places = next(
        places for places in range(5) if places == 4 or all(round(v, places) == v for v in values)
    )
    return tuple(local.rough(value, places) for value in values)


def _who(letter: str) -> str:
    return "As it stands" if letter == NOW else f"Option {letter}"


def _thrust_words(report: RoadReport, local: Local) -> str:
    said = []
    for letter, one in lettered(report):
        top = speed_cell(one.flat, local).text
        said.append(
            f"{_who(letter)}: {ranged_cell(one.start_force, 'N', local).text} as the clutch grips, "
            f"top speed on the flat {top}."
        )
    return (
        "Full-throttle thrust falls with speed and meets the rising road load where a dot marks "
        f"the top speed. {' '.join(said)}"
    )


def _speed_words(report: RoadReport, local: Local) -> str:
    said = [
        f"{_who(letter)}: 30 km/h after {time_cell(one.time_30, local).text}, 45 km/h after "
        f"{time_cell(one.time_45, local).text}."
        for letter, one in lettered(report)
    ]
    words = "Speed at full throttle from standstill on the flat, rising ever more slowly."
    return f"{words} {' '.join(said)}".replace("after not reached", "not reached")


def _thrust_table(report: RoadReport, chart: Chart, local: Local) -> _Table:
    columns = [
        (letter, one.curves.speed_km_h, one.curves.thrust_n) for letter, one in lettered(report)
    ]
    columns += [
        (word, report.load_speed_km_h, report.loads_n[key])
        for key, word in LOADS.items()
        if key in report.loads_n
    ]
    return _table("km/h", [tick.value for tick in chart.x_ticks], columns, local)


def _speed_table(report: RoadReport, chart: Chart, local: Local) -> _Table:
    columns = [
        (letter, one.curves.time_s, one.curves.time_speed_km_h)
        for letter, one in lettered(report)
        if len(one.curves.time_s) > 1
    ]
    return _table("s", [tick.value for tick in chart.x_ticks], columns, local)


def _table(
    unit: str,
    steps: list[float],
    columns: list[tuple[str, tuple[float, ...], tuple[float, ...]]],
    local: Local,
) -> _Table:
    head = (unit, *(word for word, _, _ in columns))
    rows = []
    for step, words in zip(steps, _ticks(steps, local), strict=True):
        cells = [interpolated(xs, ys, step) for _, xs, ys in columns]
        rows.append((words, *("\N{EN DASH}" if one is None else local.rough(one) for one in cells)))
    return head, tuple(rows)
