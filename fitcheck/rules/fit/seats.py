"""Do the gears sit on the shafts: shaft ends, idler seats, bearings."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from fitcheck.catalogue.reader import Entry
from fitcheck.model.family import Family
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Datum, Evidence
from fitcheck.rules.fit.case import Case, claim_evidence, own_evidence
from fitcheck.rules.setting import Setting, plain_code

Gear = Literal["wheel", "pinion"]
"""The gears of a joint: the wheel of one stage, and the next pinion, on whose shaft it sits."""

_SEAT_OF: dict[Gear, str] = {"wheel": "wheel_seat", "pinion": "pinion_seat"}

_BASIC_BEARING = re.compile(
    r"\s*([A-Za-z]*\s*(?:[0-9]{2,3}/[0-9]{1,3}(?![0-9A-Za-z])"
    r"|[0-9]{3,}(?:/[0-9]+(?:[.,][0-9]+)?(?![0-9A-Za-z]))?(?![0-9]*[xX×][0-9])))"
)


def input_shaft_end(gear_set: Entry[GearSet], setting: Setting) -> Answer | None:
    """The input pinion fits the family's input shaft end; asked where the set holds that pinion."""
    if setting.stages[0] not in gear_set.record.pairs:
        return None
    return _shaft_end(gear_set, setting, "input_shaft_end", "input pinion")


def output_shaft_end(gear_set: Entry[GearSet], setting: Setting) -> Answer | None:
    """The final wheel fits the family's output shaft end; asked where the set holds that wheel."""
    if setting.stages[-1] not in gear_set.record.pairs:
        return None
    return _shaft_end(gear_set, setting, "output_shaft_end", "final wheel")


def _shaft_end(gear_set: Entry[GearSet], setting: Setting, name: str, gear: str) -> Answer:
    case = Case(name.replace("_", "-"), gear_set, setting)
    needed: str | None = getattr(gear_set.record.interfaces, name)
    offered: str | None = getattr(setting.family.record.interfaces, name)
    end = name.replace("_", " ")
    data = (*_interface_data(gear_set, name), *_interface_data(setting.family, name))
    wanted, given = plain_code(needed), plain_code(offered)
    compare = f"compare the {gear} with the machine's {end}"
    if wanted is None:
        return case.by_statement(f"the {end} it needs is not known", *data, measure=compare)
    if given is None:
        return case.by_statement(f"the family's {end} is not known", *data, measure=compare)
    if wanted == given:
        reason = f"the {gear} needs {end} {needed}, which the family has"
        return case.fits(own_evidence(gear_set.record, name), reason, *data)
    reason = f"the {gear} needs {end} {needed}, the family has {offered}"
    return case.against(reason, *data, measure=compare)


def bearings(gear_set: Entry[GearSet], setting: Setting) -> Answer | None:
    """The shafts of the set run in the family's bearings; asked where the set names bearings."""
    needed = gear_set.record.interfaces.bearings
    if not needed:
        return None
    case = Case("bearings", gear_set, setting)
    offered = setting.family.record.interfaces.bearings
    data: tuple[Datum, ...] = (
        Datum(gear_set, ("interfaces", "bearings"), f"bearings: {', '.join(needed)}"),
    )
    # What says nothing of one of the family's may be any bearing.
    known = {basic_bearing(bearing) for bearing in offered}
    all_known = bool(known) and None not in known
    basic = {bearing: basic_bearing(bearing) for bearing in needed}
    measure = (
        f"read the numbers on the machine's gearbox bearings; the set needs {', '.join(needed)}"
    )
    if offered:
        data += (
            Datum(setting.family, ("interfaces", "bearings"), f"bearings: {', '.join(offered)}"),
        )
    strange = [bearing for bearing, plain in basic.items() if plain is not None]
    strange = [bearing for bearing in strange if basic[bearing] not in known]
    if all_known and strange:
        reason = f"needs bearing {', '.join(strange)}; the family has {', '.join(offered)}"
        return case.against(reason, *data, measure=measure)
    if strange or not known or None in basic.values():
        whose = "the bearings it needs" if all_known else "the family's bearings"
        return case.by_statement(f"{whose} are not all known", *data, measure=measure)
    reason = f"runs in the family's bearings ({', '.join(needed)})"
    return case.fits(own_evidence(gear_set.record, "bearings"), reason, *data)


