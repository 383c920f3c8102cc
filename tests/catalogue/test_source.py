"""Places in one file: spans of values, keys and list items; columns under every line end."""

from __future__ import annotations

import gc
import os

import pytest

from fitcheck.catalogue import source as source_module
from fitcheck.catalogue.source import gc_paused, read_source, source_from_bytes
from fitcheck.diagnostics.finding import Span, shown_path
from fitcheck.errors import UnreadableError

TEXT = """\
# a file with everything
kind: gear-set
records:
  MA-1:
    part_number: "007"   # quoted
    pairs: {primary: 15/44, secondary: [13, 49]}
    fits:
      - {family: dunlin-50, housings: [short, 'mid case']}
      - family: sanderling-50
        housings:
          - long
    notes: |
      two lines
      of text

    price:
"""


def made(text: str = TEXT, name: str = "a.yaml"):
    source, findings = source_from_bytes(name, text.encode())
    assert findings == []
    return source


def cut(text: str, span: Span) -> str:
    """What stands in a span, counted with nothing but str.splitlines on plain newlines."""
    lines = text.split("\n")
    if span.line == span.end_line:
        return lines[span.line - 1][span.column - 1 : span.end_column - 1]
    parts = [lines[span.line - 1][span.column - 1 :]]
    parts += lines[span.line : span.end_line - 1]
    parts.append(lines[span.end_line - 1][: span.end_column - 1])
    return "\n".join(parts)


M = ("records", "MA-1")
VALUES = {
    ("kind",): "gear-set",
    (*M, "part_number"): '"007"',
    (*M, "pairs"): "{primary: 15/44, secondary: [13, 49]}",
    (*M, "pairs", "secondary"): "[13, 49]",
    (*M, "pairs", "secondary", 1): "49",
    (*M, "fits", 0): "{family: dunlin-50, housings: [short, 'mid case']}",
    (*M, "fits", 0, "housings", 1): "'mid case'",
    (*M, "fits", 1, "family"): "sanderling-50",
    (*M, "fits", 1, "housings"): "- long",
    (*M, "fits", 1, "housings", 0): "long",
    (*M, "fits", 1): "family: sanderling-50\n        housings:\n          - long",
    (*M, "notes"): "|\n      two lines\n      of text",
}


@pytest.mark.parametrize("path", VALUES, ids=str)
@pytest.mark.parametrize("mark", [False, True], ids=["plain", "bom"])
def test_a_span_holds_the_very_value(path, mark):
    source, _ = source_from_bytes("a.yaml", (b"\xef\xbb\xbf" if mark else b"") + TEXT.encode())
    assert cut(TEXT, source.span(path)) == VALUES[path]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"], ids=["lf", "crlf", "cr"])
def test_lines_and_columns_do_not_depend_on_the_line_ends(end):
    source = made(TEXT.replace("\n", end))
    reference = made()
    for path in VALUES:
        assert source.span(path) == reference.span(path)
    for number in range(1, 18):
        assert source.line(number) == reference.line(number)


def test_a_column_counts_code_points():
    source = made("kind: tune\nrecords:\n  a: {name: \U0001f6f5 ü e\u0301, low: 3}\n")
    assert str(source.span(("records", "a", "low"))) == "a.yaml:3:26"


@pytest.mark.parametrize(
    ("path", "word"),
    [
        ((*M, "fits", 0, "housings"), "housings"),
        ((*M, "fits"), "fits"),
        (M, "MA-1"),
        (("kind",), "kind"),
    ],
)
def test_a_key_has_a_span_of_its_own(path, word):
    assert cut(TEXT, made().span(path, key=True)) == word


@pytest.mark.parametrize(
    ("path", "word"),
    [
        ((*M, "currency"), "MA-1"),
        ((*M, "fits", 0, "evidence"), VALUES[(*M, "fits", 0)]),
        ((*M, "fits", 7, "family"), "fits"),
        ((*M, "price"), "price"),
        (("records", "MA-2", "pairs"), "records"),
    ],
)
def test_a_path_that_leads_nowhere_gives_the_nearest_place(path, word):
    assert cut(TEXT, made().span(path)) == word


def test_a_file_without_a_tree_still_has_a_place():
    source, findings = source_from_bytes("a.yaml", b"")
    assert source.root is None
    assert findings == []
    assert source.span(("records", "x")) == Span("a.yaml", 1, 1, 1, 1)


