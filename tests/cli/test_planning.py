"""`shelf gaps` and `shelf plan` on the command line: golden pages, JSON by its schema, rows.

To accept a change of a page, look at it and write it anew:

    FITCHECK_WRITE_GOLDEN=1 python -m pytest tests/cli/test_planning.py
"""

from __future__ import annotations

import csv
import importlib.util
import io
import json
import os
import re
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from markdown_it import MarkdownIt
from rich.cells import cell_len

from fitcheck.services.shelf import gaps, plan
from tests.cli.conftest import Ran, Run
from tests.conftest import EXPLORE, some

ROOT = Path(__file__).parents[2]
SHELF = yaml.load((ROOT / "catalog" / "shelf.yaml").read_text(encoding="utf-8"), yaml.CBaseLoader)
COST = {id_: Decimal(one["cost"]) for id_, one in SHELF["records"].items() if "cost" in one}
"""What the shop paid last, read by a reader of its own."""

GOLDEN = Path(__file__).parent / "planning_golden"
DEMO = {"FITCHECK_CATALOG": "catalog"}
WRITE = bool(os.environ.get("FITCHECK_WRITE_GOLDEN"))

pytest.importorskip("scipy")

PAGES = {
    "gaps": ["shelf", "gaps"],
    "gaps-lawful": ["shelf", "gaps", "--lawful", "--family", "turnstone-70", "--top", "1"],
    "gaps-families": ["shelf", "gaps", "--families", "--family", "turnstone-70", "--top", "2"],
    "plan": ["shelf", "plan", "--budget", "300"],
    "plan-lawful": ["shelf", "plan", "--budget", "200", "--lawful"],
    "plan-families": ["shelf", "plan", "--budget", "250", "--families", "--tune", "stock"],
    "plan-nothing": ["shelf", "plan", "--budget", "12.5", "--family", "godwit-200"],
}

if not EXPLORE:  # what `plan` answers to these is asked in JSON
    del PAGES["plan-lawful"], PAGES["plan-families"]

WHOLE = {"gaps-80.txt", "plan-80.txt", "plan-nothing-80.txt"}
"""Pages kept whole; of the others the layout is tested, and that narrow ones say all."""


@pytest.fixture(scope="module")
def told() -> dict[object, Any]:
    return {}


