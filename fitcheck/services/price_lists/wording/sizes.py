"""Words for a short, mid or long housing, and rims in whole inches, alone or in a tyre's size."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.readings import (
    Reading,
    as_cell,
    empty,
    fold,
    read,
    review,
    unreadable,
)
from fitcheck.services.price_lists.wording.reservations import said_against

HousingWord = Literal["short", "mid", "long", "both", "all"]
"""A size of a housing; all of a family's housings, or both where it has two."""

SIZE_WORDS: dict[str, HousingWord] = {
    word: size  # type: ignore[misc]
    for size, words in cues.WORDS["size"].items()
    for word in words
}
# Word lists are common practice of the trade, no source.
_WHOLE: dict[str, HousingWord] = dict.fromkeys(
    cues.words_in("both beide beiden beides entrambi entrambe ambos ambas"), "both"
)
_WHOLE |= dict.fromkeys(
    cues.words_in(
        "all alle allen aller every each jedes jede jeden tutti tutte ogni tous toutes chaque "
        "todos todas cualquier"
    ),
    "all",
)
_OTHER_WORDS = frozenset({"mit", "cor", "cour"})  # with; heart, court


def _abbreviations() -> dict[str, HousingWord]:
    """Beginnings of three letters or more that only words for one size have: `mitt.`, `lung.`."""
    sizes: dict[str, set[HousingWord]] = {}
    for word, size in SIZE_WORDS.items():
        for end in range(3, len(word)):
            sizes.setdefault(word[:end], set()).add(size)
    known = SIZE_WORDS.keys() | _WHOLE.keys() | _OTHER_WORDS
    return {begun: min(of) for begun, of in sizes.items() if len(of) == 1 and begun not in known}


