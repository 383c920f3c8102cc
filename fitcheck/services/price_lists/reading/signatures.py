"""What a file is by its first bytes, and whether that is what its suffix says."""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import Literal

from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.price_lists.reading.encodings import is_binary

Kind = Literal["csv", "xlsx", "xls", "ods"]

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
COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_MAGIC = (
    (b"%PDF", "a PDF file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf\x27\x1c", "a 7-Zip archive"),
    (b"Rar!", "a RAR archive"),
    (b"BZh", "a bzip2 archive"),
    (b"\xfd7zXZ", "an xz archive"),
    (b"\x28\xb5\x2f\xfd", "a Zstandard archive"),
    (b"{\\rtf", "a rich text letter"),
    (b"SQLite format 3", "a database"),
    (b"\x7fELF", "a program"),
    (b"MZ\x90", "a program"),
    (b"PAR1", "a Parquet file"),
    # The oldest workbooks, not yet in a compound file, begin with a bare BOF record.
    (b"\x09\x00\x04\x00", "a workbook of a very old kind"),
    (b"\x09\x02\x06\x00", "a workbook of a very old kind"),
    (b"\x09\x04\x06\x00", "a workbook of a very old kind"),
    (b"\x09\x08", "a workbook of a very old kind"),
)
_WEB_PAGE = tuple(
    f"<{tag}".encode()
    for tag in ("!doctype html", "html", "head", "body", "table", "meta", "style", "div")
)
_COMMENTS = re.compile(rb"\A(?:<!--.*?-->\s*)+", re.DOTALL)
_XML = (b"<?xml", b"<workbook", b"<ss:workbook")
_SAVE_AS = "open it in a spreadsheet program and save it as .xlsx or CSV"


def kind_of(path: str, head: bytes, names: frozenset[str]) -> Kind:
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
