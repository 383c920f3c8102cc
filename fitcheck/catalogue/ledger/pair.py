"""A shelf file and its ledger: the names of their files, and both read as of one moment."""

from __future__ import annotations

import hashlib
import json
import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from fitcheck.catalogue.ledger.reading import Ledger, read_ledger
from fitcheck.catalogue.reader import Entry, read_records
from fitcheck.diagnostics.finding import Finding
from fitcheck.model.fields import Record

LEDGER_SUFFIX = ".ledger.jsonl"


def ledger_path(shelf: Path) -> Path:
    """The ledger of a shelf file: `shelf.ledger.jsonl` beside `shelf.yaml`; links are followed."""
    shelf = Path(os.path.realpath(shelf))
    return shelf.with_name(shelf.stem + LEDGER_SUFFIX)


def pending_path(shelf: Path) -> Path:
    """The mark that a move is being written; whoever finds it under the lock sees a crash."""
    shelf = Path(os.path.realpath(shelf))
    return shelf.with_name(f".{shelf.stem}.pending")


@dataclass(frozen=True, slots=True)
class Mark:
    """That a move was being written.

    Attributes:
        seq: number of its first line; 0 where the mark is not whole, so that no line was written.
        shelf: digest of the shelf file before it.
    """

    seq: int
    shelf: str = ""


def digest(data: bytes | None) -> str:
    """A file's bytes in short; empty where there is no file."""
    return "" if data is None else hashlib.sha256(data).hexdigest()


def read_mark(pending: Path) -> Mark | None:
    """The mark that a crash left, or that somebody sets at this very moment; None without one."""
    try:
        text = pending.read_bytes()
    except FileNotFoundError:
        return None
    try:
        held = json.loads(text)
        seq, shelf = held["seq"], held["shelf"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return Mark(0)
    return Mark(seq, shelf) if type(seq) is int and isinstance(shelf, str) else Mark(0)


_TRIES = 50
_PAUSE_S = 0.02
_STALE = 5
"""So many pauses with one and the same mark of a move: it is the mark of a crash."""

T = TypeVar("T")


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
    # The file first: of what it says of its ledger's end no line can be missing then.
    ((entries, findings), ledger), settled = read_settled(
        shelf, lambda: (read_records(shelf), read_ledger(ledger_path(shelf)))
    )
    return ShelfPair(entries, findings, ledger, settled)


def read_settled(shelf: Path, read: Callable[[], T]) -> tuple[T, bool]:
    """Read what belongs together, again while a move is written meanwhile.

    Args:
        shelf: the shelf file.
        read: reads it and its ledger.

    Returns:
        What was read last, and whether no move came between.
    """
    files = (ledger_path(shelf), shelf)
    stale, mark_before = 0, None
    for turn in range(_TRIES):
        if turn:
            time.sleep(_PAUSE_S)
        mark, before = _state(pending_path(shelf)), [_state(path) for path in files]
        found = read()
        quiet = mark is None and _state(pending_path(shelf)) is None
        if quiet and before == [_state(path) for path in files]:
            return found, True
        stale = stale + 1 if mark is not None and mark == mark_before else 0
        mark_before = mark
        if stale >= _STALE:
            break
    return found, False


def _state(path: Path) -> tuple[int, int, int] | None:
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_ino, status.st_size, status.st_mtime_ns
