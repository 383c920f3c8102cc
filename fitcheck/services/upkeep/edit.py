"""Fields of a gear set changed by command."""

from __future__ import annotations

import copy
import datetime as dt
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any

from fitcheck.catalogue.editing import Draft
from fitcheck.catalogue.editing.values import plain_data, same
from fitcheck.catalogue.reader import Catalogue, Entry, in_own_currency
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.model.fields import DATE_PATTERN
from fitcheck.model.gear_set import GearSet
from fitcheck.model.kinds import KINDS
from fitcheck.services.counter.lookup import find_family, find_housing, find_set
from fitcheck.services.counter.succession import ways_on
from fitcheck.services.upkeep.drafts import Edited, defaults_of, draft_of, judge
from fitcheck.services.upkeep.record_fields import Assignment, read_record_fields
from fitcheck.services.upkeep.records import kind_words, resolve
from fitcheck.services.upkeep.set_fields import read_assignments
from fitcheck.services.upkeep.warnings import find_warnings, train_of

_EVIDENCE = ("stated", "measured")


def change_set(catalogue: Catalogue, name: str, words: Sequence[str]) -> Edited:
    """Draft changes of a set's fields.

    Args:
        catalogue: the catalogue.
        name: id, part number or alias of the set.
        words: `field=value` each; an empty value takes the field out.

    Raises:
        UsageError: no such set or field, a value it cannot have, or the catalogue would have an
            error that it does not have now.
        EditError: the record would not be valid, or the file has changed meanwhile.
    """
    entry = find_set(catalogue, name)
    _refuse_nothing(entry, words)
    assignments = read_assignments(words)
    draft = draft_of(entry)
    defaults = defaults_of(draft)
    new = draft.record(entry.id)
    _refuse_twice(catalogue, entry, assignments)
    for each in assignments:
        _put(catalogue, entry, each, new, defaults)
    own = _write(draft, entry, new, defaults)
    if not draft.changed:
        return Edited.of(catalogue, entry.id)
    record = GearSet.model_validate({**defaults, **draft.record(entry.id)})
    changed = in_own_currency(replace(entry, record=record), catalogue.suppliers)
    loud = find_warnings(catalogue, entry, changed, assignments)
    notes = [*(_no_longer_for_all(entry, field) for field in own), *ways_on(catalogue, [changed])]
    return judge(catalogue, entry.id, draft, loud=loud, notes=notes)


def change_record(catalogue: Catalogue, entry: Entry[Any], words: Sequence[str]) -> Edited:
    """Draft changes of the fields of any record.

    Args:
        catalogue: the catalogue.
        entry: the record; a gear set as by `change_set`.
        words: `field=value` each; an empty value takes the field out.

    Raises:
        UsageError: no such field, a value it cannot have, or the catalogue would have an error that
            it does not have now.
        EditError: the record would not be valid, or the file has changed meanwhile.
    """
    if entry.kind == "gear-set":
        return change_set(catalogue, entry.id, words)
    _refuse_nothing(entry, words)
    assignments = read_record_fields(entry.kind, kind_words(entry.kind), words)
    draft = draft_of(entry)
    defaults = defaults_of(draft)
    new = draft.record(entry.id)
    # The family first: a housing is looked up among those it has then.
    for each in sorted(assignments, key=lambda each: each.refers_to != "family"):
        if each.path == ("pairs",):
            new["pairs"] = train_of(entry, each.value)
        else:
            _put_value(entry, resolve(catalogue, each, new), new, defaults)
    own = _write(draft, entry, new, defaults)
    notes = [_no_longer_for_all(entry, field) for field in own]
    return judge(catalogue, entry.id, draft, loud=[], notes=notes)


def _refuse_nothing(entry: Entry[Any], words: Sequence[str]) -> None:
    if not words:
        example = "price=64.90" if entry.kind == "gear-set" else "'notes=Ask first.'"
        raise UsageError(f"nothing to change of {entry.id}; give field=value, like {example}")


def _write(
    draft: Draft, entry: Entry[Any], new: dict[str, Any], defaults: Mapping[str, Any]
) -> list[str]:
    """Bring a record of a draft to new data; the fields that are its own from now on.

    Those stood under the defaults of the file before.
    """
    old: dict[str, Any] = draft.record(entry.id)
    own = [field for field in new if field in defaults and field not in old]
    for field in [field for field in own if same(plain_data(new[field]), defaults[field])]:
        del new[field]  # its file says so for all
        own.remove(field)
    with draft.together():
        fields = {field: value for field, value in new.items() if value != old.get(field)}
        if fields:
            draft.set_fields(entry.id, fields)
        for field in [field for field in old if field not in new]:
            draft.remove_field(("records", entry.id), field)
    return own


def _put(
    catalogue: Catalogue,
    entry: Entry[GearSet],
    each: Assignment,
    record: dict[str, Any],
    defaults: Mapping[str, Any],
) -> None:
    """Put one value into the plain data of a record."""
    if each.path[0] == "fits":
        _put_claim(catalogue, entry, each, record)
        return
    if each.path == ("pairs",):
        record["pairs"] = train_of(entry, each.value)
        return
    if each.name == "status" and each.value == "retired":
        raise UsageError(
            f"status: fitcheck retire {entry.id} marks it retired, and asks what takes its place"
        )
    _put_value(entry, each, record, defaults)


