"""Both halves of a train as classes of equal pairs and seats, packed for sorting.

The left half is every way to fill all stages but the last, the right half is the last stage. A
row's key is `price << n*b | rank << ... | rank`: price of the row, then the ranks of the ids
bought, first to last (0 where fewer than n are), b bits a rank. It is the sum of one part from
each half, and rows of unknown price share one price above every known one. What part a set adds
depends on its partner, so each half keeps its parts in several variants:

* left: priced, or without its price (the partner's is unknown, so the row's is);
* right: priced, its rank in the place after so many bought on the left; the same without price.

A set of the whole train is a left half of its own, and goes with one right half that adds nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np

from fitcheck.kernel.enumeration.layout import (
    RULED_OUT,
    Flags,
    Indices,
    Integers,
    Layout,
    Stage,
)

KEY_BITS = 39
"""Bits after the point of a reduction's key."""

_MOST_LEFT = 1 << 22
"""Left halves up to which they are laid out one by one."""

_FEW_LABELS = 1 << 18
"""Labels up to which counting them beats sorting them."""


class PackingError(ValueError):
    """The problem does not fit 64-bit columns; the plain enumeration takes any."""


@dataclass(frozen=True, slots=True)
class Packing:
    """How prices and ranks share 63 bits.

    Attributes:
        ranks: how many ranks a key holds, one a stage.
        rank_bits: bits of one rank.
        unknown: the price that stands for an unknown one, over every known sum.
    """

    ranks: int
    rank_bits: int
    unknown: int

    @property
    def price_shift(self) -> int:
        """Bits below the price."""
        return self.ranks * self.rank_bits

    @property
    def spare_bits(self) -> int:
        """Bits left over the price."""
        return 63 - self.price_shift - self.unknown.bit_length()

    def put(self, rank: Integers, bought: int | Integers) -> Integers:
        """Ranks of sets that are bought after so many others, in their place of the key."""
        return rank << self.rank_bits * (self.ranks - 1 - bought)


@dataclass(frozen=True, slots=True)
class Side:
    """One half, grouped: pairs, classes within pairs, sets within classes.

    The left is in the order of pairs, the right in the order of reductions; what belongs to sets
    of the whole train is last.

    Attributes:
        driver: of each pair; of several stages the product.
        driven: of each pair, likewise.
        code: of each pair: what it adds to the place of a train in the order of pairs.
        first: of each pair: its first class; one more at the end.
        seat: of each class: row or column of the table of allowed partners.
        unknown: of each class: its prices are unknown.
        start: of each class: its first set.
        size: of each class: its sets.
        parts: keys of all sets, one variant after another; within a class rising.
        sets: number of sets, which is the distance between variants.
        normal: number of pairs that are not of sets of the whole train.
    """

    driver: Integers
    driven: Integers
    code: Integers
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
    """Both halves, what may go together, and the way back from ranks to rows.

    Attributes:
        layout: the problem in columns.
        left: all stages but the last, and sets of the whole train.
        right: the last stage, and the partner of sets of the whole train.
        allowed: by seat of the left and of the right class.
        bought: by seat of the left class, how many sets are bought in it.
        packing: the keys' layout.
        row: for each stage, of each rank the row of its columns; 0 for ranks of other stages.
    """

    layout: Layout
    left: Side
    right: Side
    allowed: Flags
    bought: Integers
    packing: Packing
    row: tuple[Indices, ...]


class _Limits(NamedTuple):
    """Least grade, greatest number of sets and greatest price of a row."""

    grade: int
    sets: int
    price: int | None

    def allow(self, grade: Integers, price: Integers) -> Flags:
        """Which grades and prices, -1 where unknown, are within the limits."""
        fine: Flags = grade >= self.grade
        return fine if self.price is None else fine & (price >= 0) & (price <= self.price)


@dataclass(frozen=True, slots=True)
class _Lines:
    """Left or right halves, one a line, before they are grouped.

    Attributes:
        driver: of each pair; of several stages the product.
        driven: of each pair, likewise.
        code: of each pair: its place in the order of pairs.
        pair: of each line the number of its pair.
        seat: of each line its row or column of the joint between the halves.
        bought: of each line the sets bought in it.
        price: of each line, -1 where unknown.
        ranks: of each line the ranks of its sets, in their place of the key.
    """

    driver: Integers
    driven: Integers
    code: Integers
    pair: Integers
    seat: Integers
    bought: Integers
    price: Integers
    ranks: Integers

    def keep(self, lines: Flags) -> _Lines:
        """Some of the lines."""
        return replace(
            self,
            pair=self.pair[lines],
            seat=self.seat[lines],
            bought=self.bought[lines],
            price=self.price[lines],
            ranks=self.ranks[lines],
        )

    def join(self, others: _Lines) -> _Lines:
        """These lines, then others, whose pairs come after these."""
        shifted = replace(others, pair=others.pair + len(self.code))
        return _Lines(
            **{
                field.name: np.append(getattr(self, field.name), getattr(shifted, field.name))
                for field in fields(self)
            }
        )


