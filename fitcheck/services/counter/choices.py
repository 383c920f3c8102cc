"""Gear sets judged once for one machine, in classes of equal pair and verdict; what is out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import prod

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Span
from fitcheck.kernel.enumeration import Choice, Item, Problem, Row, Whole
from fitcheck.kernel.teeth import Pair
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import minor_units, price_places
from fitcheck.rules.answers import Answer, Evidence, Judgement, Verdict, judge
from fitcheck.rules.fit import idler_seat, set_answers
from fitcheck.rules.fit.seats import Gear, SeatSide
from fitcheck.rules.setting import Setting
from fitcheck.services.counter.offer import Offer, offer_of
from fitcheck.services.counter.subject import Subject


@dataclass(frozen=True, slots=True)
class JudgedSet:
    """One gear set as it suits one machine, and as the shop sells it.

    Attributes:
        gear_set: the set.
        answers: what every rule says of it by itself.
        judgement: the answers taken together.
        offer: what the shop asks for it, and where a piece can be had.
    """

    gear_set: Entry[GearSet]
    answers: Sequence[Answer]
    judgement: Judgement
    offer: Offer

    @classmethod
    def of(
        cls, entry: Entry[GearSet], answers: Sequence[Answer], catalogue: Catalogue
    ) -> JudgedSet:
        """A set and what every rule says of it."""
        return cls(entry, answers, judge(answers), offer_of(catalogue, entry))


SetFilter = Callable[[JudgedSet], bool]


@dataclass(frozen=True, slots=True)
class Seats:
    """The seats between the stages of a gearbox, each judged once.

    Attributes:
        setting: the gearbox.
    """

    setting: Setting
    _known: dict[tuple[str | None, str | None, int], Answer | None] = field(
        default_factory=dict, repr=False, compare=False
    )

    def judge(
        self, wheel: Entry[GearSet] | None, pinion: Entry[GearSet] | None, joint: int
    ) -> Answer | None:
        """The seat between a wheel and the next pinion; None for the gear that stays."""
        key = (wheel.id if wheel else None, pinion.id if pinion else None, joint)
        if key not in self._known:
            self._known[key] = idler_seat(wheel, pinion, joint, self.setting)
        return self._known[key]


@dataclass(frozen=True, slots=True)
class DeadSet:
    """A set that no combination can hold, and the first rule that rules it out."""

    gear_set: Entry[GearSet]
    answer: Answer


@dataclass(frozen=True, slots=True)
class _Side:
    """The different seats of the sets of one stage, on one side of a joint.

    Attributes:
        numbers: the seat of each set, in the order of the stage; 0 is the gear that stays.
        groups: the sets of each seat; none of the gear that stays.
    """

    numbers: list[int]
    groups: list[list[Entry[GearSet]]]

    @classmethod
    def of(cls, sets: Iterable[JudgedSet], gear: Gear, setting: Setting) -> _Side:
        known: dict[SeatSide, int] = {}
        found = cls([], [[]])
        for one in sets:
            number = known.setdefault(SeatSide.of(one.gear_set, gear, setting), len(found.groups))
            if number == len(found.groups):
                found.groups.append([])
            found.groups[number].append(one.gear_set)
            found.numbers.append(number)
        return found

    @property
    def examples(self) -> list[Entry[GearSet] | None]:
        """One set of each seat, which stands for all of them."""
        return [_example(group) for group in self.groups]


def _example(group: Sequence[Entry[GearSet]]) -> Entry[GearSet] | None:
    return group[0] if group else None


@dataclass(frozen=True)
class Choices:
    """Every choice there is for one machine, by stage.

    Attributes:
        subject: the machine.
        alive: sets that may stand in each stage.
        dead: sets of each stage that are ruled out by themselves.
        wholes: sets that hold the whole train and are alive.
        outside: whole-train sets that are ruled out, and sets of stages this train lacks.
        sides: for each stage the seats of its sets as wheels, and as pinions.
        seats: the seats between two gears.
        places: decimals in which prices are counted.
    """

    subject: Subject
    alive: list[list[JudgedSet]]
    dead: list[list[DeadSet]]
    wholes: list[JudgedSet]
    outside: list[DeadSet]
    sides: list[tuple[_Side, _Side]]
    seats: Seats
    places: int

    @classmethod
    def of(cls, subject: Subject) -> Choices:
        """Judge every active set of the catalogue for a machine, once."""
        setting = subject.setting
        alive: dict[str, list[JudgedSet]] = {stage: [] for stage in subject.stages}
        dead: dict[str, list[DeadSet]] = {stage: [] for stage in subject.stages}
        wholes: list[JudgedSet] = []
        outside: list[DeadSet] = []
        for entry in subject.catalogue.gear_sets.values():
            if entry.record.status == "retired":
                continue
            answers = set_answers(entry, setting)
            out = next((a for a in answers if a.verdict is Verdict.RULED_OUT), None)
            held = entry.record.stages
            stage = held[0] if len(held) == 1 else ""
            if out is not None:
                dead.get(stage, outside).append(DeadSet(entry, out))
            else:
                one = JudgedSet.of(entry, answers, subject.catalogue)
                alive.get(stage, wholes).append(one)
        return cls(
            subject=subject,
            alive=list(alive.values()),
            dead=list(dead.values()),
            wholes=wholes,
            outside=outside,
            sides=[
                (_Side.of(sets, "wheel", setting), _Side.of(sets, "pinion", setting))
                for sets in alive.values()
            ],
            seats=Seats(setting),
            places=price_places(
                one.offer.price for sets in (*alive.values(), wholes) for one in sets
            ),
        )

    def sets(self, keep: SetFilter | None = None) -> Iterable[JudgedSet]:
        """Every set that is alive and passes a filter, those of the whole train last."""
        for sets in (*self.alive, self.wholes):
            yield from (one for one in sets if keep is None or keep(one))

    def sets_of(self, row: Row) -> tuple[JudgedSet, ...]:
        """The sets to buy for a row of `problem`, input shaft first."""
        if row.whole is not None:
            return (self.wholes[row.items[0].number],)
        stages = zip(self.alive, row.items, strict=True)
        return tuple(sets[item.number] for sets, item in stages if item.id)

    @property
    def all_choices(self) -> int:
        """Combinations there are before any rule: product over the stages, less keeping all."""
        stages = zip(self.alive, self.dead, strict=True)
        together = prod(1 + len(alive) + len(dead) for alive, dead in stages)
        return together - 1 + len(self.wholes) + len(self.outside)

    def problem(self, keep: SetFilter | None = None, currency: str | None = None) -> Problem:
        """The enumeration problem of the sets that are alive and pass a filter.

        Args:
            keep: the filter; None for all sets.
            currency: prices in another one are of unknown price; None: all count.
        """
        return Problem(
            stages=[self._stage(position, keep, currency) for position in range(len(self.alive))],
            joints=[
                [
                    [self._grade(wheel, pinion, joint) for pinion in right.examples]
                    for wheel in left.examples
                ]
                for joint, left, right in self._joints()
            ],
            wholes=[
                Whole(
                    tuple(one.gear_set.record.pairs[stage] for stage in self.subject.stages),
                    int(one.judgement.evidence),
                    (self._item(number, one, currency),),
                )
                for number, one in enumerate(self.wholes)
                if keep is None or keep(one)
            ],
        )

    def _stage(self, position: int, keep: SetFilter | None, currency: str | None) -> list[Choice]:
        subject = self.subject
        wheels, pinions = self.sides[position]
        groups: dict[tuple[Pair, int, int, int], list[Item]] = {}
        for number, one in enumerate(self.alive[position]):
            if keep is None or keep(one):
                pair = one.gear_set.record.pairs[subject.stages[position]]
                seats = wheels.numbers[number], pinions.numbers[number]
                items = groups.setdefault((pair, int(one.judgement.evidence), *seats), [])
                items.append(self._item(number, one, currency))
        kept = Choice(
            pair=subject.pairs[position],
            grade=int(Evidence.MEASURED),
            needs=0,
            brings=0,
            items=(Item("", 0),),
            factory=True,
        )
        return [
            kept,
            *(
                Choice(pair=pair, grade=grade, needs=needs, brings=brings, items=tuple(items))
                for (pair, grade, needs, brings), items in groups.items()
            ),
        ]

    def _item(self, number: int, one: JudgedSet, currency: str | None) -> Item:
        offer = one.offer
        price = offer.price if currency in (None, offer.currency) else None
        return Item(offer.set_id, minor_units(price, self.places), number)

    def _joints(self) -> Iterable[tuple[int, _Side, _Side]]:
        """Each joint with the wheels on its left and the pinions on its right."""
        stages = enumerate(zip(self.sides, self.sides[1:], strict=False))
        return ((joint, left, right) for joint, ((left, _), (_, right)) in stages)

    def _grade(
        self, wheel: Entry[GearSet] | None, pinion: Entry[GearSet] | None, joint: int
    ) -> int | None:
        """The enumeration's grade of a seat: None ruled out, 0 unproven, else its evidence."""
        answer = self.seats.judge(wheel, pinion, joint)
        if answer is None:
            return int(Evidence.MEASURED)
        return None if answer.verdict is Verdict.RULED_OUT else int(answer.evidence)

    def seat_conflicts(
        self,
    ) -> Iterable[tuple[int, list[Entry[GearSet]], list[Entry[GearSet]], Answer]]:
        """Groups of sets whose idler seats differ: joint, wheel sets, pinion sets, the answer.

        An empty list of sets stands for the gear that stays.
        """
        for joint, left, right in self._joints():
            for wheels, pinions in product(left.groups, right.groups):
                answer = self.seats.judge(_example(wheels), _example(pinions), joint)
                if answer is not None and answer.verdict is Verdict.RULED_OUT:
                    yield joint, wheels, pinions, answer


