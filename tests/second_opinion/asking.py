"""What fitcheck and the second matcher are asked alike: machines, tyres and requests, by chance.

fitcheck answers through its command line, in this process, as JSON: what a shop's own script reads.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fitcheck.cli import main
from tests.second_opinion.cases import RULED_OUT
from tests.second_opinion.matcher import Asked, Row
from tests.second_opinion.reading import Record, Records, stages_of
from tests.second_opinion.tyres import present, tyre_ratio
from tests.second_opinion.works import TYRES

Answered = dict[str, Any]


class RefusedError(Exception):
    """fitcheck gave no answer."""


def ask(*words: str) -> Answered:
    """What one command prints, as an object."""
    out, err, code = io.StringIO(), io.StringIO(), 0
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main([*words, "--format", "json"])
        except SystemExit as leaving:
            code = int(leaving.code or 0)
    if code not in (0, 3):
        raise RefusedError(f"exit {code}: {err.getvalue()}")
    return {"exit": code, **json.loads(out.getvalue())}


def near_decimal(value: Fraction) -> Fraction:
    """The value itself where a decimal says it, else one a little beside it."""
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    return value if rest == 1 else Fraction(round(value * 1000), 1000)


def show_edges(edges: tuple[Fraction | None, Fraction | None]) -> str:
    """A window as --percent takes it."""
    return "..".join(
        "" if edge is None else format(Decimal(edge.numerator) / Decimal(edge.denominator), "f")
        for edge in edges
    )


class Asking:
    """Random questions about one world."""

    def __init__(self, seed: int, records: Records) -> None:
        self.random = random.Random(-seed - 1)
        self.records = records

    def may(self, chance: float) -> bool:
        """Whether something happens that has this chance."""
        return self.random.random() < chance

    def machine(self, name: str, machine: Record) -> tuple[list[str], Record]:
        """A machine by its record, or by its counts alone; its words, and what they tell."""
        if self.may(0.7):
            return [name], machine
        stages = stages_of(self.records["family"][machine["family"]])
        words = ["--family", machine["family"], "--teeth"]
        words.append(",".join(machine["pairs"][stage] for stage in stages))
        told = {"family": machine["family"], "pairs": machine["pairs"]}
        for option, field in (("housing", "housing"), ("wheel", "wheel_size_in"), ("tune", "tune")):
            if field in machine:
                words += [f"--{option}", machine[field]]
                told[field] = machine[field]
        return words, told

    def tyre(self, machine: Record) -> tuple[list[str], Fraction]:
        """Another tyre, or none; its words, and roll-out after over before."""
        chance = self.random.random()
        tyres = [*TYRES, *self.records["tyre"]]
        if chance < 0.08:
            before, after = self.random.choice(((1300, 1365), (1310, 1254.5), (1300, 1300)))
            words = ["--roll-out", str(before), "--new-roll-out", str(after)]
            return words, Fraction(after) / Fraction(before)
        if chance < 0.16:
            before, after = self.random.sample(tyres, 2)
            ratio = tyre_ratio(self.records, {"tyre": before}, after)
            return ["--tyre", before, "--new-tyre", after], ratio
        now = present(self.records, machine)
        if chance < 0.3 and now:
            after = self.random.choice(tyres)
            return ["--new-tyre", after], tyre_ratio(self.records, machine, after)
        if chance < 0.4 and now:
            return ["--new-roll-out", "1333"], Fraction(1333) / now
        return [], Fraction(1)

    def request(self, rows: list[Row]) -> tuple[Asked, list[str]]:
        """A random request, and its words."""
        given: dict[str, Any] = {}
        words: list[str] = []
        chance = self.random.random()
        if chance < 0.45:
            edges = self.window(rows)
            given["percent"] = edges
            words += ["--percent", show_edges(edges)]
        elif chance < 0.8:
            given["band"] = self.random.choice(("in", "stretch", "any"))
            words += ["--band", given["band"]]
        if self.may(0.25):
            suppliers = sorted(self.records["supplier"])
            chosen = self.random.sample(suppliers, min(len(suppliers), self.random.choice((1, 2))))
            given["suppliers"] = frozenset(chosen)
            words += [word for name in chosen for word in ("--supplier", name)]
        if self.may(0.25):
            prices = [row.price for row in rows if row.price is not None] or [Decimal(100)]
            off = self.random.choice((Decimal(0), Decimal("0.01")))
            given["max_price"] = max(Decimal(0), self.random.choice(prices) - off)
            words += ["--max-price", str(given["max_price"])]
        if self.may(0.25):
            given["max_sets"] = self.random.choice((1, 2))
            words += ["--max-sets", str(given["max_sets"])]
        for option in ("in_stock", "orderable", "taller_only", "proven_only"):
            if self.may(0.2):
                given[option] = True
                words.append("--" + option.replace("_", "-"))
        if self.may(0.3):
            given["top"] = self.random.choice((1, 3, 10))
            words += ["--top", str(given["top"])]
        return Asked(**given), words

    def window(self, rows: list[Row]) -> tuple[Fraction | None, Fraction | None]:
        """Edges that lie on rows where a decimal can, else beside them."""
        low, high = sorted(near_decimal(change) for change in self.two_changes(rows))
        windows = ((low, high), (low, None), (None, high), (Fraction(0), abs(high)))
        return self.random.choice(windows)

    def two_changes(self, rows: list[Row]) -> list[Fraction]:
        """The changes of two rows."""
        changes = [row.change for row in rows if row.verdict != RULED_OUT] or [Fraction(0)]
        return [self.random.choice(changes), self.random.choice(changes)]
