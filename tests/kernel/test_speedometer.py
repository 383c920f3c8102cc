"""UN Regulation No. 39, paragraph 5.3: 0 <= V1 - V2 <= 0.1 V2 + 4 (read as quoted on two pages)."""

from __future__ import annotations

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.kernel.road.spread import true_range


# 50 to 59 and 70 to 81 read in a press summary of the regulation, the others computed.
@pytest.mark.parametrize(
    ("shown", "least"), [(31.5, 25), (53.5, 45), (59, 50), (81, 70), (92, 80), (4, 0), (2, 0)]
)
def test_true(shown: float, least: float) -> None:
    assert true_range(shown) == pytest.approx((least, shown), abs=1e-12)


@given(st.floats(0, 200), st.floats(0, 200))
def test_what_the_rule_allows_is_in_the_range(true: float, shown: float) -> None:
    """A pair that the rule allows lies in the range, one that it forbids does not."""
    allowed = 0 <= shown - true <= 0.1 * true + 4
    margin = min(abs(shown - true), abs(0.1 * true + 4 - (shown - true)))
    if margin > 1e-9:
        low, high = true_range(shown)
        assert (low <= true <= high) is allowed


@pytest.mark.parametrize("wrong", [-0.1, nan, inf])
def test_nonsense_is_refused(wrong: float) -> None:
    with pytest.raises(ValueError, match="0 km/h or more"):
        true_range(wrong)
