"""`match` and `options` on the road, as they are typed: exit codes, help, what is said once."""

from __future__ import annotations

import json
import re

import pytest

from fitcheck.services.road.lawful import APPROVAL

DEMO = {"FITCHECK_CATALOG": "catalog", "COLUMNS": "80"}


def plain(text: str) -> str:
    return " ".join(text.split())


def test_where_nothing_is_lawful_the_code_says_so_and_the_page_why(run) -> None:
    """The demo's Dunlin Ten does about 45 km/h; its band of 10 to 15 % is all over L1e-B."""
    ran = run("match", "dunlin-ten", "--lawful", "--long", env=DEMO)
    assert ran.code == 3
    assert re.search(
        r"nothing lawful; \d+ choices are over the 45 km/h of its class", plain(ran.out)
    )
    assert APPROVAL in plain(ran.out)
    assert run("match", "dunlin-ten", env=DEMO).code == 0


@pytest.mark.parametrize("form", ["table", "csv", "markdown", "json"])
def test_a_page_without_the_question_has_none_of_the_answer(run, form: str) -> None:
    ran = run("match", "dunlin-ten", "--long", "--format", form, env=DEMO)
    for word in ("top_flat", "top km/h", "lawful", APPROVAL[:30], "pulls it"):
        assert word not in ran.out, word
    assert "at most 45 km/h by design" in plain(ran.out) or form in ("csv", "markdown")


def test_the_ceiling_gives_way_to_what_was_worked_out(run) -> None:
    ran = run("match", "dunlin-ten", "--road", "--long", env=DEMO)
    assert "by design" not in ran.out
    assert plain(ran.out).count("As it stands: ") == 1


def test_a_rank_by_the_road_is_named_and_shows_the_road(run) -> None:
    ran = run("match", "turnstone-shingle", "--rank", "top-speed", "--long", env=DEMO)
    assert ran.code == 0
    assert "by real top speed" in ran.out
    assert "top km/h" in ran.out


def test_the_power_said_at_the_counter_is_taken(run) -> None:
    words = ["match", "dunlin-ten", "--road", "--top", "1", "--format", "json", "--power"]
    weak, strong = (
        json.loads(run(*words, power, env=DEMO).out)["road"]["now"]["start_force_n"]["value"]
        for power in ("1.5@6500", "3@6500")
    )
    assert weak < strong


def test_the_overview_of_a_family_is_judged_by_the_works(run) -> None:
    asked = ["options", "sanderling-50", "--tune", "stock", "--road", "--lawful"]
    ran = run(*asked, "--long", env=DEMO)
    assert ran.code == 0
    assert plain(ran.out).count(APPROVAL) == 1
    assert "MAY LEAVE ITS CLASS, measure: " in ran.out
    assert "3 MAY LEAVE THE CLASS" in run(*asked, env=DEMO).out


@pytest.mark.parametrize("command", ["match", "options"])
def test_help_has_a_heading_for_each_kind_of_option(run, command: str) -> None:
    out = run("help", command).out
    heads = re.findall(r"^(\S.*):$", out, re.MULTILINE)
    assert heads[1:] == [
        "What to list",
        "Suppliers' lists, searched as they are",
        "On the road and before the law",
        "Known of the machine on the road; overrides the files",
        "Options",
        "Examples",
    ]
    assert out.index(", --road ") < out.index("\n  --measured-top") < out.index(", --format")
    assert "--steady" not in out
