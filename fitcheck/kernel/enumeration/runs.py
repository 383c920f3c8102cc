"""The runs of equal pairs inside a window, in order, found by bisection in whole numbers.

A reduction n/d becomes the key floor(n * 2**39 / d), n * 2**39 being under 2**62. Counts are at
most 200, so two different reductions of two stages are at least 1 / 40,000**2 apart, more than
2 / 2**39, and keys alone put them in order. Of three stages the remainder gives 39 bits more, and
two of those are at least 1 / 8,000,000**2 apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from fitcheck.kernel.enumeration.layout import Integers
from fitcheck.kernel.enumeration.packing import KEY_BITS, Packed, PackingError
from fitcheck.kernel.enumeration.problem import Window

_MOST_RUNS = 1 << 24
"""Pairs of halves up to which they are looked at one by one."""

_SEARCH_BITS = 24
"""Bits after the point of the reductions that a window is first looked for by."""

_LARGEST = 1 << 62
"""Above every reduction's key."""


@dataclass(frozen=True, slots=True)
class Runs:
    """Pairs of the left with pairs of the right, by reduction, then pairs.

    Attributes:
        left: pair of the left side.
        right: pair of the right side.
        numerator: product of the driven counts.
        denominator: product of the driver counts.
        first: the first entry of each run of equal pairs; one more at the end. A run has two
            entries where wholes have the pairs that stages also make.
    """

    left: Integers
    right: Integers
    numerator: Integers
    denominator: Integers
    first: Integers

    def __len__(self) -> int:
        return len(self.first) - 1


def find_runs(packed: Packed, window: Window) -> Runs:
    """The runs of a window."""
    left, right = packed.left, packed.right
    i, j = _near(packed, window)
    # A set of the whole train goes with the last pair on the right, which is 1 to 1.
    special = np.arange(left.normal, len(left.code))
    i, j = np.append(i, special), np.append(j, np.full(len(special), right.normal))
    numerator, denominator = left.driven[i] * right.driven[j], left.driver[i] * right.driver[j]
    code = left.code[i] + right.code[j]
    key = (numerator << KEY_BITS) // denominator
    low, high = _edge(window[0], 0, KEY_BITS), _edge(window[1], _LARGEST, KEY_BITS)
    inside = (key >= low) & (key <= high)
    for edge, at, sign in ((window[0], low, 1), (window[1], high, -1)):
        if edge is not None:
            on_edge = np.flatnonzero(key == at)
            products = zip(numerator[on_edge].tolist(), denominator[on_edge].tolist(), strict=True)
            inside[on_edge] &= np.array(
                [sign * (n * edge.denominator - edge.numerator * d) >= 0 for n, d in products],
                np.bool_,
            )
    found = np.flatnonzero(inside)
    numerator, denominator, code, key = (
        column[found] for column in (numerator, denominator, code, key)
    )
    if packed.packing.ranks > 2:
        rest = ((numerator << KEY_BITS) % denominator << KEY_BITS) // denominator
        order = np.lexsort((code, rest, key))
    else:
        order = np.lexsort((code, key))
    code, found = code[order], found[order]
    fresh = np.append(True, code[1:] != code[:-1])[: len(code)]
    return Runs(
        left=i[found],
        right=j[found],
        numerator=numerator[order],
        denominator=denominator[order],
        first=np.append(np.flatnonzero(fresh), len(found)),
    )


def _near(packed: Packed, window: Window) -> tuple[Integers, Integers]:
    """Pairs of left and right halves that a window may hold, a few beyond its edges among them.

    With k the reduction of the right one in whole numbers, rounded down, K >= low of both needs
    k >= low * d // n of the left one.
    """
    left, right = packed.left, packed.right
    driven, driver = left.driven[: left.normal], left.driver[: left.normal]
    reductions = (right.driven[: right.normal] << _SEARCH_BITS) // right.driver[: right.normal]
    low = _edge(window[0], 0, _SEARCH_BITS)
    high = _edge(window[1], 1 << 40, _SEARCH_BITS)
    begin = np.searchsorted(reductions, low * driver // driven, "left")
    end = np.searchsorted(reductions, (high + 1) * driver // driven, "right")
    number = np.maximum(end - begin, 0)
    if number.sum() > _MOST_RUNS:
        raise PackingError("there are too many pairs of halves")
    return np.repeat(np.arange(left.normal), number), spans(begin, number)


def _edge(edge: Fraction | None, otherwise: int, bits: int) -> int:
    """The whole number of an edge, rounded down and kept within what reductions can reach."""
    if edge is None:
        return otherwise
    return max(-1, min((edge.numerator << bits) // edge.denominator, 1 << (bits + 16)))


def spans(begin: Integers, number: Integers) -> Integers:
    """Whole numbers from each begin, so many each, one span after another."""
    end = np.cumsum(number)
    every = np.arange(end[-1] if len(end) else 0, dtype=np.int64)
    every += np.repeat(begin - (end - number), number)
    return every
