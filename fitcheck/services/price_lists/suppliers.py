"""Whose a list is, by its file, its headings and its part numbers; and a supplier that is new."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from fitcheck.catalogue.editing import Draft, new_file
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import shown_path
from fitcheck.errors import UsageError
from fitcheck.model.fields import is_id
from fitcheck.model.trade import Supplier
from fitcheck.services.price_lists.entries import number_key, read_prefix, usual_prefix
from fitcheck.services.price_lists.headings.columns import JOINT
from fitcheck.services.price_lists.reading import Sheet, SupplierList
from fitcheck.services.price_lists.wording.readings import fold, words_of

_LOOKED_AT = 3000
"""So many rows of a sheet are looked at for part numbers; 60 of them for a header."""
_HEAD = 60
_FEW = 3
"""So many numbers known may be chance."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A supplier that may have sent a list, and what speaks for it.

    Attributes:
        supplier: the supplier.
        numbers: how many part numbers of the list are in its entries.
        of: how many texts with digits stand in that column.
        is_named: whether the name of the file names it.
        is_alike: whether an earlier list of it is named alike but for digits.
        is_headed: whether the list has all the headings that the supplier's file names.
    """

    supplier: Entry[Supplier]
    numbers: int = 0
    of: int = 0
    is_named: bool = False
    is_alike: bool = False
    is_headed: bool = False

    @property
    def is_known_by_numbers(self) -> bool:
        """Whether a third of the numbers or more are this supplier's."""
        return self.numbers >= _FEW and 3 * self.numbers >= self.of

    @property
    def weight(self) -> int:
        """How much speaks for it: a name or many numbers 2, all else 1 each."""
        known = 2 if self.is_known_by_numbers else min(self.numbers, 1)
        return known + 2 * self.is_named + self.is_alike + self.is_headed

    @property
    def words(self) -> str:
        """What speaks for it, such as `14 part numbers, the headings`."""
        said = {
            f"{self.numbers:,} part number{'s' * (self.numbers != 1)}": bool(self.numbers),
            "the file's name": self.is_named,
            "the name of an earlier list": self.is_alike and not self.is_named,
            "the headings": self.is_headed,
        }
        return ", ".join(words for words, holds in said.items() if holds)


def find_candidates(catalogue: Catalogue, supplier_list: SupplierList) -> list[Candidate]:
    """The suppliers that may have sent a list, the likeliest first."""
    owners, lists = _numbers_and_lists(catalogue)
    known = _known_numbers(supplier_list, owners)
    stem = words_of(Path(supplier_list.path).stem)
    heads = [head for sheet in supplier_list.sheets for head in _heads(sheet)]
    found = []
    for entry in catalogue.suppliers.values():
        numbers, of = known.get(entry.id, (0, 0))
        mapping = entry.record.list_mapping
        columns = () if mapping is None else mapping.columns.values()
        wanted = {words_of(part) for heading in columns for part in heading.split(JOINT)}
        candidate = Candidate(
            entry,
            numbers,
            of,
            is_named=any(
                f" {words_of(name)} " in f" {stem} " for name in (entry.id, entry.record.name)
            ),
            is_alike=_without_digits(stem) in lists[entry.id],
            is_headed=len(wanted) > 1 and any(wanted <= head for head in heads),
        )
        if candidate.weight:
            found.append(candidate)
    return sorted(found, key=lambda each: (-each.weight, -each.numbers, each.supplier.id))


def is_sure(candidates: list[Candidate]) -> bool:
    """Whether the first of some candidates is the one: enough speaks for it, and for no other.

    Part numbers alone are not enough: dealers name the numbers of others beside their own.
    """
    if not candidates:
        return False
    best, *others = candidates
    return (best.is_named or best.weight > 2) and not any(
        each.is_named or 4 * each.numbers > best.numbers or each.weight >= best.weight
        for each in others
    )


