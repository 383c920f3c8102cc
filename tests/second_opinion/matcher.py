"""A second matcher, plain loops over `Fraction`, written from the docs alone.

`Shop(records)` holds a catalogue; `choices` gives every combination of one case, judged;
`answer` lists what a request asks for, with the counts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import product
from typing import NamedTuple

from tests.second_opinion.cases import (
    FITS,
    RULED_OUT,
    STRENGTH,
    UNPROVEN,
    Answer,
    Case,
    met,
)
from tests.second_opinion.joints import joint_answer
from tests.second_opinion.parts import Part, judge_part
from tests.second_opinion.reading import Record, Records, stages_of, teeth

LEAST_SURE = ("on-shelf", "in-stock", "to-order", "unknown", "out-of-stock", "discontinued")
ASSUMED_CURRENCY = "EUR"


class Band(NamedTuple):
    """A tune's band, percent of road-speed change."""

    low: Fraction
    high: Fraction
    stretch: Fraction

    def word(self, change: Fraction) -> str:
        """Where a change lies, both edges inside."""
        if self.low <= change <= self.high:
            return "in"
        if change < 0:
            return "shorter"
        if change < self.low:
            return "below"
        return "stretch" if change <= self.stretch else "over"


@dataclass(frozen=True)
class Asked:
    """What a list is asked for; PERCENT goes before BAND."""

    percent: tuple[Fraction | None, Fraction | None] | None = None
    band: str = "in"
    suppliers: frozenset[str] = frozenset()
    max_price: Decimal | None = None
    max_sets: int | None = None
    in_stock: bool = False
    orderable: bool = False
    taller_only: bool = False
    proven_only: bool = False
    top: int | None = None

    def window(self, band: Band | None) -> tuple[Fraction | None, Fraction | None]:
        """The road-speed changes listed; None: open."""
        low: Fraction | None = None
        high: Fraction | None = None
        if self.percent is not None:
            low, high = self.percent
        elif band is not None and self.band != "any":
            low, high = band.low, band.stretch if self.band == "stretch" else band.high
        if self.taller_only:
            low = max(low or Fraction(0), Fraction(0))
        return low, high


@dataclass
class Row:
    """One combination, judged and priced."""

    sets: tuple[str, ...]
    pairs: tuple[tuple[int, int], ...]
    changed: tuple[str, ...]
    reduction: Fraction
    change: Fraction
    reduction_change: Fraction
    band: str
    verdict: str
    evidence: str
    weakest: frozenset[str]
    answers: list[Answer]
    price: Decimal | None
    currency: str | None
    price_from: str | None
    availability: str
    on_shelf: int
    suppliers: tuple[str, ...]
    from_works: Fraction | None
    """Road-speed change against the only factory train possible, of a machine changed before."""
    same_teeth: bool
    price_unknown: bool
    """Whether the price of one of its sets is not known."""
    rank: int = 0

    def price_in(self, currency: str | None) -> Decimal | None:
        """The price where it is in the currency of the answer: order and --max-price go by it."""
        return self.price if self.currency == currency else None

    def order(self, currency: str | None) -> tuple[object, ...]:
        """The order of a list."""
        price = self.price_in(currency)
        return (-self.change, self.pairs, price is None, price or Decimal(0), self.sets)


@dataclass
class Listed:
    """The answer to one request."""

    rows: list[Row]
    shorter: list[Row]
    counts: dict[str, int | None]
    window: tuple[Fraction | None, Fraction | None]


