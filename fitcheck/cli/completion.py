"""Ids of entries, offered by the shell.

Nobody waits for a catalogue to be read while they type: ids are keys below `records:`, and are
found by their indentation. A file written otherwise, such as in brackets, is read as YAML.
"""

from __future__ import annotations

import re
from pathlib import Path

import click
from click.shell_completion import CompletionItem

from fitcheck.errors import FitcheckError

_KIND = re.compile(rb"^kind[ \t]*:[ \t]+(['\"]?)([a-z-]+)\1[ \t\r]*(?:[ \t]#.*)?$", re.MULTILINE)
_RECORDS = re.compile(
    rb"^records[ \t]*:[ \t\r]*(?:[ \t]#.*)?\n(?:[ \t\r]*(?:#.*)?\n)*( +)", re.MULTILINE
)
_TOP = re.compile(rb"\n[^\s#]")
_KEY = rb"(?:(['\"]?)([A-Za-z0-9._-]+)\1[ \t]*:[ \t\r]*(?:[ \t][#{].*)?(?=\n|\Z)|([^ #\r\n]))"
"""A key and nothing of its value but a comment or an opening bracket; or what else is there."""


def offer_ids(kind: str, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
    """Ids of one kind that begin as typed, whatever their capitals; files where there is none.

    Args:
        kind: of the entries, such as `gear-set`.
        ctx: the command line so far, which may name the catalogue.
        incomplete: the word so far. Of sets joined by a plus the last is completed.
    """
    joined, plus, begun = incomplete.rpartition("+") if kind == "gear-set" else ("", "", incomplete)
    try:
        found = sorted(ids_in_catalogue(ctx.params.get("catalog"), kind, begun))
    except (FitcheckError, OSError):
        found = []  # a shell that completes has no place for a message
    items = [CompletionItem(f"{joined}{plus}{name}") for name in found]
    if not items and kind == "machine":
        items = [CompletionItem(incomplete, type="file")]
    return items


def ids_in_catalogue(catalog: str | None, kind: str, begun: str) -> set[str]:
    """Ids of one kind that begin with some letters, whatever their capitals.

    Args:
        catalog: the folder or file, if one is named.
        kind: of the entries, such as `gear-set`.
        begun: how they begin.

    Raises:
        FitcheckError: there is no such catalogue.
    """
    from fitcheck.catalogue.locate import catalogue_files, find_catalogue

    path = find_catalogue(catalog).path
    files = [path] if path.is_file() else catalogue_files(path)[0]
    return {name for file in files for name in _ids_in_file(file, kind, begun)}


def _ids_in_file(path: Path, kind: str, begun: str) -> list[str]:
    text = path.read_bytes()
    named = _KIND.search(text)
    first = begun.encode().lower()
    if (named is not None and named[2] != kind.encode()) or first not in text.lower():
        return []
    records = _RECORDS.search(text)
    if named is None or records is None:
        return _ids_as_read(path, kind, begun)
    top = _TOP.search(text, records.end())
    # A pattern that begins with plain letters is found several times sooner than one with ^.
    key = re.compile(b"\n" + records[1] + _KEY)
    found = key.findall(text, records.start(1) - 1, top.start() if top else len(text))
    if any(other for _, _, other in found):
        return _ids_as_read(path, kind, begun)
    return [name.decode() for _, name, _ in found if name.lower().startswith(first)]


def _ids_as_read(path: Path, kind: str, begun: str) -> list[str]:
    """The same of a file that is read as YAML."""
    from fitcheck.catalogue.shape import shape_of
    from fitcheck.catalogue.source import read_source

    shape = shape_of(read_source(path)[0])
    if shape.kind != kind or shape.records is None:
        return []
    first = begun.casefold()
    return [name for name in shape.records.entries if name.casefold().startswith(first)]
