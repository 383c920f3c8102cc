"""The shelf's ledger: an append-only file of moves beside the shelf file, and what it adds up to.

One JSON object a line; docs/shelf.md describes the format.
"""

from __future__ import annotations

from fitcheck.catalogue.ledger.end import (
    LedgerEnd,
    end_of,
    end_span,
    find_set_aside,
    missing_from,
)
from fitcheck.catalogue.ledger.line import (
    ACTIONS,
    SLACK,
    Action,
    LedgerLine,
    LineError,
    is_behind,
    local_time,
    local_words,
    read_line,
    utc_now,
)
from fitcheck.catalogue.ledger.pair import (
    LEDGER_SUFFIX,
    Mark,
    ShelfPair,
    digest,
    ledger_path,
    pending_path,
    read_mark,
    read_pair,
    read_settled,
)
from fitcheck.catalogue.ledger.reading import Fault, Ledger, read_ledger
from fitcheck.catalogue.ledger.state import (
    Difference,
    Held,
    StateError,
    after,
    differences,
    held_of,
    rebuild,
)

__all__ = [
    "ACTIONS",
    "LEDGER_SUFFIX",
    "SLACK",
    "Action",
    "Difference",
    "Fault",
    "Held",
    "Ledger",
    "LedgerEnd",
    "LedgerLine",
    "LineError",
    "Mark",
    "ShelfPair",
    "StateError",
    "after",
    "differences",
    "digest",
    "end_of",
    "end_span",
    "find_set_aside",
    "held_of",
    "is_behind",
    "ledger_path",
    "local_time",
    "local_words",
    "missing_from",
    "pending_path",
    "read_ledger",
    "read_line",
    "read_mark",
    "read_pair",
    "read_settled",
    "rebuild",
    "utc_now",
]
