"""What is wrong with a catalogue as a whole: every check, and all of them in one call."""

from __future__ import annotations

from fitcheck.catalogue.reader import Catalogue
from fitcheck.catalogue.source import gc_paused
from fitcheck.diagnostics.finding import Finding, Span, sort_key
from fitcheck.rules.checks import (
    distances,
    families,
    geometry,
    ledgers,
    listings,
    machines,
    numbers,
    prices,
    references,
    seats,
    stages,
    tyres,
    values,
)
from fitcheck.rules.checks.walks import Check

__all__ = ["CHECKS", "FOR_ERRORS", "check", "check_for_errors"]

CHECKS: tuple[Check, ...] = (
    references.references,
    families.ambiguous_names,
    families.family_stages,
    families.family_bands,
    families.family_seats,
    families.repeated_trains,
    numbers.repeated_numbers,
    numbers.same_part_twice,
    numbers.repeated_kits,
    stages.set_trains,
    stages.set_stages,
    stages.train_stages,
    listings.listings,
    listings.answered_words,
    listings.stage_words,
    geometry.set_geometry,
    seats.set_seats,
    prices.currencies,
    prices.coins,
    prices.prices,
    prices.costs,
    numbers.retired_sets,
    numbers.successor_cycles,
    numbers.successors_unlike,
    numbers.shelf_stock,
    ledgers.ledgers,
    machines.machine_trains,
    machines.machine_seats,
    tyres.mounted_tyres,
    values.bands_in_percent,
    tyres.tyre_sizes,
    tyres.tyre_roll_outs,
    tyres.tyre_symbols,
    values.engine_figures,
    values.empty_lists,
    values.strange_dates,
)
"""Every check of a whole catalogue; each takes time in proportion to the catalogue."""

FOR_ERRORS: tuple[Check, ...] = (
    references.references,
    families.family_stages,
    families.family_bands,
    families.family_seats,
    numbers.repeated_numbers,
    numbers.repeated_kits,
    stages.set_trains,
    distances.centre_distances,
    numbers.successor_cycles,
    machines.machine_trains,
)
"""The checks that may find an error, but for the ledgers."""


_WITHOUT_LEDGERS = tuple(each for each in CHECKS if each is not ledgers.ledgers)


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
