"""Codes of this group."""

from __future__ import annotations

from fitcheck.diagnostics.code import Code

__all__ = ["RECORD_CODES"]

RECORD_CODES: tuple[Code, ...] = ()
