"""Signs and codes of currencies beside an amount."""

from __future__ import annotations

__all__ = ["CODES", "SIGNS", "currencies_of"]


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


# ISO 4217 codes in use at the time of writing, those of funds and metals left out.
CODES = _words(
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
