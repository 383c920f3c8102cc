"""Lines outside the rows of articles: headings of groups, titles, notes, footnotes, footers.

A line with one cell between articles may head the rows below it, or go on with the text of the row
above it. It is believed to head them where the table begins with one such line, or where it is set
apart. What lines say against the articles around them is asked about.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from fitcheck.services.price_lists.headings.columns import (
    HEADINGS,
    SINGLE_UNITS,
    PriceTerms,
    undated,
)
from fitcheck.services.price_lists.headings.footnotes import (
    TERMS,
    bare,
    marks_of,
    split_footnotes,
    tie_marks,
)
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.headings.rows import CHARGE, LONG_LINE, NOTE, filled_cells
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.amounts import OF_PRICES, stated_currency
from fitcheck.services.price_lists.wording.availability import read_availability
from fitcheck.services.price_lists.wording.harmless import (
    NEVER,
    is_harmless,
    line_spans,
    says_nothing,
)
from fitcheck.services.price_lists.wording.prices import pack_in
from fitcheck.services.price_lists.wording.readings import fold, words_of
from fitcheck.services.price_lists.wording.reservations import (
    NUMBER_OF,
    is_price_of_quantity,
    is_reserved,
)
from fitcheck.services.price_lists.wording.sizes import housing_spans
from fitcheck.services.price_lists.wording.stages import find_stages, names_whole_train, stage_spans

Kind = Literal["head", "more", "unsure"]
"""`more` goes on with the row above; `unsure` may do so or head a group: it is read as neither."""

_DECORATED = re.compile(r"[^\w\s(\"'.+]{1,}\s*\w.*|.*\w\s*(?:[:=*#<\u2014_~-]{1,})", re.DOTALL)
# Words by which a line goes on. Common practice, no source.
_GOING_ON = re.compile(
    r"[(+]|(?:fur|fuer|for|fits|per|pour|para|passend|passt|geeignet|adatto|adattabile|adaptable|"
    r"auch|also|anche|aussi|tambien|inkl|incl|mit|with|con|avec|not|nicht|non|sauf|tranne|excepto|"
    r"except|ausser|nur|only|solo|seulement|siehe|see|vedi|voir|ver|ersetzt|replaces|bitte|please|"
    r"und|and|et|y)(?![a-z])"
)


_CLOSING = "a line below all articles"


@dataclass(frozen=True, slots=True)
class Line:
    """A line outside the articles.

    Attributes:
        row: its number, from 1.
        kind: what it is, as `Ignored` has it.
        text: its cells, with single spaces between all words.
        column: where its first cell stands.
        apart: whether it is set apart: by a blank line or a heading above it, a merged cell, a
            header below it.
        above: whether it stands above all articles of its table.
        long: whether it has so many words that it is rather a note.
        reason: why it holds no article, as `Ignored` has it.
    """

    row: int
    kind: str
    text: str
    column: int = 0
    apart: bool = False
    above: bool = False
    long: bool = False
    reason: str = ""

    @property
    def heads(self) -> bool:
        """Whether it heads a group whatever the others are."""
        if self.long:
            return False
        return self.apart or self.above or _DECORATED.fullmatch(self.text) is not None


# ------------------------------------------------------------------ headings of groups


def group_articles(layout: Layout, again: Sequence[int]) -> None:
    """Tell which lines head groups, and which articles each holds for.

    A line below the last article heads nothing: it is a note of the whole list.

    Args:
        layout: a table whose rows are sorted; its `ignored`, `sections` and `beside` are set.
        again: rows that repeat the header.
    """
    ignored = layout.ignored
    articles = layout.data_rows
    lines = _possible_heads(layout, again, articles) if articles else []
    names = layout.columns["name"].column if "name" in layout.columns else 0
    kinds = kinds_of(lines, names)
    for row, each in ignored.items():
        if each.kind == "section" and kinds.get(row) != "head":
            reason = "a line that goes on from the row above, or the heading of a group"
            if articles and row > articles[-1]:
                reason = _CLOSING
            ignored[row] = replace(each, kind="note", reason=reason)
    _set_sections(layout, lines, kinds)


def _possible_heads(layout: Layout, again: Sequence[int], articles: Sequence[int]) -> list[Line]:
    """Lines above or between articles that may head a group, in order."""
    sheet, ignored, header = layout.sheet, layout.ignored, layout.header_rows
    rows = [
        row
        for row, each in ignored.items()
        if header[-1] < row < articles[-1]
        and (each.kind == "section" or (each.reason == LONG_LINE and row > articles[0]))
    ]
    above = header[0] - 1
    if any(ignored[row - 1].kind == "section" for row in again if row - 1 in ignored) and (
        above >= layout.first_row and len(filled_cells(sheet, above)) == 1
    ):
        rows.append(above)  # each table has its group above its header, the first one too
    marks = {bare(mark) for row in articles if rows for _, mark, _ in marks_of(layout, row)}
    found: list[Line] = []
    for row in sorted(rows):
        column, text = next(iter(filled_cells(sheet, row).items()))
        if any(mark in marks for mark, _ in split_footnotes(text)):
            continue
        apart = row - 1 in ignored or row + 1 in again or (row, column + 1) in sheet.merged
        if found and found[-1].row == row - 1 and row + 1 not in again:
            apart = found[-1].heads  # a second line, of whatever the first one is
        found.append(
            Line(
                row,
                ignored[row].kind,
                " ".join(text.split()),
                column=column,
                apart=apart,
                above=row < articles[0],
                long=ignored[row].reason == LONG_LINE,
            )
        )
    return found


def kinds_of(lines: Sequence[Line], names: int) -> dict[int, Kind]:
    """What each line above or between articles is.

    A line in the column of one that heads a group for certain does so as well, unless it is long
    or reads as one that goes on.

    Args:
        lines: the lines in order.
        names: number of the column of names; 0 where there is none.

    Returns:
        Row to kind.
    """
    certain = [line for line in lines if line.heads]
    columns = {line.column for line in certain}
    manners = {_manner(line.text) for line in certain}
    kinds: dict[int, Kind] = {}
    for line in lines:
        if line.heads:
            kinds[line.row] = "head"
        elif line.column not in columns:
            kinds[line.row] = "more" if line.column == names else "unsure"
        else:
            is_doubtful = line.long or _goes_on(line.text, manners)
            kinds[line.row] = "unsure" if is_doubtful else "head"
    return kinds


def _set_sections(layout: Layout, lines: Sequence[Line], kinds: Mapping[int, Kind]) -> None:
    """Give each article its headings, and the lines around it that may be of it.

    A heading that names a stage alone goes below the one of its group: `DUNLIN 50`, then `PRIMARY`.
    """
    by_row = {line.row: line for line in lines}
    articles = frozenset(layout.data_rows)
    columns = {line.column for line in lines if line.heads}
    group, stage = "", ""
    open_line = ""
    adjoining = grouped = False
    before = 0
    first = min((*by_row, *articles), default=layout.last_row + 1)
    for row in range(first, layout.last_row + 1):
        if row in articles:
            adjoining = grouped = False
            before = row
            if text := " | ".join(filter(None, (group, stage))):
                layout.sections[row] = text
            if open_line:
                layout.beside[row] = (open_line,)
            open_line = _words_alone(layout, row) or open_line
            continue
        line = by_row.get(row)
        if line is None:
            continue
        kind = kinds[row]
        open_line = "" if kind == "head" else line.text
        # In the column of headings only a bracket goes on from the row above.
        if open_line and before and (line.column not in columns or open_line[0] in "(+"):
            layout.beside[before] = (*layout.beside.get(before, ()), open_line)
        if kind == "more":
            continue
        if kind == "unsure":
            group, stage = "", ""
        elif _names_stage_alone(line.text):
            stage = line.text
        else:
            group = f"{group} | {line.text}" if grouped else line.text
            stage = stage if adjoining else ""
            grouped = True
        adjoining = True


def _words_alone(layout: Layout, row: int) -> str:
    """What a row says that may be a heading, though it has two cells: words, no figure."""
    values = layout.sheet.values[row - 1]
    if sum(1 for value in values if value not in (None, "")) != 2:
        return ""
    texts = filled_cells(layout.sheet, row)
    if len(texts) != 2 or any(map(str.isdigit, "".join(texts.values()))):
        return ""
    return " ".join(" ".join(texts.values()).split())


# Words of sheets that are named after nothing they hold; common practice, no source.
_SHEET_WORDS = cues.words_in(
    "sheet tabelle tab blatt foglio feuille feuil hoja table liste lista listino listini list "
    "current aktuell attuale actuel actual vigente "
    "price prices preise preisliste tarif tarifs tarifa data daten dati export page seite"
)


def name_sheets(layouts: Sequence[Layout]) -> None:
    """Let the name of each sheet head its articles, where a workbook has several with tables.

    A name that speaks of gears only, or of lists and dates, says nothing.
    """
    if len({layout.sheet.name for layout in layouts}) < 2:
        return
    for layout in layouts:
        name = layout.sheet.name.strip()
        words = set(re.findall(r"[a-z]+", undated(words_of(name)))) - _SHEET_WORDS
        if stated_currency(name) or (says_nothing(" ".join(words)) and not stage_spans(fold(name))):
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
    """Whether a line names a stage and nothing else but a housing."""
    folded = fold(text)
    found = find_stages(folded)
    if not found:
        return names_whole_train(folded)
    rest = folded
    for start, end in sorted((*((w.start, w.end) for w in found), *housing_spans(folded)))[::-1]:
        rest = f"{rest[:start]} {rest[end:]}"
    return set(re.findall(r"[a-z0-9]+", rest)) <= cues.GEAR_WORDS | cues.FILLER_WORDS


# ------------------------------------------------------------------ what lines state


def state_lines(layouts: Sequence[Layout]) -> None:
    """Give each article what lines outside the articles say of it.

    The currency of its price: a line between articles states it for those below it; a title, a
    footer or the name of the sheet for all others of the sheet, and those of a sheet without
    articles for the whole list. What is held against it: by a line between articles for those
    below, down to the next heading of a group; by a title or footer for all of the sheet; by a
    footnote for the rows that bear its mark.

    Args:
        layouts: the tables of a list; `currencies`, `stated` and `unmarked` are set in place.
    """
    sheets: dict[str, list[Layout]] = {}
    for layout in layouts:
        sheets.setdefault(layout.sheet.name, []).append(layout)
    covers: list[str] = []
    for name, tables in sheets.items():
        if not any(each.found for each in tables):
            signs = [_currency_of(line.text) for line in _lines_outside(tables)]
            covers += filter(None, [*signs, stated_currency(name)])
    for name, tables in sheets.items():
        articles = sorted(row for each in tables if each.found for row in each.data_rows)
        if not articles:
            continue
        lines = list(_lines_outside(tables))
        _state_currency(tables, articles, lines, (stated_currency(name), covers))
        _state_against(tables, articles, [Line(0, "title", name), *lines])
        notes = {mark: said for line in lines for mark, said in split_footnotes(line.text)}
        for layout in (each for each in tables if each.found):
            tie_marks(layout, notes)


def _lines_outside(tables: Sequence[Layout]) -> Iterator[Line]:
    """The lines of a sheet that are neither articles nor headers nor blank, in order."""
    for layout in tables:
        for row in sorted(layout.ignored):
            kind = layout.ignored[row].kind
            if kind not in ("blank", "header"):
                text = " ".join(" ".join(filled_cells(layout.sheet, row).values()).split())
                yield Line(row, kind, text, reason=layout.ignored[row].reason)


def _currency_of(text: str) -> str:
    return stated_currency(" ".join(text.replace("|", " ").split()))


def _state_currency(
    tables: Sequence[Layout],
    articles: Sequence[int],
    lines: Sequence[Line],
    sheet_and_covers: tuple[str, Sequence[str]],
) -> None:
    named, covers = sheet_and_covers
    stating = [(line.row, sign) for line in lines if (sign := _currency_of(line.text))]
    outside = [sign for row, sign in stating if not articles[0] < row < articles[-1]]
    general = " ".join(dict.fromkeys(filter(None, [named, *outside])))
    general = general or " ".join(dict.fromkeys(covers))
    between = [each for each in stating if articles[0] < each[0] < articles[-1]]
    if not general and not between:
        return
    for layout in (each for each in tables if each.found):
        for row in layout.data_rows:
            if last := next((sign for at, sign in reversed(between) if at < row), general):
                layout.currencies[row] = last


_LONG = 6
"""A title or footer of more words is rather one of the terms of trade."""

_PRICES = re.compile(rf"(?<![a-z])(?:{OF_PRICES})(?![a-z])")
_ADDRESS = re.compile(r"\S*(?:www\.|@|://)\S*", re.IGNORECASE)
_NOT_FOR = re.compile(
    r"(?<![a-z])(?:not|nicht|non|pas|no|kein|keine)(?: [a-z]+)? (?:for|fur|fuer|per|ai|ad|a|al|pour"
    r"|aux?|para)(?![a-z])"
)
_OF_GEARS = (
    cues.GEAR_WORDS | cues.TEETH_WORDS | cues.WHEEL_GEAR_WORDS | SINGLE_UNITS | HEADINGS["housing"]
) - cues.words_in(
    "a an one un une uno una per pro par por al the ein eine einen st nr u pr cp z t th"
)


_SMALL_WORD = 3
_WORDS = re.compile(r"[^\W\d_]{2,}")
_LETTERS = re.compile("[a-z]+")
_NOVELTIES = re.compile(
    r"\W*(?:new(?: products| items)?|news|neu(?:heiten)?|novita|nuovi prodotti|nouveautes?"
    r"|novedades)\W*"
)
_BELOW = re.compile(
    r"follow|below|from here|folgend|nachsteh|unten|ab hier|seguent|sotto|da qui|suivant|ci-dessous"
    r"|siguient|abajo|desde aqui"
)


def _limits(text: str) -> bool:
    """Whether a line denies, doubts or limits something of gears or housings, or of machines."""
    folded = fold(text)
    words = set(re.findall(r"[a-z]+", NUMBER_OF.sub(" ", folded)))
    if words.isdisjoint(NEVER) or says_nothing(text, of_list=True):
        return False
    of_gears = words & _OF_GEARS or housing_spans(folded) or stage_spans(folded)
    return bool(of_gears) or _NOT_FOR.search(folded) is not None


def _is_counted(text: str) -> bool:
    """Whether a line makes prices those of several pieces, or of one gear of a pair."""
    if pack_in(text) or is_price_of_quantity(text):
        return True
    return _PRICES.search(fold(text)) is not None and PriceTerms().headed(text).pieces > 1


def _against_all(text: str) -> str:
    """What a title or a footer holds against all articles; or empty."""
    if split_footnotes(text):
        return ""
    if _is_counted(text) or (_limits(text) and not _PRICES.search(fold(text))):
        return text
    return text if is_reserved(_ADDRESS.sub(" ", text)) and len(text.split()) <= _LONG else ""


def _against_below(text: str) -> str:
    """What a note between articles holds against those below it, whatever its words; or empty."""
    if _is_counted(text) or read_availability(text).value == "discontinued":
        return text
    if says_nothing(text, of_list=True):
        return ""
    is_odd = _PRICES.search(fold(text)) and not says_nothing(TERMS.sub(" ", fold(text)))
    return text if is_odd and not stated_currency(text) else ""


def _may_limit(text: str) -> bool:
    """Whether a title may limit what stands below it.

    It denies or limits something, or has more unknown words in small letters than words of a list;
    names and addresses have capitals.
    """
    folded = fold(text)
    if split_footnotes(text) or _PRICES.search(folded) or says_nothing(text, of_list=True):
        return False
    words = {fold(each): each for each in _WORDS.findall(text) if not is_harmless(fold(each))}
    of_list = {folded[start:end] for start, end in line_spans(folded)}
    small = [each for word, each in words.items() if each.islower() and word not in of_list]
    telling = [each for each in of_list if len(each) > _SMALL_WORD]
    denies = not NEVER.isdisjoint(_LETTERS.findall(NUMBER_OF.sub(" ", folded)))
    return len(small) > len(telling) or denies


def _is_unread(line: Line) -> bool:
    """Whether a line between articles heads nothing, and must be explained word for word."""
    if line.kind == "title" or line.reason == _CLOSING:  # perhaps of another table
        return _may_limit(line.text) or is_reserved(line.text)
    return line.reason in (NOTE, CHARGE) and not stated_currency(line.text)


def _state_against(
    tables: Sequence[Layout], articles: Sequence[int], lines: Sequence[Line]
) -> None:
    outside = [line for line in lines if not articles[0] < line.row < articles[-1]]
    general = [said for line in outside if (said := _against_all(line.text))]
    inside = [line for line in lines if articles[0] < line.row < articles[-1]]
    general += [
        line.text
        for line in inside
        if line.kind != "section" and pack_in(line.text) and not _BELOW.search(fold(line.text))
    ]
    titles = tuple(line.text for line in outside if line.kind == "title" and _may_limit(line.text))
    owners = {row: each for each in tables if each.found for row in each.data_rows}
    at, held, unread = 0, "", tuple[str, ...]()
    for row in articles:
        while at < len(inside) and inside[at].row < row:
            line, at = inside[at], at + 1
            if line.kind != "section" and (said := _against_below(line.text)):
                held = said
            elif _is_unread(line):
                unread = (*unread, line.text)
            elif _NOVELTIES.fullmatch(folded := fold(line.text)) or not line_spans(folded):
                held, unread = "", ()  # another group, unless it is a line such as `page 2`
        layout = owners[row]
        # What heads or goes on around a row limits it, though it is not read as its housing.
        around = [
            text
            for text in layout.beside.get(row, ())
            if _names_housing(text) or read_availability(text).value == "discontinued"
        ]
        section = layout.sections.get(row, "")
        around += [part for part in section.split(" | ") if pack_in(part)]
        layout.hold(row, [*general, *filter(None, [held]), *around])
        if unread:
            layout.beside[row] = (*layout.beside.get(row, ()), *unread)
    for layout in tables:
        layout.titles = titles


@lru_cache(maxsize=1024)
def _names_housing(text: str) -> bool:
    return bool(housing_spans(fold(text)))
