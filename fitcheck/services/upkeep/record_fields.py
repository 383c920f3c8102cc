"""Fields of records as they are named on the command line, and how their values are read.

Names and readers come from the models: a field given there can be edited.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from fitcheck.catalogue.places import plain_type
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair, TeethError, read_pair
from fitcheck.model.fields import Currency, Lines, Money, Record, RefersTo, Text
from fitcheck.model.kinds import KINDS
from fitcheck.services.upkeep.typed_values import one_line, typed_amount, typed_day, typed_measure

_LONGEST = 60


@dataclass(frozen=True, slots=True)
class Assignment:
    """One field and its new value.

    Attributes:
        name: the field as it was named.
        path: where it stands in the record; `fits` and `pairs` of a set have rules of their own.
        value: the value, None where the field is taken out.
        refers_to: the kind of record whose id or name the value is.
    """

    name: str
    path: tuple[str, ...]
    value: Any
    refers_to: str | None = None


def read_text(text: str) -> str:
    """A text in one line."""
    return one_line(text, "the value")


def _whole(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text, re.ASCII):
        raise UsageError(f"{shown_word(text)} is no whole number")
    return int(text)


def read_ids(text: str) -> list[str] | None:
    """Ids or names with commas or semicolons between; None where there is none."""
    return _items(re.split("[;,]", read_text(text))) or None


def _items(parts: list[str]) -> list[str]:
    """What stands between the marks, each once, in order."""
    return list(dict.fromkeys(part.strip() for part in parts if part.strip()))


def _choice(known: Sequence[str]) -> FieldReader:
    def read(text: str) -> str:
        if text in known:
            return text
        near = nearest(text, known)
        hint = f"did you mean {near}?" if near else f"there is {or_list(known)}"
        raise UsageError(f"{shown_word(text)} is invalid; {hint}")

    return read


def _pair(text: str) -> Any:
    try:
        return read_pair(text)
    except TeethError as error:
        raise UsageError(str(error)) from None


def _list_of(kind: Any) -> FieldReader | None:
    """Reads a list; a semicolon parts its items, and a comma too where no item can hold one."""
    read = _reader(kind)

    def read_list(text: str) -> list[Any] | None:
        parts = _items(re.split(";" if kind == Text else "[;,]", read_text(text)))
        return [read(part) for part in parts] if read is not None and parts else None

    return None if read is None else read_list


FieldReader = Callable[[str], Any]

_BY_KIND: tuple[tuple[Any, FieldReader], ...] = (
    (Money, typed_amount),
    (Currency, lambda text: read_text(text).upper()),
    (Lines, str),
)
_BY_TYPE: Mapping[type, FieldReader] = {
    str: read_text,
    int: _whole,
    float: typed_measure,
    Decimal: typed_measure,
    bool: lambda text: _choice(("yes", "no"))(text) == "yes",
    dt.date: typed_day,
    Pair: _pair,
}


def _reader(kind: Any) -> FieldReader | None:
    """What reads a value of a field's type; None where it is not written in one word."""
    kinds = get_args(kind) if get_origin(kind) in (Union, UnionType) else (kind,)
    for known, read in _BY_KIND:
        if known in kinds:
            return read
    plain = plain_type(kind)
    if get_origin(plain) is Literal:
        return _choice(get_args(plain))
    if get_origin(plain) is list:
        return _list_of(get_args(plain)[0])
    return _BY_TYPE.get(plain) if isinstance(plain, type) else None


ANY_KEY = "*"
"""Step of a path that stands for any key of a mapping, such as the id of a housing."""


def read_fields(
    kind: Any, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], FieldReader]]:
    """Every single field below a model, or a type of one of its fields, and what reads it.

    A list of records has no single fields.

    Args:
        kind: the model or type.
        path: where it stands.
    """
    plain = plain_type(kind)
    if get_origin(plain) is dict:
        names, inner = get_args(plain)
        known = get_args(names) if get_origin(names) is Literal else (ANY_KEY,)
        for name in known:
            yield from read_fields(inner, (*path, name))
    elif isinstance(plain, type) and issubclass(plain, Record):
        for name, inner in get_type_hints(plain, include_extras=True).items():
            if name in plain.model_fields:
                yield from read_fields(inner, (*path, name))
    elif (read := _reader(kind)) is not None:
        yield path, read


