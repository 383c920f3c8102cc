"""From the data a record has to the data it is to have, in single steps."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

from fitcheck.catalogue.editing.values import same

Path = tuple[str | int, ...]


class Step(NamedTuple):
    """One change of one value.

    Attributes:
        action: `replace` a value, `insert` a key of a mapping or an item of a list, `remove` one.
        path: where; for an item to be inserted its position afterwards.
        value: plain data.
    """

    action: Literal["replace", "insert", "remove"]
    path: Path
    value: Any = None


def at_path(data: Any, path: Path) -> Any:
    """The value at a path that is there."""
    for step in path:
        data = data[step]
    return data


def applied(data: Any, step: Step) -> Any:
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


def steps_between(old: Any, new: Any, path: Path) -> Iterator[Step]:
    """The steps from one value to another, so that what is the same in both stays untouched.

    Paths hold when the steps are made in turn.
    """
    if same(new, old):
        return
    if isinstance(old, dict) and isinstance(new, dict) and old and new:
        yield from _mapping(old, new, path)
    elif isinstance(old, list) and isinstance(new, list) and old and new:
        yield from _list(old, new, path)
    else:
        yield Step("replace", path, new)


def _mapping(old: dict[str, Any], new: dict[str, Any], path: Path) -> Iterator[Step]:
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


def _list(old: list[Any], new: list[Any], path: Path) -> Iterator[Step]:
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
