"""Teeth in words, and what becomes of the road speed where they change."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import prod

from fitcheck.errors import UsageError
from fitcheck.kernel.rounding import decimal_text, percent
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage


def one_line(text: str, what: str) -> str:
    """A text that stands on one line, blanks at its ends taken off.

    Raises:
        UsageError: it holds a line break or another character that cannot be shown.
    """
    plain = text.strip()
    wrong = next((char for char in plain if not char.isprintable()), None)
    if wrong is not None:
        code = wrong.encode("unicode_escape").decode("ascii")
        raise UsageError(f"{what} holds the character {code}; write it in one line of plain words")
    return plain


def teeth_words(pairs: Mapping[Stage, Pair]) -> str:
    """Such as `primary 15/40 and secondary 13/48`."""
    return " and ".join(f"{stage} {pair}" for stage, pair in pairs.items())


def pair_words(pairs: Mapping[Stage, Pair]) -> str:
    """Such as `primary 15/40, secondary 13/48`."""
    return ", ".join(f"{stage} {pair}" for stage, pair in pairs.items())


def change_words(old: Mapping[Stage, Pair], new: Mapping[Stage, Pair]) -> str:
    """What other teeth do, such as `road speed +2.5 %` where the stages are the same."""
    if old.keys() != new.keys():
        return "the stages are others"
    before, after = (
        prod((pair.reduction for pair in pairs.values()), start=Fraction(1)) for pairs in (old, new)
    )
    change = 100 * (before / after - 1)
    told = f"reduction {decimal_text(before, 3)} to {decimal_text(after, 3)}"
    return f"{told}, road speed {percent(change, (Fraction(0),), places=1)}"
