"""The runs of equal pairs inside a window, in order, found by bisection in whole numbers.

A reduction n/d of two stages becomes the key floor(n * 2**32 / d). Counts are at most 200, so d
is at most 40,000 and two different reductions are at least 1 / 40,000**2 apart, more than
2 / 2**32: keys are equal exactly when the reductions are, and rise with them. n * 2**32 stays
under 2**48. An edge of a window falls between keys, or shares its key with one reduction only,
which is compared with it by cross-multiplication in whole numbers of any size.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from fitcheck.kernel.enumeration.columns import Integers
from fitcheck.kernel.enumeration.packing import KEY_BITS, SPECIAL, Packed
from fitcheck.kernel.enumeration.problem import Window

_LARGEST = 1 << 48
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
            entries where wholes have the pairs that two stages also make.
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
    low, high = _edge(window[0], 0), _edge(window[1], _LARGEST)
    driven, driver = left.driven[: left.normal], left.driver[: left.normal]
    # With K the key of both stages and k of the right one, K >= low needs k >= low * d // n.
    keys = right.key[: right.normal]
    begin = np.searchsorted(keys, low * driver // driven, "left")
    end = np.searchsorted(keys, (high + 1) * driver // driven, "right")
    number = np.maximum(end - begin, 0)
    i = np.repeat(np.arange(left.normal), number)
    j = spans(begin, number)

    special = np.arange(left.normal, len(left.code))
    whole = left.code[special] - SPECIAL
    numerator = np.append(
        left.driven[i] * right.driven[j], packed.whole_driven[whole].prod(1, dtype=np.int64)
    )
    denominator = np.append(
        left.driver[i] * right.driver[j], packed.whole_driver[whole].prod(1, dtype=np.int64)
    )
    code = np.append(left.code[i] << 16 | right.code[j], packed.whole_code[whole])
    i, j = np.append(i, special), np.append(j, np.full(len(special), right.normal))

    key = (numerator << KEY_BITS) // denominator
    inside = (key >= low) & (key <= high)
    for edge, at, sign in ((window[0], low, 1), (window[1], high, -1)):
        on_edge = np.flatnonzero(key == at)
        if edge is not None and len(on_edge):
            n, d = int(numerator[on_edge[0]]), int(denominator[on_edge[0]])
            if sign * (n * edge.denominator - edge.numerator * d) < 0:
                inside[on_edge] = False
    found = np.flatnonzero(inside)
    found = found[np.lexsort((code[found], key[found]))]
    code, key = code[found], key[found]
    fresh = np.ones(len(found), np.bool_)
    fresh[1:] = (code[1:] != code[:-1]) | (key[1:] != key[:-1])
    return Runs(
        i[found],
        j[found],
        numerator[found],
        denominator[found],
        np.append(np.flatnonzero(fresh), len(found)),
    )


def _edge(edge: Fraction | None, otherwise: int) -> int:
    """The key of an edge, kept within 64 bits; beyond the largest key it is past every one."""
    if edge is None:
        return otherwise
    return max(-1, min((edge.numerator << KEY_BITS) // edge.denominator, _LARGEST))


def spans(begin: Integers, number: Integers) -> Integers:
    """Whole numbers from each begin, so many each, one span after another."""
    end = np.cumsum(number)
    every = np.arange(end[-1] if len(end) else 0, dtype=np.int64)
    every += np.repeat(begin - (end - number), number)
    return every
