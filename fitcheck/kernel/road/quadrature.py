"""Composite Gauss-Legendre quadrature of a pair of positive integrands, halved until it settles."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count as count_from
from math import cos, pi

Pair = tuple[float, float]

_DEEPEST = 60
_MOST = 5_000  # intervals; where rounding alone keeps them from settling, more would not help


def legendre_rule(points: int) -> tuple[Pair, ...]:
    """(node, weight) on [-1, 1] of the Gauss-Legendre rule, by Newton's method."""
    rule = []
    for number in range(points):
        x = cos(pi * (number + 0.75) / (points + 0.5))
        for _ in range(100):
            here, before = x, 1.0
            for order in range(2, points + 1):
                here, before = ((2 * order - 1) * x * here - (order - 1) * before) / order, here
            slope = points * (x * here - before) / (x * x - 1)
            step = here / slope
            x -= step
            if abs(step) < 1e-16:
                break
        rule.append((x, 2 / ((1 - x * x) * slope * slope)))
    return tuple(rule)


_RULE = legendre_rule(8)


def _once(integrands: Callable[[float], Pair], low: float, high: float) -> Pair:
    middle, half = (low + high) / 2, (high - low) / 2
    one = two = 0.0
    for node, weight in _RULE:
        first, second = integrands(middle + half * node)
        one += weight * first
        two += weight * second
    return one * half, two * half


def integrate_pair(
    integrands: Callable[[float], Pair], low: float, high: float, tolerance: float = 1e-10
) -> Pair:
    """Integrals of two functions that do not change sign, from low to high.

    An interval is accepted when the eight-point rule on it and on its halves differ by less than
    the tolerance of its own integral; the halves are kept. As neither function changes sign, the
    tolerance holds for the sums too; the real error is mostly far smaller.

    Args:
        integrands: gives both values at a point; smooth inside, poles outside are fine.
        low: lower limit.
        high: upper limit, not under the lower one.
        tolerance: greatest relative difference.
    """
    if not high > low:
        return 0.0, 0.0
    one = two = 0.0
    waiting = [(low, high, _once(integrands, low, high), 0)]
    for count in count_from(1):
        if not waiting:
            break
        left, right, whole, depth = waiting.pop()
        middle = (left + right) / 2
        first, second = _once(integrands, left, middle), _once(integrands, middle, right)
        sums = first[0] + second[0], first[1] + second[1]
        settled = all(
            abs(coarse - fine) <= tolerance * abs(fine)
            for coarse, fine in zip(whole, sums, strict=True)
        )
        if settled or depth == _DEEPEST or count > _MOST or not left < middle < right:
            one += sums[0]
            two += sums[1]
        else:
            waiting += [(left, middle, first, depth + 1), (middle, right, second, depth + 1)]
    return one, two
