"""A fixed part of the exam in tests/bench/check_mutations.py: slips of every kind."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.check_mutations import KINDS, Exam, Verdict, mutations
from tests.conftest import EXPLORE

TURNS = 2
FEW = 1 if EXPLORE else 3


@pytest.fixture(scope="module")
def verdicts(tmp_path_factory: pytest.TempPathFactory) -> list[Verdict]:
    exam = Exam(Path(tmp_path_factory.mktemp("demo")))
    made = mutations(exam.world, TURNS * len(KINDS), seed=20261130)
    return [exam.judge(each) for each in (made if EXPLORE else list(made)[::3])]


def labelled(verdicts: list[Verdict], label: str) -> list[Verdict]:
    return [verdict for verdict in verdicts if verdict.mutation.label == label]


def test_nearly_all_that_a_shop_would_want_found_is_found(verdicts: list[Verdict]) -> None:
    wanted = labelled(verdicts, "wanted")
    missed = [verdict.mutation.what for verdict in wanted if not verdict.found]
    assert len(wanted) >= 40 // FEW
    assert len(missed) <= 0.05 * len(wanted), missed


def test_most_are_found_on_their_line(verdicts: list[Verdict]) -> None:
    wanted = labelled(verdicts, "wanted")
    elsewhere = [verdict.mutation.what for verdict in wanted if not verdict.on_line]
    assert len(elsewhere) <= 0.15 * len(wanted), elsewhere


def test_harmless_edits_raise_nothing(verdicts: list[Verdict]) -> None:
    harmless = labelled(verdicts, "harmless")
    alarms = [verdict.mutation.what for verdict in harmless if verdict.found]
    assert len(harmless) >= 8 // FEW
    assert alarms == []
