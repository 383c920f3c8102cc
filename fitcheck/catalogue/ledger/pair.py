"""Ledger and shelf file of one moment, read without the lock while others may move."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path

from fitcheck.catalogue.ledger.files import ledger_path, pending_path
from fitcheck.catalogue.ledger.reading import Ledger, read_ledger
from fitcheck.catalogue.reader import Entry, read_records
from fitcheck.diagnostics.finding import Finding
from fitcheck.model.fields import Record

__all__ = ["ShelfPair", "read_pair"]

_TRIES = 20
_PAUSE_S = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class ShelfPair:
    """A shelf file and its ledger.

    Attributes:
        entries: the valid records of the file.
        findings: what is wrong with the rest.
        ledger: its ledger.
        settled: whether both are of one moment; else a move is being written, or was broken off.
    """

    entries: tuple[Entry[Record], ...]
    findings: tuple[Finding, ...]
    ledger: Ledger
    settled: bool


def read_pair(shelf: Path) -> ShelfPair:
    """Read a shelf file and its ledger, again while somebody moves between the two readings.

    Raises:
        UnreadableError: one of them cannot be read.
    """
    pending, beside = pending_path(shelf), ledger_path(shelf)
    for turn in range(_TRIES):
        if turn:
            time.sleep(_PAUSE_S)
        before = pending.exists()
        ledger = read_ledger(beside)
        entries, findings = read_records(shelf)
        moved = before or pending.exists() or _size(beside) != len(ledger.data)
        if not moved:
            return ShelfPair(entries, findings, ledger, True)
    return ShelfPair(entries, findings, ledger, False)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0
