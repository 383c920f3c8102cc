"""One stage as classes of equal pair and equal seats, its prices and ids packed for sorting.

A row's key is `price << 2b | rank << b | rank`: price of the row, rank of the first and of the
second set bought (0 where only one is), b bits a rank. It is the sum of one part from each stage,
and rows of unknown price share one price above every known one. What part a set adds depends on
its partner, so each stage keeps its parts in several variants:

* left: priced, or without its price (the partner's is unknown, so the row's is);
* right: priced; priced with its rank in the first place (the factory pair is kept on the left, so
  this is the first set bought); without its price.

Variants without price are left out where no partner's price is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fitcheck.kernel.enumeration.columns import (
    RULED_OUT,
    Columns,
    Indices,
    Integers,
    PackingError,
    WholeColumns,
)

KEY_BITS = 32
"""Bits after the point of a reduction's key."""

SPECIAL = 1 << 16
"""Pair codes from here on stand for wholes, and for what stands beside them on the right."""

_BEYOND = 1 << 62
"""Reduction key of a special pair, after every real one."""

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Packing:
    """How prices and ranks share 63 bits.

    Attributes:
        rank_bits: bits of one rank.
        unknown: the price that stands for an unknown one, over every known sum.
    """

    rank_bits: int
    unknown: int

    @property
    def price_shift(self) -> int:
        """Bits below the price."""
        return 2 * self.rank_bits

    @property
    def spare_bits(self) -> int:
        """Bits left over the price."""
        return 63 - self.price_shift - self.unknown.bit_length()


@dataclass(frozen=True, slots=True)
class Side:
    """One stage, grouped: pairs by reduction, classes within pairs, sets within classes.

    Attributes:
        driver: of each pair, in order of reduction, then pair; special pairs last.
        driven: of each pair.
        code: of each pair: its place in the order of pairs.
        key: of each pair: floor(reduction * 2**32).
        first: of each pair: its first class; one more at the end.
        seat: of each class: row or column of the table of allowed partners.
        unknown: of each class: its prices are unknown.
        start: of each class: its first set.
        size: of each class: its sets.
        parts: keys of all sets, one variant after another; within a class rising.
        sets: number of sets, which is the distance between variants.
        normal: number of pairs that are not special.
    """

    driver: Integers
    driven: Integers
    code: Integers
    key: Integers
    first: Integers
    seat: Integers
    unknown: Flags
    start: Integers
    size: Integers
    parts: Integers
    sets: int
    normal: int


@dataclass(frozen=True, slots=True)
class Packed:
    """Both sides, what may go together, and the way back from ranks to rows.

    Attributes:
        left: the first stage; wholes are its special pairs.
        right: the second stage, with one special pair of one class of one part 0.
        allowed: by seat of the left and of the right class.
        factory: seat of the left factory pair (and no other class).
        packing: the keys' layout.
        left_row: of each first rank: the row of the left columns (-1 for a whole).
        right_row: of each second rank: the row of the right columns.
        lone_right_row: of each first rank, where there is no second: the right or whole row.
        whole_code: of each special pair of the left: both pairs as one number.
        whole_driver: of each special pair of the left: the pinions.
        whole_driven: of each special pair of the left: the wheels.
    """

    left: Side
    right: Side
    allowed: Flags
    factory: int
    packing: Packing
    left_row: Indices
    right_row: Indices
    lone_right_row: Indices
    whole_code: Integers
    whole_driver: Integers
    whole_driven: Integers


