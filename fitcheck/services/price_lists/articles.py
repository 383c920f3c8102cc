"""One row of a list, its cells read: number, teeth, stage, models, price and the rest."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Hashable, Mapping, Sequence, Set
from dataclasses import InitVar, dataclass, field, replace
from decimal import Decimal
from functools import cache, cached_property, partial
from typing import Any

from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.model.trade import ListField
from fitcheck.services.price_lists.entries import PartNumber, read_part_number
from fitcheck.services.price_lists.headings.layout import Layout, is_ditto
from fitcheck.services.price_lists.reading import Cell, Native
from fitcheck.services.price_lists.reading.cells import Place
from fitcheck.services.price_lists.usual_prices import UsualPrices
from fitcheck.services.price_lists.wording.amounts import (
    DISPLACEMENT,
    NumberStyle,
    Price,
    amounts_said,
    currencies_of,
    stated_currency,
)
from fitcheck.services.price_lists.wording.availability import (
    Availability,
    read_availability,
    words_of_stock,
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

Stages = tuple[Stage, ...]
Housings = tuple[HousingWord, ...]

_DASHES = frozenset({"-", "--", "---", "–", "—", "/", "."})
MARKS = frozenset({"x", "✓", "✔", "●", "•", "ja", "si", "oui", "yes"})
"""What marks a row in a column that is headed by a model or a stage, folded; common practice."""

_NO_MARKS = frozenset({"-", "--", "no", "nein", "non", "○"})
_LEAST_WORD = 3
"""A supplier's word for a housing of fewer letters is looked for in its column only."""

_BLANK = Cell("", "", None)
_NOTHING: Reading[Any] = empty(_BLANK)
_SURE_NUMBER = re.compile(r"[A-Za-z]+[0-9]{5,}[A-Za-z]?")
"""A part number with more digits than any count, size or year has."""

