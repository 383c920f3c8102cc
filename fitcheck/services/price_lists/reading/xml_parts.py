"""The XML inside a workbook, read piece by piece; document types and entities are refused."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Protocol
from xml.parsers import expat

from fitcheck.errors import UnreadableError

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
