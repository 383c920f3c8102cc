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
from fitcheck.services.intake.wording.counts import Chain, chains_of, clean
from fitcheck.services.intake.wording.folding import fold
from fitcheck.services.intake.wording.result import (
    Reading,
    as_cell,
    empty,
    read,
    review,
    unreadable,
)
from fitcheck.services.intake.wording.stages import StageWord, find_stages, names_whole_train
from fitcheck.services.intake.wording.undone import undo

__all__ = ["FoundPair", "FoundPairs", "read_teeth"]

_LONGEST = 2000
# Sizes of engines, speed classes and wheels: two of these are no pair unless marked as teeth.
_ROUND = frozenset({25, 40, 45, 50, 60, 70, 80, 90, 100, 110, 115, 120, 125, 150, 180, 200})
_RATIO = re.compile(
    r"(?:(?<![a-z])(?:i|ratio|rapporto|rapport|relacion|u?ebersetzung|ubersetzung|ubers\.?)\s?[=:]?\s?"
    r"(?:1\s?:\s?)?([0-9]{1,2}[.,][0-9]{1,4})(?![0-9])"
    r"|(?<![0-9.,])1\s?:\s?([0-9]{1,2}[.,][0-9]{1,4})(?![0-9])"
    r"|(?<![0-9.,/:])([0-9]{1,2}[.,][0-9]{1,4})\s?:\s?1(?![0-9]))"
)

_DECIMAL = re.compile(r"([0-9]{1,3})[.,]([0-9]{1,2})")
_JOINED = re.compile(r"[\s+,;&/()]*(?:(?:und|and|e|et|y)\s*)?(?:z\s*[=:]?\s*)?")


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
    if isinstance(cell.value, bool):
        return unreadable(cell, "yes or no, no tooth counts")
    undone = undo(cell) if teeth_column or not isinstance(cell.value, str) else None
    if undone is not None:
        found = [(FoundPair(pair),) for pair in undone.pairs]
        if undone.certain and teeth_column:
            return read(cell, found[0], undone.reason)
        return review(cell, undone.reason, *found) if found else unreadable(cell, undone.reason)
    if isinstance(cell.value, (int, float)):
        return _of_number(cell) if teeth_column else empty(cell, "a number, no tooth counts")
    if len(cell.text) > _LONGEST:
        return unreadable(cell, f"{len(cell.text):,} characters are no tooth counts")
    if teeth_column:
        try:
            return read(cell, (FoundPair(read_pair(cell.text)),))
        except TeethError:
            pass
    if teeth_column and _DECIMAL.fullmatch(cell.text.strip()):
        return _of_number(cell)
    return _of_text(cell, teeth_column, stage_words)


def _of_number(cell: Cell) -> Reading[FoundPairs]:
    """One number in a column of teeth: `15.38` may be a pair, `1538` is none."""
    text = cell.text.strip()
    found = _DECIMAL.fullmatch(text)
    if found:
        possible = []
        for part in dict.fromkeys((found[2], found[2].ljust(2, "0"))):
            try:
                possible.append((FoundPair(read_pair((int(found[1]), int(part)))),))
            except TeethError:
                continue
        if possible:
            return review(cell, f"{text} is one number; it may be a pair", *possible)
    try:
        read_pair(text if found or not text.isdecimal() else int(text))
    except TeethError as error:
        return unreadable(cell, str(error))
    raise AssertionError("one number is no pair")


