"""Names that a word is nearly, or holds, or shortens; never one whose digits differ."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from fitcheck.diagnostics.suggest import or_list
from fitcheck.services.price_lists.name_book import Match, NameBook, Near, Tokens
from fitcheck.services.price_lists.name_words import (
    DISPLACEMENTS,
    in_digits,
    key_of,
    letters_of,
    marks_of,
)

CUTOFF = 78.0
"""Least likeness, 0 to 100, of a name that is offered in review."""

UNKNOWN = "like no name, alias or model of a family here"
"""Why a word is none where nothing speaks against it and nothing for it."""

_MARGIN = 12.0
_LEAST_SHARE = 30.0
"""Least share, percent, that a known name has of a longer word to be offered for it."""

_MOST_NEAR = 3
_MOST_ALIKE = 12
_BLOCK = 2000


class Likeness:
    """Looks for the nearest names of words that are none themselves.

    Args:
        book: the names.
    """

    def __init__(self, book: NameBook) -> None:
        self._book = book

    def near(self, queries: Sequence[Tokens]) -> dict[Tokens, Match]:
        """Match by likeness, and by names that stand inside a longer word.

        Args:
            queries: bare tokens of words.

        Returns:
            Tokens to a match with an empty word: for review with what is near, or none.
        """
        near: dict[Tokens, dict[str, Near]] = defaultdict(dict)
        self._by_marks(queries, near)
        self._by_letters(queries, near)
        return {tokens: self._judge(tokens, near.get(tokens, {})) for tokens in queries}

    def _by_marks(self, queries: Sequence[Tokens], near: dict[Tokens, dict[str, Near]]) -> None:
        """Offer names with the same marks, and those whose number is written another way."""
        asked: dict[Tokens, list[tuple[str, Tokens, str]]] = defaultdict(list)
        for tokens in queries:
            for rest, number in _readings(tokens):
                asked[marks_of(rest)].append((in_digits(rest), tokens, number))
        for marks, group in asked.items():
            keys = self._book.by_marks.get(marks, [])
            names = [in_digits(self._book.tokens[key]) for key in keys]
            for row, column, score in _likeness([query for query, _, _ in group], names):
                _, tokens, number = group[row]
                self._offer(near[tokens], keys[column], score, number)

    def _by_letters(self, queries: Sequence[Tokens], near: dict[Tokens, dict[str, Near]]) -> None:
        """Offer names for words without any digit, whatever theirs are: they were left out."""
        plain = [tokens for tokens in queries if not any(token < ":" for token in tokens)]
        letters = list(self._book.by_letters)
        for row, column, score in _likeness([letters_of(tokens) for tokens in plain], letters):
            for key in self._book.by_letters[letters[column]]:
                marks = marks_of(self._book.tokens[key])
                if not _clash(marks_of(plain[row]), marks):
                    self._offer(near[plain[row]], key, score, "")

    def _offer(self, near: dict[str, Near], key: str, score: float, number: str) -> None:
        for family in self._book.families[key]:
            if number and number not in self._book.nominal.get(family, ()):
                continue
            if family not in near or near[family].score < score:
                near[family] = Near(self._book.shown[key], family, score)

    def _judge(self, tokens: Tokens, near: dict[str, Near]) -> Match:
        inside = self._inside(tokens)
        if isinstance(inside, str) and inside and not near:
            return Match("", None, inside, "none")
        if not isinstance(inside, dict) and not near:
            inside = self._find_shortened(tokens)
        if isinstance(inside, dict):
            for family, each in inside.items():
                if family not in near or near[family].score < each.score:
                    near[family] = each
        if not near:
            return Match("", None, UNKNOWN, "none")
        ranked = sorted(near.values(), key=lambda each: (-each.score, each.family))
        best = ranked[0].score
        shown = tuple(each for each in ranked if each.score >= best - _MARGIN)[:_MOST_NEAR]
        names = [f"{each.name} ({each.family})" for each in shown]
        return Match("", None, f"not exact; like {or_list(names)}", "review", near=shown)

    def _inside(self, tokens: Tokens) -> dict[str, Near] | str:
        """Families with a name inside a longer one; or why the rest of it speaks against them."""
        found: dict[str, Near] = {}
        against = ""
        starts = [at for at, token in enumerate(tokens) if token in self._book.first]
        for length in range(min(len(tokens) - 1, self._book.longest), 0, -1) if starts else ():
            for start in starts:
                key = key_of(tokens[start : start + length])
                if start + length > len(tokens) or key not in self._book.families:
                    continue
                rest = (*tokens[:start], *tokens[start + length :])
                score = 100.0 * len(key) / len(key_of(tokens))
                numbers = [mark for mark in marks_of(rest) if mark.isdigit()]
                for family in self._book.families[key]:
                    other = [n for n in numbers if n not in self._book.nominal.get(family, ())]
                    if other and self._says_its_own(key, family):
                        # `Dunlin 50 with 70cc kit`: its own number is there, what is the other?
                        found.setdefault(family, Near(self._book.shown[key], family, CUTOFF))
                    elif any(n in DISPLACEMENTS for n in other) or self._sibling(key, other):
                        against = (
                            f"{self._book.shown[key]} with {other[0]} is another; digits count"
                        )
                    elif score >= _LEAST_SHARE and family not in found:
                        found[family] = Near(self._book.shown[key], family, max(score, CUTOFF))
            if found:
                return found
        return found or against

    def _find_shortened(self, tokens: Tokens) -> dict[str, Near]:
        """Families with a name of which the word is the end, or an abbreviation: `Sand. Drift`."""
        found: dict[str, Near] = {}
        for rest, number in _readings(tokens):
            if len(rest[-1]) < 4:
                continue
            alike = self._book.by_last.get(rest[-1], [])
            # An ending that many names share, such as Sport, names none of them.
            few = len(alike) <= _MOST_ALIKE
            for key in alike:
                name = self._book.tokens[key]
                if (few and _ends_with(name, rest)) or _abbreviates(rest, name):
                    for family in self._book.families[key]:
                        if not number or number in self._book.nominal.get(family, ()):
                            near = Near(self._book.shown[key], family, CUTOFF)
                            found.setdefault(family, near)
        return found

    def _says_its_own(self, key: str, family: str) -> bool:
        """Whether a name holds the number of its family's displacement."""
        marks = marks_of(self._book.tokens[key])
        return bool(set(marks) & self._book.nominal.get(family, frozenset()))

    def _sibling(self, key: str, numbers: Sequence[str]) -> bool:
        """Whether numbered names of the same stem are known, so that another number is another."""
        stem = letters_of(self._book.tokens[key])
        return bool(numbers) and any(
            other != key and marks_of(self._book.tokens[other])
            for other in self._book.by_letters.get(stem, ())
        )


