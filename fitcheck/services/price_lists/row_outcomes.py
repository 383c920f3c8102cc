"""Outcomes of a row, made of what was read in it."""

from __future__ import annotations

from typing import Any

from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.outcomes import Outcome, RowOutcome

NO_VALUE = "a formula without a stored value; open and save the list in a spreadsheet program"
"""Why a cell that holds a formula alone cannot be read."""


def outcome_of(article: Article, outcome: Outcome, **rest: Any) -> RowOutcome:
    """An outcome at the place of a row; `rest` are other fields of it."""
    return RowOutcome(article.layout.sheet.name, article.row, article.address, outcome, **rest)


def unreadable(article: Article, part: str, cell: str, reason: str) -> RowOutcome:
    """A row with a cell that makes no sense; without an address the row itself is named."""
    where = cell or article.address
    return outcome_of(article, "unreadable", part_number=part, cell=where, reason=reason)


def ignored(article: Article, part: str, kind: str, reason: str) -> RowOutcome:
    """A row that is no article of ours, and what it is instead."""
    return outcome_of(article, "ignored", part_number=part, kind=kind, reason=reason)


def quoted(text: str) -> str:
    """A cell's text in quotes for a sentence, cut at 60 characters."""
    shown = " ".join(text.split())
    return repr(shown if len(shown) <= 60 else f"{shown[:57]}...")
