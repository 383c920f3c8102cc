"""Tooth counts in a cell: in a column of their own, or inside free text."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH, Pair, TeethError, read_pair
from fitcheck.model.family import TRAIN_STAGES
from fitcheck.model.fields import Stage
from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.dates import undo
from fitcheck.services.price_lists.wording.pairs import (
    CHOICE,
    SEPARATE,
    Candidate,
    Context,
    doubt_about,
    find_pairs,
    is_plausible,
)
from fitcheck.services.price_lists.wording.readings import (
    Reading,
    as_cell,
    as_digits,
    empty,
    fold,
    read,
    review,
    unreadable,
)
from fitcheck.services.price_lists.wording.stages import StageWord, find_stages, names_whole_train
from fitcheck.services.price_lists.wording.tokens import chains_of, clean, tokens_of

_LONGEST = 2000
_DECIMAL = re.compile(r"([0-9]{1,3})[.,]([0-9]{1,2})")
# Two counts joined by a word or sign that joins nothing in free text: `15 auf 38`, `Z=15+38`.
_MARK = r"(?:(?:z|t|th|teeth|denti|zahne|dents|dientes)\.?\s?)?"
_PLAIN_TWO = re.compile(
    rf"{_MARK}(?:[=:]\s?)?(?P<one>[0-9]{{1,3}})\s?{_MARK}"
    r"(?:\+|&|-{0,2}>|\u2192|auf|zu|su|sur|a|sobre|to|into|und|and|et|y|e)\s?"
    rf"{_MARK}(?P<other>[0-9]{{1,3}})\s?{_MARK}"
)
_TWO_NUMBERS = re.compile(r"[0-9][^0-9]+[0-9]")


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
        return unreadable(cell, "yes or no, not tooth counts")
    if isinstance(cell.value, (int, float)):
        return _of_number(cell) if teeth_column else empty(cell, "a number, not tooth counts")
    return _undone(cell, teeth_column) or unreadable(cell, "no tooth counts")


def _in_column(cell: Cell) -> Reading[FoundPairs] | None:
    """What a text in a column of teeth is at first sight: a date, a plain pair, one number."""
    undone = _undone(cell, teeth_column=True)
    if undone is not None:
        return undone
    try:
        return read(cell, (FoundPair(read_pair(cell.text)),))
    except TeethError:
        if _DECIMAL.fullmatch(cell.text.strip()):
            return _of_number(cell)
    text = fold(cell.text).strip()
    joined = _PLAIN_TWO.fullmatch(text)
    if joined and ("+" in text or "&" in text) and not any(map(str.isalpha, text)):
        joined = None  # two sets, perhaps
    two = (int(joined["one"]), int(joined["other"])) if joined else (0, 0)
    if two[0] >= MIN_TEETH and 1.4 * two[0] <= two[1] <= min(8 * two[0], MAX_TEETH):
        return read(cell, (FoundPair(read_pair(two)),))
    return None


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


def _misread(cell: Cell) -> Reading[FoundPairs] | None:
    """What a cell may say whose digits were mistaken for letters: `l5/46`."""
    meant = as_digits(cell.text)
    found = None if meant == cell.text else read_teeth(meant, teeth_column=True)
    if found is None or found.value is None:
        return None
    return review(cell, f"is it {', '.join(map(str, found.value))}?", found.value)


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
    stages = find_stages(folded, stage_words)
    text = clean(folded)
    tokens = tokens_of(text)
    words = tokens.words()
    if not teeth_column and not _TWO_NUMBERS.search(text) and not words & cues.TEETH_WORDS:
        return empty(cell, "no tooth counts in the text")
    # Ordinals of stages (`1. Stufe`) are no counts.
    chains = [
        chain
        for chain in chains_of(tokens)
        if not any(word.start <= chain.start < word.end for word in stages)
    ]
    found = find_pairs(chains, tokens, text)
    if not found.pairs and teeth_column and not found.doubts:
        return _misread(cell) or unreadable(cell, _why_no_pair(cell.text))
    speaks = found.marked or found.doubts or any(map(is_plausible, found.pairs))
    if not speaks and not teeth_column:
        return empty(cell, "no tooth counts in the text")
    if not found.pairs:
        why = found.doubts[0] if found.doubts else "it speaks of teeth, but not of two counts"
        return review(cell, why)
    read_so_far = _with_stages(found.pairs, stages, folded)
    context = Context(
        folded=folded,
        text=text,
        words=frozenset(words),
        stages=stages,
        pairs=found.pairs,
        found=found.doubts,
        left_over=found.left_over,
        staged=all(each.stage is not None for each in read_so_far),
        teeth_column=teeth_column,
    )
    return _judge_pairs(cell, doubt_about(context), read_so_far)


def _judge_pairs(cell: Cell, doubt: str, found: FoundPairs) -> Reading[FoundPairs]:
    """Pairs that are certain, or what they may be: of a choice, each alone."""
    if not doubt:
        return read(cell, found)
    possible = [(each,) for each in found] if doubt == CHOICE else [found]
    return review(cell, doubt, *possible)


def _with_stages(
    pairs: Sequence[Candidate], stages: Sequence[StageWord], folded: str
) -> FoundPairs:
    named: Sequence[Stage | None] = _assign_stages(pairs, stages)
    if not named and names_whole_train(folded) and len(pairs) in (2, 3):
        named = TRAIN_STAGES[len(pairs)]
    return tuple(
        FoundPair(each.pair, stage)
        for each, stage in zip(pairs, named or [None] * len(pairs), strict=True)
    )


def _assign_stages(pairs: Sequence[Candidate], stages: Sequence[StageWord]) -> list[Stage]:
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


def parted_by_stages(
    own: Reading[FoundPairs], stages: Reading[tuple[Stage, ...]]
) -> Reading[FoundPairs]:
    """`15/44 - 13/48` as two pairs, where the row names as many stages."""
    pairs = next(iter(own.candidates), ())
    if own.status != "review" or not own.reason.endswith(SEPARATE) or len(own.candidates) > 1:
        return own
    named = [stages.value or (), *stages.candidates]
    if len(pairs) not in map(len, named):
        return own
    return Reading(own.cell, own.text, "read", pairs)


def same_pairs(one: FoundPairs | None, other: FoundPairs | None) -> bool:
    """Whether two readings are of the same pairs, in whatever order."""
    return {each.pair for each in one or ()} == {each.pair for each in other or ()}


def names_the_same(pairs: FoundPairs, text: str) -> bool:
    """Whether free text holds these very pairs, or no two numbers that could be others."""
    return all(str(each.pair) in text for each in pairs) or not _TWO_NUMBERS.search(text)
