"""Codes of this group."""

from __future__ import annotations

from fitcheck.diagnostics.code import Code

__all__ = ["READING_CODES"]

READING_CODES: tuple[Code, ...] = ()
