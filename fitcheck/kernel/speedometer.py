"""What a speedometer may show: UN Regulation No. 39, paragraph 5.3.

Shown speed V1 and true speed V2 in km/h: 0 <= V1 - V2 <= 0.1 V2 + 4. The regulation asks this at
its test speeds; here it is taken for every speed. It binds a machine as type-approved, with its
own gears and tyre.
"""

from __future__ import annotations

from math import inf

_SHARE = 0.1
_ADDED_KM_H = 4.0


def shown_range(true_km_h: float) -> tuple[float, float]:
    """(least, most) in km/h that may be shown at a true speed.

    Raises:
        ValueError: a speed below zero.
    """
    if not 0 <= true_km_h < inf:
        raise ValueError(f"a speed is 0 km/h or more, not {true_km_h}")
    return true_km_h, true_km_h * (1 + _SHARE) + _ADDED_KM_H


def true_range(shown_km_h: float) -> tuple[float, float]:
    """(least, most) true speed in km/h behind a shown one.

    Raises:
        ValueError: a speed below zero.
    """
    if not 0 <= shown_km_h < inf:
        raise ValueError(f"a speed is 0 km/h or more, not {shown_km_h}")
    return max(0.0, (shown_km_h - _ADDED_KM_H) / (1 + _SHARE)), shown_km_h
