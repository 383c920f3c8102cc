"""The ZIP archive that an XLSX or ODS workbook is, and the XML inside it.

Sizes an archive declares may lie, so every part is inflated once and counted before any other
reader sees the file. Document types and entities are refused.
"""

from __future__ import annotations

import html
import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from functools import lru_cache
from xml.etree import ElementTree
from xml.parsers import expat

from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.reading.cells import MAX_INFLATED, MAX_PARTS, MAX_RATIO

_CHUNK = 1 << 16
_SMALL = 8 * 1024 * 1024
"""A part this small may be packed as well as it likes."""

_HEADER = 30


def part_names(data: bytes) -> frozenset[str]:
    """Names of the parts inside, or none where the archive cannot be opened."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            return frozenset(info.filename for info in packed.infolist()[:MAX_PARTS])
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return frozenset()


class _DamagedError(UnreadableError):
    """A part that cannot be read, while others may."""


class Archive:
    """A workbook's parts, once they are known to be of a sane size."""

    def __init__(self, data: bytes, path: str) -> None:
        self._data = data
        self._path = path
        self._broken: dict[str, UnreadableError] = {}
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
        return b"".join(self._inflate(self._info(name)))

    def size(self, name: str) -> int:
        """Bytes of a part, as it declares and unfolds to."""
        return self._info(name).file_size

    def head(self, name: str) -> bytes:
        """The first kilobytes of a part."""
        return next(self._inflate(self._info(name)), b"")[:4096]

    def is_whole(self, name: str) -> bool:
        """Whether a part is not damaged."""
        return name not in self._broken

    def without(self, name: str) -> bytes:
        """The archive again, with one part left out, and those that are damaged."""
        target = io.BytesIO()
        with zipfile.ZipFile(target, "w") as packed:
            for part in self._infos:
                if part != name and part not in self._broken:
                    packed.writestr(part, self.read(part))
        return target.getvalue()

    def _info(self, name: str) -> zipfile.ZipInfo:
        found = self.find(name)
        if found is None:
            raise UnreadableError(f"{self._path}: the workbook is damaged: {name} is missing")
        if found in self._broken:
            raise self._broken[found]
        return self._infos[found]

    def _check(self, infos: list[zipfile.ZipInfo]) -> None:
        """Refuse what is locked or beyond all measure; a damaged part only when it is read."""
        total = 0
        for info in infos:
            if info.flag_bits & 0x1:
                raise UnreadableError(
                    f"{self._path}: is locked with a password; save it without one"
                )
            if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                raise UnreadableError(
                    f"{self._path}: is packed as workbooks are not; save it again as .xlsx"
                )
            size = crc = 0
            try:
                for chunk in self._inflate(info):
                    size += len(chunk)
                    crc = zlib.crc32(chunk, crc)
                    self._limit(total + size, size, info.compress_size)
            except _DamagedError as error:
                self._broken[info.filename] = error
            else:
                if size != info.file_size:
                    self._broken[info.filename] = _DamagedError(
                        f"{self._path}: {info.filename} unpacks to another size than it declares; "
                        "the workbook is damaged"
                    )
                elif crc != info.CRC:
                    self._broken[info.filename] = self._damaged(info)
            total += size

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

    def _damaged(self, info: zipfile.ZipInfo) -> _DamagedError:
        return _DamagedError(
            f"{self._path}: {info.filename} is damaged or cut short; ask for the workbook again"
        )


_DECLARED = re.compile(rb"\A[^<]*<\?xml[^>]*?encoding\s*=\s*[\"']([^\"']*)")
_TRAP = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
# Characters that XML does not allow, bare or by their number; nobody can mean them.
_FORBIDDEN = bytes(set(range(32)) - {9, 10, 13})
_BY_NUMBER = re.compile(
    rb"&#(?:0*(?:[0-8]|1[124-9]|2[0-9]|3[01])|[xX]0*(?:[0-8bBcCeEfF]|1[0-9a-fA-F]));"
)
WITHIN = rb"""[^>"']*+(?:(?:"[^"]*+"|'[^']*+')[^>"']*+)*+"""
"""What stands in a tag behind its name, for a pattern."""

_ATTRIBUTE = re.compile(rb"""([\w:.-]+)\s*=\s*(?:"([^"]*)"|'([^']*)')""")


@lru_cache(maxsize=4096)
def attributes(tag: bytes) -> dict[str, str]:
    """The attributes in a tag, prefixes kept; not to be changed."""
    return {
        name.decode("ascii"): html.unescape((one or other).decode("utf-8", "replace"))
        for name, one, other in _ATTRIBUTE.findall(tag)
    }


def check_xml(data: bytes, where: str) -> bytes:
    """The bytes of a part, one a sign, to be searched for tags; without what XML does not allow.

    It is parsed once, since a reader that trusts it may never end in broken XML.

    Raises:
        UnreadableError: broken XML, another encoding, or a document type or entities declared.
    """
    declared = _DECLARED.match(data[:1024])
    try:
        encoding = declared[1].decode("ascii") if declared else "utf-8"
        plain = bytes(range(32, 127)).decode(encoding) == bytes(range(32, 127)).decode("ascii")
        single = encoding.lower() == "utf-8" or len(bytes(range(256)).decode(encoding)) == 256
    except (LookupError, ValueError):
        plain = single = False
    if not (plain and single) or data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise UnreadableError(
            f"{where}: declares an encoding that no workbook has; it is damaged; save it again"
        )
    if _TRAP.search(data):
        raise UnreadableError(
            f"{where}: declares a document type, which no workbook does; it is refused as a trap"
        )
    data = _BY_NUMBER.sub(b"", data.translate(None, _FORBIDDEN))
    try:
        expat.ParserCreate().Parse(data, True)
    except expat.ExpatError as error:
        raise UnreadableError(
            f"{where}: the workbook is damaged (line {error.lineno}); save it again"
        ) from None
    return data


def read_xml(data: bytes, where: str) -> ElementTree.Element:
    """The elements of a part.

    Raises:
        UnreadableError: as `check_xml` says.
    """
    try:
        return ElementTree.fromstring(check_xml(data, where))
    except ElementTree.ParseError:  # a prefix that stands for nothing
        raise UnreadableError(f"{where}: the workbook is damaged; save it again") from None
