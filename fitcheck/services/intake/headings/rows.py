"""What a row is that holds no article: totals, page numbers, notes, headings of groups."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from fitcheck.services.intake.headings.layout import Column, Ignored
from fitcheck.services.intake.headings.words import FieldName
from fitcheck.services.intake.reading.cells import Sheet, plain_text
from fitcheck.services.intake.wording.folding import fold, words_of

__all__ = ["filled", "row_without_article", "same_header"]

_TOTAL = re.compile(
    r"(?:sub|zwischen|end|grand |general )?-?(?:total[ei]?|totaux|tot|summe|gesamt(?:summe|betrag)?|"
    r"somma|somme|suma|importe total|ubertrag|uebertrag|a riportare|riporto|report|carried forward|"
    r"brought forward|saldo)(?: (?:generale|general|netto|net|eur|euro|parziale|ht|ttc|iva|amount))*"
)
_PAGE = re.compile(
    r"(?:-\s*)?(?:(?:page|seite|pag(?:ina)?|p|s|blatt|sheet|foglio|feuille|hoja)\.?\s*)?"
    r"[0-9]{1,4}\s*(?:(?:/|of|von|di|de|sur|su)\s*[0-9]{1,4})?(?:\s*-)?"
)
_PAGE_WORD = re.compile(r"(?:page|seite|pag(?:ina)?|blatt|sheet|foglio|feuille|hoja)\.?\s*[0-9]")
_NOTE = re.compile(
    r"(?:^|\W)(?:alle preise|preise (?:in|zzgl|inkl|exkl|gultig|netto|freibleibend)|irrtum|irrtumer|"
    r"anderungen vorbehalten|stand|gultig ab|gultig bis|lieferung|es gelten|agb|mwst|"
    r"all prices|prices (?:are|in|excl|incl|subject|valid|without)|subject to|valid (?:from|until)|"
    r"errors and omissions|e ?& ?o ?e|terms|vat|"
    r"tutti i prezzi|prezzi (?:in|iva|al netto|soggetti|validi|netti)|salvo errori|valido (?:dal|fino)|"
    r"iva (?:esclusa|inclusa)|condizioni|"
    r"tous les prix|prix (?:en|ht|ttc|hors|valables|sujets|nets)|sous reserve|valable|tva|"
    r"todos los precios|precios (?:en|sin|con|sujetos|validos|netos)|salvo error|valido (?:desde|hasta)|"
    r"iva (?:no|incluido|excluido)|"
    r"tel|fax|phone|telefono|telefon|e-?mail|www|http|https|iban|bic|p\.? ?iva|ust-?id)(?:\W|$)"
)
_LONG_NOTE = 7


def filled(sheet: Sheet, row: int) -> dict[int, str]:
    """Columns of a row that hold something of their own, and its text.

    What a merged cell spreads is left out.
    """
    found = {}
    for column, value in enumerate(sheet.values[row - 1], 1):
        if value is None:
            continue
        text = value if isinstance(value, str) else plain_text(value)
        if text.strip():
            found[column] = text
    return found


def same_header(
    texts: Mapping[int, str], headings: Mapping[int, str], lines: Sequence[Mapping[int, str]]
) -> bool:
    """Whether a row repeats the header, or one line of it."""
    for header in (headings, *lines):
        known = {column: words_of(heading) for column, heading in header.items()}
        same = sum(
            1
            for column, text in texts.items()
            if words_of(text) and words_of(text) == known.get(column)
        )
        if same >= 2 and same * 3 >= len(texts) * 2:
            return True
        if same == 1 == len(texts) == len(known):
            return True
    return False


def row_without_article(
    row: int, texts: Mapping[int, str], columns: Mapping[FieldName, Column]
) -> Ignored | None:
    """What a row below the header is, where it holds no article; None where it does, or should.

    A row with something in the column of part numbers and in one of teeth or price is always an
    article, whatever it says.
    """
    if not texts:
        return Ignored(row, "blank", "", "a blank row")
    by_column = {column.column: name for name, column in columns.items()}
    fields = {by_column[column] for column in texts if column in by_column}
    shown = " ".join(next(iter(texts.values())).split())[:60]
    first = fold(next(iter(texts.values()))).strip(" :.=*")
    if _TOTAL.fullmatch(first) and not ({"teeth"} & fields):
        return Ignored(row, "footer", shown, "a total")
    if {"part_number"} & fields and {"teeth", "price"} & fields:
        return None
    if len(texts) > 2:
        return None
    whole = " ".join(fold(text).strip() for text in texts.values())
    if _PAGE_WORD.match(whole) or (
        len(texts) == 1 and _PAGE.fullmatch(whole) and ("-" in whole or not fields)
    ):
        return Ignored(row, "footer", shown, "a page number")
    if _NOTE.search(whole) and "teeth" not in fields:
        number = next((texts[each] for each in texts if by_column.get(each) == "part_number"), "")
        # Words beside a part number say something of that article.
        if not number or (_NOTE.search(fold(number)) and " " in number.strip()):
            return Ignored(row, "note", shown, "a note")
    if len(texts) > 1:
        return None
    return _one_cell(row, first, shown, fields)


def _one_cell(row: int, text: str, shown: str, fields: set[FieldName]) -> Ignored | None:
    words = text.split()
    if _NOTE.search(text) or len(words) >= _LONG_NOTE or shown.startswith("*"):
        return Ignored(row, "note", shown, "a note")
    # A number, or a word with digits in it, may be an article that lost its other cells.
    if {"price", "teeth", "availability", "wheel_size"} & fields:
        return None
    if "part_number" in fields and len(words) == 1 and any(map(str.isdigit, text)):
        return None
    if not any(map(str.isalpha, text)):
        return (
            None
            if any(map(str.isdigit, text))
            else Ignored(row, "note", shown, "a row of signs only")
        )
    return Ignored(row, "section", shown, "the heading of a group")
