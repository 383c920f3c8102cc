"""Lists that are there but hold nothing, where one cannot tell none from not known."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.model.fields import Record
from fitcheck.rules.checks.place import at

_PLAIN = frozenset({"aliases", "also_needs", "measured", "models"})
"""Lists of which an empty one says plainly that there is none, and decides nothing."""


def empty_lists(catalogue: Catalogue) -> Iterator[Finding]:
    """Every list and mapping of a set, family, machine or kit that is written and empty."""
    for kind in ("family", "gear-set", "machine", "variator"):
        for entry in catalogue.entries(kind).values():
            for steps in _empty(entry.record, ()):
                yield _nothing(entry, steps)


@cache
def _holders(model: type[Record]) -> tuple[str, ...]:
    """The fields of a kind of record that hold lists, mappings or further records."""
    names = []
    for name, field in model.model_fields.items():
        written = str(field.annotation)
        plain = isinstance(field.annotation, type) and issubclass(field.annotation, Record)
        if name not in _PLAIN and (plain or re.search(r"\b(list|dict|fitcheck)\b", written)):
            names.append(name)
    return tuple(names)


def _empty(value: Any, steps: DocumentPath) -> Iterator[DocumentPath]:
    if isinstance(value, Record):
        for name in _holders(type(value)):
            # What is left out has its default and says nothing.
            if name in value.model_fields_set:
                yield from _empty(getattr(value, name), (*steps, name))
    elif isinstance(value, (dict, list)):
        if not value:
            yield steps
        inner = value.items() if isinstance(value, dict) else enumerate(value)
        for step, each in inner:
            yield from _empty(each, (*steps, step))


def _nothing(entry: Entry[Any], steps: DocumentPath) -> Finding:
    return at(
        entry,
        "FC217",
        steps,
        f"{steps[-1]} holds nothing, so one cannot tell whether there is none or nobody knows",
        advice="fill it in, or leave it out: what is not known is left out",
    )
