"""Matching by nested loops over every set of the catalogue: the truth the tests hold it to.

The loops know nothing of classes, windows or bisection: they take each active set by itself, ask
the rules of fit, multiply with `Fraction`, filter and sort by the written contract: road-speed
change falling, then pairs, then price (unknown last), then ids.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from itertools import pairwise, product
from math import prod
from types import SimpleNamespace
from typing import Any

import pytest

from fitcheck.catalogue.reader import Entry
from fitcheck.rules.answers import Answer, Verdict
from fitcheck.rules.fit import idler_seat, set_answers
from fitcheck.services.counter.match import Match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject

OUT, OPEN, FITS = Verdict.RULED_OUT, Verdict.UNPROVEN, Verdict.FITS


@dataclass(frozen=True)
class One:
    """A combination as the loops see it; `death` is the smallest part that ruled it out."""

    sets: tuple[Entry[Any], ...]
    pairs: tuple[tuple[int, int], ...]
    reduction: Fraction
    change: Fraction
    verdict: Verdict
    evidence: int
    death: tuple[Any, ...] | None
    asked: tuple[Decimal | None, ...] = ()

    @property
    def ids(self) -> tuple[str, ...]:
        return tuple(entry.id for entry in self.sets)


def universe(subject: Subject) -> list[One]:
    """Every choice there is, ruled out or not."""
    stages = subject.stages
    active = [e for e in subject.catalogue.gear_sets.values() if e.record.status == "active"]
    answers = {
        entry.id: [(a.verdict, int(a.evidence)) for a in set_answers(entry, subject.setting)]
        for entry in active
    }
    dead = {id_ for id_, said in answers.items() if any(verdict is OUT for verdict, _ in said)}
    columns: list[list[Entry[Any] | None]] = [
        [None, *(e for e in active if set(e.record.pairs) == {stage})] for stage in stages
    ]
    asked = {entry.id: asking(subject, entry) for entry in active}
    joints: dict[tuple[int, str | None, str | None], Answer | None] = {}
    found = []
    for picks in product(*columns):
        if not any(picks):
            continue
        said = [answer for entry in picks if entry for answer in answers[entry.id]]
        death: tuple[Any, ...] | None = next(((e.id,) for e in picks if e and e.id in dead), None)
        for joint, (wheel, pinion) in enumerate(pairwise(picks)):
            key = (joint, wheel and wheel.id, pinion and pinion.id)
            if key not in joints:
                joints[key] = idler_seat(wheel, pinion, joint, subject.setting)
            answer = joints[key]
            if answer is not None:
                said.append((answer.verdict, int(answer.evidence)))
                if answer.verdict is OUT:
                    death = death or (joint, key[1] or "factory", key[2] or "factory")
        pairs = [
            entry.record.pairs[stage] if entry else pair
            for entry, stage, pair in zip(picks, stages, subject.pairs, strict=True)
        ]
        found.append(
            one_of(subject, tuple(e for e in picks if e), pairs, said, death, prices=asked)
        )
    for entry in active:
        held = set(entry.record.pairs)
        if len(held) == 1 and held & set(stages):
            continue
        death = (entry.id,) if entry.id in dead else None
        given = [entry.record.pairs.get(s, p) for s, p in zip(stages, subject.pairs, strict=True)]
        found.append(one_of(subject, (entry,), given, answers[entry.id], death, prices=asked))
    return found


def one_of(subject, sets, pairs, said, death, *, prices) -> One:
    verdicts = {verdict for verdict, _ in said}
    verdict = OUT if OUT in verdicts else OPEN if OPEN in verdicts else FITS
    evidence = min(each for _, each in said) if verdict is FITS else 0
    counts = tuple((pair.driver, pair.driven) for pair in pairs)
    asked = tuple(prices[entry.id] for entry in sets)
    if verdict is OUT:  # nobody asks what it would do
        return One(sets, counts, Fraction(0), Fraction(0), verdict, evidence, death, asked)
    reduction = Fraction(prod(p.driven for p in pairs), prod(p.driver for p in pairs))
    old = Fraction(prod(p.driven for p in subject.pairs), prod(p.driver for p in subject.pairs))
    change = 100 * (old * subject.roll_out_ratio / reduction - 1)
    return One(sets, counts, reduction, change, verdict, evidence, death, asked)


def asking(subject: Subject, entry: Entry[Any]) -> Decimal | None:
    """What the shop asks for one set: its own price, else the list's, in whole cents."""
    shelf = subject.catalogue.shelf
    own = shelf[entry.id].record.price if entry.id in shelf else None
    price: Decimal | None = entry.record.price if own is None else own
    return None if price is None else price.quantize(Decimal("0.01"), ROUND_HALF_UP)


