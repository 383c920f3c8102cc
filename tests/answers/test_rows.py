"""Answers as CSV and Markdown rows.

Judges from outside: Python's own csv reader, and pandas' (RFC 4180); for Markdown the CommonMark
parser markdown-it-py with its GitHub-style tables. What a spreadsheet takes for a formula is
common practice, no source.
"""

from __future__ import annotations

import csv
import io
import re
from decimal import Decimal

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from fitcheck.answers.identify import identify_table
from fitcheck.answers.match import match_answer, match_table, options_table
from fitcheck.answers.tables import Figure, csv_text, markdown_text
from fitcheck.catalogue.reader import Catalogue
from fitcheck.kernel.teeth import read_train
from fitcheck.services.counter.identify import identify
from fitcheck.services.counter.match import Match, match
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from tests.conftest import EXPLORE, some

FORMULA = re.compile(r"[=+\-@\t\r\n]")
NASTY = st.text(
    st.sampled_from("ab1 =+-@\t\r\n\"',;|\\<>&*_`[]()~#!:/\x00\x85\u2028＝＠é"), max_size=12
)


def table(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def markdown(text: str) -> list[list[str]]:
    """The rows of the one table that a reader of Markdown sees, its head first, as plain text."""
    tokens = MarkdownIt("commonmark").enable("table").parse(text)
    assert [t.type for t in tokens].count("table_open") == 1
    assert tokens[-1].type == "table_close", "the table breaks off"
    rows: list[list[str]] = []
    for token in tokens:
        if token.type == "tr_open":
            rows.append([])
        elif token.type == "inline":
            assert {t.type for t in token.children or []} <= {"text", "text_special"}, token
            rows[-1].append("".join(t.content for t in token.children or []))
    return rows


# ---------------------------------------------------------------- cells


@given(st.lists(st.tuples(NASTY, NASTY, NASTY), max_size=4))
def test_whatever_text_csv_reads_back_as_one_row_each_and_no_formula(
    rows: list[tuple[str, str, str]],
) -> None:
    text = csv_text(["a", "b", "c"], rows)
    assert text.endswith("\n")
    assert "\r" not in text
    assert text.count("\n") == 1 + len(rows)
    found = list(csv.reader(io.StringIO(text, newline="")))[1:]
    for row, back in zip(rows, found, strict=True):
        for given_text, cell in zip(row, back, strict=True):
            assert not FORMULA.match(cell.lstrip(" "))
            plain = re.sub(r"[\x00-\x1f\x85\u2028]+", " ", given_text)
            assert cell in {plain, f"'{plain}"}


@given(st.lists(st.tuples(NASTY, NASTY), min_size=1, max_size=4))
def test_whatever_text_markdown_shows_it_and_nothing_else(rows: list[tuple[str, str]]) -> None:
    body = [(f"x{a}", f"x{b}") for a, b in rows]
    found = markdown(markdown_text(["a", "b"], body))
    assert found[0] == ["a", "b"]
    for row, back in zip(body, found[1:], strict=True):
        shown = [re.sub(r"[\x00-\x1f\x85\u2028]+", " ", cell).strip() for cell in row]
        assert back == shown


@pytest.mark.parametrize("cell", ["=1", "+1", "-1", "@x", "\t=1", "\r=1", " =1", "＝1"])
def test_text_that_begins_like_a_formula_is_disarmed(cell: str) -> None:
    (row,) = table(csv_text(["a", "b"], [[cell, "1"]]))
    assert row["a"].startswith("'")


def test_figures_of_our_own_keep_their_sign() -> None:
    assert csv_text(["a"], [[Figure("-5.25")]]) == "a\n-5.25\n"


def test_a_column_of_figures_stands_to_the_right() -> None:
    text = markdown_text(["a", "b"], [["x", Figure("1")], ["y", Figure("-2")]])
    assert text.splitlines()[1] == "| --- | ---: |"
    assert markdown_text(["a"], []).splitlines() == ["| a |", "| --- |"]


# ---------------------------------------------------------------- match


def check_csv(result: Match) -> list[dict[str, str]]:
    """Hold the rows to the JSON of the same answer."""
    data = match_answer(result)
    rows = table(match_table(result).csv())
    wanted = [*data["combinations"], *data["shorter"]]
    assert len(rows) == len(wanted)
    for number, (row, one) in enumerate(zip(rows, wanted, strict=True)):
        ranked = number < len(data["combinations"])
        assert row["rank"] == (str(one["rank"]) if ranked else "")
        assert row["sets"].split(" + ") == one["sets"]
        assert {stage: row[stage] for stage in one["pairs"]} == one["pairs"]
        assert float(row["overall_reduction"]) == one["reduction"]["decimal"]
        for name in ("road_speed_change_percent", "reduction_change_percent"):
            assert re.fullmatch(r"-?\d+\.\d{6}", row[name])
            assert float(row[name]) == one[name]
        assert [row["band"], row["fit"], row["evidence"]] == [
            one["band"],
            one["fit"],
            one["evidence"],
        ]
        assert row["price"] == (one["price_exact"] or "")
        assert row["currency"] == (one["currency"] or "")
        assert row["price_from"] == (one["price_from"] or "")
        assert row["availability"] == one["availability"]
        assert row["on_shelf"] == str(one["on_shelf"])
        assert row["orderable"] == ("yes" if one["orderable"] else "no")
        held = [data["gear_sets"][id_]["shelf_place"] for id_ in one["sets"]]
        places = " + ".join(place or "?" for place in held) if any(held) else ""
        assert row["shelf_places"].removeprefix("'") == " ".join(places.split())
        if result.request.margins:
            margin = one["margin"]
            assert row["cost"] == (margin["cost_exact"] or "")
            assert row["margin"] == (margin["amount_exact"] or "")
            percent = margin["percent"]
            assert row["margin_percent"] == ("" if percent is None else f"{percent:.6f}")
        else:
            assert "cost" not in row
    return rows


def test_csv_of_every_demo_machine_says_what_json_says(demo: Catalogue) -> None:
    lengths = {}
    for machine in [*some(list(demo.machines), 4), "redshank-creek"]:
        result = match(subject_of(demo, machine), Request(top=8))
        lengths[machine] = len(check_csv(result))
    assert min(lengths.values()) == 0
    assert max(lengths.values()) > 8


def test_csv_columns(demo: Catalogue) -> None:
    result = match(subject_of(demo, "dunlin-ten"), Request(top=1))
    head = match_table(result).csv().split("\n", 1)[0]
    assert head == (
        "rank,sets,part_numbers,primary,secondary,overall_reduction,road_speed_change_percent,"
        "reduction_change_percent,band,fit,evidence,price,currency,"
        "price_from,availability,on_shelf,orderable,shelf_places,note"
    )


def test_csv_of_awkward_text(awkward: Catalogue) -> None:
    result = match(subject_of(awkward, "bare"), Request())
    rows = {row["sets"]: row for row in check_csv(result)}
    assert rows["EQ"]["part_numbers"].startswith("'=HYPERLINK(")
    assert rows["PLUS"]["part_numbers"] == "'+1 | two lines"
    assert rows["MINUS"]["part_numbers"] == "'-2+3"
    assert rows["WHOLE"]["part_numbers"] == "_under_ `code` [link](http://x.example) & co"
    assert rows["PLUS"]["price"] == ""
    assert rows["EQ + TAB"]["price"] == "65.06"


def test_another_reader_of_csv_agrees(awkward: Catalogue) -> None:
    result = match(subject_of(awkward, "bare"), Request())
    text = match_table(result).csv()
    frame = pd.read_csv(io.StringIO(text), dtype=str, keep_default_na=False)
    assert frame.to_dict("records") == table(text)


def test_markdown_of_awkward_text_shows_it(awkward: Catalogue) -> None:
    result = match(subject_of(awkward, "bare"), Request())
    text = match_table(result).markdown()
    head, *rows = markdown(text)
    assert head[:5] == ["#", "sets", "part numbers", "primary", "secondary"]
    by_sets = {row[1]: row for row in rows}
    assert len(rows) == len(result.combinations)
    assert by_sets["EQ"][2] == '=HYPERLINK("http://bad.example","x")'
    assert by_sets["PLUS"][2] == "+1 | two lines"
    assert by_sets["WHOLE"][2] == "_under_ `code` [link](http://x.example) & co"
    assert by_sets["EQ"][-1] == "EQ filed under @SUM(1)|<b>*bold*</b>; open: idler-seat"
    assert by_sets["PLUS"][-5:-1] == ["price?", "", "", "stock?"]
    assert "<b>" not in text


def test_markdown_of_the_demo(demo: Catalogue) -> None:
    result = match(subject_of(demo, "dunlin-ten"), Request(top=3))
    rows = markdown(match_table(result).markdown())[1:]
    assert len(rows) == 3 + len(result.shorter)
    for row, one in zip(rows, result.combinations, strict=False):
        shown = Decimal(row[6].removesuffix(" %"))
        assert row[6][0] in "+-"
        assert abs(shown - Decimal(float(one.road_speed_change))) < Decimal("0.0051")
    assert [row[0] for row in rows[3:]] == [""] * len(result.shorter)


# ---------------------------------------------------------------- options and identify


def test_options_has_a_row_for_each_choice_of_each_group(demo: Catalogue) -> None:
    groups = list(options(demo, demo.families["dunlin-50"], Request(top=None if EXPLORE else 4)))
    rows = table(options_table(groups).csv())
    wanted = [
        (group.factory_train.housing, group.tune.id, " + ".join(e.id for e in one.sets))
        for group in groups
        for one in (*group.result.combinations, *group.result.shorter)
    ]
    assert [(row["housing"], row["tune"], row["sets"]) for row in rows] == wanted
    assert {row["family"] for row in rows} == {"dunlin-50"}
    for row in rows:
        first, second = row["factory_train"].split(", ")
        assert row["primary"] != first or row["secondary"] != second or row["sets"]
    shown = markdown(options_table(groups).markdown())
    assert len(shown) == 1 + len(rows)
    assert shown[0][:6] == ["family", "housing", "wheel", "factory train", "tune", "#"]


def test_options_with_no_group() -> None:
    assert table(options_table([]).csv()) == []
    assert len(markdown(options_table([]).markdown())) == 1


def test_identify_has_a_row_for_each_train(demo: Catalogue) -> None:
    found = identify(demo, read_train("15/46 14/54"))
    rows = table(identify_table(found).csv())
    assert [row["family"] for row in rows] == [one.family.id for one in found]
    assert rows[0]["slip"] == "miscount"
    assert rows[0]["factory_train"] == "15/46, 14/55"
    # 46 x 55 / (15 x 14) = 2530 / 210 = 12.047619...
    assert rows[0]["overall_reduction"] == "12.047619"
    shown = markdown(identify_table(found).markdown())
    assert [row[1] for row in shown[1:]] == [one.family.id for one in found]
    assert table(identify_table([]).csv()) == []
