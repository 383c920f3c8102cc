"""The machine asked about: from a record, a file, or options alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import TypeVar, cast

from fitcheck.catalogue.reader import Catalogue, Entry, read_records
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.gearing import overall_reduction, road_speed_change
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import Family
from fitcheck.model.fields import Record, Stage
from fitcheck.model.machine import Machine
from fitcheck.model.trade import Tune
from fitcheck.rules.setting import Setting, model_words, plain_word
from fitcheck.services.bands import Band, band_of

__all__ = [
    "Subject",
    "find_family",
    "find_housing",
    "find_record",
    "subject_from_counts",
    "subject_of",
]

R = TypeVar("R", bound=Record)


@dataclass(frozen=True)
class Subject:
    """A machine as matching sees it.

    Attributes:
        name: what to call it on screen.
        family: its engine family.
        housing: id of its housing, or None while nobody has looked.
        pairs: counted pairs from input shaft to wheel.
        tune: its state of tune, or None.
        wheel_size_in: rim size of the driven wheel, or None.
        roll_out_mm: distance per wheel turn now, or None.
        roll_out_ratio: new distance per wheel turn over old; 1 where the tyre stays.
        entry: its record, where it has one.
        catalogue: the catalogue it is asked against.
        told: remarks that come from how it was asked, told after the others.
        remarks: what the counter should know before reading on.
    """

    catalogue: Catalogue
    name: str
    family: Entry[Family]
    housing: str | None
    pairs: tuple[Pair, ...]
    tune: Entry[Tune] | None = None
    wheel_size_in: int | None = None
    roll_out_mm: Fraction | None = None
    roll_out_ratio: Fraction = Fraction(1)
    entry: Entry[Machine] | None = None
    told: tuple[str, ...] = ()

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Stages of the train from input shaft to wheel."""
        return self.family.record.train_stages

    @property
    def reduction(self) -> Fraction:
        """Overall reduction as counted, exact."""
        return overall_reduction(self.pairs)

    @cached_property
    def band(self) -> Band | None:
        """The band of its tune, or None where no tune is given."""
        return None if self.tune is None else band_of(self.tune, self.family)

    @cached_property
    def known_trains(self) -> tuple[int, ...]:
        """Positions of the family's factory trains with exactly these counts."""
        family = self.family.record
        trains = enumerate(family.factory_trains)
        return tuple(i for i, train in trains if family.train_pairs(train) == self.pairs)

    @cached_property
    def replaced(self) -> frozenset[Stage]:
        """Stages whose counted pair is in no factory train on file: nobody knows its make."""
        factory: dict[Stage, set[Pair]] = {}
        for train in self.family.record.factory_trains:
            for stage, pair in train.pairs.items():
                factory.setdefault(stage, set()).add(pair)
        return frozenset(
            stage
            for stage, pair in zip(self.stages, self.pairs, strict=True)
            if pair not in factory.get(stage, set())
        )

    @cached_property
    def setting(self) -> Setting:
        """The gearbox its sets are judged against."""
        return Setting(
            self.family,
            self.housing,
            self.stages,
            model_words(self.catalogue),
            self.replaced,
        )

    @cached_property
    def remarks(self) -> tuple[str, ...]:
        """What to know before reading the table, each one sentence."""
        return (*_remarks(self), *self.told)


def subject_of(catalogue: Catalogue, reference: str) -> Subject:
    """The subject for a machine id, a machine's name, or a file holding one machine.

    Raises:
        UsageError: no such machine, or one that its family or counts do not let match.
        UnreadableError: the file cannot be read.
    """
    entry = _machine_entry(catalogue, reference)
    machine = entry.record
    family = find_family(catalogue, machine.family, entry.place("family"))
    housing = machine.housing
    if housing is not None and housing not in family.record.housings:
        raise UsageError(
            f"{entry.place('housing')}: {family.id} has no housing {housing!r}; it has "
            f"{or_list(family.record.housings)}"
        )
    stages = family.record.train_stages
    if machine.stages != stages:
        raise UsageError(
            f"{entry.place('pairs')}: counted {or_list(machine.stages)}, but a train of "
            f"{family.id} has {' and '.join(stages)}; count every stage"
        )
    tune = None
    if machine.tune is not None:
        tune = find_record(catalogue.tunes, machine.tune, "tune", entry.place("tune"))
    return Subject(
        catalogue,
        machine.name,
        family,
        housing,
        tuple(machine.pairs[stage] for stage in stages),
        tune,
        machine.wheel_size_in,
        _roll_out(catalogue, machine),
        entry=entry,
    )


def subject_from_counts(
    catalogue: Catalogue,
    family_name: str,
    pairs: Sequence[Pair],
    *,
    housing_name: str | None = None,
    tune_name: str | None = None,
    wheel_size_in: int | None = None,
) -> Subject:
    """The subject for what was counted at the counter, without a record.

    Raises:
        UsageError: the family, housing or tune is not known, or the number of stages is wrong.
    """
    family = find_family(catalogue, family_name)
    stages = family.record.train_stages
    if len(pairs) != len(stages):
        raise UsageError(
            f"{family.id} has {len(stages)} stage{'s' * (len(stages) > 1)} "
            f"({', '.join(stages)}), counted {len(pairs)}; give the pair of every stage in order"
        )
    housing = None if housing_name is None else find_housing(family, housing_name)
    tune = None if tune_name is None else find_record(catalogue.tunes, tune_name, "tune")
    name = f"{family.record.name}, {', '.join(map(str, pairs))}"
    return Subject(catalogue, name, family, housing, tuple(pairs), tune, wheel_size_in)


