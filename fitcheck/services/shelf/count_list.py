"""The list of a stock-take: part, counted pieces and perhaps the place, row by row."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from fitcheck.catalogue.ledger.line import MOST
from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError, clip
from fitcheck.rules.setting import plain_word
from fitcheck.services.counter.near_numbers import as_power
from fitcheck.services.shelf.parts import Part, clean_words, find_part
from fitcheck.services.shelf.shop_lists import Columns, ShopList, ShopRow, read_shop_list

_WHOLE = re.compile(r"\+?[0-9]{1,9}(?:[.,]0{1,2})?")
_NUMBER = re.compile(r"[+\-\N{MINUS SIGN}]?[0-9]+(?:[.,][0-9]+)?")

_COLUMNS = Columns(
    headings={
        "part": ("part", "id", "partnumber", "partno", "number", "set", "article", "item"),
        "counted": ("counted", "count", "quantity", "qty", "pieces"),
        "place": ("place", "location", "where"),
    },
    needed=("part", "counted"),
    bare=("part", "counted", "place"),
    number=_NUMBER,
    bare_words="part, pieces and perhaps place",
)

_NUMBERS = ("id", "partnumber", "partno")
"""Headings of a column that holds a name of the part and nothing else."""


@dataclass(frozen=True, slots=True)
class Counted:
    """One row.

    Attributes:
        part: the part.
        quantity: pieces counted.
        place: where they lie, or None where the list does not say.
        where: file and row.
    """

    part: Part
    quantity: int
    place: str | None
    where: str


@dataclass(slots=True)
class CountList:
    """A list as it was read.

    Attributes:
        path: the file as shown to people.
        rows: the rows that say what was counted.
        faults: a sentence for each row that does not, with file and row.
        notes: what else to know of how it was read, a sentence each.
    """

    path: str
    rows: list[Counted] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_count_list(catalogue: Catalogue, path: Path) -> CountList:
    """Read the list of a stock-take: CSV or a spreadsheet, with headings or without.

    With headings the columns are found by their words (part, counted, place), in any order, and
    others do not matter: what `shelf list --format csv` writes can be corrected and read back.
    Without, they are part, pieces and perhaps place.

    Raises:
        UnreadableError: the file cannot be read.
        UsageError: it has several sheets that hold something, no such columns, or a quote that is
            not closed.
    """
    read = read_shop_list(path, _COLUMNS)
    found = CountList(read.path, notes=read.notes)
    names = _CountedNames(catalogue)
    places = {entry.record.place for entry in catalogue.shelf.values()}
    first: dict[str, str] = {}
    for row in read.rows:
        try:
            part = _part(names, read, row)
            earlier = first.setdefault(part.id, row.where)
            if earlier != row.where:
                raise UsageError(
                    f"{part.words} is counted already at {earlier}; add the two up into one row"
                )
            quantity = _quantity(part, row.text(read.columns["counted"]))
            place = row.text(read.columns.get("place")) or None
            if read.has_commas and place not in places:
                _refuse_cut_count(part, row.text(read.columns["counted"]), place)
            place = clean_words(place, "the place")
        except UsageError as error:
            found.faults.append(f"{row.where}: {error}")
            continue
        found.rows.append(Counted(part, quantity, place, row.where))
    if not found.rows and not found.faults:
        raise UsageError(
            f"{read.path}: nothing is counted in it; write a part and its pieces in a row"
        )
    return found


def _part(names: _CountedNames, read: ShopList, row: ShopRow) -> Part:
    """The part of a row, which no other cell of it contradicts."""
    if row.fault:
        raise UsageError(row.fault)
    column = read.columns["part"]
    name = row.text(column)
    if not name:
        raise UsageError("no part is named; write its id or number")
    part = names.find(name)
    decided = False
    for at, head in enumerate(read.heads):
        if at != column and head in _COLUMNS.headings["part"]:
            decided |= names.agree(part, row.text(at), strict=head in _NUMBERS)
    if not decided:
        names.refuse_lost_zeros(part, name)
    return part


def _quantity(part: Part, text: str) -> int:
    if not text:
        raise UsageError(f"{part.words} has no count; write 0, or take the row out")
    if not _WHOLE.fullmatch(text):
        what = "is no whole number of pieces"
        if _NUMBER.fullmatch(text):
            below = text[0] in "-\N{MINUS SIGN}"
            what = "is below zero" if below else "is no whole number of pieces"
        raise UsageError(f"{part.words}: {clip(text, 30)!r} {what}; write 0 or more, without marks")
    quantity = int(re.split("[.,]", text)[0])
    if quantity > MOST:
        raise UsageError(
            f"{part.words}: {quantity:,} pieces are more than a shelf holds ({MOST:,}); is the "
            "number right?"
        )
    return quantity


def _refuse_cut_count(part: Part, count: str, place: str | None) -> None:
    """Refuse a place that may be the end of a count with a decimal comma, cut in two by it."""
    if place is not None and place.isdecimal() and count.isdecimal():
        raise UsageError(
            f"{part.words}: {count},{place} may be one count or a count and a place; part the "
            "cells by semicolons, or give the place a word"
        )


class _CountedNames:
    """The names of all parts, for judging which one a row means."""

    def __init__(self, catalogue: Catalogue) -> None:
        """Gather the numbers that begin with a zero."""
        self._catalogue = catalogue
        self._with_zeros: dict[str, set[str]] = {}
        for id_, entry in catalogue.gear_sets.items():
            for name in _names(Part(id_, entry)):
                if name.startswith("0"):
                    self._with_zeros.setdefault(name.lstrip("0"), set()).add(id_)

    def find(self, name: str) -> Part:
        """The part of a name.

        Raises:
            UsageError: unknown, or shared by several.
        """
        return find_part(self._catalogue, name)

    def refuse_lost_zeros(self, part: Part, name: str) -> None:
        """Refuse a number that is of one part as it stands and of another with its zeros.

        Raises:
            UsageError: there is such another part.
        """
        twins = sorted(self._with_zeros.get(plain_word(name), set()) - {part.id})
        if name != part.id and twins:
            other = Part(twins[0], self._catalogue.gear_sets[twins[0]])
            raise UsageError(
                f"{name} may be {part.words}, or {other.words} whose zeros a spreadsheet took; "
                "write the id"
            )

    def agree(self, part: Part, name: str, *, strict: bool) -> bool:
        """Refuse a second name that is of another part: a column slipped, or was sorted alone.

        What a spreadsheet makes of a number is forgiven: zeros gone from its front, a power of ten.

        Args:
            part: the part of the row.
            name: the second name; empty: there is none.
            strict: whether it must be a name of a part.

        Returns:
            Whether it is one of that part, so that the row says twice which is meant.

        Raises:
            UsageError: it is of another part, or of none where it must be of one.
        """
        plain = plain_word(name)
        if not plain or part.gear_set is None:
            return False
        own = _names(part)
        if plain in own:
            return True
        mangled = not plain.startswith("0") and any(
            each.startswith("0") and each.lstrip("0") == plain for each in own
        )
        power = as_power(name)
        mangled |= power is not None and any(
            each.isdecimal() and Decimal(each) == power for each in own
        )
        try:
            other = self.find(name)
        except UsageError:
            zeros_more = any(each.lstrip("0") == plain.lstrip("0") for each in own)
            if strict and not mangled and not zeros_more:
                raise UsageError(
                    f"the row names {part.words} and {name!r}, which no set goes by; correct "
                    "which was counted"
                ) from None
            return mangled or zeros_more
        if other.id != part.id and not mangled:
            raise UsageError(
                f"the row names two parts, {part.words} and {other.words}; correct which was "
                "counted"
            )
        return True


def _names(part: Part) -> set[str]:
    """Its names, plain."""
    assert part.gear_set is not None
    record = part.gear_set.record
    return {plain_word(name) for name in (part.id, record.part_number, *record.aliases)}
