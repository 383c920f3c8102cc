"""docs/diagnostics.md is made from the codes, and every example on it is true."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitcheck.diagnostics.examples import Explanation, explanations
from fitcheck.screens.reference import diagnostics as module
from fitcheck.screens.reference.diagnostics import DOCUMENT, example_findings, reference
from tests.conftest import some, table


def test_the_committed_page_is_in_step() -> None:
    told = f"run `python -m {module.__name__} --write` and commit docs/diagnostics.md"
    assert DOCUMENT.read_text(encoding="utf-8") == reference(), told


def test_the_base_of_all_examples_is_faultless() -> None:
    found, lines = example_findings({})
    assert found == []
    assert "families/dunlin.yaml" in lines


@table("told", some(list(explanations().values()), 25))
def test_the_good_example_is_without_its_finding(told: Explanation) -> None:
    found, _ = example_findings(told.good)
    assert told.code.code not in {finding.code for finding in found}


@table("told", explanations().values())
def test_every_code_has_a_whole_entry(told: Explanation) -> None:
    code = told.code
    page = DOCUMENT.read_text(encoding="utf-8")
    start = page.index(f"### {code.code} {code.name}\n")
    entry = page[start:].split("\n### ")[0]
    assert f"{code.severity} {code.code} {code.name}:" in entry
    assert told.why in entry
    assert "Right:" in entry
    assert "fitcheck-" not in entry, "a temporary folder shows"
    assert f"(#{code.code.lower()}-{code.name})" in page


def test_an_example_that_shows_something_else_is_no_page(monkeypatch: pytest.MonkeyPatch) -> None:
    code, first = next(iter(explanations().items()))
    monkeypatch.setattr(module, "explanations", lambda: {code: replace(first, bad={})})
    with pytest.raises(ValueError, match=f"the example of {code} gives nothing"):
        reference()
