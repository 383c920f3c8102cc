"""Asking short: beginnings of names, bare tooth counts, letters of options, picking by one key."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.cli.parameters import SHORT
from fitcheck.cli.reference import _command, command_names
from fitcheck.services.counter.lookup import begun_by, begun_housings
from tests.cli.conftest import ROOT, SAMPLE, Run
from tests.cli.terminal import Terminal
from tests.conftest import table

KEYSTROKES = 20
"""So many at most after the command's name."""
LINES = 24
"""So many lines at most of the answer, at 80 columns."""

DEMO = {"FITCHECK_CATALOG": str(ROOT / "catalog")}

# What is asked most at the counter, and what the answer shows.
COMMONEST = [
    ("match skerry", "Whimbrel Skerry"),
    ("match skerry -spn3", "Whimbrel Skerry"),
    ("match lagoon -P 8..12", "Avocet Lagoon"),
    ("match lagoon -r", "Avocet Lagoon"),
    ("match cargo -S marr", "MA-"),
    ("match cargo -m 80", "Dunlin Cargo"),
    ("match 15/46 14/55", "Taken for a Dunlin 50"),
    ("match 15/46,14/55", "Taken for a Dunlin 50"),
    ("match 15:46 14:55 -w10", "10 in wheel"),
    ("match 14/66 -H one", "Redshank 50"),
    ("match -f dunl 15/40 14/55", "Dunlin 50"),
    ("why cargo GW-20-108", "GW-20-108"),
    ("road creek", "Redshank Creek"),
    ("road 14/66 -f redsh", "Redshank 50"),
    ("options redsh -T race", "Redshank 50"),
    ("options 15/46 14/55", "Dunlin 50"),
    ("identify 15/46 14/55", "fitcheck match 15/46 14/55 -f dunlin-50 -H short -w 10"),
    ("shelf list -S marr", "MA-"),
    ("shelf gaps -f redsh", "Redshank"),
]


@table(("line", "shown"), COMMONEST)
def test_the_commonest_questions_are_short(line: str, shown: str, run: Run) -> None:
    words = line.split()
    typed = line.removeprefix("shelf ").partition(" ")[2]
    assert len(typed) <= KEYSTROKES
    ran = run(*words, env={**DEMO, "COLUMNS": "80"})
    assert ran.code in {0, 3}, ran
    assert shown in ran.out, ran
    assert ran.out.count("\n") <= LINES


NAMES = """\
kind: machine
records:
  cirrus-lea: {name: "Léa's Cirrus", family: dunlin-50, pairs: {primary: 13/47, secondary: 13/49}}
  stratus-50: {name: Stratus 50 blue, family: dunlin-50, pairs: {primary: 13/47, secondary: 13/49}}
  stratus-50-b: {name: second, family: dunlin-50, pairs: {primary: 13/47, secondary: 13/49}}
  nimbus: {name: Nimbus, family: dunlin-50, pairs: {primary: 13/47, secondary: 13/49}}
  nimbus-tom: {name: Nimbus of Tom, family: dunlin-50, pairs: {primary: 13/47, secondary: 13/49}}
  altus-jo: {name: A, family: dunlin-50, pairs: {primary: 13/47, secondary: 13/49}}
  ann: {name: Dunlin 50 of Ann, family: dunlin-50, pairs: {primary: 13/47, secondary: 13/49}}
  altus-kim: {name: B, family: dunlin-50, pairs: {primary: 13/47}, wheel: 10}
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample with more machines, of which `altus-kim` is refused, and a second Dunlin."""
    made = tmp_path_factory.mktemp("shop") / "catalog"
    shutil.copytree(SAMPLE, made)
    (made / "machines" / "more.yaml").write_text(NAMES, encoding="utf-8")
    (made / "families" / "twin.yaml").write_text(
        """\
kind: family
records:
  plover-50:
    name: Plover 50
    housings: {only: {name: only case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - {housing: only, wheel_size_in: 12, pairs: {primary: 13/47, secondary: 15/49}}
      - {housing: only, wheel_size_in: 16, pairs: {primary: 13/47, secondary: 13/49}}
""",
        encoding="utf-8",
    )
    return made


@pytest.fixture(scope="module")
def shop(folder: Path) -> Catalogue:
    return load(folder)


