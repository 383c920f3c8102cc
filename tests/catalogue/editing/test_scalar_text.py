"""Scalars as text: what we write, this reader (YAML 1.2) and PyYAML (YAML 1.1) read as one.

Sources: the catalogue's own reader and PyYAML; the words for true and false that PyYAML leaves
out (y, n) are from the YAML 1.1 type repository, and are held in a list here.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fitcheck.catalogue.editing.scalar_text import (
    block_text,
    can_stand_bare,
    double_quoted,
    inline_text,
)
from fitcheck.catalogue.editing.values import Bare, plain_data, same
from fitcheck.catalogue.source import source_from_bytes
from fitcheck.kernel.teeth import Pair
from tests.conftest import table

NUMBER_SIGNS = "0123456789-+.:_eExXobBaAfFtTzZ/, "
YAML_SIGNS = "aZ09 .,:;#-_/'\"\\[]{}&*!|>%@`?=~+^$()<\tüé漢\n"
TEXTS = st.one_of(
    st.text(NUMBER_SIGNS, min_size=1, max_size=10),
    st.text(YAML_SIGNS, min_size=1, max_size=10),
    st.text(
        st.characters(
            exclude_categories=["Cs", "Cc"], exclude_characters="\u2028\u2029\ufeff\ufffe\uffff"
        ),
        min_size=1,
        max_size=8,
    ),
    st.dates(dt.date(1, 1, 1)).map(str),
    st.times().map(str),
    st.floats().map(str),
    st.integers().flatmap(
        lambda n: st.sampled_from([str(n), hex(n), oct(n), bin(n), f"{n:_}", f"{n:,}", f"0{n}"])
    ),
    st.sampled_from(
        ["yes", "Yes", "NO", "on", "Off", "true", "FALSE", "null", "Null", "~", "=", "<<", ".inf"]
    ),
)


def ours(text: str) -> Any:
    source, findings = source_from_bytes("a.yaml", text.encode())
    assert findings == []
    assert source.root is not None
    assert source.two_readings == []
    return source.root.value


@settings(max_examples=5 * settings().max_examples, deadline=None)
@given(TEXTS, st.sampled_from(["", "'", '"']))
@example("1:30", "")
@example("190:20:30.15", "")
@example("685_230.15", "")
@example("2001-12-14 21:59:43.10 -5", "")
@example("0o17", "")
@example("1.", "")
@example("a\tb", "'")
def test_both_readers_read_a_text_as_it_was(text: str, quote: Any) -> None:
    plain_data(text)
    for shape in ("a: {}\n", "a: [{}, x]\n", "a: {{b: {}, c: x}}\n", "- {}\n", "a:\n  - {} # c\n"):
        flow = "[" in shape or "{{" in shape
        written = shape.format(inline_text(text, flow=flow, quote=quote))
        expected = eval_shape(shape, text)
        assert ours(written) == expected
        assert yaml.safe_load(written) == expected


@settings(max_examples=3 * settings().max_examples, deadline=None)
@given(TEXTS)
def test_both_readers_read_a_key_as_it_was(text: str) -> None:
    if "\n" in text:
        return
    for shape in ("{}: 1\n", "a: {{{}: 1, other key: 2}}\n"):
        written = shape.format(inline_text(text, flow=True, key=True))
        expected = {"a": {text: 1, "other key": 2}} if "{{" in shape else {text: 1}
        assert ours(written) == expected
        assert yaml.safe_load(written) == expected


def eval_shape(shape: str, text: str) -> Any:
    return {
        "a: {}\n": {"a": text},
        "a: [{}, x]\n": {"a": [text, "x"]},
        "a: {{b: {}, c: x}}\n": {"a": {"b": text, "c": "x"}},
        "- {}\n": [text],
        "a:\n  - {} # c\n": {"a": [text]},
    }[shape]


@settings(max_examples=3 * settings().max_examples, deadline=None)
@given(TEXTS, st.sampled_from(["|", ">"]), st.sampled_from(["\n", "\r\n", "\r"]))
def test_both_readers_read_a_block_of_lines_as_it_was(text: str, sign: str, eol: str) -> None:
    block = block_text(text, "    ", eol, sign)
    if block is None:
        return
    written = f"a: {block[0]}{eol}{block[1]}{eol}b: 1{eol}"

    assert ours(written) == {"a": text, "b": 1}
    assert yaml.safe_load(written) == {"a": text, "b": 1}


@pytest.mark.parametrize(
    "text",
    [
        *("MA-1544", "Marram spring list", "80/90-10", "15/44", "Dunlin Ten, red", "cover (new)"),
        *("漢字", "a#b", "http://x.example", "it's", "12 V", "x:y", "drawer A1"),
    ],
)
def test_plain_words_stand_bare(text: str) -> None:
    assert can_stand_bare(text, flow=False)


@table(
    "text",
    # y and n: YAML 1.1 type repository, bool.
    [
        *("1544", "007", "1E5", "1e3", "12:30", "15:38", "yes", "No", "y", "N", "2026-03-02"),
        *("0x1F", "1_000", ".5", "5.", "+1", "null", "~", "on", "=", "<<", "1,5", "a: b", "a #b"),
        *("- a", "", " a", "120-70", "0b11", "0o17", ".inf", "-.INF", ".nan", "190:20:30"),
        "2001-12-14t21:59:43.10-05:00",
    ],
)
def test_what_some_reader_takes_for_something_else_is_quoted(text: str) -> None:
    assert not can_stand_bare(text, flow=False)


def test_a_comma_or_colon_is_quoted_in_brackets_only() -> None:
    assert inline_text("a, b", flow=False) == "a, b"
    assert inline_text("a, b", flow=True) == '"a, b"'
    assert inline_text("x:y", flow=True) == '"x:y"'


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Decimal("49.90"), "49.90"),
        (Decimal("1E+2"), "100"),
        (Decimal("1E-7"), "0.0000001"),
        (Decimal("-0.50"), "-0.50"),
        (Decimal(100), "100"),
        (3, "3"),
        (True, "true"),
        (None, "null"),
        (Bare("15/44"), "15/44"),
    ],
)
def test_numbers_keep_their_digits(value: Any, text: str) -> None:
    assert inline_text(value, flow=True) == text
    assert same(plain_data(value), ours(f"a: {text}\n")["a"])


def test_double_quotes_escape_what_they_must() -> None:
    assert double_quoted('a "b" \\ c\n\td') == '"a \\"b\\" \\\\ c\\n\\td"'


@pytest.mark.parametrize(
    ("value", "trouble"),
    [
        ("a\x07b", "hidden character"),
        ("a\rb", "hidden character"),
        ("a\u2028b", "hidden character"),
        ("\ufeffa", "hidden character"),
        ("\ud800", "hidden character"),
        (Decimal("NaN"), "no finite number"),
        (Decimal("Infinity"), "no finite number"),
        (Decimal("1E+300"), "beyond what is read"),
        (10**60, "beyond what is read"),
        ({"a\nb": 1}, "cannot be a key"),
        ({"": 1}, "cannot be a key"),
        ({"<<": 1}, "cannot be a key"),
        ({"a": ["x", "\x00"]}, "item 2 of a"),
    ],
)
def test_what_no_reader_would_take_is_refused(value: Any, trouble: str) -> None:
    with pytest.raises(ValueError, match=trouble):
        plain_data(value)


@pytest.mark.parametrize("value", [1.5, b"x", object(), {1: "x"}, dt.datetime(2026, 3, 2)])
def test_other_types_are_wrong_use(value: Any) -> None:
    with pytest.raises(TypeError):
        plain_data(value)


@pytest.mark.parametrize(
    ("new", "old", "answer"),
    [
        (Decimal("49.90"), Decimal("49.9"), True),
        (Decimal(50), 50, True),
        (1, True, False),
        (0, False, False),
        (True, 1, False),
        ("1", 1, False),
        (None, "", False),
        (None, False, False),
        ("15/44", "15:44", False),
        (plain_data(Pair(15, 44)), "15:44", True),
        (plain_data(Pair(15, 44)), [15, 44], True),
        (plain_data(Pair(15, 44)), "15/45", False),
        (plain_data(Pair(15, 44)), ["x"], False),
        (plain_data(dt.date(2026, 3, 2)), "2026-03-02", True),
        (plain_data(dt.date(2026, 3, 2)), "2026-03-03", False),
        ([1, 2], [1, 2], True),
        ([1, 2], [2, 1], False),
        ({"a": 1, "b": 2}, {"b": 2, "a": 1}, True),
        ({"a": 1}, {"a": 1, "b": 2}, False),
        ({}, [], False),
        ([], {}, False),
    ],
)
def test_when_two_values_are_the_same(new: Any, old: Any, answer: bool) -> None:
    assert same(new, old) is answer
