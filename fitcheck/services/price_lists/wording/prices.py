"""Amounts of money in a cell, and words that make a price one of several pieces."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from fitcheck.services.price_lists.reading.cells import Cell, plain_text
from fitcheck.services.price_lists.wording.amounts import (
    CODES,
    NUMBER,
    SIGNS,
    USUAL,
    Amount,
    DecimalMark,
    NumberStyle,
    Price,
    currencies_of,
    read_amount,
    style_of,
)
from fitcheck.services.price_lists.wording.cues import WORDS
from fitcheck.services.price_lists.wording.readings import (
    Reading,
    as_cell,
    as_digits,
    empty,
    fold,
    read,
    review,
    unreadable,
)

# Common practice of the trade, no source. `2 pcs` alone are the two gears of a pair.
_SOME = r"(?:[2-9]|[1-9][0-9]{1,2})"
_PACK = re.compile(
    r"(?<![a-z0-9])(?:"
    r"[2-9]\s?er[- ]?(?:pack(?:ung)?|set)|"
    rf"(?:packs?|packung|package|box|bag)\s?(?:of|a|von|mit|zu)\s?{_SOME}|"
    rf"(?:confezion[ei]|conf|pacc(?:o|hi))\.?\s?(?:da|di)?\s?{_SOME}|"
    rf"(?:lot|boite|paquet)\s?de\s?{_SOME}|"
    rf"(?:pack|paquete|caja|lote)\s?de\s?{_SOME}|"
    rf"(?:vpe|ve)\s?[:=]?\s?{_SOME}|"
    r"(?:preis|price|prezzo|prix|precio)[a-z ]{0,12} "
    r"(?:fur|fuer|for|of|per|pour|para|je|pro|di|de|la|al) "
    r"(?:[2-9]|(?:rad|zahnrad|ritzel|wheel|gear|pinion|ruota|ingranaggio|pignone|roue|pignon|rueda|"
    r"pinon)(?![a-z]))|"
    r"(?:vendue?s?|sold|verkauf|vendut[oi]|vendit[ao]|vendidos?|se vende|abgabe) "
    r"(?:nur |only |solo )?(?:par|in|per|a|zu|por|en|im|je|da) "
    rf"(?:[a-z]+ (?:(?:de|of|da|von) )?)?{_SOME}|"
    r"(?:satz|set|paar|pair|coppia|paire|jeu|juego|par) ?= ?[3-9]|"
    r"per (?:gear|pinion|gearwheel)|(?:je|pro) (?:rad|zahnrad|ritzel)|par (?:pignon|roue)|"
    r"por (?:rueda|pinon|engranaje)|(?:al|ad|cad\.?) (?:ingranaggio|pignone)"
    r")(?![a-z0-9.,/:])"
)


_SET = r"(?:pair|set|paar|satz|paio|coppia|paire|jeu|par|juego)"
_CENTS = re.compile(r"[0-9][.,][0-9]{2}(?![0-9])")
_AMOUNT = r"(?:€ ?|eur ?)?[0-9]{1,5}[.,][0-9]{2}(?![0-9])"
_OF_SET = re.compile(
    rf"(?<![a-z])(?:(?:per|pro|je|a|al|alla|la|le|el|the) )?{_SET}:? {_AMOUNT}"
    rf"|{_AMOUNT} ?(?:€|eur)? ?(?:per|pro|je|/|al|alla|la|le|el) ?{_SET}(?![a-z])"
)


_DISCOUNT = re.compile(
    r"(?<![a-z])(?:less|minus|abzgl\.?|abzuglich|abzueglich|rabatt|sconto|remise|descuento|discount"
    r"|meno|moins|menos)\s?(?:von|of|del?|du)?\s?:?\s?[0-9]{1,2}(?:[.,][0-9])?\s?%"
)


def pack_in(text: str) -> str:
    """The words of a free text that make another price of the amount beside it; or empty."""
    found = _PACK.search(folded := fold(text)) or _DISCOUNT.search(folded)
    return found.group() if found else ""


def pack_spans(folded: str) -> list[tuple[int, int]]:
    """Where a folded text makes another price of the amount beside it."""
    return [each.span() for pattern in (_PACK, _DISCOUNT) for each in pattern.finditer(folded)]


def set_price_in(text: str) -> str:
    """The words of a free text that give a price of the set or pair, folded; else empty."""
    if not _CENTS.search(text):
        return ""
    found = _OF_SET.search(fold(text))
    return found.group() if found else ""


_MOST = Decimal(1_000_000)
_SIGN = "|".join(sorted((re.escape(sign) for sign in SIGNS), key=len, reverse=True))
_CURRENCY = re.compile(rf"[€£¥₺₹₽]\.?|(?<![a-z])(?:{_SIGN}|[a-z]{{3}})(?![a-z])\.?")
# What may stand beside an amount without changing it: per piece, net or gross, tax words.
_BESIDE = re.compile(
    r"(?<![a-z])(?:netto|net|brutto|gross|lordo|brut|bruto|neto|ht|ttc|hors taxe"
    r"|inkl|incl|zzgl|excl|exkl|escl|plus|\+|iva|i\.v\.a|mwst|ust|vat|tva"
    r"|inclusa?|esclusa?|incluido|compris|included|excluded"
    r"|(?:pro|per|je|par|por|a|al|/) ?(?:stuck|stk|st|pezzo|pz|piece|pce|pc|pcs|unidad|ud|unite"
    r"|satz|set|kit)|each|ea|cad|cadauno|cadauna|l'uno|la piece|p\.p|uvp|rrp|pvp|vk|ek|listino"
    r"|stuck|stk|st|pz|pce|pc|satz|set|kit|preis|price|prezzo|prix|precio)(?![a-z])\.?"
)
_PRICE_HEAD = re.compile(r"(?:preis|prezzo|prix|precio|price)(?::| (?!list)) ?")
_NO_SIGNS = re.compile(r"[-?x./]+")
_LITERAL = re.compile(r'"([^"]*)"')
_PLACES = re.compile(r"[#0]\.(0+)")


def find_number_style(cells: Iterable[Cell | str]) -> NumberStyle:
    """How a column writes its amounts, told by those that can be read in one way only.

    Args:
        cells: all cells of the column, or their texts.

    Returns:
        The mark that all or nearly all (19 of 20) telling cells use; None where they disagree.
    """
    texts = Counter(cell.text for cell in map(as_cell, cells) if isinstance(cell.value, str))
    found: Counter[str] = Counter()
    for text, often in texts.items():
        if len(numbers := NUMBER.findall(fold(text))) == 1:
            found[numbers[0]] += often
    return style_of(found)


def read_price(
    cell: Cell | str,
    *,
    decimal_mark: DecimalMark | None = None,
    style: NumberStyle | None = None,
    currency: str | None = None,
) -> Reading[Price]:
    """The amount of money in a cell.

    Args:
        cell: the cell, or bare text.
        decimal_mark: the supplier's, where its mapping says so.
        style: how the whole column writes, from `find_number_style`.
        currency: the supplier's; settles signs that countries share, and a cell that names another
            one goes to review.

    Returns:
        The amount, exact. A number that can be read in two ways (`1.234`) and nothing settles, is
        for review; `on request` and the like are empty with the reason.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    value = cell.value
    if isinstance(value, bool):
        return unreadable(cell, "yes or no, not a price")
    if isinstance(value, (int, float)):
        return _of_number(cell, value, currency)
    if not isinstance(value, str):
        return _of_date(cell)
    return _of_text(cell, decimal_mark, style or NumberStyle(None), currency)


