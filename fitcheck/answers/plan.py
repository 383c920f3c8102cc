"""The answer of `shelf plan`: what to buy, whom it serves, how good it is."""

from __future__ import annotations

from operator import attrgetter
from typing import Annotated, TypedDict

from fitcheck.answers.combination import named_sets, teeth
from fitcheck.answers.gaps import Demand, Kit, KitSets, Planning, UnjudgedOnes, demand_of
from fitcheck.answers.machine import header
from fitcheck.answers.shapes import (
    ITSELF,
    At,
    AtLeast0,
    By,
    CurrencyCode,
    Money,
    Name,
    Size,
    Whole,
    fill,
    words,
)
from fitcheck.answers.tables import COUNT, MONEY, Column, Table
from fitcheck.services.shelf.plan import Plan, Why
from fitcheck.services.shelf.supply import PriceFrom


class Tally(TypedDict):
    """Machines, and their visits together."""

    machines: Whole
    """How many."""
    visits: Annotated[AtLeast0, At("weight")]
    """Their visits."""


class _Bought(TypedDict):
    """One set to buy."""

    set: Annotated[str, At("gear_set.id")]
    """Its id."""
    supplier: Annotated[str, At("gear_set.record.supplier")]
    """Id of its supplier."""
    part_number: Annotated[str, At("gear_set.record.part_number")]
    """The supplier's number."""
    pieces: Annotated[Size, ITSELF, By(lambda _: 1)]
    """How many."""
    price: Money
    """What it costs."""
    price_from: Annotated[PriceFrom, At("source")]
    """Whether that is what the shop paid last, as the shelf says, the supplier's list price less
    its discount, or the list price itself."""
    serves: list[Annotated[Name, By(attrgetter("id"))]]
    """Ids of the machines whose kit holds it."""


class _Served(Demand):
    """A machine newly served."""

    kit: Kit
    """By what."""


class _Unserved(Demand):
    """A machine that stays without a choice."""

    why: Annotated[str, words(Why), At("why.value")]
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

    sets: Annotated[Whole, At("at_list")]
    """How many."""
    of: Annotated[Whole, At("helping")]
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
    most_visits: Annotated[AtLeast0, At("most")]
    """No purchase within the budget newly serves more visits than these."""
    greedy_visits: Annotated[AtLeast0, At("greedy")]
    """Visits that the greedy purchase newly serves."""
    singles_only: bool
    """Whether one set always suffices to serve a machine."""


class PlanAnswer(Planning):
    """One answer of `shelf plan`."""

    weighted: Annotated[bool, At("demands.weighted")]
    """Whether visits were given."""
    unweighted: Annotated[Whole, At("demands.unweighted")]
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
    all: Annotated[Tally, At("all_machines")]
    """All that were judged."""
    buy: Annotated[list[_Bought], At("bought")]
    """The shopping list, by supplier, then id."""
    served: list[_Served]
    """Machines newly served."""
    unserved: list[_Unserved]
    """Machines that stay without a choice."""
    unjudged: UnjudgedOnes
    left_out: Annotated[_NotPlanned, ITSELF]
    at_list: Annotated[_AtList, ITSELF]
    quality: _Quality
    gear_sets: KitSets


def plan_answer(found: Plan) -> PlanAnswer:
    """One answer of `shelf plan` as plain data for `json.dumps`."""
    catalogue = found.demands.catalogue
    kits = [one.kit for one in found.served]
    kits += [one.kit for one in found.unserved if one.kit is not None]
    return fill(
        PlanAnswer,
        found,
        **header("shelf-plan", catalogue),
        served=[fill(_Served, one, **demand_of(one.demand)) for one in found.served],
        unserved=[fill(_Unserved, one, **demand_of(one.demand)) for one in found.unserved],
        gear_sets=named_sets(catalogue, [id_ for kit in kits for id_ in kit.sets]),
    )


def plan_table(found: Plan) -> Table:
    """The shopping list, by supplier."""
    columns = (
        Column("supplier", value="gear_set.record.supplier"),
        Column("set", value="gear_set.id"),
        Column("part_number", value="gear_set.record.part_number"),
        Column("name", value="gear_set.record.name"),
        Column("teeth", value=lambda one: teeth(one.gear_set)),
        Column("pieces", value=lambda _: 1, kind=COUNT),
        Column("price", kind=MONEY),
        Column("currency", value=lambda _: found.currency),
        Column("price_from", value="source"),
        Column("serves", value=lambda one: "; ".join(demand.id for demand in one.serves)),
    )
    return Table(columns, found.bought)
