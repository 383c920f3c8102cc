"""One row of a list, its cells read: number, teeth, stage, models, price and the rest."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Hashable, Mapping, Sequence
from dataclasses import InitVar, dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from itertools import islice
from statistics import median
from typing import TypeVar

from fitcheck.model.fields import Stage
from fitcheck.model.trade import ListField
from fitcheck.services.price_lists.entries import PartNumber, read_part_number
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.reading import Cell, Native
from fitcheck.services.price_lists.wording.amounts import (
    NumberStyle,
    Price,
    amounts_said,
    currencies_of,
    stated_currency,
)
from fitcheck.services.price_lists.wording.availability import (
    Availability,
    may_be_discontinued,
    read_availability,
)
from fitcheck.services.price_lists.wording.dates import doubtful_values
from fitcheck.services.price_lists.wording.pairs import ratio_of_others
from fitcheck.services.price_lists.wording.prices import (
    find_number_style,
    pack_in,
    read_price,
    set_price_in,
)
from fitcheck.services.price_lists.wording.readings import (
    Reading,
    as_cell,
    empty,
    fold,
    phrases,
    review,
)
from fitcheck.services.price_lists.wording.sizes import (
    HousingWord,
    Sizes,
    read_housing,
    read_wheel_size,
    speaks_spanish,
)
from fitcheck.services.price_lists.wording.stages import read_stage, stages_in
from fitcheck.services.price_lists.wording.teeth import (
    FoundPairs,
    names_the_same,
    parted_by_stages,
    read_teeth,
    same_pairs,
)

T = TypeVar("T")
Stages = tuple[Stage, ...]
Housings = tuple[HousingWord, ...]

_DASHES = frozenset({"-", "--", "---", "–", "—", "/", "."})
MARKS = frozenset({"x", "✓", "✔", "●", "•", "ja", "si", "oui", "yes"})
"""What marks a row in a column that is headed by a model or a stage, folded; common practice."""

_NO_MARKS = frozenset({"-", "--", "no", "nein", "non", "○"})
_LEAST_WORD = 3
"""A supplier's word for a housing of fewer letters is looked for in its column only."""

_FEW_WORDS = 3
"""A line or remark of no more words is of nothing else."""

_BLANK = Cell("", "", None)
_SURE_NUMBER = re.compile(r"[A-Za-z]+[0-9]{5,}[A-Za-z]?")
"""A part number with more digits than any count, size or year has."""

_A_NUMBER = "Qqqqq"
"""Stands for the row's own part number in a text, which says the same with any number."""
_MOST_KEPT = 50_000
_ENOUGH_PRICES = 5
"""So many prices say what is usual (judgement)."""

_FAR_PRICE = 5
"""So many times more or less than usual a price seems to be a slip (judgement)."""

_MOST_ABOVE = 4
_NEARLY_ALL = 0.8
"""A column up to so many times the price, in such a share of the rows, holds list prices."""

_SAMPLE = 1000
"""So many names of a list tell its language."""


