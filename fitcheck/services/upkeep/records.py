"""Any record of the catalogue by what people call it, and the ids that its fields hold."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from fitcheck.catalogue.reader import FIELDS, Catalogue, Entry
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.rules.checks import check_for_errors
from fitcheck.rules.setting import plain_word
from fitcheck.services.counter.lookup import (
    NameTakenError,
    find_class,
    find_family,
    find_housing,
    find_machine,
    find_set,
    find_supplier,
    find_tune,
    find_tyre,
    find_variator,
)
from fitcheck.services.upkeep.record_fields import Assignment

_FINDERS: Mapping[str, tuple[str, Callable[[Catalogue, str], Entry[Any]]]] = {
    "gear-set": ("a gear set", find_set),
    "machine": ("a machine", find_machine),
    "family": ("an engine family", find_family),
    "supplier": ("a supplier", find_supplier),
    "tune": ("a state of tune", find_tune),
    "vehicle-class": ("a vehicle class", find_class),
    "tyre": ("a tyre", find_tyre),
    "variator": ("a variator kit", find_variator),
}


def kind_words(kind: str) -> str:
    """Such as `a machine`."""
    return _FINDERS[kind][0]


def find_record(catalogue: Catalogue, name: str, kind: str | None = None) -> Entry[Any]:
    """A record by id, else by what people call it; a gear set also by its numbers.

    Args:
        catalogue: where to look.
        name: as it was given.
        kind: which kind of record; None: any but the shelf's.

    Raises:
        UsageError: unknown, with the nearest, or of more than one kind.
    """
    if kind is not None:
        return _FINDERS[kind][1](catalogue, name)
    found = [catalogue.entries(each)[name] for each in _FINDERS if name in catalogue.entries(each)]
    refusals: list[UsageError] = []
    for _, find in _FINDERS.values() if not found else ():
        try:
            found.append(find(catalogue, name))
        except UsageError as error:
            refusals.append(error)
    found = [each for each in found if plain_word(each.id) == plain_word(name)] or found
    taken = next((each for each in refusals if isinstance(each, NameTakenError)), None)
    if taken is not None:
        raise taken
    if len(found) == 1:
        return found[0]
    if found:
        kinds = [entry.kind for entry in found]
        raise UsageError(f"{name!r} is {or_list(map(kind_words, kinds))}; say --kind {kinds[0]}")
    if "did you mean" in str(refusals[0]):
        raise refusals[0]
    near = nearest(name, [id_ for each in _FINDERS for id_ in catalogue.entries(each)])
    if near is not None:
        raise UsageError(f"no record {name[:60]!r}; did you mean {near}?")
    raise refusals[0]


def resolve(catalogue: Catalogue, each: Assignment, record: Mapping[str, Any]) -> Assignment:
    """An assignment with the ids of the records that its value names.

    Args:
        catalogue: where they are.
        each: the assignment.
        record: plain data of the record; a housing is of its family.

    Raises:
        UsageError: a name is not known.
    """
    if each.value is None or each.refers_to is None:
        return each
    is_list = isinstance(each.value, list)
    names: Sequence[str] = each.value if is_list else [each.value]
    try:
        found = [_id_of(catalogue, each.refers_to, name, record.get("family")) for name in names]
    except UsageError as error:
        raise UsageError(f"{each.name}: {error}") from None
    return replace(each, value=found if is_list else found[0])


def _id_of(catalogue: Catalogue, kind: str, name: str, family: str | None = None) -> str:
    """The id of the record, or of the family's housing, that goes by a name.

    Raises:
        UsageError: none does.
    """
    if kind == "housing":
        entry = catalogue.families.get(family or "")
        return name if entry is None else find_housing(entry, name)
    found: str = _FINDERS[kind][1](catalogue, name).id
    return found


def refuse_retiring(catalogue: Catalogue, entry: Entry[Any]) -> UsageError:
    """Why a record that is no gear set is not retired, and what to do instead."""
    # Under an id that nothing can name: of a kind without any record no reference is judged.
    others = {id_: each for id_, each in catalogue.entries(entry.kind).items() if each != entry}
    fields: dict[str, Any] = {FIELDS[entry.kind]: MappingProxyType({**others, "?": entry})}
    had = len(check_for_errors(catalogue))
    needed = len(check_for_errors(replace(catalogue, **fields))) - had
    what = f"{entry.id} is {kind_words(entry.kind)}, and only gear sets are retired"
    if needed > 0:
        named = "one place names it" if needed == 1 else f"{needed} places name it"
        return UsageError(f"{what}; {named}, so keep it: fitcheck edit {entry.id} 'notes=...'")
    return UsageError(f"{what}; nothing names it: take it out by hand at {entry.span()}")