@table(
    ("kind", "word", "found"),
    [
        ("machine", "cirrus", ["cirrus-lea"]),
        ("machine", "CIRRUS L", ["cirrus-lea"]),
        ("machine", "lea", ["cirrus-lea"]),
        ("machine", "léas", ["cirrus-lea"]),
        ("machine", "leas c", ["cirrus-lea"]),
        ("machine", "rus", []),  # no word begins so
        ("machine", "s", ["stratus-50", "stratus-50-b"]),  # the s of Léa's is no word
        ("machine", "blue", ["stratus-50"]),
        ("machine", "stratus", ["stratus-50", "stratus-50-b"]),
        ("machine", "stratus-5", []),  # 5 is not 50
        ("machine", "stratus-50", []),  # whole, though another begins so
        ("machine", "nimbus", []),
        ("machine", "nimb", ["nimbus", "nimbus-tom"]),
        ("machine", "altus", ["altus-jo", "altus-kim"]),  # a refused one may be meant too
        ("machine", "dunlin 50 of", ["ann"]),
        ("machine", "Dunlin 50", []),  # the family
        ("machine", "", []),
        ("machine", "-", []),
        ("family", "dunl", ["dunlin-50"]),
        ("family", "d5", []),
        ("family", "D50", []),  # a whole alias
        ("family", "plov", ["plover-50"]),
        ("supplier", "glass", ["glasswort"]),
        ("tune", "st", ["stock"]),
        ("vehicle-class", "l1", ["l1e-b"]),
        ("gear-set", "MA-15", []),  # broken off in the number
        ("gear-set", "1545", []),  # whole
        ("tyre", "t-350", ["t-350-10"]),
    ],
)
def test_beginnings(shop: Catalogue, kind: str, word: str, found: list[str]) -> None:
    assert sorted(begun_by(shop, kind, word)) == found


@table(
    ("word", "found"),
    [
        ("s", ["short"]),
        ("ten", ["short"]),
        ("mid c", ["mid"]),
        ("case", ["short", "mid"]),
        ("mid", []),
    ],
)
def test_beginnings_of_housings(shop: Catalogue, word: str, found: list[str]) -> None:
    assert begun_housings(shop.families["dunlin-50"], word) == found


def test_a_number_is_found_by_whole_parts_alone() -> None:
    demo = load(ROOT / "catalog")
    assert begun_by(demo, "gear-set", "GW-20-10") == []
    assert begun_by(demo, "gear-set", "SA-107-") == []  # marks count nothing: SA-107 is whole
    begun = begun_by(demo, "gear-set", "GW-20")
    assert begun == [id_ for id_ in demo.gear_sets if id_.startswith("GW-20-")]


@table(
    ("words", "said"),
    [
        ("match stratus", "'stratus' may be stratus-50 or stratus-50-b; name one of them"),
        ("match altus", "altus-jo or altus-kim"),
        ("match cirrus -H case", "'case' may be short or mid"),
        ("match cirus-lea", "did you mean cirrus-lea?"),
        ("why cirrus MA-15", "no gear set 'MA-15'"),
        ("match 13/47 15/49", "is a factory train of several families"),
        ("match 13/47 15/49", "fitcheck match 13/47 15/49 -f dunlin-50 -H mid -w 12"),
        ("why 13/47 15/49 MA-1545", "fitcheck why 13/47 15/49 -f plover-50 -H only -w 12"),
        ("road 13/47 13/50", "near one; go on with: fitcheck road 13/47 13/49 -f dunlin-50"),
        ("match 13/47 13/50", "one tooth out: the final wheel would have 49, counted 50"),
        ("match 15/16 15/17 15/18", "near"),
    ],
)
def test_what_is_not_sure_is_listed(words: str, said: str, folder: Path, run: Run) -> None:
    ran = run(*words.split(), cwd=folder.parent)
    assert ran.code == 2, ran
    assert said in ran.err, ran
    assert ran.err.count("\n") == 1, ran


def test_a_family_that_was_concluded_is_told_in_every_format(run: Run) -> None:
    words, said = ["match", "15/46", "14/55", "-n1"], "Taken for a Dunlin 50: no other family on"
    machine = json.loads(run(*words, "-F", "json", env=DEMO).out)["machine"]
    assert machine["family"] == "dunlin-50"
    assert machine["housing"] is None  # what nobody looked at is not concluded
    assert [
        remark for remark in machine["remarks"] if said in remark and "-H short -w 10" in remark
    ]
    for kind in ("csv", "markdown"):
        ran = run(*words, "-F", kind, env=DEMO)
        assert said in ran.err
        assert said not in ran.out
    assert said not in run(*words, "-f", "dunlin", env=DEMO).out
    page = run("sheet", "15/46", "14/55", "GW-20-108", "-o", "-", env=DEMO).out
    assert said in page
    assert "-H short" not in page


def test_a_family_concluded_by_its_wheel_says_so(folder: Path, run: Run) -> None:
    """Another family has the train too, with another wheel."""
    out = run("match", "13/47", "13/49", "-w10", "-Fjson", cwd=folder.parent).out
    told = " ".join(json.loads(out)["machine"]["remarks"])
    assert "no other family on file has the train 13/47, 13/49 with a 10 in wheel" in told


