"""Every code there is, in order."""

from __future__ import annotations

from types import MappingProxyType

from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.codes_catalogue import CATALOGUE_CODES
from fitcheck.diagnostics.codes_ledger import LEDGER_CODES
from fitcheck.diagnostics.codes_reading import READING_CODES
from fitcheck.diagnostics.codes_record import RECORD_CODES

CODES: MappingProxyType[str, Code] = MappingProxyType(
    {code.code: code for code in (*READING_CODES, *RECORD_CODES, *CATALOGUE_CODES, *LEDGER_CODES)}
)
