"""`fitcheck sheet`: what it writes, where, and with which exit code."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DEMO = {"FITCHECK_CATALOG": str(ROOT / "catalog"), "LC_ALL": "C"}
FIXED = ["--date", "2026-11-25"]


def test_a_page_is_written_and_named(run, tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    words = ["sheet", "dunlin-ten", "GW-20-108", "MA-1545+SA-107", "-o", str(path), *FIXED]
    ran = run(*words, env=DEMO)

    assert (ran.code, ran.out, ran.err) == (0, f"{path}\n", "")
    first = path.read_text(encoding="utf-8")
    assert "MA-1545 + SA-107" in first
    assert run(*words, env=DEMO).code == 0
    assert path.read_text(encoding="utf-8") == first


def test_stdout_takes_the_page_and_nothing_else(run) -> None:
    ran = run("sheet", "dunlin-ten", "SA-108", "-o", "-", *FIXED, env=DEMO, encoding="ascii")

    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("<!DOCTYPE html>")
    assert ran.out.endswith("</html>\n")
    assert "✓" not in ran.out  # signs come from the style, as escapes
    assert "Tide" not in ran.out


def test_what_the_options_say_stands_on_the_page(run) -> None:
    ran = run(
        "sheet", "dunlin-ten", "SA-108", "-o", "-", *FIXED,
        "--shop", "Tideline <&>", "--customer", "Åsa", "--remark", "Up the hill.",
        "--locale", "sv_SE", "--measured-top", "46", "--rider", "90",
        env=DEMO,
    )  # fmt: skip

    assert ran.code == 0, ran.err
    for words in ("Tideline &lt;&amp;&gt;", "Åsa", "Up the hill.", "25 nov. 2026", "90,0"):
        assert words in ran.out.replace("\xa0", " "), words
    assert re.search(r"measured", ran.out)


def test_without_sets_the_rule_chooses(run) -> None:
    ran = run("sheet", "dunlin-ten", "-o", "-", *FIXED, env=DEMO)

    assert ran.code == 0
    assert "Chosen by rule: " in ran.out
    assert ran.out.count('<th role="columnheader" scope="col"><span class="key') == 4 + 4 + 3


def test_counts_alone_will_do(run) -> None:
    ran = run(
        "sheet", "--family", "dunlin-50", "--teeth", "15/46,14/55", "--housing", "short",
        "SA-108", "-o", "-", *FIXED, env=DEMO,
    )  # fmt: skip

    assert ran.code == 0, ran.err
    assert "primary 15/46, secondary 14/55" in ran.out
    assert "What it does on the road is not worked out" in ran.out


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["redshank-creek"], 3, "nothing in the band fits, so there is no page to write"),
        (["dunlin-ten", "SA-108", "SA-108"], 2, "SA-108 is named twice"),
        (["dunlin-ten", "SA-108", "SA-107", "GW-20-108", "MA-1545", "MA-1643"], 2, "5 options"),
        (["dunlin-ten", "SA-108", "--locale", "xx_YY"], 2, "no locale 'xx_YY'"),
        (["dunlin-ten", "SA-108", "--date", "25.11.2026"], 2, "write year-month-day"),
        (["dunlin-ten", "SA-108", "--date", "2026-02-30"], 2, "no day of the calendar"),
        (["avocet-reserve", "--mass", "90"], 2, "how strong the engine"),
    ],
)
def test_where_there_is_no_page_one_line_says_why(words, code, said, run, tmp_path: Path) -> None:
    ran = run("sheet", *words, "-o", str(tmp_path / "page.html"), env=DEMO)

    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_sets_that_are_ruled_out_are_written_and_told_by_the_code(run) -> None:
    ran = run("sheet", "avocet-lagoon", "GW-20-108", "-o", "-", *FIXED, env=DEMO)

    assert ran.code == 3
    assert "Does not fit, do not order" in ran.out


def test_the_locale_is_the_environments(run) -> None:
    env = {**DEMO, "LC_ALL": "de_DE.UTF-8"}
    ran = run("sheet", "dunlin-ten", "SA-108", "-o", "-", *FIXED, env=env)

    assert "25.11.2026" in ran.out
    assert "48,00\xa0€" in ran.out
