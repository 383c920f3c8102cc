"""Lists on the road for random small catalogues, held to nested loops and the single path.

Which combinations there are comes from the nested loops (tests/services/conftest.py); what each
does comes from the single path, `performance`: one gearing and one set of inputs at a time, ranges
from `combined` over both ends of every input; order and filter are plain sorting and comparing.
"""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from fitcheck.kernel.road.balance import top_speed
from fitcheck.kernel.road.driveline import speed_at
from fitcheck.kernel.road.spread import combined
from fitcheck.services.counter.match import match
from fitcheck.services.counter.subject import Subject, subject_of
from fitcheck.services.road.figures import RoadAsked
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.sweep import setup_of
from tests.kernel.road.single_path import performance
from tests.services.conftest import in_order, passing, wanted_window
from tests.services.counter.test_match_random import OUT, requests, worlds

CEILINGS = range(1, 300, 6)
CLASS = {"name": "slow", "place": "Marsh", "source": "a rule", "date": "2026-01-01"}
KMH = 3.6
VERDICTS = ["pulls it", "only with the wind behind", "will not pull it"]


@st.composite
def machines(draw) -> dict[str, Any]:
    """What makes a record of a machine go, for gears of reductions 2 to 125."""
    peak = draw(st.sampled_from([5500, 7000, 9000]))
    found: dict[str, Any] = {
        # The rounder the wheel the taller; trains of one to three stages want very different ones.
        "roll_out_mm": draw(st.sampled_from([350, 700, 1200, 2400, 4800])),
        "engine": {
            "peak_power_kw": draw(st.sampled_from([Decimal("0.8"), 2, 4, 9])),
            "peak_power_rpm": peak,
        },
        "masses": {"running_order_kg": draw(st.sampled_from([60, 95, 180]))},
        "vehicle_class": "free",
    }
    kind = draw(st.sampled_from(["variator", "usual", "fixed"]))
    if kind == "variator":
        shift = draw(st.sampled_from([peak - 900, peak, peak + 400]))
        found["variator"] = {"low_ratio": 3, "high_ratio": Decimal("0.8"), "shift_rpm": shift}
    elif kind == "fixed":
        found["fixed_ratio"] = draw(st.sampled_from([1, Decimal("2.4")]))
    return found


class SinglePath:
    """One gearing at a time."""

    def __init__(self, subject: Subject, asked: RoadAsked | None) -> None:
        self.inputs = gather(subject, asked)
        # The class's test: its own rider, whatever follows from his mass, and standard air.
        told = asked if asked is not None else RoadAsked()
        self.tested = gather(
            subject, replace(told, rider_kg=75.0, altitude_m=0.0, temperature_c=None)
        )
        self.now = float(subject.reduction)
        self.tyre = float(subject.roll_out_ratio)
        # Asked again and again for one reduction.
        self.performance = cache(self._performance)
        self.legal_top = cache(self._legal_top)

    def _metres(self, reduction: Fraction, roll_out: float) -> float:
        return roll_out / 1000 * self.tyre / float(reduction)

    def _performance(self, reduction: Fraction) -> Any:
        values = self.inputs.values
        setup = setup_of(self.inputs, values)
        return performance(setup, self._metres(reduction, values["roll_out"]))

    def _legal_top(self, reduction: Fraction) -> tuple[float, float, float]:
        """Top speed in standard air with a rider of 75 kg and its range, km/h.

        No top speed goes beyond the high end of the speed at the rev limit.
        """
        inputs = self.tested

        def at(**changed: float) -> tuple[float, float]:
            values = {**inputs.values, **changed, "rider": 75.0}
            metres = self._metres(reduction, values["roll_out"])
            setup = setup_of(inputs, values)
            top = top_speed(setup, metres).speed_m_s
            return KMH * top, KMH * speed_at(setup, metres, setup.highest_rpm)

        nominal, limit = at()
        ends = [
            (at(**{key: one.value - one.spread}), at(**{key: one.value + one.spread}))
            for key, one in inputs.givens.items()
        ]
        tops, limits = ([(a[which], b[which]) for a, b in ends] for which in (0, 1))
        low, high = combined(nominal, tops)
        return nominal, max(low, 0.0), min(high, max(nominal, combined(limit, limits)[1]))


def law(top: tuple[float, float, float], ceiling: float | None) -> str:
    if ceiling is None or top[2] <= ceiling:
        return "within"
    return "over" if top[1] > ceiling else "straddles"


