"""Tooth counts in a cell: alone, or inside free text."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from fitcheck.kernel.teeth import Pair, TeethError, read_pair
from fitcheck.model.family import TRAIN_STAGES
from fitcheck.model.fields import Stage
from fitcheck.services.intake.reading.cells import Cell
from fitcheck.services.intake.wording import cues
from fitcheck.services.intake.wording.chains import chains_of
from fitcheck.services.intake.wording.folding import fold
from fitcheck.services.intake.wording.pairs import (
    Candidate,
    are_listed,
    find_pairs,
    is_plausible,
)
from fitcheck.services.intake.wording.result import (
    Reading,
    as_cell,
    empty,
    read,
    review,
    unreadable,
)
from fitcheck.services.intake.wording.stages import StageWord, find_stages, names_whole_train
from fitcheck.services.intake.wording.tokens import clean, tokens_of
from fitcheck.services.intake.wording.undone import undo

__all__ = ["FoundPair", "FoundPairs", "read_teeth"]

_LONGEST = 2000
_RATIO = re.compile(
    r"(?<![a-z])(?:i|ratio|rapporto|rapport|relacion|ue?bersetzung|ubers\.?)\s?[=:]?\s?"
    r"(?:1\s?:\s?)?(?P<named>[0-9]{1,2}[.,][0-9]{1,4})(?![0-9])"
    r"|(?<![0-9.,])1\s?:\s?(?P<behind>[0-9]{1,2}[.,][0-9]{1,4})(?![0-9])"
    r"|(?<![0-9.,/:])(?P<before>[0-9]{1,2}[.,][0-9]{1,4})\s?:\s?1(?![0-9])"
)
_DECIMAL = re.compile(r"([0-9]{1,3})[.,]([0-9]{1,2})")
_TWO_NUMBERS = re.compile(r"[0-9][^0-9]+[0-9]")
# Words that may name the set itself, and so say nothing of a single pair.
_NAMING = frozenset({"serie", "series", "original", "originale", "orig", "prima", "standard"})


@dataclass(frozen=True, slots=True)
class FoundPair:
    """A pair in a cell.

    Attributes:
        pair: the counts, the smaller as driver.
        stage: where the cell names it, else None.
    """

    pair: Pair
    stage: Stage | None = None

    def __str__(self) -> str:
        return f"{self.stage} {self.pair}" if self.stage else str(self.pair)


FoundPairs = tuple[FoundPair, ...]


def read_teeth(
    cell: Cell | str,
    *,
    teeth_column: bool = False,
    stage_words: Mapping[str, Stage] | None = None,
) -> Reading[FoundPairs]:
    """The tooth counts in a cell.

    In free text only counts that are marked as teeth (`Z=15/38`, `15/38 denti`, `pignon 15 dents
    couronne 38`) or stand beside a word for gears and can be nothing else are taken; what may be a
    price, a date, a wheel size, a part number, a displacement or a choice goes to review.

    Args:
        cell: the cell, or bare text.
        teeth_column: whether the column is known to hold tooth counts.
        stage_words: the supplier's own words for stages.

    Returns:
        One to three pairs in the order written, each with its stage where the cell names it.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    if not isinstance(cell.value, str):
        return _of_value(cell, teeth_column)
    if len(cell.text) > _LONGEST:
        return unreadable(cell, f"{len(cell.text):,} characters are no tooth counts")
    known = _in_column(cell) if teeth_column else None
    return known or _of_text(cell, teeth_column, stage_words)


def _of_value(cell: Cell, teeth_column: bool) -> Reading[FoundPairs]:
    """A number, a truth value, a date or a time of a spreadsheet."""
    if isinstance(cell.value, bool):
        return unreadable(cell, "yes or no, no tooth counts")
    if isinstance(cell.value, (int, float)):
        return _of_number(cell) if teeth_column else empty(cell, "a number, no tooth counts")
    return _undone(cell, teeth_column) or unreadable(cell, "no tooth counts")


