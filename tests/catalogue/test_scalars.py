"""Plain scalars against the YAML 1.2.2 core schema (section 10.3.2) and the 1.1 types.

The 1.2 column is checked against the table of tag resolution in section 10.3.2 of the published
YAML 1.2.2 specification, and against ruamel.yaml's own resolver; the 1.1 readings against the
examples of the YAML 1.1 type repository (int: 190:20:30 is 685230, octal 02472256 is 685230;
bool: y, yes, on ...), both from memory.
"""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from fitcheck.catalogue.scalars import meaning_of, other_reading
from tests.conftest import table

CORE = {
    "": None,
    "~": None,
    "null": None,
    "Null": None,
    "NULL": None,
    "nULL": "nULL",
    "true": True,
    "True": True,
    "TRUE": True,
    "tRUE": "tRUE",
    "false": False,
    "yes": "yes",
    "no": "no",
    "on": "on",
    "0": 0,
    "-19": -19,
    "+12": 12,
    "007": 7,
    "0o7": 7,
    "0o14": 12,
    "0x3A": 58,
    "0b1": "0b1",
    "0.": Decimal(0),
    "-0.0": Decimal(0),
    ".5": Decimal("0.5"),
    "+12e03": Decimal(12000),
    "1E5": Decimal(100000),
    "-2E+05": Decimal(-200000),
    "14.90": Decimal("14.90"),
    "1e": "1e",
    ".": ".",
    "-": "-",
    "1.2.3": "1.2.3",
    "1_000": "1_000",
    "15:38": "15:38",
    "15/38": "15/38",
    "3.50-10": "3.50-10",
    "2026-03-31": "2026-03-31",
    "١٢": "١٢",
    "１５": "１５",
}


@table("text", CORE)
def test_a_plain_scalar_means_what_the_core_schema_says(text):
    value = meaning_of(text).value
    assert value == CORE[text]
    assert type(value) is type(CORE[text])


@pytest.mark.parametrize("text", [".inf", "-.Inf", "+.INF", ".nan", ".NaN", ".NAN"])
def test_infinities_and_not_a_number_are_numbers(text):
    value = meaning_of(text).value
    assert isinstance(value, Decimal)
    assert not math.isfinite(value)


def test_a_decimal_keeps_every_digit():
    assert str(meaning_of("64.90").value) == "64.90"
    assert meaning_of("0.1").value + meaning_of("0.2").value == Decimal("0.3")


@pytest.mark.parametrize(
    "text", ["9" * 41, "1e41", "1e-41", "1e999999999999999999999", "0x" + "f" * 60]
)
def test_numbers_out_of_bounds_stay_text(text):
    assert meaning_of(text) == (text, True, False)


@given(st.from_regex(r"\A[-+.0-9eExo_:~a-fA-FnulytrsNY]{1,12}\Z"))
def test_the_value_is_that_of_ruamel(text):
    """ruamel.yaml reads YAML 1.2 too; it takes underscores in numbers, which the core does not."""
    ours = meaning_of(text)
    theirs = YAML(typ="safe", pure=True).load(text) if _lone_scalar(text) else text
    if "_" in text or ours.too_long or not _lone_scalar(text):
        return
    if isinstance(theirs, float):
        assert isinstance(ours.value, Decimal | int)
        assert float(ours.value) == theirs or math.isnan(theirs)
    elif type(ours.value) is type(theirs):
        assert ours.value == theirs
    else:
        # ruamel leaves 1e5 a text and takes 0b1 and 1e for what 1.1 made of them.
        assert "e" in text.lower() or "b" in text.lower() or "." in text


def _lone_scalar(text: str) -> bool:
    return not (
        text.startswith(("-", "?", ":", ".."))
        or text.endswith(":")
        or text.strip() != text
        or text in ("...", "---")
    )


ELSEWHERE = {
    "15:38": "the number 938, read in base 60",
    "190:20:30": "the number 685230, read in base 60",
    "02472256": "the number 685230, read in base 8",
    "010": "the number 8, read in base 8",
    "685_230": "the number 685230",
    "yes": "true",
    "NO": "false",
    "Off": "false",
    "y": "true",
}


@pytest.mark.parametrize("text", ELSEWHERE)
def test_what_yaml_1_1_makes_of_it_is_said(text):
    assert meaning_of(text).two_readings
    assert other_reading(text) == ELSEWHERE[text]


@pytest.mark.parametrize(
    "text", ["15/38", "15:68x", "089", "8", "norway", "true", "1.5", "2026-03-31"]
)
def test_what_all_readers_take_alike_is_not_mentioned(text):
    assert not meaning_of(text).two_readings
    assert other_reading(text) is None
