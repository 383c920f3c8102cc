"""Real top speed against gearing: where a taller drive begins to cost speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fitcheck.kernel.road.balance import top_speed
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.asked import RoadAsked
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.sweep import KMH, setup_of


@dataclass(frozen=True, slots=True)
class TurnOverPoint:
    """One gearing of the curve.

    Attributes:
        percent: road-speed change against the present gearing.
        top_km_h: real top speed on the flat.
        rpm: engine speed there.
        limit: `revs`, `ratio`, `power` or `start`.
    """

    percent: float
    top_km_h: float
    rpm: float
    limit: str


def turn_over(
    subject: Subject, percents: Sequence[float], asked: RoadAsked | None = None
) -> list[TurnOverPoint]:
    """Real top speed on the flat with gearings so many percent taller than now.

    Raises:
        UsageError: the model lacks an input that nobody can guess.
    """
    inputs = gather(subject, asked)
    setup = setup_of(inputs, inputs.values)
    now = inputs.values["roll_out"] / 1000 / float(subject.reduction)
    found = []
    for percent in percents:
        top = top_speed(setup, now * (1 + percent / 100))
        found.append(TurnOverPoint(percent, KMH * top.speed_m_s, top.rpm, top.limit))
    return found
