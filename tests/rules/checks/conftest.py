"""Catalogues in which a mark stands before each value that must be found."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.examples import BASE, lay_out
from fitcheck.diagnostics.finding import Finding, shown_path
from fitcheck.rules.checks import check

MARK = re.compile(r"<(FC\d{3})>")

Laid = Callable[..., list[Finding]]


@pytest.fixture
def marked(tmp_path: Path) -> Laid:
    """Check files in which `<FC201>` stands before each value that must be found.

    The marks are taken out before the files are written, so that they give line and column.
    Asserts that these places, and no others, are found, and returns the findings in order.
    """

    def run(files: Mapping[str, str], *, over: Mapping[str, str] = BASE) -> list[Finding]:
        wanted = []
        plain = {}
        for name, text in files.items():
            lines = []
            for number, line in enumerate(text.splitlines(), start=1):
                rest = line
                while (mark := MARK.search(rest)) is not None:
                    wanted.append((mark[1], name, number, mark.start() + 1))
                    rest = rest[: mark.start()] + rest[mark.end() :]
                lines.append(rest)
            plain[name] = "\n".join(lines) + "\n"
        lay_out(tmp_path, over, plain)
        findings = check(load(tmp_path))
        folder = shown_path(tmp_path)
        got = [
            (
                finding.code,
                finding.span.path.removeprefix(f"{folder}/"),
                finding.span.line,
                finding.span.column,
            )
            for finding in findings
        ]
        assert sorted(got) == sorted(wanted), "\n".join(f"{f.span} {f.message}" for f in findings)
        return findings

    return run
