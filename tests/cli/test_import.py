"""`fitcheck import` as it is called: screens, formats, exit codes, refusals."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from fitcheck.catalogue.editing import EditError
from tests.cli.conftest import ROOT, Ran, Run
from tests.conftest import some

LISTS = ROOT / "tests" / "data" / "lists"
JANUARY = str(LISTS / "arrowgrass-2026-01.csv")
FEBRUARY = str(LISTS / "arrowgrass-2026-02.xlsx")
SCHEMA = json.loads((ROOT / "schemas" / "import.output.schema.json").read_text("utf-8"))
HEAD = "Art. no.;Teeth;Stage;Models;Price\n"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    root = tmp_path / "catalog"
    shutil.copytree(ROOT / "catalog", root)
    (root / "suppliers" / "arrowgrass.yaml").write_text(
        "kind: supplier\nrecords:\n  arrowgrass:\n    name: Arrowgrass\n", encoding="utf-8"
    )
    return root


def take_in(run: Run, shop: Path, *words: str, **env: str) -> Ran:
    base = ["import", *words, "--supplier", "arrowgrass", "--date", "2026-01-08"]
    return run(*base, cwd=shop.parent, env=env)


def put(shop: Path, text: str) -> str:
    path = shop.parent / "list.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


def files(shop: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in shop.rglob("*.yaml")}


# ------------------------------------------------------------------ exit codes


def test_exit_codes(run: Run, shop: Path) -> None:
    clean = put(shop, HEAD + "A-1;15/44;primary;Dunlin Ten;50,00\n")
    assert take_in(run, shop, clean).code == 0
    assert take_in(run, shop, clean, "--write").code == 0
    assert take_in(run, shop, clean).code == 0
    asked = put(shop, HEAD + "A-1;15/44;;Dunlin Ten;50,00\nA-2;15/44;;;50\n")
    assert take_in(run, shop, asked).code == 1
    assert take_in(run, shop, put(shop, HEAD + "A-1;abc;primary;;50\n")).code == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("import", "x.csv"), "there is no such file"),
        (("import", JANUARY, "--supplier", "marram", "--new-supplier", "B"), "name one of them"),
        (
            ("import", JANUARY, "--new-supplier", "Arrowgrass", "--currency", "EUR"),
            "a supplier arrowgrass already",
        ),
        (("import", JANUARY, "--new-supplier", "!", "--currency", "EUR"), "makes no id"),
        (("import", JANUARY, "--new-supplier", "B"), "--new-supplier needs --currency"),
        (
            ("import", JANUARY, "--new-supplier", "B", "--currency", "EUR", "--id-prefix", "-"),
            "begins no id",
        ),
        (
            ("import", JANUARY, "--new-supplier", "B", "--currency", "EUR", "--id-prefix", "ma-"),
            "ids of marram begin with 'ma-'; give another prefix, like B2-",
        ),
        (("import", JANUARY, "--currency", "EUR"), "are of a --new-supplier"),
        (("import", "--supplier", "arrowgrass"), "'LIST'"),
        (("import", "nothere.csv", "--supplier", "arrowgrass"), "there is no such file"),
        (("import", JANUARY, "--supplier", "arowgrass"), "did you mean arrowgrass? a new"),
        (("import", JANUARY, "--supplier", "arrowgrass", "--date", "3.4.26"), "is no date"),
        (("import", JANUARY, "--supplier", "arrowgrass", "--sheet", "x"), "has no sheets"),
        (("import", FEBRUARY, "--supplier", "arrowgrass", "--sheet", "x"), "Listino"),
        (("import", JANUARY, "--supplier", "arrowgrass", "--answers", "no.yaml"), "no.yaml"),
        (
            ("import", JANUARY, "--supplier", "arrowgrass", "--review", "no/such/q.yaml"),
            "there is no such folder",
        ),
        (
            ("import", JANUARY, "--supplier", "arrowgrass", "--review", "q", "--answers", "q"),
            "--review would write over the answers",
        ),
        (
            ("import", JANUARY, "--supplier", "arrowgrass", "--review", JANUARY, "--write"),
            "a file of another kind is there",
        ),
        (
            ("import", JANUARY, "--supplier", "arrowgrass", "--diff", "--format", "csv"),
            "--diff makes no rows",
        ),
        (("import", JANUARY, "--supplier", "marram"), "marram.yaml:13:9 names"),
    ],
)
def test_wrong_use_is_one_line(run: Run, shop: Path, words: tuple[str, ...], says: str) -> None:
    ran = run(*words, cwd=shop.parent)
    assert ran.code == 2
    assert ran.out == ""
    assert says in ran.err
    assert ran.err.count("\n") == 1


def test_wrong_answers_are_a_line_each_and_nothing_is_written(run: Run, shop: Path) -> None:
    before = {path: path.read_bytes() for path in shop.rglob("*.yaml")}
    (shop.parent / "a.yaml").write_text(
        "kind: import-review\nsupplier: arrowgrass\nquestions:\n"
        "  - {asks: model, about: Dunlinn Twelve, answer: dunlim-50}\n"
        "  - {asks: stage, about: x, answer: first}\n",
        encoding="utf-8",
    )
    ran = take_in(run, shop, JANUARY, "--answers", "a.yaml", "--write")
    assert (ran.code, ran.out) == (2, "")
    lines = sorted(ran.err.splitlines())
    assert len(lines) == 2
    assert "a.yaml:4:50: " in lines[0]
    assert "did you mean dunlin-50?" in lines[0]
    assert "a.yaml:5:37: " in lines[1]
    assert {path: path.read_bytes() for path in shop.rglob("*.yaml")} == before


# ------------------------------------------------------------------ the demo


def test_the_demo_is_not_written_to(run: Run, tmp_path: Path) -> None:
    before = {path: path.read_bytes() for path in (ROOT / "catalog").rglob("*.yaml")}
    path = tmp_path / "list.csv"
    path.write_text(HEAD + "A-1;15/44;primary;Dunlin Ten;50,00\n", encoding="utf-8")
    for option in ("--write", "--save-mapping"):
        ran = run("import", str(path), "--supplier", "cordgrass", option, cwd=tmp_path)
        assert (ran.code, ran.out) == (2, "")
        assert ran.err == (
            "fitcheck: the built-in demo is not written to; name your own catalogue with "
            "--catalog\n"
        )
    shown = run("import", str(path), "--supplier", "cordgrass", "--diff", cwd=tmp_path)
    assert shown.code == 0
    assert "+  CG-A-1:" in shown.out
    assert {path: path.read_bytes() for path in (ROOT / "catalog").rglob("*.yaml")} == before


# ------------------------------------------------------------------ formats


def test_json_holds_to_its_schema_and_adds_up(run: Run, shop: Path) -> None:
    for words in ((JANUARY,), (JANUARY, "--diff"), (JANUARY, "--write"), (FEBRUARY,)):
        ran = take_in(run, shop, *words, "--format", "json")
        data = json.loads(ran.out)
        Draft202012Validator(SCHEMA).validate(data)
        counts = data["counts"]
        outcomes = ("new", "changed", "unchanged", "review", "unreadable", "ignored")
        assert sum(counts[each] for each in outcomes) == counts["rows"] == len(data["rows"])
        assert (data["written"] is not None) == ("--write" in words)
        assert (data["diff"] is not None) == ("--diff" in words)


def test_csv_has_a_row_for_each_row_and_no_formulas(run: Run, shop: Path) -> None:
    path = put(shop, HEAD + "=A-1;15/44;primary;=cmd calc;50,00\n@A;x;;;\n")
    ran = take_in(run, shop, path, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert [row["outcome"] for row in rows] == ["ignored", "new", "review"]
    assert rows[1]["part_number"] == "'=A-1"
    assert rows[1]["models"] == "'=cmd calc"
    assert not any(cell[:1] in "=+-@" for row in rows for cell in row.values() if cell)


def test_markdown_is_a_table(run: Run, shop: Path) -> None:
    lines = take_in(run, shop, JANUARY, "--format", "markdown").out.splitlines()
    assert lines[0].startswith("| sheet | row | outcome |")
    assert len(lines) == 2 + 33


# ------------------------------------------------------------------ screens


@pytest.mark.parametrize("width", some(["40", "80", "200"], 1))
def test_nothing_is_wider_than_the_screen(run: Run, shop: Path, width: str) -> None:
    for path in (JANUARY, FEBRUARY):
        ran = take_in(run, shop, path, COLUMNS=width)
        assert max(map(len, ran.out.splitlines())) <= int(width)


def test_teeth_that_change_are_loud_and_all(run: Run, shop: Path) -> None:
    rows = [f"A-{n};15/4{n % 10};primary;;50" for n in range(30)]
    take_in(run, shop, put(shop, HEAD + "\n".join(rows) + "\n"), "--write")
    other = [f"A-{n};16/4{n % 10};primary;;50" for n in range(30)]
    path = put(shop, HEAD + "\n".join(other) + "\n")
    short = take_in(run, shop, path, FORCE_COLOR="1").out
    assert short.count("AR-A-") == 30
    assert "\x1b[1;31m!! TEETH CHANGE in 30 entries" in short
    long = take_in(run, shop, path, "--long").out
    assert "changed, 30" in long
    assert long.rpartition("TEETH CHANGE in 30 entries")[2].count("AR-A-") == 30


def test_prices_that_change_are_counted_and_jumps_are_shown_all(run: Run, shop: Path) -> None:
    rows = [f"A-{n:02d};15/4{n % 10};primary;;50" for n in range(20)]
    take_in(run, shop, put(shop, HEAD + "\n".join(rows) + "\n"), "--write")
    rows = [row.removesuffix("50") + ("90" if n == 18 else "51") for n, row in enumerate(rows)]
    path = put(shop, HEAD + "\n".join(rows) + "\n")
    short = take_in(run, shop, path).out
    assert "prices: 20 of 20 changed, median +2.0 %; AR-A-18 50.00 -> 90.00 EUR (+80.0 %)" in short
    assert "AR-A-18, row 20: !! the price rises by 80 %" in short
    out = take_in(run, shop, path, "--long").out
    assert "changed, 20" in out
    assert "AR-A-18" in out
    assert "AR-A-17" not in out.split("rows =")[0]
    assert "and 7 more" in out
    told = list(csv.DictReader(io.StringIO(take_in(run, shop, path, "--format", "csv").out)))
    assert [row["price_change"] for row in told] == ["", *["yes"] * 20]
    assert not any(row["teeth_change"] for row in told)


def test_answers_are_not_written_over_before_they_are_safe(
    run: Run, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The questions left over go into the same file, once the answers are in the catalogue."""
    path = put(shop, HEAD + "A-1;15/44;;Dunlin Ten;50,00\nA-2;15/45;;Dunlin Ten;50,00\n")
    take_in(run, shop, path, "--review", "q.yaml")
    file = shop.parent / "q.yaml"
    answered = file.read_text("utf-8").replace("answer:\n", "answer: primary\n", 1)
    file.write_text(answered, encoding="utf-8")
    words = (path, "--answers", "q.yaml", "--review", "q.yaml", "--write")
    with monkeypatch.context() as patch:

        def refuse(drafts: object) -> list[Path]:
            raise EditError("the disk is full")

        patch.setattr("fitcheck.services.price_lists.writing.save", refuse)
        assert take_in(run, shop, *words).code == 2
    assert file.read_text("utf-8") == answered
    assert "1 question written to q.yaml" in take_in(run, shop, *words).err
    assert "A-1" not in file.read_text("utf-8").split("questions:")[1]


