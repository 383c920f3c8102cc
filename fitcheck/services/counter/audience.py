"""Words for the shop, and the words that a customer reads in their place.

What the shop needs to act, an option of a command or a place in a file, is no matter of the
customer's. It stays apart from the sentence from the line that says it to the page that shows it.
"""

from __future__ import annotations

from fitcheck.catalogue.reader import Entry, R_co

_RECORDS = {
    "machine": "the shop's record of this machine",
    "family": "the factory figures of this engine family",
}


class ShopWords(str):
    """A text as the shop reads it.

    Attributes:
        customer: what a customer reads in its place.
    """

    customer: str

    def __new__(cls, text: str, customer: str = "") -> ShopWords:
        """Make one; its own text is what the shop reads."""
        words = super().__new__(cls, text)
        words.customer = customer
        return words


def for_customer(words: str) -> str:
    """What a customer reads: of words that are the same for all, themselves."""
    return words.customer if isinstance(words, ShopWords) else words


def with_hint(sentence: str, hint: str, mark: str = "; ") -> ShopWords:
    """A sentence for everybody, and behind a mark what the shop can do about it."""
    return ShopWords(f"{sentence}{mark}{hint}", sentence)


def around(words: str, before: str = "", after: str = "") -> str:
    """The same words with others around them, for both."""
    if not isinstance(words, ShopWords):
        return f"{before}{words}{after}"
    return ShopWords(f"{before}{words}{after}", f"{before}{words.customer}{after}")


def on_record(entry: Entry[R_co], *steps: str | int) -> ShopWords:
    """Where a value stands: its place in the file, for the customer whose record it is."""
    return ShopWords(entry.place(*steps), _RECORDS.get(entry.kind, "the shop's catalogue"))
