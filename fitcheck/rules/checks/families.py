"""Families that contradict themselves: stages, bands, seats, trains given twice."""

from __future__ import annotations

from collections.abc import Hashable, Iterator

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Finding
from fitcheck.model.family import Family
from fitcheck.model.fields import STAGES
from fitcheck.model.machine import Machine
from fitcheck.rules.checks.place import at, beside


def family_stages(catalogue: Catalogue) -> Iterator[Finding]:
    """Factory trains have every stage of the family and no other; so have tip limits."""
    for entry in catalogue.families.values():
        stages = entry.record.train_stages
        named = " and ".join(stages)
        there = beside(entry, "stages", label="the family's stages", key=True)
        for index, train in enumerate(entry.record.factory_trains):
            steps = ("factory_trains", index, "pairs")
            for stage in train.pairs:
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
            missing = [stage for stage in stages if stage not in train.pairs]
            if missing:
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
        for id_, housing in entry.record.housings.items():
            for stage in housing.max_tip_diameter_mm:
                if stage not in stages:
                    yield at(
                        entry,
                        "FC208",
                        ("housings", id_, "max_tip_diameter_mm", stage),
                        f"a train of {entry.id} has {named}, no {stage} stage",
                        key=True,
                        advice="name the stages as the family does",
                        related=(there,),
                    )


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
        yield from _repeated(entry)


def _repeated(entry: Entry[Family]) -> Iterator[Finding]:
    first: dict[Hashable, int] = {}
    for index, train in enumerate(entry.record.factory_trains):
        pairs = tuple((stage, train.pairs[stage]) for stage in STAGES if stage in train.pairs)
        earlier = first.setdefault((train.housing, train.wheel_size_in, pairs), index)
        if earlier != index:
            yield at(
                entry,
                "FC215",
                ("factory_trains", index),
                f"this train of {entry.id} stands here a second time",
                advice="keep one and gather the models under it",
                related=(beside(entry, "factory_trains", earlier, label="the first of them"),),
            )
