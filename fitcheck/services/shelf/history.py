"""What was moved, when, why and by whom: the lines of the ledger."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.catalogue.ledger import Ledger, LedgerLine, read_ledger
from fitcheck.catalogue.reader import Catalogue
from fitcheck.diagnostics.finding import Span
from fitcheck.errors import UsageError
from fitcheck.services.shelf.files import shelf_files
from fitcheck.services.shelf.parts import Part, find_part


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One line of a ledger.

    Attributes:
        part: the part.
        line: what the ledger says.
        place: where it stands.
    """

    part: Part
    line: LedgerLine
    place: Span


@dataclass(frozen=True, slots=True)
class History:
    """The answer of `shelf history`.

    Attributes:
        part: the part asked for, or None for all.
        lines: the lines asked for, oldest first.
        all_lines: how many lines of that part there are, or of all.
        ledgers: the ledgers there are.
    """

    part: Part | None
    lines: tuple[HistoryLine, ...]
    all_lines: int
    ledgers: tuple[Ledger, ...]


def history(catalogue: Catalogue, part: str | None = None, last: int | None = None) -> History:
    """The moves of a part, or all of them, oldest first.

    Args:
        catalogue: the catalogue whose shelf it is.
        part: id, part number or alias, also one that only the ledger still knows; None: all.
        last: only so many of the latest lines; None: all.

    Raises:
        UnreadableError: a ledger cannot be read.
        UsageError: there is no such part.
    """
    ledgers = [ledger for f in shelf_files(catalogue) if (ledger := read_ledger(f.ledger)).data]
    asked = None if part is None else _part(catalogue, part, ledgers)
    found = []
    for at, ledger in enumerate(ledgers):
        latest = ""
        for number, line in ledger.lines:
            # A clock set back: within a ledger the lines stay in its order all the same.
            latest = max(latest, line.time)
            if asked is None or line.part == asked.id:
                found.append((latest, at, number, line))
    found.sort(key=lambda each: each[:3])
    kept = found if last is None else found[len(found) - min(last, len(found)) :]
    lines = tuple(
        HistoryLine(
            Part(line.part, catalogue.gear_sets.get(line.part)), line, ledgers[at].span(number)
        )
        for _, at, number, line in kept
    )
    return History(asked, lines, len(found), tuple(ledgers))


def _part(catalogue: Catalogue, name: str, ledgers: list[Ledger]) -> Part:
    try:
        return find_part(catalogue, name)
    except UsageError:
        if any(line.part == name for ledger in ledgers for _, line in ledger.lines):
            return Part(name, None)
        raise
