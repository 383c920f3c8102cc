"""ISO 21771 geometry against published worked examples.

Each example names its source. "Read": the figure was seen in a copy of that source. "Memory": the
source is known from memory only and its edition was not checked. Angles are in degrees, lengths
in mm, and all racks are 20 degrees with addendum 1 and tip clearance 0.25 unless said otherwise.
"""

from __future__ import annotations

from math import cos, degrees, hypot, pi, radians, sin, tan

import mpmath
import pytest

from fitcheck.kernel.geometry import (
    base_diameter,
    centre_distance_modification,
    involute,
    overlap_ratio,
    path_of_contact,
    reference_centre_distance,
    reference_diameter,
    shift_sum_for,
    tip_diameter_shortened,
    tip_diameter_unshortened,
    tip_shortening,
    transverse_contact_ratio,
    transverse_pressure_rad,
    working_centre_distance,
    working_pressure_angle,
    working_pressure_angle_at,
)
from fitcheck.kernel.shift_split import (
    tip_tooth_thickness,
    undercut_shift,
)


def printed(value: float, published: str) -> bool:
    """Whether a value, rounded as the published figure is, gives that figure."""
    places = len(published.partition(".")[2])
    return f"{value:.{places}f}" == published


class TestExampleB:
    """Helical gear mesh, m_n 1, helix 15, 17/35, x 0.2 and -0.1, no tip shortening.

    Source: the open geometry notebooks of drivetrainhub, chapter 3 (read, commit 8f321851).
    Figures with nine digits were computed at 40 digits with the ISO 21771 formulae.
    """

    MESH = (1.0, 15.0, 17, 35)
    MOUNTED = 27.5

    def tips(self) -> dict[str, float]:
        return {
            "driver_tip": tip_diameter_unshortened(1, 15, 17, 0.2),
            "driven_tip": tip_diameter_unshortened(1, 15, 35, -0.1),
        }

    def test_transverse_pressure_angle(self) -> None:
        assert printed(degrees(transverse_pressure_rad(15, 20)), "20.646896")
        assert printed(degrees(transverse_pressure_rad(15, 20)), "20.6468965")

    def test_centre_distances(self) -> None:
        assert printed(reference_centre_distance(*self.MESH), "26.917181")
        assert printed(working_centre_distance(*self.MESH, 0.1), "27.015921")
        assert printed(working_centre_distance(*self.MESH, 0.1), "27.0159205")

    @pytest.mark.parametrize(
        ("teeth", "shift", "published"),
        [
            (17, 0.2, ("17.599695", "16.469288", "19.999695")),
            (17, 0.2, ("17.5996951", "16.4692885", "19.9996951")),
            (35, -0.1, ("36.234666", "33.907359", "38.034666")),
            (35, -0.1, ("36.2346663", "33.9073586", "38.0346663")),
        ],
    )
    def test_diameters(self, teeth: int, shift: float, published: tuple[str, ...]) -> None:
        reference, base, tip = published
        assert printed(reference_diameter(1, 15, teeth), reference)
        assert printed(base_diameter(1, 15, teeth), base)
        assert printed(tip_diameter_unshortened(1, 15, teeth, shift), tip)

    def test_mounted_at_27_5(self) -> None:
        angle = working_pressure_angle_at(*self.MESH, self.MOUNTED)
        ratio = transverse_contact_ratio(*self.MESH, **self.tips(), centre_distance=self.MOUNTED)
        assert printed(angle, "23.660563")
        assert printed(angle, "23.6605631")
        assert printed(ratio, "1.068817")
        assert printed(ratio, "1.06881734")

    def test_overlap_and_total(self) -> None:
        overlap = overlap_ratio(1, 15, 9)
        # Published 0.741462; the nine digits are 0.741461947.
        assert printed(overlap, "0.741462")
        assert printed(overlap, "0.741461947")
        ratio = transverse_contact_ratio(*self.MESH, **self.tips(), centre_distance=self.MOUNTED)
        assert printed(ratio + overlap, "1.810279")  # sum of the two above

    def test_undercut_limit(self) -> None:
        assert printed(undercut_shift(17, 15), "-0.094104")
        assert printed(undercut_shift(17, 15), "-0.0941042755")

    def test_tip_tooth_thickness(self) -> None:
        """The source turns the transverse thickness with the helix at the reference circle.

        It prints 0.613016 so; with the helix at the tip circle it is 0.6071 (computed).
        """
        tip = tip_diameter_unshortened(1, 15, 17, 0.2)
        across = tip_tooth_thickness(1, 15, 17, 0.2, tip)
        assert printed(across * cos(radians(15)), "0.613016")
        diameter = reference_diameter(1, 15, 17)
        assert printed(across / hypot(1, tan(radians(15)) * tip / diameter), "0.6071")


