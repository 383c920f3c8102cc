"""The machine asked about, from a record, a file, or options alone, and the band of its tune."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import cast

from fitcheck.catalogue.reader import Catalogue, Entry, read_records
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.gearing import overall_reduction
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import Family
from fitcheck.model.fields import Stage
from fitcheck.model.machine import Machine
from fitcheck.model.trade import Tune
from fitcheck.model.tyre import size_or_none
from fitcheck.rules.setting import ListWords, Setting, plain_code
from fitcheck.services.counter.audience import ShopWords, with_hint
from fitcheck.services.counter.lookup import find_family, find_housing, find_machine, find_tune
from fitcheck.services.counter.tyres import RollOut, roll_out_of


class BandVerdict(StrEnum):
    """Where a road-speed change lies against a band."""

    SHORTER = "shorter"
    BELOW = "below"
    IN = "in"
    STRETCH = "stretch"
    OVER = "over"
    NONE = "none"


BAND_WORDS = {
    BandVerdict.SHORTER: "shorter",
    BandVerdict.BELOW: "below",
    BandVerdict.IN: "in band",
    BandVerdict.STRETCH: "stretch",
    BandVerdict.OVER: "over",
    BandVerdict.NONE: "no band",
}
"""What a verdict is called on screen."""


@dataclass(frozen=True, slots=True)
class Band:
    """A window of road-speed change in percent; both edges are inside.

    Attributes:
        low: least change worth the work.
        high: greatest the engine pulls.
        stretch: up to here a careful build may go; equal to high where there is no stretch.
        name: the tune's name.
        narrowed: whether the family sets an edge of its own.
    """

    low: Fraction
    high: Fraction
    stretch: Fraction
    name: str
    narrowed: bool

    def verdict(self, change: Fraction) -> BandVerdict:
        """Where an exact road-speed change lies."""
        if self.low <= change <= self.high:
            return BandVerdict.IN
        if change < 0:
            return BandVerdict.SHORTER
        if change < self.low:
            return BandVerdict.BELOW
        if change <= self.stretch:
            return BandVerdict.STRETCH
        return BandVerdict.OVER


def band_of(tune: Entry[Tune], family: Entry[Family]) -> Band:
    """The band of a tune in a family: the family's own edges override the tune's."""
    general = tune.record
    own = family.record.bands.get(tune.id)
    low = general.low if own is None or own.low is None else own.low
    high = general.high if own is None or own.high is None else own.high
    stretch = general.stretch if own is None or own.stretch is None else own.stretch
    high_exact = Fraction(high)
    stretch_exact = high_exact if stretch is None else max(Fraction(stretch), high_exact)
    narrowed = own is not None and (own.low, own.high, own.stretch) != (None, None, None)
    return Band(Fraction(low), high_exact, stretch_exact, general.name, narrowed=narrowed)


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
        roll_out: how far the driven wheel goes in one turn now, or None.
        roll_out_ratio: new distance per wheel turn over old; 1 where the tyre stays.
        new_roll_out: that of a tyre to come, as it is known by itself; None where the tyre stays.
        entry: its record, where it has one.
        catalogue: the catalogue it is asked against.
        told: remarks that come from how it was asked, told after the others.
        idler_seats: idler seats measured on it and given with the question, by joint; they override
            those of its record.
        factory_train: position of the family's factory train that it is asked about as it left the
            factory; None for a machine that may have been changed.
    """

    catalogue: Catalogue
    name: str
    family: Entry[Family]
    housing: str | None
    pairs: tuple[Pair, ...]
    tune: Entry[Tune] | None = None
    wheel_size_in: int | None = None
    roll_out: RollOut | None = None
    roll_out_ratio: Fraction = Fraction(1)
    new_roll_out: RollOut | None = None
    entry: Entry[Machine] | None = None
    told: tuple[str, ...] = ()
    factory_train: int | None = None
    idler_seats: tuple[str, ...] = ()

    def __repr__(self) -> str:
        tune = "no tune" if self.tune is None else self.tune.id
        return f"Subject({self.name}: {self.family.id}, {', '.join(map(str, self.pairs))}, {tune})"

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Stages of the train from input shaft to wheel."""
        return self.family.record.train_stages

    @property
    def reduction(self) -> Fraction:
        """Overall reduction as counted, exact."""
        return overall_reduction(self.pairs)

    @property
    def roll_out_mm(self) -> Fraction | None:
        """Distance per wheel turn now, mm, or None."""
        return None if self.roll_out is None else self.roll_out.mm

    @cached_property
    def roll_out_after(self) -> RollOut | None:
        """The roll-out with the tyre that will be on: the present one times the ratio.

        Name and speed symbol are those of the tyre to come. Where the two are not known in the same
        way, the distance keeps the surer way's footing and the wider spread.
        """
        now, new = self.roll_out, self.new_roll_out
        if now is None or new is None:
            return now if new is None else new
        mm = now.mm * self.roll_out_ratio
        if mm == new.mm:
            return new
        return replace(new, mm=mm, spread_percent=max(now.spread_percent, new.spread_percent))

    @cached_property
    def band(self) -> Band | None:
        """The band of its tune, or None where no tune is given."""
        return None if self.tune is None else band_of(self.tune, self.family)

    @cached_property
    def possible_trains(self) -> tuple[int, ...]:
        """Positions of the family's factory trains that its housing and wheel size allow."""
        if self.factory_train is not None:
            return (self.factory_train,)
        return tuple(
            index
            for index, train in enumerate(self.family.record.factory_trains)
            if self.housing in (None, train.housing)
            and self.wheel_size_in in (None, train.wheel_size_in)
        )

    @cached_property
    def known_trains(self) -> tuple[int, ...]:
        """Positions of the possible factory trains with exactly these counts."""
        family = self.family.record
        return tuple(
            index
            for index in self.possible_trains
            if family.train_pairs(family.factory_trains[index]) == self.pairs
        )

    @cached_property
    def unknown_make(self) -> frozenset[Stage]:
        """Stages whose gears are not known to be the factory's.

        They are where every possible train has just this pair: what equals one of several may be
        another of them, changed; and gears of equal counts are sold with other seats.
        """
        trains = [self.family.record.factory_trains[index] for index in self.possible_trains]
        return frozenset(
            stage
            for stage, pair in zip(self.stages, self.pairs, strict=True)
            if not trains or any(train.pairs.get(stage) != pair for train in trains)
        )

    @cached_property
    def setting(self) -> Setting:
        """The gearbox its sets are judged against."""
        return Setting(
            family=self.family,
            housing=self.housing,
            stages=self.stages,
            words=ListWords.of(self.catalogue),
            unknown_make=self.unknown_make,
            machine=self.entry,
            given_seats=self.idler_seats,
        )

    @cached_property
    def factory_pairs(self) -> tuple[Pair, ...] | None:
        """The train its housing and wheel size left the factory with, where that is certain."""
        if self.factory_train is None and None in (self.housing, self.wheel_size_in):
            return None
        family = self.family.record
        trains = {family.train_pairs(family.factory_trains[i]) for i in self.possible_trains}
        return trains.pop() if len(trains) == 1 else None


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
        tune = find_tune(catalogue, machine.tune, entry.place("tune"))
    return Subject(
        catalogue,
        machine.name,
        family,
        housing,
        pairs=tuple(machine.pairs[stage] for stage in stages),
        tune=tune,
        wheel_size_in=machine.wheel_size_in,
        roll_out=roll_out_of(catalogue, machine),
        entry=entry,
        told=_unread_size(entry),
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
    tune = None if tune_name is None else find_tune(catalogue, tune_name)
    name = f"{family.record.name}, {', '.join(map(str, pairs))}"
    return Subject(
        catalogue, name, family, housing, pairs=tuple(pairs), tune=tune, wheel_size_in=wheel_size_in
    )


def with_idler_seats(subject: Subject, seats: Sequence[str]) -> Subject:
    """The same machine with idler seats as they were measured on it.

    Args:
        subject: the machine.
        seats: codes from input shaft to wheel, `?` for one that was not measured. A code that
            nothing on file has is kept and said, since it may be mistyped.

    Raises:
        UsageError: more seats than the train has, or an empty one.
    """
    joints, family = len(subject.stages) - 1, subject.family
    if len(seats) > joints or not all(seat.strip() for seat in seats):
        raise UsageError(
            f"idler seats {', '.join(seats)!r}: {family.id} has {joints} "
            f"seat{'s' * (joints != 1)} between its stages; give a code for each, ? for one not "
            "measured"
        )
    given = tuple(seat.strip() for seat in seats)
    known = {plain_code(code) for code in family.record.interfaces.idler_seats}
    for entry in subject.catalogue.gear_sets.values():
        if any(claim.family == family.id for claim in entry.record.fits):
            own = entry.record.interfaces
            known |= {plain_code(code) for code in (own.wheel_seat, own.pinion_seat) if code}
    strange = [code for code in given if plain_code(code) not in {None, *known}]
    told = []
    if any(plain_code(code) is not None for code in given):
        told.append(f"Idler seat {', '.join(given)}, as measured and given with the question.")
    if strange:
        told.append(
            f"No gear for {family.record.name} is on file with the idler seat {or_list(strange)}: "
            "look whether the code is right."
        )
    return replace(subject, idler_seats=given, told=(*subject.told, *told))


def _unread_size(entry: Entry[Machine]) -> tuple[str, ...]:
    size = entry.record.tyre_size
    if size is None or size_or_none(size) is not None or entry.record.roll_out_mm is not None:
        return ()
    told = with_hint(
        f"The tyre size {size!r} on file cannot be read, so the roll-out is not known",
        "fitcheck check says why.",
        ": ",
    )
    return (ShopWords(told, f"{told.customer}."),)


def names_file(reference: str) -> bool:
    """Whether what is given for a machine is the name of a file, not that of a record."""
    return reference.lower().endswith((".yaml", ".yml")) or "/" in reference


def _machine_entry(catalogue: Catalogue, reference: str) -> Entry[Machine]:
    if not names_file(reference):
        return find_machine(catalogue, reference, sold=True)
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
        raise UsageError(f"{reference} holds no machine; its kind must be machine")
    if len(machines) > 1:
        raise UsageError(
            f"{reference} holds {len(machines)} machines; keep one a file or name it by its id"
        )
    return machines[0]
