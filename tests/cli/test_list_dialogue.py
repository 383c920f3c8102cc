"""A list's questions on a terminal: one key an answer, kept at once, taken back, put off.

The lists are invented.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path

import openpyxl
import pytest
import yaml
from click.testing import CliRunner, Result

from fitcheck.catalogue.reader import load
from fitcheck.cli.main import cli
from fitcheck.errors import UsageError
from tests.cli.conftest import ROOT
from tests.cli.terminal import Terminal
from tests.services.price_lists.conftest import files_in

HEAD = "Art. no.;Teeth;Stage;Models;Price\n"
TWO = HEAD + (
    "A-1;15/44;;Dunlin Ten;50,00\nA-2;15/45;;Dunlin Ten;51,00\nA-3;15/46;primary;Dunlin Ten;52,00\n"
)
TWO_PRICES = (
    "Artikel;Zähne;Stufe;UVP;HEK netto\n"
    "5001;15/44;primär;72,50;45,30\n"
    "5002;15/45;primär;73,50;46,30\n"
)
DAY = ("--date", "2026-01-08")


@pytest.fixture(autouse=True)
def no_terminal_left() -> Iterator[None]:
    yield
    while Terminal.opened:
        Terminal.opened.pop().kill()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    (tmp_path / "catalog" / "suppliers" / "arrowgrass.yaml").write_text(
        "kind: supplier\nrecords:\n  arrowgrass:\n    name: Arrowgrass\n", encoding="utf-8"
    )
    return tmp_path


def start(shop: Path, text: str, *words: str, columns: int = 80) -> Terminal:
    (shop / "arrowgrass.csv").write_text(text, encoding="utf-8")
    return Terminal("import", "arrowgrass.csv", *DAY, *words, cwd=shop, columns=columns)


def sit(
    shop: Path, text: str, keys: str, file: str = "arrowgrass.csv", options: Sequence[str] = ()
) -> Result:
    """The same in this process, all keys at once, which is quicker."""
    (shop / file).write_text(text, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patched:
        patched.chdir(shop)
        patched.setattr("fitcheck.cli.list_order.on_a_terminal", lambda: True)
        words = ["import", file, *DAY, *options]
        return CliRunner().invoke(cli, words, input=keys, env={"COLUMNS": "80"})


def kept(shop: Path) -> dict[str, object]:
    """What the supplier's file keeps."""
    text = (shop / "catalog" / "suppliers" / "arrowgrass.yaml").read_text("utf-8")
    mapping: dict[str, object] = yaml.safe_load(text)["records"]["arrowgrass"].get("list_mapping")
    return mapping or {}


def written(shop: Path) -> dict[str, str]:
    """Id to pairs of what is in the catalogue of the supplier."""
    sets = load(shop / "catalog").gear_sets.values()
    own = [entry for entry in sets if entry.record.supplier == "arrowgrass"]
    return {e.id: ", ".join(f"{s} {p}" for s, p in e.record.pairs.items()) for e in own}


