"""Pairs of counts among the numbers of a text, and what speaks against each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from fitcheck.kernel.teeth import Pair, read_pair
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.tokens import Chain, Tokens

# Sizes of engines, speed classes and wheels: two of these are no pair unless marked as teeth.
_ROUND = frozenset({25, 40, 45, 50, 60, 70, 80, 90, 100, 110, 115, 120, 125, 150, 180, 200})
_JOINED = re.compile(r"[\s+,;&/]*(?:(?:und|and|e|et|y)\s*)?(?:z\s*[=:]?\s*)?")
_BESIDE_ROLE = frozenset({"=", ":", "-", "(", "de", "mit", "con", "da", "a"})
_NUMBERS_JOINED = re.compile(r"\s(?:and|und|e|et|y|auf|zu|su|sur|to|a)\s")
SEPARATE = "separate the pairs"
"""How the doubt ends about counts that are two or three pairs, if the row names their stages."""

_FARTHEST = 40
"""Characters between two counts that make a pair."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """Two numbers that may be a pair.

    Attributes:
        pair: the counts.
        start: where it begins in the folded text.
        end: where it ends.
        marked: whether a word for teeth, or one for pinion and one for wheel, says so.
        separator: the sign between them; a space for counts that stand apart.
    """

    pair: Pair
    start: int
    end: int
    marked: bool
    separator: str


@dataclass(slots=True)
class Found:
    """What the numbers of a text come to.

    Attributes:
        pairs: in the order written.
        doubts: one sentence for each count that is marked as teeth and makes no pair.
        marked: whether anything is marked as teeth.
        left_over: numbers that belong to no pair, and nothing says what they are.
    """

    pairs: list[Candidate] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    marked: bool = False
    left_over: list[str] = field(default_factory=list)


def find_pairs(chains: Sequence[Chain], tokens: Tokens, text: str) -> Found:
    """The pairs among the chains of a text."""
    found = Found(marked=any(chain.marked for chain in chains))
    singles: list[tuple[int, Chain]] = []
    used: set[int] = set()
    for index, chain in enumerate(chains):
        counts = chain.counts
        if chain.blocked or counts is None:
            _note_refused(chain, counts, found)
        elif len(counts) == 1:
            chain.role = _role(chain, tokens, used)
            if chain.marked or chain.role or _joins_next(chain, chains[index + 1 :], text):
                singles.append((index, chain))
            else:
                found.left_over.append(str(chain))
        elif len(counts) == 2 and counts[0] == counts[1]:
            found.doubts.append(f"{chain}: both gears have the same count")
        elif len(counts) == 2:
            found.pairs.append(_candidate(chain, counts))
        elif chain.marked or len(counts) in (4, 6):
            by_two = zip(counts[::2], counts[1::2], strict=False)
            pairs = [_candidate(chain, two) for two in by_two if two[0] != two[1]]
            whole = 2 * len(pairs) == len(counts) and all(map(is_plausible, pairs))
            advice = SEPARATE if whole else "are these pairs?"
            found.doubts.append(f"{chain} joins {len(counts)} counts; {advice}")
            found.pairs += pairs
    _join(singles, found)
    found.pairs.sort(key=lambda each: each.start)
    found.pairs = _spread_marks(found.pairs, text)
    return found


def _joins_next(chain: Chain, others: Sequence[Chain], text: str) -> bool:
    """Whether a bare count is told by the marked one behind it: `15 and 45 teeth`."""
    behind = others[0] if others else None
    if behind is None or behind.blocked or not behind.marked or len(behind.numbers) > 1:
        return False
    counts = chain.counts, behind.counts
    if not counts[0] or not counts[1] or counts[0][0] in _ROUND:
        return False
    joined = _NUMBERS_JOINED.fullmatch(text[chain.end : behind.start])
    return joined is not None and 1.4 <= counts[1][0] / counts[0][0] <= 8


def _candidate(chain: Chain, counts: Sequence[int]) -> Candidate:
    pair = read_pair(list(counts))
    return Candidate(pair, chain.start, chain.end, chain.marked, separator=chain.separators[0])


def _note_refused(chain: Chain, counts: Sequence[int] | None, found: Found) -> None:
    """A chain that counts no teeth is told only where something says it should."""
    if not chain.blocked:
        found.left_over.append(str(chain))
    no_date = counts is not None and len(counts) == 2 and (min(counts) > 12 or max(counts) > 35)
    if chain.marked and not chain.blocked:
        found.doubts.append(f"{chain} cannot be tooth counts")
    elif chain.marked or (chain.doubtful and no_date):
        found.doubts.append(f"{chain} looks like {chain.blocked}")


def _role(chain: Chain, tokens: Tokens, used: set[int]) -> str:
    """Whether a word for the pinion or the wheel stands right before or behind a single count.

    Each word speaks of one count, the first that it stands beside: `15 Ritzel 38 Rad`.
    """
    for step, start in ((-1, chain.first - 1), (1, chain.last + 1)):
        for index in range(start, start + 3 * step, step):
            text = tokens.text(index)
            if index not in used and text in cues.PINION_WORDS | cues.WHEEL_GEAR_WORDS:
                used.add(index)
                return "pinion" if text in cues.PINION_WORDS else "wheel"
            if text not in cues.TEETH_WORDS and text not in _BESIDE_ROLE:
                break
    return ""


def _join(singles: Sequence[tuple[int, Chain]], found: Found) -> None:
    """Two counts that stand apart, one after the other, make a pair."""
    index = 0
    while index + 1 < len(singles):
        (place, first), (following, second) = singles[index], singles[index + 1]
        one, two = int(first.numbers[0]), int(second.numbers[0])
        # Another number between them may be the one that belongs to the first.
        near = following == place + 1 and second.start - first.end <= _FARTHEST
        trouble = _trouble(first.role, second.role, one, two)
        if one == two or not near:
            found.doubts.append(f"{one} and {two} may not be a pair")
        elif trouble:
            found.doubts.append(trouble)
        else:
            roles = {first.role, second.role}
            marked = first.marked or second.marked or roles == {"pinion", "wheel"}
            found.pairs.append(
                Candidate(read_pair((one, two)), first.start, second.end, marked, separator=" ")
            )
        index += 2
    if index < len(singles):
        found.doubts.append(f"one count alone ({singles[index][1].numbers[0]}) is not a pair")


def _trouble(first: str, second: str, one: int, two: int) -> str:
    """Why two counts with these roles make no pair, or empty."""
    if first and first == second:
        return f"{one} and {two} are both called {first}"
    if (first == "pinion" or second == "wheel") and one > two:
        return f"the pinion has more teeth ({one}) than the wheel ({two})"
    if (first == "wheel" or second == "pinion") and one < two:
        return f"the pinion has more teeth ({two}) than the wheel ({one})"
    return ""


def _spread_marks(pairs: Sequence[Candidate], text: str) -> list[Candidate]:
    """A mark at one pair holds for those listed with it: `Z 14/45 + 13/48`."""
    marked = [pair.marked for pair in pairs]
    joined = [_joins(text, one, other) for one, other in pairwise(pairs)]
    for index, together in enumerate(joined):
        marked[index + 1] = marked[index + 1] or (together and marked[index])
    for index, together in reversed(list(enumerate(joined))):
        marked[index] = marked[index] or (together and marked[index + 1])
    return [replace(pair, marked=mark) for pair, mark in zip(pairs, marked, strict=True)]


def _joins(text: str, one: Candidate, other: Candidate) -> bool:
    return _JOINED.fullmatch(text[one.end : other.start]) is not None


def are_listed(pairs: Sequence[Candidate], text: str) -> bool:
    """Whether nothing but signs and words that join stands between the pairs."""
    return all(_joins(text, one, other) for one, other in pairwise(pairs))


def is_plausible(found: Candidate) -> bool:
    """Whether an unmarked pair beside a word for gears can hardly be anything else."""
    driver, driven = found.pair.driver, found.pair.driven
    if driver in _ROUND and driven in _ROUND:
        return False
    if driver > 40 or driven > 120 or not 1.4 <= driven / driver <= 8:
        return False
    # Day and month, month and year, or two years.
    if driver <= 12 and driven <= 35:
        return False
    return not (found.separator == "-" and driven <= 31)
