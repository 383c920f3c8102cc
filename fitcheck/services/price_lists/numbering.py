"""The part number of a row: taken as it stands, or asked for where it may have been another."""

from __future__ import annotations

import re

from fitcheck.diagnostics.suggest import or_list
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.asking import NONE, Asker
from fitcheck.services.price_lists.cleaning import clean_text
from fitcheck.services.price_lists.entries import SupplierEntries
from fitcheck.services.price_lists.outcomes import RowOutcome
from fitcheck.services.price_lists.row_outcomes import NO_VALUE, ignored, outcome_of, unreadable

# Common practice, no source.
_STANDS_FOR_NONE = re.compile(
    r"n\.? ?n\.?|t\.?b\.?[ad]\.?|n/?a|n\.a\.|k\.? ?a\.?|neu|new|nuov[oa]|nouveau|nuevo|folgt|offen|"
    r"none|"
    r"(?:s\.|siehe|see|vedi|voir|ver) .*|ohne(?: nr\.?)?|auf anfrage|on request|su richiesta"
)


def numbered(article: Article, entries: SupplierEntries, asker: Asker) -> str | RowOutcome:
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
        doubt = "it seems to stand for none"
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
