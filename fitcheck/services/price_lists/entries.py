"""Part numbers as cells give them, and the entries of a supplier looked up by them."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from fitcheck.catalogue.nodes import ScalarNode
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Span
from fitcheck.errors import UsageError
from fitcheck.model.fields import is_id
from fitcheck.model.gear_set import GearSet
from fitcheck.services.price_lists.reading import Cell, plain_text

_SHORTENED = re.compile(r"[0-9](?:[.,][0-9]+)?e\+[0-9]{2,}", re.IGNORECASE)
# A slash without spaces may belong to the number where what it parts is short: `12/34`.
_PARTING = re.compile(
    r"[\n;,|]|\s[/+&]\s|(?<=\w{4})/(?=\w{4})|\s?(?:→|[-=]>)\s?"
    r"|\s(?:oder|or|o|ou|bzw\.?|und|and|e|et|y|bis|to|jusqu'a|hasta|ersetzt|replaces|sostituisce|"
    r"remplace|sustituye)\s|(?<=[0-9])\s(?=[^\W\d_]+-?[0-9]{2})"
)
_FORMER = re.compile(
    r"(?P<now>\S*[0-9]\S*)\s*[(\[]\s*(?:alt|old|ex|fr(?:ü|ue)her|vorher|formerly|was|vecchio|prima|"
    r"anc(?:ien)?|avant|antes|antiguo)\b[.:]?\s*(?P<then>\S*[0-9]\S*?)\s*[)\]]",
    re.IGNORECASE,
)


@lru_cache(maxsize=4096)
def number_key(text: str) -> str:
    """A part number for comparing: capitals, composed letters and widths of spaces do not count."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text)
    return " ".join(text.split()).casefold()


@dataclass(frozen=True, slots=True)
class PartNumber:
    """A part number as the cell gives it.

    Attributes:
        text: the number; empty where there is none.
        cell: where it stands.
        doubt: why it may be another one than the supplier wrote, or empty.
        parts: the numbers it may be instead, where it holds several.
        counted: whether a spreadsheet holds it as a number, so that leading zeros and powers of
            ten may be lost.
    """

    text: str
    cell: str
    doubt: str = ""
    counted: bool = False
    parts: tuple[str, ...] = ()


def read_part_number(cell: Cell) -> PartNumber:
    """The part number of a cell, and why it may be another than the supplier wrote."""
    text = " ".join(cell.text.split())
    value = cell.value
    doubt = ""
    counted = isinstance(value, (int, float)) and text == plain_text(value)
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        doubt = "a spreadsheet made a date or time of it"
    elif isinstance(value, bool):
        doubt = "a spreadsheet made yes or no of it"
    elif cell.rounded:
        doubt = "a spreadsheet keeps no more than 15 digits of it"
    elif isinstance(value, float) and not value.is_integer():
        doubt = "a spreadsheet holds it as a number with decimals"
    elif isinstance(value, str) and _SHORTENED.fullmatch(text):
        doubt = "a spreadsheet shortened it to a power of ten"
    parts = _numbers_in(cell.text)
    if parts and not doubt:
        doubt = "it may be several"
    if "?" in text and not doubt:
        doubt = "the list itself doubts it"
    return PartNumber(text, cell.address, doubt, counted, parts=parts)


def _numbers_in(text: str) -> tuple[str, ...]:
    """The part numbers of a cell with several: those written alike, or one and its old one."""
    if text.isalnum():
        return ()
    if named := _FORMER.fullmatch(text.strip()):
        return tuple(each.strip() for each in (named["now"], named["then"]))
    parts = [part for each in _PARTING.split(text) if (part := " ".join(each.split()))]
    shapes = {re.sub(r"[0-9]", "9", re.sub(r"[^\W\d_]", "a", part)) for part in parts}
    if len(parts) < 2 or not all(any(map(str.isdigit, part)) for part in parts):
        return ()
    # `H-905 / H-905A` are written alike but for what stands behind the one.
    begin = min(parts, key=len)
    alike = len(shapes) == 1 and len(parts[0]) > 2
    return (
        tuple(parts)
        if alike or (len(begin) > 2 and all(part.startswith(begin) for part in parts))
        else ()
    )


_NO_ID = re.compile(r"[^A-Za-z0-9._-]+")
_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\u00ad", "-"))
"""Dashes that word processors put for a hyphen."""
_LONGEST = 60
_ENOUGH = 3
"""So many numbers of one length make it the supplier's manner (judgement)."""
_ZEROS = 3
"""So many zeros at the end may have been a power of ten (judgement)."""

_WORDS_ONLY = re.compile(r"[^\W\d_]+(?:[ .]+[^\W\d_]+)*\.?")
_AT_LETTER = re.compile(r"(?<=[a-z])-(?=[0-9])|(?<=[0-9])-(?=[a-z])")
"""A dash between a letter and a digit parts nothing that would not be told apart without it."""


