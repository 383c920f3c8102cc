"""Programs run on a terminal that somebody watches, and perhaps answers on."""

from __future__ import annotations

import os
import select
import struct
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pytest

from fitcheck.cli import main
from tests.cli.conftest import KEPT, ROOT

__all__ = ["on_a_terminal", "run_on_streams", "start_on_a_terminal"]


def start_on_a_terminal(
    words: Sequence[str],
    *,
    env: Mapping[str, str],
    size: tuple[int, int],
    cwd: Path,
    prepare: Callable[[], object] = lambda: None,
) -> tuple[int, int]:
    """Start fitcheck on a terminal of its own, in a process that parts from this one.

    It starts with all modules that this one has, which spares a second each time.

    Args:
        words: what follows `fitcheck`.
        env: beside the search paths.
        size: the terminal's rows and columns.
        cwd: the working folder.
        prepare: what the process does first.

    Returns:
        The process, and this end of its terminal.
    """
    pty = pytest.importorskip("pty")
    import fcntl
    import termios

    pid, master = pty.fork()
    if pid == 0:  # pragma: no cover - the child
        try:
            given = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), **env}
            os.chdir(cwd)
            # The size is set from this end too, lest the program be quicker than the parent.
            fcntl.ioctl(1, termios.TIOCSWINSZ, struct.pack("HHHH", *size, 0, 0))
            os.environ.clear()
            os.environ.update(given)
            KEPT.clear()  # who watches wants to see it read
            prepare()
            os._exit(run_on_streams(words))
        finally:
            os._exit(99)
    return pid, master


def on_a_terminal(
    words: Sequence[str],
    *,
    answers: Sequence[tuple[str, str]] = (),
    env: Mapping[str, str] | None = None,
    columns: int = 90,
    cwd: Path = ROOT,
    prepare: Callable[[], object] = lambda: None,
) -> tuple[int, str]:
    """Run fitcheck on a terminal to its end; see `start_on_a_terminal`.

    Args:
        words: what follows `fitcheck`.
        answers: a question and what is typed once it stands there, in order; all must be asked.
        env: beside the search paths; left out: a terminal of 256 colours.
        columns: its width.
        cwd: the working folder.
        prepare: what the process does first.

    Returns:
        The exit code, and all that the terminal was sent, both streams together.
    """
    given = {"TERM": "xterm-256color", **(env or {})}
    pid, master = start_on_a_terminal(
        words, env=given, size=(24, columns), cwd=cwd, prepare=prepare
    )
    sent, seen, left = b"", 0, list(answers)
    until = time.monotonic() + 60
    while time.monotonic() < until:
        if select.select([master], [], [], 0.2)[0]:
            try:
                piece = os.read(master, 65536)
            except OSError:  # the other end has gone
                break
            if not piece:
                break
            sent += piece
        if left and left[0][0].encode() in sent[seen:]:
            seen = len(sent)
            os.write(master, left.pop(0)[1].encode() + b"\n")
    os.close(master)
    _, status = os.waitpid(pid, 0)
    assert left == [], sent.decode()
    return os.waitstatus_to_exitcode(status), sent.decode("utf-8").replace("\r\n", "\n")


def run_on_streams(words: Sequence[str]) -> int:
    """Run the command line with the streams that this process now has; its exit code."""
    sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w")
    try:
        main(words)
    except SystemExit as stop:
        sys.stdout.flush()  # as Python does at its end
        sys.stderr.flush()
        return stop.code if isinstance(stop.code, int) else 98
    return 97
