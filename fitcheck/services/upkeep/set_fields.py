"""Fields of a gear set as they are named on the command line: of every record the hardest.

Teeth, families and housings have short words; the rest is read as of any record.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.services.upkeep.record_fields import (
    Assignment,
    FieldReader,
    read_fields,
    read_ids,
    read_text,
    refuse_repeated,
    shown_word,
    split_assignment,
)

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


_TABLE: Mapping[str, tuple[tuple[str, ...], FieldReader]] = {
    "teeth": (("pairs",), read_text),
    "housings": (("fits",), read_ids),
    "evidence": (("fits", "", "evidence"), read_text),
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
    name, text = split_assignment(word)
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
        housings = read_ids(text)
        if text and housings is None:
            raise UsageError(
                f"{name}: {shown_word(text)} names no housing; leave it empty to take out"
            )
        return Assignment(name, ("fits", family[1]), housings)
    if folded not in _TABLE:
        near = nearest(folded, NAMES)
        hint = f"did you mean {near}?" if near else f"there is {or_list(NAMES)}"
        raise UsageError(f"a gear set has no field {shown_word(name)}; {hint}")
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
    refuse_repeated(found)
    return found
