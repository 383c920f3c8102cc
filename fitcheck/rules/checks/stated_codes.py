"""Codes of shaft ends, idler seats and bearings that the sets for a family state, joint by joint.

One set against its family may be wrong by itself. Many that agree with each other against the
family show that the family's own code is wrong, and it is then reported there, once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath
from fitcheck.model.family import Family
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.checks.trains import fitting_claims
from fitcheck.rules.fit.seats import basic_bearing
from fitcheck.rules.setting import plain_code

__all__ = ["LEAST_SETS", "Slot", "StatedCodes", "Statement"]

LEAST_SETS = 3
"""So many sets must agree with each other against their family to doubt it (judgement)."""

Side = Literal["wheel", "pinion", "shaft"]


class Slot(NamedTuple):
    """One place for a code in a family's `interfaces`; the joint counts idler seats from 0."""

    family: str
    name: Literal["input_shaft_end", "output_shaft_end", "bearings", "idler_seats"]
    joint: int = 0

    @property
    def words(self) -> str:
        """What the code is of, in words."""
        return {"idler_seats": "idler seat", "bearings": "bearing"}.get(
            self.name, self.name.replace("_", " ")
        )


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
        for entry in catalogue.gear_sets.values():
            record = entry.record
            if record.status == "retired" or not record.interfaces.model_fields_set:
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
        interfaces = self.family(slot).record.interfaces
        if slot.name == "bearings":
            given = interfaces.bearings
        elif slot.name == "idler_seats":
            given = interfaces.idler_seats[slot.joint : slot.joint + 1]
        else:
            end = getattr(interfaces, slot.name)
            given = [] if end is None else [end]
        return {code: text for text in given if (code := _plain(slot, text)) is not None}

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

    def mates(self, slot: Slot, code: str, side: Side) -> list[Statement]:
        """The gears on the other side of a joint that have the same code."""
        stated = self.by_slot.get(slot, {}).get(code, [])
        return [statement for statement in stated if statement.side != side]


def _statements(
    entry: Entry[GearSet], family: Entry[Family]
) -> Iterator[tuple[Slot, str, Statement]]:
    """Every code that a set states for a slot of a family and that says something."""
    for slot, steps, text, side in _given(entry.record, family):
        code = _plain(slot, text)
        if code is not None:
            yield slot, code, Statement(entry, ("interfaces", *steps), text, side)


def _given(
    record: GearSet, family: Entry[Family]
) -> Iterator[tuple[Slot, DocumentPath, str, Side]]:
    seats = record.interfaces
    stages = family.record.train_stages
    if seats.input_shaft_end is not None and stages[0] in record.pairs:
        yield (
            Slot(family.id, "input_shaft_end"),
            ("input_shaft_end",),
            seats.input_shaft_end,
            "shaft",
        )
    if seats.output_shaft_end is not None and stages[-1] in record.pairs:
        slot = Slot(family.id, "output_shaft_end")
        yield slot, ("output_shaft_end",), seats.output_shaft_end, "shaft"
    for index, bearing in enumerate(seats.bearings):
        yield Slot(family.id, "bearings"), ("bearings", index), bearing, "shaft"
    if len(record.stages) > 1:
        return  # The seats of a whole train are its own matter.
    position = stages.index(record.stages[0])
    if seats.wheel_seat is not None and position < len(stages) - 1:
        yield Slot(family.id, "idler_seats", position), ("wheel_seat",), seats.wheel_seat, "wheel"
    if seats.pinion_seat is not None and position > 0:
        slot = Slot(family.id, "idler_seats", position - 1)
        yield slot, ("pinion_seat",), seats.pinion_seat, "pinion"


def _plain(slot: Slot, text: str) -> str | None:
    return basic_bearing(text) if slot.name == "bearings" else plain_code(text)
