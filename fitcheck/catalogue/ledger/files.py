"""Names of the files beside a shelf file."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path

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
