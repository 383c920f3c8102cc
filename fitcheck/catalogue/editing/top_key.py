"""A key at the top of a file, beside kind and records, that a program keeps in one line."""

from __future__ import annotations

import re

from fitcheck.catalogue.editing.errors import EditError

_RECORDS = re.compile(r"""^([ ]*)(?:records|"records"|'records')[ ]*:""", re.MULTILINE)


def with_top_line(head: str, key: str, written: str, eol: str, *, there: bool) -> str | None:
    """The text before the records with a line `key: written`, put in place of the one it has.

    Args:
        head: what stands before the first record, `records:` included.
        key: the key, a plain word.
        written: its value in flow style.
        eol: line break of the file.
        there: whether the file has the key already.

    Returns:
        The new text; None where `records` does not begin a line, as in a file in brackets.

    Raises:
        EditError: the key is there, but not in one line before the records.
    """
    records = list(_RECORDS.finditer(head))
    if not records:
        return None
    at, indent = records[-1].start(), records[-1][1]
    line = re.compile(rf"^{indent}{key}[ ]*:[ ]*(\{{[^{{}}#\r\n]*\}})", re.MULTILINE)
    old = line.search(head)
    if old is not None:
        return head[: old.start(1)] + written + head[old.end(1) :]
    if there:
        raise EditError(
            f"{key}: is not as fitcheck writes it; take that key out, and the next move writes it"
        )
    return f"{head[:at]}{indent}{key}: {written}{eol}{head[at:]}"