def _numbers_and_lists(catalogue: Catalogue) -> tuple[dict[str, set[str]], dict[str, set[str]]]:
    """The suppliers of each part number, and the names of each one's lists without digits."""
    owners: dict[str, set[str]] = defaultdict(set)
    lists: dict[str, set[str]] = defaultdict(set)
    for entry in catalogue.gear_sets.values():
        record = entry.record
        for number in (record.part_number, *record.aliases):
            owners[number_key(number)].add(record.supplier)
        if record.source.list and (
            name := _without_digits(words_of(Path(record.source.list).stem))
        ):
            lists[record.supplier].add(name)
    return owners, lists


def _without_digits(words: str) -> str:
    return " ".join(re.sub(r"[0-9]+", " ", words).split())


def _known_numbers(
    supplier_list: SupplierList, owners: Mapping[str, set[str]]
) -> dict[str, tuple[int, int]]:
    """Supplier to how many of its numbers one column has, and how many that column has in all."""
    best: dict[str, tuple[int, int]] = {}
    for sheet in supplier_list.sheets:
        columns: dict[int, set[str]] = defaultdict(set)
        for row in range(1, min(sheet.row_count, _LOOKED_AT) + 1):
            for at, cell in enumerate(sheet.row(row)):
                if not cell.blank:
                    columns[at].add(number_key(cell.text))
        for texts in columns.values():
            counted = Counter(id_ for text in texts for id_ in owners.get(text, ()))
            of = sum(any(map(str.isdigit, text)) for text in texts)
            for id_, count in counted.items():
                best[id_] = max(best.get(id_, (0, 0)), (count, of))
    return best


def _heads(sheet: Sheet) -> Iterator[set[str]]:
    """The words in each of the first rows of a sheet."""
    for row in sheet.values[:_HEAD]:
        words = {words_of(value) for value in row if isinstance(value, str)}
        if len(words) > 1:
            yield words


# -------------------------------------------------------------------- a new supplier


def id_of_name(name: str) -> str:
    """The id that a new supplier takes from its name; empty where it has no letter a to z."""
    return "-".join(re.findall(r"[a-z0-9]+", fold(name)))


def usual_currency(catalogue: Catalogue) -> str:
    """The currency most suppliers have."""
    counted = Counter(entry.record.currency for entry in catalogue.suppliers.values())
    return counted.most_common(1)[0][0] if counted else "EUR"


def add_supplier(
    catalogue: Catalogue, name: str, *, currency: str, id_prefix: str | None = None
) -> tuple[Catalogue, Draft]:
    """A catalogue with one supplier more, and the draft of its file; nothing is written.

    Args:
        catalogue: the catalogue.
        name: the supplier's.
        currency: ISO 4217 code of its prices.
        id_prefix: what ids of its entries begin with; None: letters of its name.

    Raises:
        UsageError: there is one of that name, the name makes no id, ids cannot begin so, or there
            is no place for the file.
    """
    id_, name = id_of_name(name), " ".join(name.split())
    if not is_id(id_):
        raise UsageError(f"{name!r} makes no id; give a name with letters a to z")
    if id_ in catalogue.suppliers or id_ in catalogue.failed["supplier"]:
        raise UsageError(f"there is a supplier {id_} already; say --supplier {id_}")
    if not catalogue.root.is_dir():
        raise UsageError(
            f"{shown_path(catalogue.root)} is one file; name the folder of the catalogue with "
            "--catalog"
        )
    if id_prefix is not None:
        read_prefix(catalogue, id_, id_prefix)
    fields = {"name": name, "currency": currency}
    if id_prefix is not None and id_prefix != usual_prefix(catalogue, id_):
        fields["id_prefix"] = id_prefix
    draft = new_file(catalogue.root / "suppliers" / f"{id_}.yaml", "supplier")
    draft.add_record(id_, fields)
    entry = Entry("supplier", id_, Supplier.model_validate(fields), draft.source)
    suppliers = MappingProxyType({**catalogue.suppliers, id_: entry})
    return replace(catalogue, suppliers=suppliers), draft
