"""Nasty files: bytes, line ends, YAML that is broken or refused.

Each file: its bytes, and every finding it gives, as line:column (both from 1) and code. A finding
more or less fails. To add one, write the bytes and what a careful reader would expect.
"""

from __future__ import annotations

import pytest

from fitcheck.catalogue import text as text_module
from fitcheck.catalogue.reader import read_records
from tests.conftest import table

TUNE = b"""\
kind: tune
records:
  pipe:
    name: pipe only
    low: 8
    high: 14
"""
SET = b"""\
kind: gear-set
defaults: {supplier: marram}
records:
  MA-1:
    part_number: "1"
    pairs: {primary: 15/44}
"""


def _tune(old: bytes, new: bytes) -> bytes:
    assert TUNE.count(old) == 1
    return TUNE.replace(old, new)


def _set(old: bytes, new: bytes) -> bytes:
    assert SET.count(old) == 1
    return SET.replace(old, new)


NASTY: dict[str, tuple[bytes, list[str]]] = {
    # bytes
    "empty": (b"", ["1:1 FC014"]),
    "blank lines": (b"\n\n  \n", ["1:1 FC014"]),
    "comment only": (b"# to come\n", ["1:1 FC014"]),
    "dashes only": (b"---\n", ["1:1 FC014"]),
    "bom only": (b"\xef\xbb\xbf", ["1:1 FC014"]),
    "bom and fault": (b"\xef\xbb\xbfkind: tunes\nrecords: {a: {}}\n", ["1:7 FC018"]),
    "bom twice": (b"\xef\xbb\xbf\xef\xbb\xbf" + TUNE, ["1:1 FC004"]),
    "utf16 le bom": (TUNE.decode().encode("utf-16"), ["1:1 FC003"]),
    "utf16 be bom": (b"\xfe\xff" + TUNE.decode().encode("utf-16-be"), ["1:1 FC003"]),
    "utf16 no bom": (TUNE.decode().encode("utf-16-le"), ["1:1 FC003"]),
    "utf32": (TUNE.decode().encode("utf-32"), ["1:1 FC003"]),
    "latin1": (_tune(b"pipe only", "günstig".encode("latin-1")), ["4:12 FC003"]),
    "latin1 after umlaut": (
        _tune(b"pipe only", "ü".encode() + "ü".encode("latin-1")),
        ["4:12 FC003"],
    ),
    "utf16 with umlaut no bom": (
        _tune(b"pipe only", "ü".encode()).decode().encode("utf-16-le"),
        ["1:1 FC003"],
    ),
    "overlong": (_tune(b"pipe only", b"\xc0\x80"), ["4:11 FC003"]),
    "surrogate bytes": (_tune(b"pipe only", b"\xed\xa0\x80"), ["4:11 FC003"]),
    "cut off character": (TUNE + b"    notes: \xc3", ["7:12 FC003"]),
    "nul": (_tune(b"pipe only", b"pi\x00pe"), ["4:13 FC004"]),
    "bell": (_tune(b"pipe only", b"pi\x07pe"), ["4:13 FC004"]),
    "escape sequence": (_tune(b"pipe only", b"\x1b[31mred"), ["4:11 FC004"]),
    "delete": (_tune(b"pipe only", b"pip\x7f"), ["4:14 FC004"]),
    "next line": (_tune(b"pipe only", "pi\x85pe".encode()), ["4:13 FC004"]),
    "line separator": (_tune(b"pipe only", "pi\u2028pe".encode()), ["4:13 FC004"]),
    "ctrl z at end": (TUNE + b"\x1a", ["7:1 FC004"]),
    "form feed": (_tune(b"pipe only", b"pi\x0cpe"), ["4:13 FC004"]),
    "nul escape": (_tune(b"pipe only", b'"pi\\0pe"'), ["4:11 FC004"]),
    "surrogate escape": (_tune(b"pipe only", b'"\\ud800"'), ["4:11 FC004"]),
    "huge escape": (_tune(b"pipe only", b'"\\UFFFFFFFF"'), ["4:12 FC005"]),
    "bad escape": (_tune(b"pipe only", b'"C:\\pipe"'), ["4:14 FC005"]),
    "bad hex escape": (_tune(b"pipe only", b'"\\xzz"'), ["4:12 FC005"]),
    "binary": (bytes(range(256)), ["3:115 FC003"]),
    "zip": (b"PK\x03\x04\x14\x00\x06\x00", ["1:3 FC004"]),
    "json ok": (
        b'{"kind": "tune", "records": {"pipe": {"name": "pipe only", "low": 8, "high": 1400}}}',
        ["1:78 FC107"],
    ),
    # line ends
    "crlf": (_tune(b"high: 14", b"high: 1400").replace(b"\n", b"\r\n"), ["6:11 FC107"]),
    "cr": (_tune(b"high: 14", b"high: 1400").replace(b"\n", b"\r"), ["6:11 FC107"]),
    "crlf bom umlaut flow": (
        b"\xef\xbb\xbf"
        + "kind: tune\r\nrecords:\r\n  pipe: {name: ü ü, low: 8, high: 1400}\r\n".encode(),
        ["3:35 FC107"],
    ),
    "emoji before": (
        "kind: tune\nrecords:\n  pipe: {name: \U0001f6f5, low: 8, high: x}\n".encode(),
        ["3:33 FC104"],
    ),
    # syntax
    "tab indent": (_tune(b"    low: 8", b"\tlow: 8"), ["5:1 FC006"]),
    "tab after spaces": (_tune(b"    low: 8", b"  \tlow: 8"), ["5:3 FC006"]),
    "tab indent crlf": (_tune(b"    low: 8", b"\tlow: 8").replace(b"\n", b"\r\n"), ["5:1 FC006"]),
    "tab indent first": (b"\tkind: tune\n", ["1:1 FC006"]),
    "tab in list": (
        b"kind: gear-set\nrecords:\n  MA-1:\n    fits:\n\t- family: x\n",
        ["5:1 FC006"],
    ),
    "tab after colon": (_tune(b"low: 8", b"low:\t8"), []),
    "open double quote": (_tune(b"name: pipe only", b'name: "pipe only'), ["4:11 FC005"]),
    "open single quote": (_tune(b"name: pipe only", b"name: 'pipe only"), ["4:11 FC005"]),
    "open quote closed later": (
        _tune(b"name: pipe only", b'name: "pipe only').replace(b"low: 8", b'low: "8"'),
        ["5:11 FC005"],
    ),
    "text behind quote": (_tune(b"name: pipe only", b'name: "pipe" only'), ["4:18 FC005"]),
    "inch sign": (_tune(b"name: pipe only", b"name: '10'' rim', new"), ["4:21 FC005"]),
    "open bracket": (SET + b"    fits: [{family: a}\n", ["7:11 FC005"]),
    "open bracket then more": (SET + b"    fits: [{family: a}\n    price: 3\n", ["7:11 FC005"]),
    "open brace": (SET + b"    source: {list: a\n    price: 3\n", ["7:13 FC005"]),
    "open brace at end": (SET + b"    source: {list: a", ["7:13 FC005"]),
    "missing comma": (SET + b"    source: {list: a row: 3}\n", ["7:25 FC005"]),
    "missing comma list": (SET + b'    aliases: ["a" "b"]\n', ["7:19 FC005"]),
    "wrong closer": (SET + b"    aliases: [a, b}\n", ["7:19 FC005"]),
    "stray closer": (SET + b"    price: ]\n", ["7:12 FC005"]),
    "double comma": (SET + b"    aliases: [a,, b]\n", ["7:17 FC005"]),
    "no space after colon": (_tune(b"low: 8", b"low:8"), ["5:8 FC005"]),
    "no space at top": (b"kind:tune\nrecords:\n  a: {}\n", ["1:5 FC005"]),
    "no space last line": (_tune(b"high: 14", b"high:14"), ["6:9 FC005"]),
    "two colons": (_tune(b"name: pipe only", b"name: pipe: only"), ["4:15 FC005"]),
    "deeper than value": (_tune(b"    low: 8", b"      low: 8"), ["5:7 FC005"]),
    "outdented": (_tune(b"    high: 14", b"   high: 14"), ["6:4 FC005"]),
    "indented too far at first": (_tune(b"    name", b"      name"), ["5:5 FC005"]),
    "no colon": (_tune(b"low: 8", b"low 8"), ["5:5 FC005"]),
    "no colon last": (_tune(b"high: 14", b"high 14"), ["6:5 FC005"]),
    "at sign": (_tune(b"pipe only", b"@pipe"), ["4:11 FC005"]),
    "backtick": (_tune(b"pipe only", b"`pipe`"), ["4:11 FC005"]),
    "percent": (_tune(b"pipe only", b"%pipe"), ["4:11 FC005"]),
    "star": (_tune(b"pipe only", b"* best"), ["4:11 FC005"]),
    "ampersand": (_tune(b"pipe only", b"& more"), ["4:11 FC005"]),
    "dash behind key": (_tune(b"name: pipe only", b"name: - pipe"), ["4:11 FC005"]),
    "list among keys": (TUNE + b"    - x\n", ["7:5 FC005"]),
    "key among list": (SET + b"    aliases:\n      - a\n      b: 3\n", ["9:7 FC005"]),
    "bad block header": (_tune(b"name: pipe only", b"name: |x"), ["4:12 FC005"]),
    "question mark": (TUNE + b"?\n", ["7:1 FC012"]),
    "colon alone": (b": 1\n", ["1:1 FC012"]),
    "closing document": (TUNE + b"...\nmore: 1\n", ["8:1 FC013"]),
    "directive": (b"%YAML 1.1\n---\n" + TUNE, ["1:1 FC019"]),
    "directive 1.2": (b"%YAML 1.2\n---\n" + TUNE, []),
    "bad directive": (b"%FOO\n" + TUNE, ["1:1 FC019"]),
    "directive without dashes": (b"%YAML 1.2\n" + TUNE, ["1:1 FC019"]),
    "tag directive": (
        b"%TAG ! tag:x,2000:\n---\n" + _tune(b"name: pipe", b"name: !a pipe"),
        ["6:11 FC008"],
    ),
    # refused
    "python tag": (
        _tune(b"name: pipe only", b"name: !!python/object/apply:os.system [ls]"),
        ["4:11 FC008"],
    ),
    "str tag": (_tune(b"low: 8", b"low: !!int 8"), ["5:10 FC008"]),
    "local tag": (_tune(b"  pipe:", b"  pipe: !tune"), ["3:9 FC008"]),
    "undefined handle": (_tune(b"name: pipe only", b"name: !x!y pipe"), ["4:11 FC008"]),
    "lone bang": (_tune(b"name: pipe only", b"name: ! pipe"), ["4:11 FC008"]),
    # An anchor that no alias uses is a name and no more (YAML 1.2.2, 6.9.2).
    "anchor": (_tune(b"low: 8", b"low: &low 8"), []),
    "anchor on mapping": (_tune(b"  pipe:", b"  pipe: &p # why"), []),
    "anchor and a fault": (_tune(b"low: 8", b"low: &low   eight"), ["5:17 FC104"]),
    "anchor of nothing": (_tune(b"low: 8", b"low: &low"), ["5:5 FC115"]),
    "anchor of a key": (_tune(b"low: 8", b"&low low: 8"), ["5:5 FC009"]),
    "anchor and tag": (_tune(b"low: 8", b"low: &low !!int 8"), ["5:15 FC008"]),
    "tag and anchor": (_tune(b"low: 8", b"low: !!int &low 8"), ["5:10 FC008"]),
    "anchor and alias": (
        _tune(b"low: 8\n    high: 14", b"low: &l 8\n    high: *l"),
        ["6:11 FC009"],
    ),
    "alias": (_tune(b"low: 8", b"low: *low"), ["5:10 FC009"]),
    "alias key": (TUNE + b"    *low : 3\n", ["7:5 FC009"]),
    "alias bomb": (
        b"a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\nc: [*b,*b,*b]\n",
        ["2:8 FC009"],
    ),
    "alias to itself": (b"a: &a [*a]\n", ["1:8 FC009"]),
    "merge": (TUNE + b"    <<: {stretch: 16}\n", ["7:5 FC010"]),
    "merge quoted": (TUNE + b"    '<<': 3\n", ["7:5 FC102"]),
    "complex key": (TUNE + b"    ? [stretch]\n    : 16\n", ["7:7 FC011"]),
    "complex flow key": (TUNE + b"    {a: 1}: 16\n", ["7:5 FC011"]),
    "explicit key": (TUNE + b"    ? stretch\n    : 16\n", []),
    "deep flow": (TUNE + b"    notes: " + b"[" * 5000 + b"\n", ["7:49 FC002"]),
    "deep flow map": (TUNE + b"    notes: " + b"{a: " * 5000 + b"\n", ["7:160 FC002"]),
    "deep block": (
        b"kind: tune\nrecords:\n" + b"".join(b" " * i + b"a:\n" for i in range(1, 200)),
        ["42:41 FC002"],
    ),
    "deep dashes": (TUNE + b"    notes:\n      " + b"- " * 500 + b"x\n", ["8:81 FC002"]),
    "two documents": (TUNE + b"---\n" + TUNE, ["7:1 FC013"]),
    "repeated key": (TUNE + b"    high: 15\n", ["7:5 FC007"]),
    "repeated id": (TUNE + b"  pipe: {name: x, low: 1, high: 2}\n", ["7:3 FC007"]),
    "repeated top": (TUNE + b"kind: tune\n", ["7:1 FC007"]),
    "repeated in flow": (SET + b"    source: {row: 1, row: 2}\n", ["7:22 FC007"]),
    "repeated quoted": (TUNE + b'    "high": 15\n', ["7:5 FC007"]),
    "number key": (
        (
            b"kind: supplier\nrecords:\n  a:\n    name: x\n"
            b"    list_mapping:\n      stage_words: {1: primary}\n"
        ),
        ["6:21 FC012"],
    ),
    "true key": (TUNE + b"    true: 3\n", ["7:5 FC102"]),
    "null key": (TUNE + b"    ~: 3\n", ["7:5 FC102"]),
    "empty key": (TUNE + b"    : 3\n", ["7:5 FC012"]),
    "number id": (TUNE + b"  1544: {name: x, low: 1, high: 2}\n", ["7:3 FC109"]),
}


@pytest.mark.parametrize("parser", ["c", "python"])
@table("name", NASTY)
def test_every_fault_is_named_at_its_place(name, parser, tmp_path, monkeypatch):
    if parser == "python":
        monkeypatch.setattr(text_module, "_ruamel_yaml", None)
    elif not text_module.c_parser_available():
        pytest.skip("the C parser is not installed")
    data, expected = NASTY[name]
    path = tmp_path / "nasty.yaml"
    path.write_bytes(data)
    _, findings = read_records(path)
    found = [f"{each.span.line}:{each.span.column} {each.code}" for each in findings]
    assert found == expected
    for finding in findings:
        assert "\n" not in finding.message + (finding.help or "")
        assert len(finding.message) < 200
        assert finding.message.isprintable()
        assert finding.help
        assert (finding.span.end_line, finding.span.end_column) >= (
            finding.span.line,
            finding.span.column,
        )
        assert finding.span.end_line == finding.span.line
