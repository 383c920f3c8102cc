"""What both ways of the enumeration list, row by row and alike."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from fitcheck.kernel.enumeration import Item, Problem, Window, columns, rows
from fitcheck.kernel.enumeration.table import Table
from fitcheck.kernel.teeth import Pair


class Listed(NamedTuple):
    """One combination; a set of the whole train has the choices (-1, its index)."""

    choices: tuple[int, ...]
    items: tuple[Item, ...]
    reduction: Fraction
    pairs: tuple[Pair, ...]
    price: int | None
    ids: tuple[str, ...]
    grade: int


def listed(problem: Problem, window: Window = (None, None), **filters) -> list[Listed]:
    """The rows of `rows`."""
    return [
        Listed(
            choices=row.choices if row.whole is None else (-1, row.whole),
            items=row.items,
            reduction=row.reduction,
            pairs=row.pairs,
            price=row.price,
            ids=row.ids,
            grade=row.grade,
        )
        for row in rows(problem, window, **filters)
    ]


def by_columns(problem: Problem, window: Window = (None, None), **filters) -> list[Listed]:
    """The rows of `columns`."""
    return rows_of(columns(problem, window, **filters))


def rows_of(found: Table) -> list[Listed]:
    """The rows of a table; its runs must hold together."""
    assert (found.start[0], found.start[-1]) == (0, len(found))
    assert len(found.start) == len(found.numerator) + 1 == len(found.denominator) + 1
    ratios = zip(found.numerator.tolist(), found.denominator.tolist(), strict=True)
    reductions = [
        Fraction(*ratio)
        for ratio, (begin, end) in zip(ratios, pairwise(found.start.tolist()), strict=True)
        for _ in range(end - begin)
    ]
    places = [
        [stage[row] for row in rows.tolist()]
        for stage, rows in zip(found.layout.places, found.rows, strict=True)
    ]
    every = zip(zip(*places, strict=True), reductions, found.price, found.grades, strict=True)
    return [_row(list(places), *rest) for places, *rest in every]


def _row(places, reduction: Fraction, price: int, grade: int) -> Listed:
    pairs = tuple(place.choice.pair for place in places)
    if places[0].whole:
        assert len({(place.whole, place.number, place.item) for place in places}) == 1
        choices, bought = (-1, places[0].number), places[:1]
    else:
        choices = tuple(place.number for place in places)
        bought = [place for place in places if not place.choice.factory]
    return Listed(
        choices=choices,
        items=tuple(place.item for place in (bought if places[0].whole else places)),
        reduction=reduction,
        pairs=pairs,
        price=None if price < 0 else int(price),
        ids=tuple(place.item.id for place in bought),
        grade=int(grade),
    )
