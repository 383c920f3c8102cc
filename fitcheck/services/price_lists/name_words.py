"""The words of a model name: taken apart, rid of what names nothing, and what sets it apart.

The word lists hold common practice of the trade, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from fitcheck.services.price_lists.wording.cues import WORDS
from fitcheck.services.price_lists.wording.harmless import is_harmless
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.sizes import (
    SIZE_WORDS,
    HousingWord,
    Mention,
    doubt_about_sizes,
    find_housings,
    names_spanish_case,
)

DISPLACEMENTS = WORDS["name"]["displacements"]

_TOKEN = re.compile(r"[^\W\d_]+|[0-9]+")

_NUMBERS = {word: number for number, words in WORDS["number"].items() for word in words}
# What a reader of print or a typist takes for another sign. Common practice, no source.
_ALIKE = str.maketrans("oqdlisbzg", "000115829", "_")

# What stands beside a name and names nothing. Years only where something marks them as years.
_YEAR = r"(?:19[6-9][0-9]|20[0-4][0-9])"
_SINCE = (
    r"(?:ab|dal|from|since|desde|depuis|bis|fino al|up to|until|hasta|jusqu.a|jusqu.en"
    r"|a partir d[eu]l?|a partire dal?|seit|vor|before|prima del|avant|antes de|nach|after|dopo il"
    r"|apres|despues de)"
)
_YEAR_WORD = r"(?:bj|baujahr|anno|annee|ano|my|years?|mod\.? ?jahr|modelljahr)\.?"
_SPAN = r" ?(?:-|/|>|->|bis|al|to) ?"
_INCHES = r"(?:\"|''|zoll|inch(?:es)?|pollici|pouces|pulgadas)"
_WHEEL = r"(?:ruota|ruote|rad|wheel|roue|rueda|felge|cerchio|jante|llanta)(?: da| de)?"
_STROKE = r"(?:t|takt(?:er)?|tempi|temps|tiempos|stroke)"
_CUBIC = r"(?:c\.?c\.?m\.?|c\.?c\.?|cm ?(?:3|³|\^3)|cubic|kubik)"
_SHORT = r"'?[0-9]{2}"
_ONWARDS = (
    r"(?: ?(?:in poi|e oltre|e succ(?:\.|essiv[ei])?|onwards?|and (?:later|newer|up|on)"
    r"|und (?:neuer|spater)|(?:et|ou) (?:plus(?: recents?)?|suivants?)|en adelante|y posteriores"
    r"|\+|->|>))?"
)
_YEARS = rf"{_YEAR}(?:{_SPAN}(?:{_YEAR}|{_SHORT}(?![0-9]))?)?(?![0-9]){_ONWARDS}"
_OF_YEARS = (
    rf"(?<![a-z0-9])(?:{_SINCE} )?{_YEAR_WORD} ?:? ?(?:{_SINCE} )?{_YEARS}",
    # After such a word two digits are a year as well: `ab Bj. 05`, `MY 05-12`.
    (
        rf"(?<![a-z0-9])(?:{_SINCE} )?{_YEAR_WORD} ?:? ?(?:{_SINCE} )?{_SHORT}"
        rf"(?:{_SPAN}{_SHORT})?(?![0-9a-z]){_ONWARDS}"
    ),
    rf"(?<![a-z0-9]){_SINCE} {_YEAR}(?![0-9]){_ONWARDS}",
    rf"(?<=[(\[])[-<>~] ?{_YEAR}(?=[)\]])",
    rf"(?<![a-z0-9]){_YEAR} ?\+(?![0-9a-z])",
    r"(?<![a-z0-9])'[0-9]{2} ?- ?'?[0-9]{2}(?![0-9])",
    rf"(?<![0-9])[<>]?{_YEAR}{_SPAN}{_YEAR}?(?![0-9a-z])",
    rf"[<>]=? ?{_YEAR}(?![0-9a-z])",
    rf"(?<=[(\[])'?{_YEAR}(?=[)\]])",
)
_BESIDE = (
    *_OF_YEARS,
    r"(?<![0-9.,/])[0-9][.,][0-9]{1,2} ?- ?[0-9]{1,2}(?![0-9.,/])",
    r"(?<![0-9.,/])[0-9]{2,3}\s?/\s?[0-9]{2,3}\s?-\s?[0-9]{1,2}(?![0-9.,/])",
    rf"(?<![0-9.,/])[0-9]{{1,2}}(?: ?[/,+] ?[0-9]{{1,2}})* ?{_INCHES}(?![a-z0-9])",
    rf"(?<![a-z0-9]){_WHEEL} [0-9]{{1,2}}(?:\"|'')?(?![0-9a-z])",
    rf"(?<![a-z0-9])[24][ -]?{_STROKE}(?![a-z0-9])",
    rf"(?<=[0-9]) ?{_CUBIC}(?![a-z0-9])",
)
_NOISE = re.compile(rf"[(\[]?(?:{'|'.join(_BESIDE)})[)\]]?")
_LIMITED = re.compile("|".join(_OF_YEARS))
_STROKES = re.compile(rf"(?<![a-z0-9])([24])[ -]?{_STROKE}(?![a-z0-9])")
_FILLERS = WORDS["name"]["fillers"]

_JOINING = r"(?:and|und|e|ed|et|y|oder|or|ou|o|sowie|oppure|as well as)"
_PARTING = re.compile(rf"[,;|\n\r•·/+&]+|(?<=[\w)\]\"'.])\s+{_JOINING}\s+(?=[\w(\[])")


@lru_cache(maxsize=1 << 17)
def tokens_of(text: str) -> tuple[str, ...]:
    """Runs of letters and of digits, folded: `DN50 Sport` is `dn`, `50`, `sport`."""
    return tuple(_TOKEN.findall(fold(text)))


def key_of(tokens: Sequence[str]) -> str:
    """The tokens as one word for comparing; two numbers side by side stay two."""
    if len(tokens) == 1:
        return tokens[0]
    parts = list(tokens[:1])
    for before, token in pairwise(tokens):
        # Of the signs a token may begin with only digits sort before the colon.
        parts += ["_", token] if before < ":" and token < ":" else [token]
    return "".join(parts)


def in_digits(tokens: Sequence[str]) -> str:
    """The key with written numbers in digits: `Dunlin Ten` and `Dunlin 10` are the same then."""
    return key_of([_NUMBERS.get(token, token) for token in tokens])


def shape_of(tokens: Sequence[str]) -> str:
    """The key with signs that look alike made one: `Dunlin 5O` and `DUNL1N 50` are the same."""
    return key_of(tokens).translate(_ALIKE)


def letters_of(tokens: Sequence[str]) -> str:
    """The tokens that are no digits, as one word."""
    return "".join(token for token in tokens if not token[0].isdigit())


def marks_of(tokens: Sequence[str]) -> tuple[str, ...]:
    """What tells a name apart whatever else agrees: its numbers, numerals, sizes, single letters.

    Two names with different marks are never near: 50 and 70, `Mk II` and `Mk III`, short and long.
    """
    found = []
    for token in tokens:
        if token[0].isdigit():
            found.append(token.lstrip("0") or "0")
        elif token in _NUMBERS:
            found.append(_NUMBERS[token])
        elif token in SIZE_WORDS:
            found.append(SIZE_WORDS[token])
        elif len(token) == 1:
            found.append(token)
    return tuple(sorted(found))


@lru_cache(maxsize=1 << 14)
def is_limited(text: str) -> bool:
    """Whether a name stands for the machines of some years only: `Dunlin 50 ab 2012`."""
    return _LIMITED.search(fold(text)) is not None


def stroke_of(text: str) -> str:
    """`2` or `4` where a folded text says two or four strokes; empty where it does not."""
    found = _STROKES.search(text)
    return found[1] if found else ""


def _take_noise_out(text: str) -> tuple[str, ...]:
    """Tokens of a folded text without years, rims, strokes, units and words that name nothing."""
    if not text.isalpha() and _NOISE.search(text):
        text = _NOISE.sub(" ", text)
    tokens = _TOKEN.findall(text)
    if _FILLERS.isdisjoint(tokens):
        return tuple(tokens)
    kept: list[str] = []
    for token in tokens:
        # `i modelli`, but `Mk I`: a single letter is an article only in front.
        if token in _FILLERS and (len(token) > 1 or (not kept and len(tokens) > 1)):
            continue
        kept.append(token)
    # A name may be made of such words; then they are the name.
    return tuple(kept or tokens)


class Housings(NamedTuple):
    """What a name says of housings.

    Attributes:
        words: sizes, or all, that it names beyond doubt.
        unsure: its words for a housing that leave a doubt, as folded; or empty.
    """

    words: tuple[HousingWord, ...] = ()
    unsure: str = ""


NO_HOUSING = Housings()


@lru_cache(maxsize=1 << 17)
def bare_name(word: str) -> tuple[tuple[str, ...], Housings]:
    """Tokens of a word without its housings and its noise, and the housings."""
    # Folded, a `cárter` that is Spanish looks like any other.
    text = (
        fold(word.lower().replace("cárter", "carcasa")) if names_spanish_case(word) else fold(word)
    )
    mentions = find_housings(text)
    housings = housings_of(text, mentions)
    for each in reversed(mentions):
        text = f"{text[: each.start]} {text[each.end :]}"
    return _take_noise_out(text), housings


def names_engine(word: str) -> bool:
    """Whether a word for models may name an engine: `50 cm3`, `all models` and `2T` do not."""
    tokens, _ = bare_name(word)
    return any(
        token.isalpha() and token not in _FILLERS and not is_harmless(token) for token in tokens
    )


def housings_behind(tokens: tuple[str, ...], folded: str) -> tuple[tuple[str, ...], Housings]:
    """Tokens of a folded text without the words for sizes behind them, and these."""
    end = len(tokens)
    while end and tokens[end - 1] in SIZE_WORDS:
        end -= 1
    sizes = dict.fromkeys(SIZE_WORDS[each] for each in tokens[end:])
    if doubt_about_sizes(folded):
        return tokens[:end], Housings((), " ".join(tokens[end:]))
    return tokens[:end], Housings(tuple(sizes))


def housings_of(folded: str, mentions: Sequence[Mention]) -> Housings:
    """What some places of a folded text say of housings."""
    if not mentions:
        return NO_HOUSING
    unsure = next((folded[each.start : each.end] for each in mentions if each.doubt), "")
    words = dict.fromkeys(word for each in mentions for word in each.words)
    return Housings(() if unsure else tuple(words), unsure.strip())


def parts_of_cell(text: str) -> list[str]:
    """The names a cell lists, parted at commas, slashes, plus signs, line breaks and `and`.

    The parts are as written, but for a few signs that fold to more than one.
    """
    folded = fold(text)
    shown = text if len(folded) == len(text) else folded
    if not _PARTING.search(folded):
        return [_bare(shown)] if tokens_of(text) else []
    # Inside a size, a span of years or `short and long case` a slash parts nothing.
    held = [found.span() for found in _NOISE.finditer(folded)]
    held += [(each.start, each.end) for each in find_housings(folded)]
    parts = []
    start = 0
    for found in _PARTING.finditer(folded):
        if any(low <= found.start() < high for low, high in held):
            continue
        parts.append(shown[start : found.start()])
        start = found.end()
    parts.append(shown[start:])
    named: list[str] = []
    before = ""
    for part in parts:
        if tokens_of(part):
            named.append(_bare(before + part))
            before = ""
        elif "?" in part:  # it goes with the name beside it
            before = "" if named else "?, "
            named[-1:] = [f"{name}, ?" for name in named[-1:]]
    return named


def _bare(part: str) -> str:
    stripped = part.strip(" \t\r\n.:-")
    if stripped.count("(") != stripped.count(")") or stripped.count("[") != stripped.count("]"):
        stripped = stripped.strip("()[] ")
    return " ".join(stripped.split())
