"""In which encoding a text file is written, found out from its bytes and its letters.

Of the encodings of one byte a character, the one is taken in which the signs beyond ASCII stand
where such signs stand: letters of the five languages inside words, a euro sign beside an amount, a
fraction behind a figure. What stands where is common practice, no source.
"""

from __future__ import annotations

import codecs
import re
from collections import Counter
from dataclasses import dataclass, field

from fitcheck.errors import UnreadableError, UsageError
from fitcheck.services.price_lists.reading.cells import Note, counted

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


@dataclass(slots=True)
class Decoded:
    """A file's text.

    Attributes:
        text: without byte order mark and NUL characters.
        notes: what was found out.
        codec: the encoding, where signs beyond ASCII are single bytes in it; else empty.
    """

    text: str
    notes: list[Note] = field(default_factory=list)
    codec: str = ""


def decode(
    data: bytes, path: str, encoding: str | None = None, usual: str | None = None
) -> Decoded:
    """Turn a file's bytes into text.

    Args:
        data: the whole file.
        path: for messages.
        encoding: a codec's name, where the caller knows better.
        usual: the codec of earlier lists, which is believed unless another makes better words.

    Raises:
        UsageError: no such encoding.
        UnreadableError: the bytes are no text, or not in the encoding given.
    """
    found = _given(data, path, encoding) if encoding else _found(data, path, usual)
    nuls = found.text.count("\0")
    if nuls:
        found.text = found.text.replace("\0", "")
        what = f"{counted(nuls, 'NUL character')} left out"
        found.notes.append(Note("encoding", what, sure=False))
    found.text, changed = _undo_twice(found.text)
    if changed:
        what = f"{counted(changed, 'line')} had been written in UTF-8 twice; fixed"
        found.notes.append(Note("encoding", what, sure=False))
    found.text = found.text.rstrip("\x1a")  # the end-of-file mark of old systems
    return found


def _codec(encoding: str) -> str:
    """Python's name of an encoding."""
    try:
        name = codecs.lookup(encoding).name
        "".encode(name)  # refuses codecs that are no text encodings
    except (LookupError, ValueError, TypeError):
        raise UsageError(
            f"there is no encoding {encoding!r}; utf-8, utf-16, cp1252 and latin-1 are usual"
        ) from None
    return name


def _given(data: bytes, path: str, encoding: str) -> Decoded:
    codec = _codec(encoding)
    try:
        text = data.decode(codec).removeprefix("\ufeff")
    except UnicodeError as error:
        where = getattr(error, "start", 0)
        raise UnreadableError(
            f"{path}: not written in {codec}: byte {where + 1:,} cannot be read"
        ) from None
    kept = "" if data.isascii() or codec.startswith("utf") else codec
    return Decoded(text, [Note("encoding", f"encoding {codec}, as given")], kept)


def _found(data: bytes, path: str, usual: str | None) -> Decoded:
    for mark, codec, name in _MARKS:
        if data.startswith(mark):
            try:
                text = data[len(mark) :].decode(codec)
            except UnicodeDecodeError as error:
                place = len(mark) + error.start + 1
                raise UnreadableError(
                    f"{path}: begins as {name.split(',')[0]}, but byte {place:,} is broken; "
                    "the file may be cut short"
                ) from None
            return Decoded(text, [Note("encoding", f"encoding {name}")])
    wide = _wide(data)
    if wide:
        codec, name = wide
        try:
            text = data.decode(codec)
        except UnicodeDecodeError:
            raise UnreadableError(
                f"{path}: looks like {name} but cannot be read as such; {_ADVICE}"
            ) from None
        what = f"encoding {name}, without a byte order mark"
        return Decoded(text, [Note("encoding", what, sure=False)])
    if _has_odd_bytes(data):
        raise UnreadableError(f"{path}: holds binary data, no text; save the list as CSV or .xlsx")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return _one_byte(data, usual)
    plain = "plain ASCII" if data.isascii() else "UTF-8"
    return Decoded(text, [Note("encoding", f"encoding {plain}")])


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


def _one_byte(data: bytes, usual: str | None) -> Decoded:
    """Text in one byte a character, or a mixture of such lines with UTF-8 ones."""
    lines: list[bytes | str] = []
    utf8 = 0
    for line in data.splitlines(keepends=True):
        try:
            lines.append(line.decode("utf-8"))
            utf8 += not line.isascii()
        except UnicodeDecodeError:
            lines.append(line)
    broken = b"".join(line for line in lines if isinstance(line, bytes)) if utf8 else data
    codec, note = _likeliest(broken, _codec(usual) if usual else None)
    if not utf8:
        return Decoded(data.decode(codec, "replace"), [note], codec)
    count = sum(isinstance(line, bytes) for line in lines)
    what = f"mixed encodings: {counted(utf8, 'line')} in UTF-8, {count:,} in {_NAMES[codec]}"
    text = "".join(
        line.decode(codec, "replace") if isinstance(line, bytes) else line for line in lines
    )
    return Decoded(text, [Note("encoding", what, sure=False)])


_NAMES = {
    "cp1252": "Windows-1252",
    "iso8859-15": "ISO 8859-15",
    "cp858": "code page 850",
    "mac-roman": "Mac Roman",
}
"""Encodings of one byte a character that lists come in, the likelier first."""

_OLD = ("cp858", "mac-roman")

