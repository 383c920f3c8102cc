"""Tooth counts as people write them, and every way of getting them wrong."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from decimal import Decimal
from math import gcd, inf, nan
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fitcheck.kernel.teeth import (
    MAX_TEETH,
    MIN_TEETH,
    PAIR_PATTERN,
    Pair,
    TeethError,
    read_pair,
    read_train,
)
from tests.conftest import table

WRITTEN = [
    "15/38", "38/15", "15:38", "15x38", "15X38", "15×38", "15-38", "Z15/38", "z15/38",
    "Z15/Z38", "Z=15/38", "Z = 15 / Z = 38", "z 15:z 38", "15 to 38", "15to38", "15 TO 38",
    "38 to 15", "[15, 38]", "[38,15]", " [ 15 , 38 ] ",
    "15–38", "15—38", "15‐38", "15‑38", "15−38",  # en and em dash, hyphens, minus sign
    "15⁄38", "15∕38", "15∶38",  # fraction slash, division slash, ratio sign
    # full-width forms
    "１５/３８", "１５／３８", "１５：３８", "Ｚ１５／３８", "１５ｘ３８", "［１５，３８］",
    " 15/38", "15/38 ", "15 / 38", "15 :38", "15  x  38", "\t15\t/\t38\n", "15\u00a0/\u00a038",
    "15\u3000/\u300038", "\u200915/38", "015/038",
]  # fmt: skip


class TestReadPair:
    @pytest.mark.parametrize("text", WRITTEN)
    def test_one_pair_however_written(self, text: str) -> None:
        assert read_pair(text) == Pair(15, 38)

    @pytest.mark.parametrize("value", [[15, 38], [38, 15], (15, 38), (38, 15), Pair(15, 38)])
    def test_not_written_as_text(self, value: object) -> None:
        assert read_pair(value) == Pair(15, 38)

    @pytest.mark.parametrize(
        ("text", "pair"), [("5/200", (5, 200)), ("199/200", (199, 200)), ("6/5", (5, 6))]
    )
    def test_limits_are_inside(self, text: str, pair: tuple[int, int]) -> None:
        assert read_pair(text) == Pair(*pair)


HUGE = 10**5000  # more digits than Python writes out

REFUSED = [
    # equal
    ("15/15", "both gears have 15 teeth, which reduces nothing"),
    ([15, 15], "both gears have 15 teeth"),
    ("015:15", "both gears have 15 teeth"),
    # out of range
    ("4/38", "a gear with 4 teeth is out of range (5 to 200)"),
    ("15/201", "a gear with 201 teeth is out of range (5 to 200)"),
    ("0/38", "a gear with 0 teeth"),
    ([0, 38], "a gear with 0 teeth"),
    ((15, 1000), "a gear with 1000 teeth"),
    # negative
    ("-15/38", "a gear with -15 teeth is out of range"),
    ("15/-38", "a gear with -38 teeth"),
    ("15--38", "a gear with -38 teeth"),
    ([15, -38], "a gear with -38 teeth"),
    # fraction
    ("15.5/38", "15.5 is not a whole number of teeth"),
    ("15/38,5", "38,5 is not a whole number of teeth"),
    ("15.0/38", "15.0 is not a whole number of teeth"),
    ([15.0, 38], "a tooth count is a whole number, not 15.0"),
    ([15, Decimal("38.5")], "a tooth count is a whole number, not 38.5"),
    (15.38, "15.38 is no pair of tooth counts"),
    (Decimal("15.38"), "15.38 is no pair of tooth counts"),
    (nan, "nan is no pair of tooth counts"),
    (inf, "inf is no pair of tooth counts"),
    # boolean
    (True, "tooth counts are not yes or no"),
    (False, "tooth counts are not yes or no"),
    ([True, 38], "a tooth count is a whole number, not True"),
    ([15, False], "a tooth count is a whole number, not False"),
    # text
    ("fifteen to thirty-eight", "'fifteen to thirty-eight' is no pair of tooth counts"),
    ("15/abc", "'15/abc' is no pair of tooth counts"),
    ("15//38", "'15//38' is no pair"),
    ("15 38", "'15 38' is no pair"),
    ("/38", "'/38' is no pair"),
    ("15/", "'15/' is no pair"),
    ("15/\n\n38 teeth", "'15/\\n\\n38 teeth' is no pair"),
    ("1[15,38]", "'1[15,38]' is no pair"),
    (["15", "38"], "a tooth count is a whole number, not '15'"),
    (["15", 38], "a tooth count is a whole number, not '15'"),
    # look-alikes that a general compatibility fold would read as numbers
    ("15²/38", "'15²/38' is no pair"),
    ("⅚", "'⅚' is no pair"),
    ("①⑤/38", "'①⑤/38' is no pair"),
    # the base-60 trap: an old YAML reader makes 938 of 15:38
    (938, "938 is one number, perhaps 15:38 read in base 60; write 15/38"),
    (2295, "2295 is one number, perhaps 38:15 read in base 60; write 15/38"),
    (2766, "2766 is one number, perhaps 46:06 read in base 60; write 6/46"),
    ("938", "938 is one number, perhaps 15:38 read in base 60; write 15/38"),
    (915, "915 is one number, a pair has two"),
    (15, "15 is one number, a pair has two"),
    ("15", "15 is one number, a pair has two"),
    (-938, "-938 is one number, a pair has two"),
    (56321, "56321 is one number, a pair has two"),  # 15:38:41
    # how many
    ("15/38/41", "a pair has two tooth counts, here are 3"),
    ([15, 38, 41], "a pair has two tooth counts, here are 3"),
    ([15], "a pair has two tooth counts, here are 1"),
    ([], "a pair has two tooth counts, here are 0"),
    ("14-46-13-49", "4 tooth counts make 2 stages; part the stages with a comma"),
    # missing
    (None, "the tooth counts are missing"),
    ("", "the tooth counts are missing"),
    (" \t", "the tooth counts are missing"),
    ([None, 38], "a tooth count is a whole number, not None"),
    # huge
    ("9" * 5000 + "/38", "a gear with 9999999999999999999999999999999999999... teeth is out"),
    ("15/-" + "9" * 5000, "a gear with -999999999999999999999999999999999999... teeth is out"),
    ([HUGE, 38], "a gear with about 1e4983 teeth is out of range"),
    ([15, -HUGE], "a gear with about -1e4983 teeth is out of range"),
    (HUGE, "about 1e4983 is one number, a pair has two"),
    ("x" * 5000, "'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx... is no pair"),
    # things
    (b"\x0f\x26", "b'\\x0f&' is no pair of tooth counts"),
    (bytearray(b"15/38"), "is no pair of tooth counts"),
    ({"driver": 15, "driven": 38}, "{'driver': 15, 'driven': 38} is no pair"),
    ({15, 38}, "is no pair of tooth counts"),
    (dt.time(15, 38), "datetime.time(15, 38) is no pair"),
    ([[15, 38], [14, 46]], "a tooth count is a whole number, not [15, 38]"),
    ([[HUGE], 38], "a tooth count is a whole number, not a value of type list"),
]


@table(("value", "sentence"), REFUSED)
def test_refused_with_a_sentence(value: object, sentence: str) -> None:
    with pytest.raises(TeethError) as refusal:
        read_pair(value)
    said = str(refusal.value)
    assert sentence in said
    assert "\n" not in said
    assert len(said) < 200
    # Every sentence goes on to say what to do.
    assert re.search(r"write (it as driver/driven|\d+/\d+)|count again|part the stages", said)


class TestPair:
    def test_reduction_is_exact(self) -> None:
        assert (Pair(14, 46).reduction.numerator, Pair(14, 46).reduction.denominator) == (23, 7)

    def test_driver_is_the_smaller(self) -> None:
        with pytest.raises(TeethError, match=r"driver has more teeth \(38\) .* use read_pair"):
            Pair(38, 15)

    @pytest.mark.parametrize("counts", [(15, 15), (4, 38), (15, 201), (True, 38), (15, 38.0)])
    def test_no_pair_exists_that_reads_refuse(self, counts: tuple[int, int]) -> None:
        with pytest.raises(TeethError):
            Pair(*counts)

    def test_hunting(self) -> None:
        """21/22 hunts though neither count is prime; 30/11 and 31/11 repeat after 11 wheel turns.

        Source: Gleason, Gear Technology Solutions, page 96 (read). The axle pairs 41/10 and 41/11
        hunt too (read in a workshop article).
        """
        assert Pair(21, 22).hunting
        for pinion, wheel in ((11, 30), (11, 31)):
            pair = Pair(pinion, wheel)
            assert pair.hunting
            assert pair.turns_to_repeat == wheel
            assert pair.turns_to_repeat * pinion / wheel == 11
        assert Pair(10, 41).hunting
        assert Pair(11, 41).hunting
        assert not Pair(14, 46).hunting
        assert Pair(14, 46).turns_to_repeat == 23

    @given(st.integers(5, 60), st.integers(61, 200))
    def test_turns_to_repeat_by_turning(self, driver: int, driven: int) -> None:
        """The same two teeth meet again after the first whole turns of both gears."""
        pair = Pair(driver, driven)
        turns = next(n for n in range(1, driven + 1) if n * driver % driven == 0)
        assert pair.turns_to_repeat == turns
        assert pair.hunting == (turns == driven) == (gcd(driver, driven) == 1)


counts = st.integers(MIN_TEETH, MAX_TEETH)


@given(counts, counts)
def test_str_round_trip(first: int, second: int) -> None:
    if first == second:
        with pytest.raises(TeethError):
            read_pair(f"{first}/{second}")
        return
    pair = read_pair([first, second])
    assert (pair.driver, pair.driven) == (min(first, second), max(first, second))
    assert read_pair(str(pair)) == pair
    assert read_train(f"{second}:{first}") == (pair,)


def minutes_of(first: int, second: int) -> int:
    """What a YAML 1.1 reader makes of an unquoted first:second."""
    return 60 * first + second


@given(counts, st.integers(5, 59))
def test_base_60_is_seen_through(first: int, second: int) -> None:
    with pytest.raises(TeethError) as refusal:
        read_pair(minutes_of(first, second))
    expected = f"write {min(first, second)}/{max(first, second)}"
    assert (expected in str(refusal.value)) == (first != second)


leaves = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.decimals() | st.text()
    | st.binary() | st.dates() | st.builds(lambda: HUGE)
)  # fmt: skip
garbage = st.recursive(
    leaves,
    lambda inner: st.lists(inner) | st.tuples(inner, inner) | st.dictionaries(st.text(), inner),
    max_leaves=8,
)
nearly = st.text(alphabet="0123456789 zZ=/:xX×-–tToO.,[];+\n\t１５／²½", max_size=30)


def outcome(reader: Callable[[Any], object], value: object) -> object:
    """What a reader gives, or its sentence; anything but a TeethError goes through."""
    try:
        return reader(value)
    except TeethError as refusal:
        return str(refusal)


@settings(max_examples=8 * settings().max_examples)
@given(garbage | nearly)
@example("\ud800/15")
def test_garbage_is_a_pair_or_a_sentence(value: object) -> None:
    found = outcome(read_pair, value)
    if isinstance(found, Pair):
        assert MIN_TEETH <= found.driver < found.driven <= MAX_TEETH
    else:
        assert isinstance(found, str)
        assert found
        assert "\n" not in found


@settings(max_examples=8 * settings().max_examples)
@given(st.text() | nearly)
@example("1" * 10**5)
@example(" " * 10**5)
@example("z" + " " * 10**5)
@example("15" + " " * 10**5 + "!")
@example("15" + "-15" * 10**4 + "!")
def test_any_train_text_is_read_or_refused(text: str) -> None:
    found = outcome(read_train, text)
    if isinstance(found, tuple):
        assert 1 <= len(found) <= 3
        assert all(isinstance(pair, Pair) for pair in found)
    else:
        assert isinstance(found, str)
        assert found
        assert "\n" not in found
    # Whatever is one pair is also a train of one stage.
    alone = outcome(read_pair, text)
    if isinstance(alone, Pair) and len(text) <= 200:
        assert found == (alone,)


def accepts(text: str) -> bool:
    """Whether the reader takes a text for a pair, leaving equal counts aside."""
    found = outcome(read_pair, text)
    return isinstance(found, Pair) or str(found).startswith("both gears have")


class TestSchemaPattern:
    """The pattern of the schema takes exactly the ASCII spellings that the reader takes."""

    @settings(max_examples=4 * settings().max_examples)
    @given(st.from_regex(PAIR_PATTERN, fullmatch=True))
    def test_reader_takes_what_the_pattern_takes(self, text: str) -> None:
        assert accepts(text)

    @settings(max_examples=8 * settings().max_examples)
    @given(
        st.text(alphabet="0123456789 zZ=/:xX-tToO.,[]", max_size=14)
        | st.builds(
            "{0[0]}{1}{0[1]}{2}{0[2]}{3}{0[3]}{4}{0[4]}".format,
            st.lists(st.sampled_from(["", " ", "  ", "\t", "z", "Z=", "-", "0"]), min_size=5),
            st.sampled_from(["", "z", "Z ", "Z=", "["]),
            st.integers(0, 250).map(str) | st.decimals(0, 250, places=1).map(str),
            st.sampled_from(["/", ":", "x", "X", "-", "--", "to", "To", "t", ",", ".", " "]),
            st.integers(0, 250).map(str) | st.sampled_from(["z38", "Z = 38", "38]", "-38", "1e2"]),
        )
    )
    @example("0" * 500 + "15/38")
    @example(" " * 500 + "15/38")
    @example("Z[15,38]")
    def test_both_agree(self, text: str) -> None:
        assert (re.search(PAIR_PATTERN, text) is not None) == accepts(text)

    def test_spellings(self) -> None:
        for text in WRITTEN:
            if text.isascii():
                assert re.search(PAIR_PATTERN, text)
        for value, sentence in REFUSED:
            if isinstance(value, str) and value.isascii() and "both gears" not in sentence:
                assert not re.search(PAIR_PATTERN, value)

    @given(counts, counts, st.sampled_from("×‐‑‒–—―−⁄∕∶"))
    def test_signs_beyond_ascii(self, first: int, second: int, sign: str) -> None:
        text = f"{first} {sign} {second}"
        assert re.search(PAIR_PATTERN, text)
        assert accepts(text)

    def test_plain_ecma_262(self) -> None:
        """Nothing in it that ECMA 262 lacks: no named groups, inline flags or possessives."""
        assert PAIR_PATTERN.startswith("^")
        assert PAIR_PATTERN.endswith("$")
        assert set(re.findall(r"\(\?(.)", PAIR_PATTERN)) == {":"}
        assert set(re.findall(r"\\([A-Za-z])", PAIR_PATTERN)) <= {"s", "u"}


class TestReadTrain:
    @pytest.mark.parametrize(
        "text",
        [
            "14/46,13/49", "14/46, 13/49", "14/46;13/49", "14/46 13/49", "14/46+13/49",
            "14/46 + 13/49", " 14/46 ,, 13/49 ", "46/14 49/13", "14:46,13:49", "14x46 13x49",
            "14 x 46, 13 x 49", "14 / 46 13 / 49", "14-46 13-49", "14 - 46, 13 - 49",
            "14 to 46, 13 to 49", "14 to 46 13 to 49", "Z14/46,Z13/49", "Z 14/Z 46; Z = 13/49",
            "z14/z46 z13/z49", "[14, 46], [13, 49]", "[14,46] [13,49]", "[14,46],13/49",
            "１４／４６，１３／４９", "14–46 13–49", "14/46\n13/49", "14/46\t13/49",
        ],
    )  # fmt: skip
    def test_two_stages_however_written(self, text: str) -> None:
        assert read_train(text) == (Pair(14, 46), Pair(13, 49))

    def test_one_and_three_stages(self) -> None:
        assert read_train("15/38") == (Pair(15, 38),)
        assert read_train("20/50 25/75 26/65") == (Pair(20, 50), Pair(25, 75), Pair(26, 65))

    @given(st.lists(st.tuples(counts, counts).filter(lambda c: c[0] != c[1]), max_size=5))
    def test_round_trip(self, drawn: list[tuple[int, int]]) -> None:
        pairs = tuple(read_pair(c) for c in drawn)
        text = ",".join(str(pair) for pair in pairs)
        if 1 <= len(pairs) <= 3:
            assert read_train(text) == pairs
        else:
            with pytest.raises(TeethError):
                read_train(text)

    @table(
        ("text", "sentence"),
        [
            ("", "no tooth counts given"),
            (" , ", "no tooth counts given"),
            ("14/46 13/49 12/40 11/30", "one to three stages, here are 4"),
            ("14/46 - 13/49", "4 tooth counts make 2 stages; part the stages with a comma"),
            ("14,46", "'14,46' has no slash; write 14/46"),
            ("15,46 14,55", "write 15/46 14/55"),
            ("15 46 14 55", "write 15/46 14/55"),
            ("14,46,13", "14 is one number, a pair has two"),
            ("14/46,13/13", "both gears have 13 teeth"),
            ("1[14,46]", "'1[14' is no pair of tooth counts"),
            ("[14,46]9", "'[14' is no pair of tooth counts"),
            ("14/46,x", "'x' is no pair of tooth counts"),
            ("14/46,13/49.5", "49.5 is not a whole number of teeth"),
            ("14/46,-13/49", "a gear with -13 teeth is out of range"),
            ("14/46,3/49", "a gear with 3 teeth is out of range"),
            ("14/46 " * 100, "too long for a train"),
        ],
    )
    def test_refused_with_a_sentence(self, text: str, sentence: str) -> None:
        with pytest.raises(TeethError, match=re.escape(sentence)):
            read_train(text)
