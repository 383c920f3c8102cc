"""What serves one machine: from the shelf as it is, and with what is still to be bought.

A combination serves where its fit is proved, its road-speed change lies in the band of the
machine's tune and, where the law is asked, the class is sure to allow it.

A set costs what the shop paid for it last, else what its supplier's list says. A list price is what
a customer pays, so a supplier's discount is taken off where one is on record. What the list comes
to is rounded once, at the end, half up to the currency's least unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.coverage import Way, minimal_ways
from fitcheck.kernel.enumeration import Row, count, rows
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import least_places, rounded
from fitcheck.rules.answers import Verdict
from fitcheck.rules.fit.identity import family as for_family
from fitcheck.services.counter.audience import for_customer
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.offer import usual_currency
from fitcheck.services.counter.request import Request, reductions, window_of
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import LawfulAnswer
from fitcheck.services.shelf.demands import Demand

PriceFrom = Literal["last cost", "list less discount", "list price"]
"""Where a buying price is from, the surest first."""


@dataclass(frozen=True, slots=True)
class BuyingPrice:
    """What a piece of a set costs the shop.

    Attributes:
        amount: the money.
        currency: its ISO 4217 code.
        source: `last cost`, what the shelf says the shop paid last; `list less discount`, the
            supplier's list price less its discount; `list price`, where there is neither and it
            has to stand in.
    """

    amount: Decimal
    currency: str
    source: PriceFrom


def buying_prices(catalogue: Catalogue, ids: Iterable[str]) -> Mapping[str, BuyingPrice]:
    """What each of these gear sets costs to buy; without those of which nobody knows it.

    Nothing is no price to buy at: what came free once is not had free again, and a list price of 0
    is one that nobody filled in.
    """
    found = {}
    for id_ in ids:
        record = catalogue.gear_sets[id_].record
        held = catalogue.shelf.get(id_)
        if held is not None and held.record.cost:
            found[id_] = BuyingPrice(held.record.cost, record.currency, "last cost")
        elif record.price:
            found[id_] = _by_list(catalogue, record)
    return found


def _by_list(catalogue: Catalogue, record: GearSet) -> BuyingPrice:
    assert record.price is not None
    supplier = catalogue.suppliers.get(record.supplier)
    discount = None if supplier is None else supplier.record.discount_percent
    exact = Fraction(record.price) * (100 - Fraction(discount or 0)) / 100
    amount = rounded(exact, least_places(record.currency))
    source: PriceFrom = "list price" if discount is None else "list less discount"
    return BuyingPrice(amount, record.currency, source)


@dataclass(frozen=True, slots=True)
class Kit:
    """Sets that serve a machine together, some of which are still to be bought.

    Attributes:
        sets: ids of all of them, from input shaft to wheel.
        buy: ids of those that do not lie on the shelf; one at least.
        price: of those to buy, as `buying_prices` says; None where one is not known or currencies
            differ.
        currency: of the price.
        sources: where each price of those to buy is from; empty where there is no sum.
    """

    sets: tuple[str, ...]
    buy: tuple[str, ...]
    price: Decimal | None
    currency: str | None
    sources: tuple[PriceFrom, ...] = ()

    def priced(self, source: PriceFrom) -> tuple[str, ...]:
        """Ids of those to buy whose price is from there."""
        named = zip(self.buy, self.sources, strict=False)
        return tuple(id_ for id_, found in named if found == source)

    @property
    def from_shelf(self) -> tuple[str, ...]:
        """Ids of those that lie on the shelf."""
        return tuple(id_ for id_ in self.sets if id_ not in self.buy)

    @property
    def at_cost(self) -> tuple[str, ...]:
        """Ids of those to buy that are at what the shop paid last."""
        return self.priced("last cost")

    @property
    def at_list(self) -> tuple[str, ...]:
        """Ids of those to buy for which a list price has to stand in."""
        return self.priced("list price")


@dataclass(frozen=True, slots=True)
class LawCount:
    """What a machine's class says of the choices on the shelf that are proved and in band.

    Attributes:
        within: sure to stay within the class.
        unclear: nobody can say: its speed may be above or below the ceiling, or no speed is known.
        over: sure to leave it.
        problem: what keeps every choice from being sure: the law cannot be judged, or the class is
            broken whatever the gears; None where nothing does.
    """

    within: int
    unclear: int
    over: int
    problem: str | None = None


@dataclass(frozen=True, slots=True)
class Supply:
    """What serves one machine.

    Attributes:
        demand: the machine.
        in_band: choices on the shelf that are proved and in band.
        unproven: choices on the shelf that are in band, but of unproven fit; they serve nobody.
        law: what the class says of `in_band`; None where the law is not asked.
        kits: what would serve it once some sets are bought, cheapest first; none that holds all
            the purchases of another.
        unclear_kits: kits left out because nobody can say whether they are lawful.
        over_kits: kits left out because they are sure to leave the class.
    """

    demand: Demand
    in_band: int
    unproven: int
    law: LawCount | None
    kits: tuple[Kit, ...]
    unclear_kits: int = 0
    over_kits: int = 0

    @property
    def serving(self) -> int:
        """Choices on the shelf that serve it."""
        return self.in_band if self.law is None else self.law.within


_Gearbox = tuple[str, str | None, frozenset[Stage], tuple[str | None, ...]]


class Market:
    """The sets there are: on the shelf, and to buy.

    Attributes:
        catalogue: where they are from.
        prices: what each set for sale costs to buy, by id; without those of unknown price.
        currency: the shop's usual one, or that of most prices of sets to buy; None where there
            is no price.
    """

    def __init__(self, catalogue: Catalogue, *, lawful: bool = False) -> None:
        """Sort the sets.

        Args:
            catalogue: where they are from.
            lawful: whether only what the class is sure to allow serves a machine.
        """
        self.catalogue = catalogue
        self._lawful = lawful
        shelf = catalogue.shelf
        self._held = frozenset(id_ for id_, held in shelf.items() if held.record.quantity > 0)
        self._ids = sorted(catalogue.gear_sets)
        self._number = {id_: number for number, id_ in enumerate(self._ids)}
        self.prices = buying_prices(
            catalogue, (entry.id for entry in catalogue.gear_sets.values() if self.for_sale(entry))
        )
        self.currency = usual_currency(catalogue, (catalogue.gear_sets[id_] for id_ in self.prices))
        self._choices: dict[_Gearbox, Choices] = {}
        self._of_family: dict[str, Catalogue] = {}
        self._known: dict[tuple[_Gearbox, tuple[Pair, ...], str], Supply] = {}

    def for_sale(self, entry: Entry[GearSet]) -> bool:
        """Whether a set is to be bought: active, not given up, and not on the shelf already."""
        record = entry.record
        return (
            entry.id not in self._held
            and record.status == "active"
            and record.availability != "discontinued"
        )

    def on_shelf(self, entry: Entry[GearSet]) -> bool:
        """Whether at least one piece lies on the shelf."""
        return entry.id in self._held

    def supply(self, demand: Demand) -> Supply:
        """What serves a machine."""
        subject = demand.subject
        assert subject.tune is not None
        box = _gearbox(subject)
        choices = self._choices_of(subject)
        if self._lawful:
            return self._judge_demand(demand, choices)
        # Machines of equal gears under one tune are served alike.
        key = (box, subject.pairs, subject.tune.id)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._find_supply(demand, choices)
        return Supply(
            demand=demand, in_band=known.in_band, unproven=known.unproven, law=None, kits=known.kits
        )

    def _choices_of(self, subject: Subject) -> Choices:
        """The choices of a machine; sets are judged once for all of equal gearbox.

        Sets that are for other families need not be asked for more than that.
        """
        family = subject.family
        box = _gearbox(subject)
        known = self._choices.get(box)
        if known is None:
            if family.id not in self._of_family:
                mine = {
                    id_: entry
                    for id_, entry in self.catalogue.gear_sets.items()
                    if for_family(entry, subject.setting).verdict is not Verdict.RULED_OUT
                }
                self._of_family[family.id] = replace(self.catalogue, gear_sets=mine)
            narrowed = replace(subject, catalogue=self._of_family[family.id])
            known = self._choices[box] = Choices.of(narrowed)
        return replace(known, subject=subject)

    def _find_supply(self, demand: Demand, choices: Choices) -> Supply:
        in_band = 0
        ways: dict[Way, Row] = {}
        for row in self._rows(demand.subject, choices):
            way = self._to_buy(row)
            if way:
                ways.setdefault(way, row)
            else:
                in_band += 1
        unproven = self._unproven(demand.subject, choices)
        return Supply(
            demand=demand, in_band=in_band, unproven=unproven, law=None, kits=self._kits(ways)
        )

    def _judge_demand(self, demand: Demand, choices: Choices) -> Supply:
        from fitcheck.services.counter.list_road import RoadList  # noqa: PLC0415 - numpy, for the law

        subject = demand.subject
        unproven = self._unproven(subject, choices)
        try:
            road = RoadList(subject, Request(lawful=True))
        except UsageError as error:
            found = self._find_supply(demand, choices)
            law = LawCount(0, found.in_band, 0, _problem(error, demand))
            return Supply(
                demand=demand,
                in_band=found.in_band,
                unproven=unproven,
                law=law,
                kits=(),
                unclear_kits=len(found.kits),
            )
        shelf = {"within": 0, "unclear": 0, "all": 0}
        ways: dict[Way, Row] = {}
        unclear: set[Way] = set()
        all_ways: set[Way] = set()

        def sort_rows() -> Iterable[Row]:
            for row in self._rows(subject, choices):
                way = self._to_buy(row)
                if way:
                    all_ways.add(way)
                shelf["all"] += not way
                yield row

        broken: tuple[str, ...] = ()
        for seen in road.select(sort_rows(), None).seen:
            assert seen.lawful is not None
            broken = broken or seen.lawful.others
            within = seen.lawful.answer is LawfulAnswer.WITHIN and not seen.lawful.others
            way = self._to_buy(seen.row)
            if not way:
                shelf["within" if within else "unclear"] += 1
            elif within:
                ways.setdefault(way, seen.row)
            else:
                unclear.add(way)
        over = shelf["all"] - shelf["within"] - shelf["unclear"]
        problem = broken[0] if broken else None
        law = LawCount(shelf["within"], shelf["unclear"], over, problem)
        kits = self._kits(ways)
        perhaps = [way for way in minimal_ways([*ways, *unclear]) if way not in ways]
        never = [way for way in minimal_ways(all_ways) if way not in ways and way not in unclear]
        return Supply(
            demand=demand,
            in_band=shelf["all"],
            unproven=unproven,
            law=law,
            kits=kits,
            unclear_kits=len(perhaps),
            over_kits=len(never),
        )

    def _rows(self, subject: Subject, choices: Choices) -> Iterable[Row]:
        """Combinations of proved fit and in band, of sets on the shelf or for sale."""
        # Of equal rows the cheapest comes first: prices of one currency only.
        problem = choices.problem(
            lambda one: self.on_shelf(one.gear_set) or self.for_sale(one.gear_set), self.currency
        )
        window = reductions(subject, *window_of(subject, Request()))
        return rows(problem, window, min_grade=1)

    def _unproven(self, subject: Subject, choices: Choices) -> int:
        window = reductions(subject, *window_of(subject, Request()))
        return count(choices.problem(lambda one: self.on_shelf(one.gear_set)), window).between(0, 0)

    def _to_buy(self, row: Row) -> Way:
        return tuple(self._number[id_] for id_ in row.ids if id_ not in self._held)

    def _kits(self, ways: dict[Way, Row]) -> tuple[Kit, ...]:
        kits = []
        for way in minimal_ways(ways):
            buy = tuple(self._ids[number] for number in way)
            kits.append(Kit(ways[way].ids, buy, *self._price(buy)))
        return tuple(sorted(kits, key=self._cheapest_first))

    def _price(
        self, ids: tuple[str, ...]
    ) -> tuple[Decimal | None, str | None, tuple[PriceFrom, ...]]:
        known = [self.prices[id_] for id_ in ids if id_ in self.prices]
        if len(known) < len(ids) or len({price.currency for price in known}) > 1:
            return None, None, ()
        sources = tuple(price.source for price in known)
        return sum((price.amount for price in known), Decimal(0)), known[0].currency, sources

    def _cheapest_first(self, kit: Kit) -> tuple[bool, bool, str, Decimal, int, tuple[str, ...]]:
        price = Decimal(0) if kit.price is None else kit.price
        other = kit.currency != self.currency
        return kit.price is None, other, kit.currency or "", price, len(kit.buy), kit.buy


def _gearbox(subject: Subject) -> _Gearbox:
    """What decides the fit of sets in a machine: all of its setting but the words of lists."""
    setting = subject.setting
    seats = tuple(setting.measured_seat(joint) for joint in range(len(setting.stages) - 1))
    return setting.family.id, setting.housing, setting.unknown_make, seats


def _problem(error: UsageError, demand: Demand) -> str:
    """Why the law cannot be judged, and where to say more; without options this has not got."""
    said = for_customer(error.args[0])
    subject = demand.subject
    place = subject.family.place() if subject.entry is None else subject.entry.place()
    return f"{said}; add it at {place}"
