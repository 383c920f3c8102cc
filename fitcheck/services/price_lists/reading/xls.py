"""Extent, hidden and struck parts, merges, formats and notes of the sheets of an XLS workbook.

The compound file around it, a small file system of chained sectors, follows [MS-CFB], Compound File
Binary File Format; records and their fields [MS-XLS], Excel Binary File Format (BIFF8), and its
forerunner.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.cells import MAX_CELLS, MAX_SHEETS
from fitcheck.services.price_lists.reading.workbooks import Facts, SheetFacts
from fitcheck.services.price_lists.reading.xlsx import BUILT_IN_FORMATS

COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""How a compound file begins."""

_END = 0xFFFFFFFA
"""Sector numbers from here on mean an end, a free sector or a table."""

_MAX_ENTRIES = 20_000


class _Container:
    def __init__(self, data: bytes, path: str) -> None:
        self.data = data
        self.path = path
        if len(data) < 512:
            raise _damaged(self.path)
        shift, mini_shift = struct.unpack_from("<HH", data, 30)
        if shift not in (9, 12) or mini_shift != 6:
            raise _damaged(self.path)
        self.size = 1 << shift
        (tables,) = struct.unpack_from("<I", data, 44)
        self.directory_start, _, self.cutoff, mini_start, _, extra, _ = struct.unpack_from(
            "<7I", data, 48
        )
        # Counts of sectors are believed by the reader, which takes memory for them.
        counts = (struct.unpack_from("<I", data, at)[0] for at in (40, 44, 64, 72))
        if any(count > len(data) // self.size for count in counts):
            raise _damaged(self.path)
        self.fat = self._fat(tables, extra)
        self.entries = self._directory()
        self.mini_fat: tuple[int, ...] = ()
        self.mini = b""
        if mini_start < _END:
            table = self.chain(mini_start)
            self.mini_fat = struct.unpack(f"<{len(table) // 4}I", table[: len(table) // 4 * 4])
            root = next((entry for entry in self.entries if entry[1] == 5), None)
            if root is not None and root[2] < _END:
                self.mini = self.chain(root[2])

    def sector(self, number: int) -> bytes:
        start = (number + 1) * self.size
        if start >= len(self.data):
            raise _damaged(self.path)
        return self.data[start : start + self.size]

    def chain(self, number: int) -> bytes:
        pieces = []
        most = len(self.data) // self.size + 1
        while number < _END:
            pieces.append(self.sector(number))
            if len(pieces) > most or number >= len(self.fat):
                raise _damaged(self.path)
            number = self.fat[number]
        return b"".join(pieces)

    def _fat(self, tables: int, extra: int) -> tuple[int, ...]:
        numbers = [n for n in struct.unpack_from("<109I", self.data, 76) if n < _END]
        seen = 0
        while extra < _END:
            table = self.sector(extra)
            *more, extra = struct.unpack(f"<{len(table) // 4}I", table[: len(table) // 4 * 4])
            numbers += [n for n in more if n < _END]
            seen += 1
            if seen > 10_000:
                raise _damaged(self.path)
        whole = b"".join(self.sector(number) for number in numbers[: min(tables, 1_000_000)])
        return struct.unpack(f"<{len(whole) // 4}I", whole[: len(whole) // 4 * 4])

    def _directory(self) -> list[tuple[str, int, int, int]]:
        data = self.chain(self.directory_start)
        entries = []
        for start in range(0, min(len(data), _MAX_ENTRIES * 128) - 127, 128):
            length, kind = struct.unpack_from("<HB", data, start + 64)
            name = data[start : start + max(0, min(length, 64) - 2)].decode("utf-16-le", "replace")
            first, size = struct.unpack_from("<II", data, start + 116)
            if kind in (2, 5):
                entries.append((name, kind, first, size))
        return entries

    def stream_of(self, wanted: str) -> bytes | None:
        """The first stream of a name, upper and lower case aside."""
        for name, kind, first, size in self.entries:
            if kind == 2 and name.lower() == wanted:
                return self.stream(first, size)
        return None

    def stream(self, first: int, size: int) -> bytes:
        if size >= self.cutoff:
            return self.chain(first)[:size]
        pieces: list[bytes] = []
        number = first
        while number < _END:
            if number >= len(self.mini_fat) or len(pieces) > len(self.mini_fat):
                raise _damaged(self.path)
            pieces.append(self.mini[number * 64 : number * 64 + 64])
            number = self.mini_fat[number]
        return b"".join(pieces)[:size]


def is_locked(data: bytes, path: str) -> bool:
    """Whether a compound file is an XLSX workbook behind a password."""
    try:
        return _open(data, path).stream_of("encryptedpackage") is not None
    except UnreadableError:
        return False


def _damaged(path: str) -> UnreadableError:
    return UnreadableError(f"{path}: the workbook is damaged or cut short; ask for it again")


def _open(data: bytes, path: str) -> _Container:
    try:
        return _Container(data, path)
    except struct.error:
        raise _damaged(path) from None


_BOF, _EOF, _FILEPASS, _BOUNDSHEET = 0x0809, 0x000A, 0x002F, 0x0085
_FONT, _FORMAT, _XF = 0x0031, 0x041E, 0x00E0
_ROW, _COLINFO, _MERGED, _DIMENSIONS = 0x0208, 0x007D, 0x00E5, 0x0200
_NOTE, _OBJ, _TXO, _CONTINUE = 0x001C, 0x005D, 0x01B6, 0x003C
_FORMULA, _BOOLERR, _MULRK = 0x0006, 0x0205, 0x00BD
_CELLS = frozenset({0x0203, 0x027E, 0x00FD, 0x0204, _FORMULA, _BOOLERR, 0x00D6})


def read_xls_facts(data: bytes, path: str) -> Facts:
    """Facts of every sheet, in the workbook's order.

    Raises:
        UnreadableError: locked, damaged, no workbook, or beyond all measure.
    """
    container = _open(data, path)
    stream = container.stream_of("workbook")
    if stream is None:
        stream = container.stream_of("book")
    if stream is None:
        letter = any(name.lower() == "worddocument" for name, _, _, _ in container.entries)
        what = "a letter (.doc)" if letter else "a compound file"
        raise UnreadableError(f"{path}: is {what}, no workbook; save the list as .xlsx or CSV")
    try:
        return Facts(_Walk(stream, path).sheets)
    except struct.error:
        raise _damaged(path) from None


class _Walk:
    def __init__(self, stream: bytes, path: str) -> None:
        self.stream = stream
        self.path = path
        self.wide = True  # BIFF8
        self.formats = dict(BUILT_IN_FORMATS)
        self.styles: list[tuple[int, int]] = []  # font and format
        self.struck_fonts: list[bool] = []
        self.places: list[tuple[int, int, SheetFacts]] = []
        self._globals()
        if len(self.places) > MAX_SHEETS:
            raise UnreadableError(
                f"{path}: has {len(self.places):,} sheets; at most {MAX_SHEETS} are read"
            )
        looks = ((n, self._look(*style)) for n, style in enumerate(self.styles))
        self.looks = {number: look for number, look in looks if any(look)}
        for place, _, facts in self.places:
            self._sheet(place, facts)
            facts.check(path)
        # The reader takes in all sheets at once, charts and macros too.
        if sum(facts.last_row * facts.last_column for _, _, facts in self.places) > MAX_CELLS:
            raise UnreadableError(f"{path}: its sheets reach over more than {MAX_CELLS:,} cells")
        self.sheets = [facts for _, kind, facts in self.places if kind == 0]

    def _look(self, font: int, number: int) -> tuple[str, bool]:
        """A style's number format code, or empty, and whether it strikes through."""
        code = self.formats.get(number, "")
        font -= font > 4  # there is no font 4
        struck = font < len(self.struck_fonts) and self.struck_fonts[font]
        return "" if code.lower() in ("general", "@") else code, struck

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
                name = self._text(stream[place + 6], place + 7)
                self.places.append((start, kind, SheetFacts(name, hidden=bool(state & 3))))
            elif record == _FORMAT:
                (number,) = struct.unpack_from("<H", stream, place)
                if self.wide:
                    (count,) = struct.unpack_from("<H", stream, place + 2)
                    self.formats[number] = self._text(count, place + 4)
                else:
                    self.formats[number] = self._text(stream[place + 2], place + 3)
            elif record == _FONT and length >= 4:
                self.struck_fonts.append(bool(stream[place + 2] & 8))
            elif record == _XF and length >= 4:
                self.styles.append(struct.unpack_from("<HH", stream, place))

    def _text(self, count: int, start: int) -> str:
        if not self.wide:
            return self.stream[start : start + count].decode("cp1252", "replace")
        if self.stream[start] & 1:
            raw = self.stream[start + 1 : start + 1 + 2 * count]
            return raw.decode("utf-16-le", "replace")
        return self.stream[start + 1 : start + 1 + count].decode("latin-1")

    def _sheet(self, place: int, facts: SheetFacts) -> None:
        stream, looks = self.stream, self.looks
        unpack = struct.Struct("<HHH").unpack_from
        notes = _Notes(self.wide)
        last_row = last_column = 0
        for kind, at, length in self._records(place):
            if kind in _CELLS:
                row, column, style = unpack(stream, at)
                if row >= last_row:
                    last_row = row + 1
                if column >= last_column:
                    last_column = column + 1
                if style in looks:
                    code, struck = looks[style]
                    facts.add_look((row + 1, column + 1), code, struck=struck)
                if kind in (_FORMULA, _BOOLERR) and _is_error(stream, kind, at):
                    facts.errors.add((row + 1, column + 1))
            elif kind == _MULRK and length >= 6:
                row, first = struct.unpack_from("<HH", stream, at)
                facts.grow(row + 1, first + (length - 6) // 6)
                for index in range((length - 6) // 6):
                    (style,) = struct.unpack_from("<H", stream, at + 4 + 6 * index)
                    code, struck = looks.get(style, ("", False))
                    facts.add_look((row + 1, first + index + 1), code, struck=struck)
            else:
                self._rare(facts, kind, at, length)
                notes.take(kind, stream[at : at + length])
        facts.grow(last_row, last_column)
        notes.tell(facts)

    def _rare(self, facts: SheetFacts, kind: int, at: int, length: int) -> None:
        unpack = struct.unpack_from
        if kind == _ROW and length >= 14:
            row, flags = unpack("<H10xH", self.stream, at)
            if flags & 0x20:
                facts.hide_row(row + 1)
        elif kind == _COLINFO and length >= 10:
            first, last, width, _, flags = unpack("<5H", self.stream, at)
            if flags & 1 or width == 0:
                facts.column_runs.append((first + 1, min(last, 255) + 1))
        elif kind == _DIMENSIONS:
            self._check_dimensions(at, length)
        elif kind == _MERGED and length >= 2:
            (count,) = unpack("<H", self.stream, at)
            for index in range(min(count, (length - 2) // 8)):
                top, bottom, left, right = unpack("<4H", self.stream, at + 2 + 8 * index)
                facts.merges.append(((top + 1, left + 1), (bottom + 1, right + 1)))

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


class _Notes:
    """Gathers what is noted on cells: a note names an object, whose text stands by itself.

    Args:
        wide: whether texts are those of BIFF8; before it a note holds its own.
    """

    def __init__(self, wide: bool) -> None:
        self._wide = wide
        self._object = 0
        self._missing = 0  # characters of the present text
        self._texts: dict[int, str] = {}
        self._notes: list[tuple[int, int, int]] = []

    def take(self, kind: int, data: bytes) -> None:
        """Take a record."""
        if kind == _CONTINUE and self._missing and data:
            text = data[1:].decode("utf-16-le" if data[0] & 1 else "latin-1", "replace")
            self._texts[self._object] += text[: self._missing]
            self._missing = max(0, self._missing - len(text))
        elif kind == _OBJ and len(data) >= 8:
            (self._object,) = struct.unpack_from("<H", data, 6)
        elif kind == _TXO and len(data) >= 12:
            (self._missing,) = struct.unpack_from("<H", data, 10)
            self._texts[self._object] = ""
        elif kind == _NOTE and len(data) >= 8:
            row, column, length, number = struct.unpack_from("<4H", data)
            if not self._wide:
                number = -len(self._notes) - 1
                self._texts[number] = data[6 : 6 + length].decode("cp1252", "replace")
            self._notes.append((row + 1, column + 1, number))

    def tell(self, facts: SheetFacts) -> None:
        """Give the notes to the sheet's facts."""
        for row, column, number in self._notes:
            facts.unread_notes |= number not in self._texts
            facts.add_note((row, column), self._texts.get(number, ""))


def _is_error(stream: bytes, kind: int, at: int) -> bool:
    """Whether a cell holds an error: said outright, or as the result of its formula."""
    if kind == _BOOLERR:
        return stream[at + 7 : at + 8] == b"\1"
    return stream[at + 6] == 2 and stream[at + 12 : at + 14] == b"\xff\xff"