def band_word(subject: Subject, change: Fraction) -> str:
    """Where a change lies, from the tune's and the family's own edges."""
    if subject.tune is None:
        return "none"
    own = subject.family.record.bands.get(subject.tune.id)
    edges: dict[str, Any] = {}
    for edge in ("low", "high", "stretch"):
        general = getattr(subject.tune.record, edge)
        narrowed = getattr(own, edge) if own is not None else None
        edges[edge] = general if narrowed is None else narrowed
    low, high = Fraction(edges["low"]), Fraction(edges["high"])
    if low <= change <= high:
        return "in"
    if change < 0:
        return "shorter"
    if change < low:
        return "below"
    return "stretch" if edges["stretch"] is not None and change <= edges["stretch"] else "over"


def wanted_window(subject: Subject, request: Request) -> tuple[Fraction | None, Fraction | None]:
    low, high = None, None
    if request.percent is not None:
        low, high = request.percent
    elif subject.band is not None and request.band != "any":
        low = subject.band.low
        high = subject.band.stretch if request.band == "stretch" else subject.band.high
    return low, high


def passing(subject: Subject, found: list[One], request: Request) -> tuple[list[One], str | None]:
    """Combinations that pass every filter but the window, and the list's currency."""
    shelf = subject.catalogue.shelf

    def keep(entry) -> bool:
        if request.suppliers and entry.record.supplier not in request.suppliers:
            return False
        gone = entry.record.availability == "discontinued"
        if (
            request.orderable
            and gone
            and not (entry.id in shelf and shelf[entry.id].record.quantity)
        ):
            return False
        return not request.in_stock or (entry.id in shelf and shelf[entry.id].record.quantity > 0)

    alone = {
        one.ids[0]: one.sets[0]
        for one in found
        if len(one.sets) == 1 and (one.death is None or len(one.death) > 1) and keep(one.sets[0])
    }
    currencies = Counter(
        entry.record.currency for entry in alone.values() if asking(subject, entry) is not None
    )
    active = [e for e in subject.catalogue.gear_sets.values() if e.record.status == "active"]
    everywhere = Counter(e.record.currency for e in active if asking(subject, e) is not None)
    usual, here = (
        sorted(found, key=lambda code: (-found[code], code != "EUR", code))
        for found in (everywhere, currencies)
    )
    currency = usual[0] if usual and usual[0] in here else next(iter(here), None)
    passed = [
        one
        for one in found
        if one.verdict is not OUT
        and (one.verdict is FITS or not request.proven_only)
        and all(keep(entry) for entry in one.sets)
        and (request.max_sets is None or len(one.sets) <= request.max_sets)
        and (
            request.max_price is None
            or (
                (price_of(one, currency) is not None)
                and price_of(one, currency) <= request.max_price
            )
        )
    ]
    return passed, currency


def price_of(one: One, currency: str | None) -> Fraction | None:
    total = Fraction(0)
    for entry, price in zip(one.sets, one.asked, strict=True):
        if price is None or entry.record.currency != currency:
            return None
        total += Fraction(price)
    return total


def in_order(found: list[One], currency: str | None) -> list[One]:
    def key(one: One) -> tuple[Any, ...]:
        price = price_of(one, currency)
        return (-one.change, one.pairs, price is None, price or 0, one.ids)

    return sorted(found, key=key)


def ranks(found: list[One]) -> list[int]:
    """Equal changes share the place of their first."""
    changes = [one.change for one in found]
    return [changes.index(change) + 1 for change in changes]


