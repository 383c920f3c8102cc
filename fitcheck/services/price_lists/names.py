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
from fitcheck.diagnostics.suggest import or_list
from fitcheck.services.price_lists.name_book import (
    IN_DOUBT,
    Answer,
    Match,
    NameBook,
    Near,
    Tokens,
)
from fitcheck.services.price_lists.name_words import (
    DISPLACEMENTS,
    NO_HOUSING,
    bare_name,
    housings_behind,
    housings_of,
    in_digits,
    key_of,
    letters_of,
    marks_of,
    parts_of_cell,
    shape_of,
    tokens_of,
)
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.sizes import find_housings

UNKNOWN = "like no name, alias or model of a family here"
"""Why a word is none where nothing speaks against it and nothing for it."""

_LONGEST = 200
_CUTOFF = 78.0
"""Least likeness, 0 to 100, of a name that is offered in review."""

_MISREAD = 90.0
"""Likeness of a name in which a digit is taken for a letter, or the reverse."""

_MARGIN = 12.0
_LEAST_SHARE = 30.0
"""Least share, percent, that a known name has of a longer word to be offered for it."""

_MOST_NEAR = 3


@dataclass(frozen=True, slots=True)
class CellMatch:
    """What a cell with one name or several stands for.

    Attributes:
        text: the cell's text.
        parts: the match of each name in it, in order.
        families: families that are accepted, or were answered, in the order written.
        answer: accepted where all parts that are of a family here name one and the same; review
            where a part is for review or the parts name different families; none otherwise.
    """

    text: str
    parts: tuple[Match, ...]
    families: tuple[str, ...]
    answer: Answer


