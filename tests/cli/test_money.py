"""Money at the command line: what currencies and coins do to lists, quotations and plans."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The demo, with Samphire's list in francs, said by its supplier's record alone."""
    folder = tmp_path / "catalog"
    shutil.copytree(ROOT / "catalog", folder)
    path = folder / "suppliers" / "samphire.yaml"
    path.write_text(path.read_text("utf-8").replace("currency: EUR", "currency: CHF"), "utf-8")
    return folder


def test_the_suppliers_currency_shows_everywhere(run, shop: Path) -> None:
    of = ["--catalog", str(shop)]
    why = run("why", "dunlin-ten", "SA-108", *of)
    assert "CHF" in why.out
    assert " EUR" not in why.out
    data = json.loads(run("why", "dunlin-ten", "SA-108", *of, "--format", "json").out)
    assert data["gear_sets"]["SA-108"]["currency"] == "CHF"
    stock = json.loads(run("shelf", "list", *of, "--format", "json").out)
    assert {total["currency"] for total in stock["totals"]} == {"EUR", "CHF"}
    assert run("check", str(shop)).code == 0


def test_a_greatest_price_says_what_it_leaves_out_for_its_currency(run, shop: Path) -> None:
    asked = ["match", "dunlin-ten", "--catalog", str(shop), "--percent=0..50", "--max-price", "60"]
    counts = json.loads(run(*asked, "--format", "json").out)["counts"]
    assert counts["other_currency"] > 0
    shown = " ".join(run(*asked).out.split())
    words = f"{counts['other_currency']:,} choices with a price in another currency than EUR are"
    assert f"{words} left out by --max-price (in EUR)" in shown
    family = run("options", "dunlin-50", "--catalog", str(shop), "--max-price", "60")
    assert "in another currency than EUR" in " ".join(family.out.split())
    whole = run(*asked[:-2], "--top", "0")
    assert "in different currencies are not compared" in " ".join(whole.out.split())
    assert "currenc" not in run("match", "dunlin-ten", "--max-price", "60").out


def test_labour_in_no_currency_is_refused_where_the_options_have_two(run, shop: Path) -> None:
    asked = ["sheet", "dunlin-ten", "GW-20-108", "SA-108", "-o", "-", "--catalog", str(shop)]
    asked += ["--date", "2026-11-25", "--quote", "all", "--labour-hours", "1.5", "--rate", "48"]
    refused = run(*asked)
    assert (refused.code, refused.out) == (2, "")
    assert refused.err.count("\n") == 1
    assert "--currency" in refused.err
    told = run(*asked, "--currency", "chf")
    assert told.code == 0
    assert "Total, CHF" in told.out


def test_a_greatest_price_may_name_its_currency(run, shop: Path) -> None:
    """SA-108 is 48.00 CHF here; what is priced in euro is then left out, and counted."""
    asked = ["match", "dunlin-ten", "--catalog", str(shop), "--format", "json", "--max-price"]

    def answer(price: str) -> dict:
        return json.loads(run(*asked, price).out)

    francs = answer("48 CHF")
    assert francs["currency"] == "CHF"
    assert ["SA-108"] in [one["sets"] for one in francs["combinations"]]
    assert {one["currency"] for one in francs["combinations"]} == {"CHF"}
    assert max(one["price"] for one in francs["combinations"]) <= 48
    assert francs["counts"]["other_currency"] > 0
    below = answer("47.99chf")["combinations"]
    assert ["SA-108"] not in [one["sets"] for one in below]
    assert answer("60 EUR") == answer("60")


def test_a_budget_may_name_its_currency(run, shop: Path) -> None:
    asked = ["shelf", "plan", "--catalog", str(shop), "--format", "json", "--budget"]
    named = run(*asked, "120 CHF")
    assert json.loads(named.out)["currency"] == "CHF"
    assert named.out == run(*asked, "120", "--currency", "chf").out
    both = run(*asked, "120 CHF", "--currency", "EUR")
    assert (both.code, both.err.count("\n")) == (2, 1)
    assert "--budget is in CHF and --currency in EUR; give one currency" in both.err


@pytest.mark.parametrize(
    "command",
    [
        ("match", "dunlin-ten", "--max-price"),
        ("shelf", "plan", "--budget"),
        ("shelf", "price", "SA-108"),
        ("shelf", "receive", "SA-108", "1", "--cost"),
        ("sheet", "dunlin-ten", "SA-108", "-o", "-", "--quote", "A", "--labour"),
    ],
)
@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("120 QQQ", "'QQQ' is no currency; give its ISO 4217 code, like EUR"),
        ("120 francs", "'francs' is no currency"),
        ("CHF", "an amount like 75 or 74.90"),
        ("-5 CHF", "an amount"),
        ("1.200 CHF", "may mean 1200 or 1.200"),
    ],
)
def test_a_bad_amount_or_code_gets_one_line(run, shop: Path, command, value, says) -> None:
    refused = run(*command, value, "--catalog", str(shop))
    assert (refused.code, refused.out, refused.err.count("\n")) == (2, "", 1)
    assert says in refused.err


def test_a_shelf_price_may_name_the_currency_of_its_part(run, shop: Path) -> None:
    """SA-105 is in francs here, MA-1545 in euro."""
    of = ["--catalog", str(shop), "--format", "json"]
    assert run("shelf", "price", "SA-105", "50 CHF", *of).code == 0
    assert "SA-105: {quantity: 1, place: drawer A6, cost: 28.42, price: 50.00}" in (
        (shop / "shelf.yaml").read_text("utf-8")
    )
    assert run("shelf", "receive", "MA-1545", "1", "--cost", "33.5EUR", *of).code == 0
    before = (shop / "shelf.yaml").read_bytes()
    for words in (["price", "SA-105", "50 EUR"], ["receive", "SA-105", "1", "--cost", "9 EUR"]):
        refused = run("shelf", *words, *of)
        assert (refused.code, refused.out) == (2, "")
        assert refused.err == (
            "fitcheck: SA-105 (no. S/105) is in CHF, not in EUR; nothing was moved; "
            "give the amount in CHF\n"
        )
    assert (shop / "shelf.yaml").read_bytes() == before


def test_an_added_price_may_name_the_suppliers_currency(run, shop: Path) -> None:
    words = ["add", "set", "--supplier", "samphire", "--part-number", "SA-999", "--teeth", "15/40"]
    words += ["--stage", "primary", "--catalog", str(shop), "--price"]
    assert "+    price: 50\n" in run(*words, "50 CHF").out
    refused = run(*words, "50 EUR")
    assert (refused.code, refused.out) == (2, "")
    assert "the price is in EUR, and samphire sells in CHF" in refused.err


def test_labour_and_extras_may_name_their_currency(run, shop: Path) -> None:
    asked = ["sheet", "dunlin-ten", "GW-20-108", "SA-108", "-o", "-", "--catalog", str(shop)]
    asked += ["--quote", "all", "--labour", "45 CHF"]
    named = run(*asked)
    assert named.code == 0
    assert named.out == run(*asked[:-1], "45", "--currency", "CHF").out
    two = run(*asked, "--extra", "gasket=3.50 EUR")
    assert (two.code, two.err.count("\n")) == (2, 1)
    assert "--extra gasket is in EUR and --labour in CHF; give one currency" in two.err
