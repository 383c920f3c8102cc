"""Gear sets judged one by one, and folded into classes of equal pair and verdict to be counted."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.enumeration import Choice, Item, Problem, Whole
from fitcheck.kernel.teeth import Pair
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import LEAST_PLACES, minor_units, price_places
from fitcheck.rules.answers import Answer, Evidence, Judgement, Verdict, judge
from fitcheck.rules.fit import idler_seat, set_answers
from fitcheck.rules.fit.seats import Gear, SeatSide
from fitcheck.services.counter.offer import selling_price
from fitcheck.services.counter.subject import Subject

SetFilter = Callable[[Entry[GearSet]], bool]


def grade_of(verdict: Verdict, evidence: Evidence) -> int | None:
    """The enumeration's grade: None ruled out, 0 unproven, else the strength of the evidence."""
    if verdict is Verdict.RULED_OUT:
        return None
    return 0 if verdict is Verdict.UNPROVEN else int(evidence)


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
        places: decimals in which prices are counted.
    """

    subject: Subject
    alive: list[list[tuple[Entry[GearSet], Judgement]]] = field(default_factory=list)
    dead: list[list[DeadSet]] = field(default_factory=list)
    wholes: list[tuple[Entry[GearSet], Judgement]] = field(default_factory=list)
    outside: list[DeadSet] = field(default_factory=list)
    places: int = LEAST_PLACES

    @classmethod
    def of(cls, subject: Subject) -> Choices:
        """Judge every active set of the catalogue for a machine."""
        stages = subject.stages
        found = cls(subject, [[] for _ in stages], [[] for _ in stages])
        for entry in subject.catalogue.gear_sets.values():
            if entry.record.status == "retired":
                continue
            answers = set_answers(entry, subject.setting)
            out = next((a for a in answers if a.verdict is Verdict.RULED_OUT), None)
            found._place(entry, judge(answers), out)
        found.places = price_places(found.price(entry) for entry in found.sets())
        return found

    def sets(self, keep: SetFilter | None = None) -> Iterable[Entry[GearSet]]:
        """Every set that is alive and passes a filter, those of the whole train last."""
        for alive in (*self.alive, self.wholes):
            yield from (entry for entry, _ in alive if keep is None or keep(entry))

    def price(self, entry: Entry[GearSet]) -> Decimal | None:
        """What the shop asks for a set."""
        return selling_price(self.subject.catalogue, entry)

    def _place(self, entry: Entry[GearSet], judgement: Judgement, out: Answer | None) -> None:
        held = entry.record.stages
        if len(held) == 1 and held[0] in self.subject.stages:
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
            wheel = _Seats("wheel", self)
            pinion = _Seats("pinion", self)
            groups: dict[tuple[Pair, int, int, int], list[Item]] = {}
            for entry, judgement in alive:
                if keep is not None and not keep(entry):
                    continue
                grade = grade_of(judgement.verdict, judgement.evidence)
                assert grade is not None
                pair = entry.record.pairs[subject.stages[position]]
                key = (pair, grade, wheel.key(entry), pinion.key(entry))
                groups.setdefault(key, []).append(self._item(entry, currency))
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
                (self._item(entry, currency),),
            )
            for entry, judgement in self.wholes
            if keep is None or keep(entry)
        ]
        return Problem(stages, joints, wholes)

    def _item(self, entry: Entry[GearSet], currency: str | None) -> Item:
        record = entry.record
        same = currency is None or record.currency == currency
        return Item(entry.id, minor_units(self.price(entry), self.places) if same else None)

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

        An empty list of sets stands for the gear that stays.
        """
        for joint in range(len(self.alive) - 1):
            wheel, pinion = _Seats("wheel", self), _Seats("pinion", self)
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
    """Numbers for the different seats of one side of a joint; 0 is the gear that stays."""

    def __init__(self, gear: Gear, choices: Choices) -> None:
        self._gear: Gear = gear
        self._setting = choices.subject.setting
        self._numbers: dict[SeatSide, int] = {}
        self.entries: list[Entry[GearSet] | None] = [None]

    def key(self, entry: Entry[GearSet]) -> int:
        side = SeatSide.of(entry, self._gear, self._setting)
        number = self._numbers.get(side)
        if number is None:
            number = self._numbers[side] = len(self.entries)
            self.entries.append(entry)
        return number
