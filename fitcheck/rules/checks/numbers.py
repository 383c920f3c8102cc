"""Part numbers: one part under two, one for two parts, and what follows a retired one."""

from __future__ import annotations

from collections.abc import Hashable, Iterator

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.gear_set import GearSet
from fitcheck.model.trade import VariatorKit
from fitcheck.rules.checks.walks import active_sets, at, beside, name_pairs
from fitcheck.rules.setting import plain_word


def repeated_numbers(catalogue: Catalogue) -> Iterator[Finding]:
    """A supplier's number on two active records: with other teeth, or with the same."""
    first: dict[tuple[str, str], tuple[Entry[GearSet], DocumentPath]] = {}
    for entry in active_sets(catalogue):
        for steps, number in _numbers(entry.record):
            key = (entry.record.supplier, _folded(number))
            earlier, earlier_steps = first.setdefault(key, (entry, steps))
            if earlier.id == entry.id:
                continue
            theirs, ours = earlier.record.pairs, entry.record.pairs
            what = f"number {number} of {entry.record.supplier} is {earlier.id}"
            if theirs == ours:
                code, what = "FC214", f"{what} already, with the same teeth"
                advice = "keep one record and put into it what the other says more"
            else:
                code = "FC213"
                what = f"{what} with {name_pairs(theirs)}, here with {name_pairs(ours)}"
                advice = "look the number up in the supplier's list and correct one of the two"
            there = beside(earlier, *earlier_steps, label=f"{earlier.id} has it too")
            yield at(entry, code, steps, what, advice=advice, related=(there,))


def same_part_twice(catalogue: Catalogue) -> Iterator[Finding]:
    """Two numbers of one supplier, the same teeth, the same gearboxes, and nothing to tell why."""
    first: dict[Hashable, Entry[GearSet]] = {}
    for entry in active_sets(catalogue):
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
            f"({name_pairs(record.pairs)}) for the same gearboxes: one part under two numbers?",
            advice="keep one record and give the other number under its aliases; if they differ, "
            "say in what under geometry or interfaces",
            related=(beside(earlier, "part_number", label="the first of them"),),
        )


def repeated_kits(catalogue: Catalogue) -> Iterator[Finding]:
    """A supplier's number on two variator kits, or on a kit and a gear set."""
    first: dict[tuple[str, str], Entry[GearSet] | Entry[VariatorKit]] = {}
    for gear_set in active_sets(catalogue):
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


_SHOWN = 8
"""So many sets of a circle are named; a longer line would not be read."""


def retired_sets(catalogue: Catalogue) -> Iterator[Finding]:
    """A retired set without a successor leaves the counter without an answer."""
    for entry in catalogue.gear_sets.values():
        if entry.record.status == "retired" and entry.record.successor is None:
            yield at(
                entry,
                "FC271",
                ("status",),
                "retired, and no successor is named",
                advice="name the set that takes its place under successor, if there is one",
            )


def successor_cycles(catalogue: Catalogue) -> Iterator[Finding]:
    """Successors that lead back to where they began."""
    sets = catalogue.gear_sets
    position = {id_: index for index, id_ in enumerate(sets)}
    done: set[str] = set()
    for start in sets:
        chain: list[str] = []
        seen: set[str] = set()
        here: str | None = start
        while here is not None and here in sets and here not in done and here not in seen:
            chain.append(here)
            seen.add(here)
            here = sets[here].record.successor
        done |= seen
        if here is None or here not in seen:
            continue
        cycle = chain[chain.index(here) :]
        first = min(cycle, key=position.__getitem__)
        turned = cycle[cycle.index(first) :] + cycle[: cycle.index(first)]
        message = (
            "names itself as its successor"
            if len(turned) == 1
            else f"the successors go in a circle: {' → '.join(_in_short(turned))} → {first}"
        )
        yield at(
            sets[first],
            "FC272",
            ("successor",),
            message,
            advice="let the chain end at the set sold now",
            related=(
                beside(sets[each], "successor", label=f"successor of {each}")
                for each in turned[1:_SHOWN]
            ),
        )


def _in_short(ids: list[str]) -> list[str]:
    left_out = len(ids) - _SHOWN
    return ids if left_out <= 0 else [*ids[:_SHOWN], f"{left_out} more"]


def successors_unlike(catalogue: Catalogue) -> Iterator[Finding]:
    """A successor for another stage, or for other families, takes nobody's place."""
    for entry in catalogue.gear_sets.values():
        record = entry.record
        successor = catalogue.gear_sets.get(record.successor or "")
        if successor is None or successor.id == entry.id:
            continue
        lost = [stage for stage in record.stages if stage not in successor.record.pairs]
        families = {claim.family for claim in record.fits}
        others = {claim.family for claim in successor.record.fits}
        if lost:
            message = (
                f"the successor {successor.id} holds {' and '.join(successor.record.stages)}, and "
                f"{entry.id} holds {' and '.join(record.stages)}"
            )
        elif families and others and not families & others:
            message = (
                f"the successor {successor.id} is for {or_list(sorted(others))}, and {entry.id} "
                f"for {or_list(sorted(families))}"
            )
        else:
            continue
        yield at(
            entry,
            "FC274",
            ("successor",),
            message,
            advice="name the set that takes its place, or take the successor out",
            related=(beside(successor, "pairs" if lost else "fits", label="the successor"),),
        )


def shelf_stock(catalogue: Catalogue) -> Iterator[Finding]:
    """Stock of a retired set is never offered by matching."""
    for entry in catalogue.shelf.values():
        gear_set = catalogue.gear_sets.get(entry.id)
        if gear_set is None or gear_set.record.status != "retired" or not entry.record.quantity:
            continue
        yield at(
            entry,
            "FC273",
            ("quantity",),
            f"{entry.record.quantity} of {entry.id} on the shelf, but the set is retired and "
            "never matched",
            advice="set it active until the last is sold, or write the stock off",
            related=(beside(gear_set, "status", label="retired here"),),
        )
