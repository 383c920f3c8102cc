"""Whether the engine pulls a gearing, in words.

A gearing is pulled where, on the flat and in still air, the engine gets to its peak-power rpm (or
to its rev limit, if that is lower) in the top ratio, or near enough; or where the machine gains
speed all the same; or, for a shorter one, where it loses none. Otherwise a wind of 20 km/h from
behind is tried: if that brings the engine to its peak, the gearing is pulled with the wind behind
only. A taller gearing that changes nothing, because the variator never comes fully out, is not
pulled.
"""

from __future__ import annotations

from fitcheck.services.road.results import PullVerdict

__all__ = ["FELT", "NEAR", "pull_verdict"]

FELT = 0.01
"""A change of top speed under 1 % is not felt; common practice."""

NEAR = 0.98
"""From this share of its peak-power rpm on an engine is as good as there; common practice."""


def pull_verdict(reach: float, gain: float, tailwind_reach: float, taller: bool) -> PullVerdict:
    """The verdict on one gearing.

    Args:
        reach: top speed on the flat over the speed at peak-power rpm (or rev limit) in the top
            ratio.
        gain: top speed on the flat over the present one, minus 1.
        tailwind_reach: as reach, with 20 km/h from behind.
        taller: whether the gearing is taller than the present one, or is the present one.
    """
    if reach >= NEAR or gain >= FELT or (gain > -FELT and not taller):
        return PullVerdict.PULLS
    return PullVerdict.WIND if tailwind_reach >= NEAR else PullVerdict.NOT