@dataclass(slots=True, eq=False)
class Article:
    """What the cells of one row say; not frozen, since made by the million, but never changed.

    Attributes:
        layout: the table it stands in.
        row: its number.
        address: where it stands.
        number: the part number.
        teeth: the pairs; from the column of teeth, or free text where that says nothing.
        teeth_apart: whether they stand in the column of teeth.
        named_teeth: pairs that free text names for certain beside the column, else None.
        stage: the stage or stages, by their own column, or free text.
        named_stage: stages that free text or the heading of the group names for certain beside
            that, else empty.
        stage_cell: text of the cell in the column of stages, where it says something.
        models: text of the models, from their column, or the line above the group.
        models_column: whether `models` is a cell of the column of models.
        models_cell: where it stands.
        wheel: rim sizes.
        housing: text of the cell in the column of housings.
        housing_word: what it, or free text, says of short, mid and long.
        named_housing: what free text says of it for certain beside that.
        housing_cell: where it stands.
        price: the price.
        odd_price: what other amounts of the list say against it, one sentence; or empty.
        availability: what the list says of the supplier's stock.
        name: the supplier's words for it.
        bare_name: the same with any one word for the part number, where that stands in it.
        remark: what the column of remarks says.
        text: all free text of the row, for names and words that stand in it.
        no_value: address of the first cell that holds a formula and no value, or empty.
        unsure: marks below models that say nothing for certain, each with its model.
        withdrawn: why the list seems to sell it no more, one sentence; or empty.
    """

    layout: Layout
    row: int
    address: str
    number: PartNumber
    teeth: Reading[FoundPairs]
    teeth_apart: bool
    named_teeth: FoundPairs | None
    stage: Reading[Stages]
    named_stage: Stages
    stage_cell: str
    models: str
    models_column: bool
    models_cell: str
    wheel: Reading[Sizes]
    housing: str
    housing_word: Reading[Housings]
    named_housing: Housings
    housing_cell: str
    price: Reading[Price]
    odd_price: str
    availability: Reading[Availability]
    name: str
    bare_name: str
    remark: str
    text: str
    no_value: str = ""
    withdrawn: str = ""
    unsure: tuple[str, ...] = ()

    @property
    def all_text(self) -> str:
        """All that its cells say, and what is said of it beside them."""
        values = self.layout.sheet.values[self.row - 1]
        layout = self.layout
        lines = (layout.sections.get(self.row, ""), *layout.stated.get(self.row, ()))
        cells = (str(each) for each in values if each)
        return " | ".join([*cells, self.remark, *lines, *layout.beside.get(self.row, ())])

    @property
    def content(self) -> Hashable:
        """What must agree for two rows of one number to be one.

        Models and housings may differ: each row states its own.
        """
        return (
            (self.teeth.status, self.teeth.value or self.teeth.text.strip()),
            (self.stage.status, self.stage.value or self.stage_cell),
            self.named_teeth,
            self.named_stage,
            self.price.value or self.price.text.strip(),
            self.availability.value or self.availability.text.strip(),
            self.no_value != "",
            self.unsure,
        )


