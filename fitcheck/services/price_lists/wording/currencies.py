"""Signs and codes of currencies beside an amount."""

from __future__ import annotations

import re
from functools import lru_cache

from fitcheck.services.price_lists.wording.cues import words_in
from fitcheck.services.price_lists.wording.folding import fold

# ISO 4217 codes in use at the time of writing, those of funds and metals left out.
CODES = words_in(
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN "
    "BZD CAD CDF CHF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL "
    "GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF "
    "KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN "
    "MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD "
    "SCR SDG SEK SGD SHP SOS SRD SSP STN SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD "
    "UYU UZS VES VND VUV WST XAF XCD XOF XPF YER ZAR ZMW"
)

SIGNS: dict[str, tuple[str, ...]] = {
    "€": ("EUR",),
    "euro": ("EUR",),
    "euros": ("EUR",),
    "£": ("GBP",),
    "us$": ("USD",),
    "sfr": ("CHF",),
    "fr": ("CHF",),
    "zł": ("PLN",),
    "zl": ("PLN",),
    "kč": ("CZK",),
    "kc": ("CZK",),
    "ft": ("HUF",),
    "lei": ("RON",),
    "$": ("USD", "CAD", "AUD", "NZD", "MXN", "SGD", "HKD"),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "¥": ("JPY", "CNY"),
    "₺": ("TRY",),
    "₹": ("INR",),
    "₽": ("RUB",),
}
"""What a sign may mean, folded; more than one where countries share it."""


def currencies_of(word: str) -> tuple[str, ...] | None:
    """The currencies a sign or code may mean, or None where it is neither."""
    bare = word.strip().rstrip(".").lower()
    if bare.upper() in CODES:
        return (bare.upper(),)
    return SIGNS.get(bare)


USUAL = ("eur", "gbp", "usd", "chf", "sek", "nok", "dkk", "pln", "czk", "huf", "ron")
# Signs that are plain in a line of words; `fr` and `kr` may be words there.
PLAIN_SIGN = re.compile(
    rf"(?<![a-z])(?:{'|'.join(USUAL)}|euros?|sfr)(?![a-z])"
    rf"|{'|'.join(re.escape(sign) for sign in SIGNS if not sign.isalpha())}"
)
# Names of currencies, of which a bare `francs` or `pounds` may be any country's.
_SPELT = (
    (
        re.compile(
            r"franchi svizzeri|schweizer franken|francs suisses|francos suizos|swiss francs?"
        ),
        "chf",
    ),
    (
        re.compile(
            r"(?:us-?|american[oi]? |americains )?(?:dollars?|dollari|dolares)"
            r"(?: (?:usa?|americains|americani|americanos))?"
        ),
        "usd",
    ),
    (
        re.compile(
            r"(?:british )?pounds? sterling|sterline|livres sterling|libras esterlinas|"
            r"britische pfund"
        ),
        "gbp",
    ),
)
_MAY_STATE = re.compile(
    rf"[€£$¥₺₹₽]|{'|'.join(USUAL)}|sfr|sviz|schwei|suiss|suizo|swiss|dolla|dolar|sterl|pfund"
)
# Common practice, no source.
OF_PRICES = r"[a-z]*preise?n?|prices?|prezz[oi]|prix|precios?|tarif[a-z]*|listin[oi]"
"""Words for prices and lists of them, folded, as a part of a pattern."""

_OF_PRICES = re.compile(
    rf"(?<![a-z])(?:{OF_PRICES}|wahrung|waehrung|currency|valuta|divisa|devise|moneda|monnaie)"
    r"(?![a-z])"
)
_AMOUNT_BESIDE = re.compile(r"[0-9][.,0-9'-]*\s?$")
_FEW = 2
"""So many words may stand beside a currency in a line that is of nothing else."""


@lru_cache(maxsize=4096)
def stated_currency(text: str, *, of_prices: bool = False) -> str:
    """The currency in which a line says that prices are: `All prices in USD`, or `CHF` alone.

    Args:
        text: a line, a remark or the name of a sheet.
        of_prices: whether it must speak of prices.

    Returns:
        The sign or code as written, folded; empty where it names none, several, or an amount such
        as `free from 500 EUR`.
    """
    if not _MAY_STATE.search(text.lower()):
        return ""
    folded = fold(text)
    for name, code in _SPELT:
        folded = name.sub(code, folded)
    found: dict[tuple[str, ...], str] = {}
    rest = folded
    for sign in PLAIN_SIGN.finditer(folded):
        if _AMOUNT_BESIDE.search(folded[: sign.start()]) or re.match(
            r"\s?[0-9]", folded[sign.end() :]
        ):
            return ""
        found[currencies_of(sign.group()) or ()] = sign.group()
        rest = rest.replace(sign.group(), " ")
    if len(found) != 1:
        return ""
    words = re.findall(r"[a-z0-9]+", rest)
    alone = len(words) <= _FEW and not any(map(str.isdigit, rest))
    if _OF_PRICES.search(folded) or (alone and not of_prices):
        return next(iter(found.values()))
    return ""
