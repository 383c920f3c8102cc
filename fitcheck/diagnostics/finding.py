"""One type for everything that is wrong with data, and the places it points at."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path

from fitcheck.diagnostics.codes import CODES, Code, Severity

DocumentPath = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of one file: lines and columns from 1, in code points, the end exclusive."""

    path: str
    line: int = 1
    column: int = 1
    end_line: int = 1
    end_column: int = 1

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Related:
    """Another place that has to do with a finding, and why."""

    span: Span
    label: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong with the data.

    Attributes:
        code: a code of `fitcheck.diagnostics.codes`, such as `FC102`.
        message: one sentence saying what is wrong.
        span: where the very value, key or file is.
        record: id of the record concerned, if any.
        field: path of keys and list positions inside the file.
        related: other places, such as the first use of a repeated id.
        help: what to do, one sentence.
        suggestion: a near match to put in place of the value, if there is one.
    """

    code: str
    message: str
    span: Span
    record: str | None = None
    field: DocumentPath = ()
    related: tuple[Related, ...] = ()
    help: str | None = None
    suggestion: str | None = None

    @property
    def rule(self) -> Code:
        """The registry entry of this finding's code."""
        return CODES[self.code]

    @property
    def name(self) -> str:
        """The readable name of the code, such as `unknown-field`."""
        return self.rule.name

    @property
    def severity(self) -> Severity:
        """error, warning or advice."""
        return self.rule.severity

    @property
    def fingerprint(self) -> str:
        """Twenty hex digits that stay the same when the finding moves to another line."""
        parts = [self.code, self.span.path.replace("\\", "/"), self.record or ""]
        parts += [str(step) for step in self.field]
        if not self.field:
            parts.append(self.message)
        return hashlib.sha256("\x1f".join(parts).encode(errors="surrogatepass")).hexdigest()[:20]


def sort_key(finding: Finding) -> tuple[str, int, int, str, str]:
    """File, line, column, code: the order in which findings are shown."""
    span = finding.span
    return (span.path, span.line, span.column, finding.code, finding.message)


def portable_path(path: str) -> str:
    """A path with forward slashes, for other programs."""
    return path.replace("\\", "/")


def shown_path(path: Path | str) -> str:
    """A path as shown to people: relative to the working folder where that is shorter.

    The working folder and those above it keep their names, since dots alone name nothing.
    """
    whole = os.fspath(path)
    try:
        relative = os.path.relpath(whole)
    except (OSError, ValueError):
        relative = whole
    is_named = relative.strip(f".{os.sep}") != ""
    short = relative if is_named and len(relative) < len(whole) else whole
    # File names may hold bytes that are no text, and line breaks.
    return printable(short.encode("utf-8", errors="backslashreplace").decode("utf-8"))


def printable(text: str) -> str:
    """Text with what cannot be printed as escapes."""
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode("ascii")
        for char in text
    )
