"""What an answer holds travels to another process, small and whole, and shows itself in a line."""

from __future__ import annotations

import copy
import pickle
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from fitcheck.catalogue.locate import demo_folder
from fitcheck.catalogue.reader import load
from fitcheck.catalogue.source import source_from_bytes
from fitcheck.errors import UnreadableError
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.match import match, match_choices
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.why import explain
from tests.conftest import some

SETS = """kind: gear-set
records:
{}"""
SET = """  S-{}:
    supplier: marram
    part_number: S-{}
    pairs: {{primary: 15/41}}
"""


@pytest.fixture(scope="module")
def demo():
    return load(demo_folder())


def travelled(thing):
    return pickle.loads(pickle.dumps(thing))


def copied(thing):
    return copy.deepcopy(thing)


@pytest.mark.parametrize("way", [travelled, copied])
def test_a_catalogue_travels(demo, way):
    there = way(demo)
    assert there is not demo
    for kind in ("gear-set", "family", "machine", "shelf", "variator"):
        here = {id_: (e.record, e.place()) for id_, e in demo.entries(kind).items()}
        assert {id_: (e.record, e.place()) for id_, e in there.entries(kind).items()} == here
    assert (there.root, there.findings, there.unread) == (demo.root, demo.findings, demo.unread)
    assert there.sources.keys() == demo.sources.keys()
    with pytest.raises(TypeError):
        there.gear_sets["other"] = None


@pytest.mark.parametrize("way", [travelled, copied])
@pytest.mark.parametrize(
    "request_", some([Request(exclusions=True), Request(lawful=True, top=3)], 1)
)
def test_a_subject_and_a_match_travel_and_answer_alike(demo, way, request_):
    subject = subject_of(demo, "avocet-lagoon")
    here, there = match(subject, request_), way(match(subject, request_))
    again = match(way(subject), request_)
    for other in (there, again):
        assert other.counts == here.counts
        assert other.exclusions == here.exclusions
        assert other.window == here.window
        for one, two in zip(here.combinations, other.combinations, strict=True):
            assert [entry.id for entry in one.sets] == [entry.id for entry in two.sets]
            assert (one.reduction, one.price, one.notes) == (two.reduction, two.price, two.notes)
            places = [[datum.place for datum in answer.data] for answer in one.answers]
            assert [[datum.place for datum in answer.data] for answer in two.answers] == places
        assert other.combinations


@pytest.mark.parametrize("way", [travelled, copied])
def test_choices_travel_and_answer_alike(demo, way):
    """A gearbox judged once goes to as many processes as there are lists to make of it."""
    choices = Choices.of(subject_of(demo, "dunlin-ten"))
    there = way(choices)
    assert there.seats.setting is there.subject.setting
    request = Request(band="any", exclusions=True)
    here, other = match_choices(choices, request), match_choices(there, request)
    assert other.counts == here.counts
    assert other.exclusions == here.exclusions
    assert [one.words for one in other.combinations] == [one.words for one in here.combinations]


def test_an_entry_leaves_the_text_of_its_file_behind(tmp_path):
    path = tmp_path / "sets.yaml"
    sizes = []
    for number in (1, 400):
        path.write_text(SETS.format("".join(SET.format(n, n) for n in range(number))))
        entry = load(path).gear_sets["S-0"]
        sizes.append(len(pickle.dumps(entry)))
    assert sizes[1] < sizes[0] + 100 < 4000


def test_a_place_is_asked_of_the_same_text_or_not_at_all(tmp_path):
    """A place in a file that has changed since would point at something else."""
    path = tmp_path / "sets.yaml"
    path.write_text(SETS.format(SET.format(0, 0)))
    entry = load(path).gear_sets["S-0"]
    there = travelled(entry)
    assert there.place("part_number") == entry.place("part_number") == f"{entry.source.path}:5:18"
    there = travelled(travelled(entry))  # handed on before anybody asked
    path.write_text("# new\n" + path.read_text())
    with pytest.raises(UnreadableError, match=r"sets\.yaml: the file has changed since"):
        there.place("part_number")
    path.unlink()
    with pytest.raises(UnreadableError, match=r"sets\.yaml: there is no such file"):
        travelled(entry).place("part_number")
    assert (there.record.part_number, copied(entry).place()) == ("S-0", entry.place())
    with pytest.raises(AttributeError):
        there.source.unheard_of  # noqa: B018


def test_a_place_is_found_after_the_working_folder_has_changed(tmp_path, monkeypatch):
    (tmp_path / "sets").mkdir()
    (tmp_path / "sets" / "all.yaml").write_text(SETS.format(SET.format(1, 1)))
    monkeypatch.chdir(tmp_path)
    here = load("sets")
    place = here.gear_sets["S-1"].place("pairs")
    monkeypatch.chdir("/")
    assert travelled(here).gear_sets["S-1"].place("pairs") == place


def test_a_source_from_memory_takes_its_text_along():
    source, _ = source_from_bytes("draft", b"a: {b: 1}\n")
    assert travelled(source).span(("a", "b")) == source.span(("a", "b"))


def test_all_show_themselves_in_one_short_line(demo):
    subject = subject_of(demo, "avocet-lagoon")
    result = match(subject, Request(band="any"))
    entry = next(iter(demo.gear_sets.values()))
    shown = [repr(one) for one in (demo, entry, subject, result, *result.combinations)]
    assert all(len(line) < 160 and "\n" not in line for line in shown)
    assert [line.partition("(")[0] for line in shown[:5]] == [
        "Catalogue",
        "Entry",
        "Subject",
        "Match",
        "Combination",
    ]
    assert f"{len(demo.gear_sets)} gear sets" in shown[0]
    assert entry.id in shown[1]
    assert subject.name in shown[2]
    assert f"{len(result.combinations)} of {result.counts.all_choices} choices" in shown[3]
    assert result.combinations[0].sets[0].id in shown[4]
    assert repr(explain(subject, [entry])).count("\n") == 0


class Table(HTMLParser):
    """The cells of a table, row by row."""

    def __init__(self):
        super().__init__()
        self.rows = []

    def handle_starttag(self, tag, attrs):
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
        else:
            assert tag in ("table", "thead", "tbody"), tag

    def handle_data(self, data):
        self.rows[-1][-1] += data


def test_a_notebook_shows_the_combinations_as_a_table(demo):
    for group in options(demo, demo.families["dunlin-50"], Request(band="any", top=5)):
        result = group.result
        break
    table = Table()
    table.feed(result._repr_html_())
    head, *rows = table.rows
    assert head == ["rank", "sets", "teeth", "road speed", "fit", "price"]
    assert [row[1] for row in rows] == [
        " + ".join(entry.id for entry in one.sets) for one in result.combinations
    ]
    assert {row[4] for row in rows} <= {"fits", "unproven"}
    assert all(len(row) == len(head) for row in rows)


def test_a_notebook_runs_nothing_that_a_record_holds(demo):
    result = match(subject_of(demo, "avocet-lagoon"), Request(band="any", top=1))
    (one,) = result.combinations
    sets = tuple(replace(entry, id="<script>&\"'") for entry in one.sets)
    page = replace(result, combinations=[replace(one, sets=sets)])._repr_html_()
    assert "<script" not in page
    table = Table()
    table.feed(page)
    assert table.rows[1][1] == " + ".join(entry.id for entry in sets)
