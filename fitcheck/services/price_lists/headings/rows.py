"""What a row is that holds no article: totals, page numbers, notes, and lines that head a group.

A line with one cell may head the rows below it, or go on with the text of the row above it. It is
believed to head them where the table begins with one such line, or where it is set apart.
"""

from __future__ import annotations

import re
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from fitcheck.model.trade import ListField
from fitcheck.services.price_lists.headings.layout import Column, Ignored, Layout
from fitcheck.services.price_lists.reading.cells import Sheet, plain_text
from fitcheck.services.price_lists.wording.cues import FILLER_WORDS, GEAR_WORDS
from fitcheck.services.price_lists.wording.readings import fold, words_of
from fitcheck.services.price_lists.wording.stages import find_stages, names_whole_train

_TOTAL = re.compile(
    r"(?:sub|zwischen|end|grand |general )?-?"
    r"(?:total[ei]?|totaux|tot|summe|gesamt(?:summe|betrag)?|somma|somme|suma|importe total|"
    r"ubertrag|uebertrag|a riportare|riporto|report|carried forward|brought forward|saldo)"
    r"(?: (?:generale|general|netto|net|eur|euro|parziale|ht|ttc|iva|amount))*"
)
_TOTAL_OF = re.compile(
    r"(?:(?:sub|zwischen|gesamt)?-?(?:total[ei]?|totaux|summe)|gesamtsumme|somma|somme|suma)[ :]+\D"
)
_PAGE = re.compile(
    r"(?:-\s*)?(?:(?:page|seite|pag(?:ina)?|p|s|blatt|sheet|foglio|feuille|hoja)\.?\s*)?"
    r"[0-9]{1,4}\s*(?:(?:/|of|von|di|de|sur|su)\s*[0-9]{1,4})?(?:\s*-)?"
)
_CHARGE = re.compile(
    r"(?:zzgl\.?|inkl\.?|plus|\+|abzgl\.?|less|meno|moins|menos)? ?(?:[0-9.,]+ ?% ?)?"
    r"(?:rabatt|skonto|discount|sconto|remise|descuento|mwst|ust|vat|iva|tva|versand(?:kosten)?|"
    r"fracht|freight|shipping|postage|spedizione|trasporto|frais de port|portes)(?![a-z])"
    r"(?P<alone>[ 0-9.,%:]*$)?"
)
_PAGE_NUMBER = re.compile(
    r"(?:page|seite|pag(?:ina)?|blatt|sheet|foglio|feuille|hoja)\.?\s*[0-9]{1,4}"
    r"\s*(?:(?:/|of|von|di|de|sur|su)\s*[0-9]{1,4})?"
)
_PAGE_WORD = re.compile(r"(?:page|seite|pag(?:ina)?|blatt|sheet|foglio|feuille|hoja)\.?\s*[0-9]")
_NOTE = re.compile(
    r"(?:^|\W)(?:alle preise|preise (?:in|zzgl|inkl|exkl|gultig|netto|freibleibend)|"
    r"irrtum|irrtumer|"
    r"anderungen vorbehalten|stand|gultig ab|gultig bis|lieferung|es gelten|agb|mwst|"
    r"all prices|prices (?:are|in|excl|incl|subject|valid|without)|subject to|valid (?:from|until)|"
    r"errors and omissions|e ?& ?o ?e|terms|vat|"
    r"tutti i prezzi|prezzi (?:in|iva|al netto|soggetti|validi|netti)|salvo errori|"
    r"valido (?:dal|fino)|"
    r"iva (?:esclusa|inclusa)|condizioni|"
    r"tous les prix|prix (?:en|ht|ttc|hors|valables|sujets|nets)|sous reserve|valable|tva|"
    r"todos los precios|precios (?:en|sin|con|sujetos|validos|netos)|salvo error|"
    r"valido (?:desde|hasta)|"
    r"iva (?:no|incluido|excluido)|"
    r"tel|fax|phone|telefono|telefon|e-?mail|www|http|https|iban|bic|p\.? ?iva|ust-?id)(?:\W|$)"
)
_UNIT = re.compile(
    r"[\[(]?(?:€|eur|euro|chf|gbp|£|usd|\$|%|mm|cm|kg|g|in|inch|\"|''|zoll|pollici|pouces|pulgadas"
    r"|st(?:k|uck)?|pcs?|pz|uds?|z ?1 ?[/:x+-] ?z ?2|z|netto|net|brutto|ht|ttc)\.?[\])]?"
)
LONG_LINE = "a long line"
"""Why a row is a note that may as well head a group."""

_LONG_NOTE = 7
_Kind = Literal["", "blank", "section", "footer", "note"]


