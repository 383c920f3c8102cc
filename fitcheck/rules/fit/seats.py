"""Do the gears sit on the shafts: shaft ends, idler seats, bearings."""

from __future__ import annotations

import re

from fitcheck.catalogue.reader import Entry
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Datum, Evidence, Verdict
from fitcheck.rules.fit.identity import against, by_statement
from fitcheck.rules.setting import Setting, plain_code

__all__ = [
    "basic_bearing",
    "bearings",
    "idler_seat",
    "input_shaft_end",
    "output_shaft_end",
    "own_seat",
]

_BASIC_BEARING = re.compile(
    r"\s*([A-Za-z]*\s*(?:[0-9]{2,3}/[0-9]{1,3}(?![0-9A-Za-z])|[0-9]{3,}(?![0-9]*[xX×][0-9])))"
)


def _seat_evidence(gear_set: GearSet, name: str) -> Evidence:
    """How an interface of a set is known."""
    return Evidence.MEASURED if name in gear_set.measured else Evidence.STATED


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
    rule = name.replace("_", "-")
    needed: str | None = getattr(gear_set.record.interfaces, name)
    offered: str | None = getattr(setting.family.record.interfaces, name)
    end = name.replace("_", " ")
    data: tuple[Datum, ...] = ()
    if needed is not None:
        data += (Datum(gear_set, ("interfaces", name), f"{name}: {needed}"),)
    if offered is not None:
        data += (Datum(setting.family, ("interfaces", name), f"{name}: {offered}"),)
    wanted = None if needed is None else plain_code(needed)
    given = None if offered is None else plain_code(offered)
    if wanted is not None and given is not None:
        if wanted == given:
            return Answer(
                rule,
                Verdict.FITS,
                _seat_evidence(gear_set.record, name),
                f"the {gear} needs {end} {needed}, which the family has",
                data,
            )
        return against(
            gear_set,
            setting,
            rule,
            f"the {gear} needs {end} {needed}, the family has {offered}",
            data,
            measure=f"compare the {gear} with the machine's {end}",
        )
    return by_statement(
        gear_set,
        setting,
        rule,
        f"the {end} it needs is not known"
        if wanted is None
        else f"the family's {end} is not known",
        data,
        measure=f"compare the {gear} with the machine's {end}",
    )


def bearings(gear_set: Entry[GearSet], setting: Setting) -> Answer | None:
    """The shafts of the set run in the family's bearings; asked where the set names bearings."""
    needed = gear_set.record.interfaces.bearings
    if not needed:
        return None
    offered = setting.family.record.interfaces.bearings
    data: tuple[Datum, ...] = (
        Datum(gear_set, ("interfaces", "bearings"), f"bearings: {', '.join(needed)}"),
    )
    known = {basic_bearing(bearing) for bearing in offered} - {None}
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
    if known and strange:
        return against(
            gear_set,
            setting,
            "bearings",
            f"needs bearing {', '.join(strange)}; the family has {', '.join(offered)}",
            data,
            measure=measure,
        )
    if not known or None in basic.values():
        return by_statement(
            gear_set,
            setting,
            "bearings",
            "the bearings it needs are not all known"
            if known
            else "the family's bearings are not known",
            data,
            measure=measure,
        )
    return Answer(
        "bearings",
        Verdict.FITS,
        _seat_evidence(gear_set.record, "bearings"),
        f"runs in the family's bearings ({', '.join(needed)})",
        data,
    )


def basic_bearing(number: str) -> str | None:
    """A bearing's number without the suffixes for seals, cage and clearance.

    The basic number alone fixes bore, outer diameter and width (common practice, no source read):
    6202, 6202-2RS and 6202 C3 take the same place. What does not begin with three figures, such
    as 17x40x12, is taken whole. None for what says nothing.
    """
    found = _BASIC_BEARING.match(number)
    return plain_code(number if found is None else found.group(1))


