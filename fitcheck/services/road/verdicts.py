"""Whether the engine pulls a gearing, in words.

A gearing is pulled where, on the flat and in still air, the engine gets to its peak-power rpm (or
to its rev limit, if that is lower) in the top ratio, or where the machine is at least as fast as
now: then more gearing has not cost speed. Where neither is so, a wind of 20 km/h from behind is
tried; if that brings the engine to its peak, the gearing is pulled with the wind behind only.
"""

from __future__ import annotations

from fitcheck.services.road.results import PullVerdict

__all__ = ["FELT", "pull_verdict"]

FELT = 0.01
"""A loss of top speed under 1 % is not felt and not held against a gearing; common practice."""

_ROUNDING = 1e-9


def pull_verdict(reach: float, gain: float, tailwind_reach: float) -> PullVerdict:
    """The verdict on one gearing.

    Args:
        reach: top speed on the flat over the speed at peak-power rpm (or rev limit) in the top
            ratio.
        gain: top speed on the flat over the present one, minus 1.
        tailwind_reach: as reach, with 20 km/h from behind.
    """
    if reach >= 1 - _ROUNDING or gain >= -FELT:
        return PullVerdict.PULLS
    return PullVerdict.WIND if tailwind_reach >= 1 - _ROUNDING else PullVerdict.NOT
