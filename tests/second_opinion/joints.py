"""The seat between two stages, from docs/matching.md."""

from __future__ import annotations

from tests.second_opinion.cases import (
    FITS,
    RULED_OUT,
    UNPROVEN,
    Answer,
    Case,
    Vouched,
    against,
    code,
    met,
    settled,
    weaker,
)
from tests.second_opinion.parts import Part


def joint_answer(case: Case, number: int, wheel: Part | None, pinion: Part | None) -> Answer | None:
    """Does the wheel of stage NUMBER sit on the next pinion's shaft? None: nothing is asked."""
    if wheel is pinion:
        return None
    if wheel and pinion:
        return Answer("idler-seat", *two_bought(wheel, pinion), None)
    part = wheel or pinion
    assert part
    which = "wheel_seat" if wheel else "pinion_seat"
    stays = number + 1 if wheel else number
    return Answer("idler-seat", *one_stays(case, number, part, which, case.factory[stays]), None)


def two_bought(wheel: Part, pinion: Part) -> tuple[str, str]:
    """Both gears bought, from two sets."""
    needs, offers = wheel.seat("wheel_seat"), pinion.seat("pinion_seat")
    if needs is None or offers is None:
        met["joint: two bought, not known"] += 1
        return UNPROVEN, "none"
    if needs != offers:
        met["joint: two bought, different"] += 1
        return RULED_OUT, "none"
    met["joint: two bought, equal"] += 1
    return FITS, weaker(wheel.told("wheel_seat"), pinion.told("pinion_seat"))


def one_stays(case: Case, number: int, part: Part, which: str, is_factory: bool) -> tuple[str, str]:
    """One gear stays; IS_FACTORY: it is known to be the factory's."""
    seats = case.interfaces.get("idler_seats") or []
    family = code(seats[number]) if number < len(seats) else None
    measured = code(case.seats[number]) if number < len(case.seats) else None
    own = part.seat(which)
    if measured is not None:
        counts = measured == family or (family is None and is_factory)
        where = f"joint: measured seat, statements {'count' if counts else 'do not count'}"
        stays: str | None = measured
    elif is_factory:
        counts, where, stays = True, "joint: factory gear stays", family
    else:
        met["joint: a gear of unknown make stays"] += 1
        return UNPROVEN, "none"
    vouched = part.vouched if counts else Vouched(None)
    if own is None or stays is None:
        return settled(vouched, where)
    if own == stays:
        met[f"{where}, equal, {part.told(which)}"] += 1
        return FITS, weaker("measured", part.told(which))
    return against(vouched, where)
