"""Names that stand for two records: nobody can tell which is meant."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.model.family import Family
from fitcheck.rules.checks.place import at, beside
from fitcheck.rules.setting import plain_word

_Use = tuple[str, Entry[Any], DocumentPath, str, bool]
"""Whose name it is, the record, where under it, the words, and whether they are a key."""


def ambiguous_names(catalogue: Catalogue) -> Iterator[Finding]:
    """Words shared by two families, two housings of a family, two tunes or two suppliers."""
    families = [use for entry in catalogue.families.values() for use in _family_words(entry)]
    yield from _shared("engine families", families)
    for entry in catalogue.families.values():
        yield from _shared(f"housings of {entry.id}", _housing_words(entry))
    for plural, records in (("tunes", catalogue.tunes), ("suppliers", catalogue.suppliers)):
        words: list[_Use] = []
        for named in records.values():
            words.append((named.id, named, (), named.id, True))
            words.append((named.id, named, ("name",), named.record.name, False))
        yield from _shared(plural, words)


def _family_words(entry: Entry[Family]) -> Iterator[_Use]:
    record = entry.record
    yield entry.id, entry, (), entry.id, True
    yield entry.id, entry, ("name",), record.name, False
    for index, alias in enumerate(record.aliases):
        yield entry.id, entry, ("aliases", index), alias, False
    for train, given in enumerate(record.factory_trains):
        for index, model in enumerate(given.models):
            yield entry.id, entry, ("factory_trains", train, "models", index), model, False


def _housing_words(entry: Entry[Family]) -> Iterator[_Use]:
    for id_, housing in entry.record.housings.items():
        yield id_, entry, ("housings", id_), id_, True
        yield id_, entry, ("housings", id_, "name"), housing.name, False
        for index, alias in enumerate(housing.aliases):
            yield id_, entry, ("housings", id_, "aliases", index), alias, False


def _shared(plural: str, uses: Iterable[_Use]) -> Iterator[Finding]:
    first: dict[str, _Use] = {}
    told: set[tuple[str, str]] = set()
    for use in uses:
        owner, entry, steps, words, is_key = use
        plain = plain_word(words)
        earlier = first.setdefault(plain, use)
        if earlier[0] == owner or not plain or (plain, owner) in told:
            continue
        told.add((plain, owner))
        yield at(
            entry,
            "FC211",
            steps,
            f"“{words}” stands for two {plural}, {earlier[0]} and {owner}",
            key=is_key,
            advice="keep it on one of them, or make the words differ",
            related=(beside(earlier[1], *earlier[2], label="first used here", key=earlier[4]),),
        )
