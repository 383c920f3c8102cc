"""The ledger's format: what is written, what is read, and every way it can be spoilt.

The judge from outside is the few lines of docs/shelf.md that follow the chain with Python's
hashlib alone, and Python's json; how a SHA-256 comes about is FIPS 180-4.
"""

from __future__ import annotations

import json
import random
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.catalogue.ledger import reading as reading_module
from fitcheck.catalogue.ledger.line import (
    ACTIONS,
    LedgerLine,
    LineError,
    local_time,
    money_text,
    read_line,
)
from fitcheck.catalogue.ledger.reading import Ledger, read_ledger
from fitcheck.catalogue.ledger.state import Held, StateError, differences, rebuild
from fitcheck.errors import UnreadableError
from tests.conftest import EXPLORE, table

ROOT = Path(__file__).parents[2]
TIME = "2026-11-25T14:03:09Z"

OPEN = LedgerLine(1, TIME, "open", "A-1", 3, 3, {"place": "top", "price": Decimal("9.90")}, more=1)
LINES = [
    OPEN,
    LedgerLine(2, TIME, "open", "B-2", 1, 1),
    LedgerLine(3, TIME, "receive", "A-1", 2, 5, {"cost": Decimal("4.125")}, "order 7", "kit"),
    LedgerLine(4, TIME, "issue", "A-1", -4, 1, reason="job “é” \\ 5"),
    LedgerLine(5, TIME, "count", "B-2", 0, 1, {"place": "shed"}),
    LedgerLine(6, TIME, "count", "A-1", 1, 2, {"price": None}, more=1),
    LedgerLine(7, TIME, "close", "B-2", -1, 0),
]


def texts(lines: list[LedgerLine]) -> list[str]:
    found, total = [], ""
    for line in lines:
        text, whole = line.written(total)
        found.append(text)
        total = whole.sum
    return found


def read(tmp_path: Path, data: bytes | list[str]) -> Ledger:
    path = tmp_path / "shelf.ledger.jsonl"
    if isinstance(data, list):
        data = "".join(f"{text}\n" for text in data).encode()
    path.write_bytes(data)
    return read_ledger(path)


def faults(ledger: Ledger) -> list[tuple[str, int]]:
    return [(fault.kind, fault.line) for fault in ledger.faults]


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    ledger = read(tmp_path, texts(LINES))

    assert faults(ledger) == []
    assert [replace(line, sum="") for line in ledger.moves] == LINES
    assert ledger.state == {"A-1": Held(2, "top", Decimal("4.125"), None)}
    assert rebuild(ledger.moves) == ledger.state
    assert (ledger.next_seq, ledger.tail) == (8, ())
    assert ledger.last_sum == json.loads(texts(LINES)[-1])["sum"]


def test_the_chain_is_that_of_the_page(tmp_path: Path) -> None:
    page = (ROOT / "docs" / "shelf.md").read_text("utf-8")
    (code,) = re.findall(r"^```python\n(.*?)^```", page, re.MULTILINE | re.DOTALL)

    def follow(data: list[str]) -> int:
        path = tmp_path / "shelf.ledger.jsonl"
        path.write_text("".join(f"{text}\n" for text in data), encoding="utf-8", newline="\n")
        command = [sys.executable, "-c", code, str(path)]
        return subprocess.run(command, check=False, capture_output=True).returncode

    assert follow(texts(LINES)) == 0
    assert follow([*texts(LINES)[:3], *texts(LINES)[4:]]) == 1
    assert follow([text.replace("order 7", "order 8") for text in texts(LINES)]) == 1


def test_the_page_tells_every_member_and_action() -> None:
    page = (ROOT / "docs" / "shelf.md").read_text("utf-8")
    table = page[page.index("| member | meaning |") :].split("\n\n")[0]
    told = set(re.findall(r"`([a-z_]+)`", table))
    members = {name for text in texts(LINES) for name in json.loads(text)}
    assert members | {"price"} <= told
    assert set(ACTIONS) <= told


