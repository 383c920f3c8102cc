"""A gear set added by command, from what somebody said of it and nothing else."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from fitcheck.catalogue.problems import bad_id_words
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import TRAIN_STAGES, Family
from fitcheck.model.fields import STAGES, Stage, is_id
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.setting import ListWords
from fitcheck.services.counter.lookup import find_family, find_housing, find_supplier
from fitcheck.services.counter.succession import retired_note
from fitcheck.services.price_lists.entries import SupplierEntries
from fitcheck.services.upkeep.drafts import (
    Edited,
    defaults_of,
    judge,
    last_of_family,
    open_target_file,
)
from fitcheck.services.upkeep.set_fields import read_assignments
from fitcheck.services.upkeep.typed_values import one_line
from fitcheck.services.upkeep.warnings import FOR_NOTHING, pair_words, teeth_words

_SAID_IN_OUR_WORDS = frozenset({"FC212"})

_GIVEN_BY_OPTION = {
    "id": "id: give it with --id",
    "supplier": "supplier: give it with --supplier",
    "successor": "successor: a new set has none; fitcheck retire SET --successor SET names one",
    "fits": "fits: give teeth with --teeth, and families with --family",
}
"""Fields of a new set that are not given as `field=value`, each with what to say."""


@dataclass(frozen=True, slots=True)
class NewSet:
    """What is known of a new gear set; what is left out is not known.

    Attributes:
        supplier: id or name of the supplier.
        part_number: the supplier's number, as text.
        pairs: tooth counts, from input shaft to wheel.
        stages: the stage of each pair; empty: as the family, or the count of pairs, leaves no
            choice.
        families: confirmed housings, by id or name of the family; none: nobody says which.
        evidence: of all of these: stated by the supplier, or measured in the shop.
        models: model words of the supplier's list.
        wheel_size_in: rim size that the list gives, inches.
        name: the supplier's words for it.
        aliases: other numbers for the same part.
        price: selling price.
        also_needs: what else the job needs; None: what the file gives for all.
        availability: what the supplier says of its own stock, or None.
        notes: anything worth knowing.
        list_name: name of the list it comes from.
        date: date of the list or of the entry; None: today.
        set_id: id of the entry; None: like the supplier's others.
        more: other fields, `field=value` each, as `change_set` takes them.
    """

    supplier: str
    part_number: str
    pairs: Sequence[Pair]
    stages: Sequence[Stage] = ()
    families: Mapping[str, Sequence[str]] = field(default_factory=dict)
    evidence: str | None = None
    models: Sequence[str] = ()
    wheel_size_in: int | None = None
    name: str | None = None
    aliases: Sequence[str] = ()
    price: Decimal | None = None
    also_needs: Sequence[str] | None = None
    availability: str | None = None
    notes: str | None = None
    list_name: str | None = None
    date: dt.date | None = None
    set_id: str | None = None
    more: Sequence[str] = ()


def add_set(catalogue: Catalogue, new: NewSet) -> Edited:
    """Draft a new gear set and hold it against the whole catalogue.

    Where the supplier's number is there already and its record says all of this, the edit is
    empty.

    Raises:
        UsageError: a name is not known, the number is another set's already, or the catalogue
            would have an error that it does not have now.
        EditError: the file cannot be edited, or has changed meanwhile.
    """
    supplier = find_supplier(catalogue, new.supplier).id
    number = one_line(new.part_number, "the part number")
    if not number:
        raise UsageError("the part number is blank; give the supplier's number")
    families = _families(catalogue, new)
    pairs = _pairs(new, [family for family, _ in families])
    said = _collect_fields(new, number, pairs, families)
    entries = SupplierEntries(catalogue, supplier)
    known = _of_these_numbers(entries, said, new)
    for entry in known:
        if _says_all(entry, said, new):
            return Edited.of(catalogue, entry.id)
        # A retired record may keep its number beside the set that took its place; whoever
        # means that gives the new one an id.
        if entry.record.status != "retired" or new.set_id is None:
            raise UsageError(_explain_taken(catalogue, entry, pairs))
    set_id = _id(catalogue, entries, new.set_id, number)
    draft = open_target_file(catalogue, supplier)
    fields, notes = _fields(catalogue, supplier, said, new, defaults_of(draft))
    if new.set_id is None and set_id != entries.wanted_id(number):
        notes.append(f"the id {entries.wanted_id(number)} is taken; {set_id} is used")
    loud = [f"the number {e.record.part_number} is {e.id}'s, which is retired" for e in known]
    loud += _lookalikes(entries, said)
    if said.get("price") == 0:
        loud.append(FOR_NOTHING)
    notes += [
        f"no housing of {family.id} is stated, so the fit is not confirmed; the family has "
        f"{or_list([repr(housing) for housing in family.record.housings])}"
        for family, housings in families
        if not housings
    ]
    if not families:
        notes.append(
            "nobody confirms that it fits a family, so no fit is confirmed; where somebody does: "
            f"fitcheck edit {set_id} fits.FAMILY=HOUSING,HOUSING"
        )
    near = [family.id for family, _ in families] or _find_listed_families(
        catalogue, supplier, said.get("listed_for", {}).get("models", ())
    )
    draft.add_record(set_id, fields, after=last_of_family(catalogue, draft, near))
    return judge(catalogue, set_id, draft, loud=loud, notes=notes, known=_SAID_IN_OUR_WORDS)


def stages_for(count: int, families: Sequence[Entry[Family]]) -> tuple[Stage, ...] | None:
    """The stages of so many pairs where there is no choice; None where somebody has to say.

    Two or three pairs are a whole train, from input shaft to wheel, unless a family has more
    stages; one pair may stand in any stage, unless the families have only one.
    """
    trains = {family.record.train_stages for family in families}
    if trains:
        own = trains.pop()
        return own if not trains and len(own) == count else None
    return TRAIN_STAGES.get(count) if count > 1 else None


def _families(catalogue: Catalogue, new: NewSet) -> list[tuple[Entry[Family], tuple[str, ...]]]:
    """The confirmed families, each with the ids of its housings."""
    found: dict[str, tuple[Entry[Family], tuple[str, ...]]] = {}
    for name, words in new.families.items():
        family = find_family(catalogue, name)
        if family.id in found:
            raise UsageError(f"{family.id} is named twice; name its housings together")
        housings = dict.fromkeys(find_housing(family, word) for word in words)
        found[family.id] = family, tuple(housings)
    return list(found.values())


def _pairs(new: NewSet, families: Sequence[Entry[Family]]) -> dict[Stage, Pair]:
    count = len(new.pairs)
    if not count:
        raise UsageError("the teeth are missing; give driver/driven, like 15/40")
    stages = tuple(new.stages) or stages_for(count, families)
    if stages is None:
        what = "the stage is" if count == 1 else f"the stages of the {count} pairs are"
        of = f" of {' and '.join(family.id for family in families)}" if families else ""
        known = [
            s for s in STAGES if all(s in family.record.stages for family in families)
        ] or STAGES
        raise UsageError(f"{what} not said; give {or_list(known)}{of} as --stage")
    if len(stages) != count:
        raise UsageError(
            f"{count} pair{'s' * (count != 1)} and {len(stages)} stage{'s' * (len(stages) != 1)}; "
            "give a stage for each pair, in the same order"
        )
    if len(set(stages)) != count:
        twice = next(stage for stage in stages if stages.count(stage) > 1)
        raise UsageError(f"the stage {twice} is given twice; a set holds one pair of a stage")
    found = dict(zip(stages, new.pairs, strict=True))
    return {stage: found[stage] for stage in STAGES if stage in found}


def _collect_fields(
    new: NewSet,
    number: str,
    pairs: Mapping[Stage, Pair],
    families: Sequence[tuple[Entry[Family], Sequence[str]]],
) -> dict[str, Any]:
    """The fields that were said, in the record's names."""
    said: dict[str, Any] = {"part_number": number, "pairs": dict(pairs)}
    if new.aliases:
        said["aliases"] = _words(new.aliases, "the alias")
    if new.name is not None:
        said["name"] = _word(new.name, "the name")
    if families:
        said["fits"] = [_claim(new, family, housings) for family, housings in families]
    elif new.evidence is not None:
        raise UsageError("the evidence of which family? give --family too")
    listed = {
        "models": _words(new.models, "the model") or None,
        "wheel_size_in": new.wheel_size_in,
    }
    name_of_list = None if new.list_name is None else _word(new.list_name, "the name of the list")
    source = {"list": name_of_list, "date": new.date}
    for name, inner in (("listed_for", listed), ("source", source)):
        given = {key: value for key, value in inner.items() if value is not None}
        if given:
            said[name] = given
    for name in ("price", "availability", "notes"):
        value = getattr(new, name)
        if value is not None:
            said[name] = value
    if new.also_needs is not None:
        said["also_needs"] = _words(new.also_needs, "what else it needs")
    _put_more(said, new.more)
    return said


