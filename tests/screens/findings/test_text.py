"""Findings as text: the whole page to the letter, and marks that stand under their span."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from fitcheck.diagnostics.codes import Code
from fitcheck.diagnostics.finding import Finding, Related, Span
from fitcheck.screens.findings.text import excerpt, render_text

LineOf = Callable[[str, int], str]

PAGE = """\
sets/marram.yaml:4:15: error FC901 unknown-widget: maram is no supplier
   4 |     supplier: maram
     |               ^^^^^
    did you mean marram?
    help: name one of suppliers/

sets/marram.yaml:5:12: warning FC902 odd-price: 6490 EUR is a hundred times the others
   5 |     price: 6490
     |            ^^^^
    see shelf.yaml:3:3: the shop's own entry
   3 |   MA-1: {quantity: 2}
     |   ^^^^
    help: write the decimal point

shelf.yaml:3:9: advice FC903 spare-word: quantity stands alone
   3 |   MA-1: {quantity: 2}
     |         ^^^^^^^^^^^^^

1 error, 1 warning and 1 piece of advice in 2 files
"""


def test_the_whole_page(three: list[Finding], line_of: LineOf) -> None:
    assert render_text(three, line_of) == PAGE


def test_files_by_path_serve_as_well_as_a_function(three: list[Finding], line_of: LineOf) -> None:
    class File:
        def __init__(self, path: str) -> None:
            self.path = path

        def line(self, number: int) -> str:
            return line_of(self.path, number)

    files = {path: File(path) for path in ("sets/marram.yaml", "shelf.yaml")}
    assert render_text(three, files) == PAGE
    without = render_text(three, {})
    assert "|" not in without
    assert "help: write the decimal point" in without


def test_nothing_found_is_said(line_of: LineOf) -> None:
    assert render_text([], line_of) == "nothing found\n"


def test_counts_in_words(codes: Mapping[str, Code], line_of: LineOf) -> None:
    at = [Span(f"{n}.yaml") for n in "aab"]
    findings = [Finding("FC901", "x", span) for span in at]
    assert render_text(findings, line_of).splitlines()[-1] == "3 errors in 2 files"
    findings += [Finding("FC903", "x", Span("b.yaml", n)) for n in (2, 3)]
    last = render_text(findings, line_of).splitlines()[-1]
    assert last == "3 errors and 2 pieces of advice in 2 files"


def test_colour_only_when_asked_and_only_colour(three: list[Finding], line_of: LineOf) -> None:
    coloured = render_text(three, line_of, colour=True)
    assert "\x1b[1;31merror FC901\x1b[0m" in coloured
    assert "\x1b[1;33mwarning FC902\x1b[0m" in coloured
    assert "\x1b[1;36madvice FC903\x1b[0m" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == PAGE
    assert "\x1b" not in render_text(three, line_of)


@pytest.mark.parametrize("width", [40, 60, 80, 200])
@pytest.mark.parametrize("colour", [False, True])
def test_nothing_is_wider_than_the_terminal(
    codes: Mapping[str, Code], width: int, colour: bool
) -> None:
    line = "  " + "notes: 一二三四五 " * 30
    findings = [
        Finding(
            "FC901",
            "words that go on and on " * 8,
            Span("sets/marram.yaml", 123, column, 123, column + length),
            related=(
                Related(Span("shelf.yaml", 7, 3, 7, 9), "a place that needs many words " * 5),
            ),
            help="do this, then that, and then the other thing " * 4,
        )
        for column in (1, 30, 250, 430)
        for length in (1, 12, 300)
    ]
    page = render_text(findings, lambda *_: line, width=width, colour=colour)
    for shown in re.sub(r"\x1b\[[0-9;]*m", "", page).splitlines():
        assert cell_len(shown) <= width, shown
    marks = [shown for shown in page.splitlines() if "^" in shown]
    assert len(marks) == 2 * len(findings)


def test_a_place_stays_whole_when_lines_wrap(codes: Mapping[str, Code]) -> None:
    finding = Finding("FC901", "too many words for one line of forty", Span("a/b.yaml", 10, 2))
    first, second, *_ = render_text([finding], {}, width=40).splitlines()
    assert first == "a/b.yaml:10:2: error FC901"
    assert second.startswith("  ")


def test_many_places_are_cut_short(codes: Mapping[str, Code]) -> None:
    places = tuple(Related(Span("a.yaml", n, 1, n, 2), "here too") for n in range(1, 10))
    page = render_text([Finding("FC901", "repeated", Span("a.yaml", 20), related=places)], {})
    assert page.count("here too") == 6
    assert "see 3 more places\n" in page


@pytest.mark.parametrize(
    ("help_", "said"),
    [
        (None, 1),
        ("name one of marram, glasswort", 2),
        ("did you mean marram?", 1),
        ("write marram", 1),
    ],
)
def test_a_near_match_is_said_once(codes: Mapping[str, Code], help_: str | None, said: int) -> None:
    finding = Finding("FC901", "x", Span("a.yaml"), help=help_, suggestion="marram")
    assert render_text([finding], {}).count("marram") == said


def test_data_cannot_drive_the_terminal(codes: Mapping[str, Code]) -> None:
    nasty = "a\x1b[2Jb\u202ec\x9bd\nE\r"
    finding = Finding(
        "FC901",
        nasty,
        Span("a.yaml", 1, 1, 1, 4),
        help=nasty,
        suggestion=nasty,
        related=(Related(Span("b.yaml"), nasty),),
    )
    page = render_text([finding], lambda *_: nasty.strip())
    assert all(char.isprintable() or char == "\n" for char in page)
    assert r"a\x1b[2Jb\u202ec\x9bd E" in page


# ---------------------------------------------------------------- marks under a span


@pytest.mark.parametrize(
    ("line", "columns", "shown", "marks"),
    [
        ("price: 6490", (8, 12), "price: 6490", "       ^^^^"),
        ("\tprice: 1", (2, 7), "    price: 1", "    ^^^^^"),
        ("ab\tc\td", (6, 7), "ab  c   d", "        ^"),
        ("\tx", (1, 2), "    x", "^^^^"),
        ("名前: 一", (5, 6), "名前: 一", "      ^^"),
        ("e\u0301le: x", (6, 7), "e\u0301le: x", "    ^"),
        ("a: \u00a0b", (5, 6), "a: \ufffdb", "    ^"),
        ("a: b", (4, 4), "a: b", "   ^"),
        ("a: b", (5, 5), "a: b", "    ^"),
        ("a: b", (99, 120), "a: b", "    ^"),
    ],
)
def test_marks(line: str, columns: tuple[int, int], shown: str, marks: str) -> None:
    found = excerpt(line, Span("a.yaml", 3, columns[0], 3, columns[1]))
    assert (found.line, found.marks) == (shown, marks)


def test_marks_of_a_span_over_several_lines_run_to_the_end() -> None:
    found = excerpt("notes: [a,", Span("a.yaml", 3, 8, 5, 2))
    assert found.marks == "       ^^^"


def test_a_long_line_is_cut_round_the_span() -> None:
    line = "x" * 100 + "HERE" + "y" * 100
    found = excerpt(line, Span("a.yaml", 1, 101, 1, 105), width=40)
    start = found.marks.index("^")
    assert found.line[start : start + 4] == "HERE"
    assert found.marks.count("^") == 4
    assert found.line.startswith("…")
    assert found.line.endswith("…")


TEXT = st.text(st.sampled_from("ab: \t一é\u0301名\u00a0\x07{}"), max_size=120)


@given(TEXT, st.integers(1, 130), st.integers(0, 130), st.one_of(st.none(), st.integers(12, 90)))
def test_the_characters_above_the_marks_are_those_of_the_span(
    line: str, column: int, length: int, width: int | None
) -> None:
    """The cells over the marks hold the span's text as shown, or its head where it is cut."""
    found = excerpt(line, Span("a.yaml", 1, column, 1, column + length), width)
    start, end = found.marks.index("^"), len(found.marks)
    assert set(found.marks[start:]) == {"^"}
    if width is not None:
        assert cell_len(found.line) <= width
        assert end <= width
    if width is None and length and column <= len(line):
        before, spanned = line[: column - 1], line[column - 1 : column - 1 + length]
        assert start == cells(before, 0)
        assert end - start == max(1, cells(spanned, start))


def cells(text: str, start: int) -> int:
    """Cells a text takes from a cell on, counted character by character."""
    at = start
    for char in text:
        if char == "\t":
            at += 4 - at % 4
        elif char in "一名":
            at += 2
        elif char != "\u0301":
            at += 1
    return at - start
