"""The involute function and its inverse, to double precision.

Angles are in radians in the functions named so, in degrees elsewhere.
"""

from __future__ import annotations

from math import atan, cbrt, degrees, isfinite, pi, radians, tan

_SERIES_BELOW = 0.5


def _tangent_series(terms: int) -> tuple[float, ...]:
    # Coefficients of x, x^3, x^5 ... in tan x, from tan' = 1 + tan^2; all positive, so exact to
    # rounding.
    found = [1.0]
    for order in range(1, terms):
        total = sum(found[i] * found[order - 1 - i] for i in range(order))
        found.append(total / (2 * order + 1))
    return tuple(found)


_TANGENT = _tangent_series(20)


def involute_rad(angle: float) -> float:
    """tan(angle) - angle for an angle in radians from 0 to below pi/2, unchecked."""
    if angle >= _SERIES_BELOW:
        return tan(angle) - angle
    # tan x - x cancels for small x, so the series is summed from its smallest term.
    square = angle * angle
    total = 0.0
    for coefficient in reversed(_TANGENT[1:]):
        total = total * square + coefficient
    return total * square * angle


def inverse_involute_rad(value: float) -> float:
    """The angle in radians whose involute is a finite `value` from 0 up, unchecked."""
    if value == 0:
        return 0.0
    # Both starts lie at or above the root (tan x - x >= x^3/3, and x < pi/2); on a convex
    # function Newton then falls towards the root without ever passing it.
    angle = min(cbrt(3 * value), atan(value + pi / 2))
    while True:
        lower = angle - (involute_rad(angle) - value) / tan(angle) ** 2
        if not lower < angle:
            return angle
        angle = lower


def involute(angle_deg: float) -> float:
    """The involute function, inv(angle) = tan(angle) - angle.

    Args:
        angle_deg: angle in degrees, 0 to below 90.

    Raises:
        ValueError: the angle is outside that range.
    """
    if not 0 <= angle_deg < 90:
        raise ValueError(f"the involute takes an angle from 0 to below 90 degrees, not {angle_deg}")
    return involute_rad(radians(angle_deg))


def inverse_involute(value: float) -> float:
    """The angle in degrees whose involute is `value`, to double precision.

    Raises:
        ValueError: the value is negative or not finite.
    """
    if not (value >= 0 and isfinite(value)):
        raise ValueError(f"an involute is a finite number from 0 up, not {value}")
    return degrees(inverse_involute_rad(value))
