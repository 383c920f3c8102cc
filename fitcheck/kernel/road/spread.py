"""How far off a computed figure may be when its inputs are only known within limits.

Each uncertain input has a half-width. The figure is computed again with that input at either end,
one input at a time, the others at their nominal values. Effects up and effects down are each
combined by the root of the sum of squares, as JCGM 100:2008 (GUM) section 5.1 combines
uncorrelated inputs; keeping the two sides apart leaves a skewed range skewed.

This is the rule for one figure. Whole arrays of gearings are combined in `services.road.sweep`,
written apart with numpy; the tests hold the two together.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot, inf, isinf, isnan

_SHOWN_SHARE = 0.1
_SHOWN_ADDED_KM_H = 4.0


def combined(nominal: float, ends: Iterable[tuple[float, float]]) -> tuple[float, float]:
    """Range of a figure from what it becomes with each input at either end.

    Args:
        nominal: the figure with all inputs nominal; infinite for "never".
        ends: for each input, the figure with it at its low and at its high end; which of the two
            is the greater does not matter.

    Returns:
        (low, high) with low <= nominal <= high. Where the nominal figure is infinite nothing can
        be squared: then the range runs from the least of all ends.

    Raises:
        ValueError: a figure that is not a number.
    """
    pairs = list(ends)
    if isnan(nominal) or any(isnan(value) for pair in pairs for value in pair):
        raise ValueError("a figure to combine is not a number")
    if isinf(nominal):
        values = [value for pair in pairs for value in pair]
        return min([nominal, *values]), max([nominal, *values])
    down = [max(0.0, nominal - min(pair)) for pair in pairs]
    up = [max(0.0, max(pair) - nominal) for pair in pairs]
    low = -inf if inf in down else nominal - hypot(*down)
    high = inf if inf in up else nominal + hypot(*up)
    return low, high


def true_range(shown_km_h: float) -> tuple[float, float]:
    """(least, most) true speed in km/h behind one that a speedometer shows.

    UN Regulation No. 39, paragraph 5.3, with shown speed V1 and true speed V2 in km/h:
    0 <= V1 - V2 <= 0.1 V2 + 4. The regulation asks this at its test speeds; here it is taken for
    every speed. It binds a machine as type-approved, with its own gears and tyre.

    Raises:
        ValueError: a speed below zero.
    """
    if not 0 <= shown_km_h < inf:
        raise ValueError(f"a speed is 0 km/h or more, not {shown_km_h}")
    return max(0.0, (shown_km_h - _SHOWN_ADDED_KM_H) / (1 + _SHOWN_SHARE)), shown_km_h