class Shop:
    """A catalogue, and what it answers."""

    def __init__(self, records: Records) -> None:
        self.records = records

    def on_sale(self) -> dict[str, Record]:
        """Every set that is not retired."""
        sets = self.records["gear-set"]
        return {name: s for name, s in sets.items() if s.get("status") != "retired"}

    def case(self, machine: Record) -> Case:
        """A machine's record, or counts given alone, as a case."""
        stages = stages_of(self.records["family"][machine["family"]])
        wheel = machine.get("wheel_size_in")
        return Case(
            self.records,
            machine["family"],
            machine.get("housing"),
            None if wheel is None else int(wheel),
            tuple(teeth(machine["pairs"][stage]) for stage in stages),
            machine.get("idler_seats") or [],
        )

    def band(self, family: str, tune: str | None) -> Band | None:
        """A tune's band as the family narrows or widens it."""
        if tune is None:
            return None
        own = (self.records["family"][family].get("bands") or {}).get(tune) or {}
        if own:
            met["band: of the family"] += 1
        edges = {**self.records["tune"][tune], **own}
        return Band(
            Fraction(edges["low"]),
            Fraction(edges["high"]),
            Fraction(edges.get("stretch", edges["high"])),
        )

    def parts(self, case: Case) -> dict[str, Part]:
        """Every set on sale against a case."""
        met["sets: retired"] += len(self.records["gear-set"]) - len(self.on_sale())
        return {name: judge_part(case, name, record) for name, record in self.on_sale().items()}

    def choices(
        self,
        case: Case,
        parts: dict[str, Part],
        band: Band | None,
        roll_out_ratio: Fraction = Fraction(1),
    ) -> list[Row]:
        """Every combination that the catalogue can make."""
        return [
            self.row(case, band, roll_out_ratio, chosen)
            for chosen in combinations(case.stages, parts.values())
        ]

    def row(
        self,
        case: Case,
        band: Band | None,
        roll_out_ratio: Fraction,
        chosen: tuple[tuple[str, Part | None], ...],
    ) -> Row:
        """One combination: what is CHOSEN for each stage, and for others where a set has them."""
        bought = list({part.name: part for _, part in chosen if part}.values())
        filled = [part for stage, part in chosen if stage in case.stages]
        pairs = tuple(
            teeth(part.record["pairs"][stage]) if part else now
            for stage, part, now in zip(case.stages, filled, case.pairs, strict=True)
        )
        answers = [answer for part in bought for answer in part.answers]
        for number in range(len(case.stages) - 1):
            answer = joint_answer(case, number, filled[number], filled[number + 1])
            if answer:
                answers.append(answer)
        now, then = reduction(case.pairs), reduction(pairs)
        change = 100 * (now / then * roll_out_ratio - 1)
        verdict, evidence, weakest = verdict_of(answers)
        from_works = None
        if case.works and reduction(case.works) != now:
            from_works = 100 * (reduction(case.works) / then * roll_out_ratio - 1)
        price, currency, price_from = self.price([part.name for part in bought])
        return Row(
            tuple(part.name for part in bought),
            pairs,
            tuple(stage for stage, part in zip(case.stages, filled, strict=True) if part),
            then,
            change,
            100 * (then / now - 1),
            band.word(change) if band else "none",
            verdict,
            evidence,
            weakest,
            answers,
            price,
            currency,
            price_from,
            *self.stock([part.name for part in bought]),
            tuple(part.record["supplier"] for part in bought),
            from_works,
            any(part.same_teeth for part in bought),
            any(self.offer(part.name)[0] is None for part in bought),
        )

    def offer(self, name: str) -> tuple[Decimal | None, str, str | None]:
        """What the shop asks for a set, in which currency, and whose price it is."""
        record = self.records["gear-set"][name]
        shelf = self.records["shelf"].get(name) or {}
        supplier = self.records["supplier"].get(record["supplier"], {})
        currency = record.get("currency") or supplier.get("currency") or ASSUMED_CURRENCY
        if "price" in shelf:
            return Decimal(shelf["price"]), currency, "shelf"
        if "price" in record:
            return Decimal(record["price"]), currency, "supplier"
        return None, currency, None

    def price(self, names: list[str]) -> tuple[Decimal | None, str | None, str | None]:
        """Sum, currency and source of a combination's price; None where it is not known."""
        offers = [self.offer(name) for name in names]
        if any(price is None for price, _, _ in offers):
            met["price: one is not known"] += 1
            return None, None, None
        currencies = {currency for _, currency, _ in offers}
        if len(currencies) > 1:
            met["price: several currencies"] += 1
            return None, None, None
        sources = {source for _, _, source in offers}
        total = sum((price for price, _, _ in offers if price is not None), Decimal(0))
        return total, currencies.pop(), "both" if len(sources) > 1 else sources.pop()

    def currency(self, parts: dict[str, Part], asked: Asked) -> str | None:
        """The answer's: the shop's usual one, where a set in question is priced in it."""

        def by_number(names: Iterable[str]) -> list[str]:
            offers = [self.offer(name) for name in names]
            found = Counter(currency for price, currency, _ in offers if price is not None)
            return sorted(found, key=lambda each: (-found[each], each != "EUR", each))

        usual = by_number(parts)
        here = by_number(
            name
            for name, part in parts.items()
            if not part.dead
            and (not asked.suppliers or part.record["supplier"] in asked.suppliers)
            and (not asked.in_stock or self.stock([name])[1])
            and not (asked.orderable and self.stock([name])[0] == "discontinued")
        )
        return usual[0] if usual and usual[0] in here else next(iter(here), None)

    def stock(self, names: list[str]) -> tuple[str, int]:
        """The least sure answer of where all are to be had, and how often the shelf holds all."""
        held = [int((self.records["shelf"].get(name) or {}).get("quantity", 0)) for name in names]
        words = [
            "on-shelf" if pieces else self.records["gear-set"][name].get("availability", "unknown")
            for name, pieces in zip(names, held, strict=True)
        ]
        return max(words, key=LEAST_SURE.index), min(held)

    def answer(
        self, rows: list[Row], band: Band | None, asked: Asked, currency: str | None
    ) -> Listed:
        """What a request lists of these choices, with the counts of all."""
        low, high = asked.window(band)
        standing = [row for row in rows if row.verdict != RULED_OUT]
        passing = [row for row in standing if passes(row, asked, currency)]
        passing.sort(key=lambda row: row.order(currency))
        listed = [row for row in passing if inside(row.change, low, high)]
        shorter = []
        if low is not None and low >= 0 and not asked.taller_only:
            shorter = [row for row in passing if row.change < 0 and len(row.sets) == 1]
        words = Counter(row.band for row in standing)
        counts: dict[str, int | None] = {
            "all_choices": len(rows),
            "fits": sum(row.verdict == FITS for row in rows),
            "unproven": sum(row.verdict == UNPROVEN for row in rows),
            "ruled_out": sum(row.verdict == RULED_OUT for row in rows),
            "shorter": words["shorter"] if band else sum(row.change < 0 for row in standing),
            "below": words["below"] if band else None,
            "in_band": words["in"] if band else None,
            "stretch": words["stretch"] if band else None,
            "over": words["over"] if band else None,
            "listed": len(listed),
            "price_unknown": None,
            "other_currency": None,
        }
        if asked.max_price is not None:
            dearest = replace(asked, max_price=None)
            others = [
                row
                for row in standing
                if passes(row, dearest, currency) and inside(row.change, low, high)
            ]
            unknown = [row for row in others if row.price_unknown]
            counts["price_unknown"] = len(unknown)
            counts["other_currency"] = sum(
                row.price_in(currency) is None and not row.price_unknown for row in others
            )
        give_ranks(listed)
        give_ranks(shorter)
        return Listed(listed[: asked.top], shorter, counts, (low, high))