_WORD: dict[str, HousingWord] = {**_abbreviations(), **SIZE_WORDS, **_WHOLE}
_SIZE = rf"(?:{'|'.join(sorted(_WORD.keys() - _WHOLE.keys(), key=len, reverse=True))})(?![a-z])\.?"
_ANY = (
    rf"(?:{_SIZE}|(?:{'|'.join(sorted(_WHOLE, key=len, reverse=True))})"
    r"(?: (?:the|i|gli|le|les|los|las|die))?(?![a-z]))"
)
_NOUN = (
    r"(?:crankcases?|(?:gear ?|gearbox )?cases?|casings?|housings?|box|motorgehausen?"
    r"|getriebegehausen?|gehausen?|gehaeusen?|geh\.?|carters?(?: mot(?:ore|eur|or))?|basament[oi]"
    r"|scatol[ae]|boites?|boitiers?|carcasas?)(?![a-z])"
)
# One word with that for the housing: `Kurzgehäuse`, `shortcase`.
_SIZES = "|".join(sorted(SIZE_WORDS, key=len, reverse=True))
_JOIN = r"(?:-?\s*[/,;+&]\s*|-?\s+(?:and|und|u\.?|ed?|et|y|or|oder|o|ou|bzw\.?)\s+|[\s-]+)"
_THE = r"(?:(?:the|das|den|dem|die|der|il|lo|la|le|el|i|gli|les|los|las)\s+)?"
_LIST = rf"{_ANY}(?:{_JOIN}{_THE}{_ANY})*"
_MENTION = re.compile(
    rf"(?<![a-z0-9])(?:(?:with|for|mit|fur|fuer|con|per|avec|pour|para)\s+{_THE})?"
    rf"(?:(?:{_ANY}{_JOIN}{_THE})*(?:{_ANY}[\s-]*|(?:{_SIZES})){_NOUN}|{_NOUN}\s*[:=]?\s*{_LIST})"
    r"(?![a-z0-9])"
)
_HAS_NOUN = re.compile("case|casing|housing|box|gehau|geh|carter|basament|scatol|boit|carcasa")
_COMPOUND = re.compile(
    rf"({_SIZES})(?=(?:gehau|getr|hauber|motor|version|carter|case|casing|housing|crank))"
)
_NEXT = re.compile(r"[\s-]+([a-z]+)")
# `mid-long`, `kurzes Gehäuse (lang)`.
_TIED = re.compile(rf"(?<![a-z]){_SIZE}(?:[\s-]+|[^,;/+&]*[(\[]\s*){_SIZE}(?![a-z])")
_QUALIFIED = re.compile(
    r"(?<![a-z])(?:extra|very|super|ultra|half|semi|halb|sehr|molto|tres|muy|demi|mezzo)"
    rf"[\s-]+{_SIZE}"
)
# `mid+`, `kurz ... lang`: more than the sizes that are named; a footnote's mark is told elsewhere.
_ODD_SIGN = re.compile(r"[^\w\s,;/&+().:*†‡\[\]-]|\.\.|[+/&,;-]\s*$|^\s*[+/&-]")
_SET_APART = re.compile(rf"[(\[,:/-]\s*(?:{_SIZES})(?![a-z])")
_IDIOM = re.compile(r"(?<![a-z])in (?:all|every|each|both) cases?$")
_LETTERS = re.compile(r"[a-z]+")
_PLAIN = re.compile(
    rf"(?<![a-z])(?:{_NOUN}|version|ausfuhrung|ausf|versione|motor|engine|moteur|motore|and|und|u|ed?"
    r"|et|y|or|oder|ou?|bzw|el|la|il|i|gli|los|las|les?|the|of|di|de|du|del|para|per|fur|fuer|for"
    r"|pour|nur|only|solo|seulement)(?![a-z])"
)
_SPANISH = re.compile(
    r"(?<![a-z])(?:para|carcasas?|el|los|las|y|motor|juegos?|pinon|pinones|dientes|engranajes?"
    r"|acero|templad[oa]s?|precio|tarifa|descripcion|existencias|ruedas?|modelos?)(?![a-z])"
)
_ITALIAN = re.compile(
    r"(?<![a-z])(?:lung[oaie]|lunghi|lunghe|coppi[ae]|ingranaggi?o?|denti|acciaio|prezz[oi]|listino"
    r"|descrizione|pignon[ei]|ruot[ae]|modell[oi]|codice|giacenza|temprat[oaie])(?![a-z])"
)
_LARGO = "'largo' is long in Spanish and wide in Italian"


@dataclass(frozen=True, slots=True)
class Mention:
    """A place where a text speaks of housings.

    Attributes:
        start: where it begins in the folded text.
        end: where it ends.
        words: sizes, or all, in the order written.
        doubt: why they may not be meant as they stand, or empty.
    """

    start: int
    end: int
    words: tuple[HousingWord, ...]
    doubt: str


def find_housings(folded: str) -> list[Mention]:
    """Where a folded text speaks of short, mid or long housings, or of all of them."""
    found: list[Mention] = []
    if not _HAS_NOUN.search(folded):
        return found
    for match in _MENTION.finditer(folded):
        behind = _NEXT.match(folded, match.end())
        if (behind and behind[1] in cues.OTHER_PARTS) or _IDIOM.search(folded, 0, match.end()):
            continue  # `long case bolts`, `in all cases`
        start = max(match.start() - 10, 0)
        doubt = doubt_about_sizes(folded[start : match.end()])
        found.append(Mention(match.start(), match.end(), sizes_in(match.group()), doubt))
    return found


def sizes_in(folded: str) -> tuple[HousingWord, ...]:
    """The words for sizes in a folded text, each once, in the order written."""
    found: dict[HousingWord, None] = {}
    for word in _LETTERS.findall(folded):
        compound = _COMPOUND.match(word)
        size = _WORD.get(word) or (SIZE_WORDS[compound[1]] if compound else None)
        if size is not None:
            found[size] = None
    return tuple(found)


