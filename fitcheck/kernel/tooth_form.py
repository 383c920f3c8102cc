"""Thickness of a tooth of an external gear, and the limits of undercut.

Lengths are in mm, angles in degrees, profile shift coefficients in normal modules; the rack is
that of ISO 53. Names follow ISO 21771:2007 (formulae from memory, held to published worked examples
in the tests).
"""

from __future__ import annotations

from math import acos, cos, hypot, pi, radians, sin, tan

from fitcheck.kernel.geometry import (
    ADDENDUM,
    base_diameter,
    reference_diameter,
    require_rack,
    transverse_pressure_rad,
)
from fitcheck.kernel.involute import involute_rad


def reference_tooth_thickness(
    normal_module: float, shift: float, pressure_deg: float = 20.0
) -> float:
    """Normal tooth thickness at the reference cylinder, m_n (pi/2 + 2 x tan(alpha_n)), mm."""
    require_rack(normal_module, pressure_deg=pressure_deg)
    return normal_module * (pi / 2 + 2 * shift * tan(radians(pressure_deg)))


def tip_tooth_thickness(
    normal_module: float,
    helix_deg: float,
    teeth: int,
    shift: float,
    tip_diameter: float,
    *,
    pressure_deg: float = 20.0,
) -> float:
    """Transverse tooth thickness at the tip circle, mm; below 0 the flanks meet inside it.

    Raises:
        ValueError: the tip circle lies inside the base circle.
    """
    base = base_diameter(normal_module, helix_deg, teeth, pressure_deg)
    if tip_diameter < base:
        raise ValueError("a tip circle lies inside the base circle: the gear has no involute flank")
    half_angle = reference_tooth_thickness(1.0, shift, pressure_deg) / teeth
    at_reference = involute_rad(transverse_pressure_rad(helix_deg, pressure_deg))
    return tip_diameter * (half_angle + at_reference - involute_rad(acos(base / tip_diameter)))


def normal_tip_tooth_thickness(
    normal_module: float,
    helix_deg: float,
    teeth: int,
    shift: float,
    tip_diameter: float,
    *,
    pressure_deg: float = 20.0,
) -> float:
    """Tooth thickness at the tip square to the tooth, mm, with the helix angle at the tip circle.

    Raises:
        ValueError: the tip circle lies inside the base circle.
    """
    across = tip_tooth_thickness(
        normal_module, helix_deg, teeth, shift, tip_diameter, pressure_deg=pressure_deg
    )
    diameter = reference_diameter(normal_module, helix_deg, teeth)
    return across / hypot(1.0, tan(radians(helix_deg)) * tip_diameter / diameter)


def undercut_shift(teeth: int, helix_deg: float = 0.0, pressure_deg: float = 20.0) -> float:
    """Least profile shift coefficient x_min free of undercut by the ISO 53 rack.

    1 - z sin(alpha_t)^2 / (2 cos(beta)).
    """
    require_rack(teeth=(teeth,))
    return ADDENDUM - teeth * _undercut_slope(helix_deg, pressure_deg)


def _undercut_slope(helix_deg: float, pressure_deg: float) -> float:
    pressure = transverse_pressure_rad(helix_deg, pressure_deg)
    return sin(pressure) ** 2 / (2 * cos(radians(helix_deg)))
