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
    "match-long": ["match", "dunlin-ten", "--long"],
    "why-open": ["why", "avocet-lagoon", "SA-128", "SA-126"],
    "why-open-long": ["why", "avocet-lagoon", "SA-128", "SA-126", "--long"],
    "road-two": ["road", "dunlin-ten", "GW-20-108", "MA-1545+SA-107"],
    "road-three-long": [
        *("road", "dunlin-ten", "GW-20-108", "MA-1545+SA-107", "GW-20-108+SA-108", "--long"),
    ],
    "identify": ["identify", "17/46", "15/54"],
    "options": ["options", "dunlin-50"],
    "options-lawful-long": [
        *("options", "sanderling-50", "--wheel", "16", "--lawful", "--road", "--long"),
    ],
    "shelf-list": ["shelf", "list"],
    "shelf-list-long": ["shelf", "list", "--place", "drawer b", "--long"],
    "check": ["check", "tests/data/faulty-catalog"],
}
"""A whole page of each kind; what else a page may show is in PARTS."""
GOLDEN_PAGES = [*((name, 80) for name in PAGES), ("match-long", 200)]
IN_COLOUR = ("match", "match-long", "why-open-long", "road-three-long", "check")

PARTS: dict[str, list[str]] = {
    "match avocet-lagoon --band any --top 6 --all --long": [
        "Road speed, any change",
        "1 13/29 16/49 6.8317 +42.59 % -29.87 % over",
        "112.70 EUR unproven SB-0045 (no. 0045) + CG-50.33 (no. CG50.33)",
        "open: idler-seat",
        "and 78 more: --top 0 shows all",
        "Ruled out",
        "for dunlin-50, not for avocet-100",
        "CG-40.03, CG-40.04,",
    ],
    "match godwit-bar --percent=-20..20 --long": [
        "(this family's own band)",
        "# primary secondary tertiary overall road speed reduction band",
        "1 21/38 21/40 18/34 6.5105 +19.95 % -16.63 % over",
        "MA-G2237 (no. G2237) + SP-43E1 (no. 43E1) + SP-44E1 (no. 44E1)",
    ],
    "match dunlin-ten --percent 300..400 --taller-only --long": [
        "Road speed +300 to +400 %: nothing in this window",
        "Choices 7,311 choices: 40 fit, 126 unproven, 7,145 ruled out (why: --all)",
    ],
    "match --family dunlin-50 --teeth 15/46,13/43 --wheel 12 --long": [
        "Machine Dunlin 50, 15/46, 13/43: Dunlin 50, housing unknown, 12 in wheel",
        "15/46, 13/43 is no known factory train of Dunlin 50; going on with what was counted.",
        "Taken for an engine in factory condition: standard engine",
        "1 15/40 13/43 8.8205 +15.00 % -13.04 % in band",
    ],
    "match turnstone-shingle --rank verdict --top 5 --long": [
        "Road now top 73 (71..76) km/h; pull 487 (430..545) N; 0-45 km/h in 7.5 s; pulls it",
        "the band of standard engine, by what the engine pulls",
        "top km/h pull N 0-45 s engine",
        "76 (66..79) +3 436 (385..488) -11 % 7.8 pulls it",
        "top speed 76 km/h, or about 70 if the variator does not come out",
        "and 6 more: --percent=..0 lists them",
        "On the road: top speed really reached on the flat",
    ],
    "match dunlin-ten --band any --road --lawful --top 4 --long": [
        "1 17/42 16/54 8.3382 +44.49 % -30.79 % over",
        "MAY LEAVE ITS CLASS, measure: 47 (45..49) km/h against 45 km/h",
        "Filters 131 choices pass; the counts below are of all",
        "Lawful 35 choices are over the 45 km/h of its class, left out",
        "(Regulation (EU) No 168/2013, Art. 20, and local law, which decides).",
    ],
    "match dunlin-ten --margins --max-price 75 --top 6 --long": [
        "63.50 EUR* fits, stated GW-20-108 (no. 20-108)",
        "margin 25.98 EUR, 40.9 % of the price; cost 37.52",
        "margin not known: no cost on the shelf for SA-108",
        "Prices * the shop's own, of all sets or some",
    ],
    "match godwit-bar --in-stock --band any --top 5 --long": [
        "192.75 EUR* fits, stated CG-140.54 (no. CG140.54)",
        "1 on the shelf, drawer F1",
        "MA-G2241: 1 on the shelf, drawer F1",
        "SP-27E1: 3 on the shelf, drawer C2",
    ],
    "why dunlin-ten MA-1545 MA-21553 --margins --long": [
        "Change MA-1545 (no. 1545) + MA-21553 (no. 21553); 114.80 EUR",
        "Verdict fits, stated; road speed +13.66 %, in band",
        "Margin 42.28 EUR, 36.8 % of the price; cost 72.52",
        "by hand 3.06 x 3.92 = 11.99 3.00 x 3.53 = 10.59",
        "12.0476 / 10.6000 = 1.1366, so +13.66 % road speed (exactly 15200/1113 %)",
        "Every rule of fit",
        "MA-1545 family fits, stated for Dunlin 50, stated by the supplier",
        "centre-distance fits, computed primary 15/45 runs at 47.500 mm in a casing of 47.500 mm",
    ],
    "why dunlin-ten GW-20-108 --new-roll-out 1400 --long": [
        "Tyre roll-out changes by +10.32 %, counted in",
        "Verdict fits, stated; road speed +26.87 %, over",
        "12.0476 / 10.4762 x 1.1032 (tyre) = 1.2687",
        "Band over: more than this tune tolerates",
    ],
    "road dunlin-post SP-17E1+MA-21451 --long": [
        "Machine Dunlin Post, delivery: Dunlin 50, long case, 16 in wheel",
        "Top speed 45 (42..47) km/h on the flat. Limited by revs",
    ],
    "road whimbrel-sound --measured-top 88 --long": [
        "Machine Whimbrel Sound",
        "As it stands",
        "Top speed 88 (87..89) km/h on the flat",
    ],
    "identify 29/31": ["on file explains these counts", "Mark one tooth with paint"],
    "options avocet-100 --tune stock --long": [
        "Avocet 100 (avocet-100), 98.2 cm3",
        "mid case (mid), 10 in wheel",
        "Factory primary 17/46, secondary 15/54; overall reduction 9.7412; Avocet Lagoon",
        "standard engine (stock), road speed +10 to +15 %",
        "1 13/29 15/57 8.4769 +14.91 % -12.98 % in band",
        "and 8 more: --top 0 shows all",
        "mid case (mid), 12 in wheel",
    ],
}
"""Commands, and what their pages say, in this order, blanks and line ends aside."""


@pytest.mark.parametrize("command", PARTS)
def test_parts_of_pages(command: str, run) -> None:
    ran = run(*command.split(), env={**DEMO, "COLUMNS": "80"})

    assert ran.code in (0, 3), ran
    page, at = " ".join(ran.out.split()), 0
    for part in PARTS[command]:
        assert part in page[at:], (part, page)
        at = page.index(part, at)


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
    return some(list(demo.machines), 2)


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


@pytest.mark.parametrize("width", some([60, 80, 120, 200], 2))
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
