"""Shaft ends, seats, bearings, hands and members that contradict what a set is said to fit.

One set against its family may be wrong by itself. Many that agree with each other against the
family show that the family's own code is wrong, and it is then reported there, once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any, Literal, NamedTuple

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related
from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.family import Family
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Verdict
from fitcheck.rules.checks.walks import Claimed, active_claims, at, beside, without_claims
from fitcheck.rules.fit.gears import helix_hand
from fitcheck.rules.fit.seats import basic_bearing, bearings, input_shaft_end, output_shaft_end
from fitcheck.rules.setting import Setting, plain_code

LEAST_SETS = 3
"""So many sets must agree with each other against their family to doubt it (judgement)."""

Side = Literal["wheel", "pinion", "shaft"]

_WORDS = {"idler_seats": "idler seat", "bearings": "bearing", "driver_hand": "hand of the driver"}


class _Slot(NamedTuple):
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
class _Statement:
    """A code that a set states, where it stands, and which of the gears at a joint has it."""

    entry: Entry[GearSet]
    steps: DocumentPath
    text: str
    side: Side = "shaft"

    @property
    def supplier(self) -> str:
        """Who sells the set."""
        return self.entry.record.supplier


class _StatedCodes:
    """What every active set states of the slots of the families it is for."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._families = catalogue.families
        # Slot to plain code to statements, in the order of the catalogue.
        self.by_slot: dict[_Slot, dict[str, list[_Statement]]] = {}
        self._own: dict[_Slot, Mapping[str, str]] = {}
        self._mates: dict[tuple[_Slot, str, Side], Mapping[str, list[str]]] = {}
        for entry, claims in active_claims(catalogue):
            if not (entry.record.geometry or entry.record.interfaces.model_fields_set):
                continue
            for family in {family.id: family for _, _, family in claims}.values():
                for slot, code, statement in _statements(entry, family):
                    self.by_slot.setdefault(slot, {}).setdefault(code, []).append(statement)

    def family(self, slot: _Slot) -> Entry[Family]:
        """The family of a slot."""
        return self._families[slot.family]

    def own(self, slot: _Slot) -> Mapping[str, str]:
        """The family's own codes for a slot: plain, and as written; empty where none is known."""
        if slot not in self._own:
            self._own[slot] = _codes_of(slot, self.family(slot).record)
        return self._own[slot]

    @cached_property
    def doubted(self) -> Mapping[_Slot, str]:
        """Slots whose family code most sets contradict, each to the code that they state.

        More than half of the sets that state a code there contradict the family's, at least
        `LEAST_SETS` of them with one and the same other code. Where all of these come from one
        supplier, no set at all may state the family's: some suppliers have a seat of their own.
        """
        found: dict[_Slot, str] = {}
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

    def count(self, slot: _Slot) -> int:
        """How many sets state a code for a slot."""
        return len({s.entry.id for statements in self.by_slot[slot].values() for s in statements})

    def mates(self, slot: _Slot, code: str, side: Side) -> Mapping[str, list[str]]:
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
) -> Iterator[tuple[_Slot, str, _Statement]]:
    """Every code that a set states for a slot of a family and that says something."""
    for there, here, text, side in _given(entry.record, family.record):
        slot = _Slot(family.id, there)
        code = _plain(slot, text)
        if code is not None:
            yield slot, code, _Statement(entry, here, text, side)


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


def _codes_of(slot: _Slot, family: Family) -> Mapping[str, str]:
    value: Any = family
    for step in slot.steps:
        if isinstance(step, int):
            value = value[step] if step < len(value) else None
        else:
            value = value[step] if isinstance(value, dict) else getattr(value, step)
    given = value if isinstance(value, list) else [] if value is None else [value]
    return {code: text for text in given if (code := _plain(slot, text)) is not None}


def _plain(slot: _Slot, text: str) -> str | None:
    return basic_bearing(text) if slot.name == "bearings" else plain_code(text)


_Rule = Callable[[Entry[GearSet], Setting], Answer | None]

