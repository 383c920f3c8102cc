"""Other tooth sums in one casing: every function of the geometry together.

`same_casing.csv` holds synthetic pairs, of no real machine: a primary stage at 48 mm and a
secondary one at 50 mm, rack of 20 degrees, face width 14 mm, tips shortened. Its figures were
computed at 40 digits and confirmed by two open ISO 21771 programs (diniso21771 at commit b820d483
and py-gearworks 0.0.24, each run once).
"""

from __future__ import annotations

import csv
from math import gcd, hypot, radians, tan
from pathlib import Path

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from fitcheck.kernel.geometry import (
    base_diameter,
    involute,
    overlap_ratio,
    reference_centre_distance,
    reference_diameter,
    shift_sum_for,
    tip_diameter_shortened,
    tip_diameter_unshortened,
    transverse_contact_ratio,
    working_centre_distance,
    working_pressure_angle,
)
from fitcheck.kernel.shift_split import (
    driven_tip_diameter,
    driver_shift_limits,
    pair_tip_shortening,
    tip_tooth_thickness,
    undercut_shift,
)
from fitcheck.kernel.teeth import Pair
from fitcheck.kernel.tolerances import centre_distance_tolerance, iso_54_series

with Path(__file__).with_name("same_casing.csv").open(encoding="utf-8") as lines:
    ROWS = list(csv.DictReader(lines))


def as_listed(value: float, figure: str, slack: float = 0.501) -> bool:
    """Whether a value agrees to the last place of a figure whose closing zeros may be cut."""
    places = len(figure.partition(".")[2])
    return abs(value - float(figure)) <= slack * 10.0**-places


def contact_ratio(
    mesh: tuple[float, float, int, int], distance: float, driver_shift: float
) -> float:
    module, helix, z1, z2 = mesh
    shift_sum = shift_sum_for(*mesh, distance)
    k = pair_tip_shortening(*mesh, shift_sum)
    return transverse_contact_ratio(
        *mesh,
        driver_tip=tip_diameter_shortened(module, helix, z1, driver_shift, k),
        driven_tip=tip_diameter_shortened(module, helix, z2, shift_sum - driver_shift, k),
        centre_distance=distance,
    )


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['stage']}{r['z1']}/{r['z2']}m{r['mn']}")
class TestSameCasing:
    def test_row(self, row: dict[str, str]) -> None:
        casing, module, helix = float(row["a_casing"]), float(row["mn"]), float(row["beta"])
        z1, z2 = int(row["z1"]), int(row["z2"])
        mesh = (module, helix, z1, z2)
        x1, x2 = float(row["x1"]), float(row["x2"])
        shift_sum = float(row["sum_x"])

        pair = Pair(z1, z2)
        assert z1 + z2 == int(row["sum"])
        assert as_listed(float(pair.reduction), row["u"])
        assert pair.hunting == (row["gcd"] == "1") == (gcd(z1, z2) == 1)
        assert iso_54_series(module) == row["iso54"]

        assert as_listed(reference_centre_distance(*mesh), row["a_ref"])
        assert as_listed(working_pressure_angle(helix, z1, z2, shift_sum), row["alpha_wt"])
        assert as_listed(shift_sum_for(*mesh, casing), row["sum_x"])
        from_sum = working_centre_distance(*mesh, shift_sum)
        assert as_listed(from_sum, row["aw_from_x"])
        assert abs(from_sum - casing) <= 0.0001
        assert abs(from_sum - casing) < centre_distance_tolerance(casing, 7).half_width

        k = pair_tip_shortening(*mesh, shift_sum)
        driver_tip = tip_diameter_shortened(module, helix, z1, x1, k)
        # x1 and x2 are rounded to three and four decimals: 2 m_n of that in the diameter.
        assert driver_tip == pytest.approx(float(row["da1"]), abs=0.0005 * 2 * module + 0.0005)
        tip = driven_tip_diameter(*mesh, shift_sum, driver_shift=x1)
        assert tip is not None
        assert tip.split_known
        assert tip.least == pytest.approx(float(row["da2"]), abs=0.0005 * 2 * module + 0.0005)
        assert tip.greatest == tip_diameter_unshortened(module, helix, z2, shift_sum - x1)
        assert x1 + x2 == pytest.approx(shift_sum, abs=0.0006)

        assert contact_ratio(mesh, casing, x1) == pytest.approx(float(row["eps_alpha"]), abs=0.001)
        assert as_listed(overlap_ratio(module, helix, 14), row["eps_beta_b14"])
        assert as_listed(undercut_shift(z1, helix), row["x1_min"])
        across = tip_tooth_thickness(module, helix, z1, x1, driver_tip) / module
        at_tip = tan(radians(helix)) * driver_tip / reference_diameter(module, helix, z1)
        thickness = across / hypot(1, at_tip)
        assert thickness == pytest.approx(float(row["sna1"]), abs=0.006)

    def test_split_within_its_limits(self, row: dict[str, str]) -> None:
        """The bounds given for an unknown split hold the split and the tip that the row has."""
        mesh = (float(row["mn"]), float(row["beta"]), int(row["z1"]), int(row["z2"]))
        limits = driver_shift_limits(*mesh[1:], float(row["sum_x"]))
        assert limits is not None
        assert limits[0] == undercut_shift(mesh[2], mesh[1])
        assert limits[0] < float(row["x1"]) < limits[1]
        tip = driven_tip_diameter(*mesh, float(row["sum_x"]))
        assert tip is not None
        assert not tip.split_known
        assert tip.least < float(row["da2"]) < tip.greatest