@dataclass
class Reader:
    """Reads the rows of one table; what was read once is not read again.

    Attributes:
        layout: the table.
        currency: the supplier's.
        stage_words: the supplier's words for stages, each to ours.
        decimal_mark: the supplier's, where its mapping says so.
        housing_words: the supplier's words for housings; their meanings are of no interest here.
    """

    layout: Layout
    currency: str
    stage_words: Mapping[str, Stage] = field(default_factory=dict)
    decimal_mark: str | None = None
    housing_words: InitVar[Collection[str]] = ()
    style: NumberStyle = field(init=False)
    _housing_word: re.Pattern[str] | None = field(init=False)
    _line_notes: tuple[str, ...] = field(init=False)
    _dates: dict[int, frozenset[Native]] = field(init=False)
    _kept: dict[Hashable, Reading[object]] = field(init=False, default_factory=dict)
    _number: str = field(init=False, default="")
    _taught: str = field(init=False)
    _stages: dict[str, Stages] = field(init=False, default_factory=dict)
    _silent: set[str] = field(init=False, default_factory=set)

    def __post_init__(self, housing_words: Collection[str]) -> None:
        self._taught = fold(" ".join((*self.stage_words, *housing_words)))
        self._housing_word = phrases(
            word for word in housing_words if len(word) >= _LEAST_WORD and "(" not in word
        )
        self.style = find_number_style(self.layout.cells("price"))
        self._line_notes = self.layout.notes_on_lines
        teeth, value = self.layout.columns.get("teeth"), self.layout.sheet.value
        columns = (teeth.column, teeth.second) if teeth is not None else ()
        doubtful = {
            each: doubtful_values(value(row, each) for row in self.layout.data_rows)
            for each in columns
            if each
        }
        self._dates = {column: values for column, values in doubtful.items() if values}

    def read(self, row: int) -> Article:
        """The article of a row."""
        number_cell = self._cell(row, "part_number")
        number = number_cell.text.strip()
        is_sure = _SURE_NUMBER.fullmatch(number) and number.lower() not in self._taught
        self._number = number if is_sure else ""
        name_cell, models_cell = self._cell(row, "name"), self._cell(row, "models")
        remark_cell = self._remark(row, self._cell(row, "notes"))
        free = [each for each in (name_cell, remark_cell) if not each.blank]
        section = self.layout.sections.get(row, "")
        name = " ".join(name_cell.text.split())
        models = models_cell.text.strip()
        unsure: tuple[str, ...] = ()
        if self.layout.matrix:
            models, unsure = _marked_models(self.layout, row)
        in_column = bool(models)
        remark = remark_cell.text
        teeth, named, apart = self._teeth(row, free)
        stage, named_stage, stage_cell = self._stage(row, free, section)
        teeth = parted_by_stages(teeth, stage)
        housing_cell, housing, named_housing = self._housing(row, (*free, as_cell(section)))
        price, availability = self._offer(row, free)
        withdrawn = self._withdrawn(row, section, remark_cell)
        if withdrawn and availability.status == "empty":
            availability = replace(availability, status="read", value="discontinued")
        return Article(
            layout=self.layout,
            row=row,
            address=self.layout.sheet.row_address(row),
            number=read_part_number(number_cell),
            teeth=teeth,
            teeth_apart=apart,
            named_teeth=named,
            stage=stage,
            named_stage=named_stage,
            stage_cell=stage_cell,
            models=models or section,
            models_column=in_column,
            models_cell=models_cell.address if in_column else self.layout.sheet.row_address(row),
            wheel=self._wheel(row, models_cell, *free),
            housing=housing_cell.text.strip(),
            housing_word=housing,
            named_housing=named_housing,
            housing_cell=housing_cell.address,
            price=price,
            odd_price=self._odd_price(row, price),
            availability=availability,
            name=name,
            bare_name=self._bare(name),
            remark=remark,
            text=" | ".join(filter(None, (name, remark))),
            no_value=self._no_value(row),
            withdrawn=withdrawn,
            unsure=unsure,
        )

    # -- inside ----------------------------------------------------------------------------------

    def _cell(self, row: int, name: ListField) -> Cell:
        return self.layout.cell(row, name) or _BLANK

    def _remark(self, row: int, cell: Cell) -> Cell:
        """What the column of remarks says, and what is noted on the row's cells.

        What is noted on a header, a title or a heading of a group is said of every row.
        """
        said = " ".join(cell.text.split())
        noted = self.layout.sheet.comments
        if noted or self.layout.sheet.struck:
            notes = (said, *noted.get(row, ()), *self._line_notes, *self._struck_words(row))
            said = " | ".join(filter(None, dict.fromkeys(notes)))
        return cell if said == cell.text else replace(cell, text=said, value=said or None)

    def _struck_words(self, row: int) -> list[str]:
        """What is struck through in a row, in words; teeth and price are asked by themselves."""
        cells = {name: self._cell(row, name) for name in self.layout.columns}
        held = [cell for cell in cells.values() if not cell.blank]
        if held and all(cell.struck for cell in held):
            return ["struck through"]
        apart = () if self._cell(row, "part_number").struck else ("teeth", "price")
        return [
            f"struck through: {' '.join(cell.text.split())}"
            for name, cell in cells.items()
            if cell.struck and name not in apart and not cell.blank
        ]

    def _struck_alone(self, row: int, name: ListField) -> bool:
        """Whether a cell is struck through, and its article is not."""
        if not self.layout.sheet.struck or self._cell(row, "part_number").struck:
            return False
        return self._cell(row, name).struck

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

    def _withdrawn(self, row: int, section: str, remark: Cell) -> str:
        """Why the list seems to sell an article no more, where something but its stock says so."""
        layout = self.layout
        if layout.successor_column:
            said = layout.sheet.cell(row, layout.successor_column).text.strip()
            if any(map(str.isalnum, said)):
                heading = dict(layout.others)[layout.successor_column]
                return f"!! {heading.strip()!r} says {' '.join(said.split())!r}"
        if layout.sheet.struck and self._cell(row, "part_number").struck:
            return "!! the row is struck through"
        for cell in (remark, as_cell(section.rpartition(" | ")[2])):
            if cell.blank or not may_be_discontinued(cell.text):
                continue
            if len(cell.text.split()) > _FEW_WORDS:
                continue
            stock = self._once("withdrawn", cell, read_availability)
            if stock.certain and stock.value == "discontinued":
                return f"!! {' '.join(cell.text.split())!r} is said of it"
        return ""

    def _once(self, what: str, cell: Cell, read: Callable[[Cell], Reading[T]]) -> Reading[T]:
        """A reading, kept for cells that hold the same; its address is that of this cell."""
        if cell.value is None and not cell.text:
            return empty(cell)
        bare = self._bare(cell.text) if isinstance(cell.value, str) else cell.text
        key = (what, bare, type(cell.value), cell.number_format)
        kept = self._kept.get(key)
        if kept is None:
            told = cell if bare is cell.text else Cell(cell.address, bare, bare, cell.number_format)
            kept = read(told)  # type: ignore[assignment]
            assert kept is not None
            if len(self._kept) < _MOST_KEPT:
                self._kept[key] = kept
        found: Reading[T] = kept  # type: ignore[assignment]
        if bare is cell.text and found.cell == cell.address:
            return found
        if bare is not cell.text and found.reason:
            # What is told of a text tells it as it is written.
            return read(cell)
        return Reading(
            cell.address,
            found.text if bare is cell.text else cell.text,
            found.status,
            found.value,
            candidates=found.candidates,
            reason=found.reason,
            basis=found.basis,
        )

    def _bare(self, text: str) -> str:
        """A text with a word for the row's own part number, if that stands whole in it."""
        number = self._number
        before, found, behind = text.partition(number) if number else (text, "", "")
        if not found or before[-1:].isalnum() or behind[:1].isalnum() or number in behind:
            return text
        return f"{before}{_A_NUMBER}{behind}"

    def _teeth(
        self, row: int, free: Sequence[Cell]
    ) -> tuple[Reading[FoundPairs], FoundPairs | None, bool]:
        """The pairs, those that free text names beside them, and whether they have a column."""
        words = self.stage_words or None
        own = self._once(
            "teeth",
            self._cell(row, "teeth"),
            lambda cell: read_teeth(cell, teeth_column=True, stage_words=words),
        )
        named = [
            self._once("named", cell, lambda each: read_teeth(each, stage_words=words))
            for cell in free
            if isinstance(cell.value, str)
            and not (own.certain and names_the_same(own.value or (), cell.text))
        ]
        apart = own.status != "empty"
        if not apart:
            own = next((each for each in named if each.status != "empty"), own)
        own = self._against_ratio(row, own)
        if apart and own.certain and self._may_be_date(row):
            own = own.doubted(own.reason or "the column holds dates, and it may be one")
        if apart and self._struck_alone(row, "teeth"):
            own = own.doubted("it is struck through")
        others = [each.value for each in named if each.certain and each is not own]
        differing = (each for each in others if not same_pairs(each, own.value))
        return own, next(differing, others[0] if others else None), apart

    def _may_be_date(self, row: int) -> bool:
        """Whether what stands for teeth may be a date, by what else its column holds."""
        value = self.layout.sheet.value
        return any(value(row, column) in values for column, values in self._dates.items())

    def _against_ratio(self, row: int, own: Reading[FoundPairs]) -> Reading[FoundPairs]:
        """Pairs that the ratio in a column of its own contradicts are for review."""
        column = self.layout.ratio_column
        if not column or not own.certain or not own.value:
            return own
        written = self.layout.sheet.cell(row, column).text
        if not ratio_of_others(written, [each.pair for each in own.value]):
            return own
        return own.doubted(f"the column of ratios says {written.strip()}")

    def _stage(
        self, row: int, free: Sequence[Cell], section: str
    ) -> tuple[Reading[Stages], Stages, str]:
        """The stage, the one that free text names beside its column, and what the column says."""
        words = self.stage_words or None
        cell = self._cell(row, "stage")
        if not cell.blank:
            own = self._once("stage", cell, lambda each: read_stage(each, words))
            texts = (*(self._bare(each.text) for each in free), section)
            beside = next((each for text in texts if (each := self._stages_in(text))), ())
            return own, beside, cell.text.strip()
        for text in (*free, as_cell(section)):
            found = self._once("named stage", text, lambda each: read_stage(each, words))
            if found.status in ("read", "review"):
                return found, self._stages_in(section), ""
        return empty(cell), (), ""

    def _stages_in(self, text: str) -> Stages:
        """The stages that a free text names for certain; texts that come again are kept read."""
        if text not in self._stages:
            found = stages_in(text, self.stage_words or None)
            if len(self._stages) >= _MOST_KEPT:
                return found
            self._stages[text] = found
        return self._stages[text]

    def _wheel(self, row: int, *others: Cell) -> Reading[Sizes]:
        cell = self._cell(row, "wheel_size")
        if not cell.blank:
            return self._once("wheel", cell, lambda each: read_wheel_size(each, size_column=True))
        for other in others:
            found = self._once("named wheel", other, read_wheel_size)
            if found.certain:
                return found
        return empty(cell)

    def _housing(self, row: int, free: Sequence[Cell]) -> tuple[Cell, Reading[Housings], Housings]:
        """The housing's cell, what it says, and what free text or the heading names beside it."""
        cell = self._cell(row, "housing")
        if cell.text.strip() in _DASHES:
            cell = replace(cell, text="", value=None)
        if self._struck_alone(row, "housing"):
            cell = replace(cell, text=f"{cell.text.strip()} (struck through)")
        if cell.blank and self._housing_word is not None:
            texts = (each.text for each in free)
            if said := next(filter(None, map(self._own_housing, texts)), ""):
                cell = Cell(free[0].address, said, said)
        spanish = self._is_spanish
        named = [
            self._once("named housing", each, lambda text: read_housing(text, in_spanish=spanish))
            for each in free
        ]
        if not cell.blank:
            own = self._once(
                "housing",
                cell,
                lambda each: read_housing(each, housing_column=True, in_spanish=spanish),
            )
        else:
            own = next((each for each in named if each.status != "empty"), empty(cell))
        beside = [
            word for each in named if each.certain and each is not own for word in each.value or ()
        ]
        return cell, own, tuple(dict.fromkeys(beside))

    def _own_housing(self, text: str) -> str:
        """The supplier's own word for a housing in a free text, folded; or empty."""
        found = self._housing_word.search(fold(text)) if self._housing_word else None
        return found.group() if found else ""

    def _is_spanish(self) -> bool:
        """Whether the list is in Spanish, by its headings and names."""
        names = (cell.text for cell in self.layout.cells("name"))
        return speaks_spanish((*self.layout.headings.values(), *islice(names, _SAMPLE)))

    def _offer(
        self, row: int, free: Sequence[Cell]
    ) -> tuple[Reading[Price], Reading[Availability]]:
        """Price and availability; a price column may say `sold out` for one."""
        cell = self._cell(row, "price")
        price = self._once("price", cell, self._read_price)
        stock = self._once(
            "availability",
            self._cell(row, "availability"),
            lambda each: read_availability(each, stock_column=True),
        )
        if price.status == "unreadable" and _is_worded(cell):
            said = self._once("no price", cell, read_availability)
            if said.certain:
                reason = f"{cell.text.strip()!r} is written instead of a price"
                return empty(cell, reason), said if stock.status == "empty" else stock
        if not price.certain or price.value is None:
            return price, stock
        doubt = next(
            (each for text in free if (each := self._price_doubt(cell, price, text))), None
        )
        if self._struck_alone(row, "price"):
            doubt = review(cell, "it is struck through", price.value)
        return doubt or price, stock

    def _read_price(self, cell: Cell) -> Reading[Price]:
        return read_price(
            cell,
            decimal_mark=self.decimal_mark,  # type: ignore[arg-type]
            style=self.style,
            currency=self.currency,
        )

    def _odd_price(self, row: int, price: Reading[Price]) -> str:
        """What other amounts of the list say against a price, one sentence; or empty."""
        if not price.certain or price.value is None:
            return ""
        amount, usual = price.value.amount, self._usual_price
        for column, heading in self._list_prices:
            listed = self._amount(row, column)
            if listed is not None and listed < amount:
                return f"The column {heading.strip()!r} says less: {listed}."
        if usual is None or usual / _FAR_PRICE <= amount <= usual * _FAR_PRICE:
            return ""
        return f"The list's other prices are about {usual}."

    @property
    def _sample(self) -> list[int]:
        return self.layout.data_rows[:_SAMPLE]

    @cached_property
    def _usual_price(self) -> Decimal | None:
        """What an article of the table usually costs; None where few prices say it."""
        column = self.layout.columns.get("price")
        amounts = [self._amount(row, column.column) for row in self._sample if column]
        known = [each for each in amounts if each]
        return median(known) if len(known) >= _ENOUGH_PRICES else None

    @cached_property
    def _list_prices(self) -> list[tuple[int, str]]:
        """Columns with an amount somewhat above the price in nearly all rows: list prices."""
        price = self.layout.columns.get("price")
        if price is None:
            return []
        own = {row: self._amount(row, price.column) for row in self._sample}
        found = []
        for column, heading in self.layout.others:
            both = [
                (each, other)
                for row, each in own.items()
                if each and (other := self._amount(row, column)) is not None
            ]
            above = sum(each <= other <= _MOST_ABOVE * each for each, other in both)
            differ = sum(each != other for each, other in both)
            if len(both) >= _ENOUGH_PRICES and min(above, differ) >= _NEARLY_ALL * len(both):
                found.append((column, heading))
        return found

    def _amount(self, row: int, column: int) -> Decimal | None:
        """The amount in a cell; None where there is none for certain."""
        cell = self.layout.sheet.cell(row, column)
        found = self._once("price", cell, self._read_price)
        return found.value.amount if found.certain and found.value is not None else None

    def _price_doubt(self, cell: Cell, price: Reading[Price], free: Cell) -> Reading[Price] | None:
        """The price for review, where a free text makes another one of the amount; else None."""
        assert price.value is not None
        bare = self._bare(free.text)
        if bare in self._silent:
            return None
        said = amounts_said(fold(bare), price.value.currency or self.currency)
        is_same = price.value.amount in said.values()
        other = "" if is_same else next(iter(said), "") or set_price_in(bare)
        if not (stated_currency(bare, of_prices=True) or other or pack_in(bare)):
            if not said and len(self._silent) < _MOST_KEPT:
                self._silent.add(bare)
            return None
        stated = stated_currency(free.text, of_prices=True)
        meant = currencies_of(stated) or () if stated else ()
        if stated and self.currency not in meant:
            named = Price(price.value.amount, meant[0] if len(meant) == 1 else None)
            why = f"the text speaks of prices in {stated.upper()}"
            return review(cell, why, named, basis=stated.upper())
        if other:
            others = (Price(each) for each in said.values())
            return review(cell, f"the text says {other!r}", price.value, *others)
        basis = pack_in(free.text)
        why = f"the text says {basis!r}"
        return review(cell, why, price.value, basis=basis) if basis else None


def _marked_models(layout: Layout, row: int) -> tuple[str, tuple[str, ...]]:
    """The models whose columns bear a mark in a row, and marks that say nothing for certain."""
    models, unsure = [], []
    for column, heading in layout.matrix.items():
        text = fold(layout.sheet.cell(row, column).text).strip()
        if text in MARKS:
            models.append(heading)
        elif text and text not in _NO_MARKS:
            unsure.append(f"{heading}: {text}")
    return ", ".join(models), tuple(unsure)


def _is_worded(cell: Cell) -> bool:
    """Whether a cell holds words and no figure."""
    return not isinstance(cell.value, bool) and not any(map(str.isdigit, cell.text))
