"""A list by gearing beside the whole list: nothing else is in it, and every rank is the same."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from itertools import groupby
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.errors import UsageError
from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.match import match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject, subject_of
from tests.conftest import EXPLORE, some
from tests.second_opinion.worlds import build
from tests.services.counter.test_offer import SETS, shop

REQUESTS = (
    Request(band="any"),
    Request(band="any", proven_only=True, max_sets=1),
    Request(band="any", max_price=Decimal(70), taller_only=True),
    Request(percent=(None, Decimal(12)), orderable=True),  # type: ignore[arg-type]
)


def to_sell(group: list[Combination]) -> Combination:
    """The first proved of those that can be had, else the first of them, else of all."""
    had = [one for one in group if one.orderable]
    proved = (one for one in had if one.judgement.verdict is Verdict.FITS)
    return next(proved, (had or group)[0])


def check(subject: Subject, request: Request) -> int:
    """Compare both lists; returns how many choices cannot be had."""
    whole = match(subject, request)
    groups = groupby(whole.combinations, key=lambda one: (one.rank, tuple(one.pairs.values())))
    every = [to_sell(list(group)) for _, group in groups]
    for top, skips in ((None, True), (3, True), (4, False)):
        asked = replace(request, by_gearing=True, skips_gone=skips, top=top)
        found, wanted = match(subject, asked), [one for one in every if one.orderable or not skips]
        # Figures of the road differ in their last digits by how many are worked out at once.
        assert [one.words for one in found.combinations] == [one.words for one in wanted[:top]]
        assert found.more == (top is not None and len(wanted) > top)
        gone = sum(not one.orderable for one in whole.combinations)
        assert found.counts == replace(whole.counts, not_orderable=gone)
    return gone


def test_gearings_of_random_worlds(tmp_path: Path) -> None:
    gone = 0
    for seed in range(30 if EXPLORE else 4):
        build(seed, tmp_path / str(seed))
        catalogue = load(tmp_path / str(seed))
        for machine in catalogue.machines:
            gone += sum(check(subject_of(catalogue, machine), asked) for asked in REQUESTS)
    assert gone > 20


@pytest.mark.parametrize("rank", ["change", "top-speed", "verdict"])
def test_gearings_by_the_road_and_the_law(demo: Catalogue, rank: str) -> None:
    for machine in some(list(demo.machines), 3):
        subject = subject_of(demo, machine)
        for lawful in (False, True):
            asked = Request(band="any", show_road=True, rank=rank, lawful=lawful)  # type: ignore[arg-type]
            with suppress(UsageError):  # of some the files know no engine, or no class
                check(subject, asked)


GONE = {"availability": "discontinued", "price": Decimal(10)}


@pytest.mark.parametrize(
    ("held", "sells", "rank_of_b"),
    [
        # A is dear; A2, of the same teeth, is cheap but given up; B is another gearing below.
        ({}, "A", 3),
        ({"A2": {"quantity": 1}}, "A2", 3),
        ({"A2": {"quantity": 0}}, "A", 3),
    ],
)
def test_what_nobody_can_buy_keeps_its_rank(load_records, held, sells, rank_of_b) -> None:
    taller = SETS["B"]
    sets = {"A": taller, "A2": taller | GONE | {"part_number": "a2"}, "B": SETS["A"]}
    subject = shop(load_records, held, sets)
    rows = match(subject, Request(band="any", by_gearing=True, skips_gone=True)).combinations
    assert [[one.sets[0].id, one.rank] for one in rows] == [[sells, 1], ["B", rank_of_b]]


@pytest.mark.parametrize(
    ("quantity", "note", "listed"),
    [(0, "A2 discontinued", ["A"]), (2, "A2 discontinued, 2 here", ["A2", "A"])],
)
def test_a_set_on_the_shelf_is_never_plainly_discontinued(
    load_records, quantity, note, listed
) -> None:
    sets = {"A": SETS["A"], "A2": SETS["A"] | GONE | {"part_number": "a2"}}
    subject = shop(load_records, {"A2": {"quantity": quantity}}, sets)
    rows = match(subject, Request(band="any")).combinations
    assert [one.notes for one in rows if one.sets[0].id == "A2"] == [(note,)]
    had = match(subject, Request(band="any", orderable=True)).combinations
    assert [one.sets[0].id for one in had] == listed
