"""What is asked of a list, and how the enumeration takes it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import islice
from numbers import Rational
from typing import Literal, get_args

from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.enumeration import Problem, Row, Window, count, rows
from fitcheck.kernel.gearing import reduction_window
from fitcheck.model.money import minor_units
from fitcheck.services.counter.choices import Choices, JudgedSet, SetFilter
from fitcheck.services.counter.offer import usual_currency
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import RoadAsked

BandFilter = Literal["in", "stretch", "any"]
RankBy = Literal["change", "top-speed", "start-off", "0-45", "verdict"]


@dataclass(frozen=True, slots=True)
class Request:
    """What to list.

    Attributes:
        percent: (low, high) road-speed change, both inclusive, None for an open side;
            overrides the band.
        band: `in` the tune's band, up to its `stretch`, or `any` change.
        top: at most so many combinations, or gearings; None for all.
        by_gearing: list gearings: of the combinations of equal pairs only the one to sell.
        skips_gone: of the gearings list only what can be had now; the others keep their rank.
        suppliers: ids of the suppliers wanted; empty for all.
        among: ids of the only sets that combinations may hold; None: of any set.
        needs: ids of sets, of which a combination holds one at least; None: it need not.
        max_price: greatest price of a combination, as the shop asks it; unknown prices are then
            left out.
        currency: of `max_price`, an ISO 4217 code; prices are then compared in it. None: in the
            shop's usual one.
        max_sets: greatest number of sets bought.
        in_stock: only combinations of which every set lies on the shelf, one piece at least.
        orderable: only combinations that can be had now: no set is discontinued without a piece on
            the shelf.
        taller_only: leave out what makes the machine shorter.
        proven_only: leave out what is unproven.
        exclusions: also list what was ruled out.
        margins: also tell what the shop paid and earns.
        show_road: also tell what each combination does on the road.
        rank: what comes first: the most road speed by its change; by the road model, the most
            real top speed, the most start-off pull, the least time to 45 km/h, or what the engine
            pulls (then by top speed). By the road model implies `show_road`.
        lawful: leave out what takes the machine over its class's speed; with `proven_only`, what
            may take it over as well.
        road: inputs of the road model given by hand, the class to judge by among them.
    """

    percent: tuple[Fraction | None, Fraction | None] | None = None
    band: BandFilter = "in"
    top: int | None = None
    by_gearing: bool = False
    skips_gone: bool = False
    suppliers: frozenset[str] = frozenset()
    among: frozenset[str] | None = None
    needs: frozenset[str] | None = None
    max_price: Decimal | None = None
    currency: str | None = None
    max_sets: int | None = None
    in_stock: bool = False
    orderable: bool = False
    taller_only: bool = False
    proven_only: bool = False
    exclusions: bool = False
    margins: bool = False
    show_road: bool = False
    rank: RankBy = "change"
    lawful: bool = False
    road: RoadAsked | None = None

    def __post_init__(self) -> None:
        # A float is no exact edge: 12.3 is not the decimal a person wrote.
        for edge in self.percent or ():
            if edge is not None and not isinstance(edge, Rational | Decimal):
                raise UsageError(
                    f"a percent edge is a whole number, a Decimal or a Fraction, not {edge!r}"
                )
        if self.percent is not None:
            low, high = (None if edge is None else Fraction(edge) for edge in self.percent)
            object.__setattr__(self, "percent", (low, high))
        if self.max_price is not None and not Decimal(self.max_price).is_finite():
            raise UsageError(f"a greatest price is an amount, not {self.max_price!r}")
        # No price is in a currency of another spelling, so that nothing would be listed.
        if self.currency is not None and re.fullmatch("[A-Z]{3}", self.currency) is None:
            raise UsageError(f"{self.currency!r} is no currency; give its ISO 4217 code, like EUR")
        if self.rank not in get_args(RankBy):
            raise UsageError(f"there is no rank by {self.rank!r}; give {or_list(get_args(RankBy))}")
        if self.rank != "change":
            object.__setattr__(self, "show_road", True)

    @property
    def on_road(self) -> bool:
        """Whether the road or the law is asked about."""
        return self.show_road or self.lawful


@dataclass(frozen=True, slots=True)
class Question:
    """A request as the enumeration takes it.

    Attributes:
        problem: the choices that pass the filters on single sets.
        window: overall reductions wanted.
        max_price: greatest price in minor units of `places` decimals.
        max_sets: greatest number of sets bought.
        min_grade: least grade of a row.
        places: decimals of the prices.
        currency: of the prices; those in another are of unknown price.
        keep: the filter on single sets; None where none is asked.
        needs: ids of sets, of which a row holds one at least; None: it need not.
        others: the problem without those, whose rows are left out; None where none is needed.
    """

    problem: Problem
    window: Window
    max_price: int | None
    max_sets: int | None
    min_grade: int
    places: int
    currency: str | None
    keep: SetFilter | None
    needs: frozenset[str] | None = None
    others: Problem | None = None

    def rows(
        self, window: Window, *, top: int | None = None, single_sets: bool = False
    ) -> Iterator[Row]:
        """The rows of a window that pass every filter, in the order of the contract."""
        found = rows(
            self.problem,
            window,
            top=top if self.needs is None else None,
            max_price=self.max_price,
            max_sets=1 if single_sets else self.max_sets,
            min_grade=self.min_grade,
        )
        needs = self.needs
        if needs is None:
            return found
        if not needs:
            return iter(())
        holding = (row for row in found if any(item.id in needs for item in row.items))
        return islice(holding, top)

    def count(self, window: Window) -> int:
        """How many rows that is."""
        if self.max_price is not None:
            return sum(1 for _ in self.rows(window))
        left_out = 0 if self.others is None else self._count(self.others, window)
        return self._count(self.problem, window) - left_out

    def _count(self, problem: Problem, window: Window) -> int:
        return count(problem, window, max_sets=self.max_sets).between(self.min_grade)


def question(choices: Choices, request: Request) -> Question:
    """What a request asks of a machine's choices."""
    subject = choices.subject
    keep = _keep(request)
    kept = (one.gear_set for one in choices.sets(keep))
    currency = request.currency or usual_currency(subject.catalogue, kept)
    problem, others = _problems(choices, keep, request.needs, currency)
    return Question(
        problem=problem,
        window=reductions(subject, *window_of(subject, request)),
        max_price=minor_units(request.max_price, choices.places),
        max_sets=request.max_sets,
        min_grade=1 if request.proven_only else 0,
        places=choices.places,
        currency=currency,
        keep=keep,
        needs=request.needs,
        others=others,
    )