_LETTERS = frozenset("äöüßéèêëàâçîïôùûñíóúáìòœÄÖÜÉÈÊÀÂÇÎÔÑÁÍÓÚÒÙŒ")
"""Letters of the five languages."""

_NEIGHBOURS = frozenset("åæøãõýšžłÅÆØÃÕŠŽŁ")
"""Letters of other languages, as names have them."""

_ALONE = frozenset("àâèéòóùáÀÈÉÁ")
"""Letters that are a word."""

_LETTER, _OTHER = r"[^\W\d_]", r"[\W\d_]"
_NATURAL = re.compile(
    rf"{_OTHER}[€£]{_OTHER}|[^a-z]\xa0.|.\xa0[^a-z]|{_LETTER}[’·]{_LETTER}|{_OTHER}[–—×±•]{_OTHER}"
    rf"|\W[„“‘«‹¿¡§]\w|[^\s(][”“’»›…]\W|\W«\s|\s»\W|\WØ[\W\d]|[\d\s][°²³½¼¾ºª]{_OTHER}|{_LETTER}[²³ºª®™©°]\W",
    re.DOTALL,
)
"""Signs between neighbours they have in a text, one on each side."""

_SIGNS = frozenset("€£°²³½¼¾«»–—‘’‚“”„…•·®™©§¿¡ºª×±´µ")
_SAMPLE_OF_LETTERS = 200_000


def _likeliest(data: bytes, usual: str | None) -> tuple[str, Note]:
    """The codec in which text of one byte a character makes words.

    Args:
        data: the text.
        usual: the codec of earlier lists.

    Returns:
        The codec, and what to tell of it: it is sure where all others make far worse words, or
        the same.
    """
    sample = data[:_SAMPLE_OF_LETTERS]
    texts = {codec: sample.decode(codec, "replace") for codec in _NAMES}
    costs = {codec: _oddness(text) for codec, text in texts.items()}
    # Two of them tie on some letters; lines that end in CR alone are of the older Mac.
    order = list(_NAMES)
    if b"\r" in sample and b"\n" not in sample:
        order = ["mac-roman", *order[:-1]]
    best = min(order, key=lambda codec: costs[codec])
    if usual is not None and (usual not in costs or costs[usual] <= 4 * costs[best]):
        name = _NAMES.get(usual, usual)
        return usual, Note("encoding", f"encoding {name}, as in earlier lists")
    name = _NAMES[best]
    if best in _OLD:
        told = f"encoding {name}, since it makes no words in Windows-1252; if letters look wrong, "
        return best, Note("encoding", told + _ADVICE, sure=False)
    # Lists of today are rarely written in an old one, so less speaks against it.
    rivals = [costs[each] + (each in _OLD) for each in costs if texts[each] != texts[best]]
    sure = all(cost >= max(2, 4 * costs[best]) for cost in rivals)
    return best, Note("encoding", f"encoding {name}", sure=sure)


def _oddness(text: str) -> int:
    """How little the signs of a text beyond ASCII stand where such signs stand."""
    text = f" {text} "
    found = Counter(
        text[each.start() - 1 : each.end() + 1] for each in re.finditer(r"[^\x00-\x7f]", text)
    )
    return sum(_oddness_of(*around) * count for around, count in found.items())


def _oddness_of(before: str, sign: str, behind: str) -> int:
    """0 where a sign stands as one does between its neighbours, 1 where it may, else 2."""
    if _NATURAL.fullmatch(before + sign + behind):
        return 0
    if sign in _LETTERS or sign in _NEIGHBOURS:
        foreign = int(sign in _NEIGHBOURS)
        if before.isdigit() or behind.isdigit():
            return 2
        if not (before.isalpha() or behind.isalpha()):
            return 1 if sign in _ALONE else 2
        if sign.isupper():  # none inside a word, nor at the end of one in small letters
            inside = before.islower() or (before.isupper() and behind.islower())
        else:  # none between capitals, nor before one
            inside = behind.isupper()
        return 2 if inside else foreign
    return 1 if sign in _SIGNS and not (before.isalpha() and behind.isalpha()) else 2


# A letter of two bytes, or a sign of three, each byte taken for a letter of Windows-1252.
_BEHIND = (
    "[\u0080-\u00bf\u20ac\u201a\u0192\u201e\u2026\u2020\u2021\u02c6\u2030\u0160\u2039\u0152\u017d\u2018"
    "\u2019\u201c\u201d\u2022\u2013\u2014\u02dc\u2122\u0161\u203a\u0153\u017e\u0178]"
)
# The byte that Windows-1252 reads as a sign; the five it leaves open read as themselves.
_BYTES = {ord(bytes([byte]).decode("cp1252", "ignore") or chr(byte)): byte for byte in range(256)}
_TWICE = re.compile(f"[\u00c2-\u00df]{_BEHIND}|[\u00e0-\u00ef]{_BEHIND}{{2}}")


def _undo_twice(text: str) -> tuple[str, int]:
    """A text with those lines set right that were encoded in UTF-8 twice: `ZÃ¤hne`.

    Only a line that is UTF-8 as a whole once it is taken back is changed.

    Returns:
        The text, and how many lines were changed.
    """
    if text.isascii() or not _TWICE.search(text):
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
        return line.translate(_BYTES).encode("latin-1").decode("utf-8")
    except UnicodeError:
        return None