@pytest.fixture
def asked(run: Run, told: dict[object, Any], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Ask each question of the demo once, in whatever form and width its answer is shown."""
    at = [()]

    def once(work: Callable[..., Any]) -> Callable[..., Any]:
        def answer(*given: Any, **options: Any) -> Any:
            if at[0] not in told:
                told[at[0]] = work(*given, **options)
            return told[at[0]]

        return answer

    monkeypatch.setattr(gaps, "gaps", once(gaps.gaps))
    monkeypatch.setattr(plan, "plan", once(plan.plan))

    def call(*words: str, env: dict[str, str], **more: Any) -> Ran:
        question = (words, *sorted(env.items()), *sorted(more.items()))
        if question not in told:
            form = words.index("--format") if "--format" in words else len(words)
            at[0] = ("answer", *words[:form], *words[form + 2 :])
            told[question] = run(*words, env=env, **more)
        return told[question]

    return call


@pytest.mark.parametrize("width", [80, 40])
@pytest.mark.parametrize("name", PAGES)
def test_golden_pages(name: str, width: int, asked) -> None:
    ran = asked(*PAGES[name], env={**DEMO, "COLUMNS": str(width)})

    assert ran.code == (3 if name == "plan-nothing" else 0), ran
    assert ran.err == ""
    path = GOLDEN / f"{name}-{width}.txt"
    if WRITE and path.name in WHOLE:
        GOLDEN.mkdir(exist_ok=True)
        path.write_text(ran.out, encoding="utf-8", newline="\n")
    if path.name in WHOLE:
        assert ran.out == path.read_text(encoding="utf-8")
    for line in ran.out.splitlines():
        assert line == line.rstrip()
        # Only a path may be wider: it is to be copied whole.
        assert cell_len(line) <= width or ".yaml:" in line, line


def test_no_golden_page_is_left_over() -> None:
    assert {path.name for path in GOLDEN.iterdir()} == WHOLE


def test_a_narrow_page_says_all_that_a_wide_one_does(asked) -> None:
    for name, words in PAGES.items():
        pages = [asked(*words, env={**DEMO, "COLUMNS": str(w)}).out for w in (40, 200)]
        figures = re.compile(r"\d+\.\d\d EUR|[A-Z]{2}-[\w.]+|[a-z]+-[a-z-]+(?= ?:)|\d+ of \d+")
        narrow, wide = (set(figures.findall(" ".join(page.split()))) for page in pages)
        assert narrow == wide, name


@pytest.mark.parametrize("width", some([80, 32, 40, 52, 24, 60, 132, 200], 2))
def test_the_shopping_list_is_enough_to_order_by_at_every_width(width: int, asked, demo) -> None:
    words = ["shelf", "plan", "--budget", "300"]
    page = asked(*words, env={**DEMO, "COLUMNS": str(width)}).out
    bought = page[page.index(" left\n") : page.index("Newly served")]
    data = answer(asked, "plan", *words)
    sets = demo.gear_sets
    assert len(data["buy"]) > 3
    for one in data["buy"]:
        block = bought[bought.index(f"\n{one['set']}") :].partition("\n\n")[0]
        assert re.search(rf"\b{re.escape(one['part_number'])}\b", block), one
        for teeth in sets[one["set"]].record.pairs.values():
            assert re.search(rf"\b{teeth}\b", block), one


def test_colours_come_with_the_same_words(asked) -> None:
    for words in PAGES.values():
        plain = asked(*words, env={**DEMO, "COLUMNS": "80"}).out
        colour = asked(*words, env={**DEMO, "COLUMNS": "80", "FORCE_COLOR": "1"}).out
        assert re.sub(r"\x1b\[[0-9;]*m", "", colour) == plain != colour


def answer(asked, name: str, *words: str) -> Any:
    """What another program reads, once it holds to its schema."""
    data = json.loads(asked(*words, "--format", "json", env=DEMO).out)
    path = ROOT / "schemas" / f"shelf-{name}.output.schema.json"
    schema = json.loads(path.read_text(encoding="utf-8"))
    judge = jsonschema.Draft202012Validator(schema)
    assert [f"{e.json_path}: {e.message}" for e in judge.iter_errors(data)] == []
    return data


@pytest.mark.parametrize(
    "words", some([("--lawful",), (), ("--families",), ("--top", "1"), ("--tune", "stock")], 2)
)
def test_gaps_in_json_agree_with_themselves_and_with_csv(words: tuple[str, ...], asked) -> None:
    data = answer(asked, "gaps", "shelf", "gaps", *words)
    machines = [machine for family in data["families"] for machine in family["machines"]]
    for state, number in data["counts"].items():
        assert number == sum(one["state"] == state for one in machines)
    for family in data["families"]:
        for state, number in family["counts"].items():
            assert number == sum(one["state"] == state for one in family["machines"])
    for one in machines:
        serving = one["in_band"] if one["law"] is None else one["law"]["within"]
        assert (one["state"] == "served") == (serving > 1)
        assert (one["state"] == "one") == (serving == 1)
        assert len(one["closers"]) <= one["all_closers"]
        for kit in one["closers"]:
            check_kit(kit, data)
    named = {i for one in machines for kit in one["closers"] for i in kit["sets"]}
    assert set(data["gear_sets"]) == named

    text = asked("shelf", "gaps", *words, "--format", "csv", env=DEMO).out
    rows = list(csv.DictReader(io.StringIO(text)))
    expected = [
        (one["machine"], one["state"], "; ".join(kit["buy"]) if kit else "")
        for one in machines
        for kit in one["closers"] or [None]
    ]
    states = {"nothing": "nothing in band", "unlawful": "nothing lawful", "one": "one choice"}
    states["unclear"] = "lawfulness unclear"
    assert [(row["machine"], row["state"], row["buy"]) for row in rows] == [
        (machine, states.get(state, state), buy) for machine, state, buy in expected
    ]
    assert ("within" in rows[0]) == ("--lawful" in words)


@cache
def discount(supplier: str) -> str | None:
    """Percent off, as the supplier's record in the demo says."""
    found: dict[str, str] = yaml.load(
        (ROOT / "catalog" / "suppliers" / f"{supplier}.yaml").read_text("utf-8"), yaml.CBaseLoader
    )["records"][supplier]
    return found.get("discount_percent")


def source(id_: str, supplier: str) -> str:
    if COST.get(id_):
        return "last cost"
    return "list price" if discount(supplier) is None else "list less discount"


def buying(id_: str, sets: dict[str, Any]) -> Decimal:
    if COST.get(id_):
        return COST[id_]
    price, off = Decimal(sets[id_]["price_exact"]), discount(sets[id_]["supplier"])
    whole = price * (1 - Decimal(off or 0) / 100)
    return whole.quantize(Decimal("0.01"), ROUND_HALF_UP)


def check_kit(kit: dict[str, Any], data: dict[str, Any]) -> None:
    sets = data["gear_sets"]
    for id_ in kit["sets"]:
        assert ((sets[id_]["on_shelf"] or 0) == 0) == (id_ in kit["buy"])
        assert sets[id_]["status"] == "active"
    whole = sum(buying(id_, sets) for id_ in kit["buy"])
    sources = {id_: source(id_, sets[id_]["supplier"]) for id_ in kit["buy"]}
    assert kit["at_cost"] == [id_ for id_ in kit["buy"] if sources[id_] == "last cost"]
    assert kit["at_list"] == [id_ for id_ in kit["buy"] if sources[id_] == "list price"]
    assert Decimal(kit["price"]["exact"]) == whole


@pytest.mark.parametrize(
    "words", some([("300",), ("200", "--lawful"), ("500", "--families"), ("0",), ("5000",)], 3)
)
def test_a_plan_in_json_agrees_with_itself_and_with_csv(words: tuple[str, ...], asked) -> None:
    data = answer(asked, "plan", "shelf", "plan", "--budget", *words)
    bought = {one["set"]: one for one in data["buy"]}
    spent = sum((Decimal(one["price"]["exact"]) for one in data["buy"]), Decimal(0))
    assert Decimal(data["spent"]["exact"]) == spent
    assert Decimal(data["left"]["exact"]) == Decimal(words[0]) - spent >= 0
    assert data["after"]["machines"] == data["before"]["machines"] + len(data["served"])
    assert data["after"]["machines"] + len(data["unserved"]) == data["all"]["machines"]
    newly = data["after"]["visits"] - data["before"]["visits"]
    assert data["quality"]["optimal"]
    assert newly == data["quality"]["most_visits"] >= data["quality"]["greedy_visits"]
    users: dict[str, list[str]] = {id_: [] for id_ in bought}
    for one in data["served"]:
        check_kit(one["kit"], data)
        for id_ in one["kit"]["buy"]:
            users[id_].append(one["machine"])
    assert users == {id_: one["serves"] for id_, one in bought.items()}
    for one in data["unserved"]:
        if one["kit"] is not None:
            check_kit(one["kit"], data)

    text = asked("shelf", "plan", "--budget", *words, "--format", "csv", env=DEMO).out
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["set"] for row in rows] == list(bought)
    for row in rows:
        known = source(row["set"], row["supplier"])
        assert row["price_from"] == bought[row["set"]]["price_from"] == known
    assert sum((Decimal(row["price"]) for row in rows), Decimal(0)) == spent
    assert [row["serves"] for row in rows] == ["; ".join(users[id_]) for id_ in bought]


