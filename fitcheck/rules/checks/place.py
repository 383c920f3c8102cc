"""A finding at the very value of a record that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related

Check = Callable[[Catalogue], Iterator[Finding]]
"""One question put to a whole catalogue."""


def at(
    entry: Entry[Any],
    code: str,
    steps: DocumentPath,
    message: str,
    *,
    key: bool = False,
    advice: str | None = None,
    related: Iterable[Related] = (),
    suggestion: str | None = None,
) -> Finding:
    """A finding at a value of a record, or at its key.

    Args:
        entry: the record.
        code: code of the finding.
        steps: path under the record; empty for the record itself.
        message: one sentence saying what is wrong.
        key: point at the key instead of the value.
        advice: what to do, one sentence.
        related: other places.
        suggestion: what to put in place of the value.
    """
    return Finding(
        code,
        message,
        entry.span(*steps, key=key),
        record=entry.id,
        field=entry.document_path(*steps),
        related=tuple(related),
        help=advice,
        suggestion=suggestion,
    )


def beside(entry: Entry[Any], *steps: str | int, label: str, key: bool = False) -> Related:
    """Another place that has to do with a finding."""
    return Related(entry.span(*steps, key=key), label)


def first_item(steps: DocumentPath, items: list[str], wanted: str) -> DocumentPath:
    """The path of an item in a list of a record, of the list itself where it is not there."""
    return (*steps, items.index(wanted)) if wanted in items else steps
