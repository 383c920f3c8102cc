"""How large the driven gear's tip is, when the split of the shift sum is known and when not.

A casing clears the driven wheel or it does not, but catalogues often give the shift sum alone.
The driver's shift then lies between two limits: no gear of the pair is undercut, and none runs to
a point. Within them the tip diameter has a least and a greatest value.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fitcheck.kernel.geometry import (
    centre_distance_modification,
    reference_centre_distance,
    tip_diameter_shortened,
    tip_diameter_unshortened,
    tip_shortening,
    working_centre_distance,
)
from fitcheck.kernel.tooth_form import tip_tooth_thickness, undercut_shift

__all__ = ["DrivenTip", "driven_tip_diameter", "driver_shift_limits", "pair_tip_shortening"]


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
