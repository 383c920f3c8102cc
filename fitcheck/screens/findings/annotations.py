"""Findings as the workflow commands a CI runner turns into annotations on changed lines."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.diagnostics.codes import Severity
from fitcheck.diagnostics.finding import Finding, portable_path
from fitcheck.screens.findings.wording import in_order, remarks

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