class Names:
    """Matches words and cells; what was matched once is not matched again.

    Attributes:
        book: the names of the families.
    """

    def __init__(self, book: NameBook) -> None:
        self.book = book
        self._words: dict[str, Match] = {}
        self._cells: dict[str, CellMatch] = {}

    def match_word(self, word: str) -> Match:
        """The match of one name as the list writes it."""
        if word not in self._words:
            self._words[word] = self._match(word)
        return self._words[word]

    def match_cell(self, text: str) -> CellMatch:
        """The match of a cell with one name or several; one without any has no parts."""
        if text not in self._cells:
            whole = self.book.whole(text) if len(text) <= _LONGEST else None
            names = self._full_names(parts_of_cell(text)) if whole is None else ()
            parts = [whole] if whole else [self.match_word(name) for name in names]
            self._cells[text] = _cell(text, parts)
        return self._cells[text]

    def names_inside(self, text: str) -> list[Match]:
        """Exact names that stand inside free text, each with its family; likeness is not tried.

        A name whose next word is another displacement is none.
        """
        tokens = tokens_of(text)
        folded = fold(text)
        housings = housings_of(folded, find_housings(folded))
        found: dict[Match, None] = {}
        for start, end, key in self.book.scan(tokens):
            match = replace(self.book.settled(self.book.shown[key], key), housings=housings)
            behind = tokens[end] if end < len(tokens) else ""
            nominal = self.book.nominal.get(match.family or "", frozenset())
            is_short = end - start == 1 and len(key) < 4
            if not is_short and (behind not in DISPLACEMENTS or behind in nominal):
                found[match] = None
        return list(found)

    def shortened(self, words: str) -> list[Near]:
        """Names of which words of a free text are the end, or an abbreviation."""
        tokens, _ = bare_name(words)
        near: dict[str, Near] = {}
        if tokens:
            self._add_shortened(tokens, near)
        return list(near.values())

    # -- the names of a cell ---------------------------------------------------------------------

    def _full_names(self, parts: Sequence[str]) -> list[str]:
        """The parts of a cell, short ones written out: `Dunlin Ten/Twelve` names two models."""
        full: list[str] = []
        for part in parts:
            tokens, housings = bare_name(part)
            if full and _names_housing_only(tokens, part):
                several = housings_behind(bare_name(full[-1])[0], "")[1] != NO_HOUSING
                full[-1] += f"/{part}" if several else f", {part}"
            elif full and not tokens and len(parts) == 2 and housings != NO_HOUSING:
                full[-1] += f", {part}"  # the housing of the one name before it
            elif tokens and (len(parts) > 1 or any(len(e) > 1 or e.isdigit() for e in tokens)):
                shown = part
                if full and len(tokens) <= 2 and self.book.plain_name(part) is None:
                    shown = self._written_out(full[-1], tokens, part)
                if full and tokens[0].isdigit() and shown == part:
                    # No name begins with a bare number: it belongs to the one before.
                    full[-1] += f"/{part}"
                else:
                    full.append(shown)
        return full

    def _written_out(self, before: str, tokens: Tokens, part: str) -> str:
        """A part behind the words that the name before begins with, where that makes a name."""
        words = before.split()
        for kept in range(len(words), 0, -1):
            full = f"{' '.join(words[:kept])} {part}"
            found = self.book.plain(full)
            if isinstance(found, Match) and (found.family is not None or found.near):
                return full
        # 50/70 are two displacements, known or not.
        if len(words) > 1 and tokens[0] in DISPLACEMENTS:
            return f"{' '.join(words[:-1])} {part}"
        return part

    # -- likeness --------------------------------------------------------------------------------

    def _match(self, word: str) -> Match:
        if len(word) > _LONGEST:
            return Match(word, None, "too long for a name", "none")
        found = self.book.plain(word)
        if not isinstance(found, Match):
            tokens, housings = found
            found = replace(self._judge(tokens), word=word, housings=housings)
        if found.answer == "none" and not found.reason.endswith("before"):
            found = self._misread(word) or found
            if "?" in word and found.answer == "none":
                return replace(found, answer="review", reason=IN_DOUBT)
        return found

    def _misread(self, word: str) -> Match | None:
        """The match for review of a word that is a name once O is 0, l is 1 and so on."""
        tokens, _ = bare_name(word)
        keys = self.book.by_shape.get(shape_of(tokens), ()) if tokens else ()
        if not keys or key_of(tokens) in keys:
            return None  # the name itself, which other words speak against
        near = tuple(
            Near(self.book.shown[key], family, _MISREAD)
            for key in keys
            for family in sorted(self.book.families[key])
        )
        reason = f"a name if letters and digits in it are misread: {near[0].name!r}"
        return Match(word, None, reason, "review", near=near)

    def _judge(self, tokens: Tokens) -> Match:
        """The match by likeness, and by names that stand inside a longer word."""
        near: dict[str, Near] = {}
        self._add_alike(tokens, near)
        against = self._add_inside(tokens, near)
        if not near and not against:
            self._add_shortened(tokens, near)
        if not near:
            return Match("", None, against or UNKNOWN, "none")
        ranked = sorted(near.values(), key=lambda each: (-each.score, each.family))
        shown = [each for each in ranked if each.score >= ranked[0].score - _MARGIN][:_MOST_NEAR]
        names = or_list([f"{each.name} ({each.family})" for each in shown])
        return Match("", None, f"not exact; like {names}", "review", near=tuple(shown))

    def _offer(
        self, near: dict[str, Near], key: str, score: float, families: Iterable[str]
    ) -> None:
        for family in families:
            if family not in near or near[family].score < score:
                near[family] = Near(self.book.shown[key], family, score)

    def _of_number(self, key: str, number: str) -> list[str]:
        """Families of a name that are of a displacement, where one is told beside it."""
        nominal = self.book.nominal
        return [
            each
            for each in self.book.families[key]
            if not number or number in nominal.get(each, ())
        ]

    def _add_alike(self, tokens: Tokens, near: dict[str, Near]) -> None:
        """Offer what is alike among names with the same marks.

        A word without any digit is held against all names: their digits may have been left out.
        """
        for rest, number in _readings(tokens):
            names = self.book.by_marks.get(marks_of(rest), {})
            for key, score in _alike(in_digits(rest), names):
                self._offer(near, key, score, self._of_number(key, number))
        if not any(token < ":" for token in tokens):
            for key, score in _alike(letters_of(tokens), self.book.letters):
                if not _clash(marks_of(tokens), marks_of(self.book.tokens[key])):
                    self._offer(near, key, score, self.book.families[key])

    def _add_inside(self, tokens: Tokens, near: dict[str, Near]) -> str:
        """Offer the longest names inside a longer one; or say why its rest speaks against them."""
        against = ""
        starts = [at for at, token in enumerate(tokens) if token[:2] in self.book.heads]
        for length in range(min(len(tokens) - 1, self.book.longest), 0, -1) if starts else ():
            offered = False
            for start in starts:
                key = key_of(tokens[start : start + length])
                if start + length > len(tokens) or key not in self.book.families:
                    continue
                rest = (*tokens[:start], *tokens[start + length :])
                share = 100.0 * len(key) / len(key_of(tokens))
                for family in self.book.families[key]:
                    score, said = self._weigh_rest(key, family, rest, share)
                    against = said or against
                    if score:
                        self._offer(near, key, score, [family])
                        offered = True
            if offered:
                return ""
        return against

    def _weigh_rest(self, key: str, family: str, rest: Tokens, share: float) -> tuple[float, str]:
        """The score of a name inside a longer one, by what else that says; or why it is another."""
        nominal = self.book.nominal.get(family, frozenset())
        numbers = [mark for mark in marks_of(rest) if mark.isdigit() and mark not in nominal]
        if numbers and not nominal.isdisjoint(marks_of(self.book.tokens[key])):
            return _CUTOFF, ""  # `Dunlin 50 with 70cc kit`: its own number is there
        # Where numbered names of the same stem are known, another number is another.
        stem = self.book.letters[key]
        numbered = bool(numbers) and any(
            each != key and letters == stem and marks_of(self.book.tokens[each])
            for each, letters in self.book.letters.items()
        )
        if not DISPLACEMENTS.isdisjoint(numbers) or numbered:
            return 0, f"{self.book.shown[key]} with {numbers[0]} is another; digits count"
        return (max(share, _CUTOFF) if share >= _LEAST_SHARE else 0), ""

    def _add_shortened(self, tokens: Tokens, near: dict[str, Near]) -> None:
        """Offer names of which the word is the end, or an abbreviation: `Sand. Drift`."""
        for rest, number in _readings(tokens):
            for key in self.book.by_last.get(rest[-1], ()) if len(rest[-1]) > 3 else ():
                name = self.book.tokens[key]
                if name[0][:3] == rest[0][:3] and _abbreviates(rest, name):
                    self._offer(near, key, _CUTOFF, self._of_number(key, number))
            for key in self.book.ending_in(rest) if not number or len(rest[-1]) > 3 else ():
                self._offer(near, key, _CUTOFF, self._of_number(key, number))


