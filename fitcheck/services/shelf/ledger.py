"""Writing to the disk so that a crash can be told: the mark, the ledger's end, the folder."""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path

from fitcheck.catalogue.ledger import Ledger, digest
from fitcheck.errors import UsageError


class StandsError(Exception):
    """Lines were written whole, then the disk refused: they stand in the ledger all the same."""


_BINARY = getattr(os, "O_BINARY", 0)


def mark(pending: Path, seq: int, shelf: bytes | None) -> None:
    """Say on the disk that a move is about to be written.

    Args:
        pending: the mark.
        seq: number of the move's first line.
        shelf: the shelf file's bytes before it; None where there is none.

    Raises:
        OSError: the disk refuses.
    """
    _write_whole(pending, json.dumps({"seq": seq, "shelf": digest(shelf)}).encode())
    _sync_folder(pending.parent)


def unmark(pending: Path) -> None:
    """Take the mark away: ledger and shelf file agree."""
    pending.unlink(missing_ok=True)
    _sync_folder(pending.parent)


def append(ledger: Ledger, data: bytes) -> None:
    """Write lines behind the last whole one, all of them and on the disk, or none.

    Args:
        ledger: the ledger as it was read under the lock, without a tail.
        data: whole lines, each with its line break.

    Raises:
        UsageError: the file is not as it was read.
        StandsError: the disk refuses, and the lines that are there cannot be taken back.
        OSError: the disk refuses; what there may be of the lines does not count.
    """
    fresh = not ledger.path.exists()
    descriptor = os.open(ledger.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | _BINARY, 0o666)
    kept = False
    try:
        if fresh:
            _sync_folder(ledger.path.parent)
        start = os.fstat(descriptor).st_size
        if start != len(ledger.data):
            raise UsageError(
                f"{ledger.shown}: the ledger has changed since it was read; nothing was moved; try "
                "again"
            )
        left = memoryview(b"\n" + data if ledger.needs_break else data)
        try:
            while left:
                left = left[os.write(descriptor, left) :]
            os.fsync(descriptor)
            kept = True
        except OSError as error:
            # Nobody was told of the move yet, so what there is of it may go again.
            try:
                os.ftruncate(descriptor, start)
            except OSError:
                kept = True
                if not left:
                    raise StandsError(error.strerror or str(error)) from error
            with contextlib.suppress(OSError):
                os.fsync(descriptor)
            raise
    finally:
        os.close(descriptor)
        if fresh and not kept:
            with contextlib.suppress(OSError):
                ledger.path.unlink()  # an empty one would look like a history that was lost


def cut_tail(ledger: Ledger) -> None:
    """Take off what a crash left behind the last whole move.

    Raises:
        OSError: the disk refuses.
    """
    descriptor = os.open(ledger.path, os.O_WRONLY | _BINARY)
    try:
        os.ftruncate(descriptor, ledger.whole)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _write_whole(path: Path, data: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _BINARY, 0o666)
    try:
        os.write(descriptor, data)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return  # folders cannot be opened there
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
