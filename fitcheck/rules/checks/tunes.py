"""Bands of tunes that are written in another unit."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.catalogue.reader import Catalogue
from fitcheck.diagnostics.finding import Finding
from fitcheck.rules.checks.place import at


def bands_in_percent(catalogue: Catalogue) -> Iterator[Finding]:
    """A band that ends within one percent either way of now was meant as a fraction."""
    for entry in catalogue.tunes.values():
        high = entry.record.high
        if 0 < high < 1 and abs(entry.record.low) < 1:
            percent = f"{(high * 100).normalize():f}"
            yield at(
                entry,
                "FC285",
                ("high",),
                f"the band of {entry.id} ends at {high} percent",
                advice=f"write percent: {percent}, if {high} was meant as a fraction",
                suggestion=percent,
            )
