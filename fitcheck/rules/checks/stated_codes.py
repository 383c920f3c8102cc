"""Codes of shaft ends, seats, bearings and hands that the sets for a family state, place by place.

One set against its family may be wrong by itself. Many that agree with each other against the
family show that the family's own code is wrong, and it is then reported there, once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal, NamedTuple

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath
from fitcheck.model.family import Family
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.checks.trains import fitting_claims
from fitcheck.rules.fit.seats import basic_bearing
from fitcheck.rules.setting import plain_code

LEAST_SETS = 3
"""So many sets must agree with each other against their family to doubt it (judgement)."""

Side = Literal["wheel", "pinion", "shaft"]

_WORDS = {"idler_seats": "idler seat", "bearings": "bearing", "driver_hand": "hand of the driver"}


class Slot(NamedTuple):
    """One place for a code in a family: the family's id and the path of the value under it."""

    family: str
    steps: DocumentPath

    @property
    def name(self) -> str:
        """The field it is of."""
        return str(next(step for step in reversed(self.steps) if isinstance(step, str)))

    @property
    def words(self) -> str:
        """What the code is of, in words."""
        words = _WORDS.get(self.name, self.name.replace("_", " "))
        return f"{self.steps[1]} {words}" if self.steps[0] == "stages" else words


@dataclass(frozen=True, slots=True)
class Statement:
    """A code that a set states, where it stands, and which of the gears at a joint has it."""

    entry: Entry[GearSet]
    steps: DocumentPath
    text: str
    side: Side = "shaft"

    @property
    def supplier(self) -> str:
        """Who sells the set."""
        return self.entry.record.supplier


class StatedCodes:
    """What every active set states of the slots of the families it is for."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._families = catalogue.families
        # Slot to plain code to statements, in the order of the catalogue.
        self.by_slot: dict[Slot, dict[str, list[Statement]]] = {}
        self._own: dict[Slot, Mapping[str, str]] = {}
        self._mates: dict[tuple[Slot, str, Side], Mapping[str, list[str]]] = {}
        for entry in catalogue.gear_sets.values():
            record = entry.record
            if record.status == "retired" or not (
                record.geometry or record.interfaces.model_fields_set
            ):
                continue
            for _, _, family in {
                c[1].family: c for c in fitting_claims(catalogue, record)
            }.values():
                for slot, code, statement in _statements(entry, family):
                    self.by_slot.setdefault(slot, {}).setdefault(code, []).append(statement)

    def family(self, slot: Slot) -> Entry[Family]:
        """The family of a slot."""
        return self._families[slot.family]

    def own(self, slot: Slot) -> Mapping[str, str]:
        """The family's own codes for a slot: plain, and as written; empty where none is known."""
        if slot not in self._own:
            self._own[slot] = _codes_of(slot, self.family(slot).record)
        return self._own[slot]

    @cached_property
    def doubted(self) -> Mapping[Slot, str]:
        """Slots whose family code most sets contradict, each to the code that they state.

        More than half of the sets that state a code there contradict the family's, at least
        `LEAST_SETS` of them with one and the same other code. Where all of these come from one
        supplier, no set at all may state the family's: some suppliers have a seat of their own.
        """
        found: dict[Slot, str] = {}
        for slot, stated in self.by_slot.items():
            own = self.own(slot)
            if not own:
                continue
            against = {s.entry.id for code in stated.keys() - own for s in stated[code]}
            agree = {s.entry.id for code in own for s in stated.get(code, ())} - against
            others = {code: statements for code, statements in stated.items() if code not in own}
            if len(against) <= len(agree) or not others:
                continue
            code, statements = max(others.items(), key=lambda item: len(item[1]))
            one_supplier = len({statement.supplier for statement in statements}) == 1
            if len(statements) >= LEAST_SETS and not (one_supplier and agree):
                found[slot] = code
        return found

    def count(self, slot: Slot) -> int:
        """How many sets state a code for a slot."""
        return len({s.entry.id for statements in self.by_slot[slot].values() for s in statements})

    def mates(self, slot: Slot, code: str, side: Side) -> Mapping[str, list[str]]:
        """The sets with the same code on the other side of a joint: ids by supplier."""
        key = (slot, code, side)
        if key not in self._mates:
            found: dict[str, list[str]] = {}
            for statement in self.by_slot.get(slot, {}).get(code, ()):
                if statement.side != side:
                    found.setdefault(statement.supplier, []).append(statement.entry.id)
            self._mates[key] = found
        return self._mates[key]


def _statements(
    entry: Entry[GearSet], family: Entry[Family]
) -> Iterator[tuple[Slot, str, Statement]]:
    """Every code that a set states for a slot of a family and that says something."""
    for there, here, text, side in _given(entry.record, family.record):
        slot = Slot(family.id, there)
        code = _plain(slot, text)
        if code is not None:
            yield slot, code, Statement(entry, here, text, side)


def _given(
    record: GearSet, family: Family
) -> Iterator[tuple[DocumentPath, DocumentPath, str, Side]]:
    """Path in the family, path in the set, the text and the gear that has it."""
    there: DocumentPath
    for stage, given in record.geometry.items():
        if given.driver_hand is not None and given.helix_angle_deg > 0:
            there = ("stages", stage, "driver_hand")
            yield there, ("geometry", stage, "driver_hand"), given.driver_hand, "shaft"
    seats, stages = record.interfaces, family.train_stages
    for name, stage in (("input_shaft_end", stages[0]), ("output_shaft_end", stages[-1])):
        end: str | None = getattr(seats, name)
        if end is not None and stage in record.pairs:
            yield ("interfaces", name), ("interfaces", name), end, "shaft"
    for index, bearing in enumerate(seats.bearings):
        yield ("interfaces", "bearings"), ("interfaces", "bearings", index), bearing, "shaft"
    if len(record.stages) > 1:
        return  # The seats of a whole train are its own matter.
    joint = stages.index(record.stages[0])
    if seats.wheel_seat is not None and joint < len(stages) - 1:
        there = ("interfaces", "idler_seats", joint)
        yield there, ("interfaces", "wheel_seat"), seats.wheel_seat, "wheel"
    if seats.pinion_seat is not None and joint > 0:
        there = ("interfaces", "idler_seats", joint - 1)
        yield there, ("interfaces", "pinion_seat"), seats.pinion_seat, "pinion"


def _codes_of(slot: Slot, family: Family) -> Mapping[str, str]:
    value: Any = family
    for step in slot.steps:
        if isinstance(step, int):
            value = value[step] if step < len(value) else None
        else:
            value = value[step] if isinstance(value, dict) else getattr(value, step)
    given = value if isinstance(value, list) else [] if value is None else [value]
    return {code: text for text in given if (code := _plain(slot, text)) is not None}


def _plain(slot: Slot, text: str) -> str | None:
    return basic_bearing(text) if slot.name == "bearings" else plain_code(text)