def _of_number(cell: Cell, value: float, currency: str | None) -> Reading[Price]:
    if not math.isfinite(value):
        return unreadable(cell, "no number")
    amount = Decimal(plain_text(value))
    named, trouble = _settle_currency(_format_currencies(cell.number_format), currency)
    beside = _shown_beside(cell.number_format)
    if "%" in cell.number_format:
        return review(cell, "a share in percent, not a price")
    if beside or trouble:
        why = f"its format shows {beside!r} beside it" if beside else trouble
        return review(cell, why, Price(amount, named), basis=beside or named or "")
    if -int(amount.as_tuple().exponent) <= 2:
        return _check_amount(cell, Price(amount, named))
    return _of_decimals(cell, Price(amount, named))


def _of_decimals(cell: Cell, price: Price) -> Reading[Price]:
    """A number with more decimals than money has, as its format shows it or for review."""
    shown = _PLACES.search(cell.number_format)
    step = Decimal(1).scaleb(-len(shown[1]) if shown else -2)
    rounded = Price(price.amount.quantize(step, ROUND_HALF_UP), price.currency)
    if shown and len(shown[1]) >= 2:
        return _check_amount(cell, rounded, f"{price.amount} as the sheet shows it")
    places = -int(price.amount.as_tuple().exponent)
    return review(cell, f"{price.amount} has {places} decimals", rounded, price)