def basic_bearing(number: str) -> str | None:
    """A bearing's number without the suffixes for seals, cage and clearance.

    The basic number alone fixes bore, outer diameter and width (common practice, no source read):
    6202, 6202-2RS and 6202 C3 take the same place; 6202/16 has a bore of its own. What does not
    begin with three figures, such as 17x40x12, is taken whole. None for what says nothing.
    """
    found = _BASIC_BEARING.match(number)
    return plain_code(number if found is None else found.group(1))


@dataclass(frozen=True, slots=True)
class SeatSide:
    """All that a joint reads of the set on one side of it; sets of equal sides are judged alike.

    Attributes:
        code: the seat of its gear, plain; None where it is not known.
        evidence: how that is known.
        claim: how strongly the set is vouched for here; NONE where nobody does.
    """

    code: str | None
    evidence: Evidence
    claim: Evidence

    @classmethod
    def of(cls, gear_set: Entry[GearSet], gear: Gear, setting: Setting) -> SeatSide:
        """The side of a set that brings the wheel, or the pinion, of a joint."""
        record = gear_set.record
        name = _SEAT_OF[gear]
        seat: str | None = getattr(record.interfaces, name)
        vouching = setting.vouching(record)
        return cls(
            plain_code(seat),
            own_evidence(record, name),
            claim_evidence(vouching[0][1]) if vouching else Evidence.NONE,
        )


@dataclass(frozen=True, slots=True)
class _Kept:
    """The gear that stays at a joint.

    Attributes:
        code: its seat as written; None where it is not known.
        factory: whether what is said of a set beside factory gears counts beside this one.
        known: whether the gear itself is known to be the factory's.
        data: where its seat stands.
    """

    code: str | None
    factory: bool
    known: bool
    data: tuple[Datum, ...]

    @classmethod
    def of(cls, stage: Stage, joint: int, setting: Setting) -> _Kept:
        """The gear of a stage that stays: as measured on the machine, else the factory's."""
        known = stage not in setting.unknown_make
        seats = setting.family.record.interfaces.idler_seats
        factory = seats[joint] if joint < len(seats) else None
        measured = setting.measured_seat(joint)
        if measured is not None:
            data: tuple[Datum, ...] = ()  # what is given by hand stands in no file
            on_file = [] if setting.machine is None else setting.machine.record.idler_seats
            if setting.machine is not None and on_file[joint : joint + 1] == [measured]:
                words = f"idler seat, measured: {measured}"
                data = (Datum(setting.machine, ("idler_seats", joint), words),)
            plain = plain_code(factory)
            alike = known if plain is None else plain == plain_code(measured)
            return cls(measured, alike, known and alike, data)
        if not known or factory is None:
            return cls(None, known, known, ())
        where = ("interfaces", "idler_seats", joint)
        data = (Datum(setting.family, where, f"idler seat: {factory}"),)
        return cls(None if plain_code(factory) is None else factory, True, True, data)


def idler_seat(
    wheel: Entry[GearSet] | None,
    pinion: Entry[GearSet] | None,
    joint: int,
    setting: Setting,
) -> Answer | None:
    """The wheel of one stage sits on the pinion shaft of the next, whoever made them.

    Its verdict and evidence depend on the `SeatSide` of each set, and on nothing else of a set.

    Args:
        wheel: the set that brings the wheel, or None where the wheel stays.
        pinion: the set that brings the next pinion, or None where the pinion stays.
        joint: 0 between the first and the second stage, 1 between the second and the third.
        setting: the gearbox.

    Returns:
        The answer, or None where both gears stay.
    """
    if wheel is not None and pinion is not None:
        return _seat_between(wheel, pinion, setting)
    if wheel is not None:
        return _seat_beside(wheel, "wheel", joint, setting)
    return None if pinion is None else _seat_beside(pinion, "pinion", joint, setting)


def _seat_between(wheel: Entry[GearSet], pinion: Entry[GearSet], setting: Setting) -> Answer:
    """The seat between two sets: what is said of one never settles it, since nobody tried both."""
    case = Case("idler-seat", wheel, setting, f"{wheel.id} on {pinion.id}")
    needs, brings = SeatSide.of(wheel, "wheel", setting), SeatSide.of(pinion, "pinion", setting)
    data = (*_interface_data(wheel, "wheel_seat"), *_interface_data(pinion, "pinion_seat"))
    if needs.code is None or brings.code is None:
        unknown = " and ".join(
            entry.id for entry, side in ((wheel, needs), (pinion, brings)) if side.code is None
        )
        return case.unproven(
            f"the seat of {unknown} is not known, and what is said of one set never settles the "
            "seat between two",
            *data,
            measure=f"measure the idler seat of {unknown}: bore or spline, width, and try the "
            "wheel on the shaft by hand",
        )
    equal, different = _seats_in_words(
        wheel.record.interfaces.wheel_seat, pinion.record.interfaces.pinion_seat
    )
    if needs.code != brings.code:
        return case.ruled_out(different, *data)
    return case.fits(min(needs.evidence, brings.evidence), equal, *data)