def test_a_first_day_from_the_unknown_sender_to_the_second_run(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    shutil.copy(ROOT / "tests" / "data" / "lists" / "arrowgrass-2026-01.csv", tmp_path)
    words = ("import", "arrowgrass-2026-01.csv", *DAY)
    first = Terminal(*words, cwd=tmp_path).type(["n", "\n", "\n", "\n"])
    page = (ROOT / "docs" / "import.md").read_text("utf-8")
    shown = page.split("$ fitcheck import arrowgrass-2026-01.csv\n", 1)[1].split("\n> 1\n```")[0]
    lines = [line.rstrip() for line in first.text.splitlines()]
    assert "\n".join(lines).startswith(shown), "the sample in docs/import.md"
    first.type(["1", "3", "u", "3", "2", "1", "2", "1", "1", "n", "n", "y"])
    assert first.code == 1, "one row has no number"
    assert "33 rows = 14 new" in first.text
    second = Terminal(*words, cwd=tmp_path).type([])
    assert second.code == 1
    assert "question" not in second.text
    assert "nothing to write: the catalogue says the same" in second.text


def test_of_those_that_may_have_sent_it_one_is_chosen_by_a_key(shop: Path) -> None:
    columns = "{part_number: Art. no., teeth: Teeth, stage: Stage, models: Models, price: Price}"
    with (shop / "catalog" / "suppliers" / "arrowgrass.yaml").open("a", encoding="utf-8") as file:
        file.write(f"    list_mapping: {{columns: {columns}}}\n")
    ran = sit(shop, TWO, "?1q", "april.csv")
    assert "1 Arrowgrass (the headings)   o another one on file   n a new supplier" in ran.output
    assert "Arrowgrass: 1 row certain; 2 questions about 2 rows" in ran.output
    assert isinstance(sit(shop, TWO, "q", "april.csv").exception, UsageError)
    ran = sit(shop, TWO, "onobody\nmarram\nq", "april.csv")
    assert "nobody" in ran.output
    assert "marram.yaml" in str(ran.exception), "its columns are other ones"


def test_a_prefix_of_another_supplier_is_asked_again(shop: Path) -> None:
    ran = sit(shop, TWO, "nSea Fern\n\nMA-\nFERN-\nq", "list.csv")
    assert "ids of marram begin with 'MA-'; give another prefix, like SF-" in ran.output
    assert "id_prefix: FERN-" in (shop / "catalog" / "suppliers" / "sea-fern.yaml").read_text(
        "utf-8"
    )


def test_one_key_teaches_a_word_for_this_supplier_another_for_all(shop: Path) -> None:
    text = TWO.replace("Teeth;Stage", "Teeth;Stage;Text").replace(
        "15/46;primary;", "15/46;primary;set, Losversand;"
    )
    for key, kind in (("1", "harmless"), ("2", "always harmless")):
        ran = sit(shop, text.replace(";;Dunlin", ";primary;;Dunlin"), f"{key}n")
        assert "1 harmless   2 always harmless   3 left out" in ran.output
        assert kept(shop)["words"] == {"Losversand": kind}
        made = shop / "catalog" / "suppliers" / "arrowgrass.yaml"
        made.write_text(made.read_text("utf-8").split("    list_mapping")[0], "utf-8")


def test_the_row_stands_under_its_headings_with_the_word_marked(shop: Path) -> None:
    text = TWO.replace("Dunlin Ten;50", "Dunlinn Ten, with a very long remark behind it;50")
    terminal = start(shop, text, columns=60).type(["q"])
    shown = [line for line in terminal.text.splitlines() if not line.startswith("fitcheck:")]
    assert max(map(len, shown)) <= 60
    assert ">>Dunlinn Ten" in terminal.text
    in_colour = Terminal(
        "import", "arrowgrass.csv", cwd=shop, env={"NO_COLOR": ""}, columns=60
    ).type(["q"])
    assert ">>" not in in_colour.text
    assert "\x1b[1;7m" in in_colour.shown


def test_one_answer_serves_all_questions_alike_and_is_taken_back_whole(shop: Path) -> None:
    before = files_in(shop / "catalog")
    ran = sit(shop, TWO, "a1n")
    assert "3 new" in ran.output
    assert kept(shop) == {
        "settled": {"stage of A-1, '15/44'": "primary", "stage of A-2, '15/45'": "primary"}
    }
    (shop / "catalog" / "suppliers" / "arrowgrass.yaml").write_bytes(
        before["suppliers/arrowgrass.yaml"]
    )
    ran = sit(shop, TWO, "a1ukxuq")
    assert ran.output.count("1 of 2: Of which stage is A-1") == 3
    assert (ran.exit_code, files_in(shop / "catalog")) == (0, before)


def test_an_answer_is_safe_the_moment_it_is_given(shop: Path) -> None:
    start(shop, TWO).type(["2"]).kill()
    assert kept(shop) == {"settled": {"stage of A-1, '15/44'": "secondary"}}
    terminal = start(shop, TWO).type(["1", "y"])
    assert "1 of 1: Of which stage is A-2" in terminal.text
    assert terminal.code == 0
    assert written(shop) == {
        "AR-A-1": "secondary 15/44",
        "AR-A-2": "primary 15/45",
        "AR-A-3": "primary 15/46",
    }
    assert "settled" not in kept(shop) or "stage of A-2" not in str(kept(shop))


def test_what_is_certain_can_be_taken_and_the_rest_put_off(shop: Path) -> None:
    ran = sit(shop, TWO, "ly")
    assert written(shop) == {"AR-A-3": "primary 15/46"}
    assert "left open, 2; 2 questions, asked again by the next run" in ran.output
    assert "1 of 2: Of which stage is A-1" in sit(shop, TWO, "q").output


MANY = HEAD + "".join(f"A-{n};15/{n};primary;Dunlin Ten;5{n},00\n" for n in range(40, 56))


def test_single_rows_are_held_back_and_come_again_with_the_next_run(shop: Path) -> None:
    terminal = start(shop, MANY).type(["r"])
    assert "AR-A-55, row 17: primary 15/55" in terminal.text, "each row, however many"
    terminal.type(["h", "3, 17, 99\n"])
    assert "row 99 is none of those to be written" in terminal.text
    assert (
        "held back, 2; the next run brings them again\n  3 (AR-A-41), 17 (AR-A-55)" in terminal.text
    )
    terminal.type(["h", "17\n", "y"])
    assert terminal.code == 1, "one is open"
    assert {f"AR-A-{n}" for n in range(40, 56)} - {*written(shop)} == {"AR-A-41"}
    again = sit(shop, MANY, "y")
    assert again.exit_code == 0
    assert len(written(shop)) == 16


def test_a_row_is_held_with_the_others_of_its_entry(shop: Path) -> None:
    two = HEAD + "A-1;15/44;primary;Dunlin Ten;50\nA-1;15/44;primary;Dunlin Twelve;50\n"
    sit(shop, two + "A-2;15/45;primary;Dunlin Ten;51\n", "h2, 3\ny")
    assert [*written(shop)] == ["AR-A-2"]


def test_a_row_of_a_workbook_is_named_with_its_sheet(shop: Path) -> None:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, number in (("Primary", "A-1"), ("Primary gears", "A-2")):
        page = book.create_sheet(title)
        for line in (HEAD, f"{number};15/44;primary;Dunlin Ten;50"):
            page.append(line.strip().split(";"))
    book.save(shop / "arrowgrass.xlsx")
    terminal = Terminal("import", "arrowgrass.xlsx", *DAY, cwd=shop)
    terminal.type(["h", "2\n", "h", "Primary gears!2\n", "y"])
    assert "row 2 is on several sheets; say which" in terminal.text
    assert [*written(shop)] == ["AR-A-1"]


@pytest.mark.parametrize("keys", ["u1q", "1uu1q"])
def test_an_answer_of_an_earlier_run_is_taken_back(shop: Path, keys: str) -> None:
    ran = sit(shop, TWO, "2q")
    assert "stage of A-1, '15/44'" in str(kept(shop))
    ran = sit(shop, TWO, keys)
    assert "Kept before. Which answer is to be taken back?" in ran.output
    assert "  1 stage of A-1, '15/44': secondary" in ran.output
    assert "1 of 2: Of which stage is A-1" in ran.output
    assert "A-1" not in str(kept(shop))


def test_a_changed_heading_is_asked_and_what_is_chosen_holds_from_then_on(shop: Path) -> None:
    sit(shop, TWO, "a1y")
    columns = kept(shop)["columns"]
    moved = TWO.replace("Price", "Net").replace("Teeth", "Gears").replace("Models", "For")
    terminal = start(shop, moved).type([])
    assert "1 of 3: Which column is the teeth now? Arrowgrass's file says 'Teeth'" in " ".join(
        terminal.text.split()
    )
    assert "  1 'Gears': 15/44, 15/45, 15/46\n" in terminal.text
    assert "n none" not in terminal.text, "nothing can be read without teeth"
    terminal.type(["2", "u", "1"])
    assert "  n none\n" in terminal.text
    terminal.type(["n", "1"])
    assert "3 columns changed in catalog/suppliers/arrowgrass.yaml" in terminal.text
    assert terminal.code == 0
    assert "models" in columns
    del columns["models"]
    assert kept(shop)["columns"] == {**columns, "teeth": "Gears", "price": "Net"}
    stopped = start(shop, moved.replace("Gears", "Z")).type(["q"])
    assert (stopped.code, kept(shop)["columns"]["teeth"]) == (2, "Gears")
    assert "the list lacks columns" in stopped.text


def test_a_typed_answer_is_read_and_a_wrong_one_refused(shop: Path) -> None:
    ran = sit(shop, TWO, "ofirst\n\noSecondary\nq")
    assert "'first' is not a stage" in ran.output
    assert kept(shop) == {"settled": {"stage of A-1, '15/44'": "secondary"}}


@pytest.mark.parametrize(("keys", "price"), [("2y", "45.30"), ("k", None)])
def test_no_column_is_taken_or_saved_unless_it_was_answered(
    shop: Path, keys: str, price: str | None
) -> None:
    ran = sit(shop, TWO_PRICES, keys)
    assert "1 of 1: Which column is price: 'UVP' or 'HEK netto'?" in ran.output
    assert ("price" in str(kept(shop).get("columns"))) == (price is not None)
    sets = load(shop / "catalog").gear_sets.values()
    prices = [each.record.price for each in sets if each.id.startswith("AR-")]
    assert (str(min(filter(None, prices))) if prices else None) == price


def test_only_a_yes_saves_the_columns_unasked(shop: Path) -> None:
    sit(shop, TWO, "12", options=("--write",))
    assert list(written(shop)) == ["AR-A-1", "AR-A-2", "AR-A-3"]
    assert "columns" not in kept(shop)
    ran = sit(shop, TWO, "", options=("--save-mapping",))
    assert "--save-mapping" not in ran.output
    assert "columns" in kept(shop)


def test_a_list_that_changed_meanwhile_writes_nothing(shop: Path) -> None:
    terminal = start(shop, TWO).type(["1", "1"])
    (shop / "arrowgrass.csv").write_text(TWO.replace("52,00", "152,00"), encoding="utf-8")
    terminal.type(["y"])
    assert (terminal.code, written(shop)) == (2, {})
    assert "the list has changed since it was read; nothing is written; 2 answers" in terminal.text


def test_two_at_once_lose_no_answer_and_write_nothing_twice(shop: Path) -> None:
    one, other = start(shop, TWO).type([]), start(shop, TWO).type([])
    one.type(["1"])
    other.type(["k", "2"])
    assert kept(shop) == {
        "settled": {"stage of A-1, '15/44'": "primary", "stage of A-2, '15/45'": "secondary"}
    }
    one.type(["1"])
    assert "answered meanwhile by somebody else: secondary" in one.text
    other.type(["y"])
    assert other.code == 0
    one.type(["y"])
    assert one.code == 2
    assert "a file is there by now; nothing written" in one.text
    assert written(shop) == {
        "AR-A-1": "primary 15/44",
        "AR-A-2": "secondary 15/45",
        "AR-A-3": "primary 15/46",
    }
    again = start(shop, TWO).type([])
    assert (again.code, "nothing to write" in again.text) == (0, True)


def test_the_demo_is_not_asked_about(tmp_path: Path) -> None:
    (tmp_path / "cordgrass.csv").write_text(TWO, encoding="utf-8")
    terminal = Terminal("import", "cordgrass.csv", cwd=tmp_path).type([])
    assert terminal.code == 1
    assert "to review, 2" in terminal.text
