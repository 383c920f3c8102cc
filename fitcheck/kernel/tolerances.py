"""Modules, centre distance tolerances and backlash as the standards give them.

Lengths in mm. Where a figure comes from memory rather than from a copy of the standard, its
docstring says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cbrt, isclose, sqrt
from typing import Literal

ISO_54_SERIES_I: tuple[float, ...] = (
    *(1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0),
    *(40.0, 50.0),
)
"""Preferred normal modules of ISO 54:1996, mm (the split into series is from memory)."""

ISO_54_SERIES_II: tuple[float, ...] = (
    *(1.125, 1.375, 1.75, 2.25, 2.75, 3.5, 4.5, 5.5, 6.5, 7.0, 9.0, 11.0, 14.0, 18.0, 22.0),
    *(28.0, 36.0, 45.0),
)
"""Second-choice normal modules of ISO 54:1996, mm (the split into series is from memory)."""


def iso_54_series(normal_module: float) -> Literal["I", "II"] | None:
    """The series of ISO 54 a normal module belongs to, None for neither.

    Advice only: the standard is for general and heavy engineering and leaves vehicle gears out
    of its scope, so a module outside it is no fault.
    """
    if any(isclose(normal_module, listed, rel_tol=1e-9) for listed in ISO_54_SERIES_I):
        return "I"
    if any(isclose(normal_module, listed, rel_tol=1e-9) for listed in ISO_54_SERIES_II):
        return "II"
    return None


# Widths IT6 to IT11 in micrometres for nominal sizes over the first and up to the second figure,
# as tabulated in ISO 286 (read in a reproduction of its table).
_IT_TABLE: dict[tuple[int, int], tuple[int, ...]] = {
    (30, 50): (16, 25, 39, 62, 100, 160),
    (50, 80): (19, 30, 46, 74, 120, 190),
}
# Neighbouring ranges, whose widths come from the formula.
_IT_RANGES = ((18, 30), *_IT_TABLE, (80, 120), (120, 180))
_IT_FACTORS = {6: 10, 7: 16, 8: 25, 9: 40, 10: 64}


@dataclass(frozen=True, slots=True)
class CentreDistanceTolerance:
    """A symmetric tolerance of ISO 286 on a centre distance.

    Attributes:
        grade: 6 to 11, for js6 to js11.
        half_width: permitted difference either way, mm.
        basis: `table` for widths read from the standard's table, `formula` for widths computed
            with the standard's formula.
    """

    grade: int
    half_width: float
    basis: Literal["table", "formula"]


def centre_distance_tolerance(centre_distance: float, grade: int = 8) -> CentreDistanceTolerance:
    """The js tolerance of ISO 286 for a centre distance.

    DIN 3964 takes the casing's centre distance deviations from js6 to js11. Sizes over 30 to
    80 mm are tabulated, others over 18 to 180 mm follow from IT = f * i with the tolerance unit
    i = 0.45 D^(1/3) + 0.001 D micrometres, D the geometric mean of the range (formula and its
    rounding from memory).

    Args:
        centre_distance: nominal centre distance, mm, over 18 up to 180.
        grade: 6 to 11.

    Raises:
        ValueError: the distance or the grade is outside what is covered.
    """
    if grade not in range(6, 12):
        raise ValueError(f"a centre distance tolerance is js6 to js11, not js{grade}")
    for low, high in _IT_RANGES:
        if low < centre_distance <= high:
            listed = _IT_TABLE.get((low, high))
            width = _width_by_formula(low, high, grade) if listed is None else listed[grade - 6]
            return CentreDistanceTolerance(
                grade, width / 2000, "formula" if listed is None else "table"
            )
    raise ValueError(
        f"no tolerance is known for a centre distance of {centre_distance:g} mm, "
        f"only over {_IT_RANGES[0][0]} up to {_IT_RANGES[-1][1]} mm"
    )


def _width_by_formula(low: int, high: int, grade: int) -> int:
    if grade == 11:  # every fifth grade is ten times the one before
        return 10 * _width_by_formula(low, high, 6)
    size = sqrt(low * high)
    width = _IT_FACTORS[grade] * (0.45 * cbrt(size) + 0.001 * size)
    step = 1 if width <= 100 else 5
    return step * round(width / step)
