"""Dates that lie in the future: no list, entry or rule of law comes from there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.model.gear_set import GearSet
from fitcheck.model.variator_kit import VariatorKit
from fitcheck.rules.checks.place import at

__all__ = ["future_dates", "today"]

_EARLIEST = dt.date(2026, 12, 1)
"""A clock before this day is wrong, since the check was written then."""


def today() -> dt.date:
    """The last day that is today anywhere, by a clock that was not set back."""
    clock = dt.datetime.now(dt.UTC) + dt.timedelta(hours=14)
    return max(clock.date(), _EARLIEST)


def future_dates(catalogue: Catalogue) -> Iterator[Finding]:
    """The date of the source of a set or a variator kit, and of a vehicle class."""
    now = today()
    sold: list[Entry[GearSet] | Entry[VariatorKit]] = [*catalogue.gear_sets.values()]
    sold.extend(catalogue.variators.values())
    for entry in sold:
        date = entry.record.source.date
        if date is not None and date > now:
            yield _future(entry, ("source", "date"), date)
    for class_ in catalogue.vehicle_classes.values():
        if class_.record.date > now:
            yield _future(class_, ("date",), class_.record.date)


def _future(entry: Entry[Any], steps: DocumentPath, date: dt.date) -> Finding:
    return at(
        entry,
        "FC286",
        steps,
        f"{date} has not come yet",
        advice="correct it; no fault where a list bears the day on which it comes into force",
    )
