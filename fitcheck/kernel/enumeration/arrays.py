"""The rows of two-stage trains as numpy columns, in the contract's order.

For catalogues of thousands of sets a stage. The runs of equal pairs come in order from `runs`;
each run's rows are made by adding the packed parts of its classes (`packing`) and sorting the
sums, which then still name the price and both sets. Everything is a whole number.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypedDict

import numpy as np

from fitcheck.kernel.enumeration import plain
from fitcheck.kernel.enumeration.columns import (
    Columns,
    Integers,
    Layout,
    PackingError,
    Table,
    WholeColumns,
    joint_grades,
    lay_out,
)
from fitcheck.kernel.enumeration.expansion import expand, expand_all
from fitcheck.kernel.enumeration.packing import pack
from fitcheck.kernel.enumeration.problem import Joint, Problem, Row, Window
from fitcheck.kernel.enumeration.runs import find_runs


def table(
    left: Columns,
    right: Columns,
    joint: Joint,
    window: Window = (None, None),
    *,
    wholes: WholeColumns | None = None,
    top: int | None = None,
    max_price: int | None = None,
    max_sets: int | None = None,
    min_grade: int | None = None,
    threads: int = 1,
) -> Table:
    """All rows, or the first `top`, in one table; see `plain.rows` for the filters.

    Args:
        left: the first stage.
        right: the second stage.
        joint: grades between the two.
        window: overall reductions wanted, both edges inclusive.
        wholes: sets of the whole train.
        top: stop after so many rows.
        max_price: greatest sum of prices.
        max_sets: greatest number of sets bought.
        min_grade: least grade of a row.
        threads: threads that make rows where all are asked for, at whatever price.

    Raises:
        PackingError: a price is negative, the factory pair has no price, or prices and ids are
            too large together.
    """
    if top is None and max_price is None and (max_sets is None or max_sets > 0):
        packed = pack(
            left,
            right,
            wholes,
            joint_grades(joint),
            max_price=None,
            max_sets=max_sets,
            min_grade=min_grade,
        )
        return expand_all(packed, find_runs(packed, window), threads)
    return Table.join(
        list(
            blocks(
                left,
                right,
                joint,
                window,
                wholes=wholes,
                top=top,
                max_price=max_price,
                max_sets=max_sets,
                min_grade=min_grade,
            )
        )
    )


def blocks(
    left: Columns,
    right: Columns,
    joint: Joint,
    window: Window = (None, None),
    *,
    wholes: WholeColumns | None = None,
    top: int | None = None,
    max_price: int | None = None,
    max_sets: int | None = None,
    min_grade: int | None = None,
) -> Iterator[Table]:
    """The rows of `table` in blocks of some ten thousand, each built when it is asked for.

    A run of equal pairs is never split over two blocks, save by `top`.

    Raises:
        PackingError: as `table`, when the first block is asked for.
    """
    if top is not None and top < 0:
        raise ValueError("top is zero or more")
    if top == 0 or (max_sets is not None and max_sets < 1):
        return
    packed = pack(
        left,
        right,
        wholes,
        joint_grades(joint),
        max_price=max_price,
        max_sets=max_sets,
        min_grade=min_grade,
    )
    missing = top
    for block in expand(packed, find_runs(packed, window), top, max_price):
        if missing is None:
            yield block
        elif missing > len(block):
            missing -= len(block)
            yield block
        else:
            yield block.head(missing)
            return


def grades(
    left: Columns, right: Columns, joint: Joint, found: Table, wholes: WholeColumns | None = None
) -> Integers:
    """The grade of each row of a table."""
    grade = np.empty(len(found), np.int64)
    whole = found.left < 0
    i, j = found.left[~whole], found.right[~whole]
    own = np.minimum(left.grade[i], right.grade[j])
    grade[~whole] = np.minimum(own, joint_grades(joint)[left.needs[i], right.brings[j]])
    if wholes is not None:
        grade[whole] = wholes.grade[found.right[whole]]
    return grade


def rows(
    problem: Problem,
    window: Window = (None, None),
    *,
    top: int | None = None,
    max_price: int | None = None,
    max_sets: int | None = None,
    min_grade: int | None = None,
) -> Iterator[Row]:
    """The same as `plain.rows`, by columns where the problem fits them."""
    filters = _Filters(top=top, max_price=max_price, max_sets=max_sets, min_grade=min_grade)
    try:
        return _rows(problem, window, filters)
    except PackingError:
        return plain.rows(problem, window, **filters)


class _Filters(TypedDict):
    top: int | None
    max_price: int | None
    max_sets: int | None
    min_grade: int | None


def _rows(problem: Problem, window: Window, filters: _Filters) -> Iterator[Row]:
    layout = lay_out(problem)
    (left, right), wholes, joint = layout.stages, layout.wholes, problem.joints[0]
    found = blocks(left, right, joint, window, wholes=wholes, **filters)
    # Packing is tried here, so that its refusal reaches the caller before the first row.
    first = next(found, None)

    def every() -> Iterator[Row]:
        block = first
        while block is not None:
            grade = grades(left, right, joint, block, wholes)
            run = np.repeat(np.arange(len(block.numerator)), np.diff(block.start))
            columns = (block.left, block.right, block.price, grade, run)
            for values in zip(*(column.tolist() for column in columns), strict=True):
                yield _row(problem, layout, block, values)
            block = next(found, None)

    return every()


def _row(problem: Problem, layout: Layout, block: Table, values: Sequence[int]) -> Row:
    i, j, price, grade, run = values
    numerator, denominator = int(block.numerator[run]), int(block.denominator[run])
    known = None if price < 0 else price
    if i < 0:
        index, at = layout.whole_sources[j]
        whole, item = problem.wholes[index], problem.wholes[index].items[at]
        return Row(
            (), index, (item,), whole.pairs, numerator, denominator, known, (item.id,), grade
        )
    sources = layout.sources[0][i], layout.sources[1][j]
    picked = [stage[index] for stage, (index, _) in zip(problem.stages, sources, strict=True)]
    items = tuple(choice.items[at] for choice, (_, at) in zip(picked, sources, strict=True))
    ids = tuple(item.id for item, choice in zip(items, picked, strict=True) if not choice.factory)
    pairs = tuple(choice.pair for choice in picked)
    return Row(
        (sources[0][0], sources[1][0]),
        None,
        items,
        pairs,
        numerator,
        denominator,
        known,
        ids,
        grade,
    )