def _in_column(cell: Cell) -> Reading[FoundPairs] | None:
    """What a text in a column of teeth is at first sight: a date, a plain pair, one number."""
    undone = _undone(cell, teeth_column=True)
    if undone is not None:
        return undone
    try:
        return read(cell, (FoundPair(read_pair(cell.text)),))
    except TeethError:
        return _of_number(cell) if _DECIMAL.fullmatch(cell.text.strip()) else None


def _undone(cell: Cell, teeth_column: bool) -> Reading[FoundPairs] | None:
    undone = undo(cell)
    if undone is None:
        return None
    found = [(FoundPair(pair),) for pair in undone.pairs]
    if undone.certain and teeth_column:
        return read(cell, found[0], undone.reason)
    return review(cell, undone.reason, *found) if found else unreadable(cell, undone.reason)


def _of_number(cell: Cell) -> Reading[FoundPairs]:
    """One number in a column of teeth: `15.38` may be a pair, `1538` is none."""
    text = cell.text.strip()
    found = _DECIMAL.fullmatch(text)
    possible = []
    for part in dict.fromkeys((found[2], found[2].ljust(2, "0"))) if found else ():
        assert found is not None
        try:
            possible.append((FoundPair(read_pair((int(found[1]), int(part)))),))
        except TeethError:
            continue
    if possible:
        return review(cell, f"{text} is one number; it may be a pair", *possible)
    return unreadable(cell, _why_no_pair(int(text) if text.isdecimal() else text))


def _why_no_pair(value: int | str) -> str:
    try:
        read_pair(value)
    except TeethError as error:
        return str(error)
    raise AssertionError("a plain pair is read before")


def _of_text(
    cell: Cell, teeth_column: bool, stage_words: Mapping[str, Stage] | None
) -> Reading[FoundPairs]:
    if not teeth_column and not any(map(str.isdigit, cell.text)):
        return empty(cell, "no tooth counts in the text")
    folded = fold(cell.text)
    text = clean(folded)
    tokens = tokens_of(text)
    words = tokens.words()
    if not teeth_column and not _TWO_NUMBERS.search(text) and not words & cues.TEETH_WORDS:
        return empty(cell, "no tooth counts in the text")
    stages = find_stages(folded, stage_words)
    # Ordinals of stages (`1. Stufe`) are no counts.
    chains = [
        chain
        for chain in chains_of(tokens)
        if not any(word.start <= chain.start < word.end for word in stages)
    ]
    found = find_pairs(chains, tokens, text)
    if not found.pairs and teeth_column and not found.doubts:
        return unreadable(cell, _why_no_pair(cell.text))
    speaks = found.marked or found.doubts or any(map(is_plausible, found.pairs))
    if not speaks and not teeth_column:
        return empty(cell, "no tooth counts in the text")
    if not found.pairs:
        why = found.doubts[0] if found.doubts else "it speaks of teeth, but not of two counts"
        return review(cell, why)
    read_so_far = _with_stages(found.pairs, stages, folded)
    geared = bool(words & cues.GEAR_WORDS) or bool(stages)
    doubt = (
        _unsure(found.pairs, geared, teeth_column)
        or next(iter(found.doubts), "")
        or _too_many(found.pairs, read_so_far, text)
        or ("the list itself puts a question mark" if "?" in cell.text else "")
        or _choice(found.pairs, words, text)
        or _stage_twice(found.pairs, stages)
        or _wrong_ratio(found.pairs, text)
    )
    if not doubt and teeth_column and _strange(words, stages, folded):
        doubt = _implausible(found.pairs)
    return review(cell, doubt, read_so_far) if doubt else read(cell, read_so_far)


def _unsure(pairs: Sequence[Candidate], geared: bool, teeth_column: bool) -> str:
    """Whether nothing says for certain that a pair counts teeth."""
    for each in pairs:
        alone = teeth_column and len(pairs) == 1
        likely = (teeth_column or geared) and is_plausible(each)
        if not (each.marked or alone or likely):
            return f"{each.pair} may be tooth counts; nothing in the text says so for certain"
    return ""