class SupplierEntries:
    """What one supplier has in the catalogue, and the ids that new entries of it take.

    Args:
        catalogue: the catalogue.
        supplier: id of the supplier.
    """

    def __init__(self, catalogue: Catalogue, supplier: str) -> None:
        self.supplier = supplier
        self.entries: dict[str, Entry[GearSet]] = {
            id_: entry
            for id_, entry in catalogue.gear_sets.items()
            if entry.record.supplier == supplier
        }
        self._numbers: dict[str, list[Entry[GearSet]]] = {}
        self._values: dict[Decimal, list[str]] = {}
        # An active entry goes before a retired one that kept its number.
        for entry in sorted(self.entries.values(), key=lambda each: each.record.status):
            number = entry.record.part_number
            for each in dict.fromkeys(map(number_key, (number, *entry.record.aliases))):
                self._numbers.setdefault(each, []).append(entry)
            if (value := _value(number)) is not None and str(value) != number:
                self._values.setdefault(value, []).append(number)
        self._listed: set[str] = set()
        self._digitless: int | None = None
        self._spellings: dict[str, dict[str, str]] = {}
        self._lengths: set[int] = set()
        self._bare: list[int] = []
        for entry in self.entries.values():
            for number in (entry.record.part_number, *entry.record.aliases):
                self._note(number)
        # Where all numbers are of one length, a shorter one has lost its zeros.
        if len(self._bare) >= _ENOUGH and len(set(self._bare)) == 1:
            self._lengths.add(self._bare[0])
        self._taken = {id_.lower() for id_ in (*catalogue.gear_sets, *catalogue.failed["gear-set"])}
        self._refused = dict(_refused(catalogue, supplier))
        self._manner = self._usual_manner(catalogue)
        self._prefix = usual_prefix(catalogue, supplier)

    def find(self, part_number: str) -> Entry[GearSet] | None:
        """The entry of a part number, or of another number for the same part."""
        found = self._numbers.get(number_key(part_number))
        return found[0] if found else None

    def several(self, part_number: str) -> tuple[str, ...]:
        """Ids of all entries that bear a number, where they are not told apart by being retired."""
        found = self._numbers.get(number_key(part_number), [])
        same = [each for each in found if each.record.status == found[0].record.status]
        return tuple(each.id for each in same) if len(same) > 1 else ()

    def refused_at(self, part_number: str) -> Span | None:
        """Where the record of a number stands that was refused, and is no entry for that reason."""
        if not self._refused or self.find(part_number) is not None:
            return None
        found = self._refused.get(number_key(part_number))
        return found or self._refused.get(self.wanted_id(part_number))

    def eaten(self, part_number: str, *, counted: bool) -> tuple[str, ...]:
        """Numbers of the catalogue that a spreadsheet would make this one of: 0012, 12E3.

        Args:
            part_number: the number as the list has it.
            counted: whether the cell holds it as a number; in a text it is one of two where the
                list has the other as well.
        """
        value = _value(part_number)
        if value is None:
            return ()
        return tuple(
            each
            for each in self._values.get(value, ())
            if each != part_number and (counted or number_key(each) not in self._listed)
        )

    def spelled(self, part_number: str) -> tuple[str, ...]:
        """Numbers, of the catalogue or the list, that differ in spaces and dashes only."""
        own = number_key(part_number)
        others = self._spellings.get(_squeeze(part_number), {})
        return tuple(text for key, text in others.items() if key != own)

    def lacks_digits(self, part_number: str) -> bool:
        """Whether a text has no digit, and nearly all numbers of the list have."""
        if not _WORDS_ONLY.fullmatch(part_number) or len(self._listed) < _ENOUGH:
            return False
        if self._digitless is None:
            self._digitless = sum(1 for each in self._listed if not any(map(str.isdigit, each)))
        return self._digitless * 4 <= len(self._listed)

    def shortened(self, part_number: str, *, counted: bool) -> tuple[str, ...]:
        """What a bare number may have been before a spreadsheet took it for one: 0202, 12E3.

        Args:
            part_number: the number as the list has it.
            counted: whether the cell holds it as a number.
        """
        if not (part_number.isascii() and part_number.isdecimal()):
            return ()
        found = []
        if len(self._lengths) == 1 and len(part_number) < (length := next(iter(self._lengths))):
            found.append(part_number.zfill(length))
        bare = part_number.rstrip("0")
        if counted and bare and len(part_number) - len(bare) >= _ZEROS and not self._lengths:
            found.append(f"{bare}E{len(part_number) - len(bare)}")
        return tuple(found)

    def note_numbers(self, numbers: Iterable[str]) -> None:
        """Take in the numbers of a list, so that each can be held against the others."""
        for number in numbers:
            self._note(number, of_list=True)
            self._listed.add(number_key(number))

    def _note(self, number: str, *, of_list: bool = False) -> None:
        self._spellings.setdefault(_squeeze(number), {}).setdefault(number_key(number), number)
        plain = number.isascii() and number.isdecimal()
        if plain and number[0] == "0":
            self._lengths.add(len(number))
        elif plain and not of_list:
            self._bare.append(len(number))

    def new_id(self, part_number: str) -> str:
        """An id for a new entry in the manner of the supplier's others; taken from then on."""
        wanted = self.wanted_id(part_number)
        found = wanted
        count = 2
        while found.lower() in self._taken or not is_id(found):
            found = f"{wanted[: _LONGEST - 6]}-{count}"
            count += 1
        self._taken.add(found.lower())
        return found

    def wanted_id(self, part_number: str) -> str:
        """The id that a part number would have if it were free."""
        plain = _plain(part_number) or "0"
        prefix, head = self._manner
        if head and plain.startswith(head):
            plain = plain[len(head) :].lstrip("-._") or plain
        elif plain.lower().startswith(prefix.lower()):
            prefix = ""
        # Numbers of letters may be ids by themselves; one that begins with a digit is none.
        tried = (f"{each}{plain}"[:_LONGEST] for each in (prefix, self._manner[0], self._prefix))
        return next(filter(is_id, tried))

    def _usual_manner(self, catalogue: Catalogue) -> tuple[str, str]:
        """What stands before the number in most ids, and what of the number they leave out."""
        own = catalogue.suppliers.get(self.supplier)
        if own is not None and own.record.id_prefix is not None:
            return own.record.id_prefix, ""
        counted = Counter(_manners(self.entries.values()))
        if counted:
            return counted.most_common(1)[0][0]
        return usual_prefix(catalogue, self.supplier), ""


