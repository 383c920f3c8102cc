"""`fitcheck intake` as it is called: screens, formats, exit codes, refusals."""

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
SCHEMA = json.loads((ROOT / "schemas" / "intake.output.schema.json").read_text("utf-8"))
HEAD = "Art. no.;Teeth;Stage;Models;Price\n"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    root = tmp_path / "catalog"
    shutil.copytree(ROOT / "catalog", root)
    (root / "suppliers" / "arrowgrass.yaml").write_text(
        "kind: supplier\nrecords:\n  arrowgrass:\n    name: Arrowgrass\n", encoding="utf-8"
    )
    return root


def intake(run: Run, shop: Path, *words: str, **env: str) -> Ran:
    base = ["intake", *words, "--supplier", "arrowgrass", "--date", "2026-01-08"]
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
    assert intake(run, shop, clean).code == 0
    assert intake(run, shop, clean, "--write").code == 0
    assert intake(run, shop, clean).code == 0
    asked = put(shop, HEAD + "A-1;15/44;;Dunlin Ten;50,00\nA-2;15/44;;;50\n")
    assert intake(run, shop, asked).code == 1
    assert intake(run, shop, put(shop, HEAD + "A-1;abc;primary;;50\n")).code == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("intake", "x.csv"), "name the supplier: --supplier NAME"),
        (("intake", "--supplier", "arrowgrass"), "'LIST'"),
        (("intake", "nothere.csv", "--supplier", "arrowgrass"), "there is no such file"),
        (("intake", JANUARY, "--supplier", "arowgrass"), "did you mean arrowgrass? a new"),
        (("intake", JANUARY, "--supplier", "arrowgrass", "--date", "3.4.26"), "is no date"),
        (("intake", JANUARY, "--supplier", "arrowgrass", "--sheet", "x"), "has no sheets"),
        (("intake", FEBRUARY, "--supplier", "arrowgrass", "--sheet", "x"), "Listino"),
        (("intake", JANUARY, "--supplier", "arrowgrass", "--answers", "no.yaml"), "no.yaml"),
        (
            ("intake", JANUARY, "--supplier", "arrowgrass", "--review", "no/such/q.yaml"),
            "there is no such folder",
        ),
        (
            ("intake", JANUARY, "--supplier", "arrowgrass", "--review", "q", "--answers", "q"),
            "--review would write over the answers",
        ),
        (
            ("intake", JANUARY, "--supplier", "arrowgrass", "--review", JANUARY, "--write"),
            "a file of another kind is there",
        ),
        (
            ("intake", JANUARY, "--supplier", "arrowgrass", "--diff", "--format", "csv"),
            "--diff makes no rows",
        ),
        (("intake", JANUARY, "--supplier", "marram"), "marram.yaml:13:9 names"),
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
        "kind: intake-review\nsupplier: arrowgrass\nquestions:\n"
        "  - {asks: model, about: Dunlinn Twelve, answer: dunlim-50}\n"
        "  - {asks: stage, about: x, answer: first}\n",
        encoding="utf-8",
    )
    ran = intake(run, shop, JANUARY, "--answers", "a.yaml", "--write")
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
        ran = run("intake", str(path), "--supplier", "cordgrass", option, cwd=tmp_path)
        assert (ran.code, ran.out) == (2, "")
        assert ran.err == (
            "fitcheck: the built-in demo is not written to; name your own catalogue with "
            "--catalog\n"
        )
    shown = run("intake", str(path), "--supplier", "cordgrass", "--diff", cwd=tmp_path)
    assert shown.code == 0
    assert "+  CG-A-1:" in shown.out
    assert {path: path.read_bytes() for path in (ROOT / "catalog").rglob("*.yaml")} == before


# ------------------------------------------------------------------ formats


def test_json_holds_to_its_schema_and_adds_up(run: Run, shop: Path) -> None:
    for words in ((JANUARY,), (JANUARY, "--diff"), (JANUARY, "--write"), (FEBRUARY,)):
        ran = intake(run, shop, *words, "--format", "json")
        data = json.loads(ran.out)
        Draft202012Validator(SCHEMA).validate(data)
        counts = data["counts"]
        outcomes = ("new", "changed", "unchanged", "review", "unreadable", "ignored")
        assert sum(counts[each] for each in outcomes) == counts["rows"] == len(data["rows"])
        assert (data["written"] is not None) == ("--write" in words)
        assert (data["diff"] is not None) == ("--diff" in words)


