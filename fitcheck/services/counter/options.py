"""Every choice for one engine family, by housing, wheel size, factory train and tune."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.errors import UsageError
from fitcheck.model.family import FactoryTrain, Family
from fitcheck.model.trade import Tune
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.match import Match, match_choices
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject
from fitcheck.services.counter.tyres import NamedTyre


@dataclass(frozen=True)
class OptionGroup:
    """The choices for one factory train under one tune."""

    family: Entry[Family]
    train: int
    tune: Entry[Tune]
    result: Match
    choices: Choices = field(repr=False)

    @property
    def factory_train(self) -> FactoryTrain:
        """The factory train the choices start from."""
        return self.family.record.factory_trains[self.train]


def options(
    catalogue: Catalogue,
    family: Entry[Family],
    request: Request,
    *,
    housing: str | None = None,
    wheel_size_in: int | None = None,
    tune: str | None = None,
) -> Iterator[OptionGroup]:
    """List the choices of every whole factory train of a family under every tune.

    Args:
        catalogue: where to look.
        family: the engine family.
        request: filters of each list.
        housing: id of the only housing wanted.
        wheel_size_in: the only wheel size wanted.
        tune: id of the only tune wanted.

    Returns:
        A group for each factory train and tune, worked out when it is asked for.

    Raises:
        UsageError: the family has no whole factory train on file, or none like that; or there is
            no such tune; or the road or the law is asked and what is known of the factory's
            machine does not say enough.
    """
    tunes = [entry for entry in catalogue.tunes.values() if tune in (None, entry.id)]
    trains = _trains(family, housing, wheel_size_in)
    if not tunes:
        raise UsageError(_without_tunes(family, trains[0], tune))
    subjects = [
        (index, entry, factory_subject(catalogue, family, index, entry))
        for index in trains
        for entry in tunes
    ]
    if request.on_road:
        _check_factory_inputs(family, request, subjects)
    return _groups(family, request, subjects)


def _without_tunes(family: Entry[Family], index: int, tune: str | None) -> str:
    """What to do where no tune gives a band."""
    if tune is not None:
        return f"no tune {tune!r} is on file"
    pairs = family.record.train_pairs(family.record.factory_trains[index])
    assert pairs is not None
    return (
        "no tune is on file, so no band: fitcheck start writes the usual ones, or ask fitcheck "
        f"match {' '.join(map(str, pairs))} -f {family.id} --band any"
    )


def _trains(family: Entry[Family], housing: str | None, wheel_size_in: int | None) -> Sequence[int]:
    """Positions of the whole factory trains that are asked about.

    Raises:
        UsageError: as for `options`.
    """
    record = family.record
    starts = {
        index: train
        for index, train in enumerate(record.factory_trains)
        if record.train_pairs(train) is not None
    }
    if not starts:
        raise UsageError(f"no factory train of {family.id} is on file in full, so no start")
    wanted = [
        index
        for index, train in starts.items()
        if housing in (None, train.housing) and wheel_size_in in (None, train.wheel_size_in)
    ]
    if not wanted:
        known = ", ".join(
            dict.fromkeys(f"{t.housing} {t.wheel_size_in} in" for t in starts.values())
        )
        raise UsageError(f"no factory train of {family.id} like that; there is {known}")
    return wanted


def _groups(
    family: Entry[Family], request: Request, subjects: Sequence[tuple[int, Entry[Tune], Subject]]
) -> Iterator[OptionGroup]:
    choices: Choices | None = None
    for index, tune, subject in subjects:
        # The tune decides no fit: sets are judged once for all tunes of a train.
        if choices is None or choices.subject.factory_train != index:
            choices = Choices.of(subject)
        result = match_choices(replace(choices, subject=subject), request)
        yield OptionGroup(family, index, tune, result, choices=choices)


def factory_subject(
    catalogue: Catalogue,
    family: Entry[Family],
    index: int,
    tune: Entry[Tune],
) -> Subject:
    """A machine as it leaves the factory: a whole train of its family, and its tyre there."""
    train = family.record.factory_trains[index]
    pairs = family.record.train_pairs(train)
    assert pairs is not None
    tyre = None if train.tyre is None else catalogue.tyres.get(train.tyre)
    return Subject(
        catalogue=catalogue,
        name=f"{family.record.name}, {train.housing}, {train.wheel_size_in} in",
        family=family,
        housing=train.housing,
        pairs=pairs,
        tune=tune,
        wheel_size_in=train.wheel_size_in,
        roll_out=None if tyre is None else NamedTyre.of(tyre).best,
        factory_train=index,
    )


def _check_factory_inputs(
    family: Entry[Family], request: Request, subjects: Sequence[tuple[int, Entry[Tune], Subject]]
) -> None:
    """Refuse at once what would end the overview half way.

    Raises:
        UsageError: as for `options`.
    """
    from fitcheck.services.counter.list_road import RoadList  # noqa: PLC0415 - numpy, for the road alone

    asked = request.road
    if len(subjects) > 1 and asked is not None and asked.measures_top:
        raise UsageError(
            "a measured top speed is of one gearing and one tune, and here are "
            f"{len(subjects)} lists; narrow them with --housing, --wheel and --tune, or ask match"
        )
    for index, _, subject in subjects:
        try:
            RoadList(subject, request)
        except UsageError:
            if subject.roll_out is not None:
                raise
            raise UsageError(
                f"the factory tyre of the {subject.name} is not known, so no speed can be worked "
                f"out; add tyre: to {family.place('factory_trains', index)}, or ask "
                "match of a machine"
            ) from None
