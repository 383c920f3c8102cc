"""Set right what a crash left: a torn line taken off, a move in the ledger carried to the file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from decimal import Decimal

from fitcheck.catalogue.editing import Draft, locked, save
from fitcheck.catalogue.ledger import (
    Held,
    Ledger,
    LedgerEnd,
    Mark,
    digest,
    local_words,
    read_mark,
    rebuild,
)
from fitcheck.catalogue.ledger.line import Detail, money_text
from fitcheck.errors import UsageError
from fitcheck.services.shelf.files import ShelfFile
from fitcheck.services.shelf.ledger import cut_tail, unmark
from fitcheck.services.shelf.state import (
    OpenShelf,
    lost_words,
    read_shelf,
    read_sound_ledger,
    refuse_cut_ledger,
)

WAIT_SECONDS = 30.0
"""So long a till waits for another one to finish its move."""


@contextmanager
def hold(file: ShelfFile) -> Iterator[OpenShelf]:
    """Open a shelf for a move: locked, read, and set right where a move was broken off.

    Raises:
        EditError: another program held the lock all the time, or it cannot be taken.
        UnreadableError: a file cannot be read.
        UsageError: the ledger is broken, or the shelf file has an error.
    """
    with locked(file.path.parent, wait=WAIT_SECONDS):
        shelf = set_right(file)
        try:
            yield shelf
        except UsageError as error:
            # What was set right is done, whatever becomes of the move.
            if not shelf.remarks:
                raise
            raise UsageError(f"{error}; before that, {'; '.join(shelf.remarks)}") from None


def set_right(file: ShelfFile) -> OpenShelf:
    """Read a shelf whose lock is held, and set right what a crash left.

    A line of the ledger that is not whole was never told to anybody, so it goes. A whole move in
    the ledger counts, so the shelf file gets it if it is as it was before the move. Where somebody
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
        cut_tail(ledger)
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
                draft.set_ledger_end(LedgerEnd.behind(ledger.lines[-1][1]).data())
            save([draft])
            draft, shelf = read_shelf(file)
            remarks.append(_half_words(ledger, half_done, file))
        elif mark.seq >= ledger.next_seq and not remarks:
            remarks.append(
                f"{file.shown}: a move was broken off before it was written; it never counted, "
                "repeat it if the goods did move"
            )
        unmark(file.pending)
    return OpenShelf(file=file, ledger=ledger, draft=draft, shelf=shelf, remarks=remarks)


def put(draft: Draft, part: str, before: Held | None, held: Held) -> None:
    """Write into the draft what is held of a part; fields that stay are not touched.

    Raises:
        EditError: the entry would not be valid.
    """
    new = {"quantity": held.quantity, **held.details()}
    if before is None:
        draft.add_record(part, {name: _written(value) for name, value in new.items()})
        return
    changed = {n: _written(value) for n, value in new.items() if value != getattr(before, n)}
    draft.set_fields(part, changed)


def _written(value: int | Detail) -> int | Detail:
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
