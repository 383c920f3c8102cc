"""What would help a taller gearing: a lower starting ratio, lighter rollers, stiffer springs."""

from __future__ import annotations

from fitcheck.catalogue.reader import Entry
from fitcheck.model.trade import VariatorKit
from fitcheck.services.counter.audience import ShopWords
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.inputs import Inputs
from fitcheck.services.road.results import Help
from fitcheck.services.road.sweep import setup_of

_NOTICED = 0.005
"""Less start-off pull lost than this share needs no help."""

_WORTH = 0.02
"""Less power gained than this share is not worth new rollers."""

_SPRINGS = (
    "A stiffer contra spring lets the variator come out later, and stiffer clutch springs let the "
    "clutch engage at a higher rpm, with more heat and wear; common practice."
)


def help_for(subject: Subject, inputs: Inputs, taller: float) -> Help:
    """What would help a gearing.

    Args:
        subject: the machine.
        inputs: its inputs.
        taller: metres per turn of the new gearing over the present one, 1.12 for 12 % taller.
    """
    if taller <= 1 + _NOTICED:
        return Help(None, (), ())
    if inputs.is_fixed:
        words = "With a fixed ratio nothing gives the start-off pull back but shorter gears."
        return Help(None, (), (words,))
    low = inputs.givens["low_ratio"].value
    needed = low * taller
    kits = _kits(subject, needed)
    sentences = (
        f"A starting ratio of {needed:.2f}, now {low:.2f}, would give back the old start-off pull.",
        _kit_words(subject, kits),
        _roller_words(inputs),
        _SPRINGS,
    )
    return Help(needed, tuple(kit.id for kit in kits), sentences)


def _kits(subject: Subject, needed: float) -> list[Entry[VariatorKit]]:
    """Variators for this family with a starting ratio low enough, the least low first."""
    kits = [
        entry
        for entry in subject.catalogue.variators.values()
        if subject.family.id in entry.record.fits and float(entry.record.low_ratio) >= needed
    ]
    return sorted(kits, key=lambda entry: (entry.record.low_ratio, entry.id))


def _kit_words(subject: Subject, kits: list[Entry[VariatorKit]]) -> ShopWords:
    family = subject.family.record.name
    if kits:
        listed = ", ".join(
            f"{kit.id} ({float(kit.record.low_ratio):.2f} to {float(kit.record.high_ratio):.2f})"
            for kit in kits[:3]
        )
        more = f" and {len(kits) - 3} more" if len(kits) > 3 else ""
        found = f"for {family}: {listed}{more}."
        return ShopWords(f"In the catalogue {found}", f"The shop knows {found}")
    others = [
        float(entry.record.low_ratio)
        for entry in subject.catalogue.variators.values()
        if subject.family.id in entry.record.fits
    ]
    if others:
        lack = f"has so large a starting ratio; the largest is {max(others):.2f}."
        return ShopWords(
            f"No variator in the catalogue for {family} {lack}",
            f"No variator the shop knows for {family} {lack}",
        )
    return ShopWords(
        f"The catalogue holds no variator for {family}.",
        f"The shop knows no variator for {family}.",
    )


def _roller_words(inputs: Inputs) -> str:
    """Lighter rollers, with the reasoning: their pull goes with mass times speed squared."""
    shift, peak = inputs.givens["shift_rpm"].value, inputs.givens["peak_rpm"].value
    common = "Lighter rollers are the usual companion of a taller drive: "
    if shift >= peak:
        return (
            f"{common}but this variator shifts at {shift:,.0f} rpm, already at or past the "
            f"peak-power {peak:,.0f}, so here they would bring noise and no pull."
        )
    curve = setup_of(inputs, inputs.values).curve
    gain = curve.power_w(curve.peak[0]) / curve.power_w(shift) - 1
    if gain < _WORTH:
        return (
            f"{common}but this variator shifts at {shift:,.0f} rpm, so near the peak-power "
            f"{peak:,.0f} that they would bring under {100 * _WORTH:.0f} % more power."
        )
    share = (shift / peak) ** 2
    return (
        f"{common}the variator shifts at {shift:,.0f} rpm, under the peak-power {peak:,.0f}. "
        f"Rollers of some {100 * share:.0f} % of the present weight (their pull goes with weight "
        f"times rpm squared) would let it shift there, with {100 * gain:.0f} % more power on the "
        "way up. Try in steps; common practice."
    )
