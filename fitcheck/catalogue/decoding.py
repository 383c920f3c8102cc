"""Bytes of a catalogue file to text: UTF-8, or a fault that names what the bytes look like."""

from __future__ import annotations

import codecs
import re

from fitcheck.catalogue.problems import Problem, StopReadingError

_ADVICE = "save the file as UTF-8 (in the editor: save with encoding, UTF-8)"

_HIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_NAMES = {
    "\x00": "a NUL character",
    "\x1a": "an end-of-file character (Ctrl-Z)",
    "\x7f": "a delete character",
    "\x85": "a hidden line break (U+0085)",
    "\u2028": "a hidden line break (U+2028)",
    "\u2029": "a hidden line break (U+2029)",
    "\ufeff": "a second byte order mark",
}
_OTHER_MARKS = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
)


def decode(data: bytes) -> tuple[str, bool]:
    """The text of a file, line breaks as they stand, and whether a byte order mark led it.

    Args:
        data: the whole file.

    Raises:
        StopReadingError: the bytes are not UTF-8 text; offsets count in the text with each
            broken byte replaced by one character.
    """
    for mark, name in _OTHER_MARKS:
        if data.startswith(mark):
            raise StopReadingError(
                Problem("FC003", f"the file is saved as {name}, not UTF-8", 0, 0, (), _ADVICE)
            )
    marked = data.startswith(codecs.BOM_UTF8)
    body = data[len(codecs.BOM_UTF8) :] if marked else data
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _not_utf8(body, error.start) from None
    found = _HIDDEN.search(text)
    if found is not None:
        raise StopReadingError(_hidden(text, found.start()))
    return text, marked


def _not_utf8(body: bytes, at: int) -> StopReadingError:
    head = body[:at].decode("utf-8")
    guess = _guess_utf16(body)
    if guess is not None:
        return StopReadingError(
            Problem("FC003", f"the file looks like {guess}, not UTF-8", 0, 0, (), _ADVICE)
        )
    # Western Windows text differs from Latin-1 in 27 signs only; the letter helps to find it.
    letter = body[at : at + 1].decode("cp1252", errors="replace")
    seen = f", perhaps the letter {letter}," if letter.isprintable() and letter != "�" else ""
    return StopReadingError(
        Problem(
            "FC003",
            f"byte 0x{body[at]:02X} here{seen} is not UTF-8; the file looks like Latin-1 or "
            "Windows text",
            len(head),
            len(head) + 1,
            (),
            _ADVICE,
        )
    )


def _guess_utf16(body: bytes) -> str | None:
    sample = body[:4096]
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if max(even, odd) * 5 >= len(sample) and min(even, odd) * 20 <= max(even, odd):
        return "UTF-16"
    return None


def _hidden(text: str, at: int) -> Problem:
    char = text[at]
    if char == "\x00" and _guess_utf16(text.encode("utf-8")) is not None:
        return Problem("FC003", "the file looks like UTF-16, not UTF-8", 0, 0, (), _ADVICE)
    name = _NAMES.get(char, f"the control character U+{ord(char):04X}")
    return Problem(
        "FC004",
        f"{name} stands here; it belongs in no catalogue file",
        at,
        at + 1,
        (),
        "delete it; where it does not show, delete the characters round it and type them again",
    )
