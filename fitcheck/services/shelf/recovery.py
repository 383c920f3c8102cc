"""Writing to the disk so that a crash can be seen, and repairing what one left.

A move is marked, then its lines go to the ledger's end, then the shelf file is saved and the mark
goes. A torn line is taken off, and a move that stands in the ledger is carried to the file.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path

from fitcheck.catalogue.editing import Draft, locked, save
from fitcheck.catalogue.editing.saving import sync_folder
from fitcheck.catalogue.ledger.line import Detail, local_words, money_text
from fitcheck.catalogue.ledger.pair import Mark, digest, end_behind, read_mark
from fitcheck.catalogue.ledger.reading import Ledger
from fitcheck.catalogue.ledger.state import Held, rebuild
from fitcheck.errors import UsageError
from fitcheck.services.shelf.state import (
    OpenShelf,
    ShelfFile,
    lost_words,
    read_shelf,
    read_sound_ledger,
    refuse_cut_ledger,
)

WAIT_SECONDS = 30.0
"""So long a till waits for another one to finish its move."""


class StandsError(Exception):
    """Lines were written whole, then the disk refused: they stand in the ledger all the same."""


_BINARY = getattr(os, "O_BINARY", 0)


def set_mark(pending: Path, seq: int, shelf: bytes | None) -> None:
    """Say on the disk that a move is about to be written.

    Args:
        pending: the mark.
        seq: number of the move's first line.
        shelf: the shelf file's bytes before it; None where there is none.

    Raises:
        OSError: the disk refuses.
    """
    _write_whole(pending, json.dumps({"seq": seq, "shelf": digest(shelf)}).encode())
    sync_folder(pending.parent)


def clear_mark(pending: Path) -> None:
    """Take the mark away: ledger and shelf file agree."""
    pending.unlink(missing_ok=True)
    sync_folder(pending.parent)


def append(ledger: Ledger, data: bytes) -> None:
    """Write lines behind the last whole one, all of them and on the disk, or none.

    Args:
        ledger: the ledger as it was read under the lock, without a tail.
        data: whole lines, each with its line break.

    Raises:
        UsageError: the file is not as it was read.
        StandsError: the disk refuses, and the lines that are there cannot be taken back.
        OSError: the disk refuses; what there may be of the lines does not count.
    """
    fresh = not ledger.path.exists()
    descriptor = os.open(ledger.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | _BINARY, 0o666)
    kept = False
    try:
        if fresh:
            sync_folder(ledger.path.parent)
        start = os.fstat(descriptor).st_size
        if start != len(ledger.data):
            raise UsageError(
                f"{ledger.shown}: the ledger has changed since it was read; nothing was moved; try "
                "again"
            )
        left = memoryview(b"\n" + data if ledger.needs_break else data)
        try:
            while left:
                left = left[os.write(descriptor, left) :]
            os.fsync(descriptor)
            kept = True
        except OSError as error:
            # The move was not reported yet, so what there is of it may go again.
            try:
                os.ftruncate(descriptor, start)
            except OSError:
                kept = True
                if not left:
                    raise StandsError(error.strerror or str(error)) from error
            with contextlib.suppress(OSError):
                os.fsync(descriptor)
            raise
    finally:
        os.close(descriptor)
        if fresh and not kept:
            with contextlib.suppress(OSError):
                ledger.path.unlink()  # an empty one would look like a history that was lost


def _cut_tail(ledger: Ledger) -> None:
    """Take off what a crash left behind the last whole move.

    Raises:
        OSError: the disk refuses.
    """
    descriptor = os.open(ledger.path, os.O_WRONLY | _BINARY)
    try:
        os.ftruncate(descriptor, ledger.whole)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _write_whole(path: Path, data: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | _BINARY, 0o666)
    try:
        os.write(descriptor, data)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextmanager
def hold(file: ShelfFile) -> Iterator[OpenShelf]:
    """Open a shelf for a move: locked, read, and repaired where a move was broken off.

    Raises:
        EditError: another program held the lock all the time, or it cannot be taken.
        UnreadableError: a file cannot be read.
        UsageError: the ledger is broken, or the shelf file has an error.
    """
    with locked(file.path.parent, wait=WAIT_SECONDS):
        shelf = repair(file)
        try:
            yield shelf
        except UsageError as error:
            # What was repaired stays, whatever becomes of the move.
            if not shelf.remarks:
                raise
            raise UsageError(f"{error}; before that, {'; '.join(shelf.remarks)}") from None


def repair(file: ShelfFile) -> OpenShelf:
    """Read a shelf whose lock is held, and repair what a crash left.

    A line of the ledger that is not whole was never reported, so it goes. A whole move in the
    ledger counts, so the shelf file gets it if it is as it was before the move. Where somebody
    has edited the file since, it gets each part of which it still says what the ledger said before
    the move; what else was written stays, and differs.

    Raises:
        UnreadableError: a file cannot be read.
        UsageError: the ledger is broken, or the shelf file has an error.
        EditError: the shelf file cannot be written.
        OSError: the ledger cannot be written.
    """
    remarks = []
    draft, shelf = read_shelf(file)
    ledger = read_sound_ledger(file)
    refuse_cut_ledger(file, draft, ledger)
    if ledger.tail:
        _cut_tail(ledger)
        remarks.append(_tail_words(ledger))
        ledger = read_sound_ledger(file)
    mark = read_mark(file.pending)
    if not remarks:
        remarks.extend(lost_words(file, draft, ledger, mark))
    if mark is not None:
        half_done = _half_done(ledger, shelf, mark, untouched=digest(draft.base) == mark.shelf)
        if half_done:
            with draft.together():
                for part, held in half_done.items():
                    put(draft, part, shelf.get(part), held)
                draft.set_ledger_end(end_behind(ledger.lines[-1][1]).model_dump())
            save([draft])
            draft, shelf = read_shelf(file)
            remarks.append(_half_words(ledger, half_done, file))
        elif mark.seq >= ledger.next_seq and not remarks:
            remarks.append(
                f"{file.shown}: a move was broken off before it was written; it never counted, "
                "repeat it if the goods did move"
            )
        clear_mark(file.pending)
    return OpenShelf(file=file, ledger=ledger, draft=draft, shelf=shelf, remarks=remarks)


def put(draft: Draft, part: str, before: Held | None, held: Held) -> None:
    """Write into the draft what is held of a part; fields that stay are not touched.

    Raises:
        EditError: the entry would not be valid.
    """
    new = {"quantity": held.quantity, **held.details()}
    if before is None:
        draft.add_record(part, {name: _round_money(value) for name, value in new.items()})
        return
    changed = {n: _round_money(value) for n, value in new.items() if value != getattr(before, n)}
    draft.set_fields(part, changed)


def _round_money(value: int | Detail) -> int | Detail:
    # Money is written as people write it, with two decimals.
    return Decimal(money_text(value)) if isinstance(value, Decimal) else value


def _half_done(
    ledger: Ledger, shelf: Mapping[str, Held], mark: Mark, *, untouched: bool
) -> dict[str, Held]:
    """Parts whose last move is in the ledger but not in the file, and what they should say.

    Args:
        ledger: the ledger.
        shelf: what the file says.
        mark: the mark of the move.
        untouched: whether the file is to the byte what it was before the move.
    """
    late = [line.part for line in ledger.moves if line.seq >= mark.seq > 0]
    if not late:
        return {}
    before = rebuild(line for line in ledger.moves if line.seq < mark.seq)
    found = {}
    for part in dict.fromkeys(late):
        now, said = ledger.state.get(part), shelf.get(part)
        if now is not None and said != now and (untouched or said == before.get(part)):
            found[part] = now
    return found


def _tail_words(ledger: Ledger) -> str:
    first = ledger.tail[0].decode("utf-8", errors="replace")
    shown = "".join(char if char.isprintable() else "?" for char in first[:60])
    lines = "a line that was" if len(ledger.tail) == 1 else f"{len(ledger.tail)} lines that were"
    return (
        f"{ledger.shown}: a move was broken off while it was written; {lines} not whole went "
        f"({shown}...); that move never counted, repeat it if the goods did move"
    )


def _half_words(ledger: Ledger, parts: Mapping[str, Held], file: ShelfFile) -> str:
    last = ledger.moves[-1]
    listed = ", ".join(list(parts)[:3]) + (", ..." if len(parts) > 3 else "")
    return (
        f"{file.shown}: the last move (number {last.seq}, {last.action}, "
        f"{local_words(last.time)}) was broken off behind the ledger; the file has it now "
        f"({listed}), do not repeat it"
    )
