"""For how many pieces a list's prices are, and in which currency, where its header says so."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace

from fitcheck.services.intake.headings.words import CURRENCIES, PACKS, PRICE_UNITS
from fitcheck.services.intake.reading.cells import Cell, Sheet
from fitcheck.services.intake.wording.currencies import PLAIN_SIGN, currencies_of
from fitcheck.services.intake.wording.folding import fold, words_of

__all__ = ["PriceTerms", "price_terms", "unit_column"]

_PER = re.compile(
    r"(?:(?<![a-z])(?:per|pro|je|par|por|lot de|a|for|x|zu)|(?<![0-9])(?<![0-9] )/)\s?"
    r"(?P<pieces>(?!(?:19|20)[0-9]{2})[1-9][0-9]{0,3})(?![0-9.,%/+])"
)
_CURRENCY_SHOWN = re.compile(r"\[\$[^\]-]|[€£$](?!\[)")
_COUNT = re.compile(r"(?P<pieces>[0-9]{1,4})(?:[.,]0+)?(?:\s?[a-z]{1,6}\.?)?")


@dataclass(frozen=True, slots=True)
class PriceTerms:
    """What a column of prices is of.

    Attributes:
        pieces: for how many pieces its heading says the prices are.
        currency: the sign or code its heading names; empty for none or several.
        unit_column: number of the column that says for how many pieces each price is; 0: none.
        currency_column: number of the column that names the currency of each price; 0: none.
    """

    pieces: int = 1
    currency: str = ""
    unit_column: int = 0
    currency_column: int = 0

    def headed(self, heading: str) -> PriceTerms:
        """The terms where the column of prices is headed otherwise."""
        folded = fold(heading)
        per = _PER.search(folded)
        signs = {currencies_of(sign): sign for sign in PLAIN_SIGN.findall(folded)}
        return replace(
            self,
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
        if stated and not currency and not _CURRENCY_SHOWN.search(cell.number_format):
            if " " in stated:
                text = f"{cell.text.strip()} {stated}"
                return replace(cell, text=text, value=text, number_format="")
            currency = stated
        if currency:
            cell = replace(cell, number_format=f"[${currency}] {cell.number_format}".strip())
        pieces = str(self.pieces)
        if self.unit_column:
            unit = sheet.cell(row, self.unit_column).text.strip()
            found = _COUNT.fullmatch(fold(unit))
            named = unit if any(map(str.isdigit, unit)) else ""
            pieces = (found["pieces"] if found else named) or pieces
        if pieces.lstrip("0") in ("", "1"):
            return cell
        text = f"{cell.text.strip()} per {pieces}"
        return replace(cell, text=text, value=text, number_format="")


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
        counted = sum(1 for text in texts if _COUNT.fullmatch(text))
        # Units of measure may be words as well: `set`, `5 sets`.
        if counted == len(texts) > 0 or (counted and known is PACKS):
            return column
    return None
