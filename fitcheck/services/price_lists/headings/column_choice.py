"""Choose one column for each field: the headings guess, the cells agree or do not."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from fitcheck.model.fields import Stage
from fitcheck.model.trade import ListField
from fitcheck.services.price_lists.headings.columns import (
    FIELDS,
    GENERIC,
    JOINT,
    NO_FIELD,
    PACKS,
    RATIOS,
    Guess,
    gear_named,
    guess_fields,
    is_of_several,
    names_other_thing,
    score_heading,
    unit_column,
)
from fitcheck.services.price_lists.headings.layout import Column, Sureness
from fitcheck.services.price_lists.headings.rows import (
    all_wordy,
    filled_cells,
    is_other_header,
    same_header,
)
from fitcheck.services.price_lists.reading.cells import Cell, Sheet
from fitcheck.services.price_lists.wording.availability import read_availability
from fitcheck.services.price_lists.wording.prices import read_price
from fitcheck.services.price_lists.wording.readings import words_of
from fitcheck.services.price_lists.wording.sizes import read_wheel_size
from fitcheck.services.price_lists.wording.stages import read_stage
from fitcheck.services.price_lists.wording.teeth import read_teeth
from fitcheck.services.price_lists.wording.tokens import possible_count

_SAMPLE = 120
_AMBIGUOUS = 3.0
"""Taken from the score of a heading that is a word for several fields, such as `Artikel`."""

_LESS_TELLING = 2.0
"""Taken from the score of a heading that is a word for much, such as `Code`."""

_HIDDEN = 15.0
"""Taken from the score of a hidden column."""


def choose_columns(
    sheet: Sheet, sample: Sequence[int], headings: Mapping[int, str]
) -> dict[ListField, Column]:
    """One column for each field, the best pairs of column and field first.

    Args:
        sheet: the sheet.
        sample: rows by which they are judged, from `sample_rows`.
        headings: column number to heading.

    Returns:
        The columns by field, in the order of `FIELDS`; a field no heading names is left out.
    """
    return _Choice(sheet, sample, headings).columns()


def stages_of_headings(headings: Sequence[str]) -> tuple[Stage, ...]:
    """The stages that headings name, one each and all different; else none."""
    named = [read_stage(heading) for heading in headings]
    stages = [each.value[0] for each in named if each.value and len(each.value) == 1]
    return tuple(stages) if len(stages) == len(headings) == len(set(stages)) else ()


def wheel_beside(
    sheet: Sheet, sample: Sequence[int], headings: Mapping[int, str], column: int
) -> int:
    """The column of the wheel's teeth, where one heading stands over it and the pinion's, or 0."""
    beside = column + 1
    if beside in headings or beside > sheet.column_count:
        return 0
    return beside if _are_counts(sheet, sample, column, beside) else 0


def _are_counts(sheet: Sheet, sample: Sequence[int], first: int, second: int) -> bool:
    """Whether two columns hold the counts of pinions and of their wheels."""
    pairs = [
        (possible_count(one), possible_count(two))
        for row in sample
        if (one := sheet.cell(row, first).text.strip())
        and (two := sheet.cell(row, second).text.strip())
    ]
    fitting = sum(1 for one, two in pairs if one and two and 5 * one < 4 * two)
    counts = sum(1 for one, two in pairs if one and two)
    return bool(pairs) and counts >= 0.8 * len(pairs) and 2 * fitting >= len(pairs)


class _Choice:
    """Columns chosen one after another; each is taken for one field at most.

    Args:
        sheet: the sheet.
        sample: rows by which columns are judged.
        headings: column number to heading.
    """

    def __init__(self, sheet: Sheet, sample: Sequence[int], headings: Mapping[int, str]) -> None:
        self._sheet = sheet
        self._sample = sample
        self._headings = headings
        self._guesses = guess_fields(headings)
        self._chosen: dict[ListField, Column] = {}
        words = {column: words_of(heading) for column, heading in headings.items()}
        self._words = words
        self._used = {unit_column(sheet, sample, words), unit_column(sheet, sample, words, PACKS)}

    def columns(self) -> dict[ListField, Column]:
        """The columns by field, in the order of `FIELDS`."""
        self._join_counts()
        picked = self._pick()
        self._join_names()
        self._choose_by_cells()
        notes = notes_column(self._left)
        if notes is not None:
            self._chosen["notes"] = notes
            self._used |= {notes.column, notes.second}
        for name, (column, guess) in picked.items():
            self._name_rivals(name, column, guess)
        if "price" not in self._chosen:
            self._offer("price", self._holds_amounts, "its cells are amounts of money")
        if "part_number" not in self._chosen:
            self._offer("part_number", self._holds_numbers, "each of its cells is another number")
        self._doubt_teeth()
        return {name: self._chosen[name] for name in FIELDS if name in self._chosen}

    @property
    def _left(self) -> dict[int, str]:
        """Headings of the columns that are not taken."""
        return {at: text for at, text in self._headings.items() if at not in self._used}

    def _join_counts(self) -> None:
        """Teeth in two columns: the pinion's and the wheel's, or those of each stage."""
        gears = {column: gear_named(self._words[column]) for column in self._left}
        pinions = [column for column, gear in gears.items() if gear == "pinion"]
        wheels = [column for column, gear in gears.items() if gear == "wheel"]
        both = ((first, second) for first in pinions for second in wheels)
        apart = next((e for e in both if _are_counts(self._sheet, self._sample, *e)), ())
        if apart:
            self._read_together(apart, "pinion and wheel stand in two columns, read together")
            return
        staged = tuple(
            column
            for column, heading in self._left.items()
            if stages_of_headings([heading]) and self._holds_pairs(column)
        )
        stages = stages_of_headings([self._headings[column] for column in staged])
        if stages and len(staged) <= 2:
            reason = "the teeth of each stage stand in a column of their own"
            self._read_together(staged, reason, stages)

    def _read_together(
        self, columns: Sequence[int], reason: str, stages: tuple[Stage, ...] = ()
    ) -> None:
        """Read one or two columns as the teeth."""
        heading = JOINT.join(self._headings[column] for column in columns)
        second = columns[1] if len(columns) > 1 else 0
        self._chosen["teeth"] = Column(
            "teeth", columns[0], heading, "likely", reason=reason, second=second, stages=stages
        )
        self._used.update(columns)

    def _pick(self) -> dict[ListField, tuple[int, Guess]]:
        """Choose the best pairs of column and field."""
        hidden = self._sheet.hidden_columns
        agreeing: dict[tuple[int, ListField], float | None] = {}
        ranked: list[tuple[float, int, Guess]] = []
        for column, options in self._guesses.items():
            for guess in options:
                if guess.field == "notes" or guess.field in self._chosen or column in self._used:
                    continue  # any number of columns may hold remarks
                share = _agreement(self._sheet, self._sample, column, guess.field)
                agreeing[column, guess.field] = share
                # Cells count as well, and what is hidden is meant less for the reader.
                weight = 0 if share is None else 20 * share - 10
                if column in hidden:
                    weight -= _HIDDEN
                if _is_ambiguous(options):
                    weight -= _AMBIGUOUS
                elif self._words[column] in GENERIC:
                    weight -= _LESS_TELLING
                ranked.append((guess.score + weight, -column, guess))
        ranked.sort(key=lambda each: (each[0], each[1]), reverse=True)
        picked: dict[ListField, tuple[int, Guess]] = {}
        for _, negative, guess in ranked:
            if -negative not in self._used and guess.field not in picked:
                self._used.add(-negative)
                picked[guess.field] = (-negative, guess)
        for name, (column, guess) in picked.items():
            meant = _less_sure(guess) if column in hidden else guess
            share = agreeing[column, name]
            self._chosen[name] = _column(meant, column, self._headings[column], share)
            if name == "teeth":
                beside = wheel_beside(self._sheet, self._sample, self._headings, column)
                if beside:
                    reason = "one heading stands over pinion and wheel, read together"
                    self._chosen[name] = replace(
                        self._chosen[name], second=beside, sureness="likely", reason=reason
                    )
        return picked

    def _name_rivals(self, name: ListField, column: int, guess: Guess) -> None:
        """A column is doubtful where another, not taken, looks as much like its field.

        Whatever its heading, a second column of amounts like the prices may be the price. Else a
        heading that is just a word for the field, and for it only, goes before all that are not.
        """
        hidden = self._sheet.hidden_columns
        known = self._guesses.get(column, ())
        is_plain = guess.score == 100 and not _is_ambiguous(known)
        is_plain = is_plain and name not in ("price", "name") and self._words[column] not in GENERIC
        rivals = tuple(
            heading
            for other, heading in self._left.items()
            if (column in hidden or other not in hidden)
            and not (name == "part_number" and self._numbers_lines(other))
            and (is_of_several(self._headings[column]) or not is_of_several(heading))
            and (
                (
                    (options := self._guesses.get(other))
                    and options[0].field == name
                    and options[0].score >= guess.score - (0 if is_plain else 10)
                    and not (is_plain and _is_ambiguous(options))
                    and not (is_plain and self._words[other] in GENERIC)
                )
                or (name == "price" and self._is_like_prices(other, column))
            )
        )
        if rivals:
            chosen = self._chosen[name]
            reason = f"{chosen.reason}; so does {' and '.join(map(repr, rivals))}"
            self._chosen[name] = replace(chosen, sureness="weak", reason=reason, rivals=rivals)

    def _numbers_lines(self, column: int) -> bool:
        """Whether the cells of a column number the lines: 1, 2, 3."""
        return _agreement(self._sheet, self._sample, column, "part_number") == 0

    def _is_like_prices(self, other: int, price: int) -> bool:
        """Whether a column holds amounts of the size of the prices, and no heading says of what."""
        guesses = self._guesses.get(other, ())
        if names_other_thing(self._headings[other]) or (guesses and guesses[0].field != "price"):
            return False
        cells = [
            (one, two)
            for row in self._sample
            if not (one := self._sheet.cell(row, price)).blank
            and not (two := self._sheet.cell(row, other)).blank
        ]
        # Counts beside prices with cents are no prices.
        cents = [sum(map(_is_money, each)) for each in zip(*cells, strict=True)]
        if not cells or 2 * cents[1] < cents[0]:
            return False
        amounts = [(_amount(one), _amount(two)) for one, two in cells]
        priced = sum(not self._sheet.cell(row, price).blank for row in self._sample)
        alike = sum(1 for one, two in amounts if one and two and one / 5 <= two <= one * 5)
        return alike >= 0.8 * priced

    def _offer(self, name: ListField, holds: Callable[[int], bool], reason: str) -> None:
        """Where no heading names a field, ask whether one of the columns that may hold it is it."""
        columns = [
            column
            for column, heading in self._left.items()
            if not (self._guesses.get(column) or names_other_thing(heading))
            and not is_of_several(heading)
            and holds(column)
        ]
        if not columns:
            bare = range(1, self._sheet.column_count + 1)
            columns = [each for each in bare if each not in self._headings and holds(each)][:1]
        if columns:
            first, *rest = columns
            rivals = tuple(self._headings[each] for each in rest)
            heading, reason = self._headings.get(first, ""), f"{reason}, no heading names it"
            self._chosen[name] = Column(
                name, first, heading, "weak", reason=reason, rivals=rivals, by_cells=True
            )
            self._used.add(first)

    def _holds_numbers(self, column: int) -> bool:
        """Whether nearly all rows have something with digits in a column, each something else."""
        texts = [self._sheet.cell(row, column).text.strip() for row in self._sample]
        numbers = {text for text in texts if any(map(str.isdigit, text))}
        return len(texts) > 1 and len(numbers) >= 0.9 * len(texts)

    def _holds_amounts(self, column: int) -> bool:
        """Whether nearly all rows have an amount with cents or a currency in a column."""
        cells = [self._sheet.cell(row, column) for row in self._sample]
        money = sum(
            1 for cell in cells if _is_money(cell) and (found := _amount(cell)) and found >= 1
        )
        return bool(cells) and money >= 0.8 * len(cells)

    def _join_names(self) -> None:
        """Two columns of names, `Bezeichnung 1` and `Bezeichnung 2`, are one text."""
        name = self._chosen.get("name")
        if name is None:
            return
        stem = words_of(name.heading).rstrip("123456789 ")
        others = [
            column
            for column, heading in self._left.items()
            if words_of(heading).rstrip("123456789 ") == stem
        ] or [
            column
            for column in self._left
            if (known := self._guesses.get(column))
            and known[0].field == "name"
            and known[0].score >= 95
        ]
        if stem and len(others) == 1:
            heading = JOINT.join((name.heading, self._headings[others[0]]))
            reason = "the text stands in two columns, read together"
            self._chosen["name"] = replace(
                name, heading=heading, second=others[0], sureness="likely", reason=reason
            )
            self._used.add(others[0])

    def _choose_by_cells(self) -> None:
        """A column of teeth, or of stages, tells itself by its cells, whatever its heading says."""
        if "stage" not in self._chosen:
            for column in self._left:
                texts = [self._sheet.cell(row, column).text for row in self._sample]
                texts = [text for text in texts if any(map(str.isalnum, text))]
                if texts and all(read_stage(each).certain for each in texts):
                    self._take("stage", column, "its cells name stages")
                    break
        if "teeth" in self._chosen:
            return
        for column, heading in self._left.items():
            if words_of(heading) in NO_FIELD - RATIOS:
                continue
            filled_rows = sum(not self._sheet.cell(row, column).blank for row in self._sample)
            if 2 * filled_rows < len(self._sample):
                continue
            share = _agreement(self._sheet, self._sample, column, "teeth")
            if share is not None and share >= 0.8:
                self._take("teeth", column, f"{share:.0%} of its cells are tooth counts")
                return

    def _take(self, name: ListField, column: int, reason: str) -> None:
        heading, reason = self._headings[column], f"{reason}, though its heading is another"
        self._chosen[name] = Column(name, column, heading, "likely", reason=reason)
        self._used.add(column)

    def _doubt_teeth(self) -> None:
        """A second column of pairs makes the first one doubtful: which of them are the set's?"""
        teeth = self._chosen.get("teeth")
        if teeth is None or teeth.second or not self._holds_pairs(teeth.column):
            return
        others = tuple(text for column, text in self._left.items() if self._holds_pairs(column))
        if others:
            reason = f"{teeth.reason}; {' and '.join(map(repr, others))} holds pairs as well"
            self._chosen["teeth"] = replace(teeth, sureness="weak", reason=reason, rivals=others)

    def _holds_pairs(self, column: int) -> bool:
        """Whether nearly all cells of a column that say something are pairs of counts."""
        cells = [self._sheet.cell(row, column) for row in self._sample]
        held = [cell for cell in cells if any(map(str.isalnum, cell.text))]
        pairs = sum(
            1
            for cell in held
            if not _is_money(cell) and read_teeth(cell, teeth_column=True).certain
        )
        return bool(held) and pairs >= 0.8 * len(held)


