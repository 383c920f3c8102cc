"""Names of the files beside a shelf file."""

from __future__ import annotations

import json
import os
from pathlib import Path

__all__ = ["LEDGER_SUFFIX", "ledger_path", "marked_seq", "pending_path"]

LEDGER_SUFFIX = ".ledger.jsonl"


def ledger_path(shelf: Path) -> Path:
    """The ledger of a shelf file: `shelf.ledger.jsonl` beside `shelf.yaml`; links are followed."""
    shelf = Path(os.path.realpath(shelf))
    return shelf.with_name(shelf.stem + LEDGER_SUFFIX)


def pending_path(shelf: Path) -> Path:
    """The mark that a move is being written; whoever finds it under the lock sees a crash."""
    shelf = Path(os.path.realpath(shelf))
    return shelf.with_name(f".{shelf.stem}.pending")


def marked_seq(pending: Path) -> int | None:
    """The number that a crash left marked; 0 for a mark that is not whole; None without one."""
    try:
        text = pending.read_bytes()
    except FileNotFoundError:
        return None
    try:
        seq = json.loads(text)["seq"]
    except (ValueError, KeyError, TypeError):
        return 0
    return seq if type(seq) is int else 0
