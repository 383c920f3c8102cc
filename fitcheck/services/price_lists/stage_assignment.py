"""Which stage each pair of a row belongs to; never guessed, asked where the list does not say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import TRAIN_STAGES
from fitcheck.model.fields import STAGES, Stage
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.questions import Asker, key_of_question
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.stages import find_stages, read_stage
from fitcheck.services.price_lists.wording.teeth import FoundPairs

Pairs = dict[Stage, Pair]


def stage_pairs(
    article: Article,
    part: str,
    *,
    found: FoundPairs,
    held: Mapping[Stage, Pair] | None,
    possible: Sequence[Stage],
    asker: Asker,
) -> Pairs | str:
    """Give each pair its stage, from input shaft to wheel; or ask.

    Args:
        article: the row.
        part: its part number.
        found: the pairs read, with the stages that stand beside them.
        held: pairs of its entry, where there is one.
        possible: stages its families have, for the question.
        asker: where the question goes.

    Returns:
        The pairs by stage, or the key of the question that must be answered first.
    """
    counts = ", ".join(str(each.pair) for each in found)
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
    named = article.named_stage
    if said is not None and named and not set(said) & set(named):
        column = f"the stage column says {article.stage_cell!r}, the text"
        words = f"its text says {' and '.join(said)}, the heading of its group"
        text = f"{part}: {column if article.stage_cell else words} {' and '.join(named)}."
        return _ask(asker, article, about, text, [*said, *named])
    whole = len(beside) == len(found) == len(set(beside))
    if whole and article.stage_cell and said is not None and set(said) != set(beside):
        text = f"{part}: the stage column says {article.stage_cell!r}, other words {beside[0]}."
        return _ask(asker, article, about, text, [*said, *beside])
    pairs = _as_written(article, found, said, held or {})
    if pairs is not None:
        lacking = [stage for stage in pairs if possible and stage not in possible]
        if not lacking or pairs == held:
            return _in_order(pairs)
        text = (
            f"{part} is {' and '.join(lacking)} by the list, and what it is listed for has no such "
            f"stage. Of which stage is it ({counts})?"
        )
    elif said is None:
        if article.stage_cell:
            return _ask_word(asker, article)
        text = f"Of which stage is {part} ({counts})? The list does not say."
    else:
        text = f"{part}: {len(found)} pairs ({counts}) for {' and '.join(said)}; of which stages?"
    return _ask(asker, article, about, text, _choices(len(found), possible))


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


def _choices(count: int, possible: Sequence[Stage]) -> list[str]:
    """Stages that so many pairs may be of, likely ones first."""
    if count > 1:
        return [", ".join(train) for train in TRAIN_STAGES.values() if len(train) == count]
    return [*possible, *[stage for stage in STAGES if stage not in possible]]


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
    where = article.teeth.cell or article.address
    return asker.ask("stage", about, text, where, dict.fromkeys(choices))


def _ask_word(asker: Asker, article: Article) -> str:
    word = " ".join(article.stage_cell.split())
    candidates = [stages[0] for stages in article.stage.candidates if len(stages) == 1]
    choices = [*dict.fromkeys(candidates), *[s for s in STAGES if s not in candidates]]
    return asker.ask(
        "stage-word",
        word,
        f"Which stage does this supplier mean by {word!r}? {_sentence(article.stage.reason)}",
        article.stage.cell or article.address,
        choices,
    )


def _sentence(reason: str) -> str:
    return f"{reason[:1].upper()}{reason[1:]}." if reason else ""


def stage_of_word(word: str) -> Stage | None:
    """Our stage for a word of an answer, or None."""
    found = read_stage(word)
    return found.value[0] if found.certain and found.value and len(found.value) == 1 else None