def notes_column(headings: Mapping[int, str]) -> Column | None:
    """The column of remarks among some headings; of several, the first two read together."""
    found = [
        column
        for column, heading in headings.items()
        if (best := score_heading(heading)) and best[0].field == "notes" and best[0].score >= 75
    ][:2]
    if not found:
        return None
    heading = JOINT.join(headings[column] for column in found)
    second = found[1] if len(found) > 1 else 0
    return Column("notes", found[0], heading, "sure", reason="its heading says so", second=second)


def _is_ambiguous(guesses: Sequence[Guess]) -> bool:
    """Whether a heading is as good a word for two fields."""
    return len(guesses) > 1 and guesses[0].score == guesses[1].score


def _less_sure(guess: Guess) -> Guess:
    """A guess for a hidden column."""
    return replace(guess, score=guess.score - _HIDDEN, reason=f"{guess.reason}; it is hidden")


def _column(guess: Guess, column: int, heading: str, share: float | None) -> Column:
    reason = guess.reason
    sureness: Sureness = "likely"
    if share is not None and share < 0.5:
        reason += f"; only {share:.0%} of its cells read like it"
        sureness = "weak"
    elif guess.score >= 95 and (share is None or share >= 0.8):
        sureness = "sure"
    return Column(guess.field, column, heading, sureness, reason=reason)


