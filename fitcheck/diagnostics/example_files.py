"""Short ways to write the example files of codes that look at a whole catalogue."""

from __future__ import annotations

from textwrap import dedent, indent

from fitcheck.diagnostics.examples import BASE, SETS

FAMILY = "families/dunlin.yaml"
MACHINE = "machines/counter.yaml"


def changed(name: str, old: str, new: str) -> dict[str, str]:
    """A file of the base example with one stretch of text put in place of another."""
    text = BASE[name]
    if text.count(old) != 1:
        raise ValueError(f"{old!r} stands {text.count(old)} times in {name}")
    return {name: text.replace(old, new)}


def of_kind(kind: str, name: str, records: str, defaults: str = "") -> dict[str, str]:
    """One further file of records of a kind; `records` may be indented as its code is."""
    head = f"kind: {kind}\n" + (f"defaults: {defaults}\n" if defaults else "")
    return {name: f"{head}records:\n{indent(dedent(records).strip(chr(10)), '  ')}\n"}


def gear_sets(records: str, defaults: str = "{supplier: marram}") -> dict[str, str]:
    """A further file of gear sets."""
    return of_kind("gear-set", SETS, records, defaults)


def families(records: str) -> dict[str, str]:
    """A further file of engine families."""
    return of_kind("family", "families/more.yaml", records)


def machines(records: str) -> dict[str, str]:
    """A further file of machines."""
    return of_kind("machine", "machines/more.yaml", records)