_INTERFACES: tuple[tuple[str, _Rule], ...] = (
    ("input_shaft_end", input_shaft_end),
    ("output_shaft_end", output_shaft_end),
    ("bearings", bearings),
)


def set_seats(catalogue: Catalogue) -> Iterator[Finding]:
    """What every active set brings and needs, against the families it is for."""
    stated = _StatedCodes(catalogue)
    explained: set[tuple[_Slot, str]] = set()
    for slot, code in stated.doubted.items():
        against = stated.by_slot[slot][code]
        yield _doubted(stated, slot, against)
        explained.update((slot, statement.entry.id) for statement in against)

    def asked(entry: Entry[GearSet], claims: list[Claimed], *steps: str) -> list[Claimed]:
        return [c for c in claims if (_Slot(c[1].family, steps), entry.id) not in explained]

    yield from _own_seats(stated)
    for entry, claims in active_claims(catalogue):
        record = entry.record
        if record.members:
            yield from _split(entry)
        if record.interfaces.model_fields_set:
            for name, rule in _INTERFACES:
                if getattr(record.interfaces, name):
                    steps = ("interfaces", name)
                    left = asked(entry, claims, *steps)
                    yield from _contradicted(entry, left, rule, "FC255", steps)
            yield from _without_mate(stated, entry, claims)
        for stage, given in record.geometry.items():
            if given.driver_hand is not None:
                yield from _contradicted(
                    entry,
                    asked(entry, claims, "stages", stage, "driver_hand"),
                    partial(helix_hand, stage=stage),
                    "FC254",
                    ("geometry", stage, "driver_hand"),
                )


def _contradicted(
    entry: Entry[GearSet], claims: list[Claimed], rule: _Rule, code: str, steps: DocumentPath
) -> Iterator[Finding]:
    """Families in which a rule of fit rules the set out by what its own record says.

    Where it does so in every family, the record's value is pointed at, else the family.
    """
    bare = without_claims(entry)
    wrong: dict[str, tuple[int, Answer]] = {}
    agreeing = False
    for index, claim, family in claims:
        answer = rule(bare, Setting(family, None, family.record.train_stages))
        if answer is not None and answer.verdict is Verdict.RULED_OUT:
            wrong.setdefault(claim.family, (index, answer))
        else:
            agreeing = True
    for family_id, (index, answer) in wrong.items():
        tried = entry.record.fits[index].evidence == "measured"
        yield at(
            entry,
            code,
            ("fits", index, "family") if agreeing else steps,
            f"tried in {family_id} by the shop, yet {answer.reason}"
            if tried
            else f"ruled out for {family_id}, which it is stated to fit: {answer.reason}",
            advice="ask the supplier, or compare it with the gearbox; then correct one of the two",
            related=(
                beside(datum.entry, *datum.steps, label=datum.text)
                for datum in answer.data
                if agreeing or datum.entry is not bare
            ),
        )
        if not agreeing:
            return


def _doubted(stated: _StatedCodes, slot: _Slot, against: list[_Statement]) -> Finding:
    """A family's code that most of its sets contradict, at the family."""
    family = stated.family(slot)
    own = stated.own(slot)
    steps = slot.steps
    if slot.name == "bearings":
        # The one that no set states is the likely slip; the list where there are several.
        alone = [text for code, text in own.items() if code not in stated.by_slot[slot]]
        if len(alone) == 1:
            steps = (*steps, family.record.interfaces.bearings.index(alone[0]))
    where = " beside the factory gears" if slot.name == "idler_seats" else ""
    code = against[0].text
    return at(
        family,
        "FC223",
        steps,
        f"{slot.words} {', '.join(own.values())}, but {len(against)} of {stated.count(slot)} sets "
        f"for {family.id} state {code}: as it stands, they are ruled out{where}",
        advice=f"look at the gearbox, and correct it here; if it is right, {code} is wrong at the "
        "sets" + (", or a seat of their own" if slot.name == "idler_seats" else ""),
        related=_places(against),
        suggestion=code,
    )


def _places(statements: list[_Statement]) -> Iterator[Related]:
    for each in statements:
        yield beside(each.entry, *each.steps, label=f"{each.entry.id} states {each.text}")


