"""What the screens look like: golden pages of the demo, and what holds on every page.

To accept a change, look at it and write the pages anew:

    FITCHECK_WRITE_GOLDEN=1 python -m pytest tests/cli/test_screens.py && git diff tests/cli/golden
"""

from __future__ import annotations

import io
import os
import re
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import get_args

import pytest
from rich.cells import cell_len

from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UsageError
from fitcheck.screens.counter.identify import print_candidates
from fitcheck.screens.counter.match import print_match
from fitcheck.screens.counter.options import print_options
from fitcheck.screens.counter.why import print_why
from fitcheck.screens.road.text import print_road
from fitcheck.screens.screen import Screen, labelled, wrapped
from fitcheck.services.counter.identify import identify
from fitcheck.services.counter.match import match
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import RankBy, Request
from fitcheck.services.counter.subject import Subject, subject_of
from fitcheck.services.counter.why import explain
from fitcheck.services.road.comparing import compare
from tests.conftest import some

ROOT = Path(__file__).parents[2]
GOLDEN = Path(__file__).parent / "golden"
DEMO = {"FITCHECK_CATALOG": "catalog"}
WRITE = bool(os.environ.get("FITCHECK_WRITE_GOLDEN"))

PAGES = {
    "match": ["match", "dunlin-ten"],
    "match-open": ["match", "avocet-lagoon", "--band", "any", "--top", "6", "--all"],
    "match-three-stages": ["match", "godwit-bar", "--percent", "-20..20"],
    "match-none": ["match", "dunlin-ten", "--percent", "300..400", "--taller-only"],
    "match-counts": ["match", "--family", "dunlin-50", "--teeth", "15/46,13/43", "--wheel", "12"],
    "match-road": ["match", "turnstone-shingle", "--rank", "verdict", "--top", "5"],
    "match-lawful": ["match", "dunlin-ten", "--band", "any", "--road", "--lawful", "--top", "4"],
    "match-margins": ["match", "dunlin-ten", "--margins", "--max-price", "75", "--top", "6"],
    "match-in-stock": ["match", "godwit-bar", "--in-stock", "--band", "any", "--top", "5"],
    "why": ["why", "dunlin-ten", "GW-20-108"],
    "why-margins": ["why", "dunlin-ten", "MA-1545", "MA-21553", "--margins"],
    "why-open": ["why", "avocet-lagoon", "SA-128", "SA-126"],
    "why-tyre": ["why", "dunlin-ten", "GW-20-108", "--new-roll-out", "1400"],
    "road": ["road", "dunlin-ten", "GW-20-108"],
    "road-three": ["road", "dunlin-ten", "GW-20-108", "MA-1545+SA-107", "GW-20-108+SA-108"],
    "road-tyre": ["road", "dunlin-post", "SP-17E1+MA-21451"],
    "road-alone": ["road", "whimbrel-sound", "--measured-top", "88"],
    "identify": ["identify", "17/46", "15/54"],
    "identify-none": ["identify", "29/31"],
    "options": ["options", "avocet-100", "--tune", "stock"],
    "options-lawful": ["options", "sanderling-50", "--wheel", "16", "--lawful", "--road"],
    "shelf-list": ["shelf", "list", "--place", "drawer b"],
    "check": ["check", "tests/data/faulty-catalog"],
}
# Findings that go into a pipe are not wrapped: the first line of each is whole at any width.
GOLDEN_PAGES = [
    (name, width) for name in PAGES for width in (80, 200) if (name, width) != ("check", 200)
]
IN_COLOUR = ("match", "match-lawful", "why-open", "road-three", "identify", "options", "check")


@pytest.mark.parametrize(("name", "width"), GOLDEN_PAGES)
def test_golden_pages(name: str, width: int, run) -> None:
    ran = run(*PAGES[name], env={**DEMO, "COLUMNS": str(width)})

    assert ran.code in (0, 1, 3), ran
    assert "\x1b" not in ran.out
    _hold(f"{name}-{width}.txt", ran.out)


