"""A change of tyre: the new distance per wheel turn over the present one, like with like.

For one and the same tyre a roll-out measured on the floor and one from a rule or a maker's list
differ by some percent (common practice, no source), as much as many a change of gears. So a listed
tyre is set against the machine's listed tyre, and a measured one against a measured one.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.model.trade import Tyre
from fitcheck.services.subject import Subject

__all__ = ["change_tyre"]

_ROUGH = ("standard", "estimate")
_FROM = {
    "counted": "measured",
    "catalogue": "from a maker's list",
    "standard": "from a standard's rule",
    "estimate": "an estimate",
}


def change_tyre(
    subject: Subject, new: Fraction | Entry[Tyre], present_mm: Fraction | None = None
) -> Subject:
    """The machine with another tyre to come; its figures count the tyre in.

    Args:
        subject: the machine as it stands.
        new: distance per wheel turn as measured, mm, or a tyre of the catalogue.
        present_mm: distance per wheel turn as measured just now; stands before the record's.

    Raises:
        UsageError: nothing says how far the present tyre rolls.
    """
    if isinstance(new, Entry):
        new_mm, basis = Fraction(new.record.roll_out_mm), str(new.record.basis)
    else:
        new_mm, basis = new, "counted"
    known = {"counted": present_mm} if present_mm is not None else _on_record(subject)
    if not known:
        raise UsageError(
            "a new tyre counts against the present one: give --roll-out too, measured on the floor"
        )
    alike = [each for each in known if (each == "counted") == (basis == "counted")]
    present = next(iter(alike or known))
    told = list(subject.told)
    rim = new.record.wheel_size_in if isinstance(new, Entry) else None
    if rim is not None and subject.wheel_size_in not in (None, rim):
        told.append(
            f"The new tyre is for a {rim} in rim and this machine has a {subject.wheel_size_in} in "
            "wheel: it does not go on without another wheel."
        )
    if alike and basis in _ROUGH and present in _ROUGH:
        told.append(
            "Both roll-outs are worked out, not measured, and good to 3 to 5 percent only: roll "
            "both out on the floor before you count on the change."
        )
    mixture = (
        f"The new tyre's roll-out is {_FROM[basis]}, the present one's {_FROM[present]}: part of "
        "the change may be the difference between the two ways."
    )
    return replace(
        subject,
        roll_out_mm=present_mm if present_mm is not None else subject.roll_out_mm,
        roll_out_ratio=new_mm / known[present],
        told=tuple(told) if alike else (*told, mixture),
    )


def _on_record(subject: Subject) -> dict[str, Fraction]:
    """What the machine's record says of the present roll-out, by how it is known."""
    known: dict[str, Fraction] = {}
    if subject.entry is not None:
        machine = subject.entry.record
        if machine.roll_out_mm is not None:
            known["counted"] = Fraction(machine.roll_out_mm)
        tyre = subject.catalogue.tyres.get(machine.tyre) if machine.tyre is not None else None
        if tyre is not None:
            known.setdefault(tyre.record.basis, Fraction(tyre.record.roll_out_mm))
    return known
