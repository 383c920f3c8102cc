"""Findings for programs: one JSON object a line.

The shape is stable; `version` rises only when a member changes its meaning or goes away. It is
described by schemas/finding.schema.json. All members are always there:

| member | value |
|---|---|
| `version` | 1 |
| `code`, `name` | such as `FC102` and `unknown-field` |
| `severity` | `error`, `warning` or `advice` |
| `message` | one sentence |
| `path` | the file, with forward slashes |
| `line`, `column`, `end_line`, `end_column` | from 1, in code points; the end is exclusive |
| `record` | id of the record, or null |
| `field` | list of keys and list positions (from 0) inside the file |
| `related` | list of other places: the five members of a place, and `label` |
| `help`, `suggestion` | what to do, and a near match; each may be null |
| `fingerprint` | twenty hex digits, the same when the finding moves to another line |
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from fitcheck.diagnostics.finding import Finding, Span
from fitcheck.diagnostics.finding import portable_path
from fitcheck.report.findings.wording import in_order

__all__ = ["VERSION", "finding_as_json", "render_json_lines"]

VERSION = 1


def render_json_lines(findings: Sequence[Finding]) -> str:
    """Findings as JSON lines in plain ASCII, by file, line and column; empty if there are none."""
    return "".join(json.dumps(finding_as_json(finding)) + "\n" for finding in in_order(findings))


def finding_as_json(finding: Finding) -> dict[str, Any]:
    """One finding as the object described above."""
    return {
        "version": VERSION,
        "code": finding.code,
        "name": finding.name,
        "severity": finding.severity,
        "message": finding.message,
        **_place(finding.span),
        "record": finding.record,
        "field": list(finding.field),
        "related": [
            {**_place(related.span), "label": related.label} for related in finding.related
        ],
        "help": finding.help,
        "suggestion": finding.suggestion,
        "fingerprint": finding.fingerprint,
    }


def _place(span: Span) -> dict[str, Any]:
    return {
        "path": portable_path(span.path),
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
    }
