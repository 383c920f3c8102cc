"""A list by gearing: choices of equal pairs as one, told by the choice to sell."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from fitcheck.kernel.enumeration import Row
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.request import Request
from fitcheck.services.road.figures import Seen, Selection

if TYPE_CHECKING:
    from fitcheck.services.counter.list_road import RoadList


@dataclass(frozen=True, slots=True)
class Gearing:
    """Choices of equal pairs.

    Attributes:
        row: the choice to sell: of those that can be had the first that is proved, else the first;
            where none can be had, the first of all.
        choices: how many there are.
        orderable: how many of them can be had now.
    """

    row: Row
    choices: int
    orderable: int


def gearings_of(choices: Choices, found: Iterable[Row]) -> Iterator[Gearing]:
    """Rows in the order of the contract, those of equal pairs as one gearing."""
    for _, group in groupby(found, key=attrgetter("pairs")):
        rows = list(group)
        had = [row for row in rows if all(one.offer.orderable for one in choices.sets_of(row))]
        best = next((row for row in had if row.grade), (had or rows)[0])
        yield Gearing(best, len(rows), len(had))


def select_gearings(
    choices: Choices, found: Iterable[Row], road: RoadList | None, request: Request
) -> Selection:
    """The first gearings asked for, each by the choice to sell, with its rank in the whole list.

    Args:
        choices: of the machine.
        found: every row of the window that passes the filters, in the order of the contract.
        road: what ranks or drops rows by the road or the law; None where nothing does.
        request: how many, and whether only what can be had.
    """
    looks_at_all = road is not None and road.needs_all
    known: dict[int, Gearing] = {}  # by the identity of its row, which it keeps alive
    total = 0

    def rows() -> Iterator[Row]:
        nonlocal total
        for one in gearings_of(choices, found):
            known[id(one.row)] = one
            total += one.choices
            yield one.row

    listed = road.select(rows(), None).seen if road and looks_at_all else map(Seen, rows())
    shown: list[Seen] = []
    before: object = None
    position = rank = gone = 0
    more = False
    for seen in listed:
        gearing = known[id(seen.row)]
        key = seen.key or seen.row.reduction
        if key != before:
            rank, before = position + 1, key
        position += gearing.choices
        gone += gearing.choices - gearing.orderable
        if request.skips_gone and not gearing.orderable:
            continue
        more = len(shown) == request.top
        if not more:
            shown.append(seen._replace(rank=rank))
        elif not looks_at_all:
            break
    if road is not None and not looks_at_all:
        ranks = [seen.rank for seen in shown]
        worked_out = road.select((seen.row for seen in shown), None).seen
        shown = [seen._replace(rank=rank) for seen, rank in zip(worked_out, ranks, strict=True)]
    return Selection(shown, position, dropped=total - position, gone=gone, more=more)
