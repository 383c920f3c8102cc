"""Gear sets as numpy columns, and the way back from a row of columns to its set."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fitcheck.kernel.enumeration.problem import Choice, Item, Joint, Problem

Integers = npt.NDArray[np.int64]
Indices = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]

RULED_OUT = int(np.iinfo(np.int64).min)
"""Stands for a joint's None among its grades."""

_PERFECT = int(np.iinfo(np.int64).max)


class Place(NamedTuple):
    """What one row of a stage's columns is.

    Attributes:
        choice: pair, grade and seats, as the columns have them.
        number: of the choice in its stage of the problem, or of the whole.
        item: the set.
        whole: whether it is a set of the whole train.
    """

    choice: Choice
    number: int
    item: Item
    whole: bool


@dataclass(frozen=True, slots=True)
class Stage:
    """The columns of one stage: the factory pair first, its own sets, those of the whole train.

    Attributes:
        own: number of rows that are not sets of the whole train.
        driver: teeth of the pinions.
        driven: teeth of the wheels.
        needs: rows of the layout's joint with the next stage.
        brings: columns of the layout's joint with the stage before.
        grade: own grades.
        price: minor units, -1 where unknown; Python integers where one is too large.
        rank: place of the id in the order of all ids, from 1; 0 for the factory pair.
    """

    own: int
    driver: Integers
    driven: Integers
    needs: Integers
    brings: Integers
    grade: Integers
    price: Integers
    rank: Integers


@dataclass(frozen=True, slots=True)
class Layout:
    """A problem as columns.

    Attributes:
        problem: the problem.
        places: for each stage what each of its rows is.
        stages: the columns of each stage.
        joints: for each stage the grades of its joint with the stage before. The last row and
            column are those of sets of the whole train, the last but one the factory pair's:
            neither two factory pairs nor a set of the whole train need a grade.
    """

    problem: Problem
    places: tuple[list[Place], ...]
    stages: tuple[Stage, ...]
    joints: tuple[Integers, ...]


def lay_out(problem: Problem) -> Layout:
    """Lay a problem out in columns.

    Raises:
        ValueError: a price is negative.
    """
    kept = [next((one for one in stage if one.factory), None) for stage in problem.stages]
    # Nothing is before the first stage or after the last; a joint with one seat fits all there.
    end = np.full((3, 3), _PERFECT)
    inner = map(_grade_joint, problem.joints, kept, kept[1:])
    joints = [end, *inner, end]
    places = tuple(
        _list_places(problem, stage, joints[stage].shape[1], joints[stage + 1].shape[0])
        for stage in range(len(problem.stages))
    )
    ids = {place.item.id for stage in places for place in stage if not place.choice.factory}
    rank = {name: number for number, name in enumerate(sorted(ids), 1)}
    stages = tuple(_lay_out_stage(stage, rank) for stage in places)
    return Layout(problem, places, stages, tuple(joints[:-1]))


def _grade_joint(joint: Joint, left: Choice | None, right: Choice | None) -> Integers:
    """A joint between two stages of a layout, with the two seats it has more."""
    rows, columns = len(joint), min((len(row) for row in joint), default=0)
    grades = np.full((rows + 2, columns + 2), _PERFECT)
    for at, row in enumerate(joint):
        grades[at, :columns] = [RULED_OUT if grade is None else grade for grade in row[:columns]]
    if left is not None:
        grades[rows, :columns] = grades[left.needs, :columns]
    if right is not None:
        grades[:rows, columns] = grades[:rows, right.brings]
    return grades


def _list_places(problem: Problem, stage: int, columns: int, rows: int) -> list[Place]:
    """The rows of a stage between joints of so many columns and rows."""
    seated = []
    for index, choice in enumerate(problem.stages[stage]):
        needs, brings = choice.needs, choice.brings if stage else 0
        if choice.factory:
            needs, brings = rows - 2, columns - 2
        seated.append((index, replace(choice, needs=needs, brings=brings), False))
    seated.sort(key=lambda one: not one[1].factory)
    for index, whole in enumerate(problem.wholes):
        choice = Choice(
            pair=whole.pairs[stage],
            grade=whole.grade,
            needs=rows - 1,
            brings=columns - 1,
            items=whole.items,
        )
        seated.append((index, choice, True))
    return [
        Place(choice, index, item, whole)
        for index, choice, whole in seated
        for item in choice.items
    ]


def _lay_out_stage(places: Sequence[Place], rank: dict[str, int]) -> Stage:
    def column(value: Callable[[Place], int]) -> Integers:
        return np.array([value(place) for place in places], np.int64)

    prices = [-1 if place.item.price is None else place.item.price for place in places]
    if any(place.item.price is not None and place.item.price < 0 for place in places):
        raise ValueError("a price is negative")
    large = max(prices, default=0) > _PERFECT
    return Stage(
        own=sum(not place.whole for place in places),
        driver=column(lambda place: place.choice.pair.driver),
        driven=column(lambda place: place.choice.pair.driven),
        needs=column(lambda place: place.choice.needs),
        brings=column(lambda place: place.choice.brings),
        grade=column(lambda place: place.choice.grade),
        price=np.array(prices, object if large else np.int64),
        rank=column(lambda place: 0 if place.choice.factory else rank[place.item.id]),
    )
