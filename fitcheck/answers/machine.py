"""What every answer begins with, and the machine it is about: its trains and its band."""

from __future__ import annotations

from typing import Annotated, TypedDict

from fitcheck import __version__
from fitcheck.answers.shapes import (
    At,
    By,
    Exact,
    More,
    Name,
    Pairs,
    Place,
    RecordPlace,
    Size,
    StageName,
    fill,
    fixed,
    pairs_of,
)
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import portable_path, shown_path
from fitcheck.kernel.gearing import overall_reduction
from fitcheck.model.family import Family
from fitcheck.services.counter.remarks import remarks_on
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import ClassAnswer

SCHEMA_VERSION = 1
"""Rises only when a member of an answer changes its meaning or goes away."""


class _Tool(TypedDict):
    """What wrote it."""

    name: Annotated[str, fixed("fitcheck")]
    """Always fitcheck."""
    version: Annotated[str, More(examples=["0.1.0"])]
    """Its version."""


class _Catalogue(TypedDict):
    """The catalogue it was asked against."""

    path: Annotated[str, At("root"), By(lambda root: portable_path(shown_path(root)))]
    """Folder or file, from the working folder where that is shorter."""
    demo: Annotated[bool, At("is_demo")]
    """Whether it is the built-in demo, whose parts are invented."""


class Header(TypedDict):
    """The members every answer begins with."""

    schema_version: Annotated[int, fixed(SCHEMA_VERSION)]
    """Rises only when a member changes its meaning or goes away."""
    answer: str
    """The command that answers."""
    tool: _Tool
    catalogue: _Catalogue | None


class FactoryTrain(TypedDict):
    """The gears a model leaves the factory with."""

    housing: str
    """Id of the housing."""
    housing_name: str | None
    """Name of the housing."""
    wheel_size_in: Size
    """Rim size of the driven wheel, inches."""
    models: list[Name]
    """Models sold with this train."""
    pairs: Pairs
    """Tooth counts of every stage."""
    reduction: Exact
    """Overall reduction."""
    place: Place
    """Where it stands in the family's record."""


class Machine(TypedDict):
    """The machine asked about."""

    id: Annotated[str | None, At("entry.id")]
    """Id of its record; null where it was given by its counts alone."""
    name: str
    """What to call it."""
    family: Annotated[str, At("family.id")]
    """Id of its engine family."""
    family_name: Annotated[str, At("family.record.name")]
    """Name of that family."""
    housing: str | None
    """Id of its housing; null while nobody has looked."""
    housing_name: str | None
    """Name of that housing."""
    wheel_size_in: Size | None
    """Rim size of the driven wheel, inches."""
    tune: Annotated[str | None, At("tune.id")]
    """Id of its state of tune; null where none is given."""
    stages: Annotated[list[StageName], More(minItems=1, maxItems=3)]
    """Stages of its train, from input shaft to wheel."""
    pairs: Pairs
    """Tooth counts as they are now."""
    reduction: Exact
    """Overall reduction now."""
    factory_trains: list[FactoryTrain]
    """The family's factory trains with exactly these counts; empty where the counts are no known
    factory train."""
    roll_out_mm: Annotated[float, More(exclusiveMinimum=0)] | None
    """Distance per turn of the driven wheel now, mm."""
    roll_out_ratio: Exact
    """Distance per wheel turn after over before; 1/1 where the tyre stays."""
    remarks: list[Name]
    """What to know before reading on, a sentence each."""
    place: Annotated[RecordPlace | None, At("entry")]
    """Where its record stands."""


class Band(TypedDict):
    """The band of the machine's tune, in percent of road-speed change; edges are inside."""

    tune: Annotated[str, At("tune.id")]
    """Id of the tune."""
    name: Annotated[str, At("band.name")]
    """Name of the tune."""
    low: Annotated[Exact, At("band.low")]
    """Least change worth the work."""
    high: Annotated[Exact, At("band.high")]
    """Greatest change the engine pulls."""
    stretch: Annotated[Exact, At("band.stretch")]
    """Up to here a careful build may go; equal to high where it may not."""
    family_band: Annotated[bool, At("band.narrowed")]
    """Whether the engine family sets an edge of its own."""


def header(answer: str, catalogue: Catalogue | None) -> Header:
    """The members every answer begins with."""
    return {
        "schema_version": SCHEMA_VERSION,
        "answer": answer,
        "tool": {"name": "fitcheck", "version": __version__},
        "catalogue": None if catalogue is None else fill(_Catalogue, catalogue),
    }


def factory_train(family: Entry[Family], position: int) -> FactoryTrain:
    """One factory train of a family."""
    train = family.record.factory_trains[position]
    pairs = {
        stage: train.pairs[stage] for stage in family.record.train_stages if stage in train.pairs
    }
    return fill(
        FactoryTrain,
        train,
        housing_name=_housing_name(family, train.housing),
        pairs=pairs_of(pairs),
        reduction=overall_reduction(list(pairs.values())),
        place=family.span("factory_trains", position),
    )


def _housing_name(family: Entry[Family], housing: str | None) -> str | None:
    known = family.record.housings.get(housing) if housing is not None else None
    return None if known is None else known.name


def machine(subject: Subject, lawful: ClassAnswer | None = None) -> Machine:
    """The machine asked about, and its class's answer where that was worked out."""
    return fill(
        Machine,
        subject,
        housing_name=_housing_name(subject.family, subject.housing),
        pairs=pairs_of(dict(zip(subject.stages, subject.pairs, strict=True))),
        factory_trains=[factory_train(subject.family, i) for i in subject.known_trains],
        remarks=remarks_on(subject, lawful),
    )


def band(subject: Subject) -> Band | None:
    """The band of the machine's tune, percent of road speed; None where no tune is given."""
    return None if subject.band is None or subject.tune is None else fill(Band, subject)