def find_family(catalogue: Catalogue, name: str, place: str | None = None) -> Entry[Family]:
    """A family by id, name or alias; case, spaces and marks do not matter.

    Raises:
        UsageError: unknown, with the nearest name, or shared by several families.
    """
    if name in catalogue.families:
        return catalogue.families[name]
    found = model_words(catalogue).get(plain_word(name), frozenset())
    if len(found) == 1:
        return catalogue.families[next(iter(found))]
    prefix = f"{place}: " if place else ""
    if found:
        raise UsageError(f"{prefix}{name!r} may be {or_list(sorted(found))}; name one of them")
    raise UsageError(_unknown("engine family", name, list(catalogue.families), prefix))


def find_record(
    records: Mapping[str, Entry[R]], name: str, what: str, place: str | None = None
) -> Entry[R]:
    """A record by id or by its name field; case, spaces and marks do not matter.

    Raises:
        UsageError: unknown, with the nearest id, or a name that several share.
    """
    if name in records:
        return records[name]
    plain = plain_word(name)
    found = [
        entry
        for id_, entry in records.items()
        if plain in (plain_word(id_), plain_word(getattr(entry.record, "name", None) or ""))
    ]
    if plain and len(found) == 1:
        return found[0]
    prefix = f"{place}: " if place else ""
    if plain and found:
        raise UsageError(
            f"{prefix}{name!r} may be {or_list(entry.id for entry in found)}; name one of them"
        )
    raise UsageError(_unknown(what, name, list(records), prefix))


def _unknown(what: str, name: str, known: Sequence[str], prefix: str = "") -> str:
    shown = name if len(name) <= 60 else name[:57] + "..."
    near = nearest(name, known)
    if near is not None:
        return f"{prefix}no {what} {shown!r}; did you mean {near}?"
    if not known:
        return f"{prefix}no {what} {shown!r}; the catalogue holds none"
    return f"{prefix}no {what} {shown!r}; there is {or_list(known)}"


def find_housing(family: Entry[Family], name: str) -> str:
    """The id of a family's housing by id, name or alias.

    Raises:
        UsageError: the family has no such housing.
    """
    housings = family.record.housings
    if name in housings:
        return name
    plain = plain_word(name)
    found = [
        id_
        for id_, housing in housings.items()
        if plain in {plain_word(word) for word in (id_, housing.name, *housing.aliases)}
    ]
    if plain and len(found) == 1:
        return found[0]
    raise UsageError(f"{family.id} has no housing {name!r}; it has {or_list(housings)}")


def _machine_entry(catalogue: Catalogue, reference: str) -> Entry[Machine]:
    looks_like_file = reference.lower().endswith((".yaml", ".yml")) or "/" in reference
    if not looks_like_file:
        found: Entry[Machine] = find_record(catalogue.machines, reference, "machine")
        return found
    entries, findings = read_records(Path(reference))
    errors = [finding for finding in findings if finding.severity == "error"]
    if errors:
        first = errors[0]
        near = f"did you mean {first.suggestion}?" if first.suggestion else "correct it there"
        more = f" (and {len(errors) - 1} more: run fitcheck check {reference})"
        raise UsageError(
            f"{first.span}: {first.message}; {first.help or near}{more if len(errors) > 1 else ''}"
        )
    machines = [cast(Entry[Machine], entry) for entry in entries if entry.kind == "machine"]
    if not machines:
        raise UsageError(f"{reference} holds no machine; its kind is to be machine")
    if len(machines) > 1:
        raise UsageError(
            f"{reference} holds {len(machines)} machines; keep one a file or name it by its id"
        )
    return machines[0]


def _roll_out(catalogue: Catalogue, machine: Machine) -> Fraction | None:
    """Measured before tabled: what the shop rolled out stands before the tyre's own figure."""
    if machine.roll_out_mm is not None:
        return Fraction(machine.roll_out_mm)
    tyre = catalogue.tyres.get(machine.tyre) if machine.tyre is not None else None
    return None if tyre is None else Fraction(tyre.record.roll_out_mm)


def _remarks(subject: Subject) -> list[str]:
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
    if subject.housing is None and len(family.housings) > 1:
        remarks.append(
            f"The housing is not known ({or_list(family.housings)}): fit stays open where it "
            "matters."
        )
    if subject.tune is None:
        remarks.append("No tune is given, so no band is applied.")
    return remarks


def _already_changed(subject: Subject) -> Iterator[str]:
    """What an earlier change has used up of the band, where the factory train is certain."""
    family = subject.family.record
    here = (subject.housing, subject.wheel_size_in)
    trains = [
        family.train_pairs(train)
        for train in family.factory_trains
        if (train.housing, train.wheel_size_in) == here
    ]
    factory = trains[0] if len(trains) == 1 else None
    if factory is None:
        return
    change = road_speed_change(overall_reduction(factory), subject.reduction)
    if change:
        yield (
            f"It left the works with {', '.join(map(str, factory))}, so it already runs "
            f"{float(change):+.2f} % against the factory. Every change below comes on top of that, "
            "and the engine feels both: judge the sum."
        )