def _of_text(
    cell: Cell, teeth_column: bool, stage_words: Mapping[str, Stage] | None
) -> Reading[FoundPairs]:
    folded = fold(cell.text)
    text = clean(folded)
    chains, tokens = chains_of(text)
    words = {token.text for token in tokens if token.kind == "word"}
    stages = find_stages(folded, stage_words)
    # Ordinals of stages (`1. Stufe`) are no counts.
    chains = [
        chain
        for chain in chains
        if not any(word.start <= chain.start < word.end for word in stages)
    ]
    pairs, doubts, loose = _candidates(chains, tokens)
    geared = bool(words & cues.GEAR_WORDS) or bool(stages)
    if not pairs:
        return _none(cell, chains, loose, teeth_column)
    pairs = _spread_marks(pairs, text)
    sure = [pair for pair in pairs if _is_sure(pair, geared, teeth_column, len(pairs))]
    unsure = [pair for pair in pairs if pair not in sure]
    if not sure and not teeth_column and not any(_plausible(pair) and geared for pair in pairs):
        if not any(_plausible(pair) for pair in pairs):
            return empty(cell, "no tooth counts in the text")
    all_found = _with_stages(pairs, stages, folded)
    if unsure:
        return review(cell, _why_unsure(unsure[0]), all_found)
    if doubts or loose:
        return review(cell, (doubts or loose)[0], all_found)
    if len(pairs) > 3:
        return review(cell, f"{len(pairs)} pairs are more than a train has", all_found)
    if "?" in cell.text:
        return review(cell, "the list itself puts a question mark", all_found)
    if (
        len(pairs) > 1
        and any(each.stage is None for each in all_found)
        and not _listed(pairs, text)
    ):
        return review(cell, "several pairs, and nothing says how they belong together", all_found)
    against = _against(pairs, words, text, stages)
    if against:
        return review(cell, against, all_found)
    if teeth_column and not any(pair.marked for pair in pairs) and _strange(words, stages, folded):
        if not all(_plausible(pair) for pair in pairs):
            return review(cell, "other words stand beside the counts", all_found)
    return read(cell, all_found)


@dataclass(frozen=True, slots=True)
class _Candidate:
    pair: Pair
    start: int
    end: int
    marked: bool
    separator: str


def _candidates(
    chains: Sequence[Chain], tokens: Sequence[object]
) -> tuple[list[_Candidate], list[str], list[str]]:
    """Pairs of counts, what speaks against one, and counts left over."""
    pairs: list[_Candidate] = []
    doubts: list[str] = []
    singles: list[tuple[int, Chain]] = []
    for index, chain in enumerate(chains):
        counts = chain.counts
        if chain.blocked or counts is None:
            if chain.marked and not chain.blocked:
                doubts.append(f"{_written(chain)} cannot be tooth counts")
            elif chain.marked or (chain.doubtful and counts is not None and _no_date(counts)):
                doubts.append(f"{_written(chain)} looks like {chain.blocked}")
            continue
        if len(counts) == 1:
            _find_role(chain, tokens)
            if chain.marked or chain.role:
                singles.append((index, chain))
        elif len(counts) == 2:
            if counts[0] == counts[1]:
                doubts.append(f"{_written(chain)}: both gears have the same count")
                continue
            pairs.append(
                _Candidate(
                    read_pair(counts), chain.start, chain.end, chain.marked, chain.separators[0]
                )
            )
        elif chain.marked or len(counts) in (4, 6):
            doubts.append(f"{_written(chain)} joins {len(counts)} counts; part the pairs")
            pairs += [
                _Candidate(Pair(min(two), max(two)), chain.start, chain.end, chain.marked, "/")
                for two in zip(counts[::2], counts[1::2], strict=False)
                if two[0] != two[1]
            ]
    joined, loose = _join(singles)
    return sorted(pairs + joined, key=lambda each: each.start), doubts, loose


def _no_date(counts: Sequence[int]) -> bool:
    return len(counts) == 2 and (min(counts) > 12 or max(counts) > 35)


def _find_role(chain: Chain, tokens: Sequence[object]) -> None:
    """Whether a word for the pinion or the wheel stands right before or behind a single count."""
    for step, start in ((-1, chain.first_token - 1), (1, chain.last_token + 1)):
        index = start
        for _ in range(3):
            if not 0 <= index < len(tokens):
                break
            token = tokens[index]
            text = token.text  # type: ignore[attr-defined]
            if text in cues.PINION_WORDS or text in cues.WHEEL_GEAR_WORDS:
                chain.role = "pinion" if text in cues.PINION_WORDS else "wheel"
                return
            if text in cues.TEETH_WORDS or text in (
                "=",
                ":",
                "-",
                "(",
                "de",
                "mit",
                "con",
                "da",
                "a",
            ):
                index += step
                continue
            break