def _too_many(pairs: Sequence[Candidate], found: FoundPairs, text: str) -> str:
    if len(pairs) > 3:
        return f"{len(pairs)} pairs are more than a train has"
    if len(pairs) > 1 and not are_listed(pairs, text) and any(each.stage is None for each in found):
        return "several pairs, and nothing says how they belong together"
    if len({each.pair for each in pairs}) < len(pairs):
        return "it names one pair twice"
    return ""


def _choice(pairs: Sequence[Candidate], words: set[str], text: str) -> str:
    """Whether the pairs are a choice, or one of them is what is taken out."""
    if len(pairs) > 1 and words & cues.ALTERNATIVE_WORDS:
        return "it offers a choice of pairs"
    said = words & cues.INSTEAD_WORDS
    if not said:
        return ""
    word = min(said)
    if len(pairs) > 1:
        return f"one of the pairs may be what is taken out ({word!r})"
    before = text[max(0, pairs[0].start - 20) : pairs[0].start].split()
    if set(before) & (cues.INSTEAD_WORDS - _NAMING):
        return f"the pair may be what is taken out ({word!r})"
    return ""


def _stage_twice(pairs: Sequence[Candidate], stages: Sequence[StageWord]) -> str:
    named = [word.stage for word in stages]
    return "it names one stage twice" if len(pairs) > 1 and len(set(named)) < len(named) else ""


def _wrong_ratio(pairs: Sequence[Candidate], text: str) -> str:
    """Whether a ratio written beside the counts is another than theirs."""
    ratios = [Decimal(each.pair.driven) / each.pair.driver for each in pairs]
    overall = Decimal(1)
    for ratio in ratios:
        overall *= ratio
    for found in _RATIO.finditer(text):
        written = Decimal((found["named"] or found["behind"] or found["before"]).replace(",", "."))
        # As good as the last digit written, rounded or cut.
        step = Decimal(1).scaleb(int(written.as_tuple().exponent))
        if not any(abs(written - value) < step for value in [overall, *ratios]):
            return f"the ratio written ({written}) is not that of {pairs[0].pair}"
    return ""


def _implausible(pairs: Sequence[Candidate]) -> str:
    if all(each.marked or is_plausible(each) for each in pairs):
        return ""
    return "other words stand beside the counts"


def _strange(words: set[str], stages: Sequence[StageWord], folded: str) -> bool:
    """Whether a cell of a column of teeth holds words that have nothing to do with gears."""
    known = cues.GEAR_WORDS | cues.TEETH_WORDS | cues.FILLER_WORDS | cues.JOINING_WORDS
    staged = {
        part for word in stages for part in re.split(r"[^a-z]+", folded[word.start : word.end])
    }
    return bool(words - known - staged - {"x"})


def _with_stages(
    pairs: Sequence[Candidate], stages: Sequence[StageWord], folded: str
) -> FoundPairs:
    named: Sequence[Stage | None] = _assigned(pairs, stages)
    if not named and names_whole_train(folded) and len(pairs) in (2, 3):
        named = TRAIN_STAGES[len(pairs)]
    return tuple(
        FoundPair(each.pair, stage)
        for each, stage in zip(pairs, named or [None] * len(pairs), strict=True)
    )


def _assigned(pairs: Sequence[Candidate], stages: Sequence[StageWord]) -> list[Stage]:
    """The stage of each pair: words and pairs take turns, or all words stand before or behind."""
    if len(pairs) == 1 and len({word.stage for word in stages}) == 1:
        return [stages[0].stage]
    if len(stages) != len(pairs):
        return []
    places = sorted(
        [(word.start, "word") for word in stages] + [(each.start, "pair") for each in pairs]
    )
    kinds = [kind for _, kind in places]
    half = len(pairs)
    turns = all(one != two for one, two in pairwise(kinds))
    grouped = kinds in (["word"] * half + ["pair"] * half, ["pair"] * half + ["word"] * half)
    return [word.stage for word in stages] if turns or grouped else []