def idler_seat(
    wheel: Entry[GearSet] | None,
    pinion: Entry[GearSet] | None,
    joint: int,
    setting: Setting,
) -> Answer | None:
    """The wheel of one stage sits on the pinion shaft of the next, whoever made them.

    Args:
        wheel: the set that brings the wheel, or None where the factory wheel stays.
        pinion: the set that brings the next pinion, or None where the factory pinion stays.
        joint: 0 between the first and the second stage, 1 between the second and the third.
        setting: the gearbox.

    Returns:
        The answer, or None where both gears stay as they left the works.
    """
    gear_set = wheel if wheel is not None else pinion
    if gear_set is None:
        return None
    seats = setting.family.record.interfaces.idler_seats
    factory = seats[joint] if joint < len(seats) else None
    kept_stage = setting.stages[joint] if wheel is None else setting.stages[joint + 1]
    if (wheel is None or pinion is None) and kept_stage in setting.replaced:
        return _on_replaced_gear(gear_set, "wheel" if wheel is None else "pinion", kept_stage)
    factory_data = (
        (Datum(setting.family, ("interfaces", "idler_seats", joint), f"idler seat: {factory}"),)
        if factory is not None
        else ()
    )
    if factory is not None and plain_code(factory) is None:
        factory = None
    needs, wheel_evidence, wheel_data = _side(wheel, "wheel_seat", factory, factory_data)
    brings, pinion_evidence, pinion_data = _side(pinion, "pinion_seat", factory, factory_data)
    data = wheel_data + tuple(datum for datum in pinion_data if datum not in wheel_data)
    subject = (
        f"{wheel.id if wheel else 'factory wheel'} on {pinion.id if pinion else 'factory pinion'}"
    )
    measure = f"measure the idler seat of {gear_set.id} and of the machine's own idler"
    if needs is not None and brings is not None and plain_code(needs) != plain_code(brings):
        return against(
            gear_set,
            setting,
            "idler-seat",
            f"the wheel needs seat {needs}, the pinion shaft offers {brings}",
            data,
            measure=measure,
            subject=subject,
            # A set was tried with the factory's gears; with another set it is another matter.
            trial_counts=wheel is None or pinion is None,
        )
    if needs is not None and brings is not None:
        return Answer(
            "idler-seat",
            Verdict.FITS,
            min(wheel_evidence, pinion_evidence),
            f"the wheel needs seat {needs}, which the pinion shaft offers",
            data,
            subject=subject,
        )
    if wheel is not None and pinion is not None:
        unknown = [entry.id for entry, seat in ((wheel, needs), (pinion, brings)) if seat is None]
        return Answer(
            "idler-seat",
            Verdict.UNPROVEN,
            Evidence.NONE,
            f"the seat of {' and '.join(unknown)} is not known, and what is said of one set never "
            "settles the seat between two",
            data,
            measure=f"measure the idler seat of {' and '.join(unknown)}: bore or spline, width, "
            "and try the wheel on the shaft by hand",
            subject=subject,
        )
    return by_statement(
        gear_set,
        setting,
        "idler-seat",
        "the factory idler seat is not known" if factory is None else "its idler seat is not known",
        data,
        measure=measure,
        subject=subject,
    )


def own_seat(gear_set: Entry[GearSet], setting: Setting) -> Answer | None:
    """The wheel of a set of the whole train sits on that set's own next pinion.

    Its maker matched the two, so this is asked only where the record gives both seats: one that
    contradicts itself proves nothing. With three stages no code says which joint it means.
    """
    record = gear_set.record
    if len(setting.stages) != 2 or record.stages != setting.stages:
        return None
    needs, wheel_evidence, wheel_data = _side(gear_set, "wheel_seat", None, ())
    brings, pinion_evidence, pinion_data = _side(gear_set, "pinion_seat", None, ())
    if needs is None or brings is None:
        return None
    data = wheel_data + pinion_data
    if plain_code(needs) == plain_code(brings):
        return Answer(
            "idler-seat",
            Verdict.FITS,
            min(wheel_evidence, pinion_evidence),
            f"its wheel needs seat {needs}, which its own pinion shaft offers",
            data,
        )
    return against(
        gear_set,
        setting,
        "idler-seat",
        f"its wheel needs seat {needs}, its own pinion shaft offers {brings}",
        data,
        measure=f"try the first wheel of {gear_set.id} on its own pinion shaft by hand",
    )


def _on_replaced_gear(gear_set: Entry[GearSet], kept: str, kept_stage: str) -> Answer:
    name = "wheel_seat" if kept == "pinion" else "pinion_seat"
    seat: str | None = getattr(gear_set.record.interfaces, name)
    data = () if seat is None else (Datum(gear_set, ("interfaces", name), f"{name}: {seat}"),)
    return Answer(
        "idler-seat",
        Verdict.UNPROVEN,
        Evidence.NONE,
        f"the {kept_stage} pair now fitted is no factory pair on file, so its idler seat is not "
        "known",
        data,
        measure=f"measure the idler seat of the {kept_stage} {kept} now fitted and compare it with "
        f"{gear_set.id}",
        subject=f"{gear_set.id} with the {kept_stage} {kept} now fitted",
    )


def _side(
    entry: Entry[GearSet] | None,
    name: str,
    factory: str | None,
    factory_data: tuple[Datum, ...],
) -> tuple[str | None, Evidence, tuple[Datum, ...]]:
    if entry is None:
        return factory, Evidence.MEASURED, factory_data
    seat: str | None = getattr(entry.record.interfaces, name)
    if seat is None:
        return None, Evidence.NONE, ()
    data = (Datum(entry, ("interfaces", name), f"{name}: {seat}"),)
    if plain_code(seat) is None:
        return None, Evidence.NONE, data
    return seat, _seat_evidence(entry.record, name), data