# 14 teeth on the driver, m_n 1.5, helix 20: casing, tooth sum, reference distance, shift sum,
# contact ratio with a split of the shift sum that the table does not give. Computed, synthetic.
ONE_CUTTER = """
48 57 45.494  1.9349 1.011
48 58 46.292  1.2649 1.167
48 59 47.090  0.6436 1.315
48 60 47.888  0.0752 1.409
48 61 48.686 -0.4349 1.539
48 62 49.484 -0.8791 1.612
50 60 47.888  1.5908 1.097
50 61 48.686  0.9487 1.247
50 62 49.484  0.3554 1.345
50 63 50.282 -0.1847 1.475
50 64 51.081 -0.6656 1.575
"""


@pytest.mark.parametrize("line", ONE_CUTTER.strip().splitlines())
def test_what_one_module_and_helix_can_do(line: str) -> None:
    casing, total, reference, shift_sum, ratio = line.split()
    mesh = (1.5, 20.0, 14, int(total) - 14)
    assert as_listed(reference_centre_distance(*mesh), reference)
    assert as_listed(shift_sum_for(*mesh, float(casing)), shift_sum)
    splits = driver_shift_limits(*mesh[1:], float(shift_sum))
    assert splits is not None
    ends = [contact_ratio(mesh, float(casing), split) for split in splits]
    assert min(ends) < float(ratio)


# Whole helix angles from 15 to 30 degrees at which a tooth sum works: shift sum -0.4 to 1.2 and a
# contact ratio of 1.2 that depends on the split. Computed, synthetic.
HELIX_RANGES = """
48 50 1.75  20 26
48 51 1.75  15 23
48 52 1.75  15 21
48 53 1.75  15 17
48 55 1.5   30 30
48 56 1.5   27 30
48 57 1.5   24 28
48 58 1.5   21 26
48 59 1.5   18 24
48 60 1.5   15 22
48 60 1.375 29 30
48 61 1.5   15 19
48 61 1.375 27 30
48 62 1.5   15 17
48 62 1.375 25 28
48 63 1.375 22 26
48 64 1.375 19 25
50 58 1.5   27 30
50 59 1.5   25 29
50 60 1.5   22 27
50 61 1.5   19 25
50 62 1.5   16 23
50 62 1.375 30 30
50 63 1.5   15 21
50 63 1.375 28 30
50 64 1.5   15 18
50 64 1.375 26 29
"""


@pytest.mark.parametrize("line", HELIX_RANGES.strip().splitlines())
def test_helix_ranges(line: str) -> None:
    """Inside the range the sum is in bounds; a step above it is too low, never too high."""
    casing, total, module, first, last = line.split()

    def sum_at(helix: int) -> float:
        return shift_sum_for(float(module), helix, 14, int(total) - 14, float(casing))

    for helix in range(int(first), int(last) + 1):
        assert -0.4 <= sum_at(helix) <= 1.2
    if int(last) < 30:
        assert sum_at(int(last) + 1) < -0.4


def test_54_teeth_need_a_flatter_helix() -> None:
    """At 48 mm no helix of 15 to 30 carries 54 teeth of m_n 1.75 (computed); 12 does."""
    assert all(working_centre_distance(1.75, helix, 13, 41, -0.4) > 48 for helix in range(15, 31))
    assert -0.4 < shift_sum_for(1.75, 12, 13, 41, 48) < 1.2


