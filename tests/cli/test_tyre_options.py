"""`--tyre` and `--new-tyre` by size: exactly the ratio of the roll-outs, in every figure.

The rule's diameters are those of tests/kernel/tyres_inch.csv: 432 mm for 3.50-10, 457 for 4.00-10.
"""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

WHY = ("why", "kestrel-lane-7", "MA-1543", "--format", "json")
SAMPLE = {"FITCHECK_CATALOG": "tests/data/sample-catalog"}


def answer(run, *options: str) -> dict:
    ran = run(*WHY, *options, env=SAMPLE)
    assert ran.err == ""
    return json.loads(ran.out)


@pytest.mark.parametrize(
    ("options", "roll_out", "ratio"),
    [
        # The sample's only tyre is 3.50-10, counted at 1310 mm.
        (("--tyre", "3.50-10"), 1310, "1/1"),
        (("--tyre", "t-350-10"), 1310, "1/1"),
        (("--tyre", "4.00-10"), 1393.85, "1/1"),  # 3.05 x 457
        (("--tyre", "4.00-10", "--roll-out", "1380"), 1380, "1/1"),
        (("--tyre", "3.50 x 10", "--new-tyre", "4-10"), 1310, "457/432"),
        (("--tyre", "t-350-10", "--new-tyre", "4.00 – 10 TT"), 1310, "457/432"),
        (("--tyre", "4.00-10", "--new-tyre", "3½-10"), 1393.85, "432/457"),
    ],
)
def test_tyres_by_size(run, options, roll_out, ratio):
    plain, told = answer(run), answer(run, *options)
    assert told["machine"]["roll_out_mm"] == roll_out
    assert told["machine"]["roll_out_ratio"]["exact"] == ratio
    before, after = (
        Fraction(each["combination"]["road_speed_change_exact"]) for each in (plain, told)
    )
    assert 1 + after / 100 == (1 + before / 100) * Fraction(ratio)


def test_why_shows_a_tyre_by_size_in_its_arithmetic(run):
    ran = run(*WHY[:3], "--tyre", "3.50-10", "--new-tyre", "4.00-10", "--long", env=SAMPLE)
    assert "x 1.0579 (tyre)" in ran.out  # 457/432 = 1.05787
    assert "good to 3 to 5 percent" in " ".join(ran.out.split())
