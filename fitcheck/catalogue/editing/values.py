"""Plain data of records, as the reader would give it back, and the single steps from old to new."""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, Literal, NamedTuple

from fitcheck.catalogue.problems import shown
from fitcheck.catalogue.scalars import MAX_EXPONENT, MAX_NUMBER_LENGTH
from fitcheck.catalogue.tree import HIDDEN, MAX_DEPTH
from fitcheck.diagnostics.finding import DocumentPath
from fitcheck.kernel.teeth import Pair, TeethError, read_pair


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
    found = HIDDEN.search(value)
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


class Step(NamedTuple):
    """One change of one value.

    Attributes:
        action: `replace` a value, `insert` a key of a mapping or an item of a list, `remove` one.
        path: where; for an item to be inserted its position afterwards.
        value: plain data.
    """

    action: Literal["replace", "insert", "remove"]
    path: DocumentPath
    value: Any = None


def at_path(data: Any, path: DocumentPath) -> Any:
    """The value at a path that is there."""
    for step in path:
        data = data[step]
    return data


def apply_step(data: Any, step: Step) -> Any:
    """A copy of the data with one step made."""
    if not step.path:
        return step.value
    data = copy.deepcopy(data)
    owner = at_path(data, step.path[:-1])
    last = step.path[-1]
    if step.action == "remove":
        del owner[last]
    elif step.action == "insert" and isinstance(owner, list):
        owner.insert(int(last), step.value)
    else:
        owner[last] = step.value
    return data


def steps_between(old: Any, new: Any, path: DocumentPath) -> Iterator[Step]:
    """The steps from one value to another, so that what is the same in both stays untouched.

    Paths hold when the steps are made in turn.
    """
    if same(new, old):
        return
    if isinstance(old, dict) and isinstance(new, dict) and old and new:
        yield from _mapping_steps(old, new, path)
    elif isinstance(old, list) and isinstance(new, list) and old and new:
        yield from _list_steps(old, new, path)
    else:
        yield Step("replace", path, new)


def _mapping_steps(old: dict[str, Any], new: dict[str, Any], path: DocumentPath) -> Iterator[Step]:
    if not any(key in new for key in old):
        yield Step("replace", path, new)
        return
    for key, value in old.items():
        if key in new:
            yield from steps_between(value, new[key], (*path, key))
    for key in old:
        if key not in new:
            yield Step("remove", (*path, key))
    for key, value in new.items():
        if key not in old:
            yield Step("insert", (*path, key), value)


def _list_steps(old: list[Any], new: list[Any], path: DocumentPath) -> Iterator[Step]:
    shorter = min(len(old), len(new))
    head = 0
    while head < shorter and same(new[head], old[head]):
        head += 1
    tail = 0
    while tail < shorter - head and same(new[-1 - tail], old[-1 - tail]):
        tail += 1
    common = shorter - head - tail
    for at in range(head, head + common):
        yield from steps_between(old[at], new[at], (*path, at))
    for at in range(len(old) - tail - 1, head + common - 1, -1):
        yield Step("remove", (*path, at))
    for at in range(head + common, len(new) - tail):
        yield Step("insert", (*path, at), new[at])
