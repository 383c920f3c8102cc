"""Findings for programs: one JSON object a line.

The shape is stable; `version` rises only when a member changes its meaning or goes away. All
members are always there.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Annotated, Literal, TypedDict

from fitcheck.answers.shapes import By, More, Size, fill, fixed
from fitcheck.diagnostics.finding import Finding, portable_path, sort_key

_VERSION = 1


class _Where(TypedDict):
    path: Annotated[str, By(portable_path)]
    """The file, with forward slashes."""
    line: Size
    """First line."""
    column: Size
    """First column."""
    end_line: Size
    """Last line."""
    end_column: Size
    """Column after the last character."""


class _Related(_Where):
    """A place that has to do with it."""

    label: str
    """Why it is named."""


class _What(TypedDict):
    version: Annotated[int, fixed(_VERSION)]
    """Version of this shape."""
    code: Annotated[str, More(pattern="^FC[0-9]{3}$", examples=["FC102"])]
    """Code of the kind of finding; docs/diagnostics.md lists them."""
    name: Annotated[str, More(pattern="^[a-z0-9]+(?:-[a-z0-9]+)*$", examples=["unknown-field"])]
    """The code in words."""
    severity: Literal["error", "warning", "advice"]
    """error: certainly wrong; warning: probably wrong; advice: worth knowing."""
    message: str
    """One sentence saying what is wrong."""


class _Rest(TypedDict):
    record: str | None
    """Id of the record, if any."""
    field: Annotated[
        list[str | int],
        More(examples=[["records", "MA-1544", "fits", 0, "family"]]),
    ]
    """Keys and list positions, from 0, that lead to the value inside the file."""
    related: list[_Related]
    """Other places that have to do with it."""
    help: str | None
    """What to do, if there is more to say."""
    suggestion: str | None
    """A near match to put in place of the value, if there is one."""
    fingerprint: Annotated[str, More(pattern="^[0-9a-f]{20}$")]
    """Stays the same when the finding moves to another line."""


class FindingLine(_What, _Where, _Rest):
    """One line of `fitcheck check --format jsonl`: one thing wrong with the data. Places count
    lines and columns from 1, columns in code points; the end is exclusive.
    """


def render_json_lines(findings: Sequence[Finding]) -> str:
    """Findings as JSON lines in plain ASCII, by file, line and column; empty if there are none."""
    in_order = sorted(findings, key=sort_key)
    return "".join(json.dumps(_finding(finding)) + "\n" for finding in in_order)


def _finding(finding: Finding) -> FindingLine:
    related = [fill(_Related, one, **fill(_Where, one.span)) for one in finding.related]
    where = fill(_Where, finding.span)
    return fill(FindingLine, finding, version=_VERSION, **where, related=related)
