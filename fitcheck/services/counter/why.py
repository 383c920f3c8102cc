"""The whole calculation and every rule's answer for one combination, as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.gearing import PaperCheck, paper_check
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.fit.advice import pair_advice, wheel_clearance
from fitcheck.services.counter.combination import Combination, also_needed, combine, questions
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.counter.offer import stock_words
from fitcheck.services.counter.subject import Subject
from fitcheck.services.counter.succession import retired_note, superseded_note


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
        stock: where each set can be had: on the shelf, or what the supplier says.
    """

    subject: Subject
    combination: Combination
    now: PaperCheck
    then: PaperCheck
    advice: list[str]
    questions: list[str]
    parcel: list[str]
    retired: list[str]
    stock: list[str]


def explain(subject: Subject, named: Sequence[Entry[GearSet] | str]) -> Explanation:
    """Work out one combination from front to back.

    Args:
        subject: the machine.
        named: the gear sets, or their ids or part numbers.

    Raises:
        UsageError: a set is not known, two hold the same stage, or none is given.
    """
    catalogue = subject.catalogue
    combination = combine(
        subject, [find_set(catalogue, one) if isinstance(one, str) else one for one in named]
    )
    sets = combination.sets
    casings = subject.family.record.stages
    advice = [
        note
        for entry in sets
        for stage in entry.record.stages
        for note in pair_advice(
            entry, stage, casings[stage].centre_distance_mm if stage in casings else None
        )
    ]
    if subject.roll_out_mm is not None:
        note = wheel_clearance(
            float(subject.roll_out_mm), float(subject.roll_out_mm * subject.roll_out_ratio)
        )
        advice += [note] if note is not None else []
    advice += [note for entry in sets if (note := superseded_note(catalogue, entry)) is not None]
    retired = [note for entry in sets if (note := retired_note(catalogue, entry)) is not None]
    return Explanation(
        subject=subject,
        combination=combination,
        now=paper_check(subject.pairs),
        then=paper_check(list(combination.pairs.values())),
        advice=advice,
        questions=questions(combination.answers),
        parcel=also_needed(sets),
        retired=retired,
        stock=[
            f"{offer.set_id}: {stock_words(offer, shelf_is_kept=bool(catalogue.shelf))}"
            for offer in combination.offers
        ],
    )
