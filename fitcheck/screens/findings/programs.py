"""Findings for other programs: SARIF 2.1.0 and annotations of a CI runner.

SARIF is the OASIS interchange format for the results of checks.
"""

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


_COMMANDS: dict[Severity, str] = {"error": "error", "warning": "warning", "advice": "notice"}


def render_annotations(findings: Sequence[Finding]) -> str:
    """Findings as one command a line, by file, line and column; empty if there are none."""
    return "".join(f"{_command(finding)}\n" for finding in in_order(findings))


def _command(finding: Finding) -> str:
    span = finding.span
    properties = {
        "file": portable_path(span.path),
        "line": str(span.line),
        "col": str(span.column),
        "title": f"{finding.code} {finding.name}",
    }
    listed = ",".join(f"{name}={_property(value)}" for name, value in properties.items())
    places = [f"see {related.span}: {related.label}" for related in finding.related]
    message = "\n".join([finding.message, *places, *remarks(finding)])
    return f"::{_COMMANDS[finding.severity]} {listed}::{_data(message)}"


def _data(text: str) -> str:
    # Half a surrogate pair cannot be printed.
    text = text.encode(errors="backslashreplace").decode()
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    # Colon and comma part the properties from each other and from the message.
    return _data(text).replace(":", "%3A").replace(",", "%2C")
