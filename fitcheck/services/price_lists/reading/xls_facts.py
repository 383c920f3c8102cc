"""Extent, hidden parts, merges and number formats of the sheets of an XLS workbook.

Records and their fields follow [MS-XLS], Excel Binary File Format (BIFF8), and its forerunner.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.compound import stream_names, streams
from fitcheck.services.price_lists.reading.facts import SheetFacts
from fitcheck.services.price_lists.reading.limits import MAX_CELLS, MAX_SHEETS
from fitcheck.services.price_lists.reading.xlsx_facts import BUILT_IN_FORMATS

_BOF, _EOF = 0x0809, 0x000A
_FILEPASS = 0x002F
_BOUNDSHEET = 0x0085
_FORMAT, _XF = 0x041E, 0x00E0
_ROW, _COLINFO, _MERGED = 0x0208, 0x007D, 0x00E5
_DIMENSIONS = 0x0200
_MULRK = 0x00BD
_CELLS = frozenset({0x0203, 0x027E, 0x00FD, 0x0204, 0x0006, 0x0205, 0x00D6})


def read_xls_facts(data: bytes, path: str) -> list[SheetFacts]:
    """Facts of every sheet, in the workbook's order.

    Raises:
        UnreadableError: locked, damaged, no workbook, or beyond all measure.
    """
    names = stream_names(data, path)
    stream = streams(data, path, ("workbook", "book"))
    if stream is None:
        what = "a letter (.doc)" if "worddocument" in names else "a compound file"
        raise UnreadableError(f"{path}: is {what}, no workbook; save the list as .xlsx or CSV")
    try:
        return _Walk(stream, path).sheets
    except struct.error:
        raise UnreadableError(
            f"{path}: the workbook is damaged or cut short; ask for it again"
        ) from None


class _Walk:
    def __init__(self, stream: bytes, path: str) -> None:
        self.stream = stream
        self.path = path
        self.wide = True  # BIFF8
        self.formats = dict(BUILT_IN_FORMATS)
        self.styles: list[int] = []
        self.places: list[tuple[int, int, SheetFacts]] = []
        self._globals()
        if len(self.places) > MAX_SHEETS:
            raise UnreadableError(
                f"{path}: has {len(self.places):,} sheets; at most {MAX_SHEETS} are read"
            )
        self.codes = [self._shown(number) for number in self.styles]
        for place, _, facts in self.places:
            self._sheet(place, facts)
            facts.check(path)
        # The reader takes in all sheets at once, charts and macros too.
        if sum(facts.last_row * facts.last_column for _, _, facts in self.places) > MAX_CELLS:
            raise UnreadableError(f"{path}: its sheets reach over more than {MAX_CELLS:,} cells")
        self.sheets = [facts for _, kind, facts in self.places if kind == 0]

    def _shown(self, number: int) -> str:
        code = self.formats.get(number, "")
        return "" if code.lower() in ("general", "@") else code

    def _records(self, place: int) -> Iterator[tuple[int, int, int]]:
        """Kind, place and length of each record up to the end of the substream."""
        stream = self.stream
        depth = 0
        end = len(stream) - 3
        while place < end:
            kind = stream[place] | stream[place + 1] << 8
            length = stream[place + 2] | stream[place + 3] << 8
            if kind & 0xFF == 0x09 and kind in (_BOF, 0x0409, 0x0209, 0x0009):
                depth += 1
            elif kind == _EOF:
                depth -= 1
                if depth <= 0:
                    return
            elif depth == 1:  # charts inside a sheet have records of their own
                yield kind, place + 4, length
            place += 4 + length

    def _globals(self) -> None:
        stream = self.stream
        kind, _, version = struct.unpack_from("<HHH", stream, 0)
        if kind != _BOF:
            raise UnreadableError(
                f"{self.path}: is a workbook of a very old kind; save it as .xlsx"
            )
        self.wide = version >= 0x0600
        for record, place, length in self._records(0):
            if record == _FILEPASS:
                raise UnreadableError(
                    f"{self.path}: is locked with a password; save it without one"
                )
            if record == _BOUNDSHEET:
                start, state, kind = struct.unpack_from("<IBB", stream, place)
                name = self._text(place + 6, stream[place + 6], place + 7)
                self.places.append((start, kind, SheetFacts(name, bool(state & 3))))
            elif record == _FORMAT:
                (number,) = struct.unpack_from("<H", stream, place)
                if self.wide:
                    (count,) = struct.unpack_from("<H", stream, place + 2)
                    self.formats[number] = self._text(place, count, place + 4)
                else:
                    self.formats[number] = self._text(place, stream[place + 2], place + 3)
            elif record == _XF and length >= 4:
                self.styles.append(struct.unpack_from("<H", stream, place + 2)[0])

    def _text(self, _place: int, count: int, start: int) -> str:
        if not self.wide:
            return self.stream[start : start + count].decode("cp1252", "replace")
        if self.stream[start] & 1:
            raw = self.stream[start + 1 : start + 1 + 2 * count]
            return raw.decode("utf-16-le", "replace")
        return self.stream[start + 1 : start + 1 + count].decode("latin-1")

    def _sheet(self, place: int, facts: SheetFacts) -> None:
        stream = self.stream
        for kind, at, length in self._records(place):
            if kind in _CELLS:
                row, column, style = struct.unpack_from("<HHH", stream, at)
                self._hold(facts, row + 1, column + 1, style)
                if _is_error(stream, kind, at):
                    facts.errors.add((row + 1, column + 1))
            elif kind == _MULRK and length >= 6:
                row, first = struct.unpack_from("<HH", stream, at)
                for index in range((length - 6) // 6):
                    (style,) = struct.unpack_from("<H", stream, at + 4 + 6 * index)
                    self._hold(facts, row + 1, first + index + 1, style)
            else:
                self._rare(facts, kind, at, length)

    def _hold(self, facts: SheetFacts, row: int, column: int, style: int) -> None:
        facts.grow(row, column)
        if style < len(self.codes) and self.codes[style]:
            facts.formats[row, column] = self.codes[style]

    def _rare(self, facts: SheetFacts, kind: int, at: int, length: int) -> None:
        unpack = struct.unpack_from
        if kind == _ROW and length >= 14:
            row, flags = unpack("<H10xH", self.stream, at)
            if flags & 0x20:
                facts.hide_row(row + 1)
        elif kind == _COLINFO and length >= 10:
            first, last, width, _, flags = unpack("<5H", self.stream, at)
            if flags & 1 or width == 0:
                facts.hidden_columns.append((first + 1, min(last, 255) + 1))
        elif kind == _DIMENSIONS:
            self._check_dimensions(at, length)
        elif kind == _MERGED and length >= 2:
            (count,) = unpack("<H", self.stream, at)
            for index in range(min(count, (length - 2) // 8)):
                top, bottom, left, right = unpack("<4H", self.stream, at + 2 + 8 * index)
                facts.merges.append((top + 1, left + 1, bottom + 1, right + 1))

    def _check_dimensions(self, at: int, length: int) -> None:
        # The reader takes memory for the extent declared, whatever the cells.
        rows_first, rows_end, first, end = struct.unpack_from(
            "<IIHH" if length >= 12 and self.wide else "<4H", self.stream, at
        )
        if not rows_first <= rows_end <= 65536 or not first <= end <= 256:
            raise UnreadableError(
                f"{self.path}: a sheet declares {rows_end:,} rows and {end:,} columns, more than "
                "an .xls can hold; it is damaged"
            )


def _is_error(stream: bytes, kind: int, at: int) -> bool:
    """Whether a cell holds an error: said outright, or as the result of its formula."""
    if kind == 0x0205:
        return stream[at + 7 : at + 8] == b"\1"
    return kind == 0x0006 and stream[at + 6] == 2 and stream[at + 12 : at + 14] == b"\xff\xff"
