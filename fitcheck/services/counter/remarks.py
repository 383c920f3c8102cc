"""What the counter should know about a machine before reading the answer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from fitcheck.catalogue.reader import Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.kernel.gearing import overall_reduction, road_speed_change
from fitcheck.kernel.rounding import percent
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import FactoryTrain
from fitcheck.model.trade import VehicleClass
from fitcheck.services.counter.audience import around, with_hint
from fitcheck.services.counter.identify import Slip, far_change, gears_in_doubt, identify
from fitcheck.services.counter.subject import BandVerdict, Subject
from fitcheck.services.road.figures import ClassAnswer
from fitcheck.services.road.lawful import ceiling_words

_SLIPS = (
    Slip.MISCOUNT,
    Slip.STAGES_SWAPPED,
    Slip.WHEELS_SWAPPED,
    Slip.GEARS_REGROUPED,
    Slip.DIGITS_SWAPPED,
)


def remarks_on(subject: Subject, lawful: ClassAnswer | None = None) -> tuple[str, ...]:
    """What to know before reading an answer, each one sentence or two.

    Args:
        subject: the machine.
        lawful: the class's answer to the machine as it stands, where it was worked out; it is told
            in place of the ceiling alone.
    """
    law = _class_ceiling(subject) if lawful is None else _class_now(lawful)
    return (*_remarks_on_counts(subject), *law, *subject.told)


def first_sentences(subject: Subject) -> list[str]:
    """The same without the law, and of each remark what it says first."""
    remarks = (*_remarks_on_counts(subject), *subject.told)
    return [re.split(r"(?<=[.!?]) (?=[A-Z])", remark, maxsplit=1)[0] for remark in remarks]


def class_limit(subject: Subject) -> str | None:
    """The design speed of the class a machine is in, in a few words; None where none is known."""
    found = _class_with_ceiling(subject)
    why = None if found is None else _not_judged(subject)
    if found is None or (subject.entry is None and why is None):
        return None
    whose = "" if found.is_own or subject.entry is None else "no class on file; its family: "
    limit = f"{whose}{found.entry.record.name}: {found.limit}"
    return limit if why is None else f"{limit}; not judged: {why}"


def _not_judged(subject: Subject) -> str | None:
    """Why no speed is there to judge the law by: the roll-out is not known; None where it is."""
    from fitcheck.services.road.inputs import is_roll_out_known  # noqa: PLC0415 - for the road alone

    if is_roll_out_known(subject):
        return None
    return with_hint("the roll-out is not known", "give --tyre SIZE")


def _remarks_on_counts(subject: Subject) -> list[str]:
    """Remarks on the machine's gears, housing and tune."""
    remarks: list[str] = []
    family = subject.family.record
    if not family.factory_trains:
        seats = ": how the gears that stay are seated is not known" * (len(subject.stages) > 1)
        remarks.append(f"No factory train of {family.name} is on file to compare with{seats}.")
    else:
        remarks.extend(_against_factory(subject))
    if subject.housing is None and len(family.housings) > 1:
        remarks.append(
            f"The housing is not known ({or_list(family.housings)}): fit stays open where it "
            "matters."
        )
    if subject.tune is None:
        remarks.append("No tune is given, so no band is applied.")
    return remarks


def questions_counts(subject: Subject) -> bool:
    """Whether the answer asks to count the teeth again before anything is ordered."""
    if subject.known_trains or not subject.family.record.factory_trains:
        return False
    return bool(_trains_elsewhere(subject)) or any(_perhaps_miscounted(subject))


def _trains_elsewhere(subject: Subject) -> list[FactoryTrain]:
    """Factory trains of the family with these very counts, whatever the housing and the wheel."""
    family = subject.family.record
    return [t for t in family.factory_trains if family.train_pairs(t) == subject.pairs]


def _against_factory(subject: Subject) -> Iterator[str]:
    """How the counts compare with the factory trains that are possible for the machine."""
    family = subject.family.record
    counted = ", ".join(map(str, subject.pairs))
    if not subject.known_trains:
        same = _trains_elsewhere(subject)
        if same:
            yield (
                f"{counted} is the factory train of the {same[0].housing} housing with a "
                f"{same[0].wheel_size_in} in wheel, not of this machine's: look again."
            )
        else:
            yield (
                f"{counted} is no known factory train of {family.name}; going on with what was "
                "counted."
            )
    yield from _unknown_seats(subject)
    if not subject.known_trains:
        if not same:
            yield from _perhaps_miscounted(subject)
        yield from _already_changed(subject)


