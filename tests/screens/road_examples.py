"""A hand-built answer of the road model, for tests of what is shown; no figure is the model's.

The figures are round ones chosen by hand. The curves are closed forms: thrust is constant up to a
corner and then power over speed, the load is A + C v² with v in km/h, and the time is that of
constant acceleration.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.counter.audience import ShopWords
from fitcheck.services.counter.combination import Combination, combine
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.road.figures import ClassAnswer, Figure, Given, LawfulAnswer, PullVerdict
from fitcheck.services.road.results import Curves, Help, Outcome, RoadReport, TopFigure

LOAD = {"flat": (5.0, 0.024), "headwind": (14.0, 0.03), "uphill": (82.0, 0.024)}
"""A in N and C in N/(km/h)² of each condition."""

FORCE, POWER = 400.0, 6000.0
"""Thrust up to the corner, N, and thrust times speed beyond it, N km/h, as the machine stands."""

THREE = (("GW-20-108",), ("MA-1545", "SA-107"), ("GW-20-108", "SA-108"))
"""Sets of the demo's dunlin-ten: in band, in band but unproven, far over."""


def about(value: float, spread: float) -> Figure:
    return Figure(value, value - spread, value + spread)


def load(condition: str, speed: float) -> float:
    constant, square = LOAD[condition]
    return constant + square * speed * speed


def thrust(speed: float, taller: float) -> float:
    """Thrust of a gearing that is taller by a factor; power does not care, the pull does."""
    return min(FORCE / taller, POWER / max(speed, 1e-9))


def curves(taller: float, top: float, acceleration: float) -> Curves:
    speeds = tuple(float(v) for v in range(int(70 * taller) + 1))
    times = tuple(i * top / acceleration / 40 for i in range(41))
    return Curves(
        speeds,
        tuple(thrust(v, taller) for v in speeds),
        times,
        tuple(acceleration * t for t in times),
    )


def _class_answer(catalogue: Catalogue, answer: LawfulAnswer, top: Figure) -> ClassAnswer:
    entry = catalogue.vehicle_classes["L1e-B"]
    sentence = {
        LawfulAnswer.WITHIN: "Stays under the 45 km/h of L1e-B.",
        LawfulAnswer.STRADDLES: "May be over the 45 km/h of L1e-B: the range lies on both sides.",
        LawfulAnswer.OVER: "Over the 45 km/h of L1e-B: it leaves its class.",
        LawfulAnswer.UNKNOWN: "Nobody can tell.",
    }[answer]
    return ClassAnswer(entry, answer, top, 45.0, sentence, ("2.4 kW is close.",))


def outcome(
    catalogue: Catalogue,
    combination: Combination | None = None,
    *,
    top: float = 52.0,
    limit: str = "ratio",
    taller: float = 1.0,
    reduction: Fraction = Fraction(253, 21),
    pairs: dict[Any, Any] | None = None,
    verdict: PullVerdict = PullVerdict.PULLS,
    cautious: PullVerdict = PullVerdict.PULLS,
    lawful: LawfulAnswer | None = LawfulAnswer.OVER,
    **changes: Any,
) -> Outcome:
    """One gearing; `changes` are members of Outcome to put in place of the usual."""
    now = combination is None
    flat = about(top, 3.0)
    start = about(400.0 / taller, 30.0 / taller)
    built = Outcome(
        label="now" if now else " + ".join(entry.id for entry in combination.sets),
        combination=combination,
        pairs=dict(pairs if now else combination.pairs),
        reduction=reduction if now else combination.reduction,
        road_speed_change=Fraction(0) if now else combination.road_speed_change,
        per_1000_rpm=about(6.6 * taller, 0.1),
        paper_top=about(43.0 * taller, 0.6),
        flat=TopFigure(flat, 7400 / taller, limit),
        headwind=TopFigure(about(top - 10, 3.0), 6400 / taller, "power"),
        uphill=TopFigure(about(top - 20, 4.0), 6000.0, "power"),
        start_force=start,
        start_gradient=about(21.0 / taller, 2.0),
        force_cap=None,
        gradient_cap=None,
        time_30=about(4.2 * taller, 0.4),
        time_45=about(11.3 * taller, 1.6),
        time_60=None,
        time_200_m=about(19.4, 0.9),
        time_95=about(24.0, 5.0),
        rpm_at=((30.0, 6000.0), (45.0, 6850 / taller)),
        top_change=None if now else about(top - 52.0, 0.8),
        start_change=None if now else Figure(*(100 / taller - 100,) * 3),
        fuel_change=None if now else Figure(-3.0, -6.0, 0.0),
        fuel_speed_km_h=40.0,
        verdict=verdict,
        cautious_verdict=cautious,
        lawful=None if lawful is None else _class_answer(catalogue, lawful, flat),
        tyre_warning=None,
        help=None
        if now
        else Help(
            2.7 * taller,
            ("avocet-sport",) if taller < 1.2 else (),
            (
                f"A starting ratio of {2.7 * taller:.2f} would give the old start-off pull back.",
                "Lighter rollers let it shift at a higher engine speed.",
            ),
        ),
        curves=curves(taller, top, 2.4 / taller),
    )
    return replace(built, **changes)