@pytest.mark.parametrize("name", IN_COLOUR)
def test_golden_pages_in_colour(name: str, run) -> None:
    env = {**DEMO, "COLUMNS": "80"}
    plain = run(*PAGES[name], env={**env, "NO_COLOR": "1"})
    colour = run(*PAGES[name], env={**env, "FORCE_COLOR": "1"})

    assert re.sub(r"\x1b\[[0-9;]*m", "", colour.out) == plain.out != colour.out
    _hold(f"{name}-80-colour.txt", colour.out.replace("\x1b", "\N{SYMBOL FOR ESCAPE}"))


def _hold(file: str, text: str) -> None:
    path = GOLDEN / file
    if WRITE:
        GOLDEN.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    assert text == path.read_text(encoding="utf-8"), f"{file}: see the head of this module"


def test_no_golden_page_is_left_over() -> None:
    known = {f"{name}-{width}.txt" for name, width in GOLDEN_PAGES}
    known |= {f"{name}-80-colour.txt" for name in IN_COLOUR}
    assert {path.name for path in GOLDEN.iterdir()} == known


# Every page of the demo.

Answer = tuple[str, Callable[..., object], tuple[object, ...]]
"""A name, the printer of an answer, and what it prints."""


@pytest.fixture(scope="module")
def answers(demo: Catalogue) -> list[Answer]:
    """Machines matched, first combinations explained; every family's trains and options."""
    return list(_answers(demo, _machines(demo)))


def _machines(demo: Catalogue) -> list[str]:
    return some(list(demo.machines), 12)


def _answers(demo: Catalogue, machines: list[str]) -> Iterator[Answer]:
    for id_ in machines:
        subject = subject_of(demo, id_)
        result = match(subject, Request(top=8, exclusions=True))
        yield f"match {id_}", print_match, (result,)
        yield from _road_answers(subject)
        for one in (*result.combinations[:2], *result.shorter[:1]):
            told = explain(subject, one.sets)
            yield f"why {id_} {[entry.id for entry in one.sets]}", print_why, (told,)
        with suppress(UsageError):  # of some nobody knows how strong they are
            yield f"road {id_}", print_road, (compare(subject, result.combinations[:2]),)
    for id_, entry in demo.families.items():
        request = Request(percent=(Fraction(-20), Fraction(40)), top=4)
        groups = list(options(demo, entry, request))
        yield f"options {id_}", print_options, (id_, entry.record, groups)
        for train in entry.record.factory_trains:
            pairs = [train.pairs[stage] for stage in entry.record.train_stages]
            yield f"identify {pairs}", print_candidates, (pairs, identify(demo, pairs, None))


def _road_answers(subject: Subject) -> Iterator[Answer]:
    """The list on the road, by one rank or another, where engine and tyre are known."""
    ranks = get_args(RankBy)
    rank = ranks[sum(map(ord, subject.name)) % len(ranks)]
    asked = Request(band="any", top=5, show_road=True, rank=rank)
    try:
        yield f"match --road {subject.name}", print_match, (match(subject, asked),)
        lawful = match(subject, replace(asked, lawful=True))
        yield f"match --lawful {subject.name}", print_match, (lawful,)
    except UsageError:
        return


def _printed(width: int, printer: Callable[..., object], *about: object) -> str:
    out = io.StringIO()
    printer(Screen(out, width, colour=False), *about)
    return out.getvalue()


PATH = re.compile(r"\s*\S+\.ya?ml:\d+:\d+(;|:)?")


@pytest.mark.parametrize("width", [60, 80, 120, 200])
def test_every_page_keeps_its_width(width: int, answers: list[Answer]) -> None:
    for name, printer, about in answers:
        for line in _printed(width, printer, *about).splitlines():
            assert line == line.rstrip(), (name, line)
            assert line.isprintable(), (name, line)
            # Only a path, alone on its line, may be wider: it is to be copied whole.
            assert cell_len(line) <= width or PATH.fullmatch(line), (name, line)


