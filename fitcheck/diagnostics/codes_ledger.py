"""Codes of the shelf's ledger: its lines, its chain, and whether the shelf file agrees."""

from __future__ import annotations

from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.example_files import changed
from fitcheck.diagnostics.examples import BASE

_LEDGER = "shelf.ledger.jsonl"
_SHELF = "shelf.yaml"
_PENDING = ".shelf.pending"

_OPEN = (
    '{"seq": 1, "time": "2026-11-20T09:14:05Z", "action": "open", "part": "MA-1544", '
    '"change": 2, "quantity_after": 2, "place": "drawer B4", '
    '"sum": "69fdce9fbde1dfc9d08c9e53975701ad"}\n'
)
_ISSUE = (
    '{"seq": 2, "time": "2026-11-25T10:02:41Z", "action": "issue", "part": "MA-1544", '
    '"change": -1, "quantity_after": 1, "reason": "job 214", '
    '"sum": "6d111fa3b8e5b6fb0a0d4ff60bab64cd"}\n'
)
_UNKNOWN = (
    '{"seq": 2, "time": "2026-11-25T10:02:41Z", "action": "open", "part": "MA-9", '
    '"change": 1, "quantity_after": 1, "sum": "77d043f16f9e4269f17b36b8c036b314"}\n'
)
_ELSEWHERE = (
    '{"seq": 1, "time": "2026-11-20T09:14:05Z", "action": "open", "part": "MA-1544", '
    '"change": 2, "quantity_after": 2, "place": "drawer B5", '
    '"sum": "265186841ebe564210c9860bab7d3b61"}\n'
)
_BACK = (
    '{"seq": 2, "time": "1999-01-01T00:02:41Z", "action": "issue", "part": "MA-1544", '
    '"change": -1, "quantity_after": 1, "reason": "job 214", '
    '"sum": "0d34c3b0b988d0f37e51129c4b7d4c7f"}\n'
)
_MARK = '{"seq": 2, "shelf": ""}'
_ONE_ISSUED = changed(_SHELF, "quantity: 2", "quantity: 1")
_END = 'ledger: {line: 2, sum: "6d111fa3b8e5b6fb0a0d4ff60bab64cd"}\n'
_WITH_END = {_SHELF: _ONE_ISSUED[_SHELF].replace("records:", f"{_END}records:")}
_SOUND = {_LEDGER: _OPEN}

LEDGER_CODES: tuple[Code, ...] = (
    Code(
        "FC301",
        "ledger-torn-line",
        "warning",
        "The ledger does not end in a whole move: a crash, or a full disk, broke it off.",
        "What is not whole never counted and was told to nobody; the next move takes it off.",
        bad={_LEDGER: _OPEN + _ISSUE[:97]},
        good=_SOUND,
    ),
    Code(
        "FC302",
        "ledger-line-unreadable",
        "error",
        "A line of the ledger is none that fitcheck writes.",
        "A move may be lost in it, so what the ledger adds up to proves nothing.",
        bad={_LEDGER: _OPEN + "sold one to the blue Dunlin\n"},
        good=_SOUND,
    ),
    Code(
        "FC303",
        "ledger-chain-broken",
        "error",
        "A line of the ledger does not follow from the one before: check sum, number or pieces.",
        "Lines were changed, moved or taken out, so what the ledger adds up to proves nothing.",
        bad={
            _LEDGER: _OPEN.replace(
                '"change": 2, "quantity_after": 2', '"change": 3, "quantity_after": 3'
            )
        },
        good=_SOUND,
    ),
    Code(
        "FC304",
        "shelf-unlike-ledger",
        "error",
        "The pieces in the shelf file are not those the ledger adds up to.",
        "One of the two is wrong: the file was edited by hand, or a move went past the ledger.",
        bad={_SHELF: BASE[_SHELF], _LEDGER: _OPEN + _ISSUE},
        good={**_ONE_ISSUED, _LEDGER: _OPEN + _ISSUE},
    ),
    Code(
        "FC305",
        "shelf-details-unlike-ledger",
        "warning",
        "A place, cost or price in the shelf file is not the one in the ledger.",
        "The file was edited by hand; nobody can tell from the ledger when, why and by whom.",
        bad={_SHELF: BASE[_SHELF], _LEDGER: _ELSEWHERE},
        good={_SHELF: BASE[_SHELF], _LEDGER: _OPEN},
    ),
    Code(
        "FC306",
        "unknown-part-in-ledger",
        "error",
        "The ledger holds a part that neither the catalogue nor the shelf file knows.",
        "Pieces lie somewhere that can be neither found nor sold by any record.",
        bad={_LEDGER: _OPEN + _UNKNOWN},
        good=_SOUND,
    ),
    Code(
        "FC307",
        "shelf-move-half-done",
        "warning",
        "A move is in the ledger, but was broken off before the shelf file had it.",
        "The move counts; the next one on this shelf carries it into the file.",
        bad={
            _SHELF: BASE[_SHELF],
            _LEDGER: _OPEN + _ISSUE,
            _PENDING: _MARK,
        },
        good={
            **_ONE_ISSUED,
            _LEDGER: _OPEN + _ISSUE,
            _PENDING: _MARK,
        },
    ),
    Code(
        "FC308",
        "ledger-lines-missing",
        "error",
        "Lines that the ledger had when the shelf file was last written are not there.",
        "The history of those moves is lost; what the ledger adds up to proves nothing of them.",
        bad={**_WITH_END, _LEDGER: _OPEN},
        good={**_WITH_END, _LEDGER: _OPEN + _ISSUE},
    ),
    Code(
        "FC309",
        "ledger-time-wrong",
        "warning",
        "A line of the ledger is dated in the future, or before the line above it.",
        "The clock of a till is or was wrong, so nobody can tell when its moves were made.",
        bad={**_ONE_ISSUED, _LEDGER: _OPEN + _BACK},
        good={**_ONE_ISSUED, _LEDGER: _OPEN + _ISSUE},
    ),
)
"""Codes FC3xx."""
