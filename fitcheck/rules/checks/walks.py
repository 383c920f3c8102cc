"""What checks share: sets with the families they are for, and a finding at the very value."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import FactoryTrain, Family
from fitcheck.model.fields import STAGES, Stage
from fitcheck.model.gear_set import FitClaim, GearSet

Check = Callable[[Catalogue], Iterator[Finding]]
"""One question put to a whole catalogue."""


def at(
    entry: Entry[Any],
    code: str,
    steps: DocumentPath,
    message: str,
    *,
    key: bool = False,
    advice: str | None = None,
    related: Iterable[Related] = (),
    suggestion: str | None = None,
) -> Finding:
    """A finding at a value of a record, or at its key.

    Args:
        entry: the record.
        code: code of the finding.
        steps: path under the record; empty for the record itself.
        message: one sentence saying what is wrong.
        key: point at the key instead of the value.
        advice: what to do, one sentence.
        related: other places.
        suggestion: what to put in place of the value.
    """
    return Finding(
        code,
        message,
        entry.span(*steps, key=key),
        record=entry.id,
        field=entry.document_path(*steps),
        related=tuple(related),
        help=advice,
        suggestion=suggestion,
    )


def beside(entry: Entry[Any], *steps: str | int, label: str, key: bool = False) -> Related:
    """Another place that has to do with a finding."""
    return Related(entry.span(*steps, key=key), label)


def first_item(steps: DocumentPath, items: list[str], wanted: str) -> DocumentPath:
    """The path of an item in a list of a record, of the list itself where it is not there."""
    return (*steps, items.index(wanted)) if wanted in items else steps


Claimed = tuple[int, FitClaim, Entry[Family]]
"""Position of a claim in `fits`, the claim, and its family."""


Pairs = Mapping[Stage, Pair]


def active_sets(catalogue: Catalogue) -> Iterator[Entry[GearSet]]:
    """The sets that are sold. A retired one may keep the number and teeth of its successor."""
    return (each for each in catalogue.gear_sets.values() if each.record.status == "active")


def active_claims(catalogue: Catalogue) -> Iterator[tuple[Entry[GearSet], list[Claimed]]]:
    """Active sets with what `fitting_claims` gives for them."""
    for entry in active_sets(catalogue):
        yield entry, fitting_claims(catalogue, entry.record)


def claimed_families(catalogue: Catalogue, record: GearSet) -> list[Claimed]:
    """The claims of a set whose family is on file."""
    return [
        (index, claim, catalogue.families[claim.family])
        for index, claim in enumerate(record.fits)
        if claim.family in catalogue.families
    ]


def stages_fit(record: GearSet, family: Family) -> bool:
    """Whether a set holds one stage of a family's train, or the whole train."""
    stages = family.train_stages
    return record.stages == stages or (len(record.stages) == 1 and record.stages[0] in stages)


def fitting_claims(catalogue: Catalogue, record: GearSet) -> list[Claimed]:
    """The claims of a set whose family is on file and has its stages."""
    return [
        claimed
        for claimed in claimed_families(catalogue, record)
        if stages_fit(record, claimed[2].record)
    ]


def without_claims(entry: Entry[GearSet]) -> Entry[GearSet]:
    """A set as its data alone show it, since a trial in the shop silences a rule of fit.

    What the data say against a family is worth telling all the more where somebody tried it.
    """
    if all(claim.evidence != "measured" for claim in entry.record.fits):
        return entry
    return replace(entry, record=entry.record.model_copy(update={"fits": []}))


def meant_trains(family: Family, claim: FitClaim) -> list[FactoryTrain]:
    """The factory trains of the housings that a claim names; all where none has one of them."""
    trains = family.factory_trains
    named = [train for train in trains if train.housing in claim.housings]
    return named or trains


def name_pairs(pairs: Pairs) -> str:
    """Pairs with their stages, in words."""
    return ", ".join(f"{stage} {pairs[stage]}" for stage in STAGES if stage in pairs)
