"""Laws of ISO 21771 geometry on any pair, a 40-digit oracle, and what is refused.

Angles are in degrees, lengths in mm; racks have addendum 1 and tip clearance 0.25.
"""

from __future__ import annotations

from math import cos, degrees, inf, nan, pi, radians, sin, tan

import mpmath
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fitcheck.kernel.geometry import (
    base_diameter,
    centre_distance_modification,
    involute,
    least_centre_distance,
    reference_centre_distance,
    reference_diameter,
    shift_sum_for,
    tip_diameter_unshortened,
    tip_shortening,
    transverse_module,
    transverse_pressure_rad,
    working_centre_distance,
    working_pressure_angle,
    working_pressure_angle_at,
)
from fitcheck.kernel.shift_split import (
    tip_tooth_thickness,
    undercut_shift,
)

modules = st.floats(0.5, 6)
helices = st.floats(0, 35)
drivers = st.integers(7, 40)
drivens = st.integers(20, 120)
sums = st.floats(-0.8, 2)
pressures = st.floats(14.5, 25)
meshes = st.tuples(modules, helices, drivers, drivens)
Mesh = tuple[float, float, int, int]


def meshable(mesh: Mesh, shift_sum: float, pressure: float = 20.0) -> bool:
    """Well away from the sum at which the base circles touch, where angles lose their digits."""
    _, _, z1, z2 = mesh
    return shift_sum > -(z1 + z2) * involute(radians(pressure)) / 3


def exact_distance(
    module: float, helix: float, teeth: int, shift_sum: float, pressure: float
) -> mpmath.mpf:
    """Working centre distance from the definitions, by mpmath's own root finder."""
    beta, alpha = mpmath.radians(mpmath.mpf(helix)), mpmath.radians(mpmath.mpf(pressure))
    alpha_t = mpmath.atan(mpmath.tan(alpha) / mpmath.cos(beta))
    value = mpmath.tan(alpha_t) - alpha_t + 2 * mpmath.mpf(shift_sum) * mpmath.tan(alpha) / teeth
    working = mpmath.findroot(
        lambda x: mpmath.tan(x) - x - value, (mpmath.mpf("0.01"), mpmath.mpf("1.4")), "anderson"
    )
    reference = mpmath.mpf(module) * teeth / (2 * mpmath.cos(beta))
    return reference * mpmath.cos(alpha_t) / mpmath.cos(working)


@settings(max_examples=60)
@given(meshes, sums, pressures)
def test_against_mpmath(mesh: Mesh, shift_sum: float, pressure: float) -> None:
    assume(meshable(mesh, shift_sum, pressure))
    module, helix, z1, z2 = mesh
    with mpmath.workdps(40):
        exact = exact_distance(module, helix, z1 + z2, shift_sum, pressure)
    found = working_centre_distance(*mesh, shift_sum, pressure_deg=pressure)
    assert abs(found / exact - 1) < 2e-15


@given(meshes, sums, pressures)
def test_round_trip(mesh: Mesh, shift_sum: float, pressure: float) -> None:
    assume(meshable(mesh, shift_sum, pressure))
    _, helix, z1, z2 = mesh
    distance = working_centre_distance(*mesh, shift_sum, pressure_deg=pressure)
    assert shift_sum_for(*mesh, distance, pressure_deg=pressure) == pytest.approx(
        shift_sum, abs=1e-11
    )
    assert working_pressure_angle_at(*mesh, distance, pressure_deg=pressure) == pytest.approx(
        working_pressure_angle(helix, z1, z2, shift_sum, pressure_deg=pressure), abs=1e-10
    )


@given(meshes, sums, st.floats(1e-6, 1))
def test_distance_rises_with_the_shift_sum(mesh: Mesh, shift_sum: float, more: float) -> None:
    """And y never exceeds the shift sum: k is never over zero."""
    assume(meshable(mesh, shift_sum))
    near = working_centre_distance(*mesh, shift_sum)
    far = working_centre_distance(*mesh, shift_sum + more)
    assert near < far
    y = centre_distance_modification(mesh[0], reference_centre_distance(*mesh), near)
    assert tip_shortening(y, shift_sum) <= 1e-12


@given(meshes)
def test_no_shift_sum_means_the_reference_distance(mesh: Mesh) -> None:
    reference = reference_centre_distance(*mesh)
    assert working_centre_distance(*mesh, 0.0) == pytest.approx(reference, rel=1e-15)
    assert shift_sum_for(*mesh, reference) == pytest.approx(0, abs=1e-11)


