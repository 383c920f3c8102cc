"""Read a supplier's list: CSV, XLSX, XLS or ODS, into sheets of cells with their addresses."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path, PurePath
from typing import Literal

from fitcheck.catalogue.extensions import extensions
from fitcheck.catalogue.source import gc_paused
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.price_lists.reading.archive import Archive, part_names
from fitcheck.services.price_lists.reading.cells import (
    MAX_BYTES,
    Cell,
    Native,
    Note,
    Sheet,
    SupplierList,
    column_letters,
    plain_text,
)
from fitcheck.services.price_lists.reading.delimited import read_delimited
from fitcheck.services.price_lists.reading.encodings import is_binary
from fitcheck.services.price_lists.reading.ods import read_ods_facts
from fitcheck.services.price_lists.reading.workbooks import choose_sheets, read_values, sheet_notes
from fitcheck.services.price_lists.reading.xls import COMPOUND, is_locked, read_xls_facts
from fitcheck.services.price_lists.reading.xlsx import read_xlsx_facts

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


Kind = Literal["csv", "xlsx", "xls", "ods"]


def read_list(
    path: str | os.PathLike[str],
    *,
    sheet: str | None = None,
    encoding: str | None = None,
    delimiter: str | None = None,
    usual_encoding: str | None = None,
) -> SupplierList:
    """Read a supplier's list, with what was found out on the way.

    Args:
        path: a .csv, .txt, .tsv, .xlsx, .xlsm, .xls or .ods file, or one that a reader of an
            installed package is for.
        sheet: the one sheet of a workbook to read; all where None.
        encoding: of a text file; found out where None.
        delimiter: of a text file, a mark or its name; found out where None.
        usual_encoding: of the supplier's earlier text files, where it is known; what the file
            itself says goes before it.

    Returns:
        The list; every cell of it has an address, nothing is interpreted yet.

    Raises:
        UsageError: an option that does not belong to this kind of file, or a suffix no list has.
        UnreadableError: no file, not what its suffix says, damaged, locked, empty, or beyond all
            measure; the text is one line.
    """
    shown = os.fspath(path)
    suffix = PurePath(shown).suffix.lower()
    added = extensions("fitcheck.list_readers").get(suffix[1:]) if suffix not in _SUFFIXES else None
    if added is not None:
        return _added_list(added, suffix, Path(path), shown)
    data = _bytes(Path(path), shown)
    names = part_names(data) if data.startswith(b"PK") else frozenset()
    if data.startswith(COMPOUND) and is_locked(data, shown):
        raise UnreadableError(f"{shown}: is locked with a password; save it without one")
    kind = _kind_of(shown, data[:4096], names)
    if kind == "csv":
        if sheet is not None:
            raise UsageError(f"{shown}: a text file has no sheets; leave the sheet out")
        one, notes, codec = read_delimited(
            data, shown, encoding=encoding, delimiter=delimiter, usual=usual_encoding
        )
        return SupplierList(shown, "csv", (one,), tuple(notes), codec=codec)
    for given, what in ((encoding, "encoding"), (delimiter, "delimiter")):
        if given is not None:
            raise UsageError(f"{shown}: a workbook has no {what}; leave it out")
    with gc_paused():  # a million small values are made, and none in a circle
        return _workbook(data, shown, kind, sheet)


def _added_list(
    read: Callable[[Path], Mapping[str, Iterable[Iterable[Native]]]],
    suffix: str,
    path: Path,
    shown: str,
) -> SupplierList:
    """A list as a reader of an installed package gives it: sheets by name, rows of plain values."""
    try:
        given = {str(name): [list(row) for row in rows] for name, rows in read(path).items()}
    except Exception as error:
        raise UnreadableError(
            f"{shown}: the added reader for {suffix} failed ({type(error).__name__}: "
            f"{str(error) or 'no reason given'}); ask whoever wrote it"
        ) from error
    for name, rows in given.items():
        for row in rows:
            strange = next((value for value in row if not isinstance(value, Native)), None)
            if strange is not None:
                raise UnreadableError(
                    f"{shown}: the added reader for {suffix} gave a value of type "
                    f"{type(strange).__name__} in sheet {name!r}; it must give text, numbers, "
                    "dates or None"
                )
    sheets = tuple(Sheet(name, rows) for name, rows in given.items())
    return SupplierList(shown, "added", sheets)


def _workbook(data: bytes, shown: str, kind: Kind, sheet: str | None) -> SupplierList:
    if kind == "xlsx":
        facts = read_xlsx_facts(Archive(data, shown), shown)
    elif kind == "ods":
        facts = read_ods_facts(Archive(data, shown), shown)
    else:
        facts = read_xls_facts(data, shown)
    chosen = choose_sheets(facts.sheets, sheet, shown)
    read_values(facts.readable or data, shown, chosen)
    return SupplierList(shown, kind, tuple(chosen), (*facts.notes, *sheet_notes(chosen)))


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


_TEXT = {".csv", ".txt", ".tsv", ".tab"}
_SUFFIXES: dict[str, Kind] = {
    **dict.fromkeys(_TEXT, "csv"),
    ".xlsx": "xlsx",
    ".xlsm": "xlsx",
    ".xls": "xls",
    ".ods": "ods",
}
_OTHERS = {
    ".xlsb": "a binary workbook",
    ".pdf": "a PDF file",
    ".xltx": "a template",
    ".fods": "a flat OpenDocument file",
    ".numbers": "a workbook of another program",
    ".doc": "a letter",
    ".docx": "a letter",
    ".html": "a web page",
    ".htm": "a web page",
}
_ZIP = b"PK\x03\x04"
_MAGIC = (
    ((b"%PDF",), "a PDF file"),
    ((b"\x89PNG", b"\xff\xd8\xff", b"GIF8"), "a picture"),
    (
        (b"\x1f\x8b", b"7z\xbc\xaf\x27\x1c", b"Rar!", b"BZh", b"\xfd7zXZ", b"\x28\xb5\x2f\xfd"),
        "an archive",
    ),
    ((b"{\\rtf",), "a rich text letter"),
    ((b"SQLite format 3", b"PAR1"), "a database"),
    ((b"\x7fELF", b"MZ\x90"), "a program"),
    # The oldest workbooks, not yet in a compound file, begin with a bare BOF record.
    (
        (b"\x09\x00\x04\x00", b"\x09\x02\x06\x00", b"\x09\x04\x06\x00", b"\x09\x08"),
        "a workbook of a very old kind",
    ),
)
_WEB_PAGE = tuple(
    f"<{tag}".encode()
    for tag in ("!doctype html", "html", "head", "body", "table", "meta", "style", "div")
)
_COMMENTS = re.compile(rb"\A(?:<!--.*?-->\s*)+", re.DOTALL)
_XML = (b"<?xml", b"<workbook", b"<ss:workbook")
_SAVE_AS = "open it in a spreadsheet program and save it as .xlsx or CSV"


def _kind_of(path: str, head: bytes, names: frozenset[str]) -> Kind:
    """The kind a file is, its suffix and its content agreeing.

    Args:
        path: the file, for its suffix and for messages.
        head: its first kilobytes.
        names: names of the parts inside, where it is a ZIP archive.

    Raises:
        UsageError: a suffix no list has.
        UnreadableError: the content is not what the suffix says.
    """
    suffix = PurePath(path).suffix.lower()
    kind = _SUFFIXES.get(suffix)
    if kind is None:
        what = _OTHERS.get(suffix)
        raise UsageError(
            f"{path}: {what or 'not a kind of list that can be read'}"
            f"; a list is .csv, .txt, .tsv, .xlsx, .xlsm, .xls or .ods: {_SAVE_AS}"
        )
    found, what = _content(head, names)
    if found == kind:
        return kind
    if found == "csv" and is_binary(head):
        found, what = None, "binary data of no known kind"
    if found is None:
        raise UnreadableError(f"{path}: is {what}, not what {suffix} says; {_SAVE_AS}")
    better = {"csv": ".csv", "xlsx": ".xlsx", "xls": ".xls", "ods": ".ods"}[found]
    raise UnreadableError(
        f"{path}: is {what}, not what {suffix} says; rename it to end in {better}"
    )


def _content(head: bytes, names: frozenset[str]) -> tuple[Kind | None, str]:
    if head.startswith((_ZIP, b"PK\x05\x06")):
        return _packed(names)
    if head.startswith(COMPOUND):
        return "xls", "a compound file, as an .xls workbook is"
    known = next((what for magic, what in _MAGIC if head.startswith(magic)), "")
    what = known or _markup(head)
    return (None, what) if what else ("csv", "plain text")


def _markup(head: bytes) -> str:
    """What a text in tags is, or empty."""
    plain = head.lstrip(b"\xef\xbb\xbf\xff\xfe\0 \t\r\n").replace(b"\0", b"")
    start = _COMMENTS.sub(b"", plain, count=1)[:1024].lower()
    inside = start.startswith((b"<", b"mime-version:")) and (
        b"<html" in head.replace(b"\0", b"").lower()
    )
    if inside or start.startswith(_WEB_PAGE):
        return "a web page"
    return "an XML file" if start.startswith(_XML) else ""


def _packed(names: frozenset[str]) -> tuple[Kind | None, str]:
    lower = {name.lower() for name in names}
    if "xl/workbook.bin" in lower:
        return None, "a binary workbook (.xlsb)"
    if "xl/workbook.xml" in lower or (
        "[content_types].xml" in lower and any(name.startswith("xl/") for name in lower)
    ):
        return "xlsx", "an XLSX workbook"
    if "content.xml" in lower and "mimetype" in lower:
        return "ods", "an OpenDocument file"
    if any(name.startswith("word/") for name in lower):
        return None, "a letter (.docx)"
    if any(name.startswith("index/") for name in lower):
        return None, "a workbook of another program"
    torn = "" if names else ", an empty one, or damaged or cut short"
    return None, f"a ZIP archive{torn}"
