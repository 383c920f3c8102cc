"""What in a text speaks against the pairs found in it: a sentence from each rule, or none."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from fitcheck.kernel.teeth import Pair
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.pairs import (
    SEPARATE,
    Candidate,
    are_listed,
    is_plausible,
)
from fitcheck.services.price_lists.wording.stages import StageWord

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
