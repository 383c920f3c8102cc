"""How any move is written: first into the ledger, then the shelf file; both or neither."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from types import MappingProxyType

from fitcheck.catalogue.editing import EditError, save
from fitcheck.catalogue.ledger.line import (
    Action,
    Detail,
    LedgerLine,
    LineError,
    money_text,
    read_line,
    utc_now,
)
from fitcheck.catalogue.ledger.pair import end_behind
from fitcheck.catalogue.ledger.state import Difference, Held, after, pieces_of
from fitcheck.errors import FitcheckError, UsageError
from fitcheck.services.shelf.parts import clean_words, warn_of_clock
from fitcheck.services.shelf.recovery import (
    StandsError,
    append,
    clear_mark,
    put,
    repair,
    set_mark,
)
from fitcheck.services.shelf.state import OpenShelf, opening_reason


@dataclass(frozen=True, slots=True)
class Note:
    """What a ledger keeps of a move beside its figures.

    Attributes:
        reason: why.
        by: who.
        time: when, UTC as the ledger writes it; left out: now.
    """

    reason: str | None = None
    by: str | None = None
    time: str | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """What a move is to do to one part.

    Attributes:
        action: as in the ledger.
        part: its id.
        change: pieces more or less.
        sets: place, cost and price as far as they change.
    """

    action: Action
    part: str
    change: int = 0
    sets: Mapping[str, Detail] = field(default_factory=lambda: MappingProxyType({}))


def write(
    shelf: OpenShelf, changes: Sequence[Change], note: Note | None = None
) -> list[LedgerLine]:
    """Write one move of any number of parts: ledger first, then the shelf file, both or neither.

    Args:
        shelf: an open shelf; it is spent afterwards. A clock that was set back is reported in its
            remarks.
        changes: at least one; each part at most once.
        note: reason and person.

    Returns:
        The lines of the move, without those that opened the ledger.

    Raises:
        FitcheckError: the move cannot be written; nothing was moved, unless the text says so.
    """
    note = note or Note()
    time = note.time or utc_now()
    reason, by = clean_words(note.reason, "the reason"), clean_words(note.by, "the name")
    opening = (
        []
        if shelf.ledger.lines
        else [
            Change("open", part, held.quantity, held.details())
            for part, held in shelf.shelf.items()
        ]
    )
    opened = _lines(opening, {}, _Form(shelf.ledger.next_seq, time, None, by))
    if opened:
        opened[0] = replace(opened[0], reason=opening_reason(shelf.file, shelf.draft))
    form = _Form(shelf.ledger.next_seq + len(opened), time, reason, by)
    moved = _lines(changes, shelf.held, form)
    rows, written = _rows(shelf, [*opened, *moved])
    with shelf.draft.together():
        for line in moved:
            held = after(shelf.held.get(line.part), line)
            if held is not None and held != shelf.shelf.get(line.part):
                put(shelf.draft, line.part, shelf.shelf.get(line.part), held)
        shelf.draft.set_ledger_end(end_behind(written[-1]).model_dump())
    assert shelf.draft.data  # proved here, before the ledger is touched
    if shelf.draft.base is not None and not os.access(shelf.file.path, os.W_OK):
        raise UsageError(
            f"{shelf.file.shown}: the file is write-protected; nothing was moved; let it be written"
        )
    _put_on_disk(shelf, rows, form.seq)
    if shelf.ledger.lines:
        shelf.remarks += warn_of_clock(shelf.ledger.lines[-1][1].time, time)
    return written[len(opened) :]


def _rows(shelf: OpenShelf, lines: Sequence[LedgerLine]) -> tuple[bytes, list[LedgerLine]]:
    """The lines as they are written, each read back first: none may go in that breaks the chain.

    Raises:
        UsageError: a line could not be read back.
    """
    rows, total, written = [], shelf.ledger.last_sum, []
    for line in lines:
        row, whole = line.written(total)
        try:
            same, holds = read_line(row.encode(), total)
        except LineError as error:
            where = shelf.ledger.shown
            if line.part in shelf.draft.ids:
                where = str(shelf.draft.source.span(("records", line.part), key=True))
            raise UsageError(
                f"{where}: {line.part} cannot be written into the ledger ({error}); nothing was "
                "moved; fix that first"
            ) from None
        assert holds
        assert same == whole
        rows.append(f"{row}\n")
        total = whole.sum
        written.append(whole)
    return "".join(rows).encode(), written


@dataclass(frozen=True, slots=True)
class _Form:
    """What the lines of one move have in common."""

    seq: int
    time: str
    reason: str | None
    by: str | None


def _lines(changes: Sequence[Change], held: Mapping[str, Held], form: _Form) -> list[LedgerLine]:
    found = []
    for at, change in enumerate(changes):
        found.append(
            LedgerLine(
                seq=form.seq + at,
                time=form.time,
                action=change.action,
                part=change.part,
                change=change.change,
                quantity_after=pieces_of(held.get(change.part)) + change.change,
                sets=change.sets,
                reason=form.reason,
                by=form.by,
                more=len(changes) - 1 - at,
            )
        )
    return found


def _put_on_disk(shelf: OpenShelf, lines: bytes, seq: int) -> None:
    """Write the lines, whose move begins with that number, and the shelf file."""
    file, ledger = shelf.file, shelf.ledger
    try:
        set_mark(file.pending, seq, shelf.draft.base)
        append(ledger, lines)
    except StandsError as error:
        raise _stands(f"{ledger.shown}: the disk refuses ({error})", shelf) from None
    except (OSError, UsageError) as error:
        with contextlib.suppress(OSError):
            clear_mark(file.pending)
        if isinstance(error, UsageError):
            raise
        reason = (error.strerror or str(error)).lower()
        raise UsageError(
            f"{ledger.shown}: the ledger cannot be written ({reason}); nothing was moved; fix "
            "that and try again"
        ) from None
    # From here on the move counts: it stands in the ledger.
    try:
        try:
            save([shelf.draft])
            clear_mark(file.pending)
        except EditError:
            # Perhaps somebody saved the file by hand meanwhile; then it is read again.
            _refuse_overtaken(repair(file), seq)
    except _OvertakenError as error:
        raise UsageError(str(error)) from None
    except (OSError, FitcheckError) as error:
        raise _stands(str(error).split("; ", 1)[0], shelf) from None


class _OvertakenError(Exception):
    """Somebody edited a part by hand while it was moved."""


def _refuse_overtaken(now: OpenShelf, seq: int) -> None:
    moved = {line.part for line in now.ledger.moves if line.seq >= seq}
    for one in now.differences:
        if one.part in moved:
            raise _OvertakenError(
                f"{difference_words(one, now)}, in the very moment of the move; the edit stays, "
                f"and the move stands in {now.ledger.shown}, do not repeat it: fitcheck shelf "
                "count --as-written shows both"
            )


def _stands(what: str, shelf: OpenShelf) -> UsageError:
    return UsageError(
        f"{what}; the move stands in {shelf.ledger.shown} anyway, do not repeat it: the next "
        f"move brings {shelf.file.shown} in step"
    )


def difference_words(one: Difference, shelf: OpenShelf) -> str:
    """Where ledger and shelf file do not agree on a part, and on what."""
    where = shelf.file.shown
    if one.part in shelf.draft.ids:
        where = str(shelf.draft.source.span(("records", one.part), key=True))
    if one.shelf is None:
        return f"{where}: no entry {one.part}, of which the ledger holds {_pieces(one.ledger)}"
    if one.ledger is None:
        return f"{where}: {one.part} is not in the ledger, the file says {_pieces(one.shelf)}"
    fields = [
        f"{name} {_shown(getattr(one.shelf, name))}, in the ledger "
        f"{_shown(getattr(one.ledger, name))}"
        for name in one.fields
    ]
    return f"{where}: {one.part} was changed by hand: {'; '.join(fields)}"


def _pieces(held: Held | None) -> str:
    quantity = pieces_of(held)
    return f"{quantity} piece{'s' * (quantity != 1)}"


def _shown(value: int | Detail) -> str:
    if value is None:
        return "none"
    return money_text(value) if isinstance(value, Decimal) else str(value)