def _seat_beside(gear_set: Entry[GearSet], gear: Gear, joint: int, setting: Setting) -> Answer:
    """The seat between a set and the gear that stays."""
    kept_gear: Gear = "pinion" if gear == "wheel" else "wheel"
    kept_stage = setting.stages[joint + 1 if gear == "wheel" else joint]
    kept, own = _Kept.of(kept_stage, joint, setting), SeatSide.of(gear_set, gear, setting)
    own_data = _interface_data(gear_set, _SEAT_OF[gear])
    data = (*own_data, *kept.data) if gear == "wheel" else (*kept.data, *own_data)
    now_fitted = f"the {kept_stage} {kept_gear} now fitted"
    there = f"factory {kept_gear}" if kept.known else now_fitted
    sides = (gear_set.id, there) if gear == "wheel" else (there, gear_set.id)
    case = Case("idler-seat", gear_set, setting, " on ".join(sides))
    asked = [
        gear for gear, code in ((gear_set.id, own.code), (now_fitted, kept.code)) if code is None
    ] or [gear_set.id, now_fitted]
    measure = f"measure the idler seat of {' and that of '.join(asked)}"
    if kept.code is not None and own.code is not None:
        seat: str = getattr(gear_set.record.interfaces, _SEAT_OF[gear])
        both = (seat, kept.code) if gear == "wheel" else (kept.code, seat)
        equal, different = _seats_in_words(*both)
        if plain_code(kept.code) == own.code:
            return case.fits(own.evidence, equal, *data)
        return case.against(different, *data, measure=measure, trial_counts=kept.factory)
    if not kept.factory:
        reason = (
            f"the {kept_stage} pair now fitted is not known to be the factory's, so its idler seat "
            "is not known"
            if kept.code is None
            else f"its idler seat is not known, and {now_fitted} has another than the factory's"
        )
        return case.unproven(reason, *data, measure=measure)
    whose = "the factory" if kept.code is None else "its"
    return case.by_statement(f"{whose} idler seat is not known", *data, measure=measure)


def _seats_in_words(needs: str | None, offers: str | None) -> tuple[str, str]:
    """Two seats, as a sentence where they are equal and as one where they differ."""
    return (
        f"the wheel needs seat {needs}, which the pinion shaft offers",
        f"the wheel needs seat {needs}, the pinion shaft offers {offers}",
    )


def _interface_data(entry: Entry[GearSet] | Entry[Family], *names: str) -> tuple[Datum, ...]:
    """The codes that a set or a family gives under these names."""
    codes = {name: getattr(entry.record.interfaces, name) for name in names}
    return tuple(
        Datum(entry, ("interfaces", name), f"{name}: {code}")
        for name, code in codes.items()
        if code is not None
    )


def own_seat(gear_set: Entry[GearSet], setting: Setting) -> Answer | None:
    """The wheel of a set of the whole train sits on that set's own next pinion.

    Its maker matched the two, so this is asked only where the record gives both seats: one that
    contradicts itself proves nothing. With three stages no code says which joint it means.
    """
    record = gear_set.record
    if len(setting.stages) != 2 or record.stages != setting.stages:
        return None
    needs, brings = (SeatSide.of(gear_set, gear, setting) for gear in _SEAT_OF)
    if needs.code is None or brings.code is None:
        return None
    case = Case("idler-seat", gear_set, setting)
    data = _interface_data(gear_set, *_SEAT_OF.values())
    wheel = f"its wheel needs seat {record.interfaces.wheel_seat}"
    if needs.code == brings.code:
        evidence = min(needs.evidence, brings.evidence)
        return case.fits(evidence, f"{wheel}, which its own pinion shaft offers", *data)
    return case.against(
        f"{wheel}, its own pinion shaft offers {record.interfaces.pinion_seat}",
        *data,
        measure=f"try the first wheel of {gear_set.id} on its own pinion shaft by hand",
    )
