"""Whether the engine pulls a gearing, in words.

A gearing that does not start on a hill of 5 % is not pulled. Otherwise it is where, on the flat and
in still air, the engine gets to its peak-power rpm (or to its rev limit, if that is lower) in the
top ratio, or near enough; or where one taller than now still turns half of what it promises into
speed. The present gearing, the same by other gears and a shorter one go by the engine alone.
Otherwise a wind of 20 km/h from behind is tried: if that brings the engine to its peak, the
gearing is pulled with the wind behind only. A taller gearing that changes nothing, because the
variator never comes fully out, is not pulled.
"""

from __future__ import annotations

from fitcheck.services.road.figures import PullVerdict

NEAR = 0.97
"""From this share of its peak-power rpm on an engine is as good as there; common practice."""

STARTS_ON = 5.0
"""Percent of gradient on which a machine must start; our own choice."""

WORTH = 0.5
"""Share of its change that a taller gearing is to turn into speed; our own choice."""


def pull_verdict(
    reach: float, gain: float, tailwind_reach: float, hill: float, change: float
) -> PullVerdict:
    """The verdict on one gearing.

    Args:
        reach: top speed on the flat over the speed at peak-power rpm (or rev limit) in the top
            ratio.
        gain: top speed on the flat over the present one, minus 1.
        tailwind_reach: as reach, with 20 km/h from behind.
        hill: steepest gradient on which it starts, percent.
        change: what the gearing changes at the same rpm, 0.12 for 12 % taller; 0 for the present
            one.
    """
    if hill < STARTS_ON:
        return PullVerdict.NOT
    if reach >= NEAR or (change > 0 and gain >= WORTH * change):
        return PullVerdict.PULLS
    return PullVerdict.WIND if tailwind_reach >= NEAR else PullVerdict.NOT
