"""Which families, housings and factory trains have the counted teeth, one slip allowed or two."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum, unique
from fractions import Fraction
from itertools import combinations, permutations
from typing import NamedTuple

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.kernel.gearing import overall_reduction, reduction_change
from fitcheck.kernel.rounding import percent
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import FactoryTrain, Family
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Verdict, judge
from fitcheck.rules.fit import idler_seat, set_answers
from fitcheck.rules.setting import ListWords, Setting


@unique
class Slip(IntEnum):
    """How counts and a factory train come together, most likely first."""

    EXACT = 0
    OTHER_WHEEL = 1
    MISCOUNT = 2
    STAGES_SWAPPED = 3
    WHEELS_SWAPPED = 4
    GEARS_REGROUPED = 5
    PART_COUNTED = 6
    REGEARED = 7
    DIGITS_SWAPPED = 8
    TWO_SLIPS = 9


_AS_COUNTED = (Slip.EXACT, Slip.OTHER_WHEEL, Slip.REGEARED)
"""How counts are explained that are right as they are."""

_FAR = Fraction(20)
"""Percent of reduction beyond which counts are questioned (judgement): sets sold to make a machine
taller take 20 to 23 % at most, which is 25 to 30 % of road speed (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One factory train that explains the counts.

    Attributes:
        slip: what would have had to go wrong, if anything.
        family: its engine family.
        train: position of the train in the family's record.
        reading: one sentence: how the counts are explained.
        check: which count to check again, or empty.
        sets: gear sets that would explain a regeared stage.
        counted: the pairs as they were counted.
        wheel_size_in: rim size as it was given, inches, or None.
    """

    slip: Slip
    family: Entry[Family]
    train: int
    reading: str
    check: str = ""
    sets: tuple[str, ...] = ()
    counted: tuple[Pair, ...] = ()
    wheel_size_in: int | None = None

    @property
    def factory_train(self) -> FactoryTrain:
        """The factory train itself."""
        return self.family.record.factory_trains[self.train]

    @property
    def place(self) -> str:
        """file:line:column of the train."""
        return self.family.place("factory_trains", self.train)

    @property
    def has_wheel(self) -> bool:
        """Whether the train is for the wheel size that was given, or none was."""
        return self.wheel_size_in in (None, self.factory_train.wheel_size_in)

    @property
    def words(self) -> str:
        """What names this machine to a command, should the reading prove right.

        What was counted stands in it where the reading leaves the counts alone, else the pairs of
        the factory train.
        """
        train, pairs = self.factory_train, self.counted
        if self.slip not in _AS_COUNTED:
            pairs = tuple(train.pairs[stage] for stage in self.family.record.train_stages)
        wheel = train.wheel_size_in if self.wheel_size_in is None else self.wheel_size_in
        counts = " ".join(map(str, pairs))
        return f"{counts} -f {self.family.id} -H {train.housing} -w {wheel}"

    @property
    def command(self) -> str:
        """The command line that goes on with this reading."""
        return f"fitcheck match {self.words}"


def gear_names(stages: Sequence[Stage]) -> list[tuple[str, str]]:
    """What the counter calls the driver and driven gear of each stage."""
    if len(stages) == 1:
        return [("input pinion", "final wheel")]
    if len(stages) == 2:
        return [("input pinion", "idler wheel"), ("idler pinion", "final wheel")]
    return [
        ("input pinion", "first idler wheel"),
        ("first idler pinion", "second idler wheel"),
        ("second idler pinion", "final wheel"),
    ]


def far_change(factory: Sequence[Pair], counted: Sequence[Pair]) -> Fraction | None:
    """Percent of reduction between two trains, exact, where it is so much that counts are doubted.

    None where it is not.
    """
    change = reduction_change(overall_reduction(factory), overall_reduction(counted))
    return change if abs(change) > _FAR else None


def gears_in_doubt(
    stages: Sequence[Stage], factory: tuple[Pair, ...], counted: tuple[Pair, ...]
) -> tuple[str, str]:
    """In words, the gears of a train that were counted otherwise: with both counts, and alone."""
    return _words(_differences(gear_names(stages), factory, counted))


def identify(
    catalogue: Catalogue, pairs: Sequence[Pair], wheel_size_in: int | None = None
) -> list[Candidate]:
    """Factory trains with these counts: exact ones first, then by one slip, last by two.

    Args:
        catalogue: where to look.
        pairs: the counted pairs, in the order they were counted.
        wheel_size_in: rim size of the driven wheel, if known.
    """
    counted = tuple(pairs)
    found: list[Candidate] = []
    for family in catalogue.families.values():
        for index, train in enumerate(family.record.factory_trains):
            factory = family.record.train_pairs(train)
            if factory is None:
                continue
            best = next(_readings(catalogue, family, train, factory, counted, wheel_size_in), None)
            if best is not None:
                found.append(
                    Candidate(
                        family=family,
                        train=index,
                        counted=counted,
                        wheel_size_in=wheel_size_in,
                        **best._asdict(),
                    )
                )

    def order(candidate: Candidate) -> tuple[int, bool, str, int]:
        return (candidate.slip, not candidate.has_wheel, candidate.family.id, candidate.train)

    return sorted(found, key=order)


def likely_families(found: Sequence[Candidate]) -> list[list[Candidate]]:
    """The candidates that count, by family, most likely first.

    Those whose counts agree, where there are any; else those by one slip; else all. Of these, those
    for the wheel size that was given, where there are any.
    """
    agree = [one for one in found if one.slip == found[0].slip <= Slip.OTHER_WHEEL]
    near = agree or [one for one in found if one.slip < Slip.TWO_SLIPS] or found
    families: dict[str, list[Candidate]] = {}
    for one in with_wheel(near):
        families.setdefault(one.family.id, []).append(one)
    return list(families.values())


def with_wheel(found: Sequence[Candidate]) -> Sequence[Candidate]:
    """The candidates for the wheel size that was given; all, where none is."""
    return [one for one in found if one.has_wheel] or found


class _Reading(NamedTuple):
    """How the counts are explained; members as those of `Candidate`."""

    slip: Slip
    reading: str
    check: str = ""
    sets: tuple[str, ...] = ()


def _readings(  # noqa: PLR0917 (one call, all of one kind)
    catalogue: Catalogue,
    family: Entry[Family],
    train: FactoryTrain,
    factory: tuple[Pair, ...],
    counted: tuple[Pair, ...],
    wheel_size_in: int | None,
) -> Iterator[_Reading]:
    stages = family.record.train_stages
    names = gear_names(stages)
    if counted == factory:
        if wheel_size_in in (None, train.wheel_size_in):
            yield _Reading(Slip.EXACT, "the counts agree")
        else:
            yield _Reading(
                Slip.OTHER_WHEEL,
                f"the counts agree, but it is the train for a {train.wheel_size_in} in wheel",
                "the wheel size, or whether this gearbox came from another model",
            )
        return
    if len(counted) != len(factory):
        yield from _part(stages, factory, counted)
        return
    yield from _miscount(names, factory, counted)
    for order in permutations(range(len(counted))):
        if order != tuple(range(len(counted))) and tuple(counted[i] for i in order) == factory:
            yield _Reading(
                Slip.STAGES_SWAPPED,
                "the stages were written in another order",
                f"which pair is the {stages[0]}: it begins with the {names[0][0]}",
            )
    drivers, driven = [p.driver for p in counted], [p.driven for p in counted]
    if sorted(drivers) == sorted(p.driver for p in factory) and sorted(driven) == sorted(
        p.driven for p in factory
    ):
        yield _Reading(
            Slip.WHEELS_SWAPPED,
            "the gears agree, but pinions and wheels were paired across the stages",
            f"which wheel the {names[0][0]} meshes with",
        )
    every = sorted([*drivers, *driven])
    if every == sorted(count for pair in factory for count in (pair.driver, pair.driven)):
        yield _Reading(
            Slip.GEARS_REGROUPED,
            f"the {'four ' * (len(counted) == 2)}figures agree, but were written down in another "
            "grouping",
            "write pinion and wheel of one stage together",
        )
    yield from _read_changed_stage(catalogue, family, train, factory, counted)
    yield from _swapped_digits(names, factory, counted)
    yield from _two_slips(names, factory, counted)


def _miscount(
    names: Sequence[tuple[str, str]], factory: tuple[Pair, ...], counted: tuple[Pair, ...]
) -> Iterator[_Reading]:
    differences = _differences(names, factory, counted)
    if _teeth_out(differences) == 1:
        gears, again = _words(differences)
        yield _Reading(Slip.MISCOUNT, f"one tooth out: {gears}", f"count {again} again")


def _differences(
    names: Sequence[tuple[str, str]], factory: tuple[Pair, ...], counted: tuple[Pair, ...]
) -> list[tuple[str, int, int]]:
    """The gears that differ: name, teeth counted, teeth of the factory's."""
    return [
        (name, have, should)
        for (pinion, wheel), got, known in zip(names, counted, factory, strict=True)
        for name, have, should in (
            (pinion, got.driver, known.driver),
            (wheel, got.driven, known.driven),
        )
        if have != should
    ]


def _words(differences: Sequence[tuple[str, int, int]]) -> tuple[str, str]:
    """Gears that differ, with both counts, and their names alone."""
    gears = [
        f"the {name} would have {should}, counted {have}" for name, have, should in differences
    ]
    return " and ".join(gears), " and ".join(f"the {name}" for name, _, _ in differences)


def _swapped_digits(
    names: Sequence[tuple[str, str]], factory: tuple[Pair, ...], counted: tuple[Pair, ...]
) -> Iterator[_Reading]:
    """Two digits of one count exchanged, as 64 for 46; the larger count is the driven gear's."""
    changed = _changed_stage(factory, counted)
    if changed is None:
        return
    have, was = counted[changed], factory[changed]
    pinion, wheel = names[changed]
    for name, kept, should in ((pinion, was.driven, was.driver), (wheel, was.driver, was.driven)):
        for written in _with_digits_swapped(should):
            if sorted((kept, written)) == [have.driver, have.driven]:
                yield _Reading(
                    Slip.DIGITS_SWAPPED,
                    f"two digits are swapped: the {name} would have {should}, written {written}",
                    f"count the {name} again",
                )


def _changed_stage(factory: tuple[Pair, ...], counted: tuple[Pair, ...]) -> int | None:
    """The only stage that was counted otherwise; None where that is none or several."""
    changed = [i for i, (have, was) in enumerate(zip(counted, factory, strict=True)) if have != was]
    return changed[0] if len(changed) == 1 else None


def _with_digits_swapped(count: int) -> Iterator[int]:
    """What a count is with two of its digits exchanged."""
    digits = str(count)
    for i, j in combinations(range(len(digits)), 2):
        yield int(digits[:i] + digits[j] + digits[i + 1 : j] + digits[i] + digits[j + 1 :])


def _teeth_out(differences: Sequence[tuple[str, int, int]]) -> int:
    return sum(abs(have - should) for _, have, should in differences)


def _two_slips(
    names: Sequence[tuple[str, str]], factory: tuple[Pair, ...], counted: tuple[Pair, ...]
) -> Iterator[_Reading]:
    """Two teeth out, in one gear or in two, or one tooth out in stages written in another order."""
    for order in permutations(range(len(counted))):
        moved = order != tuple(range(len(counted)))
        differences = _differences(names, factory, tuple(counted[i] for i in order))
        if _teeth_out(differences) != (1 if moved else 2):
            continue
        gears, again = _words(differences)
        if moved:
            said = "the stages were written in another order and one tooth is out"
        elif len(differences) == 1:
            said = "two teeth out"
        else:
            said = "one tooth out in each of two gears"
        yield _Reading(Slip.TWO_SLIPS, f"{said}: {gears}", f"count {again} again")


def _part(
    stages: Sequence[Stage], factory: tuple[Pair, ...], counted: tuple[Pair, ...]
) -> Iterator[_Reading]:
    free = list(range(len(factory)))
    positions: list[int] = []
    for pair in counted:
        position = next((i for i in free if factory[i] == pair), None)
        if position is not None:
            free.remove(position)
            positions.append(position)
    if len(positions) == len(counted):
        held = ", ".join(stages[position] for position in positions)
        yield _Reading(
            Slip.PART_COUNTED,
            f"counted {'is' if len(counted) == 1 else 'are'} its {held}",
            "count the other stage too" if len(factory) == 2 else "count the other stages too",
        )


def _read_changed_stage(
    catalogue: Catalogue,
    family: Entry[Family],
    train: FactoryTrain,
    factory: tuple[Pair, ...],
    counted: tuple[Pair, ...],
) -> Iterator[_Reading]:
    stages = family.record.train_stages
    changed = _changed_stage(factory, counted)
    if changed is None or len(factory) == 1:
        return
    stage, pair = stages[changed], counted[changed]
    sets = tuple(
        entry.id
        for entry in catalogue.gear_sets.values()
        if entry.record.pairs.get(stage) == pair
        and any(claim.family == family.id for claim in entry.record.fits)
        and _may_be_in(catalogue, entry, family, train, changed)
    )
    if sets:
        change = far_change(factory, counted)
        far = ""
        if change is not None:
            gears, _ = gears_in_doubt(stages, factory, counted)
            far = f"; count it again, it changes the reduction by {percent(change)}: {gears}"
        yield _Reading(
            Slip.REGEARED,
            f"its factory train with another {stage} pair, {pair}, as in {', '.join(sets[:3])}",
            f"whether the {stage} pair was changed before{far}",
            sets,
        )


def _may_be_in(
    catalogue: Catalogue,
    gear_set: Entry[GearSet],
    family: Entry[Family],
    train: FactoryTrain,
    changed: int,
) -> bool:
    """Whether no rule keeps a set out of the housing of a train whose other gears stayed."""
    stages = family.record.train_stages
    setting = Setting(family, train.housing, stages, ListWords.of(catalogue))
    answers = set_answers(gear_set, setting)
    seats = [idler_seat(gear_set, None, changed, setting)] if changed + 1 < len(stages) else []
    seats += [idler_seat(None, gear_set, changed - 1, setting)] if changed else []
    answers += filter(None, seats)
    return judge(answers).verdict is not Verdict.RULED_OUT
