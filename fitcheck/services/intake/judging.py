"""A row, or the rows of one part, against the catalogue: new, changed, the same, or a question."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.family import Family
from fitcheck.model.fields import STAGES, Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.model.trade import Supplier
from fitcheck.services.intake.articles import Article
from fitcheck.services.intake.asking import NONE, Asker
from fitcheck.services.intake.cleaning import clean_text
from fitcheck.services.intake.comparing import compared
from fitcheck.services.intake.entries import SupplierEntries
from fitcheck.services.intake.listing import Listed, Listings
from fitcheck.services.intake.other_articles import is_other_article
from fitcheck.services.intake.outcomes import RowOutcome
from fitcheck.services.intake.staging import Pairs, stage_pairs
from fitcheck.services.intake.wording import FoundPairs, Price, read_teeth

__all__ = ["Judge"]


_GEOMETRY = "its geometry is on file for those"


class Judge:
    """Judges rows one part at a time.

    Args:
        catalogue: the catalogue.
        supplier: the supplier's entry.
        listings: reads what rows are listed for.
        asker: where questions go.
        source: list and date that written entries bear.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        supplier: Entry[Supplier],
        listings: Listings,
        asker: Asker,
        source: tuple[str, dt.date],
    ) -> None:
        self.entries = SupplierEntries(catalogue, supplier.id)
        self._families: Mapping[str, Entry[Family]] = catalogue.families
        self._currency = supplier.record.currency
        self._supplier = supplier.id
        self._listings = listings
        self._asker = asker
        self._list_name, self._date = source
        self.newer: dict[str, dt.date] = {}
        """Entries that come from a later list than this one, each with its date."""

    # -- the number ------------------------------------------------------------------------------

    def numbered(self, article: Article) -> str | RowOutcome:
        """The part number of a row, or what becomes of the row for want of one."""
        number = article.number
        text = clean_text(number.text)
        if not any(map(str.isalnum, text)):
            return _unreadable(article, "", number.cell, "no part number")
        choices: tuple[str, ...] = ()
        doubt = number.doubt
        known = self.entries.find(text) is not None
        if not doubt and not known:
            choices = self.entries.eaten(text) if number.counted else ()
            choices += self.entries.shortened(text, counted=number.counted)
            if choices:
                doubt = "a spreadsheet may have taken it for a number"
        spelled = () if known else self.entries.spelled(text)
        if not doubt and spelled:
            choices = spelled
            doubt = f"{or_list([repr(each) for each in spelled])} differs from it in spaces only"
        if not doubt:
            return text
        given = self._asker.answer("part-number", text, article.address)
        if given == NONE:
            return _ignored(article, text, "left-out", "left out, as answered")
        if given is not None:
            return given
        key = self._asker.ask(
            "part-number",
            text,
            f"Is {text!r} the part number as the supplier writes it? {doubt}.",
            number.cell,
            dict.fromkeys([*choices, text, NONE]),
        )
        return _row(article, "review", part_number=text, questions=(key,), reason=doubt)

    # -- the rows of one part --------------------------------------------------------------------

    def part(self, part: str, articles: Sequence[Article]) -> RowOutcome:
        """What becomes of the first of the rows of one part; the others agree with it.

        Args:
            part: the part number.
            articles: its rows, which may differ in the models they name.
        """
        article = articles[0]
        entry = self.entries.find(part)
        if entry is None and self.entries.wanted_id(part) in self.entries.refused:
            where = self.entries.refused[self.entries.wanted_id(part)]
            reason = f"its entry at {where} was refused; fitcheck check says why"
            return _unreadable(article, part, article.number.cell, reason)
        for reading in (article.teeth, article.price):
            if reading.status == "unreadable":
                reason = f"{_shown(reading.text)}: {reading.reason}"
                return _unreadable(article, part, reading.cell, reason)
        asked: list[str] = []
        found = self._teeth(article, part, entry, asked)
        if isinstance(found, RowOutcome):
            return found
        known = () if entry is None else entry.record.listed_for.models
        listed = self._listings.of(articles, known)
        asked += listed.asked
        pairs: Pairs | None = None
        if found:
            staged = stage_pairs(
                article,
                part,
                found=found,
                held=None if entry is None else entry.record.pairs,
                possible=self._stages(listed),
                asker=self._asker,
            )
            pairs = staged.pairs
            asked += [staged.asked] if staged.asked else []
        price = self._price(article, part, asked)
        if asked:
            unique = tuple(dict.fromkeys(asked))
            texts = [self._asker.questions[key].text for key in unique]
            set_id = "" if entry is None else entry.id
            return _row(
                article,
                "review",
                part_number=part,
                set_id=set_id,
                questions=unique,
                reason=texts[0],
                notes=tuple(listed.notes),
            )
        notes = [*listed.notes, *self._other_notes(article, price), *_turned(article, pairs)]
        fields = self._fields(article, part, pairs, listed, price)
        if entry is None:
            set_id = self.entries.new_id(part)
            fields["source"] = self._source(article)
            return _row(
                article,
                "new",
                part_number=part,
                set_id=set_id,
                families=tuple(listed.families),
                fields=fields,
                notes=tuple(notes),
            )
        return self._against(article, part, entry, fields, notes)

    def _against(
        self,
        article: Article,
        part: str,
        entry: Entry[GearSet],
        fields: dict[str, Any],
        notes: list[str],
    ) -> RowOutcome:
        """A row of a part that the catalogue has."""
        record = entry.record
        if record.status == "retired":
            notes.append("retired here, still in the list")
        changes, write = compared(record, fields)
        counted = [change for change in changes if change.loud]
        answered = False
        if counted and (reason := _kept_by_hand(record, fields["pairs"])):
            change = counted[0]
            about = f"{part}, {change.old} -> {change.new}"
            text = (
                f"{part}: the list says {change.new}, the catalogue {change.old}, and {reason}. "
                "Which is right?"
            )
            given = self._asker.answer("counted", about, article.address)
            if given is None:
                choices = ["list", "catalogue"]
                key = self._asker.ask("counted", about, text, article.teeth.cell, choices)
                return self._reviewed(article, part, entry, key)
            answered = True
            if given == "list" and reason == _GEOMETRY:
                # The geometry is that of the old teeth: beside the new ones it would be wrong.
                text = (
                    f"{part}: the list says {change.new}, the catalogue {change.old}, and "
                    f"{reason}; take the geometry of the old teeth out of the entry first, "
                    "or say catalogue."
                )
                key = self._asker.ask("counted", about, text, article.teeth.cell, ["catalogue"])
                return self._reviewed(article, part, entry, key)
            if given == "catalogue":
                changes = [each for each in changes if not each.loud]
                write.pop("pairs", None)
                notes.append(f"the list says {change.new}; left as it is, as answered")
        if record.source.date is not None and record.source.date > self._date:
            self.newer[entry.id] = record.source.date
            if changes and not answered:
                told = "; ".join(map(str, changes))
                about = f"{part}, list of {self._date}, entry of {record.source.date}: {told}"
                given = self._asker.answer("counted", about, article.address)
                if given is None:
                    text = (
                        f"{part}: the list of {self._date} is older than the entry, which is of "
                        f"{record.source.date}; it would change {told}. Which is right?"
                    )
                    choices = ["catalogue", "list"]
                    key = self._asker.ask("counted", about, text, article.address, choices)
                    return self._reviewed(article, part, entry, key)
                if given == "catalogue":
                    changes, write = [], {}
                    notes.append("the older list says otherwise; left as it is, as answered")
        if jump := _jump(record, write):
            notes.append(jump)
        if not changes:
            return _row(article, "unchanged", part_number=part, set_id=entry.id, notes=tuple(notes))
        write["source"] = self._source(article)
        return _row(
            article,
            "changed",
            part_number=part,
            set_id=entry.id,
            fields=write,
            changes=tuple(changes),
            notes=tuple(notes),
        )

    def _reviewed(self, article: Article, part: str, entry: Entry[GearSet], key: str) -> RowOutcome:
        return _row(
            article,
            "review",
            part_number=part,
            set_id=entry.id,
            questions=(key,),
            reason=self._asker.questions[key].text,
        )

    # -- teeth, price and the rest ---------------------------------------------------------------

    def _teeth(
        self, article: Article, part: str, entry: Entry[GearSet] | None, asked: list[str]
    ) -> FoundPairs | RowOutcome | None:
        """The pairs of a row; None where the list has none or they are asked for."""
        reading = article.teeth
        text = " ".join(reading.text.split())
        question, choices = "", [", ".join(map(str, each)) for each in reading.candidates]
        if reading.status == "review":
            about = f"{part}, {text!r}"
            question = f"Which teeth has {part}? {_shown(text)}: {reading.reason}."
        elif (
            reading.certain and article.named_teeth and _differ(reading.value, article.named_teeth)
        ):
            named = ", ".join(str(each.pair) for each in article.named_teeth)
            about = f"{part}, {text!r} and {named!r}"
            question = f"Which teeth has {part}? The column says {text}, the text {named}."
            choices = [", ".join(str(e.pair) for e in reading.value or ()), named]
        elif reading.certain:
            return reading.value
        elif entry is not None:
            return None
        else:
            if is_other_article(article):
                return _ignored(
                    article, part, "other-article", "no gear set: no teeth, and words for others"
                )
            about = part
            question = f"Which teeth has {part}? The list names none."
        given = self._asker.answer("teeth", about, article.address)
        if given is None:
            where = reading.cell or article.number.cell
            asked.append(self._asker.ask("teeth", about, question, where, [*choices, NONE]))
            return None
        if given == NONE:
            return _ignored(article, part, "left-out", "left out, as answered")
        return read_teeth(given, teeth_column=True).value

    def _price(self, article: Article, part: str, asked: list[str]) -> Price | None:
        reading = article.price
        if reading.status != "review":
            return reading.value
        text = " ".join(reading.text.split())
        about = f"{part}, {text!r}"
        given = self._asker.answer("price", about, article.address)
        if given is not None:
            try:
                return None if given == NONE else Price(Decimal(given))
            except InvalidOperation:
                return None
        choices = [str(each.amount) for each in reading.candidates]
        question = f"What does {part} cost? {_shown(text)}: {reading.reason}."
        asked.append(self._asker.ask("price", about, question, reading.cell, [*choices, NONE]))
        return None

    def _stages(self, listed: Listed) -> list[Stage]:
        """Stages that the families of a row have."""
        has = {
            stage
            for family in listed.families
            if family in self._families
            for stage in self._families[family].record.stages
        }
        return [stage for stage in STAGES if stage in has]

    def _other_notes(self, article: Article, price: Price | None) -> list[str]:
        notes = []
        stock = article.availability
        if stock.status in ("review", "unreadable"):
            notes.append(f"availability {_shown(stock.text)} left out: {stock.reason}")
        if price is None and article.price.status == "empty" and article.price.reason:
            notes.append(article.price.reason)
        return notes

    def _fields(
        self,
        article: Article,
        part: str,
        pairs: Pairs | None,
        listed: Listed,
        price: Price | None,
    ) -> dict[str, Any]:
        """What the row says, as fields of a record; only what it says."""
        fields: dict[str, Any] = {"part_number": part}
        if name := clean_text(article.name):
            fields["name"] = name
        if pairs:
            fields["pairs"] = pairs
        if listed.fits:
            fields["fits"] = listed.fits
        listing: dict[str, Any] = {}
        models = [model for each in listed.models if (model := clean_text(each))]
        if models:
            listing["models"] = list(dict.fromkeys(models))
        if listed.wheel is not None:
            listing["wheel_size_in"] = listed.wheel
        if listing:
            fields["listed_for"] = listing
        if price is not None:
            fields["price"] = _with_cents(price.amount)
            fields["currency"] = price.currency or self._currency
        if article.availability.certain:
            fields["availability"] = article.availability.value
        return fields

    def _source(self, article: Article) -> dict[str, Any]:
        return {"list": self._list_name, "row": article.row, "date": self._date}