def _put_more(said: dict[str, Any], words: Sequence[str]) -> None:
    """Put the fields in that are named as for an edit.

    Raises:
        UsageError: no such field, a value it cannot have or none, or it is given already.
    """
    for each in read_assignments(words, _GIVEN_BY_OPTION):
        *holders, last = each.path
        if each.path[0] in ("pairs", "fits"):
            raise UsageError(f"{each.name}: give teeth with --teeth, and families with --family")
        if each.name in _GIVEN_BY_OPTION:
            raise UsageError(_GIVEN_BY_OPTION[each.name])
        if each.value is None:
            raise UsageError(
                f"{each.name} has no value; write one behind the sign, or leave it out"
            )
        holder = said
        for step in holders:
            holder = holder.setdefault(step, {})
        if last in holder:
            raise UsageError(f"{each.name} is given twice; give it once")
        holder[last] = each.value


def _claim(new: NewSet, family: Entry[Family], housings: Sequence[str]) -> dict[str, Any]:
    claim: dict[str, Any] = {"family": family.id}
    if housings:
        claim["housings"] = list(housings)
    if new.evidence is not None and new.evidence != "stated":
        claim["evidence"] = new.evidence
    return claim


def _words(texts: Sequence[str], what: str) -> list[str]:
    return [_word(text, what) for text in texts]