def filled_cells(sheet: Sheet, row: int) -> dict[int, str]:
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
    texts: Mapping[int, str],
    headings: Mapping[int, str],
    lines: Sequence[Mapping[int, str]],
    ours: Container[int] = (),
) -> bool:
    """Whether a row repeats the header, or one line of it, each heading over its own column.

    Args:
        texts: what the row holds, by column.
        headings: the header.
        lines: the lines of the header one by one, where it has several.
        ours: columns that are read; another heading over one of them makes it another header.
    """
    said = {column: words for column, text in texts.items() if (words := words_of(text))}
    for header in (headings, *lines):
        known = {column: words_of(heading) for column, heading in header.items()}
        same = sum(1 for column, words in said.items() if words == known.get(column))
        if any(
            each != known.get(at) and (each in known.values() or (at in ours and known.get(at)))
            for at, each in said.items()
        ):
            continue
        if same >= 2 and same * 3 >= len(texts) * 2:
            return True
        if same == 1 == len(texts) == len(known):
            return True
    return False


def names_units(texts: Mapping[int, str], columns: Mapping[ListField, Column]) -> bool:
    """Whether a row below the header only says in what the columns are: `z1/z2`, `EUR`."""
    number = columns.get("part_number")
    return (number is None or number.column not in texts) and all(
        _UNIT.fullmatch(fold(text).strip()) for text in texts.values()
    )


def row_without_article(
    row: int, texts: Mapping[int, str], columns: Mapping[ListField, Column]
) -> Ignored | None:
    """What a row below the header is, where it holds no article; None where it does, or should.

    A row with something in the column of part numbers and in one of teeth or price is always an
    article, whatever it says.
    """
    if not texts:
        return Ignored(row, "blank", "", "a blank row")
    by_column = {column.second: name for name, column in columns.items() if column.second}
    by_column |= {column.column: name for name, column in columns.items()}
    held = {by_column[column]: text for column, text in texts.items() if column in by_column}
    shown = " ".join(next(iter(texts.values())).split())[:60]
    kind: _Kind
    if any(sign.isalnum() for text in texts.values() for sign in text):
        kind, reason = _kind(texts, held)
    else:
        kind, reason = "note", "a row of signs only"
    return Ignored(row, kind, shown, reason) if kind else None


def _kind(texts: Mapping[int, str], held: Mapping[ListField, str]) -> tuple[_Kind, str]:
    first = fold(next(iter(texts.values()))).strip()
    named = len(texts) <= 2 and _TOTAL_OF.match(first)  # of a group, named behind it
    if (named or _TOTAL.fullmatch(first.strip(" :.=*"))) and "teeth" not in held:
        return "footer", "a total"
    if apart := _beside_articles(first, held):
        return "footer", apart
    if len(texts) > 2 or ("part_number" in held and {"teeth", "price"} & set(held)):
        return "", ""
    whole = " ".join(fold(text).strip() for text in texts.values())
    if _PAGE_WORD.match(whole) or (
        len(texts) == 1 and _PAGE.fullmatch(whole) and ("-" in whole or not held)
    ):
        return "footer", "a page number"
    if _is_note(whole, held):
        return "note", "a note"
    return _one_cell(first, held) if len(texts) == 1 else ("", "")


def _beside_articles(first: str, held: Mapping[ListField, str]) -> str:
    """What a row without teeth is that has a price, or what looks like one; or empty."""
    if "teeth" in held:
        return ""
    charge = _CHARGE.match(first)
    if charge and ("part_number" not in held or charge["alone"] is not None):
        return "a discount, a tax or a charge"
    paged = _PAGE_NUMBER.fullmatch(fold(held.get("price", "")).strip())
    return "a title with a page number" if paged else ""


def _is_note(whole: str, held: Mapping[ListField, str]) -> bool:
    if not _NOTE.search(whole) or "teeth" in held:
        return False
    number = held.get("part_number", "").strip()
    # Words beside a part number say something of that article.
    return not number or (" " in number and _NOTE.search(fold(number)) is not None)


def _one_cell(text: str, held: Mapping[ListField, str]) -> tuple[_Kind, str]:
    words = text.split()
    if len(words) >= _LONG_NOTE or text.startswith("*"):
        return "note", LONG_LINE
    # A number, or a word with digits in it, may be an article that lost its other cells.
    lone_number = "part_number" in held and len(words) == 1 and any(map(str.isdigit, text))
    if lone_number or {"price", "teeth", "availability", "wheel_size"} & set(held):
        return "", ""
    if any(map(str.isalpha, text)):
        return "section", "the heading of a group"
    return ("", "") if any(map(str.isdigit, text)) else ("note", "a row of signs only")


Kind = str
"""`head`, or `more` for a line that goes on with the one above, or `unsure`."""

