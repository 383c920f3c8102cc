"""The ZIP archive that an XLSX or ODS workbook is, and the XML inside it.

Sizes an archive declares may lie, so every part is inflated once and counted before any other
reader sees the file. Document types and entities are refused.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from typing import Protocol
from xml.parsers import expat

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.facts import (
    LONGEST_CELL,
    MAX_INFLATED,
    MAX_PARTS,
    MAX_RATIO,
)

_CHUNK = 1 << 16
_SMALL = 8 * 1024 * 1024
"""A part this small may be packed as well as it likes."""

_HEADER = 30
_LONGEST_STRETCH = 4 * LONGEST_CELL + 4096
"""Bytes without a tag: the longest cell at four bytes a character."""


def part_names(data: bytes) -> frozenset[str]:
    """Names of the parts inside, or none where the archive cannot be opened."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            return frozenset(info.filename for info in packed.infolist()[:MAX_PARTS])
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return frozenset()


class Archive:
    """A workbook's parts, once they are known to be of a sane size."""

    def __init__(self, data: bytes, path: str) -> None:
        self._data = data
        self._path = path
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as packed:
                infos = packed.infolist()
        except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
            raise UnreadableError(
                f"{path}: the workbook is damaged or cut short; ask for it again"
            ) from None
        if len(infos) > MAX_PARTS:
            raise UnreadableError(
                f"{path}: holds {len(infos):,} parts; a workbook of at most {MAX_PARTS:,} is read"
            )
        self._infos = {info.filename: info for info in infos}
        if len(self._infos) < len(infos):
            raise UnreadableError(f"{path}: two parts of the workbook have one name; it is damaged")
        self._check(infos)

    @property
    def names(self) -> frozenset[str]:
        """Names of the parts."""
        return frozenset(self._infos)

    def find(self, name: str) -> str | None:
        """The part of this name, a leading slash and, where need be, upper and lower case aside."""
        if name.lstrip("/") in self._infos:
            return name.lstrip("/")
        wanted = name.lstrip("/").lower()
        return next((each for each in self._infos if each.lower() == wanted), None)

    def read(self, name: str) -> bytes:
        """The bytes of a part.

        Raises:
            UnreadableError: there is none, or it is damaged.
        """
        return b"".join(self.chunks(name))

    def chunks(self, name: str) -> list[bytes]:
        """The bytes of a part, in pieces.

        Raises:
            UnreadableError: there is none, or it is damaged.
        """
        return list(self._inflate(self._info(name)))

    def size(self, name: str) -> int:
        """Bytes of a part, as it declares and unfolds to."""
        return self._info(name).file_size

    def head(self, name: str) -> bytes:
        """The first kilobytes of a part."""
        return next(self._inflate(self._info(name)), b"")[:4096]

    def _info(self, name: str) -> zipfile.ZipInfo:
        found = self.find(name)
        if found is None:
            raise UnreadableError(f"{self._path}: the workbook is damaged: {name} is missing")
        return self._infos[found]

    def _check(self, infos: list[zipfile.ZipInfo]) -> None:
        declared = 0
        for info in infos:
            if info.flag_bits & 0x1:
                raise UnreadableError(
                    f"{self._path}: is locked with a password; save it without one"
                )
            if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                raise UnreadableError(
                    f"{self._path}: is packed as workbooks are not; save it again as .xlsx"
                )
            declared += info.file_size
            self._limit(declared, info.file_size, info.compress_size)
        actual = 0
        for info in infos:
            size = 0
            stretch = 0
            marked_up = info.filename.lower().endswith((".xml", ".rels"))
            for chunk in self._inflate(info):
                size += len(chunk)
                self._limit(actual + size, size, info.compress_size)
                if marked_up:
                    stretch = self._stretch(info, stretch, chunk)
            if size != info.file_size:
                raise UnreadableError(
                    f"{self._path}: {info.filename} unpacks to another size than it declares; "
                    "the workbook is damaged"
                )
            actual += size

    def _stretch(self, info: zipfile.ZipInfo, before: int, chunk: bytes) -> int:
        """Refuse a text beyond all measure before any parser holds it; the stretch left open."""
        first, *others = chunk.split(b"<")
        longest = max(before + len(first), max(map(len, others), default=0))
        if longest > _LONGEST_STRETCH:
            raise UnreadableError(
                f"{self._path}: {info.filename} holds a cell of more than "
                f"{LONGEST_CELL:,} characters; is it a list?"
            )
        return len(others[-1]) if others else before + len(first)

    def _limit(self, total: int, size: int, packed: int) -> None:
        if total > MAX_INFLATED:
            raise UnreadableError(
                f"{self._path}: unpacks to more than {MAX_INFLATED // 1024**2} MB; "
                "it is refused as a trap; split the list if it is one"
            )
        if size > _SMALL and size > MAX_RATIO * max(packed, 1):
            raise UnreadableError(
                f"{self._path}: unpacks to more than {MAX_RATIO} times its size; "
                "it is refused as a trap"
            )

    def _inflate(self, info: zipfile.ZipInfo) -> Iterator[bytes]:
        start = info.header_offset
        header = self._data[start : start + _HEADER]
        if len(header) < _HEADER or not header.startswith(b"PK\x03\x04"):
            raise self._damaged(info)
        start += _HEADER + int.from_bytes(header[26:28], "little")
        start += int.from_bytes(header[28:30], "little")
        end = start + info.compress_size
        if end > len(self._data):
            raise self._damaged(info)
        if info.compress_type == zipfile.ZIP_STORED:
            yield self._data[start:end]
            return
        engine = zlib.decompressobj(-zlib.MAX_WBITS)
        view = memoryview(self._data)
        try:
            for place in range(start, end, _CHUNK):
                piece = bytes(view[place : min(place + _CHUNK, end)])
                while piece:
                    yield engine.decompress(piece, 1 << 20)
                    piece = engine.unconsumed_tail
            yield engine.flush()
        except zlib.error:
            raise self._damaged(info) from None
        if not engine.eof:
            raise self._damaged(info)

    def _damaged(self, info: zipfile.ZipInfo) -> UnreadableError:
        return UnreadableError(
            f"{self._path}: {info.filename} is damaged or cut short; ask for the workbook again"
        )


