"""Full-throttle power of an engine against its speed, and fuel at a steady speed."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field
from itertools import pairwise
from math import inf, pi, sqrt

_GOLDEN = (1 + sqrt(5)) / 2  # where x + x² - x³ comes back to zero
_STEPS = 50  # samples of the default shape per peak-power rpm


@dataclass(frozen=True, slots=True)
class PowerCurve:
    """Full-throttle power by points.

    Power is linear between the points, torque constant below the first, and there is no power
    above the last.

    Attributes:
        points: (rpm, watts), two or more, rpm rising.
    """

    points: tuple[tuple[float, float], ...]
    _rpm: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse points that make no curve."""
        if len(self.points) < 2:
            raise ValueError("a power curve has two points or more")
        for rpm, watts in self.points:
            if not 0 < rpm < inf:
                raise ValueError(f"the rpm of a power curve are over 0, not {rpm}")
            if not 0 <= watts < inf:
                raise ValueError(f"the power of an engine is 0 W or more, not {watts} at {rpm} rpm")
        for (rpm, _), (following, _) in pairwise(self.points):
            if following <= rpm:
                raise ValueError(f"the rpm of a power curve rise: {following} comes after {rpm}")
        if not any(watts for _, watts in self.points):
            raise ValueError("a power curve has some power over 0 W")
        object.__setattr__(self, "_rpm", tuple(rpm for rpm, _ in self.points))

    def power_w(self, rpm: float) -> float:
        """Power at full throttle, W; 0 at no rpm and above the last point."""
        first, watts = self.points[0]
        if rpm <= first:
            return watts * max(rpm, 0.0) / first
        if rpm > self._rpm[-1]:
            return 0.0
        place = bisect_left(self._rpm, rpm)
        (left, low), (right, high) = self.points[place - 1 : place + 1]
        return low + (high - low) * ((rpm - left) / (right - left))

    def torque_nm(self, rpm: float) -> float:
        """Torque at full throttle, N m; below the first point that of the first point."""
        rpm = max(rpm, self._rpm[0])
        return self.power_w(rpm) / (rpm * pi / 30)

    @property
    def peak(self) -> tuple[float, float]:
        """(rpm, watts) of the most power; the lowest rpm of equals."""
        return max(self.points, key=lambda point: (point[1], -point[0]))

    @property
    def last_rpm(self) -> float:
        """Rpm of the last point."""
        return self._rpm[-1]

    def scaled(self, power_factor: float = 1.0, rpm_factor: float = 1.0) -> PowerCurve:
        """The curve with all power and all rpm multiplied, as a state of tune does.

        Raises:
            ValueError: a factor of zero or less.
        """
        if not (0 < power_factor < inf and 0 < rpm_factor < inf):
            raise ValueError(f"factors are over 0, not {power_factor} and {rpm_factor}")
        return PowerCurve(
            tuple((rpm * rpm_factor, watts * power_factor) for rpm, watts in self.points)
        )


def default_curve(peak_power_w: float, peak_rpm: float) -> PowerCurve:
    """A plausible curve where only the peak is known.

    P = P_peak (x + x² - x³) with x = n / n_peak, the usual shape of a spark-ignition engine in
    vehicle-dynamics texts (Artamonov et al. 1976; from memory). Sampled from x = 0.2 in steps of
    0.02, so that the peak is a point, to its zero at x = 1.618; between the samples it is off by
    less than 0.0004 of the peak.

    Args:
        peak_power_w: greatest power, W.
        peak_rpm: its rpm.

    Raises:
        ValueError: power or rpm of zero or less.
    """
    if not 0 < peak_power_w < inf:
        raise ValueError(f"a peak power is over 0 W, not {peak_power_w}")
    if not 0 < peak_rpm < inf:
        raise ValueError(f"a peak-power rpm is over 0, not {peak_rpm}")
    shares = [step / _STEPS for step in range(_STEPS // 5, int(_GOLDEN * _STEPS) + 1)]
    points = [(x * peak_rpm, (x + x**2 - x**3) * peak_power_w) for x in shares]
    return PowerCurve((*points, (_GOLDEN * peak_rpm, 0.0)))


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
