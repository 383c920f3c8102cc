"""The rows of one part, judged: new, changed, the same, or a question."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import Family
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.model.trade import Supplier
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.claims import Claims, Left
from fitcheck.services.price_lists.disputes import Disputes
from fitcheck.services.price_lists.entries import SupplierEntries
from fitcheck.services.price_lists.housing_claims import Listed
from fitcheck.services.price_lists.outcomes import (
    NO_VALUE,
    RowOutcome,
    fields_of,
    ignored,
    notes_on_left_out,
    notes_on_turned,
    outcome_of,
    quote_cell,
    unreadable,
)
from fitcheck.services.price_lists.questions import (
    ALWAYS_HARMLESS,
    AS_READ,
    HARMLESS,
    LEFT_OUT,
    NONE,
    Asker,
    Asks,
    clean_text,
)
from fitcheck.services.price_lists.stage_assignment import (
    Pairs,
    Usual,
    stage_pairs,
)
from fitcheck.services.price_lists.vehicle_claims import Listings
from fitcheck.services.price_lists.wording.amounts import (
    Price,
    apply_rule,
    price_rules,
    read_rule,
)
from fitcheck.services.price_lists.wording.harmless import NEVER, accessory_spans
from fitcheck.services.price_lists.wording.readings import fold, words_of
from fitcheck.services.price_lists.wording.reservations import (
    headed_by_other,
    is_other_article,
)
from fitcheck.services.price_lists.wording.stages import stages_in
from fitcheck.services.price_lists.wording.teeth import FoundPairs, read_teeth


class Judge:
    """Judges rows one part at a time.

    Args:
        catalogue: the catalogue.
        supplier: the supplier's entry.
        listings: reads what rows are listed for.
        asker: where questions go.
        claims: finds words that nothing explains.
        usual: the pairs of the list.
        source: name and date of the list, which written entries bear.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        supplier: Entry[Supplier],
        listings: Listings,
        asker: Asker,
        *,
        claims: Claims,
        usual: Usual,
        source: tuple[str, dt.date],
    ) -> None:
        self.entries = SupplierEntries(catalogue, supplier.id)
        self.disputes = Disputes(catalogue, asker, source[1])
        self._families: Mapping[str, Entry[Family]] = catalogue.families
        self._currency = supplier.record.currency
        self._listings = listings
        self._asker = asker
        self._claims = claims
        self._usual = usual
        self._list_name, self._date = source
        self._gears: dict[Hashable, Pairs] = {}
        """Pairs by all that decides them; articles live as long as their judge."""

    def part(self, part: str, articles: Sequence[Article]) -> RowOutcome:
        """What becomes of the first of the rows of one part; the others agree with it.

        Args:
            part: the part number.
            articles: its rows, which may differ in the models they name.
        """
        article = articles[0]
        entry = self.entries.find(part)
        if (stopped := self._stop_row(article, part, entry)) is not None:
            return stopped
        left = self._claims.unclaimed(article, None if entry is None else entry.record.name)
        if any(each.is_left_out or self._told(each, article) == LEFT_OUT for each in left):
            return ignored(article, part, "left-out", "left out, as answered")
        asked: list[str] = []
        found = self._teeth(article, part, entry, asked)
        if isinstance(found, RowOutcome):
            return found
        listed = self._listings.of(articles, None if entry is None else entry.record)
        asked += listed.asked
        families = self._records(listed) if found else {}
        # Without an answer or an entry, rows that say the same of their gears have the same.
        alike: Hashable = None
        if found and entry is None and not self._asker.answers:
            alike = id(article.teeth), id(article.stage), article.words, *families
        pairs = kept = self._gears.get(alike)
        held = {} if entry is None else entry.record.pairs
        if found and kept is None:
            asker, of = self._asker, [*families.values()]
            staged = stage_pairs(article, part, found=found, held=held, families=of, asker=asker)
            pairs = staged if isinstance(staged, dict) else None
            asked += [staged] if isinstance(staged, str) else []
        price = self._price(article, part, asked)
        if pairs and kept is None:
            count = len(asked)
            left_out = self._far_teeth(
                article, part, pairs, held=held, families=families, asked=asked
            )
            if left_out is not None:
                return left_out
            if alike is not None and len(asked) == count:
                self._gears[alike] = pairs
        if found or entry is not None:
            asked += self._ask_unexplained(article, left, asked, listed.families)
        if not asked and price and (entry is None or entry.record.price != price.amount):
            price = self._odd_price(article, part, price, asked)
        if asked:
            fields = fields_of(article, part, pairs, listed, price, currency=self._currency)
            outcome = self._send_to_review(article, part, entry, asked, listed.notes)
            return replace(outcome, families=tuple(listed.families), readings=fields)
        return self._take(article, part, entry, pairs=pairs, listed=listed, price=price)

    def unclaimed(self, article: Article, part: str) -> list[Left]:
        """The words of a row that nothing explains.

        Args:
            article: the row.
            part: the part number.
        """
        entry = self.entries.find(part)
        name = None if entry is None else entry.record.name
        return self._claims.unclaimed(article, name)

    def _take(
        self,
        article: Article,
        part: str,
        entry: Entry[GearSet] | None,
        *,
        pairs: Pairs | None,
        listed: Listed,
        price: Price | None,
    ) -> RowOutcome:
        """The outcome of a row of which nothing is asked, unless its entry has it otherwise."""
        notes = [
            *listed.notes,
            *notes_on_left_out(article, price),
            *notes_on_turned(article.teeth.text, pairs),
        ]
        fields = fields_of(article, part, pairs, listed, price, currency=self._currency)
        source = self._source(article)
        if entry is None:
            return outcome_of(
                article,
                "new",
                part_number=part,
                set_id=self.entries.new_id(part),
                families=tuple(listed.families),
                fields={**fields, **source},
                notes=tuple(notes),
            )
        does = self.disputes.hold(article, part, entry, fields, listed.families)
        notes += does.notes
        if does.asked:
            outcome = self._send_to_review(article, part, entry, does.asked, notes)
            return replace(outcome, families=tuple(listed.families), readings=fields)
        return outcome_of(
            article,
            "changed" if does.changes else "unchanged",
            part_number=part,
            set_id=entry.id,
            fields=does.write if does.is_mixed or not does.changes else {**does.write, **source},
            changes=tuple(does.changes),
            notes=tuple(notes),
        )

    def _told(self, left: Left, article: Article) -> str | None:
        """What was answered about words that nothing explains."""
        return self._asker.answer(*self._question_about(left), article.address)

    def _question_about(self, left: Left) -> tuple[Asks, str]:
        """The kind of question that words raise, and what it is about.

        Words whose meaning is known and that explain nothing all the same stand against their row.
        """
        if left.is_taught and self._claims.means(left.said) is None:
            return "word", left.said
        return "row", repr(left.text)

    def _ask_unexplained(
        self, article: Article, left: Iterable[Left], asked: Sequence[str], families: Iterable[str]
    ) -> list[str]:
        """Keys of the questions about words that nothing explains, each once for all rows."""
        # What a question is about already, or was: the whole of their text.
        about = (*asked, *self._asker.answered.get(article.address, ()))
        records = [self._families[each].record for each in families if each in self._families]
        housings = dict.fromkeys(housing for record in records for housing in record.housings)
        keys = []
        for each in left:
            quoted = repr(clean_text(each.text))[1:-1]
            if self._told(each, article) is not None or any(quoted in key for key in about):
                continue
            where = "" if each.said == each.text else f" in {clean_text(each.text)!r}"
            text = f"What does {each.said!r} mean{where}?"
            choices = [HARMLESS, ALWAYS_HARMLESS, LEFT_OUT, *housings]
            if machines := self._listings.may_mean(each.said):
                text += f" Perhaps {or_list(f'{near.name} ({near.family})' for near in machines)}."
                choices = [*(near.family for near in machines), *choices]
            asks, about_it = self._question_about(each)
            if asks == "row":
                text = (
                    f"The list says {clean_text(each.text)!r}. Are such rows whole sets, as read?"
                )
                choices = [AS_READ, LEFT_OUT]
            sheet = article.layout.sheet
            at = sheet.address(article.row, each.column) if each.column else article.address
            keys.append(self._asker.ask(asks, about_it, text, at, choices))
        return keys

    def _source(self, article: Article) -> dict[str, Any]:
        """Where an entry comes from, as a field of the record."""
        name = clean_text(article.layout.sheet.name)
        sheet = {"sheet": name} if name else {}
        place = {"list": self._list_name, **sheet, "row": article.row, "date": self._date}
        return {"source": place}

    def _stop_row(
        self, article: Article, part: str, entry: Entry[GearSet] | None
    ) -> RowOutcome | None:
        """A row that cannot be judged: its entry is no single one, or a cell makes no sense."""
        number = article.number.cell
        if entry is not None and (several := self.entries.several(part)):
            reason = f"{' and '.join(several)} both have this number; fitcheck check says where"
            return unreadable(article, part, number, reason)
        if entry is None and (where := self.entries.refused_at(part)) is not None:
            reason = f"its entry at {where} was refused; fitcheck check says why"
            return unreadable(article, part, number, reason)
        if article.no_value:
            other = article.teeth.status == "empty" and _is_other(article)
            if entry is not None or not other:
                return unreadable(article, part, article.no_value, NO_VALUE)
        if article.teeth.status == "unreadable" and headed_by_other(article.name):
            why = "no gear set: no tooth counts, and words for another article"
            return ignored(article, part, "other-article", why)
        return None

    def _send_to_review(
        self,
        article: Article,
        part: str,
        entry: Entry[GearSet] | None,
        asked: Sequence[str],
        notes: Sequence[str],
    ) -> RowOutcome:
        unique = tuple(dict.fromkeys(asked))
        return outcome_of(
            article,
            "review",
            part_number=part,
            set_id="" if entry is None else entry.id,
            questions=unique,
            reason=self._asker.questions[unique[0]].text,
            notes=tuple(notes),
        )

    def _teeth(
        self, article: Article, part: str, entry: Entry[GearSet] | None, asked: list[str]
    ) -> FoundPairs | RowOutcome | None:
        """The pairs of a row; None where the list has none or they are asked for."""
        reading = article.teeth
        choices = [", ".join(map(str, each)) for each in reading.candidates]
        text = " ".join(reading.text.split())
        if reading.status in ("review", "unreadable"):
            about = f"{part}, {text!r}"
            question = f"Which teeth has {part}? {quote_cell(text)}: {_sentence(reading.reason)}"
            if reading.status == "unreadable":
                question = f"Which teeth has {part}? The list says {quote_cell(text)}."
        elif (
            reading.certain and article.named_teeth and _differ(reading.value, article.named_teeth)
        ):
            named = ", ".join(str(each.pair) for each in article.named_teeth)
            about = f"{part}, {text!r} and {named!r}"
            question = f"Which teeth has {part}? The column says {text}, the text {named}."
            choices = [", ".join(str(e.pair) for e in reading.value or ()), named]
        elif (
            reading.certain
            and (entry is None or not _same(reading.value, entry.record.pairs.values()))
            and (said := headed_by_other(article.name))
        ):
            about = f"{part}, {text!r} and {said!r}"
            question = f"Is {part} a whole set of {quote_cell(text)}? Its text says {said!r}."
            choices = [", ".join(str(e.pair) for e in reading.value or ())]
        elif reading.certain:
            return reading.value
        elif entry is not None:
            return None
        else:
            if _is_other(article):
                return ignored(
                    article, part, "other-article", "no gear set: no teeth, and words for others"
                )
            about = part
            question = f"Which teeth has {part}? The list names none."
        given = self._asker.answer("teeth", about, article.address)
        if given == NONE:
            return ignored(article, part, "left-out", "left out, as answered")
        answered = None if given is None else read_teeth(given, teeth_column=True)
        if answered is not None and answered.certain:
            return answered.value
        where = article.where(reading.cell) or article.number.cell
        asked.append(self._asker.ask("teeth", about, question, where, [*choices, NONE]))
        return None

    def _far_teeth(
        self,
        article: Article,
        part: str,
        pairs: Pairs,
        *,
        held: Mapping[Stage, Pair],
        families: Mapping[str, Family],
        asked: list[str],
    ) -> RowOutcome | None:
        """Ask about each new pair that no train of the families could hold.

        Answered teeth take the pair's place in `pairs`; the outcome of a row that was left out.
        """
        for stage, pair in pairs.items():
            if held.get(stage) == pair:
                continue
            factory = self._usual.far_from(families, stage, pair)
            if factory is None:
                continue
            about = f"{part}, {stage} {pair}"
            given = self._asker.answer("teeth", about, article.address)
            if given == NONE:
                return ignored(article, part, "left-out", "left out, as answered")
            answered = None if given is None else read_teeth(given, teeth_column=True).value
            if answered and len(answered) == 1:
                pairs[stage] = answered[0].pair
                continue
            teeth, usual = (each.driver + each.driven for each in (pair, factory))
            text = (
                f"Has {part} really {stage} {pair}? It has {teeth} teeth in all and a ratio of "
                f"{pair.driven / pair.driver:.2f}, the nearest factory pair {factory} {usual} and "
                f"{factory.driven / factory.driver:.2f}."
            )
            where = article.where(article.teeth.cell) or article.number.cell
            asked.append(self._asker.ask("teeth", about, text, where, [str(pair), NONE]))
        return None

    def _price(self, article: Article, part: str, asked: list[str]) -> Price | None:
        reading = article.price
        if reading.status not in ("review", "unreadable"):
            return reading.value
        text = " ".join(reading.text.split())
        # What is said of the amount holds whatever the amount is.
        ruled = reading.candidates[0] if reading.basis and reading.candidates else None
        about = f"{part}, {text!r}" if ruled is None else repr(clean_text(reading.basis))
        given = self._asker.answer("price", about, article.address)
        if given == NONE:
            return None
        if given is not None and ruled is not None and (rule := read_rule(given)):
            return apply_rule(rule, ruled)
        if given is not None and ruled is None and (amount := _amount(given)) is not None:
            return Price(amount)
        choices = [str(each.amount) for each in reading.candidates]
        question = f"What does {part} cost? {quote_cell(text)}: {_sentence(reading.reason)}"
        if ruled is not None:
            choices = price_rules(reading.basis, self._currency)
            question = f"What is the price of one set, where the list says {about}? {part}: {text}."
        where = article.where(reading.cell)
        asked.append(self._asker.ask("price", about, question, where, [*choices, NONE]))
        return None

    def _odd_price(
        self, article: Article, part: str, price: Price, asked: list[str]
    ) -> Price | None:
        """The price, or the one answered; asked where other amounts speak against it."""
        if not article.odd_price:
            return price
        about = f"{part}, {price.amount}"
        given = self._asker.answer("price", about, article.address)
        if given == NONE:
            return None
        if given is not None and (amount := _amount(given)) is not None:
            return Price(amount, price.currency)
        text = f"Does {part} really cost {price.amount}? {article.odd_price}"
        cell = article.where(article.price.cell)
        asked.append(self._asker.ask("price", about, text, cell, [str(price.amount), NONE]))
        return price

    def _records(self, listed: Listed) -> dict[str, Family]:
        """The families of a row, by id."""
        known = (each for each in listed.families if each in self._families)
        return {each: self._families[each].record for each in known}


