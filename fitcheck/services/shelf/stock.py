"""What lies on the shelf, filtered, and what it is worth; and what was moved, by the ledger."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from difflib import get_close_matches

from fitcheck.catalogue.ledger.line import LedgerLine
from fitcheck.catalogue.ledger.pair import missing_from, read_pair
from fitcheck.catalogue.ledger.reading import Fault, Ledger, read_ledger
from fitcheck.catalogue.ledger.state import Difference, Held, differences, held_of
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Span
from fitcheck.errors import UnreadableError, UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import in_least_units
from fitcheck.model.trade import ShelfEntry
from fitcheck.rules.setting import ListWords
from fitcheck.services.shelf.parts import Part, find_part
from fitcheck.services.shelf.state import shelf_files

_EXACT = Context(prec=60)
"""Room for the most pieces at the longest amount that a ledger takes, and for sums of them."""


@dataclass(frozen=True, slots=True)
class Item:
    """One entry of the shelf.

    Attributes:
        part: the part.
        held: what the shelf file says of it.
        families: ids of the families it is confirmed or listed for.
        place: where its entry stands in the file.
    """

    part: Part
    held: Held
    families: tuple[str, ...]
    place: Span

    @property
    def at_cost(self) -> Decimal | None:
        """What its pieces cost at the last cost; None where that is not known."""
        return _times(self.held.quantity, self.held.cost)

    @property
    def at_price(self) -> Decimal | None:
        """What its pieces sell for at the shop's own price; None where there is none."""
        price, currency = self.held.price, self.part.currency
        if price is not None and currency is not None:
            price = in_least_units(price, currency)
        return _times(self.held.quantity, price)


@dataclass(frozen=True, slots=True)
class Total:
    """What entries of one currency add up to.

    Attributes:
        currency: ISO 4217 code; None for parts the catalogue does not know.
        entries: how many.
        pieces: how many.
        at_cost: sum over those with a cost.
        pieces_without_cost: pieces that sum leaves out.
        at_price: sum over those with a price.
        pieces_without_price: pieces that sum leaves out.
    """

    currency: str | None
    entries: int
    pieces: int
    at_cost: Decimal
    pieces_without_cost: int
    at_price: Decimal
    pieces_without_price: int


@dataclass(frozen=True, slots=True)
class StockFilter:
    """What to list; everything by default.

    Attributes:
        supplier: id of a supplier.
        family: id of a family.
        place: words of a place or their beginnings, whatever their capitals and spaces.
        low: only entries of at most so many pieces.
    """

    supplier: str | None = None
    family: str | None = None
    place: str | None = None
    low: int | None = None


@dataclass(frozen=True, slots=True)
class Stock:
    """The answer of `shelf list`.

    Attributes:
        items: entries that pass the filter, in the order of the shelf file.
        totals: what they add up to, by currency.
        all_entries: entries of the shelf before the filter.
        asked: the filter.
        differences: where a ledger says otherwise than its file, whatever the filter.
        faults: what is wrong with a ledger, and its path as shown.
        lost: what is missing of a ledger, a sentence each.
        other_places: where nothing lies at the place asked for, places there are, those like it
            where some are.
    """

    items: tuple[Item, ...]
    totals: tuple[Total, ...]
    all_entries: int
    asked: StockFilter
    differences: tuple[Difference, ...] = ()
    faults: tuple[tuple[str, Fault], ...] = ()
    lost: tuple[str, ...] = ()
    other_places: tuple[str, ...] = ()


def stock(catalogue: Catalogue, asked: StockFilter | None = None) -> Stock:
    """What the shelf holds now, read again from the shelf files, and whether the ledgers agree.

    Raises:
        UnreadableError: a file cannot be read, or gives not one entry for its errors.
    """
    asked = asked or StockFilter()
    words = ListWords.of(catalogue)
    items: list[Item] = []
    differing: list[Difference] = []
    faults: list[tuple[str, Fault]] = []
    lost: list[str] = []
    for file in shelf_files(catalogue):
        if not file.path.exists():
            continue
        pair = read_pair(file.path)
        errors = [finding for finding in pair.findings if finding.severity == "error"]
        if errors and not pair.entries:
            raise UnreadableError(f"{errors[0].span}: {errors[0].message}; fix the shelf file")
        said = {}
        for entry in pair.entries:
            if not isinstance(entry.record, ShelfEntry):
                continue
            gear_set = catalogue.gear_sets.get(entry.id)
            held = said[entry.id] = held_of(entry.record)
            items.append(
                Item(Part(entry.id, gear_set), held, _families(gear_set, words), entry.span())
            )
        faults.extend((pair.ledger.shown, fault) for fault in pair.ledger.faults)
        missing = None
        if pair.entries and not pair.ledger.broken:
            missing = missing_from(pair.entries[0].source, pair.ledger, file.path)
        if missing is not None:
            lost.append(f"{pair.ledger.shown}: the ledger {missing}")
        if pair.ledger.lines and pair.settled and not pair.ledger.broken:
            differing.extend(differences(pair.ledger.state, said))
    listed = tuple(item for item in items if _passes(item, asked))
    return Stock(
        items=listed,
        totals=totals(listed),
        all_entries=len(items),
        asked=asked,
        differences=tuple(differing),
        faults=tuple(faults),
        lost=tuple(lost),
        other_places=() if listed else _other_places(items, asked.place),
    )


