"""Matching held to nested loops (conftest.py) for random small catalogues."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of

OUT = Verdict.RULED_OUT

# Reductions 2, 2.5, 3.2, 4, 4.4, 4.5, 4.6 and 5, several twice: ties, and changes of exactly
# 10, 12.5, 15, 25 and -20 percent.
POOL = ["10/20", "10/25", "12/30", "10/32", "15/48", "10/40", "16/64", "12/48"]
POOL += ["10/44", "10/45", "10/46", "10/50", "12/60"]
STAGES = {1: ["single"], 2: ["primary", "secondary"], 3: ["primary", "secondary", "tertiary"]}
PRICES = ["0", "1", "1.00", "2.5", "2.505", "2.504", "10", "0.1", "0.001", None, None]


@st.composite
def worlds(draw) -> dict[str, dict[str, Any]]:
    stages = STAGES[draw(st.sampled_from([2, 3, 3, 2, 3, 1]))]
    pair = st.sampled_from(POOL)
    seat = st.sampled_from(["ST-14", "SG-9", None, "st14", "KW-8", None])
    claim = st.sampled_from(
        [
            *[[{"family": "knot", "housings": ["short", "long"]}]] * 3,
            *[[{"family": "knot", "housings": ["short"]}]] * 2,
            [{"family": "knot", "housings": ["short"], "evidence": "measured"}],
            [{"family": "knot", "housings": ["long"]}],
            [{"family": "knot"}],
            [{"family": "stint", "housings": ["short"]}],
            [],
        ]
    )
    now = {stage: draw(pair) for stage in stages}
    trains = [{"housing": "short", "wheel_size_in": 10, "pairs": now, "models": ["Knot Ten"]}]
    if draw(st.booleans()):
        trains[0]["pairs"] = {stage: draw(pair) for stage in stages}
    sets = {}
    for number in range(draw(st.sampled_from([2, 5, 7, 9, 10, 11, 12]))):
        held = draw(
            st.sampled_from(
                [[s] for s in stages] * 3 + [stages, ["single"], ["primary", "secondary"]]
            )
        )
        seats = {"pinion_seat": draw(seat), "wheel_seat": draw(seat)}
        price = draw(st.sampled_from(PRICES))
        letter = draw(st.sampled_from("ABC"))
        sets[f"{letter}{number}"] = {
            "supplier": draw(st.sampled_from(["marram", "samphire"])),
            "part_number": str(number),
            "pairs": {stage: draw(pair) for stage in held},
            "fits": draw(claim),
            "interfaces": {name: code for name, code in seats.items() if code},
            "measured": draw(st.sampled_from([[], [], ["pairs"], ["wheel_seat", "pinion_seat"]])),
            **({} if price is None else {"price": Decimal(price)}),
            "currency": draw(st.sampled_from(["EUR", "EUR", "EUR", "USD"])),
            "status": draw(st.sampled_from(["active"] * 5 + ["retired"])),
        }
    edge = st.sampled_from([-50, -20, -5, 0, 10, Decimal("12.5"), 15, 25, 60])
    low, high, stretch = sorted([draw(edge), draw(edge), draw(edge)])
    own = draw(st.sampled_from([{}, {}, {"high": Decimal("12.5")}, {"low": 20}, {"stretch": 25}]))
    families = {
        name: {
            "name": name,
            "housings": {"short": {"name": "short case"}, "long": {"name": "long case"}},
            "stages": {stage: {} for stage in stages},
            "interfaces": {
                "idler_seats": [
                    draw(st.sampled_from(["ST-14", "SG-9"])) for _ in range(len(stages) - 1)
                ]
                if draw(st.integers(0, 3))
                else []
            },
            "factory_trains": trains if name == "knot" else [],
            "bands": {"stock": own} if name == "knot" else {},
        }
        for name in ("knot", "stint")
    }
    machine = {"name": "the machine", "family": "knot", "pairs": now, "wheel_size_in": 10}
    if draw(st.integers(0, 4)):
        machine["housing"] = draw(st.sampled_from(["short", "short", "long"]))
    if draw(st.integers(0, 4)):
        machine["tune"] = "stock"
    tune = {"name": "stock", "low": low, "high": high}
    if draw(st.booleans()):
        tune["stretch"] = stretch
    tune["low"], tune["high"] = (low, high) if "stretch" in tune else (low, stretch)
    shelf = {
        id_: {
            "quantity": draw(st.integers(0, 1)),
            **({} if (own := draw(st.sampled_from(PRICES))) is None else {"price": Decimal(own)}),
        }
        for id_ in list(sets)[::2]
    }
    return {
        "family": families,
        "gear-set": sets,
        "machine": {"it": machine},
        "tune": {"stock": tune},
        "shelf": shelf,
    }


@st.composite
def requests(draw, changes: list[Fraction]) -> Request:
    edge = st.none() | st.sampled_from(
        sorted({*changes, *(c + Fraction(1, 10**20) for c in changes), Fraction(0), Fraction(-99)})
    )
    percent = None
    if draw(st.booleans()):
        low, high = draw(edge), draw(edge)
        percent = (min(low, high), max(low, high)) if None not in (low, high) else (low, high)
    return Request(
        percent=percent,
        band=draw(st.sampled_from(["in", "stretch", "any"])),
        top=draw(st.sampled_from([None, None, 0, 1, 3, 10])),
        suppliers=frozenset(draw(st.sampled_from([[], [], ["marram"], ["samphire", "marram"]]))),
        max_price=draw(st.sampled_from([None, None, Decimal("2.504"), Decimal("3.5"), Decimal(0)])),
        max_sets=draw(st.sampled_from([None, None, 1, 2])),
        in_stock=draw(st.integers(0, 3)) == 0,
        orderable=draw(st.integers(0, 3)) == 0,
        taller_only=draw(st.integers(0, 3)) == 0,
        proven_only=draw(st.integers(0, 2)) == 0,
        exclusions=True,
    )


@settings(
    max_examples=settings().max_examples,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(world=worlds(), data=st.data())
def test_random_catalogues(load_records, world, data, loops):
    subject = subject_of(load_records(world), "it")
    subject = replace(
        subject, roll_out_ratio=data.draw(st.sampled_from([Fraction(1)] * 3 + [Fraction(21, 20)]))
    )
    found = loops.universe(subject)
    event(f"{len(subject.stages)} stages")
    event(f"{min(sum(one.verdict is not OUT for one in found), 100) // 10 * 10}s of rows")
    for joint in {one.death[0] for one in found if one.death and len(one.death) == 3}:
        event(f"died at joint {joint}")
    changes = sorted({one.change for one in found if one.verdict is not OUT})
    for _ in range(3):
        request = data.draw(requests(changes))
        loops.hold(subject, found, request, match(subject, request))
    for one in found[:20]:
        row = combine(subject, one.sets[::-1])
        assert (row.judgement.verdict, int(row.judgement.evidence)) == (one.verdict, one.evidence)
        if one.verdict is not OUT:
            assert tuple(entry.id for entry in row.sets) == one.ids
            assert row.road_speed_change == one.change