def test_money_is_text_with_two_decimals_or_more() -> None:
    amounts = {"5": "5.00", "5.5": "5.50", "1E+3": "1000.00", "0.125": "0.125", "7.100": "7.10"}
    assert {text: money_text(Decimal(text)) for text in amounts} == amounts
    assert json.loads(texts(LINES)[2])["cost"] == "4.125"


@given(
    st.text(st.characters(codec="utf-8"), min_size=1, max_size=40).filter(str.strip),
    st.decimals(0, 1_000_000, allow_nan=False, places=4),
)
def test_any_text_and_money_come_back(text: str, amount: Decimal) -> None:
    line = LedgerLine(1, TIME, "open", "A", 1, 1, {"place": text, "cost": amount}, text, text)
    data, _ = line.written("")
    assert "\n" not in data
    back, holds = read_line(data.encode(), "")
    assert holds
    assert replace(back, sum="") == line


# ---------------------------------------------------------------- one line that is none


def spoilt(**changes: Any) -> str:
    data = json.loads(texts(LINES)[2])
    data |= changes
    total = data.pop("sum")
    kept = {name: value for name, value in data.items() if value != "gone"}
    return json.dumps(kept)[:-1] + f', "sum": "{total}"}}'


@table(
    ("text", "words"),
    [
        ("", "does not end in its check sum"),
        ("{}", "does not end in its check sum"),
        (texts(LINES)[2] + "\r", "does not end in its check sum"),
        (texts(LINES)[2].replace("{", "[", 1), "does not end in its check sum"),
        (texts(LINES)[2].replace('"seq": 3', '"seq": NaN'), "no JSON"),
        (texts(LINES)[2].replace('"seq": 3', '"seq" 3'), "no JSON"),
        (texts(LINES)[2].replace('"seq": 3', '"seq": 3' + "0" * 5000), "no JSON|no whole number"),
        (spoilt(reason="x" * 20_000), "longer than 16,384 bytes"),
        (spoilt(part="gone"), "lacks part"),
        (spoilt(colour="red"), "'colour', which no line has"),
        (spoilt(action="sell"), "no action 'sell'"),
        (spoilt(action=["open"]), "no action"),
        (spoilt(part="no id"), "part is no id"),
        (spoilt(part=5), "part is no id"),
        (spoilt(time="yesterday"), "time is not written as"),
        (spoilt(time="2026-11-25T14:03:09+01:00"), "time is not written as"),
        (spoilt(change=1.0), "change is no whole number"),
        (spoilt(change=True), "change is no whole number"),
        (spoilt(quantity_after=-1), "quantity_after is no whole number from 0"),
        (spoilt(seq="3"), "seq is no whole number from 1"),
        (spoilt(more=0), "more is no whole number from 1"),
        (spoilt(cost=4.125), "cost is no amount in quotes"),
        (spoilt(price="-1.00"), "price is no amount in quotes"),
        (spoilt(price="1e3"), "price is no amount in quotes"),
        (spoilt(place=" "), "place is no text"),
        (spoilt(reason=None), "reason is no text"),
        (spoilt(by=7), "by is no text"),
        ("[" * 8000 + ', "sum": "' + "0" * 32 + '"}', "does not end in its check sum"),
        ('{"a": ' + "[" * 8000 + ', "sum": "' + "0" * 32 + '"}', "no JSON|no plain JSON"),
    ],
)
def test_what_is_no_line_says_why(text: str, words: str) -> None:
    with pytest.raises(LineError, match=words):
        read_line(text.encode(), "")


# ---------------------------------------------------------------- a ledger that is spoilt


def test_a_line_changed_is_found_and_no_other(tmp_path: Path) -> None:
    good = texts(LINES)
    for at in range(len(good)):
        data = list(good)
        data[at] = data[at].replace(TIME, "2026-11-26T14:03:09Z")
        assert faults(read(tmp_path, data)) == [("chain", at + 1)]


