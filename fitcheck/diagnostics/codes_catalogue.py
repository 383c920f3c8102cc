"""Codes of this group."""

from __future__ import annotations

from fitcheck.diagnostics.code import Code

__all__ = ["CATALOGUE_CODES"]

CATALOGUE_CODES: tuple[Code, ...] = ()
