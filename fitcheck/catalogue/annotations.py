"""What a model expects at a place inside a record: read from its annotations."""

from __future__ import annotations

import types
from collections.abc import Sequence
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from fitcheck.model.fields import Record


def expected_at(model: type[Record], loc: Sequence[str | int]) -> Any:
    """The annotation a value at `loc` under a record of `model` is held to, or None.

    `Annotated` and `| None` are peeled off; a step into a mapping or list leads to its values.
    """
    current: Any = model
    for step in loc:
        current = _step(plain_type(current), step)
        if current is None:
            return None
    return plain_type(current)


def model_at(model: type[Record], loc: Sequence[str | int]) -> type[Record] | None:
    """The model of the mapping at `loc`, or None where another kind of value belongs."""
    found = expected_at(model, loc)
    return found if isinstance(found, type) and issubclass(found, Record) else None


def field_help(model: type[Record], loc: Sequence[str | int]) -> str | None:
    """The description of the field at `loc`, if it is a field and has one."""
    field = _field_at(model, loc)
    return None if field is None else field.description


def field_example(model: type[Record], loc: Sequence[str | int]) -> Any:
    """The first example of the field at `loc`, if it is a field and has one."""
    field = _field_at(model, loc)
    return field.examples[0] if field is not None and field.examples else None


def _field_at(model: type[Record], loc: Sequence[str | int]) -> FieldInfo | None:
    owner = model_at(model, loc[:-1]) if loc else None
    return None if owner is None else owner.model_fields.get(str(loc[-1]))


def _step(current: Any, step: str | int) -> Any:
    if isinstance(current, type) and issubclass(current, Record):
        field = current.model_fields.get(str(step))
        return None if field is None else field.annotation
    arguments = get_args(current)
    origin = get_origin(current)
    if origin is dict and len(arguments) == 2:
        return arguments[1]
    if origin in (list, tuple) and arguments:
        return arguments[0]
    return None


def plain_type(annotation: Any) -> Any:
    """A type without what a model notes of it, and without `| None`."""
    while True:
        origin = get_origin(annotation)
        if origin is Annotated:
            annotation = get_args(annotation)[0]
        elif origin in (Union, types.UnionType):
            rest = [each for each in get_args(annotation) if each is not type(None)]
            if len(rest) != 1:
                return annotation
            annotation = rest[0]
        else:
            return annotation