def pack(
    left: Columns,
    right: Columns,
    wholes: WholeColumns | None,
    joint: Integers,
    *,
    max_price: int | None,
    max_sets: int | None,
    min_grade: int | None,
) -> Packed:
    """Group and pack both stages, leaving out what no row within the filters can hold.

    Raises:
        PackingError: prices and ids do not fit one integer together.
    """
    if wholes is None:
        none = np.empty(0, np.int64)
        wholes = WholeColumns(none.reshape(0, 2), none.reshape(0, 2), none, none, none)
    least = RULED_OUT + 1 if min_grade is None else min_grade
    packing = _packing(left, right, wholes)
    allowed, left_seat, right_seat = _seats(left, right, joint, max_sets, least)
    shift, bits = packing.price_shift, packing.rank_bits

    def price(columns: Columns | WholeColumns) -> Integers:
        return np.where(columns.price < 0, packing.unknown, columns.price) << shift

    def kept(columns: Columns | WholeColumns) -> Flags:
        keep = np.asarray(columns.grade >= least, np.bool_)
        if max_price is not None:
            keep &= (columns.price >= 0) & (columns.price <= max_price)
        return keep

    codes = np.stack([_codes(wholes.driver[:, i], wholes.driven[:, i]) for i in (0, 1)])
    whole_pairs, whole_code = np.unique(codes[0] << 16 | codes[1], return_inverse=True)
    first, second = whole_pairs >> 16, whole_pairs & 0xFFFF

    keep, whole_keep = kept(left) & np.any(allowed, axis=1)[left_seat], kept(wholes)
    rank = left.rank[keep] << bits
    whole_part = (price(wholes) | wholes.rank << bits)[whole_keep]
    special = len(whole_part)
    left_side = _side(
        np.concatenate((_codes(left.driver, left.driven)[keep], SPECIAL + whole_code[whole_keep])),
        np.concatenate((left_seat[keep], np.full(special, allowed.shape[0]))),
        np.concatenate((left.price[keep] < 0, np.zeros(special, np.bool_))),
        [np.concatenate((price(left)[keep] | rank, whole_part))],
        [np.concatenate((rank, whole_part))] if (right.price < 0).any() else [],
    )
    keep = kept(right) & np.any(allowed, axis=0)[right_seat]
    rank, cost = right.rank[keep], price(right)[keep]
    right_side = _side(
        np.append(_codes(right.driver, right.driven)[keep], SPECIAL),
        np.append(right_seat[keep], allowed.shape[1]),
        np.append(right.price[keep] < 0, np.False_),
        [np.append(part, 0) for part in (cost | rank, cost | rank << bits)],
        [np.append(rank, 0)] if (left.price < 0).any() else [],
    )
    extended = np.zeros((allowed.shape[0] + 1, allowed.shape[1] + 1), np.bool_)
    extended[:-1, :-1] = allowed
    extended[-1, -1] = True
    return Packed(
        left_side,
        right_side,
        extended,
        allowed.shape[0] - 1,
        packing,
        *_rows_of_ranks(left, right, wholes),
        whole_pairs,
        np.stack((first >> 8, second >> 8), 1),
        np.stack((first & 0xFF, second & 0xFF), 1),
    )


def _packing(left: Columns, right: Columns, wholes: WholeColumns) -> Packing:
    every = (left, right, wholes)
    if any((columns.price < -1).any() for columns in every):
        raise PackingError("a price is negative")
    if any((c.price[c.rank == 0] < 0).any() for c in every):
        raise PackingError("the factory pair has no price")
    greatest = [int(columns.price.max(initial=0)) for columns in every]
    rank = max(int(columns.rank.max(initial=0)) for columns in every)
    packing = Packing(rank.bit_length(), max(greatest[0] + greatest[1], greatest[2]) + 1)
    if packing.spare_bits < 0:
        raise PackingError("prices and ids are too large together")
    return packing


def _codes(driver: Integers, driven: Integers) -> Integers:
    return driver << 8 | driven


