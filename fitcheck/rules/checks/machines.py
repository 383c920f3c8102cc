"""Machines beside what their family left the factory with."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Finding
from fitcheck.diagnostics.suggest import one_slip, or_list
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import Family
from fitcheck.model.fields import Stage
from fitcheck.model.machine import Machine
from fitcheck.rules.checks.place import at, beside
from fitcheck.rules.checks.stages import exchanged_train, like_other_stages, named_pairs
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
        turned = exchanged_train(record.pairs, trains)
        if turned is not None:
            yield _exchanged(entry, family, turned)
            return
        yield _not_as_built(entry, family)
        if like_other_stages([train.pairs for train in trains], record.pairs):
            yield at(
                entry,
                "FC288",
                ("pairs",),
                f"{named_pairs(record.pairs)}: {family.id} has one of them at another "
                "stage, and none at its own: the stages seem exchanged",
                key=True,
                advice="look which of the pairs is on the input shaft",
            )
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
        f"{', '.join(str(record.pairs[stage]) for stage in record.stages)} left the works in the "
        f"{train.housing} housing with a {train.wheel_size_in} in wheel, not in a machine like "
        "this",
        advice="look at the casing and the rim again; no fault where gears or wheel were changed",
        related=(beside(family, "factory_trains", same[0], label="the factory train"),),
    )


def _exchanged(entry: Entry[Machine], family: Entry[Family], index: int) -> Finding:
    train = family.record.factory_trains[index]
    return at(
        entry,
        "FC288",
        ("pairs",),
        f"{named_pairs(entry.record.pairs)} is no factory train of {family.id}, but "
        f"{named_pairs(train.pairs)} is: the stages are exchanged, here or there",
        key=True,
        advice="look which of the pairs is on the input shaft",
        related=(beside(family, "factory_trains", index, label="that train"),),
    )


def _not_as_built(entry: Entry[Machine], family: Entry[Family]) -> Finding:
    record = entry.record
    factory: dict[Stage, list[Pair]] = {}
    for train in family.record.factory_trains:
        for stage, pair in train.pairs.items():
            factory.setdefault(stage, []).append(pair)
    other = [s for s in record.stages if record.pairs[s] not in factory.get(s, [])]
    there = beside(family, "factory_trains", label=f"factory trains of {family.id}", key=True)
    if not other:
        counted = ", ".join(str(record.pairs[stage]) for stage in record.stages)
        return at(
            entry,
            "FC282",
            ("pairs",),
            f"each pair is a factory pair of {family.id}, but no train of it has {counted}",
            key=True,
            advice="two gearboxes mixed, or a stage already changed? matching goes on with what "
            "was counted",
            related=(there,),
        )
    stage = other[0]
    counted_pair = record.pairs[stage]
    close = dict.fromkeys(str(p) for p in factory.get(stage, []) if _one_tooth(p, counted_pair))
    named = " and ".join(f"{s} {record.pairs[s]}" for s in other)
    return at(
        entry,
        "FC282",
        ("pairs", stage),
        f"{named} left the works in no train of {family.id}: already changed, or miscounted",
        advice=f"count again: the works fitted {or_list(close)}, one tooth away"
        if close
        else f"the works fitted {or_list(dict.fromkeys(map(str, factory.get(stage, []))))}; "
        "matching goes on with what was counted",
        related=(there,),
    )


def _one_tooth(one: Pair, other: Pair) -> bool:
    return abs(one.driver - other.driver) + abs(one.driven - other.driven) == 1


def machine_seats(catalogue: Catalogue) -> Iterator[Finding]:
    """An idler seat measured on a machine is no slip of one that a family or a set has."""
    measured = [
        (entry, joint, seat, code)
        for entry in catalogue.machines.values()
        for joint, seat in enumerate(entry.record.idler_seats)
        # Of codes of two characters every other one would be near.
        if (code := plain_code(seat)) is not None and len(code) > 2
    ]
    known = _known_seats(catalogue) if measured else {}
    for entry, joint, seat, code in measured:
        near = [] if code in known else one_slip(code, known)
        if near:
            family = catalogue.families.get(entry.record.family)
            own = [] if family is None else family.record.interfaces.idler_seats[joint : joint + 1]
            near = [each for each in near if known[each] in own] or near
            yield at(
                entry,
                "FC289",
                ("idler_seats", joint),
                f"no family and no set has idler seat {seat}, so no known pair goes with it",
                advice=f"did you mean {or_list(known[each] for each in near)}? no fault where it "
                "was measured so",
                suggestion=known[near[0]] if len(near) == 1 else None,
            )


def _known_seats(catalogue: Catalogue) -> dict[str, str]:
    """Idler seats of families and sets: plain, and as first written."""
    written = [
        s for each in catalogue.families.values() for s in each.record.interfaces.idler_seats
    ]
    for entry in catalogue.gear_sets.values():
        seats = entry.record.interfaces
        written += [seat for seat in (seats.wheel_seat, seats.pinion_seat) if seat is not None]
    known: dict[str, str] = {}
    for seat in written:
        code = plain_code(seat)
        if code is not None:
            known.setdefault(code, seat)
    return known


def machine_tyres(catalogue: Catalogue) -> Iterator[Finding]:
    """The tyre goes on the machine's rim."""
    for entry in catalogue.machines.values():
        record = entry.record
        tyre = catalogue.tyres.get(record.tyre) if record.tyre is not None else None
        if tyre is None or record.wheel_size_in is None:
            continue
        if tyre.record.wheel_size_in != record.wheel_size_in:
            yield at(
                entry,
                "FC284",
                ("tyre",),
                f"{tyre.id} is a tyre for a {tyre.record.wheel_size_in} in rim, the machine's has "
                f"{record.wheel_size_in} in",
                advice="read the size on the sidewall and the rim, and correct one of the two",
                related=(
                    beside(entry, "wheel_size_in", label="the machine's rim"),
                    beside(tyre, "wheel_size_in", label="the tyre's"),
                ),
            )


def family_tyres(catalogue: Catalogue) -> Iterator[Finding]:
    """The tyre of a factory train goes on that train's rim."""
    for entry in catalogue.families.values():
        for index, train in enumerate(entry.record.factory_trains):
            tyre = catalogue.tyres.get(train.tyre) if train.tyre is not None else None
            if tyre is None or tyre.record.wheel_size_in == train.wheel_size_in:
                continue
            steps = ("factory_trains", index)
            yield at(
                entry,
                "FC284",
                (*steps, "tyre"),
                f"{tyre.id} is a tyre for a {tyre.record.wheel_size_in} in rim, this train's has "
                f"{train.wheel_size_in} in",
                advice="read the size on the sidewall and the rim, and correct one of the two",
                related=(
                    beside(entry, *steps, "wheel_size_in", label="the train's rim"),
                    beside(tyre, "wheel_size_in", label="the tyre's"),
                ),
            )
