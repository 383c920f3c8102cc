"""Rows of a list that bear the same part number: one entry, or a question which is right."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace

from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.asking import Asker
from fitcheck.services.price_lists.cleaning import clean_text
from fitcheck.services.price_lists.judging import Judge
from fitcheck.services.price_lists.outcomes import RowOutcome
from fitcheck.services.price_lists.row_outcomes import outcome_of


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
                outcome_of(
                    article, "review", part_number=part, questions=(chosen,), reason="listed twice"
                )
                for article in articles
            ]
        taken = chosen
        others = [each for each in variants.values() if each is not taken]
    first = judge.part(part, taken)
    outcomes = [first]
    for article in taken[1:]:
        same = (article.models.split(), article.housing) == (
            taken[0].models.split(),
            taken[0].housing,
        )
        reason = f"same as row {taken[0].address}" + ("" if same else " but for what it is for")
        if first.outcome == "review":
            repeat = replace(first, row=article.row, address=article.address)
            outcomes.append(replace(repeat, sheet=article.layout.sheet.name, reason=reason))
            continue
        outcomes.append(
            outcome_of(
                article,
                "ignored",
                part_number=part,
                kind="repeat",
                reason=reason,
                same_as=taken[0].address,
            )
        )
    for other in others:
        for article in other:
            reason = f"left out for row {taken[0].address}, as answered"
            outcomes.append(
                outcome_of(article, "ignored", part_number=part, kind="left-out", reason=reason)
            )
    return outcomes


def _choose(asker: Asker, part: str, variants: list[list[Article]]) -> list[Article] | str:
    """The rows that were chosen by an answer, or the key of the question."""
    texts = _variant_texts([each[0] for each in variants])
    about = f"{part}, {' | '.join(sorted(texts))}"
    given = asker.answer("row", about, variants[0][0].address)
    if given is not None and given in texts:
        return variants[texts.index(given)]
    written = {clean_text(article.number.text) for each in variants for article in each}
    names = " and ".join(sorted(written)) if len(written) > 1 else part
    text = (
        f"{names} {'are one part, ' if len(written) > 1 else 'is '}listed {len(variants)} times "
        "with different data. Which row is right?"
    )
    for each in variants:
        for article in each:
            key = asker.ask("row", about, text, article.address, sorted(texts))
    return key


def _variant_texts(articles: Sequence[Article]) -> list[str]:
    """A text for each of some rows that tells it from the others: its cells, else its place too."""
    texts = [_cells_text(article) for article in articles]
    if len(set(texts)) < len(texts):
        texts = [
            " · ".join(filter(None, (text, clean_text(article.name))))
            for text, article in zip(texts, articles, strict=True)
        ]
    if len(set(texts)) < len(texts):
        texts = [
            f"{text} · row {article.address}" for text, article in zip(texts, articles, strict=True)
        ]
    return texts


def _cells_text(article: Article) -> str:
    parts = (
        article.teeth.text,
        article.stage_cell,
        article.price.text,
        article.availability.text,
        article.housing,
    )
    return " · ".join(text for part in parts if (text := clean_text(part))) or "nothing"
