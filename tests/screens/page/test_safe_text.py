"""Text from others: nothing that steers gets through, and what people write does.

Categories of characters are those of the Unicode Standard, chapter 4.5, as Python carries them;
the marks that turn the direction of writing are those of UAX #9, table 4.
"""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup

from fitcheck.screens.page.view import clean, shorten

TURNING = [0x202A, 0x202B, 0x202C, 0x202D, 0x202E, 0x2066, 0x2067, 0x2068, 0x2069]
JOINERS = "\u200c\u200d"

anything = st.text(st.characters(), max_size=60)


@given(anything)
def test_nothing_left_steers_or_hides(text: str) -> None:
    shown = clean(text)

    for char in shown:
        assert unicodedata.category(char) not in ("Cc", "Cs", "Zl", "Zp"), hex(ord(char))
        assert unicodedata.category(char) != "Cf" or char in JOINERS, hex(ord(char))
    assert "  " not in shown
    assert shown == shown.strip(" ")
    shown.encode("utf-8")  # no half characters
    assert clean(shown) == shown


@given(anything, st.integers(1, 30))
def test_what_is_clipped_is_no_longer_than_asked(text: str, most: int) -> None:
    shown = shorten(text, most)

    assert len(shown) <= most
    if len(clean(text)) <= most:
        assert shown == clean(text)
    else:
        assert shown.endswith("…")
        assert clean(text).startswith(shown[:-1])


@pytest.mark.parametrize("turn", TURNING, ids=hex)
def test_marks_that_turn_the_direction_are_shown(turn: int) -> None:
    assert clean(f"a{chr(turn)}b") == "a\ufffdb"


@pytest.mark.parametrize(
    "text",
    [
        "Rosa's Dunlin Ten",
        "Åsa Öberg & Søn",
        "Đặng Thị Ngọc",  # two accents on one letter
        "שָׁלוֹם",  # points under and over Hebrew letters
        "می‌خواهم",  # Persian needs the zero-width non-joiner
        "क्‍ष",  # Devanagari with a joiner
        "👩‍🔧",  # one sign of three
        "1 234,50 kr",  # blanks that never break
        "1 234,50",
    ],
)
def test_what_people_write_stays(text: str) -> None:
    assert clean(text) == unicodedata.normalize("NFC", text)


def test_white_space_becomes_single_blanks() -> None:
    assert clean("\n a\t\tb\r\nc\u2028d \x0be ") == "a b c d e"


def test_what_hides_between_letters_goes() -> None:
    assert clean("a\u200eb\u200fc\xadd\ufeffe") == "abcde"
    assert clean("a\x00b\x1b[31m\x9bc") == "a\ufffdb\ufffd[31m\ufffdc"
    assert clean("half \udc9f") == "half \ufffd"


def test_accents_do_not_pile_up() -> None:
    heap = "Z" + "\u0301\u0316" * 500

    assert len(clean(heap)) <= 5
    assert clean("e" + "\u0301" * 3 + "x")[-1] == "x"


def test_a_cut_never_parts_a_letter_from_its_accent() -> None:
    assert shorten("abx\u0323\u0307yz", 4) == "ab…"
    assert shorten("ab  cdef", 4) == "ab…"


def test_markup_of_the_templates_and_figures_pass() -> None:
    assert clean(Markup("<b> x </b>")) == Markup("<b> x </b>")
    assert clean(12.5) == 12.5
    assert clean(None) is None
