"""The one error of editing: an edit that cannot be made, and nothing was changed by it."""

from __future__ import annotations

from fitcheck.diagnostics.finding import Finding, Span
from fitcheck.errors import FitcheckError


class EditError(FitcheckError):
    """An edit, or a saving, was refused; the text is one line: where, what, what to do.

    The draft is as it was before the edit, and no file was touched, unless the text says so.
    """


def from_finding(finding: Finding, span: Span | None = None) -> EditError:
    """The refusal that a fault of the file or of the new record is.

    Args:
        finding: the fault.
        span: where it stands in the whole file, if the finding counts in a part of it.
    """
    where = finding.span if span is None else span
    advice = f"; {finding.help}" if finding.help else ""
    return EditError(f"{where}: {finding.code} {finding.message}{advice}")