@pytest.mark.parametrize("words", [["gaps"], ["plan", "--budget", "300"]])
def test_markdown_is_one_table(words: list[str], asked) -> None:
    text = asked("shelf", *words, "--format", "markdown", env=DEMO).out
    tokens = MarkdownIt().enable("table").parse(text)
    assert [token.type for token in tokens if token.level == 0] == ["table_open", "table_close"]
    rows = list(csv.reader(io.StringIO(asked("shelf", *words, "--format", "csv", env=DEMO).out)))
    assert sum(token.type == "tr_open" for token in tokens) == len(rows)


def test_visits_from_a_file_turn_the_plan(run, asked, tmp_path: Path) -> None:
    path = tmp_path / "till.csv"
    path.write_text("machine,visits\ncurlew-fen,50\nwhimbrel-sound,2\n", encoding="utf-8")
    words = ["shelf", "plan", "--budget", "70", "--visits", str(path)]
    ran = run(*words, env=DEMO)

    assert ran.code == 0
    assert "32 machines not in" in ran.err
    assert "of 84 visits" in ran.out  # 50 and 2, and 32 that count once
    data = answer(run, "plan", *words)
    assert data["weighted"]
    assert data["unweighted"] == 32
    assert "curlew-fen" in {one["machine"] for one in data["served"]}
    plain = answer(asked, "plan", *words[:4])
    assert "curlew-fen" not in {one["machine"] for one in plain["served"]}