def _word(text: str, what: str) -> str:
    word = one_line(text, what)
    if not word:
        raise UsageError(f"{what} is blank; leave it out or write a word")
    return word


def _fields(
    catalogue: Catalogue,
    supplier: str,
    said: Mapping[str, Any],
    new: NewSet,
    defaults: Mapping[str, Any],
) -> tuple[dict[str, Any], list[str]]:
    """The record's own fields beside what its file gives for all, and what to say of those."""
    fields, notes = dict(said), []
    if defaults.get("supplier") != supplier:
        fields["supplier"] = supplier
    # What the file gives for all was said of its list, not of this set.
    if "availability" in defaults:
        fields.setdefault("availability", "unknown")
        if fields["availability"] == defaults["availability"]:
            del fields["availability"]
    currency = catalogue.suppliers[supplier].record.currency
    if "price" in fields and currency != defaults.get("currency", currency):
        fields.setdefault("currency", currency)
    if "also_needs" in defaults and "also_needs" not in fields:
        listed = "; ".join(map(str, defaults["also_needs"])) or "nothing"
        notes.append(f"also needs, as its file says for all: {listed}")
    fields["source"] = {"date": dt.date.today(), **said.get("source", {})}
    return fields, notes


def _of_these_numbers(
    entries: SupplierEntries, said: Mapping[str, Any], new: NewSet
) -> list[Entry[GearSet]]:
    """The supplier's sets that have one of the numbers already, one of the same id last."""
    found = [entries.find(each) for each in (said["part_number"], *said.get("aliases", ()))]
    known = {entry.id: entry for entry in found if entry is not None}
    return sorted(known.values(), key=lambda entry: entry.id == new.set_id)


