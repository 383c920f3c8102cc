"""For how many pieces a list's prices are, and in which currency, where its header says so."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace

from fitcheck.services.price_lists.headings.columns import (
    CURRENCIES,
    PACK_WORDS,
    PACKS,
    PRICE_UNITS,
    SINGLE_UNITS,
)
from fitcheck.services.price_lists.reading.cells import Cell, Sheet
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.amounts import PLAIN_SIGN, currencies_of
from fitcheck.services.price_lists.wording.readings import fold, words_of

_PER = re.compile(
    r"(?:(?<![a-z])(?:per|pro|je|par|por|lot de|a|for|x|zu)|(?<![0-9])(?<![0-9] )/)\s?"
    r"(?P<pieces>(?!(?:19|20)[0-9]{2})[1-9][0-9]{0,3})(?![0-9.,%/+])"
)
_CURRENCY_SHOWN = re.compile(r"\[\$[^\]-]|[€£$](?!\[)")
_SHOWN = re.compile(r"\[\$([^\]-]+)|([€£])")
_BASIS = re.compile(
    r"(?<![a-z])(?:ct|cts|cents?|centesimi|centimes|centimos|rappen|pence|tsd|tausend|miles|"
    r"migliaia|milliers)(?![a-z])|(?:/ ?|(?<![a-z])(?:per|pro|je|al|a|par|por|le|the) )"
    r"(?:kg|kilo|100 ?g|m|meter|metro|metre|box|pack|packung|vpe|ve|conf|confezione|karton|"
    r"boite|caja|dozen|dutzend|dozzina|douzaine|docena|cento|cent|ciento|hundert)(?![a-z])"
)
_COUNT = re.compile(r"(?P<pieces>[0-9]{1,4})(?:[.,]0+)?(?:\s?[a-z]{1,6}\.?)?")


@dataclass(frozen=True, slots=True)
class PriceTerms:
    """What a column of prices is of.

    Attributes:
        pieces: for how many pieces its heading says the prices are.
        currency: the sign or code its heading names; empty for none or several.
        basis: what else than one piece, or than whole money, its heading says the prices are of.
        unit_column: number of the column that says for how many pieces each price is; 0: none.
        currency_column: number of the column that names the currency of each price; 0: none.
    """

    pieces: int = 1
    currency: str = ""
    basis: str = ""
    unit_column: int = 0
    currency_column: int = 0

    def headed(self, heading: str) -> PriceTerms:
        """The terms where the column of prices is headed otherwise."""
        folded = fold(heading)
        per = _PER.search(folded)
        signs = {currencies_of(sign): sign for sign in PLAIN_SIGN.findall(folded)}
        basis = _BASIS.search(folded)
        return replace(
            self,
            basis=basis.group().strip() if basis else "",
            pieces=int(per["pieces"]) if per else 1,
            currency=next(iter(signs.values())) if len(signs) == 1 else "",
        )

    def of(self, sheet: Sheet, row: int, cell: Cell, stated: str = "") -> Cell:
        """A cell of prices with its terms: `99,80 per 2`, or its currency as a number format.

        Args:
            sheet: the sheet.
            row: the row.
            cell: the cell of prices.
            stated: the currency that a line outside the articles states; several with spaces
                between. What the header or the cell itself names goes before it.
        """
        said = sheet.cell(row, self.currency_column).text.strip() if self.currency_column else ""
        currency = said if currencies_of(said) else self.currency
        contradicts = self._contradicts(cell, said, currency, stated)
        if contradicts:
            text = f"{cell.text.strip()} {contradicts}"
            return replace(cell, text=text, value=text, number_format="")
        if not currency and not _CURRENCY_SHOWN.search(cell.number_format):
            currency = stated
        if currency:
            cell = replace(cell, number_format=f"[${currency}] {cell.number_format}".strip())
        pieces = str(self.pieces)
        if self.unit_column:
            unit = sheet.cell(row, self.unit_column).text.strip()
            found = _COUNT.fullmatch(fold(unit))
            pieces = (found["pieces"] if found else "" if _is_single(unit) else unit) or pieces
        if self.basis:
            text = f"{cell.text.strip()} ({self.basis})"
            return replace(cell, text=text, value=text, number_format="")
        if pieces.lstrip("0") in ("", "1"):
            return cell
        text = f"{cell.text.strip()} per {pieces}"
        return replace(cell, text=text, value=text, number_format="")

    def _contradicts(self, cell: Cell, said: str, currency: str, stated: str) -> str:
        """The currencies named for one price that do not agree, or what is none; or empty."""
        if said and currency != said and any(map(str.isalpha, said)):
            return said  # a currency that is not known by that name
        if " " in stated and not currency and not _CURRENCY_SHOWN.search(cell.number_format):
            return stated
        if not currency:
            return ""
        if stated and " " not in stated and not _agree(stated, currency):
            return f"{currency} {stated}"
        shown = _SHOWN.search(cell.number_format)
        sign = (shown.group(1) or shown.group(2)) if shown else ""
        return "" if not sign or _agree(sign, currency) else f"{currency} {sign}"


def _agree(one: str, other: str) -> bool:
    """Whether two signs may mean one currency; what is no sign contradicts none."""
    meant, named = currencies_of(one), currencies_of(other)
    return not meant or not named or bool(set(meant) & set(named))


def _is_single(unit: str) -> bool:
    """Whether a unit is one set, or one piece that is sold: `set`, `je Stück`; not `gear`."""
    return set(re.findall(r"[a-z]+|[0-9]+", fold(unit))) <= SINGLE_UNITS


def _names_unit(unit: str) -> bool:
    """Whether a folded cell names a unit: a count, a set, a pack, or one gear."""
    words = set(re.findall(r"[a-z]+", unit))
    named = words & (SINGLE_UNITS | PACK_WORDS | cues.GEAR_WORDS | cues.WHEEL_GEAR_WORDS)
    return bool(named) or _COUNT.fullmatch(unit) is not None


def price_terms(
    sheet: Sheet, rows: Sequence[int], headings: Mapping[int, str], price: int
) -> PriceTerms:
    """The terms of the prices of a table.

    Args:
        sheet: the sheet.
        rows: rows to judge columns by.
        headings: column number to heading.
        price: number of the column of prices.
    """
    by_words = {column: words_of(text) for column, text in headings.items() if column != price}
    terms = PriceTerms(
        unit_column=unit_column(sheet, rows, by_words)
        or unit_column(sheet, rows, by_words, PACKS)
        or 0,
        currency_column=next((c for c, each in by_words.items() if each in CURRENCIES), 0),
    )
    return terms.headed(headings.get(price, ""))


def unit_column(
    sheet: Sheet,
    rows: Sequence[int],
    words: Mapping[int, str],
    known: Set[str] = PRICE_UNITS,
) -> int | None:
    """The column that says for how many pieces each price is, by its heading and its counts."""
    for column, each in words.items():
        if each not in known:
            continue
        texts = [text for row in rows if (text := fold(sheet.cell(row, column).text).strip())]
        if any(map(_names_unit, texts)):
            return column
    return None
