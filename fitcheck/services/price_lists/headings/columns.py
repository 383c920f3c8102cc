"""Which field a heading names, by trade words or by the supplier's mapping; and what prices are of.

The words are the lists of headings in wording/words.yaml.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import get_args

from fitcheck.diagnostics.suggest import digits_of, nearest, or_list
from fitcheck.model.trade import ListField, ListMapping
from fitcheck.services.price_lists.reading.cells import Cell, Sheet
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.amounts import PLAIN_SIGN, currencies_of
from fitcheck.services.price_lists.wording.cues import WORDS
from fitcheck.services.price_lists.wording.readings import fold, words_of

FIELDS: tuple[ListField, ...] = get_args(ListField)
HEADINGS: dict[ListField, frozenset[str]] = {name: WORDS["heading"][name] for name in FIELDS}
"""Phrases that are a heading by themselves."""
GENERIC = WORDS["column"]["generic"]
"""Headings of which another, where there is one, says more of what its column holds."""
_CODES = WORDS["column"]["codes"]
DEVIATING = WORDS["column"]["deviating"] | _CODES
PRICE_UNITS = WORDS["column"]["price_units"]
PACKS = WORDS["column"]["packs"]
PACK_WORDS = WORDS["column"]["pack"]
SINGLE_UNITS = WORDS["column"]["single"]
EXTRA_CHARGES = WORDS["column"]["extra_charges"]
DENYING = WORDS["column"]["denying"]
_SILENT = WORDS["column"]["silent"]
FAMILIES = WORDS["column"]["families"]
SUCCESSORS = WORDS["column"]["successors"]
CURRENCIES = WORDS["column"]["currencies"]
RATIOS = WORDS["column"]["ratios"]
NO_FIELD = WORDS["column"]["no_field"] | RATIOS | PACKS | SUCCESSORS | CURRENCIES | _SILENT
_PINION = WORDS["column"]["pinion"]
_WHEEL = WORDS["column"]["wheel"]
_LINKS = WORDS["column"]["links"]
_COUNTING = cues.TEETH_WORDS | WORDS["heads"]["teeth"] | WORDS["beside"]["teeth"] | _LINKS

_NEAR = 86.0
# Beside the price of one, those of five or ten pieces stand. Common practice, no source.
_ONE_PIECE = re.compile(
    r"(?:ab |from |da |des |desde )?1 ?"
    r"(?:stk|stuck|st|pcs?|pieces?|piece|pz|pezz[oi]|pza|uds?|unidad|unite|satz|set)"
)
_SEVERAL = re.compile(
    r"(?:(?:.* )?(?:ab|from|da|des|desde|a partir de) |)(?:[2-9]|[1-9][0-9]+) ?"
    r"(?:\+|stk|stuck|st|pcs?|pieces?|pz|pezz[oi]|pzas?|uds?|unidades|unites|satze?|sets?)?"
)
_LONGEST = 80
JOINT = " + "
"""Stands between two headings in a mapping whose columns are read together."""

# `P.V.P. s/IVA` is spelt, but for `sin`.
_SPELT = re.compile(
    r"(?<![a-z0-9])[a-z](?: [a-z])+?(?= [sc] iva)|(?<![a-z0-9])[a-z](?: [a-z])+(?![a-z0-9])"
)
# `NetPrice` is two words, as programs write them.
_JOINED = re.compile(r"(?<=[A-Za-z][a-z]{2})(?=[A-Z][a-z]{2})")
_SIGNS = {"#": " no ", "€": " eur ", "£": " gbp ", "$": " usd "}
_SIGNED = re.compile("[#€£$]")
_CURRENCY_SIGNS = ("€", "£", "$", "CHF", "EUR")


# The date in a heading, and what says that it is one; common practice, no source.
_MONTHS = "|".join(sorted({word for words in WORDS["month"].values() for word in words}))
_DATE = re.compile(
    r"(?:(?:gultig|valid[aeo]?|valable|vigente|en vigueur|stand|status|update|fassung) )?"
    r"(?:(?:ab|vom|seit|from|since|as of|dal?|del?|du|depuis|a partir d[ue]|au|desde|al|per|zum"
    r"|bis|until|hasta|im|in) )?(?:le |el )?(?<![a-z0-9])"
    rf"(?:(?:[0-3]?[0-9] )?(?:0?[1-9]|1[0-2]|{_MONTHS}) (?:20)?[23][0-9]"
    rf"|20[23][0-9](?: [01]?[0-9])*|[0-3]?[0-9] (?:{_MONTHS}))(?![a-z0-9])"
)


def undated(words: str) -> str:
    """The words of a heading without the date it bears: `tarif ht 02 2026` is `tarif ht`."""
    return " ".join(_DATE.sub(" ", words).split()) if any(map(str.isdigit, words)) else words


@dataclass(frozen=True, slots=True)
class Guess:
    """A field a heading may name.

    Attributes:
        field: our field.
        score: 100 for a phrase that is a heading by itself, less for a part or a near spelling.
        reason: one sentence.
    """

    field: ListField
    score: float
    reason: str


@lru_cache(maxsize=4096)
def score_heading(heading: str) -> tuple[Guess, ...]:
    """The fields a heading may name, best first; none for headings of other things."""
    words = words_of(_SIGNED.sub(lambda sign: _SIGNS[sign.group()], _JOINED.sub(" ", heading)))
    words = undated(words) or words
    if heading.strip() in _CURRENCY_SIGNS:
        return (Guess("price", 95.0, "it is the sign of a currency"),)
    if not words or len(words) > _LONGEST or not any(sign.isalpha() for sign in words):
        return ()
    exact = _exact(words) or _exact(_SPELT.sub(lambda run: run.group().replace(" ", ""), words))
    if exact:
        return tuple(Guess(name, 100.0, f"{heading.strip()!r} is a word for it") for name in exact)
    if words in NO_FIELD or words in DENYING or not DEVIATING.isdisjoint(words.split()):
        return ()
    found = _of_one(words) or _by_number(words) or _by_part(words) or _by_spelling(words)
    if not found and any(sign in heading for sign in _CURRENCY_SIGNS):
        return (Guess("price", 90.0, "it holds the sign of a currency"),)
    return found


def _exact(words: str) -> list[ListField]:
    """The fields of which a heading is just a name: by itself, or by each of its words.

    `Prezzo netto al pezzo IVA esclusa` names a price, and its other words change nothing in that.
    """
    listed = [name for name in FIELDS if words in HEADINGS[name]]
    if listed or words in NO_FIELD or words in PRICE_UNITS:
        return listed
    if gear_named(words) == "both":
        return ["teeth"]
    told = set(words.split()) - _LINKS
    if words.rpartition(" ")[2] in _LINKS:  # `Ref. A` is one of several
        return []
    return [
        name
        for name in FIELDS
        if (heads := WORDS["heads"].get(name, frozenset()))
        if not heads.isdisjoint(told) and told <= heads | WORDS["beside"][name]
    ]


@lru_cache(maxsize=4096)
def gear_named(words: str) -> str:
    """Which gear of a pair the words of a heading name: `pinion`, `wheel`, `both`, or none."""
    bare = [word for word in words.split() if word not in _COUNTING]
    counted = not WORDS["heads"]["teeth"].isdisjoint(words.split())
    named = _one_gear(" ".join(bare), counted=counted)
    halves = ((" ".join(bare[:at]), " ".join(bare[at:])) for at in range(1, len(bare)))
    pairs = (tuple(_one_gear(each, counted=counted) for each in two) for two in halves)
    return named or ("both" if ("pinion", "wheel") in pairs else "")


def _one_gear(phrase: str, *, counted: bool) -> str:
    if phrase in _PINION or (counted and phrase == "1"):
        return "pinion"
    return "wheel" if phrase in _WHEEL or (counted and phrase == "2") else ""


def is_silent(words: str) -> bool:
    """Whether a column with such a heading says nothing of the article: a barcode, a photo."""
    return words in _SILENT or not _CODES.isdisjoint(words.split())


def _of_one(words: str) -> tuple[Guess, ...]:
    """The price of one piece: `1 Stk`, `from 1 pc`."""
    one = _ONE_PIECE.fullmatch(words)
    return (Guess("price", 90.0, "it is the price of one piece"),) if one else ()


def _by_number(words: str) -> tuple[Guess, ...]:
    """Fields of a heading that is numbered: `Bezeichnung 2`, `VK1`."""
    bare = re.sub(r"(?<=[a-z]{2}) ?[1-9]$", "", words)
    guesses = score_heading(bare) if bare != words else ()
    return tuple(replace(guess, score=min(guess.score, 95.0)) for guess in guesses)


def _by_part(words: str) -> tuple[Guess, ...]:
    """Fields whose phrases stand in the heading as whole words; the longest phrase counts."""
    padded = f" {words} "
    if any(f" {phrase} " in padded for phrase in NO_FIELD if len(phrase) > 5 or " " in phrase):
        return ()
    found: list[tuple[int, ListField, str]] = []
    for name in FIELDS:
        inside = [
            phrase for phrase in HEADINGS[name] if len(phrase) > 2 and f" {phrase} " in padded
        ]
        if inside:
            best = max(inside, key=lambda phrase: (len(phrase), phrase))
            found.append((len(best), name, best))
    found.sort(reverse=True)
    return tuple(
        Guess(name, 95.0 if size == found[0][0] else 75.0, f"it holds the word {phrase!r}")
        for size, name, phrase in found
        if size * 2 >= found[0][0]
    )


def is_of_several(heading: str) -> bool:
    """Whether a heading is of the price of several pieces: `ab 10 Stk`."""
    return _SEVERAL.fullmatch(undated(words_of(heading))) is not None


def names_other_thing(heading: str) -> bool:
    """Whether a heading holds a word for none of our fields: a weight, a tax, an old price."""
    words = words_of(heading)
    other = (phrase for phrase in NO_FIELD | EXTRA_CHARGES if len(phrase) > 1)
    return not DEVIATING.isdisjoint(words.split()) or any(
        f" {phrase} " in f" {words} " for phrase in other
    )


def _by_spelling(words: str) -> tuple[Guess, ...]:
    from rapidfuzz import fuzz  # noqa: PLC0415 - start-up goes without it

    if len(words) < 5:
        return ()
    found = []
    for name in FIELDS:
        near = [
            (fuzz.ratio(words, phrase), phrase)
            for phrase in HEADINGS[name]
            if len(phrase) > 4 and digits_of(phrase) == digits_of(words)
        ]
        score, phrase = max(near, default=(0.0, ""))
        if score >= _NEAR:
            found.append(Guess(name, score * 0.9, f"it is spelt nearly like {phrase!r}"))
    return tuple(sorted(found, key=lambda guess: -guess.score))


def guess_fields(headings: Mapping[int, str]) -> dict[int, tuple[Guess, ...]]:
    """Guesses for each column that has a heading; columns without any are left out."""
    return {
        column: guesses
        for column, heading in headings.items()
        if (guesses := score_heading(heading))
    }


def mapped_columns(
    headings: Mapping[int, str], mapping: ListMapping
) -> tuple[dict[ListField, tuple[int, ...]], list[str]]:
    """The columns a supplier's mapping names.

    Headings agree where their words do: case, accents, punctuation and line breaks aside. Two
    headings joined by ` + ` name two columns that are read together, such as `Z1 + Z2`.

    Args:
        headings: column number to heading.
        mapping: the supplier's.

    Returns:
        Field to column numbers, one or two, and one sentence for each heading that is missing or
        stands twice.
    """
    found: dict[ListField, tuple[int, ...]] = {}
    troubles = []
    for name, wanted in mapping.columns.items():
        whole = _find_headed(wanted, headings)
        parts = [wanted] if whole or JOINT not in wanted else wanted.split(JOINT)
        columns = [whole] if whole else [_find_headed(part, headings) for part in parts]
        if all(len(same) == 1 for same in columns):
            found[name] = tuple(same[0] for same in columns)
        for part, same in zip(parts, columns, strict=True):
            if len(same) > 1:
                troubles.append(f"{len(same)} columns are headed {part!r} ({name})")
            elif not same:
                troubles.append(
                    f"no column is headed {part!r} ({name}){_near(part, name, headings)}"
                )
    return found, troubles


def _find_headed(wanted: str, headings: Mapping[int, str]) -> list[int]:
    """The columns with a heading: those that write it just so, else those whose words agree.

    Else the first of those that differ in a date only, or of which it is the lower line.
    """
    exact = [column for column, heading in headings.items() if heading.strip() == wanted.strip()]
    alike = exact or [column for column, heading in headings.items() if _same(heading, wanted)]
    if found := alike or list(headed_but_for_date(wanted, headings))[:1]:
        return found
    return _find_below(words_of(wanted), headings)


def _find_below(words: str, headings: Mapping[int, str]) -> list[int]:
    """The column of which some words are the lower line, where the upper heads another too."""
    told = {at: words_of(text) for at, text in headings.items()}
    upper = {at: each.removesuffix(f" {words}") for at, each in told.items()}
    return [
        at
        for at, each in upper.items()
        if each != told[at]
        and any(other.startswith(f"{each} ") for place, other in told.items() if place != at)
    ]


def headed_but_for_date(wanted: str, headings: Mapping[int, str]) -> dict[int, str]:
    """The columns whose headings are one that bears a date, or are it but for the date."""
    words = words_of(wanted)
    bare = undated(words)
    if not bare:
        return {}
    found = {at: each for at, text in headings.items() if undated(each := words_of(text)) == bare}
    dated = bare != words or any(each != bare for each in found.values())
    return {at: headings[at] for at in found} if dated else {}


def _same(one: str, other: str) -> bool:
    first, second = words_of(one), words_of(other)
    if first or second:
        return first == second
    return "".join(one.split()) == "".join(other.split())  # signs only, such as `#` or `€`


def _near(wanted: str, name: ListField, headings: Mapping[int, str]) -> str:
    written = {" ".join(heading.split()): heading for heading in headings.values()}
    near = nearest(wanted, written)
    if near is None:
        near = next(
            (
                shown
                for shown, heading in written.items()
                if any(guess.field == name for guess in score_heading(heading)[:1])
            ),
            None,
        )
    if near is None:
        return f"; the header has {or_list([repr(each) for each in written])}" if written else ""
    return f"; did you mean {near!r}?"


# ------------------------------------------------------------------ what prices are of

_PER = re.compile(
    r"(?:(?<![a-z])(?<![0-9] )(?:per|pro|je|par|por|lot de|a|for|x|zu)|(?<![0-9])(?<![0-9] )/)\s?"
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
        of_sets: whether most units are sets, so that a piece among them may be one gear.
    """

    pieces: int = 1
    currency: str = ""
    basis: str = ""
    unit_column: int = 0
    currency_column: int = 0
    of_sets: bool = False

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
            pieces = self._pieces_of(unit) or pieces
        if self.basis:
            text = f"{cell.text.strip()} ({self.basis})"
            return replace(cell, text=text, value=text, number_format="")
        if pieces.lstrip("0") in ("", "1"):
            return cell
        text = f"{cell.text.strip()} per {pieces}"
        return replace(cell, text=text, value=text, number_format="")

    def _pieces_of(self, unit: str) -> str:
        """How many pieces, or what else than a set, a cell of the column of units names."""
        folded = fold(unit)
        words = set(re.findall("[a-z]+", folded))
        if self.of_sets and words & _PIECES and words <= SINGLE_UNITS - _SETS:
            return f"one {re.sub('^[0-9 x]+', '', unit)}"
        found = _COUNT.fullmatch(folded)
        return found["pieces"] if found else "" if _is_single(unit) else unit

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


_SETS = SINGLE_UNITS & (cues.BOTH_GEARS | WORDS["column"]["sets"])
_PIECES = SINGLE_UNITS & (cues.UNITS | WORDS["column"]["pieces"])


def _are_sets(texts: Sequence[str]) -> bool:
    """Whether most of some folded units are sets or pairs."""
    sets = sum(1 for text in texts if not _SETS.isdisjoint(re.findall("[a-z]+", text)))
    return 2 * sets > len(texts)


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
    units = unit_column(sheet, rows, by_words) or unit_column(sheet, rows, by_words, PACKS) or 0
    terms = PriceTerms(
        unit_column=units,
        of_sets=units > 0 and _are_sets(_units_in(sheet, rows, units)),
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
        # `VPE Stück`: packs, and of what.
        bare = " ".join(word for word in each.split() if word not in SINGLE_UNITS)
        if each not in known and bare not in known:
            continue
        if any(map(_names_unit, _units_in(sheet, rows, column))):
            return column
    return None


def _units_in(sheet: Sheet, rows: Sequence[int], column: int) -> list[str]:
    """What some rows have in a column, folded, blanks left out."""
    return [text for row in rows if (text := fold(sheet.cell(row, column).text).strip())]
