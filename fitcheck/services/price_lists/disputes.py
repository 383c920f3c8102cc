"""A part that the catalogue has: what a list changes of it, and what it may not unasked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.model.gear_set import FitClaim, GearSet
from fitcheck.rules.setting import plain_word
from fitcheck.services.counter.succession import retired_note, superseded_note
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.entries import number_key
from fitcheck.services.price_lists.outcomes import Change
from fitcheck.services.price_lists.questions import Asker
from fitcheck.services.price_lists.stage_assignment import Pairs
from fitcheck.services.price_lists.wording.readings import words_of
from fitcheck.services.upkeep.warnings import pair_words


def _claims_text(fits: Iterable[Mapping[str, Any]]) -> str:
    """Claims in words, such as `dunlin-50 short, mid; whimbrel-125`."""
    return "; ".join(
        " ".join([each["family"], ", ".join(each.get("housings", ()))]).strip() for each in fits
    )


_GEOMETRY = "its geometry is on file for those"


@dataclass(slots=True)
class Held:
    """What a row does to the entry of its part.

    Attributes:
        changes: each field that the list has otherwise, and is to be changed.
        write: what is to be written, by field.
        asked: keys of the questions that must be answered first.
        notes: what else to know.
        answered: fields in which the list was said to be right.
        is_mixed: whether an older list is right in some fields and the entry in others, so that
            the entry goes on to bear its later date.
    """

    changes: list[Change] = field(default_factory=list)
    write: dict[str, Any] = field(default_factory=dict)
    asked: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    answered: set[str] = field(default_factory=set)
    is_mixed: bool = False

    @property
    def unanswered(self) -> list[Change]:
        """Changes that nobody has been asked about."""
        return [each for each in self.changes if each.field not in self.answered]

    def change(self, name: str, old: str, new: str, value: Any, *, loud: bool = False) -> None:
        """Change a field, told as `old` and `new`, to a value."""
        self.changes.append(Change(name, old, new, loud))
        self.write[name] = value

    def drop(self, name: str) -> None:
        """Leave a field as the catalogue has it."""
        self.changes = [each for each in self.changes if each.field != name]
        self.write.pop(name, None)

    def drop_unanswered(self) -> None:
        """Leave every field as the catalogue has it in which the list was not said to be right."""
        self.changes = [each for each in self.changes if each.field in self.answered]
        self.write = {name: value for name, value in self.write.items() if name in self.answered}


def compare_fields(record: GearSet, fields: Mapping[str, Any]) -> Held:
    """The fields that a list has otherwise than an entry.

    What the list does not say is left as it is. Words are compared without case, accents and
    marks; a name is compared only where the entry has one.

    Args:
        record: the entry.
        fields: what the list says, as fields of a record.
    """
    held = Held()
    pairs = fields.get("pairs")
    if pairs is not None and dict(pairs) != dict(record.pairs):
        held.change("pairs", pair_words(record.pairs), pair_words(pairs), pairs, loud=True)
    _compare_price(record, fields, held)
    said = fields.get("availability")
    if said is not None and said != record.availability:
        held.change("availability", record.availability, said, said)
    name = fields.get("name")
    if name and record.name is not None and words_of(name) != words_of(record.name):
        held.change("name", record.name, name, name)
    _compare_listing(record, fields.get("listed_for") or {}, held)
    fits = fields.get("fits")
    if fits and not record.fits:
        held.change("fits", "", _claims_text(fits), fits)
    return held


def _compare_price(record: GearSet, fields: Mapping[str, Any], held: Held) -> None:
    price: Decimal | None = fields.get("price")
    if price is None:
        return
    currency = fields["currency"]
    if price == record.price and currency == record.currency:
        return
    old = "" if record.price is None else f"{record.price} {record.currency}"
    held.change("price", old, f"{price} {currency}", price, loud=True)
    if currency != record.currency:
        held.write["currency"] = currency


def _compare_listing(record: GearSet, said: Mapping[str, Any], held: Held) -> None:
    has, models, wheel = record.listed_for, said.get("models"), said.get("wheel_size_in")
    new: dict[str, Any] = {"models": list(has.models)} if has.models else {}
    if has.wheel_size_in is not None:
        new["wheel_size_in"] = has.wheel_size_in
    old = dict(new)
    if models and set(map(plain_word, models)) != set(map(plain_word, has.models)):
        new["models"] = models
        held.changes.append(Change("models", ", ".join(has.models), ", ".join(models)))
    if wheel is not None and wheel != has.wheel_size_in:
        new["wheel_size_in"] = wheel
        was = "" if has.wheel_size_in is None else f"{has.wheel_size_in} in"
        held.changes.append(Change("wheel size", was, f"{wheel} in"))
    if new != old:
        held.write["listed_for"] = new


class Disputes:
    """Holds what a list says of parts against their entries.

    Args:
        catalogue: the catalogue.
        asker: where questions go.
        date: date of the list.
    """

    def __init__(self, catalogue: Catalogue, asker: Asker, date: dt.date) -> None:
        self._catalogue = catalogue
        self._asker = asker
        self._date = date
        self.newer: dict[str, dt.date] = {}
        """Entries that come from a later list than this one, each with its date."""

    def hold(
        self,
        article: Article,
        part: str,
        entry: Entry[GearSet],
        fields: Mapping[str, Any],
        families: Sequence[str],
    ) -> Held:
        """Hold what a row says against the entry of its part.

        Args:
            article: the row.
            part: its part number.
            entry: the entry.
            fields: what the row says, as fields of a record.
            families: ids of the families its words stand for.
        """
        record = entry.record
        held = compare_fields(record, fields)
        held.notes += self._way_on(part, entry)
        self._teeth(article, part, record, held, fields.get("pairs"))
        self._claim(article, part, record, held, fields.get("fits"))
        if not held.asked:
            self._age(article, part, entry, held)
        if jump := _jump(record, held.write):
            held.notes.append(jump)
        stated = {claim.family for claim in record.fits}
        settled = held.asked or "fits" in held.write
        if families and stated and not stated & set(families) and not settled:
            held.notes.append(
                f"!! listed for {', '.join(families)}, and stated here for "
                f"{', '.join(sorted(stated))}"
            )
        return held

    def _way_on(self, part: str, entry: Entry[GearSet]) -> list[str]:
        """Where a number leads that is another one's, retired or superseded."""
        notes = []
        if number_key(part) != number_key(entry.record.part_number):
            notes.append(f"{part} is another number of {entry.id} ({entry.record.part_number})")
        if retired := retired_note(self._catalogue, entry):
            notes.append(f"{retired}; the list has it still")
        elif superseded := superseded_note(self._catalogue, entry):
            notes.append(superseded)
        return notes

    def _which(self, article: Article, held: Held, about: str, text: str, where: str) -> str | None:
        """The answer to which is right, list or catalogue; None: it is asked now."""
        given = self._asker.answer("counted", about, article.address)
        if given is None:
            choices = ["catalogue", "list"]
            held.asked.append(self._asker.ask("counted", about, text, where, choices))
        return given

    def _teeth(
        self, article: Article, part: str, record: GearSet, held: Held, pairs: Pairs | None
    ) -> None:
        """Teeth that a list alone may not change."""
        change = next((each for each in held.changes if each.field == "pairs"), None)
        if change is None or pairs is None or not (reason := _kept_by_hand(record, pairs)):
            return
        about = f"{part}, {change.old} -> {change.new}"
        says = f"{part}: the list says {change.new}, the catalogue {change.old}, and {reason}"
        where = article.where(article.teeth.cell)
        given = self._which(article, held, about, f"{says}. Which is right?", where)
        if given == "catalogue":
            held.drop("pairs")
            self._asker.forget_told(part)
            held.notes.append(f"the list says {change.new}; left as it is, as answered")
        elif given == "list" and reason == _GEOMETRY:
            # The geometry is that of the old teeth: beside the new ones it would be wrong.
            text = (
                f"{says}; take the geometry of the old teeth out of the entry first, or say "
                "catalogue."
            )
            held.asked.append(self._asker.ask("counted", about, text, where, ["catalogue"]))
        elif given == "list":
            held.answered |= {"pairs", "measured"}
        if given == "list" and "pairs" in record.measured:
            # Teeth that come from a list are no longer those that were counted.
            left = [each for each in record.measured if each != "pairs"]
            held.change("measured", ", ".join(record.measured), ", ".join(left) or "none", left)

    def _claim(
        self,
        article: Article,
        part: str,
        record: GearSet,
        held: Held,
        said: Sequence[Mapping[str, Any]] | None,
    ) -> None:
        """A family or housing that the list states, and the claims on file do not hold."""
        if not said or not record.fits or _are_claimed(said, record.fits):
            return
        old, new = _claims_text(map(_plain, record.fits)), _claims_text(said)
        about = f"{part}, stated {old} -> {new}"
        text = f"{part}: the list states it for {new}, the catalogue for {old}. Which is right?"
        where = article.where(article.housing_field) or article.models_cell
        given = self._which(article, held, about, text, where)
        if given == "catalogue":
            held.notes.append(f"the list states it for {new}; left as it is, as answered")
        elif given == "list":
            named = {each["family"] for each in said}
            kept = [_plain(claim) for claim in record.fits if claim.family not in named]
            held.answered.add("fits")
            fits = [*kept, *said]
            held.change("fits", old, _claims_text(fits), fits, loud=True)

    def _age(self, article: Article, part: str, entry: Entry[GearSet], held: Held) -> None:
        """Changes that an older list would make to an entry of a later one."""
        of_entry = entry.record.source.date
        if of_entry is None or of_entry <= self._date:
            return
        self.newer[entry.id] = of_entry
        if not held.unanswered:
            return
        told = "; ".join(map(str, held.unanswered))
        about = f"{part}, list of {self._date}, entry of {of_entry}: {told}"
        text = (
            f"{part}: the list of {self._date} is older than the entry, which is of {of_entry}; "
            f"it would change {told}. Which is right?"
        )
        if self._which(article, held, about, text, article.address) == "catalogue":
            held.drop_unanswered()
            self._asker.forget_told(part)
            held.is_mixed = True
            held.notes.append("the older list differs; the entry is kept, as answered")


