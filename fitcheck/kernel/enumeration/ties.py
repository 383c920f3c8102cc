"""Rows of equal pairs, by price (unknown last), then by the ids of the sets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from heapq import heappop, heappush, merge
from itertools import product
from typing import NamedTuple

from fitcheck.kernel.enumeration.problem import Item

_SORT_AT_ONCE = 512
"""Combinations of one pairs tuple up to which sorting them beats a heap over their prices."""

_Part = tuple[bool, int, tuple[str, ...], tuple[Item, ...]]
"""Price unknown, price (0 if unknown), ids and items: of one stage, or of several together."""

Key = tuple[bool, int, tuple[str, ...], tuple[int, ...], tuple[Item, ...], int]
"""A row in the making, in the order of rows of equal pairs.

Price unknown, price, ids, then choices and items (which only tell equal rows apart), grade.
"""


class Parts(NamedTuple):
    """The items of one class.

    Attributes:
        by_id: all of them, by id.
        known: those of known price, by price, then id.
        unknown: those of unknown price, by id.
    """

    by_id: list[_Part]
    known: list[_Part]
    unknown: list[_Part]


Member = tuple[tuple[int, ...], int, list[Parts]]
"""One way to make the pairs: its choices, its grade, and the items of each stage."""


def parts_of(items: Sequence[Item], factory: bool = False) -> Parts:
    """Sort the items of a class; the factory pair adds no id."""
    by_id: list[_Part] = [
        (item.price is None, item.price or 0, () if factory else (item.id,), (item,))
        for item in items
    ]
    by_id.sort(key=lambda part: part[2])
    known = sorted((part for part in by_id if not part[0]), key=lambda part: part[:3])
    return Parts(by_id, known, [part for part in by_id if part[0]])


def in_order(members: Sequence[Member], max_price: int | None) -> Iterable[Key]:
    """The rows of all members of one pairs tuple.

    Few are sorted at once; of many, only as many are made as are asked for.
    """
    number = 0
    for member in members:
        ways = 1
        for stage in member[2]:
            ways *= len(stage.by_id)
        number += ways
    if number <= _SORT_AT_ONCE:
        found: list[Key] = []
        for chain, grade, stages in members:
            found += [
                (unknown, price, ids, chain, items, grade)
                for unknown, price, ids, items in _every([stage.by_id for stage in stages])
                if max_price is None or not (unknown or price > max_price)
            ]
        found.sort()
        return found
    streams: list[Iterator[Key]] = []
    for member in members:
        streams.append(_by_price(member, max_price))
        if max_price is None:
            streams.append(_by_ids(member))
    return merge(*streams)


def _every(stages: Sequence[Sequence[_Part]]) -> Sequence[_Part]:
    joined = stages[0]
    for stage in stages[1:]:
        joined = [
            (True, 0, ids + more, items + others)
            if unknown or also
            else (False, price + extra, ids + more, items + others)
            for unknown, price, ids, items in joined
            for also, extra, more, others in stage
        ]
    return joined


def _join(parts: Iterable[_Part]) -> _Part:
    unknown, price = False, 0
    ids: tuple[str, ...] = ()
    items: tuple[Item, ...] = ()
    for also, extra, more, others in parts:
        unknown, price, ids, items = unknown or also, price + extra, ids + more, items + others
    return unknown, 0 if unknown else price, ids, items


def _by_price(member: Member, max_price: int | None) -> Iterator[Key]:
    """Rows of known price, from sorted parts: a heap over the sums.

    Each tuple of positions has one predecessor, its last non-zero position less one, and no
    row is before its predecessor, so every row enters the heap once and in time.
    """
    chain, grade, stages = member
    lists = [stage.known for stage in stages]
    if not all(lists):
        return
    heap = [(_join(parts[0] for parts in lists), (0,) * len(lists), 0)]
    while heap:
        (unknown, price, ids, items), at, moved = heappop(heap)
        if max_price is not None and price > max_price:
            return
        yield unknown, price, ids, chain, items, grade
        for stage in range(moved, len(lists)):
            if at[stage] + 1 < len(lists[stage]):
                after = (*at[:stage], at[stage] + 1, *at[stage + 1 :])
                part = _join(parts[place] for parts, place in zip(lists, after, strict=True))
                heappush(heap, (part, after, stage))


def _by_ids(member: Member) -> Iterator[Key]:
    """Rows of unknown price."""
    chain, grade, stages = member
    for parts in _with_unknown(stages):
        unknown, price, ids, items = _join(parts)
        yield unknown, price, ids, chain, items, grade


def _with_unknown(stages: Sequence[Parts]) -> Iterator[tuple[_Part, ...]]:
    """Every tuple of parts with an unknown price among them, by ids."""
    if not stages:
        return
    first, later = stages[0], stages[1:]
    if not any(stage.unknown for stage in later):
        for part in first.unknown:
            for rest in product(*(stage.by_id for stage in later)):
                yield (part, *rest)
        return
    for part in first.by_id:
        tails: Iterable[tuple[_Part, ...]] = (
            product(*(stage.by_id for stage in later)) if part[0] else _with_unknown(later)
        )
        for rest in tails:
            yield (part, *rest)