def _unknown_seats(subject: Subject) -> Iterator[str]:
    """Which gears may be of any make, so that what they are seated on has to be measured."""
    unknown = [stage for stage in subject.stages if stage in subject.unknown_make]
    setting = subject.setting
    joints = range(len(subject.stages) - 1)
    if not unknown or all(setting.measured_seat(joint) is not None for joint in joints):
        return
    trains = [subject.family.record.factory_trains[i] for i in subject.possible_trains]
    if len({frozenset(train.pairs.items()) for train in trains}) > 1:
        lacking = [
            name
            for name, known, possible in (
                ("housing", subject.housing, {train.housing for train in trains}),
                ("wheel size", subject.wheel_size_in, {train.wheel_size_in for train in trains}),
            )
            if known is None and len(possible) > 1
        ]
        give = f": give the {' and the '.join(lacking)}" if lacking else ""
        yield (
            f"{len(trains)} factory trains are possible for it, so the {' and '.join(unknown)} "
            f"gears may be the factory's or not{give}. Until that is known or the idler seat is "
            "measured, fit beside them stays open."
        )
        return
    if not trains:
        yield (
            "No factory train is on file for this housing and wheel size, so the make of the "
            "gears now fitted, and their idler seat, is not known."
        )
        return
    gears = f"{unknown[0]} pair is" if len(unknown) == 1 else f"{' and '.join(unknown)} pairs are"
    yield with_hint(
        f"The {gears} not known to be the factory's, so the idler seat there is not known until it "
        "is measured.",
        "Write it down as idler_seats of the machine's record, or give --idler-seats.",
        " ",
    )


def _perhaps_miscounted(subject: Subject) -> Iterator[str]:
    """The factory train that one slip in counting or writing would explain, if there is one."""
    found = [
        candidate
        for candidate in identify(subject.catalogue, subject.pairs, subject.wheel_size_in)
        if candidate.family.id == subject.family.id and candidate.slip in _SLIPS
    ]
    found.sort(key=lambda one: one.factory_train.housing != subject.housing)
    if not found:
        yield from _far_from_factory(subject)
    for candidate in found[:1]:
        yield (
            f"Count again before you order: {candidate.reading}, if it is the factory train "
            f"{_train_words(subject, candidate.factory_train)}. Check "
            f"{candidate.check.removeprefix('count ')}."
        )


def _far_from_factory(subject: Subject) -> Iterator[str]:
    """Counts that change the reduction more than sets do, beside the nearest factory train.

    What the machine's own tune is sold up to is no slip.
    """
    family = subject.family.record
    possible = [family.factory_trains[index] for index in subject.possible_trains]
    changes = []
    for train in possible or family.factory_trains:
        pairs = family.train_pairs(train)
        if pairs is not None:
            change = far_change(pairs, subject.pairs)
            if change is None or _in_band(subject, pairs):
                return
            changes.append((abs(change), change, pairs, train))
    if not changes:
        return
    _, change, pairs, train = min(changes, key=lambda one: one[0])
    gears, again = gears_in_doubt(subject.stages, pairs, subject.pairs)
    yield (
        f"Count again before you order: the reduction differs by {percent(change)} from the "
        f"nearest factory train, {_train_words(subject, train)}, more than gear sets usually "
        f"change it. By that train {gears}. Check {again} again."
    )


def _in_band(subject: Subject, factory: tuple[Pair, ...]) -> bool:
    """Whether the machine is taller than a factory train by what its tune is sold."""
    if subject.band is None:
        return False
    change = road_speed_change(overall_reduction(factory), subject.reduction)
    return subject.band.verdict(change) in (BandVerdict.IN, BandVerdict.STRETCH)


def _train_words(subject: Subject, train: FactoryTrain) -> str:
    pairs = ", ".join(map(str, subject.family.record.train_pairs(train) or ()))
    return f"{pairs} of the {train.housing} housing with a {train.wheel_size_in} in wheel"


def _already_changed(subject: Subject) -> Iterator[str]:
    """What an earlier change has used up of the band, where the factory train is certain."""
    factory = subject.factory_pairs
    if factory is None:
        return
    change = road_speed_change(overall_reduction(factory), subject.reduction)
    if change:
        yield (
            f"It left the factory with {', '.join(map(str, factory))}, so it already runs "
            f"{percent(change)} against the factory. Every change below comes on top of that, "
            "and the engine feels both: judge by the figure from the factory beside each."
        )


class _Ceiling(NamedTuple):
    """A class that has a design speed.

    Attributes:
        entry: the class.
        limit: its speed in words.
        is_own: whether the machine's own record names it, not its family.
    """

    entry: Entry[VehicleClass]
    limit: str
    is_own: bool


def _class_with_ceiling(subject: Subject) -> _Ceiling | None:
    own = None if subject.entry is None else subject.entry.record.vehicle_class
    name = subject.family.record.vehicle_class if own is None else own
    entry = None if name is None else subject.catalogue.vehicle_classes.get(name)
    speed = None if entry is None else entry.record.max_speed_km_h
    if entry is None or speed is None:
        return None
    return _Ceiling(entry, f"at most {ceiling_words(float(speed))} by design", own is not None)


def _class_ceiling(subject: Subject) -> Iterator[str]:
    """The design speed of the class the machine is registered in."""
    found = _class_with_ceiling(subject)
    if found is None:
        return
    record, limit = found.entry.record, found.limit
    why = _not_judged(subject)
    if why is not None:
        yield around(why, "Law not judged: ", ".")
    if found.is_own:
        yield (
            f"Registered as {record.name}, {record.place}: {limit}. More road speed may take it "
            "out of that class; local law decides."
        )
    elif subject.entry is not None:
        yield with_hint(
            f"No class is on file for it; its family left the factory as {record.name}, "
            f"{record.place}: {limit}. Local law decides.",
            f"--class {found.entry.id} judges by that.",
            " ",
        )


def _class_now(lawful: ClassAnswer) -> Iterator[str]:
    """What the class says of the machine before anything is changed."""
    yield around(lawful.sentence, "As it stands: ")
    yield from lawful.others
