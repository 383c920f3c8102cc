"""Fields of a gear set as they are named on the command line, and how their values are read."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, get_args

from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import TeethError, read_pair
from fitcheck.model.fields import STAGES
from fitcheck.model.gear_set import GearSet, PairGeometry
from fitcheck.services.upkeep.typed_values import typed_amount, typed_day
from fitcheck.services.upkeep.wording import one_line

_LONGEST = 60


@dataclass(frozen=True, slots=True)
class Assignment:
    """One field and its new value.

    Attributes:
        name: the field as it was named.
        path: where it stands in the record; `fits` and `pairs` have rules of their own.
        value: the value, None where the field is to be taken out.
    """

    name: str
    path: tuple[str, ...]
    value: Any


def _text(text: str) -> str:
    return one_line(text, "the value")


def _notes(text: str) -> str:
    return text


def _number(text: str) -> Decimal:
    plain = text.replace(",", ".").replace("\N{MINUS SIGN}", "-")
    if not re.fullmatch(r"-?[0-9]{1,9}(?:\.[0-9]{1,9})?", plain, re.ASCII):
        raise UsageError(f"{_shown(text)} is no number; write it like 64.90")
    return Decimal(plain)


def _whole(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text, re.ASCII):
        raise UsageError(f"{_shown(text)} is no whole number")
    return int(text)


def _list(text: str) -> list[str] | None:
    return _items(_text(text).split(";")) or None


def _ids(text: str) -> list[str] | None:
    return _items(re.split(r"[;,]", _text(text))) or None


def _items(parts: list[str]) -> list[str]:
    """What stands between the marks, each once, in order."""
    return list(dict.fromkeys(part.strip() for part in parts if part.strip()))


def _choice(field: str) -> Callable[[str], str]:
    known = get_args(GearSet.model_fields[field].annotation)

    def read(text: str) -> str:
        if text in known:
            return text
        near = nearest(text, known)
        hint = f"did you mean {near}?" if near else f"there is {or_list(known)}"
        raise UsageError(f"{_shown(text)} is none of its words; {hint}")

    return read


def _pair(text: str) -> Any:
    try:
        return read_pair(text)
    except TeethError as error:
        raise UsageError(str(error)) from None


_Reader = Callable[[str], Any]

_TABLE: Mapping[str, tuple[tuple[str, ...], _Reader]] = {
    "price": (("price",), typed_amount),
    "currency": (("currency",), _text),
    "availability": (("availability",), _choice("availability")),
    "notes": (("notes",), _notes),
    "name": (("name",), _text),
    "teeth": (("pairs",), _text),
    **{f"teeth.{stage}": (("pairs", stage), _pair) for stage in STAGES},
    "housings": (("fits",), _ids),
    "evidence": (("fits", "", "evidence"), _text),
    "part_number": (("part_number",), _text),
    "aliases": (("aliases",), _list),
    "models": (("listed_for", "models"), _list),
    "wheel": (("listed_for", "wheel_size_in"), _whole),
    "also_needs": (("also_needs",), _list),
    **{
        f"source.{field}": (("source", field), read)
        for field, read in (
            ("list", _text),
            ("sheet", _text),
            ("row", _whole),
            ("date", typed_day),
        )
    },
    **{
        f"interfaces.{field}": (("interfaces", field), _list if field == "bearings" else _text)
        for field in (
            "input_shaft_end",
            "pinion_seat",
            "wheel_seat",
            "output_shaft_end",
            "bearings",
        )
    },
    **{
        f"geometry.{stage}.{field}": (
            ("geometry", stage, field),
            _text if field == "driver_hand" else _number,
        )
        for stage in STAGES
        for field in PairGeometry.model_fields
    },
    **{f"members.{stage}": (("members", stage), _ids) for stage in STAGES},
    "measured": (("measured",), _ids),
    "status": (("status",), _choice("status")),
}

_OTHER_WORDS = {
    "pairs": "teeth",
    **{f"pairs.{stage}": f"teeth.{stage}" for stage in STAGES},
    "listed_for.models": "models",
    "listed_for.wheel_size_in": "wheel",
    "housing": "housings",
    "fits.housings": "housings",
}

_TAKEN_OUT_ONLY = frozenset({"successor"})

_ELSEWHERE = {
    "successor": "fitcheck retire SET --successor SET names it, successor= takes it out",
    "supplier": "a set stays with its supplier; add it under the other one and retire this",
    "id": "an id never changes; add the set anew and retire this one",
    "fits": "name the family: fits.FAMILY=HOUSING,HOUSING",
}

_OPEN = re.compile(r"fits\.([^.]+)(\.evidence)?")
"""Fields that hold the name of a family."""

NAMES = (*_TABLE, "fits.FAMILY", "fits.FAMILY.evidence")
"""Every field that can be named."""


def read_assignment(word: str) -> Assignment:
    """Read `field=value`; nothing after the sign takes the field out.

    Raises:
        UsageError: no such field, with the nearest, or a value it cannot have.
    """
    name, sign, text = word.partition("=")
    name, text = name.strip(), text.strip()
    if not sign or not name:
        raise UsageError(f"{_shown(word)} is no field=value; write it like price=64.90")
    folded = name.replace("-", "_")
    folded = _OTHER_WORDS.get(folded, folded)
    if folded in _TAKEN_OUT_ONLY and not text:
        return Assignment(folded, (folded,), None)
    if folded in _ELSEWHERE:
        raise UsageError(f"{folded} is not set by edit; {_ELSEWHERE[folded]}")
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


def read_assignments(words: list[str]) -> list[Assignment]:
    """Read several; a field given twice is refused, since either may be meant.

    Raises:
        UsageError: as `read_assignment`, or a field is given twice.
    """
    found = [read_assignment(word) for word in words]
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
