"""Run one move again and again, each time in a process that dies at the next call to the disk.

Usage: crash_driver.py SHOP FOLDER MOVE. Each turn copies SHOP to FOLDER/<n>, forks, and in the
child dies at the n-th call of those below, as SIGKILL would have it: nothing is cleaned up,
nothing flushed. A write is broken off half way first. Prints the call that each turn died at, in
order; ends with the first turn that lives.
"""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

from fitcheck.catalogue.reader import load
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.shelf.count_list import Counted
from fitcheck.services.shelf.moves import issue, receive
from fitcheck.services.shelf.parts import Part
from fitcheck.services.shelf.stocktake import take_stock
from fitcheck.services.shelf.writing import Note

CALLS = ("open", "write", "fsync", "ftruncate", "replace", "link", "unlink", "close")


def count_all(catalogue: Any) -> None:
    counted = [
        Counted(Part(id_, find_set(catalogue, id_)), quantity, place, "")
        for id_, quantity, place in (("MA-1544", 9, "A"), ("MA-1601", 0, None), ("MA-1605", 7, "B"))
    ]
    take_stock(catalogue, counted, note=Note("the move"))


MOVES: dict[str, Callable[[Any], object]] = {
    "receive": lambda c: receive(c, "1544", 3, cost=Decimal("33.50"), note=Note("the move")),
    "issue": lambda c: issue(c, "1544", 1, note=Note("the move")),
    "new": lambda c: receive(c, "1605", 1, place="shed", note=Note("the move")),
    "count": count_all,
}


class Killer:
    """Lets the process die at its n-th call to the disk."""

    def __init__(self, turn: int) -> None:
        self.left = turn

    def wrapped(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **options: Any) -> Any:
            self.left -= 1
            if self.left == 0:
                if name == "write":
                    real(arguments[0], bytes(arguments[1])[: len(arguments[1]) // 2])
                sys.stdout.write(f"{name}\n")
                sys.stdout.flush()
                os._exit(9)
            return real(*arguments, **options)

        return call


def main() -> None:
    shop, folder, move = Path(sys.argv[1]), Path(sys.argv[2]), MOVES[sys.argv[3]]
    load(shop)  # so that every child has all modules
    for turn in range(1, 200):
        here = folder / str(turn)
        shutil.copytree(shop, here)
        catalogue = load(here)
        child = os.fork()
        if not child:
            killer = Killer(turn)
            for name in CALLS:
                setattr(os, name, killer.wrapped(name, getattr(os, name)))
            move(catalogue)
            os._exit(0)
        _, status = os.waitpid(child, 0)
        if os.waitstatus_to_exitcode(status) == 0:
            return
        if os.waitstatus_to_exitcode(status) != 9:
            sys.exit(f"turn {turn} failed")


if __name__ == "__main__":
    main()