_A_NUMBER = "Qqqqq"
"""Stands for the row's own part number in a text, which says the same with any number."""
_MOST_KEPT = 50_000
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
        teeth: the pairs; from the column of teeth, or free text where that says nothing. The cell
            of a reading is the name of its field; `where` gives the address.
        teeth_apart: whether they stand in the column of teeth.
        named_teeth: pairs that free text names for certain beside the column, else None.
        stage: the stage or stages, by their own column, or free text.
        named_stage: stages that free text or the heading of the group names for certain beside
            that, else empty.
        stage_cell: text of the cell in the column of stages, where it says something.
        models: text of the models, from their column, or the line above the group.
        models_column: whether `models` is a cell of the column of models.
        wheel: rim sizes.
        housing: text of the cell in the column of housings.
        housing_word: what it, or free text, says of short, mid and long.
        named_housing: what free text says of it for certain beside that.
        housing_field: the field whose cell that is: housing, or one of free text; or empty.
        price: the price.
        odd_price: what other amounts of the list say against it, one sentence; or empty.
        availability: what the list says of the supplier's stock.
        name: the supplier's words for it.
        words: its free text, which many rows may share.
        remark: what the column of remarks says.
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
    wheel: Reading[Sizes]
    housing: str
    housing_word: Reading[Housings]
    named_housing: Housings
    housing_field: str
    price: Reading[Price]
    odd_price: str
    availability: Reading[Availability]
    name: str
    words: Words
    remark: str
    no_value: str = ""
    withdrawn: str = ""
    unsure: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """All free text of the row, for names and words that stand in it."""
        return " | ".join(filter(None, (self.name, self.remark)))

    @property
    def pairs(self) -> list[Pair]:
        """All pairs that it has, or may have."""
        teeth = self.teeth
        found = [each.pair for each in (*(teeth.value or ()), *(self.named_teeth or ()))]
        return [*found, *(each.pair for pairs in teeth.candidates for each in pairs)]

    @property
    def models_cell(self) -> str:
        """Address of the cell of models, or of the row where no column names them."""
        return self.where("models") if self.models_column else self.address

    def where(self, name: str) -> str:
        """Address of the cell of a field, as readings name it; empty where there is none."""
        cell = self.layout.cell(self.row, name) if name else None  # type: ignore[arg-type]
        return "" if cell is None else cell.address

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


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """The free text of a row, one for all rows that say the same but for their part numbers.

    Attributes:
        name: the name, with any one word for the part number, where that stands in it.
        text: name and remark, likewise.
        stages: the stages that the name, the remark or the heading of the group names for certain.
        names_housing: whether one of them speaks of a housing.
        speaks_of_prices: whether name or remark names a currency, a pack, or another price.
        may_repeat: whether one of them says an amount or a displacement, perhaps the row's own.
        none_left: what the words of the name, the remark or the heading say of stock, where they
            say that none is left; else None.
    """

    name: str
    text: str
    stages: Stages
    names_housing: bool
    speaks_of_prices: bool
    may_repeat: bool
    none_left: Availability | None


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
    _housing_word: re.Pattern[str] | None = field(init=False)
    _line_notes: tuple[str, ...] = field(init=False)
    _dates: dict[int, frozenset[Native]] = field(init=False)
    _apart: Set[Place] = field(init=False)
    _cells: dict[ListField, list[Cell]] = field(init=False, default_factory=dict)
    _kept: dict[tuple[str, Cell], Reading[Any]] = field(init=False, default_factory=dict)
    _texts: dict[Hashable, Words] = field(init=False, default_factory=dict)
    _readers: dict[str, Callable[[Cell], Reading[Any]]] = field(init=False)
    _prices: UsualPrices = field(init=False)
    _number: str = field(init=False, default="")
    _taught: str = field(init=False)

    def __post_init__(self, housing_words: Collection[str]) -> None:
        self._taught = fold(" ".join((*self.stage_words, *housing_words)))
        self._housing_word = phrases(
            word for word in housing_words if len(word) >= _LEAST_WORD and "(" not in word
        )
        layout, sheet = self.layout, self.layout.sheet
        self._line_notes = layout.notes_on_lines
        self._apart = {*layout.unmarked, *sheet.formats, *sheet.struck, *sheet.merged}
        self._readers = self._readers_of_cells()
        self._prices = UsualPrices(layout, self._amount, self._group_of)
        teeth, value = layout.columns.get("teeth"), sheet.value
        columns = (teeth.column, teeth.second) if teeth is not None else ()
        doubtful = {
            each: doubtful_values(value(row, each) for row in layout.data_rows)
            for each in columns
            if each
        }
        self._dates = {column: values for column, values in doubtful.items() if values}

    def read(self, row: int) -> Article:
        """The article of a row."""
        layout = self.layout
        number_cell = layout.cell(row, "part_number") or _BLANK
        number = number_cell.text.strip()
        is_sure = _SURE_NUMBER.fullmatch(number) and number.lower() not in self._taught
        self._number = number if is_sure else ""
        name_cell, models_cell = self._cell(row, "name"), self._cell(row, "models")
        remark_cell = self._remark(row, self._cell(row, "notes"))
        section = layout.sections.get(row, "")
        words = self._words(name_cell, remark_cell, section)
        free = [each for each in (name_cell, remark_cell) if not each.blank]
        models = models_cell.text.strip()
        unsure: tuple[str, ...] = ()
        if layout.matrix:
            models, unsure = _marked_models(layout, row)
        in_column = bool(models)
        teeth, named, apart = self._teeth(row, free)
        stage, named_stage, stage_cell = self._stage(row, free, section, words)
        teeth = parted_by_stages(teeth, stage)
        housing_cell, housing, named_housing = self._housing(row, free, section, words)
        price, availability = self._offer(row, free, words)
        withdrawn = self._withdrawn(row, section, free, words)
        left = "discontinued" if withdrawn else words.none_left
        if left and availability.status == "empty":
            availability = replace(availability, status="read", value=left)
        return Article(
            layout=layout,
            row=row,
            address=layout.sheet.row_address(row),
            number=read_part_number(number_cell),
            teeth=teeth,
            teeth_apart=apart,
            named_teeth=named,
            stage=stage,
            named_stage=named_stage,
            stage_cell=stage_cell,
            models=models or section,
            models_column=in_column,
            wheel=self._wheel(row, models_cell, *free),
            housing=housing_cell.text.strip(),
            housing_word=housing,
            named_housing=named_housing,
            housing_field=housing_cell.address,
            price=price,
            odd_price=self._prices.speak_against(row, price),
            availability=availability,
            name=" ".join(name_cell.text.split()),
            words=words,
            remark=remark_cell.text,
            no_value=self._no_value(row),
            withdrawn=withdrawn,
            unsure=unsure,
        )

    # -- inside ----------------------------------------------------------------------------------

    def _cell(self, row: int, name: ListField) -> Cell:
        """A cell with the name of its field for its address; those that hold the same are one."""
        cells = self._cells.get(name)
        if cells is None:
            cells = self._cells[name] = self._column(name)
        return cells[row] if cells else _BLANK

    def _column(self, name: ListField) -> list[Cell]:
        """The cells of a field by number of the row; none where the table lacks the field."""
        layout, values, kept = self.layout, self.layout.sheet.values, dict[Native, Cell]()
        if name not in layout.columns:
            return []
        column, width, apart = layout.columns_alone.get(name, 0), layout.width, self._apart
        cells = [_BLANK] * (layout.last_row + 1)
        for row in layout.data_rows:
            held = values[row - 1]
            value = held[column - 1] if 0 < column <= len(held) else None
            is_plain = (
                column > 0
                and (value is None or isinstance(value, str))
                and len(held) <= width
                and not (apart and (row, column) in apart)
            )
            cell = kept.get(value) if is_plain else None
            if cell is None:
                found = layout.cell(row, name)
                assert found is not None
                cell = replace(found, address=name)
                if is_plain and not is_ditto(str(value)):
                    kept[value] = cell
            cells[row] = cell
        return cells

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

    def _withdrawn(self, row: int, section: str, free: Sequence[Cell], words: Words) -> str:
        """Why the list seems to sell an article no more, where something but its stock says so."""
        layout = self.layout
        if layout.successor_column:
            said = layout.sheet.cell(row, layout.successor_column).text.strip()
            if any(map(str.isalnum, said)):
                heading = dict(layout.others)[layout.successor_column]
                return f"!! {heading.strip()!r} says {' '.join(said.split())!r}"
        if layout.sheet.struck and self._cell(row, "part_number").struck:
            return "!! the row is struck through"
        if words.none_left is None:
            return ""
        for text in (*(cell.text for cell in free), section.rpartition(" | ")[2]):
            if words_of_stock(text) == "discontinued":
                return f"!! {' '.join(text.split())!r} is said of it"
        return ""

    def _readers_of_cells(self) -> dict[str, Callable[[Cell], Reading[Any]]]:
        """What reads the cells of each field, and free text for it."""
        words, spanish = self.stage_words or None, cache(self._is_spanish)
        return {
            "teeth": partial(read_teeth, teeth_column=True, stage_words=words),
            "named teeth": partial(read_teeth, stage_words=words),
            "stage": partial(read_stage, words=words),
            "wheel": partial(read_wheel_size, size_column=True),
            "named wheel": read_wheel_size,
            "housing": partial(read_housing, housing_column=True, in_spanish=spanish),
            "named housing": partial(read_housing, in_spanish=spanish),
            "price": self._read_price,
            "availability": partial(read_availability, stock_column=True),
            "stock in words": read_availability,
        }

    def _once(self, what: str, cell: Cell) -> Reading[Any]:
        """A reading, kept for cells that hold the same."""
        if cell is _BLANK:
            return _NOTHING
        bare = cell
        if self._number and self._number in cell.text and isinstance(cell.value, str):
            text = self._bare(cell.text)
            if text is not cell.text:
                bare = Cell(cell.address, text, text, cell.number_format)
        kept = self._kept.get((what, bare))
        if kept is None:
            is_blank = cell.value is None and not cell.text
            kept = empty(cell) if is_blank else self._readers[what](bare)
            if len(self._kept) < _MOST_KEPT:
                self._kept[what, bare] = kept
        if bare is cell:
            return kept
        # What is told of a text tells it as it is written.
        return self._readers[what](cell) if kept.reason else replace(kept, text=cell.text)

    def _nothing(self, cell: Cell) -> Reading[Any]:
        """The one reading of blank cells of a field."""
        return _NOTHING if cell is _BLANK else self._kept.setdefault(("", cell), empty(cell))

    def _bare(self, text: str) -> str:
        """A text with a word for the row's own part number, if that stands whole in it."""
        number = self._number
        if not number or number not in text:
            return text
        before, _, behind = text.partition(number)
        if before[-1:].isalnum() or behind[:1].isalnum() or number in behind:
            return text
        return f"{before}{_A_NUMBER}{behind}"

    def _words(self, name: Cell, remark: Cell, section: str) -> Words:
        """The free text of a row; texts that come again are kept read."""
        texts = [self._bare(cell.text) for cell in (name, remark)]
        key = *texts, section
        kept = self._texts.get(key)
        if kept is not None:
            return kept
        words = self.stage_words or None
        named = (stages_in(text, words) for text in (*texts, section) if text.strip())
        bare = [Cell("", text, text) for text in (*texts, section) if text.strip()]
        last = section.rpartition(" | ")[2]
        one_line = " ".join(texts[0].split())
        says_amount = any(amounts_said(fold(text), self.currency) for text in texts)
        kept = Words(
            name=one_line,
            text=" | ".join(filter(None, (one_line, texts[1]))),
            stages=next(filter(None, named), ()),
            names_housing=any(self._once("named housing", e).status != "empty" for e in bare),
            speaks_of_prices=says_amount or any(map(_speaks_of_prices, texts)),
            may_repeat=says_amount or any(DISPLACEMENT.search(fold(text)) for text in texts),
            none_left=next(filter(None, map(words_of_stock, (*texts, last))), None),
        )
        if len(self._texts) < _MOST_KEPT:
            self._texts[key] = kept
        return kept

    def _teeth(
        self, row: int, free: Sequence[Cell]
    ) -> tuple[Reading[FoundPairs], FoundPairs | None, bool]:
        """The pairs, those that free text names beside them, and whether they have a column."""
        own = self._once("teeth", self._cell(row, "teeth"))
        named = [
            self._once("named teeth", cell)
            for cell in free
            if isinstance(cell.value, str)
            and not (own.certain and names_the_same(own.value or (), cell.text))
        ]
        apart = own.status != "empty"
        if not apart:
            own = next((each for each in named if each.status != "empty"), own)
        if self.layout.ratio_column:
            own = self._against_ratio(row, own)
        if self._dates and apart and own.certain and self._may_be_date(row):
            own = own.doubted(own.reason or "the column holds dates, and it may be one")
        if apart and self._struck_alone(row, "teeth"):
            own = own.doubted("it is struck through")
        others = [each.value for each in named if each.certain and each is not own]
        differing = (each for each in others if not same_pairs(each, own.value))
        return own, next(differing, others[0]) if others else None, apart

    def _may_be_date(self, row: int) -> bool:
        """Whether what stands for teeth may be a date, by what else its column holds."""
        value = self.layout.sheet.value
        return any(value(row, column) in values for column, values in self._dates.items())

    def _against_ratio(self, row: int, own: Reading[FoundPairs]) -> Reading[FoundPairs]:
        """Pairs that the ratio in a column of its own contradicts are for review."""
        if not own.certain or not own.value:
            return own
        written = self.layout.sheet.cell(row, self.layout.ratio_column).text
        if not ratio_of_others(written, [each.pair for each in own.value]):
            return own
        return own.doubted(f"the column of ratios says {written.strip()}")

    def _stage(
        self, row: int, free: Sequence[Cell], section: str, words: Words
    ) -> tuple[Reading[Stages], Stages, str]:
        """The stage, the one that free text names beside its column, and what the column says."""
        cell = self._cell(row, "stage")
        if not cell.blank:
            return self._once("stage", cell), words.stages, cell.text.strip()
        for text in (*free, as_cell(section)):
            found = self._once("stage", text)
            if found.status in ("read", "review"):
                return found, stages_in(section, self.stage_words or None), ""
        return self._nothing(cell), (), ""

    def _wheel(self, row: int, *others: Cell) -> Reading[Sizes]:
        cell = self._cell(row, "wheel_size")
        if not cell.blank:
            return self._once("wheel", cell)
        for other in others:
            found = self._once("named wheel", other)
            if found.certain:
                return found
        return self._nothing(cell)

    def _housing(
        self, row: int, free: Sequence[Cell], section: str, words: Words
    ) -> tuple[Cell, Reading[Housings], Housings]:
        """The housing's cell, what it says, and what free text or the heading names beside it."""
        cell = self._cell(row, "housing")
        if cell is _BLANK and not words.names_housing and self._housing_word is None:
            return cell, _NOTHING, ()
        if cell.text.strip() in _DASHES:
            cell = replace(cell, text="", value=None)
        if self._struck_alone(row, "housing"):
            cell = replace(cell, text=f"{cell.text.strip()} (struck through)")
        if cell.blank and self._housing_word is not None:
            texts = (each.text for each in (*free, as_cell(section)))
            if said := next(filter(None, map(self._own_housing, texts)), ""):
                cell = Cell(free[0].address if free else "", said, said)
        named = []
        if words.names_housing:
            named = [self._once("named housing", each) for each in (*free, as_cell(section))]
        if not cell.blank:
            own = self._once("housing", cell)
        else:
            own = next((each for each in named if each.status != "empty"), self._nothing(cell))
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
        names = (self._cell(row, "name").text for row in self.layout.data_rows[:_SAMPLE])
        return speaks_spanish((*self.layout.headings.values(), *names))

    def _offer(
        self, row: int, free: Sequence[Cell], words: Words
    ) -> tuple[Reading[Price], Reading[Availability]]:
        """Price and availability; a price column may say `sold out` for one."""
        cell = self._cell(row, "price")
        price = self._once("price", cell)
        stock = self._once("availability", self._cell(row, "availability"))
        if price.status == "unreadable" and _is_worded(cell):
            said = self._once("stock in words", cell)
            if said.certain:
                reason = f"{cell.text.strip()!r} is written instead of a price"
                return empty(cell, reason), said if stock.status == "empty" else stock
        if not price.certain or price.value is None:
            return price, stock
        doubt = None
        if words.speaks_of_prices:
            doubts = (self._price_doubt(cell, price, each.text) for each in free)
            doubt = next(filter(None, doubts), None)
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

    @cached_property
    def style(self) -> NumberStyle:
        """How the column of prices writes its amounts."""
        return find_number_style(self._cell(row, "price") for row in self.layout.data_rows)

    def _group_of(self, row: int) -> Hashable:
        cells = (self._cell(row, name).text for name in ("models", "stage"))
        return self.layout.sections.get(row, ""), *cells

    def _amount(self, row: int, column: int) -> Decimal | None:
        """The amount in a cell; None where there is none for certain."""
        cell = replace(self.layout.sheet.cell(row, column), address="price")
        found = self._once("price", cell)
        return found.value.amount if found.certain and found.value is not None else None

    def _price_doubt(self, cell: Cell, price: Reading[Price], text: str) -> Reading[Price] | None:
        """The price for review, where a free text makes another one of the amount; else None."""
        assert price.value is not None
        said = amounts_said(fold(self._bare(text)), price.value.currency or self.currency)
        is_same = price.value.amount in said.values()
        other = "" if is_same else next(iter(said), "") or set_price_in(text)
        stated = stated_currency(text, of_prices=True)
        meant = currencies_of(stated) or () if stated else ()
        if stated and self.currency not in meant:
            named = Price(price.value.amount, meant[0] if len(meant) == 1 else None)
            why = f"the text speaks of prices in {stated.upper()}"
            return review(cell, why, named, basis=stated.upper())
        if other:
            others = (Price(each) for each in said.values())
            return review(cell, f"the text says {other!r}", price.value, *others)
        basis = pack_in(text)
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


def _speaks_of_prices(text: str) -> bool:
    """Whether a free text says of what the price beside it is."""
    return bool(stated_currency(text, of_prices=True) or set_price_in(text) or pack_in(text))
