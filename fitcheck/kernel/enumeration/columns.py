"""Gear sets as numpy columns, and the tables of rows that come out of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fitcheck.kernel.enumeration.problem import Choice, Joint, Problem

Integers = npt.NDArray[np.int64]
Indices = npt.NDArray[np.int32]

RULED_OUT = int(np.iinfo(np.int64).min)
"""Stands for a joint's None among its grades."""


class PackingError(ValueError):
    """The problem does not fit 64-bit columns; the plain enumeration takes any."""


@dataclass(frozen=True, slots=True)
class Columns:
    """The gear sets of one stage, one row each; the factory pair, if kept, is row 0.

    Attributes:
        driver: teeth of the pinions.
        driven: teeth of the wheels.
        needs: rows of the joint with the next stage.
        brings: columns of the joint with the stage before.
        grade: own grades.
        price: minor units, -1 where unknown.
        rank: place of the id in the order of the ids of both stages and the wholes together,
            from 1, no two alike; 0 for the factory row.
    """

    driver: Integers
    driven: Integers
    needs: Integers
    brings: Integers
    grade: Integers
    price: Integers
    rank: Integers


@dataclass(frozen=True, slots=True)
class WholeColumns:
    """Sets of the whole train, one row each.

    Attributes:
        driver: teeth of the pinions, shape (rows, 2).
        driven: teeth of the wheels, shape (rows, 2).
        grade: own grades.
        price: minor units, -1 where unknown.
        rank: as in `Columns`.
    """

    driver: Integers
    driven: Integers
    grade: Integers
    price: Integers
    rank: Integers


@dataclass(frozen=True, slots=True)
class Table:
    """Rows in order.

    Attributes:
        left: row in the first stage's columns; -1 for a set of the whole train.
        right: row in the second stage's columns, or in the wholes' columns.
        price: minor units, -1 where unknown.
        start: where each run of equal pairs begins, and the number of rows at the end.
        numerator: product of the driven counts of each run.
        denominator: product of the driver counts of each run.
    """

    left: Indices
    right: Indices
    price: Integers
    start: Integers
    numerator: Integers
    denominator: Integers

    def __len__(self) -> int:
        return len(self.left)

    def head(self, number: int) -> Table:
        """The first rows."""
        runs = int(np.searchsorted(self.start, number))
        start = self.start[: runs + 1].copy()
        start[-1] = number
        return Table(
            self.left[:number],
            self.right[:number],
            self.price[:number],
            start,
            self.numerator[:runs],
            self.denominator[:runs],
        )

    @staticmethod
    def join(parts: Sequence[Table]) -> Table:
        """Several tables one after another."""
        if len(parts) == 1:
            return parts[0]
        if not parts:
            none, no_rows = np.empty(0, np.int64), np.empty(0, np.int32)
            return Table(no_rows, no_rows, none, np.zeros(1, np.int64), none, none)
        before = np.cumsum([0] + [len(part) for part in parts[:-1]])
        return Table(
            np.concatenate([part.left for part in parts]),
            np.concatenate([part.right for part in parts]),
            np.concatenate([part.price for part in parts]),
            np.concatenate(
                [np.zeros(1, np.int64)]
                + [part.start[1:] + shift for part, shift in zip(parts, before, strict=True)]
            ),
            np.concatenate([part.numerator for part in parts]),
            np.concatenate([part.denominator for part in parts]),
        )


@dataclass(frozen=True, slots=True)
class Layout:
    """A two-stage problem as columns, with the way back.

    Attributes:
        stages: the columns of both stages.
        wholes: the columns of the sets of the whole train.
        sources: for each stage and row, the choice's index and the item's within it.
        whole_sources: the same for the wholes.
    """

    stages: tuple[Columns, Columns]
    wholes: WholeColumns
    sources: tuple[list[tuple[int, int]], list[tuple[int, int]]]
    whole_sources: list[tuple[int, int]]


def lay_out(problem: Problem) -> Layout:
    """Lay a problem of two stages out in columns.

    Raises:
        PackingError: there are not two stages, a stage has two factory pairs, or an id is used
            twice.
    """
    if len(problem.stages) != 2:
        raise PackingError("columns are for trains of two stages")
    ids = [
        item.id
        for stage in problem.stages
        for choice in stage
        if not choice.factory
        for item in choice.items
    ]
    ids += [item.id for whole in problem.wholes for item in whole.items]
    rank = {name: place for place, name in enumerate(sorted(ids), 1)}
    if len(rank) != len(ids):
        raise PackingError("an id is used twice")
    left, left_sources = _stage(problem.stages[0], rank)
    right, right_sources = _stage(problem.stages[1], rank)
    whole_sources = [
        (index, at) for index, whole in enumerate(problem.wholes) for at in range(len(whole.items))
    ]
    picked = [(problem.wholes[i], problem.wholes[i].items[at]) for i, at in whole_sources]
    wholes = WholeColumns(
        _integers([[p.driver for p in whole.pairs] for whole, _ in picked]).reshape(-1, 2),
        _integers([[p.driven for p in whole.pairs] for whole, _ in picked]).reshape(-1, 2),
        _integers([whole.grade for whole, _ in picked]),
        _integers([-1 if item.price is None else item.price for _, item in picked]),
        _integers([rank[item.id] for _, item in picked]),
    )
    return Layout((left, right), wholes, (left_sources, right_sources), whole_sources)


def _stage(
    choices: Sequence[Choice], rank: dict[str, int]
) -> tuple[Columns, list[tuple[int, int]]]:
    sources = [
        (index, at) for index, choice in enumerate(choices) for at in range(len(choice.items))
    ]
    sources.sort(key=lambda source: not choices[source[0]].factory)  # the factory pair first
    if sum(choice.factory for choice in choices) > 1:
        raise PackingError("a stage has two factory pairs")
    picked = [(choices[index], choices[index].items[at]) for index, at in sources]
    if any(item.price is not None and item.price < 0 for _, item in picked):
        raise PackingError("a price is negative")
    return Columns(
        _integers([choice.pair.driver for choice, _ in picked]),
        _integers([choice.pair.driven for choice, _ in picked]),
        _integers([choice.needs for choice, _ in picked]),
        _integers([choice.brings for choice, _ in picked]),
        _integers([choice.grade for choice, _ in picked]),
        _integers([-1 if item.price is None else item.price for _, item in picked]),
        _integers([0 if choice.factory else rank[item.id] for choice, item in picked]),
    ), sources


def joint_grades(joint: Joint) -> Integers:
    """A joint as an array, `RULED_OUT` for None."""
    return _integers([[RULED_OUT if grade is None else grade for grade in row] for row in joint])


def _integers(values: Sequence[object]) -> Integers:
    try:
        return np.array(values, np.int64)
    except OverflowError as error:
        raise PackingError("a number is too large") from error
