"""Read a supplier's list: CSV, XLSX, XLS or ODS, into sheets of cells with their addresses."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from fitcheck.catalogue.source import gc_paused
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.price_lists.reading.archive import Archive, part_names
from fitcheck.services.price_lists.reading.cells import (
    Cell,
    Native,
    Note,
    Sheet,
    SupplierList,
    column_letters,
    plain_text,
)
from fitcheck.services.price_lists.reading.delimited import read_delimited
from fitcheck.services.price_lists.reading.facts import MAX_BYTES
from fitcheck.services.price_lists.reading.signatures import COMPOUND, Kind, kind_of
from fitcheck.services.price_lists.reading.xls_facts import stream_names

__all__ = [
    "Cell",
    "Native",
    "Note",
    "Sheet",
    "SupplierList",
    "column_letters",
    "plain_text",
    "read_list",
]


def read_list(
    path: str | os.PathLike[str],
    *,
    sheet: str | None = None,
    encoding: str | None = None,
    delimiter: str | None = None,
) -> SupplierList:
    """Read a supplier's list, with what was found out on the way.

    Args:
        path: a .csv, .txt, .tsv, .xlsx, .xlsm, .xls or .ods file.
        sheet: the one sheet of a workbook to read; all where None.
        encoding: of a text file; found out where None.
        delimiter: of a text file, a mark or its name; found out where None.

    Returns:
        The list; every cell of it has an address, nothing is interpreted yet.

    Raises:
        UsageError: an option that does not belong to this kind of file, a suffix no list has, or a
            package that is missing.
        UnreadableError: no file, not what its suffix says, damaged, locked, empty, or beyond all
            measure; the text is one line.
    """
    shown = os.fspath(path)
    data = _bytes(Path(path), shown)
    names = part_names(data) if data.startswith(b"PK") else frozenset()
    if data.startswith(COMPOUND) and _is_locked(data, shown):
        raise UnreadableError(f"{shown}: is locked with a password; save it without one")
    kind = kind_of(shown, data[:4096], names)
    if kind == "csv":
        if sheet is not None:
            raise UsageError(f"{shown}: a text file has no sheets; leave the sheet out")
        one, notes = read_delimited(data, shown, encoding=encoding, delimiter=delimiter)
        return SupplierList(shown, "csv", (one,), tuple(notes))
    for given, what in ((encoding, "encoding"), (delimiter, "delimiter")):
        if given is not None:
            raise UsageError(f"{shown}: a workbook has no {what}; leave it out")
    from fitcheck.services.price_lists.reading import workbooks  # noqa: PLC0415

    workbooks.need_calamine(shown)
    with gc_paused():  # a million small values are made, and none in a circle
        return _workbook(data, shown, kind, sheet)


def _is_locked(data: bytes, shown: str) -> bool:
    """Whether a compound file is an XLSX workbook behind a password."""
    try:
        return "encryptedpackage" in stream_names(data, shown)
    except UnreadableError:
        return False


def _workbook(data: bytes, shown: str, kind: Kind, sheet: str | None) -> SupplierList:
    from fitcheck.services.price_lists.reading import workbooks  # noqa: PLC0415

    if kind == "xlsx":
        from fitcheck.services.price_lists.reading.xlsx_facts import read_xlsx_facts  # noqa: PLC0415

        facts = read_xlsx_facts(Archive(data, shown), shown)
    elif kind == "ods":
        from fitcheck.services.price_lists.reading.ods_facts import read_ods_facts  # noqa: PLC0415

        facts = read_ods_facts(Archive(data, shown), shown)
    else:
        from fitcheck.services.price_lists.reading.xls_facts import read_xls_facts  # noqa: PLC0415

        facts = read_xls_facts(data, shown)
    chosen = workbooks.choose_sheets(facts, sheet, shown)
    sheets = workbooks.read_values(data, shown, chosen)
    return SupplierList(shown, kind, tuple(sheets), tuple(workbooks.sheet_notes(sheets, chosen)))


def _bytes(path: Path, shown: str) -> bytes:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise UnreadableError(f"{shown}: is a folder; name the list itself")
        if not stat.S_ISREG(status.st_mode):
            raise UnreadableError(f"{shown}: is not an ordinary file")
        if status.st_size > MAX_BYTES:
            raise UnreadableError(
                f"{shown}: has {status.st_size / 1024**2:,.0f} MB; "
                f"a list of at most {MAX_BYTES // 1024**2} MB is read"
            )
        if status.st_size == 0:
            raise UnreadableError(f"{shown}: the file is empty")
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise UnreadableError(f"{shown}: there is no such file") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise UnreadableError(f"{shown}: cannot be read ({reason.lower()})") from None