def sample_rows(sheet: Sheet, start: int, headings: Mapping[int, str]) -> list[int]:
    """Rows below a header by which its columns are judged, down to the next table's header."""
    found: list[int] = []
    for row in range(start, sheet.row_count + 1):
        texts = filled_cells(sheet, row)
        if len(texts) < 2 or same_header(texts, headings, ()):
            continue
        if all_wordy(texts.values()) and is_other_header(sheet, row, texts, None):
            break
        found.append(row)
        if len(found) == _SAMPLE:
            break
    return found


def _agreement(sheet: Sheet, sample: Sequence[int], column: int, name: ListField) -> float | None:
    """The share of a column's cells that read like a field; None where that cannot be told."""
    if name not in ("teeth", "price", "wheel_size", "availability", "part_number"):
        return None
    cells = [sheet.cell(row, column) for row in sample]
    held = [cell for cell in cells if not cell.blank]
    if not held:
        return None
    if name == "part_number":
        different = len({cell.text.strip() for cell in held}) / len(held)
        return (0.0 if _are_running(held) else different) if len(sample) >= 5 else None
    return sum(_reads_like(cell, name) for cell in held) / len(held)


def _are_running(cells: Sequence[Cell]) -> bool:
    """Whether cells number the lines of a list: 1, 2, 3."""
    texts = [cell.text.strip() for cell in cells]
    return texts == [str(number) for number in range(1, len(texts) + 1)]


