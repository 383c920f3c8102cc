"""What a shift sum says of a pair when its split between driver and driven gear is not known.

Catalogues often give the sum alone, or it is found from a centre distance. The driver's shift then
lies between two limits: neither gear is undercut, and neither runs to a point. Within them the
contact ratio and the diameters have a least and a greatest value; a casing clears the driven gear's
tip or it does not.

Lengths are in mm, angles in degrees, profile shift coefficients in normal modules; the rack is
that of ISO 53. Names follow ISO 21771:2007 (formulae from memory; the tests compare them with
published worked examples).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import acos, cos, pi, radians, sin, tan

from fitcheck.kernel.geometry import (
    ADDENDUM,
    base_diameter,
    centre_distance_modification,
    involute,
    reference_centre_distance,
    require_rack,
    tip_diameter_shortened,
    tip_diameter_unshortened,
    tip_shortening,
    transverse_contact_ratio,
    transverse_pressure_rad,
    working_centre_distance,
)


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
    half_angle = (pi / 2 + 2 * shift * tan(radians(pressure_deg))) / teeth
    at_reference = involute(transverse_pressure_rad(helix_deg, pressure_deg))
    return tip_diameter * (half_angle + at_reference - involute(acos(base / tip_diameter)))


def undercut_shift(teeth: int, helix_deg: float = 0.0, pressure_deg: float = 20.0) -> float:
    """Least profile shift coefficient x_min free of undercut by the ISO 53 rack.

    1 - z sin(alpha_t)^2 / (2 cos(beta)).
    """
    require_rack(teeth=(teeth,))
    pressure = transverse_pressure_rad(helix_deg, pressure_deg)
    return ADDENDUM - teeth * sin(pressure) ** 2 / (2 * cos(radians(helix_deg)))


def pair_tip_shortening(
    normal_module: float,
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    shift_sum: float,
    *,
    pressure_deg: float = 20.0,
) -> float:
    """Tip shortening coefficient k of a pair running without backlash; 0 or below.

    Raises:
        ValueError: the shift sum is so low that no distance gives it.
    """
    counts = driver_teeth, driven_teeth
    modification = centre_distance_modification(
        normal_module,
        reference_centre_distance(normal_module, helix_deg, *counts),
        working_centre_distance(
            normal_module, helix_deg, *counts, shift_sum, pressure_deg=pressure_deg
        ),
    )
    return min(0.0, tip_shortening(modification, shift_sum))


def driver_shift_limits(
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    shift_sum: float,
    *,
    pressure_deg: float = 20.0,
) -> tuple[float, float] | None:
    """Least and greatest driver shift with neither gear undercut nor pointed.

    Coefficients do not depend on the module. Tips are taken as shortened, which points later and
    so gives the wider window.

    Returns:
        (least, greatest) profile shift coefficient of the driver, or None where no split of the
        sum keeps both gears sound.

    Raises:
        ValueError: the shift sum is so low that no distance gives it.
    """
    shortening = pair_tip_shortening(
        1.0, helix_deg, driver_teeth, driven_teeth, shift_sum, pressure_deg=pressure_deg
    )

    def pointed(teeth: int, shift: float) -> bool:
        tip = tip_diameter_shortened(1.0, helix_deg, teeth, shift, shortening)
        try:
            return (
                tip_tooth_thickness(1.0, helix_deg, teeth, shift, tip, pressure_deg=pressure_deg)
                < 0
            )
        except ValueError:  # shortened down to the base circle: no flank, but no point either
            return False

    least = undercut_shift(driver_teeth, helix_deg, pressure_deg)
    greatest = shift_sum - undercut_shift(driven_teeth, helix_deg, pressure_deg)
    if least > greatest:
        return None
    if pointed(driver_teeth, least) or pointed(driven_teeth, shift_sum - greatest):
        return None
    driver_limit = _last_sound(lambda x: pointed(driver_teeth, x), least, greatest)
    driven_limit = _last_sound(lambda x: pointed(driven_teeth, shift_sum - x), greatest, least)
    return (driven_limit, driver_limit) if driven_limit <= driver_limit else None


def _last_sound(pointed: Callable[[float], bool], sound: float, far: float) -> float:
    if not pointed(far):
        return far
    for _ in range(60):
        middle = (sound + far) / 2
        if pointed(middle):
            far = middle
        else:
            sound = middle
    return sound


def usual_driver_shift(
    helix_deg: float, driver_teeth: int, shift_sum: float, pressure_deg: float = 20.0
) -> float:
    """Driver's shift where only the sum is known: half of it, or more to be free of undercut."""
    return max(shift_sum / 2, undercut_shift(driver_teeth, helix_deg, pressure_deg))