class TestExampleC:
    """Profile-shifted spur pair, m 3, 12/24, x 0.6 and 0.36, tips shortened.

    Source: the profile-shifted spur table of the KHK and SDP gear technical references (original:
    memory), as reproduced in the bolsover.com gear help and its unit tests (read).
    """

    MESH = (3.0, 0.0, 12, 24)
    SUM = 0.96

    def test_angle(self) -> None:
        angle = working_pressure_angle(0, 12, 24, self.SUM)
        assert printed(involute(radians(angle)), "0.034316")
        assert printed(involute(radians(angle)), "0.0343161297")
        assert printed(angle, "26.0886")
        assert printed(angle, "26.0885634")

    def test_centre_distance(self) -> None:
        distance = working_centre_distance(*self.MESH, self.SUM)
        y = centre_distance_modification(3, reference_centre_distance(*self.MESH), distance)
        assert printed(y, "0.83329")
        assert printed(y, "0.833289907")
        assert printed(distance, "56.49987")
        assert printed(distance, "56.4999")
        assert printed(distance, "56.4998697")

    def test_diameters(self) -> None:
        distance = working_centre_distance(*self.MESH, self.SUM)
        y = centre_distance_modification(3, reference_centre_distance(*self.MESH), distance)
        k = tip_shortening(y, self.SUM)
        base = [base_diameter(3, 0, teeth) for teeth in (12, 24)]
        tip = [tip_diameter_shortened(3, 0, *gear, k) for gear in ((12, 0.6), (24, 0.36))]
        for values, published in (
            (base, ("33.8289", "67.6579")),
            (base, ("33.8289343", "67.6578687")),
            (tip, ("44.840", "79.400")),
            (tip, ("44.8397394", "79.3997394")),
        ):
            assert [printed(*both) for both in zip(values, published, strict=True)] == [True, True]
        # The same tips as the tables write them: h_a1 = (1 + y - x2) m and h_a2 = (1 + y - x1) m.
        assert tip[0] == pytest.approx(36 + 2 * 3 * (1 + y - 0.36), rel=1e-14)
        assert tip[1] == pytest.approx(72 + 2 * 3 * (1 + y - 0.6), rel=1e-14)

    def test_contact_ratio(self) -> None:
        """1.2021016 by the open DIN ISO 21771:2014 functions diniso21771 (run once, b820d483)."""
        distance = working_centre_distance(*self.MESH, self.SUM)
        k = tip_shortening((distance - 54) / 3, self.SUM)
        ratio = transverse_contact_ratio(
            *self.MESH,
            driver_tip=tip_diameter_shortened(3, 0, 12, 0.6, k),
            driven_tip=tip_diameter_shortened(3, 0, 24, 0.36, k),
            centre_distance=distance,
        )
        assert printed(ratio, "1.2021016")


