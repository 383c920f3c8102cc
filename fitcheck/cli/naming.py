"""What is typed for a name: whole, or its beginning; of several the one that is picked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from fitcheck.errors import UsageError, clip

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.family import Family

_KEYS = "123456789"


def whole_name(catalogue: Catalogue, kind: str, word: str) -> str:
    """The id that a typed word begins; the word itself where it is whole, or begins nothing.

    Raises:
        UsageError: it begins several, and nobody picks one.
    """
    from fitcheck.services.counter.lookup import begun_by

    begun = begun_by(catalogue, kind, word)
    shown = [f"{id_}{_name_of(catalogue, kind, id_)}" for id_ in begun]
    return _one_of(word, begun, shown)


def whole_housing(family: Entry[Family], word: str) -> str:
    """The same for a housing of a family."""
    from fitcheck.services.counter.lookup import begun_housings, find_housing

    return find_housing(family, _one_of(word, begun_housings(family, word)))


def _name_of(catalogue: Catalogue, kind: str, id_: str) -> str:
    entry = catalogue.entries(kind).get(id_)
    name = None if entry is None else getattr(entry.record, "name", None)
    return "" if name in (None, id_) else f": {name}"


def _one_of(word: str, begun: Sequence[str], shown: Sequence[str] = ()) -> str:
    from fitcheck.diagnostics.suggest import or_list

    if len(begun) < 2:
        return begun[0] if begun else word
    several = f"{clip(word, 60)!r} may be {or_list(begun)}; name one of them"
    return begun[pick(f"{clip(word, 60)!r} may be", shown or begun, several)]


def pick(head: str, shown: Sequence[str], several: str) -> int:
    """Position of the one that somebody picks by one key, on a terminal.

    Args:
        head: what is asked.
        shown: a line for each; past nine the rest are counted.
        several: the refusal, where nobody is there to pick, or picks none.

    Raises:
        UsageError: with that refusal.
    """
    from fitcheck.cli.list_dialogue import read_key
    from fitcheck.cli.upkeep import on_a_terminal
    from fitcheck.screens.findings.wording import one_line

    if not on_a_terminal():
        raise UsageError(several)
    click.echo(f"{one_line(head)}:")
    for key, line in zip(_KEYS, shown, strict=False):
        click.echo(f"  {key}  {one_line(line)}")
    if len(shown) > len(_KEYS):
        click.echo(f"     and {len(shown) - len(_KEYS)} more: type more of the name")
    keys = _KEYS[: len(shown)]
    key = read_key(f"1 to {keys[-1]}, any other key stops> ")
    if not key or key not in keys:
        raise UsageError(several)
    return keys.index(key)
