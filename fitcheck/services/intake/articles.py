"""One row of a list, its cells read: number, teeth, stage, models, price and the rest."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TypeVar

from fitcheck.model.fields import Stage
from fitcheck.services.intake.headings import Layout
from fitcheck.services.intake.headings.words import FieldName
from fitcheck.services.intake.reading import Cell, plain_text
from fitcheck.services.intake.wording import (
    Availability,
    FoundPairs,
    HousingWord,
    NumberStyle,
    Price,
    Reading,
    Sizes,
    find_number_style,
    read_availability,
    read_housing,
    read_price,
    read_stage,
    read_teeth,
    read_wheel_size,
)
from fitcheck.services.intake.wording.result import empty

__all__ = ["Article", "PartNumber", "Reader", "number_key"]

T = TypeVar("T")
Stages = tuple[Stage, ...]

_TWO_NUMBERS = re.compile(r"[0-9]\D+[0-9]")
_SHORTENED = re.compile(r"[0-9](?:[.,][0-9]+)?e\+[0-9]{2,}", re.IGNORECASE)
_MOST_KEPT = 50_000


@lru_cache(maxsize=4096)
def number_key(text: str) -> str:
    """A part number for comparing: capitals, composed letters and widths of spaces do not count."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text)
    return " ".join(text.split()).casefold()


@dataclass(frozen=True, slots=True)
class PartNumber:
    """A part number as the cell gives it.

    Attributes:
        text: the number; empty where there is none.
        cell: where it stands.
        doubt: why it may be another one than the supplier wrote, or empty.
        counted: whether a spreadsheet holds it as a number, so that leading zeros and powers of
            ten may be lost.
    """

    text: str
    cell: str
    doubt: str = ""
    counted: bool = False


@dataclass(frozen=True, slots=True)
class Article:
    """What the cells of one row say.

    Attributes:
        layout: the table it stands in.
        row: its number.
        address: where it stands.
        number: the part number.
        teeth: the pairs; from the column of teeth, or free text where that says nothing.
        named_teeth: pairs that free text names for certain beside the column, else None.
        stage: the stage or stages, by their own column, or free text.
        stage_cell: text of the cell in the column of stages, where it says something.
        models: text of the models, from their column, or the line above the group.
        models_column: whether `models` is a cell of the column of models.
        models_cell: where it stands.
        wheel: rim sizes.
        housing: text of the cell in the column of housings.
        housing_word: what it, or free text, says of short, mid and long.
        housing_cell: where it stands.
        price: the price.
        availability: what the list says of the supplier's stock.
        name: the supplier's words for it.
        text: all free text of the row, for names and words that stand in it.
        no_value: address of the first cell that holds a formula and no value, or empty.
    """

    layout: Layout
    row: int
    address: str
    number: PartNumber
    teeth: Reading[FoundPairs]
    named_teeth: FoundPairs | None
    stage: Reading[Stages]
    stage_cell: str
    models: str
    models_column: bool
    models_cell: str
    wheel: Reading[Sizes]
    housing: str
    housing_word: Reading[tuple[HousingWord, ...]]
    housing_cell: str
    price: Reading[Price]
    availability: Reading[Availability]
    name: str
    text: str
    no_value: str = ""

    @property
    def content(self) -> Hashable:
        """What must agree for two rows of one number to be one.

        Models and housings may differ: each row states its own.
        """
        return (
            (self.teeth.status, self.teeth.value or self.teeth.text.strip()),
            (self.stage.status, self.stage.value or self.stage_cell),
            self.named_teeth,
            self.price.value or self.price.text.strip(),
            self.availability.value or self.availability.text.strip(),
            self.no_value != "",
        )


