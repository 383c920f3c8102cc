"""The compound file that an XLS workbook is: a small file system of chained sectors.

After [MS-CFB], Compound File Binary File Format.
"""

from __future__ import annotations

import struct

from fitcheck.errors import UnreadableError

_END = 0xFFFFFFFA
"""Sector numbers from here on mean an end, a free sector or a table."""

_MAX_ENTRIES = 20_000


class _Container:
    def __init__(self, data: bytes, path: str) -> None:
        self.data = data
        self.path = path
        if len(data) < 512:
            raise self.damaged()
        shift, mini_shift = struct.unpack_from("<HH", data, 30)
        if shift not in (9, 12) or mini_shift != 6:
            raise self.damaged()
        self.size = 1 << shift
        (tables,) = struct.unpack_from("<I", data, 44)
        self.directory_start, _, self.cutoff, mini_start, _, extra, _ = struct.unpack_from(
            "<7I", data, 48
        )
        # Counts of sectors are believed by the reader, which takes memory for them.
        counts = (struct.unpack_from("<I", data, at)[0] for at in (40, 44, 64, 72))
        if any(count > len(data) // self.size for count in counts):
            raise self.damaged()
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

    def damaged(self) -> UnreadableError:
        return UnreadableError(
            f"{self.path}: the workbook is damaged or cut short; ask for it again"
        )

    def sector(self, number: int) -> bytes:
        start = (number + 1) * self.size
        if start >= len(self.data):
            raise self.damaged()
        return self.data[start : start + self.size]

    def chain(self, number: int) -> bytes:
        pieces = []
        most = len(self.data) // self.size + 1
        while number < _END:
            pieces.append(self.sector(number))
            if len(pieces) > most or number >= len(self.fat):
                raise self.damaged()
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
                raise self.damaged()
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

    def stream(self, first: int, size: int) -> bytes:
        if size >= self.cutoff:
            return self.chain(first)[:size]
        pieces: list[bytes] = []
        number = first
        while number < _END:
            if number >= len(self.mini_fat) or len(pieces) > len(self.mini_fat):
                raise self.damaged()
            pieces.append(self.mini[number * 64 : number * 64 + 64])
            number = self.mini_fat[number]
        return b"".join(pieces)[:size]


def stream_names(data: bytes, path: str) -> set[str]:
    """Names of the streams inside, in lower case.

    Raises:
        UnreadableError: a damaged container.
    """
    return {name.lower() for name, _, _, _ in _open(data, path).entries}


def streams(data: bytes, path: str, names: tuple[str, ...]) -> bytes | None:
    """The first stream that has one of these names, upper and lower case aside.

    Raises:
        UnreadableError: a damaged container.
    """
    container = _open(data, path)
    for wanted in names:
        for name, kind, first, size in container.entries:
            if kind == 2 and name.lower() == wanted:
                return container.stream(first, size)
    return None


def _open(data: bytes, path: str) -> _Container:
    try:
        return _Container(data, path)
    except struct.error:
        raise UnreadableError(
            f"{path}: the workbook is damaged or cut short; ask for it again"
        ) from None