def combinations(
    stages: tuple[str, ...], judged: Iterable[Part]
) -> Iterator[tuple[tuple[str, Part | None], ...]]:
    """Every choice: a part or none by stage, one at least; sets of several by themselves."""
    judged = list(judged)
    filling: list[list[Part | None]] = [
        [None, *(part for part in judged if part.holds == (stage,))] for stage in stages
    ]
    for chosen in product(*filling):
        if any(chosen):
            yield tuple(zip(stages, chosen, strict=True))
    for part in judged:
        if len(part.holds) > 1 or part.holds[0] not in stages:
            every = dict.fromkeys((*stages, *part.holds))
            yield tuple((stage, part if stage in part.holds else None) for stage in every)


def reduction(pairs: tuple[tuple[int, int], ...]) -> Fraction:
    """The overall reduction of a train."""
    total = Fraction(1)
    for driver, driven in pairs:
        total *= Fraction(driven, driver)
    return total


def verdict_of(answers: list[Answer]) -> tuple[str, str, frozenset[str]]:
    """The worst verdict, the weakest evidence, and the rules it hangs on."""
    for verdict in (RULED_OUT, UNPROVEN):
        rules = frozenset(answer.rule for answer in answers if answer.verdict == verdict)
        if rules:
            return verdict, "none", rules
    weakest = min((answer.evidence for answer in answers), key=STRENGTH.__getitem__)
    return FITS, weakest, frozenset(a.rule for a in answers if a.evidence == weakest)


def inside(change: Fraction, low: Fraction | None, high: Fraction | None) -> bool:
    """Whether a change lies in a window, both edges inside."""
    return (low is None or low <= change) and (high is None or change <= high)


def passes(row: Row, asked: Asked, currency: str | None) -> bool:
    """Whether a combination passes every filter but the window."""
    price = row.price_in(currency)
    return (
        (not asked.suppliers or set(row.suppliers) <= asked.suppliers)
        and (asked.max_price is None or (price is not None and price <= asked.max_price))
        and (asked.max_sets is None or len(row.sets) <= asked.max_sets)
        and (not asked.in_stock or row.on_shelf > 0)
        and not (asked.orderable and row.availability == "discontinued")
        and (not asked.taller_only or row.change >= 0)
        and (not asked.proven_only or row.verdict == FITS)
    )


def give_ranks(rows: list[Row]) -> None:
    """Equal reductions share a rank, and the next rank counts them all."""
    for number, row in enumerate(rows):
        tied = number and rows[number - 1].reduction == row.reduction
        row.rank = rows[number - 1].rank if tied else number + 1
