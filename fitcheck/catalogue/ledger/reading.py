"""A ledger file: its lines, what is wrong with it, and what a crash left at its end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Literal

from fitcheck.catalogue.ledger.line import (
    FIRST_SUM,
    LedgerLine,
    LineError,
    read_line,
)
from fitcheck.catalogue.ledger.state import Held, StateError, after
from fitcheck.catalogue.source import Source, gc_paused
from fitcheck.diagnostics.finding import Span, shown_path
from fitcheck.errors import UnreadableError, reason_of

MAX_LEDGER_BYTES = 256 * 1024 * 1024

_MOST_FAULTS = 100
_MOST_POINTED_AT = 60

_TURN_BACK = (
    "save the ledger with line ends LF, nothing else changed; in git the line *.ledger.jsonl -text "
    "of .gitattributes keeps them so"
)

FaultKind = Literal["unreadable", "chain", "torn"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a ledger.

    Attributes:
        kind: `unreadable`, an invalid line; `chain`, one that does not follow on the line
            before; `torn`, what a crash left at the end.
        line: its number, from 1.
        length: code points at its beginning that show it.
        message: what is wrong, one sentence without a full stop.
        part: the part it speaks of, where that can be read.
        help: what to do, where that is another thing than for most of its kind.
    """

    kind: FaultKind
    line: int
    length: int
    message: str
    part: str | None = None
    help: str | None = None


@dataclass(frozen=True, eq=False)
class Ledger:
    """A ledger as it was read.

    Attributes:
        path: the file; it may not be there.
        shown: its path as shown to people.
        data: its bytes.
        lines: the lines of whole moves, each with its number in the file.
        state: what they add up to, by part.
        faults: by line.
        whole: bytes up to the end of the last whole move.
        tail: lines and bytes behind it, which count for nothing.
        needs_break: whether the last whole line lacks its line break.
    """

    path: Path
    shown: str
    data: bytes = b""
    lines: tuple[tuple[int, LedgerLine], ...] = ()
    state: Mapping[str, Held] = field(default_factory=lambda: MappingProxyType({}))
    faults: tuple[Fault, ...] = ()
    whole: int = 0
    tail: tuple[bytes, ...] = ()
    needs_break: bool = False

    @property
    def moves(self) -> tuple[LedgerLine, ...]:
        """The lines by themselves."""
        return tuple(line for _, line in self.lines)

    @property
    def broken(self) -> tuple[Fault, ...]:
        """Faults that nothing may be written behind."""
        return tuple(fault for fault in self.faults if fault.kind != "torn")

    @property
    def last_sum(self) -> str:
        """Check sum of the last whole line."""
        return self.lines[-1][1].sum if self.lines else FIRST_SUM

    @property
    def next_seq(self) -> int:
        """Number of the next line to be written."""
        return self.lines[-1][1].seq + 1 if self.lines else 1

    def line_of(self, part: str) -> int | None:
        """Number in the file of the last line of a part, or None."""
        for number, line in reversed(self.lines):
            if line.part == part:
                return number
        return None

    def span(self, number: int) -> Span:
        """Where a line of the file stands: its beginning, since lines are long."""
        return Span(
            self.shown,
            line=number,
            column=1,
            end_line=number,
            end_column=_length(self.source.line(number)) + 1,
        )

    @cached_property
    def source(self) -> Source:
        """The file's text, for those who show lines of it."""
        return Source(self.shown, self.data.decode("utf-8", errors="replace"))


def read_ledger(path: Path) -> Ledger:
    """Read a ledger; one that is not there is empty.

    Raises:
        UnreadableError: it is there and cannot be read, or is larger than 256 MiB.
    """
    name = shown_path(path)
    try:
        with path.open("rb") as stream:
            data = stream.read(MAX_LEDGER_BYTES + 1)
    except FileNotFoundError:
        return Ledger(path, name)
    except OSError as error:
        raise UnreadableError(f"{name}: the ledger cannot be read ({reason_of(error)})") from None
    if len(data) > MAX_LEDGER_BYTES:
        raise UnreadableError(
            f"{name}: the ledger is larger than {MAX_LEDGER_BYTES // 1024**2} MiB; move it to a "
            "name that begins with _, and the next move opens a new one"
        )
    with gc_paused():
        return _Reading(path, name, data).ledger()


