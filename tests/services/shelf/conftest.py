"""A small shop to move parts in, and an auditor who shares no code with fitcheck.

The auditor follows docs/shelf.md with Python's json and hashlib, and reads the shelf file with
PyYAML: what the lines of the ledger add up to must be what the file says.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml

from fitcheck.catalogue.editing import saving
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.diagnostics.examples import BASE, lay_out

SETS = """\
kind: gear-set
defaults: {supplier: marram, source: {list: Marram spring list, date: 2026-03-01}}
records:
  MA-1601: {part_number: "1601", aliases: ["SEA 16"], pairs: {primary: 16/44}, price: 59.90}
  MA-1602:
    part_number: "1602"
    pairs: {primary: 16/43}
    currency: CHF
    price: 61.00
  MA-1603: {part_number: "1603", pairs: {primary: 16/42}, status: retired, successor: MA-1604}
  MA-1604: {part_number: "1604", pairs: {primary: 16/41}, status: retired, successor: MA-1605}
  MA-1605: {part_number: "1605", pairs: {primary: 16/40}}
"""

SHELF = """\
# What lies on the shelf.

kind: shelf
records:

  # by the door
  MA-1544:
    quantity: 2     # counted twice
    place: "drawer B4"
    price: 69.90
  MA-1601: {quantity: 5, place: drawer B5, cost: 41.50, price: 64}   # near the till

  # at the back
  MA-1602: {quantity: 1, cost: 38.125}
"""

FILES = {**BASE, "sets/more.yaml": SETS, "shelf.yaml": SHELF}

Held = tuple[int, str | None, Decimal | None, Decimal | None]


MEMORY = Path("/dev/shm")
"""A folder in memory, where the system has one."""


@pytest.fixture
def tmp_path(tmp_path: Path) -> Iterator[Path]:
    """A scratch folder, in memory where there is one.

    A move waits for the disk six times. What a dying process leaves is the same in memory: what it
    wrote stays with the system, fsync or not; and where the disk refuses, the tests do it.
    """
    if not os.access(MEMORY, os.W_OK) or shutil.disk_usage(MEMORY).free < 32 * 1024**2:
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(prefix="fitcheck-", dir=MEMORY) as folder:
        yield Path(folder)


@pytest.fixture
def alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody else asks for the lock, so nobody stands back for others between two moves."""
    monkeypatch.setattr(saving, "STAND_BACK_SECONDS", 0.0)


@pytest.fixture
def files() -> dict[str, str]:
    """The files of the shop, by name."""
    return dict(FILES)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The folder of a catalogue whose shelf has no ledger yet."""
    lay_out(tmp_path, FILES)
    return tmp_path


@pytest.fixture
def catalogue(shop: Path) -> Catalogue:
    """The same, read."""
    return load(shop)


class Auditor:
    """What the files of a folder say, by json, hashlib and PyYAML alone."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def lines(self) -> list[dict[str, Any]]:
        """Every line of the ledger; its chain, its numbers and its moves must hold."""
        path = self.folder / "shelf.ledger.jsonl"
        if not path.exists():
            return []
        data = path.read_bytes()
        assert data.endswith(b"\n")
        found, before, waiting = [], b"", 0
        for number, row in enumerate(data[:-1].split(b"\n"), start=1):
            body, mark, end = row.rpartition(b', "sum": ')
            own = hashlib.sha256(before + body).hexdigest()[:32].encode()
            assert mark
            assert end == b'"' + own + b'"}'
            line = json.loads(row)
            assert line["seq"] == number
            assert not waiting or line.get("more", 0) == waiting - 1
            waiting, before = line.get("more", 0), own
            found.append(line)
        assert not waiting
        return found

    def ledger(self) -> dict[str, Held]:
        """What the lines add up to."""
        state: dict[str, dict[str, Any]] = {}
        for line in self.lines():
            held = state.setdefault(line["part"], {"quantity": 0})
            held["quantity"] += line["change"]
            assert held["quantity"] == line["quantity_after"] >= 0
            held.update({n: line[n] for n in ("place", "cost", "price") if n in line})
            if line["action"] == "close":
                del state[line["part"]]
        return {part: _held(held) for part, held in state.items()}

    def shelf(self) -> dict[str, Held]:
        """What the shelf file says."""
        path = self.folder / "shelf.yaml"
        if not path.exists():
            return {}
        data = yaml.load(path.read_text(encoding="utf-8"), yaml.CBaseLoader)
        return {part: _held(record) for part, record in data["records"].items()}

    def agree(self) -> dict[str, Held]:
        """What both say; they must say the same, with nothing left beside them."""
        assert self.ledger() == self.shelf()
        names = {path.name for path in self.folder.iterdir() if path.name.startswith(".")}
        assert names <= {".fitcheck.lock"}
        return self.shelf()

    def reasons(self) -> Counter[str]:
        """How often each reason stands in the ledger."""
        return Counter(line["reason"] for line in self.lines() if "reason" in line)


def _held(record: dict[str, Any]) -> Held:
    def money(name: str) -> Decimal | None:
        return None if record.get(name) is None else Decimal(record[name])

    return int(record["quantity"]), record.get("place"), money("cost"), money("price")


@pytest.fixture
def audit() -> Callable[[Path], Auditor]:
    """The auditor of a folder."""
    return Auditor


@pytest.fixture
def auditor(shop: Path) -> Auditor:
    """The auditor of the shop."""
    return Auditor(shop)
