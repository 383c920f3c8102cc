"""Where the ledger ended when the shelf file was written: proof that no line of it is missing.

The shelf file carries it at its top, `ledger: {line: 66, sum: "..."}`. A ledger only grows and its
line comes before the file, so the line of that number must be there, with that check sum.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from fitcheck.catalogue.ledger.line import MAX_LINE_BYTES, LedgerLine, LineError, read_line
from fitcheck.catalogue.ledger.pair import ledger_path
from fitcheck.catalogue.ledger.reading import Ledger
from fitcheck.catalogue.nodes import MapNode
from fitcheck.catalogue.shape import LEDGER_KEY
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import Span

_SUM = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class LedgerEnd:
    """The last line of a ledger.

    Attributes:
        line: its number, from 1.
        sum: its check sum.
    """

    line: int
    sum: str

    @classmethod
    def behind(cls, line: LedgerLine) -> LedgerEnd:
        """The end of a ledger whose last line that is."""
        return cls(line.seq, line.sum)

    def data(self) -> dict[str, int | str]:
        """As the shelf file holds it."""
        return {"line": self.line, "sum": self.sum}


def end_of(source: Source) -> LedgerEnd | None:
    """What a shelf file says of its ledger's end; None where it says nothing, or nothing valid."""
    if not isinstance(source.root, MapNode) or LEDGER_KEY not in source.root.entries:
        return None
    held = source.root.entries[LEDGER_KEY][1].value
    if not isinstance(held, dict) or set(held) != {"line", "sum"}:
        return None
    line, total = held["line"], held["sum"]
    if type(line) is not int or line < 1 or not isinstance(total, str) or not _SUM.fullmatch(total):
        return None
    return LedgerEnd(line, total)


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
