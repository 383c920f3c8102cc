"""Ranges by root sum of squares, and fuel by the Willans line."""

from __future__ import annotations

import random
from math import inf, nan, sqrt
from statistics import stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.kernel.road.engine import steady_fuel_change
from fitcheck.kernel.road.spread import combined

numbers = st.floats(-100, 100)


def test_three_and_four_make_five() -> None:
    assert combined(50.0, [(47.0, 53.0), (54.0, 46.0)]) == (45, 55)


def test_sides_are_kept_apart() -> None:
    """One input moves the figure up only, whichever way it is turned itself."""
    assert combined(10.0, [(11.0, 13.0), (9.0, 14.0)]) == (9, 15)
    assert combined(10.0, [(7.0, 9.0), (6.0, 10.0)]) == (5, 10)


def test_no_inputs_no_range() -> None:
    assert combined(3.0, []) == (3, 3)


@given(numbers, st.lists(st.tuples(numbers, numbers), max_size=6))
def test_range_holds_its_figure_and_every_end(nominal, ends) -> None:
    low, high = combined(nominal, ends)
    assert low <= nominal <= high
    for value in (value for pair in ends for value in pair):
        assert low - 1e-9 <= value <= high + 1e-9
    assert combined(nominal, [(b, a) for a, b in reversed(ends)]) == pytest.approx((low, high))


def test_against_random_inputs() -> None:
    """Half-widths taken as standard deviations, y = 2 a - 3 b: 20,000 draws, within 2 %."""
    draw = random.Random(20261125)
    values = [2 * draw.gauss(5, 0.4) - 3 * draw.gauss(1, 0.3) for _ in range(20_000)]
    low, high = combined(7.0, [(2 * 4.6 - 3, 2 * 5.4 - 3), (10 - 3 * 0.7, 10 - 3 * 1.3)])
    assert (high - low) / 2 == pytest.approx(sqrt(0.8**2 + 0.9**2))
    assert stdev(values) == pytest.approx((high - low) / 2, rel=0.02)


def test_never_within_the_range() -> None:
    assert combined(20.0, [(18.0, inf), (17.0, 21.0)]) == (20 - sqrt(13), inf)
    assert combined(inf, [(30.0, inf), (25.0, inf)]) == (25, inf)
    assert combined(inf, []) == (inf, inf)
    assert combined(0.5, [(-inf, 0.75)]) == (-inf, 0.75)


@pytest.mark.parametrize(("nominal", "ends"), [(nan, []), (1.0, [(nan, 2.0)]), (1.0, [(2.0, nan)])])
def test_what_is_no_number_is_refused(nominal, ends) -> None:
    with pytest.raises(ValueError, match="not a number"):
        combined(nominal, ends)


def test_fuel_by_hand() -> None:
    """125 cm³ at 2 bar take 2e5 · 125e-6 / 120 W a rpm: 1250 W at 6,000, 1041.67 W at 5,000."""
    change = steady_fuel_change(2000.0, 6000.0, 5000.0, 125.0, 2.0)
    assert change == pytest.approx((2000 + 1250 / 6 * 5) / (2000 + 1250) - 1)


def test_two_stroke_rubs_twice_as_often() -> None:
    change = steady_fuel_change(2000.0, 6000.0, 5000.0, 125.0, 2.0, strokes=2)
    assert change == pytest.approx((2000 + 2500 / 6 * 5) / (2000 + 2500) - 1)


def test_limits_of_the_fuel_figure() -> None:
    assert steady_fuel_change(2000.0, 6000.0, 6000.0, 125.0, 2.0) == 0
    assert steady_fuel_change(2000.0, 6000.0, 3000.0, 125.0, 0.0) == 0
    assert steady_fuel_change(0.0, 6000.0, 3000.0, 125.0, 2.0) == pytest.approx(-0.5)
    assert steady_fuel_change(900.0, 5000.0, 5600.0, 50.0, 2.5) > 0


@pytest.mark.parametrize(
    ("inputs", "strokes", "message"),
    [
        ((-1.0, 1.0, 1.0, 50.0, 2.0), 4, "0 or more"),
        ((1.0, -1.0, 1.0, 50.0, 2.0), 4, "0 or more"),
        ((1.0, 1.0, nan, 50.0, 2.0), 4, "0 or more"),
        ((1.0, 1.0, 1.0, -50.0, 2.0), 4, "0 or more"),
        ((1.0, 1.0, 1.0, 50.0, inf), 4, "0 or more"),
        ((1.0, 1.0, 1.0, 50.0, 2.0), 3, "2 or 4"),
        ((0.0, 0.0, 1.0, 50.0, 2.0), 4, "no fuel"),
    ],
)
def test_nonsense_is_refused(inputs, strokes, message) -> None:
    with pytest.raises(ValueError, match=message):
        steady_fuel_change(*inputs, strokes=strokes)
