"""Model and family words of a list, matched to families; nothing is guessed in silence.

A word that is a family's name, alias or model, or was answered before, is accepted: case,
accents, separators, the order of words and what stands beside a name without naming anything do
not count. Anything else that is near goes to review with all it may be. Digits, numerals, sizes and
single letters count whatever the score: 50 is never taken for 70, nor a short case for a long one.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from fitcheck.catalogue.reader import Catalogue
from fitcheck.catalogue.source import gc_paused
from fitcheck.diagnostics.suggest import or_list
from fitcheck.services.intake.name_words import (
    DISPLACEMENTS,
    bare_name,
    key_of,
    letters_of,
    marks_of,
    parts_of_cell,
    stroke_of,
    tokens_of,
)
from fitcheck.services.intake.wording.folding import fold

__all__ = ["CellMatch", "Match", "Names", "Near", "names_of"]

CUTOFF = 78.0
"""Least likeness, 0 to 100, of a name that is offered in review."""

_MARGIN = 12.0
_MOST_NEAR = 3
_BLOCK = 2000
_LONGEST = 200

Answer = Literal["accepted", "review", "none"]
Known = Mapping[str, frozenset[str]]


@dataclass(frozen=True, slots=True)
class Near:
    """A name a word may stand for.

    Attributes:
        name: as the catalogue has it.
        family: its family.
        score: likeness, 0 to 100.
    """

    name: str
    family: str
    score: float


@dataclass(frozen=True, slots=True)
class Match:
    """What one word of a list stands for.

    Attributes:
        word: as the list writes it.
        family: id of the family, where accepted, else None.
        score: 100 for an exact one, else the likeness of the nearest, 0 to 100.
        reason: one sentence.
        answer: accepted: it is the family's; review: a person must say; none: of no family here.
        near: what it may stand for, the nearest first; only for review.
        housing: short, mid or long where the word names the case too, else empty.
        own_name: whether the word is the family's own name or alias, and not one of its models.
    """

    word: str
    family: str | None
    score: float
    reason: str
    answer: Answer
    near: tuple[Near, ...] = ()
    housing: str = ""
    own_name: bool = False


@dataclass(frozen=True, slots=True)
class CellMatch:
    """What a cell with one name or several stands for.

    Attributes:
        text: the cell's text.
        parts: the match of each name in it, in order.
        families: families that are accepted, or were answered, in the order written.
        answer: accepted where all parts that are of a family here name one and the same; review
            where a part is for review or the parts name different families; none otherwise.
        reason: one sentence.
    """

    text: str
    parts: tuple[Match, ...]
    families: tuple[str, ...]
    answer: Answer
    reason: str


def _as_key(text: str) -> str:
    return key_of(tokens_of(text))


class Names:
    """Every name a catalogue knows for its families, ready for matching in bulk.

    Args:
        names: a name as written to its families, and whether it is a family's own name or alias.
        displacements: family to the numbers that name its displacement.
        answered: words of the supplier's list to the family, the families or None, as answered
            before.
        strokes: family to `2` or `4`, where known.
    """

    def __init__(
        self,
        names: Iterable[tuple[str, str, bool]],
        displacements: Mapping[str, frozenset[str]],
        answered: Mapping[str, str | Sequence[str] | None] | None = None,
        strokes: Mapping[str, str] | None = None,
    ) -> None:
        self._nominal = displacements
        self._strokes = strokes or {}
        self._families: dict[str, set[str]] = {}
        self._shown: dict[str, str] = {}
        self._own: set[str] = set()
        tokens: dict[str, tuple[str, ...]] = {}
        for name, family, own in names:
            parts = tokens_of(name)
            key = key_of(parts)
            if not key:
                continue
            self._families.setdefault(key, set()).add(family)
            self._shown.setdefault(key, name)
            tokens[key] = parts
            if own:
                self._own.add(key)
        self._by_words: dict[tuple[str, ...], set[str]] = defaultdict(set)
        self._by_marks: dict[tuple[str, ...], list[str]] = defaultdict(list)
        self._by_letters: dict[str, list[str]] = defaultdict(list)
        for key, parts in tokens.items():
            self._by_words[tuple(sorted(parts))].add(key)
            self._by_marks[marks_of(parts)].append(key)
            self._by_letters[letters_of(parts)].append(key)
        self._first = {parts[0] for parts in tokens.values()}
        self._longest = max(map(len, tokens.values()), default=0)
        self._answered = {_as_key(word): given for word, given in (answered or {}).items()}

    # -- one word --------------------------------------------------------------------------------

    def _exact(self, tokens: Sequence[str], word: str) -> Match | None:
        key = key_of(tokens)
        if key in self._families:
            return self._settled(word, key, "")
        if len(tokens) > 1:
            turned = self._by_words.get(tuple(sorted(tokens)), ())
            if len(turned) == 1:
                return self._settled(word, next(iter(turned)), ", its words in another order")
        return None

    def _settled(self, word: str, key: str, how: str) -> Match:
        families = sorted(self._families[key])
        name = self._shown[key]
        if len(families) > 1:
            near = tuple(Near(name, family, 100.0) for family in families)
            return Match(word, None, 100.0, f"{name} may be {or_list(families)}", "review", near)
        kind = "a name" if key in self._own else "a model"
        same = how or ("" if name == word else f", written {name} here")
        return Match(
            word,
            families[0],
            100.0,
            f"{kind} of {families[0]}{same}",
            "accepted",
            own_name=key in self._own,
        )

    def _from_answer(self, word: str) -> Match | None:
        key = _as_key(word) if self._answered else ""
        if key not in self._answered:
            return None
        given = self._answered[key]
        if given is None:
            return Match(word, None, 100.0, "none of ours, as answered before", "none")
        if isinstance(given, str):
            return Match(word, given, 100.0, f"{given}, as answered before", "accepted")
        near = tuple(Near(word, family, 100.0) for family in given)
        return Match(word, None, 100.0, f"{or_list(given)}, as answered before", "review", near)

    def _plain(self, word: str) -> Match | tuple[tuple[str, ...], str]:
        """The match of a word that needs no likeness; else its bare tokens and its housing."""
        found = self._from_answer(word) or self._exact(tokens_of(word), word)
        if found is not None:
            return found
        tokens, housing = bare_name(word)
        if not tokens:
            return Match(word, None, 0.0, "nothing in it is a name", "none", housing=housing)
        found = self._exact(tokens, word) or self._without_displacement(tokens, word)
        if found is not None:
            found = self._of_stroke(found, stroke_of(fold(word)))
            return replace(found, housing=housing) if housing else found
        return tokens, housing

    def _of_stroke(self, found: Match, said: str) -> Match:
        """The match, unless the list names another number of strokes than the family has."""
        if not said or found.family is None:
            return found
        known = self._strokes.get(found.family, "")
        if known == said:
            return found
        if known:
            reason = f"{found.family} is a {known}-stroke, the list says {said}"
            return Match(found.word, None, 0.0, reason, "none")
        near = (Near(found.word, found.family, 100.0),)
        reason = f"the list says {said}-stroke; what {found.family} is, is not on file"
        return Match(found.word, None, 100.0, reason, "review", near)

    def _without_displacement(self, tokens: Sequence[str], word: str) -> Match | None:
        """`Dunlin 50 Ten` for the model Dunlin Ten, if the Dunlin Ten is a 50."""
        for at, token in enumerate(tokens):
            if token not in DISPLACEMENTS or len(tokens) < 2:
                continue
            found = self._exact((*tokens[:at], *tokens[at + 1 :]), word)
            if found is None or found.family is None:
                continue
            if token in self._nominal.get(found.family, ()):
                return replace(found, reason=f"{found.reason}, and it is of {token} cm3")
            return Match(
                word, None, 0.0, f"{found.family} is not of {token} cm3; digits count", "none"
            )
        return None

    # -- many words ------------------------------------------------------------------------------

    def match_words(self, words: Iterable[str]) -> dict[str, Match]:
        """The match of each different word.

        Args:
            words: names as the list writes them, one name each.

        Returns:
            Word to match.
        """
        with gc_paused():
            return self._match_words(words)

    def _match_words(self, words: Iterable[str]) -> dict[str, Match]:
        found: dict[str, Match] = {}
        open_: dict[tuple[tuple[str, ...], str], list[str]] = {}
        for word in dict.fromkeys(words):
            if len(word) > _LONGEST:
                found[word] = Match(word, None, 0.0, "too long for a name", "none")
                continue
            plain = self._plain(word)
            if isinstance(plain, Match):
                found[word] = plain
            else:
                open_.setdefault(plain, []).append(word)
        answers = self._near([tokens for tokens, _ in open_])
        for (tokens, housing), same in open_.items():
            said = answers[tokens]
            for word in same:
                found[word] = Match(
                    word, said.family, said.score, said.reason, said.answer, said.near, housing
                )
        return found

    def _near(self, queries: Sequence[tuple[str, ...]]) -> dict[tuple[str, ...], Match]:
        """Match by likeness, and by names that stand inside a longer word."""
        asked: dict[tuple[str, ...], list[tuple[str, tuple[str, ...], str]]] = defaultdict(list)
        lettered: list[tuple[str, tuple[str, ...]]] = []
        for tokens in dict.fromkeys(queries):
            marks = marks_of(tokens)
            if marks in self._by_marks:
                asked[marks].append((key_of(tokens), tokens, ""))
            for at, token in enumerate(tokens):
                if token in DISPLACEMENTS and len(tokens) > 1:
                    rest = (*tokens[:at], *tokens[at + 1 :])
                    if marks_of(rest) in self._by_marks:
                        asked[marks_of(rest)].append((key_of(rest), tokens, token))
            if not any(token < ":" for token in tokens):
                lettered.append((letters_of(tokens), tokens))
        near: dict[tuple[str, ...], dict[str, Near]] = defaultdict(dict)
        for marks, group in asked.items():
            keys = self._by_marks[marks]
            for row, column, score in _likeness([query for query, _, _ in group], keys):
                _, tokens, number = group[row]
                self._offer(near[tokens], keys[column], score, number)
        letters = list(self._by_letters)
        for row, column, score in _likeness([query for query, _ in lettered], letters):
            tokens = lettered[row][1]
            for key in self._by_letters[letters[column]]:
                if not _clash(marks_of(tokens), marks_of(tokens_of(self._shown[key]))):
                    self._offer(near[tokens], key, score, "")
        return {tokens: self._judged(tokens, near.get(tokens, {})) for tokens in queries}

    def _offer(self, near: dict[str, Near], key: str, score: float, number: str) -> None:
        for family in self._families[key]:
            if number and number not in self._nominal.get(family, ()):
                continue
            if family not in near or near[family].score < score:
                near[family] = Near(self._shown[key], family, score)

    def _judged(self, tokens: tuple[str, ...], near: dict[str, Near]) -> Match:
        inside = self._inside(tokens)
        if isinstance(inside, str) and not near:
            return Match("", None, 0.0, inside, "none")
        if isinstance(inside, dict):
            for family, each in inside.items():
                if family not in near or near[family].score < each.score:
                    near[family] = each
        if not near:
            return Match("", None, 0.0, "like no name, alias or model of a family here", "none")
        ranked = sorted(near.values(), key=lambda each: (-each.score, each.family))
        best = ranked[0].score
        shown = tuple(each for each in ranked if each.score >= best - _MARGIN)[:_MOST_NEAR]
        names = [f"{each.name} ({each.family})" for each in shown]
        return Match("", None, best, f"not exact; like {or_list(names)}", "review", shown)

    def _inside(self, tokens: tuple[str, ...]) -> dict[str, Near] | str:
        """Families with a name inside a longer one; or why the rest of it speaks against them."""
        found: dict[str, Near] = {}
        against = ""
        starts = [at for at, token in enumerate(tokens) if token in self._first]
        for length in range(min(len(tokens) - 1, self._longest), 0, -1) if starts else ():
            for start in starts:
                key = key_of(tokens[start : start + length])
                if start + length > len(tokens) or key not in self._families:
                    continue
                rest = (*tokens[:start], *tokens[start + length :])
                score = 100.0 * len(key) / len(key_of(tokens))
                numbers = [mark for mark in marks_of(rest) if mark.isdigit()]
                for family in self._families[key]:
                    other = [n for n in numbers if n not in self._nominal.get(family, ())]
                    if any(n in DISPLACEMENTS for n in other) or self._sibling(key, other):
                        against = f"{self._shown[key]} with {other[0]} is another; digits count"
                    elif score >= CUTOFF / 2 and family not in found:
                        found[family] = Near(self._shown[key], family, max(score, CUTOFF))
            if found:
                return found
        return found or against

    def _sibling(self, key: str, numbers: Sequence[str]) -> bool:
        """Whether numbered names of the same stem are known, so that another number is another."""
        stem = letters_of(tokens_of(key))
        return bool(numbers) and any(
            other != key and marks_of(tokens_of(self._shown[other]))
            for other in self._by_letters.get(stem, ())
        )

    # -- cells -----------------------------------------------------------------------------------

    def match_cells(self, texts: Iterable[str]) -> dict[str, CellMatch]:
        """The match of each different text of a column of models.

        Args:
            texts: cells, each with one name or several.

        Returns:
            Text to match; a cell without any name has no parts and the answer none.
        """
        with gc_paused():
            return self._match_cells(texts)

    def _match_cells(self, texts: Iterable[str]) -> dict[str, CellMatch]:
        parts: dict[str, list[str]] = {}
        whole: dict[str, Match] = {}
        for text in dict.fromkeys(texts):
            if len(text) <= _LONGEST:
                found = self._from_answer(text) or self._exact(tokens_of(text), text)
                if found is not None:
                    whole[text] = found
                    continue
            parts[text] = self._full_names(parts_of_cell(text))
        matches = self.match_words(part for each in parts.values() for part in each)
        cells = {text: _cell(text, [match]) for text, match in whole.items()}
        for text, each in parts.items():
            cells[text] = _cell(text, [matches[part] for part in each])
        return cells

    def _full_names(self, parts: Sequence[str]) -> list[str]:
        """The parts of a cell, short ones written out: `Dunlin Ten/Twelve` names two models."""
        full: list[str] = []
        for part in parts:
            tokens, _ = bare_name(part)
            short = full and len(tokens) <= 2 and self._exact(tokens, part) is None
            if not tokens or not any(tokens):
                continue
            if short and (shown := self._written_out(full[-1], part, tokens)):
                full.append(shown)
            elif _names_something(part):
                full.append(part)
        return full

    def _written_out(self, before: str, part: str, tokens: tuple[str, ...]) -> str:
        if self._from_answer(part) is not None:
            return ""
        words = before.split()
        for kept in range(len(words) - 1, 0, -1):
            shown = f"{' '.join(words[:kept])} {part}"
            if self._exact((*tokens_of(" ".join(words[:kept])), *tokens), shown):
                return shown
        # A bare number belongs to the name before, known or not: 50/70 are two displacements.
        if all(token.isdigit() for token in tokens) and len(words) > 1:
            return f"{' '.join(words[:-1])} {part}"
        return ""

    def known_names(self) -> list[str]:
        """Every name, as written first."""
        return list(self._shown.values())

    def names_inside(self, text: str) -> list[Match]:
        """Exact names that stand inside free text, each with its family; likeness is not tried.

        A name whose next word is another displacement is none.
        """
        tokens = tokens_of(text)
        found: list[Match] = []
        at = 0
        while at < len(tokens):
            for length in range(min(self._longest, len(tokens) - at), 0, -1):
                key = key_of(tokens[at : at + length])
                if key not in self._families or (length == 1 and len(key) < 4):
                    continue
                match = self._settled(self._shown[key], key, "")
                behind = tokens[at + length] if at + length < len(tokens) else ""
                nominal = self._nominal.get(match.family or "", frozenset())
                if behind not in DISPLACEMENTS or behind in nominal:
                    found.append(match)
                at += length - 1
                break
            at += 1
        return list(dict.fromkeys(found))


def _names_something(part: str) -> bool:
    """Whether a part of a cell holds a letter or two that may be a name, and not only sizes."""
    tokens, _ = bare_name(part)
    return any(len(token) > 1 or token.isdigit() for token in tokens)


def _clash(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """Whether both have marks and they differ; digits that one lacks may have been left out."""
    plain = tuple(mark for mark in other if not mark.isdigit())
    return bool(one) and one not in (other, plain)


def _cell(text: str, parts: Sequence[Match]) -> CellMatch:
    parts = tuple(parts)
    families = list(dict.fromkeys(part.family for part in parts if part.family is not None))
    unsure = [part for part in parts if part.answer == "review"]
    given = [each.family for part in unsure if part.reason.endswith("before") for each in part.near]
    if given and len(unsure) == 1:
        families = list(dict.fromkeys([*families, *given]))
        return CellMatch(text, parts, tuple(families), "accepted", unsure[0].reason)
    if unsure:
        reason = f"{unsure[0].word}: {unsure[0].reason}"
        return CellMatch(text, parts, tuple(families), "review", reason)
    if len(families) > 1:
        named = ", ".join(f"{part.word} is {part.family}" for part in parts if part.family)
        return CellMatch(text, parts, tuple(families), "review", f"of several families: {named}")
    if families:
        return CellMatch(text, parts, tuple(families), "accepted", parts[0].reason)
    reason = parts[0].reason if parts else "no name in it"
    return CellMatch(text, parts, (), "none", reason)


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


def names_of(
    catalogue: Catalogue, answered: Mapping[str, str | Sequence[str] | None] | None = None
) -> Names:
    """The names of a catalogue's families.

    Args:
        catalogue: families, with aliases and models.
        answered: words of the supplier's list that were answered before, to the family, the
            families, or None for none of ours.
    """
    names: list[tuple[str, str, bool]] = []
    displacements: dict[str, frozenset[str]] = {}
    strokes: dict[str, str] = {}
    for family_id, entry in catalogue.families.items():
        family = entry.record
        own = [family.name, family_id, *family.aliases]
        names += [(name, family_id, True) for name in own]
        names += [
            (model, family_id, False) for train in family.factory_trains for model in train.models
        ]
        numbers = {token for name in own for token in tokens_of(name) if token.isdigit()}
        if family.displacement_cm3 is not None:
            exact = family.displacement_cm3
            numbers |= {str(math.floor(exact)), str(math.ceil(exact))}
        displacements[family_id] = frozenset(numbers)
        if family.cycle is not None:
            strokes[family_id] = "2" if family.cycle == "two-stroke" else "4"
    return Names(names, displacements, answered, strokes)
