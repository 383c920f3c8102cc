"""Times of a ledger's lines: UTC in the file, the machine's own zone where a person reads them."""

from __future__ import annotations

import datetime as dt
from contextlib import suppress

SLACK = dt.timedelta(minutes=10)
"""So far the clocks of two tills may differ, and nobody is told."""

_FORM = "%Y-%m-%dT%H:%M:%SZ"


def utc_now(ahead: dt.timedelta = dt.timedelta()) -> str:
    """The time as the ledger writes it, UTC with seconds; or that of a moment later."""
    return (dt.datetime.now(dt.UTC) + ahead).strftime(_FORM)


def is_behind(time: str, before: str) -> bool:
    """Whether a line's time is earlier than one before it, by more than clocks differ.

    Args:
        time: of the line, as the ledger writes it.
        before: of the line before.
    """
    return time < before and _moment(before) - _moment(time) > SLACK


def local_time(time: str) -> tuple[str, str]:
    """A time of a ledger for people, in this machine's zone, and the zone.

    Args:
        time: as the ledger writes it.

    Returns:
        Such as `2026-11-25 15:03:09` and `UTC+01:00`.
    """
    moment = _moment(time)
    # Some systems' tables do not have every year.
    with suppress(OSError, OverflowError, ValueError):
        moment = moment.astimezone()
    minutes = int((moment.utcoffset() or dt.timedelta()).total_seconds()) // 60
    hours, rest = divmod(abs(minutes), 60)
    zone = f"UTC{'-' if minutes < 0 else '+'}{hours:02}:{rest:02}" if minutes else "UTC"
    return moment.replace(tzinfo=None).isoformat(" "), zone


def local_words(time: str) -> str:
    """A time of a ledger for people: `2026-11-25 15:03:09 (UTC+01:00)`."""
    text, zone = local_time(time)
    return f"{text} ({zone})"


def _moment(time: str) -> dt.datetime:
    return dt.datetime.fromisoformat(time)
