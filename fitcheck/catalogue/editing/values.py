"""Values to be written: plain data as the reader would give it back, and when two are the same."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from fitcheck.catalogue.problems import shown
from fitcheck.catalogue.scalars import MAX_EXPONENT, MAX_NUMBER_LENGTH
from fitcheck.catalogue.tree import MAX_DEPTH
from fitcheck.kernel.teeth import Pair, TeethError, read_pair

# As the reader refuses them, in a file and behind an escape alike.
_HIDDEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]")


class Bare(str):
    """A date or a pair: a text that stands without quotes, since every reader knows it."""

    __slots__ = ()


def plain_data(value: object, name: str = "the value", depth: int = 0) -> Any:
    """A value as the reader would give it back: text, int, Decimal, bool, None, dicts and lists.

    Args:
        value: one of these, or a date, a `Pair`, or any mapping or sequence of them. No float:
            the digits of a price or a band must be those that were given.
        name: what it is, for the error.
        depth: how deep it stands.

    Returns:
        The value; dates and pairs as `Bare` text.

    Raises:
        TypeError: a value of another type.
        ValueError: a text with a hidden character, or a number that the reader would refuse.
    """
    if depth > MAX_DEPTH:
        raise ValueError(f"{name} is nested more than {MAX_DEPTH} deep")
    if isinstance(value, Mapping):
        return _mapping(value, name, depth)
    if isinstance(value, Sequence) and not isinstance(value, str | bytes | bytearray):
        return [
            plain_data(item, f"item {at} of {name}", depth + 1) for at, item in enumerate(value, 1)
        ]
    return _scalar(value, name)


def _scalar(value: object, name: str) -> Any:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return _text(value, name)
    if isinstance(value, int | Decimal):
        return _number(value, name)
    if isinstance(value, Pair):
        return Bare(str(value))
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return Bare(value.isoformat())
    raise TypeError(f"{name} is of type {type(value).__name__}, which no catalogue file holds")


def _text(value: str, name: str) -> str:
    found = _HIDDEN.search(value)
    if found is not None:
        raise ValueError(f"{name} holds the hidden character U+{ord(found.group()):04X}")
    return Bare(value) if isinstance(value, Bare) else str(value)


def _number(value: int | Decimal, name: str) -> int | Decimal:
    if isinstance(value, int):
        value = int(value)  # an enum of ints, too
    elif not value.is_finite():
        raise ValueError(f"{name} is no finite number")
    elif value and abs(value.adjusted()) > MAX_EXPONENT:
        raise ValueError(f"{name} is a number beyond what is read")
    if len(number_text(value)) > MAX_NUMBER_LENGTH:
        raise ValueError(
            f"{name} is a number beyond what is read: {len(number_text(value))} digits"
        )
    return value


def _mapping(value: Mapping[Any, object], name: str, depth: int) -> dict[str, Any]:
    data: dict[str, Any] = {}
    for key, item in value.items():
        if not isinstance(key, str):
            raise TypeError(f"a key of {name} is of type {type(key).__name__}; keys are texts")
        text = str(_text(key, f"a key of {name}"))
        if not text or "\n" in text or text == "<<":
            raise ValueError(f"{shown(text)!r} cannot be a key of {name}")
        data[text] = plain_data(item, shown(text), depth + 1)
    return data


def number_text(value: int | Decimal) -> str:
    """A number in digits, its decimals as given: 49.90 stays 49.90, and 1E+2 becomes 100."""
    return str(value) if isinstance(value, int) else f"{value:f}"


def same(new: Any, old: Any) -> bool:
    """Whether two plain values are the same to a reader.

    A truth value is no number and a number no text; 49.9 and 49.90 are the same, and a pair is
    the same however it is written.
    """
    if isinstance(new, dict):
        return (
            isinstance(old, dict)
            and new.keys() == old.keys()
            and all(same(item, old[key]) for key, item in new.items())
        )
    if isinstance(new, Bare) and (isinstance(old, list) or (isinstance(old, str) and new != old)):
        return _same_pair(new, old)
    if isinstance(new, list):
        return (
            isinstance(old, list)
            and len(new) == len(old)
            and all(same(item, other) for item, other in zip(new, old, strict=True))
        )
    if isinstance(new, bool) or isinstance(old, bool) or new is None or old is None:
        return new is old
    if isinstance(new, str) or isinstance(old, str):
        return isinstance(new, str) and isinstance(old, str) and str(new) == str(old)
    return bool(new == old)


def _same_pair(new: Bare, old: Any) -> bool:
    try:
        return read_pair(str(new)) == read_pair(old)
    except TeethError:
        return False