def test_what_a_list_holds_cannot_steer_the_terminal(run: Run, shop: Path) -> None:
    path = put(
        shop, HEAD + "A\x1b[31m-1;15/44;pri\x1b]0;x\x07mary;Dun\u202elin;50\nB;x\x1b[2J;;;\n"
    )
    for form in ("table", "csv", "markdown"):
        out = take_in(run, shop, path, "--format", form).out
        assert "\x1b" not in out
        assert "\u202e" not in out


def test_the_questions_written_can_be_fed_back(run: Run, shop: Path) -> None:
    ran = take_in(run, shop, JANUARY, "--review", "q.yaml")
    assert "9 questions written to q.yaml" in ran.err
    again = take_in(run, shop, JANUARY, "--answers", "q.yaml")
    assert again.code == 1
    assert again.out == ran.out
    done = put(shop, HEAD + "A-1;15/44;primary;Dunlin Ten;50,00\n")
    ran = take_in(run, shop, done, "--review", "other.yaml")
    assert "no question is open; other.yaml is not written" in ran.err
    assert not (shop.parent / "other.yaml").exists()


def test_a_mapping_alone_can_be_saved(run: Run, shop: Path) -> None:
    ran = take_in(run, shop, JANUARY, "--save-mapping", "--diff")
    assert "+  AR-00118:" in ran.out
    assert "written: catalog/suppliers/arrowgrass.yaml" in ran.err
    assert not (shop / "sets" / "arrowgrass.yaml").exists()
    again = take_in(run, shop, JANUARY)
    assert "are not in the supplier's file" not in again.out