class TestExampleD:
    """Profile-shifted helical pair, normal system, m_n 3, helix 30, 12/60 at 125 mm.

    Source: the profile-shifted helical table of the KHK and SDP gear technical references
    (original: memory), as reproduced in the bolsover.com gear help (read). x1 = 0.09809, x2 = 0.
    """

    MESH = (3.0, 30.0, 12, 60)

    def test_reference(self) -> None:
        assert printed(reference_centre_distance(*self.MESH), "124.7077")
        assert printed(reference_centre_distance(*self.MESH), "124.707658")
        angle = degrees(transverse_pressure_rad(30, 20))
        assert printed(angle, "22.79588")
        assert printed(angle, "22.7958773")
        assert printed(involute(radians(angle)), "0.022414")
        assert printed(involute(radians(angle)), "0.0224135114")

    def test_from_the_centre_distance(self) -> None:
        angle = working_pressure_angle_at(*self.MESH, 125)
        assert printed(angle, "23.1126")
        assert printed(angle, "23.1126323")
        # Misprint: the help page has 0.23405 for 0.023405.
        assert printed(involute(radians(angle)), "0.023405")
        assert printed(involute(radians(angle)), "0.0234052252")
        total = shift_sum_for(*self.MESH, 125)
        assert printed(total, "0.09809")
        assert printed(total, "0.0980896017")
        y = centre_distance_modification(3, reference_centre_distance(*self.MESH), 125)
        # Published 0.09744, which is cut and not rounded.
        assert int(y * 1e5) / 1e5 == 0.09744
        assert printed(y, "0.0974472850")

    def test_from_the_shift_sum(self) -> None:
        """125.000001 from x1 as printed, confirmed by diniso21771: 125.00000117942 (run once)."""
        assert printed(working_centre_distance(*self.MESH, 0.09809), "125.00000117942")
        assert printed(working_centre_distance(*self.MESH, 0.0980896017), "125.000000000")

    def tips(self) -> tuple[float, float]:
        """Tip diameters as computed for the nine digits from the printed, five-digit x1.

        The last digits depend on where that x1 stands for the exact 0.0980896: in the driver's
        addendum, and in k for the driven gear, but not in k for the driver.
        """
        y = centre_distance_modification(3, reference_centre_distance(*self.MESH), 125)
        k = tip_shortening(y, shift_sum_for(*self.MESH, 125))
        return (
            tip_diameter_shortened(3, 30, 12, 0.09809, k),
            tip_diameter_shortened(3, 30, 60, 0, tip_shortening(y, 0.09809)),
        )

    def test_diameters(self) -> None:
        driver_tip, driven_tip = self.tips()
        for values, published in (
            (
                (reference_diameter(3, 30, 12), reference_diameter(3, 30, 60)),
                ("41.569 207.846", "41.5692194 207.846097"),
            ),
            (
                (base_diameter(3, 30, 12), base_diameter(3, 30, 60)),
                ("38.322 191.611", "38.3222906 191.611453"),
            ),
            ((driver_tip, driven_tip), ("48.154 213.842", "48.1539055 213.842241")),
        ):
            for line in published:
                for value, figure in zip(values, line.split(), strict=True):
                    assert printed(value, figure)

    def test_tips_at_the_distance_of_the_printed_shift(self) -> None:
        """48.153905 and 213.842243, contact ratio 1.2939105, by diniso21771 (run once)."""
        k = tip_shortening(
            centre_distance_modification(
                3,
                reference_centre_distance(*self.MESH),
                working_centre_distance(*self.MESH, 0.09809),
            ),
            0.09809,
        )
        driver_tip = tip_diameter_shortened(3, 30, 12, 0.09809, k)
        driven_tip = tip_diameter_shortened(3, 30, 60, 0, k)
        ratio = transverse_contact_ratio(
            *self.MESH,
            driver_tip=driver_tip,
            driven_tip=driven_tip,
            centre_distance=working_centre_distance(*self.MESH, 0.09809),
        )
        assert printed(driver_tip, "48.153905")
        assert printed(driven_tip, "213.842243")
        assert printed(ratio, "1.2939105")

    def test_contact_ratios(self) -> None:
        driver_tip, driven_tip = self.tips()
        ratio = transverse_contact_ratio(
            *self.MESH, driver_tip=driver_tip, driven_tip=driven_tip, centre_distance=125
        )
        overlap = overlap_ratio(3, 30, 20)
        assert printed(ratio, "1.294")
        assert printed(ratio, "1.29391056")
        assert printed(overlap, "1.061")
        assert printed(overlap, "1.06103295")