def _join(singles: Sequence[tuple[int, Chain]]) -> tuple[list[_Candidate], list[str]]:
    pairs = []
    loose = []
    index = 0
    while index + 1 < len(singles):
        (place, first), (following, second) = singles[index], singles[index + 1]
        one, two = int(first.numbers[0]), int(second.numbers[0])
        roles = (first.role, second.role)
        sure = bool((first.marked or first.role) and (second.marked or second.role))
        # Another number between them may be the one that belongs to the first.
        sure = sure and following == place + 1 and second.start - first.end <= 40
        if one == two or not sure:
            loose.append(f"{one} and {two} make no pair for certain")
        elif roles in (("pinion", "pinion"), ("wheel", "wheel")):
            loose.append(f"{one} and {two} are both called {roles[0]}")
        elif (roles[0] == "pinion" or roles[1] == "wheel") and one > two:
            loose.append(f"the pinion has more teeth ({one}) than the wheel ({two})")
        elif (roles[0] == "wheel" or roles[1] == "pinion") and one < two:
            loose.append(f"the pinion has more teeth ({two}) than the wheel ({one})")
        else:
            marked = first.marked or second.marked or {"pinion", "wheel"} == set(roles)
            pairs.append(
                _Candidate(Pair(min(one, two), max(one, two)), first.start, second.end, marked, " ")
            )
        index += 2
    if index < len(singles):
        loose.append(f"one count alone ({singles[index][1].numbers[0]}) makes no pair")
    return pairs, loose


def _written(chain: Chain) -> str:
    text = chain.numbers[0]
    for separator, number in zip(chain.separators, chain.numbers[1:], strict=True):
        text += separator + number
    return text if len(text) <= 40 else text[:37] + "..."


def _listed(pairs: Sequence[_Candidate], text: str) -> bool:
    """Whether nothing but signs and words that join stands between the pairs."""
    return all(_JOINED.fullmatch(text[one.end : other.start]) for one, other in pairwise(pairs))


def _spread_marks(pairs: list[_Candidate], text: str) -> list[_Candidate]:
    """A mark at one pair holds for those listed with it: `Z 14/45 + 13/48`."""
    marked = [pair.marked for pair in pairs]
    for places in (range(1, len(pairs)), range(len(pairs) - 2, -1, -1)):
        for index in places:
            other = index - 1 if places.step > 0 else index + 1
            low, high = sorted((index, other))
            between = text[pairs[low].end : pairs[high].start]
            if marked[other] and _JOINED.fullmatch(between):
                marked[index] = True
    return [
        _Candidate(pair.pair, pair.start, pair.end, mark, pair.separator)
        for pair, mark in zip(pairs, marked, strict=True)
    ]


def _plausible(found: _Candidate) -> bool:
    """Whether an unmarked pair can hardly be anything else."""
    driver, driven = found.pair.driver, found.pair.driven
    if driver in _ROUND and driven in _ROUND:
        return False
    if driver > 40 or driven > 120 or not 1.4 <= driven / driver <= 8:
        return False
    # Day and month, month and year, or two years.
    if driver <= 12 and driven <= 35:
        return False
    return not (found.separator == "-" and driven <= 31)


def _is_sure(found: _Candidate, geared: bool, teeth_column: bool, count: int) -> bool:
    if found.marked:
        return True
    if teeth_column:
        return count == 1 or _plausible(found)
    return geared and _plausible(found)


def _why_unsure(found: _Candidate) -> str:
    return f"{found.pair} may be tooth counts; nothing in the text says so for certain"