def test_a_list_laid_out_anew_is_read_with_new_columns(run: Run, shop: Path) -> None:
    """Old headings are told; found anew they replace those kept, words and answers stay."""
    supplier = shop / "suppliers" / "arrowgrass.yaml"
    before = put(shop, HEAD + "A-1;15/44;front;Dunlin Ten;50,00\n")
    asked = take_in(run, shop, before, "--review", "q.yaml")
    assert asked.code == 1
    review = shop.parent / "q.yaml"
    text = review.read_text(encoding="utf-8")
    review.write_text(text.replace("answer:\n", "answer: primary\n"), encoding="utf-8")
    saved = take_in(run, shop, before, "--answers", "q.yaml", "--save-mapping", "--write")
    assert saved.code == 0, saved
    assert "decimal_mark: ','" in supplier.read_text("utf-8").replace('"', "'")
    anew = put(shop, "Code;Zähne;Stufe;Preis\nA-1;15/44;front;51\nA-2;15/45;front;52\n")
    refused = take_in(run, shop, anew)
    assert (refused.code, refused.err.count("\n")) == (2, 1)
    assert refused.err.endswith("or add --new-columns to find the columns again\n")
    ran = take_in(run, shop, anew, "--new-columns", "--save-mapping", "--write")
    assert ran.code == 0, ran
    text = supplier.read_text("utf-8")
    assert "part_number: Code" in text
    assert "Art. no." not in text
    assert "decimal_mark" not in text, "the new list does not settle it"
    assert "front: primary" in text
    assert take_in(run, shop, anew).code == 0
    assert "2 unchanged" in take_in(run, shop, anew).out