def _shown_beside(code: str) -> str:
    """What a number format shows beside the number that makes it no plain price, or empty."""
    beside = "".join(_LITERAL.findall(code.partition(";")[0]))
    said = _bare(_take_currency(fold(beside), None, frozenset())[0])
    return beside.strip() if said else ""


def _format_currencies(code: str) -> tuple[str, ...]:
    """The currencies that the sign in a number format may mean; none where it shows none."""
    found = re.search(r"\[\$([^\]-]+)[^\]]*\]|([€£])|\"([^\"]{1,4})\"", code)
    return (currencies_of(next(filter(None, found.groups()))) or ()) if found else ()


def _settle_currency(meant: tuple[str, ...], currency: str | None) -> tuple[str | None, str]:
    """The one currency that is meant, and what is wrong with it.

    Args:
        meant: what a sign or code may mean; none where nothing is written.
        currency: the supplier's.
    """
    if not meant or currency in meant:
        return (currency if meant else None), ""
    if len(meant) > 1:
        return None, f"the currency may be any of {', '.join(meant)}" if currency else ""
    if currency:
        return meant[0], f"it is in {meant[0]}, the supplier's currency is {currency}"
    return meant[0], ""


def _of_date(cell: Cell) -> Reading[Price]:
    value = cell.value
    reason = "a spreadsheet made a date of it; look at the list"
    if isinstance(value, dt.date):
        written = dict.fromkeys(
            (f"{value.day}.{value.month:02d}", f"{value.month}.{value.day:02d}")
        )
        return review(cell, reason, *[Price(Decimal(each)) for each in written])
    return review(cell, "a spreadsheet made a time of it; look at the list")


def _of_text(
    cell: Cell, mark: DecimalMark | None, style: NumberStyle, currency: str | None
) -> Reading[Price]:
    text = fold(cell.text).strip()
    none = f"the list names no price ({cell.text.strip()[:40]!r})"
    if _is_none(text):
        return empty(cell, none)
    capitals = frozenset(word.lower() for word in re.findall(r"[A-Z]{3}", cell.text))
    text, named, trouble = _take_currency(text, currency, capitals)
    if not trouble and named is None:
        # The header, or the format of the cell, may name what the text does not.
        named, trouble = _settle_currency(_format_currencies(cell.number_format), currency)
    if trouble and named is None:
        return review(cell, trouble)
    if named and currency and named != currency:
        trouble = f"it names {named}, the supplier's currency is {currency}"
    bare = _bare(text)
    if not any(map(str.isdigit, bare)):
        nothing = not bare or _is_none(bare)
        return empty(cell, none) if nothing else unreadable(cell, "no amount of money")
    beside = _beside(bare)
    misread = _misread(cell, mark, style, currency) if beside else None
    bare, basis = _parted(bare) if beside else (bare, "")
    if misread is not None or (beside and not basis):
        return misread or review(cell, beside)
    return _of_amount(cell, read_amount(bare, mark, style), named, trouble=trouble, basis=basis)


def _is_none(text: str) -> bool:
    """Whether a folded text, or one behind `Preis`, stands instead of a price."""
    if _NO_SIGNS.fullmatch(text):
        return True
    none = WORDS["price"]["none"] | WORDS["price"]["gone"]
    for point in ("", " "):  # p.o.a., s.listino
        said = " ".join(text.replace(".", point).split())
        if said in none or _PRICE_HEAD.sub("", said, count=1) in none:
            return True
    return False


