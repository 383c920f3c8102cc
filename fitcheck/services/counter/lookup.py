"""Records by what people call them: id, name or alias; case, spaces and marks do not matter."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TypeVar

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Span
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.model.family import Family
from fitcheck.model.fields import Record
from fitcheck.model.gear_set import GearSet
from fitcheck.model.machine import Machine
from fitcheck.model.trade import Supplier, Tune, VariatorKit, VehicleClass
from fitcheck.model.tyre import Tyre
from fitcheck.rules.setting import model_words, plain_word
from fitcheck.services.counter.near_numbers import unknown_set
from fitcheck.services.counter.succession import way_on, ways_on

R = TypeVar("R", bound=Record)

_NOTES = 3
"""So many retired sets are told of in one refusal."""


def find_family(catalogue: Catalogue, name: str, place: str | None = None) -> Entry[Family]:
    """A family by id, name or alias; case, spaces and marks do not matter.

    Raises:
        UsageError: unknown, with the nearest name, or shared by several families.
    """
    if name in catalogue.families:
        return catalogue.families[name]
    found = model_words(catalogue).get(plain_word(name), frozenset())
    if len(found) == 1:
        return catalogue.families[next(iter(found))]
    prefix = f"{place}: " if place else ""
    if name in catalogue.failed["family"]:
        where = catalogue.failed["family"][name]
        raise UsageError(
            f"{prefix}the engine family {name} at {where} was refused; fitcheck check says why"
        )
    if found:
        raise UsageError(f"{prefix}{name!r} may be {or_list(sorted(found))}; name one of them")
    raise UsageError(_unknown("engine family", name, list(catalogue.families), prefix))


def find_machine(catalogue: Catalogue, name: str) -> Entry[Machine]:
    """A machine by id or name.

    Raises:
        UsageError: unknown, with the nearest id, or a name that several share.
    """
    return _find(catalogue.machines, catalogue.failed["machine"], name, "machine")


def find_tune(catalogue: Catalogue, name: str, place: str | None = None) -> Entry[Tune]:
    """A state of tune by id or name.

    Raises:
        UsageError: unknown, with the nearest id, or a name that several share.
    """
    return _find(catalogue.tunes, catalogue.failed["tune"], name, "tune", place)


def find_supplier(catalogue: Catalogue, name: str) -> Entry[Supplier]:
    """A supplier by id or name.

    Raises:
        UsageError: unknown, with the nearest id, or a name that several share.
    """
    return _find(catalogue.suppliers, catalogue.failed["supplier"], name, "supplier")


def find_tyre(catalogue: Catalogue, name: str) -> Entry[Tyre]:
    """A tyre by id.

    Raises:
        UsageError: unknown, with the nearest id.
    """
    return _find(catalogue.tyres, catalogue.failed["tyre"], name, "tyre")


def find_class(catalogue: Catalogue, name: str, place: str | None = None) -> Entry[VehicleClass]:
    """A vehicle class by id or name.

    Raises:
        UsageError: unknown, with the nearest id, or a name that several share.
    """
    known, refused = catalogue.vehicle_classes, catalogue.failed["vehicle-class"]
    return _find(known, refused, name, "vehicle class", place)


def find_set(catalogue: Catalogue, name: str) -> Entry[GearSet]:
    """A gear set by id, part number or alias.

    A number that retired sets left to the one sold now means that one; a retired set that is
    named outright is found, and those who ask say where it leads.

    Raises:
        UsageError: unknown, with the nearest id, shared by several sets, or written as teeth.
    """
    known, refused = catalogue.gear_sets, catalogue.failed["gear-set"]
    _refuse_teeth(known, name)
    try:
        return _find(known, refused, name, "gear set")
    except UsageError as error:
        sharing = _sharing(known, name)
        left = _left_to(catalogue, sharing)
        if left is not None:
            return left
        said, named = str(error), sharing
        if not sharing and name not in refused:
            said = unknown_set(name, known)
            near = nearest(name, known)
            named = [] if near is None else [known[near]]
        notes = ways_on(catalogue, named)
        if notes:
            said += f" ({'; '.join(notes[:_NOTES])})"
        raise UsageError(said) from None


_TEETH = re.compile(r"\s*([0-9]{1,3})\s*/\s*([0-9]{1,3})\s*")


def _refuse_teeth(known: Mapping[str, Entry[GearSet]], name: str) -> None:
    """Refuse `15/40` for a set of the number 1540, unless its supplier writes the number so.

    Marks do not matter in numbers; in teeth they do.
    """
    teeth = _TEETH.fullmatch(name)
    if teeth is None:
        return
    written = name.strip()
    for entry in known.values():
        if written in (entry.id, entry.record.part_number, *entry.record.aliases):
            return
    pair = f"{int(teeth[1])}/{int(teeth[2])}"
    alike = [id_ for id_, one in known.items() if pair in map(str, one.record.pairs.values())]
    there = f"of these teeth there is {or_list(alike)}" if alike else "no set has these teeth"
    raise UsageError(f"{written} are teeth, not the number of a gear set; {there}")


def _left_to(catalogue: Catalogue, sharing: Sequence[Entry[GearSet]]) -> Entry[GearSet] | None:
    """The one set sold now among several of one number, if all others lead to it."""
    sold = [entry for entry in sharing if entry.record.status == "active"]
    if len(sold) != 1:
        return None
    ends = {way_on(catalogue, entry).sold for entry in sharing if entry is not sold[0]}
    return sold[0] if ends == {sold[0].id} else None


def _find(
    records: Mapping[str, Entry[R]],
    refused: Mapping[str, Span],
    name: str,
    what: str,
    place: str | None = None,
) -> Entry[R]:
    if name in records:
        return records[name]
    prefix = f"{place}: " if place else ""
    if name in refused:
        raise UsageError(
            f"{prefix}the {what} {name} at {refused[name]} was refused; fitcheck check says why"
        )
    found = _sharing(records, name)
    if len(found) == 1:
        return found[0]
    if found:
        raise UsageError(
            f"{prefix}{name!r} may be {or_list(entry.id for entry in found)}; name one of them"
        )
    raise UsageError(_unknown(what, name, list(records), prefix))


def _sharing(records: Mapping[str, Entry[R]], name: str) -> list[Entry[R]]:
    """The records that go by a name."""
    plain = plain_word(name)
    return [entry for entry in records.values() if plain and plain in _plain_names(entry)]


def _plain_names(entry: Entry[Record]) -> set[str]:
    record = entry.record
    if isinstance(record, GearSet | VariatorKit):
        # Its name is the supplier's description, which many share.
        names = [entry.id, record.part_number, *record.aliases]
    else:
        names = [entry.id, getattr(record, "name", entry.id)]
    return {plain_word(name) for name in names}


def _unknown(what: str, name: str, known: Sequence[str], prefix: str = "") -> str:
    shown = name if len(name) <= 60 else name[:57] + "..."
    near = nearest(name, known)
    if near is not None:
        return f"{prefix}no {what} {shown!r}; did you mean {near}?"
    if not known:
        return f"{prefix}no {what} {shown!r}; the catalogue holds none"
    return f"{prefix}no {what} {shown!r}; there is {or_list(known)}"


def find_housing(family: Entry[Family], name: str) -> str:
    """The id of a family's housing by id, name or alias.

    Raises:
        UsageError: the family has no such housing.
    """
    housings = family.record.housings
    if name in housings:
        return name
    plain = plain_word(name)
    found = [
        id_
        for id_, housing in housings.items()
        if plain in {plain_word(word) for word in (id_, housing.name, *housing.aliases)}
    ]
    if plain and len(found) == 1:
        return found[0]
    raise UsageError(f"{family.id} has no housing {name!r}; it has {or_list(housings)}")