def _names_housing_only(tokens: Tokens, part: str) -> bool:
    return bool(tokens) and not housings_behind(tokens, fold(part))[0]


def _alike(text: str, names: Mapping[str, str]) -> list[tuple[str, float]]:
    """Keys of the names that are alike a text, each with its likeness."""
    from rapidfuzz import fuzz, process  # noqa: PLC0415 - start-up goes without it

    found = process.extract(text, names, scorer=fuzz.ratio, score_cutoff=_CUTOFF, limit=None)
    return [(key, score) for _, score, key in found]


def _readings(tokens: Tokens) -> Iterable[tuple[Tokens, str]]:
    """The tokens, and what is left of them without a displacement, which is told beside."""
    yield tokens, ""
    for at, token in enumerate(tokens):
        if token in DISPLACEMENTS and len(tokens) > 1:
            yield (*tokens[:at], *tokens[at + 1 :]), token


def _abbreviates(short: Tokens, name: Tokens) -> bool:
    return len(short) == len(name) and all(
        len(one) >= 3 and other.startswith(one) for one, other in zip(short, name, strict=True)
    )


def _clash(one: Tokens, other: Tokens) -> bool:
    """Whether both have marks and they differ; digits that one lacks may have been left out."""
    plain = tuple(mark for mark in other if not mark.isdigit())
    return bool(one) and one not in (other, plain)


def _bare_number(word: str) -> bool:
    tokens = tokens_of(word)
    return bool(tokens) and all(token.isdigit() for token in tokens)


def _cell(text: str, parts: Sequence[Match]) -> CellMatch:
    alone = [part.word for part in parts if part.family is None and _bare_number(part.word)]
    if alone:
        reason = f"{alone[0]} is alone in it; digits count"
        parts = [part.doubted(reason) if part.family else part for part in parts]
    families = tuple(dict.fromkeys(part.family for part in parts if part.family is not None))
    if families:
        near = tuple(Near(each, each, 0.0) for each in families)
        reason = f"no name of ours, beside one of {or_list(families)}"
        parts = [
            replace(part, answer="review", reason=reason, near=near)
            if part.reason == UNKNOWN
            else part
            for part in parts
        ]
    if len(families) > 1 or any(part.answer == "review" for part in parts):
        return CellMatch(text, tuple(parts), families, "review")
    return CellMatch(text, tuple(parts), families, "accepted" if families else "none")


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
