"""In which encoding a text file is written, found out from its bytes and its letters.

The letters are those of the five languages' own alphabets; what stands beside them is common
practice, no source.
"""

from __future__ import annotations

import codecs
import re

from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.price_lists.reading.cells import Note
from fitcheck.services.price_lists.reading.facts import counted

_MARKS = (
    (codecs.BOM_UTF8, "utf-8", "UTF-8 with a byte order mark"),
    (codecs.BOM_UTF32_LE, "utf-32-le", "UTF-32, little-endian, with a byte order mark"),
    (codecs.BOM_UTF32_BE, "utf-32-be", "UTF-32, big-endian, with a byte order mark"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16, little-endian, with a byte order mark"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16, big-endian, with a byte order mark"),
)
_SAMPLE = 65_536
_ADVICE = "give the encoding, for example cp1252 or utf-8"
# Control characters no list is written with; tab, line breaks, form feed and the old end-of-file
# mark (0x1A) do occur.
_CONTROLS = bytes(set(range(32)) - {0, 9, 10, 11, 12, 13, 26, 27}) + b"\x7f"


def decode(data: bytes, path: str, encoding: str | None = None) -> tuple[str, list[Note]]:
    """Turn a file's bytes into text.

    Args:
        data: the whole file.
        path: for messages.
        encoding: a codec's name, where the caller knows better.

    Returns:
        The text without byte order mark and NUL characters, and what was found out.

    Raises:
        UsageError: no such encoding.
        UnreadableError: the bytes are no text, or not in the encoding given.
    """
    text, note = _given(data, path, encoding) if encoding else _found(data, path)
    notes = [note]
    nuls = text.count("\0")
    if nuls:
        text = text.replace("\0", "")
        notes.append(Note("encoding", f"{counted(nuls, 'NUL character')} left out", sure=False))
    text, changed = _undo_twice(text)
    if changed:
        what = f"{counted(changed, 'line')} had been written in UTF-8 twice; fixed"
        notes.append(Note("encoding", what, sure=False))
    if text.endswith("\x1a"):  # the end-of-file mark of old systems
        text = text.rstrip("\x1a")
    return text, notes


def _given(data: bytes, path: str, encoding: str) -> tuple[str, Note]:
    try:
        info = codecs.lookup(encoding)
        "".encode(info.name)  # refuses codecs that are no text encodings
    except (LookupError, ValueError, TypeError):
        raise UsageError(
            f"there is no encoding {encoding!r}; utf-8, utf-16, cp1252 and latin-1 are usual"
        ) from None
    try:
        text = data.decode(info.name)
    except UnicodeError as error:
        where = getattr(error, "start", 0)
        raise UnreadableError(
            f"{path}: not written in {info.name}: byte {where + 1:,} cannot be read"
        ) from None
    return text.removeprefix("\ufeff"), Note("encoding", f"encoding {info.name}, as given")


def _found(data: bytes, path: str) -> tuple[str, Note]:
    for mark, codec, name in _MARKS:
        if data.startswith(mark):
            try:
                return data[len(mark) :].decode(codec), Note("encoding", f"encoding {name}")
            except UnicodeDecodeError as error:
                place = len(mark) + error.start + 1
                raise UnreadableError(
                    f"{path}: begins as {name.split(',')[0]}, but byte {place:,} is broken; "
                    "the file may be cut short"
                ) from None
    wide = _wide(data)
    if wide:
        codec, name = wide
        try:
            text = data.decode(codec)
        except UnicodeDecodeError:
            raise UnreadableError(
                f"{path}: looks like {name} but cannot be read as such; {_ADVICE}"
            ) from None
        return text, Note("encoding", f"encoding {name}, without a byte order mark", sure=False)
    if _has_odd_bytes(data):
        raise UnreadableError(f"{path}: holds binary data, no text; save the list as CSV or .xlsx")
    try:
        text = data.decode("utf-8")
        plain = "UTF-8" if any(byte > 127 for byte in data) else "plain ASCII"
        return text, Note("encoding", f"encoding {plain}")
    except UnicodeDecodeError:
        pass
    return _one_byte(data)


def _wide(data: bytes) -> tuple[str, str] | None:
    """UTF-16 without a mark: text in Latin letters has NUL in every other byte."""
    sample = data[: _SAMPLE & ~1]
    half = len(sample) // 2
    if half < 2:
        return None
    even = sample[0::2].count(0)
    odd = sample[1::2].count(0)
    if odd > half * 0.7 and even < half * 0.1:
        return "utf-16-le", "UTF-16, little-endian"
    if even > half * 0.7 and odd < half * 0.1:
        return "utf-16-be", "UTF-16, big-endian"
    return None


def is_binary(data: bytes) -> bool:
    """Whether bytes, or the first of a file's, can be no text in any encoding that is read."""
    marked = any(data.startswith(mark) for mark, _, _ in _MARKS)
    return not marked and _wide(data) is None and _has_odd_bytes(data)


