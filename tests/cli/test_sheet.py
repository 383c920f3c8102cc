"""`fitcheck sheet`: what it writes, where, and with which exit code."""

from __future__ import annotations

import datetime as dt
import html
import re
from pathlib import Path

import pytest

from tests.conftest import some

ROOT = Path(__file__).parents[2]
DEMO = {"FITCHECK_CATALOG": str(ROOT / "catalog"), "LC_ALL": "C"}
FIXED = ["--date", "2026-11-25"]


def test_a_page_is_written_and_named(run, tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    words = ["sheet", "dunlin-ten", "GW-20-108", "MA-1545+SA-107", "-o", str(path), *FIXED]
    ran = run(*words, env=DEMO)

    assert (ran.code, ran.out) == (0, f"{path}\n")
    first = path.read_text(encoding="utf-8")
    assert "MA-1545 + SA-107" in first
    assert run(*words, env=DEMO).code == 0
    assert path.read_text(encoding="utf-8") == first


def test_stdout_takes_the_page_and_nothing_else(run) -> None:
    ran = run("sheet", "dunlin-ten", "SA-108", "-o", "-", *FIXED, env=DEMO, encoding="ascii")

    assert ran.code == 0
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
        "sheet", "--family", "dunlin-50", "--teeth", "15/47,14/55", "--housing", "short",
        "SA-108", "-o", "-", *FIXED, env=DEMO,
    )  # fmt: skip

    assert ran.code == 0, ran.err
    assert "primary 15/47, secondary 14/55" in ran.out
    # 15/46 is the factory's: the answer asks to count again, so the page says it on top.
    top = ran.out[ran.out.index("<main>") :]
    assert top.index("Subject to a recount of the teeth") < top.index("The machine as counted")
    assert "What it does on the road is not worked out" in ran.out


QUOTE = [
    "sheet", "dunlin-ten", "GW-20-108", "MA-1545+SA-107", "-o", "-", *FIXED, "--quote",
]  # fmt: skip


def shown(ran) -> str:
    """The quotation as text, blanks made single."""
    assert ran.code == 0, ran.err
    part = ran.out[ran.out.index('id="quote"') :].partition("</section>")[0]
    text = html.unescape(re.sub(r"<[^>]+>", " ", part.partition(">")[2]))
    return " ".join(text.replace("\xa0", " ").split())


def test_a_quotation_by_hand(run) -> None:
    # 63.50 is the shelf's price of GW-20-108 (its supplier lists 61.50).
    # A: 63.50 + 3.50 + 72.00 = 139.00; tax in it 139 x 22 / 122 = 25.0655..., net 113.93.
    # B: 49.90 + 45.00 + 3.50 + 72.00 = 170.40; tax 30.7278..., net 139.67.
    said = shown(
        run(
            *QUOTE, "all", "--extra", "gasket=3.50", "--labour-hours", "1.5", "--rate", "48",
            "--tax", "22", env=DEMO,
        )
    )  # fmt: skip

    assert "GW-20-108 15/40 €63.50 –" in said
    assert "cover gasket €3.50 €3.50" in said
    assert "Labour 1.5 h at €48.00 €72.00 €72.00" in said
    assert "Total €139.00 €170.40" in said
    assert "Tax included, 22 % €25.07 €30.73" in said
    assert "Without tax €113.93 €139.67" in said
    assert "B: Not in the total, price on request: gear oil, 120 ml; shaft seals." in said
    assert "Valid until 2026-12-09." in said  # 14 days after 2026-11-25


def test_a_quotation_of_one_option_with_tax_on_top(run) -> None:
    # 63.50 + 3.51 (3.505 rounded half up) + 45 = 112.01; 19 % is 21.2819.
    said = shown(
        run(
            *QUOTE, "A", "--extra", "gasket=3.5050", "--labour", "45", "--tax", "19%",
            "--prices-exclude-tax", "--valid-days", "30", "--locale", "de_DE", env=DEMO,
        )
    )  # fmt: skip

    assert "cover gasket 3,51 €" in said
    assert "Sum without tax 112,01 € Tax, 19 % 21,28 € Total 133,29 €" in said
    assert "Valid until 25.12.2026." in said
    assert "MA-1545" not in said


def test_a_quotation_on_a_doubtful_count_is_subject_to_a_recount(run) -> None:
    machine = ["sheet", "--family", "dunlin-50", "--housing", "short", "--tune", "stock", "SA-108"]
    counted = {
        teeth: shown(run(*machine, "--teeth", teeth, "-o", "-", "--quote", "A", env=DEMO))
        for teeth in ("15/47,14/55", "15/46,14/55")
    }
    doubtful, factory = counted.values()
    assert "Subject to a recount of the teeth before ordering." in doubtful
    assert "recount" not in factory


@pytest.mark.parametrize(
    ("days", "asks"), some([(366, False), (0, False), (367, True), (-366, False)], 2)
)
def test_a_day_far_from_today_is_asked_about(run, days: int, asks: bool) -> None:
    day = dt.date.today() + dt.timedelta(days=days)
    ran = run("sheet", "dunlin-ten", "SA-108", "-o", "-", "--date", str(day), env=DEMO)
    line = f"fitcheck: look: the page is dated {day}, and today is {dt.date.today()}; is --date"
    assert ran.code == 0
    assert ran.err == (f"{line} right?\n" if asks else "")


def test_a_slipped_century_is_asked_about(run) -> None:
    ran = run("sheet", "dunlin-ten", "SA-108", "-o", "-", "--date", "1926-12-01", env=DEMO)
    assert "the page is dated 1926-12-01" in ran.err


def test_no_quotation_tells_what_the_shop_paid(run) -> None:
    ran = run(*QUOTE, "all", "--tax", "22", env=DEMO)

    assert ran.code == 0
    assert "37.52" not in ran.out  # the cost of GW-20-108 in catalog/shelf.yaml
    assert "drawer" not in ran.out
    assert "argin" not in re.sub(r"<style>.*?</style>", "", ran.out, flags=re.DOTALL)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["redshank-creek"], 3, "nothing in the band fits, so there is no page to write"),
        (["dunlin-ten", "SA-108", "SA-108"], 2, "SA-108 is named twice"),
        (["dunlin-ten", "SA-108", "SA-107", "GW-20-108", "MA-1545", "MA-1643"], 2, "5 options"),
        (["dunlin-ten", "SA-108", "--locale", "xx_YY"], 2, "no locale 'xx_YY'"),
        (["dunlin-ten", "SA-108", "--date", "25.11.2026"], 2, "write year-month-day"),
        (["dunlin-ten", "SA-108", "--date", "2026-02-30"], 2, "no day of the calendar"),
        (["avocet-reserve", "--mass", "90"], 2, "the engine power"),
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