def _of_amount(
    cell: Cell, amount: Amount, named: str | None, *, trouble: str, basis: str
) -> Reading[Price]:
    """What an amount comes to, with its currency, what is wrong with that, and words beside it."""
    if amount.value is None:
        return review(cell, amount.reason, *[Price(each, named) for each in amount.possible])
    price = Price(amount.value, named)
    if basis or trouble:
        why = trouble or f"{basis!r} stands beside it"
        return review(cell, why, price, basis=basis or named or "")
    return _check_amount(cell, price)


def _misread(
    cell: Cell, mark: DecimalMark | None, style: NumberStyle, currency: str | None
) -> Reading[Price] | None:
    """What a cell may say whose digits were mistaken for letters: `49,9O`."""
    if (digits := as_digits(cell.text)) == cell.text:
        return None
    meant = read_price(digits, decimal_mark=mark, style=style, currency=currency).value
    return None if meant is None else review(cell, f"is it {meant}?", meant)


def _parted(bare: str) -> tuple[str, str]:
    """An amount, and the words beside it by which it is of something else: `99,80 per 2`."""
    found = _AND_BASIS.fullmatch(bare)
    if found is None or NUMBER.search(re.sub("[0-9]{1,4}", "", found["basis"])):
        return bare, ""
    return found["amount"], found["basis"].strip(" ()")


_AND_BASIS = re.compile(
    rf"(?P<amount>{NUMBER.pattern})(?:\s+|(?=[(/]))(?P<basis>[(/]?\s?[a-z][^|]*)"
)


def _bare(text: str) -> str:
    """The number alone, words that change nothing left out."""
    text = re.sub(r"([.,][0-9]{2})[.,]\s?-{1,2}(?![0-9-])", r"\1", text.strip())  # 12.50.-
    text = re.sub(r"([0-9][.,])\s?-{1,2}(?![0-9-])", r"\g<1>00", text)  # 12,- and 12.--
    bare = text
    if _BESIDE.search(text):
        text = re.sub(r"(?<![0-9.,])[0-9]{1,2}(?:[.,][0-9])? ?%", " ", text)
        bare = _BESIDE.sub(lambda found: _gap(text, found), text)
        bare = re.sub(r"[()=*:/]", " ", bare)
    bare = re.sub(r"^[=:* ]+|[* ]+$", "", bare)
    return re.sub(r" +", " ", bare).strip()


def _gap(text: str, found: re.Match[str]) -> str:
    """What is left of a word beside the amount: between two numbers it keeps them two."""
    before, behind = text[: found.start()].rstrip(" ."), text[found.end() :].lstrip(" .:=")
    return "|" if before[-1:].isdigit() and behind[:1].isdigit() else " "


def _beside(bare: str) -> str:
    """What else than one number stands there, or empty."""
    if re.fullmatch(r"-\s?[0-9].*|[0-9].*-|\([0-9].*\)", bare):
        return "an amount below zero"
    if NUMBER.fullmatch(bare):
        return ""
    return (
        "more than one number"
        if len(NUMBER.findall(bare)) > 1
        else ("other words stand beside the amount")
    )


def _take_currency(
    text: str, currency: str | None, capitals: frozenset[str]
) -> tuple[str, str | None, str]:
    """The text without its currency, the currency's code, and what is wrong with it.

    Codes are written in capitals, but for the usual ones: `cad.` is Italian for each.
    """
    named: str | None = None
    for found in _CURRENCY.finditer(text):
        meant = currencies_of(found.group())
        word = found.group().rstrip(".")
        if meant is None or (word.upper() in CODES and word not in (*USUAL, *capitals)):
            continue
        code = meant[0] if len(meant) == 1 else (currency if currency in meant else None)
        if code is None:
            return text, None, f"{found.group()!r} may be any of {', '.join(meant)}"
        if named not in (None, code):
            return text, None, f"it names both {named} and {code}"
        named = code
        text = text[: found.start()] + " " * len(found.group()) + text[found.end() :]
    return text, named, ""


def _check_amount(cell: Cell, price: Price, reason: str = "") -> Reading[Price]:
    if price.amount < 0:
        return review(cell, "an amount below zero")
    if price.amount == 0:
        return review(cell, "the price is zero; was it left open?", price)
    if price.amount > _MOST:
        return review(cell, f"{price.amount} is over a million; is it a part number?")
    return read(cell, price, reason)
