"""Modules, centre distance tolerances and backlash, against the standards' figures."""

from __future__ import annotations

from itertools import pairwise
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.kernel.tolerances import (
    ISO_54_SERIES_I,
    ISO_54_SERIES_II,
    centre_distance_tolerance,
    iso_54_series,
)


class TestIso54:
    """ISO 54:1996 normal modules: merged list 1 to 7 read in a note, split into series memory."""

    def test_series(self) -> None:
        assert [iso_54_series(m) for m in (1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6)] == ["I"] * 9
        assert [iso_54_series(m) for m in (1.125, 1.375, 1.75, 2.25, 2.75, 3.5, 4.5, 5.5)] == (
            ["II"] * 8
        )
        assert iso_54_series(6.5) == iso_54_series(7) == "II"
        assert [iso_54_series(m) for m in (0.9, 1.4, 1.6, 2.4, 60, nan)] == [None] * 6

    def test_series_do_not_overlap(self) -> None:
        assert not set(ISO_54_SERIES_I) & set(ISO_54_SERIES_II)
        assert list(ISO_54_SERIES_I) == sorted(ISO_54_SERIES_I)
        assert list(ISO_54_SERIES_II) == sorted(ISO_54_SERIES_II)
        # Between two modules of series I lies at most one of series II, as the standard makes it;
        # 6.5 is the bracketed one beside 7.
        for low, high in pairwise(ISO_54_SERIES_I):
            between = [m for m in ISO_54_SERIES_II if low < m < high]
            assert len(between) == (2 if low == 6 else 1)


class TestCentreDistanceTolerance:
    @pytest.mark.parametrize(
        ("distance", "halves_um"),
        [
            (48, (8, 12.5, 19.5, 31, 50, 80)),
            (50, (8, 12.5, 19.5, 31, 50, 80)),
            (30.001, (8, 12.5, 19.5, 31, 50, 80)),
            (50.001, (9.5, 15, 23, 37, 60, 95)),
            (80, (9.5, 15, 23, 37, 60, 95)),
        ],
    )
    def test_table(self, distance: float, halves_um: tuple[float, ...]) -> None:
        """Half the IT6 to IT11 widths of ISO 286 (widths read in the isofits 1.0 tables)."""
        found = [centre_distance_tolerance(distance, grade) for grade in range(6, 12)]
        assert [t.half_width for t in found] == pytest.approx([half / 1000 for half in halves_um])
        assert {t.basis for t in found} == {"table"}
        assert [t.grade for t in found] == list(range(6, 12))

    @pytest.mark.parametrize(
        ("distance", "widths_um"),
        [
            (25, (13, 21, 33, 52, 84, 130)),
            (95, (22, 35, 54, 87, 140, 220)),
            (150, (25, 40, 63, 100, 160, 250)),
        ],
    )
    def test_formula(self, distance: float, widths_um: tuple[int, ...]) -> None:
        """The ranges beside the tabulated ones give the table of ISO 286 (table: memory)."""
        found = [centre_distance_tolerance(distance, grade) for grade in range(6, 12)]
        assert [t.half_width for t in found] == pytest.approx([w / 2000 for w in widths_um])
        assert {t.basis for t in found} == {"formula"}

    def test_js8_unless_said_otherwise(self) -> None:
        assert centre_distance_tolerance(48) == centre_distance_tolerance(48, 8)

    @given(st.floats(18.001, 180), st.integers(6, 10))
    def test_wider_with_size_and_grade(self, distance: float, grade: int) -> None:
        here = centre_distance_tolerance(distance, grade)
        assert here.half_width < centre_distance_tolerance(distance, grade + 1).half_width
        assert here.half_width <= centre_distance_tolerance(180, grade).half_width

    @pytest.mark.parametrize("distance", [0, 18, 180.001, -48, nan, inf])
    def test_distance_not_covered(self, distance: float) -> None:
        with pytest.raises(ValueError, match="only over 18 up to 180 mm"):
            centre_distance_tolerance(distance)

    @pytest.mark.parametrize("grade", [5, 12])
    def test_grade_not_covered(self, grade: int) -> None:
        with pytest.raises(ValueError, match="js6 to js11"):
            centre_distance_tolerance(48, grade)