@dataclass(frozen=True, slots=True)
class Exclusion:
    """Choices ruled out by one reason, kept at the smallest part that died.

    Attributes:
        rule: id of the rule.
        reason: one sentence.
        sets: ids of the sets, a tuple for each side: one side for a set by itself, two for a
            joint between any of the first and any of the second.
        places: where the data stand that speak against it.
        combinations: full choices that died here and not before.
    """

    rule: str
    reason: str
    sets: tuple[tuple[str, ...], ...]
    places: tuple[Span, ...]
    combinations: int


def exclusions_of(choices: Choices) -> list[Exclusion]:
    """Every reason for which choices of a machine are ruled out, none counted twice."""
    found: list[Exclusion] = []
    all_sizes = [
        1 + len(alive) + len(dead) for alive, dead in zip(choices.alive, choices.dead, strict=True)
    ]
    alive_sizes = [1 + len(alive) for alive in choices.alive]
    for position, dead in enumerate(choices.dead):
        # Counted at the first dead set from the input shaft, so that none is counted twice.
        died = prod(alive_sizes[:position]) * prod(all_sizes[position + 1 :])
        found.extend(_exclusion(one.answer, ((one.gear_set.id,),), died) for one in dead)
    found.extend(_exclusion(one.answer, ((one.gear_set.id,),), 1) for one in choices.outside)
    found.extend(_seat_exclusions(choices, alive_sizes))
    return found


def _exclusion(answer: Answer, sets: tuple[tuple[str, ...], ...], died: int) -> Exclusion:
    places = tuple(datum.entry.span(*datum.steps) for datum in answer.data)
    return Exclusion(answer.rule, answer.reason, sets, places, combinations=died)


def _seat_exclusions(choices: Choices, alive_sizes: Sequence[int]) -> Iterable[Exclusion]:
    # Sets of the first stage that each set of the second already died with, by id; "" keeps.
    dead_before: dict[str, int] = {}
    for joint, left, right, answer in choices.seat_conflicts():
        lefts, rights = [entry.id for entry in left] or [""], [entry.id for entry in right] or [""]
        if joint == 0:
            for id_ in rights:
                dead_before[id_] = dead_before.get(id_, 0) + len(lefts)
            died = len(lefts) * len(rights) * prod(alive_sizes[2:])
        else:
            died = len(rights) * sum(alive_sizes[0] - dead_before.get(id_, 0) for id_ in lefts)
        sides = tuple(tuple(id_ or "factory" for id_ in side) for side in (lefts, rights))
        yield _exclusion(answer, sides, died)
