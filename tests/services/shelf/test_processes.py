"""Real programs at one shelf: killed in the middle of it, and several of them at once.

Nothing acknowledged is lost, nothing is done twice, and whatever was broken off is old or new. The
ledger is judged by the auditor in conftest.py, who shares no code with fitcheck.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.rules.checks import check
from fitcheck.services.shelf.moves import receive
from tests.conftest import EXPLORE

ROOT = Path(__file__).parents[3]
TILL = Path(__file__).parent / "till.py"
WRITES, KILLS = (200, 20) if EXPLORE else (20, 3)
WRITERS, MOVES_EACH = (8, 100) if EXPLORE else (2, 6)


def till(shop: Path, name: str, moves: int) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, str(TILL), str(shop), name, str(moves)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        bufsize=0,  # nothing read ahead of the line that is asked for
    )


@pytest.mark.night
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs SIGKILL")
def test_kill_9_at_random_during_many_writes(shop: Path, audit: Any) -> None:
    chance = random.Random(20261125)
    auditor = audit(shop)
    acknowledged: Counter[str] = Counter()
    begun: set[str] = set()
    kills = 0
    while sum(acknowledged.values()) < WRITES or kills < KILLS:
        name = f"till{kills}"
        one = till(shop, name, 1000)
        assert one.stdout is not None
        assert one.stdout.readline() == b"ready\n"
        time.sleep(chance.uniform(0.0, 0.6))
        one.send_signal(signal.SIGKILL)
        out, err = one.communicate()
        assert err == b""
        kills += 1
        numbers = [int(number) for number in out.split()]
        assert numbers == list(range(len(numbers)))
        acknowledged.update(f"{name}/{number}" for number in numbers)
        begun.add(f"{name}/{len(numbers)}")

        # As a crash left it: nothing that check would call an error.
        found = [f for f in check(load(shop)) if f.code >= "FC3"]
        assert {f.code for f in found} <= {"FC301", "FC307"}, found
        receive(load(shop), "MA-1447", 1)
        auditor.agree()
        reasons = auditor.reasons()
        assert all(reasons[each] == 1 for each in acknowledged)
        assert max(reasons.values(), default=1) == 1
        assert set(reasons) - set(acknowledged) <= begun
    assert not [f for f in check(load(shop)) if f.code >= "FC3"]
    held = auditor.agree()
    moved: Counter[str] = Counter()
    for line in auditor.lines():
        moved[line["part"]] += line["change"]
    assert {part: held[part][0] for part in held} == dict(moved)


def test_many_writers_of_many_moves_each(shop: Path, audit: Any) -> None:
    before = {part: held[0] for part, held in audit(shop).shelf().items()}
    tills = [till(shop, f"till{n}", MOVES_EACH) for n in range(WRITERS)]
    for one in tills:
        out, err = one.communicate(timeout=600)
        assert one.returncode == 0, err.decode()
        assert out.split() == [b"ready", *(str(n).encode() for n in range(MOVES_EACH))]

    auditor = audit(shop)
    wanted: Counter[str] = Counter(before)
    parts = ("MA-1544", "MA-1601", "MA-1605")
    for number in range(MOVES_EACH):
        change = 1 + number % 5 if number // 3 % 2 == 0 else -1
        wanted[parts[number % 3]] += WRITERS * change
    assert {part: held[0] for part, held in auditor.agree().items()} == dict(wanted)
    reasons = auditor.reasons()
    assert reasons == Counter(f"till{n}/{m}" for n in range(WRITERS) for m in range(MOVES_EACH))
    assert len(auditor.lines()) == len(before) + WRITERS * MOVES_EACH
    assert not [f for f in check(load(shop)) if f.code >= "FC3"]
