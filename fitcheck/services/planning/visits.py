"""How often machines come: a list of ids and numbers, as CSV, a spreadsheet or YAML."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

from fitcheck.catalogue.nodes import MapNode, ScalarNode
from fitcheck.catalogue.source import read_source, shown_path
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.rules.setting import plain_word
from fitcheck.services.intake.reading import Sheet, read_list
from fitcheck.services.planning.demands import Visits

__all__ = ["read_visits"]

_MACHINE = ("machine", "id")
_VISITS = ("visits", "weight", "times")
_NUMBER = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,6})?")
_ARMED = re.compile(r"'(?=\s*[=+\-@＝＋－＠])")
"""The apostrophe that keeps a spreadsheet from taking a text for a formula."""


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
    for id_, text, place in _yaml(path) if is_yaml else _table(path):
        fault = _fault(id_, text, twice=id_ in places)
        if fault:
            faults.append(f"{place}: {fault}")
        else:
            assert text is not None
            found[id_] = Fraction(text.replace(",", "."))
        if id_:
            places.setdefault(id_, place)
    if not found and not faults:
        raise UsageError(f"{shown_path(path)}: it names no machine; write an id and its visits")
    return Visits(found, places, tuple(faults))


def _fault(id_: str, text: str | None, *, twice: bool) -> str | None:
    """What is wrong with a row; its text is None where it is no single value."""
    if not id_:
        return "no machine is named; write its id"
    if twice:
        return f"{id_} stands there twice; add the two up"
    if text is None:
        return f"the visits of {id_} are no number; write {id_}: 12"
    if not _NUMBER.fullmatch(text):
        shown = text if len(text) <= 30 else f"{text[:27]}..."
        return f"{shown!r} is no number of visits; write 0 or more, at most six decimals"
    return None


def _yaml(path: Path) -> Iterator[tuple[str, str | None, str]]:
    source, findings = read_source(path, named=True)
    if findings:
        raise UnreadableError(f"{findings[0].span}: {findings[0].message}")
    if not isinstance(source.root, MapNode):
        raise UsageError(f"{source.path}: it is no mapping of machines to visits; write id: number")
    for id_, (_, node) in source.root.entries.items():
        place = str(source.between(node.start, node.end))
        yield id_, node.text.strip() if isinstance(node, ScalarNode) else None, place


def _table(path: Path) -> Iterator[tuple[str, str | None, str]]:
    name = shown_path(path)
    sheets = [one for one in read_list(path).sheets if one.row_count and not one.hidden]
    if len(sheets) > 1:
        words = or_list(sheet.name for sheet in sheets)
        raise UsageError(f"{name}: it has {len(sheets)} sheets ({words}); save one as CSV")
    for sheet in sheets:
        rows = [row for row in range(1, sheet.row_count + 1) if not sheet.is_blank(row)]
        if not rows:
            return
        columns = _headed(sheet, rows[0])
        if columns is None and not _NUMBER.fullmatch(_text(sheet, rows[0], 2)):
            raise UsageError(
                f"{name}:{sheet.row_address(rows[0])}: no column is headed machine, or none "
                "visits; write both words over the columns, or only id and visits in each row"
            )
        for row in rows if columns is None else rows[1:]:
            id_, text = (_text(sheet, row, column) for column in columns or (1, 2))
            yield id_, text, f"{name}:{sheet.row_address(row)}"


def _headed(sheet: Sheet, row: int) -> tuple[int, int] | None:
    words = [plain_word(cell.text) for cell in sheet.row(row)]
    found = [
        next((words.index(word) + 1 for word in known if word in words), None)
        for known in (_MACHINE, _VISITS)
    ]
    return None if found[0] is None or found[1] is None else (found[0], found[1])


def _text(sheet: Sheet, row: int, column: int) -> str:
    if column > sheet.column_count:
        return ""
    return _ARMED.sub("", sheet.cell(row, column).text.strip(), count=1)
