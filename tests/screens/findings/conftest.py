"""Findings made up for the renderers, with codes of their own so that no wording binds them."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from fitcheck.diagnostics import finding as finding_module
from fitcheck.diagnostics.codes import Code
from fitcheck.diagnostics.examples import Explanation
from fitcheck.diagnostics.finding import Finding, Related, Span
from fitcheck.screens.findings import programs

MADE_UP: Mapping[str, Code] = {
    code.code: code
    for code in (
        Code("FC901", "unknown-widget", "error"),
        Code("FC902", "odd-price", "warning"),
        Code("FC903", "spare-word", "advice"),
    )
}
EXPLAINED: Mapping[str, Explanation] = {
    code.code: Explanation(
        code=code,
        title=title,
        why="Nobody can sell it.",
        bad={"sets/a.yaml": "kind: gear-set\n"},
        good={"sets/a.yaml": "kind: gear-set\nrecords: {}\n"},
    )
    for code, title in zip(
        MADE_UP.values(),
        ("A widget is not known.", "A price is odd.", "A word is spare."),
        strict=True,
    )
}

MARRAM = "sets/marram.yaml"
SHELF = "shelf.yaml"
FILES = {
    MARRAM: [
        "kind: gear-set",
        "records:",
        "  MA-1:",
        "    supplier: maram",
        "    price: 6490",
    ],
    SHELF: ["kind: shelf", "records:", "  MA-1: {quantity: 2}"],
}


@pytest.fixture
def codes(monkeypatch: pytest.MonkeyPatch) -> Mapping[str, Code]:
    """The made-up codes, in force for the findings of this test."""
    monkeypatch.setattr(finding_module, "CODES", MADE_UP)
    monkeypatch.setattr(programs, "explanations", lambda: EXPLAINED)
    return MADE_UP


@pytest.fixture
def line_of() -> Callable[[str, int], str]:
    """The lines of the made-up files."""

    def look_up(path: str, number: int) -> str:
        lines = FILES.get(path, [])
        return lines[number - 1] if 1 <= number <= len(lines) else ""

    return look_up


@pytest.fixture
def three(codes: Mapping[str, Code]) -> list[Finding]:
    """One of each severity, in two files, not in order."""
    return [
        Finding("FC903", "quantity stands alone", Span(SHELF, 3, 9, 3, 22), record="MA-1"),
        Finding(
            "FC902",
            "6490 EUR is a hundred times the others",
            Span(MARRAM, 5, 12, 5, 16),
            record="MA-1",
            field=("records", "MA-1", "price"),
            related=(Related(Span(SHELF, 3, 3, 3, 7), "the shop's own entry"),),
            help="write the decimal point",
        ),
        Finding(
            "FC901",
            "maram is no supplier",
            Span(MARRAM, 4, 15, 4, 20),
            record="MA-1",
            field=("records", "MA-1", "supplier"),
            help="name one of suppliers/",
            suggestion="marram",
        ),
    ]
