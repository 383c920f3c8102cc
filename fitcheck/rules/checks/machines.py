"""Machines beside the factory trains and seats of their family, and those of others."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Finding
from fitcheck.diagnostics.suggest import one_slip, or_list
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import Family
from fitcheck.model.machine import Machine
from fitcheck.rules.checks.stages import exchanged_train, factory_pairs, like_other_stages
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
                f"{name_pairs(record.pairs)}: {family.id} has one of them at another "
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
        f"{', '.join(str(record.pairs[stage]) for stage in record.stages)} is the factory train of "
        f"the {train.housing} housing with a {train.wheel_size_in} in wheel, not of a machine like "
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
        f"{name_pairs(entry.record.pairs)} is no factory train of {family.id}, but "
        f"{name_pairs(train.pairs)} is: the stages are exchanged, here or there",
        key=True,
        advice="look which of the pairs is on the input shaft",
        related=(beside(family, "factory_trains", index, label="that train"),),
    )


def _not_as_built(entry: Entry[Machine], family: Entry[Family]) -> Finding:
    record = entry.record
    factory = factory_pairs(family.record)
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
        f"no factory train of {family.id} has {named}: already changed, or miscounted",
        advice=f"count again: the factory fitted {or_list(close)}, one tooth away"
        if close
        else f"the factory fitted {or_list(dict.fromkeys(map(str, factory.get(stage, []))))}; "
        "matching goes on with what was counted",
        related=(there,),
    )


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
    seats = _KnownSeats(catalogue) if measured else None
    for entry, joint, code in measured:
        assert seats is not None
        family = catalogue.families.get(entry.record.family)
        if code not in seats.written:
            yield from _slipped_seat(entry, joint, code, family, seats.written)
        elif family is not None and joint < len(family.record.train_stages) - 1:
            yield from _seat_of_another(entry, joint, code, family, seats)


class _KnownSeats:
    """Idler seats by plain code: as first written, the families that have them, and for whom.

    Attributes:
        written: as first written in a family or a set.
        of_family: the families that the seat is a factory seat of, each with its joint.
        sold_for: the families that a set with the seat is for.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self.written: dict[str, str] = {}
        self.of_family: dict[str, dict[str, int]] = {}
        self.sold_for: dict[str, set[str]] = {}
        for family in catalogue.families.values():
            for joint, seat in enumerate(family.record.interfaces.idler_seats):
                if (code := plain_code(seat)) is not None:
                    self.written.setdefault(code, seat)
                    self.of_family.setdefault(code, {}).setdefault(family.id, joint)
        for entry in catalogue.gear_sets.values():
            given = entry.record.interfaces
            for stated in (given.wheel_seat, given.pinion_seat):
                if stated is not None and (code := plain_code(stated)) is not None:
                    self.written.setdefault(code, stated)
                    claimed = (claim.family for claim in entry.record.fits)
                    self.sold_for.setdefault(code, set()).update(claimed)


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
    entry: Entry[Machine], joint: int, code: str, family: Entry[Family], seats: _KnownSeats
) -> Iterator[Finding]:
    """A seat that other families have, but neither the machine's own nor any set for it."""
    own = family.record.interfaces.idler_seats[joint : joint + 1]
    others = seats.of_family.get(code, {})
    if not others or family.id in others or family.id in seats.sold_for.get(code, ()):
        return
    if not own or plain_code(own[0]) is None:
        return
    yield at(
        entry,
        "FC290",
        ("idler_seats", joint),
        f"idler seat {entry.record.idler_seats[joint]} is that of {or_list(others)}, but "
        f"{family.id} has {own[0]}, and no set for it has this one either",
        advice="look at the gearbox again: the family or the seat is wrong; no fault where the "
        "gears of another engine were fitted",
        related=(
            beside(
                family, "interfaces", "idler_seats", joint, label=f"the idler seat of {family.id}"
            ),
        ),
    )
