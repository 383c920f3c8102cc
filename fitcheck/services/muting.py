"""Standard output kept for the answer while a library prints to it past Python."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["stdout_closed"]

_STDOUT = 1


@contextmanager
def stdout_closed() -> Iterator[None]:
    """Let nothing reach standard output while the block runs.

    HiGHS prints a line of its own for some problems, whatever it is told; in front of JSON or CSV
    it would spoil them.
    """
    try:
        sys.stdout.flush()
        kept = os.dup(_STDOUT)
    except (OSError, ValueError, AttributeError):  # there is none
        yield
        return
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, _STDOUT)
        finally:
            os.close(nowhere)
        yield
    finally:
        os.dup2(kept, _STDOUT)
        os.close(kept)
