"""The involute function and its inverse, against tables and against mpmath at 40 digits."""

from __future__ import annotations

import math

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.kernel.geometry import inverse_involute, involute

# tan(x) - x computed at 40 digits, to nine significant digits; those of 14.5, 20, 25 and 30
# degrees equal the involute tables of the gear handbooks (handbooks: from memory).
TABLE = """
10   0.0017940555
14.5 0.0055448428
15   0.0061498046
17.5 0.0098661698
20   0.0149043839
22.5 0.021514481
25   0.029975345
27.5 0.040601506
30   0.053751494
35   0.089342300
"""


@pytest.mark.parametrize(("degrees", "value"), [line.split() for line in TABLE.split("\n") if line])
def test_table(degrees: str, value: str) -> None:
    assert f"{involute(math.radians(float(degrees))):.{len(value) - 2}f}" == value
    assert math.degrees(inverse_involute(float(value))) == pytest.approx(float(degrees), abs=2e-6)


@pytest.mark.parametrize(("degrees", "value"), [(20, "0.014904384"), (30, "0.0537515")])
def test_printed_figures(degrees: int, value: str) -> None:
    """Handbook figures as printed (read in a reproduction)."""
    places = len(value) - 2
    assert f"{involute(math.radians(degrees)):.{places}f}" == value


def exact_involute(degrees: float) -> mpmath.mpf:
    angle = mpmath.mpf(degrees) * mpmath.pi / 180
    return mpmath.tan(angle) - angle


@given(st.floats(min_value=1e-6, max_value=89))
def test_involute_is_exact_to_double_precision(degrees: float) -> None:
    with mpmath.workdps(40):
        exact = exact_involute(degrees)
        # One rounding of the angle in radians already costs this much.
        angle = mpmath.mpf(degrees) * mpmath.pi / 180
        slope = angle * mpmath.tan(angle) ** 2 / exact
        assert abs(involute(math.radians(degrees)) / exact - 1) < 2**-52 * (3 + slope)


@given(st.floats(min_value=1e-18, max_value=1e4))
def test_inverse_is_exact_to_double_precision(value: float) -> None:
    with mpmath.workdps(40):
        # Polished by the secant method in t = tan(angle). t - atan(t) only ever rises, so that
        # the root is the only one, wherever the search begins.
        exact = mpmath.mpf(value)
        found = mpmath.tan(mpmath.mpf(inverse_involute(value)))
        root = mpmath.findroot(
            lambda t: (t - mpmath.atan(t)) / exact - 1,
            (found * mpmath.mpf("0.9999"), found * mpmath.mpf("1.0001")),
            tol=mpmath.mpf(10) ** -40,
        )
        assert abs((root - mpmath.atan(root)) / exact - 1) < mpmath.mpf(10) ** -20
        assert abs(inverse_involute(value) / mpmath.atan(root) - 1) < 4 * 2**-52


@given(st.floats(min_value=0, max_value=1.48))
def test_round_trip(angle: float) -> None:
    assert inverse_involute(involute(angle)) == pytest.approx(angle, rel=4e-15, abs=1e-90)


@given(
    st.floats(min_value=0, max_value=1e300),
    st.floats(min_value=0, max_value=1e300),
)
def test_inverse_never_falls(first: float, second: float) -> None:
    low, high = sorted((first, second))
    assert 0 <= inverse_involute(low) <= inverse_involute(high) * (1 + 1e-15) <= 1.5708


def test_ends() -> None:
    assert involute(0) == 0
    assert inverse_involute(0) == 0
    assert inverse_involute(5e-324) > 0
    assert inverse_involute(1e300) == pytest.approx(math.pi / 2)