def contact_ratio(
    normal_module: float,
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    shift_sum: float,
    *,
    driver_shift: float | None = None,
    pressure_deg: float = 20.0,
) -> float:
    """Transverse contact ratio of a pair running without backlash, its tips shortened.

    Without the driver's shift the sum is split as `usual_driver_shift` does.

    Raises:
        ValueError: the shift sum is so low that no distance gives it, or a tip circle lies inside
            its base circle.
    """
    mesh = normal_module, helix_deg, driver_teeth, driven_teeth
    if driver_shift is None:
        driver_shift = usual_driver_shift(helix_deg, driver_teeth, shift_sum, pressure_deg)
    shortening = pair_tip_shortening(*mesh, shift_sum, pressure_deg=pressure_deg)
    return transverse_contact_ratio(
        *mesh,
        driver_tip=tip_diameter_shortened(*mesh[:3], driver_shift, shortening),
        driven_tip=tip_diameter_shortened(
            normal_module, helix_deg, driven_teeth, shift_sum - driver_shift, shortening
        ),
        centre_distance=working_centre_distance(*mesh, shift_sum, pressure_deg=pressure_deg),
        pressure_deg=pressure_deg,
    )


@dataclass(frozen=True, slots=True)
class DrivenTip:
    """The tip diameter of a driven gear, as a window since tips may or may not be shortened.

    Attributes:
        least: tip diameter with tip shortening, mm (at the driver's greatest shift if unknown).
        greatest: tip diameter without it, mm (at the driver's least shift if unknown).
        split_known: whether the driver's shift was given; if not, both gears are taken to be
            free of undercut and of pointed teeth, which is usual but not proved.
    """

    least: float
    greatest: float
    split_known: bool


def driven_tip_diameter(
    normal_module: float,
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    shift_sum: float,
    *,
    driver_shift: float | None = None,
    pressure_deg: float = 20.0,
) -> DrivenTip | None:
    """Tip diameter of the driven gear with and without tip shortening, mm.

    Args:
        normal_module: normal module, mm.
        helix_deg: helix angle at the reference cylinder, degrees.
        driver_teeth: z1.
        driven_teeth: z2.
        shift_sum: x1 + x2, in normal modules.
        driver_shift: x1, or None where only the sum is known.
        pressure_deg: normal pressure angle, degrees.

    Returns:
        The window of the tip diameter, or None where `driver_shift` is None and no split of the
        sum keeps both gears free of undercut and pointed teeth.

    Raises:
        ValueError: the shift sum is so low that no distance gives it.
    """
    counts = driver_teeth, driven_teeth
    shortening = pair_tip_shortening(
        normal_module, helix_deg, *counts, shift_sum, pressure_deg=pressure_deg
    )
    if driver_shift is None:
        limits = driver_shift_limits(helix_deg, *counts, shift_sum, pressure_deg=pressure_deg)
        if limits is None:
            return None
        least_shift, greatest_shift = limits
    else:
        least_shift = greatest_shift = driver_shift
    return DrivenTip(
        least=tip_diameter_shortened(
            normal_module, helix_deg, driven_teeth, shift_sum - greatest_shift, shortening
        ),
        greatest=tip_diameter_unshortened(
            normal_module, helix_deg, driven_teeth, shift_sum - least_shift
        ),
        split_known=driver_shift is not None,
    )