def test_counts_of_a_factory_train_narrow_the_options(run: Run) -> None:
    named = run("options", "dunlin-50", "-Hshort", "-w10", "-Fjson", "-Tstock", env=DEMO)
    counted = run("options", "15/46", "14/55", "-Fjson", "-Tstock", env=DEMO)
    assert counted.out == named.out
    assert "Taken for a Dunlin 50" in counted.err
    assert "-H" not in counted.err


def test_every_reading_of_counts_ends_in_a_line_that_runs(run: Run) -> None:
    for counts in ("15/46 14/55", "15/46 14/54", "14/55 15/46", "15/46", "15/40 14/55"):
        answer = json.loads(run("identify", *counts.split(), "-Fjson", env=DEMO).out)
        assert answer["candidates"]
        for one in answer["candidates"]:
            words = one["command"].split()
            assert words[0] == "fitcheck"
            machine = json.loads(run(*words[1:], "-n1", "-Fjson", env=DEMO).out)["machine"]
            kept = one["slip"] in {"exact", "regeared"}
            pairs = counts.split() if kept else list(one["pairs"].values())
            assert list(machine["pairs"].values()) == pairs
            asked = (machine["family"], machine["housing"], machine["wheel_size_in"])
            assert asked == (one["family"], one["housing"], one["wheel_size_in"])


def test_a_letter_means_the_same_option_everywhere() -> None:
    assert len(set(SHORT.values())) == len(SHORT)
    for name in command_names():
        for param in _command(name).params:
            for letter in (each for each in param.opts if len(each) == 2 and each != "-h"):
                assert SHORT.get(param.opts[0]) == letter, name


@pytest.mark.parametrize(
    ("words", "keys", "shown"),
    [
        (["match", "stratus", "-n1"], "2", "second: "),
        (["match", "cirrus", "-n1", "-H", "case"], "1", "short case"),
        (["match", "13/47", "15/49", "-n1"], "2", "Plover 50, 13/47, 15/49"),
        (["match", "13/47", "13/50", "-n1"], "1", "one tooth out"),
    ],
)
def test_one_key_picks_on_a_terminal(words: list[str], keys: str, shown: str, folder: Path) -> None:
    ran = Terminal(*words, cwd=folder.parent).type(keys)
    assert ran.code in {0, 3}, ran.text
    assert shown in ran.text.partition("> ")[2]


def test_any_other_key_stops(folder: Path) -> None:
    ran = Terminal("match", "stratus", cwd=folder.parent).type("q")
    assert ran.code == 2
    assert "may be stratus-50 or stratus-50-b; name one of them" in ran.text


@pytest.mark.parametrize("at", [".", "sub/deeper", "catalog", "catalog/sets"])
def test_the_demo_never_answers_where_a_catalogue_is(at: str, tmp_path: Path, run: Run) -> None:
    for each in ("sub/deeper", "catalog/sets"):
        (tmp_path / each).mkdir(parents=True)
    ran = run("match", "dunlin-ten", cwd=tmp_path / at)
    assert ran.code == 2
    assert "holds no YAML file, and the demo does not answer in its place" in ran.err
    shutil.copy(SAMPLE / "tunes.yaml", tmp_path / "catalog")
    ran = run("match", "dunlin-ten", cwd=tmp_path / at)
    assert "the catalogue holds none" in ran.err


@table(
    ("name", "named"),
    [
        ("x.yaml.txt", True),
        ("x.yml.bak", True),
        ("x.yaml~", True),
        ("X.YAML.orig", True),
        ("x.yaml (copy)", True),
        ("x.yaml", False),
        ("_x.yaml.txt", False),
        ("x.txt", False),
        ("about-yaml.txt", False),
        ("x.yamlish", False),
    ],
)
def test_a_name_almost_that_of_a_catalogue_file(
    name: str, named: bool, tmp_path: Path, run: Run
) -> None:
    made = tmp_path / name.replace("/", "")
    made.mkdir()
    shutil.copytree(SAMPLE, made / "catalog")
    shutil.copy(SAMPLE / "tunes.yaml", made / "plain")
    if name != "x.yaml":
        shutil.move(made / "plain", made / "catalog" / name)
    ran = run("check", cwd=made)
    assert ran.code == 0
    assert (f"{name}:1:1: warning FC025" in ran.out) is named


