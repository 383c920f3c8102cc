"""Geometry of a pair of external helical or spur gears with profile shift.

Names and formulae follow ISO 21771:2007 (formulae from memory; the tests compare them with
published worked examples). Lengths are in mm, angles in degrees, a profile shift coefficient counts
in normal modules (never transverse ones) and a helix angle of 0 makes a spur pair. The rack is that
of ISO 53: addendum 1 normal module.

Driver and driven gear carry the standard's indices 1 and 2.
"""

from __future__ import annotations

from functools import lru_cache
from math import acos, atan, cbrt, cos, degrees, inf, isfinite, pi, radians, sin, sqrt, tan

_SERIES_BELOW = 0.5


def _tangent_series(terms: int) -> tuple[float, ...]:
    # Coefficients of x, x^3, x^5 ... in tan x, from tan' = 1 + tan^2; all positive, so exact to
    # rounding.
    found = [1.0]
    for order in range(1, terms):
        total = sum(found[i] * found[order - 1 - i] for i in range(order))
        found.append(total / (2 * order + 1))
    return tuple(found)


_TANGENT = _tangent_series(20)


def involute(angle: float) -> float:
    """tan(angle) - angle for an angle in radians from 0 to below pi/2, unchecked."""
    if angle >= _SERIES_BELOW:
        return tan(angle) - angle
    # tan x - x cancels for small x, so the series is summed from its smallest term.
    square = angle * angle
    total = 0.0
    for coefficient in reversed(_TANGENT[1:]):
        total = total * square + coefficient
    return total * square * angle


def inverse_involute(value: float) -> float:
    """The angle in radians whose involute is a finite `value` from 0 up, unchecked."""
    if value == 0:
        return 0.0
    # Both starts lie at or above the root (tan x - x >= x^3/3, and x < pi/2); on a convex
    # function Newton then falls towards the root without ever passing it.
    angle = min(cbrt(3 * value), atan(value + pi / 2))
    while True:
        lower = angle - (involute(angle) - value) / tan(angle) ** 2
        if not lower < angle:
            return angle
        angle = lower


ADDENDUM = 1.0
"""Addendum of the ISO 53 rack, in normal modules."""


def require_rack(
    normal_module: float = 1.0,
    helix_deg: float = 0.0,
    pressure_deg: float = 20.0,
    teeth: tuple[int, ...] = (),
) -> None:
    """Refuse what no gear has: raise ValueError for a module, angle or count out of range."""
    if not 0 < normal_module < inf:
        raise ValueError(f"a normal module is over 0 mm, not {normal_module}")
    if not 0 <= helix_deg < 90:
        raise ValueError(f"a helix angle is 0 to below 90 degrees, not {helix_deg}")
    if not 0 < pressure_deg < 90:
        raise ValueError(f"a pressure angle is between 0 and 90 degrees, not {pressure_deg}")
    for count in teeth:
        if count < 1:
            raise ValueError(f"a gear has at least one tooth, not {count}")


def transverse_module(normal_module: float, helix_deg: float) -> float:
    """Transverse module m_t = m_n / cos(beta), mm."""
    require_rack(normal_module, helix_deg)
    return normal_module / cos(radians(helix_deg))


def transverse_pressure_rad(helix_deg: float, pressure_deg: float) -> float:
    """Transverse pressure angle in radians, from angles in degrees."""
    require_rack(helix_deg=helix_deg, pressure_deg=pressure_deg)
    return atan(tan(radians(pressure_deg)) / cos(radians(helix_deg)))


def reference_centre_distance(
    normal_module: float, helix_deg: float, driver_teeth: int, driven_teeth: int
) -> float:
    """Reference centre distance a = m_t (z1 + z2) / 2, mm: that of a pair with no shift sum."""
    require_rack(teeth=(driver_teeth, driven_teeth))
    return transverse_module(normal_module, helix_deg) * (driver_teeth + driven_teeth) / 2


def least_centre_distance(
    normal_module: float,
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    pressure_deg: float = 20.0,
) -> float:
    """Distance at which the base circles touch, a * cos(alpha_t), mm: no pair works below it."""
    distance = reference_centre_distance(normal_module, helix_deg, driver_teeth, driven_teeth)
    return distance * cos(transverse_pressure_rad(helix_deg, pressure_deg))