def pack(
    layout: Layout, max_price: int | None, max_sets: int | None, min_grade: int | None
) -> Packed:
    """Group and pack both halves, leaving out what no row within the filters can hold.

    Raises:
        PackingError: an id is used twice, a stage has two factory pairs, prices and ids do not
            fit one integer together, or there are too many left halves.
    """
    packing = _plan(layout)
    stages, joint = layout.stages, layout.joints[-1]
    limits = _Limits(
        grade=RULED_OUT + 1 if min_grade is None else min_grade,
        sets=len(stages) if max_sets is None else min(max_sets, len(stages)),
        price=max_price,
    )
    left = _line_up(0)
    for stage, before in zip(stages[:-1], layout.joints, strict=False):
        left = _lengthen(left, stage, before, limits, packing)
    right = _last_lines(stages[-1], limits, packing)
    allowed, bought, seat_of_row, seat_of_column = _merge_seats(joint, len(stages), limits)
    left = replace(left, seat=seat_of_row[left.bought, left.seat])
    right = replace(right, seat=seat_of_column[right.seat])
    left, right = (
        left.keep(np.any(allowed, axis=1)[left.seat]),
        right.keep(np.any(allowed, axis=0)[right.seat]),
    )
    wholes = _whole_lines(stages, seat_of_row[0, -1], limits, packing)

    def price(lines: _Lines) -> Integers:
        return np.where(lines.price < 0, packing.unknown, lines.price) << packing.price_shift

    pairs = len(left.code), len(right.code)
    unpriced = bool((left.price < 0).any()), bool((right.price < 0).any())
    left = replace(left, code=left.code << 16).join(wholes)
    right = _by_reduction(right).join(_line_up(seat_of_column[-1]))
    places = [right.ranks >> packing.rank_bits * before for before in range(len(stages))]
    return Packed(
        layout=layout,
        left=_group(left, pairs[0], [price(left) | left.ranks], [left.ranks] * unpriced[1]),
        right=_group(right, pairs[1], [price(right) | put for put in places], places * unpriced[0]),
        allowed=allowed,
        bought=bought,
        packing=packing,
        row=tuple(_rows_of_ranks(stage, packing) for stage in stages),
    )


def _plan(layout: Layout) -> Packing:
    """The layout of the keys."""
    stages = layout.stages
    bought = sum(int((stage.rank[: stage.own] > 0).sum()) for stage in stages)
    bought += len(stages[0].rank) - stages[0].own
    ids = max(int(stage.rank.max(initial=0)) for stage in stages)
    if bought != ids:
        raise PackingError("an id is used twice")
    if any((stage.rank[: stage.own] == 0).sum() > 1 for stage in stages):
        raise PackingError("a stage has two factory pairs")
    chain = sum(int(stage.price[: stage.own].max(initial=0)) for stage in stages)
    whole = int(stages[0].price[stages[0].own :].max(initial=0))
    packing = Packing(len(stages), ids.bit_length(), max(chain, whole) + 1)
    if packing.spare_bits < 0:
        raise PackingError("prices and ids are too large together")
    return packing


def _line_up(seat: int) -> _Lines:
    """One half of no gear at all."""
    one, zero = np.ones(1, np.int64), np.zeros(1, np.int64)
    return _Lines(
        driver=one,
        driven=one,
        code=zero,
        pair=zero,
        seat=zero + seat,
        bought=zero,
        price=zero,
        ranks=zero,
    )


def _lengthen(
    before: _Lines, stage: Stage, joint: Integers, limits: _Limits, packing: Packing
) -> _Lines:
    """Every line with every set of the next stage that may follow it."""
    sets = np.flatnonzero(limits.allow(stage.grade[: stage.own], stage.price[: stage.own]))
    number = len(before.pair)
    if number * len(sets) > _MOST_LEFT:
        raise PackingError("there are too many ways to fill all stages but the last")
    line, row = np.repeat(np.arange(number), len(sets)), np.tile(sets, number)
    bought = before.bought[line] + (stage.rank[row] > 0)
    price = before.price[line] + stage.price[row]
    price[(before.price[line] < 0) | (stage.price[row] < 0)] = -1
    fine = limits.allow(joint[before.seat[line], stage.brings[row]], price)
    fine &= bought <= limits.sets
    codes, pair = _number(stage.driver[row] << 8 | stage.driven[row])
    after = _Lines(
        driver=np.multiply.outer(before.driver, codes >> 8).ravel(),
        driven=np.multiply.outer(before.driven, codes & 0xFF).ravel(),
        code=np.bitwise_or.outer(before.code << 16, codes).ravel(),
        pair=before.pair[line] * len(codes) + pair,
        seat=stage.needs[row],
        bought=bought,
        price=price,
        ranks=before.ranks[line] + packing.put(stage.rank[row], before.bought[line]),
    )
    return after.keep(fine)


def _last_lines(stage: Stage, limits: _Limits, packing: Packing) -> _Lines:
    """The sets of the last stage, their ranks as of the first set bought."""
    no_joint = np.full((1, int(stage.brings.max(initial=0)) + 1), limits.grade)
    return _lengthen(_line_up(0), replace(stage, needs=stage.brings), no_joint, limits, packing)


