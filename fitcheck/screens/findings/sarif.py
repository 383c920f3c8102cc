"""Findings as SARIF 2.1.0, the OASIS interchange format for the results of checks."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any
from urllib.parse import quote

from fitcheck import __version__
from fitcheck.diagnostics.codes import Severity
from fitcheck.diagnostics.examples import Explanation, explanations
from fitcheck.diagnostics.finding import Finding, Span, portable_path
from fitcheck.screens.findings.wording import in_order, list_files, remarks

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
ROOT = "SRCROOT"
FINGERPRINT = "fitcheckFinding/v1"
_LEVELS: dict[Severity, str] = {"error": "error", "warning": "warning", "advice": "note"}


def render_sarif(findings: Sequence[Finding], *, root: Path | None = None) -> str:
    """Findings as a SARIF 2.1.0 log with one run.

    Args:
        findings: in any order; the results stand by file, line and column.
        root: the folder that relative paths start from. Default: the working folder.

    Returns:
        The log in plain ASCII, ending in a line break. Columns count code points and ends are
        exclusive, as in `Span`.
    """
    rules = explanations()
    order = {code: number for number, code in enumerate(rules)}
    log = {
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {"driver": _driver(rules.values())},
                "originalUriBaseIds": {ROOT: {"uri": _folder_uri(root or Path.cwd())}},
                "columnKind": "unicodeCodePoints",
                "results": [_result(finding, order) for finding in in_order(findings)],
            }
        ],
    }
    return json.dumps(log, indent=2) + "\n"


def _driver(rules: Iterable[Explanation]) -> dict[str, Any]:
    return {
        "name": "fitcheck",
        "version": __version__,
        "rules": [_rule(each) for each in rules],
    }


def _rule(told: Explanation) -> dict[str, Any]:
    code, title, why = told.code, told.title, told.why
    return {
        "id": code.code,
        "name": code.name,
        "shortDescription": {"text": title},
        "fullDescription": {"text": why},
        "help": {"text": f"{title}\n\n{why}\n\nRight:\n\n{list_files(told.good)}"},
        "defaultConfiguration": {"level": _LEVELS[code.severity]},
    }


def _result(finding: Finding, order: Mapping[str, int]) -> dict[str, Any]:
    result: dict[str, Any] = {
        "ruleId": finding.code,
        "ruleIndex": order[finding.code],
        "level": _LEVELS[finding.severity],
        "message": {"text": "\n".join([finding.message, *remarks(finding)])},
        "locations": [{"physicalLocation": _place(finding.span)}],
        "partialFingerprints": {FINGERPRINT: finding.fingerprint},
    }
    if finding.record is not None:
        path = "/".join(str(step) for step in finding.field)
        logical = {"name": finding.record} | ({"fullyQualifiedName": path} if path else {})
        result["locations"][0]["logicalLocations"] = [logical]
    if finding.related:
        result["relatedLocations"] = [
            {
                "id": number,
                "physicalLocation": _place(related.span),
                "message": {"text": related.label},
            }
            for number, related in enumerate(finding.related, 1)
        ]
    return result


def _place(span: Span) -> dict[str, Any]:
    return {
        "artifactLocation": _artifact(span.path),
        "region": {
            "startLine": span.line,
            "startColumn": span.column,
            "endLine": span.end_line,
            "endColumn": span.end_column,
        },
    }


def _artifact(path: str) -> dict[str, Any]:
    """A file below the root as a relative reference, any other by its whole URI."""
    windows = PureWindowsPath(path)
    if windows.is_absolute():
        return {"uri": f"file:///{windows.drive}{quote(windows.as_posix()[len(windows.drive) :])}"}
    plain = PurePosixPath(portable_path(path))
    if plain.is_absolute() or ".." in plain.parts:
        return {"uri": _file_uri(Path(os.path.realpath(plain)))}
    # A colon in the first part would read as a scheme, so it is escaped like the rest.
    return {"uri": quote(plain.as_posix()), "uriBaseId": ROOT}


def _file_uri(path: Path) -> str:
    return "file://" + quote(path.as_posix())


def _folder_uri(path: Path) -> str:
    return _file_uri(Path(os.path.realpath(path))).rstrip("/") + "/"