@table("word", ["Avocet Scrape", "scrape", "avocet-scr"])
def test_a_model_without_a_machine_on_record_is_taken_as_it_was_sold(word: str, run: Run) -> None:
    machine = json.loads(run("match", word, "-n1", "-Fjson", env=DEMO).out)["machine"]
    asked = (machine["family"], machine["housing"], machine["wheel_size_in"])
    assert asked == ("avocet-100", "mid", 12)
    assert list(machine["pairs"].values()) == ["16/46", "15/54"]
    said = " ".join(run("match", word, "-n1", env=DEMO).out.split())
    assert "Taken for Avocet Scrape as it left the factory (16/46, 15/54, mid housing" in said
    assert "Taken for Avocet Scrape" in run("match", word, "-n1", "-Fcsv", env=DEMO).err


def test_a_machine_on_record_wins_over_the_model_and_an_option_over_the_factory(run: Run) -> None:
    closed = json.loads(run("match", "dunlin ten street", "-n1", "-Fjson", env=DEMO).out)["machine"]
    assert closed["housing"] is None
    words = ("match", "scrape", "-t", "17/46,15/54", "-w10", "-n1", "-Fjson")
    machine = json.loads(run(*words, env=DEMO).out)["machine"]
    assert (machine["pairs"]["primary"], machine["wheel_size_in"]) == ("17/46", 10)


def test_a_model_of_two_trains_is_listed_with_lines_that_go_on(tmp_path: Path, run: Run) -> None:
    made = tmp_path / "catalog"
    shutil.copytree(DEMO["FITCHECK_CATALOG"], made)
    family = made / "families/avocet-100.yaml"
    text = family.read_text(encoding="utf-8")
    family.write_text(text.replace("Avocet Reserve", "Avocet Scrape"), encoding="utf-8")
    ran = run("match", "scrape", cwd=tmp_path)
    assert ran.code == 2
    for words in ("16/46 15/54 -f avocet-100 -H mid -w 12", "14/48 16/56 -f avocet-100 -H long -w"):
        assert f"fitcheck match {words}" in ran.err
    assert run("match", "scrape", "-w16", "-n1", cwd=tmp_path).code == 0


@table(
    ("words", "near"),
    [
        (["match", "kurlew"], "curlew-fen, curlew-estuary or 'Curlew Marsh'"),
        (["match", "curlw"], "curlew-fen, curlew-estuary or 'Curlew Marsh'"),
        (["match", "redshenk"], "redshank-slip or redshank-creek"),
        (["match", "dunlin 12"], "dunlin-twelve or dunlin-twelve-pipe"),
        (["match", "dulnin 10"], "dunlin-ten, dunlin-ten-pipe, "),
        (["match", "avocet scrpe"], "'Avocet Scrape'"),
        (["options", "kurlew"], "curlew-125"),
    ],
)
def test_a_misspelt_name_is_told_what_is_near(words: list[str], near: str, run: Run) -> None:
    ran = run(*words, env=DEMO)
    assert (ran.code, ran.out) == (2, "")
    assert f"did you mean {near}" in ran.err


def test_another_engine_is_not_near(run: Run) -> None:
    assert "did you mean" not in run("match", "dunlin 70", env=DEMO).err


@table(
    ("line", "said"),
    [
        ("match red shank", "put the name in quotes: 'red shank'"),
        ("match dunlin ten pipe", "put the name in quotes: 'dunlin ten pipe'"),
        ("match avocet scrape", "put the name in quotes: 'avocet scrape'"),
        ("match dunlin 12", "did you mean dunlin-twelve"),
        ("match 15 46 14 55", "write 15/46 14/55"),
        ("match 15,46 14,55", "write 15/46 14/55"),
        ("identify 15 46 14 55", "write 15/46 14/55"),
        ("why 15,46 MA-1545", "write 15/46"),
        ("match -t 15,46,14,55 -f dunlin-50", "write 15/46 14/55"),
    ],
)
def test_what_is_typed_in_several_words_is_told_how_to_write(
    line: str, said: str, run: Run
) -> None:
    ran = run(*line.split(), env=DEMO)
    assert ran.code == 2
    assert said in ran.err


def test_one_choice_is_no_range(tmp_path: Path) -> None:
    ran = Terminal("match", "13/46", "14/54", "-n1", cwd=tmp_path, env=DEMO).type("1")
    assert "1 takes it, any other key stops>" in ran.text
    assert ran.code in {0, 3}


@table("command", ["match 15/40 14/55 -n1", "match 15/40 14/55 -n1 -l", "why 15/40 14/55 MA-1545"])
def test_a_law_that_cannot_be_judged_says_what_to_give(command: str, run: Run) -> None:
    words, reason = [*command.split(), "-f", "dunlin-50"], "the roll-out is not known; give --tyre"
    said = " ".join(run(*words, env=DEMO).out.split())
    assert f"ot judged: {reason}" in said
    assert reason not in run(*words, "--tyre", "90/90-10", env=DEMO).out
