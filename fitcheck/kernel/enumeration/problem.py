"""What is to be enumerated: choices for each stage, joints between them, and sets of a whole train.

Nothing here knows a catalogue: the caller collapses gear sets into classes of equal pair and
equal fit data, numbers the seats between neighbouring stages, and grades what it could prove.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm, prod
from typing import NamedTuple, TypedDict

from fitcheck.kernel.teeth import Pair

Joint = Sequence[Sequence[int | None]]
"""Grades between two neighbouring stages: `joint[needs of the left][brings of the right]`.

The left stage is the one nearer the input shaft. `None` rules the combination out.
"""

Window = tuple[Fraction | None, Fraction | None]
"""Least and greatest overall reduction, both inclusive; `None` leaves a side open."""


class Filters(TypedDict, total=False):
    """What rows are left out."""

    top: int | None
    """Stop after so many rows."""
    max_price: int | None
    """Greatest sum of prices in minor units; rows of unknown price are then left out."""
    max_sets: int | None
    """Greatest number of sets bought; a set of the whole train counts as one."""
    min_grade: int | None
    """Least grade of a row."""


class Item(NamedTuple):
    """One gear set, or the factory pair kept (id `""` and price 0).

    Attributes:
        id: the set's id; distinct within a class.
        price: minor units of the currency, zero or more; None where unknown.
        number: where the caller keeps the set; not looked at here.
    """

    id: str
    price: int | None = None
    number: int = 0


@dataclass(frozen=True, slots=True)
class Choice:
    """One class of a stage: equal pair, equal fit data.

    Attributes:
        pair: the tooth counts all its items share.
        grade: how well its own fit is proved: 0 unproven, 1 and up by strength of evidence.
        needs: row of the joint with the next stage: the seat its wheel needs there.
        brings: column of the joint with the stage before: the seat its pinion offers.
        items: the sets, in any order; for the factory pair one item without id, priced 0.
        factory: whether this is the factory pair kept.
    """

    pair: Pair
    grade: int
    needs: int
    brings: int
    items: Sequence[Item]
    factory: bool = False


@dataclass(frozen=True, slots=True)
class Whole:
    """One class of sets that hold every pair of the train under one part number.

    Attributes:
        pairs: one pair a stage, input shaft first.
        grade: as in `Choice`.
        items: the sets, in any order.
    """

    pairs: tuple[Pair, ...]
    grade: int
    items: Sequence[Item]


@dataclass(frozen=True, slots=True)
class Problem:
    """Every choice of a train.

    Attributes:
        stages: the choices of each stage, input shaft first; one to three stages.
        joints: one joint for each two neighbouring stages.
        wholes: sets of the whole train.

    Raises:
        ValueError: the parts do not belong together.
    """

    stages: Sequence[Sequence[Choice]]
    joints: Sequence[Joint] = ()
    wholes: Sequence[Whole] = ()

    def __post_init__(self) -> None:
        if not 1 <= len(self.stages) <= 3:
            raise ValueError(f"a train has one to three stages, not {len(self.stages)}")
        if len(self.joints) != len(self.stages) - 1:
            raise ValueError("there is one joint between each two neighbouring stages")
        for whole in self.wholes:
            if len(whole.pairs) != len(self.stages):
                raise ValueError("a set of the whole train holds one pair a stage")
        for choice in (choice for stage in self.stages for choice in stage):
            _check_items(choice.items)
            if choice.factory and len(choice.items) != 1:
                raise ValueError("the factory pair kept is one item")
        for whole in self.wholes:
            _check_items(whole.items)
        for joint, left, right in zip(self.joints, self.stages, self.stages[1:], strict=False):
            rows, columns = len(joint), min((len(row) for row in joint), default=0)
            if any(not 0 <= choice.needs < rows for choice in left) or any(
                not 0 <= choice.brings < columns for choice in right
            ):
                raise ValueError("a choice points outside the joint of its stage")

    def grade(self, stage: int, needs: int, factory: bool, choice: Choice) -> int | None:
        """Grade of a choice and of its joint with the stage before; None if it cannot follow.

        Args:
            stage: the stage of the choice.
            needs: row of that joint: the seat that the stage before needs.
            factory: whether the stage before keeps its factory pair.
            choice: the choice.
        """
        if not stage or (factory and choice.factory):
            return choice.grade
        joint = self.joints[stage - 1][needs][choice.brings]
        return None if joint is None else min(joint, choice.grade)


def _check_items(items: Sequence[Item]) -> None:
    if len({item.id for item in items}) != len(items):
        raise ValueError("a set is listed twice in one class")


class Row(NamedTuple):
    """One combination.

    Attributes:
        choices: index of the choice in each stage; empty for a set of the whole train.
        whole: index of the whole, or None.
        items: the item taken in each stage, or the one item of a whole.
        pairs: one pair a stage.
        numerator: product of the driven counts, not reduced.
        denominator: product of the driver counts.
        price: sum of the prices in minor units, None if any is unknown.
        ids: ids of the sets to buy, input shaft first; the factory pair has none.
        grade: the least grade of the choices and of the joints between them.
    """

    choices: tuple[int, ...]
    whole: int | None
    items: tuple[Item, ...]
    pairs: tuple[Pair, ...]
    numerator: int
    denominator: int
    price: int | None
    ids: tuple[str, ...]
    grade: int

    @property
    def reduction(self) -> Fraction:
        """The overall reduction."""
        return Fraction(self.numerator, self.denominator)


@dataclass(frozen=True, slots=True)
class Counts:
    """How many combinations there are; the numbers add up to the product of the choices.

    Attributes:
        by_grade: combinations of each grade that occurs, grades rising.
        ruled_out: combinations a joint rules out.
    """

    by_grade: Mapping[int, int]
    ruled_out: int

    @property
    def total(self) -> int:
        """All combinations, ruled out or not."""
        return sum(self.by_grade.values()) + self.ruled_out

    def between(self, least: int | None = None, greatest: int | None = None) -> int:
        """Combinations whose grade is in a range, both ends included."""
        return sum(
            number
            for grade, number in self.by_grade.items()
            if (least is None or grade >= least) and (greatest is None or grade <= greatest)
        )


class Scale:
    """Turns every reduction of a problem into a whole number by one common denominator.

    With the common multiple of the drivers as unit, comparing two products of whole numbers is
    comparing two reductions by cross-multiplication, done once for all.

    Attributes:
        unit: what stands for a reduction of one.
        values: for each stage the scaled reduction of each choice; their product over the
            stages is the scaled overall reduction.
        codes: for each stage the pair of each choice as one number, in the order of pairs.
    """

    def __init__(self, problem: Problem) -> None:
        units = [lcm(*(choice.pair.driver for choice in stage)) for stage in problem.stages]
        product = prod(units)
        self.unit = lcm(product, *(prod(p.driver for p in w.pairs) for w in problem.wholes))
        # What the wholes ask beyond the stages' own units is carried by the first stage.
        units[0] *= self.unit // product
        self.values = [
            [choice.pair.driven * (unit // choice.pair.driver) for choice in stage]
            for stage, unit in zip(problem.stages, units, strict=True)
        ]
        self.codes = [[code((choice.pair,)) for choice in stage] for stage in problem.stages]

    def whole(self, whole: Whole) -> int:
        """The scaled reduction of a set of the whole train."""
        return prod(p.driven for p in whole.pairs) * (
            self.unit // prod(p.driver for p in whole.pairs)
        )

    def window(self, window: Window) -> tuple[int, int | None]:
        """The scaled whole numbers inside a window, both ends included."""
        least, greatest = window
        return (
            0 if least is None else -(-least.numerator * self.unit // least.denominator),
            None if greatest is None else greatest.numerator * self.unit // greatest.denominator,
        )


def code(pairs: Sequence[Pair]) -> int:
    """Pairs as one number whose order is the order of the pairs (16 bits a pair)."""
    number = 0
    for pair in pairs:
        number = number << 16 | pair.driver << 8 | pair.driven
    return number
