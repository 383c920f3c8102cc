"""Text without case, accents and the many faces of one sign, so that words can be compared."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

# Only full-width forms are folded to plain ones: a general compatibility fold would turn
# superscripts and vulgar fractions into digits that nobody wrote.
_SIGNS: dict[int, str] = {code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)}
_SIGNS |= dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe63"), "-")
_SIGNS |= dict.fromkeys(map(ord, "\u2044\u2215\u29f8"), "/")
_SIGNS |= dict.fromkeys(map(ord, "\u2236\ufe55\ua789"), ":")
_SIGNS |= dict.fromkeys(map(ord, "\u00d7\u2715\u2716\u2a2f"), "x")
_SIGNS |= dict.fromkeys(map(ord, "\u201c\u201d\u201e\u2033\u02ba\u00ab\u00bb"), '"')
_SIGNS |= dict.fromkeys(map(ord, "\u2018\u2019\u201a\u2032\u02b9\u00b4\u0060"), "'")
_SIGNS |= dict.fromkeys(map(ord, "\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007"), " ")
_SIGNS |= dict.fromkeys(map(ord, "\u2008\u2009\u200a\u202f\u205f\u3000\t\r\v\f"), " ")
_SIGNS |= dict.fromkeys(map(ord, "\u200b\u200c\u200d\ufeff\u00ad\u2060\u200e\u200f"), "")
_SIGNS |= {code: chr(code - 0x2050) for code in range(0x2080, 0x208A)}  # Z₁
_SIGNS |= {ord("ß"): "ss", ord("æ"): "ae", ord("Æ"): "ae", ord("œ"): "oe", ord("ø"): "o"}
_SIGNS |= {ord("\u0131"): "i", ord("ł"): "l"}
_NOT_LATIN = re.compile(r"[^\x00-\u02ff]")
"""Signs of which some combine; none below do."""

_WORDS = re.compile(r"[^\W_]+")


@lru_cache(maxsize=65_536)
def fold(text: str) -> str:
    """Lower case, no accents, one kind of dash, quote, slash and space.

    The German umlauts lose their dots (`ä` reads `a`); where they are written out (`ae`), word
    lists hold both.
    """
    if text.isascii():
        return text.translate(_SIGNS).lower()
    bare = unicodedata.normalize("NFD", text.translate(_SIGNS))
    return _NOT_LATIN.sub(_unless_combining, bare).casefold()


def _unless_combining(found: re.Match[str]) -> str:
    return "" if unicodedata.combining(found.group()) else found.group()


def words_of(text: str) -> str:
    """Folded words and digits with single spaces between, all other signs left out."""
    return " ".join(_WORDS.findall(fold(text)))
