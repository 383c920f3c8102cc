"""Gear sets folded into classes of equal pair and equal fit data, ready for enumeration."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.enumeration import Choice, Item, Problem, Whole
from fitcheck.kernel.teeth import Pair
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Evidence, Judgement, Verdict, judge
from fitcheck.rules.fit import idler_seat, set_answers
from fitcheck.rules.setting import plain_word
from fitcheck.services.subject import Subject

__all__ = ["MINOR_UNITS", "Choices", "DeadSet", "grade_of", "minor_units"]

MINOR_UNITS = 100
"""Prices are compared as whole hundredths of the currency unit."""

SetFilter = Callable[[Entry[GearSet]], bool]
_SeatKey = tuple[str | None, int, int]
_FACTORY: _SeatKey = ("factory", -1, -1)


def grade_of(verdict: Verdict, evidence: Evidence) -> int | None:
    """The enumeration's grade: None ruled out, 0 unproven, else the strength of the evidence."""
    if verdict is Verdict.RULED_OUT:
        return None
    return 0 if verdict is Verdict.UNPROVEN else int(evidence)


def minor_units(price: Decimal | None) -> int | None:
    """A price in whole hundredths, half up; None stays unknown."""
    return None if price is None else int((price * MINOR_UNITS).to_integral_value())


@dataclass(frozen=True, slots=True)
class DeadSet:
    """A set that no combination can hold, and the first rule that rules it out."""

    gear_set: Entry[GearSet]
    answer: Answer