def _reads_like(cell: Cell, name: ListField) -> bool:
    if name == "teeth":
        if _is_money(cell):
            return False
        # A lone small number or a date may be teeth elsewhere, but makes no column of teeth.
        return read_teeth(cell, teeth_column=True).status in ("read", "review")
    if name == "price":
        return read_price(cell).status in ("read", "empty", "review")
    if name == "wheel_size":
        return read_wheel_size(cell, size_column=True).status == "read"
    return read_availability(cell).status == "read"


_MONEY = re.compile(r"[^0-9]{0,5}[0-9]{1,3}(?:[.,' ]?[0-9]{3})*[.,][0-9]{2}[^0-9/:x]{0,5}")


def _is_money(cell: Cell) -> bool:
    """Whether a cell is written like an amount of money: cents, or the sign of a currency."""
    if isinstance(cell.value, str):
        return _MONEY.fullmatch(cell.text.strip()) is not None
    if isinstance(cell.value, bool) or not isinstance(cell.value, (int, float)):
        return False
    return not float(cell.value).is_integer() or "0.00" in cell.number_format


def _amount(cell: Cell) -> Decimal | None:
    """The amount of money in a cell, as far as it can be told; None where it holds none."""
    found = read_price(cell)
    possible = (found.value, *found.candidates)
    return next((each.amount for each in possible if each is not None), None)