def usual_prefix(catalogue: Catalogue, supplier: str) -> str:
    """What ids of a supplier's first entries begin with where nobody says otherwise: `AR-`."""
    taken = _prefixes_of_others(catalogue, supplier)
    return f"{next(each for each in _letters(supplier) if each.lower() not in taken)}-"


def read_prefix(catalogue: Catalogue, supplier: str, text: str) -> str:
    """What somebody wants ids of a supplier's entries to begin with.

    Raises:
        UsageError: it begins no id, or ids of another supplier begin so.
    """
    if not is_id(f"{text}1"):
        raise UsageError(f"{text!r} begins no id; give letters and digits like AR-")
    owner = _prefixes_of_others(catalogue, supplier).get(text.partition("-")[0].lower())
    if owner is not None:
        own = usual_prefix(catalogue, supplier)
        raise UsageError(f"ids of {owner} begin with {text!r}; give another prefix, like {own}")
    return text


def _prefixes_of_others(catalogue: Catalogue, supplier: str) -> dict[str, str]:
    """What ids of other suppliers begin with, folded and without a dash, each to its supplier."""
    heads = [(each.id, each.record.supplier) for each in catalogue.gear_sets.values()]
    heads += [
        (each.record.id_prefix, each.id)
        for each in catalogue.suppliers.values()
        if each.record.id_prefix is not None
    ]
    return {head.partition("-")[0].lower(): id_ for head, id_ in heads if id_ != supplier}


def _refused(catalogue: Catalogue, supplier: str) -> Iterable[tuple[str, Span]]:
    """Ids of refused records, and numbers of those that are the supplier's, each with its place."""
    for id_, span in catalogue.failed["gear-set"].items():
        yield id_, span
        source = catalogue.sources.get(span.path)
        if source is None:
            continue
        own = source.node(("records", id_, "supplier")) or source.node(("defaults", "supplier"))
        number = source.node(("records", id_, "part_number"))
        same = isinstance(own, ScalarNode) and own.text == supplier
        if same and isinstance(number, ScalarNode):
            yield number_key(number.text), span


def _squeeze(number: str) -> str:
    """A number without its spaces, its dashes and letters in their plain forms."""
    if not number.isascii():
        number = unicodedata.normalize("NFKC", number).translate(_DASHES)
    return _AT_LETTER.sub("", "".join(number.split()).casefold())


def _plain(part_number: str) -> str:
    return _NO_ID.sub("-", part_number).strip("-._")


def _manners(entries: Iterable[Entry[GearSet]]) -> Iterable[tuple[str, str]]:
    """Beginning of an id, and beginning of its number: `SA-` and `S-` of SA-102 for S/102."""
    for entry in entries:
        plain = _plain(entry.record.part_number)
        for at in range(len(plain)):
            tail = plain[at:]
            if tail[0].isalnum() and entry.id.endswith(tail):
                yield entry.id[: -len(tail)], plain[:at]
                break


def _letters(supplier: str) -> Iterable[str]:
    words = [word for word in re.split(r"[^A-Za-z]+", supplier) if word] or ["S"]
    if len(words) > 1:
        yield "".join(word[0] for word in words).upper()
    joined = "".join(words)
    for length in range(2, len(joined) + 1):
        yield joined[:length].upper()
    count = 2
    while True:
        yield f"{joined.upper()}{count}"
        count += 1


def _value(number: str) -> Decimal | None:
    """The number a spreadsheet would take a part number for, if it would."""
    if not re.fullmatch(r"[0-9]+(?:[eE]\+?[0-9]{1,2})?", number):
        return None
    try:
        value = Decimal(number)
    except InvalidOperation:
        return None
    return value if value.adjusted() < 60 else None
