"""Machines beside the factory trains and seats of their family, and those of others."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Finding
from fitcheck.diagnostics.suggest import one_slip, or_list
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import Family
from fitcheck.model.machine import Machine
from fitcheck.rules.checks.stages import (
    at_exchanged,
    exchanged_train,
    factory_pairs,
    like_other_stages,
)
from fitcheck.rules.checks.walks import at, beside, name_pairs
from fitcheck.rules.setting import plain_code


def machine_trains(catalogue: Catalogue) -> Iterator[Finding]:
    """Counted stages are the family's, and the counts those of a factory train."""
    for entry in catalogue.machines.values():
        family = catalogue.families.get(entry.record.family)
        if family is None:
            continue
        if entry.record.stages != family.record.train_stages:
            yield _wrong_stages(entry, family)
        elif family.record.factory_trains:
            yield from _as_built(entry, family)


def _wrong_stages(entry: Entry[Machine], family: Entry[Family]) -> Finding:
    stages = family.record.train_stages
    strange = [stage for stage in entry.record.stages if stage not in stages]
    missing = [stage for stage in stages if stage not in entry.record.pairs]
    counted = " and ".join(entry.record.stages)
    return at(
        entry,
        "FC281",
        ("pairs", strange[0]) if strange else ("pairs",),
        f"counted {counted}, but a train of {family.id} has {' and '.join(stages)}",
        key=True,
        advice=f"count the {' and '.join(missing)} too"
        if missing and not strange
        else "name the stages as the family does, or correct the family",
        related=(beside(family, "stages", label=f"the stages of {family.id}", key=True),),
    )


def _as_built(entry: Entry[Machine], family: Entry[Family]) -> Iterator[Finding]:
    record = entry.record
    trains = family.record.factory_trains
    same = [index for index, train in enumerate(trains) if train.pairs == record.pairs]
    if not same:
        counted, turned = name_pairs(record.pairs), exchanged_train(record.pairs, trains)
        if turned is not None:
            yield at_exchanged(
                entry,
                ("pairs",),
                f"{counted} is no factory train of {family.id}, but "
                f"{name_pairs(trains[turned].pairs)} is: the stages are exchanged, here or there",
                beside(family, "factory_trains", turned, label="that train"),
            )
            return
        yield _not_as_built(entry, family)
        if like_other_stages([train.pairs for train in trains], record.pairs):
            what = f"{counted}: {family.id} has one of them at another stage, and none at its own"
            yield at_exchanged(entry, ("pairs",), f"{what}: the stages seem exchanged")
        return
    by_housing = [i for i in same if record.housing in (None, trains[i].housing)]
    by_wheel = [i for i in same if record.wheel_size_in in (None, trains[i].wheel_size_in)]
    if set(by_housing) & set(by_wheel):
        return
    train = trains[same[0]]
    at_housing = not by_housing and (bool(by_wheel) or record.wheel_size_in is None)
    if at_housing and record.housing not in family.record.housings:
        return
    yield at(
        entry,
        "FC283",
        ("housing",) if at_housing else ("wheel_size_in",),
        f"{', '.join(str(record.pairs[stage]) for stage in record.stages)} is the factory train of "
        f"the {train.housing} housing with a {train.wheel_size_in} in wheel, not of a machine like "
        "this",
        advice="look at the casing and the rim again; no fault where gears or wheel were changed",
        related=(beside(family, "factory_trains", same[0], label="the factory train"),),
    )


def _not_as_built(entry: Entry[Machine], family: Entry[Family]) -> Finding:
    record = entry.record
    factory = factory_pairs(family.record)
    other = [s for s in record.stages if record.pairs[s] not in factory.get(s, [])]
    goes_on = "matching goes on with what was counted"
    if not other:
        counted = ", ".join(str(record.pairs[stage]) for stage in record.stages)
        what = f"each pair is a factory pair of {family.id}, but no train of it has {counted}"
        advice = f"two gearboxes mixed, or a stage already changed? {goes_on}"
    else:
        named = " and ".join(f"{s} {record.pairs[s]}" for s in other)
        what = f"no factory train of {family.id} has {named}: already changed, or miscounted"
        fitted = factory.get(other[0], [])
        close = [p for p in fitted if _one_tooth(p, record.pairs[other[0]])]
        those = or_list(dict.fromkeys(map(str, close or fitted)))
        advice = f"the factory fitted {those}; {goes_on}"
        if close:
            advice = f"count again: the factory fitted {those}, one tooth away"
    there = beside(family, "factory_trains", label=f"factory trains of {family.id}", key=True)
    steps = ("pairs", *other[:1])
    return at(entry, "FC282", steps, what, key=not other, advice=advice, related=(there,))