def hold(subject: Subject, found: list[One], request: Request, result: Match) -> None:
    """Assert that an answer is what the loops give."""
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
    assert result.counts.listed == len(expected)
    hold_left_out(subject, found, request, result)
    check_rows(subject, result.combinations, expected[: request.top], currency)
    shorter = []
    if low is not None and low >= 0 and not request.taller_only:
        shorter = [one for one in passed if one.change < 0]
    assert result.all_shorter == len(shorter)
    alone = [one for one in shorter if len(one.sets) == 1]
    check_rows(subject, result.shorter, in_order(alone, currency), currency)
    assert result.currency == currency
    check_counts(subject, found, result)
    if request.exclusions:
        check_exclusions(found, result)


def hold_left_out(subject: Subject, found: list[One], request: Request, result: Match) -> None:
    """Assert that what has no price to compare is counted, by its reason."""
    if request.max_price is None:
        assert (result.counts.price_unknown, result.counts.other_currency) == (None, None)
        return
    low, high = wanted_window(subject, request)
    at_any_price, currency = passing(subject, found, replace(request, max_price=None))
    inside = [
        one
        for one in at_any_price
        if (low is None or one.change >= low)
        and (high is None or one.change <= high)
        and (not request.taller_only or one.change >= 0)
    ]
    unknown = [one for one in inside if None in one.asked]
    others = [one for one in inside if None not in one.asked and price_of(one, currency) is None]
    assert (result.counts.price_unknown, result.counts.other_currency) == (
        len(unknown),
        len(others),
    )


def check_rows(subject, rows, expected: list[One], currency: str | None) -> None:
    assert [tuple(entry.id for entry in row.sets) for row in rows] == [one.ids for one in expected]
    assert [row.rank for row in rows] == ranks(expected)
    for row, one in zip(rows, expected, strict=True):
        assert row.reduction == one.reduction
        assert row.road_speed_change == one.change
        assert row.reduction_change == 100 * (one.reduction / subject.reduction - 1)
        assert list(row.pairs) == list(subject.stages)
        assert tuple((p.driver, p.driven) for p in row.pairs.values()) == one.pairs
        assert row.changed == tuple(
            stage for stage in subject.stages if any(stage in e.record.pairs for e in one.sets)
        )
        assert (row.judgement.verdict, int(row.judgement.evidence)) == (one.verdict, one.evidence)
        assert row.band == band_word(subject, one.change)
        price = price_of(one, currency)
        if price is None and len({entry.record.currency for entry in one.sets}) == 1:
            # Ranked as unknown, but told in the currency all its sets have.
            price = price_of(one, one.sets[0].record.currency)
        assert row.price == price if price is None else Fraction(row.price) == price


def check_counts(subject: Subject, found: list[One], result: Match) -> None:
    counts = result.counts
    verdicts = Counter(one.verdict for one in found)
    assert (counts.all_choices, counts.fits, counts.unproven, counts.ruled_out) == (
        len(found),
        verdicts[FITS],
        verdicts[OPEN],
        verdicts[OUT],
    )
    alive = [one for one in found if one.verdict is not OUT]
    words = Counter(band_word(subject, one.change) for one in alive)
    if subject.tune is None:
        assert counts.shorter == sum(one.change < 0 for one in alive)
        assert counts.in_band is counts.below is counts.stretch is counts.over is None
        return
    assert (counts.in_band, counts.stretch, counts.over, counts.below, counts.shorter) == tuple(
        words[word] for word in ("in", "stretch", "over", "below", "shorter")
    )


def check_exclusions(found: list[One], result: Match) -> None:
    """Every choice ruled out is counted once, at the smallest part that died."""
    deaths = Counter(one.death for one in found if one.death is not None)
    told: Counter[tuple[Any, ...]] = Counter()
    for exclusion in result.exclusions:
        assert exclusion.places
        assert exclusion.combinations >= 0
        if len(exclusion.sets) == 1:
            ((id_,),) = exclusion.sets
            told[(id_,)] += exclusion.combinations
            continue
        lefts, rights = exclusion.sets
        keys = [
            death
            for death in deaths
            if len(death) == 3 and death[1] in lefts and death[2] in rights
        ]
        assert exclusion.combinations == sum(deaths[key] for key in keys)
        told.update({key: deaths[key] for key in keys})
    assert +told == deaths
    assert sum(e.combinations for e in result.exclusions) == result.counts.ruled_out


@pytest.fixture(scope="session")
def loops() -> SimpleNamespace:
    """`universe(subject)`: every choice; `hold(subject, found, request, result)`: asserts."""
    return SimpleNamespace(universe=universe, hold=hold)
