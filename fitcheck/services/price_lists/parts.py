"""Which part each row is of: its number, or the question; and rows that bear the same number."""

from __future__ import annotations

import re
from collections.abc import Hashable, Sequence
from dataclasses import replace

from fitcheck.diagnostics.suggest import or_list
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.entries import SupplierEntries
from fitcheck.services.price_lists.judge import Judge
from fitcheck.services.price_lists.outcomes import (
    NO_VALUE,
    RowOutcome,
    ignored,
    outcome_of,
    unreadable,
)
from fitcheck.services.price_lists.questions import NONE, Asker, clean_text

# Common practice, no source.
_STANDS_FOR_NONE = re.compile(
    r"n\.? ?n\.?|t\.?b\.?[ad]\.?|n/?a|n\.a\.|k\.? ?a\.?|neu|new|nuov[oa]|nouveau|nuevo|folgt|offen|"
    r"none|"
    r"(?:s\.|siehe|see|vedi|voir|ver) .*|ohne(?: nr\.?)?|auf anfrage|on request|su richiesta"
)


def settle_part_number(
    article: Article, entries: SupplierEntries, asker: Asker
) -> str | RowOutcome:
    """The part number of a row, or what becomes of the row for want of one.

    Args:
        article: the row.
        entries: what the supplier has in the catalogue.
        asker: where the question goes.
    """
    number = article.number
    text = clean_text(number.text)
    if not any(map(str.isalnum, text)):
        no_value = bool(article.no_value) and article.no_value == number.cell
        return unreadable(article, "", number.cell, NO_VALUE if no_value else "no part number")
    choices = number.parts
    doubt = number.doubt
    known = entries.find(text) is not None
    if not doubt:
        # A text may have lost its zeros before it was one; beside its own entry it is meant.
        choices = entries.eaten(text, counted=number.counted) if number.counted or not known else ()
        choices += () if known else entries.shortened(text, counted=number.counted)
        if choices:
            doubt = "a spreadsheet may have taken it for a number"
    if not doubt and not known and _STANDS_FOR_NONE.fullmatch(text.lower()):
        doubt = "it seems to mean that there is none"
    if not doubt and not known and entries.lacks_digits(text):
        doubt = "nearly all others have digits"
    spelled = () if known else entries.spelled(text)
    if not doubt and spelled:
        choices = spelled
        others = or_list([repr(each) for each in spelled])
        doubt = f"{others} differs from it in spaces or dashes only"
    # What was answered holds, though the number may be on file by now.
    given = asker.answer("part-number", text, article.address)
    if given == NONE:
        return ignored(article, text, "left-out", "left out, as answered")
    if given is not None:
        return given
    if not doubt:
        return text
    key = asker.ask(
        "part-number",
        text,
        f"Is {text!r} the part number as the supplier writes it? {doubt}.",
        number.cell,
        dict.fromkeys([*choices, text, NONE]),
    )
    return outcome_of(article, "review", part_number=text, questions=(key,), reason=doubt)


def one_part(
    judge: Judge, asker: Asker, part: str, articles: Sequence[Article]
) -> list[RowOutcome]:
    """The outcomes of all rows of one part number."""
    variants: dict[Hashable, list[Article]] = {}
    for article in articles:
        # Rows that differ in words that nothing explains are no repeats.
        left = tuple(judge.unclaimed(article, part)) if len(articles) > 1 else ()
        variants.setdefault((article.content, left), []).append(article)
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
        ignored_row = ignored(article, part, "repeat", reason)
        outcomes.append(replace(ignored_row, same_as=taken[0].address))
    reason = f"left out for row {taken[0].address}, as answered"
    outcomes += [ignored(each, part, "left-out", reason) for other in others for each in other]
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
