"""Findings as JSON lines and as CI annotations."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from fitcheck.answers.finding import render_json_lines
from fitcheck.diagnostics.codes import Code
from fitcheck.diagnostics.finding import Finding, Related, Span
from fitcheck.screens.findings.programs import render_annotations

SCHEMA = json.loads(
    (Path(__file__).parents[3] / "schemas" / "finding.schema.json").read_text(encoding="utf-8")
)


def test_the_schema_of_a_finding_is_valid() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_json_lines(three: list[Finding]) -> None:
    lines = render_json_lines(three).splitlines()
    found = [json.loads(line) for line in lines]
    for line in found:
        assert [e.message for e in Draft202012Validator(SCHEMA).iter_errors(line)] == []
    assert [line["code"] for line in found] == ["FC901", "FC902", "FC903"]
    assert found[1] == {
        "version": 1,
        "code": "FC902",
        "name": "odd-price",
        "severity": "warning",
        "message": "6490 EUR is a hundred times the others",
        "path": "sets/marram.yaml",
        "line": 5,
        "column": 12,
        "end_line": 5,
        "end_column": 16,
        "record": "MA-1",
        "field": ["records", "MA-1", "price"],
        "related": [
            {
                "path": "shelf.yaml",
                "line": 3,
                "column": 3,
                "end_line": 3,
                "end_column": 7,
                "label": "the shop's own entry",
            }
        ],
        "help": "write the decimal point",
        "suggestion": None,
        "fingerprint": three[1].fingerprint,
    }


def test_the_schema_refuses_a_finding_with_a_member_too_many_or_too_few(
    three: list[Finding],
) -> None:
    whole = json.loads(render_json_lines(three).splitlines()[0])
    judge = Draft202012Validator(SCHEMA)
    assert judge.is_valid(whole)
    assert not judge.is_valid(whole | {"more": 1})
    for member in whole:
        assert not judge.is_valid({key: whole[key] for key in whole if key != member}), member


TEXT = st.text(max_size=30) | st.sampled_from(["a\u2028b", "\r\n", "%0A", "::error::x", "\ud800"])


@given(TEXT, TEXT, TEXT)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_one_finding_is_one_line_whatever_it_says(
    codes: Mapping[str, Code], message: str, path: str, label: str
) -> None:
    finding = Finding(
        "FC901", message, Span(path), help=label, related=(Related(Span(path), label),)
    )
    line = render_json_lines([finding])
    assert line.count("\n") == 1
    assert line.isascii()
    assert len(line.splitlines()) == 1
    assert json.loads(line)["message"] == message
    command = render_annotations([finding])
    assert command.count("\n") == 1
    assert "\r" not in command
    head, properties, *rest = command.rstrip("\n").split("::", 2)
    assert head == ""
    assert properties.startswith("error file=")
    assert properties.count(",") == 3
    printable = message.encode(errors="backslashreplace").decode()
    assert decoded(rest[0]).startswith(printable)


def decoded(text: str) -> str:
    """The runner's side: workflow commands escape these three, the per cent sign last."""
    return text.replace("%0D", "\r").replace("%0A", "\n").replace("%25", "%")


ANNOTATIONS = """\
::error file=sets/marram.yaml,line=4,col=15,title=FC901 unknown-widget::\
maram is no supplier%0Adid you mean marram?%0Aname one of suppliers/
::warning file=sets/marram.yaml,line=5,col=12,title=FC902 odd-price::\
6490 EUR is a hundred times the others%0Asee shelf.yaml:3:3: the shop's own entry\
%0Awrite the decimal point
::notice file=shelf.yaml,line=3,col=9,title=FC903 spare-word::quantity stands alone
"""


def test_annotations(three: list[Finding]) -> None:
    assert render_annotations(three) == ANNOTATIONS


def test_annotations_escape_what_parts_a_command(codes: Mapping[str, Code]) -> None:
    finding = Finding("FC901", "100 % wrong,\r\nreally: so", Span("a,b:c%.yaml", 1, 2))
    assert render_annotations([finding]) == (
        "::error file=a%2Cb%3Ac%25.yaml,line=1,col=2,title=FC901 unknown-widget::"
        "100 %25 wrong,%0D%0Areally: so\n"
    )


def test_nothing_found_is_nothing_printed() -> None:
    assert render_json_lines([]) == ""
    assert render_annotations([]) == ""
