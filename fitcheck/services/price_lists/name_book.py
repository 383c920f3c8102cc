"""Every name a catalogue knows for its families, and what a word is that needs no likeness."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from fitcheck.diagnostics.suggest import or_list
from fitcheck.services.price_lists.name_words import (
    DISPLACEMENTS,
    NO_HOUSING,
    Housings,
    bare_name,
    housings_behind,
    in_digits,
    key_of,
    letters_of,
    marks_of,
    shape_of,
    stroke_of,
    tokens_of,
)
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.sizes import are_set_apart

Answer = Literal["accepted", "review", "none"]
IN_DOUBT = "with a question mark in the list itself"
"""Why a word is for review that the list doubts, be it a name of ours or not."""

Tokens = tuple[str, ...]

_MOST_ALIKE = 12
"""An ending that more names share, such as Sport, names none of them."""


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
        reason: one sentence; why it is not accepted.
        answer: accepted: it is the family's; review: a person must say; none: of no family here.
        near: what it may stand for, the nearest first; only for review.
        housings: what the word says of housings too.
        own_name: whether the word is the family's own name or alias, and not one of its models.
        name: that name or model as it is written here; empty where the word is none of them.
    """

    word: str
    family: str | None
    reason: str
    answer: Answer
    near: tuple[Near, ...] = ()
    housings: Housings = NO_HOUSING
    own_name: bool = False
    name: str = ""

    def doubted(self, reason: str) -> Match:
        """The same for review; its family is what it may stand for."""
        near = (Near(self.word, self.family or "", 100.0),)
        return replace(self, family=None, answer="review", reason=reason, near=near)