def test_a_line_taken_out_is_found_behind_it(tmp_path: Path) -> None:
    good = texts(LINES)
    for at in range(len(good) - 1):
        assert faults(read(tmp_path, good[:at] + good[at + 1 :])) == [("chain", at + 1)]


def test_two_lines_that_change_places_are_found(tmp_path: Path) -> None:
    good = texts(LINES)
    data = [*good[:2], good[3], good[2], *good[4:]]
    found = faults(read(tmp_path, data))
    assert found[0] == ("chain", 3)
    assert {kind for kind, _ in found} == {"chain"}


def test_a_line_twice_is_found(tmp_path: Path) -> None:
    good = texts(LINES)
    assert ("chain", 4) in faults(read(tmp_path, [*good[:3], *good[2:]]))


def test_an_unreadable_line_is_one_fault_and_what_follows_is_read(tmp_path: Path) -> None:
    good = texts(LINES)
    for at in range(len(good)):
        ledger = read(tmp_path, [*good[:at], "scribble", *good[at + 1 :]])
        assert faults(ledger) == [("unreadable", at + 1)]
        assert len(ledger.lines) == len(good) - 1
        assert ledger.broken


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (LedgerLine(8, TIME, "receive", "A-1", 1, 4), "2 and a change of 1 do not make 4"),
        (LedgerLine(8, TIME, "open", "A-1", 1, 3), "opened a second time"),
        (LedgerLine(8, TIME, "issue", "B-2", -1, 0), "do not make 0"),
        (LedgerLine(8, TIME, "issue", "C-3", 0, 0), "issue of a part that the shelf does not"),
        (LedgerLine(8, TIME, "price", "C-3", 0, 0), "price of a part that the shelf does not"),
        (LedgerLine(8, TIME, "receive", "A-1", -1, 1), "receive with a change of -1"),
        (LedgerLine(8, TIME, "issue", "A-1", 1, 3), "issue with a change of 1"),
        (LedgerLine(8, TIME, "place", "A-1", 1, 3), "place with a change of 1"),
        (LedgerLine(8, TIME, "close", "A-1", -1, 1), "close with a change of -1"),
        (LedgerLine(9, TIME, "issue", "A-1", -1, 1), "the line has number 9; 8 should follow"),
    ],
)
def test_a_line_with_a_good_sum_that_does_not_add_up(
    line: LedgerLine, words: str, tmp_path: Path
) -> None:
    ledger = read(tmp_path, texts([*LINES, line]))
    assert faults(ledger) == [("chain", 8)]
    assert words in ledger.faults[0].message
    if "number 9" not in words:
        with pytest.raises(StateError, match=words):
            rebuild([*LINES, line])


def test_a_move_that_another_cuts_short_is_found(tmp_path: Path) -> None:
    lines = [replace(OPEN, more=2), replace(LINES[2], seq=2)]
    ledger = read(tmp_path, texts(lines))
    assert faults(ledger) == [("chain", 2)]
    assert "not the next one of the move before it" in ledger.faults[0].message


def test_every_cut_leaves_a_whole_number_of_moves(tmp_path: Path) -> None:
    """Cut anywhere, the ledger is that of the moves that are whole, and the rest is its tail."""
    data = "".join(f"{text}\n" for text in texts(LINES)).encode()
    ends = [at + 1 for at, byte in enumerate(data) if byte == ord("\n")]
    moves = {0: 0, ends[1]: 2, ends[2]: 3, ends[3]: 4, ends[4]: 5, ends[6]: 7}
    near = {cut for end in (0, *ends) for cut in range(end - 2, end + 3) if 0 <= cut <= len(data)}
    for cut in range(len(data) + 1) if EXPLORE else sorted({*range(0, len(data), 11), *near}):
        ledger = read(tmp_path, data[:cut])
        # A line that lacks nothing but its line break is whole.
        reached = max(end for end in moves if end <= cut or (end == cut + 1 and end))
        assert len(ledger.lines) == moves[reached], cut
        assert ledger.state == rebuild(LINES[: moves[reached]])
        assert not ledger.broken
        assert bool(ledger.tail) == (cut > reached)
        assert ledger.whole == min(reached, cut)
        assert ledger.needs_break == (cut == reached - 1)
        assert [kind for kind, _ in faults(ledger)] == ["torn"] * (cut > reached)


