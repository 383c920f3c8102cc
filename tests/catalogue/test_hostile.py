"""Random damage to good files: nothing is ever raised, and every finding can be shown."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.catalogue.reader import read_records
from fitcheck.diagnostics.examples import BASE
from fitcheck.diagnostics.finding import Finding

TEXTS = list(BASE.values())
VALUES = [
    *[
        "1",
        "-1",
        "0",
        "007",
        "1.5",
        "1e3",
        "1e99999",
        ".inf",
        ".nan",
        "true",
        "no",
        "~",
        '""',
        "' '",
    ],
    *[
        "x",
        "15/38",
        "15:38",
        "938",
        "[15, 38]",
        "[15]",
        "[]",
        "{}",
        "{a: b}",
        "[[1]]",
        "2026-03-31",
    ],
    *["31.3.2026", "64,90", "12 mm", "primary", "{primary: 15/44}", "'\U0001f6f5'", '"\\x07"', "|"],
]


def check(path, data: bytes) -> None:
    path.write_bytes(data)
    entries, findings = read_records(path)
    for finding in findings:
        said(finding)
    for entry in entries:
        for name in type(entry.record).model_fields:
            assert entry.span(name).line >= 1


def said(finding: Finding) -> None:
    span = finding.span
    assert finding.message.isprintable()
    assert finding.help is not None
    assert finding.help.isprintable()
    assert 1 <= span.line <= span.end_line
    assert span.column >= 1
    assert (span.line, span.column) <= (span.end_line, span.end_column)
    assert finding.severity in ("error", "warning", "advice")
    assert len(finding.fingerprint) == 20
    assert "pydantic" not in finding.message
    assert "Decimal(" not in finding.message


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return tmp_path_factory.mktemp("hostile") / "a.yaml"


@settings(deadline=None, max_examples=3 * settings().max_examples)
@given(st.data())
def test_bytes_cut_swapped_and_put_in(path, data):
    raw = bytearray(data.draw(st.sampled_from(TEXTS)).encode())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(raw) - 1))
        to = data.draw(st.integers(at, min(at + 5, len(raw))))
        raw[at:to] = data.draw(
            st.one_of(
                st.binary(max_size=3),
                st.sampled_from([b"\n", b" ", b"\t", b"- ", b": ", b"[", b"}", b'"', b"'", b"#"]),
            )
        )
        if not raw:
            break
    check(path, bytes(raw))


@settings(deadline=None, max_examples=3 * settings().max_examples)
@given(st.data())
def test_values_replaced_by_others(path, data):
    lines = data.draw(st.sampled_from(TEXTS)).split("\n")
    rows = [row for row, line in enumerate(lines) if ": " in line]
    for row in data.draw(st.lists(st.sampled_from(rows), min_size=1, max_size=3)):
        key, _, _ = lines[row].partition(": ")
        lines[row] = f"{key}: {data.draw(st.sampled_from(VALUES))}"
    check(path, "\n".join(lines).encode())