def doubt_about_sizes(folded: str) -> str:
    """Why words for sizes may not be meant as they stand, or empty."""
    if tied := _TIED.search(folded):
        return f"{tied.group()!r} may be one size or two"
    if qualified := _QUALIFIED.search(folded):
        return f"{qualified.group()!r} may be another size"
    words = sizes_in(folded)
    if len(words) > 1 and not _WHOLE.keys().isdisjoint(_LETTERS.findall(folded)):
        return "it names all housings and one"
    if _SPANISH.search(folded):
        return ""
    return _LARGO if re.search(r"(?<![a-z])larg", folded) else ""


def find_odd_sign(folded: str) -> str:
    """The first sign in a housing cell that does not just join sizes; or empty."""
    found = _ODD_SIGN.search(folded)
    return found.group().strip() if found else ""


def are_set_apart(folded: str) -> bool:
    """Whether a sign parts a size from what stands before it: `Dunlin (kurz)`."""
    return _SET_APART.search(folded) is not None


def names_spanish_case(text: str) -> bool:
    """Whether a text has the Spanish word for the case, which bears an accent."""
    return "cárter" in text.lower()


def speaks_spanish(texts: Iterable[str]) -> bool:
    """Whether a list is in Spanish and in no part of it in Italian."""
    spanish: set[str] = set()
    for text in texts:
        folded = fold(text)
        if _ITALIAN.search(folded):
            return False
        spanish.update(_SPANISH.findall(folded))
    return len(spanish) > 1