def _own_seats(stated: _StatedCodes) -> Iterator[Finding]:
    """Seats that are a supplier's own: its wheels go only with its own pinions, and so back."""
    for slot, codes in stated.by_slot.items():
        own = stated.own(slot)
        if slot.name != "idler_seats" or not own:
            continue
        for code in codes.keys() - own:
            if stated.doubted.get(slot) == code:
                continue
            by_supplier: dict[str, list[_Statement]] = {}
            for statement in codes[code]:
                by_supplier.setdefault(statement.supplier, []).append(statement)
            for statements in by_supplier.values():
                if len({statement.side for statement in statements}) == 2:
                    yield _own_seat(stated, slot, statements)


def _own_seat(stated: _StatedCodes, slot: _Slot, statements: list[_Statement]) -> Finding:
    # By id, so that the finding stays where it is when records change places.
    statements = sorted(statements, key=lambda each: each.entry.id)
    first, family = statements[0], stated.family(slot)
    wheels = [each.entry.id for each in statements if each.side == "wheel"]
    pinions = [each.entry.id for each in statements if each.side == "pinion"]
    (factory,) = stated.own(slot).values()
    return at(
        first.entry,
        "FC260",
        first.steps,
        f"{first.supplier} has idler seat {first.text} where the factory of {family.id} has "
        f"{factory}: as it stands, {or_list(wheels)} is ruled out beside the factory pinion, "
        f"{or_list(pinions)} beside the factory wheel, and they go only with each other",
        advice="no fault where the supplier has a seat of its own; else correct the code",
        related=(
            beside(family, *slot.steps, label="the factory's idler seat"),
            *_places(statements[1:]),
        ),
    )


def _without_mate(
    stated: _StatedCodes, entry: Entry[GearSet], claims: list[Claimed]
) -> Iterator[Finding]:
    """A seat that neither the factory gears nor any other set of its supplier has there.

    Where the seat goes with one of the families, the claim for another is pointed at.
    """
    record = entry.record
    if len(record.stages) > 1:
        return
    for name, gear, offset in (("wheel_seat", "wheel", 0), ("pinion_seat", "pinion", -1)):
        seat: str | None = getattr(record.interfaces, name)
        code = None if seat is None else plain_code(seat)
        if code is None:
            continue
        lonely: dict[_Slot, tuple[int, Mapping[str, list[str]]]] = {}
        going = False
        for index, claim, family in claims:
            joint = family.record.train_stages.index(record.stages[0]) + offset
            slot = _Slot(claim.family, ("interfaces", "idler_seats", joint))
            own = stated.own(slot) if joint >= 0 else {}
            mates = stated.mates(slot, code, "wheel" if gear == "wheel" else "pinion")
            if (
                not own
                or code in own
                or stated.doubted.get(slot) == code
                or record.supplier in mates
            ):
                going = True
            else:
                lonely.setdefault(slot, (index, mates))
        for slot, (index, mates) in lonely.items():
            (factory,) = stated.own(slot).values()
            alone = "no other set there has it, so it goes with nothing"
            if mates:
                others = or_list(sorted(mates))
                alone = f"only {others} has a mate for it, not {record.supplier}"
            yield at(
                entry,
                "FC256",
                ("fits", index, "family") if going else ("interfaces", name),
                f"stated to fit {slot.family}, but its {gear} has idler seat {seat}: the factory "
                f"has {factory}, and {alone}",
                advice="compare the seats on the bench, and correct the code",
                related=(
                    beside(stated.family(slot), *slot.steps, label="the factory's idler seat"),
                ),
            )
            if not going:
                break


def _split(entry: Entry[GearSet]) -> Iterator[Finding]:
    for stage, members in entry.record.members.items():
        if set(members) >= {"driver", "driven"}:
            continue
        held = f"only the {members[0]}" if members else "nothing"
        yield at(
            entry,
            "FC257",
            ("members", stage),
            f"the parcel holds {held} of the {stage} pair; a pair is never split, so the set is "
            "ruled out everywhere",
            advice="no fault where the supplier sells single gears",
        )
