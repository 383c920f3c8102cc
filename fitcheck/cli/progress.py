"""What is going on, on stderr, when it takes long and somebody watches."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Event, Thread
from typing import TextIO

_PATIENCE_S = 0.5
_EVERY_S = 0.2


class Status:
    """The state of one piece of work, put into one line."""

    def __init__(self, task: str) -> None:
        self.task = task
        self.detail = ""
        self.started = time.monotonic()

    def reading(self, files: int, of: int, records: int) -> None:
        """Take the progress of `catalogue.reader.load`."""
        self.detail = f"file {files + 1} of {of}, {records:,} records"

    def line(self) -> str:
        """Such as `fitcheck: reading the catalogue, file 3 of 32, 4,500 records, 2 s`."""
        seconds = int(time.monotonic() - self.started)
        parts = [f"fitcheck: {self.task}", self.detail, f"{seconds} s" if seconds else ""]
        return ", ".join(part for part in parts if part)


@contextmanager
def working(task: str) -> Iterator[Status]:
    """While the block runs longer than half a second, show its state on a watched stderr."""
    status = Status(task)
    stream = sys.stderr
    if stream is None or not stream.isatty():
        yield status
        return
    done = Event()
    watcher = Thread(target=_watch, args=(stream, status, done), daemon=True)
    watcher.start()
    try:
        yield status
    finally:
        done.set()
        watcher.join()


def _watch(stream: TextIO, status: Status, done: Event) -> None:
    from fitcheck.screens.screen import columns_of

    width = 0
    wait = _PATIENCE_S
    while not done.wait(wait):
        wait = _EVERY_S
        # A line as wide as the terminal would move on to the next.
        line = status.line()[: columns_of(stream) - 1]
        _write(stream, f"\r{line:<{width}}")
        width = len(line)
    if width:
        _write(stream, f"\r{' ' * width}\r")


def _write(stream: TextIO, text: str) -> None:
    with suppress(OSError, ValueError):
        stream.write(text)
        stream.flush()