def _readings(tokens: Tokens) -> Iterable[tuple[Tokens, str]]:
    """The tokens, and what is left of them without a displacement, which is told beside."""
    yield tokens, ""
    for at, token in enumerate(tokens):
        if token in DISPLACEMENTS and len(tokens) > 1:
            yield (*tokens[:at], *tokens[at + 1 :]), token


def _ends_with(name: Tokens, tail: Tokens) -> bool:
    return len(tail) < len(name) and name[-len(tail) :] == tail


def _abbreviates(short: Tokens, name: Tokens) -> bool:
    return len(short) == len(name) and all(
        len(one) >= 3 and other.startswith(one) for one, other in zip(short, name, strict=True)
    )


def _clash(one: Tokens, other: Tokens) -> bool:
    """Whether both have marks and they differ; digits that one lacks may have been left out."""
    plain = tuple(mark for mark in other if not mark.isdigit())
    return bool(one) and one not in (other, plain)


def _likeness(queries: Sequence[str], names: Sequence[str]) -> Iterable[tuple[int, int, float]]:
    """Pairs of query and name that are alike, by position, with their score."""
    if not queries or not names:
        return
    from rapidfuzz import fuzz, process  # noqa: PLC0415 - start-up goes without it

    for start in range(0, len(queries), _BLOCK):
        block = queries[start : start + _BLOCK]
        # float32: whole numbers would make ties of what the margin must tell apart.
        scores: Any = process.cdist(block, names, scorer=fuzz.ratio, score_cutoff=CUTOFF)
        rows, columns = scores.nonzero()
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
            yield start + row, column, float(scores[row, column])
