"""Dates in the future, or long before any list, entry or rule of law on file."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.model.gear_set import GearSet
from fitcheck.model.trade import VariatorKit
from fitcheck.rules.checks.place import at

_EARLIEST = dt.date(2026, 12, 1)
"""A clock before this day is wrong, since the check was written then."""

_LONG_PAST = dt.date(1950, 1, 1)
"""Nothing in a catalogue of small scooters is older than this day (judgement)."""


def today() -> dt.date:
    """The last day that is today anywhere, by a clock that was not set back."""
    clock = dt.datetime.now(dt.UTC) + dt.timedelta(hours=14)
    return max(clock.date(), _EARLIEST)


def strange_dates(catalogue: Catalogue) -> Iterator[Finding]:
    """The date of the source of a set or a variator kit, and of a vehicle class."""
    now = today()
    sold: list[Entry[GearSet] | Entry[VariatorKit]] = [*catalogue.gear_sets.values()]
    sold.extend(catalogue.variators.values())
    for entry in sold:
        if entry.record.source.date is not None:
            yield from _strange(entry, ("source", "date"), entry.record.source.date, now)
    for class_ in catalogue.vehicle_classes.values():
        yield from _strange(class_, ("date",), class_.record.date, now)


def _strange(
    entry: Entry[Any], steps: DocumentPath, date: dt.date, now: dt.date
) -> Iterator[Finding]:
    if date > now:
        yield at(
            entry,
            "FC286",
            steps,
            f"{date} has not come yet",
            advice="correct it; no fault where a list bears the day on which it comes into force",
        )
    elif date < _LONG_PAST:
        yield at(
            entry,
            "FC218",
            steps,
            f"{date} is long before anything in a catalogue of scooters",
            advice="correct the year",
        )
