"""What `check` looks at: a whole catalogue, or one file in the light of its catalogue."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from fitcheck.catalogue.ledger.pair import LEDGER_SUFFIX, ledger_path
from fitcheck.catalogue.ledger.reading import read_ledger
from fitcheck.catalogue.locate import find_catalogue
from fitcheck.catalogue.reader import FIELDS, Catalogue, Entry, Progress, load, repeated_id
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import Finding, shown_path, sort_key
from fitcheck.errors import FitcheckError, UnreadableError, UsageError
from fitcheck.model.fields import Record
from fitcheck.model.kinds import KINDS
from fitcheck.rules.checks import check, check_for_errors

_FAMILY_PLACES = ("families", "families.yaml", "families.yml")
_LEVELS = 3
_QUICK = 2000
"""Records up to which a catalogue is checked before every answer."""


@dataclass(frozen=True)
class Checked:
    """What was checked and what was found.

    Attributes:
        findings: by file, line and column.
        sources: every file read, by its path as shown.
        files: how many files were asked about.
        records: how many valid records they hold.
        is_demo: whether the demo catalogue was checked for want of another.
        alone: whether a file was judged by itself, there being no catalogue to hold it against.
    """

    findings: list[Finding]
    sources: Mapping[str, Source]
    files: int
    records: int
    is_demo: bool
    alone: bool = False

    @property
    def unreadable(self) -> bool:
        """Whether a file could not be read at all."""
        return any(f.severity == "error" and f.code.startswith("FC0") for f in self.findings)


def check_paths(
    paths: Sequence[str], catalog: str | None = None, progress: Progress | None = None
) -> Checked:
    """Check folders and files; without any, the whole catalogue.

    A file by itself is held against the catalogue it belongs to, so that what it refers to is
    found; only its own findings are reported. Where there is no catalogue but the built-in demo,
    the file is judged by itself.

    Raises:
        UnreadableError: a path does not exist or cannot be opened.
    """
    if not paths:
        return _whole(load(catalog, progress=progress))
    parts = [_part(path, catalog, progress) for path in paths]
    if len(parts) == 1:
        return parts[0]
    sources: dict[str, Source] = {}
    for part in parts:
        sources.update(part.sources)
    found = {(f.code, f.span, f.message): f for part in parts for f in part.findings}
    return Checked(
        findings=sorted(found.values(), key=sort_key),
        sources=sources,
        files=sum(part.files for part in parts),
        records=sum(part.records for part in parts),
        is_demo=any(part.is_demo for part in parts),
        alone=any(part.alone for part in parts),
    )


def check_catalogue(catalogue: Catalogue) -> list[Finding]:
    """All that is wrong with a catalogue, the words that its suppliers' lists were taught included.

    Args:
        catalogue: the catalogue.

    Returns:
        Findings by file, line and column.
    """
    found = check(catalogue)
    if any(each.record.list_mapping for each in catalogue.suppliers.values()):
        from fitcheck.services.price_lists.saved_answers import denied_words  # noqa: PLC0415

        found += denied_words(catalogue)
    return sorted(found, key=sort_key)


def errors_in(catalogue: Catalogue) -> list[Finding]:
    """The errors of a catalogue that an answer may rest on, first things first.

    A small catalogue is checked for errors, but not the ledgers of its shelf, which takes some
    hundredths of a second; of a large one only what its reading found is reported.
    """
    if _count_records(catalogue) <= _QUICK:
        return check_for_errors(catalogue)
    return [finding for finding in catalogue.findings if finding.severity == "error"]


def _count_records(catalogue: Catalogue) -> int:
    return sum(len(catalogue.entries(kind)) for kind in KINDS)


def _whole(catalogue: Catalogue) -> Checked:
    found = check_catalogue(catalogue)
    return Checked(
        findings=found,
        sources=_with_ledgers(catalogue, found),
        files=len(catalogue.sources),
        records=_count_records(catalogue),
        is_demo=catalogue.is_demo,
    )


def _part(path: str, catalog: str | None, progress: Progress | None) -> Checked:
    if path.endswith(LEDGER_SUFFIX):
        shelf = f"{path.removesuffix(LEDGER_SUFFIX)}.yaml"
        raise UsageError(f"a ledger is checked with its shelf file: fitcheck check {shelf}")
    own = load(path, progress=progress)
    if Path(path).is_dir():
        return _whole(own)
    try:
        location = find_catalogue(catalog if catalog is not None else _home(Path(path)))
        if location.origin == "demo":
            # Nobody's file is to be blamed for what an invented world does not hold.
            return replace(_whole(own), alone=True)
        around = load(location.path)
    except FitcheckError:
        if catalog is not None:
            raise
        return replace(_whole(own), alone=True)
    merged = lay_over(around, own)
    names = set(own.sources)
    ledgers = {shown_path(ledger_path(file)) for file in own.shelf_files.values()}
    found = [finding for finding in check_catalogue(merged) if finding.span.path in names | ledgers]
    return Checked(
        findings=sorted([*found, *_repeated(around, own)], key=sort_key),
        sources=_with_ledgers(merged, found),
        files=len(names),
        records=_count_records(own),
        is_demo=False,
    )


def _with_ledgers(catalogue: Catalogue, found: Sequence[Finding]) -> dict[str, Source]:
    """The files of a catalogue, and the ledgers that a finding points into."""
    sources = dict(catalogue.sources)
    named = {span.path for f in found for span in (f.span, *(r.span for r in f.related))}
    files = [*catalogue.shelf_files.values(), catalogue.root / "shelf.yaml"]
    for path in dict.fromkeys(ledger_path(file) for file in files):
        if shown_path(path) in named:
            with suppress(UnreadableError):
                sources[shown_path(path)] = read_ledger(path).source
    return sources


def _home(path: Path) -> Path | None:
    """The catalogue folder a file lies in: the nearest one above it that holds families."""
    for folder in list(Path(os.path.realpath(path)).parents)[:_LEVELS]:
        if any((folder / name).exists() for name in _FAMILY_PLACES):
            return folder
    return None


def _repeated(around: Catalogue, own: Catalogue) -> Iterator[Finding]:
    """Ids of a file that another file of its catalogue gives too, whichever is read first."""
    stale = _stale(around, own)
    for finding in around.findings:
        if finding.code != "FC110" or finding.span.path in stale:
            continue
        if finding.related[0].span.path in stale:
            yield finding
    for kind in KINDS:
        others = {id_.lower(): entry for id_, entry in _others(around, kind, stale).items()}
        for id_, entry in own.entries(kind).items():
            other = others.get(id_.lower())
            if other is not None:
                yield repeated_id(id_, entry.span(), other.id, other.span())


def _others(around: Catalogue, kind: str, stale: set[str]) -> dict[str, Entry[Record]]:
    """The entries of one kind that do not come from files read again."""
    entries = around.entries(kind).items()
    return {id_: entry for id_, entry in entries if entry.source.path not in stale}


def lay_over(around: Catalogue, own: Catalogue) -> Catalogue:
    """The surrounding catalogue with one file read again, or added to it."""
    stale = _stale(around, own)
    changes: dict[str, Any] = {
        field: MappingProxyType({**_others(around, kind, stale), **own.entries(kind)})
        for kind, field in FIELDS.items()
    }
    for name in ("sources", "shelf_files"):
        kept = {path: v for path, v in getattr(around, name).items() if path not in stale}
        changes[name] = MappingProxyType({**kept, **getattr(own, name)})
    findings = [finding for finding in around.findings if finding.span.path not in stale]
    return replace(
        around,
        **changes,
        findings=tuple(sorted([*findings, *own.findings], key=sort_key)),
        failed=MappingProxyType(
            {
                kind: MappingProxyType({**around.failed[kind], **own.failed[kind]})
                for kind in around.failed
            }
        ),
        unread=tuple(dict.fromkeys([*around.unread, *own.unread])),
    )


def _stale(around: Catalogue, own: Catalogue) -> set[str]:
    """Files of the surrounding catalogue that were read again, by their paths as shown."""
    # Path.resolve raises for a link to itself, in some releases of Python.
    names = {os.path.realpath(path) for path in own.sources}
    return {path for path in around.sources if os.path.realpath(path) in names}