def test_every_faulty_row_of_a_visits_file_is_told(run, tmp_path: Path) -> None:
    path = tmp_path / "till.csv"
    path.write_text("machine,visits\ncurlew-fen,often\nwhimbrel-sund,2\nteal,-1\n", "utf-8")
    ran = run("shelf", "plan", "--budget", "70", "--visits", str(path), env=DEMO)

    assert (ran.code, ran.out) == (2, "")
    lines = ran.err.splitlines()
    assert [re.search(r"till\.csv:(\d+):", line)[1] for line in lines[:-1]] == ["2", "4", "3"]
    assert "did you mean whimbrel-sound?" in lines[2]
    assert "3 of the visits cannot be taken, so nothing is planned" in lines[3]


def test_without_scipy_the_page_says_so(run, monkeypatch: pytest.MonkeyPatch) -> None:
    looked = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name, *a: None if name == "scipy" else looked(name, *a)
    )
    out = " ".join(run("shelf", "plan", "--budget", "50", env=DEMO).out.split())

    assert "Greedy: 4 newly served machines of at most 5" in out
    assert "at most 20.0 % under the best" in out  # 1/5
    assert "scipy is not installed" in out
    assert "31.6 % of the best" in out

    # Where nothing is left to prove, nothing more is said.
    said = run("shelf", "plan", "--budget", "0", env=DEMO).out
    assert "Greedy: proved that nothing within the budget serves more" in " ".join(said.split())
    assert "scipy" not in said
    assert "31.6" not in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plan"], "missing option '--budget'"),
        (["plan", "--budget", "-3"], "-3 is below zero"),
        (["plan", "--budget", "much"], "'much' is no sensible number"),
        (["plan", "--budget", "9", "--currency", "chf"], "priced in CHF; there is EUR"),
        (["plan", "--budget", "9", "--visits", "gone.csv"], "gone.csv: there is no such file"),
        (["plan", "--budget", "9", "--time-limit", "0"], "1 to 3600"),
        (["gaps", "--family", "dunlin-5"], "dunlin"),
        (["gaps", "--tune", "fast"], "no tune 'fast'"),
        (["gap"], "did you mean gaps?"),
    ],
)
def test_wrong_use_is_one_line(words: list[str], said: str, run) -> None:
    ran = run("shelf", *words, env=DEMO)
    assert ran.code == 2
    assert ran.out == ""
    assert said in ran.err
    assert len(ran.err.splitlines()) == 1


def test_nothing_to_judge_is_exit_code_3(run, tmp_path: Path) -> None:
    (tmp_path / "tunes.yaml").write_text(
        "kind: tune\nrecords:\n  stock: {name: stock, low: 10, high: 15}\n", encoding="utf-8"
    )
    ran = run("shelf", "gaps", env={"FITCHECK_CATALOG": str(tmp_path)})
    assert ran.code == 3
    assert "0 machines" in ran.out
