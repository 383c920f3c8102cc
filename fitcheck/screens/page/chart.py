"""The two charts: thrust and road loads against speed, speed against time.

Everything is worked out here in the units of an SVG view box and handed to the template as plain
figures. A line is told from its neighbours by dashes and by a letter at its end, so that colour is
never needed; a reader who cannot see it has the words and a table.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from fitcheck.screens.curves import apart, interpolated, ticks_over
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.road_view import by_letter, ranged_cell, speed_cell, time_cell
from fitcheck.screens.page.view import NOW
from fitcheck.services.road.results import Outcome, RoadReport

Point = tuple[float, float]

WIDTH, HEIGHT = 420, 244
LEFT, TOP, BOTTOM = 46, 26, 38
"""Room beside the plot for ticks and titles."""

_WORDS, _LETTERS = 92, 46
"""Room to the right of the plot for the ends of lines: for words, for letters."""

_GAP = 14.0
"""Least distance between the middles of two labels."""

_BESIDE = 10.0
"""So far from the end of its line a label still reads as its own."""

_HEADROOM = 1.06
_MOST_POINTS = 160

LOADS = {"flat": "flat road", "headwind": "20 km/h wind", "uphill": "5 % uphill"}
"""Road loads in the order drawn, and what they are called."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on an axis: its place in the view box, and its figure."""

    at: float
    value: float


@dataclass(frozen=True, slots=True)
class Label:
    """Words at the end of a line; a leader runs from `line_y` to `y` where they were moved."""

    x: float
    y: float
    line_x: float
    line_y: float
    text: str

    @property
    def leader(self) -> str:
        """Points of the line that ties them to their curve; empty where they stand beside it."""
        near = abs(self.y - self.line_y) < _BESIDE and abs(self.x - self.line_x) < _GAP
        return "" if near else _points_text([(self.line_x, self.line_y), (self.x - 2, self.y)])


