"""Curves in a terminal, held to points worked out by hand and read back from the dots.

The bits of a braille sign are those of Unicode 15, chapter 21.1: dots 1 2 3 7 down the left, 4 5 6
8 down the right, bit n - 1 for dot n, from U+2800.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

import pytest

from fitcheck.screens.curves import interpolated, round_step, ticks_over, ticks_within
from fitcheck.screens.road.plot import Curve, Plot, plot_lines

DOT_PLACES = {
    1: (0, 0),
    2: (0, 1),
    3: (0, 2),
    7: (0, 3),
    4: (1, 0),
    5: (1, 1),
    6: (1, 2),
    8: (1, 3),
}
"""Column and row inside a sign by the number of its dot."""


def plot(*curves: Curve, columns: int = 40, rows: int = 10, braille: bool = False) -> Plot:
    return Plot(curves, 100.0, 50.0, columns, rows, braille)


def canvas(drawn: Plot) -> list[str]:
    """What stands right of the axis, row by row."""
    lines = [line.plain for line in plot_lines(drawn, "x", "y")]
    assert len(lines) == drawn.rows + 3
    axis = "│" if drawn.braille else "|"
    return [line.split(axis, 1)[1].ljust(drawn.columns) for line in lines[1:-2]]


def dots(drawn: Plot) -> set[tuple[int, int]]:
    """Every dot as (column, row from the top), read by the names Unicode gives the signs."""
    return set(_dots(drawn))


def _dots(drawn: Plot) -> Iterator[tuple[int, int]]:
    for row, line in enumerate(canvas(drawn)):
        for column, char in enumerate(line):
            name = unicodedata.name(char, "")
            if name.startswith("BRAILLE PATTERN DOTS-"):
                for digit in name.removeprefix("BRAILLE PATTERN DOTS-"):
                    across, down = DOT_PLACES[int(digit)]
                    yield 2 * column + across, 4 * row + down


def test_a_flat_line_lies_in_the_row_of_its_value() -> None:
    # 10 rows up to 50: the row from 30 to 35 is the seventh from below, the fourth from above.
    rows = canvas(plot(Curve("a", [0, 100], [32, 32])))
    assert [row.strip() for row in rows] == ["", "", "", "a" * 40, *[""] * 6]


def test_a_straight_line_goes_from_corner_to_corner() -> None:
    rows = canvas(plot(Curve("a", [0, 100], [0, 50])))
    # At the middle of column c stands 50 (c + 0.5) / 40, so its row is a quarter of c from below.
    assert [rows[9 - column // 4][column] for column in range(40)] == ["a"] * 40
    assert sum(row.count("a") for row in rows) == 40


def test_a_curve_ends_where_its_points_end() -> None:
    rows = canvas(plot(Curve("a", [20, 60], [12, 12])))
    # Columns are 2.5 wide; those whose middle is at 20 to 60 are the ninth to the 24th.
    assert rows[7] == " " * 8 + "a" * 16 + " " * 16


def test_thrust_falls_to_nothing_at_its_end() -> None:
    rows = canvas(plot(Curve("a", [0, 60], [32, 32], ends=True)))
    last = 23
    assert [row[last] for row in rows] == [" "] * 3 + ["a"] * 7
    assert all(row[last + 1 :].strip() == "" for row in rows)


def test_steep_curves_hang_together() -> None:
    rows = canvas(plot(Curve("a", [0, 49, 51, 100], [2, 2, 48, 48])))
    column = [row[20] for row in rows]
    assert "".join(column).strip() == "a" * len("".join(column).strip())
    assert {row.index("a") for row in rows if "a" in row} <= {0, 19, 20}
    assert all("a" in row for row in rows)


def test_what_lies_over_the_edge_is_left_out() -> None:
    rows = canvas(plot(Curve("a", [0, 50, 100], [80, 30, 30])))
    assert rows[0][:20].count("a") > 0
    assert all(row[0] == " " for row in rows)


def test_loads_are_dashed_and_lie_under_thrust() -> None:
    load, pull = Curve("f", [0, 100], [32, 32], dashed=True), Curve("A", [50, 100], [32, 32])
    row = canvas(plot(load, pull))[3]
    assert row == "f " * 10 + "A" * 20


def test_curves_that_run_together_take_turns() -> None:
    row = canvas(plot(Curve("o", [0, 100], [32, 32]), Curve("A", [0, 100], [32, 32])))[3]
    assert row == "oA" * 20


@pytest.mark.parametrize("slope", [0.0, 0.2, 0.5])
def test_braille_dots_lie_on_the_line(slope: float) -> None:
    drawn = plot(Curve("", [0, 100], [1, 1 + 100 * slope * 0.9]), braille=True)
    found = dots(drawn)
    # 80 x 40 dots of 1.25 x 1.25: each column has the dot whose span holds the line's value.
    lowest = {column: max(row for at, row in found if at == column) for column, _ in found}
    assert sorted(lowest) == list(range(80))
    for column, row in lowest.items():
        value = 1 + (column + 0.5) * 1.25 * slope * 0.9
        below = (39 - row) * 1.25
        assert below <= value < below + 1.25 * 1.0000001


def test_where_two_known_lines_cross_they_share_a_dot() -> None:
    # y = 40 - 0.3 x and y = 5 + 0.2 x meet at x = 70, y = 19.
    falling, rising = Curve("", [0, 100], [40, 10]), Curve("", [0, 100], [5, 25])
    one = dots(plot(falling, braille=True)) & dots(plot(rising, braille=True))
    assert one
    for column, row in one:
        assert (column + 0.5) * 1.25 == pytest.approx(70, abs=3.0)
        assert (39 - row + 0.5) * 1.25 == pytest.approx(19, abs=1.25)


def test_letters_mark_each_curve_in_braille() -> None:
    curves = [Curve(letter, [0, 100], [32, 32]) for letter in "oAB"]
    rows = canvas(plot(*curves, braille=True))
    assert {letter: rows[3].count(letter) > 0 for letter in "oAB"} == dict.fromkeys("oAB", True)
    assert not any(letter in row for row in [*rows[:3], *rows[4:]] for letter in "oAB")


def test_plain_plots_need_only_ascii() -> None:
    curve = Curve("a", [0, 100], [0, 50])
    text = "\n".join(line.plain for line in plot_lines(plot(curve), "km/h", "N"))
    assert text.isascii()
    assert not "\n".join(
        line.plain for line in plot_lines(plot(curve, braille=True), "km/h", "N")
    ).isascii()


def test_axes_name_round_values_where_they_are() -> None:
    lines = [line.plain for line in plot_lines(plot(columns=50, rows=16), "km/h", "N")]
    # Rows of 3.125: 0 is in the first from below, 10 in the fourth; 50, the edge, in the last.
    named = {at: line.split("|")[0].strip() for at, line in enumerate(reversed(lines[1:-2]), 1)}
    shown = {at: name for at, name in named.items() if name}
    assert shown == {1: "0", 4: "10", 7: "20", 10: "30", 13: "40", 16: "50"}
    axis, names = lines[-2].split("+", 1)[1], lines[-1]
    start = len(lines[-2]) - len(axis)
    marks = [at for at, char in enumerate(axis) if char == "+"]
    assert marks == [0, 10, 20, 30, 40, 49]
    assert [names[start + at :].split()[0] for at in marks[:-1]] == ["0", "20", "40", "60", "80"]
    assert names.endswith(" km/h")
    assert len(names) == len(lines[-2])


@pytest.mark.parametrize(
    ("span", "most", "step"),
    [(100, 5, 20), (100, 10, 10), (70, 8, 10), (0.5, 5, 0.1), (600, 4, 200)],
)
def test_steps_are_round(span: float, most: int, step: float) -> None:
    assert round_step(span, most) == pytest.approx(step)


def test_ticks_within_an_edge_and_over_a_value() -> None:
    assert ticks_within(70, 8) == [0, 10, 20, 30, 40, 50, 60, 70]
    assert ticks_within(65, 8) == [0, 10, 20, 30, 40, 50, 60]
    assert ticks_over(543)[-1] == 600
    assert ticks_over(600)[-1] == 600
    assert ticks_over(601)[-1] == 800


def test_interpolation_between_points_and_none_outside() -> None:
    xs, ys = [0.0, 10.0, 20.0], [0.0, 5.0, 25.0]
    assert [interpolated(xs, ys, x) for x in (0, 4, 10, 15, 20)] == [0, 2, 5, 15, 25]
    assert [interpolated(xs, ys, x) for x in (-1, 21)] == [None, None]
    assert interpolated([], [], 1) is None
    assert interpolated([1.0, 1.0], [2.0, 3.0], 1) in (2.0, 3.0)
