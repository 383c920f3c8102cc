"""Amounts that change so much that somebody should look."""

from __future__ import annotations

from decimal import Decimal

_JUMP = 2


def is_jump(old: Decimal, new: Decimal, factor: int = _JUMP) -> bool:
    """Whether an amount becomes `factor` times as much, or so many times less (judgement)."""
    return max(old, new) >= factor * min(old, new)
