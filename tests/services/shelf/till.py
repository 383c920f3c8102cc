"""A till: a program of its own that moves parts until it is told to stop, or killed.

Usage: till.py SHOP NAME MOVES. Moves number 0, 1, 2 ... of the till NAME alternate between goods in
and goods out; the reason of each names it. A move that is acknowledged is printed, after it, with
one write.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from fitcheck.catalogue.reader import load
from fitcheck.services.shelf.moves import issue, receive
from fitcheck.services.shelf.writing import Note

PARTS = ("MA-1544", "MA-1601", "MA-1605")


def main() -> None:
    shop, name, moves = Path(sys.argv[1]), sys.argv[2], range(int(sys.argv[3]))
    catalogue = load(shop)
    os.write(1, b"ready\n")
    for number in moves:
        part = PARTS[number % len(PARTS)]
        note = Note(f"{name}/{number}")
        # Goods in come before goods out of the same part, so that nothing is ever refused.
        if number // len(PARTS) % 2 == 0:
            receive(catalogue, part, 1 + number % 5, note=note)
        else:
            issue(catalogue, part, 1, note=note)
        os.write(1, f"{number}\n".encode())


if __name__ == "__main__":
    main()
