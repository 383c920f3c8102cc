"""Drafts of files that are there, and of files still to be made."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from fitcheck.catalogue.editing.draft import Draft
from fitcheck.catalogue.editing.errors import EditError
from fitcheck.catalogue.editing.manner import Manner
from fitcheck.catalogue.editing.record_text import written_entry
from fitcheck.catalogue.editing.values import plain_data
from fitcheck.catalogue.problems import shown
from fitcheck.catalogue.schema import file_name
from fitcheck.catalogue.source import MAX_FILE_BYTES, shown_path
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UnreadableError
from fitcheck.model.kinds import DEFAULTABLE, KINDS

_SCHEMAS, _NEAR = "schemas", 3
"""Name of the folder of schemas, and so many folders above a file it is looked for."""


def draft_from_bytes(path: Path | str, data: bytes) -> Draft:
    """A draft of a file whose bytes were read already.

    Raises:
        EditError: the file cannot be edited: it is no YAML, or none of a catalogue.
    """
    return Draft(Path(path), data, data)


def open_draft(path: Path | str) -> Draft:
    """Read a file to edit it.

    Args:
        path: a catalogue file; a link is followed, and stays.

    Raises:
        UnreadableError: it is missing, or cannot be read.
        EditError: it cannot be edited: it is no YAML, or none of a catalogue.
    """
    where = Path(path)
    try:
        with where.open("rb") as stream:
            data = stream.read(MAX_FILE_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise UnreadableError(f"{shown_path(where)}: the file cannot be read ({reason})") from None
    return draft_from_bytes(where, data)


def new_file(
    path: Path | str,
    kind: str,
    *,
    modeline: str | None = None,
    comment: str = "",
    defaults: Mapping[str, object] | None = None,
) -> Draft:
    """A draft of a file that is still to be made; it needs a record before it can be saved.

    Args:
        path: where it is to be; saving refuses if a file is there by then.
        kind: a key of `KINDS`.
        modeline: first line, such as `yaml-language-server: $schema=...`; a comment. None: the
            one that leads to the kind's schema, where `fitcheck schema --write` has put it into a
            folder `schemas` beside the file or above it.
        comment: text of the comment below it.
        defaults: fields given once for all records.

    Raises:
        EditError: there is no such kind, or the defaults are none of it.
    """
    name = shown_path(path)
    if kind not in KINDS:
        raise EditError(f"{name}: there is no kind {shown(kind)}")
    if modeline is None:
        modeline = _schema_line(Path(path), kind)
    head = [f"# {modeline.removeprefix('#').strip()}", "#"] if modeline else []
    head += [f"# {line}".rstrip() for line in comment.splitlines()]
    if head:
        head = [*(head if comment else head[:-1]), ""]
    lines = [*head, f"kind: {kind}"]
    try:
        given = plain_data(dict(defaults or {}), "defaults")
    except ValueError as error:
        raise EditError(f"{name}: {error}") from None
    if given:
        lines += written_entry("defaults", given, 0, (), Manner([]))
    lines += ["records:"]
    draft = Draft(Path(path), ("\n".join(lines) + "\n").encode(), None)
    if set(given) - set(DEFAULTABLE.get(kind, ())):
        wrong = or_list(sorted(set(given) - set(DEFAULTABLE.get(kind, ()))))
        raise EditError(f"{name}: {wrong} cannot be given under defaults")
    return draft


def _schema_line(path: Path, kind: str) -> str:
    """The line that tells an editor the schema of a file, seen from that file; empty: none is near.

    A file two folders below the catalogue's, with the schemas beside that, is the deepest usual.
    """
    name = file_name(kind)
    folder = path.absolute().parent
    for steps, above in enumerate((folder, *folder.parents)[: _NEAR + 1]):
        if (above / _SCHEMAS / name).is_file():
            return f"yaml-language-server: $schema={'../' * steps}{_SCHEMAS}/{name}"
    return ""
