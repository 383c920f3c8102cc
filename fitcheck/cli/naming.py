"""What is typed for a name: whole, or its beginning; of several the one that is picked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fitcheck.cli.terminal import pick
from fitcheck.errors import clip

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.family import Family


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
