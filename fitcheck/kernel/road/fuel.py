"""Rough change in fuel use at a steady speed when the engine turns slower or faster."""

from __future__ import annotations

from math import inf


def steady_fuel_change(
    power_w: float,
    rpm_before: float,
    rpm_after: float,
    displacement_cm3: float,
    friction_mep_bar: float,
    *,
    strokes: int = 4,
) -> float:
    """Relative change in fuel, -0.05 for 5 % less, at the same speed and thus the same power.

    Willans line: fuel flow rises linearly with brake power and starts from what friction and
    pumping take, so fuel ~ P + fmep · Vd · n/120 for a four-stroke, n/60 for a two-stroke. One
    friction mean effective pressure for both rpm, and mixture and ignition the same: a rough
    figure.

    Args:
        power_w: brake power for the steady speed, W.
        rpm_before: engine rpm at that speed now.
        rpm_after: engine rpm at that speed after the change.
        displacement_cm3: swept volume, cm³.
        friction_mep_bar: friction mean effective pressure, bar.
        strokes: 4, or 2.

    Raises:
        ValueError: an input below zero, no fuel at all before, or strokes other than 2 or 4.
    """
    if strokes not in (2, 4):
        raise ValueError(f"an engine has 2 or 4 strokes, not {strokes}")
    for value in (power_w, rpm_before, rpm_after, displacement_cm3, friction_mep_bar):
        if not 0 <= value < inf:
            raise ValueError(f"power, rpm, displacement and friction are 0 or more, not {value}")
    # 1 bar · 1 cm³ is 0.1 J; once in strokes/2 turns.
    joules_per_turn = 0.1 * friction_mep_bar * displacement_cm3 / (strokes / 2)
    before = power_w + joules_per_turn * rpm_before / 60
    if before == 0:
        raise ValueError("no power and no friction burn no fuel")
    return joules_per_turn * (rpm_after - rpm_before) / 60 / before
