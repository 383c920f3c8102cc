"""Amounts on the command line: what may be thousands is asked back, never guessed.

A point is the decimal mark in some countries and the mark between thousands in others, and so is a
comma (ISO 80000-1, 7.3.1, allows either as decimal mark; both as group marks are common practice,
no source).
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from fitcheck.cli.parameters import MONEY, SHARE
from fitcheck.errors import UsageError


@pytest.mark.parametrize(
    ("text", "ways"),
    [
        ("1.250", "write 1250 or 1.25"),
        ("1,250", "write 1250 or 1.25"),
        (" 1.000 ", "write 1000 or 1.00"),
        ("999,999", "write 999999 or 999.9990"),
        ("38.125", "write 38125 or 38.1250"),
        ("+1.250", "write 1250 or 1.25"),
    ],
)
def test_three_digits_behind_the_only_mark_are_refused(text: str, ways: str) -> None:
    with pytest.raises(UsageError) as refused:
        MONEY.read(text)
    assert str(refused.value).endswith(ways)
    assert "\n" not in str(refused.value)
    for way in ways.removeprefix("write ").split(" or "):
        MONEY.read(way)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1250", "1250"),
        ("1.25", "1.25"),
        ("1,2500", "1.25"),
        ("0.125", "0.125"),
        ("1234.567", "1234.567"),
        ("74,90", "74.90"),
    ],
)
def test_what_can_only_be_one_amount_is_taken(text: str, value: str) -> None:
    assert MONEY.read(text).amount == Decimal(value)


@pytest.mark.parametrize("text", ["1e3", "1_000", "\u0663", "1'000", "", ".", "1,000.50", "EUR 5"])
def test_what_is_no_plain_amount_is_refused(text: str) -> None:
    with pytest.raises(UsageError, match="is no sensible number; give an amount"):
        MONEY.read(text)


def test_rates_and_hours_have_no_thousands() -> None:
    assert SHARE.read("8.125") == Decimal("8.125")
    with pytest.raises(UsageError, match="below zero"):
        SHARE.read("-1")


@pytest.mark.parametrize(
    "words",
    [
        ["shelf", "price", "MA-1545", "1.250"],
        ["shelf", "receive", "MA-1545", "1", "--cost", "1,250"],
        ["shelf", "plan", "--budget", "1.000"],
        ["match", "dunlin-ten", "--max-price", "1.250"],
        ["edit", "MA-1545", "price=1,250"],
    ],
)
def test_every_command_refuses_it_in_one_line(words: list[str], run) -> None:
    ran = run(*words, env={"FITCHECK_CATALOG": "catalog"})
    assert ran.code == 2
    assert ran.out == ""
    assert ran.err.count("\n") == 1
    assert "may mean" in ran.err
