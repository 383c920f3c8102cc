"""Answers at a glance: one screen of 24 lines, nothing loud lost, the same words without colour."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from decimal import Decimal
from functools import partial
from pathlib import Path

import pytest
from rich.cells import cell_len

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.cli.counter import at_a_glance
from fitcheck.errors import UsageError
from fitcheck.screens.counter.gearing_rows import gearing_lines, lines_of
from fitcheck.screens.counter.glance import print_glance
from fitcheck.screens.counter.overview import print_overview
from fitcheck.screens.counter.why import print_verdict
from fitcheck.screens.road.glance import print_road_glance
from fitcheck.screens.screen import LINES, Screen
from fitcheck.screens.words import SHORT_CAUTION
from fitcheck.services.counter.match import match
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject, subject_of
from fitcheck.services.counter.why import explain
from fitcheck.services.road.comparing import compare
from tests.conftest import EXPLORE, some
from tests.second_opinion.worlds import build
from tests.services.counter.test_offer import SETS, shop

DEMO = {"FITCHECK_CATALOG": "catalog", "COLUMNS": "80"}

Printer = Callable[[Screen], None]


def printed(printer: Printer, width: int = 80, *, colour: bool = False) -> str:
    out = io.StringIO()
    printer(Screen(out, width, colour=colour))
    return out.getvalue()


def glance(subject: Subject, asked: Request | None = None) -> str:
    result = match(subject, at_a_glance(subject, asked or Request(), None))
    return printed(partial(print_glance, result=result))


def pages(catalogue: Catalogue, machines: list[str]) -> Iterator[tuple[str, Printer]]:
    """Every answer at a glance about some machines and every family."""
    for id_ in machines:
        subject = subject_of(catalogue, id_)
        for asked in (Request(), Request(band="any"), Request(band="any", in_stock=True)):
            result = match(subject, at_a_glance(subject, asked, None))
            yield f"match {id_}", partial(print_glance, result=result)
            shown = [*result.combinations[:1], *result.combinations[-1:], *result.shorter[:1]]
            for one in shown:
                yield f"why {id_}", partial(print_verdict, told=explain(subject, one.sets))
        with suppress(UsageError):  # of some nobody knows how strong they are
            yield f"road {id_}", partial(print_road_glance, report=compare(subject, shown[:2]))
    for id_, entry in some(list(catalogue.families.items()), 3):
        with suppress(UsageError):  # no whole factory train, or no tune
            asked = Request(by_gearing=True, top=10)
            groups = list(options(catalogue, entry, asked))
            page = partial(
                print_overview, family_id=id_, family=entry.record, groups=groups, whole=False
            )
            yield f"options {id_}", page


def check_pages(catalogue: Catalogue, machines: list[str]) -> int:
    """Each fits one screen at 80 columns, keeps every width, and bears the caution."""
    number = 0
    for name, printer in pages(catalogue, machines):
        number += 1
        for width in (34, 60, 80, 200) if EXPLORE else (60, 80):
            page = printed(printer, width)
            lines = page.splitlines()
            assert all(cell_len(line) <= width for line in lines if "/" not in line), page
            assert SHORT_CAUTION in " ".join(page.split())
            assert width != 80 or len(lines) <= LINES < 24, (name, page)
    return number


def test_answers_of_the_demo_fit_one_screen(demo: Catalogue) -> None:
    machines = list(demo.machines)
    assert check_pages(demo, some(machines, 4)) >= 12


def test_answers_of_random_worlds_fit_one_screen(tmp_path: Path) -> None:
    for seed in range(20 if EXPLORE else 2):
        build(seed, tmp_path / str(seed))
        catalogue = load(tmp_path / str(seed))
        assert check_pages(catalogue, list(catalogue.machines)) > 5


@pytest.mark.parametrize(
    ("command", "parts"),
    [
        (
            "match dunlin-ten",
            [
                "Dunlin Ten, factory condition: Dunlin 50, short case, 10 in wheel, 15/46 14/55",
                " 1  15/40 14/55  +15.00  51? +6   -13  GW-20-108 63.50  1 here",
                " 3  15/46 16/55  +14.29   51 +6   -12  SA-108 (S/108) 48.00  in stock",
                "6= 15/45 15/53  +13.66   51 +6   -12  MA-1545+MA-21553",
                " 8  18/49 14/55  +12.65   50 +6   -11  SA-105 (S/105) 49.00  unproven",
                "now 45 (42..47)",
                "all of these LEAVE THE CLASS: L1e-B of 45 km/h; now: may be over",
                "Unproven 8, 11: see fitcheck why dunlin-ten SA-105",
                "Shorter 16 make it slower, as MA-1448 by -10.56 %: --percent=..0",
                "Choices 7,311: 40 fit, 126 unproven, 7,145 ruled out (why: --all)",
                "More more gearings: --top 0; every set, with notes: --long (20 choices)",
            ],
        ),
        (
            "match dunlin-ten --lawful",
            ["Nothing lawful; 20 choices are over the 45 km/h", "0 pass; of 7,311", "--band any"],
        ),
        (
            "match godwit-bar --in-stock --band any --margins",
            ["CG-140.54", "1 on the shelf, drawer F1; margin 73.84 EUR", "pass; of 50,985"],
        ),
        ("match whimbrel-skerry --all", ["licensed mechanic", "Ruled out", "family: "]),
        (
            "why dunlin-ten-regeared GW-40-105",
            [
                "Verdict ruled out: ",
                "Against family: for whimbrel-125, not for dunlin-50 (catalog/sets/glasswort",
                "Law two-wheel moped (L1e-B): at most 45 km/h by design",
                "every rule with its datum",
            ],
        ),
        (
            "road dunlin-post SP-17E1+MA-21451",
            [
                "51 (41..52)",
                "OVER ITS MARK",
                "then pulls it, at worst only with a tailwind",
                "then TOO FAST FOR THE TYRE",
                "then LEAVES, now MAY LEAVE THE CLASS: L1e-B of 45 km/h",
            ],
        ),
        (
            "road dunlin-ten-race GW-20-108 MA-1545+SA-107 SA-108 MA-1643",
            ["now front lifts as it starts off"],
        ),
        (
            "options dunlin-50",
            ["stock, pipe-only +10 to +15 %", "2 more factory trains: --housing, --wheel"],
        ),
        (
            "options dunlin-50 --housing long --wheel 16 --road",
            [
                "of these TOO FAST FOR THE TYRE: --long",
                "km/h: real top speed and its change",
                "race AGAINST ITS CLASS: 4.68 kW at the crankshaft is over the 4 kW",
                "4 LEAVE THE CLASS: L1e-B of 45 km/h; now: stock may be over",
            ],
        ),
        (
            "options dunlin-50 --lawful",
            ["stock: nothing lawful, 20 left out", "AGAINST ITS CLASS", "L1e-B of 45 km/h; now:"],
        ),
        ("shelf list", ["glasswort 13 24 1 EUR", "Sold out MA-21553, SB-0015", "every entry"]),
    ],
)
def test_parts_of_answers(command: str, parts: list[str], run) -> None:
    page, at = " ".join(run(*command.split(), env=DEMO).out.split()), 0
    for part in parts:
        words = " ".join(part.split())
        assert words in page[at:], (words, page)
        at = page.index(words, at)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("15/46 14/55 -f dunlin-50", "15/46 14/55 -f dunlin-50"),
        ("15/46 14/55 -f dunlin-50 -H mid -w 12 -T race", "-f dunlin-50 -H mid -w 12 -T race"),
        ("dunlin-ten -t 15/44,14/55", "dunlin-ten -t 15/44,14/55"),
        ("dunlin-ten -H mid --idler-seats ?", "dunlin-ten -H mid --idler-seats ?"),
    ],
)
def test_why_is_asked_of_the_same_machine(asked: str, words: str, run) -> None:
    """The command line given for what is not proved goes on as it stands, and agrees."""
    page = run("match", *asked.split(), "--band", "any", env=DEMO | {"COLUMNS": "200"}).out
    found = re.search(r"^Unproven .*see fitcheck (why .*)$", page, re.MULTILINE)
    assert found is not None
    assert words in found[1]
    assert "unproven" in run(*found[1].split(), env=DEMO).out


GONE = {"availability": "discontinued", "price": Decimal(10)}


@pytest.mark.parametrize(
    ("held", "fits", "said", "not_said"),
    [
        ({}, [], "1 not to be had now: a set is discontinued, none here (see --top 0)", "A  "),
        ({"A": {"quantity": 2}}, [], "64.90  unproven", "discontinued"),
        ({"A": {"quantity": 2}}, SETS["A"]["fits"], "60.00  2 here", "discontinued"),
    ],
)
def test_what_cannot_be_had_or_is_not_proved_says_so(
    load_records, held, fits, said, not_said
) -> None:
    record = SETS["A"] | GONE | {"fits": fits, "price": Decimal(60 if fits else "64.90")}
    page = glance(shop(load_records, held, {"A": record}))
    assert said in page
    assert not_said not in page


def test_what_cannot_be_had_is_marked_where_all_is_asked(load_records) -> None:
    subject = shop(load_records, {}, {"A": SETS["A"] | GONE, "B": SETS["B"]})
    result = match(subject, at_a_glance(subject, Request(), 0))
    page = printed(partial(print_glance, result=result, whole=True))
    assert re.search(r" 2  15/40 .* not to be had\n", page)
    assert "Left out" not in page


def test_a_rank_is_shared_with_a_line_that_is_left_out(demo: Catalogue) -> None:
    """Where a screen ends between equals, the first still says that it is one of them."""
    subject = subject_of(demo, "dunlin-ten-closed")
    result = match(subject, at_a_glance(subject, Request(), None))
    ranks = [one.rank for one in result.combinations]
    first = next(at for at, rank in enumerate(ranks) if ranks.count(rank) > 1)
    _, rows = gearing_lines(lines_of(result, first + 1), result.request, 80)
    assert f"{ranks[first]}=" in rows[-1][0].plain


@pytest.mark.parametrize("name", ["SA-108", "GW-20-108"])
def test_colour_never_says_that_all_is_well(demo: Catalogue, name: str) -> None:
    """Green on one figure hides what stands in another; what is not proved is in words."""
    subject = subject_of(demo, "dunlin-ten")
    result = match(subject, at_a_glance(subject, Request(), None))
    page = printed(partial(print_glance, result=result), colour=True)
    line = next(each for each in page.splitlines() if name in each)
    assert not re.search(r"\x1b\[[0-9;]*32m", line)
    assert "\x1b[33munproven" in page


def test_piped_and_watched_are_the_same(run) -> None:
    plain = run("match", "dunlin-ten", env=DEMO).out
    colour = run("match", "dunlin-ten", env={**DEMO, "FORCE_COLOR": "1"}).out
    assert re.sub(r"\x1b\[[0-9;]*m", "", colour) == plain
