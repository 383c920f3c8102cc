"""Reductions and what a change of gears or tyre does: exact fractions throughout.

Two percentages describe one change and are easily mixed up: a 30 % rise in road speed is a 23 %
drop in reduction. Every function here is named for the one it gives.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import prod

from fitcheck.kernel.teeth import Pair


def overall_reduction(pairs: Sequence[Pair]) -> Fraction:
    """Turns of the input shaft for one turn of the wheel.

    The product of driven over driver of every stage, as in Regulation (EU) 168/2013 Annex I,
    which defines an overall ratio as the product of the stage ratios.

    Raises:
        ValueError: no pair, or more than three.
    """
    if not 1 <= len(pairs) <= 3:
        raise ValueError(f"a train has one to three stages, not {len(pairs)}")
    return Fraction(prod(p.driven for p in pairs), prod(p.driver for p in pairs))


def road_speed_change(
    old_reduction: Fraction,
    new_reduction: Fraction,
    old_roll_out: Fraction = Fraction(1),
    new_roll_out: Fraction = Fraction(1),
) -> Fraction:
    """Percent by which road speed rises at the same input-shaft speed.

    Args:
        old_reduction: overall reduction now.
        new_reduction: overall reduction after the change.
        old_roll_out: distance per wheel turn now, any length unit.
        new_roll_out: distance per wheel turn after the change, the same unit.

    Raises:
        ValueError: a reduction or roll-out of zero or less.
    """
    for value in (old_reduction, new_reduction, old_roll_out, new_roll_out):
        if value <= 0:
            raise ValueError("reductions and roll-outs are over zero")
    return 100 * (old_reduction * new_roll_out / (new_reduction * old_roll_out) - 1)


def reduction_change(old_reduction: Fraction, new_reduction: Fraction) -> Fraction:
    """Percent by which the overall reduction rises; negative for a taller drive.

    Raises:
        ValueError: a reduction of zero or less.
    """
    if old_reduction <= 0 or new_reduction <= 0:
        raise ValueError("reductions are over zero")
    return 100 * (new_reduction / old_reduction - 1)


def reduction_window(
    old_reduction: Fraction,
    low: Fraction | None,
    high: Fraction | None,
    roll_out_ratio: Fraction = Fraction(1),
) -> tuple[Fraction | None, Fraction | None]:
    """The inclusive window of new reductions whose road-speed change lies in [low, high].

    Args:
        old_reduction: overall reduction now.
        low: least percent, or None for no lower edge; -100 or less is no edge either.
        high: greatest percent, or None for no upper edge.
        roll_out_ratio: new distance per wheel turn over old.

    Returns:
        (least reduction, greatest reduction), None for an open side. With low over high the
        window is empty: least over greatest.

    Raises:
        ValueError: high is -100 or less, which no drive can give; or a reduction or ratio of
            zero or less.
    """
    if old_reduction <= 0 or roll_out_ratio <= 0:
        raise ValueError("reductions and roll-outs are over zero")
    if high is not None and high <= -100:
        raise ValueError("a road-speed change is always over -100 %")
    base = old_reduction * roll_out_ratio
    least = None if high is None else base / (1 + high / 100)
    greatest = None if low is None or low <= -100 else base / (1 + low / 100)
    return least, greatest


def cut(value: Fraction, places: int = 2) -> Fraction:
    """Cut a value at so many decimals towards zero, as a pocket calculator's reader does."""
    scale = 10**places
    return Fraction(int(value * scale), scale)


@dataclass(frozen=True, slots=True)
class PaperCheck:
    """A train worked by hand: each stage cut at two decimals, then multiplied and cut.

    Attributes:
        stages: the reduction of each stage, cut.
        product: their product, cut after every multiplication.
        exact_cut: the exact overall reduction, cut once at the end.
    """

    stages: tuple[Fraction, ...]
    product: Fraction
    exact_cut: Fraction

    @property
    def agrees(self) -> bool:
        """Whether cutting at every step gives the same two decimals as the exact figure."""
        return self.product == self.exact_cut


def paper_check(pairs: Sequence[Pair]) -> PaperCheck:
    """Work a train as with paper and a pocket calculator, cutting at two decimals each step.

    Raises:
        ValueError: no pair, or more than three.
    """
    exact = overall_reduction(pairs)
    stages = tuple(cut(pair.reduction) for pair in pairs)
    product = stages[0]
    for stage in stages[1:]:
        product = cut(product * stage)
    return PaperCheck(stages, product, cut(exact))
