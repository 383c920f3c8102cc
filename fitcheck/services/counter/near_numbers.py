"""Numbers of gear sets that no set goes by: which are near, also by what a spreadsheet did."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation

from fitcheck.catalogue.reader import Entry
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.setting import plain_word

_POWER = re.compile(r"[0-9](?:[.,][0-9]{1,14})?[eE][+-]?[0-9]{1,3}", re.ASCII)
_LIKE_DIGITS = str.maketrans({"o": "0", "i": "1", "l": "1"})
"""Letters that are read as digits; of plain words, which are small."""
_EATEN = "a spreadsheet {}: import that column as text"
_SHOWN = 5
_FEW = 8
"""So many sets are all told of where nothing is near."""
_BEGINNING = 3
"""A name broken off sooner says too little."""
_SHORTEST = 4
"""A slip in a shorter name leaves nothing to know it by."""


def as_power(name: str) -> Decimal | None:
    """The number that a spreadsheet shows as a power of ten, such as 1.20E+04; else None."""
    if not _POWER.fullmatch(name.strip()):
        return None
    try:
        return Decimal(name.strip().replace(",", "."))
    except InvalidOperation:  # pragma: no cover - the pattern leaves nothing to refuse
        return None


def unknown_set(name: str, sets: Mapping[str, Entry[GearSet]]) -> str:
    """The refusal of a name that no gear set goes by, in one line.

    Args:
        name: as it was given.
        sets: the gear sets there are, by id.
    """
    if not name.strip():
        return "no part is named; give an id, a part number or an alias"
    shown = name if len(name) <= 60 else name[:57] + "..."
    what = f"no gear set {shown!r}"
    if not sets:
        return f"{what}; the catalogue holds none"
    near, eaten = _near(name, sets)
    if near:
        return f"{what}; did you mean {or_list(near, _SHOWN)}?{f' ({eaten})' * bool(eaten)}"
    if eaten:
        return f"{what}; {eaten}"
    if len(sets) <= _FEW:
        return f"{what}; there is {or_list(sets)}"
    return f"{what}, and none like it of {len(sets):,}; give the id or the whole part number"


def _near(name: str, sets: Mapping[str, Entry[GearSet]]) -> tuple[list[str], str]:
    """Sets that may be meant, and what a spreadsheet did to the number, if it did."""
    plain = plain_word(name)
    power = as_power(name)
    if power is not None:
        found = _sets_like(sets, lambda each: each.isdecimal() and Decimal(each) == power)
        return found, _EATEN.format("writes long numbers as powers of ten")
    zeros = _sets_like(sets, lambda each: bool(plain) and each.lstrip("0") == plain.lstrip("0"))
    if zeros:
        return zeros, _EATEN.format("takes zeros from the front of numbers")
    words, digits = _words_of(name), plain.translate(_LIKE_DIGITS)
    found = _sets_like(sets, lambda each: each in words or each.translate(_LIKE_DIGITS) == digits)
    if found:
        return found, ""
    fuzzy = nearest(name, sets)
    if fuzzy is not None:
        return [fuzzy], ""
    if plain.isdecimal():
        ends = [_label(entry) for entry in sets.values() if plain.lstrip("0") in _ends(entry)]
        if ends:
            return ends, ""
    slips = _sets_like(sets, lambda each: _is_one_slip(plain, each))
    begun = _sets_like(sets, lambda each: begins(each, plain))
    return slips or begun * (len(begun) <= _FEW), ""


def _is_one_slip(one: str, other: str) -> bool:
    """Whether two names differ by one sign, or by two neighbours that changed places."""
    from rapidfuzz.distance import OSA  # noqa: PLC0415 - start-up goes without it

    if len(one) != len(other) or len(one) < _SHORTEST:
        return False
    return OSA.distance(one, other, score_cutoff=1) == 1


def _sets_like(sets: Mapping[str, Entry[GearSet]], is_near: Callable[[str], bool]) -> list[str]:
    """The sets of which a plain name is near, as they are told."""
    return [_label(entry) for entry in sets.values() if any(map(is_near, _plain(entry)))]


def _words_of(name: str) -> set[str]:
    """The words of a name that hold a digit, plain: of `no. 1540` its number."""
    words = {plain_word(word) for word in name.replace("#", " ").split()}
    return {word for word in words if any(map(str.isdecimal, word))}


def _ends(entry: Entry[GearSet]) -> set[str]:
    """The last run of figures of each name, without zeros in front."""
    names = (entry.id, entry.record.part_number, *entry.record.aliases)
    runs = (re.findall(r"[0-9]+", name) for name in names)
    return {found[-1].lstrip("0") for found in runs if found}


def _plain(entry: Entry[GearSet]) -> set[str]:
    names = (entry.id, entry.record.part_number, *entry.record.aliases)
    return {plain_word(name) for name in names}


def _label(entry: Entry[GearSet]) -> str:
    number = entry.record.part_number
    return entry.id if number == entry.id else f"{entry.id} (no. {number})"


def begins(whole: str, name: str) -> bool:
    """Whether a name is another one broken off."""
    plain = plain_word(name)
    return len(plain) >= _BEGINNING and plain_word(whole).startswith(plain)
