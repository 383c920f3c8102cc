"""Fields of a gear set as they are named on the command line, and how their values are read.

Names and readers come from the model: a field given there can be edited.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from fitcheck.catalogue.places import plain_type
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair, TeethError, read_pair
from fitcheck.model.fields import Currency, Lines, Money, Record, Text
from fitcheck.model.gear_set import GearSet
from fitcheck.services.upkeep.typed_values import one_line, typed_amount, typed_day, typed_measure

_LONGEST = 60


@dataclass(frozen=True, slots=True)
class Assignment:
    """One field and its new value.

    Attributes:
        name: the field as it was named.
        path: where it stands in the record; `fits` and `pairs` have rules of their own.
        value: the value, None where the field is taken out.
    """

    name: str
    path: tuple[str, ...]
    value: Any


def _text(text: str) -> str:
    return one_line(text, "the value")


def _whole(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text, re.ASCII):
        raise UsageError(f"{_shown(text)} is no whole number")
    return int(text)


def _ids(text: str) -> list[str] | None:
    return _items(re.split("[;,]", _text(text))) or None


def _items(parts: list[str]) -> list[str]:
    """What stands between the marks, each once, in order."""
    return list(dict.fromkeys(part.strip() for part in parts if part.strip()))


def _choice(known: Sequence[str]) -> _Reader:
    def read(text: str) -> str:
        if text in known:
            return text
        near = nearest(text, known)
        hint = f"did you mean {near}?" if near else f"there is {or_list(known)}"
        raise UsageError(f"{_shown(text)} is invalid; {hint}")

    return read


def _pair(text: str) -> Any:
    try:
        return read_pair(text)
    except TeethError as error:
        raise UsageError(str(error)) from None


def _list_of(kind: Any) -> _Reader | None:
    """Reads a list; a semicolon parts its items, and a comma too where no item can hold one."""
    read = _reader(kind)

    def read_list(text: str) -> list[Any] | None:
        parts = _items(re.split(";" if kind == Text else "[;,]", _text(text)))
        return [read(part) for part in parts] if read is not None and parts else None

    return None if read is None else read_list


_Reader = Callable[[str], Any]

_BY_KIND: tuple[tuple[Any, _Reader], ...] = (
    (Money, typed_amount),
    (Currency, lambda text: _text(text).upper()),
    (Lines, str),
)
_BY_TYPE: Mapping[type, _Reader] = {
    str: _text,
    int: _whole,
    float: typed_measure,
    Decimal: typed_measure,
    bool: lambda text: _choice(("yes", "no"))(text) == "yes",
    dt.date: typed_day,
    Pair: _pair,
}


def _reader(kind: Any) -> _Reader | None:
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


def read_fields(kind: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], _Reader]]:
    """Every single field below a model, or a type of one of its fields, and what reads it.

    A list of records has no single fields.

    Args:
        kind: the model or type.
        path: where it stands.
    """
    plain = plain_type(kind)
    if get_origin(plain) is dict:
        names, inner = get_args(plain)
        for name in get_args(names):
            yield from read_fields(inner, (*path, name))
    elif isinstance(plain, type) and issubclass(plain, Record):
        for name, inner in get_type_hints(plain, include_extras=True).items():
            if name in plain.model_fields:
                yield from read_fields(inner, (*path, name))
    elif (read := _reader(kind)) is not None:
        yield path, read


_NOT_EDITED = {
    name: f"{name} is not set by edit; {advice}"
    for name, advice in {
        "successor": "fitcheck retire SET --successor SET names it, successor= takes it out",
        "supplier": "a set stays with its supplier; add it under the other one and retire this",
        "id": "an id never changes; add the set under another id and retire this one",
        "fits": "name the family: fits.FAMILY=HOUSING,HOUSING",
    }.items()
}
"""Fields that an edit does not set, each with what to say."""

_SHORT = {"listed_for.models": "models", "listed_for.wheel_size_in": "wheel"}


def _name(path: tuple[str, ...]) -> str:
    name = ".".join("teeth" if step == "pairs" else step for step in path)
    return _SHORT.get(name, name)


_TABLE: Mapping[str, tuple[tuple[str, ...], _Reader]] = {
    "teeth": (("pairs",), _text),
    "housings": (("fits",), _ids),
    "evidence": (("fits", "", "evidence"), _text),
    **{
        _name(path): (path, read)
        for path, read in read_fields(GearSet)
        if path[0] not in _NOT_EDITED
    },
}

_OTHER_WORDS = {
    **{".".join(path): name for name, (path, _) in _TABLE.items()},
    "housing": "housings",
    "fits.housings": "housings",
}

_TAKEN_OUT_ONLY = frozenset({"successor"})

_OPEN = re.compile(r"fits\.([^.]+)(\.evidence)?")
"""Fields that hold the name of a family."""

NAMES = (*_TABLE, "fits.FAMILY", "fits.FAMILY.evidence")
"""Every field that can be named."""


def _read_assignment(word: str, elsewhere: Mapping[str, str]) -> Assignment:
    """Read `field=value`; nothing after the sign takes the field out.

    Args:
        word: as it was typed.
        elsewhere: fields that are not given so, each with what to say.

    Raises:
        UsageError: no such field, with the nearest, or a value it cannot have.
    """
    name, sign, text = word.partition("=")
    name, text = name.strip(), text.strip()
    if not sign or not name:
        raise UsageError(f"{_shown(word)} is no field=value; write it like price=64.90")
    folded = name.replace("-", "_")
    folded = _OTHER_WORDS.get(folded, folded)
    if folded in elsewhere and (text or folded not in _TAKEN_OUT_ONLY):
        raise UsageError(elsewhere[folded])
    if folded in _TAKEN_OUT_ONLY:
        return Assignment(folded, (folded,), None)
    family = _OPEN.fullmatch(name)
    if family is not None:
        if family[2]:
            return Assignment(name, ("fits", family[1], "evidence"), text or None)
        housings = _ids(text)
        if text and housings is None:
            raise UsageError(f"{name}: {_shown(text)} names no housing; leave it empty to take out")
        return Assignment(name, ("fits", family[1]), housings)
    if folded not in _TABLE:
        near = nearest(folded, NAMES)
        hint = f"did you mean {near}?" if near else f"there is {or_list(NAMES)}"
        raise UsageError(f"a gear set has no field {_shown(name)}; {hint}")
    path, read = _TABLE[folded]
    if not text:
        return Assignment(folded, path, None)
    try:
        return Assignment(folded, path, read(text))
    except UsageError as error:
        raise UsageError(f"{folded}: {error}") from None


def read_assignments(
    words: Sequence[str], elsewhere: Mapping[str, str] = _NOT_EDITED
) -> list[Assignment]:
    """Read several `field=value`; nothing after the sign takes the field out.

    Args:
        words: as they were typed.
        elsewhere: fields that are not given so, each with what to say.

    Raises:
        UsageError: no such field, with the nearest; a value it cannot have; or a field is given
            twice, since either may be meant.
    """
    found = [_read_assignment(word, elsewhere) for word in words]
    names = [each.name for each in found]
    for name in names:
        if names.count(name) > 1:
            raise UsageError(f"{name} is given twice; give it once")
    whole = next((each.name for each in found if each.path == ("pairs",)), None)
    part = next((each.name for each in found if each.path[0] == "pairs" and each.path[1:]), None)
    if whole is not None and part is not None:
        raise UsageError(f"{whole} and {part} both say teeth; give one of them")
    return found


def _shown(text: str) -> str:
    return repr(text if len(text) <= _LONGEST else f"{text[: _LONGEST - 3]}...")
