"""What the renderers of findings share: source lines, remarks, counts and safe text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Protocol

from fitcheck.diagnostics.codes import Severity
from fitcheck.diagnostics.finding import Finding, sort_key


class HasLines(Protocol):
    """A file whose lines can be asked for, such as `catalogue.source.Source`."""

    def line(self, number: int, /) -> str:
        """Text of a line counted from 1, without its break; empty beyond the file."""


SourceLines = Mapping[str, HasLines] | Callable[[str, int], str]
"""Files by path as in `Span.path`, or a function of path and line number."""

_NOUNS: dict[Severity, tuple[str, str]] = {
    "error": ("error", "errors"),
    "warning": ("warning", "warnings"),
    "advice": ("piece of advice", "pieces of advice"),
}


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Findings by file, line, column and code."""
    return sorted(findings, key=sort_key)


def source_line(lines: SourceLines, path: str, number: int) -> str:
    """One line of a file; empty where the file is not at hand."""
    if callable(lines):
        return lines(path, number)
    source = lines.get(path)
    return "" if source is None else source.line(number)


def remarks(finding: Finding) -> list[str]:
    """What to say after the message: the near match, then what to do; either may be missing."""
    said = []
    told = f"{finding.message} {finding.help or ''}"
    near = finding.suggestion
    if near is not None and "did you mean" not in told.lower() and not told.endswith(f" {near}"):
        said.append(f"did you mean {near}?")
    if finding.help:
        said.append(finding.help)
    return said


def tally(findings: Sequence[Finding]) -> str:
    """The counts in words, such as `2 errors and 1 warning in 2 files`."""
    found = Counter(finding.severity for finding in findings)
    counts = [
        f"{found[severity]} {nouns[found[severity] != 1]}"
        for severity, nouns in _NOUNS.items()
        if found[severity]
    ]
    if not counts:
        return "nothing found"
    listed = " and ".join([", ".join(counts[:-1]), counts[-1]] if counts[1:] else counts)
    files = len({finding.span.path for finding in findings})
    return f"{listed} in {files} file{'s' if files != 1 else ''}"


def visible(char: str) -> str:
    """A character as it is shown; one that would move the cursor or hide becomes a mark."""
    return char if char.isprintable() else "\N{REPLACEMENT CHARACTER}"


def list_files(files: Mapping[str, str]) -> str:
    """Example files one below the other, each under its name."""
    return "\n\n".join(f"{name}\n{text.strip()}" for name, text in files.items())


def readable(text: str) -> str:
    """An example's text for people: bytes that are no text, and what does not show, escaped."""
    decoded = text.encode(errors="surrogateescape").decode(errors="backslashreplace")
    return "".join(
        char if char.isprintable() or char in "\t\n" else char.encode("unicode_escape").decode()
        for char in decoded
    )


def one_line(text: str) -> str:
    """Text for a terminal on one line: breaks become spaces, control characters escapes."""
    joined = " ".join(text.split())
    if joined.isprintable():
        return joined
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode("ascii")
        for char in joined
    )
