"""Every code of a whole catalogue: its bad example gives it and nothing else, its good one nothing.

The examples are the same that the diagnostics reference shows.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.codes_catalogue import CATALOGUE_CODES
from fitcheck.diagnostics.codes_ledger import LEDGER_CODES
from fitcheck.diagnostics.examples import BASE, lay_out
from fitcheck.rules.checks import check, check_for_errors

ALL = (*CATALOGUE_CODES, *LEDGER_CODES)

by_code = pytest.mark.parametrize("code", ALL, ids=lambda code: code.code)


def codes_found(folder: Path) -> list[str]:
    return [finding.code for finding in check(load(folder))]


def test_base_example_is_clean(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE)
    assert codes_found(tmp_path) == []


@by_code
def test_bad_example_gives_exactly_this_code(code: Code, tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, code.bad)
    assert codes_found(tmp_path) == [code.code]


@by_code
def test_good_example_is_clean(code: Code, tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, code.good)
    assert codes_found(tmp_path) == []
    assert set(code.good) == set(code.bad)


def test_codes_are_in_order_and_never_reused() -> None:
    codes = [code.code for code in ALL]
    assert codes == sorted(set(codes))
    assert {code.code[:3] for code in CATALOGUE_CODES} == {"FC2"}
    assert {code.code[:3] for code in LEDGER_CODES} == {"FC3"}
    names = [code.name for code in ALL]
    assert len(set(names)) == len(names)


@by_code
def test_the_quick_look_finds_every_error(code: Code, tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, code.bad)
    wanted = [code.code] if code.severity == "error" and code in CATALOGUE_CODES else []
    assert [finding.code for finding in check_for_errors(load(tmp_path))] == wanted
