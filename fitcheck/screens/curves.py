"""What every chart needs, whatever draws it: round ticks, labels apart, values between points."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from math import ceil, floor, log10


def round_step(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a span into at most so many."""
    rough = span / most
    power: float = 10.0 ** floor(log10(rough))
    return next(power * times for times in (1, 2, 5, 10) if power * times >= rough * (1 - 1e-9))


def ticks_within(edge: float, most: int) -> list[float]:
    """Round values from 0 up to an edge, at most so many steps."""
    step = round_step(edge, most)
    return [round(step * place, 10) for place in range(floor(edge / step + 1e-9) + 1)]


def ticks_over(greatest: float, most: int = 5) -> list[float]:
    """Round values from 0 up; the last one is at or above the greatest value, which is over 0."""
    step = round_step(greatest, most)
    return [round(step * place, 10) for place in range(ceil(greatest / step - 1e-9) + 1)]


def interpolated(xs: Sequence[float], ys: Sequence[float], x: float) -> float | None:
    """The y of a polyline at an x; None outside it."""
    if not xs or not xs[0] <= x <= xs[-1]:
        return None
    right = min(bisect_right(xs, x), len(xs) - 1)
    left = max(right - 1, 0)
    span = xs[right] - xs[left]
    return ys[left] + (ys[right] - ys[left]) * (x - xs[left]) / span if span else ys[left]


def apart(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places at least `gap` apart within [low, high], in the order of the wanted ones.

    Each group that would overlap is set about the middle of what its members want. Where there is
    no room for all, they are spaced evenly.
    """
    count = len(wanted)
    if count > 1 and gap * (count - 1) > high - low:
        gap = (high - low) / (count - 1)
    order = sorted(range(count), key=lambda position: (wanted[position], position))
    groups: list[list[int]] = []
    starts: list[float] = []

    def start(group: list[int]) -> float:
        ideal = sum(wanted[one] - index * gap for index, one in enumerate(group)) / len(group)
        return min(max(ideal, low), high - gap * (len(group) - 1))

    for position in order:
        group = [position]
        while groups and starts[-1] + gap * len(groups[-1]) > start(group) + 1e-9:
            group = groups.pop() + group
            starts.pop()
        groups.append(group)
        starts.append(start(group))
    placed = [0.0] * count
    for group, first in zip(groups, starts, strict=True):
        for index, position in enumerate(group):
            placed[position] = first + index * gap
    return placed
