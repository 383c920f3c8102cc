"""Every choice for one engine family, by housing, wheel size, factory train and tune."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import FactoryTrain, Family
from fitcheck.model.trade import Tune
from fitcheck.services.matching import Match, match
from fitcheck.services.request import Request
from fitcheck.services.subject import Subject

__all__ = ["OptionGroup", "options"]


@dataclass(frozen=True)
class OptionGroup:
    """The choices for one factory train under one tune."""

    family: Entry[Family]
    train: int
    tune: Entry[Tune]
    result: Match

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
            no such tune.
    """
    record = family.record
    starts: dict[int, tuple[FactoryTrain, tuple[Pair, ...]]] = {}
    for index, train in enumerate(record.factory_trains):
        pairs = record.train_pairs(train)
        if pairs is not None:
            starts[index] = (train, pairs)
    if not starts:
        raise UsageError(f"no factory train of {family.id} is on file in full, so no start")
    wanted = {
        index: (train, pairs)
        for index, (train, pairs) in starts.items()
        if housing in (None, train.housing) and wheel_size_in in (None, train.wheel_size_in)
    }
    if not wanted:
        known = ", ".join(
            dict.fromkeys(f"{t.housing} {t.wheel_size_in} in" for t, _ in starts.values())
        )
        raise UsageError(f"no factory train of {family.id} like that; there is {known}")
    tunes = [entry for entry in catalogue.tunes.values() if tune in (None, entry.id)]
    if not tunes:
        raise UsageError(
            f"no tune {tune!r} is on file" if tune is not None else "no tune is on file, so no band"
        )
    return _groups(catalogue, family, request, wanted, tunes)


def _groups(
    catalogue: Catalogue,
    family: Entry[Family],
    request: Request,
    wanted: Mapping[int, tuple[FactoryTrain, tuple[Pair, ...]]],
    tunes: Sequence[Entry[Tune]],
) -> Iterator[OptionGroup]:
    for index, (train, pairs) in wanted.items():
        for entry in tunes:
            subject = Subject(
                catalogue,
                f"{family.record.name}, {train.housing}, {train.wheel_size_in} in",
                family,
                train.housing,
                pairs,
                entry,
                train.wheel_size_in,
            )
            yield OptionGroup(family, index, entry, match(subject, request))