def _jump(record: GearSet, write: Mapping[str, Any]) -> str:
    """What a price does that changes by half or more, which is rarely meant."""
    new: Decimal | None = write.get("price")
    if new is None or not record.price or "currency" in write:
        return ""
    percent = (new / record.price - 1) * 100
    if -33 < percent < 50:
        return ""
    return f"!! the price {'rises' if percent > 0 else 'falls'} by {abs(percent):.0f} %"


def _with_cents(amount: Decimal) -> Decimal:
    """An amount with two decimals at least, as prices are written; its value stays."""
    places = -int(amount.as_tuple().exponent)
    return amount if places >= 2 else amount.quantize(Decimal("0.01"))


def _kept_by_hand(record: GearSet, pairs: Pairs) -> str:
    """Why the teeth of an entry may not be changed by a list alone, or empty."""
    if "pairs" in record.measured:
        return "the shop counted those itself"
    if set(pairs) != set(record.pairs):
        return "the stages are others"
    if set(record.geometry) & {s for s in pairs if pairs[s] != record.pairs[s]}:
        return _GEOMETRY
    return ""


def _turned(article: Article, pairs: Pairs | None) -> list[str]:
    """Pairs that the list writes with the larger count first, each as it is read."""
    found = []
    for pair in (pairs or {}).values():
        written = re.search(
            rf"(?<![0-9]){pair.driven}\s*[/:xX*\-]\s*{pair.driver}(?![0-9])", article.teeth.text
        )
        if written:
            found.append(f"{written.group()!r} is read as {pair}, the smaller as driver")
    return found


def _differ(one: FoundPairs | None, other: FoundPairs) -> bool:
    return {each.pair for each in one or ()} != {each.pair for each in other}


def _shown(text: str) -> str:
    shown = " ".join(text.split())
    return repr(shown if len(shown) <= 60 else f"{shown[:57]}...")


def _row(article: Article, outcome: Any, **rest: Any) -> RowOutcome:
    return RowOutcome(article.layout.sheet.name, article.row, article.address, outcome, **rest)


def _unreadable(article: Article, part: str, cell: str, reason: str) -> RowOutcome:
    where = cell or article.address
    return _row(article, "unreadable", part_number=part, cell=where, reason=reason)


def _ignored(article: Article, part: str, kind: str, reason: str) -> RowOutcome:
    return _row(article, "ignored", part_number=part, kind=kind, reason=reason)
