"""A unified diff of two texts, quick where little of much has changed."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import SequenceMatcher

from fitcheck.catalogue.editing.lines import lines_of

CONTEXT = 3

# Old start and end, new start and end, in lines from 0.
Change = tuple[int, int, int, int]


def unified_diff(old: str, new: str, name: str, *, is_new: bool = False) -> str:
    """What changed, as a unified diff; empty where nothing did.

    Args:
        old: the text before.
        new: the text after.
        name: the file as shown.
        is_new: whether the file is still to be made.
    """
    before, after = lines_of(old), lines_of(new)
    changes = list(_changes(before, after))
    if not changes:
        return ""
    out = [f"--- {'/dev/null' if is_new else name}\n", f"+++ {name}\n"]
    for group in _group_changes(changes):
        out += _hunk(before, after, group)
    return "".join(out)


def _changes(before: list[str], after: list[str]) -> Iterator[Change]:
    """Changed ranges; lines that stand once in both texts, in one order, part the work."""
    places_before, places_after = _once(before), _once(after)
    once = places_before.keys() & places_after.keys()
    anchors: list[tuple[int, int]] = []
    for line in sorted(once, key=places_before.__getitem__):
        at, to = places_before[line], places_after[line]
        if not anchors or to > anchors[-1][1]:
            anchors.append((at, to))
    low, high = 0, 0
    for at, to in [*anchors, (len(before), len(after))]:
        yield from _between(before, after, (low, at, high, to))
        low, high = at + 1, to + 1


def _once(lines: list[str]) -> dict[str, int]:
    seen: dict[str, int] = {}
    twice: set[str] = set()
    for at, line in enumerate(lines):
        if line in seen:
            twice.add(line)
        seen[line] = at
    return {line: at for line, at in seen.items() if line not in twice}


def _between(before: list[str], after: list[str], change: Change) -> Iterator[Change]:
    low, at, high, to = change
    while low < at and high < to and before[low] == after[high]:
        low, high = low + 1, high + 1
    while low < at and high < to and before[at - 1] == after[to - 1]:
        at, to = at - 1, to - 1
    if low == at or high == to:
        if (low, high) != (at, to):
            yield low, at, high, to
        return
    matcher = SequenceMatcher(None, before[low:at], after[high:to], autojunk=False)
    for tag, a, b, c, d in matcher.get_opcodes():
        if tag != "equal":
            yield low + a, low + b, high + c, high + d


def _group_changes(changes: list[Change]) -> Iterator[list[Change]]:
    group: list[Change] = []
    for change in changes:
        if group and change[0] - group[-1][1] > 2 * CONTEXT:
            yield group
            group = []
        group.append(change)
    yield group


def _hunk(before: list[str], after: list[str], group: list[Change]) -> list[str]:
    first, last = group[0], group[-1]
    lead = min(CONTEXT, first[0])
    trail = min(CONTEXT, len(before) - last[1])
    old = _range(first[0] - lead, last[1] + trail)
    new = _range(first[2] - lead, last[3] + trail)
    out = [f"@@ -{old} +{new} @@\n"]
    at = first[0] - lead
    for low, high, low_new, high_new in group:
        out += [_line(" ", line) for line in before[at:low]]
        out += [_line("-", line) for line in before[low:high]]
        out += [_line("+", line) for line in after[low_new:high_new]]
        at = high
    return out + [_line(" ", line) for line in before[at : at + trail]]


def _range(start: int, stop: int) -> str:
    length = stop - start
    if length == 1:
        return str(start + 1)
    return f"{start + 1 if length else start},{length}"


def _line(sign: str, line: str) -> str:
    body = line.rstrip("\r\n")
    return f"{sign}{body}\n" if body != line else f"{sign}{body}\n\\ No newline at end of file\n"
