"""What is wrong with a catalogue as a whole: every check, and all of them in one call."""

from __future__ import annotations

from fitcheck.catalogue.reader import Catalogue
from fitcheck.catalogue.source import gc_paused
from fitcheck.diagnostics.finding import Finding, Span, sort_key
from fitcheck.rules.checks.distances import centre_distances
from fitcheck.rules.checks.families import (
    ambiguous_names,
    family_bands,
    family_seats,
    family_stages,
    repeated_trains,
)
from fitcheck.rules.checks.geometry import set_geometry
from fitcheck.rules.checks.ledgers import ledgers
from fitcheck.rules.checks.listings import answered_words, listings, stage_words
from fitcheck.rules.checks.machines import (
    machine_seats,
    machine_trains,
)
from fitcheck.rules.checks.numbers import (
    repeated_kits,
    repeated_numbers,
    retired_sets,
    same_part_twice,
    shelf_stock,
    successor_cycles,
    successors_unlike,
)
from fitcheck.rules.checks.prices import coins, costs, currencies, prices
from fitcheck.rules.checks.references import references
from fitcheck.rules.checks.seats import set_seats
from fitcheck.rules.checks.stages import set_stages, set_trains, train_stages
from fitcheck.rules.checks.tyres import mounted_tyres, tyre_roll_outs, tyre_sizes, tyre_symbols
from fitcheck.rules.checks.values import (
    bands_in_percent,
    empty_lists,
    engine_figures,
    strange_dates,
)
from fitcheck.rules.checks.walks import Check

__all__ = ["CHECKS", "FOR_ERRORS", "check", "check_for_errors"]

CHECKS: tuple[Check, ...] = (
    references,
    ambiguous_names,
    family_stages,
    family_bands,
    family_seats,
    repeated_trains,
    repeated_numbers,
    same_part_twice,
    repeated_kits,
    set_trains,
    set_stages,
    train_stages,
    listings,
    answered_words,
    stage_words,
    set_geometry,
    set_seats,
    currencies,
    coins,
    prices,
    costs,
    retired_sets,
    successor_cycles,
    successors_unlike,
    shelf_stock,
    ledgers,
    machine_trains,
    machine_seats,
    mounted_tyres,
    bands_in_percent,
    tyre_sizes,
    tyre_roll_outs,
    tyre_symbols,
    engine_figures,
    empty_lists,
    strange_dates,
)
"""Every check of a whole catalogue; each takes time in proportion to the catalogue."""

FOR_ERRORS: tuple[Check, ...] = (
    references,
    family_stages,
    family_bands,
    family_seats,
    repeated_numbers,
    repeated_kits,
    set_trains,
    centre_distances,
    successor_cycles,
    machine_trains,
)
"""The checks that may find an error, but for the ledgers."""


_WITHOUT_LEDGERS = tuple(each for each in CHECKS if each is not ledgers)


def check(catalogue: Catalogue, *, with_ledgers: bool = True) -> list[Finding]:
    """Everything that is wrong with a catalogue, what its reading found included.

    A record that was refused is reported once: what refers to it is not blamed as well. Nor is a
    value given once for a whole file, under `defaults`, reported at every record.

    Args:
        catalogue: the catalogue.
        with_ledgers: whether to read the ledgers of the shelf too, which may be long.

    Returns:
        The findings by file, line and column.
    """
    return _findings(catalogue, CHECKS if with_ledgers else _WITHOUT_LEDGERS)


def check_for_errors(catalogue: Catalogue) -> list[Finding]:
    """The errors of a catalogue, but for those of the ledgers of its shelf, which may be long."""
    return [each for each in _findings(catalogue, FOR_ERRORS) if each.severity == "error"]


def _findings(catalogue: Catalogue, checks: tuple[Check, ...]) -> list[Finding]:
    found = list(catalogue.findings)
    seen: set[tuple[str, Span, str]] = set()
    # A large catalogue's nodes are many, and the collector would walk them all again and again.
    with gc_paused():
        for each in checks:
            for finding in each(catalogue):
                mark = (finding.code, finding.span, finding.message)
                if mark not in seen:
                    seen.add(mark)
                    found.append(finding)
    return sorted(found, key=sort_key)