def _none(
    cell: Cell, chains: Sequence[Chain], loose: Sequence[str], teeth_column: bool
) -> Reading[FoundPairs]:
    if loose:
        return review(cell, loose[0])
    if not teeth_column:
        if any(chain.marked for chain in chains):
            return review(cell, "it speaks of teeth, but not of two counts")
        return empty(cell, "no tooth counts in the text")
    try:
        read_pair(cell.text)
    except TeethError as error:
        return unreadable(cell, str(error))
    raise AssertionError("a plain pair is read before")


def _against(
    pairs: Sequence[_Candidate], words: set[str], text: str, stages: Sequence[StageWord]
) -> str:
    """What else in the cell speaks against the pairs, or empty."""
    if len(pairs) > 1 and words & cues.ALTERNATIVE_WORDS:
        return "it offers a choice of pairs"
    if len({pair.pair for pair in pairs}) < len(pairs):
        return "it names one pair twice"
    said = words & cues.INSTEAD_WORDS
    if said:
        word = sorted(said)[0]
        if len(pairs) > 1:
            return f"one of the pairs may be what is taken out ({word!r})"
        before = text[max(0, pairs[0].start - 20) : pairs[0].start].split()
        if set(before) & (cues.INSTEAD_WORDS - {"serie", "original", "originale", "prima"}):
            return f"the pair may be what is taken out ({word!r})"
    named = [word.stage for word in stages]
    if len(pairs) > 1 and len(set(named)) < len(named):
        return "it names one stage twice"
    return _wrong_ratio(pairs, text)


def _wrong_ratio(pairs: Sequence[_Candidate], text: str) -> str:
    """Whether a ratio written beside the counts is another than theirs."""
    for found in _RATIO.finditer(text):
        written = Decimal(next(filter(None, found.groups())).replace(",", "."))
        exponent = written.as_tuple().exponent
        assert isinstance(exponent, int)
        step = Decimal(1).scaleb(exponent)
        product = Decimal(1)
        for each in pairs:
            product *= Decimal(each.pair.driven) / each.pair.driver
        singles = [Decimal(each.pair.driven) / each.pair.driver for each in pairs]
        if not any(abs(written - value) < step for value in [product, *singles]):
            return f"the ratio written ({written}) is not that of {pairs[0].pair}"
    return ""


def _strange(words: set[str], stages: Sequence[StageWord], folded: str) -> bool:
    known = cues.GEAR_WORDS | cues.TEETH_WORDS | cues.FILLER_WORDS | cues.JOINING_WORDS
    staged = {
        part for word in stages for part in re.split(r"[^a-z]+", folded[word.start : word.end])
    }
    return bool(words - known - staged - {"x"})


def _with_stages(
    pairs: Sequence[_Candidate], stages: Sequence[StageWord], folded: str
) -> FoundPairs:
    named = _assign(pairs, stages)
    if named is None and names_whole_train(folded) and len(pairs) in (2, 3):
        named = list(TRAIN_STAGES[len(pairs)])
    if named is None:
        named = [None] * len(pairs)
    return tuple(FoundPair(pair.pair, stage) for pair, stage in zip(pairs, named, strict=True))


def _assign(pairs: Sequence[_Candidate], stages: Sequence[StageWord]) -> list[Stage | None] | None:
    """The stage of each pair: words and pairs take turns, or all words stand before or behind."""
    if len(stages) != len(pairs):
        unique = list(dict.fromkeys(word.stage for word in stages))
        if len(pairs) == 1 and len(unique) == 1:
            return [unique[0]]
        return None
    places = sorted(
        [(word.start, "word") for word in stages] + [(pair.start, "pair") for pair in pairs]
    )
    kinds = [kind for _, kind in places]
    half = len(pairs)
    turns = all(one != two for one, two in pairwise(kinds))
    grouped = kinds in (["word"] * half + ["pair"] * half, ["pair"] * half + ["word"] * half)
    return [word.stage for word in stages] if turns or grouped else None
