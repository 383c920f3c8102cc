"""The shelf ready for a move: which file a move goes to, what that file says, and its ledger."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from fitcheck.catalogue.editing import Draft, new_file, open_draft
from fitcheck.catalogue.ledger.line import MAX_TEXT
from fitcheck.catalogue.ledger.pair import (
    Mark,
    end_of,
    find_set_aside,
    ledger_path,
    missing_from,
    pending_path,
    read_mark,
    read_settled,
)
from fitcheck.catalogue.ledger.reading import Ledger, read_ledger
from fitcheck.catalogue.ledger.state import Difference, Held, differences, held_of
from fitcheck.catalogue.reader import Catalogue, read_records
from fitcheck.diagnostics.finding import shown_path
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.model.trade import ShelfEntry

_NAME = "shelf.yaml"


@dataclass(frozen=True, slots=True)
class ShelfFile:
    """A shelf file, which may still be to be made, and what stands beside it.

    Attributes:
        path: the shelf file itself, links followed.
        ledger: its ledger.
        pending: the mark of a move that is being written.
        shown: its path as shown to people.
    """

    path: Path
    ledger: Path
    pending: Path
    shown: str


def shelf_files(catalogue: Catalogue) -> tuple[ShelfFile, ...]:
    """The shelf files of a catalogue; where there is none, the one that a first move makes."""
    paths = list(catalogue.shelf_files.values())
    if not paths and catalogue.root.is_dir():
        paths = [catalogue.root / _NAME]
    return tuple(_file(path) for path in paths)


def _file(path: Path) -> ShelfFile:
    real = Path(os.path.realpath(path))
    return ShelfFile(real, ledger_path(real), pending_path(real), shown_path(path))


def shelf_file(catalogue: Catalogue, part: str | None = None) -> ShelfFile:
    """The shelf file to be written for a part: the one that holds it, else the only one.

    Args:
        catalogue: the catalogue.
        part: id of a gear set; left out: any part.

    Raises:
        UsageError: nothing may be moved in this catalogue, or nobody can say in which file.
    """
    if catalogue.is_demo:
        raise UsageError(
            f"the shelf of the built-in demo is not moved; copy the folder "
            f"{shown_path(catalogue.root)} to one of your own and name that with --catalog"
        )
    if not catalogue.root.is_dir():
        raise UsageError(
            f"{shown_path(catalogue.root)} is one file, which says nothing of the parts; name the "
            "folder of the catalogue with --catalog"
        )
    files = shelf_files(catalogue)
    if len(files) == 1:
        return files[0]
    if part is not None and part in catalogue.shelf:
        where = catalogue.shelf[part].source.path
        return next(file for file in files if file.shown == where)
    own = Path(os.path.realpath(catalogue.root / _NAME))
    for file in files:
        if file.path == own:
            return file
    raise UsageError(
        f"there are {len(files)} shelf files ({files[0].shown} and {files[1].shown}) and none is "
        f"{shown_path(catalogue.root / _NAME)}; write the entry into one of them by hand first"
    )


_TRIES = 5


@dataclass(slots=True)
class OpenShelf:
    """A shelf that nobody else can move while it is open.

    Attributes:
        file: where it is.
        ledger: its ledger; without lines where no move was made yet.
        draft: the shelf file, to be edited.
        shelf: what the shelf file says, by part.
        remarks: what was repaired on opening it, a sentence each.
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
                    f"{finding.span}: {finding.message}; nothing is moved before that is fixed"
                )
        draft = open_draft(file.path)
        if not entries or entries[0].source.text == draft.text:
            held = {e.id: held_of(e.record) for e in entries if isinstance(e.record, ShelfEntry)}
            return draft, held
    raise UnreadableError(f"{file.shown}: the file changes while it is read; try again")


def peek(file: ShelfFile) -> OpenShelf:
    """The shelf as it is now, without its lock and with nothing repaired; not to be written.

    Raises:
        UnreadableError: a file cannot be read.
        UsageError: the ledger is broken, or the shelf file has an error.
    """
    # The file first: of what it says of its ledger's end no line can be missing then.
    ((draft, shelf), ledger), settled = read_settled(
        file.path, lambda: (read_shelf(file), read_sound_ledger(file))
    )
    refuse_cut_ledger(file, draft, ledger)
    remarks = lost_words(file, draft, ledger, read_mark(file.pending))
    if not settled:
        remarks.append(
            f"{file.shown}: a move is being written, or was broken off; the figures may be those "
            "before it"
        )
    return OpenShelf(file=file, ledger=ledger, draft=draft, shelf=shelf, remarks=remarks)


def refuse_cut_ledger(file: ShelfFile, draft: Draft, ledger: Ledger) -> None:
    """Refuse to go on behind a ledger of which the shelf file proves that lines are missing.

    One that is gone or empty is no longer to be saved by waiting: a new one is opened, and that is
    reported (`lost_words`).

    Raises:
        UsageError: lines are missing at its end, or it is another ledger.
    """
    lacking = missing_from(draft.source, ledger, file.path)
    if lacking is not None and ledger.data:
        raise UsageError(
            f"{ledger.shown}: the ledger {lacking}; nothing is moved: bring it back from a copy, "
            "or move it to a name that begins with _ and the next move opens a new one"
        )


def lost_words(file: ShelfFile, draft: Draft, ledger: Ledger, mark: Mark | None) -> list[str]:
    """A sentence where lines of the ledger are gone, as far as that can be told; else none.

    A crash, or a disk that refuses, leaves an empty ledger only beside the mark of a first move.

    Args:
        file: the shelf.
        draft: its file, as it was read.
        ledger: as it was read.
        mark: of a move that was broken off.
    """
    stood = -1 if mark is None else mark.seq - 1
    copy = "bring the ledger back from a copy if there is one"
    if ledger.lines:
        gone = stood - ledger.lines[-1][1].seq
        if gone <= 0:
            return []
        lines = "line" if gone == 1 else f"{gone:,} lines"
        return [f"{ledger.shown}: the last {lines} of it went missing; {copy}"]
    if ledger.data:
        return []
    there = ledger.path.exists()
    end = end_of(draft.source)
    if end is not None:
        stood = end.line
        if find_set_aside(end, file.path) is not None:
            return []
    elif not there or stood == len(draft.ids):  # a first move begins with a line for each entry
        return []
    held = f" ({stood:,} line{'s' * (stood > 1)})" if stood > 0 else ""
    what = "it is there, but empty" if there else "it is gone"
    words = f"{what}; the history of earlier moves is lost{held}"
    return [f"{ledger.shown}: {words}: {copy}"]


def opening_reason(file: ShelfFile, draft: Draft) -> str | None:
    """What a new ledger says of the one before it; None where there was none."""
    end = end_of(draft.source)
    if end is None:
        return None
    aside = find_set_aside(end, file.path)
    if aside is not None:
        return f"goes on from line {end.line} of {aside.name}"[:MAX_TEXT]
    return f"the ledger before it is missing, {end.line} lines with the sum {end.sum} at the end"


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
