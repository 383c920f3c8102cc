"""The order in which a record's fields stand: that of its kind's model."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, get_args, get_origin

from fitcheck.catalogue.annotations import expected_at, model_at
from fitcheck.model.fields import Record

Steps = tuple[str | int, ...]


def _names(model: type[Record], loc: Steps) -> list[str] | None:
    """Keys of the mapping at `loc` in their order; None where any key may stand in any order."""
    owner = model_at(model, loc)
    if owner is not None:
        return list(owner.model_fields)
    expected = expected_at(model, loc)
    if get_origin(expected) is dict and get_origin(get_args(expected)[0]) is Literal:
        return [str(name) for name in get_args(get_args(expected)[0])]
    return None


def place_for(model: type[Record], loc: Steps, key: str, present: Sequence[str]) -> int:
    """Position at which a new key is to stand among those present.

    Args:
        model: the record's model.
        loc: steps to the mapping inside the record.
        key: the new key.
        present: the keys there, in file order.

    Returns:
        0 to `len(present)`: behind the field that comes just before it in the model, if present;
        else before the one that comes just after it; a key of the shop's own at the end.
    """
    names = _names(model, loc)
    if names is None or key not in names:
        return len(present)
    rank = {name: at for at, name in enumerate(names)}
    own = rank[key]
    known = [(rank[name], at) for at, name in enumerate(present) if name in rank]
    before = [each for each in known if each[0] < own]
    if before:
        return max(before)[1] + 1
    behind = [each for each in known if each[0] > own]
    return min(behind)[1] if behind else len(present)


def in_order(model: type[Record], data: Any, loc: Steps = ()) -> Any:
    """The same data with the keys of every mapping in the order of the model."""
    if isinstance(data, list):
        return [in_order(model, item, (*loc, at)) for at, item in enumerate(data)]
    if not isinstance(data, dict):
        return data
    names = _names(model, loc) or []
    keys = [name for name in names if name in data]
    keys += [key for key in data if key not in names]
    return {key: in_order(model, data[key], (*loc, key)) for key in keys}
