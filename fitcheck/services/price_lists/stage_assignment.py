"""Which stage each pair of a row belongs to; never guessed, asked where the list does not say."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence, Set
from functools import lru_cache
from itertools import permutations
from math import inf, prod

from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH, Pair
from fitcheck.model.family import TRAIN_STAGES, Family
from fitcheck.model.fields import STAGES, Stage
from fitcheck.rules.fit.gears import TEETH_RATIO, teeth_ratio
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.questions import Asker, key_of_question
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.stages import find_stages, read_stage
from fitcheck.services.price_lists.wording.teeth import FoundPairs

Pairs = dict[Stage, Pair]

_FAR = 2.1
"""So many times in teeth and ratio together a pair is no more of that stage (judgement)."""

_ENOUGH = 2
"""So many other pairs of a stage say what is usual in a list (judgement)."""

_ALONE = 1.3
"""So many times in teeth and ratio from all others a pair stands alone in its list (judgement)."""

_ELSEWHERE = 1.2
"""So many times nearer pairs of another stage it is doubtful of which it is (judgement)."""

_SAME = 1.05
"""So many times in teeth and ratio together a pair is as good as a factory pair (judgement)."""

_NEARER = 1.3
"""So many times nearer factory pairs is what was swapped by mistake (judgement)."""


def stage_pairs(
    article: Article,
    part: str,
    *,
    found: FoundPairs,
    held: Mapping[Stage, Pair],
    families: Sequence[Family],
    asker: Asker,
) -> Pairs | str:
    """Give each pair its stage, from input shaft to wheel; or ask.

    Args:
        article: the row.
        part: its part number.
        found: the pairs read, with the stages that stand beside them.
        held: pairs of its entry; none where there is no entry.
        families: those it is listed for.
        asker: where the question goes.

    Returns:
        The pairs by stage, or the key of the question that must be answered first.
    """
    counts = ", ".join([str(each.pair) for each in found])
    about = f"{part}, {counts!r}"
    given = asker.answer("stage", about, article.address)
    # As the pairs stand in the row, which need not be the order of the train.
    stages = [stage for each in (given or "").split(", ") for stage in STAGES if stage == each]
    said = _from_words(article, len(found))
    beside = [each.stage for each in found if each.stage is not None]
    if len(stages) == len(found):
        different = len({each.pair for each in found}) == len(found)
        if said is None and not beside and not article.stage_cell and different:
            asker.told_by_entry.add(key_of_question("stage", about))
        return _in_order({s: f.pair for s, f in zip(stages, found, strict=True)})
    doubt = _contradiction(article, part, said, beside, len(found))
    if doubt is not None:
        return _ask(asker, article, about, *doubt)
    pairs = _as_written(article, found, said, held)
    possible = {stage for each in families for stage in each.stages}
    if pairs is None and said is None and article.stage_cell:
        return _ask_word(asker, article)
    if pairs is None and said is None:
        text = f"Of which stage is {part} ({counts})? The list does not say."
    elif pairs is None:
        stages_said = " and ".join(said or ())
        text = f"{part}: {len(found)} pairs ({counts}) for {stages_said}; of which stages?"
    elif pairs == held:
        return _in_order(pairs)
    elif lacking := [stage for stage in pairs if possible and stage not in possible]:
        text = (
            f"{part} is {' and '.join(lacking)} by the list, and what it is listed for has no such "
            f"stage. Of which stage is it ({counts})?"
        )
    elif swapped := _swapped(pairs, families):
        text = f"{part}: are the stages swapped? As {swapped} the pairs are near factory ones."
    else:
        return _in_order(pairs)
    return _ask(asker, article, about, text, _choices(len(found), possible))


def _contradiction(
    article: Article,
    part: str,
    said: Sequence[Stage] | None,
    beside: Sequence[Stage],
    count: int,
) -> tuple[str, list[Stage]] | None:
    """The question where the column of stages and other words name others, and its choices."""
    if said is None:
        return None
    named = article.named_stage
    column = f"the stage column says {article.stage_cell!r}"
    if named and not set(said) & set(named):
        words = f"its text says {' and '.join(said)}, the heading of its group"
        told = f"{column}, the text" if article.stage_cell else words
        return f"{part}: {told} {' and '.join(named)}.", [*said, *named]
    whole = len(beside) == count == len(set(beside))
    if whole and article.stage_cell and set(said) != set(beside):
        return f"{part}: {column}, other words {beside[0]}.", [*said, *beside]
    return None


class Usual:
    """What pairs a list has for each stage of each family, to tell those that stand alone.

    Args:
        rows: family, stage and pair of each row for which the list names all three.
    """

    def __init__(self, rows: Iterable[tuple[str, Stage, Pair]]) -> None:
        self._pairs: dict[tuple[str, Stage], Counter[Pair]] = defaultdict(Counter)
        for family, stage, pair in rows:
            self._pairs[family, stage][pair] += 1
        self._merged: dict[tuple[tuple[str, ...], Stage], Counter[Pair]] = {}
        self._kept: dict[Hashable, Pair | None] = {}

    def far_from(self, families: Mapping[str, Family], stage: Stage, pair: Pair) -> Pair | None:
        """The nearest factory pair, where a pair is far from all or stands alone in the list."""
        key = *families, stage, pair.driver, pair.driven
        if key not in self._kept:
            factory = far_from([*families.values()], stage, pair)
            if factory is None and self.is_alone(families, stage, pair):
                factory = nearest_pair(families.values(), stage, pair)
            self._kept[key] = factory
        return self._kept[key]

    def is_alone(self, families: Mapping[str, Family], stage: Stage, pair: Pair) -> bool:
        """Whether a pair is far from the list's others of its stage and from all factory pairs.

        Less far is enough where it is nearer those of another stage. Where the list has few others
        of the family, it must be as good as one of another stage, and odd for the whole list.
        """
        listed = self._of(tuple(families), stage)
        if listed[pair] > 1:
            return False
        others = [each for each in listed if each != pair]
        apart = inf
        for each in (*others, *_factory_pairs(families.values(), stage)):
            apart = min(apart, _times_apart(pair, each))
            # No pair elsewhere can be so much nearer.
            if apart <= _ELSEWHERE:
                return False
        if apart == inf:
            return False
        if len(others) < _ENOUGH:
            return (
                apart > _ALONE
                and self._apart_elsewhere(families, stage, pair) <= _SAME
                and self._is_odd_for(stage, pair)
            )
        return apart > _ALONE or self._apart_elsewhere(families, stage, pair) * _ELSEWHERE < apart

    def _apart_elsewhere(self, families: Mapping[str, Family], stage: Stage, pair: Pair) -> float:
        """How far a pair is from the nearest pair of another stage of the families."""
        elsewhere = (
            _times_apart(pair, each)
            for other in STAGES
            if other != stage
            for each in (
                *self._of(tuple(families), other),
                *_factory_pairs(families.values(), other),
            )
        )
        return min(elsewhere, default=inf)

    def _is_odd_for(self, stage: Stage, pair: Pair) -> bool:
        """Whether a pair's ratio is beyond those of the list's others of a stage, of any family."""
        ratios = [
            each.driven / each.driver
            for (_, other), pairs in self._pairs.items()
            if other == stage
            for each in pairs
            if each != pair
        ]
        ratio = pair.driven / pair.driver
        return len(ratios) >= _ENOUGH and not min(ratios) <= ratio <= max(ratios)

    def _of(self, families: tuple[str, ...], stage: Stage) -> Counter[Pair]:
        """The pairs of a stage in the rows of some families, and how many rows have each."""
        if (families, stage) not in self._merged:
            found: Counter[Pair] = Counter()
            for family in families:
                found.update(self._pairs.get((family, stage), ()))
            self._merged[families, stage] = found
        return self._merged[families, stage]


def far_from(families: Sequence[Family], stage: Stage, pair: Pair) -> Pair | None:
    """The nearest factory pair, where a pair is so far from all that no train could hold it."""
    factory = nearest_pair(families, stage, pair)
    if factory is None:
        return None
    teeth = teeth_ratio(pair, factory.driver + factory.driven)
    apart = _times_apart(pair, factory)
    is_far = teeth > TEETH_RATIO or apart > _FAR or _has_slip(families, stage, pair, apart)
    return factory if is_far else None


def _has_slip(families: Sequence[Family], stage: Stage, pair: Pair, apart: float) -> bool:
    """Whether a pair is far nearer factory pairs with the two digits of one count swapped."""
    turned = (
        (int(str(pair.driver)[::-1]), pair.driven),
        (pair.driver, int(str(pair.driven)[::-1])),
    )
    near = [
        _times_apart(other, factory)
        for driver, driven in turned
        if MIN_TEETH <= driver < driven <= MAX_TEETH
        if (factory := nearest_pair(families, stage, other := Pair(driver, driven))) is not None
    ]
    nearest = min(near, default=inf)
    return nearest <= _SAME and nearest * _NEARER < apart


def nearest_pair(families: Iterable[Family], stage: Stage, pair: Pair) -> Pair | None:
    """The factory pair of a stage that is nearest in teeth and ratio."""
    pairs = _factory_pairs(families, stage)
    return min(pairs, key=lambda each: _times_apart(pair, each), default=None)


def _factory_pairs(families: Iterable[Family], stage: Stage) -> Iterator[Pair]:
    trains = (train.pairs for family in families for train in family.factory_trains)
    return (train[stage] for train in trains if stage in train)


def _times_apart(one: Pair, other: Pair) -> float:
    """How many times the teeth in all of one pair are those of another, times that of ratios."""
    ratios = one.driven * other.driver, other.driven * one.driver
    return teeth_ratio(one, other.driver + other.driven) * max(ratios) / min(ratios)


def _swapped(pairs: Pairs, families: Sequence[Family]) -> str:
    """The pairs of a train in another order of stages that fits far better; empty for none."""
    if len(pairs) < 2:
        return ""
    stages = list(pairs)
    apart = {
        order: prod(
            _times_apart(pair, near) if (near := nearest_pair(families, stage, pair)) else inf
            for stage, pair in zip(stages, order, strict=True)
        )
        for order in permutations(pairs.values())
    }
    best = min(apart, key=lambda order: apart[order])
    if len(pairs) < 2 or inf in apart.values() or apart[best] * _NEARER > apart[(*pairs.values(),)]:
        return ""
    return ", ".join(f"{stage} {pair}" for stage, pair in zip(stages, best, strict=True))


def _as_written(
    article: Article,
    found: FoundPairs,
    said: Sequence[Stage] | None,
    held: Mapping[Stage, Pair],
) -> Pairs | None:
    """The pairs by the stages beside them, those of the row, or those of the entry; else None."""
    beside = [each.stage for each in found if each.stage is not None]
    if len(beside) == len(found) == len(set(beside)):
        return {stage: each.pair for stage, each in zip(beside, found, strict=True)}
    if said is None:
        return _as_held(found, held, alone=not article.stage_cell)
    if len(said) == len(found):
        return {stage: each.pair for stage, each in zip(said, found, strict=True)}
    return None


def _choices(count: int, possible: Set[Stage]) -> list[str]:
    """Stages that so many pairs may be of."""
    if count > 1:
        return [", ".join(train) for train in TRAIN_STAGES.values() if len(train) == count]
    return [stage for stage in STAGES if stage in possible or not possible]


def _from_words(article: Article, count: int) -> list[Stage] | None:
    """Stages that the column, or free text, names for certain, in the order written."""
    reading = article.stage
    if reading.certain and reading.value:
        ordered = list(_written(reading.text))
        return ordered if set(ordered) == set(reading.value) else list(reading.value)
    if reading.status == "review":
        # `complete set` with two pairs is the train of two.
        fitting = [each for each in reading.candidates if len(each) == count]
        if len(fitting) == 1 and count > 1:
            return list(fitting[0])
    return None


@lru_cache(maxsize=4096)
def _written(text: str) -> tuple[Stage, ...]:
    return tuple(dict.fromkeys(word.stage for word in find_stages(fold(text))))


def _as_held(found: FoundPairs, held: Mapping[Stage, Pair], *, alone: bool) -> Pairs | None:
    """The entry's stages, where its pairs are the same.

    Where the list says nothing of stages at all (`alone`), also of the one pair of an entry that
    has one stage.
    """
    pairs = [each.pair for each in found]
    if sorted(pairs) == sorted(held.values()) and len(set(pairs)) == len(pairs):
        return dict(held)
    if alone and len(pairs) == len(held) == 1:
        return {next(iter(held)): pairs[0]}
    return None


def _in_order(pairs: Pairs) -> Pairs:
    return {stage: pairs[stage] for stage in STAGES if stage in pairs}


def _ask(asker: Asker, article: Article, about: str, text: str, choices: Sequence[str]) -> str:
    where = article.where(article.teeth.cell) or article.address
    return asker.ask("stage", about, text, where, dict.fromkeys(choices))


def _ask_word(asker: Asker, article: Article) -> str:
    word = " ".join(article.stage_cell.split())
    candidates = [stages[0] for stages in article.stage.candidates if len(stages) == 1]
    choices = [*dict.fromkeys(candidates), *[s for s in STAGES if s not in candidates]]
    return asker.ask(
        "stage-word",
        word,
        f"Which stage does this supplier mean by {word!r}? {_sentence(article.stage.reason)}",
        article.where(article.stage.cell) or article.address,
        choices,
    )


def _sentence(reason: str) -> str:
    return f"{reason[:1].upper()}{reason[1:]}." if reason else ""


def stage_of_word(word: str) -> Stage | None:
    """Our stage for a word of an answer, or None."""
    found = read_stage(word)
    return found.value[0] if found.certain and found.value and len(found.value) == 1 else None