def _put_value(
    entry: Entry[Any], each: Assignment, record: dict[str, Any], defaults: Mapping[str, Any]
) -> None:
    if len(each.path) > 1:
        _put_inside(entry, each, record, defaults)
    elif each.value is not None:
        record[each.path[0]] = each.value
    else:
        _take_out(entry, each.path[0], record, defaults)


def _put_inside(
    entry: Entry[Any],
    each: Assignment,
    record: dict[str, Any],
    defaults: Mapping[str, Any],
) -> None:
    """Put one value into a mapping of a record, or take it out of there."""
    top, *between, last = each.path
    # What the file gives for all is replaced as a whole by what the record gives.
    whole = record.setdefault(top, _restore_dates(defaults.get(top)) or {})
    holder = whole
    for step in between:
        holder = holder.setdefault(step, {}) if isinstance(holder, dict) else None
    if not isinstance(holder, dict):
        raise UsageError(f"{entry.span(top)}: {top} of {entry.id} is no mapping; edit it by hand")
    if each.value is not None:
        holder[last] = each.value
    else:
        holder.pop(last, None)
        for step in between:
            if not whole[step]:
                del whole[step]
    if not whole:
        _take_out(entry, top, record, defaults)


def _restore_dates(value: Any) -> Any:
    """Plain data to be written as it stands elsewhere: a date stays bare."""
    if isinstance(value, dict):
        return {name: _restore_dates(item) for name, item in value.items()}
    if isinstance(value, str) and re.fullmatch(DATE_PATTERN, value):
        with suppress(ValueError):
            return dt.date.fromisoformat(value)
    return copy.deepcopy(value)


def _take_out(
    entry: Entry[Any], field: str, record: dict[str, Any], defaults: Mapping[str, Any]
) -> None:
    if not defaults.get(field):
        record.pop(field, None)
    elif isinstance(defaults[field], list | dict):
        record[field] = type(defaults[field])()
    elif isinstance(usual := KINDS[entry.kind].model_fields[field].default, str):
        record[field] = usual
    else:
        raise UsageError(f"{field} of {entry.id} comes from the file's defaults; give another one")


def _put_claim(
    catalogue: Catalogue, entry: Entry[GearSet], each: Assignment, record: dict[str, Any]
) -> None:
    """Change what is claimed of one family, or add it."""
    claims: list[dict[str, Any]] = record.setdefault("fits", [])
    named = len(each.path) > 1
    family = _find_claimed_family(catalogue, entry, each, [claim.get("family") for claim in claims])
    claim = next((claim for claim in claims if claim.get("family") == family), None)
    if each.path[-1] == "evidence":
        if claim is None:
            raise UsageError(
                f"{each.name}: nobody confirms that {entry.id} fits {family}; name housings: "
                f"fits.{family}=HOUSING,HOUSING"
            )
        if each.value not in (*_EVIDENCE, None):
            raise UsageError(f"{each.name}: {each.value!r} is invalid; give {or_list(_EVIDENCE)}")
        _set_or_drop(claim, "evidence", each.value)
    elif named and each.value is None:
        if claim is not None:
            claims.remove(claim)
    else:
        found = find_family(catalogue, family)
        housings = [find_housing(found, word) for word in each.value or ()]
        if claim is None:
            claim = {"family": family}
            claims.append(claim)
        _set_or_drop(claim, "housings", list(dict.fromkeys(housings)) or None)
    if not claims:
        record.pop("fits")


def _find_claimed_family(
    catalogue: Catalogue, entry: Entry[GearSet], each: Assignment, claimed: Sequence[Any]
) -> str:
    """The family that an assignment is of: the one it names, else the only one claimed."""
    if len(each.path) > 1 and each.path[1]:
        return find_family(catalogue, each.path[1], each.name).id
    if len(claimed) != 1:
        what = "fits no family yet" if not claimed else f"fits {len(claimed)} families"
        raise UsageError(f"{each.name}: {entry.id} {what}; name it: fits.FAMILY=HOUSING,HOUSING")
    return str(claimed[0])


def _refuse_twice(
    catalogue: Catalogue, entry: Entry[GearSet], assignments: Sequence[Assignment]
) -> None:
    """Refuse two words for one thing of one family, since either may be meant.

    Raises:
        UsageError: there are two.
    """
    claimed = [claim.family for claim in entry.record.fits]
    said: dict[tuple[str, str], str] = {}
    for each in assignments:
        if each.path[0] != "fits":
            continue
        if each.path[1:2] in ((), ("",)) and len(claimed) != 1:
            continue  # a claim to come, or refused where it is put in
        family = _find_claimed_family(catalogue, entry, each, claimed)
        things = ["evidence"] if each.path[-1] == "evidence" else ["housings"]
        if things == ["housings"] and len(each.path) > 1 and each.value is None:
            things.append("evidence")  # the whole claim goes
        for thing in things:
            other = said.setdefault((family, thing), each.name)
            if other != each.name:
                raise UsageError(f"{other} and {each.name} both speak of {family}; give one")


def _no_longer_for_all(entry: Entry[Any], field: str) -> str:
    where = entry.source.span(("defaults", field), key=True)
    thing = "set" if entry.kind == "gear-set" else entry.kind
    return (
        f"{field} stood under defaults at {where}, for every {thing} of the file; {entry.id} has "
        "its own from now on"
    )


def _set_or_drop(claim: dict[str, Any], field: str, value: Any) -> None:
    if value is None:
        claim.pop(field, None)
    else:
        claim[field] = value