def working_pressure_angle(
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    shift_sum: float,
    *,
    pressure_deg: float = 20.0,
) -> float:
    """Working transverse pressure angle of the pair without backlash, degrees.

    inv(alpha_wt) = inv(alpha_t) + 2 (x1 + x2) tan(alpha_n) / (z1 + z2).

    Args:
        helix_deg: helix angle at the reference cylinder.
        driver_teeth: z1.
        driven_teeth: z2.
        shift_sum: x1 + x2, in normal modules.
        pressure_deg: normal pressure angle.

    Raises:
        ValueError: the shift sum is so low that no distance gives it.
    """
    require_rack(teeth=(driver_teeth, driven_teeth))
    total = driver_teeth + driven_teeth
    at_reference = involute(transverse_pressure_rad(helix_deg, pressure_deg))
    value = at_reference + 2 * shift_sum * tan(radians(pressure_deg)) / total
    if not (value >= 0 and isfinite(value)):
        least = -at_reference * total / (2 * tan(radians(pressure_deg)))
        raise ValueError(
            f"a shift sum of {shift_sum:g} is impossible with {total} teeth together; "
            f"it is at least {least:.4f}"
        )
    return degrees(inverse_involute(value))


@lru_cache(maxsize=1 << 12)
def working_centre_distance(
    normal_module: float,
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    shift_sum: float,
    *,
    pressure_deg: float = 20.0,
) -> float:
    """Working centre distance a_w = a cos(alpha_t) / cos(alpha_wt) of the pair, mm.

    The distance at which the pair runs without backlash.

    Raises:
        ValueError: the shift sum is so low that no distance gives it.
    """
    angle = working_pressure_angle(
        helix_deg, driver_teeth, driven_teeth, shift_sum, pressure_deg=pressure_deg
    )
    least = least_centre_distance(
        normal_module, helix_deg, driver_teeth, driven_teeth, pressure_deg=pressure_deg
    )
    return least / cos(radians(angle))


def working_pressure_angle_at(
    normal_module: float,
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    centre_distance: float,
    *,
    pressure_deg: float = 20.0,
) -> float:
    """Working transverse pressure angle at a given centre distance, degrees.

    Raises:
        ValueError: the distance is under a * cos(alpha_t), where the base circles touch.
    """
    least = least_centre_distance(
        normal_module, helix_deg, driver_teeth, driven_teeth, pressure_deg=pressure_deg
    )
    if not least <= centre_distance < inf:
        raise ValueError(
            f"a centre distance of {centre_distance:g} mm is impossible for "
            f"{driver_teeth}/{driven_teeth} of normal module {normal_module:g} mm and helix "
            f"{helix_deg:g} degrees; it is at least {least:.3f} mm"
        )
    return degrees(acos(least / centre_distance))


def shift_sum_for(
    normal_module: float,
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    centre_distance: float,
    *,
    pressure_deg: float = 20.0,
) -> float:
    """Shift sum x1 + x2 that makes the pair run without backlash at a centre distance.

    (z1 + z2) (inv(alpha_wt) - inv(alpha_t)) / (2 tan(alpha_n)), in normal modules.

    Raises:
        ValueError: the distance is under a * cos(alpha_t), where the base circles touch.
    """
    working = working_pressure_angle_at(
        normal_module,
        helix_deg,
        driver_teeth,
        driven_teeth,
        centre_distance,
        pressure_deg=pressure_deg,
    )
    gained = involute(radians(working)) - involute(transverse_pressure_rad(helix_deg, pressure_deg))
    return (driver_teeth + driven_teeth) * gained / (2 * tan(radians(pressure_deg)))


def centre_distance_modification(
    normal_module: float, reference_distance: float, working_distance: float
) -> float:
    """Centre distance modification coefficient y = (a_w - a) / m_n."""
    require_rack(normal_module)
    return (working_distance - reference_distance) / normal_module


def tip_shortening(modification: float, shift_sum: float) -> float:
    """Tip shortening coefficient k = y - (x1 + x2), never over 0: it keeps the tip clearance.

    Args:
        modification: centre distance modification coefficient y.
        shift_sum: x1 + x2.
    """
    return modification - shift_sum


