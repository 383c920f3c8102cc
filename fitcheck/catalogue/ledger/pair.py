"""A shelf file and its ledger: the names of their files, and both read as of one moment.

The shelf file says at its top where its ledger ended when it was written, `ledger: {line: 66, sum:
"..."}`: proof that no line of it is missing. A ledger only grows and its line comes before the
file, so the line of that number must be there, with that check sum.
"""

from __future__ import annotations

import hashlib
import json
import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from fitcheck.catalogue.ledger.line import MAX_LINE_BYTES, LedgerLine, LineError, read_line
from fitcheck.catalogue.ledger.reading import Ledger, read_ledger
from fitcheck.catalogue.reader import Entry, read_records
from fitcheck.catalogue.shape import LEDGER_KEY
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import Finding, Span
from fitcheck.model.fields import Record
from fitcheck.model.trade import LedgerEnd

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


def end_behind(line: LedgerLine) -> LedgerEnd:
    """The end of a ledger whose last line that is."""
    return LedgerEnd(line=line.seq, sum=line.sum)


def end_of(source: Source) -> LedgerEnd | None:
    """What a shelf file says of its ledger's end; None where it says nothing, or nothing valid."""
    node = source.node((LEDGER_KEY,))
    if node is None:
        return None
    try:
        return LedgerEnd.model_validate(node.value)
    except ValidationError:
        return None


def end_span(source: Source) -> Span:
    """Where a shelf file says it."""
    return source.span((LEDGER_KEY,), key=True)


def missing_from(source: Source, ledger: Ledger, shelf: Path) -> str | None:
    """What of a ledger is missing by what its shelf file says: a clause that goes on from its name.

    Args:
        source: the shelf file, as it was read.
        ledger: the ledger, read after it, without broken lines.
        shelf: the shelf file; a ledger set aside beside it is not missing.
    """
    end = end_of(source)
    told = None if end is None else _missing_words(end, ledger)
    if end is None or told is None or (not ledger.data and find_set_aside(end, shelf) is not None):
        return None
    return told


def find_set_aside(end: LedgerEnd, shelf: Path) -> Path | None:
    """The ledger with that end beside the shelf file under a name that begins with _, or None.

    That is how a year is closed; then nothing is missing.
    """
    folder = ledger_path(shelf).parent
    aside = (path for path in sorted(folder.glob("_*")) if path.is_file() and _ends_so(path, end))
    return next(aside, None)


def _missing_words(end: LedgerEnd, ledger: Ledger) -> str | None:
    written = f"the shelf file was written behind line {end.line:,}"
    if not ledger.lines:
        there = "has not one whole line" if ledger.data else "is empty"
        if not ledger.path.exists():
            there = "is not there"
        return f"{there}, but {written}"
    last = ledger.lines[-1][1]
    if last.seq < end.line:
        return f"ends at line {last.seq:,}, but {written}"
    if ledger.lines[end.line - 1][1].sum != end.sum:
        return f"is another one: {written}, which had another check sum"
    return None


def _ends_so(path: Path, end: LedgerEnd) -> bool:
    try:
        with path.open("rb") as stream:
            size = stream.seek(0, 2)
            stream.seek(max(0, size - MAX_LINE_BYTES - 2))
            last = stream.read().rstrip(b"\r\n").rpartition(b"\n")[2]
        line, _ = read_line(last, "")
    except (OSError, LineError):
        return False
    return (line.seq, line.sum) == (end.line, end.sum)
