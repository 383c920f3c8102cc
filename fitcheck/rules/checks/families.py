"""Families that contradict themselves, and names that stand for two records."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.model.family import Family
from fitcheck.model.fields import Stage
from fitcheck.model.machine import Machine
from fitcheck.rules.checks.walks import at, beside
from fitcheck.rules.setting import plain_word


def family_stages(catalogue: Catalogue) -> Iterator[Finding]:
    """Factory trains have every stage of the family and no other; so have tip limits."""
    for entry in catalogue.families.values():
        stages = entry.record.train_stages
        named = " and ".join(stages)
        there = beside(entry, "stages", label="the family's stages", key=True)
        for steps, given in _by_stage(entry.record):
            for stage in given:
                if stage not in stages:
                    yield at(
                        entry,
                        "FC208",
                        (*steps, stage),
                        f"a train of {entry.id} has {named}, no {stage} stage",
                        key=True,
                        advice="name the stages as the family does",
                        related=(there,),
                    )
            missing = [stage for stage in stages if stage not in given]
            if missing and steps[0] == "factory_trains":
                yield at(
                    entry,
                    "FC209",
                    steps,
                    f"this train of {entry.id} lacks its {' and '.join(missing)} pair",
                    key=True,
                    advice="give the teeth of every stage, or leave the train out until they are "
                    "counted",
                    related=(there,),
                )


def _by_stage(family: Family) -> Iterator[tuple[DocumentPath, Mapping[Stage, object]]]:
    """What a family gives stage by stage: pairs of its trains, tip limits of its housings."""
    for index, train in enumerate(family.factory_trains):
        yield ("factory_trains", index, "pairs"), train.pairs
    for id_, housing in family.housings.items():
        yield ("housings", id_, "max_tip_diameter_mm"), housing.max_tip_diameter_mm


def family_bands(catalogue: Catalogue) -> Iterator[Finding]:
    """A family's own edge together with those of the tune still makes a band."""
    for entry in catalogue.families.values():
        for tune_id, own in entry.record.bands.items():
            tune = catalogue.tunes.get(tune_id)
            general = None if tune is None else tune.record
            low = own.low if own.low is not None or general is None else general.low
            high = own.high if own.high is not None or general is None else general.high
            stretch = own.stretch if own.stretch is not None or general is None else general.stretch
            for lesser, least, greater, most in (
                ("low", low, "high", high),
                ("high", high, "stretch", stretch),
            ):
                if least is None or most is None or least <= most:
                    continue
                mine = lesser if getattr(own, lesser) is not None else greater
                other = greater if mine == lesser else lesser
                # A tune is checked by itself, so here at least one edge is the family's own.
                from_tune = getattr(own, other) is None
                place = (
                    beside(tune, other, label=f"{other} of the tune")
                    if tune is not None and from_tune
                    else beside(entry, "bands", tune_id, other, label=f"{other} of the band")
                )
                whose = f"the tune's {other}" if from_tune else other
                value, against = (least, most) if mine == lesser else (most, least)
                relation = "over" if mine == lesser else "under"
                yield at(
                    entry,
                    "FC221",
                    ("bands", tune_id, mine),
                    f"{mine} ({value}) is {relation} {whose} ({against}): no band at all",
                    advice=f"change one of them, or give {other} here too",
                    related=(place,),
                )


def family_seats(catalogue: Catalogue) -> Iterator[Finding]:
    """One idler seat between each two stages, no more; of families, and measured on machines."""
    for family in catalogue.families.values():
        seats = family.record.interfaces.idler_seats
        yield from _too_many(family, family, seats, "interfaces", "idler_seats")
    for machine in catalogue.machines.values():
        of = catalogue.families.get(machine.record.family)
        if of is not None:
            yield from _too_many(machine, of, machine.record.idler_seats, "idler_seats")


def _too_many(
    entry: Entry[Family] | Entry[Machine], family: Entry[Family], seats: list[str], *steps: str
) -> Iterator[Finding]:
    joints = len(family.record.train_stages) - 1
    if len(seats) > joints:
        yield at(
            entry,
            "FC222",
            (*steps, joints),
            f"{len(seats)} idler seats, but a train of {joints + 1} "
            f"stage{'s' * (joints > 0)} has {joints}",
            advice="keep the seat each wheel but the last has on the next pinion's shaft",
        )


def repeated_trains(catalogue: Catalogue) -> Iterator[Finding]:
    """The same factory train given twice for one housing and wheel."""
    for entry in catalogue.families.values():
        first: dict[Hashable, int] = {}
        for index, train in enumerate(entry.record.factory_trains):
            pairs = frozenset(train.pairs.items())
            earlier = first.setdefault((train.housing, train.wheel_size_in, pairs), index)
            if earlier != index:
                there = beside(entry, "factory_trains", earlier, label="the first of them")
                yield at(
                    entry,
                    "FC215",
                    ("factory_trains", index),
                    f"this train of {entry.id} stands here a second time",
                    advice="keep one and gather the models under it",
                    related=(there,),
                )


_Use = tuple[str, Entry[Any], DocumentPath, str, bool]
"""Whose name it is, the record, where under it, the words, and whether they are a key."""


def ambiguous_names(catalogue: Catalogue) -> Iterator[Finding]:
    """Words shared by two families, two housings of a family, two tunes or two suppliers."""
    families = [use for entry in catalogue.families.values() for use in _family_words(entry)]
    yield from _shared("engine families", families)
    for entry in catalogue.families.values():
        yield from _shared(f"housings of {entry.id}", _housing_words(entry))
    for plural, records in (("tunes", catalogue.tunes), ("suppliers", catalogue.suppliers)):
        words: list[_Use] = []
        for named in records.values():
            words.append((named.id, named, (), named.id, True))
            words.append((named.id, named, ("name",), named.record.name, False))
        yield from _shared(plural, words)


def _family_words(entry: Entry[Family]) -> Iterator[_Use]:
    record = entry.record
    yield entry.id, entry, (), entry.id, True
    yield entry.id, entry, ("name",), record.name, False
    for index, alias in enumerate(record.aliases):
        yield entry.id, entry, ("aliases", index), alias, False
    for train, given in enumerate(record.factory_trains):
        for index, model in enumerate(given.models):
            yield entry.id, entry, ("factory_trains", train, "models", index), model, False


def _housing_words(entry: Entry[Family]) -> Iterator[_Use]:
    for id_, housing in entry.record.housings.items():
        yield id_, entry, ("housings", id_), id_, True
        yield id_, entry, ("housings", id_, "name"), housing.name, False
        for index, alias in enumerate(housing.aliases):
            yield id_, entry, ("housings", id_, "aliases", index), alias, False


def _shared(plural: str, uses: Iterable[_Use]) -> Iterator[Finding]:
    first: dict[str, _Use] = {}
    told: set[tuple[str, str]] = set()
    for use in uses:
        owner, entry, steps, words, is_key = use
        plain = plain_word(words)
        earlier = first.setdefault(plain, use)
        if earlier[0] == owner or not plain or (plain, owner) in told:
            continue
        told.add((plain, owner))
        yield at(
            entry,
            "FC211",
            steps,
            f"“{words}” stands for two {plural}, {earlier[0]} and {owner}",
            key=is_key,
            advice="keep it on one of them, or make the words differ",
            related=(beside(earlier[1], *earlier[2], label="first used here", key=earlier[4]),),
        )