def test_example_e_transverse_system() -> None:
    """Helical pair in the transverse system: m_t 3, alpha_t 20, helix 30, 12/60, x_t 0.34462.

    Source: KHK profile-shifted helical (radial system) table, memory. In this system the shift
    counts in transverse modules, so it is worked twice: as the spur pair of its transverse
    section, and turned into the normal system.
    """
    angle = working_pressure_angle(0, 12, 60, 0.34462)
    assert printed(involute(radians(angle)), "0.0183886")
    assert printed(involute(radians(angle)), "0.01838859")
    assert printed(angle, "21.3975")
    assert printed(angle, "21.3975133")
    assert reference_centre_distance(3, 0, 12, 60) == 108
    assert printed(working_centre_distance(3, 0, 12, 60, 0.34462), "109.000")
    assert printed(working_centre_distance(3, 0, 12, 60, 0.34462), "108.999993")

    across = cos(radians(30))
    pressure = float(mpmath.degrees(mpmath.atan(mpmath.tan(mpmath.radians(20)) * across)))
    normal = working_centre_distance(
        3 * across, 30, 12, 60, 0.34462 / across, pressure_deg=pressure
    )
    assert printed(normal, "108.999993")


def test_example_f_chordal_thickness() -> None:
    """Spur gear m 10, 12 teeth, x 0.3: tooth thickness, half angle, chord and chordal height.

    Source: Elements of Metric Gear Technology, T-81, table 10-1 (read).
    """
    diameter = reference_diameter(10, 0, 12)
    thickness = tip_tooth_thickness(10, 0, 12, 0.3, diameter)
    half_angle = thickness / diameter
    tip = tip_diameter_unshortened(10, 0, 12, 0.3)
    assert printed(thickness, "17.8918")
    assert printed(half_angle * 180 / pi, "8.54270")
    assert printed(diameter * sin(half_angle), "17.8256")
    assert printed((tip - diameter * cos(half_angle)) / 2, "13.6657")


def test_whole_teeth_force_a_centre_distance() -> None:
    """Circular pitch 25, 3:1, 600 mm wanted: 38/114, diameters 302.39/907.2, true 604.79 mm.

    Source: Khurmi and Gupta, Theory of Machines, example 13.2 p. 433, by its open Python companion
    (read, commit d34b2ae7).
    """
    module = 25 / pi
    assert printed(reference_diameter(module, 0, 38), "302.39")
    assert printed(reference_diameter(module, 0, 114), "907.2")
    assert printed(reference_centre_distance(module, 0, 38, 114), "604.79")


def test_reverted_trains_share_their_centre_distance() -> None:
    """Two stages between the same two shafts must have the same centre distance.

    Sources: Bevan, Theory of Machines, example 11.3b p. 374 (read in its open companion): 24/74 of
    diametral pitch 7 and 18/52 of 5 at 7 in; Khurmi and Gupta example 13.3 p. 435 (book: memory):
    28/100 of module 3.125 and 36/124 of 2.5 at 200 mm. Its companion prints 99 for 100 teeth,
    which breaks its own condition that the sum be 128.
    """
    assert reference_centre_distance(1 / 7, 0, 24, 74) == pytest.approx(7, rel=1e-15)
    assert reference_centre_distance(1 / 5, 0, 18, 52) == pytest.approx(7, rel=1e-15)
    assert reference_centre_distance(3.125, 0, 28, 100) == 200
    assert reference_centre_distance(2.5, 0, 36, 124) == 200
    assert reference_centre_distance(3.125, 0, 28, 99) != 200


