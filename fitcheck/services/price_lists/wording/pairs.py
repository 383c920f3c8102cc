"""Pairs of counts among the numbers of a text, and what in the text speaks against them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import pairwise

from fitcheck.kernel.teeth import Pair, read_pair
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.stages import StageWord
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


# ------------------------------------------------------------------ doubts about the pairs

CHOICE = "it offers a choice of pairs"
"""The doubt about pairs of which one is meant, not all."""

_RATIO = re.compile(
    r"(?<![a-z])(?:i|ratio|rapporto|rapport|relacion|ue?bersetzung|ubers\.?)\s?[=:]?\s?"
    r"(?:1\s?:\s?)?(?P<named>[0-9]{1,2}[.,][0-9]{1,4})(?![0-9])"
    r"|(?<![0-9.,])1\s?:\s?(?P<behind>[0-9]{1,2}[.,][0-9]{1,4})(?![0-9])"
    r"|(?<![0-9.,/:])(?P<before>[0-9]{1,2}[.,][0-9]{1,4})\s?:\s?1(?![0-9])"
    r"|(?<![0-9.,/:])(?P<leading>[0-9]{1,2}[.,][0-9]{1,4})\s?"
    r"(?:ratio|rapporto|rapport|relacion|ue?bersetzung)(?![a-z])"
)
_RATIO_CELL = re.compile(
    r"(?:[a-z]+\s?[=:]?\s?)?(?:1\s?:\s?)?(?P<value>[0-9]{1,2}[.,][0-9]+)(?:\s?:\s?1)?",
    re.IGNORECASE,
)
_TO_ONE = re.compile(r"^1:|:1$")
_DECIMAL = re.compile(r"[0-9]{1,2}[.,][0-9]{1,4}")
# The second of `z1/z2: 15/38` numbers nothing.
_NUMBERED = re.compile(
    r"(?<![a-z0-9])(?<!z[1-6][/:x-])(?<!z[1-6] [/:x-] )z\s?_?([1-6])\s*(?:=|:|\s)\s*[0-9]{1,3}"
    r"(?![0-9]|[.,][0-9])"
)
_ALTERNATIVE_BEFORE = re.compile(
    rf"(?<![a-z])(?:{'|'.join(sorted(cues.ALTERNATIVE_WORDS))})\.?\s*(?:z\s*[=:]?\s*)?$"
)
_NEAR = 25
"""Characters before a pair in which a word speaks of it."""


@dataclass(frozen=True, slots=True)
class Context:
    """A text and what was found in it.

    Attributes:
        folded: the text.
        text: the same, sizes and dates blanked out.
        words: all its words.
        stages: the stages it names.
        pairs: the pairs found, at least one.
        found: sentences on counts that make no pair.
        left_over: numbers that belong to no pair, and nothing says what they are.
        staged: whether each pair has a stage.
        teeth_column: whether the column is known to hold tooth counts.
    """

    folded: str
    text: str
    words: frozenset[str]
    stages: Sequence[StageWord]
    pairs: Sequence[Candidate]
    found: Sequence[str]
    left_over: Sequence[str]
    staged: bool
    teeth_column: bool


def doubt_about(context: Context) -> str:
    """The first doubt about the pairs of a text, or empty where there is none."""
    return next(filter(None, (rule(context) for rule in _RULES)), "")


def _unsure(context: Context) -> str:
    """Whether nothing says for certain that a pair counts teeth."""
    geared = context.teeth_column or bool(context.words & cues.GEAR_WORDS or context.stages)
    backed = _ratios_agree(context) is True
    for each in context.pairs:
        alone = context.teeth_column and len(context.pairs) == 1
        if not (each.marked or alone or backed or (geared and is_plausible(each))):
            return f"{each.pair} may be tooth counts; nothing in the text says so for certain"
    return ""


def _unpaired(context: Context) -> str:
    settled = f"; {SEPARATE}" if context.staged else "\0"
    return next((each for each in context.found if not each.endswith(settled)), "")


def _misnumbered(context: Context) -> str:
    """Whether counts numbered z1, z2 and so on are not those of whole pairs: `z1=15 z3=13`."""
    numbers = [int(number) for number in _NUMBERED.findall(context.folded)]
    halves = list(zip(numbers[::2], numbers[1::2], strict=False))
    if len(numbers) % 2 or any(max(two) % 2 or max(two) - min(two) != 1 for two in halves):
        return f"the counts are numbered {', '.join(f'z{number}' for number in numbers)}"
    return ""


def _too_many(context: Context) -> str:
    pairs = context.pairs
    if len(pairs) > 3:
        return f"{len(pairs)} pairs are more than a train has"
    if len(pairs) > 1 and not context.staged and not are_listed(pairs, context.text):
        return "several pairs, and nothing says how they belong together"
    if len({each.pair for each in pairs}) < len(pairs):
        return "it names one pair twice"
    named = [word.stage for word in context.stages]
    if len(pairs) > 1 and len(set(named)) < len(named):
        return "it names one stage twice"
    return ""


def _choice(context: Context) -> str:
    if len(context.pairs) > 1 and context.words & cues.ALTERNATIVE_WORDS:
        return CHOICE
    if _ALTERNATIVE_BEFORE.search(context.text[: context.pairs[0].start]):
        return "it may be one of two, and the other is not read"
    return ""


def _of_another(context: Context) -> str:
    """Whether a pair may be that of the gears this part only goes with: `für sec. 13/48`.

    All its words may be harmless, so nothing else would ask.
    """
    for one, other in pairwise(context.pairs):
        between = set(re.findall(r"[a-z]+", context.text[one.end : other.start]))
        if between & cues.COMPANION_WORDS:
            return f"{other.pair} may be the pair it goes with"
    start = context.pairs[0].start
    before = context.folded[max(0, start - _NEAR) : start] + " "
    said = next((words for words in cues.USED_WITH if words in before), "")
    return (
        f"{context.pairs[0].pair} may be the pair it goes with ({said.strip()!r})" if said else ""
    )


def _left_over(context: Context) -> str:
    """Whether a column of teeth holds another number, which is not the ratio either."""
    if not context.teeth_column:
        return ""
    ratios = _ratios(context)
    for number in context.left_over:
        ratio = _TO_ONE.sub("", number)
        if not (_DECIMAL.fullmatch(ratio) and _is_one_of(ratio, ratios)):
            return f"another number ({number}) stands beside the counts"
    return ""


def _wrong_ratio(context: Context) -> str:
    agree = _ratios_agree(context)
    return "" if agree is not False else f"the ratio written is not that of {context.pairs[0].pair}"


def _ratios_agree(context: Context) -> bool | None:
    """Whether the ratios written beside the pairs are theirs; None where none is written."""
    written = [
        found["named"] or found["behind"] or found["before"] or found["leading"]
        for found in _RATIO.finditer(context.folded)
    ]
    ratios = _ratios(context)
    return all(_is_one_of(each, ratios) for each in written) if written else None


def _ratios(context: Context) -> list[Decimal]:
    """The ratio of each pair, and that of all together."""
    ratios = [Decimal(each.pair.driven) / each.pair.driver for each in context.pairs]
    return [*ratios, math.prod(ratios, start=Decimal(1))]


def _is_one_of(written: str, ratios: Sequence[Decimal]) -> bool:
    """Whether a ratio is as written, to the last digit: rounded or cut."""
    value = Decimal(written.replace(",", "."))
    step = Decimal(1).scaleb(int(value.as_tuple().exponent))
    return any(abs(value - ratio) < step for ratio in ratios)


def ratio_spans(folded: str) -> list[tuple[int, int]]:
    """Where a folded text gives a ratio."""
    return [each.span() for each in _RATIO.finditer(folded)]


def ratio_of_others(written: str, pairs: Sequence[Pair]) -> bool:
    """Whether a cell of a column of ratios holds a ratio that is none of the pairs'.

    Args:
        written: the cell's text: `2,80`, `1:2.8`, or its inverse `0,357`.
        pairs: the pairs of the row.
    """
    found = _RATIO_CELL.fullmatch(written.strip())
    if found is None or not pairs:
        return False
    value = found["value"][:8]
    ratios = [Decimal(each.driven) / each.driver for each in pairs]
    ratios.append(math.prod(ratios, start=Decimal(1)))
    return not _is_one_of(value, [*ratios, *(1 / each for each in ratios)])


_RULES: tuple[Callable[[Context], str], ...] = (
    _unsure,
    _unpaired,
    _misnumbered,
    _choice,
    _too_many,
    _of_another,
    _wrong_ratio,
    _left_over,
)
