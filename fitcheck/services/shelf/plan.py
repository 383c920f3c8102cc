"""The purchase that serves the most machines for the money."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from math import gcd, lcm

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.coverage import Answer, Coverage, best_purchase
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import amount, minor_units, price_places
from fitcheck.services.price_lists.muting import STDOUT, muted
from fitcheck.services.shelf.demands import Demand, Demands
from fitcheck.services.shelf.supply import Kit, Market, PriceFrom, Supply


class Why(StrEnum):
    """Why a machine stays without a choice."""

    MONEY = "the money goes further elsewhere"
    BUDGET = "over the budget by itself"
    CURRENCY = "only in another currency"
    PRICE = "only at an unknown price"
    LAW = "nothing sure to be lawful"
    NOTHING = "nothing on sale in band"


@dataclass(frozen=True, slots=True)
class Tally:
    """How many machines are served, and how much they weigh together."""

    machines: int
    weight: Fraction


@dataclass(frozen=True, slots=True)
class Bought:
    """One set to buy, a single piece.

    Attributes:
        gear_set: the set.
        price: what it costs.
        source: where that price is from.
        serves: machines whose choice holds it.
    """

    gear_set: Entry[GearSet]
    price: Decimal
    source: PriceFrom
    serves: tuple[Demand, ...]


@dataclass(frozen=True, slots=True)
class Served:
    """A machine that the purchase serves, and by which sets.

    Attributes:
        demand: the machine.
        kit: the sets; those of `kit.buy` are in the purchase, the others on the shelf.
    """

    demand: Demand
    kit: Kit


@dataclass(frozen=True, slots=True)
class Unserved:
    """A machine that stays without a choice.

    Attributes:
        demand: the machine.
        why: the reason.
        kit: the cheapest that would serve it, in the plan's currency; None where there is none.
    """

    demand: Demand
    why: Why
    kit: Kit | None


@dataclass(frozen=True, slots=True)
class Quality:
    """How good the purchase is.

    Attributes:
        method: `exact` or `greedy`, whichever found the better one.
        solver: whether the solver was there to ask.
        ended: whether the search came to its end; else the time for it ran out.
        optimal: whether it is proved that no purchase within the budget serves more.
        cheapest: whether it is proved that none that serves as much costs less.
        most: a weight of newly served machines that no purchase within the budget exceeds.
        greedy: weight of the machines that the greedy purchase newly serves.
        singles_only: whether one set always suffices, so that the greedy purchase is sure of
            31.6 % of the optimum.
    """

    method: str
    solver: bool
    ended: bool
    optimal: bool
    cheapest: bool
    most: Fraction
    greedy: Fraction
    singles_only: bool


@dataclass(frozen=True)
class Plan:
    """What to buy, and what it does.

    Attributes:
        demands: who was asked about.
        lawful: whether the law was asked.
        budget: the money there is.
        currency: the one currency of the plan.
        bought: the sets to buy, by supplier, then id.
        spent: their sum.
        before: machines served from the shelf as it is.
        after: machines served once all is bought.
        all_machines: all that were judged.
        served: machines newly served.
        unserved: machines that stay without a choice.
        other_currencies: sets that would help but are priced in another currency, by currency.
        unpriced: sets that would help but have no price.
        at_list: sets that would help, in this currency, at a list price for want of a better one.
        helping: sets that would help, in this currency.
        quality: how good the purchase is.
    """

    demands: Demands
    lawful: bool
    budget: Decimal
    currency: str
    bought: tuple[Bought, ...]
    spent: Decimal
    before: Tally
    after: Tally
    all_machines: Tally
    served: tuple[Served, ...]
    unserved: tuple[Unserved, ...]
    other_currencies: dict[str, int]
    unpriced: int
    at_list: int
    helping: int
    quality: Quality

    @property
    def left(self) -> Decimal:
        """What is left of the budget."""
        return self.budget - self.spent


def plan(
    demands: Demands,
    budget: Decimal,
    *,
    currency: str | None = None,
    lawful: bool = False,
    time_limit_s: float = 30.0,
    use_solver: bool | None = None,
) -> Plan:
    """Choose the purchase that serves the most machines, each counted by its weight.

    A machine is served where the shelf, with what is bought, holds one choice for it at least.
    Prices are what the shop paid last, else by the suppliers' lists (`buying_prices`).

    Args:
        demands: the machines.
        budget: the money there is.
        currency: of the budget; None for that of most sets on sale.
        lawful: whether only what the class is sure to allow serves a machine.
        time_limit_s: seconds the solver may take.
        use_solver: False leaves the solver out; None asks it where it is installed.

    Raises:
        UsageError: no set on sale is priced in that currency.
    """
    market = Market(demands.catalogue, lawful=lawful)
    currency = _currency(market, currency)
    supplies = [market.supply(one) for one in demands.judged]
    open_ones = [supply for supply in supplies if not supply.serving]
    helping = _Helping.of(open_ones, market, currency)

    places = price_places([*helping.prices.values(), budget])
    prices = {id_: _in_units(price, places) for id_, price in helping.prices.items()}
    problem, unit = _coverage(open_ones, prices, currency, _in_units(budget, places))
    with muted(STDOUT):
        answer = best_purchase(problem, time_limit_s, use_solver=use_solver)
    ids = sorted(list(prices)[item] for item in answer.purchase.items)

    served, left = _serve(open_ones, set(ids))
    before = _tally(supply.demand for supply in supplies if supply.serving)
    newly = _tally(one.demand for one in served)
    assert newly.weight == answer.purchase.weight * unit
    return Plan(
        demands=demands,
        lawful=lawful,
        budget=budget,
        currency=currency,
        bought=_list_bought(ids, market, served),
        spent=amount(answer.purchase.price, places),
        before=before,
        after=Tally(before.machines + newly.machines, before.weight + newly.weight),
        all_machines=_tally(demands.judged),
        served=tuple(served),
        unserved=tuple(_explain_unserved(one, market, currency, budget) for one in left),
        other_currencies=helping.other_currencies,
        unpriced=helping.unpriced,
        at_list=helping.at_list,
        helping=len(prices),
        quality=_quality(answer, unit),
    )


@dataclass(frozen=True, slots=True)
class _Helping:
    """The sets that would help a machine that nothing serves yet.

    Attributes:
        prices: by id, of those priced in the plan's currency.
        other_currencies: how many are priced in another one, by currency.
        unpriced: how many have no price.
        at_list: how many of `prices` are list prices for want of a better one.
    """

    prices: dict[str, Decimal]
    other_currencies: dict[str, int]
    unpriced: int
    at_list: int

    @classmethod
    def of(cls, open_ones: Sequence[Supply], market: Market, currency: str) -> _Helping:
        ids = sorted({id_ for supply in open_ones for kit in supply.kits for id_ in kit.buy})
        known = {id_: market.prices[id_] for id_ in ids if id_ in market.prices}
        ours = {id_: price for id_, price in known.items() if price.currency == currency}
        others = Counter(price.currency for id_, price in known.items() if id_ not in ours)
        return cls(
            prices={id_: price.amount for id_, price in ours.items()},
            other_currencies=dict(sorted(others.items())),
            unpriced=len(ids) - len(known),
            at_list=sum(price.source == "list price" for price in ours.values()),
        )


def _currency(market: Market, asked: str | None) -> str:
    known = sorted({price.currency for price in market.prices.values()})
    if not known:
        raise UsageError("no set on sale has a price, so nothing can be planned; add prices")
    if asked is not None and asked not in known:
        raise UsageError(f"no set on sale is priced in {asked}; there is {', '.join(known)}")
    found = asked or market.currency
    assert found is not None
    return found


def _in_units(price: Decimal | None, places: int) -> int:
    units = minor_units(price, places)
    assert units is not None
    return units


def _coverage(
    open_ones: Sequence[Supply], prices: Mapping[str, int], currency: str, budget: int
) -> tuple[Coverage, Fraction]:
    """The problem in whole numbers and the weight of its unit."""
    number = {id_: item for item, id_ in enumerate(prices)}
    asking = []
    for supply in open_ones:
        ways = tuple(
            tuple(number[id_] for id_ in kit.buy) for kit in supply.kits if kit.currency == currency
        )
        if ways and supply.demand.weight > 0:
            asking.append((supply.demand.weight, ways))
    unit = _unit(weight for weight, _ in asking)
    problem = Coverage(
        tuple(prices.values()),
        tuple(int(weight / unit) for weight, _ in asking),
        tuple(ways for _, ways in asking),
        budget,
    )
    return problem, unit


def _unit(weights: Iterable[Fraction]) -> Fraction:
    """The greatest weight of which each of these is a whole multiple."""
    found = Fraction(0)
    for weight in weights:
        below = lcm(found.denominator, weight.denominator)
        found = Fraction(gcd(int(found * below), int(weight * below)), below)
    return found or Fraction(1)


def _tally(demands: Iterable[Demand]) -> Tally:
    listed = list(demands)
    return Tally(len(listed), sum((one.weight for one in listed), Fraction(0)))


def _list_bought(
    ids: Sequence[str], market: Market, served: Sequence[Served]
) -> tuple[Bought, ...]:
    found = []
    for id_ in ids:
        entry, price = market.catalogue.gear_sets[id_], market.prices[id_]
        users = tuple(one.demand for one in served if id_ in one.kit.buy)
        found.append(Bought(entry, price.amount, price.source, users))
    return tuple(sorted(found, key=lambda one: (one.gear_set.record.supplier, one.gear_set.id)))


def _serve(open_ones: Iterable[Supply], ids: set[str]) -> tuple[list[Served], list[Supply]]:
    """Whom a purchase serves, and who is left."""
    served, left = [], []
    for supply in open_ones:
        kit = next((kit for kit in supply.kits if ids.issuperset(kit.buy)), None)
        if kit is not None:
            served.append(Served(supply.demand, kit))
        else:
            left.append(supply)
    return served, left


def _explain_unserved(supply: Supply, market: Market, currency: str, budget: Decimal) -> Unserved:
    ours = [kit for kit in supply.kits if kit.currency == currency]
    if ours:
        assert ours[0].price is not None
        dear = ours[0].price > budget
        return Unserved(supply.demand, Why.BUDGET if dear else Why.MONEY, ours[0])
    if supply.kits:
        priced = [kit for kit in supply.kits if market.prices.keys() >= set(kit.buy)]
        return Unserved(supply.demand, Why.CURRENCY if priced else Why.PRICE, None)
    by_law = supply.in_band or supply.unclear_kits or supply.over_kits
    return Unserved(supply.demand, Why.LAW if by_law else Why.NOTHING, None)


def _quality(answer: Answer, unit: Fraction) -> Quality:
    return Quality(
        method=answer.method,
        solver=answer.solver,
        ended=answer.ended,
        optimal=answer.optimal,
        cheapest=answer.cheapest,
        most=answer.bound * unit,
        greedy=answer.greedy.weight * unit,
        singles_only=answer.singles_only,
    )
