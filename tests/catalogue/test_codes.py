"""Every code of reading and of records shows itself in its bad example, and not in its good one."""

from __future__ import annotations

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.codes import CODES
from fitcheck.diagnostics.codes_reading import READING_CODES
from fitcheck.diagnostics.codes_record import RECORD_CODES
from fitcheck.diagnostics.examples import BASE, lay_out
from tests.conftest import table

OURS = (*READING_CODES, *RECORD_CODES)


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


@pytest.mark.parametrize("code", OURS, ids=lambda code: f"{code.code}-{code.name}")
def test_the_bad_example_gives_the_code_alone(code: Code, tmp_path):
    lay_out(tmp_path, BASE, code.bad)
    assert [finding.code for finding in load(tmp_path).findings] == [code.code]


@pytest.mark.parametrize("code", OURS, ids=lambda code: f"{code.code}-{code.name}")
def test_the_good_example_gives_nothing(code: Code, tmp_path):
    lay_out(tmp_path, BASE, code.good)
    assert [finding.code for finding in load(tmp_path).findings] == []


def test_codes_and_names_are_each_used_once():
    assert len(CODES) >= len(OURS)
    assert len({code.code for code in OURS}) == len(OURS)
    assert len({code.name for code in OURS}) == len(OURS)


@table("code", OURS)
def test_a_code_belongs_to_its_group_and_reads_as_a_sentence(code: Code):
    assert code.code.startswith("FC0" if code in READING_CODES else "FC1")
    assert code.title.endswith(".")
    assert code.why.endswith(".")
    assert code.bad != code.good
