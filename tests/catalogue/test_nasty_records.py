"""Nasty files: the outer form of a file, and single records.

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

FAMILY = b"""\
kind: family
records:
  a:
    name: A
    housings: {s: {name: s}}
"""
MACHINE = b"""\
kind: machine
records:
  a:
    name: A
    family: f
    pairs: {single: 15/44}
"""


def _tune(old: bytes, new: bytes) -> bytes:
    assert TUNE.count(old) == 1
    return TUNE.replace(old, new)


def _set(old: bytes, new: bytes) -> bytes:
    assert SET.count(old) == 1
    return SET.replace(old, new)


NASTY: dict[str, tuple[bytes, list[str]]] = {
    # shape
    "a list": (b"- a\n- b\n", ["1:1 FC016"]),
    "a text": (b"hello\n", ["1:1 FC016"]),
    "a number": (b"42\n", ["1:1 FC016"]),
    "flow list": (b"[1, 2]\n", ["1:1 FC016"]),
    "block text": (b"|\n  a\n  b\n", ["1:1 FC016"]),
    "kind missing": (_tune(b"kind: tune\n", b""), ["1:1 FC017"]),
    "kind empty": (_tune(b"kind: tune\n", b"kind:\n"), ["1:1 FC017"]),
    "kind mistyped": (_tune(b"kind: tune\n", b"kind: toon\n"), ["1:7 FC018"]),
    "kind plural": (_set(b"gear-set", b"gear_sets"), ["1:7 FC018"]),
    "kind unknown": (_tune(b"kind: tune\n", b"kind: banana\n"), ["1:7 FC018"]),
    "kind number": (_tune(b"kind: tune\n", b"kind: 7\n"), ["1:7 FC018"]),
    "kind list": (_tune(b"kind: tune\n", b"kind: [tune]\n"), ["1:7 FC018"]),
    "kind capital": (_tune(b"kind: tune\n", b"Kind: tune\n"), ["1:1 FC020"]),
    "kind and fields wrong": (b"kind: gearset\nrecords:\n  a: {foo: 1}\n", ["1:7 FC018"]),
    "records missing": (b"kind: tune\n", ["1:1 FC021"]),
    "records mistyped": (b"kind: tune\nrecord:\n  a: {}\n", ["2:1 FC020"]),
    "records a list": (b"kind: tune\nrecords:\n  - name: a\n", ["3:3 FC022"]),
    "records a text": (b"kind: tune\nrecords: none\n", ["2:10 FC022"]),
    "records empty": (b"kind: tune\nrecords: {}\n", ["2:1 FC024"]),
    "records nothing": (b"kind: tune\nrecords:\n", ["2:1 FC024"]),
    "unknown top": (TUNE + b"version: 2\n", ["7:1 FC020"]),
    "outdented record": (TUNE + b"kit:\n  name: x\n", ["7:1 FC020"]),
    "empty map": (b"{}\n", ["1:1 FC017", "1:1 FC021"]),
    "defaults elsewhere": (b"kind: tune\ndefaults: {low: 3}\n" + TUNE[11:], ["2:1 FC023"]),
    "defaults a list": (_set(b"{supplier: marram}", b"[supplier]"), ["2:11 FC023"]),
    "defaults unknown": (
        _set(b"supplier: marram", b"supplier: marram, suplier: x"),
        ["2:30 FC023"],
    ),
    "defaults wrong value": (_set(b"marram}", b"marram, currency: euro}"), ["2:40 FC111"]),
    "defaults wrong once": (
        _set(b"marram}", b"marram, availability: soon}")
        + b"  MA-2: {part_number: '2', pairs: {primary: 15/44}}\n",
        ["2:44 FC106"],
    ),
    "default overridden": (
        _set(b"marram}", b"marram, currency: euro}") + b"    currency: EUR\n",
        [],
    ),
    # records
    "record a text": (b"kind: tune\nrecords:\n  pipe: fine\n", ["3:9 FC101"]),
    "record a list": (b"kind: tune\nrecords:\n  pipe: [a]\n", ["3:9 FC101"]),
    "record empty": (b"kind: tune\nrecords:\n  pipe:\n", ["3:3 FC101"]),
    "record empty map": (
        b"kind: tune\nrecords:\n  pipe: {}\n",
        ["3:3 FC103", "3:3 FC103", "3:3 FC103"],
    ),
    "one bad one good": (TUNE + b"  kit: {name: kit, low: 1, high: x}\n", ["7:34 FC104"]),
    "id with space": (_tune(b"  pipe:", b"  pipe only:"), ["3:3 FC109"]),
    "id with dot first": (_tune(b"  pipe:", b"  .pipe:"), ["3:3 FC109"]),
    "id digits first": (_tune(b"  pipe:", b"  50pipe:"), ["3:3 FC109"]),
    "id umlaut": (_tune(b"  pipe:", "  töpf:".encode()), ["3:3 FC109"]),
    "id too long": (_tune(b"  pipe:", b"  " + b"p" * 61 + b":"), ["3:3 FC109"]),
    "id twice ignoring case": (TUNE + b"  PIPE: {name: x, low: 1, high: 2}\n", ["7:3 FC110"]),
    "unknown field": (TUNE + b"    strech: 16\n", ["7:5 FC102"]),
    "unknown field far": (TUNE + b"    colour: red\n", ["7:5 FC102"]),
    "missing field": (_tune(b"    name: pipe only\n", b""), ["3:3 FC103"]),
    "mistyped needed field": (_tune(b"    name:", b"    nmae:"), ["4:5 FC102"]),
    "unknown in list": (
        SET + b"    fits:\n      - {family: a}\n      - {family: b, housing: [x]}\n",
        ["9:21 FC102"],
    ),
    "missing in list": (
        SET + b"    fits:\n      - {family: a}\n      - housings: [x]\n",
        ["9:9 FC103"],
    ),
    "wrong item": (SET + b"    aliases: [a, 7, true, c]\n", ["7:18 FC105", "7:21 FC105"]),
    "wrong nested item": (
        SET
        + b"    fits:\n      - family: a\n        housings:\n          - short\n          - 1\n",
        ["11:13 FC105"],
    ),
    "quoted number": (_tune(b"high: 14", b'high: "14"'), ["6:11 FC104"]),
    "decimal comma": (_tune(b"high: 14", b"high: 14,5"), ["6:11 FC104"]),
    "with unit": (_tune(b"high: 14", b"high: 14 %"), ["6:11 FC104"]),
    "words for number": (_tune(b"high: 14", b"high: fourteen"), ["6:11 FC104"]),
    "bool for number": (_tune(b"high: 14", b"high: true"), ["6:11 FC104"]),
    "yes for number": (_tune(b"high: 14", b"high: yes"), ["6:11 FC104"]),
    "list for number": (_tune(b"high: 14", b"high: [14]"), ["6:11 FC104"]),
    "nothing for number": (_tune(b"high: 14", b"high:"), ["6:5 FC115"]),
    "tilde for number": (_tune(b"high: 14", b"high: ~"), ["6:11 FC115"]),
    "inf": (_tune(b"high: 14", b"high: .inf"), ["6:11 FC107"]),
    "nan": (_tune(b"high: 14", b"high: .nan"), ["6:11 FC107"]),
    "too large": (_tune(b"high: 14", b"high: 14000"), ["6:11 FC107"]),
    "too small": (_tune(b"low: 8", b"low: -100"), ["5:10 FC107"]),
    "huge exponent": (_tune(b"high: 14", b"high: 1e999999999"), ["6:11 FC015"]),
    "tiny exponent": (SET + b"    price: 1e-999999999\n", ["7:12 FC015"]),
    "long digits": (SET + b"    price: " + b"9" * 5000 + b"\n", ["7:12 FC015"]),
    "leading zero part": (_set(b'"1"', b"007"), ["5:18 FC105"]),
    "exponent part": (_set(b'"1"', b"1E5"), ["5:18 FC105"]),
    "hex part": (_set(b'"1"', b"0x1F"), ["5:18 FC105"]),
    "decimal part": (_set(b'"1"', b"10.50"), ["5:18 FC105"]),
    "bool part": (_set(b'"1"', b"true"), ["5:18 FC105"]),
    "null part": (_set(b'"1"', b"null"), ["5:18 FC115"]),
    "empty part": (_set(b'"1"', b'""'), ["5:18 FC111"]),
    "blank part": (_set(b'"1"', b'"  "'), ["5:18 FC111"]),
    "long part": (_set(b'"1"', b'"' + b"x" * 2001 + b'"'), ["5:18 FC111"]),
    "long digits part": (_set(b'"1"', b"9" * 50), ["5:18 FC015"]),
    "norway": (SET + b"    aliases: [DE, NO]\n", ["7:19 FC114"]),
    "yes text": (SET + b"    notes: yes\n", ["7:12 FC114"]),
    "underscore number": (SET + b"    price: 1_000\n", ["7:12 FC104"]),
    "underscore part": (_set(b'"1"', b"1_000"), ["5:18 FC114"]),
    "leading zero count": (b"kind: shelf\nrecords:\n  MA-1: {quantity: 010}\n", ["3:20 FC114"]),
    "count with point": (b"kind: shelf\nrecords:\n  MA-1: {quantity: 2.0}\n", ["3:20 FC104"]),
    "count negative": (b"kind: shelf\nrecords:\n  MA-1: {quantity: -1}\n", ["3:20 FC107"]),
    "teeth base 60": (_set(b"15/44", b"938"), ["6:22 FC108"]),
    "teeth colon": (
        _set(b"    pairs: {primary: 15/44}\n", b"    pairs:\n      primary: 15:38\n"),
        ["7:16 FC114"],
    ),
    "teeth colon flow": (_set(b"15/44", b"15:38"), ["6:22 FC114"]),
    "teeth colon list": (
        _set(b"{primary: 15/44}", b"{primary: 15/44, secondary: [13:49]}"),
        ["6:40 FC108", "6:41 FC114"],
    ),
    "teeth equal": (_set(b"15/44", b"15/15"), ["6:22 FC108"]),
    "teeth few": (_set(b"15/44", b"4/44"), ["6:22 FC108"]),
    "teeth list three": (_set(b"15/44", b"[15, 44, 3]"), ["6:22 FC108"]),
    "teeth list word": (_set(b"15/44", b"[15, x]"), ["6:27 FC108"]),
    "teeth list half": (_set(b"15/44", b"[15.5, 44]"), ["6:23 FC108"]),
    "teeth list many": (_set(b"15/44", b"[15, 944]"), ["6:27 FC108"]),
    "teeth map": (_set(b"15/44", b"{driver: 15, driven: 44}"), ["6:22 FC108"]),
    "teeth empty": (_set(b"15/44", b""), ["6:13 FC115"]),
    "teeth bool": (_set(b"15/44", b"true"), ["6:22 FC108"]),
    "teeth ratio": (_set(b"15/44", b"2.93"), ["6:22 FC108"]),
    "teeth three stages": (_set(b"15/44", b"14/46/13"), ["6:22 FC108"]),
    "stage mistyped": (_set(b"primary", b"primery"), ["6:13 FC106"]),
    "pairs empty": (_set(b"{primary: 15/44}", b"{}"), ["6:12 FC115"]),
    "pairs text": (_set(b"{primary: 15/44}", b"15/44"), ["6:12 FC104"]),
    "pairs list": (_set(b"{primary: 15/44}", b"[15/44]"), ["6:12 FC104"]),
    "word with space": (SET + b"    availability: in stock\n", ["7:19 FC106"]),
    "word bool": (SET + b"    status: true\n", ["7:13 FC106"]),
    "word list": (SET + b"    status: [active]\n", ["7:13 FC106"]),
    "word in list": (SET + b"    measured: [pairs, pinion seat]\n", ["7:23 FC106"]),
    "currency": (SET + b"    currency: eur\n", ["7:15 FC111"]),
    "date day first": (SET + b"    source: {date: 31.3.2026}\n", ["7:20 FC112"]),
    "date none": (SET + b"    source: {date: 2026-02-30}\n", ["7:20 FC112"]),
    "date year": (SET + b"    source: {date: 2026}\n", ["7:20 FC112"]),
    "date quoted": (SET + b"    source: {date: '2026-02-28'}\n", []),
    "geometry elsewhere": (
        SET + b"    geometry:\n      secondary: {normal_module_mm: 1.5, helix_angle_deg: 0}\n",
        ["8:7 FC113"],
    ),
    "geometry far off": (
        SET + b"    geometry:\n      primary: {normal_module_mm: 15, helix_angle_deg: 60}\n",
        ["8:35 FC107", "8:56 FC107"],
    ),
    "list for map": (SET + b"    source: [a]\n", ["7:13 FC104"]),
    "text for list": (SET + b"    also_needs: gasket\n", ["7:17 FC104"]),
    "map for list": (SET + b"    aliases: {a: b}\n", ["7:14 FC104"]),
    "empty list key": (SET + b"    fits:\n", ["7:5 FC115"]),
    "empty item": (SET + b"    fits:\n      -\n", ["8:8 FC115"]),
    "edges swapped": (_tune(b"low: 8", b"low: 18"), ["6:5 FC113"]),
    "stretch under": (TUNE + b"    stretch: 13\n", ["7:5 FC113"]),
    "stages no train": (
        FAMILY + b"    stages: {secondary: {}}\n",
        ["6:14 FC113"],
    ),
    "stages no train two": (
        FAMILY + b"    stages: {primary: {}, tertiary: {}}\n",
        ["6:5 FC113"],
    ),
    "housing id": (
        FAMILY.replace(b"{s: {name: s}}", b"{1s: {name: s}, short case: {name: t}}")
        + b"    stages: {single: {}}\n",
        ["5:16 FC109", "5:31 FC109"],
    ),
    "engine halves": (
        MACHINE + b"    engine: {peak_power_kw: 3}\n",
        ["7:14 FC113"],
    ),
    "variator": (
        MACHINE + b"    variator: {low_ratio: 0.8, high_ratio: 2.6}\n",
        ["7:32 FC113"],
    ),
    "points": (
        MACHINE + b"    engine:\n      points:\n        - {rpm: 5000, power_kw: 2}\n"
        b"        - {rpm: 6000, power_kw: 2 kW}\n        - {rpm: 7000}\n",
        ["10:33 FC104", "11:12 FC113"],
    ),
    "point twice said": (
        MACHINE + b"    engine:\n      points:\n        - {rpm: 5000, power_kw: 2}\n"
        b"        - {rpm: 6000, power_kw: 2, torque_nm: 3}\n",
        ["10:36 FC113"],
    ),
    "points out of order": (
        MACHINE + b"    engine:\n      points:\n        - {rpm: 6000, torque_nm: 4}\n"
        b"        - {rpm: 6000, torque_nm: 3}\n",
        ["8:7 FC113"],
    ),
    "one point": (MACHINE + b"    engine: {points: [{rpm: 6000, torque_nm: 4}]}\n", ["7:14 FC113"]),
    "clutch after shift": (
        MACHINE + b"    variator: {low_ratio: 2.6, high_ratio: 0.8, engage_rpm: 7000,\n"
        b"      shift_rpm: 3500}\n",
        ["8:7 FC113"],
    ),
    "efficiency in percent": (
        MACHINE + b"    variator: {low_ratio: 2.6, high_ratio: 0.8, efficiency: 83}\n",
        ["7:61 FC107"],
    ),
    "belt and fixed ratio": (
        MACHINE + b"    fixed_ratio: 3\n    variator: {low_ratio: 2.6, high_ratio: 0.8}\n",
        ["8:5 FC113"],
    ),
    "masses": (
        MACHINE + b"    masses: {running_order_kg: 0, rider_kg: 5000}\n",
        ["7:32 FC107", "7:45 FC107"],
    ),
    "drag in square centimetres": (
        MACHINE + b"    drag_area_m2: 5200\n    rolling_coefficient: 1.8\n",
        ["7:19 FC107", "8:26 FC107"],
    ),
    "works figures": (
        FAMILY + b"    stages: {single: {}}\n    fixed_ratio: 0\n    running_order_kg: 5000\n"
        b"    engine: {peak_power_rpm: 7000}\n",
        ["7:18 FC107", "8:23 FC107", "9:14 FC113"],
    ),
    "factors of a tune": (
        _tune(b"low: 8", b"low: 8\n    power_factor: 108\n    rpm_factor: 0"),
        ["6:19 FC107", "7:17 FC107"],
    ),
    "reference form": (_set(b"supplier: marram", b"supplier: the marram"), ["2:22 FC109"]),
    "reference number": (_set(b"supplier: marram", b"supplier: 12"), ["2:22 FC105"]),
    "many faults": (
        (
            b"kind: gear-set\nfoo: 1\nrecords:\n  1A:\n    supplier: 7\n"
            b"    pairs: {primary: x, secondry: 13/49}\n    price: -1\n    nots: hi\n"
        ),
        [
            "2:1 FC020",
            "4:3 FC103",
            "4:3 FC109",
            "5:15 FC105",
            "6:22 FC108",
            "6:25 FC106",
            "7:12 FC107",
            "8:5 FC102",
        ],
    ),
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