def test_one_byte_changed_anywhere_is_found(tmp_path: Path) -> None:
    data = "".join(f"{text}\n" for text in texts(LINES)).encode()
    chance = random.Random(20261125)
    for at in chance.sample(range(len(data)), 300 if EXPLORE else 80):
        other = chance.choice([byte for byte in b'0aZ ,"}\n\x00\xff' if byte != data[at]])
        ledger = read(tmp_path, data[:at] + bytes([other]) + data[at + 1 :])
        assert ledger.faults, (at, other)


def test_a_ledger_not_there_is_empty(tmp_path: Path) -> None:
    ledger = read_ledger(tmp_path / "shelf.ledger.jsonl")
    assert (ledger.data, ledger.lines, ledger.next_seq, dict(ledger.state)) == (b"", (), 1, {})
    assert faults(read(tmp_path, b"")) == []


def test_a_ledger_that_cannot_be_read_says_so_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "shelf.ledger.jsonl"
    folder.mkdir()
    with pytest.raises(UnreadableError, match="the ledger cannot be read"):
        read_ledger(folder)
    folder.rmdir()
    folder.write_bytes(b"x" * 100)
    monkeypatch.setattr(reading_module, "MAX_LEDGER_BYTES", 99)
    with pytest.raises(UnreadableError, match="move it to a name that begins with _"):
        read_ledger(folder)


def test_differences_name_the_fields() -> None:
    one = Held(2, "top", Decimal(4), None)
    found = differences(
        {"A": one, "B": one, "C": one},
        {"D": one, "A": Held(2, "top", Decimal("4.00"), None), "B": Held(3, None, Decimal(4))},
    )
    assert [(each.part, each.fields) for each in found] == [
        ("D", ("quantity",)),
        ("B", ("quantity", "place")),
        ("C", ("quantity",)),
    ]


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Sets the machine's zone, and puts it back."""

    def put(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield put
    monkeypatch.undo()
    time.tzset()


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system has no time.tzset")
@pytest.mark.parametrize(
    ("name", "utc", "shown", "told"),
    [
        # Zones as POSIX writes them: https://pubs.opengroup.org/onlinepubs/9699919799/, 8.3.
        ("UTC0", "2026-11-25T14:03:09Z", "2026-11-25 14:03:09", "UTC"),
        ("CET-1CEST,M3.5.0,M10.5.0/3", "2026-11-25T14:03:09Z", "2026-11-25 15:03:09", "UTC+01:00"),
        ("CET-1CEST,M3.5.0,M10.5.0/3", "2026-07-25T22:03:09Z", "2026-07-26 00:03:09", "UTC+02:00"),
        ("NST3:30", "2026-11-25T14:03:09Z", "2026-11-25 10:33:09", "UTC-03:30"),
        ("UTC0", "9999-12-31T23:59:59Z", "9999-12-31 23:59:59", "UTC"),
        ("CET-1", "9999-12-31T23:59:59Z", "9999-12-31 23:59:59", "UTC"),
        ("UTC0", "0001-01-01T00:00:00Z", "0001-01-01 00:00:00", "UTC"),
    ],
)
def test_a_time_is_shown_in_the_zone_of_the_machine(
    zone: Callable[[str], None], name: str, utc: str, shown: str, told: str
) -> None:
    zone(name)
    assert local_time(utc) == (shown, told)


@pytest.mark.parametrize("time_", ["2026-02-30T10:00:00Z", "2026-19-01T10:00:00Z"])
def test_a_day_that_no_month_has_is_no_time(time_: str) -> None:
    with pytest.raises(LineError, match="time is not written as"):
        read_line(spoilt(time=time_).encode(), "")
