"""The geometry of the charts: points where the figures say, labels apart, axes in round steps."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.screens.curves import apart, ticks_over
from fitcheck.screens.page.chart import speed_chart, thrust_chart
from fitcheck.services.road.results import Curves

sizes = st.floats(1e-3, 1e6, allow_nan=False)


@given(sizes, st.integers(2, 9))
def test_ticks_are_round_and_reach_over_the_greatest(most: float, wanted: int) -> None:
    ticks = ticks_over(most, wanted)
    step = ticks[1] - ticks[0]

    assert ticks[0] == 0
    assert ticks[-2] < most <= ticks[-1] * (1 + 1e-9)
    assert len(ticks) <= wanted + 2
    for before, after in pairwise(ticks):
        assert after - before == pytest.approx(step, rel=1e-6)
    # One, two or five times a power of ten.
    assert f"{step:.6e}"[:4] in ("1.00", "2.00", "5.00")


def test_ticks_one_would_draw_by_hand() -> None:
    assert ticks_over(60) == [0, 20, 40, 60]
    assert ticks_over(97) == [0, 20, 40, 60, 80, 100]
    assert ticks_over(0.4) == [0, 0.1, 0.2, 0.3, 0.4]


@given(st.lists(st.floats(0, 200), min_size=1, max_size=9), st.floats(1, 30))
def test_labels_keep_their_distance_and_their_order(wanted: list[float], gap: float) -> None:
    placed = apart(wanted, gap, 10, 190)
    room = gap if gap * (len(wanted) - 1) <= 180 else 180 / (len(wanted) - 1)

    assert len(placed) == len(wanted)
    assert all(10 - 1e-6 <= y <= 190 + 1e-6 for y in placed)
    order = sorted(range(len(wanted)), key=lambda position: (wanted[position], position))
    for low, high in pairwise(order):
        assert placed[high] - placed[low] >= room - 1e-6


def test_labels_stay_where_there_is_room_and_share_where_not() -> None:
    assert apart([20, 60, 100], 14, 0, 200) == [20, 60, 100]
    assert apart([50, 50], 14, 0, 200) == [43, 57]
    assert apart([2, 100, 3], 14, 0, 200) == [0, 100, 14]
    assert apart([], 14, 0, 200) == []


def points_of(line) -> list[tuple[float, float]]:
    return [tuple(map(float, pair.split(","))) for pair in line.points.split()]


def value_at(chart, point: tuple[float, float]) -> tuple[float, float]:
    """The figures of a point, read off the ticks of the axes as a person would."""

    def read(ticks, at: float) -> float:
        first, last = ticks[0], ticks[-1]
        share = (at - first.at) / (last.at - first.at)
        return first.value + share * (last.value - first.value)

    return read(chart.x_ticks, point[0]), read(chart.y_ticks, point[1])


def test_thrust_and_loads_are_drawn_where_the_figures_say(demo, roads) -> None:
    report = roads.road_report(demo)
    chart = thrust_chart(report)
    lines = {line.key: line for line in chart.lines}

    assert [line.key for line in chart.lines] == [
        "flat", "headwind", "uphill", "now", "a", "b", "c"
    ]  # fmt: skip
    drawn = {"now": report.before, **dict(zip("abc", report.after, strict=True))}
    for key, outcome in drawn.items():
        taller = 400 / outcome.curves.thrust_n[0]
        for point in points_of(lines[key]):
            speed, force = value_at(chart, point)
            assert force == pytest.approx(roads.thrust(speed, taller), rel=0.01, abs=1.0)
        speed, force = value_at(chart, lines[key].mark)
        assert speed == pytest.approx(outcome.flat.speed.value, abs=0.1)
        assert force == pytest.approx(roads.thrust(speed, taller), rel=0.01)
    for key in roads.LOAD:
        for point in points_of(lines[key]):
            speed, force = value_at(chart, point)
            assert force == pytest.approx(roads.load(key, speed), rel=0.01, abs=0.5)
        assert lines[key].mark is None


def test_speed_against_time_runs_to_the_top_speed(demo, roads) -> None:
    report = roads.road_report(demo)
    chart = speed_chart(report)

    outcomes = [report.before, *report.after]
    for line, outcome in zip(chart.lines, outcomes, strict=True):
        points = [value_at(chart, point) for point in points_of(line)]
        acceleration = outcome.curves.time_speed_km_h[1] / outcome.curves.time_s[1]
        assert points[0] == (0, 0)
        for time, speed in points[:-1]:
            assert speed == pytest.approx(acceleration * time, rel=0.01, abs=0.2)
        assert points[-1][0] == pytest.approx(chart.x_ticks[-1].value, rel=1e-3)
        assert points[-1][1] == pytest.approx(outcome.flat.speed.value, abs=0.2)


def test_all_that_is_drawn_lies_within_the_box(demo, roads) -> None:
    report = roads.road_report(demo)
    for chart in (thrust_chart(report), speed_chart(report)):
        for line in chart.lines:
            points = points_of(line)
            assert all(chart.left <= x <= chart.right for x, _ in points)
            assert all(chart.top <= y <= chart.bottom for _, y in points)
            assert all(first[0] <= second[0] for first, second in pairwise(points))
            assert 0 <= line.label.x < chart.width - 10
            assert 0 <= line.label.y < chart.height
        places = [(line.label.x, line.label.y) for line in chart.lines]
        for position, (x, y) in enumerate(places):
            for other_x, other_y in places[position + 1 :]:
                assert abs(x - other_x) > 30 or abs(y - other_y) >= 13.9


def test_a_load_ends_where_it_leaves_the_chart(demo, roads) -> None:
    report = roads.road_report(demo)
    steep = tuple(50 * v for v in report.load_speed_km_h)
    chart = thrust_chart(replace(report, loads_n={"uphill": steep}))

    (line,) = (line for line in chart.lines if line.key == "uphill")
    speed, force = value_at(chart, points_of(line)[-1])
    assert force == pytest.approx(chart.y_ticks[-1].value)
    assert speed == pytest.approx(chart.y_ticks[-1].value / 50, rel=0.01)


def test_a_machine_that_cannot_move_off_has_no_line_of_speed(demo, roads) -> None:
    report = roads.road_report(demo)
    stuck = replace(report.before, curves=Curves((0.0, 10.0), (20.0, 20.0), (0.0,), (0.0,)))
    chart = speed_chart(replace(report, before=stuck))

    assert [line.key for line in chart.lines] == ["a", "b", "c"]
    assert speed_chart(replace(report, before=stuck, after=())).lines == ()