@settings(deadline=None, suppress_health_check=list(HealthCheck))
@given(world=worlds(), machine=machines(), data=st.data())
def test_random_lists(load_records, loops, world, machine, data):
    world["machine"]["it"] |= machine
    world["vehicle-class"] = {f"C{limit}": CLASS | {"max_speed_km_h": limit} for limit in CEILINGS}
    world["vehicle-class"]["free"] = CLASS
    subject = subject_of(load_records(world), "it")
    ratio = data.draw(st.sampled_from([Fraction(1)] * 3 + [Fraction(21, 20), Fraction(9, 10)]))
    subject = replace(subject, roll_out_ratio=ratio)
    asked = data.draw(st.sampled_from([None, RoadAsked(rider_kg=130), RoadAsked(altitude_m=1500)]))
    found = loops.universe(subject)
    path = SinglePath(subject, asked)
    ceiling = None
    if data.draw(st.integers(0, 5)):
        # Near what some gearing does, so that it matters.
        near = data.draw(
            st.sampled_from([one for one in found if one.verdict is not OUT] or [None])
        )
        top = path.legal_top(near.reduction)[0] if near is not None else 45
        ceiling = min(CEILINGS, key=lambda limit: abs(limit - top))
        classes = subject.catalogue.vehicle_classes
        asked = replace(asked or RoadAsked(), vehicle_class=classes[f"C{ceiling}"])
    changes = sorted({one.change for one in found if one.verdict is not OUT})
    asked_for = data.draw(requests(changes))
    if data.draw(st.booleans()):
        asked_for = replace(asked_for, percent=None, band="any", max_price=None)
    request = replace(
        asked_for,
        rank=data.draw(st.sampled_from(["change", "top-speed", "start-off", "0-45", "verdict"])),
        lawful=data.draw(st.booleans()),
        show_road=data.draw(st.booleans()),
        road=asked,
    )
    event(f"rank {request.rank}, lawful {request.lawful}")
    result = match(subject, request)

    passed, currency = passing(subject, found, request)
    low, high = wanted_window(subject, request)
    inside = [
        one
        for one in passed
        if (low is None or one.change >= low)
        and (high is None or one.change <= high)
        and (not request.taller_only or one.change >= 0)
    ]
    expected = in_order(inside, currency)
    if request.lawful:
        answers = {one.reduction: law(path.legal_top(one.reduction), ceiling) for one in expected}
        for answer in answers.values():
            event(f"law {answer}")
        dropped = {"over", "straddles"} if request.proven_only else {"over"}
        kept = [one for one in expected if answers[one.reduction] not in dropped]
        assert result.counts.unlawful == len(expected) - len(kept)
        expected = kept
    assert result.counts.listed == len(expected)

    rows = {one.reduction: one.road for one in result.combinations}
    if request.rank != "change" and request.top is None:
        expected.sort(key=lambda one: key(path, request.rank, one.reduction, rows))
    if request.rank == "change" or request.top is None:
        assert [tuple(e.id for e in one.sets) for one in result.combinations] == [
            one.ids for one in expected[: request.top]
        ]
    else:
        everything = match(subject, replace(request, top=None)).combinations
        assert [(one.rank, one.sets) for one in result.combinations] == [
            (one.rank, one.sets) for one in everything[: request.top]
        ]

    for one in (*result.combinations, *result.shorter):
        check_figures(path, one, request)
        check_law(path, one, request, ceiling)


def key(path: SinglePath, rank: str, reduction: Fraction, rows: dict[Fraction, Any]) -> Any:
    """What ranks a gearing, by the single path; figures that differ less than 1e-4 are equal."""
    single = path.performance(reduction)
    top = -round(KMH * single.flat.speed_m_s, 4)
    if rank == "top-speed":
        return top
    if rank == "start-off":
        return -round(single.start_force_n, 4)
    if rank == "0-45":
        return math.inf if math.isinf(single.time_45_s) else round(single.time_45_s, 4)
    return VERDICTS.index(rows[reduction].verdict.value), top


def check_figures(path: SinglePath, one: Any, request: Any) -> None:
    if not request.show_road:
        assert one.road is None
        return
    single, row = path.performance(one.reduction), one.road
    assert row.top.value == pytest.approx(KMH * single.flat.speed_m_s, rel=1e-6)
    assert row.start_force.value == pytest.approx(single.start_force_n, rel=1e-6)
    if math.isinf(single.time_45_s):
        assert row.time_45 is None
    else:
        assert row.time_45 == pytest.approx(single.time_45_s, rel=1e-6)
    assert row.lawful == one.lawful


def check_law(path: SinglePath, one: Any, request: Any, ceiling: float | None) -> None:
    if not request.on_road:
        assert one.lawful is None
        return
    if ceiling is None:
        assert one.lawful.answer.name.lower() == "within"
        assert one.lawful.top is None
        return
    top = path.legal_top(one.reduction)
    assert one.lawful.answer.name.lower() == law(top, ceiling)
    told = one.lawful.top
    assert (told.value, told.low, told.high) == pytest.approx(top, rel=1e-6)
