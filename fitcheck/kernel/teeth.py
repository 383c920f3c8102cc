"""Tooth counts as people write them, and the pair they make.

`15/38`, `38/15`, `15:38`, `15x38`, `15-38`, `Z15/38`, `15 to 38` and `[15, 38]` are one pair:
the driver is always the gear with fewer teeth, since a final drive only ever reduces.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd

__all__ = [
    "MAX_TEETH",
    "MIN_TEETH",
    "PAIR_PATTERN",
    "Pair",
    "TeethError",
    "read_pair",
    "read_train",
]

MIN_TEETH = 5
MAX_TEETH = 200

_COUNT = r"(?:[5-9]|[1-9][0-9]|1[0-9][0-9]|200)"
_SEPARATORS = r"[/:xX×\-\u2010-\u2015\u2212]|[tT][oO]"
_SEPARATOR = f"(?:{_SEPARATORS})"
_Z = r"(?:[zZ]\s*=?\s*)?"
_NUMBER = r"(-?[0-9]+(?:[.,][0-9]+)?)"
_WRITTEN = re.compile(rf"\s*{_Z}{_NUMBER}\s*{_SEPARATOR}\s*{_Z}{_NUMBER}\s*")

PAIR_PATTERN = rf"^\s*{_Z}{_COUNT}\s*{_SEPARATOR}\s*{_Z}{_COUNT}\s*$"
"""An ECMA 262 pattern for the written form, for JSON Schema; it cannot refuse equal counts."""

_SHAPE = "write it as driver/driven, for example 15/38"


class TeethError(ValueError):
    """Tooth counts that make no pair; the text is one sentence a counter hand understands."""


@dataclass(frozen=True, slots=True, order=True)
class Pair:
    """Two meshing gears of one stage.

    Attributes:
        driver: teeth on the pinion, 5 to 199.
        driven: teeth on the wheel, more than the driver, up to 200.
    """

    driver: int
    driven: int

    def __post_init__(self) -> None:
        for count in (self.driver, self.driven):
            if isinstance(count, bool) or not isinstance(count, int):
                raise TeethError(f"a tooth count is a whole number, not {count!r}; {_SHAPE}")
            if not MIN_TEETH <= count <= MAX_TEETH:
                raise TeethError(
                    f"a gear with {count} teeth is out of range ({MIN_TEETH} to {MAX_TEETH}); "
                    "count again"
                )
        if self.driver == self.driven:
            raise TeethError(
                f"both gears have {self.driver} teeth, which reduces nothing; count again"
            )
        if self.driver > self.driven:
            raise TeethError(
                f"the driver has more teeth ({self.driver}) than the driven gear ({self.driven}); "
                "use read_pair, which puts the smaller first"
            )

    @property
    def reduction(self) -> Fraction:
        """Driven over driver, exact, always over 1."""
        return Fraction(self.driven, self.driver)

    @property
    def hunting(self) -> bool:
        """Whether every pinion tooth meets every wheel tooth (the counts share no factor)."""
        return gcd(self.driver, self.driven) == 1

    @property
    def turns_to_repeat(self) -> int:
        """Pinion turns after which the same two teeth meet again: driven / gcd."""
        return self.driven // gcd(self.driver, self.driven)

    def __str__(self) -> str:
        return f"{self.driver}/{self.driven}"


def read_pair(value: object) -> Pair:
    """Read one pair from text, a pair of whole numbers, or a `Pair`.

    Args:
        value: `"15/38"` and its other spellings (full-width digits and stray spaces included),
            `[15, 38]`, `(38, 15)` or a `Pair`.

    Returns:
        The pair, the smaller count as driver.

    Raises:
        TeethError: the value makes no pair; the text says why and what to write.
    """
    if isinstance(value, Pair):
        return value
    if isinstance(value, str):
        return _ordered(*_split(value))
    if isinstance(value, bool):
        raise TeethError(f"tooth counts are not yes or no; {_SHAPE}")
    if isinstance(value, int):
        raise TeethError(_explain_lone_number(value))
    if isinstance(value, Sequence):
        if len(value) != 2:
            raise TeethError(f"a pair has two tooth counts, here are {len(value)}; {_SHAPE}")
        return _ordered(value[0], value[1])
    if value is None:
        raise TeethError(f"the tooth counts are missing; {_SHAPE}")
    raise TeethError(f"{value!s} is no pair of tooth counts; {_SHAPE}")


def read_train(text: str) -> tuple[Pair, ...]:
    """Read the pairs of a train from input shaft to wheel, such as `14/46,13/49`.

    Commas, semicolons, plus signs or plain spaces part the stages.

    Raises:
        TeethError: no pair, more than three, or one that cannot be read.
    """
    folded = unicodedata.normalize("NFKC", text)
    closed = re.sub(rf"\s*({_SEPARATORS})\s*(?=[zZ0-9])", r"\1", folded)
    parts = [part for part in re.split(r"[,;+\s]+", closed.strip()) if part]
    if not parts:
        raise TeethError("no tooth counts given; write the stages in order, like 14/46,13/49")
    if len(parts) > 3:
        raise TeethError(f"a train has one to three stages, here are {len(parts)}")
    return tuple(read_pair(part) for part in parts)


def _split(text: str) -> tuple[int, int]:
    folded = unicodedata.normalize("NFKC", text)
    found = _WRITTEN.fullmatch(folded)
    if found is None:
        shown = text.strip()
        shown = shown if len(shown) <= 40 else shown[:37] + "..."
        raise TeethError(f"{shown!r} is no pair of tooth counts; {_SHAPE}")
    counts = []
    for part in found.groups():
        if "." in part or "," in part:
            raise TeethError(f"{part} is not a whole number of teeth; {_SHAPE}")
        if len(part) > 6:
            raise TeethError(
                f"a gear with {part[:6]}... teeth is out of range "
                f"({MIN_TEETH} to {MAX_TEETH}); count again"
            )
        counts.append(int(part))
    return counts[0], counts[1]


def _ordered(first: object, second: object) -> Pair:
    for count in (first, second):
        if isinstance(count, bool) or not isinstance(count, int):
            raise TeethError(f"a tooth count is a whole number, not {count!r}; {_SHAPE}")
    assert isinstance(first, int)
    assert isinstance(second, int)
    return Pair(min(first, second), max(first, second))


def _explain_lone_number(number: int) -> str:
    # Old YAML readers take 15:38 for base 60 and hand on 938.
    first, second = divmod(number, 60)
    if MIN_TEETH <= first <= MAX_TEETH and MIN_TEETH <= second and first != second:
        return (
            f"{number} is one number, perhaps {first}:{second} read in base 60; "
            f"write {min(first, second)}/{max(first, second)}"
        )
    return f"{number} is one number, a pair has two; {_SHAPE}"