def _one_tooth(one: Pair, other: Pair) -> bool:
    return abs(one.driver - other.driver) + abs(one.driven - other.driven) == 1


def machine_seats(catalogue: Catalogue) -> Iterator[Finding]:
    """An idler seat measured on a machine is no slip of a known one, nor another family's."""
    measured = [
        (entry, joint, code)
        for entry in catalogue.machines.values()
        for joint, seat in enumerate(entry.record.idler_seats)
        if (code := plain_code(seat)) is not None
    ]
    written: dict[str, str] = {}
    factory: dict[str, list[str]] = {}
    sold: dict[str, list[str]] = {}
    for code, seat, families, is_factory in _known_seats(catalogue) if measured else ():
        written.setdefault(code, seat)
        (factory if is_factory else sold).setdefault(code, []).extend(families)
    for entry, joint, code in measured:
        family = catalogue.families.get(entry.record.family)
        if code not in written:
            yield from _slipped_seat(entry, joint, code, family, written)
        elif family is not None and family.id not in (*factory.get(code, ()), *sold.get(code, ())):
            others = list(dict.fromkeys(factory.get(code, ())))
            yield from _seat_of_another(entry, joint, family, others)


def _known_seats(catalogue: Catalogue) -> Iterator[tuple[str, str, list[str], bool]]:
    """Plain idler seat, as written, the families it is for, and whether it is their factory's."""
    for family in catalogue.families.values():
        for seat in family.record.interfaces.idler_seats:
            if (code := plain_code(seat)) is not None:
                yield code, seat, [family.id], True
    for entry in catalogue.gear_sets.values():
        given = entry.record.interfaces
        for stated in (given.wheel_seat, given.pinion_seat):
            if stated is not None and (code := plain_code(stated)) is not None:
                yield code, stated, [claim.family for claim in entry.record.fits], False


def _slipped_seat(
    entry: Entry[Machine],
    joint: int,
    code: str,
    family: Entry[Family] | None,
    known: Mapping[str, str],
) -> Iterator[Finding]:
    # Of codes of two characters every other one would be near.
    near = one_slip(code, known) if len(code) > 2 else []
    if not near:
        return
    own = [] if family is None else family.record.interfaces.idler_seats[joint : joint + 1]
    near = [each for each in near if known[each] in own] or near
    seat = entry.record.idler_seats[joint]
    yield at(
        entry,
        "FC289",
        ("idler_seats", joint),
        f"no family and no set has idler seat {seat}, so no known pair goes with it",
        advice=f"did you mean {or_list(known[each] for each in near)}? no fault where it "
        "was measured so",
        suggestion=known[near[0]] if len(near) == 1 else None,
    )


def _seat_of_another(
    entry: Entry[Machine], joint: int, family: Entry[Family], others: list[str]
) -> Iterator[Finding]:
    """A seat of other families' factories, where that of the machine's own family is known."""
    own = family.record.interfaces.idler_seats[joint : joint + 1]
    if not others or not own or plain_code(own[0]) is None:
        return
    label = f"the idler seat of {family.id}"
    yield at(
        entry,
        "FC290",
        ("idler_seats", joint),
        f"idler seat {entry.record.idler_seats[joint]} is that of {or_list(others)}, but "
        f"{family.id} has {own[0]}, and no set for it has this one either",
        advice="look at the gearbox again: the family or the seat is wrong; no fault where the "
        "gears of another engine were fitted",
        related=(beside(family, "interfaces", "idler_seats", joint, label=label),),
    )
