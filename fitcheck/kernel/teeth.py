"""Tooth counts as people write them, and the pair they make.

`15/38`, `38/15`, `15:38`, `15x38`, `15-38`, `Z15/38`, `15 to 38` and `[15, 38]` are one pair:
the driver is always the gear with fewer teeth, since a final drive only ever reduces.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import gcd

MIN_TEETH = 5
MAX_TEETH = 200

_LONGEST_TRAIN = 200

_COUNT = r"0*(?:[5-9]|[1-9][0-9]|1[0-9][0-9]|200)"
# Every dash and multiplication, division or ratio sign that keyboards, phones and list programs
# put between two counts.
_SEPARATOR = r"(?:[/:xX×\-\u2010-\u2015\u2212\u2044\u2215\u2236]|[tT][oO])"
_Z = r"(?:[zZ](?:\s*=)?\s*)?"
_NUMBER = r"-?[0-9]+(?:[.,][0-9]+)?"
_LIST = rf"\[\s*({_NUMBER})\s*,\s*({_NUMBER})\s*\]"
_LISTED = re.compile(rf"\s*{_LIST}\s*")
_LISTED_STAGE = re.compile(rf"(?<![^\s,;+]){_LIST}(?![^\s,;+])")
_CHAIN = re.compile(rf"\s*{_Z}{_NUMBER}(?:\s*{_SEPARATOR}\s*{_Z}{_NUMBER})*\s*")
_MEMBER = re.compile(rf"(?:^\s*|{_SEPARATOR}\s*){_Z}({_NUMBER})")
_FULL_WIDTH = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}

PAIR_PATTERN = (
    rf"^\s*(?:{_Z}{_COUNT}\s*{_SEPARATOR}\s*{_Z}{_COUNT}|\[\s*{_COUNT}\s*,\s*{_COUNT}\s*\])\s*$"
)
"""An ECMA 262 pattern for the written form, for JSON Schema.

It cannot refuse equal counts, and leaves full-width characters to `read_pair`.
"""

_SHAPE = "write it as driver/driven, for example 15/38"
_TRAIN_SHAPE = "write the stages in order, like 14/45,13/48"


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
                raise TeethError(f"a tooth count is a whole number, not {_shown(count)}; {_SHAPE}")
            if not MIN_TEETH <= count <= MAX_TEETH:
                noun = "tooth" if count == 1 else "teeth"
                raise TeethError(
                    f"a gear with {_shown(count)} {noun} is out of range "
                    f"({MIN_TEETH} to {MAX_TEETH}); count again"
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
    if isinstance(value, Sequence) and not isinstance(value, (bytes, bytearray, memoryview)):
        if len(value) != 2:
            raise TeethError(f"a pair has two tooth counts, here are {len(value)}; {_SHAPE}")
        return _ordered(value[0], value[1])
    if value is None:
        raise TeethError(f"the tooth counts are missing; {_SHAPE}")
    raise TeethError(f"{_shown(value)} is no pair of tooth counts; {_SHAPE}")


def read_train(text: str) -> tuple[Pair, ...]:
    """Read the pairs of a train from input shaft to wheel, such as `14/45,13/48`.

    Commas, semicolons, plus signs or plain spaces part the stages.

    Raises:
        TeethError: no pair, more than three, or one that cannot be read.
    """
    if len(text) > _LONGEST_TRAIN:
        raise TeethError(f"{_shown(text)} is too long for a train; {_TRAIN_SHAPE}")
    folded = _LISTED_STAGE.sub(r"\1/\2", text.translate(_FULL_WIDTH))
    # Spaces inside a pair are closed, so that those left part the stages.
    closed = re.sub(rf"(?<=[0-9])\s*({_SEPARATOR})\s*(?=[zZ0-9-])", r"\1", folded)
    closed = re.sub(r"(?<![a-zA-Z])([zZ])\s*=?\s*(?=[0-9-])", r"\1", closed)
    parts = [part for part in re.split(r"[,;+\s]+", closed) if part]
    if not parts:
        raise TeethError(f"no tooth counts given; {_TRAIN_SHAPE}")
    if all(part.isdecimal() for part in parts) and len(parts) in {2, 4, 6}:
        pairs = " ".join(map("/".join, zip(parts[::2], parts[1::2], strict=True)))
        raise TeethError(f"{_shown(text)} has no slash; write {pairs}")
    if len(parts) > 3:
        raise TeethError(f"a train has one to three stages, here are {len(parts)}")
    return tuple(read_pair(part) for part in parts)


def _clip(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."


def _shown(value: object) -> str:
    try:
        return _clip(str(value) if isinstance(value, (int, float, Decimal)) else repr(value))
    except (ValueError, RecursionError):  # an integer of thousands of digits; endless nesting
        if isinstance(value, int):
            return f"about {'-' * (value < 0)}1e{value.bit_length() * 3 // 10}"
        return f"a value of type {type(value).__name__}"


def _split(text: str) -> tuple[int, int]:
    if not text.strip():
        raise TeethError(f"the tooth counts are missing; {_SHAPE}")
    # Only the full-width forms are folded: a general compatibility fold would take superscripts
    # and vulgar fractions for counts.
    folded = text.translate(_FULL_WIDTH)
    listed = _LISTED.fullmatch(folded)
    if listed is None and _CHAIN.fullmatch(folded) is None:
        raise TeethError(f"{_shown(text.strip())} is no pair of tooth counts; {_SHAPE}")
    counts = [_count(number) for number in (listed.groups() if listed else _MEMBER.findall(folded))]
    if len(counts) == 1:
        raise TeethError(_explain_lone_number(counts[0]))
    if len(counts) in (4, 6):
        raise TeethError(
            f"{len(counts)} tooth counts make {len(counts) // 2} stages; "
            "part the stages with a comma, like 14/45,13/48"
        )
    if len(counts) != 2:
        raise TeethError(f"a pair has two tooth counts, here are {len(counts)}; {_SHAPE}")
    return counts[0], counts[1]


def _count(number: str) -> int:
    if "." in number or "," in number:
        raise TeethError(f"{_clip(number)} is not a whole number of teeth; {_SHAPE}")
    sign = "-" if number.startswith("-") else ""
    digits = sign + (number.removeprefix("-").lstrip("0") or "0")
    if len(digits) > 40:  # int() itself refuses thousands of digits
        raise TeethError(
            f"a gear with {_clip(digits)} teeth is out of range "
            f"({MIN_TEETH} to {MAX_TEETH}); count again"
        )
    return int(digits)


def _ordered(first: object, second: object) -> Pair:
    for count in (first, second):
        if isinstance(count, bool) or not isinstance(count, int):
            raise TeethError(f"a tooth count is a whole number, not {_shown(count)}; {_SHAPE}")
    assert isinstance(first, int)
    assert isinstance(second, int)
    return Pair(min(first, second), max(first, second))


def _explain_lone_number(number: int) -> str:
    # Old YAML readers take 15:38 for base 60 and hand on 938.
    first, second = divmod(number, 60)
    if MIN_TEETH <= first <= MAX_TEETH and second >= MIN_TEETH and first != second:
        return (
            f"{number} is one number, perhaps {first}:{second:02d} read in base 60; "
            f"write {min(first, second)}/{max(first, second)}"
        )
    return f"{_shown(number)} is one number, a pair has two; {_SHAPE}"