def totals(items: Iterable[Item]) -> tuple[Total, ...]:
    """What entries add up to, by currency, in the order in which currencies come."""
    by_currency: dict[str | None, list[Item]] = {}
    for item in items:
        by_currency.setdefault(item.part.currency, []).append(item)
    return tuple(_total(currency, group) for currency, group in by_currency.items())


def _total(currency: str | None, items: Sequence[Item]) -> Total:
    return Total(
        currency=currency,
        entries=len(items),
        pieces=sum(item.held.quantity for item in items),
        at_cost=_sum(item.at_cost for item in items),
        pieces_without_cost=sum(item.held.quantity for item in items if item.at_cost is None),
        at_price=_sum(item.at_price for item in items),
        pieces_without_price=sum(item.held.quantity for item in items if item.at_price is None),
    )


def _sum(amounts: Iterable[Decimal | None]) -> Decimal:
    total = Decimal(0)
    for amount in amounts:
        total = total if amount is None else _EXACT.add(total, amount)
    return total


def _times(quantity: int, amount: Decimal | None) -> Decimal | None:
    return None if amount is None else _EXACT.multiply(quantity, amount)


def _families(gear_set: Entry[GearSet] | None, words: ListWords) -> tuple[str, ...]:
    if gear_set is None:
        return ()
    record = gear_set.record
    return tuple(dict.fromkeys([*(claim.family for claim in record.fits), *words.listed(record)]))


def _passes(item: Item, asked: StockFilter) -> bool:
    gear_set = item.part.gear_set
    if asked.supplier is not None and (
        gear_set is None or gear_set.record.supplier != asked.supplier
    ):
        return False
    if asked.family is not None and asked.family not in item.families:
        return False
    if asked.place is not None and not _lies_at(item.held.place or "", asked.place):
        return False
    return asked.low is None or item.held.quantity <= asked.low


def _lies_at(place: str, asked: str) -> bool:
    """Whether a place begins so, at its first word or a later one, or has each word asked for."""
    words, wanted = place.casefold().split(), asked.casefold().split()
    together = "".join(wanted)
    if any("".join(words[at:]).startswith(together) for at in range(max(1, len(words)))):
        return True
    return all(any(word.startswith(each) for word in words) for each in wanted)


def _other_places(items: Iterable[Item], asked: str | None) -> tuple[str, ...]:
    places = dict.fromkeys(item.held.place for item in items if item.held.place)
    if asked is None or any(_lies_at(place, asked) for place in places):
        return ()
    folded: dict[str, str] = {}
    for place in places:
        folded.setdefault(" ".join(place.casefold().split()), place)
    like = get_close_matches(" ".join(asked.casefold().split()), folded, n=3, cutoff=0.7)
    return tuple(folded[each] for each in like) or tuple(places)


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One line of a ledger.

    Attributes:
        part: the part.
        line: what the ledger says.
        place: where it stands.
    """

    part: Part
    line: LedgerLine
    place: Span


@dataclass(frozen=True, slots=True)
class History:
    """The answer of `shelf history`.

    Attributes:
        part: the part asked for, or None for all.
        lines: the lines asked for, oldest first.
        all_lines: how many lines of that part there are, or of all.
        ledgers: the ledgers there are.
    """

    part: Part | None
    lines: tuple[HistoryLine, ...]
    all_lines: int
    ledgers: tuple[Ledger, ...]


def history(catalogue: Catalogue, part: str | None = None, last: int | None = None) -> History:
    """The moves of a part, or all of them, oldest first.

    Args:
        catalogue: the catalogue whose shelf it is.
        part: id, part number or alias, also one that only the ledger still knows; None: all.
        last: only so many of the latest lines; None: all.

    Raises:
        UnreadableError: a ledger cannot be read.
        UsageError: there is no such part.
    """
    ledgers = [ledger for f in shelf_files(catalogue) if (ledger := read_ledger(f.ledger)).data]
    asked = None if part is None else _find_moved_part(catalogue, part, ledgers)
    found = []
    for at, ledger in enumerate(ledgers):
        latest = ""
        for number, line in ledger.lines:
            # A clock set back: within a ledger the lines stay in its order all the same.
            latest = max(latest, line.time)
            if asked is None or line.part == asked.id:
                found.append((latest, at, number, line))
    found.sort(key=lambda each: each[:3])
    kept = found if last is None else found[len(found) - min(last, len(found)) :]
    lines = tuple(
        HistoryLine(
            Part(line.part, catalogue.gear_sets.get(line.part)), line, ledgers[at].span(number)
        )
        for _, at, number, line in kept
    )
    return History(asked, lines, len(found), tuple(ledgers))


def _find_moved_part(catalogue: Catalogue, name: str, ledgers: list[Ledger]) -> Part:
    try:
        return find_part(catalogue, name)
    except UsageError:
        if any(line.part == name for ledger in ledgers for _, line in ledger.lines):
            return Part(name, None)
        raise