def _same(found: FoundPairs | None, held: Iterable[Pair]) -> bool:
    return sorted(each.pair for each in found or ()) == sorted(held)


def _is_other(article: Article) -> bool:
    """Whether a row without teeth is certainly none of ours.

    Where nothing else says what it is, a remark or a cell that is not read may: `belt 18x740`, but
    not `gasket included`.
    """
    text = f"{article.name} {'' if article.models_column else article.models}"
    if article.stage.status == "empty" and is_other_article(text):
        return True
    if article.name or article.housing or article.stage_cell or stages_in(article.text):
        return False
    values = article.layout.sheet.values[article.row - 1]
    beside = (values[each - 1] for each, _ in article.layout.others if each <= len(values))
    return any(
        headed_by_other(each)
        and not accessory_spans(folded := fold(each), is_name=False)
        and NEVER.isdisjoint(words_of(folded).split())
        for each in (article.remark, *beside)
        if isinstance(each, str)
    )


def _sentence(reason: str) -> str:
    """A reason as the end of a sentence, or a question by itself."""
    return reason if reason.endswith("?") else f"{reason}."


def _differ(one: FoundPairs | None, other: FoundPairs) -> bool:
    return {each.pair for each in one or ()} != {each.pair for each in other}


def _amount(text: str) -> Decimal | None:
    """An amount of money; None for a text that is none."""
    try:
        found = Decimal(text)
    except InvalidOperation:
        return None
    return found if found.is_finite() and found >= 0 else None
