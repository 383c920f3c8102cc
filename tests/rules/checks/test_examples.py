"""Every code of a whole catalogue: its bad example gives it and nothing else, its good one nothing.

The examples are the same that the diagnostics reference shows.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.examples import BASE, Explanation, explanations, lay_out
from fitcheck.rules.checks import check_for_errors
from fitcheck.services.upkeep.checking import check_catalogue

ALL = {code: told for code, told in explanations().items() if code[:3] in ("FC2", "FC3")}

by_code = pytest.mark.parametrize("told", ALL.values(), ids=ALL)


def codes_found(folder: Path) -> list[str]:
    return [finding.code for finding in check_catalogue(load(folder))]


def test_base_example_is_clean(tmp_path: Path) -> None:
    lay_out(tmp_path, BASE)
    assert codes_found(tmp_path) == []


@by_code
def test_bad_example_gives_exactly_this_code(told: Explanation, tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, told.bad)
    assert codes_found(tmp_path) == [told.code.code]


@by_code
def test_good_example_is_clean(told: Explanation, tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, told.good)
    assert codes_found(tmp_path) == []
    assert set(told.good) == set(told.bad)


@by_code
def test_the_quick_look_finds_every_error(told: Explanation, tmp_path: Path) -> None:
    lay_out(tmp_path, BASE, told.bad)
    code = told.code
    of_catalogue = code.code.startswith("FC2")
    wanted = [code.code] if code.severity == "error" and of_catalogue else []
    assert [finding.code for finding in check_for_errors(load(tmp_path))] == wanted
