"""Bands written as fractions; the limit of one percent is a judgement, no rule of the trade."""

from __future__ import annotations

import pytest

HEAD = "kind: tune\nrecords:\n"


@pytest.mark.parametrize(
    ("low", "high", "percent"),
    [("0.1", "0.15", "15"), ("0", "0.999", "99.9"), ("-0.5", "0.3", "30")],
)
def test_a_band_within_one_percent_is_told(marked, low, high, percent) -> None:
    found = marked(
        {"tunes/t.yaml": f"{HEAD}  dock: {{name: d, low: {low}, high: <FC285>{high}}}\n"}
    )
    assert [finding.suggestion for finding in found] == [percent]


@pytest.mark.parametrize(("low", "high"), [("0", "1"), ("0.5", "12"), ("-8", "0.5"), ("-8", "-2")])
def test_a_band_in_percent_is_not(marked, low, high) -> None:
    marked({"tunes/t.yaml": f"{HEAD}  dock: {{name: d, low: {low}, high: {high}}}\n"})
