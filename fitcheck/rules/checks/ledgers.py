"""The shelf's ledger: sound line by line, and in agreement with the shelf file."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path

from fitcheck.catalogue.ledger.line import SLACK, is_behind, money_text, utc_now
from fitcheck.catalogue.ledger.pair import (
    end_of,
    end_span,
    ledger_path,
    missing_from,
    pending_path,
    read_mark,
    read_pair,
)
from fitcheck.catalogue.ledger.reading import Ledger, read_ledger
from fitcheck.catalogue.ledger.state import Difference, Held, differences, held_of
from fitcheck.catalogue.nodes import MapNode
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.shape import LEDGER_KEY
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import Finding, Related, Span
from fitcheck.errors import UnreadableError
from fitcheck.model.fields import Record
from fitcheck.model.trade import ShelfEntry
from fitcheck.rules.checks.walks import at

_CODES = {"torn": "FC301", "unreadable": "FC302", "chain": "FC303"}
_HELP = {
    "FC301": "the next move on this shelf takes it off; repeat what was being moved then",
    "FC302": "bring the ledger back from a copy; or move it to a name that begins with _, and the "
    "next move opens a new one",
    "FC303": "lines are never changed, moved or taken out: bring the ledger back from a copy; or "
    "move it to a name that begins with _, and the next move opens a new one",
    "FC308": "bring the ledger back from a copy; if there is none, move what is left of it to a "
    "name that begins with _: the next move opens a new one, and it says so",
    "FC309": "the move counts and its line stays as it is; check the clock of each till",
}
_ACCEPT = (
    "fitcheck shelf count --as-written shows what was edited by hand and with --write accepts it; "
    "or put back what the ledger says"
)


def ledgers(catalogue: Catalogue) -> Iterator[Finding]:
    """Every ledger by itself, then beside its shelf file; one that never was is no fault."""
    for shown, path in catalogue.shelf_files.items():
        ledger, findings = _read(path)
        missing: list[Finding] = []
        if ledger is not None and not ledger.broken:
            missing = list(_missing(catalogue.sources[shown], path, ledger))
        # A torn line that the shelf file has was whole once: lost, not broken off.
        yield from missing or findings
        if ledger is not None and ledger.lines and not ledger.broken and not missing:
            yield from _beside(catalogue, shown, path, ledger)
    yield from _alone(catalogue)


def _read(shelf: Path) -> tuple[Ledger | None, list[Finding]]:
    path = ledger_path(shelf)
    try:
        ledger = read_ledger(path)
    except UnreadableError as error:
        what = str(error)
        name, _, message = what.partition(": ")
        advice = "make it a readable file, or move it to a name that begins with _"
        return None, [Finding("FC001", message.split("; ")[0], Span(name), help=advice)]
    found = []
    for fault in ledger.faults:
        code = _CODES[fault.kind]
        span = Span(
            path=ledger.shown,
            line=fault.line,
            end_line=fault.line,
            end_column=fault.length + 1,
        )
        found.append(Finding(code, fault.message, span, fault.part, help=fault.help or _HELP[code]))
    return ledger, [*found, *_clock(ledger)]


def _clock(ledger: Ledger) -> Iterator[Finding]:
    """Lines whose time lies in the future, or before that of the line above; one for a stretch."""
    latest = utc_now(SLACK)
    before, ahead = "", False
    for number, line in ledger.lines:
        was_ahead, ahead = ahead, line.time > latest
        if ahead and not was_ahead:
            what = f"the time, {_time(line.time)}, is in the future"
        # Behind a time in the future any other is earlier, and that one has been reported.
        elif not ahead and not was_ahead and is_behind(line.time, before):
            what = (
                f"the time, {_time(line.time)}, is earlier than {_time(before)} in the line before"
            )
        else:
            what = ""
        if what:
            yield Finding("FC309", what, ledger.span(number), line.part, help=_HELP["FC309"])
        before = line.time


def _time(text: str) -> str:
    return text.replace("T", " ").replace("Z", " UTC")


def _missing(source: Source, path: Path, ledger: Ledger) -> Iterator[Finding]:
    """Lines that the ledger had when the shelf file was written, and has no more."""
    if end_of(source) is None:
        if isinstance(source.root, MapNode) and LEDGER_KEY in source.root.entries:
            what = "ledger does not give the number and the check sum of a ledger's last line"
            advice = "take that key out; the next move writes it again"
            yield Finding("FC308", what, end_span(source), field=(LEDGER_KEY,), help=advice)
        elif not ledger.data and ledger.path.exists() and read_mark(pending_path(path)) is None:
            # A first move that a crash broke off would have left its mark.
            what = "the ledger is empty: its lines are lost"
            yield Finding("FC308", what, Span(ledger.shown), help=_HELP["FC308"])
        return
    told = missing_from(source, ledger, path)
    if told is not None:
        what = f"the ledger {ledger.shown} {told}"
        yield Finding("FC308", what, end_span(source), field=(LEDGER_KEY,), help=_HELP["FC308"])


def _beside(catalogue: Catalogue, shown: str, path: Path, ledger: Ledger) -> Iterator[Finding]:
    entries: Mapping[str, Entry[Record]] = {
        id_: entry for id_, entry in catalogue.shelf.items() if entry.source.path == shown
    }
    if _differences(catalogue, shown, ledger, entries):
        # Somebody may have moved a part since the catalogue was read.
        pair = read_pair(path)
        ledger, entries = pair.ledger, {entry.id: entry for entry in pair.entries}
    found = _differences(catalogue, shown, ledger, entries)
    mark = read_mark(pending_path(path))
    if found and mark is not None and mark.seq:
        late = {line.part for line in ledger.moves if line.seq >= mark.seq}
        if late & {one.part for one in found}:
            yield _half_done(ledger)
            found = [one for one in found if one.part not in late]
    for one in found:
        yield from _differs(catalogue, ledger, entries.get(one.part), one)


def _differences(
    catalogue: Catalogue, shown: str, ledger: Ledger, entries: Mapping[str, Entry[Record]]
) -> list[Difference]:
    said: dict[str, Held] = {}
    for id_, entry in entries.items():
        if isinstance(entry.record, ShelfEntry):
            said[id_] = held_of(entry.record)
    refused = {id_ for id_, span in catalogue.failed["shelf"].items() if span.path == shown}
    return [one for one in differences(ledger.state, said) if one.part not in refused]


def _half_done(ledger: Ledger) -> Finding:
    number, line = ledger.lines[-1]
    return Finding(
        "FC307",
        f"the {line.action} of {line.part} is in the ledger, but not yet in the shelf file",
        ledger.span(number),
        record=line.part,
        help="the next move on this shelf carries it there; do not repeat it",
    )


def _differs(
    catalogue: Catalogue, ledger: Ledger, entry: Entry[Record] | None, one: Difference
) -> Iterator[Finding]:
    number = ledger.line_of(one.part)
    if entry is None:
        assert number is not None
        assert one.ledger is not None
        known = one.part in catalogue.gear_sets or one.part in catalogue.failed["gear-set"]
        if not known and not catalogue.unread:
            yield Finding(
                "FC306",
                f"the ledger holds {_pieces(one.ledger)} of {one.part}, which is no gear set of "
                "the catalogue, nor on the shelf",
                ledger.span(number),
                record=one.part,
                help="bring its record back; or fitcheck shelf count --as-written --write closes "
                "the part",
            )
            return
        yield Finding(
            "FC304",
            f"the ledger holds {_pieces(one.ledger)} of {one.part}, the shelf file has no entry",
            ledger.span(number),
            record=one.part,
            help=_ACCEPT,
        )
        return
    related = (
        [] if number is None else [Related(ledger.span(number), "its last line in the ledger")]
    )
    if one.ledger is None:
        assert one.shelf is not None
        what = f"the file says {_pieces(one.shelf)}, the ledger knows nothing of {one.part}"
        yield at(entry, "FC304", ("quantity",), what, advice=_ACCEPT, related=related)
        return
    for name in one.fields:
        here, there = _value(getattr(one.shelf, name)), _value(getattr(one.ledger, name))
        yield at(
            entry,
            "FC304" if name == "quantity" else "FC305",
            (name,),
            f"the {name} here is {here}, in the ledger {there}",
            advice=_ACCEPT,
            related=related,
        )


def _alone(catalogue: Catalogue) -> Iterator[Finding]:
    """A ledger in the catalogue's folder whose shelf file is gone."""
    shelf = catalogue.root / "shelf.yaml"
    if not catalogue.root.is_dir() or shelf.exists() or catalogue.unread:
        return
    path = ledger_path(shelf)
    if any(ledger_path(Path(os.path.realpath(p))) == path for p in catalogue.shelf_files.values()):
        return
    ledger, findings = _read(shelf)
    yield from findings
    if ledger is not None and ledger.state:
        parts = len(ledger.state)
        yield Finding(
            "FC304",
            f"the ledger holds {parts} part{'s' * (parts != 1)}, but there is no shelf file beside "
            "it",
            ledger.span(ledger.lines[-1][0]),
            help="bring shelf.yaml back from a copy, or move the ledger to a name that begins "
            "with _",
        )


def _pieces(held: Held) -> str:
    return f"{held.quantity} piece{'s' * (held.quantity != 1)}"


def _value(value: object) -> str:
    if value is None:
        return "none"
    return money_text(value) if isinstance(value, Decimal) else f"{value}"