def test_an_unknown_supplier_is_told_how_to_become_known(run: Run, shop: Path) -> None:
    ran = run("import", str(put(shop, "x")), "--supplier", "Sea Fern", "--catalog", str(shop))
    assert ran.code == 2
    assert "suppliers/sea-fern.yaml" in ran.err
    assert "kind: supplier" in ran.err


TWO_PRICES = (
    "Artikel;Zähne;Stufe;UVP;HEK netto\n"
    "5001;15/44;primär;72,50;45,30\n"
    "5002;15/45;primär;73,50;46,30\n"
)


@pytest.mark.parametrize(
    "options", some([("--save-mapping", "--write"), ("--write",), ("--save-mapping",)], 1)
)
def test_of_two_columns_of_prices_neither_is_written_or_saved(
    run: Run, shop: Path, options: tuple[str, ...]
) -> None:
    """Saving the columns took the first one, though the question which it is was open."""
    before = files(shop)
    ran = take_in(run, shop, put(shop, TWO_PRICES), *options)
    assert "'UVP', or 'HEK netto' is price (?)" in ran.out
    assert "Which column is price: 'UVP' or 'HEK netto'?" in ran.out
    assert "no column is saved until the question about the columns is answered" in ran.out
    assert ran.code == 1
    assert "nothing to" in ran.err
    assert files(shop) == before


@pytest.mark.parametrize("options", some([("--save-mapping", "--write"), ("--write",)], 1))
@pytest.mark.parametrize(("answer", "price"), [("HEK netto", "45.30"), ("UVP", "72.50")])
def test_the_column_that_was_answered_is_written_and_saved(
    run: Run, shop: Path, options: tuple[str, ...], answer: str, price: str
) -> None:
    """The guess won over the answer, in every row and in the supplier's file."""
    path = put(shop, TWO_PRICES)
    take_in(run, shop, path, "--review", "q.yaml")
    review = shop.parent / "q.yaml"
    answered = review.read_text("utf-8").replace("answer:\n", f"answer: {answer}\n")
    review.write_text(answered, encoding="utf-8")
    ran = take_in(run, shop, path, "--answers", "q.yaml", *options)
    assert ran.code == 0, ran
    assert f"price: {price}" in (shop / "sets" / "arrowgrass.yaml").read_text("utf-8")
    saved = (shop / "suppliers" / "arrowgrass.yaml").read_text("utf-8")
    assert (f"price: {answer}}}" in saved) == ("--save-mapping" in options)
    again = take_in(run, shop, path)
    assert (again.code, "2 unchanged" in again.out) == (0, True)


