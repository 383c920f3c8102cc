"""Working distance and tip diameters of one pair, from docs/matching.md (ISO 21771), in floats."""

from __future__ import annotations

import math
from typing import NamedTuple

GREATEST_SHIFT_SUM = 2.5
GREY_MM = 0.05
JS8_HALF_MM = (
    (18, 30, 0.0165),
    (30, 50, 0.0195),
    (50, 80, 0.023),
    (80, 120, 0.027),
    (120, 180, 0.0315),
)


def tolerance_mm(distance: float) -> float:
    """Half of js8 of ISO 286 for the distance, as the docs give it."""
    for over, up_to, half in JS8_HALF_MM:
        if over < distance <= up_to:
            return half
    return 0.025


def involute(angle: float) -> float:
    """The involute function of an angle in radians."""
    return math.tan(angle) - angle


def involute_angle(value: float) -> float | None:
    """The angle with this involute, by bisection; None where there is none."""
    if value < 0:
        return None
    low, high = 0.0, math.pi / 2 - 1e-9
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if involute(middle) < value else (low, middle)
    return (low + high) / 2


class Teeth(NamedTuple):
    """One pair: counts, normal module, helix angle and normal pressure angle in radians."""

    z1: int
    z2: int
    m: float
    beta: float
    alpha: float

    @property
    def transverse(self) -> float:
        """The transverse pressure angle."""
        return math.atan(math.tan(self.alpha) / math.cos(self.beta))

    @property
    def reference(self) -> float:
        """The reference centre distance."""
        return self.m / math.cos(self.beta) * (self.z1 + self.z2) / 2


def working_distance(pair: Teeth, shift_sum: float) -> float | None:
    """Where the pair runs without backlash; None where no working angle gives the shift sum."""
    alpha_t = pair.transverse
    value = involute(alpha_t) + 2 * math.tan(pair.alpha) * shift_sum / (pair.z1 + pair.z2)
    angle = involute_angle(value)
    return None if angle is None else pair.reference * math.cos(alpha_t) / math.cos(angle)


def shift_sum_for(pair: Teeth, distance: float) -> float | None:
    """The shift sum that the distance needs; None where there is none."""
    cosine = pair.reference * math.cos(pair.transverse) / distance
    if cosine > 1:
        return None
    gap = involute(math.acos(cosine)) - involute(pair.transverse)
    return gap * (pair.z1 + pair.z2) / (2 * math.tan(pair.alpha))


def tip_diameter(pair: Teeth, teeth: int, shift: float, shortening: float) -> float:
    """The tip diameter of a gear of this pair with so many teeth."""
    return pair.m / math.cos(pair.beta) * teeth + 2 * pair.m * (1 + shift + shortening)


def tip_thickness(pair: Teeth, teeth: int, shift: float, shortening: float) -> float:
    """The transverse thickness of a tooth at its tip; below zero: it is pointed before."""
    d = pair.m / math.cos(pair.beta) * teeth
    tip = tip_diameter(pair, teeth, shift, shortening)
    base = d * math.cos(pair.transverse)
    if tip <= base:
        return math.inf
    thickness = pair.m * (math.pi / 2 + 2 * shift * math.tan(pair.alpha)) / math.cos(pair.beta)
    return tip * (thickness / d + involute(pair.transverse) - involute(math.acos(base / tip)))


def least_shift(pair: Teeth, teeth: int) -> float:
    """The least shift without undercut."""
    return 1 - teeth * math.sin(pair.transverse) ** 2 / (2 * math.cos(pair.beta))


def shift_window(pair: Teeth, shift_sum: float, shortening: float) -> tuple[float, float] | None:
    """Least and greatest x1 with no undercut and no shortened tip pointed; None: no x1 does."""
    low, high = least_shift(pair, pair.z1), shift_sum - least_shift(pair, pair.z2)
    greatest1 = greatest_unpointed(pair, pair.z1, shortening, high)
    greatest2 = greatest_unpointed(pair, pair.z2, shortening, shift_sum - low)
    if low > high or greatest1 is None or greatest2 is None:
        return None
    low, high = max(low, shift_sum - greatest2), min(high, greatest1)
    return None if low > high else (low, high)


def greatest_unpointed(pair: Teeth, teeth: int, shortening: float, most: float) -> float | None:
    """The greatest shift up to MOST whose tip is not pointed."""
    if tip_thickness(pair, teeth, most, shortening) >= 0:
        return most
    low = most - 10.0
    if tip_thickness(pair, teeth, low, shortening) < 0:
        return None
    high = most
    for _ in range(200):
        middle = (low + high) / 2
        if tip_thickness(pair, teeth, middle, shortening) >= 0:
            low = middle
        else:
            high = middle
    return low


def driven_tips(
    pair: Teeth, shift_sum: float, driver_shift: float | None
) -> tuple[float, float] | None:
    """Smallest and largest tip diameter of the driven gear; None where it is not known."""
    distance = working_distance(pair, shift_sum)
    if distance is None:
        return None
    k = min(0.0, (distance - pair.reference) / pair.m - shift_sum)
    if driver_shift is not None:
        shifts = driver_shift, driver_shift
    else:
        window = shift_window(pair, shift_sum, k)
        if window is None:
            return None
        shifts = window
    least_x1, greatest_x1 = shifts
    return (
        tip_diameter(pair, pair.z2, shift_sum - greatest_x1, k),
        tip_diameter(pair, pair.z2, shift_sum - least_x1, 0.0),
    )
