"""How often machines come: a list of ids and numbers, as CSV, a spreadsheet or YAML."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from fitcheck.catalogue.nodes import MapNode, ScalarNode
from fitcheck.catalogue.source import read_source, shown_path
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.shelf.demands import Visits
from fitcheck.services.shelf.shop_lists import Columns, clip, read_shop_list
from fitcheck.services.upkeep.typed_values import doubtful_thousands

_NUMBER = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,6})?")

_COLUMNS = Columns(
    headings={"machine": ("machine", "id"), "visits": ("visits", "weight", "times")},
    needed=("machine", "visits"),
    bare=("machine", "visits"),
    number=_NUMBER,
    bare_words="id and visits",
)


@dataclass(frozen=True, slots=True)
class _Row:
    """One row, or one line of YAML.

    Attributes:
        id: the machine; empty where none is named.
        text: its visits; None where they are no single value.
        place: file and row.
        fault: why it cannot be read at all, or None.
        sure: whether it is a number in a workbook, so that no mark in it is in doubt.
    """

    id: str
    text: str | None
    place: str
    fault: str | None = None
    sure: bool = False


def read_visits(path: Path) -> Visits:
    """Read how often each machine comes.

    YAML is a mapping of id to number. A table has a column headed `machine` (or `id`) and one
    headed `visits` (or `weight`, or `times`), or no headings and these two columns first.

    Args:
        path: the file.

    Returns:
        The visits; rows that are none are told in `faults`, with file and row.

    Raises:
        UnreadableError: the file cannot be read.
        UsageError: it is no list of visits at all.
    """
    is_yaml = path.suffix.lower() in (".yaml", ".yml")
    found: dict[str, Fraction] = {}
    places: dict[str, str] = {}
    faults: list[str] = []
    for row in _yaml(path) if is_yaml else _table(path):
        fault = _fault(row, twice=row.id in places)
        if fault:
            faults.append(f"{row.place}: {fault}")
        else:
            assert row.text is not None
            found[row.id] = Fraction(row.text.replace(",", "."))
        if row.id:
            places.setdefault(row.id, row.place)
    if not found and not faults:
        raise UsageError(f"{shown_path(path)}: it names no machine; write an id and its visits")
    return Visits(found, places, tuple(faults))


def _fault(row: _Row, *, twice: bool) -> str | None:
    """What is wrong with a row."""
    if row.fault is not None:
        return row.fault
    if not row.id:
        return "no machine is named; write its id"
    if twice:
        return f"{row.id} stands there twice; add the two up"
    if row.text is None:
        return f"the visits of {row.id} are no number; write {row.id}: 12"
    if not _NUMBER.fullmatch(row.text):
        return f"{clip(row.text)!r} is no number of visits; write 0 or more, at most six decimals"
    return None if row.sure else doubtful_thousands(row.text)


def _yaml(path: Path) -> Iterator[_Row]:
    source, findings = read_source(path, named=True)
    if findings:
        raise UnreadableError(f"{findings[0].span}: {findings[0].message}")
    if not isinstance(source.root, MapNode):
        raise UsageError(f"{source.path}: it is no mapping of machines to visits; write id: number")
    for id_, (_, node) in source.root.entries.items():
        place = str(source.between(node.start, node.end))
        yield _Row(id_, node.text.strip() if isinstance(node, ScalarNode) else None, place)


def _table(path: Path) -> Iterator[_Row]:
    read = read_shop_list(path, _COLUMNS)
    id_at, visits_at = read.columns.get("machine"), read.columns.get("visits")
    if read.notes:
        raise UsageError(f"{read.notes[0]}; take out or rename what is not meant")
    for row in read.rows:
        sure = visits_at in row.numbers
        yield _Row(row.text(id_at), row.text(visits_at), row.where, row.fault, sure=sure)