def test_every_machine_and_family_has_its_pages(demo: Catalogue, answers: list[Answer]) -> None:
    asked = Counter(name.partition(" ")[0] for name, _, _ in answers)
    machines = len(_machines(demo))

    on_road = [name for name, _, _ in answers if name.startswith("match --")]
    assert len(on_road) > machines
    assert asked["match"] - len(on_road) == machines
    assert asked["why"] > machines
    assert asked["road"] > 0.8 * machines
    assert asked["options"] == len(demo.families)
    assert asked["identify"] > len(demo.families)


def test_a_narrow_page_says_all_that_a_wide_one_does(answers: list[Answer]) -> None:
    for name, printer, about in answers:
        narrow, wide = (_printed(width, printer, *about) for width in (60, 200))
        if name.startswith("why"):
            figures = re.compile(r"[+-][\d.]+ %|\d+/\d+|[\d.]+ EUR|\S+\.yaml:\d+:\d+")
            assert set(figures.findall(narrow)) == set(figures.findall(wide)), name
        if name.startswith("road"):
            ranges = re.compile(r"\d[\d.,]* \([\d.,+-]+\.\.[\w.,+-]+\)|[+-][\d.]+ %|[\d.]+ EUR")
            flat = [re.sub(r"\s+", " ", page) for page in (narrow, wide)]
            assert set(ranges.findall(flat[0])) == set(ranges.findall(flat[1])), name
        if name.startswith("match"):
            words = re.compile(r"[A-Z]{2,}-[\w.-]+|[+-][\d.]+ %|[\d.]+ EUR|\d+ \(\d+\.\.\d+\)")
            assert sorted(words.findall(narrow)) == sorted(words.findall(wide)), name


def test_notes_stand_on_the_line_where_there_is_room(demo: Catalogue) -> None:
    result = match(subject_of(demo, "avocet-lagoon"), Request())
    wide = _printed(200, print_match, result).splitlines()
    narrow = _printed(80, print_match, result).splitlines()

    beside = [line for line in wide if " EUR " in line and "filed under" in line]
    assert beside
    assert not [line for line in narrow if " EUR " in line and "filed under" in line]
    assert len(wide) < len(narrow)
    # They stand in one column a list.
    starts = [re.search(r"\S+ filed under", line) for line in beside]
    assert len({start.start() for start in starts if start is not None}) <= 2


# The layout itself.


def test_words_are_wrapped_by_their_width_on_screen() -> None:
    assert wrapped("貨車 貨車 貨車", 9) == ["貨車 貨車", "貨車"]
    assert wrapped("ab cd", 5) == ["ab cd"]
    assert wrapped("ab cde", 5) == ["ab", "cde"]
    assert wrapped("", 20, "label ") == ["label "]


def test_a_number_keeps_its_unit() -> None:
    lines = wrapped("rises by +10.17 % (exactly 1210/119 %) on a 12 in wheel for 64.90 EUR", 24)
    assert not [line for line in lines if re.match(r"%|in |EUR", line)]
    assert " ".join(lines) == (
        "rises by +10.17 % (exactly 1210/119 %) on a 12 in wheel for 64.90 EUR"
    )


def test_a_word_wider_than_the_line_is_broken_and_a_path_is_not() -> None:
    word = "n" * 70
    path = "catalog/sets/" + "x" * 60 + ".yaml:12:5"
    assert wrapped(f"a {word} b", 30) == ["a", "n" * 30, "n" * 30, "n" * 10 + " b"]
    assert wrapped(f"a {path} b", 30) == ["a", path, "b"]
    assert wrapped(word, 30, "first ", "  ") == [
        "first " + "n" * 24,
        "  " + "n" * 24,
        "  " + "n" * 22,
    ]


def test_what_would_steer_is_shown() -> None:
    assert wrapped("a\x1b[31mb\u202ec\x9bd\nE\tF\xa0g\x00", 80) == [
        r"a\x1b[31mb\u202ec\x9bd E F g\x00"
    ]
    assert labelled("Now", "x\x07y", 40)[0].plain == r"Now         x\x07y"
    out = io.StringIO()
    Screen(out, 40, colour=False).line("a\x1b[2Jb\nc  ")
    assert out.getvalue() == "a\N{REPLACEMENT CHARACTER}[2Jb c\n"
