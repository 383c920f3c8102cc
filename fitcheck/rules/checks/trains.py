"""Does a set belong into any train of the families it names."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import prod

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Finding
from fitcheck.model.family import FactoryTrain, Family
from fitcheck.model.gear_set import FitClaim, GearSet
from fitcheck.rules.checks.place import at, beside

LEAST_SPEED = Fraction(1, 2)
"""Road speed after over before: a set that less than halves it everywhere is a slip (judgement)."""

MOST_SPEED = Fraction(2)
"""The same for a set that more than doubles it everywhere (judgement)."""

Claimed = tuple[int, FitClaim, Entry[Family]]
"""Position of a claim in `fits`, the claim, and its family."""


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


def set_trains(catalogue: Catalogue) -> Iterator[Finding]:
    """Stages and reduction of a set go with at least one factory train it is for."""
    for entry in catalogue.gear_sets.values():
        claims = claimed_families(catalogue, entry.record)
        if not claims:
            continue
        fitting = [claimed for claimed in claims if stages_fit(entry.record, claimed[2].record)]
        if len(fitting) < len(claims):
            yield from _wrong_stages(entry, claims, fitting)
        if fitting and entry.record.status == "active":
            yield from _absurd(entry, fitting)


def _wrong_stages(
    entry: Entry[GearSet], claims: list[Claimed], fitting: list[Claimed]
) -> Iterator[Finding]:
    record = entry.record
    held = " and ".join(record.stages)
    for index, claim, family in claims:
        if stages_fit(record, family.record):
            continue
        train = family.record.train_stages
        there = beside(family, "stages", label=f"a train of {claim.family}", key=True)
        message = f"the set holds {held}, but a train of {claim.family} has {' and '.join(train)}"
        if fitting:
            yield at(
                entry,
                "FC231",
                ("fits", index, "family"),
                message,
                advice="take this family out, or correct the stage",
                related=(there,),
            )
            continue
        strange = next((stage for stage in record.stages if stage not in train), None)
        yield at(
            entry,
            "FC231",
            ("pairs",) if strange is None else ("pairs", strange),
            message,
            key=True,
            advice="correct the stage, or the family the set is for; a set holds one stage or the "
            "whole train",
            related=(there,),
        )
        return


def _absurd(entry: Entry[GearSet], fitting: list[Claimed]) -> Iterator[Finding]:
    record = entry.record
    nearest: tuple[Fraction, Entry[Family], int] | None = None
    for _, claim, family in fitting:
        meant = meant_trains(family.record, claim)
        for index, train in enumerate(family.record.factory_trains):
            if train not in meant or any(s not in train.pairs for s in record.pairs):
                continue
            # Stages left as they are cancel: only the pairs replaced count.
            before = prod(train.pairs[s].driven for s in record.pairs) * prod(
                record.pairs[s].driver for s in record.pairs
            )
            after = prod(train.pairs[s].driver for s in record.pairs) * prod(
                record.pairs[s].driven for s in record.pairs
            )
            speed = Fraction(before, after)
            if LEAST_SPEED <= speed <= MOST_SPEED:
                return
            if nearest is None or _distance(speed) < _distance(nearest[0]):
                nearest = (speed, family, index)
    if nearest is None:
        return
    speed, family, index = nearest
    stage = record.stages[0]
    what = "more than doubles" if speed > 1 else "more than halves"
    yield at(
        entry,
        "FC232",
        ("pairs", stage) if len(record.pairs) == 1 else ("pairs",),
        f"{_teeth(record)} {what} the road speed of every train of "
        f"{' and '.join(dict.fromkeys(c.family for _, c, _ in fitting))} "
        f"({float(100 * (speed - 1)):+z.0f} % at the least)",
        advice="count the teeth again, and look whether the stage is right",
        related=(
            beside(family, "factory_trains", index, "pairs", label="the nearest factory train"),
        ),
    )


def meant_trains(family: Family, claim: FitClaim) -> list[FactoryTrain]:
    """The factory trains of the housings that a claim names; all where none has one of them."""
    trains = family.factory_trains
    named = [train for train in trains if train.housing in claim.housings]
    return named or trains


def _distance(speed: Fraction) -> Fraction:
    return max(speed, 1 / speed)


def _teeth(record: GearSet) -> str:
    return ", ".join(f"{stage} {record.pairs[stage]}" for stage in record.stages)