def _reference_of(kind: Any) -> str | None:
    """The kind of record whose id a field of this type holds; None where it holds none."""
    found = None
    while found is None and get_origin(kind) is not None and not isinstance(kind, RefersTo):
        first, *rest = get_args(kind) if get_origin(kind) is not dict else get_args(kind)[1:]
        found = next((each.kind for each in rest if isinstance(each, RefersTo)), None)
        kind = first
    return found


@cache
def fields_of(kind: str) -> Mapping[str, tuple[tuple[str, ...], FieldReader]]:
    """Every single field of a kind of record by its name, with its path and what reads it.

    The teeth of a whole train are `teeth`, the rim size is also `wheel`.
    """
    found = {".".join(path): (path, read) for path, read in read_fields(KINDS[kind])}
    if "pairs" in KINDS[kind].model_fields:
        found["teeth"] = ("pairs",), read_text
    if "wheel_size_in" in found:
        found["wheel"] = found["wheel_size_in"]
    return found


def read_record_fields(kind: str, what: str, words: Sequence[str]) -> list[Assignment]:
    """Read several `field=value` of a record; nothing after the sign takes the field out.

    Args:
        kind: the kind of the record.
        what: what it is called, such as `a machine`.
        words: as they were typed.

    Raises:
        UsageError: no such field, with the nearest; a value it cannot have; or a field is given
            twice, since either may be meant.
    """
    found = [_read_field(kind, what, word) for word in words]
    refuse_repeated(found)
    return found


def _read_field(kind: str, what: str, word: str) -> Assignment:
    name, text = split_assignment(word)
    table = fields_of(kind)
    folded = name.replace("-", "_")
    known = folded if folded in table else _with_key(table, name)
    if known is None:
        if folded.partition(".")[0] in KINDS[kind].model_fields:
            raise UsageError(f"{folded} is more than one value; change it in the file by hand")
        near = nearest(folded, table)
        hint = f"did you mean {near}?" if near else f"there is {or_list(KINDS[kind].model_fields)}"
        raise UsageError(f"{what} has no field {shown_word(name)}; {hint}")
    path, read = table[known]
    own = tuple(name.split(".", len(path) - 1)) if ANY_KEY in path else path
    try:
        value = read(text) if text else None
    except UsageError as error:
        raise UsageError(f"{name}: {error}") from None
    return Assignment(known if own == path else name, own, value, reference_at(kind, path))


def _with_key(table: Mapping[str, Any], name: str) -> str | None:
    """The field with keys of the shop's own that a name stands for."""
    for known in table:
        steps = known.split(".")
        given = name.split(".", len(steps) - 1)
        if ANY_KEY in steps and len(given) == len(steps):
            pairs = list(zip(steps, given, strict=True))
            if all(mine and step in (ANY_KEY, mine) for step, mine in pairs):
                return known
    return None


def reference_at(kind: str, path: tuple[str, ...]) -> str | None:
    """The kind of record whose id stands at a path of a record, if any does."""
    current: Any = KINDS[kind]
    for step in path:
        plain = plain_type(current)
        if isinstance(plain, type) and issubclass(plain, Record):
            current = get_type_hints(plain, include_extras=True)[step]
        else:
            current = get_args(plain)[1]
    return _reference_of(current)


def split_assignment(word: str) -> tuple[str, str]:
    """The field's name and the text of its value in `field=value`.

    Raises:
        UsageError: it is no such word.
    """
    name, sign, text = word.partition("=")
    if not sign or not name.strip():
        raise UsageError(f"{shown_word(word)} is no field=value; write it like price=64.90")
    return name.strip(), text.strip()


def refuse_repeated(found: Sequence[Assignment]) -> None:
    """Refuse a field that is given twice, or teeth both as a whole and for one stage.

    Raises:
        UsageError: one is.
    """
    names = [each.name for each in found]
    for name in names:
        if names.count(name) > 1:
            raise UsageError(f"{name} is given twice; give it once")
    whole = next((each.name for each in found if each.path == ("pairs",)), None)
    part = next((each.name for each in found if each.path[0] == "pairs" and each.path[1:]), None)
    if whole is not None and part is not None:
        raise UsageError(f"{whole} and {part} both say teeth; give one of them")


def shown_word(text: str) -> str:
    """A word as it was typed, in quotes, cut where it is long."""
    return repr(text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3]}...")