@dataclass(frozen=True, slots=True)
class Line:
    """One curve.

    Attributes:
        key: class of its colour and dashes: `now`, `a` to `d`, `flat`, `headwind`, `uphill`.
        points: of an SVG polyline.
        label: at its end.
        mark: where a dot is set, or None.
    """

    key: str
    points: str
    label: Label
    mark: Point | None = None


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart, in the units of its view box.

    Attributes:
        x_ticks, y_ticks: marks of the axes.
        lines: the curves, those of the road first.
        right, left, top, bottom: edges of the plot.
        width, height: of the view box.
    """

    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    lines: tuple[Line, ...]
    right: float
    left: float = LEFT
    top: float = TOP
    bottom: float = HEIGHT - BOTTOM
    width: float = WIDTH
    height: float = HEIGHT


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


def thrust_chart(report: RoadReport) -> Chart:
    """Full-throttle thrust of every gearing and the road loads, N, against speed, km/h."""
    gearings = by_letter(report)
    fastest = max(1.0, *(one.curves.speed_km_h[-1] for _, one in gearings))
    strongest = max(1.0, *(max(one.curves.thrust_n) for _, one in gearings))
    scale = _Scale(fastest, strongest * _HEADROOM, _WORDS)
    lines = []
    ends: list[tuple[str, str, list[Point]]] = []
    for key, word in LOADS.items():
        load = list(zip(report.load_speed_km_h, report.loads_n.get(key, ()), strict=False))
        points = [scale.at(*point) for point in _cut_at_axes(load, scale.x_most, scale.y_most)]
        if len(points) > 1:
            ends.append((key, word, points))
    wanted = [points[-1][1] for _, _, points in ends]
    for (key, word, points), y in zip(ends, _place_apart(wanted), strict=True):
        label = _label(points[-1][0] + 6, y, points[-1], word)
        lines.append(Line(key, _points_text(points), label))
    starts = []
    for letter, one in gearings:
        speeds, thrusts = one.curves.speed_km_h, one.curves.thrust_n
        curve = list(zip(speeds, thrusts, strict=True))
        reached = one.flat.speed.value
        # At the rev limit the speed is the end of the curve, but for rounding.
        thrust = interpolated(speeds, thrusts, min(max(reached, speeds[0]), speeds[-1]))
        mark = None if thrust is None or reached <= 0 else scale.at(reached, thrust)
        starts.append((letter, [scale.at(*point) for point in _thin(curve)], mark))
    tops = [points[0][1] for _, points, _ in starts]
    # Letters stand at the start of the curves, where gearings differ most.
    for (letter, points, mark), y in zip(starts, _place_apart(tops), strict=True):
        label = _label(points[0][0] + 9, y - 8, points[0], letter)
        lines.append(Line(letter.lower(), _points_text(points), label, mark))
    return Chart(scale.x_ticks, scale.y_ticks, tuple(lines), scale.right)


def speed_chart(report: RoadReport) -> Chart:
    """Speed, km/h, of every gearing against time from standstill at full throttle, s."""
    moving = [(letter, one) for letter, one in by_letter(report) if len(one.curves.time_s) > 1]
    longest = max((_shown_time(one) for _, one in moving), default=1.0)
    fastest = max((max(one.curves.time_speed_km_h) for _, one in moving), default=1.0)
    scale = _Scale(longest, fastest * _HEADROOM, _LETTERS)
    drawn = []
    for letter, one in moving:
        curve = list(zip(one.curves.time_s, one.curves.time_speed_km_h, strict=True))
        if curve[-1][0] < scale.x_most:
            # The run ends just short of the top speed, which it never quite reaches.
            curve.append((scale.x_most, max(one.flat.speed.value, curve[-1][1])))
        shown = _cut_at_axes(curve, scale.x_most, scale.y_most)
        drawn.append((letter, [scale.at(*point) for point in shown]))
    lines = []
    for (letter, points), y in zip(drawn, _place_apart([p[-1][1] for _, p in drawn]), strict=True):
        label = _label(scale.right + 10, y, points[-1], letter)
        lines.append(Line(letter.lower(), _points_text(points), label))
    return Chart(scale.x_ticks, scale.y_ticks, tuple(lines), scale.right)


def _label(x: float, y: float, end: Point, text: str) -> Label:
    return Label(x=x, y=y, line_x=end[0], line_y=end[1], text=text)


class _Scale:
    """From units of the axes to the view box; the axes end at their last ticks."""

    def __init__(self, x_most: float, y_most: float, beside: float) -> None:
        self.right = WIDTH - beside
        x_values, y_values = ticks_over(x_most), ticks_over(y_most)
        self.x_most, self.y_most = x_values[-1], y_values[-1]
        self.x_ticks = tuple(Tick(self.at(value, 0)[0], value) for value in x_values)
        self.y_ticks = tuple(Tick(self.at(0, value)[1], value) for value in y_values)

    def at(self, x: float, y: float) -> Point:
        across = (self.right - LEFT) * x / self.x_most
        up = (HEIGHT - TOP - BOTTOM) * y / self.y_most
        return round(LEFT + across, 2), round(HEIGHT - BOTTOM - up, 2)


def _shown_time(one: Outcome) -> float:
    """Until little more comes: a while past 95 % of the top speed."""
    end = one.curves.time_s[-1]
    return end if one.time_95 is None else min(end, 1.2 * one.time_95.value)


def _place_apart(wanted: Sequence[float]) -> list[float]:
    return apart(wanted, _GAP, TOP + 6, HEIGHT - BOTTOM - 4)


def _cut_at_axes(curve: Sequence[Point], x_most: float, y_most: float) -> list[Point]:
    """The part of a rising curve inside the axes, ending exactly where it leaves them."""
    inside: list[Point] = []
    for before, after in pairwise(curve):
        if not inside and before[0] <= x_most and before[1] <= y_most:
            inside.append(before)
        if not inside:
            break
        shares = [
            (most - low) / (high - low)
            for most, low, high in ((x_most, before[0], after[0]), (y_most, before[1], after[1]))
            if high > most
        ]
        share = min(shares, default=1.0)
        inside.append(
            (
                before[0] + share * (after[0] - before[0]),
                before[1] + share * (after[1] - before[1]),
            )
        )
        if shares:
            break
    return _thin(inside)


def _thin(curve: Sequence[Point]) -> list[Point]:
    """At most so many points, the last one kept: a page needs no more than it can show."""
    step = max(1, ceil(len(curve) / _MOST_POINTS))
    kept = list(curve[::step])
    if curve and kept[-1] != curve[-1]:
        kept.append(curve[-1])
    return kept


def _points_text(points: Iterable[Point]) -> str:
    return " ".join(f"{x:.10g},{y:.10g}" for x, y in points)


def charts(report: RoadReport, local: Local) -> tuple[ChartView, ...]:
    """Both charts with the words and the table that say the same."""
    thrust, speed = thrust_chart(report), speed_chart(report)
    head, rows = _thrust_table(report, thrust, local)
    found = [
        ChartView(
            key="thrust",
            title="Thrust and road load",
            description=_thrust_words(report, local),
            x_title="Speed, km/h",
            y_title="Force at the wheel, N",
            chart=thrust,
            x_words=_tick_words(thrust.x_ticks, local),
            y_words=_tick_words(thrust.y_ticks, local),
            head=head,
            rows=rows,
        )
    ]
    if speed.lines:
        head, rows = _speed_table(report, speed, local)
        found.append(
            ChartView(
                key="speed",
                title="Speed against time",
                description=_speed_words(report, local),
                x_title="Time from standstill, s",
                y_title="Speed, km/h",
                chart=speed,
                x_words=_tick_words(speed.x_ticks, local),
                y_words=_tick_words(speed.y_ticks, local),
                head=head,
                rows=rows,
            )
        )
    return tuple(found)


_Table = tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]


def _tick_words(ticks: Sequence[Tick], local: Local) -> tuple[str, ...]:
    values = [tick.value for tick in ticks]
    places = next(
        places for places in range(5) if places == 4 or all(round(v, places) == v for v in values)
    )
    return tuple(local.rough(value, places) for value in values)


def _who(letter: str) -> str:
    return "As it stands" if letter == NOW else f"Option {letter}"


def _thrust_words(report: RoadReport, local: Local) -> str:
    said = []
    for letter, one in by_letter(report):
        top = speed_cell(one.flat, local).text
        said.append(
            f"{_who(letter)}: {ranged_cell(one.start_force, 'N', local).text} as the clutch "
            f"engages, top speed on the flat {top}."
        )
    return (
        "Full-throttle thrust falls with speed and meets the rising road load where a dot marks "
        f"the top speed. {' '.join(said)}"
    )


def _speed_words(report: RoadReport, local: Local) -> str:
    said = [
        f"{_who(letter)}: 30 km/h after {time_cell(one.time_30, local).text}, 45 km/h after "
        f"{time_cell(one.time_45, local).text}."
        for letter, one in by_letter(report)
    ]
    words = "Speed at full throttle from standstill on the flat, rising ever more slowly."
    return f"{words} {' '.join(said)}".replace("after not reached", "not reached")


def _thrust_table(report: RoadReport, chart: Chart, local: Local) -> _Table:
    columns = [
        (letter, one.curves.speed_km_h, one.curves.thrust_n) for letter, one in by_letter(report)
    ]
    columns += [
        (word, report.load_speed_km_h, report.loads_n[key])
        for key, word in LOADS.items()
        if key in report.loads_n
    ]
    return _table("km/h", chart.x_ticks, columns, local)


def _speed_table(report: RoadReport, chart: Chart, local: Local) -> _Table:
    columns = [
        (letter, one.curves.time_s, one.curves.time_speed_km_h)
        for letter, one in by_letter(report)
        if len(one.curves.time_s) > 1
    ]
    return _table("s", chart.x_ticks, columns, local)


def _table(
    unit: str,
    ticks: Sequence[Tick],
    columns: list[tuple[str, tuple[float, ...], tuple[float, ...]]],
    local: Local,
) -> _Table:
    head = (unit, *(word for word, _, _ in columns))
    rows = []
    for tick, words in zip(ticks, _tick_words(ticks, local), strict=True):
        cells = [interpolated(xs, ys, tick.value) for _, xs, ys in columns]
        rows.append((words, *("\N{EN DASH}" if one is None else local.rough(one) for one in cells)))
    return head, tuple(rows)