def reference_diameter(normal_module: float, helix_deg: float, teeth: int) -> float:
    """Reference diameter d = z * m_t, mm."""
    require_rack(teeth=(teeth,))
    return teeth * transverse_module(normal_module, helix_deg)


def base_diameter(
    normal_module: float, helix_deg: float, teeth: int, pressure_deg: float = 20.0
) -> float:
    """Base diameter d_b = d * cos(alpha_t), mm."""
    diameter = reference_diameter(normal_module, helix_deg, teeth)
    return diameter * cos(transverse_pressure_rad(helix_deg, pressure_deg))


def tip_diameter_unshortened(
    normal_module: float, helix_deg: float, teeth: int, shift: float
) -> float:
    """Tip diameter without tip shortening, d + 2 m_n (1 + x), mm."""
    return tip_diameter_shortened(normal_module, helix_deg, teeth, shift, 0.0)


def tip_diameter_shortened(
    normal_module: float, helix_deg: float, teeth: int, shift: float, shortening: float
) -> float:
    """Tip diameter with tip shortening, d_a = d + 2 m_n (1 + x + k), mm.

    Args:
        normal_module: normal module, mm.
        helix_deg: helix angle at the reference cylinder.
        teeth: tooth count of the gear.
        shift: profile shift coefficient x of the gear.
        shortening: tip shortening coefficient k of the pair, 0 or below.
    """
    addendum = normal_module * (ADDENDUM + shift + shortening)
    return reference_diameter(normal_module, helix_deg, teeth) + 2 * addendum


def path_of_contact(
    driver_tip: float,
    driven_tip: float,
    driver_base: float,
    driven_base: float,
    centre_distance: float,
) -> float:
    """Length of the path of contact, mm, from diameters and centre distance in mm.

    Taken from tip circle to tip circle. Negative where the gears do not reach each other; too
    long where a tip reaches beyond the point at which the line of action leaves the mate's base
    circle, which does not happen with gears free of undercut.

    Raises:
        ValueError: a tip circle lies inside its base circle, or the base circles overlap.
    """
    if driver_tip < driver_base or driven_tip < driven_base:
        raise ValueError("a tip circle lies inside the base circle: the gear has no involute flank")
    base_distance = (driver_base + driven_base) / 2
    if centre_distance < base_distance:
        raise ValueError(
            f"a centre distance of {centre_distance:g} mm is impossible; "
            f"it is at least {base_distance:.3f} mm"
        )
    reach = sqrt(driver_tip**2 - driver_base**2) + sqrt(driven_tip**2 - driven_base**2)
    return reach / 2 - sqrt(centre_distance**2 - base_distance**2)


def transverse_contact_ratio(
    normal_module: float,
    helix_deg: float,
    driver_teeth: int,
    driven_teeth: int,
    *,
    driver_tip: float,
    driven_tip: float,
    centre_distance: float,
    pressure_deg: float = 20.0,
) -> float:
    """Transverse contact ratio: path of contact over transverse base pitch.

    Args:
        normal_module: normal module, mm.
        helix_deg: helix angle at the reference cylinder.
        driver_teeth: z1.
        driven_teeth: z2.
        driver_tip: tip diameter of the driver, mm, shortened or not as the gear is made.
        driven_tip: tip diameter of the driven gear, mm.
        centre_distance: distance at which the pair is mounted, mm.
        pressure_deg: normal pressure angle.

    Raises:
        ValueError: no involute flank, or an impossible distance, as in `path_of_contact`.
    """
    path = path_of_contact(
        driver_tip,
        driven_tip,
        base_diameter(normal_module, helix_deg, driver_teeth, pressure_deg),
        base_diameter(normal_module, helix_deg, driven_teeth, pressure_deg),
        centre_distance,
    )
    pressure = transverse_pressure_rad(helix_deg, pressure_deg)
    return path / (pi * transverse_module(normal_module, helix_deg) * cos(pressure))


def overlap_ratio(normal_module: float, helix_deg: float, face_width: float) -> float:
    """Overlap ratio b sin(beta) / (pi m_n) of a common face width in mm; 0 for spur gears."""
    require_rack(normal_module, helix_deg)
    return face_width * sin(radians(helix_deg)) / (pi * normal_module)
