"""A change of tyre: the new distance per wheel turn over the present one, like with like.

For one and the same tyre a roll-out measured on the floor and one from a rule or a maker's list
differ by some percent (common practice, no source), as much as many a change of gears. So a listed
tyre is set against the machine's listed tyre, and a measured one against a measured one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.tyres import RollOutKind
from fitcheck.model.tyre import Tyre
from fitcheck.services.counter.subject import Subject
from fitcheck.services.counter.tyres import NamedTyre, RollOut, measured_roll_out, tyre_of

_ROUGH: tuple[RollOutKind, ...] = ("standard", "approximate", "estimate")
_FROM: dict[RollOutKind, str] = {
    "counted": "measured",
    "catalogue": "from a maker's list",
    "standard": "from a standard's rule",
    "approximate": "approximated from its size",
    "estimate": "an estimate",
}


def present_tyre(
    subject: Subject, tyre: NamedTyre | None = None, measured_mm: Fraction | None = None
) -> Subject:
    """The machine with the tyre that is on it now, which overrides the one on its record.

    Args:
        subject: the machine as its record has it.
        tyre: the tyre that is on now; None for the record's.
        measured_mm: distance per wheel turn as measured just now, mm.
    """
    if measured_mm is not None:
        on = tyre or _tyre_on_record(subject)
        return replace(subject, roll_out=measured_roll_out(measured_mm, "measured just now", on))
    return subject if tyre is None else replace(subject, roll_out=tyre.best)


def change_tyre(
    subject: Subject,
    new: Fraction | Entry[Tyre] | NamedTyre,
    present_mm: Fraction | None = None,
    present: NamedTyre | None = None,
) -> Subject:
    """The machine with another tyre to come; its figures count the tyre in.

    Args:
        subject: the machine as it stands.
        new: distance per wheel turn as measured, mm, or a tyre of the catalogue, or a tyre named.
        present_mm: distance per wheel turn as measured just now; overrides the record's.
        present: the tyre that is on now; overrides the record's.

    Raises:
        UsageError: nothing says how far the present tyre rolls.
    """
    if isinstance(new, Entry):
        new = NamedTyre.of(new)
    offered = new.roll_outs if isinstance(new, NamedTyre) else (measured_roll_out(new),)
    known = list(_known_roll_outs(subject, present_mm, present))
    if not known:
        raise UsageError(
            "a new tyre counts against the present one: give --roll-out too, measured on the "
            "floor, or --tyre with the size on its sidewall"
        )
    on = present or (None if present_mm is not None else _tyre_on_record(subject))
    coming, now, alike = _match_roll_outs(new, offered, known, on)
    told = list(subject.told)
    rim = new.rim_in if isinstance(new, NamedTyre) else None
    if rim is not None and subject.wheel_size_in not in (None, rim):
        told.append(
            f"The new tyre is for a {rim} in rim and this machine has a {subject.wheel_size_in} in "
            "wheel: it does not go on without another wheel."
        )
    if alike and coming.kind in _ROUGH and now.kind in _ROUGH:
        told.append(
            "Both roll-outs are worked out, not measured, and good to 3 to 5 percent only: roll "
            "both out on the floor before you count on the change."
        )
    if not alike:
        told.append(
            f"The new tyre's roll-out is {_FROM[coming.kind]}, the present one's "
            f"{_FROM[now.kind]}: part of the change may be the difference between the two ways."
        )
    return replace(
        present_tyre(subject, present, present_mm),
        roll_out_ratio=coming.mm / now.mm,
        new_roll_out=coming,
        told=tuple(told),
    )


def _match_roll_outs(
    new: Fraction | NamedTyre,
    offered: tuple[RollOut, ...],
    known: list[RollOut],
    on: NamedTyre | None,
) -> tuple[RollOut, RollOut, bool]:
    """The new and the present roll-out that are known in the same way, if any two are."""
    if isinstance(new, NamedTyre) and on is not None and new.entries and new.entries == on.entries:
        again = replace(offered[0], mm=known[0].mm, kind=known[0].kind)
        return again, known[0], True  # the same tyre, perhaps with another symbol
    for coming in offered:
        for now in known:
            if (coming.kind == "counted") == (now.kind == "counted"):
                return coming, now, True
    # What has no figure of its own is set by the rule against the present size by the same rule.
    rule = new.rule if isinstance(new, NamedTyre) else None
    if rule is not None and isinstance(new, NamedTyre):
        rough = [now for now in known if now.kind != "counted"]
        by_rule = new.by_size or offered[0].by_rule or (bool(rough) and rough[0].by_rule)
        if not rough and on is not None and on.rule is not None:
            rough = [on.rule]
        if rough and by_rule:
            return rule, rough[0], True
    return offered[0], known[0], False


def _known_roll_outs(
    subject: Subject, present_mm: Fraction | None, present: NamedTyre | None
) -> Iterator[RollOut]:
    """What is known of the present roll-out, measured first."""
    on = present
    if present_mm is not None:
        yield measured_roll_out(present_mm)
    elif present is None:
        machine = None if subject.entry is None else subject.entry.record
        on = _tyre_on_record(subject)
        if machine is not None and machine.roll_out_mm is not None:
            yield measured_roll_out(Fraction(machine.roll_out_mm))
            # The same tyre counted elsewhere is no second measure of this machine.
            others = on.roll_outs if on is not None else ()
            yield from (each for each in others if each.kind != "counted")
            return
    if on is not None:
        yield from on.roll_outs


def _tyre_on_record(subject: Subject) -> NamedTyre | None:
    return None if subject.entry is None else tyre_of(subject.catalogue, subject.entry.record)