def _has_odd_bytes(data: bytes) -> bool:
    for start in range(0, len(data), max(_SAMPLE, len(data) // 16)):
        sample = data[start : start + _SAMPLE]
        odd = len(sample) - len(sample.translate(None, _CONTROLS))
        if odd > 2 + len(sample) * 0.002 or sample.count(0) > 16 + len(sample) * 0.05:
            return True
    return False


def _one_byte(data: bytes) -> tuple[str, Note]:
    """Text in one byte a character, or a mixture of such lines with UTF-8 ones."""
    lines = data.splitlines(keepends=True)
    broken = 0
    utf8 = 0
    decoded = []
    for line in lines:
        try:
            decoded.append(line.decode("utf-8"))
            utf8 += not line.isascii()
        except UnicodeDecodeError:
            broken += 1
            decoded.append(_western(line))
    if utf8:
        return "".join(decoded), Note(
            "encoding",
            f"mixed encodings: {counted(utf8, 'line')} in UTF-8, {broken:,} in Windows-1252",
            sure=False,
        )
    older = _likelier_than_windows(data)
    if older:
        codec, name = older
        told = f"encoding {name}, since it makes no words in Windows-1252; if letters look wrong, "
        return data.decode(codec), Note("encoding", told + _ADVICE, sure=False)
    try:
        return data.decode("cp1252"), Note("encoding", "encoding Windows-1252", sure=False)
    except UnicodeDecodeError:
        return data.decode("cp850"), Note(
            "encoding",
            "encoding code page 850, since it is not Windows-1252; if letters look wrong, "
            f"{_ADVICE}",
            sure=False,
        )


def _western(line: bytes) -> str:
    try:
        return line.decode("cp1252")
    except UnicodeDecodeError:
        return line.decode("latin-1")


_LETTERS = frozenset("äöüßéèêëàâçîïôùñíóúáìòœÄÖÜÉÈÀÇÑÁÍÓÚ")
_SIGNS = frozenset("€£°²³½¼¾«»–—‘’‚“”„…•·®™©§¿¡ºª×±´µ\u00a0")
# May stand inside a word.
_INSIDE = frozenset("’·–\u00a0")
_OTHERS = (("mac_roman", "Mac Roman"), ("cp858", "code page 850"))
_SAMPLE_OF_LETTERS = 200_000
# A letter of two bytes, or a sign of three, each byte taken for a letter of Windows-1252.
_BEHIND = (
    "[\u0080-\u00bf\u20ac\u201a\u0192\u201e\u2026\u2020\u2021\u02c6\u2030\u0160\u2039\u0152\u017d\u2018"
    "\u2019\u201c\u201d\u2022\u2013\u2014\u02dc\u2122\u0161\u203a\u0153\u017e\u0178]"
)
_TWICE = re.compile(f"[\u00c2-\u00df]{_BEHIND}|[\u00e0-\u00ef]{_BEHIND}{{2}}")


def _likelier_than_windows(data: bytes) -> tuple[str, str] | None:
    """Codec and name of an older encoding in which a text makes words, and not in Windows-1252.

    Args:
        data: text in one byte a character.

    Returns:
        None where Windows-1252 does as well.
    """
    sample = data[:_SAMPLE_OF_LETTERS]
    windows = _wrong(sample.decode("cp1252", errors="replace"))
    if not windows:
        return None
    # Two of them tie on some letters; lines that end in CR alone are of the older Mac.
    others = _OTHERS if b"\r" in sample and b"\n" not in sample else _OTHERS[::-1]
    wrong, codec, name = min(
        ((_wrong(sample.decode(codec)), codec, name) for codec, name in others),
        key=lambda each: each[0],
    )
    return (codec, name) if wrong * 4 <= windows else None


def _wrong(text: str) -> int:
    """How many signs of a text beyond ASCII can hardly be meant."""
    wrong = 0
    for found in re.finditer(r"[^\x00-\x7f]", text):
        sign, at = found.group(), found.start()
        before, behind = text[at - 1 : at], text[at + 1 : at + 2]
        if sign in _LETTERS:
            # A capital inside a word of small letters.
            wrong += sign.isupper() and before.islower()
        elif sign in _SIGNS:
            wrong += sign not in _INSIDE and before.isalpha() and behind.isalpha()
        else:
            wrong += 1
    return wrong


def _undo_twice(text: str) -> tuple[str, int]:
    """A text with those lines set right that were encoded in UTF-8 twice: `ZÃ¤hne`.

    Only a line that is UTF-8 as a whole once it is taken back is changed.

    Returns:
        The text, and how many lines were changed.
    """
    if not _TWICE.search(text):
        return text, 0
    lines = text.splitlines(keepends=True)
    changed = 0
    for at, line in enumerate(lines):
        if _TWICE.search(line) and (once := _once(line)) is not None:
            lines[at] = once
            changed += 1
    return "".join(lines), changed


def _once(line: str) -> str | None:
    try:
        return b"".join(map(_byte, line)).decode("utf-8")
    except UnicodeError:
        return None


def _byte(sign: str) -> bytes:
    """The byte that Windows-1252 reads as a sign; the five it leaves open read as themselves."""
    try:
        return sign.encode("cp1252")
    except UnicodeEncodeError:
        return sign.encode("latin-1")