def _problems(
    choices: Choices,
    keep: SetFilter | None,
    needs: frozenset[str] | None,
    currency: str | None = None,
) -> tuple[Problem, Problem | None]:
    """The choices that pass a filter, and those of them that hold none of what is needed."""
    problem = choices.problem(keep, currency)
    if needs is None:
        return problem, None

    def is_other(one: JudgedSet) -> bool:
        return one.gear_set.id not in needs and (keep is None or keep(one))

    return problem, choices.problem(is_other, currency)


def window_of(subject: Subject, request: Request) -> tuple[Fraction | None, Fraction | None]:
    """The road-speed change to list, percent, both inclusive: as asked, or the tune's band."""
    low: Fraction | None = None
    high: Fraction | None = None
    if request.percent is not None:
        low, high = request.percent
    elif subject.band is not None and request.band != "any":
        low = subject.band.low
        high = subject.band.high if request.band == "in" else subject.band.stretch
    if request.taller_only and (low is None or low < 0):
        low = Fraction(0)
    return low, high


def reductions(subject: Subject, low: Fraction | None, high: Fraction | None) -> Window:
    """The overall reductions whose road-speed change lies in a window, both inclusive."""
    return reduction_window(subject.reduction, low, high, subject.roll_out_ratio)


def without_price(choices: Choices, asked: Question) -> tuple[int, int]:
    """Combinations of the window that no greatest price can be held against.

    Returns:
        How many hold a set of unknown price, and how many, of known prices, hold one priced in
        another currency than the list's.
    """

    def number(is_priced: SetFilter) -> int:
        keep = asked.keep or (lambda one: True)
        problem, others = _problems(choices, lambda one: keep(one) and is_priced(one), asked.needs)
        return replace(asked, problem=problem, others=others, max_price=None).count(asked.window)

    every = number(lambda one: True)
    priced = number(lambda one: one.offer.price is not None)
    alike = number(lambda one: one.offer.price is not None and one.offer.currency == asked.currency)
    return every - priced, priced - alike


def _keep(request: Request) -> SetFilter | None:
    """The filter on single sets, where one is asked."""
    among = request.among
    if among is None and not (request.suppliers or request.in_stock or request.orderable):
        return None

    def keep(one: JudgedSet) -> bool:
        if among is not None and one.gear_set.id not in among:
            return False
        if request.suppliers and one.gear_set.record.supplier not in request.suppliers:
            return False
        if request.orderable and not one.offer.orderable:
            return False
        return not request.in_stock or one.offer.availability == "on-shelf"

    return keep