def test_lines_beyond_the_file_are_empty():
    source = made("kind: tune\nrecords: {}\n")
    assert [source.line(number) for number in (0, 1, 2, 3, 4)] == [
        "",
        "kind: tune",
        "records: {}",
        "",
        "",
    ]


def test_nodes_keep_raw_text_and_quotes():
    source = made("kind: tune\na: 007\nb: '007'\nc: 1E5\n")
    nodes = [source.node((name,)) for name in "abc"]
    assert [(node.text, node.plain) for node in nodes] == [
        ("007", True),
        ("007", False),
        ("1E5", True),
    ]
    assert [source.text[node.start : node.end] for node in nodes] == ["007", "'007'", "1E5"]


def test_the_byte_order_mark_is_remembered():
    assert source_from_bytes("a.yaml", b"\xef\xbb\xbfkind: tune\n")[0].marked
    assert not source_from_bytes("a.yaml", b"kind: tune\n")[0].marked


def test_the_garbage_collector_runs_again_after_a_fault():
    assert gc.isenabled()
    source_from_bytes("a.yaml", b"a: [\n")
    assert gc.isenabled()
    gc.disable()
    try:
        with gc_paused():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_a_path_is_shown_as_short_as_it_can_be(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert shown_path(tmp_path / "sets" / "a.yaml") == "sets/a.yaml".replace("/", os.sep)
    assert shown_path("a.yaml") == "a.yaml"
    far = tmp_path / "x" / "y" / "z" / "w"
    far.mkdir(parents=True)
    monkeypatch.chdir(far)
    assert shown_path("/b.yaml") == "/b.yaml"


def test_a_folder_above_keeps_its_name(tmp_path, monkeypatch):
    below = tmp_path / "shop" / "till"
    below.mkdir(parents=True)
    monkeypatch.chdir(below)
    for folder in (tmp_path, tmp_path / "shop", below):
        assert shown_path(folder) == str(folder)
    assert shown_path(tmp_path / "shop" / "catalog") == "../catalog".replace("/", os.sep)
    assert shown_path("..") == ".."


def test_a_file_name_that_is_no_text_can_be_shown():
    assert shown_path(os.fsdecode(b"/t\xffst\n.yaml")) == "/t\\udcffst\\n.yaml"


@pytest.mark.parametrize("name", ["missing.yaml", "folder", "link.yaml", "loop.yaml"])
def test_a_named_file_that_cannot_be_read_is_said_at_once(name, tmp_path):
    (tmp_path / "folder").mkdir()
    (tmp_path / "link.yaml").symlink_to(tmp_path / "nowhere.yaml")
    (tmp_path / "loop.yaml").symlink_to(tmp_path / "loop.yaml")
    with pytest.raises(UnreadableError, match=name):
        read_source(tmp_path / name, named=True)
    source, findings = read_source(tmp_path / name)
    assert [finding.code for finding in findings] == ["FC001"]
    assert source.root is None


def test_a_pipe_in_a_catalogue_does_not_hold_the_reading_up(tmp_path):
    os.mkfifo(tmp_path / "pipe.yaml")
    _, findings = read_source(tmp_path / "pipe.yaml")
    assert [finding.code for finding in findings] == ["FC001"]


def test_a_file_beyond_the_bound_is_not_parsed(tmp_path, monkeypatch):
    path = tmp_path / "large.yaml"
    path.write_bytes(b"# " + b"x" * source_module.MAX_FILE_BYTES)
    source, findings = read_source(path)
    assert [finding.code for finding in findings] == ["FC002"]
    assert source.text == ""
    monkeypatch.setattr(source_module, "MAX_FILE_BYTES", path.stat().st_size)
    assert read_source(path)[1] == []


def test_too_many_values_are_refused(monkeypatch):
    from fitcheck.catalogue import tree

    monkeypatch.setattr(tree, "MAX_NODES", 100)
    _, findings = source_from_bytes("a.yaml", b"a: [" + b"1," * 200 + b"]\n")
    assert [(each.code, each.span.column) for each in findings] == [("FC002", 201)]


def test_a_large_file_is_explained_by_the_parser_that_read_it(monkeypatch):
    monkeypatch.setattr(source_module, "RETRY_LENGTH", 10)
    _, findings = source_from_bytes("a.yaml", b"kind: gear-set\na: [15:38, 13:49]\n", parser="c")
    assert [(each.code, str(each.span), each.help) for each in findings] == [
        ("FC005", "a.yaml:2:5", "write 15/38")
    ]
