"""The list of a stock-take: part, counted pieces and perhaps the place, row by row."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from fitcheck.catalogue.reader import Catalogue
from fitcheck.catalogue.source import shown_path
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.rules.setting import plain_word
from fitcheck.services.intake.reading import Sheet, read_list
from fitcheck.services.shelf.parts import Part, clean_words, find_part

__all__ = ["CountList", "Counted", "read_count_list"]

_HEADINGS: Mapping[str, tuple[str, ...]] = {
    "part": ("part", "id", "partnumber", "partno", "number", "set", "article", "item"),
    "counted": ("counted", "count", "quantity", "qty", "pieces"),
    "place": ("place", "location", "where"),
}
"""Words of a heading, the likeliest first; where two columns have one, the likelier counts."""

_NUMBERS = ("partnumber", "partno")
"""Headings of a second name of the part, beside its id: the two must agree."""

_WHOLE = re.compile(r"\+?[0-9]{1,9}(?:[.,]0{1,2})?")
_NUMBER = re.compile(r"[+\-\N{MINUS SIGN}]?[0-9]+(?:[.,][0-9]+)?")
_ARMED = re.compile(r"'(?=\s*[=+\-@＝＋－＠])")
"""The apostrophe that keeps a spreadsheet from taking a text for a formula."""

_MOST = 1_000_000


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
    """

    path: str
    rows: list[Counted] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def read_count_list(catalogue: Catalogue, path: Path) -> CountList:
    """Read the list of a stock-take: CSV or a spreadsheet, with headings or without.

    With headings the columns are found by their words (part, counted, place), in any order, and
    others do not matter: what `shelf list --format csv` writes can be corrected and read back.
    Without, they are part, pieces and perhaps place.

    Raises:
        UnreadableError: the file cannot be read.
        UsageError: it has several sheets that hold something, or no such columns.
    """
    whole = read_list(path)
    name = shown_path(path)
    sheets = [sheet for sheet in whole.sheets if sheet.row_count and not sheet.hidden]
    if len(sheets) > 1:
        raise UsageError(
            f"{name}: it has {len(sheets)} sheets ({or_list(s.name for s in sheets)}); save the "
            "one that was counted as CSV"
        )
    found = CountList(name)
    first: dict[str, str] = {}
    for sheet in sheets:
        rows = (row for row in range(1, sheet.row_count + 1) if not sheet.is_blank(row))
        head = next(rows, None)
        if head is None:
            continue
        columns, is_heading = _columns(sheet, head, name)
        for row in rows if is_heading else (head, *rows):
            where = f"{name}:{sheet.row_address(row)}"
            try:
                one = _counted(catalogue, _cells(sheet, row, columns), where)
            except UsageError as error:
                found.faults.append(f"{where}: {error}")
                continue
            earlier = first.setdefault(one.part.id, where)
            if earlier != where:
                found.faults.append(
                    f"{where}: {one.part.words} is counted already at {earlier}; add the two up "
                    "into one row"
                )
                continue
            found.rows.append(one)
    if not found.rows and not found.faults:
        raise UsageError(f"{name}: nothing is counted in it; write a part and its pieces in a row")
    return found


def _columns(sheet: Sheet, row: int, name: str) -> tuple[dict[str, int], bool]:
    """Columns by what they hold, and whether that row is one of headings."""
    words = [plain_word(cell.text) for cell in sheet.row(row)]
    found = {}
    for field_name, known in _HEADINGS.items():
        at = next((words.index(word) + 1 for word in known if word in words), None)
        if at is not None:
            found[field_name] = at
    if "part" in found and "counted" in found:
        numbers = [at for at, word in enumerate(words, start=1) if word in _NUMBERS]
        if numbers and found["part"] not in numbers:
            found["number"] = numbers[0]
        return found, True
    if len(words) > 1 and _NUMBER.fullmatch(sheet.cell(row, 2).text.strip()):
        return {"part": 1, "counted": 2, "place": 3}, False
    raise UsageError(
        f"{name}:{sheet.row_address(row)}: no column is headed part, or none counted; write both "
        "words over the columns, or only part and pieces in each row"
    )


def _cells(sheet: Sheet, row: int, columns: Mapping[str, int]) -> dict[str, str]:
    def text(column: int) -> str:
        return _ARMED.sub("", sheet.cell(row, column).text.strip(), count=1)

    return {name: text(column) for name, column in columns.items()}


def _counted(catalogue: Catalogue, cells: Mapping[str, str], where: str) -> Counted:
    name, text = cells["part"], cells["counted"]
    if not name:
        raise UsageError("no part is named; write its id or number")
    part = find_part(catalogue, name)
    _refuse_two_parts(catalogue, part, cells.get("number", ""))
    if not text:
        raise UsageError(f"{part.words} has no count; write 0, or take the row out")
    if not _WHOLE.fullmatch(text):
        shown = text if len(text) <= 30 else f"{text[:27]}..."
        what = "is no whole number of pieces"
        if _NUMBER.fullmatch(text):
            below = text[0] in "-\N{MINUS SIGN}"
            what = "is below zero" if below else "is no whole number of pieces"
        raise UsageError(f"{part.words}: {shown!r} {what}; write 0 or more, without marks")
    quantity = int(re.split("[.,]", text)[0])
    if quantity > _MOST:
        raise UsageError(
            f"{part.words}: {quantity:,} pieces are more than a shelf holds ({_MOST:,}); is the "
            "number right?"
        )
    place = cells.get("place") or None
    return Counted(part, quantity, clean_words(place, "the place"), where)


def _refuse_two_parts(catalogue: Catalogue, part: Part, number: str) -> None:
    """Refuse a row whose two names are of two parts: a column slipped, or was sorted alone.

    A number that no part has is let pass: spreadsheets take zeros from the front of numbers.
    """
    if not number or part.gear_set is None:
        return
    record = part.gear_set.record
    names = (part.id, record.part_number, *record.aliases)
    known = {plain_word(name).lstrip("0") for name in names}
    if plain_word(number).lstrip("0") in known:
        return
    try:
        other = find_part(catalogue, number)
    except UsageError:
        return
    if other.id != part.id:
        raise UsageError(
            f"the row names two parts, {part.words} and {other.words}; put right which was counted"
        )
