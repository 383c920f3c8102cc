"""Retired sets, what takes their place, and the shop's stock of them."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.catalogue.reader import Catalogue
from fitcheck.diagnostics.finding import Finding
from fitcheck.diagnostics.suggest import or_list
from fitcheck.rules.checks.place import at, beside

_SHOWN = 8
"""So many sets of a circle are named; a longer line would not be read."""


def retired_sets(catalogue: Catalogue) -> Iterator[Finding]:
    """A retired set without a successor leaves the counter without an answer."""
    for entry in catalogue.gear_sets.values():
        if entry.record.status == "retired" and entry.record.successor is None:
            yield at(
                entry,
                "FC271",
                ("status",),
                "retired, and no successor is named",
                advice="name the set that takes its place under successor, if there is one",
            )


def successor_cycles(catalogue: Catalogue) -> Iterator[Finding]:
    """Successors that lead back to where they began."""
    sets = catalogue.gear_sets
    position = {id_: index for index, id_ in enumerate(sets)}
    done: set[str] = set()
    for start in sets:
        chain: list[str] = []
        seen: set[str] = set()
        here: str | None = start
        while here is not None and here in sets and here not in done and here not in seen:
            chain.append(here)
            seen.add(here)
            here = sets[here].record.successor
        done |= seen
        if here is None or here not in seen:
            continue
        cycle = chain[chain.index(here) :]
        first = min(cycle, key=position.__getitem__)
        turned = cycle[cycle.index(first) :] + cycle[: cycle.index(first)]
        message = (
            "names itself as its successor"
            if len(turned) == 1
            else f"the successors go in a circle: {' → '.join(_in_short(turned))} → {first}"
        )
        yield at(
            sets[first],
            "FC272",
            ("successor",),
            message,
            advice="let the chain end at the set sold now",
            related=(
                beside(sets[each], "successor", label=f"successor of {each}")
                for each in turned[1:_SHOWN]
            ),
        )


def _in_short(ids: list[str]) -> list[str]:
    left_out = len(ids) - _SHOWN
    return ids if left_out <= 0 else [*ids[:_SHOWN], f"{left_out} more"]


def successors_unlike(catalogue: Catalogue) -> Iterator[Finding]:
    """A successor for another stage, or for other families, takes nobody's place."""
    for entry in catalogue.gear_sets.values():
        record = entry.record
        successor = catalogue.gear_sets.get(record.successor or "")
        if successor is None or successor.id == entry.id:
            continue
        lost = [stage for stage in record.stages if stage not in successor.record.pairs]
        families = {claim.family for claim in record.fits}
        others = {claim.family for claim in successor.record.fits}
        if lost:
            message = (
                f"the successor {successor.id} holds {' and '.join(successor.record.stages)}, and "
                f"{entry.id} holds {' and '.join(record.stages)}"
            )
        elif families and others and not families & others:
            message = (
                f"the successor {successor.id} is for {or_list(sorted(others))}, and {entry.id} "
                f"for {or_list(sorted(families))}"
            )
        else:
            continue
        yield at(
            entry,
            "FC274",
            ("successor",),
            message,
            advice="name the set that takes its place, or take the successor out",
            related=(beside(successor, "pairs" if lost else "fits", label="the successor"),),
        )


def shelf_stock(catalogue: Catalogue) -> Iterator[Finding]:
    """Stock of a retired set is never offered by matching."""
    for entry in catalogue.shelf.values():
        gear_set = catalogue.gear_sets.get(entry.id)
        if gear_set is None or gear_set.record.status != "retired" or not entry.record.quantity:
            continue
        yield at(
            entry,
            "FC273",
            ("quantity",),
            f"{entry.record.quantity} of {entry.id} on the shelf, but the set is retired and "
            "never matched",
            advice="set it active until the last is sold, or write the stock off",
            related=(beside(gear_set, "status", label="retired here"),),
        )