def _whole_lines(stages: Sequence[Stage], seat: int, limits: _Limits, packing: Packing) -> _Lines:
    """The sets of the whole train."""
    own = [slice(stage.own, None) for stage in stages]
    code = np.zeros(len(stages[0].rank) - stages[0].own, np.int64)
    driver, driven = np.ones_like(code), np.ones_like(code)
    for stage, rows in zip(stages, own, strict=True):
        code = code << 16 | stage.driver[rows] << 8 | stage.driven[rows]
        driver *= stage.driver[rows]
        driven *= stage.driven[rows]
    codes, first, pair = np.unique(code, return_index=True, return_inverse=True)
    stage, rows = stages[0], own[0]
    price = stage.price[rows]
    lines = _Lines(
        driver=driver[first],
        driven=driven[first],
        code=codes,
        pair=pair,
        seat=np.full_like(code, seat),
        bought=np.ones_like(code),
        # Its partner on the right is never of unknown price.
        price=np.where(price < 0, packing.unknown, price),
        ranks=packing.put(stage.rank[rows], 0),
    )
    return lines.keep(limits.allow(stage.grade[rows], price) & (limits.sets > 0))


def _merge_seats(
    joint: Integers, stages: int, limits: _Limits
) -> tuple[Flags, Integers, Integers, Integers]:
    """Which halves go together; seats with the same partners are one seat.

    Returns:
        The allowed partners by seat, the sets bought in a left seat, the seat of a left half by
        sets bought and row of the joint, and that of a right half by column.
    """
    rows, columns = joint.shape
    number = np.arange(stages)[:, None] + (np.arange(columns) != columns - 2)
    allowed = (joint >= limits.grade) & ((number >= 1) & (number <= limits.sets))[:, None, :]
    # Sets of the whole train go with their own partner, and with nothing else.
    allowed[:, -1, :] = allowed[:, :, -1] = False
    allowed[0, -1, -1] = True
    every = allowed.reshape(stages * rows, columns)
    bought = np.repeat(np.arange(stages), rows)
    _, row, of_row = np.unique(
        np.column_stack((bought, every)), axis=0, return_index=True, return_inverse=True
    )
    _, column, of_column = np.unique(every, axis=1, return_index=True, return_inverse=True)
    return (
        every[np.ix_(row, column)],
        bought[row],
        of_row.reshape(stages, rows),
        of_column.ravel(),
    )


def _by_reduction(lines: _Lines) -> _Lines:
    """The same lines, pairs in order of reduction."""
    # lexsort is stable, so that equal reductions keep the order of pairs.
    order = np.lexsort(((lines.driven << KEY_BITS) // lines.driver,))
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    return replace(
        lines,
        driver=lines.driver[order],
        driven=lines.driven[order],
        code=lines.code[order],
        pair=place[lines.pair],
    )


def _group(lines: _Lines, normal: int, like: list[Integers], unlike: list[Integers]) -> Side:
    """Group the lines of one half.

    Args:
        lines: the lines.
        normal: number of pairs that are not of sets of the whole train; they come first.
        like: variants of the parts that rise together within a class of known price.
        unlike: variants without price, which rise together in their own order.
    """
    seats = int(lines.seat.max(initial=0)) + 1
    label, group = _number((lines.pair * seats + lines.seat) * 2 + (lines.price < 0))
    of_pair = label // (2 * seats)
    group = group.astype(np.uint16 if len(label) <= 0xFFFF else np.int64)
    parts = []
    for variants in (like, unlike):
        if variants:
            rising = np.argsort(variants[0])
            # A stable sort of 16-bit numbers is a radix sort.
            rising = rising[np.argsort(group[rising], kind="stable")]
            parts += [variant[rising] for variant in variants]
    size = np.bincount(group, minlength=len(label)).astype(np.int64)
    first = np.flatnonzero(np.append(True, of_pair[1:] != of_pair[:-1])[: len(of_pair)])
    pair = of_pair[first]
    return Side(
        driver=lines.driver[pair],
        driven=lines.driven[pair],
        code=lines.code[pair],
        first=np.append(first, len(label)),
        seat=label // 2 % seats,
        unknown=label % 2 == 1,
        start=np.cumsum(size) - size,
        size=size,
        parts=np.concatenate(parts),
        sets=len(lines.pair),
        normal=int((pair < normal).sum()),
    )


def _number(label: Integers) -> tuple[Integers, Integers]:
    """The labels that occur, rising, and which of them each is."""
    if label.max(initial=0) > _FEW_LABELS + 4 * len(label):
        labels, place = np.unique(label, return_inverse=True)
        return labels, place
    labels = np.flatnonzero(np.bincount(label))
    place = np.zeros(int(labels.max(initial=0)) + 1, np.int64)
    place[labels] = np.arange(len(labels))
    return labels, place[label]


def _rows_of_ranks(stage: Stage, packing: Packing) -> Indices:
    row = np.zeros(1 << packing.rank_bits, np.int32)
    row[stage.rank] = np.arange(len(stage.rank))
    return row
