"""Model and family words of a list, matched to families; nothing is guessed in silence.

A word that is a family's name, alias or model, or was answered before, is accepted: case,
accents, separators, the order of words and what stands beside a name without naming anything do
not count. Anything else that is near goes to review with all it may be. Digits, numerals, sizes and
single letters count whatever the score: 50 is never taken for 70, nor a short case for a long one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from fitcheck.catalogue.reader import Catalogue
from fitcheck.catalogue.source import gc_paused
from fitcheck.services.price_lists.name_book import Answer, Match, NameBook, Near, Tokens
from fitcheck.services.price_lists.name_likeness import Likeness
from fitcheck.services.price_lists.name_words import (
    DISPLACEMENTS,
    bare_name,
    key_of,
    misread,
    parts_of_cell,
    tokens_of,
)
from fitcheck.services.price_lists.wording.readings import fold

_LONGEST = 200

_MISREAD = 90.0
"""Likeness of a name in which a digit is taken for a letter, or the reverse."""


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


class Names:
    """Matches words and cells in bulk.

    Attributes:
        book: the names of the families.
    """

    def __init__(self, book: NameBook) -> None:
        self.book = book
        self._likeness = Likeness(book)

    @gc_paused()
    def match_words(self, words: Iterable[str]) -> dict[str, Match]:
        """The match of each different word.

        Args:
            words: names as the list writes them, one name each.

        Returns:
            Word to match.
        """
        found: dict[str, Match] = {}
        open_: dict[tuple[Tokens, str], list[str]] = {}
        for word in dict.fromkeys(words):
            if len(word) > _LONGEST:
                found[word] = Match(word, None, "too long for a name", "none")
                continue
            plain = self.book.plain(word)
            if isinstance(plain, Match):
                found[word] = plain
            else:
                open_.setdefault(plain, []).append(word)
        answers = self._likeness.near([tokens for tokens, _ in open_])
        for (tokens, housing), same in open_.items():
            said = answers[tokens]
            for word in same:
                found[word] = replace(said, word=word, housing=housing)
        for word, match in found.items():
            if match.answer == "none" and not match.reason.endswith("before"):
                found[word] = self._misread(word) or match
        return found

    def _misread(self, word: str) -> Match | None:
        """The match for review of a word that is a name once O is 0, l is 1 and so on."""
        for reading in misread(fold(word)) if len(word) <= _LONGEST else ():
            known = self.book.plain(reading)
            if isinstance(known, Match) and known.answer == "accepted" and known.family:
                near = (Near(reading, known.family, _MISREAD),)
                reason = f"a name if letters and digits in it are misread: {reading!r}"
                return Match(word, None, reason, "review", near=near)
        return None

    @gc_paused()
    def match_cells(self, texts: Iterable[str]) -> dict[str, CellMatch]:
        """The match of each different text of a column of models.

        Args:
            texts: cells, each with one name or several.

        Returns:
            Text to match; a cell without any name has no parts and the answer none.
        """
        parts: dict[str, list[str]] = {}
        whole: dict[str, Match] = {}
        for text in dict.fromkeys(texts):
            if len(text) <= _LONGEST:
                found = self.book.from_answer(text)
                if found is None and "?" not in text:
                    found = self.book.exact(tokens_of(text), text)
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
            tokens, housing = bare_name(part)
            if not tokens and housing and len(parts) == 2 and full and not bare_name(full[0])[1]:
                full[0] += f", {part}"  # the housing of the one name before it
                continue
            if not any(len(token) > 1 or token.isdigit() for token in tokens):
                continue  # a rim, a case, a sign
            shown = part
            if full and len(tokens) <= 2 and self.book.plain_name(part) is None:
                shown = self._written_out(full[-1], tokens, part)
                if tokens[0].isdigit() and shown == part:
                    # No name begins with a bare number: it belongs to the one before.
                    full[-1] += f"/{part}"
                    continue
            full.append(shown)
        return full

    def _written_out(self, before: str, tokens: Tokens, part: str) -> str:
        """A part behind the words that the name before begins with, where that makes a name."""
        words, _ = bare_name(before)
        for kept in range(len(words), 0, -1):
            if self.book.exact((*words[:kept], *tokens), part) is not None:
                return f"{_written_like(before, words[:kept])} {part}"
        # 50/70 are two displacements, known or not.
        if len(words) > 1 and tokens[0] in DISPLACEMENTS:
            return f"{' '.join(before.split()[:-1])} {part}"
        return part

    def names_inside(self, text: str) -> list[Match]:
        """Exact names that stand inside free text, each with its family; likeness is not tried.

        A name whose next word is another displacement is none.
        """
        tokens = tokens_of(text)
        found: list[Match] = []
        at = 0
        while at < len(tokens):
            if tokens[at][:2] not in self.book.heads:
                at += 1
                continue
            for length in range(min(self.book.longest, len(tokens) - at), 0, -1):
                key = key_of(tokens[at : at + length])
                if key not in self.book.families or (length == 1 and len(key) < 4):
                    continue
                match = self.book.settled(self.book.shown[key], key)
                behind = tokens[at + length] if at + length < len(tokens) else ""
                nominal = self.book.nominal.get(match.family or "", frozenset())
                if behind not in DISPLACEMENTS or behind in nominal:
                    found.append(match)
                at += length - 1
                break
            at += 1
        return list(dict.fromkeys(found))


def _written_like(text: str, tokens: Tokens) -> str:
    """The words of a text that read as some tokens, as they are written."""
    words = text.split()
    for start in range(len(words)):
        for end in range(start + 1, len(words) + 1):
            written = " ".join(words[start:end])
            if tokens_of(written) == tokens:
                return written
    return " ".join(tokens)


def _bare_number(word: str) -> bool:
    tokens = tokens_of(word)
    return bool(tokens) and all(token.isdigit() for token in tokens)


def _cell(text: str, parts: Sequence[Match]) -> CellMatch:
    parts = tuple(parts)
    families = list(dict.fromkeys(part.family for part in parts if part.family is not None))
    unsure = [part for part in parts if part.answer == "review"]
    if unsure:
        reason = f"{unsure[0].word}: {unsure[0].reason}"
        return CellMatch(text, parts, tuple(families), "review", reason=reason)
    alone = [part.word for part in parts if part.family is None and _bare_number(part.word)]
    if families and alone:
        reason = f"{alone[0]} is alone in it; digits count"
        doubtful = tuple(
            replace(
                part,
                family=None,
                answer="review",
                reason=reason,
                near=(Near(part.word, part.family, 100.0),),
            )
            if part.family is not None
            else part
            for part in parts
        )
        return CellMatch(text, doubtful, (), "review", reason=reason)
    if len(families) > 1:
        named = ", ".join(f"{part.word} is {part.family}" for part in parts if part.family)
        reason = f"of several families: {named}"
        return CellMatch(text, parts, tuple(families), "review", reason=reason)
    if families:
        return CellMatch(text, parts, tuple(families), "accepted", reason=parts[0].reason)
    reason = parts[0].reason if parts else "no name in it"
    return CellMatch(text, parts, (), "none", reason=reason)


def names_of(
    catalogue: Catalogue,
    answered: Mapping[str, str | None] | None = None,
    taught: Mapping[str, str] | None = None,
) -> Names:
    """The names of a catalogue's families.

    Args:
        catalogue: families, with aliases and models.
        answered: words of the supplier's list that were answered before, to the family or None
            for none of ours.
        taught: words of free texts that mean a family.
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
        if not numbers and family.displacement_cm3 is not None:
            # No name of it says which; then the displacement as made does.
            exact = family.displacement_cm3
            numbers |= {str(math.floor(exact)), str(math.ceil(exact))}
        names += [
            (word, family_id, False) for word, each in (taught or {}).items() if each == family_id
        ]
        displacements[family_id] = frozenset(numbers)
        if family.cycle is not None:
            strokes[family_id] = "2" if family.cycle == "two-stroke" else "4"
    return Names(NameBook(names, displacements, answered, strokes))
