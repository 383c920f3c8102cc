"""Bands and percent windows: exact, inclusive edges, many spellings, clear refusals."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from fitcheck.services.counter.subject import Band, BandVerdict, band_of
from fitcheck.services.upkeep.typed_values import read_window
from tests.conftest import table

F = Fraction
HAIR = Fraction(1, 10**40)


@pytest.mark.parametrize(
    ("text", "window"),
    [
        ("10..15", (10, 15)),
        (" 10 .. 15 ", (10, 15)),
        ("10%..15%", (10, 15)),
        ("10 % .. 15 %", (10, 15)),
        ("+10..+15", (10, 15)),
        ("-12.5..0", (F("-12.5"), 0)),
        ("-12,5..2,25", (F("-12.5"), F("2.25"))),
        ("−5..−1", (-5, -1)),  # the minus sign of typeset text
        ("–5..0", (-5, 0)),  # a dash that an editor made of it
        ("..20", (None, 20)),
        ("5..", (5, None)),
        ("-8..", (-8, None)),
        ("15..15", (15, 15)),
        ("0.1..0.3", (F(1, 10), F(3, 10))),
        (".5..1.5", (F(1, 2), F(3, 2))),
        ("33.3333333333..34", (F(333333333333, 10**10), 34)),
        ("-100..0", (-100, 0)),
        ("-250..-99.9", (-250, F("-99.9"))),
        ("007..010", (7, 10)),
    ],
)
def test_windows_as_people_write_them(text, window):
    assert read_window(text) == window


@pytest.mark.parametrize("dash", "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe63\uff0d")
def test_every_dash_that_an_editor_makes_of_a_minus_is_one(dash):
    assert read_window(f"{dash}5..{dash}1") == (-5, -1)


@pytest.mark.parametrize("dash", "\u200f\u2016\u2211\u2213~_")
def test_what_only_looks_like_a_minus_is_refused(dash):
    with pytest.raises(UsageError, match="percentage"):
        read_window(f"{dash}5..10")


def test_a_percentage_has_up_to_twenty_characters_and_is_up_to_a_million():
    assert read_window("1.234567890123456789..") == (F("1.234567890123456789"), None)
    assert read_window("-1000000..1000000") == (-1_000_000, 1_000_000)
    for text in ("1.2345678901234567890..", "..1000000.1", "-1000000.1.."):
        with pytest.raises(UsageError, match="percentage"):
            read_window(text)


@table(
    "text",
    [
        *("", " ", "..", "%..%", "10", "10-15", "10 to 15", "10:15", "[10, 15]", "true..false"),
        *("10...15", "0...5", "....", "10..15..20", "a..b", "10..x", "x..10", "1.2.3..5"),
        *("1e1..2e1", "1/2..3", "1_0..15", "0x10..20", "1,2,3..5", "²..5", "٣..٥", "10 5..20"),
        *("1+5..20", "+-5..5", "--5..5", "5-..10", "10%%..15", "1%0..15", "%5..10"),
        *("nan..5", "inf..", "..inf", "10..1e9", "..9999999", "1" * 500 + "..2"),
        *("15..10", "0..-1", "..-100", "..-250"),
    ],
)
def test_what_is_no_window_is_refused_in_one_line(text):
    with pytest.raises(UsageError) as refused:
        read_window(text)
    message = str(refused.value)
    assert "\n" not in message
    assert len(message) < 200
    assert "like 10..15" in message


@given(st.decimals(-99, 99, places=6), st.decimals(0, 99, places=6), st.sampled_from([".", ","]))
def test_every_decimal_is_read_exactly(low, width, mark):
    high = low + width
    text = f"{low:f}..{high:f}".replace(".", mark).replace(mark * 2, "..")
    assert read_window(text) == (Fraction(low), Fraction(high))


def test_edges_are_inside_to_a_hair():
    band = Band(F(10), F("12.5"), F("17.1"), "stock", narrowed=False)
    verdicts = [
        (F(-1, 10**40), BandVerdict.SHORTER),
        (F(0), BandVerdict.BELOW),
        (10 - HAIR, BandVerdict.BELOW),
        (F(10), BandVerdict.IN),
        (F("12.5"), BandVerdict.IN),
        (F("12.5") + HAIR, BandVerdict.STRETCH),
        (F("17.1"), BandVerdict.STRETCH),
        (F("17.1") + HAIR, BandVerdict.OVER),
    ]
    assert [band.verdict(change) for change, _ in verdicts] == [word for _, word in verdicts]


def test_a_band_under_zero():
    band = Band(F(-20), F(-5), F(2), "trial", narrowed=False)
    changes = [F(-21), F(-20), F(-5), F(-4), F(0), F(2), F(3)]
    assert [band.verdict(change).value for change in changes] == [
        *["shorter", "in", "in", "shorter", "stretch", "stretch", "over"]
    ]


def load_band(load_records, tune, own):
    catalogue = load_records(
        {
            "tune": {"stock": {"name": "standard engine", **tune}},
            "family": {
                "knot": {
                    "name": "Knot",
                    "housings": {"short": {"name": "short"}},
                    "stages": {"single": {}},
                    "bands": own,
                }
            },
        }
    )
    return band_of(catalogue.tunes["stock"], catalogue.families["knot"])


TUNE = {"low": 10, "high": Decimal("15.10"), "stretch": Decimal("17.3")}


@pytest.mark.parametrize(
    ("tune", "own", "edges", "narrowed"),
    [
        (TUNE, {}, ("10", "15.1", "17.3"), False),
        (TUNE, {"race": {"low": 1}}, ("10", "15.1", "17.3"), False),
        (TUNE, {"stock": {"high": Decimal("12.5")}}, ("10", "12.5", "17.3"), True),
        (TUNE, {"stock": {"low": Decimal("0.1"), "stretch": 30}}, ("0.1", "15.1", "30"), True),
        (TUNE, {"stock": {"high": 20}}, ("10", "20", "20"), True),  # widened past the stretch
        (TUNE, {"stock": {"low": -5, "high": 0, "stretch": 0}}, ("-5", "0", "0"), True),
        (TUNE, {"stock": {}}, ("10", "15.1", "17.3"), False),
        ({"low": 10, "high": 15}, {}, ("10", "15", "15"), False),
        ({"low": 10, "high": 15}, {"stock": {"high": 12}}, ("10", "12", "12"), True),
    ],
)
def test_a_family_narrows_or_widens_a_tune(load_records, tune, own, edges, narrowed):
    """Read from YAML: 15.1 is 151/10, not the float beside it."""
    band = load_band(load_records, tune, own)
    assert (band.low, band.high, band.stretch) == tuple(map(Fraction, edges))
    assert band.narrowed is narrowed
    assert band.name == "standard engine"