def _seats(
    left: Columns, right: Columns, joint: Integers, max_sets: int | None, least: int
) -> tuple[Flags, Integers, Integers]:
    """Which seats go together, and the seat of each row; the last of each is the factory's.

    Seats with the same partners are one seat.
    """
    fine = joint >= least
    allowed = np.zeros((fine.shape[0] + 1, fine.shape[1] + 1), np.bool_)
    if max_sets is None or max_sets > 1:
        allowed[:-1, :-1] = fine
    kept_left, kept_right = left.rank == 0, right.rank == 0
    if kept_left.any():
        allowed[-1, :-1] = fine[left.needs[kept_left][0]]
    if kept_right.any():
        allowed[:-1, -1] = fine[:, right.brings[kept_right][0]]
    _, row, row_seat = np.unique(allowed[:-1], axis=0, return_index=True, return_inverse=True)
    _, column, column_seat = np.unique(
        allowed[:, :-1], axis=1, return_index=True, return_inverse=True
    )
    return (
        allowed[np.ix_(np.append(row, -1), np.append(column, -1))],
        np.where(kept_left, len(row), row_seat.ravel()[left.needs]),
        np.where(kept_right, len(column), column_seat.ravel()[right.brings]),
    )


def _side(
    code: Integers, seat: Integers, unknown: Flags, like: list[Integers], unlike: list[Integers]
) -> Side:
    """Group the sets of a stage.

    Args:
        code: the pair of each set as one number.
        seat: the seat of each set.
        unknown: whether its price is unknown.
        like: variants of its part that rise together within a class.
        unlike: variants that rise each in its own order, after the others in the parts.
    """
    seats = int(seat.max(initial=0)) + 1
    label, group = _present((code * seats + seat) * 2 + unknown)
    of_pair = label // (2 * seats)
    driver, driven = of_pair >> 8, of_pair & 0xFF
    special = of_pair >= SPECIAL
    key = np.where(special, _BEYOND, (driven << KEY_BITS) // np.maximum(driver, 1))
    order = np.lexsort((label, key))
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    group = place[group].astype(np.uint16 if len(label) <= 0xFFFF else np.int64)
    rising = _rising(like[0], group)
    parts = [variant[rising] for variant in like]
    parts += [variant[_rising(variant, group)] for variant in unlike]
    size = np.bincount(group, minlength=len(label)).astype(np.int64)
    label, of_pair, key, driver, driven = (
        column[order] for column in (label, of_pair, key, driver, driven)
    )
    first = np.flatnonzero(np.append(True, of_pair[1:] != of_pair[:-1])[: len(of_pair)])
    return Side(
        driver[first],
        driven[first],
        of_pair[first],
        key[first],
        np.append(first, len(label)),
        label // 2 % seats,
        label % 2 == 1,
        np.cumsum(size) - size,
        size,
        np.concatenate(parts),
        len(code),
        int((~special[order][first]).sum()),
    )


def _present(label: Integers) -> tuple[Integers, Integers]:
    """The labels that occur, rising, and which of them each is; labels are small numbers."""
    labels = np.flatnonzero(np.bincount(label))
    place = np.zeros(int(labels.max(initial=0)) + 1, np.int64)
    place[labels] = np.arange(len(labels))
    return labels, place[label]


def _rising(part: Integers, group: npt.NDArray[np.integer]) -> Integers:
    """The order by group, then part."""
    rising = np.argsort(part)
    # A stable sort of 16-bit numbers is a radix sort.
    return rising[np.argsort(group[rising], kind="stable")]


def _rows_of_ranks(
    left: Columns, right: Columns, wholes: WholeColumns
) -> tuple[Indices, Indices, Indices]:
    ranks = 1 + max(int(columns.rank.max(initial=0)) for columns in (left, right, wholes))
    # The factory row is row 0, which is also what a rank of the other stage stands beside.
    left_row, right_row, lone = (np.zeros(ranks, np.int32) for _ in range(3))
    left_row[left.rank] = np.arange(len(left.rank))
    right_row[right.rank] = np.arange(len(right.rank))
    lone[right.rank] = np.arange(len(right.rank))
    left_row[wholes.rank] = -1
    lone[wholes.rank] = np.arange(len(wholes.rank))
    return left_row, right_row, lone