def _are_claimed(said: Iterable[Mapping[str, Any]], fits: Iterable[FitClaim]) -> bool:
    """Whether every family and housing stated is claimed already."""
    has = {(claim.family, housing) for claim in fits for housing in claim.housings}
    return all((each["family"], housing) in has for each in said for housing in each["housings"])


def _plain(claim: FitClaim) -> dict[str, Any]:
    """A claim as a file has it; what it leaves out stays out."""
    return claim.model_dump(exclude_unset=True)


def _jump(record: GearSet, write: Mapping[str, Any]) -> str:
    """What a price does that rises by half or falls by a third, which is rarely meant."""
    new: Decimal | None = write.get("price")
    if new is None or not record.price or "currency" in write:
        return ""
    percent = (new / record.price - 1) * 100
    if -33 < percent < 50:
        return ""
    return f"!! the price {'rises' if percent > 0 else 'falls'} by {abs(percent):.0f} %"


def _kept_by_hand(record: GearSet, pairs: Pairs) -> str:
    """Why the teeth of an entry may not be changed by a list alone, or empty."""
    if "pairs" in record.measured:
        return "the shop counted those itself"
    if set(pairs) != set(record.pairs):
        return "the stages are others"
    if set(record.geometry) & {s for s in pairs if pairs[s] != record.pairs[s]}:
        return _GEOMETRY
    return ""
