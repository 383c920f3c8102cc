"""A program on a terminal of its own, typed to as a person would: a key when it waits for one."""

from __future__ import annotations

import os
import re
import select
import signal
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import ClassVar

from tests.cli.watched import start_on_a_terminal

PROMPT = re.compile(r"(?:> |\) |: )\Z")
"""What the screen ends with while a key or a line is waited for."""
ANSI = re.compile(r"\x1b\[[0-9;?]*[a-zA-Z]")
WAIT_S = 30.0


class Terminal:
    """One run of fitcheck whose stdin, stdout and stderr are a terminal.

    Attributes:
        shown: all that was printed so far, colours included.
        code: the exit code, once it has ended.
        opened: every one there is.
    """

    opened: ClassVar[list[Terminal]] = []

    def __init__(
        self, *words: str, cwd: Path, columns: int = 80, env: Mapping[str, str] | None = None
    ) -> None:
        given = {"TERM": "xterm", "NO_COLOR": "1", **(env or {})}
        given = {name: value for name, value in given.items() if value}
        self._process, self._master = start_on_a_terminal(
            words, env=given, size=(40, columns), cwd=cwd
        )
        self.opened.append(self)
        self.shown = ""
        self.code: int | None = None
        self._ended = False

    @property
    def text(self) -> str:
        """What was printed, without colours and without states of work that were wiped away."""
        lines = ANSI.sub("", self.shown).replace("\r\n", "\n").split("\n")
        return "\n".join(line.rstrip("\r").rpartition("\r")[2] for line in lines)

    def type(self, keys: Iterable[str]) -> Terminal:
        """Type keys or lines, each when the program waits; then read on to the next prompt."""
        if not self.shown:
            self._read()
        for key in keys:
            assert self.code is None, self.text
            os.write(self._master, key.encode())
            self._read()
        return self

    def kill(self) -> None:
        """End it at once, as a power cut does, unless it has ended."""
        if self._ended:
            return
        os.kill(self._process, signal.SIGKILL)
        self._wait()

    def _wait(self) -> int:
        """Its exit code, once it has ended."""
        self._ended = True
        os.close(self._master)
        return os.waitstatus_to_exitcode(os.waitpid(self._process, 0)[1])

    def _read(self) -> None:
        """Read until it waits for a key, or has ended."""
        start, until = len(self.shown), time.monotonic() + WAIT_S
        while time.monotonic() < until:
            ready, _, _ = select.select([self._master], [], [], 0.05)
            if ready:
                try:
                    data = os.read(self._master, 65536)
                except OSError:
                    data = b""
                if not data:
                    self.code = self._wait()
                    return
                self.shown += data.decode("utf-8", "replace")
            elif len(self.shown) > start and PROMPT.search(self.text):
                return
        raise AssertionError(f"still no prompt: {self.text[-2000:]}")
