"""Which letters the five languages write: what tells old encodings apart, and UTF-8 written twice.

The letters are those of the languages' own alphabets; what stands beside them is common practice,
no source.
"""

from __future__ import annotations

import re

_LETTERS = frozenset("äöüßéèêëàâçîïôùñíóúáìòœÄÖÜÉÈÀÇÑÁÍÓÚ")
_SIGNS = frozenset("€£°²³½¼¾«»–—‘’‚“”„…•·®™©§¿¡ºª×±´µ\u00a0")
# May stand inside a word.
_INSIDE = frozenset("’·–\u00a0")
_OTHERS = (("mac_roman", "Mac Roman"), ("cp858", "code page 850"))
_SAMPLE = 200_000
# A letter of two bytes, or a sign of three, each byte taken for a letter of Windows-1252.
_BEHIND = (
    "[\u0080-\u00bf\u20ac\u201a\u0192\u201e\u2026\u2020\u2021\u02c6\u2030\u0160\u2039\u0152\u017d\u2018"
    "\u2019\u201c\u201d\u2022\u2013\u2014\u02dc\u2122\u0161\u203a\u0153\u017e\u0178]"
)
_TWICE = re.compile(f"[\u00c2-\u00df]{_BEHIND}|[\u00e0-\u00ef]{_BEHIND}{{2}}")


def likelier_than_windows(data: bytes) -> tuple[str, str] | None:
    """Codec and name of an older encoding in which a text makes words, and not in Windows-1252.

    Args:
        data: text in one byte a character.

    Returns:
        None where Windows-1252 does as well.
    """
    sample = data[:_SAMPLE]
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


def undo_twice(text: str) -> tuple[str, int]:
    """A text with those lines set right that were encoded in UTF-8 twice: `ZÃ¤hne`.

    Only a line that is UTF-8 as a whole once it is taken back is changed.

    Returns:
        The text, and how many lines were changed.
    """
    if not _TWICE.search(text):
        return text, 0
    lines = text.splitlines(keepends=True)
    mended = 0
    for at, line in enumerate(lines):
        if _TWICE.search(line) and (once := _once(line)) is not None:
            lines[at] = once
            mended += 1
    return "".join(lines), mended


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
