"""Shafts, seats, bearings, hand and members that contradict what a set is said to fit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.model.family import Family
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Verdict
from fitcheck.rules.checks.place import at, beside
from fitcheck.rules.checks.trains import (
    Claimed,
    claimed_families,
    stages_fit,
    without_claims,
)
from fitcheck.rules.fit.gears import helix_hand
from fitcheck.rules.fit.seats import bearings, input_shaft_end, output_shaft_end
from fitcheck.rules.setting import Setting, plain_code

__all__ = ["set_seats"]

_Rule = Callable[[Entry[GearSet], Setting], Answer | None]

_INTERFACES: tuple[tuple[str, _Rule], ...] = (
    ("input_shaft_end", input_shaft_end),
    ("output_shaft_end", output_shaft_end),
    ("bearings", bearings),
)


def set_seats(catalogue: Catalogue) -> Iterator[Finding]:
    """What every active set brings and needs, against the families it is for."""
    offered = _Offered(catalogue)
    for entry in catalogue.gear_sets.values():
        record = entry.record
        if record.status == "retired":
            continue
        if record.members:
            yield from _split(entry)
        claims = [
            claimed
            for claimed in claimed_families(catalogue, record)
            if stages_fit(record, claimed[2].record)
        ]
        if not claims:
            continue
        if record.interfaces.model_fields_set:
            for name, rule in _INTERFACES:
                if getattr(record.interfaces, name):
                    yield from _contradicted(entry, claims, rule, "FC255", ("interfaces", name))
            yield from offered.judge(entry, claims)
        for stage, given in record.geometry.items():
            if given.driver_hand is not None:
                yield from _contradicted(
                    entry,
                    claims,
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
            advice="ask the supplier, or hold it against the gearbox; then correct one of the two",
            related=(
                beside(datum.entry, *datum.steps, label=datum.text)
                for datum in answer.data
                if agreeing or datum.entry is not bare
            ),
        )
        if not agreeing:
            return


class _Offered:
    """Seats at every joint of a family: of the factory, and of the sets that are for it."""

    def __init__(self, catalogue: Catalogue) -> None:
        # Codes by family and joint: of the wheels that sit there, and of the pinions' shafts.
        self._wheels: dict[tuple[str, int], set[str]] = {}
        self._pinions: dict[tuple[str, int], set[str]] = {}
        for family in catalogue.families.values():
            for joint, seat in enumerate(family.record.interfaces.idler_seats):
                _add(self._wheels, family.id, joint, seat)
                _add(self._pinions, family.id, joint, seat)
        for entry in catalogue.gear_sets.values():
            record = entry.record
            seats = record.interfaces
            if record.status == "retired" or len(record.stages) > 1:
                continue
            if seats.wheel_seat is None and seats.pinion_seat is None:
                continue
            for _, claim, family in claimed_families(catalogue, record):
                if stages_fit(record, family.record):
                    position = family.record.train_stages.index(record.stages[0])
                    _add(self._wheels, claim.family, position, seats.wheel_seat)
                    _add(self._pinions, claim.family, position - 1, seats.pinion_seat)

    def judge(self, entry: Entry[GearSet], claims: list[Claimed]) -> Iterator[Finding]:
        """A seat that neither the factory gears nor any set of the family has at that joint."""
        record = entry.record
        if len(record.stages) > 1:
            return
        for name, seat, offset, others in (
            ("wheel_seat", record.interfaces.wheel_seat, 0, self._pinions),
            ("pinion_seat", record.interfaces.pinion_seat, -1, self._wheels),
        ):
            found = None if seat is None else self._lonely(record, seat, offset, others, claims)
            if found is None:
                continue
            family, joint = found
            own = family.record.interfaces.idler_seats[joint]
            gear = "wheel" if name == "wheel_seat" else "pinion"
            yield at(
                entry,
                "FC256",
                ("interfaces", name),
                f"stated to fit {family.id}, but its {gear} has idler seat {seat}: the factory "
                f"has {own}, and no other set there has {seat}, so it goes with nothing",
                advice="compare the seats on the bench, and correct the code",
                related=(
                    beside(
                        family,
                        *("interfaces", "idler_seats", joint),
                        label="the factory's idler seat",
                    ),
                ),
            )

    def _lonely(
        self,
        record: GearSet,
        seat: str,
        offset: int,
        others: dict[tuple[str, int], set[str]],
        claims: list[Claimed],
    ) -> tuple[Entry[Family], int] | None:
        """The first family and joint of a seat without a mate; None where it may have one."""
        code = plain_code(seat)
        first: tuple[Entry[Family], int] | None = None
        for _, _, family in claims:
            joint = family.record.train_stages.index(record.stages[0]) + offset
            factory = family.record.interfaces.idler_seats
            if not 0 <= joint < len(factory) or plain_code(factory[joint]) is None:
                return None
            if code is None or code in others[family.id, joint]:
                return None
            first = first or (family, joint)
        return first


def _add(seats: dict[tuple[str, int], set[str]], family: str, joint: int, seat: str | None) -> None:
    code = None if seat is None else plain_code(seat)
    if code is not None:
        seats.setdefault((family, joint), set()).add(code)


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
