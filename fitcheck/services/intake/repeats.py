"""Rows of a list that bear the same part number: one entry, or a question which is right."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace
from typing import Literal

from fitcheck.services.intake.articles import Article
from fitcheck.services.intake.asking import Asker
from fitcheck.services.intake.cleaning import clean_text
from fitcheck.services.intake.judging import Judge
from fitcheck.services.intake.outcomes import RowOutcome

__all__ = ["one_part"]


def one_part(
    judge: Judge, asker: Asker, part: str, articles: Sequence[Article]
) -> list[RowOutcome]:
    """The outcomes of all rows of one part number."""
    variants: dict[Hashable, list[Article]] = {}
    for article in articles:
        variants.setdefault(article.content, []).append(article)
    taken, *others = variants.values()
    if others:
        chosen = _choose(asker, part, list(variants.values()))
        if isinstance(chosen, str):
            return [
                _outcome(article, "review", part, questions=(chosen,), reason="listed twice")
                for article in articles
            ]
        taken = chosen
        others = [each for each in variants.values() if each is not taken]
    first = judge.part(part, taken)
    outcomes = [first]
    for article in taken[1:]:
        same = article.models.split() == taken[0].models.split()
        reason = f"same as row {taken[0].address}" + ("" if same else " but for the models")
        if first.outcome == "review":
            repeat = replace(first, row=article.row, address=article.address)
            outcomes.append(replace(repeat, sheet=article.layout.sheet.name, reason=reason))
            continue
        outcomes.append(
            _outcome(
                article,
                "ignored",
                part,
                kind="repeat",
                reason=reason,
                same_as=taken[0].address,
            )
        )
    for other in others:
        for article in other:
            reason = f"left out for row {taken[0].address}, as answered"
            outcomes.append(_outcome(article, "ignored", part, kind="left-out", reason=reason))
    return outcomes


def _choose(asker: Asker, part: str, variants: list[list[Article]]) -> list[Article] | str:
    """The rows that were chosen by an answer, or the key of the question."""
    texts = [_variant_text(each[0]) for each in variants]
    about = f"{part}, {' | '.join(sorted(texts))}"
    given = asker.answer("row", about, variants[0][0].address)
    if given is not None and given in texts:
        return variants[texts.index(given)]
    for each in variants:
        for article in each:
            key = asker.ask(
                "row",
                about,
                f"{part} is listed {len(variants)} times with different data. Which row is right?",
                article.address,
                sorted(texts),
            )
    return key


def _variant_text(article: Article) -> str:
    parts = (
        article.teeth.text,
        article.stage_cell,
        article.price.text,
        article.availability.text,
        article.housing,
    )
    return " · ".join(text for part in parts if (text := clean_text(part))) or "nothing"


def _outcome(
    article: Article, outcome: Literal["review", "ignored"], part: str, **rest: object
) -> RowOutcome:
    return RowOutcome(
        article.layout.sheet.name,
        article.row,
        article.address,
        outcome,
        part_number=part,
        **rest,  # type: ignore[arg-type]
    )