@given(modules, drivers, drivens, sums)
def test_spur_is_a_helix_of_zero(module: float, z1: int, z2: int, shift_sum: float) -> None:
    """The plain spur formulae of any textbook, with no helix in them."""
    assume(meshable((module, 0, z1, z2), shift_sum))
    assert transverse_module(module, 0) == module
    assert degrees(transverse_pressure_rad(0, 20)) == pytest.approx(20, rel=1e-15)
    assert reference_diameter(module, 0, z1) == module * z1
    assert reference_centre_distance(module, 0, z1, z2) == module * (z1 + z2) / 2
    assert base_diameter(module, 0, z2) == pytest.approx(module * z2 * cos(pi / 9), rel=1e-15)
    assert undercut_shift(z1) == pytest.approx(1 - z1 * sin(pi / 9) ** 2 / 2, abs=1e-14)
    spur = working_centre_distance(module, 0, z1, z2, shift_sum)
    assert working_centre_distance(module, 1e-7, z1, z2, shift_sum) == pytest.approx(
        spur, rel=1e-14
    )


@given(modules, helices, drivers, st.floats(-0.5, 1), st.floats(0.01, 0.3))
def test_tooth_narrows_outwards(
    module: float, helix: float, teeth: int, shift: float, step: float
) -> None:
    tip = tip_diameter_unshortened(module, helix, teeth, shift)
    assume(tip - module * step > base_diameter(module, helix, teeth) * 1.001)
    inner = tip_tooth_thickness(module, helix, teeth, shift, tip - module * step)
    assert tip_tooth_thickness(module, helix, teeth, shift, tip) < inner


@given(modules, helices, st.integers(25, 60), st.floats(-0.3, 0.6))
def test_thickness_at_the_reference_circle(
    module: float, helix: float, teeth: int, shift: float
) -> None:
    """At the reference circle it is m_t (pi / 2 + 2 x tan(alpha_n)), with no involute in it."""
    circle = reference_diameter(module, helix, teeth)
    assert tip_tooth_thickness(module, helix, teeth, shift, circle) == pytest.approx(
        transverse_module(module, helix) * (pi / 2 + 2 * shift * tan(pi / 9)), rel=1e-12
    )


class TestRefusals:
    def test_distance_too_short(self) -> None:
        with pytest.raises(
            ValueError, match=r"40 mm is impossible for 13/47 .* at least 44\.655 mm"
        ):
            shift_sum_for(1.5, 20, 13, 47, 40)
        with pytest.raises(ValueError, match="impossible"):
            working_pressure_angle_at(1.5, 20, 13, 47, nan)
        with pytest.raises(ValueError, match="impossible"):
            shift_sum_for(1.5, 20, 13, 47, inf)

    def test_the_limit_itself(self) -> None:
        least = least_centre_distance(1.5, 20, 13, 47)
        assert working_pressure_angle_at(1.5, 20, 13, 47, least) == 0
        with pytest.raises(ValueError, match="impossible"):
            shift_sum_for(1.5, 20, 13, 47, least * (1 - 1e-12))

    def test_shift_sum_too_low(self) -> None:
        with pytest.raises(
            ValueError, match=r"-9 is impossible with 60 teeth .* at least -1\.4666"
        ):
            working_centre_distance(1.5, 20, 13, 47, -9)
        with pytest.raises(ValueError, match="impossible"):
            working_centre_distance(1.5, 20, 13, 47, nan)
        assert shift_sum_for(
            1.5, 20, 13, 47, least_centre_distance(1.5, 20, 13, 47)
        ) == pytest.approx(-1.4666, abs=5e-5)

    @pytest.mark.parametrize(
        ("mesh", "word"),
        [
            ((0.0, 20.0, 13, 47), "module"),
            ((-1.5, 20.0, 13, 47), "module"),
            ((nan, 20.0, 13, 47), "module"),
            ((inf, 20.0, 13, 47), "module"),
            ((1.5, 90.0, 13, 47), "helix"),
            ((1.5, -20.0, 13, 47), "helix"),
            ((1.5, nan, 13, 47), "helix"),
            ((1.5, 20.0, 0, 47), "tooth"),
            ((1.5, 20.0, 13, -47), "tooth"),
        ],
    )
    def test_no_such_gear(self, mesh: tuple[float, float, int, int], word: str) -> None:
        with pytest.raises(ValueError, match=word):
            working_centre_distance(*mesh, 0.1)

    @pytest.mark.parametrize("pressure", [0, 90, -20, nan])
    def test_no_such_pressure_angle(self, pressure: float) -> None:
        with pytest.raises(ValueError, match="pressure angle"):
            working_centre_distance(1.5, 20, 13, 47, 0.1, pressure_deg=pressure)