TYRES = ShopWords("catalog/tyres.yaml:20:5", "the shop's catalogue")
ENGINE = ShopWords("machines/dunlin-50.yaml:14:26", "the shop's record of this machine")

INPUTS = (
    Given("reduction", "overall reduction", 253 / 21, "", "counted", 0.0, "counted teeth"),
    Given("roll_out", "roll-out", 1307.0, "mm", "standard", 40.0, TYRES),
    Given("peak_power", "peak power", 2.4, "kW", "catalogue", 0.1, ENGINE),
    Given("peak_rpm", "its engine speed", 6500.0, "1/min", "catalogue", 100.0, "the same"),
    Given("rider", "rider and load", 75.0, "kg", "given", 0.0, "said at the counter"),
    Given("drag_area", "drag area", 0.5, "m2", "approximate", 0.06, "40 CFR 86.529-98, 160 kg"),
    Given("efficiency", "efficiency of driveline", 0.75, "", "estimate", 0.05, "common practice"),
)


def road_report(
    catalogue: Catalogue, options: Sequence[Sequence[str]] = THREE, **changes: Any
) -> RoadReport:
    """The demo's dunlin-ten as it stands and with up to three choices, each worse than the last."""
    subject = subject_of(catalogue, "dunlin-ten")
    kinds: list[dict[str, Any]] = [
        {"top": 55.0, "limit": "power", "lawful": LawfulAnswer.OVER},
        {
            "top": 50.0,
            "limit": "power",
            "verdict": PullVerdict.WIND,
            "cautious": PullVerdict.NOT,
            "lawful": LawfulAnswer.STRADDLES,
            "tyre_warning": "TOO FAST FOR THE TYRE: it may reach 53 km/h, and B is for 50 km/h.",
        },
        {
            "top": 41.0,
            "limit": "power",
            "verdict": PullVerdict.NOT,
            "cautious": PullVerdict.NOT,
            "lawful": LawfulAnswer.WITHIN,
        },
    ]
    after = []
    for named, kind in zip(options, kinds, strict=False):
        combination = combine(subject, [find_set(catalogue, name) for name in named])
        taller = 1 + float(combination.road_speed_change) / 100
        after.append(outcome(catalogue, combination, taller=taller, **kind))
    speeds = tuple(float(v) for v in range(91))
    pairs = dict(zip(subject.stages, subject.pairs, strict=True))
    built = RoadReport(
        subject=subject,
        before=outcome(catalogue, pairs=pairs, reduction=subject.reduction),
        after=tuple(after),
        inputs=INPUTS,
        load_speed_km_h=speeds,
        loads_n={name: tuple(load(name, v) for v in speeds) for name in LOAD},
        calibrated=None,
        notes=("The load table begins at 95 kg; this machine is inside it.",),
    )
    return replace(built, **changes)
