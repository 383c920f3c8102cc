"""The answer of `shelf plan`: what to buy, whom it serves, how good it is."""

from __future__ import annotations

from typing import Annotated, TypedDict

from fitcheck.answers.combination import named_sets, teeth
from fitcheck.answers.declared import words
from fitcheck.answers.figures import number
from fitcheck.answers.gaps import (
    Demand,
    Kit,
    KitSets,
    Planning,
    UnjudgedOnes,
    demand_of,
    kit_of,
    unjudged_of,
)
from fitcheck.answers.machine import header
from fitcheck.answers.tables import COUNT, MONEY, Column, Table
from fitcheck.answers.values import AtLeast0, CurrencyCode, Money, Name, Size, Whole, money_of
from fitcheck.services.shelf.plan import Bought, Plan, Quality, Why
from fitcheck.services.shelf.plan import Tally as Counted
from fitcheck.services.shelf.supply import PriceFrom


class Tally(TypedDict):
    """Machines, and their visits together."""

    machines: Whole
    """How many."""
    visits: AtLeast0
    """Their visits."""


class _Bought(TypedDict):
    """One set to buy."""

    set: str
    """Its id."""
    supplier: str
    """Id of its supplier."""
    part_number: str
    """The supplier's number."""
    pieces: Size
    """How many."""
    price: Money
    """What it costs."""
    price_from: PriceFrom
    """Whether that is what the shop paid last, as the shelf says, the supplier's list price less
    its discount, or the list price itself."""
    serves: list[Name]
    """Ids of the machines whose kit holds it."""


class _Served(Demand):
    """A machine newly served."""

    kit: Kit
    """By what."""


class _Unserved(Demand):
    """A machine that stays without a choice."""

    why: Annotated[str, words(Why)]
    """Why."""
    kit: Kit | None
    """The cheapest that would; null where there is none."""


class _NotPlanned(TypedDict):
    """Sets that would help but are not planned with."""

    other_currencies: dict[str, Size]
    """How many are priced in another currency, by its code."""
    unpriced: Whole
    """How many have no price."""


class _AtList(TypedDict):
    """For how many sets a list price stands in, for want of a cost or a discount."""

    sets: Whole
    """How many."""
    of: Whole
    """Of so many priced in this currency that would help."""


class _Quality(TypedDict):
    """How good the purchase is."""

    method: Annotated[str, words(["exact", "greedy"])]
    """What found it."""
    solver: bool
    """Whether the solver was there to ask."""
    ended: bool
    """Whether the search came to its end; else the time for it ran out."""
    optimal: bool
    """Whether it is proved that no purchase within the budget serves more."""
    cheapest: bool
    """Whether it is proved that none that serves as much costs less."""
    most_visits: AtLeast0
    """No purchase within the budget newly serves more visits than these."""
    greedy_visits: AtLeast0
    """Visits that the greedy purchase newly serves."""
    singles_only: bool
    """Whether one set always suffices to serve a machine."""


class PlanAnswer(Planning):
    """One answer of `shelf plan`."""

    weighted: bool
    """Whether visits were given."""
    unweighted: Whole
    """Machines that count once because the visits do not name them."""
    currency: CurrencyCode
    """ISO 4217 code of all money of the plan."""
    budget: Money
    """The money there is."""
    spent: Money
    """The sum of what is bought."""
    left: Money
    """What is left of the budget."""
    before: Tally
    """Served from the shelf as it is."""
    after: Tally
    """Served once all is bought."""
    all: Tally
    """All that were judged."""
    buy: list[_Bought]
    """The shopping list, by supplier, then id."""
    served: list[_Served]
    """Machines newly served."""
    unserved: list[_Unserved]
    """Machines that stay without a choice."""
    unjudged: UnjudgedOnes
    left_out: _NotPlanned
    at_list: _AtList
    quality: _Quality
    gear_sets: KitSets


def plan_answer(found: Plan) -> PlanAnswer:
    """One answer of `shelf plan` as plain data for `json.dumps`."""
    catalogue = found.demands.catalogue
    kits = [one.kit for one in found.served]
    kits += [one.kit for one in found.unserved if one.kit is not None]
    return {
        **header("shelf-plan", catalogue),
        "asked": found.demands.asked,
        "lawful": found.lawful,
        "weighted": found.demands.weighted,
        "unweighted": found.demands.unweighted,
        "currency": found.currency,
        "budget": money_of(found.budget),
        "spent": money_of(found.spent),
        "left": money_of(found.left),
        "before": _tally(found.before),
        "after": _tally(found.after),
        "all": _tally(found.all_machines),
        "buy": [_bought(one) for one in found.bought],
        "served": [{**demand_of(one.demand), "kit": kit_of(one.kit)} for one in found.served],
        "unserved": [
            {
                **demand_of(one.demand),
                "why": one.why.value,
                "kit": None if one.kit is None else kit_of(one.kit),
            }
            for one in found.unserved
        ],
        "unjudged": unjudged_of(found.demands),
        "left_out": {
            "other_currencies": dict(found.other_currencies),
            "unpriced": found.unpriced,
        },
        "at_list": {"sets": found.at_list, "of": found.helping},
        "quality": _quality(found.quality),
        "gear_sets": named_sets(catalogue, [id_ for kit in kits for id_ in kit.sets]),
    }


def _tally(tally: Counted) -> Tally:
    return {"machines": tally.machines, "visits": number(tally.weight)}


def _bought(one: Bought) -> _Bought:
    record = one.gear_set.record
    return {
        "set": one.gear_set.id,
        "supplier": record.supplier,
        "part_number": record.part_number,
        "pieces": 1,
        "price": money_of(one.price),
        "price_from": one.source,
        "serves": [demand.id for demand in one.serves],
    }


def _quality(quality: Quality) -> _Quality:
    return {
        "method": quality.method,
        "solver": quality.solver,
        "ended": quality.ended,
        "optimal": quality.optimal,
        "cheapest": quality.cheapest,
        "most_visits": number(quality.most),
        "greedy_visits": number(quality.greedy),
        "singles_only": quality.singles_only,
    }


def plan_table(found: Plan) -> Table:
    """The shopping list, by supplier."""
    columns = (
        Column("supplier", "supplier", lambda one: one.gear_set.record.supplier),
        Column("set", "set", lambda one: one.gear_set.id),
        Column("part_number", "part number", lambda one: one.gear_set.record.part_number),
        Column("name", "name", lambda one: one.gear_set.record.name),
        Column("teeth", "teeth", lambda one: teeth(one.gear_set)),
        Column("pieces", "pieces", lambda _: 1, COUNT),
        Column("price", "price", lambda one: one.price, MONEY),
        Column("currency", "currency", lambda _: found.currency),
        Column("price_from", "price from", lambda one: one.source),
        Column("serves", "serves", lambda one: "; ".join(demand.id for demand in one.serves)),
    )
    return Table(columns, found.bought)