def test_csv_has_a_row_for_each_row_and_no_formulas(run: Run, shop: Path) -> None:
    path = put(shop, HEAD + "=A-1;15/44;primary;=cmd calc;50,00\n@A;x;;;\n")
    ran = intake(run, shop, path, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert [row["outcome"] for row in rows] == ["ignored", "new", "review"]
    assert rows[1]["part_number"] == "'=A-1"
    assert rows[1]["models"] == "'=cmd calc"
    assert not any(cell[:1] in "=+-@" for row in rows for cell in row.values() if cell)


def test_markdown_is_a_table(run: Run, shop: Path) -> None:
    lines = intake(run, shop, JANUARY, "--format", "markdown").out.splitlines()
    assert lines[0].startswith("| sheet | row | outcome |")
    assert len(lines) == 2 + 33


# ------------------------------------------------------------------ screens


@pytest.mark.parametrize("width", some(["40", "80", "200"], 1))
def test_nothing_is_wider_than_the_screen(run: Run, shop: Path, width: str) -> None:
    for path in (JANUARY, FEBRUARY):
        ran = intake(run, shop, path, COLUMNS=width)
        assert max(map(len, ran.out.splitlines())) <= int(width)


def test_teeth_that_change_stand_first_and_all(run: Run, shop: Path) -> None:
    rows = [f"A-{n};15/4{n % 10};primary;;50" for n in range(30)]
    intake(run, shop, put(shop, HEAD + "\n".join(rows) + "\n"), "--write")
    other = [f"A-{n};16/4{n % 10};primary;;50" for n in range(30)]
    ran = intake(run, shop, put(shop, HEAD + "\n".join(other) + "\n"), FORCE_COLOR="1")
    lines = ran.out.splitlines()
    (head,) = [at for at, line in enumerate(lines) if "TEETH CHANGE in 30 entries" in line]
    assert "\x1b[1;31m" in lines[head]
    assert sum("!! AR-A-" in line for line in lines) == 30
    assert head < next(at for at, line in enumerate(lines) if "changed, 30" in line)


def test_prices_that_change_are_counted_first_and_jumps_are_shown_all(run: Run, shop: Path) -> None:
    rows = [f"A-{n:02d};15/4{n % 10};primary;;50" for n in range(20)]
    intake(run, shop, put(shop, HEAD + "\n".join(rows) + "\n"), "--write")
    rows = [row.removesuffix("50") + ("90" if n == 18 else "51") for n, row in enumerate(rows)]
    path = put(shop, HEAD + "\n".join(rows) + "\n")
    out = intake(run, shop, path).out
    assert "!! PRICE CHANGE in 20 entries, 1 of them by a third or more" in out
    assert out.index("PRICE CHANGE") < out.index("changed, 20")
    assert "AR-A-18" in out
    assert "AR-A-17" not in out
    assert "and 7 more" in out
    told = list(csv.DictReader(io.StringIO(intake(run, shop, path, "--format", "csv").out)))
    assert [row["price_change"] for row in told] == ["", *["yes"] * 20]
    assert not any(row["teeth_change"] for row in told)


def test_answers_are_not_written_over_before_they_are_safe(
    run: Run, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The questions left over go into the same file, once the answers are in the catalogue."""
    path = put(shop, HEAD + "A-1;15/44;;Dunlin Ten;50,00\nA-2;15/45;;Dunlin Ten;50,00\n")
    intake(run, shop, path, "--review", "q.yaml")
    file = shop.parent / "q.yaml"
    answered = file.read_text("utf-8").replace("answer:\n", "answer: primary\n", 1)
    file.write_text(answered, encoding="utf-8")
    words = (path, "--answers", "q.yaml", "--review", "q.yaml", "--write")
    with monkeypatch.context() as patch:

        def refuse(drafts: object) -> list[Path]:
            raise EditError("the disk is full")

        patch.setattr("fitcheck.services.price_lists.writing.save", refuse)
        assert intake(run, shop, *words).code == 2
    assert file.read_text("utf-8") == answered
    assert "1 question written to q.yaml" in intake(run, shop, *words).err
    assert "A-1" not in file.read_text("utf-8").split("questions:")[1]


def test_what_a_list_holds_cannot_steer_the_terminal(run: Run, shop: Path) -> None:
    path = put(
        shop, HEAD + "A\x1b[31m-1;15/44;pri\x1b]0;x\x07mary;Dun\u202elin;50\nB;x\x1b[2J;;;\n"
    )
    for form in ("table", "csv", "markdown"):
        out = intake(run, shop, path, "--format", form).out
        assert "\x1b" not in out
        assert "\u202e" not in out


def test_the_questions_written_can_be_fed_back(run: Run, shop: Path) -> None:
    ran = intake(run, shop, JANUARY, "--review", "q.yaml")
    assert "8 questions written to q.yaml" in ran.err
    again = intake(run, shop, JANUARY, "--answers", "q.yaml")
    assert again.code == 1
    assert again.out == ran.out
    done = put(shop, HEAD + "A-1;15/44;primary;Dunlin Ten;50,00\n")
    ran = intake(run, shop, done, "--review", "other.yaml")
    assert "no question is open; other.yaml is not written" in ran.err
    assert not (shop.parent / "other.yaml").exists()


def test_a_mapping_alone_can_be_saved(run: Run, shop: Path) -> None:
    ran = intake(run, shop, JANUARY, "--save-mapping", "--diff")
    assert "+  AR-00118:" in ran.out
    assert "written: catalog/suppliers/arrowgrass.yaml" in ran.err
    assert not (shop / "sets" / "arrowgrass.yaml").exists()
    again = intake(run, shop, JANUARY)
    assert "are not in the supplier's file" not in again.out


def test_a_list_laid_out_anew_is_read_with_new_columns(run: Run, shop: Path) -> None:
    """Old headings are told; found anew they replace those kept, words and answers stay."""
    supplier = shop / "suppliers" / "arrowgrass.yaml"
    before = put(shop, HEAD + "A-1;15/44;front;Dunlin Ten;50,00\n")
    asked = intake(run, shop, before, "--review", "q.yaml")
    assert asked.code == 1
    review = shop.parent / "q.yaml"
    text = review.read_text(encoding="utf-8")
    review.write_text(text.replace("answer:\n", "answer: primary\n"), encoding="utf-8")
    saved = intake(run, shop, before, "--answers", "q.yaml", "--save-mapping", "--write")
    assert saved.code == 0, saved
    assert "decimal_mark: ','" in supplier.read_text("utf-8").replace('"', "'")
    anew = put(shop, "Code;Zähne;Stufe;Preis\nA-1;15/44;front;51\nA-2;15/45;front;52\n")
    refused = intake(run, shop, anew)
    assert (refused.code, refused.err.count("\n")) == (2, 1)
    assert refused.err.endswith("or add --new-columns to find the columns again\n")
    ran = intake(run, shop, anew, "--new-columns", "--save-mapping", "--write")
    assert ran.code == 0, ran
    text = supplier.read_text("utf-8")
    assert "part_number: Code" in text
    assert "Art. no." not in text
    assert "decimal_mark" not in text, "the new list does not settle it"
    assert "front: primary" in text
    assert intake(run, shop, anew).code == 0
    assert "2 unchanged" in intake(run, shop, anew).out


def test_an_unknown_supplier_is_told_how_to_become_known(run: Run, shop: Path) -> None:
    ran = run("intake", str(put(shop, "x")), "--supplier", "Sea Fern", "--catalog", str(shop))
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
    ran = intake(run, shop, put(shop, TWO_PRICES), *options)
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
    intake(run, shop, path, "--review", "q.yaml")
    review = shop.parent / "q.yaml"
    answered = review.read_text("utf-8").replace("answer:\n", f"answer: {answer}\n")
    review.write_text(answered, encoding="utf-8")
    ran = intake(run, shop, path, "--answers", "q.yaml", *options)
    assert ran.code == 0, ran
    assert f"price: {price}" in (shop / "sets" / "arrowgrass.yaml").read_text("utf-8")
    saved = (shop / "suppliers" / "arrowgrass.yaml").read_text("utf-8")
    assert (f"price: {answer}}}" in saved) == ("--save-mapping" in options)
    again = intake(run, shop, path)
    assert (again.code, "2 unchanged" in again.out) == (0, True)


def test_an_answer_that_the_suppliers_file_contradicts_is_refused(run: Run, shop: Path) -> None:
    path = put(shop, TWO_PRICES)
    intake(run, shop, path, "--review", "q.yaml")
    review = shop.parent / "q.yaml"
    text = review.read_text("utf-8").replace("answer:\n", "answer: UVP\n")
    review.write_text(text, encoding="utf-8")
    assert intake(run, shop, path, "--answers", "q.yaml", "--save-mapping").code == 0
    assert intake(run, shop, path, "--answers", "q.yaml").code == 0
    review.write_text(text.replace("answer: UVP", "answer: HEK netto"), encoding="utf-8")
    before = files(shop)
    ran = intake(run, shop, path, "--answers", "q.yaml", "--write")
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert "price is 'HEK netto', catalog/suppliers/arrowgrass.yaml:" in ran.err
    assert files(shop) == before
    options = ("--answers", "q.yaml", "--new-columns", "--save-mapping", "--write")
    assert intake(run, shop, path, *options).code == 0
    assert "price: 45.30" in (shop / "sets" / "arrowgrass.yaml").read_text("utf-8")


def test_a_column_whose_cells_disagree_needs_consent(run: Run, shop: Path) -> None:
    text = "Artikel;Zähne;Stufe;Preis\n" + "".join(
        f"500{at};15/4{at};primär;{price}\n" for at, price in enumerate(["49,90", "A", "B", "C"])
    )
    ran = intake(run, shop, put(shop, text), "--write")
    assert (ran.code, ran.out) == (2, "")
    assert "is 'Preis' the column of price?" in ran.err
    ran = intake(run, shop, put(shop, text), "--write", "--save-mapping")
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
    words = ["intake", put(shop, HEAD), "--supplier", "arrowgrass", "--date", date]
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
    ran = intake(run, shop, asked, "--review", path)
    assert ran.code == 2
    assert f"fitcheck: {path} cannot be written: permission denied; name another file" in ran.err
