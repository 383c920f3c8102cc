"""What each row of a sheet is: a header, a total, a note, a heading of a group, or an article."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Container, Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Literal

from fitcheck.model.trade import ListField, ListMapping
from fitcheck.services.price_lists.headings.columns import (
    gear_named,
    guess_fields,
    mapped_columns,
    score_heading,
    undated,
)
from fitcheck.services.price_lists.headings.layout import Column, Ignored
from fitcheck.services.price_lists.reading.cells import Sheet, plain_text
from fitcheck.services.price_lists.wording.readings import fold, words_of
from fitcheck.services.price_lists.wording.sizes import read_wheel_size
from fitcheck.services.price_lists.wording.stages import find_stages
from fitcheck.services.price_lists.wording.teeth import read_teeth
from fitcheck.services.price_lists.wording.tokens import possible_count

SEARCHED = 100
"""Rows from the top in which the first header is looked for."""

_MOST_LINES = 3

_LONGEST_HEADING = 120
_TELLING: frozenset[ListField] = frozenset({"part_number", "teeth", "price", "name"})


def first_header(sheet: Sheet, mapping: ListMapping | None) -> range | None:
    """The topmost rows that make a header.

    By trade words, half as good as the best will do; so will one of few words over an article.
    """
    possible: list[tuple[float, range]] = []
    for row in range(1, min(sheet.row_count, SEARCHED) + 1):
        scored = [
            (score, lines)
            for lines in possible_lines(sheet, row)
            if (score := header_score(headings_of(sheet, lines), mapping))
        ]
        if scored:
            # Of equals the one of fewer lines.
            possible.append(max(scored, key=lambda each: (each[0], -len(each[1]))))
    if not possible:
        return None
    best = max(score for score, _ in possible)
    least = best if mapping is not None else best / 2
    score, lines = next(
        each for each in possible if each[0] >= least or _heads_article(sheet, each[1], mapping)
    )
    near = range(lines.start, lines.stop + 1)
    # One line of a header may do by itself; that of its columns, the lower one, does as well.
    score, lines = max(
        (each for each in possible if each[1].start in near),
        key=lambda each: (each[0], each[1].start),
    )
    while len(lines) > 1 and _is_title(sheet, lines):
        lines = range(lines.start + 1, lines.stop)
        score = header_score(headings_of(sheet, lines), mapping)
    return lines if mapping is not None else _with_line_above(sheet, lines, score)


def _is_title(sheet: Sheet, lines: range) -> bool:
    """Whether the first line of a header makes no heading with those below it.

    One heading may stand over two columns, `Teeth` over `pinion` and `wheel`; a title over one
    makes a heading of words that name nothing.
    """
    texts = filled_cells(sheet, lines.start)
    for column in texts:
        spread = sum(source == (lines.start, column) for source in sheet.merged.values())
        if spread > 2 and 2 * spread >= len(headings_of(sheet, range(lines.start + 1, lines.stop))):
            return True
    joined = headings_of(sheet, lines)
    return not any(
        _is_heading(joined.get(column, ""))
        for column, text in texts.items()
        if undated(words_of(text))
    )


def _is_heading(text: str) -> bool:
    """Whether a text is just a word for one of our fields, or for one gear of a pair."""
    exact = any(guess.score >= 100 for guess in score_heading(text)[:1])
    return exact or bool(gear_named(words_of(text)))


def _with_line_above(sheet: Sheet, lines: range, score: float) -> range:
    """The header with the line above it, where that is a part of it and no title."""
    above = lines.start - 1
    if above < 1 or len(lines) >= _MOST_LINES:
        return lines
    texts = filled_cells(sheet, above)
    needed = max(2, len(filled_cells(sheet, lines.start)) / 2)
    if len(texts) < needed or not all_wordy(texts.values()):
        return lines
    joined = headings_of(sheet, range(above, lines.stop))
    if not any(score_heading(text) for text in texts.values()):
        return lines
    alone = {
        column: guesses[0].field
        for column, guesses in guess_fields(headings_of(sheet, lines)).items()
    }
    together = {column: guesses[0].field for column, guesses in guess_fields(joined).items()}
    same = all(together.get(column) == name for column, name in alone.items())
    if same and header_score(joined, None) >= 0.9 * score:
        return range(above, lines.stop)
    return lines


def with_lines_below(sheet: Sheet, lines: range) -> range:
    """The header with the lines below it that are of it.

    Cells of it are merged down into them, or they part one of its headings: `pinion` and `wheel`
    below `Teeth`, `net` and `gross` below `Price`.
    """
    while len(lines) < _MOST_LINES and lines.stop <= sheet.row_count:
        texts = filled_cells(sheet, lines.stop)
        if not texts or not all_wordy(texts.values()) or _heads_stage(texts):
            break
        columns = range(1, sheet.column_count + 1)
        sources = (sheet.merged.get((lines.stop, column)) for column in columns)
        merged = any(source and source[0] in lines for source in sources)
        parts = all(map(_is_heading, texts.values()))
        above = headings_of(sheet, lines)
        # `Teeth`, `Teeth` over `pinion`, `wheel`: one heading, written over each of its columns.
        told = Counter(above.get(column) for column in texts)
        doubled = all(count > 1 for count in told.values())
        if not (merged or doubled) and not (parts and any(column not in above for column in texts)):
            break
        lines = range(lines.start, lines.stop + 1)
    return lines


def possible_lines(sheet: Sheet, row: int) -> list[range]:
    """The row alone, and with the lines below it where those hold words only."""
    found = []
    for count in range(1, _MOST_LINES + 1):
        last = row + count - 1
        if last > sheet.row_count:
            break
        texts = filled_cells(sheet, last)
        if not texts or not all_wordy(texts.values()) or (count > 1 and _heads_stage(texts)):
            break
        found.append(range(row, last + 1))
    return found


def _heads_stage(texts: Mapping[int, str]) -> bool:
    """Whether a line is one cell that names a stage: it heads the articles below a header."""
    return len(texts) == 1 and any(find_stages(fold(text)) for text in texts.values())


def all_wordy(texts: Iterable[str]) -> bool:
    """Whether all texts of a row look like headings: short, and no plain numbers."""
    return all(map(_is_wordy, texts))


@lru_cache(maxsize=4096)
def _is_wordy(text: str) -> bool:
    if len(text) > _LONGEST_HEADING:
        return False
    return any(map(str.isalpha, text)) or not any(map(str.isdigit, text))


def headings_of(sheet: Sheet, lines: range) -> dict[int, str]:
    """The heading of each column, the lines of one joined; merged ones are spread sideways."""
    found: dict[int, str] = {}
    for column in range(1, sheet.column_count + 1):
        parts: list[str] = []
        for row in lines:
            source = sheet.merged.get((row, column))
            if source and source[0] != row:
                continue  # merged downwards: said once
            if source and len(lines) == 1 and not _heads_two(sheet, row, column):
                continue  # a title over several columns, or the second of two
            text = " ".join(sheet.cell(row, column).text.split())
            if text:
                parts.append(text)
        if parts:
            found[column] = " ".join(parts)
    return found


def _heads_two(sheet: Sheet, row: int, column: int) -> bool:
    """Whether a cell is the first of two merged sideways: one heading over two columns."""
    place = (row, column)
    behind = sheet.merged.get((row, column + 2))
    return sheet.merged.get(place) == place == sheet.merged.get((row, column + 1)) != behind


def is_other_header(
    sheet: Sheet, row: int, texts: Mapping[int, str], mapping: ListMapping | None
) -> bool:
    """Whether a row, which does not repeat the header, heads a table of its own.

    Under a mapping the same order with other headings, such as prices in another currency, is
    another table too.

    Args:
        sheet: the sheet.
        row: the row's number, from 1.
        texts: what it holds, by column.
        mapping: the supplier's, where known.
    """
    lines = range(row, row + 1)
    one = headings_of(sheet, lines)
    if mapping is not None:
        found, _ = mapped_columns(one, mapping)
        if len(found) >= min(3, len(mapping.columns)):
            return True
    exact = [
        (column, guesses[0].field)
        for column, guesses in guess_fields(one).items()
        if guesses[0].score >= 100
    ]
    if len({name for _, name in exact}) >= 3 and len(exact) * 3 >= len(texts) * 2:
        return True
    return _heads_article(sheet, lines, mapping)


def _heads_article(sheet: Sheet, lines: range, mapping: ListMapping | None) -> bool:
    """Whether rows name part number and teeth, and the next row holds both in these columns."""
    below = next(
        (row for row in range(lines.stop, sheet.row_count + 1) if filled_cells(sheet, row)), 0
    )
    if not below:
        return False
    headings = headings_of(sheet, lines)
    columns: dict[ListField, tuple[int, ...]] = {}
    if mapping is not None:
        columns, _ = mapped_columns(headings, mapping)
    if not {"part_number", "teeth"} <= set(columns):
        columns = _trade_columns(headings)
    if not {"part_number", "teeth"} <= set(columns):
        return False
    number = sheet.cell(below, columns["part_number"][0]).text
    cells = [sheet.cell(below, column) for column in columns["teeth"]]
    if len(cells) > 1:
        has_teeth = all(possible_count(cell.text.strip()) for cell in cells)
    else:
        has_teeth = read_teeth(cells[0], teeth_column=True).certain
    return has_teeth and any(map(str.isalnum, number))


def _trade_columns(headings: Mapping[int, str]) -> dict[ListField, tuple[int, ...]]:
    """Columns of part number and teeth, as far as a heading is just a word for them."""
    gears = {column: gear_named(words_of(heading)) for column, heading in headings.items()}
    pinion = [column for column, each in gears.items() if each == "pinion"]
    wheel = [column for column, each in gears.items() if each == "wheel"]
    exact = {
        guesses[0].field: (column,)
        for column, guesses in guess_fields(headings).items()
        if guesses[0].score >= 100
    }
    return exact | ({"teeth": (pinion[0], wheel[0])} if pinion and wheel else {})


def header_score(headings: Mapping[int, str], mapping: ListMapping | None) -> float:
    """How much of a header a row is; 0 where it is none."""
    if mapping is not None:
        found, _ = mapped_columns(headings, mapping)
        return len(found) / len(mapping.columns) if found else 0.0
    if len(headings) < 2:
        return 0.0
    fields: dict[ListField, float] = {}
    for guesses in guess_fields(headings).values():
        if guesses and guesses[0].score > fields.get(guesses[0].field, 0.0):
            fields[guesses[0].field] = guesses[0].score
    if len(fields) < 2 or not _TELLING & set(fields):
        return 0.0
    recognised = sum(1 for heading in headings.values() if score_heading(heading))
    if recognised * 3 < len(headings):
        return 0.0
    return sum(fields.values())


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
_MARK_ALONE = re.compile(r"[*†‡]{1,4}|[1-9]\)|\([1-9]\)|[¹²³⁴⁵⁶⁷⁸⁹]\)?")
LONG_LINE = "a long line"
"""Why a row is a note that may as well head a group."""

CHARGE = "a discount, a tax or a charge"
NOTE = "a note"
"""Why a row heads nothing."""

_LONG_NOTE = 7
_Kind = Literal["", "blank", "section", "footer", "note"]


def kind_of_row(
    row: int, texts: Mapping[int, str], columns: Mapping[ListField, Column]
) -> Ignored | None:
    """What a row below the header is, where it holds no article; None where it does, or should.

    A row with something in the column of part numbers and in one of teeth or price is always an
    article, whatever it says.
    """
    if not texts:
        return Ignored(row, "blank", "", "a blank row")
    teeth = columns.get("teeth")
    if len(texts) > 2 and teeth and any(map(str.isalnum, texts.get(teeth.column, ""))):
        return None
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
    if _is_note(whole, held) or (len(texts) == 2 and _MARK_ALONE.fullmatch(first)):
        return "note", NOTE
    return _one_cell(first, held) if len(texts) == 1 else ("", "")


def _beside_articles(first: str, held: Mapping[ListField, str]) -> str:
    """What a row without teeth is that has a price, or what looks like one; or empty."""
    if "teeth" in held:
        return ""
    charge = _CHARGE.match(first)
    if charge and ("part_number" not in held or charge["alone"] is not None):
        return CHARGE
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
    if lone_number or {"price", "availability"} & set(held):
        return "", ""
    if {"teeth", "wheel_size"} & set(held) and not _is_no_figure(text, held):
        return "", ""
    if any(map(str.isalpha, text)):
        return "section", "the heading of a group"
    return ("", "") if any(map(str.isdigit, text)) else ("note", "a row of signs only")


def _is_no_figure(text: str, held: Mapping[ListField, str]) -> bool:
    """Whether a text alone in the column of teeth or wheels is no value of it, but a heading."""
    if not any(map(str.isalpha, text)):
        return False
    if find_stages(fold(text)):
        return True
    if "teeth" in held:
        return read_teeth(text, teeth_column=True).status == "unreadable"
    return read_wheel_size(text, size_column=True).status == "unreadable"
