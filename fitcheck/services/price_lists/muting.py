"""Standard output and error kept for our own words while a library writes to them past Python."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import RLock

STDOUT, STDERR = 1, 2

_ONE_AT_A_TIME = RLock()
"""Two threads that redirect one descriptor would put each other's back."""


@contextmanager
def muted(number: int) -> Iterator[None]:
    """Let nothing reach a file descriptor while the block runs.

    HiGHS prints a line of its own for some problems, whatever it is told; in front of JSON or CSV
    it would spoil them. A panic in a workbook reader's machine code is printed before it comes as
    an exception. What other threads write to the descriptor meanwhile is lost as well, so the block
    must be short.

    Args:
        number: `STDOUT` or `STDERR`.
    """
    with _ONE_AT_A_TIME:
        try:
            (sys.stdout if number == STDOUT else sys.stderr).flush()
            kept = os.dup(number)
        except (OSError, ValueError, AttributeError):  # there is none
            yield
            return
        try:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            try:
                os.dup2(nowhere, number)
            finally:
                os.close(nowhere)
            yield
        finally:
            os.dup2(kept, number)
            os.close(kept)
