"""Counted things in a sentence."""

from __future__ import annotations


def counted(count: int, noun: str, plural: str = "") -> str:
    """`1 row`, `2 rows`, `1,200 rows`."""
    return f"{count:,} {noun if count == 1 else plural or noun + 's'}"
