"""A shop's own catalogue begun: its folder, and the general data that is nobody's invention.

Classes of vehicle are read from the law, with the text named; bands of states of tune are common
practice. Everything else of the demo is invented and never copied.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from itertools import islice
from pathlib import Path
from types import MappingProxyType
from typing import Any

from fitcheck.catalogue import schema
from fitcheck.catalogue.editing import Draft, open_draft
from fitcheck.catalogue.editing.layout import layout_of
from fitcheck.catalogue.locate import FOLDER, demo_folder, holds_catalogue
from fitcheck.catalogue.reader import FIELDS, Catalogue, Entry, load, read_records
from fitcheck.diagnostics.finding import shown_path
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import EditError, UsageError, reason_of
from fitcheck.model.family import Family
from fitcheck.model.kinds import KINDS
from fitcheck.services.upkeep.drafts import demo_words

_MOST_IDS = 500
"""So many ids of a kind are enough for an editor to choose from."""

TUNES, CLASSES, README = "tunes.yaml", "classes.yaml", "README.md"
"""Files beside those of single records."""


def catalogue_folder(home: Path) -> Path:
    """Where the catalogue of a shop's folder is, or will be.

    Raises:
        UsageError: that is the demo, or no folder.
    """
    own = home.name == FOLDER and holds_catalogue(home)
    root = home if own else home / FOLDER
    if root.resolve() == demo_folder().resolve():
        raise UsageError(demo_words(shown_path(root)))
    if (home.exists() and not home.is_dir()) or (root.exists() and not root.is_dir()):
        raise UsageError(f"{shown_path(home)} is no folder; name one, which may be new")
    return root


def read_shop(root: Path) -> Catalogue:
    """The catalogue in a folder, which may be empty or still to be made."""
    if holds_catalogue(root):
        return load(root)
    empty: dict[str, Any] = {field: MappingProxyType({}) for field in FIELDS.values()}
    empty["failed"] = MappingProxyType({kind: MappingProxyType({}) for kind in KINDS})
    return Catalogue(root=root, is_demo=False, **empty)


def own_ids(catalogue: Catalogue) -> dict[str, list[str]]:
    """The first ids of every kind of record, and of the housings, for the schemas of a shop."""
    found = {kind: list(catalogue.entries(kind))[:_MOST_IDS] for kind in KINDS}
    housings = (id_ for entry in catalogue.families.values() for id_ in entry.record.housings)
    return {**found, "housing": list(dict.fromkeys(housings))[:_MOST_IDS]}


def write_shop_schemas(catalogue: Catalogue) -> Path:
    """Write the schemas of catalogue files beside a shop's catalogue, with its own ids.

    They are fitcheck's own files: those that are there are written again.

    Returns:
        Their folder.

    Raises:
        EditError: the disk refuses.
    """
    folder = catalogue.root.parent / "schemas"
    try:
        schema.write_schemas(folder, schema.schemas(own_ids(catalogue)))
    except OSError as error:
        raise EditError(
            f"{shown_path(folder)}: the schemas cannot be written ({reason_of(error)}); name "
            "another folder"
        ) from None
    return folder


_README = """\
# The catalogue{of}

Plain YAML files, kept by hand or by command; fitcheck reads every `.yaml` in this folder.

| to | run |
|---|---|
| add a customer's machine | `fitcheck add machine NAME PAIRS -f FAMILY -w INCHES` |
| add a gear set | `fitcheck add set --supplier SUPPLIER` |
| take a price list in | `fitcheck import LIST --supplier SUPPLIER` |
| change anything | `fitcheck edit NAME field=value` |
| see that all is well | `fitcheck check` |
| ask what fits | `fitcheck match MACHINE` |
"""


def write_readme(root: Path, shop: str) -> str | None:
    """Write what a colleague should know into a catalogue's folder; the file's name.

    Args:
        root: the folder.
        shop: name of the shop; empty where it has none.

    Returns:
        None where the file is there already; it stays as it is.

    Raises:
        EditError: the disk refuses.
    """
    path = root / README
    try:
        root.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as stream:
            stream.write(_README.format(of=f" of {shop}" if shop else ""))
    except FileExistsError:
        return None
    except OSError as error:
        raise EditError(f"{shown_path(path)}: it cannot be written ({reason_of(error)})") from None
    return shown_path(path)


def next_commands(catalogue: Catalogue) -> Iterator[str]:
    """What a shop that has begun does next: commands with its own names and teeth."""
    family = next(iter(catalogue.families.values()), None)
    if family is None:
        yield "fitcheck add family --help"
    else:
        yield f"fitcheck add machine 'NAME' {_counts_of(family)}"
    for supplier in islice(catalogue.suppliers, 1):
        yield f"fitcheck import LIST --supplier {supplier}"
    for machine in islice(catalogue.machines, 1):
        yield f"fitcheck match {machine}"


def _counts_of(family: Entry[Family]) -> str:
    """The counts of a family's first whole factory train, as a command takes them."""
    for train in family.record.factory_trains:
        pairs = family.record.train_pairs(train)
        if pairs is not None:
            return f"{' '.join(map(str, pairs))} -f {family.id} -w {train.wheel_size_in}"
    return f"PAIRS -f {family.id}"


# -------------------------------------------------------------------- general data


def general_tunes(root: Path) -> Draft:
    """The states of tune as counters have them, for a new file."""
    return _copy_of(TUNES, root, None)


def general_classes(root: Path, regions: Collection[str]) -> Draft:
    """The vehicle classes of the law of some regions, each with its source, for a new file."""
    entries, _ = read_records(demo_folder() / CLASSES)
    places = [getattr(entry.record, "place", "") for entry in entries]
    wanted = {
        entry.id
        for entry, place in zip(entries, places, strict=True)
        if _region(place, places) in regions
    }
    return _copy_of(CLASSES, root, wanted)


def known_regions() -> list[str]:
    """The regions whose law the classes are of, in order of the alphabet."""
    entries, _ = read_records(demo_folder() / CLASSES)
    places = [getattr(entry.record, "place", "") for entry in entries]
    return sorted({_region(place, places) for place in places})


def _region(place: str, places: Sequence[str]) -> str:
    """Of a place such as `Utah, United States` the part that most places share."""
    counted = Counter(part for each in places for part in each.split(", "))
    return max(place.split(", "), key=lambda part: counted[part])


def find_regions(text: str) -> list[str]:
    """Regions by name, a beginning of it or its initials, with commas between.

    Raises:
        UsageError: one is not known.
    """
    known = known_regions()
    found = []
    for word in filter(None, (part.strip().lower() for part in text.split(","))):
        named = [
            each
            for each in known
            if each.lower().startswith(word) or word == "".join(re.findall(r"\b\w", each)).lower()
        ]
        if len(named) != 1:
            raise UsageError(f"no law of {word[:40]!r} is on file; there is {or_list(known)}")
        found += named
    return found


def _copy_of(name: str, root: Path, wanted: Collection[str] | None) -> Draft:
    """A file of the demo as the draft of a new one, with some of its records or all."""
    theirs = open_draft(demo_folder() / name)
    text = theirs.text
    if wanted is not None:
        layout = layout_of(theirs.source)
        head, _, _ = layout.head.partition("\nrecords:")
        stretches = [slot.stretch for slot in layout if slot.stretch.id in wanted]
        text = f"{head}\nrecords:\n" + "".join(each.text[: each.cut] for each in stretches)
    return Draft(root / name, text.encode(), None)