def read_housing(
    cell: Cell | str,
    *,
    housing_column: bool = False,
    in_spanish: Callable[[], bool] | None = None,
) -> Reading[tuple[HousingWord, ...]]:
    """Whether a cell speaks of a short, mid or long housing, or of all housings.

    Args:
        cell: the cell, or bare text.
        housing_column: whether the column is known to name the housing; else the word must stand
            beside one for a housing.
        in_spanish: says whether the list is in Spanish, which settles `largo`.

    Returns:
        The words in order. Names a catalogue gives its housings are matched elsewhere: text that is
        none of these words is `unreadable` in a housing column, not wrong.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    text = fold(cell.text)
    mentions = [] if housing_column else find_housings(text)
    words = sizes_in(text) if housing_column else _all_words(mentions)
    if not words:
        if housing_column:
            return unreadable(cell, "no word for a short, mid or long housing")
        return empty(cell, "no word for a housing")
    if denied := said_against(cell.text):
        return review(cell, f"it denies or doubts something ({denied!r})", words)
    doubt = (
        doubt_about_sizes(text)
        if housing_column
        else next((m.doubt for m in mentions if m.doubt), "")
    )
    if housing_column and (rest := _rest(text)):
        return review(cell, f"something else stands beside it ({rest!r})", words)
    if doubt == _LARGO and (
        _SPANISH.search(text) or names_spanish_case(cell.text) or (in_spanish and in_spanish())
    ):
        doubt = ""
    return review(cell, doubt, words) if doubt else read(cell, words)


def _all_words(mentions: Iterable[Mention]) -> tuple[HousingWord, ...]:
    return tuple(dict.fromkeys(word for each in mentions for word in each.words))


def _rest(folded: str) -> str:
    """What a housing cell says besides sizes and housings."""
    if odd := find_odd_sign(folded):
        return odd
    words = re.findall(r"[^\W_]+", _PLAIN.sub(" ", _COMPOUND.sub(" ", folded)))
    return " ".join(word for word in words if word not in _WORD)


Sizes = tuple[int, ...]

_LEAST, _MOST = 4, 30
_INCH = r"(?:\"|''|zoll|inch(?:es)?|in(?![a-z])|pollic[ei]|pouces?|pulgadas?|pulg\.?)"
_SIZE = r"[0-9]{1,2}(?:[.,]0)?"
_AND = r"(?:/|,|\+|&|;|und|and|e|et|y|o|oder|or|ou)"
_LIST = rf"{_SIZE}(?:\s?(?:\"|'')?\s?{_AND}\s?{_SIZE})*"
_WITH_INCH = re.compile(rf"(?<![0-9.,/x-])(?P<sizes>{_LIST})\s?-?\s?{_INCH}")
_RANGE = re.compile(
    rf"(?<![0-9.,/])([0-9]{{1,2}})\s?(?:\"|'')?\s?(?:-|to|bis|a|al|hasta)\s?"
    rf"([0-9]{{1,2}})\s?(?:{_INCH})?$"
)
_TYRE = re.compile(
    r"(?<![0-9.,/])(?:[0-9]{2,3}\s?/\s?[0-9]{2,3}|[0-9]{1,2}[.,][0-9]{1,2})"
    r"\s?(?:[a-z]{0,2})\s?[-x ]?\s?(?:r)?\s?(?P<sizes>[0-9]{1,2})(?![0-9.,/])"
)
_WHEEL = (
    r"(?:rad|rader|felgen?|reifen|wheels?|rims?|tyres?|tires?|ruot[ae]|cerchi?o?|gomm[ae]|roues?"
    r"|jantes?|pneus?|ruedas?|llantas?)"
)
_NAMED = re.compile(
    rf"(?<![a-z]){_WHEEL}\s?(?:da|de|von|of|mit|:|=|size|grosse)?\s?"
    rf"(?P<sizes>{_LIST})(?![0-9.,/:x]|-[0-9])"
)
_BARE = re.compile(rf"r?\s?(?P<sizes>{_LIST})")


def read_wheel_size(cell: Cell | str, *, size_column: bool = False) -> Reading[Sizes]:
    """The rim sizes a cell names, whole inches.

    Args:
        cell: the cell, or bare text.
        size_column: whether the column is known to hold wheel sizes; bare numbers are taken then.

    Returns:
        One size or several in the order written; a tyre size gives its rim.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    value = cell.value
    if isinstance(value, dt.date) and size_column:
        sizes = tuple(sorted({value.day, value.month}))
        return review(cell, "a spreadsheet made a date of it; look at the list", sizes)
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    found: list[int] = []
    if isinstance(value, str) or (number and size_column):
        text = fold(cell.text).strip()
        ranged = _RANGE.fullmatch(text) if size_column else None
        if ranged:
            reason = "from one size to another; which?"
            return review(cell, reason, (int(ranged[1]), int(ranged[2])))
        found = _in_text(text, size_column)
    if not found:
        none = "no wheel size in whole inches"
        return unreadable(cell, none) if size_column else empty(cell, none)
    wrong = [size for size in found if not _LEAST <= size <= _MOST]
    if wrong:
        return review(cell, f"{wrong[0]} inches is not a rim size")
    return read(cell, tuple(dict.fromkeys(found)))


def _in_text(text: str, size_column: bool) -> list[int]:
    found: list[int] = []
    rest = text
    for pattern in (_TYRE, _WITH_INCH, _NAMED):
        matches = list(pattern.finditer(rest))
        if matches:
            found += [size for match in matches for size in _numbers(match["sizes"])]
            rest = pattern.sub(lambda match: " " * len(match.group()), rest)
    bare = _BARE.fullmatch(text) if size_column and not found else None
    return _numbers(bare["sizes"]) if bare else found


def _numbers(text: str) -> list[int]:
    return [int(number) for number in re.findall(r"(?<![.,])[0-9]{1,2}(?![0-9])", text)]


def wheel_spans(folded: str) -> list[tuple[int, int]]:
    """Where a folded text gives a rim or a tyre size."""
    return [
        each.span() for pattern in (_TYRE, _WITH_INCH, _NAMED) for each in pattern.finditer(folded)
    ]


def housing_spans(folded: str) -> list[tuple[int, int]]:
    """Where a folded text speaks of housings; what leaves a doubt is asked as a housing."""
    return [(each.start, each.end) for each in find_housings(folded)]