Started = Callable[[str, dict[str, str]], object]
Ended = Callable[[str], object]
Texted = Callable[[str], object]


class Done(Protocol):
    """Knows when a part has been read far enough."""

    done: bool


class _ForbiddenError(Exception):
    """A document type or an entity, which no workbook needs."""


class _EncodingError(Exception):
    """An encoding that the parser cannot read."""


_NATIVE = frozenset({"utf-8", "utf-16", "utf-16le", "utf-16be"})


def _forbid(*_: object) -> int:
    raise _ForbiddenError


def _declared(_version: str, encoding: str | None, _standalone: int) -> None:
    """Refuse an encoding before the parser meets it: it knows those of one byte a character."""
    if encoding is None or encoding.lower() in _NATIVE:
        return
    try:
        known = len(bytes(range(256)).decode(encoding, "replace")) == 256
    except (LookupError, ValueError):
        known = False
    if not known:
        raise _EncodingError


def read_xml(
    chunks: Iterable[bytes],
    where: str,
    start: Started,
    end: Ended | None = None,
    text: Texted | None = None,
    *,
    until: Done | None = None,
) -> None:
    """Hand every element of a part to the callers' functions.

    Args:
        chunks: the part's bytes.
        where: file and part, for messages.
        start: called with an element's name, prefix included, and its attributes.
        end: called with an element's name.
        text: called with stretches of text.
        until: reading ends after the piece in which its `done` turns true.

    Raises:
        UnreadableError: broken XML, or one that declares a document type or entities.
    """
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    if end is not None:
        parser.EndElementHandler = end
    if text is not None:
        parser.CharacterDataHandler = text
    parser.XmlDeclHandler = _declared
    parser.StartDoctypeDeclHandler = _forbid
    parser.EntityDeclHandler = _forbid
    parser.ExternalEntityRefHandler = _forbid
    try:
        for chunk in chunks:
            parser.Parse(chunk, False)
            if until is not None and until.done:
                return
        parser.Parse(b"", True)
    except _ForbiddenError:
        raise UnreadableError(
            f"{where}: declares a document type, which no workbook does; it is refused as a trap"
        ) from None
    except _EncodingError:
        raise UnreadableError(
            f"{where}: declares an encoding that no workbook has; it is damaged; save it again"
        ) from None
    except expat.ExpatError as error:
        raise UnreadableError(
            f"{where}: the workbook is damaged (line {error.lineno}); save it again"
        ) from None