def test_an_answer_that_the_suppliers_file_contradicts_is_refused(run: Run, shop: Path) -> None:
    path = put(shop, TWO_PRICES)
    take_in(run, shop, path, "--review", "q.yaml")
    review = shop.parent / "q.yaml"
    text = review.read_text("utf-8").replace("answer:\n", "answer: UVP\n")
    review.write_text(text, encoding="utf-8")
    assert take_in(run, shop, path, "--answers", "q.yaml", "--save-mapping").code == 0
    assert take_in(run, shop, path, "--answers", "q.yaml").code == 0
    review.write_text(text.replace("answer: UVP", "answer: HEK netto"), encoding="utf-8")
    before = files(shop)
    ran = take_in(run, shop, path, "--answers", "q.yaml", "--write")
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert "price is 'HEK netto', catalog/suppliers/arrowgrass.yaml:" in ran.err
    assert files(shop) == before
    options = ("--answers", "q.yaml", "--new-columns", "--save-mapping", "--write")
    assert take_in(run, shop, path, *options).code == 0
    assert "price: 45.30" in (shop / "sets" / "arrowgrass.yaml").read_text("utf-8")


def test_a_column_whose_cells_disagree_needs_consent(run: Run, shop: Path) -> None:
    text = "Artikel;Zähne;Stufe;Preis\n" + "".join(
        f"500{at};15/4{at};primär;{price}\n" for at, price in enumerate(["49,90", "A", "B", "C"])
    )
    ran = take_in(run, shop, put(shop, text), "--write")
    assert (ran.code, ran.out) == (2, "")
    assert "is 'Preis' the column of price?" in ran.err
    ran = take_in(run, shop, put(shop, text), "--write", "--save-mapping", "--long")
    assert "primary 15/40, 49.90 EUR" in ran.out, ran


@pytest.mark.parametrize(
    ("date", "says"),
    [
        ("1926-01-08", "fitcheck: look: --date 1926-01-08 is long before anything"),
        ("2999-01-08", "fitcheck: look: --date 2999-01-08 has not come yet"),
        ("2026-01-08", ""),
    ],
)
def test_a_date_that_check_would_report_is_asked_about(
    run: Run, shop: Path, date: str, says: str
) -> None:
    words = ["import", put(shop, HEAD), "--supplier", "arrowgrass", "--date", date]
    ran = run(*words, cwd=shop.parent)
    assert says in ran.err
    assert ("look:" in ran.err) == bool(says)


