"""How large the driven gear's tip is, when the split of the shift sum is known and when not.

A casing clears the driven wheel or it does not, but catalogues often give the shift sum alone.
"""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.kernel.geometry import tip_diameter_shortened, tip_diameter_unshortened
from fitcheck.kernel.shift_split import driver_shift_limits, pair_tip_shortening


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
