"""Codes of the whole catalogue: what only several records together show."""

from __future__ import annotations

from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.codes_references import REFERENCE_CODES
from fitcheck.diagnostics.codes_sets import SET_CODES
from fitcheck.diagnostics.codes_tyres import TYRE_CODES

CATALOGUE_CODES: tuple[Code, ...] = tuple(
    sorted((*REFERENCE_CODES, *SET_CODES, *TYRE_CODES), key=lambda code: code.code)
)
"""Codes FC2xx."""
