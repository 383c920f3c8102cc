"""Every code of reading and of records shows itself in its bad example, and not in its good one."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics import examples
from fitcheck.diagnostics.codes import CODES
from fitcheck.diagnostics.examples import BASE, Explanation, explanations, lay_out
from tests.conftest import table

OURS = {code: told for code, told in explanations().items() if code[:3] in ("FC0", "FC1")}

by_code = pytest.mark.parametrize("told", OURS.values(), ids=OURS)


def test_the_base_catalogue_has_no_fault(tmp_path):
    lay_out(tmp_path, BASE)
    catalogue = load(tmp_path)
    assert catalogue.findings == ()
    assert {kind: len(catalogue.entries(kind)) for kind in catalogue.failed} == {
        "family": 1,
        "gear-set": 2,
        "machine": 1,
        "tune": 1,
        "vehicle-class": 1,
        "tyre": 1,
        "supplier": 1,
        "shelf": 1,
        "variator": 1,
    }


@by_code
def test_the_bad_example_gives_the_code_alone(told: Explanation, tmp_path):
    lay_out(tmp_path, BASE, told.bad)
    assert [finding.code for finding in load(tmp_path).findings] == [told.code.code]


@by_code
def test_the_good_example_gives_nothing(told: Explanation, tmp_path):
    lay_out(tmp_path, BASE, told.good)
    assert [finding.code for finding in load(tmp_path).findings] == []


def test_codes_are_in_order_and_names_used_once():
    codes = [code.code for code in CODES.values()]
    assert codes == list(CODES) == list(explanations()) == sorted(set(codes))
    assert {code[:3] for code in codes} == {"FC0", "FC1", "FC2", "FC3"}
    assert len({code.name for code in CODES.values()}) == len(CODES)


@table("told", explanations().values())
def test_an_explanation_reads_as_sentences(told: Explanation):
    assert told.title.endswith(".")
    assert told.why.endswith(".")
    assert told.bad != told.good


def test_no_explanation_is_left_over_from_another_code():
    files = (Path(examples.__file__).parent / "data").glob("*.toml")
    tables = [code for path in files for code in tomllib.loads(path.read_text(encoding="utf-8"))]
    assert sorted(tables) == list(CODES)


def test_an_example_that_changes_what_is_not_there_is_refused(monkeypatch):
    monkeypatch.setattr(examples, "_MORE", {"more-tunes.yaml": "kind: tune\n"})
    with pytest.raises(ValueError, match=r"does not stand in more-tunes\.yaml"):
        explanations.__wrapped__()
