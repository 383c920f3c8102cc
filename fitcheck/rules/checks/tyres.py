"""Tyres beside what their own sizes say: rim, roll-out by rule, service description."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.kernel.rounding import decimal_text, percent
from fitcheck.kernel.tyres import (
    OVER_240,
    TyreError,
    TyreSize,
    read_size,
    rolling_circumference_mm,
)
from fitcheck.model.family import Family
from fitcheck.model.machine import Machine
from fitcheck.model.tyre import Tyre
from fitcheck.rules.checks.walks import at, beside

FAR_PERCENT = Fraction(8)
"""How far a roll-out may lie from the rule for its size: the rule's 5 % and a worn tyre's 3 %.

Both are judgements; no standard sets the limit.
"""


def tyre_sizes(catalogue: Catalogue) -> Iterator[Finding]:
    """A size can be read, and its rim is the one that is said to be."""
    for tyre in catalogue.tyres.values():
        size, said = _read(tyre.record.size)
        if size is None:
            yield _unreadable(tyre, "size", said)
        elif size.rim_code != tyre.record.wheel_size_in:
            yield at(
                tyre,
                "FC292",
                ("wheel_size_in",),
                f"{tyre.record.size} is a size for a {size.rim_code} in rim, not "
                f"{tyre.record.wheel_size_in} in",
                advice="read the sidewall again and correct one of the two",
                related=(beside(tyre, "size", label="the size"),),
            )
    for machine in catalogue.machines.values():
        record = machine.record
        if record.tyre_size is None:
            continue
        size, said = _read(record.tyre_size)
        if size is None:
            yield _unreadable(machine, "tyre_size", said)
        else:
            yield from _on_rim(machine, ("tyre_size",), record.tyre_size, size.rim_code)


def mounted_tyres(catalogue: Catalogue) -> Iterator[Finding]:
    """A tyre on file goes on the rim of the machine, or of the factory train, that names it."""
    for machine in catalogue.machines.values():
        tyre = catalogue.tyres.get(machine.record.tyre or "")
        if tyre is not None:
            yield from _on_rim(machine, ("tyre",), tyre.id, tyre.record.wheel_size_in, tyre)
    for family in catalogue.families.values():
        for index, train in enumerate(family.record.factory_trains):
            tyre = catalogue.tyres.get(train.tyre or "")
            if tyre is not None:
                steps = ("factory_trains", index, "tyre")
                yield from _on_rim(family, steps, tyre.id, tyre.record.wheel_size_in, tyre)


def _on_rim(
    entry: Entry[Machine] | Entry[Family],
    steps: DocumentPath,
    words: str,
    rim: int,
    tyre: Entry[Tyre] | None = None,
) -> Iterator[Finding]:
    """The tyre at `steps` of a machine or of a family's train, beside the rim there."""
    of = entry.record
    holder = of.factory_trains[int(steps[1])] if isinstance(of, Family) else of
    whose, given = "train" if steps[1:] else "machine", holder.wheel_size_in
    if given in (None, rim):
        return
    related = [beside(entry, *steps[:-1], "wheel_size_in", label=f"the {whose}'s rim")]
    if tyre is not None:
        related.append(beside(tyre, "wheel_size_in", label="the tyre's"))
    yield at(
        entry,
        "FC284",
        steps,
        f"{words} is a tyre for a {rim} in rim, the {whose}'s has {given} in",
        advice="read the size on the sidewall and the rim, and correct one of the two",
        related=related,
    )


def tyre_roll_outs(catalogue: Catalogue) -> Iterator[Finding]:
    """A roll-out is near what the rule gives for its size, that of a machine too."""
    for tyre in catalogue.tyres.values():
        size, _ = _read(tyre.record.size)
        if size is not None and size.rim_code == tyre.record.wheel_size_in:
            yield from _far(tyre, size)
    for machine in catalogue.machines.values():
        text = machine.record.tyre_size
        if machine.record.tyre is not None:
            its = catalogue.tyres.get(machine.record.tyre)
            text = None if its is None else its.record.size
        size, _ = _read(text)
        if size is not None and machine.record.wheel_size_in in (None, size.rim_code):
            yield from _far(machine, size)


def tyre_symbols(catalogue: Catalogue) -> Iterator[Finding]:
    """Load index and speed symbol given by themselves are those in the size."""
    for tyre in catalogue.tyres.values():
        record = tyre.record
        size, _ = _read(record.size)
        if size is None:
            continue
        # ZR in a size is made precise by the symbol beside the load index.
        known = None if size.speed_symbol == OVER_240 else size.speed_symbol
        pairs: tuple[tuple[str, str, object, object], ...] = (
            ("speed_symbol", "speed symbol", known, record.speed_symbol),
            ("load_index", "load index", size.load_index, record.load_index),
        )
        for name, words, inside, given in pairs:
            if inside is None or given in (None, inside):
                continue
            yield at(
                tyre,
                "FC294",
                (name,),
                f"{words} {given} is not the {inside} of the size {record.size}",
                advice="read the sidewall again, and give it in one of the two places only",
                related=(beside(tyre, "size", label="the size"),),
            )


def _read(text: str | None) -> tuple[TyreSize | None, str]:
    """The size, or why a text is none."""
    try:
        return (None, "") if text is None else (read_size(text), "")
    except TyreError as error:
        return None, str(error)


def _unreadable(entry: Entry[Tyre] | Entry[Machine], name: str, said: str) -> Finding:
    message, _, advice = said.partition("; ")
    return at(entry, "FC291", (name,), message, advice=advice)


def _far(entry: Entry[Tyre] | Entry[Machine], size: TyreSize) -> Iterator[Finding]:
    given = entry.record.roll_out_mm
    if given is None:
        return
    rule = rolling_circumference_mm(size)
    off = 100 * (Fraction(given) / rule - 1)
    if abs(off) > FAR_PERCENT:
        yield at(
            entry,
            "FC293",
            ("roll_out_mm",),
            f"{given} mm is {percent(off, (FAR_PERCENT, -FAR_PERCENT), 0)} from the "
            f"{decimal_text(rule, 0)} mm that the rule gives for {size.designation}",
            advice="roll the wheel out again, or read the size on the sidewall again",
        )
