"""The shelf ready for a move: what its file says, and its ledger."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fitcheck.catalogue.editing import Draft, new_file, open_draft
from fitcheck.catalogue.ledger import (
    Difference,
    Held,
    Ledger,
    Mark,
    differences,
    held_of,
    read_ledger,
    read_mark,
    read_settled,
)
from fitcheck.catalogue.reader import read_records
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.model.trade import ShelfEntry
from fitcheck.services.shelf.files import ShelfFile

__all__ = ["OpenShelf", "lost_words", "peek", "read_shelf", "read_sound_ledger"]

_TRIES = 5


@dataclass(slots=True)
class OpenShelf:
    """A shelf that nobody else can move while it is open.

    Attributes:
        file: where it is.
        ledger: its ledger; without lines where no move was made yet.
        draft: the shelf file, to be edited.
        shelf: what the shelf file says, by part.
        remarks: what was set right on opening it, a sentence each.
    """

    file: ShelfFile
    ledger: Ledger
    draft: Draft
    shelf: Mapping[str, Held]
    remarks: list[str] = field(default_factory=list)

    @property
    def held(self) -> Mapping[str, Held]:
        """What the ledger says; the file, where there is no ledger yet."""
        return self.ledger.state if self.ledger.lines else self.shelf

    @property
    def differences(self) -> tuple[Difference, ...]:
        """Where the file was changed since by hand."""
        return differences(self.held, self.shelf)


def read_shelf(file: ShelfFile) -> tuple[Draft, dict[str, Held]]:
    """The shelf file as a draft and what it says, both of one reading.

    Raises:
        UnreadableError: it cannot be read, or changes all the time.
        UsageError: it has an error.
    """
    if not file.path.exists():
        comment = "What lies on the shelf. The key is the gear set's id."
        return new_file(file.path, "shelf", comment=comment), {}
    for _ in range(_TRIES):
        entries, findings = read_records(file.path)
        for finding in findings:
            if finding.severity == "error":
                raise UsageError(
                    f"{finding.span}: {finding.message}; nothing is moved before that is mended"
                )
        draft = open_draft(file.path)
        if not entries or entries[0].source.text == draft.text:
            held = {e.id: held_of(e.record) for e in entries if isinstance(e.record, ShelfEntry)}
            return draft, held
    raise UnreadableError(f"{file.shown}: the file changes while it is read; try again")


def peek(file: ShelfFile) -> OpenShelf:
    """The shelf as it is now, without its lock and with nothing set right; not to be written.

    Raises:
        UnreadableError: a file cannot be read.
        UsageError: the ledger is broken, or the shelf file has an error.
    """
    (ledger, (draft, shelf)), settled = read_settled(
        file.path, lambda: (read_sound_ledger(file), read_shelf(file))
    )
    remarks = lost_words(ledger, read_mark(file.pending), len(shelf))
    if not settled:
        remarks.append(
            f"{file.shown}: a move is being written, or was broken off; the figures may be those "
            "before it"
        )
    return OpenShelf(file, ledger, draft, shelf, remarks)


def lost_words(ledger: Ledger, mark: Mark | None, entries: int) -> list[str]:
    """A sentence where lines of the ledger are gone, as far as that can be told; else none.

    A crash, or a disk that refuses, leaves an empty ledger only beside the mark of a first move.

    Args:
        ledger: as it was read.
        mark: of a move that was broken off.
        entries: how many the shelf file has.
    """
    stood = -1 if mark is None else mark.seq - 1
    copy = "bring the ledger back from a copy if there is one"
    if ledger.lines:
        gone = stood - ledger.lines[-1][1].seq
        if gone <= 0:
            return []
        lines = "line" if gone == 1 else f"{gone:,} lines"
        return [f"{ledger.shown}: the last {lines} of it went missing; {copy}"]
    first_move = stood == entries  # it would have begun with a line for each
    if ledger.data or first_move or not ledger.path.exists():
        return []
    held = f" ({stood:,} line{'s' * (stood > 1)})" if stood > 0 else ""
    told = f"it is there, but empty; the history of earlier moves is lost{held}"
    return [f"{ledger.shown}: {told}: {copy}"]


def read_sound_ledger(file: ShelfFile) -> Ledger:
    """The ledger, behind which a line may be written once its tail is off.

    Raises:
        UnreadableError: it cannot be read.
        UsageError: it is broken.
    """
    ledger = read_ledger(file.ledger)
    if ledger.broken:
        fault = ledger.broken[0]
        advice = fault.help or (
            "bring the ledger back from a copy, or move it to a name that begins with _ and the "
            "next move opens a new one"
        )
        raise UsageError(
            f"{ledger.shown}:{fault.line}: {fault.message}; nothing is moved behind a broken line: "
            f"{advice}"
        )
    return ledger