_DECORATED = re.compile(r"[^\w\s(\"'.+]{1,}\s*\w.*|.*\w\s*(?:[:=*#<\u2014_~-]{1,})", re.DOTALL)
# Words by which a line goes on. Common practice, no source.
_GOING_ON = re.compile(
    r"[(+]|(?:fur|fuer|for|fits|per|pour|para|passend|passt|geeignet|adatto|adattabile|adaptable|"
    r"auch|also|anche|aussi|tambien|inkl|incl|mit|with|con|avec|not|nicht|non|sauf|tranne|excepto|"
    r"except|ausser|nur|only|solo|seulement|siehe|see|vedi|voir|ver|ersetzt|replaces|bitte|please|"
    r"und|and|et|y)(?![a-z])"
)


@dataclass(frozen=True, slots=True)
class Head:
    """A line with one cell that may head a group.

    Attributes:
        row: its number.
        column: where its cell stands.
        text: what it says.
        apart: whether it is set apart: by a blank line or a heading above it, a merged cell, a
            header below it.
        above: whether it stands above all articles of its table.
        long: whether it has so many words that it is rather a note.
    """

    row: int
    column: int
    text: str
    apart: bool
    above: bool
    long: bool = False

    @property
    def believed(self) -> bool:
        """Whether it heads a group whatever the others are."""
        if self.long:
            return False
        return self.apart or self.above or _DECORATED.fullmatch(self.text.strip()) is not None


def kinds_of(heads: Sequence[Head], articles: Sequence[int], names: int) -> dict[int, Kind]:
    """What each line is.

    Args:
        heads: the lines in order.
        articles: rows of articles in order.
        names: number of the column of names; 0 where there is none.

    Returns:
        Row to kind.
    """
    believed = [head for head in heads if head.believed]
    columns = {head.column for head in believed}
    manners = {_manner(head.text) for head in believed}
    last = articles[-1] if articles else 0
    # A heading never comes last, right below an article.
    trailing = {h.column for h in heads if not (h.believed or h.long) and h.row > last}
    kinds: dict[int, Kind] = {}
    for head in heads:
        if head.believed:
            kinds[head.row] = "head"
        elif head.column not in columns:
            elsewhere = not believed or head.column == names
            kinds[head.row] = "more" if elsewhere else "unsure"
        elif head.long or head.column in trailing or _goes_on(head.text, manners):
            kinds[head.row] = "unsure"
        else:
            kinds[head.row] = "head"
    return kinds


def sections_of(
    heads: Sequence[Head], kinds: dict[int, Kind], articles: Container[int], last: int
) -> dict[int, str]:
    """The headings that hold for each article.

    One that names a stage alone goes below the one of its group: `DUNLIN 50`, then `PRIMARY`.

    Args:
        heads: the lines in order.
        kinds: what each is.
        articles: rows of articles.
        last: the last row of the table.
    """
    by_row = {head.row: head for head in heads}
    found: dict[int, str] = {}
    group, stage = "", ""
    adjoining = grouped = False
    for row in range(min(by_row, default=last), last + 1):
        if row in articles:
            adjoining = grouped = False
            if text := " | ".join(filter(None, (group, stage))):
                found[row] = text
            continue
        head = by_row.get(row)
        if head is None or kinds[row] == "more":
            continue
        if kinds[row] == "unsure":
            group, stage = "", ""
        elif _names_stage_alone(head.text):
            stage = head.text
        else:
            group = f"{group} | {head.text}" if grouped else head.text
            stage = stage if adjoining else ""
            grouped = True
        adjoining = True
    return found


def name_sheets(layouts: Sequence[Layout]) -> None:
    """Let the name of each sheet head its articles, where a workbook has several with tables.

    A name that speaks of gears only says nothing.
    """
    if len({layout.sheet.name for layout in layouts}) < 2:
        return
    for layout in layouts:
        name = layout.sheet.name.strip()
        words = set(re.findall(r"[a-z]+", fold(name)))
        if words & GEAR_WORDS and not find_stages(fold(name)):
            continue
        for row in layout.data_rows:
            below = layout.sections.get(row, "")
            layout.sections[row] = f"{name} | {below}" if below else name


def _goes_on(text: str, manners: Container[str]) -> bool:
    """Whether a line reads as one that goes on, and no heading begins like it."""
    return _GOING_ON.match(fold(text).strip()) is not None and _manner(text) not in manners


def _manner(text: str) -> str:
    """The first word of a line: `for Dunlin 50` and `for Whimbrel 125` are of one manner."""
    return next(iter(re.findall(r"[a-z]+", fold(text))), "")


def _names_stage_alone(text: str) -> bool:
    folded = fold(text)
    found = find_stages(folded)
    if not found:
        return names_whole_train(folded)
    rest = folded
    for word in reversed(found):
        rest = f"{rest[: word.start]} {rest[word.end :]}"
    return set(re.findall(r"[a-z0-9]+", rest)) <= GEAR_WORDS | FILLER_WORDS