@pytest.mark.parametrize(
    ("casing", "module", "total", "reference", "off"),
    [(48, 1.5, 53, 42.301, 5.70), (50, 1.5, 58, 46.292, 3.71), (48, 1.75, 60, 55.869, -7.87)],
)
def test_pairs_that_cannot_be(
    casing: float, module: float, total: int, reference: float, off: float
) -> None:
    """Negative controls (computed, synthetic): too small, too small, too large for the casing."""
    mesh = (module, 20.0, 13, total - 13)
    assert reference_centre_distance(*mesh) == pytest.approx(reference, abs=0.0005)
    assert casing - reference_centre_distance(*mesh) == pytest.approx(off, abs=0.005)
    if off < 0:
        with pytest.raises(ValueError, match="impossible"):
            shift_sum_for(*mesh, casing)
    else:
        assert shift_sum_for(*mesh, casing) > 3
        splits = driver_shift_limits(*mesh[1:], shift_sum_for(*mesh, casing))
        assert splits is not None
        low, high = splits
        for part in range(11):  # whatever the split, the teeth part before the next two meet
            assert contact_ratio(mesh, casing, low + part / 10 * (high - low)) < 0.9


class TestDriverShiftLimits:
    @given(st.floats(0, 30), st.integers(9, 25), st.integers(9, 60), st.floats(-0.8, 2.5))
    @example(0.0, 25, 25, 1.5)  # both ends set by pointed teeth
    @example(0.0, 9, 10, 0.2)  # no split at all
    def test_sound_inside_and_not_beyond(
        self, helix: float, z1: int, z2: int, shift_sum: float
    ) -> None:
        assume(shift_sum > -(z1 + z2) * involute(radians(20)) / 3)
        mesh = (1.0, helix, z1, z2)
        limits = driver_shift_limits(helix, z1, z2, shift_sum)
        k = pair_tip_shortening(*mesh, shift_sum)

        def fault(x1: float) -> bool:
            for teeth, x in ((z1, x1), (z2, shift_sum - x1)):
                tip = tip_diameter_shortened(1, helix, teeth, x, k)
                flank = tip >= base_diameter(1, helix, teeth)
                if x < undercut_shift(teeth, helix) - 1e-12 or (
                    flank and tip_tooth_thickness(1, helix, teeth, x, tip) < 0
                ):
                    return True
            return False

        scan = [x / 50 for x in range(-150, 200)]
        sound = [x for x in scan if not fault(x)]
        if limits is None:
            assert not sound
            return
        low, high = limits
        assert low <= high
        assert all(low - 1e-9 <= x <= high + 1e-9 for x in sound)
        assert not any(fault(low + (high - low) * part / 100) for part in (0, 20, 50, 80, 99.999))

    @given(
        st.floats(0, 30), st.integers(9, 25), st.integers(30, 60), st.floats(0, 1), st.floats(0, 1)
    )
    def test_tip_of_any_split_lies_within(
        self, helix: float, z1: int, z2: int, shift_sum: float, part: float
    ) -> None:
        limits = driver_shift_limits(helix, z1, z2, shift_sum)
        window = driven_tip_diameter(1.5, helix, z1, z2, shift_sum)
        if limits is None or window is None:
            assert limits is window is None
            return
        x1 = limits[0] + part * (limits[1] - limits[0])
        known = driven_tip_diameter(1.5, helix, z1, z2, shift_sum, driver_shift=x1)
        assert known is not None
        assert window.least - 1e-9 <= known.least <= known.greatest <= window.greatest + 1e-9

    def test_pointed_teeth_limit_both_ends_alike(self) -> None:
        """Two equal gears share the sum evenly, and so lie the limits about its half."""
        limits = driver_shift_limits(0, 25, 25, 1.5)
        assert limits is not None
        assert limits[0] > undercut_shift(25)
        assert sum(limits) == pytest.approx(1.5, abs=1e-12)

    def test_no_split(self) -> None:
        """A sum this low undercuts one of two small gears, whichever takes it."""
        assert driver_shift_limits(0, 9, 10, 0.2) is None
        assert driven_tip_diameter(1.5, 0, 9, 10, 0.2) is None
        assert driven_tip_diameter(1.5, 0, 9, 10, 0.2, driver_shift=0.3) is not None

    def test_impossible_sum(self) -> None:
        with pytest.raises(ValueError, match="impossible"):
            driven_tip_diameter(1.5, 20, 13, 47, -5)


@given(st.floats(0, 30), st.integers(9, 25), st.integers(30, 60), st.floats(-0.8, 2))
def test_shortening_does_not_depend_on_the_module(
    helix: float, z1: int, z2: int, shift_sum: float
) -> None:
    assume(shift_sum > -(z1 + z2) * involute(radians(20)) / 3)
    small = pair_tip_shortening(1, helix, z1, z2, shift_sum)
    assert small <= 0
    assert pair_tip_shortening(5, helix, z1, z2, shift_sum) == pytest.approx(small, abs=1e-12)