@dataclass(slots=True)
class Reader:
    """Reads the rows of one table; what was read once is not read again.

    Attributes:
        layout: the table.
        currency: the supplier's.
        stage_words: the supplier's words for stages, each to ours.
        decimal_mark: the supplier's, where its mapping says so.
    """

    layout: Layout
    currency: str
    stage_words: Mapping[str, Stage] = field(default_factory=dict)
    decimal_mark: str | None = None
    style: NumberStyle = field(init=False)
    _kept: dict[Hashable, Reading[object]] = field(init=False, default_factory=dict)
    _blank: Cell = field(init=False, default_factory=lambda: Cell("", "", None, 0, 0))

    def __post_init__(self) -> None:
        self.style = find_number_style(self.layout.cells("price"))

    def read(self, row: int) -> Article:
        """The article of a row."""
        number_cell = self._cell(row, "part_number")
        name_cell, models_cell = self._cell(row, "name"), self._cell(row, "models")
        section = self.layout.sections.get(row, "")
        name = " ".join(name_cell.text.split())
        models = models_cell.text.strip()
        in_column = bool(models)
        teeth, named = self._teeth(row, name_cell)
        stage, stage_cell = self._stage(row, name_cell, section)
        housing_cell = self._cell(row, "housing")
        return Article(
            layout=self.layout,
            row=row,
            address=self.layout.sheet.row_address(row),
            number=_part_number(number_cell),
            teeth=teeth,
            named_teeth=named,
            stage=stage,
            stage_cell=stage_cell,
            models=models or section,
            models_column=in_column,
            models_cell=models_cell.address if in_column else self.layout.sheet.row_address(row),
            wheel=self._wheel(row, name_cell, models_cell),
            housing=housing_cell.text.strip(),
            housing_word=self._housing(housing_cell, name_cell),
            housing_cell=housing_cell.address,
            price=self._price(row),
            availability=self._once(
                "availability", self._cell(row, "availability"), read_availability
            ),
            name=name,
            text=name,
            no_value=self._no_value(row),
        )

    # -- inside ----------------------------------------------------------------------------------

    def _cell(self, row: int, name: FieldName) -> Cell:
        return self.layout.cell(row, name) or self._blank

    def _no_value(self, row: int) -> str:
        """Where the row's first cell stands that holds a formula without a stored value."""
        sheet = self.layout.sheet
        if not sheet.no_values:
            return ""
        for column in self.layout.columns.values():
            for number in filter(None, (column.column, column.second)):
                if (row, number) in sheet.no_values:
                    return sheet.address(row, number)
        return ""

    def _once(self, what: str, cell: Cell, read: Callable[[Cell], Reading[T]]) -> Reading[T]:
        """A reading, kept for cells that hold the same; its address is that of this cell."""
        if cell.value is None and not cell.text:
            return empty(cell)
        key = (what, cell.text, type(cell.value), cell.number_format)
        kept = self._kept.get(key)
        if kept is None:
            kept = read(cell)  # type: ignore[assignment]
            assert kept is not None
            if len(self._kept) < _MOST_KEPT:
                self._kept[key] = kept
        found: Reading[T] = kept  # type: ignore[assignment]
        if found.cell == cell.address:
            return found
        return Reading(
            cell.address, found.text, found.status, found.value, found.candidates, found.reason
        )

    def _teeth(self, row: int, name: Cell) -> tuple[Reading[FoundPairs], FoundPairs | None]:
        words = self.stage_words or None
        own = self._once(
            "teeth",
            self._cell(row, "teeth"),
            lambda cell: read_teeth(cell, teeth_column=True, stage_words=words),
        )
        if own.certain and _names_the_same(own.value or (), name.text):
            return own, None
        if isinstance(name.value, str) or name.value is None:
            free = self._once("named", name, lambda cell: read_teeth(cell, stage_words=words))
        else:
            free = empty(name)
        if own.status == "empty":
            return (free if free.status != "empty" else own), None
        return own, free.value if free.certain else None

    def _stage(self, row: int, name: Cell, section: str) -> tuple[Reading[Stages], str]:
        words = self.stage_words or None
        cell = self._cell(row, "stage")
        if not cell.blank:
            found = self._once("stage", cell, lambda each: read_stage(each, words))
            return found, cell.text.strip()
        for text in (name, section):
            found = self._once("named stage", _as_cell(text), lambda each: read_stage(each, words))
            if found.status in ("read", "review"):
                return found, ""
        return empty(cell), ""

    def _wheel(self, row: int, name: Cell, models: Cell) -> Reading[Sizes]:
        cell = self._cell(row, "wheel_size")
        if not cell.blank:
            return self._once("wheel", cell, lambda each: read_wheel_size(each, size_column=True))
        for other in (models, name):
            found = self._once("named wheel", other, read_wheel_size)
            if found.certain:
                return found
        return empty(cell)

    def _housing(self, cell: Cell, name: Cell) -> Reading[tuple[HousingWord, ...]]:
        if not cell.blank:
            return self._once("housing", cell, lambda each: read_housing(each, housing_column=True))
        return self._once("named housing", name, read_housing)

    def _price(self, row: int) -> Reading[Price]:
        mark = self.decimal_mark
        return self._once(
            "price",
            self._cell(row, "price"),
            lambda cell: read_price(
                cell,
                decimal_mark=mark,  # type: ignore[arg-type]
                style=self.style,
                currency=self.currency,
            ),
        )


def _names_the_same(pairs: FoundPairs, text: str) -> bool:
    """Whether free text holds these very pairs, or no two numbers that could be others."""
    return all(str(each.pair) in text for each in pairs) or not _TWO_NUMBERS.search(text)


def _as_cell(text: Cell | str) -> Cell:
    return text if isinstance(text, Cell) else Cell("", text, text or None, 0, 0)


def _part_number(cell: Cell) -> PartNumber:
    text = " ".join(cell.text.split())
    value = cell.value
    doubt = ""
    counted = isinstance(value, (int, float)) and text == plain_text(value)
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        doubt = "a spreadsheet made a date or time of it"
    elif isinstance(value, bool):
        doubt = "a spreadsheet made yes or no of it"
    elif cell.rounded:
        doubt = "a spreadsheet keeps no more than 15 digits of it"
    elif isinstance(value, float) and not value.is_integer():
        doubt = "a spreadsheet holds it as a number with decimals"
    elif isinstance(value, str) and _SHORTENED.fullmatch(text):
        doubt = "a spreadsheet shortened it to a power of ten"
    return PartNumber(text, cell.address, doubt, counted)
