"""The gaps of the shelf on screen, by family."""

from __future__ import annotations

from collections.abc import Mapping

from fitcheck.screens.screen import Screen
from fitcheck.screens.shelf.words import (
    STATE_STYLES,
    counted,
    kit_words,
    law_words,
    machine_words,
    serve_words,
    unjudged_words,
)
from fitcheck.services.shelf.gaps import FamilyGaps, Gap, Gaps, State

_MACHINE, _KIT = "  ", "    "


def print_gaps(out: Screen, found: Gaps, top: int | None) -> None:
    """Print every gap with what would close it.

    Args:
        out: where.
        found: the answer.
        top: at most so many ways to close each; None for all.
    """
    demands = found.demands
    out.paragraph(f"Gaps of the shelf: {counted(len(demands.judged), demands)}", style="bold")
    if demands.judged:
        out.paragraph(_counts_words(found.counts), _MACHINE)
    out.paragraph(serve_words(demands, lawful=found.lawful), style="dim")
    for family in found.families:
        out.line()
        _print_family(out, found, family, top)
    if demands.unjudged:
        out.line()
        out.paragraph("Not judged", style="bold")
        for words in unjudged_words(demands):
            out.paragraph(words, _MACHINE, _KIT)


def _counts_words(counts: Mapping[State, int]) -> str:
    return ", ".join(f"{state.value} {number:,}" for state, number in counts.items() if number)


def _print_family(out: Screen, found: Gaps, family: FamilyGaps, top: int | None) -> None:
    record = family.family.record
    number = counted(len(family.machines), found.demands)
    name = f"{record.name} ({family.family.id})"
    out.headed(name, f": {number}, {_counts_words(family.counts)}", "", "")
    for gap in family.gaps:
        _print_gap(out, gap, top)


def _print_gap(out: Screen, gap: Gap, top: int | None) -> None:
    supply = gap.supply
    notes = []
    if supply.unproven:
        notes.append(f"{supply.unproven} of unproven fit on the shelf")
    if supply.law is not None and (law := law_words(supply.law)):
        notes.append(law)
    words = f"{machine_words(supply.demand)}: {gap.state.value}"
    told = "; ".join([words, *notes]).removeprefix(supply.demand.id)
    out.headed(supply.demand.id, told, _MACHINE, _KIT, STATE_STYLES[gap.state])
    shown = gap.closers[:top]
    for kit in shown:
        out.paragraph(kit_words(kit), _KIT, _KIT + "  ")
    rest = len(gap.closers) - len(shown)
    if rest:
        out.paragraph(f"and {rest:,} way{'s' * (rest != 1)} more: --top 0 shows all", _KIT)
    for number, words in (
        (supply.unclear_kits, "of which nobody can say whether lawful"),
        (supply.over_kits, "but over its class"),
    ):
        if number:
            out.paragraph(f"{number:,} way{'s' * (number != 1)} on sale, {words}", _KIT)
    if not (gap.closers or supply.unclear_kits or supply.over_kits):
        out.paragraph("nothing on sale closes it", _KIT, style="dim")
