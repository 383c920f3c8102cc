"""What the counter should know about a machine before reading the answer."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.diagnostics.suggest import or_list
from fitcheck.kernel.gearing import overall_reduction, road_speed_change
from fitcheck.kernel.rounding import percent
from fitcheck.services.audience import around, with_hint
from fitcheck.services.identify import Slip, identify
from fitcheck.services.lawful import ceiling_words
from fitcheck.services.road.figures import ClassAnswer
from fitcheck.services.subject import Subject

__all__ = ["remarks_on"]

_SLIPS = (Slip.MISCOUNT, Slip.STAGES_SWAPPED, Slip.WHEELS_SWAPPED, Slip.GEARS_REGROUPED)


def remarks_on(subject: Subject, lawful: ClassAnswer | None = None) -> tuple[str, ...]:
    """What to know before reading an answer, each one sentence or two.

    Args:
        subject: the machine.
        lawful: the class's answer to the machine as it stands, where it was worked out; it is told
            in place of the ceiling alone.
    """
    remarks: list[str] = []
    family = subject.family.record
    counted = ", ".join(map(str, subject.pairs))
    if not family.factory_trains:
        seats = ": how the gears that stay are seated is not known" * (len(subject.stages) > 1)
        remarks.append(f"No factory train of {family.name} is on file to compare with{seats}.")
    elif not subject.known_trains:
        remarks.append(
            f"{counted} is no known factory train of {family.name}; going on with what was counted."
        )
        remarks.extend(
            f"The {stage} pair is in no factory train on file: its seat on the idler is not known."
            for stage in subject.stages
            if stage in subject.replaced and len(subject.stages) > 1
        )
        remarks.extend(_perhaps_miscounted(subject))
        remarks.extend(_already_changed(subject))
    else:
        trains = [family.factory_trains[i] for i in subject.known_trains]
        same = [
            train
            for train in trains
            if subject.housing in (None, train.housing)
            and subject.wheel_size_in in (None, train.wheel_size_in)
        ]
        if not same:
            train = trains[0]
            remarks.append(
                f"{counted} is the factory train of the {train.housing} housing with a "
                f"{train.wheel_size_in} in wheel, not of this machine's: look again."
            )
            remarks.extend(_already_changed(subject))
    if subject.housing is None and len(family.housings) > 1:
        remarks.append(
            f"The housing is not known ({or_list(family.housings)}): fit stays open where it "
            "matters."
        )
    if subject.tune is None:
        remarks.append("No tune is given, so no band is applied.")
    remarks.extend(_class_ceiling(subject) if lawful is None else _class_now(lawful))
    return (*remarks, *subject.told)


def _perhaps_miscounted(subject: Subject) -> Iterator[str]:
    """The factory train that one slip in counting or writing would explain, if there is one."""
    found = [
        candidate
        for candidate in identify(subject.catalogue, subject.pairs, subject.wheel_size_in)
        if candidate.family.id == subject.family.id and candidate.slip in _SLIPS
    ]
    found.sort(key=lambda one: one.factory_train.housing != subject.housing)
    for candidate in found[:1]:
        train = candidate.factory_train
        pairs = ", ".join(map(str, subject.family.record.train_pairs(train) or ()))
        yield (
            f"Count again before you order: {candidate.reading}, if it is the factory train "
            f"{pairs} of the {train.housing} housing with a {train.wheel_size_in} in wheel. Check "
            f"{candidate.check.removeprefix('count ')}."
        )


def _already_changed(subject: Subject) -> Iterator[str]:
    """What an earlier change has used up of the band, where the factory train is certain."""
    factory = subject.factory_pairs
    if factory is None:
        return
    change = road_speed_change(overall_reduction(factory), subject.reduction)
    if change:
        yield (
            f"It left the works with {', '.join(map(str, factory))}, so it already runs "
            f"{percent(change)} against the factory. Every change below comes on top of that, "
            "and the engine feels both: judge by the figure from the works beside each."
        )


def _class_ceiling(subject: Subject) -> Iterator[str]:
    """The design speed of the class the machine is registered in."""
    own = None if subject.entry is None else subject.entry.record.vehicle_class
    works = subject.family.record.vehicle_class
    name = works if own is None else own
    entry = None if name is None else subject.catalogue.vehicle_classes.get(name)
    speed = None if entry is None else entry.record.max_speed_km_h
    if entry is None or speed is None:
        return
    record = entry.record
    limit = f"at most {ceiling_words(float(speed))} by design"
    if own is not None:
        yield (
            f"Registered as {record.name}, {record.place}: {limit}. More road speed may take it "
            "out of that class; local law decides."
        )
    elif subject.entry is not None:
        yield with_hint(
            f"No class is on file for it; its family left the works as {record.name}, "
            f"{record.place}: {limit}. Local law decides.",
            f"--class {entry.id} judges by that.",
            " ",
        )


def _class_now(lawful: ClassAnswer) -> Iterator[str]:
    """What the class says of the machine before anything is changed."""
    yield around(lawful.sentence, "As it stands: ")
    yield from lawful.others
