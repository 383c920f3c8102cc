"""The whole calculation and every rule's answer for one combination, as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.catalogue.reader import Entry
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.gearing import PaperCheck, paper_check
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.fit.advice import pair_advice, wheel_clearance
from fitcheck.rules.setting import plain_word
from fitcheck.services.matching import Combination, combine
from fitcheck.services.notes import also_needed, questions
from fitcheck.services.subject import Subject

__all__ = ["Explanation", "explain", "find_set"]


@dataclass(frozen=True)
class Explanation:
    """Why a combination fits or not, and what it does.

    Attributes:
        subject: the machine.
        combination: the sets put together, with every rule's answer.
        now: the present train worked by hand.
        then: the new train worked by hand.
        advice: what is worth knowing though it decides no fit.
        questions: what to measure so that unproven becomes proved.
        parcel: what else the job needs.
        retired: notes on sets that are kept but no longer sold.
    """

    subject: Subject
    combination: Combination
    now: PaperCheck
    then: PaperCheck
    advice: list[str]
    questions: list[str]
    parcel: list[str]
    retired: list[str]


def explain(subject: Subject, sets: Sequence[Entry[GearSet]]) -> Explanation:
    """Work out one combination from front to back.

    Raises:
        UsageError: two sets hold the same stage, or none is given.
    """
    combination = combine(subject, sets)
    sets = combination.sets
    advice = [
        note
        for entry in sets
        for stage in entry.record.stages
        for note in pair_advice(entry, stage)
    ]
    if subject.roll_out_ratio > 1 and subject.roll_out_mm is not None:
        note = wheel_clearance(
            float(subject.roll_out_mm), float(subject.roll_out_mm * subject.roll_out_ratio)
        )
        advice += [note] if note is not None else []
    retired = [
        f"{entry.id} is retired"
        + (f"; its successor is {entry.record.successor}" if entry.record.successor else "")
        for entry in sets
        if entry.record.status == "retired"
    ]
    return Explanation(
        subject,
        combination,
        paper_check(subject.pairs),
        paper_check(list(combination.pairs.values())),
        advice,
        questions(combination.answers),
        also_needed(sets),
        retired,
    )


def find_set(subject: Subject, name: str) -> Entry[GearSet]:
    """A gear set by id, part number or alias; case, spaces and marks do not matter.

    Raises:
        UsageError: unknown, with the nearest id, or shared by several suppliers.
    """
    sets = subject.catalogue.gear_sets
    if name in sets:
        return sets[name]
    plain = plain_word(name)
    found = [
        entry
        for id_, entry in sets.items()
        if plain in {plain_word(w) for w in (id_, entry.record.part_number, *entry.record.aliases)}
    ]
    if plain and len(found) == 1:
        return found[0]
    if plain and found:
        raise UsageError(f"{name!r} may be {or_list(e.id for e in found)}; name one of them")
    near = nearest(name, sets)
    hint = f"did you mean {near}?" if near is not None else "see fitcheck match for the ids"
    raise UsageError(f"no gear set {name[:60]!r}; {hint}")