class TestUndercut:
    def test_table(self) -> None:
        """Least tooth count free of undercut by helix angle, computed at 40 digits."""
        for helix, teeth in (
            (0, "17.09726"),
            (10, "16.38920"),
            (15, "15.53782"),
            (20, "14.40663"),
            (25, "13.05156"),
            (30, "11.53801"),
        ):
            assert undercut_shift(10, helix) == pytest.approx(1 - 10 / float(teeth), abs=1e-6)


class TestContactRatios:
    def test_path_and_arc_with_a_10_mm_addendum(self) -> None:
        """Module 12, 30/80, addendum 10: path 52.3, arc 55.61 mm, 1.5 pairs (1.47515561).

        Source: Khurmi and Gupta, Theory of Machines, example 12.3 p. 398, by its open companion
        (read).
        """
        bases = base_diameter(12, 0, 30), base_diameter(12, 0, 80)
        path = path_of_contact(380, 980, *bases, 660)
        ratio = transverse_contact_ratio(
            12, 0, 30, 80, driver_tip=380, driven_tip=980, centre_distance=660
        )
        assert printed(path, "52.3")
        assert printed(path / cos(radians(20)), "55.61")
        assert printed(ratio, "1.5")
        assert printed(ratio, "1.47515561")

    @pytest.mark.parametrize(
        ("pressure", "published", "computed"), [(14.5, "2.00", "2.00672"), (20, "1.685", "1.68693")]
    )
    def test_28_with_45(self, pressure: float, published: str, computed: str) -> None:
        """28/45 at 14.5 and 20 degrees.

        Source: Bevan, Theory of Machines, example 10.6 p. 338, by its open companion (read). The
        companion divides whole numbers and so takes a wheel radius of 22 for 22.5 modules: its
        printed figures come out with 44 teeth, the computed ones with the 45 of the example.
        """
        for teeth, figure in ((44, published), (45, computed)):
            ratio = transverse_contact_ratio(
                *(1, 0, 28, teeth),
                driver_tip=30,
                driven_tip=teeth + 2,
                centre_distance=(28 + teeth) / 2,
                pressure_deg=pressure,
            )
            assert printed(ratio, figure)

    def test_17_with_49(self) -> None:
        """Module 6, 17/49: two pairs printed; 1.63297 computed, so the book rounds up.

        Source: Khurmi and Gupta, Theory of Machines, example 12.6 p. 401, by its open companion
        (read). The angles turned through while in contact, 34.6 and 12 degrees, agree.
        """
        ratio = transverse_contact_ratio(
            6, 0, 17, 49, driver_tip=114, driven_tip=306, centre_distance=198
        )
        assert printed(ratio, "1.63297")
        assert -int(-ratio // 1) == 2
        assert printed(ratio * 360 / 17, "34.6")
        assert printed(ratio * 360 / 49, "12")

    def test_spur_gears_do_not_overlap(self) -> None:
        assert overlap_ratio(1.5, 0, 14) == 0

    def test_gears_out_of_reach(self) -> None:
        bases = base_diameter(1, 0, 20), base_diameter(1, 0, 40)
        assert path_of_contact(22, 42, *bases, 33) < 0

    def test_no_involute_flank(self) -> None:
        with pytest.raises(ValueError, match="no involute flank"):
            path_of_contact(18, 42, base_diameter(1, 0, 20), base_diameter(1, 0, 40), 30)
        with pytest.raises(ValueError, match="no involute flank"):
            tip_tooth_thickness(1, 0, 20, 0, 18)
        with pytest.raises(ValueError, match=r"at least 28\.191 mm"):
            path_of_contact(22, 42, base_diameter(1, 0, 20), base_diameter(1, 0, 40), 28)


# Laws, on the gears of small gearboxes and somewhat beyond.