@dataclass
class Choices:
    """Every choice there is for one machine, by stage.

    Attributes:
        subject: the machine.
        alive: sets that may stand in each stage, with their judgement.
        dead: sets of each stage that are ruled out by themselves.
        wholes: sets that hold the whole train and are alive.
        outside: whole-train sets that are ruled out, and sets of stages this train lacks.
    """

    subject: Subject
    alive: list[list[tuple[Entry[GearSet], Judgement]]] = field(default_factory=list)
    dead: list[list[DeadSet]] = field(default_factory=list)
    wholes: list[tuple[Entry[GearSet], Judgement]] = field(default_factory=list)
    outside: list[DeadSet] = field(default_factory=list)

    @classmethod
    def of(cls, subject: Subject) -> Choices:
        """Judge every active set of the catalogue for a machine."""
        stages = subject.stages
        found = cls(subject, [[] for _ in stages], [[] for _ in stages])
        known: dict[str, tuple[Judgement, Answer | None]] = {}
        for entry in subject.catalogue.gear_sets.values():
            record = entry.record
            if record.status == "retired":
                continue
            key = _fit_key(record)
            hit = known.get(key)
            if hit is None or hit[1] is not None:
                answers = set_answers(entry, subject.setting)
                judgement = judge(answers)
                out = next((a for a in answers if a.verdict is Verdict.RULED_OUT), None)
                hit = known[key] = (judgement, out)
            judgement, out = hit
            found._place(entry, judgement, out)
        return found

    def _place(self, entry: Entry[GearSet], judgement: Judgement, out: Answer | None) -> None:
        held = entry.record.stages
        single = len(held) == 1 and held[0] in self.subject.stages
        if single and len(self.subject.stages) >= 1:
            position = self.subject.stages.index(held[0])
            if out is not None:
                self.dead[position].append(DeadSet(entry, out))
            else:
                self.alive[position].append((entry, judgement))
        elif out is not None:
            self.outside.append(DeadSet(entry, out))
        else:
            self.wholes.append((entry, judgement))

    @property
    def all_choices(self) -> int:
        """Combinations there are before any rule: product over the stages, less keeping all."""
        product = 1
        for alive, dead in zip(self.alive, self.dead, strict=True):
            product *= 1 + len(alive) + len(dead)
        return product - 1 + len(self.wholes) + len(self.outside)

    def problem(self, keep: SetFilter | None = None, currency: str | None = None) -> Problem:
        """The enumeration problem of the sets that are alive and pass a filter."""
        subject = self.subject
        stages: list[list[Choice]] = []
        seats: list[tuple[_Seats, _Seats]] = []
        for position, alive in enumerate(self.alive):
            wheel = _Seats("wheel_seat", self)
            pinion = _Seats("pinion_seat", self)
            groups: dict[tuple[Pair, int, int, int], list[Item]] = {}
            for entry, judgement in alive:
                if keep is not None and not keep(entry):
                    continue
                grade = grade_of(judgement.verdict, judgement.evidence)
                assert grade is not None
                pair = entry.record.pairs[subject.stages[position]]
                key = (pair, grade, wheel.key(entry), pinion.key(entry))
                groups.setdefault(key, []).append(_item(entry, currency))
            choices = [
                Choice(subject.pairs[position], int(Evidence.MEASURED), 0, 0, (Item("", 0),), True)
            ]
            choices += [
                Choice(pair, grade, needs, brings, tuple(items), False)
                for (pair, grade, needs, brings), items in groups.items()
            ]
            stages.append(choices)
            seats.append((wheel, pinion))
        joints = [
            [
                [self._joint(joint, wheel, pinion) for pinion in seats[joint + 1][1].entries]
                for wheel in seats[joint][0].entries
            ]
            for joint in range(len(stages) - 1)
        ]
        wholes = [
            Whole(
                tuple(entry.record.pairs[stage] for stage in subject.stages),
                int(judgement.evidence) if judgement.verdict is Verdict.FITS else 0,
                (_item(entry, currency),),
            )
            for entry, judgement in self.wholes
            if keep is None or keep(entry)
        ]
        return Problem(stages, joints, wholes)

    def _joint(
        self, joint: int, wheel: Entry[GearSet] | None, pinion: Entry[GearSet] | None
    ) -> int | None:
        answer = idler_seat(wheel, pinion, joint, self.subject.setting)
        if answer is None:
            return int(Evidence.MEASURED)
        return grade_of(answer.verdict, answer.evidence)

    def seat_conflicts(
        self,
    ) -> Iterable[tuple[int, list[Entry[GearSet]], list[Entry[GearSet]], Answer]]:
        """Groups of sets whose idler seats differ: joint, wheel sets, pinion sets, the answer.

        An empty list of sets stands for the factory gear.
        """
        for joint in range(len(self.alive) - 1):
            wheel, pinion = _Seats("wheel_seat", self), _Seats("pinion_seat", self)
            left: dict[int, list[Entry[GearSet]]] = {0: []}
            right: dict[int, list[Entry[GearSet]]] = {0: []}
            for entry, _ in self.alive[joint]:
                left.setdefault(wheel.key(entry), []).append(entry)
            for entry, _ in self.alive[joint + 1]:
                right.setdefault(pinion.key(entry), []).append(entry)
            for i, wheel_entry in enumerate(wheel.entries):
                for j, pinion_entry in enumerate(pinion.entries):
                    answer = idler_seat(wheel_entry, pinion_entry, joint, self.subject.setting)
                    if answer is not None and answer.verdict is Verdict.RULED_OUT:
                        yield joint, left[i], right[j], answer


class _Seats:
    """Numbers for the different seats of one side of a joint; 0 is the factory gear."""

    def __init__(self, name: str, choices: Choices) -> None:
        self._name = name
        self._setting = choices.subject.setting
        self._numbers: dict[_SeatKey, int] = {_FACTORY: 0}
        self.entries: list[Entry[GearSet] | None] = [None]

    def key(self, entry: Entry[GearSet]) -> int:
        record = entry.record
        seat: str | None = getattr(record.interfaces, self._name)
        vouched = self._setting.vouched(record)
        # What decides a seat: its code, whether it was measured, and who vouches for the set.
        key: _SeatKey = (
            None if seat is None else plain_word(seat),
            int(self._name in record.measured),
            0 if vouched is None else 1 + int(vouched.evidence == "measured"),
        )
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self.entries)
            self.entries.append(entry)
        return number


def _item(entry: Entry[GearSet], currency: str | None) -> Item:
    record = entry.record
    same = currency is None or record.currency == currency
    return Item(entry.id, minor_units(record.price) if same else None)


def _fit_key(record: GearSet) -> str:
    return record.model_dump_json(
        include={"pairs", "fits", "listed_for", "geometry", "interfaces", "measured", "members"}
    )
