"""Which field a heading names, by trade words or by the supplier's mapping.

The words are the lists of headings in wording/words.yaml.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import get_args

from fitcheck.diagnostics.suggest import digits_of, nearest, or_list
from fitcheck.model.trade import ListField, ListMapping
from fitcheck.services.price_lists.wording.cues import WORDS
from fitcheck.services.price_lists.wording.readings import words_of

FIELDS: tuple[ListField, ...] = get_args(ListField)
HEADINGS: dict[ListField, frozenset[str]] = {name: WORDS["heading"][name] for name in FIELDS}
"""Phrases that are a heading by themselves."""
NO_FIELD = WORDS["column"]["no_field"]
DEVIATING = WORDS["column"]["deviating"]
PRICE_UNITS = WORDS["column"]["price_units"]
PACKS = WORDS["column"]["packs"]
PACK_WORDS = WORDS["column"]["pack"]
SINGLE_UNITS = WORDS["column"]["single"]
EXTRA_CHARGES = WORDS["column"]["extra_charges"]
DENYING = WORDS["column"]["denying"]
SILENT = WORDS["column"]["silent"]
FAMILIES = WORDS["column"]["families"]
SUCCESSORS = WORDS["column"]["successors"]
CURRENCIES = WORDS["column"]["currencies"]
RATIOS = WORDS["column"]["ratios"]
PINION_HEADINGS = WORDS["column"]["pinion"]
WHEEL_HEADINGS = WORDS["column"]["wheel"]


_NEAR = 86.0
# Beside the price of one, those of five or ten pieces stand. Common practice, no source.
_ONE_PIECE = re.compile(
    r"(?:ab |from |da |des |desde )?1 ?"
    r"(?:stk|stuck|st|pcs?|pieces?|piece|pz|pezz[oi]|pza|uds?|unidad|unite|satz|set)"
)
_SEVERAL = re.compile(
    r"(?:ab |from |da |des |desde |a partir de )?(?:[2-9]|[1-9][0-9]+) ?"
    r"(?:\+|stk|stuck|st|pcs?|pieces?|pz|pezz[oi]|pzas?|uds?|unidades|unites|satze?|sets?)?"
)
_LONGEST = 80
JOINT = " + "
"""Stands between two headings in a mapping whose columns are read together."""

_CURRENCY_SIGNS = ("€", "£", "$", "CHF", "EUR")


# The date in a heading, and what says that it is one; common practice, no source.
_MONTHS = "|".join(sorted({word for words in WORDS["month"].values() for word in words}))
_DATE = re.compile(
    r"(?:(?:gultig|valid[aeo]?|valable|vigente|en vigueur|stand|status|update|fassung) )?"
    r"(?:(?:ab|vom|seit|from|since|as of|dal?|del?|du|depuis|a partir d[ue]|au|desde|al|per|zum"
    r"|bis|until|hasta|im|in) )?(?:le |el )?(?<![a-z0-9])"
    rf"(?:(?:[0-3]?[0-9] )?(?:0?[1-9]|1[0-2]|{_MONTHS}) (?:20)?[23][0-9]|20[23][0-9](?: [01]?[0-9])*"
    rf"|[0-3]?[0-9] (?:{_MONTHS}))(?![a-z0-9])"
)


def undated(words: str) -> str:
    """The words of a heading without the date it bears: `tarif ht 02 2026` is `tarif ht`."""
    return " ".join(_DATE.sub(" ", words).split()) if any(map(str.isdigit, words)) else words


@dataclass(frozen=True, slots=True)
class Guess:
    """A field a heading may name.

    Attributes:
        field: our field.
        score: 100 for a phrase that is a heading by itself, less for a part or a near spelling.
        reason: one sentence.
    """

    field: ListField
    score: float
    reason: str


@lru_cache(maxsize=4096)
def score_heading(heading: str) -> tuple[Guess, ...]:
    """The fields a heading may name, best first; none for headings of other things."""
    words = words_of(heading.replace("#", " no "))
    words = undated(words) or words
    if heading.strip() in _CURRENCY_SIGNS:
        return (Guess("price", 95.0, "it is the sign of a currency"),)
    if not words or len(words) > _LONGEST or not any(sign.isalpha() for sign in words):
        return ()
    exact = [name for name in FIELDS if words in HEADINGS[name]]
    if exact:
        return tuple(Guess(name, 100.0, f"{heading.strip()!r} is a word for it") for name in exact)
    if words in NO_FIELD or words in DENYING or not DEVIATING.isdisjoint(words.split()):
        return ()
    found = _of_one(words) or _by_number(words) or _by_part(words) or _by_spelling(words)
    if not found and any(sign in heading for sign in _CURRENCY_SIGNS):
        return (Guess("price", 90.0, "it holds the sign of a currency"),)
    return found


def _of_one(words: str) -> tuple[Guess, ...]:
    """The price of one piece: `1 Stk`, `from 1 pc`."""
    one = _ONE_PIECE.fullmatch(words)
    return (Guess("price", 90.0, "it is the price of one piece"),) if one else ()


def _by_number(words: str) -> tuple[Guess, ...]:
    """Fields of a heading that is numbered: `Bezeichnung 2`, `VK1`."""
    bare = re.sub(r"(?<=[a-z]{2}) ?[1-9]$", "", words)
    guesses = score_heading(bare) if bare != words else ()
    return tuple(replace(guess, score=min(guess.score, 95.0)) for guess in guesses)


def _by_part(words: str) -> tuple[Guess, ...]:
    """Fields whose phrases stand in the heading as whole words; the longest phrase counts."""
    padded = f" {words} "
    if any(f" {phrase} " in padded for phrase in NO_FIELD if len(phrase) > 5 or " " in phrase):
        return ()
    found: list[tuple[int, ListField, str]] = []
    for name in FIELDS:
        inside = [
            phrase for phrase in HEADINGS[name] if len(phrase) > 2 and f" {phrase} " in padded
        ]
        if inside:
            best = max(inside, key=lambda phrase: (len(phrase), phrase))
            found.append((len(best), name, best))
    found.sort(reverse=True)
    return tuple(
        Guess(name, 95.0 if size == found[0][0] else 75.0, f"it holds the word {phrase!r}")
        for size, name, phrase in found
        if size * 2 >= found[0][0]
    )


def is_of_several(heading: str) -> bool:
    """Whether a heading is of the price of several pieces: `ab 10 Stk`."""
    return _SEVERAL.fullmatch(words_of(heading)) is not None


def names_other_thing(heading: str) -> bool:
    """Whether a heading holds a word for what is none of our fields: a weight, a tax, an old price."""
    words = words_of(heading)
    other = (phrase for phrase in NO_FIELD | EXTRA_CHARGES if len(phrase) > 1)
    return not DEVIATING.isdisjoint(words.split()) or any(
        f" {phrase} " in f" {words} " for phrase in other
    )


def _by_spelling(words: str) -> tuple[Guess, ...]:
    from rapidfuzz import fuzz  # noqa: PLC0415 - start-up goes without it

    if len(words) < 5:
        return ()
    found = []
    for name in FIELDS:
        near = [
            (fuzz.ratio(words, phrase), phrase)
            for phrase in HEADINGS[name]
            if len(phrase) > 4 and digits_of(phrase) == digits_of(words)
        ]
        score, phrase = max(near, default=(0.0, ""))
        if score >= _NEAR:
            found.append(Guess(name, score * 0.9, f"it is spelt nearly like {phrase!r}"))
    return tuple(sorted(found, key=lambda guess: -guess.score))


def guess_fields(headings: Mapping[int, str]) -> dict[int, tuple[Guess, ...]]:
    """Guesses for each column that has a heading; columns without any are left out."""
    return {
        column: guesses
        for column, heading in headings.items()
        if (guesses := score_heading(heading))
    }


def mapped_columns(
    headings: Mapping[int, str], mapping: ListMapping
) -> tuple[dict[ListField, tuple[int, ...]], list[str]]:
    """The columns a supplier's mapping names.

    Headings agree where their words do: case, accents, punctuation and line breaks aside. Two
    headings joined by ` + ` name two columns that are read together, such as `Z1 + Z2`.

    Args:
        headings: column number to heading.
        mapping: the supplier's.

    Returns:
        Field to column numbers, one or two, and one sentence for each heading that is missing or
        stands twice.
    """
    found: dict[ListField, tuple[int, ...]] = {}
    troubles = []
    for name, wanted in mapping.columns.items():
        whole = _find_headed(wanted, headings)
        parts = [wanted] if whole or JOINT not in wanted else wanted.split(JOINT)
        columns = [whole] if whole else [_find_headed(part, headings) for part in parts]
        if all(len(same) == 1 for same in columns):
            found[name] = tuple(same[0] for same in columns)
        for part, same in zip(parts, columns, strict=True):
            if len(same) > 1:
                troubles.append(f"{len(same)} columns are headed {part!r} ({name})")
            elif not same:
                troubles.append(
                    f"no column is headed {part!r} ({name}){_near(part, name, headings)}"
                )
    return found, troubles


def _find_headed(wanted: str, headings: Mapping[int, str]) -> list[int]:
    """The columns with a heading: those that write it just so, else those whose words agree.

    Else the first of those that differ in a date only.
    """
    exact = [column for column, heading in headings.items() if heading.strip() == wanted.strip()]
    alike = exact or [column for column, heading in headings.items() if _same(heading, wanted)]
    return alike or list(headed_but_for_date(wanted, headings))[:1]


def headed_but_for_date(wanted: str, headings: Mapping[int, str]) -> dict[int, str]:
    """The columns whose headings are one that bears a date, or are it but for the date."""
    words = words_of(wanted)
    bare = undated(words)
    if not bare:
        return {}
    found = {at: each for at, text in headings.items() if undated(each := words_of(text)) == bare}
    dated = bare != words or any(each != bare for each in found.values())
    return {at: headings[at] for at in found} if dated else {}


def _same(one: str, other: str) -> bool:
    first, second = words_of(one), words_of(other)
    if first or second:
        return first == second
    return "".join(one.split()) == "".join(other.split())  # signs only, such as `#` or `€`


def _near(wanted: str, name: ListField, headings: Mapping[int, str]) -> str:
    written = {" ".join(heading.split()): heading for heading in headings.values()}
    near = nearest(wanted, written)
    if near is None:
        near = next(
            (
                shown
                for shown, heading in written.items()
                if any(guess.field == name for guess in score_heading(heading)[:1])
            ),
            None,
        )
    if near is None:
        return f"; the header has {or_list([repr(each) for each in written])}" if written else ""
    return f"; did you mean {near!r}?"