def _says_all(entry: Entry[GearSet], said: Mapping[str, Any], new: NewSet) -> bool:
    """Whether a record says already what was said."""
    record = entry.record
    numbers = {record.part_number, *record.aliases}
    try:
        other = GearSet(supplier=record.supplier, **_write_pairs(said))
    except ValueError:
        return False  # what no set can have is refused where it is put in
    fields = set(said) - {"part_number", "aliases", "source"}
    source = said.get("source", {})
    return (
        {said["part_number"], *said.get("aliases", ())} <= numbers
        and all(getattr(record.source, name) == value for name, value in source.items())
        and all(_in_any_order(record, name) == _in_any_order(other, name) for name in fields)
        and new.set_id in (None, entry.id)
    )


def _in_any_order(record: GearSet, name: str) -> Any:
    """A field's value; of claims the order says nothing."""
    if name != "fits":
        return getattr(record, name)
    return {claim.family: (set(claim.housings), claim.evidence) for claim in record.fits}


def _write_pairs(said: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: {stage: str(pair) for stage, pair in value.items()} if name == "pairs" else value
        for name, value in said.items()
    }


def _explain_taken(catalogue: Catalogue, entry: Entry[GearSet], pairs: Mapping[Stage, Pair]) -> str:
    record = entry.record
    note = retired_note(catalogue, entry)
    head = (
        f"number {record.part_number} of {record.supplier} is {entry.id} already, at {entry.span()}"
    )
    if note is not None:
        return f"{head}; {note}; to add another set under that number, give it an --id"
    if dict(record.pairs) != dict(pairs):
        return (
            f"{head}, with {teeth_words(record.pairs)} and not {teeth_words(pairs)}; count again "
            f"and look the number up, then: fitcheck edit {entry.id} teeth=..."
        )
    return f"{head}, with the same teeth; change what differs: fitcheck edit {entry.id} ..."


def _id(catalogue: Catalogue, entries: SupplierEntries, given: str | None, number: str) -> str:
    if given is None:
        return entries.new_id(number)
    if not is_id(given):
        message, advice, _ = bad_id_words(given)
        raise UsageError(f"{message}; {advice}")
    taken = {id_.lower(): id_ for id_ in (*catalogue.gear_sets, *catalogue.failed["gear-set"])}.get(
        given.lower()
    )
    if taken is not None:
        raise UsageError(f"the id {taken} is there already; give another one, or leave --id out")
    return given


def _lookalikes(entries: SupplierEntries, said: Mapping[str, Any]) -> list[str]:
    """Sets of the supplier that may be this very one, and numbers that may be this one."""
    number, pairs = said["part_number"], said["pairs"]
    found = [
        f"the number {number} and {other} are one number to a spreadsheet; look at the list again"
        for other in (entry.record.part_number for entry in entries.entries.values())
        if other != number
        and _read_as_number(number) is not None
        and _read_as_number(other) == _read_as_number(number)
    ]
    families = {claim["family"] for claim in said.get("fits", ())}
    for entry in entries.entries.values():
        record = entry.record
        shared = sorted(families & {claim.family for claim in record.fits})
        if record.status == "retired" or dict(record.pairs) != dict(pairs):
            continue
        if families and record.fits and not shared:
            continue
        of = f" for {or_list(shared)}" if shared else ""
        aliases = "; ".join((*record.aliases, number))
        found.append(
            f"{entry.id} of {entries.supplier} has the same teeth ({pair_words(pairs)}){of}; if "
            "it is the same part, give it this number as an alias instead: fitcheck edit "
            f"{entry.id} 'aliases={aliases}'"
        )
    return found


def _find_listed_families(catalogue: Catalogue, supplier: str, models: Sequence[str]) -> list[str]:
    words = ListWords.of(catalogue)
    return [family for model in models for family in words.families(model, supplier) or ()]


def _read_as_number(number: str) -> Decimal | None:
    """What a spreadsheet makes of a part number that it takes for a number."""
    if re.fullmatch(r"[0-9]{1,30}(?:[eE]\+?[0-9]{1,2})?", number, re.ASCII) is None:
        return None
    return Decimal(number)
