"""One part under two records, and one number for two parts."""

from __future__ import annotations

from collections.abc import Hashable, Iterator

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.model.gear_set import GearSet
from fitcheck.model.trade import VariatorKit
from fitcheck.rules.checks.place import at, beside
from fitcheck.rules.setting import plain_word


def repeated_numbers(catalogue: Catalogue) -> Iterator[Finding]:
    """A supplier's number on two active records: with other teeth, or with the same."""
    first: dict[tuple[str, str], tuple[Entry[GearSet], DocumentPath]] = {}
    for entry in _active(catalogue):
        for steps, number in _numbers(entry.record):
            key = (entry.record.supplier, _folded(number))
            earlier, earlier_steps = first.setdefault(key, (entry, steps))
            if earlier.id == entry.id:
                continue
            there = beside(earlier, *earlier_steps, label=f"{earlier.id} has it too")
            if earlier.record.pairs == entry.record.pairs:
                yield at(
                    entry,
                    "FC214",
                    steps,
                    f"number {number} of {entry.record.supplier} is {earlier.id} already, with "
                    "the same teeth",
                    advice="keep one record and put into it what the other says more",
                    related=(there,),
                )
            else:
                yield at(
                    entry,
                    "FC213",
                    steps,
                    f"number {number} of {entry.record.supplier} is {earlier.id} with "
                    f"{_teeth(earlier.record)}, here with {_teeth(entry.record)}",
                    advice="look the number up in the supplier's list and correct one of the two",
                    related=(there,),
                )


def same_part_twice(catalogue: Catalogue) -> Iterator[Finding]:
    """Two numbers of one supplier, the same teeth, the same gearboxes, and nothing to tell why."""
    first: dict[Hashable, Entry[GearSet]] = {}
    for entry in _active(catalogue):
        record = entry.record
        meant = _meant_for(record)
        if meant is None:
            continue
        key = (
            record.supplier,
            tuple((stage, record.pairs[stage]) for stage in record.stages),
            meant,
            _details(record),
        )
        earlier = first.setdefault(key, entry)
        if earlier.id == entry.id or _share_a_number(earlier.record, record):
            continue
        yield at(
            entry,
            "FC212",
            ("part_number",),
            f"{entry.id} and {earlier.id} of {record.supplier} have the same teeth "
            f"({_teeth(record)}) for the same gearboxes: one part under two numbers?",
            advice="keep one record and give the other number under its aliases; if they differ, "
            "say in what under geometry or interfaces",
            related=(beside(earlier, "part_number", label="the first of them"),),
        )


def repeated_kits(catalogue: Catalogue) -> Iterator[Finding]:
    """A supplier's number on two variator kits, or on a kit and a gear set."""
    first: dict[tuple[str, str], Entry[GearSet] | Entry[VariatorKit]] = {}
    for gear_set in _active(catalogue):
        for _, number in _numbers(gear_set.record):
            first.setdefault((gear_set.record.supplier, _folded(number)), gear_set)
    for kit in catalogue.variators.values():
        for steps, number in _numbers(kit.record):
            earlier = first.setdefault((kit.record.supplier, _folded(number)), kit)
            if earlier is kit:
                continue
            what = "the variator kit" if earlier.kind == kit.kind else "the gear set"
            yield at(
                kit,
                "FC216",
                steps,
                f"number {number} of {kit.record.supplier} is {what} {earlier.id} already",
                advice="look the number up in the supplier's list and correct one of the two",
                related=(beside(earlier, "part_number", label=f"the number of {earlier.id}"),),
            )


def _active(catalogue: Catalogue) -> Iterator[Entry[GearSet]]:
    # A retired set may keep its number and its teeth beside the set that took its place.
    return (e for e in catalogue.gear_sets.values() if e.record.status == "active")


def _numbers(record: GearSet | VariatorKit) -> Iterator[tuple[DocumentPath, str]]:
    yield ("part_number",), record.part_number
    for index, alias in enumerate(record.aliases):
        yield ("aliases", index), alias


def _folded(number: str) -> str:
    return "".join(number.split()).casefold()


def _share_a_number(one: GearSet, other: GearSet) -> bool:
    mine = {_folded(number) for _, number in _numbers(one)}
    return any(_folded(number) in mine for _, number in _numbers(other))


def _meant_for(record: GearSet) -> Hashable | None:
    """The gearboxes a set is for: as somebody vouches, else as listed; None if nothing says."""
    if record.fits:
        return frozenset((claim.family, frozenset(claim.housings)) for claim in record.fits)
    words = frozenset(plain_word(word) for word in record.listed_for.models)
    return (words, record.listed_for.wheel_size_in) if words else None


def _details(record: GearSet) -> Hashable:
    if not (record.geometry or record.members or record.interfaces.model_fields_set):
        return None
    return record.model_dump_json(
        include={"geometry", "interfaces", "members"}, exclude_defaults=True
    )


def _teeth(record: GearSet) -> str:
    return ", ".join(f"{stage} {record.pairs[stage]}" for stage in record.stages)