class NameBook:
    """The names of families by all that a word of a list may have in common with them.

    Args:
        names: a name as written, its family, and whether it is the family's own name or alias.
        displacements: family to the numbers that name its displacement.
        answered: words of the supplier's list to a family, or to None, as answered before.
        strokes: family to `2` or `4`, where known.

    Attributes:
        families: key of a name to its families.
        shown: key of a name to the name as written first.
        own: keys of own names and aliases.
        nominal: family to the numbers that name its displacement.
        by_marks: marks to keys, each with its written numbers in digits.
        letters: key to letters.
        by_last: last token to keys.
        by_shape: key with signs that look alike made one, to keys.
        tokens: key to tokens.
        heads: the one or two signs with which keys begin.
        longest: tokens of the longest name.
    """

    def __init__(
        self,
        names: Iterable[tuple[str, str, bool]],
        displacements: Mapping[str, frozenset[str]],
        answered: Mapping[str, str | None] | None = None,
        strokes: Mapping[str, str] | None = None,
    ) -> None:
        self.nominal = displacements
        self.families: dict[str, set[str]] = {}
        self.shown: dict[str, str] = {}
        self.own: set[str] = set()
        self.by_marks: dict[Tokens, dict[str, str]] = defaultdict(dict)
        self.letters: dict[str, str] = {}
        self.by_last: dict[str, list[str]] = defaultdict(list)
        self.by_shape: dict[str, list[str]] = defaultdict(list)
        self.tokens: dict[str, Tokens] = {}
        self._strokes = strokes or {}
        self._by_words: dict[Tokens, set[str]] = defaultdict(set)
        self._own_names: dict[str, list[Tokens]] = defaultdict(list)
        for name, family, own in names:
            parts = tokens_of(name)
            key = key_of(parts) if parts else ""
            if not key:
                continue
            self.families.setdefault(key, set()).add(family)
            self.shown.setdefault(key, name)
            self.tokens[key] = parts
            if own:
                self.own.add(key)
        for key, parts in self.tokens.items():
            self._by_words[tuple(sorted(parts))].add(key)
            self.by_marks[marks_of(parts)][key] = in_digits(parts)
            self.letters[key] = letters_of(parts)
            self.by_last[parts[-1]].append(key)
            self.by_shape[shape_of(parts)].append(key)
            if key in self.own and len(self.families[key]) == 1:
                self._own_names[next(iter(self.families[key]))].append(parts)
        self.heads = {key[:size] for key in self.tokens for size in (1, 2)}
        self.longest = max(map(len, self.tokens.values()), default=0)
        self._answered = {
            _key_of_answer(word): given
            for word, given in (answered or {}).items()
            if tokens_of(word)
        }

    # -- one word --------------------------------------------------------------------------------

    def plain(self, word: str) -> Match | tuple[Tokens, Housings]:
        """The match of a word that needs no likeness; else its bare tokens and its housings."""
        answered = self.from_answer(word)
        if answered is not None:
            return answered
        found = self._plain(word)
        if "?" in word and isinstance(found, Match) and found.family is not None:
            return found.doubted(IN_DOUBT)
        return found

    def whole(self, text: str) -> Match | None:
        """The match of a cell that was answered, or is a name as it stands."""
        found = self.from_answer(text)
        return found if found or "?" in text else self.exact(tokens_of(text), text)

    def plain_name(self, word: str) -> Match | None:
        """The match of a word that was answered, or is a name as it stands or without its noise."""
        return self.from_answer(word) or self.exact(bare_name(word)[0], word)

    def exact(self, tokens: Sequence[str], word: str) -> Match | None:
        """The match of a word whose tokens are a known name, in any order."""
        if not tokens:
            return None
        key = key_of(tokens)
        if key in self.families:
            return self.settled(word, key)
        if len(tokens) > 1:
            turned = self._by_words.get(tuple(sorted(tokens)), ())
            if len(turned) == 1:
                return self.settled(word, next(iter(turned)))
        return None

    def settled(self, word: str, key: str) -> Match:
        """The match of a word that is the name of a key."""
        families = sorted(self.families[key])
        name = self.shown[key]
        if len(families) == 1:
            own = key in self.own
            return Match(word, families[0], "", "accepted", own_name=own, name=name)
        near = tuple(Near(name, family, 100.0) for family in families)
        return Match(word, None, f"{name} may be {or_list(families)}", "review", near=near)

    def ending_in(self, tokens: Tokens) -> list[str]:
        """Keys of the names that a word ends, such as `Drift`; none where many names end so."""
        last = tokens[-1]
        keys = self.by_last.get(last, []) if len(last) > 1 and not last.isdigit() else []
        few = keys if len(keys) <= _MOST_ALIKE else []
        return [k for k in few if tokens == self.tokens[k][-len(tokens) :] != self.tokens[k]]

    def from_answer(self, word: str) -> Match | None:
        """The match of a word that was answered before."""
        key = _key_of_answer(word) if self._answered else ""
        if key not in self._answered:
            return None
        given = self._answered[key]
        if given is None:
            return Match(word, None, "not one of our families, as answered before", "none")
        return Match(word, given, "", "accepted")

    def _plain(self, word: str) -> Match | tuple[Tokens, Housings]:
        written = tokens_of(word)
        found = self.exact(written, word)
        if found is not None:
            return found
        tokens, housings = bare_name(word)
        if not tokens:
            return Match(word, None, "nothing in it is a name", "none", housings=housings)
        found = (
            (None if tokens == written else self.exact(tokens, word))
            or self._match_without_displacement(tokens, word)
            or self._match_composed(tokens, word)
        )
        if found is None and housings == NO_HOUSING:
            found, housings = self._match_with_size(tokens, word)
        if found is not None:
            found = self._of_stroke(found, stroke_of(fold(word)))
            return replace(found, housings=housings)
        return tokens, housings

    def _match_with_size(self, tokens: Tokens, word: str) -> tuple[Match | None, Housings]:
        """`Dunlin 50 mid`: a family's own name, and behind it the size of a housing.

        Behind a model it may as well be another model; nor is it one where a name of the family
        has the size in it.
        """
        folded = fold(word)
        rest, housings = housings_behind(tokens, folded)
        found = self.exact(rest, word) if rest != tokens else None
        if found is None or not found.own_name or found.family is None:
            return None, NO_HOUSING
        if not (rest[-1].isdigit() or are_set_apart(folded)):
            return None, NO_HOUSING  # `Dunlin Long` sounds like a model
        sizes = set(tokens[len(rest) :])
        of_it = (key for key, families in self.families.items() if found.family in families)
        if any(not sizes.isdisjoint(self.tokens[key]) for key in of_it):
            return None, NO_HOUSING
        return found, housings

    def _of_stroke(self, found: Match, said: str) -> Match:
        """The match, unless the list names another number of strokes than the family has."""
        if not said or found.family is None:
            return found
        known = self._strokes.get(found.family, "")
        if known == said:
            return found
        if known:
            reason = f"{found.family} is a {known}-stroke, the list says {said}"
            return Match(found.word, None, reason, "none")
        return found.doubted(f"the list says {said}-stroke; what {found.family} is, is not on file")

    def _match_without_displacement(self, tokens: Sequence[str], word: str) -> Match | None:
        """`Dunlin 50 Ten` for the model Dunlin Ten, if the Dunlin Ten is a 50."""
        for at, token in enumerate(tokens):
            if token not in DISPLACEMENTS or len(tokens) < 2:
                continue
            found = self.exact((*tokens[:at], *tokens[at + 1 :]), word)
            if found is None or found.family is None:
                continue
            nominal = self.nominal.get(found.family, frozenset())
            if token not in nominal and not nominal.isdisjoint(tokens):
                continue  # its own number stands there as well
            if token in nominal:
                return found
            return Match(word, None, f"{found.family} is not of {token} cm3; digits count", "none")
        return None

    def _match_composed(self, tokens: Sequence[str], word: str) -> Match | None:
        """Names of one family side by side, and `DN50 Ten` where DN50 is an alias of Dunlin."""
        if len(tokens) < 2 or tokens[0][:2] not in self.heads:
            return None
        found = self.scan(tokens)
        names = [self.settled(word, key) for _, _, key in found]
        whole = sum(end - start for start, end, _ in found) == len(tokens)
        if whole and names[0].family is not None and len({name.family for name in names}) == 1:
            return names[0]
        for length in range(min(len(tokens) - 1, self.longest), 0, -1):
            key = key_of(tokens[:length])
            if key not in self.own or len(self.families[key]) != 1:
                continue
            family = next(iter(self.families[key]))
            for other in self._own_names[family]:
                if self.families.get(key_of((*other, *tokens[length:]))) == {family}:
                    return Match(word, family, "", "accepted")
        return None

    def scan(self, tokens: Sequence[str]) -> list[tuple[int, int, str]]:
        """The longest names in some tokens, from left to right: first and last place, and key."""
        found: list[tuple[int, int, str]] = []
        at = 0
        while at < len(tokens):
            most = min(self.longest, len(tokens) - at) if tokens[at][:2] in self.heads else 0
            ends = range(at + most, at, -1)
            end = next((end for end in ends if key_of(tokens[at:end]) in self.families), at)
            if end > at:
                found.append((at, end, key_of(tokens[at:end])))
            at = max(end, at + 1)
        return found


def _key_of_answer(word: str) -> str:
    """A word to look up answers by; one in question is another than the plain one."""
    return key_of(tokens_of(word)) + ("?" if "?" in word else "")
