"""Proof that an edit changed what it was meant to change, and nothing else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any, Literal

from fitcheck.catalogue.editing.lines import block_end, column, lines_of, spans_of, starts_line
from fitcheck.catalogue.editing.values import same
from fitcheck.catalogue.nodes import ListNode, MapNode, Node
from fitcheck.catalogue.source import Source
from fitcheck.diagnostics.finding import Finding, Span
from fitcheck.errors import EditError

_BY_HAND = "this is a fault of fitcheck's; edit the file by hand"


def refusal_of(finding: Finding, span: Span | None = None) -> EditError:
    """The refusal that a fault of the file or of the new record is.

    Args:
        finding: the fault.
        span: where it stands in the whole file, if the finding counts in a part of it.
    """
    where = finding.span if span is None else span
    advice = f"; {finding.help}" if finding.help else ""
    return EditError(f"{where}: {finding.code} {finding.message}{advice}")


def prove_lines_kept(
    old: str,
    new: str,
    source: Source,
    path: tuple[str | int, ...],
    action: Literal["replace", "insert", "remove"],
) -> None:
    """Prove that every line outside the value meant is there as before, byte for byte.

    Args:
        old: the text before.
        new: the text after.
        source: the text before, read.
        path: keys and list positions to the value meant.
        action: what was done to it.

    Raises:
        EditError: another line has changed.
    """
    first, last = _lines_meant(old, source, path, action)
    before, after = lines_of(old), lines_of(new)
    head = 0
    while head < min(len(before), len(after)) and before[head] == after[head]:
        head += 1
    tail = 0
    while tail < min(len(before), len(after)) - head and before[-1 - tail] == after[-1 - tail]:
        tail += 1
    gone = range(head, len(before) - tail)
    if len(gone) == 0:
        return
    if gone.start >= first and gone.stop - 1 <= last:
        return
    if gone.stop == len(before) and before[-1] == before[-1].rstrip("\r\n"):
        # Behind the last line of a file without a final break a break may come.
        kept = [line.rstrip("\r\n") for line in after]
        rest = [before[at] for at in gone if not first <= at <= last]
        if all(line.rstrip("\r\n") in kept for line in rest):
            return
    raise EditError(f"lines beside those meant would change; {_BY_HAND}")


def _lines_meant(
    text: str, source: Source, path: tuple[str | int, ...], action: str
) -> tuple[int, int]:
    """First and last line that may change, from 0; last under first where none may."""
    owner = source.node(path[:-1])
    assert isinstance(owner, MapNode | ListNode)

    def line(at: int) -> int:
        return source.position(at)[0] - 1

    if owner.flow:
        return line(owner.start), line(owner.end)
    if action == "insert":
        return 1, 0
    node = source.node(path)
    assert node is not None
    key = source.key_node(path)
    start = node.start if key is None else key.start
    end = node.end if key is None else max(node.end, key.end)
    if isinstance(owner, ListNode):
        # The dash may stand on a line before its item.
        before = owner.items[int(path[-1]) - 1].end if path[-1] else owner.start
        start = min(start, before + 1 if path[-1] else before)
    behind = block_end(text, end, node, column(text, start))
    if action == "remove" and not starts_line(text, start):
        # Beside a dash the entry that follows moves up.
        behind = max([behind, *(each[0] + 1 for each in spans_of(owner) if each[0] > start)][:2])
    return line(start), max(line(max(behind - 1, start)), line(end))


def others_of(root: Node) -> dict[str, Any]:
    """Data of the keys at the top of a file other than `records`."""
    assert isinstance(root, MapNode)
    return {key: node.value for key, (_, node) in root.entries.items() if key != "records"}


def prove_records_kept(
    after: Source,
    findings: Iterable[Finding],
    before: Iterable[Finding],
    expected: list[tuple[str, Any]],
    others: dict[str, Any],
) -> None:
    """Prove that the whole text, read again, holds what it must, and no new fault.

    Args:
        after: the new text, read.
        findings: what is wrong with it as YAML and in its outer form.
        before: what was wrong with the old text.
        expected: every record's id and data, in order.
        others: data of the keys at the top other than `records`.

    Raises:
        EditError: it does not.
    """
    found = list(findings)
    root = after.root
    more = Counter(each.code for each in found) - Counter(each.code for each in before)
    if not isinstance(root, MapNode) or more:
        blamed = [each for each in found if each.code in more] or found
        raise refusal_of(blamed[0]) if blamed else EditError(f"{after.path}: {_BY_HAND}")
    if not same(others_of(root), others):
        raise EditError(f"{after.path}: something outside the records would change; {_BY_HAND}")
    entries = root.entries.get("records")
    records: dict[str, Any] = {}
    if entries is not None and isinstance(entries[1], MapNode):
        records = entries[1].value
    if list(records) != [record_id for record_id, _ in expected]:
        raise EditError(f"{after.path}: the records would no longer be the same; {_BY_HAND}")
    for record_id, data in expected:
        value: Node | Any = records[record_id]
        if value is not data and not same(data, value):
            place = after.span(("records", record_id), key=True)
            raise EditError(f"{place}: the record {record_id} would change; {_BY_HAND}")