class _Reading:
    """One pass over the lines."""

    def __init__(self, path: Path, name: str, data: bytes) -> None:
        self.path, self.name, self.data = path, name, data
        self.lines: list[tuple[int, LedgerLine]] = []
        self.state: dict[str, Held] = {}
        self.faults: list[Fault] = []
        self.whole = 0
        self.kept = 0
        self.undo: list[tuple[str, Held | None]] = []
        self.sum: str | None = FIRST_SUM
        """Of the line before; None: not known."""
        self.seq = 0
        self.waiting = 0
        """Lines that the move begun still lacks."""
        self.sure: set[str] | None = None
        """Behind a fault: parts of which a line was seen since; of others a change may be lost."""

    def ledger(self) -> Ledger:
        texts = self.data.split(b"\n")
        last = texts.pop()
        at = 0
        self._line_ends(texts)
        for number, text in enumerate(texts, start=1):
            at += len(text) + 1
            self._take(number, text.removesuffix(b"\r"), at)
        needs_break = False
        if last:
            needs_break = self._last(len(texts) + 1, last)
        tail = self._tail()
        return Ledger(
            self.path,
            self.name,
            self.data,
            lines=tuple(self.lines),
            state=MappingProxyType(self.state),
            faults=tuple(self.faults),
            whole=self.whole,
            tail=tail,
            needs_break=needs_break and not tail,
        )

    def _line_ends(self, texts: list[bytes]) -> None:
        """Report once the line ends that an editor or git has turned; no line is lost by them."""
        turned = [number for number, text in enumerate(texts, start=1) if text.endswith(b"\r")]
        if not turned:
            return
        lines = "all lines end" if len(turned) == len(texts) else f"{len(turned):,} lines end"
        if len(turned) == 1 < len(texts):
            lines = "the line ends"
        first = texts[turned[0] - 1].decode("utf-8", errors="replace")
        told = f"{lines} in CR LF, those of a ledger in LF alone: an editor or git turned them"
        self.faults.append(Fault("unreadable", turned[0], _length(first), told, help=_TURN_BACK))

    def _take(self, number: int, text: bytes, end: int) -> None:
        try:
            line, holds = read_line(text, self.sum or FIRST_SUM)
        except LineError as error:
            self._fault("unreadable", number, text, str(error))
            # Whatever the line said, those behind it are judged among themselves.
            self.sum, self.seq = None, self.seq + 1
            self._settle(end)
            return
        told = None
        if not holds and self.sum is not None:
            told = "the check sum is not that of this line behind the one before it"
        elif line.seq != self.seq + 1:
            told = f"the line has number {line.seq}; {self.seq + 1} should follow"
        elif self.waiting and line.more != self.waiting - 1:
            told = "the line is not the next one of the move before it"
        self._put(line, number, text, told)
        self.sum, self.seq, self.waiting = line.sum, line.seq, line.more
        if not self.waiting:
            self._settle(end)

    def _put(self, line: LedgerLine, number: int, text: bytes, told: str | None) -> None:
        before = self.state.get(line.part)
        try:
            now = after(before, line)
        except StateError as error:
            if self.sure is None or line.part in self.sure:
                told = told or str(error)
            now = replace(before or Held(0), quantity=line.quantity_after)
        if told is not None:
            self._fault("chain", number, text, told, line.part)
        if self.sure is not None:
            self.sure.add(line.part)
        self.undo.append((line.part, before))
        if now is None:
            self.state.pop(line.part, None)
        else:
            self.state[line.part] = now
        self.lines.append((number, line))

    def _settle(self, end: int) -> None:
        """What was read so far is whole."""
        self.whole, self.kept = end, len(self.lines)
        self.undo.clear()
        self.waiting = 0

    def _last(self, number: int, text: bytes) -> bool:
        """Take a last line that has no line break; returns whether it is whole for all that."""
        try:
            line, holds = read_line(text, self.sum or FIRST_SUM)
        except LineError:
            return False
        if not holds or line.seq != self.seq + 1 or line.more:
            return False
        self._take(number, text, len(self.data))
        return True

    def _tail(self) -> tuple[bytes, ...]:
        """Take back what stands behind the last whole move, and report it."""
        left = self.data[self.whole :]
        if not left:
            return ()
        lines = tuple(each for each in left.split(b"\n") if each)
        first = self.data[: self.whole].count(b"\n") + 1
        if len(self.lines) > self.kept:
            told = "the last move is not whole: lines of it are missing at the end of the file"
        else:
            told = "the last line is not whole"
        for part, before in reversed(self.undo):
            if before is None:
                self.state.pop(part, None)
            else:
                self.state[part] = before
        del self.lines[self.kept :]
        self._fault("torn", first, lines[0] if lines else b"", told)
        return lines or (left,)

    def _fault(
        self, kind: FaultKind, number: int, text: bytes, told: str, part: str | None = None
    ) -> None:
        self.sure = set()
        if len(self.faults) < _MOST_FAULTS:
            length = _length(text.decode("utf-8", errors="replace"))
            self.faults.append(Fault(kind, number, length, told, part=part))


def _length(text: str) -> int:
    """How much of a line to point at: its number, or the first words of what is no line."""
    head = text.partition(",")[0]
    return min(len(head), _MOST_POINTED_AT)
