"""The words of a model name: taken apart, rid of what names nothing, and what sets it apart.

The word lists hold common practice of the trade, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import product

from fitcheck.services.price_lists.wording.cues import WORDS
from fitcheck.services.price_lists.wording.readings import fold

DISPLACEMENTS = WORDS["name"]["displacements"]

_TOKEN = re.compile(r"[^\W\d_]+|[0-9]+")

# A single letter tells models apart as well.
_NUMBERS = {word: number for number, words in WORDS["number"].items() for word in words}
_SIZES = {word: size for size, words in WORDS["size"].items() for word in words}

_HOUSING_NOUN = (
    r"(?:crankcase|gear ?case|gearbox case|case|casing|housing|motorgehause|getriebegehause"
    r"|gehause|gehaeuse|motorgehaeuse|carter motore|carter moteur|carter|basamento|boitier"
    r"|carcasa)"
)
_SIZE = "|".join(sorted(_SIZES, key=len, reverse=True))
_OTHER_SIZES = rf"(?:\s*(?:[/,+&]|and|und|e|et|y|or|oder|o|ou)\s*(?:{_SIZE})(?![a-z0-9]))*"
_SEVERAL = re.compile(
    rf"(?<![a-z0-9])(?:(?:{_SIZE}){_OTHER_SIZES}[\s\-]*{_HOUSING_NOUN}|{_HOUSING_NOUN}[\s\-:]*(?:{_SIZE}){_OTHER_SIZES})"
    r"(?![a-z0-9])"
)
_HOUSING = re.compile(
    rf"[(\[]?(?<![a-z0-9])(?:(?:con|mit|with|avec|per|fur|for|pour|para) )?"
    rf"(?:(?P<before>{_SIZE})[\s\-]*{_HOUSING_NOUN}|{_HOUSING_NOUN}[\s\-:]*(?P<behind>{_SIZE})"
    r"|(?P<joined>kurz|mittel|lang)(?:es)?(?=motorgehause|gehause)(?:motor)?gehause"
    r")(?![a-z0-9])[)\]]?"
)

_ONE_SIZE = re.compile(rf"(?<![a-z0-9])(?:{_SIZE})(?![a-z0-9])")
_NOUN = re.compile(_HOUSING_NOUN)
# What a reader of print or a typist takes for another sign. Common practice, no source.
_AS_DIGITS = str.maketrans("oqdlisbzg", "000115829")
_AS_LETTERS: dict[int, int | str] = dict(str.maketrans("01589", "olsbg"))

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
_BESIDE = (
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
    r"(?<![0-9.,/])[0-9][.,][0-9]{1,2} ?- ?[0-9]{1,2}(?![0-9.,/])",
    rf"(?<![0-9])[<>]?{_YEAR}{_SPAN}{_YEAR}?(?![0-9a-z])",
    rf"[<>]=? ?{_YEAR}(?![0-9a-z])",
    rf"(?<=[(\[])'?{_YEAR}(?=[)\]])",
    r"(?<![0-9.,/])[0-9]{2,3}\s?/\s?[0-9]{2,3}\s?-\s?[0-9]{1,2}(?![0-9.,/])",
    rf"(?<![0-9.,/])[0-9]{{1,2}}(?: ?[/,+] ?[0-9]{{1,2}})* ?{_INCHES}(?![a-z0-9])",
    rf"(?<![a-z0-9]){_WHEEL} [0-9]{{1,2}}(?:\"|'')?(?![0-9a-z])",
    rf"(?<![a-z0-9])[24][ -]?{_STROKE}(?![a-z0-9])",
    rf"(?<=[0-9]) ?{_CUBIC}(?![a-z0-9])",
)
_NOISE = re.compile(rf"[(\[]?(?:{'|'.join(_BESIDE)})[)\]]?")
_STROKES = re.compile(rf"(?<![a-z0-9])([24])[ -]?{_STROKE}(?![a-z0-9])")
_FILLERS = WORDS["name"]["fillers"]

_JOINING = r"(?:and|und|e|ed|et|y|oder|or|ou|o|sowie|oppure|as well as)"
_PARTING = re.compile(rf"[,;|\n\r•·/+&]+|(?<=[\w)\]\"'.])\s+{_JOINING}\s+(?=[\w(\[])")


@lru_cache(maxsize=1 << 17)
def tokens_of(text: str) -> tuple[str, ...]:
    """Runs of letters and of digits, folded: `DN50 Sport` is `dn`, `50`, `sport`."""
    return tuple(_TOKEN.findall(fold(text)))


def misread(text: str) -> list[str]:
    """What a word may be whose digits and letters were taken for one another: `Dunlin 5O`.

    Args:
        text: folded.

    Returns:
        Other readings, none where no sign of it can be one.
    """
    readings = []
    for one, all_letters in product("li", (False, True)):
        letters = _AS_LETTERS | {ord("1"): one}
        words = []
        for word in text.split():
            digits = word.translate(_AS_DIGITS)
            if not word.isdigit() and digits.isdigit():
                words.append(digits)
            elif not word.isalpha() and any(map(str.isalpha, word)):
                whole = word.translate(letters) if all_letters else ""
                words.append(whole if whole.isalpha() else _mend_word(word, letters))
            else:
                words.append(word)
        readings.append(" ".join(words))
    return [each for each in dict.fromkeys(readings) if each != text]


def _mend_word(word: str, letters: Mapping[int, int | str]) -> str:
    """A word of letters and of digits behind them, each set right: `DUNL1N5O`."""
    tail = re.search(r"[0-9oqdlisbzg]*[0-9][0-9oqdlisbzg]*$", word)
    head = word[: tail.start()] if tail else word
    if not any(map(str.isalpha, head)):
        head, tail = word, None
    behind = word[len(head) :].translate(_AS_DIGITS)
    return head.translate(letters) + behind


def key_of(tokens: Sequence[str]) -> str:
    """The tokens as one word for comparing; two numbers side by side stay two."""
    if len(tokens) == 1:
        return tokens[0]
    parts = []
    number = False
    for token in tokens:
        # Of the signs a token may begin with only digits sort before the colon.
        if token < ":":
            if number:
                parts.append("_")
            number = True
        else:
            number = False
        parts.append(token)
    return "".join(parts)


def in_digits(tokens: Sequence[str]) -> str:
    """The key with written numbers in digits: `Dunlin Ten` and `Dunlin 10` are the same then."""
    return key_of([_NUMBERS.get(token, token) for token in tokens])


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
        elif token in _SIZES:
            found.append(_SIZES[token])
        elif len(token) == 1:
            found.append(token)
    return tuple(sorted(found))


def _take_housing_out(text: str) -> tuple[str, str]:
    """A folded text without a housing named in it, and which: short, mid, long or empty.

    Only a size beside a word for a housing is taken: `long` alone may be part of a name.
    """
    found = _HOUSING.search(text)
    if found is None:
        return text, ""
    word = found["before"] or found["behind"] or found["joined"]
    size = {"mittel": "mid"}.get(word) or _SIZES.get(word, "")
    return f"{text[: found.start()]} {text[found.end() :]}", size


def _part_sizes(text: str) -> list[str]:
    """A name with several sizes of a housing as one name for each; else none.

    `Dunlin 50 carter corto e lungo` is `Dunlin 50 carter corto` and `Dunlin 50 carter lungo`.
    """
    folded = fold(text)
    found = _SEVERAL.search(folded)
    if found is None:
        return []
    sizes = list(_ONE_SIZE.finditer(found.group()))
    if len(sizes) < 2 or len(folded) != len(text):
        return []
    start, end = found.span()
    noun = _NOUN.search(found.group())
    assert noun is not None
    at = start + noun.start(), start + noun.end()
    named = text[at[0] : at[1]]
    before, behind = text[:start].rstrip(" (["), text[end:].lstrip(" )]")
    return [" ".join(f"{before} {named} {size.group()} {behind}".split()) for size in sizes]


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


@lru_cache(maxsize=1 << 17)
def bare_name(word: str) -> tuple[tuple[str, ...], str]:
    """Tokens of a word without its housing and its noise, and the housing."""
    text, housing = _take_housing_out(fold(word))
    return _take_noise_out(text), housing


def parts_of_cell(text: str) -> list[str]:
    """The names a cell lists, parted at commas, slashes, plus signs, line breaks and `and`.

    The parts are as written, but for a few signs that fold to more than one.
    """
    if each := _part_sizes(text):
        return [part for name in each for part in parts_of_cell(name)]
    folded = fold(text)
    shown = text if len(folded) == len(text) else folded
    if not _PARTING.search(folded):
        return [_bare(shown)] if tokens_of(text) else []
    # Inside a size or a span of years a slash parts nothing.
    held = [found.span() for found in _NOISE.finditer(folded)]
    parts = []
    start = 0
    for found in _PARTING.finditer(folded):
        if any(low <= found.start() < high for low, high in held):
            continue
        parts.append(shown[start : found.start()])
        start = found.end()
    parts.append(shown[start:])
    return [_bare(part) for part in parts if tokens_of(part)]


def _bare(part: str) -> str:
    stripped = part.strip(" \t\r\n.:-")
    if stripped.count("(") != stripped.count(")") or stripped.count("[") != stripped.count("]"):
        stripped = stripped.strip("()[] ")
    return " ".join(stripped.split())
