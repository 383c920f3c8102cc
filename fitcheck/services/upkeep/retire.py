"""A gear set retired by command: kept, marked, never matched, and leading to its successor."""

from __future__ import annotations

from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.counter.succession import way_on
from fitcheck.services.upkeep.drafts import Edited, draft_of, judge
from fitcheck.services.upkeep.typed_values import one_line
from fitcheck.services.upkeep.warnings import change_words, pair_words

_SAID_IN_OUR_WORDS = frozenset({"FC271", "FC273", "FC274"})


def retire_set(
    catalogue: Catalogue, name: str, *, successor: str | None = None, reason: str | None = None
) -> Edited:
    """Draft a set's retirement.

    Args:
        catalogue: the catalogue.
        name: id, part number or alias of the set.
        successor: the same of the set that takes its place; None: as on record.
        reason: why; it goes into the notes.

    Raises:
        UsageError: a set is not known, or the successors would go in a circle.
        EditError: the file cannot be edited, or has changed meanwhile.
    """
    entry = find_set(catalogue, name)
    record = entry.record
    fields: dict[str, Any] = {"status": "retired"}
    loud: list[str] = []
    if successor is not None:
        next_one = find_set(catalogue, successor)
        fields["successor"] = next_one.id
        loud += _judge_successor(catalogue, entry, next_one)
        if record.successor not in (None, next_one.id):
            loud.append(f"the successor of {entry.id} was {record.successor}")
    elif record.successor is None:
        loud.append(
            f"no successor is named: whoever asks for {record.part_number} is left without an "
            "answer; name one with --successor, if there is one"
        )
    elif record.status != "retired":
        loud += _judge_successor(catalogue, entry, catalogue.gear_sets.get(record.successor))
    if reason is not None:
        why = one_line(reason, "the reason")
        said = f"Retired: {why}"
        if not why:
            raise UsageError("the reason is blank; leave it out or write a word")
        if said not in (record.notes or ""):
            fields["notes"] = said if record.notes is None else _with_more(record.notes, said)
    draft = draft_of(entry)
    draft.set_fields(entry.id, fields)
    notes = [*_find_predecessors(catalogue, entry), *_on_the_shelf(catalogue, entry)]
    return judge(catalogue, entry.id, draft, loud=loud, notes=notes, known=_SAID_IN_OUR_WORDS)


def _with_more(notes: str, said: str) -> str:
    """Notes with a sentence behind them, before the line breaks that end them."""
    text = notes.rstrip()
    return f"{text} {said}{notes[len(text) :]}"


def _judge_successor(
    catalogue: Catalogue, entry: Entry[GearSet], next_one: Entry[GearSet] | None
) -> list[str]:
    """What to say of a successor.

    Raises:
        UsageError: it is the set itself, or leads back to it.
    """
    if next_one is None:
        return []
    if next_one.id == entry.id:
        raise UsageError(f"{entry.id} cannot be its own successor; name the set sold now")
    way = way_on(catalogue, entry, first=next_one.id)
    if way.end == "circle":
        chain = " → ".join((entry.id, *way.steps))
        raise UsageError(f"the successors would go in a circle: {chain}; name the set sold now")
    said = []
    if way.end == "retired":
        between = " by way of " + ", ".join(way.steps[:-1]) if len(way.steps) > 1 else ""
        said.append(
            f"the way ends at {way.steps[-1]}{between}, which is retired itself, and no other is "
            "named: name the set sold now"
        )
    elif way.end == "unknown":
        said.append(f"the way ends at {way.steps[-1]}, which the catalogue does not hold")
    elif len(way.steps) > 1:
        said.append(f"{next_one.id} leads on to {way.steps[-1]}, which is sold now")
    last = catalogue.gear_sets.get(way.steps[-1], next_one)
    return [*said, *_compare_with(entry, last)]


def _compare_with(entry: Entry[GearSet], last: Entry[GearSet]) -> list[str]:
    """In what a successor is no plain replacement."""
    old, new = entry.record, last.record
    said = []
    if dict(old.pairs) != dict(new.pairs):
        said.append(
            f"{last.id} has other teeth, {pair_words(new.pairs)} for {pair_words(old.pairs)}: "
            f"{change_words(old.pairs, new.pairs)}"
        )
    if old.supplier != new.supplier:
        said.append(f"{last.id} is of another supplier, {new.supplier}")
    lost = []
    for claim in old.fits:
        others = [other for other in new.fits if other.family == claim.family]
        housings = {housing for other in others for housing in other.housings}
        missing = [housing for housing in claim.housings if housing not in housings]
        if not others:
            lost.append(claim.family)
        elif missing:
            lost.append(f"{claim.family} {', '.join(missing)}")
    if lost:
        said.append(f"nobody confirms that {last.id} fits {or_list(lost)}, as {entry.id} does")
    return said


def _find_predecessors(catalogue: Catalogue, entry: Entry[GearSet]) -> list[str]:
    """Sets whose way on goes over this one."""
    before = [
        other.id for other in catalogue.gear_sets.values() if other.record.successor == entry.id
    ]
    if not before or entry.record.status == "retired":
        return []
    return [f"those who ask for {or_list(before)} are led on over {entry.id} from now on"]


def _on_the_shelf(catalogue: Catalogue, entry: Entry[GearSet]) -> list[str]:
    held = catalogue.shelf.get(entry.id)
    if held is None or not held.record.quantity:
        return []
    place = f", {held.record.place}" if held.record.place is not None else ""
    words = (
        f"{held.record.quantity} of {entry.id} on the shelf{place}: never matched from now on; "
        "leave it active until the last is sold, or write the stock off"
    )
    return [words]
