"""Find the header of a list, recognise its columns, and sort its rows."""

from __future__ import annotations

from fitcheck.services.price_lists.headings.columns import Guess, score_heading
from fitcheck.services.price_lists.headings.layout import Column, Ignored, Layout, Sureness
from fitcheck.services.price_lists.headings.layouts import find_layouts, find_tables
from fitcheck.services.price_lists.headings.words import FIELDS

__all__ = [
    "FIELDS",
    "Column",
    "Guess",
    "Ignored",
    "Layout",
    "Sureness",
    "find_layouts",
    "find_tables",
    "score_heading",
]