def test_questions_that_cannot_be_written_name_the_file_asked_for(
    run: Run, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(**_: object) -> None:
        raise PermissionError(13, "Permission denied", "/somewhere/.questions.yaml.x1")

    monkeypatch.setattr("tempfile.mkstemp", refuse)
    asked = put(shop, HEAD + "A-1;15/44;;Dunlin Ten;50,00\n")
    path = str(shop / "questions.yaml")
    ran = take_in(run, shop, asked, "--review", path)
    assert ran.code == 2
    assert f"fitcheck: {path} cannot be written: permission denied; name another file" in ran.err


# ------------------------------------------------------------------ whose list it is, and the month

LINE = "A-1;15/44;primary;Dunlin Ten;50,00\n"


def named(shop: Path, name: str, text: str) -> str:
    path = shop.parent / name
    path.write_text(text, encoding="utf-8")
    return name


def test_the_name_before_works_the_same(run: Run, shop: Path) -> None:
    words = [put(shop, HEAD + LINE), "--supplier", "arrowgrass", "--date", "2026-01-08"]
    assert run("intake", *words, cwd=shop.parent) == run("import", *words, cwd=shop.parent)
    assert "intake" not in run("--help").out


def test_a_new_supplier_is_made_with_its_first_list(run: Run, shop: Path) -> None:
    file = named(shop, "march.csv", HEAD + LINE)
    words = ["import", file, "--new-supplier", "Sea Fern", "--currency", "CHF", "--id-prefix", "X-"]
    before = files(shop)
    shown = run(*words, cwd=shop.parent)
    assert (shown.code, "Sea Fern: march.csv" in shown.out) == (0, True), shown
    assert files(shop) == before
    assert run(*words, "--save-mapping", "--write", cwd=shop.parent).code == 0
    assert "name: Sea Fern" in (shop / "suppliers" / "sea-fern.yaml").read_text("utf-8")
    written = (shop / "sets" / "sea-fern.yaml").read_text("utf-8")
    assert "  X-A-1:" in written
    assert "currency" not in written, "it is the supplier's"


def test_who_sent_a_list_is_known_by_it_and_said(run: Run, shop: Path) -> None:
    rows = "".join(f"Q-{n};15/4{n};primary;Dunlin Ten;50,00\n" for n in range(5))
    ran = run("import", named(shop, "march.csv", HEAD + rows), cwd=shop.parent)
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert "march.csv: no supplier here is known to send this" in ran.err
    file = named(shop, "Preise_Arrowgrass_2026.csv", HEAD + rows)
    ran = run("import", file, "--save-mapping", "--write", cwd=shop.parent)
    assert "a list of Arrowgrass, known by the file's name" in ran.err
    ran = run("import", "march.csv", cwd=shop.parent)
    assert "a list of Arrowgrass, known by 5 part numbers, the headings" in ran.err
    beside = "Code;Teeth;Stage;Models;Price;Arrowgrass no.\n" + "".join(
        f"Z{n};15/4{n};primary;Dunlin Ten;60,00;Q-{n}\n" for n in range(5)
    )
    ran = run("import", named(shop, "may.csv", beside), cwd=shop.parent)
    assert (ran.code, ran.out) == (2, ""), "another dealer may name these numbers too"
    assert "Perhaps of arrowgrass (5 part numbers)" in ran.err
    ran = run("import", named(shop, "april.csv", HEAD + LINE), cwd=shop.parent)
    assert (ran.code, ran.out) == (2, "")
    assert "Perhaps of arrowgrass (the headings); say so: fitcheck import april.csv --su" in ran.err
    ran = run("import", named(shop, "marram.csv", HEAD + rows), cwd=shop.parent)
    assert ran.code == 2, "its name says one thing, its numbers another"
    assert "arrowgrass" in ran.err
    assert "marram" in ran.err


def test_what_is_gone_and_sells_is_loud(run: Run, shop: Path) -> None:
    rows = "".join(f"A-{n};15/4{n};primary;Dunlin Ten;50,00\n" for n in range(3))
    take_in(run, shop, put(shop, HEAD + rows), "--write", "--list-name", "L")
    for words in (("receive", "AR-A-0", "5"), ("issue", "AR-A-0", "2")):
        assert run("shelf", *words, cwd=shop.parent).code == 0
    path = put(shop, HEAD + "A-1;15/41;primary;Dunlin Ten;55,00\n")
    words = ["import", path, "--supplier", "arrowgrass", "--list-name", "L"]
    out = run(*words, cwd=shop.parent).out
    assert out.splitlines()[-4:] == [
        "prices: 1 of 1 changed, median +10.0 %; AR-A-1 50.00 -> 55.00 EUR (+10.0 %)",
        "teeth: none changed",
        "new: 0; gone: 2 (AR-A-0, AR-A-2)",
        "!! GONE, BUT IT SELLS: AR-A-0 (2) sold from the shelf in 12 months",
    ]
    month = json.loads(run(*words, "--format", "json", cwd=shop.parent).out)["month"]
    assert month["gone_selling"] == [{"set": "AR-A-0", "pieces": 2}]
    assert (month["known"], month["median_percent"]) == (1, 10.0)
    later = run(*words, "--date", "2099-01-01", cwd=shop.parent).out
    assert "IT SELLS" not in later, "what was sold long ago sells no more"


def test_later_writes_what_is_certain_and_leaves_the_rest(run: Run, shop: Path) -> None:
    path = put(shop, HEAD + LINE + "A-2;15/44;;Dunlin Ten;50\n")
    ran = take_in(run, shop, path, "--later")
    assert ran.code == 1
    assert "AR-A-1:" in (shop / "sets" / "arrowgrass.yaml").read_text("utf-8")
    again = take_in(run, shop, path)
    assert (again.code, "1 unchanged + 1 review" in again.out) == (1, True)
