"""Before and after on the road on screen, from answers built by hand (road_examples.py)."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest
from rich.cells import cell_len

from fitcheck.answers.road_words import (
    decimal_words,
    given_words,
    pull_words,
    range_words,
    seconds,
    top_words,
)
from fitcheck.catalogue.reader import Catalogue
from fitcheck.screens.curves import interpolated
from fitcheck.screens.road.table import table_lines
from fitcheck.screens.road.text import chart_of, print_road
from fitcheck.screens.screen import Screen
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.lookup import find_set
from fitcheck.services.road.figures import Figure, Given, OtherTop, PullVerdict
from fitcheck.services.road.results import RoadReport
from tests.conftest import table

Show = Callable[..., str]


@pytest.fixture(scope="module")
def report(demo: Catalogue, roads) -> RoadReport:
    built = roads.road_report(demo)
    assert isinstance(built, RoadReport)
    return built


def show(
    report: RoadReport, width: int = 80, *, braille: bool = False, colour: bool = False
) -> str:
    out = io.StringIO()
    print_road(Screen(out, width, colour=colour), report, braille=braille)
    return out.getvalue()


def flat(text: str) -> str:
    """Text as if it had not been wrapped."""
    return re.sub(r"\s+", " ", text)


# Figures in words.


@pytest.mark.parametrize(
    ("figure", "places", "signed", "said"),
    [
        (Figure(62.3, 57.6, 66.4), 0, False, "62 (58..66)"),
        (Figure(62.3, 62.1, 62.4), 0, False, "62"),
        (Figure(62.3, 61.9, 62.6), 0, False, "62 (62..63)"),
        (Figure(3.2, -0.4, 4.4), 0, True, "+3 (0..+4)"),
        (Figure(-8.26, -10.2, -6.9), 1, True, "-8.3 (-10.2..-6.9)"),
        (Figure(1234.5, 1100.2, 1300.9), 0, False, "1,234 (1,100..1,301)"),
        (Figure(37.0, 18.0, float("inf")), 0, False, "37 (18..never)"),
    ],
)
def test_a_figure_and_its_range_are_rounded_alike(
    figure: Figure, places: int, signed: bool, said: str
) -> None:
    assert range_words(figure, places, signed=signed) == said


def test_zero_has_no_sign() -> None:
    assert [decimal_words(each, signed=True) for each in (-0.4, 0.0, 0.4, 0.6)] == [
        "0",
        "0",
        "0",
        "+1",
    ]


def test_times_have_tenths_while_they_are_short() -> None:
    assert seconds(Figure(4.21, 3.8, 4.66)) == "4.2 (3.8..4.7)"
    assert seconds(Figure(11.3, 9.7, 12.9)) == "11 (10..13)"
    assert seconds(None) == "never"


@pytest.mark.parametrize(
    ("value", "unit", "spread", "said"),
    [
        (2.4, "kW", 0.144, "2.4 (2.3..2.5) kW"),
        (6500.0, "1/min", 195.0, "6,500 (6,300..6,700) rpm"),
        (0.76493, "", 0.0612, "0.765 (0.70..0.83)"),
        (75.0, "kg", 0.0, "75 kg"),
        (253 / 21, "", 0.0, "12.05"),
        (0.0122, "", 0.0037, "0.0122 (0.009..0.016)"),
        (0.0, "m", 0.0, "0 m"),
    ],
)
def test_an_input_shows_no_more_figures_than_its_spread_bears(
    value: float, unit: str, spread: float, said: str
) -> None:
    assert given_words(Given("key", "name", value, unit, "estimate", spread, "")) == said


def test_verdicts_say_what_a_poor_case_would_be(report: RoadReport) -> None:
    one = report.after[0]

    def words(verdict: PullVerdict, cautious: PullVerdict) -> str:
        return pull_words(replace(one, verdict=verdict, cautious_verdict=cautious))

    assert words(PullVerdict.PULLS, PullVerdict.PULLS) == "pulls it"
    assert words(PullVerdict.PULLS, PullVerdict.WIND) == ("pulls it, at worst only with a tailwind")
    assert words(PullVerdict.WIND, PullVerdict.NOT) == ("only with a tailwind, at worst not at all")
    assert words(PullVerdict.NOT, PullVerdict.NOT) == "will not pull it"


def test_top_speeds_are_told_against_now(report: RoadReport) -> None:
    assert top_words(report.before) == "52 (49..55) km/h on the flat"
    assert top_words(report.after[0]) == "55 (52..58) km/h on the flat, 3.0 more than now"
    assert top_words(report.after[1]) == "50 (47..53) km/h on the flat, 2.0 less than now"
    same = replace(report.after[0], top_change=Figure(0.2, -0.4, 0.4))
    assert top_words(same).endswith("on the flat, as now")


# The page.


@pytest.mark.parametrize("braille", [False, True])
@pytest.mark.parametrize("width", [30, 40, 60, 72, 80, 100, 120, 200, 400])
@table("options", [0, 1, 2, 3])
def test_the_page_keeps_its_width(
    width: int, braille: bool, options: int, demo: Catalogue, roads
) -> None:
    page = show(roads.road_report(demo, roads.THREE[:options]), width, braille=braille)
    for line in page.splitlines():
        assert line == line.rstrip()
        assert line.isprintable()
        path = re.search(r"\S+\.yaml", line) is not None
        assert cell_len(line) <= width or path, line
    assert page.isascii() or braille


def test_colour_changes_no_word(report: RoadReport) -> None:
    colour = show(report, colour=True)
    assert re.sub(r"\x1b\[[0-9;]*m", "", colour) == show(report) != colour


def test_verdicts_stand_first_and_in_words(report: RoadReport) -> None:
    page = flat(show(report))
    for start, said in [
        ("A GW-20-108 ", "Pulls it: top speed 55 (52..58) km/h on the flat, 3.0 more than now."),
        ("B MA-1545 + SA-107 ", "Only with a tailwind, at worst not at all: top speed"),
        ("C GW-20-108 + SA-108 ", "Will not pull it: top speed 41 (38..44) km/h"),
    ]:
        assert f"{start}{said}" in page.replace("! TOO FAST FOR THE TYRE: it "
            "may reach 53 km/h, and B is for 50 km/h. ", "")  # fmt: skip
    assert page.index("Will not pull it") < page.index("overall reduction 12.0476 10.4762")


def test_what_limits_it_is_told_in_words(report: RoadReport) -> None:
    page = flat(show(report))
    assert (
        "Top speed 52 (49..55) km/h on the flat. Limited by the gearing: geared short, the engine "
        "runs past its power peak." in page
    )
    assert "3.0 more than now. Limited by power: geared tall enough, drag takes all" in page
    assert "11 less than now. Limited by power: geared too tall, the engine stays under" in page


def test_a_tyre_over_its_mark_cannot_be_missed(report: RoadReport) -> None:
    lines = show(report).splitlines()
    at = lines.index("B MA-1545 + SA-107")
    assert lines[at + 1].startswith("! TOO FAST FOR THE TYRE: it may reach")
    assert "\x1b[1;31m! TOO FAST FOR THE TYRE" in show(report, colour=True)
    (row,) = (line for line in lines if line.startswith("tyre "))
    assert row.split("  ")[-1].strip() == "OVER ITS MARK"
    quiet = replace(report, after=report.after[:1])
    assert "TOO FAST" not in show(quiet)
    assert "OVER ITS MARK" not in show(quiet)


def test_what_does_not_fit_says_so_before_all_else(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, [["MA-1448"]])
    subject = report.subject
    foreign = next(
        entry
        for entry in demo.gear_sets.values()
        if entry.record.pairs.keys() == {"primary"}
        and combine(subject, [entry]).judgement.verdict.value == "ruled out"
    )
    wrong = replace(report.after[0], combination=combine(subject, [foreign]))
    lines = show(replace(report, after=(wrong,))).splitlines()
    at = lines.index("MA-1448")
    assert lines[at + 1].startswith("  DOES NOT FIT: ")


def test_columns_that_do_not_fit_stand_in_a_block_below(report: RoadReport) -> None:
    def heads(width: int) -> list[str]:
        lines = show(report, width).splitlines()
        return [re.sub(r"  +", "|", line.strip()) for line in lines if line.startswith("    ") and
                line.strip().startswith("now ")]  # fmt: skip

    assert heads(200) == ["now|A GW-20-108|B MA-1545 +|C GW-20-108 +"]
    assert heads(80) == ["now|A GW-20-108|B MA-1545 +", "now|C GW-20-108 +"]
    assert len(heads(60)) == 3
    assert heads(40) == []


def test_every_width_tells_the_same_figures(report: RoadReport) -> None:
    cells = [cell for line in table_lines(report) for cell in line.cells if cell]
    assert len(cells) > 80
    for width in (30, 40, 60, 80, 200):
        page = flat(show(report, width))
        assert [cell for cell in cells if cell not in page] == []


def test_lines_that_say_nothing_are_left_out(demo: Catalogue, roads) -> None:
    alone = [line.label.strip() for line in table_lines(roads.road_report(demo, []))]
    assert not {"against now", "road speed on paper", "fit", "price", "tyre"} & set(alone)
    assert not [label for label in alone if label.startswith("fuel")]
    assert {"really, on the flat", "pull at the wheel, N", "at 45 km/h"} <= set(alone)


def test_fuel_is_told_at_the_speed_it_is_of(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo)
    alike = next(line for line in table_lines(report) if line.label.startswith("fuel"))
    assert (alike.label, alike.cells[1:]) == ("fuel at 40 km/h, %", ("-3 (-6..0)",) * 3)
    one, two, three = report.after
    after = (
        one,
        replace(two, fuel_speed_km_h=45.0, fuel_change=None),  # the variator takes it up
        replace(three, fuel_speed_km_h=None, fuel_change=None),  # it does not hold such a speed
    )
    own = next(
        line for line in table_lines(replace(report, after=after)) if line.label.startswith("fuel")
    )
    assert (own.label, own.cells[1:]) == ("fuel, %", ("-3 (-6..0) at 40", "as now at 45", ""))


def test_speeds_not_reached_are_said_to_be(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, roads.THREE[:1])
    slow = replace(report.before, rpm_at=((30.0, 6000.0),))
    (line,) = (
        each for each in table_lines(replace(report, before=slow)) if each.label == "at 45 km/h"
    )
    assert line.cells[0] == "not reached"
    assert re.fullmatch(r"\d,\d\d\d", line.cells[1])


def test_a_change_of_tyre_alone_is_told(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, [])
    tyre = roads.outcome(
        demo, pairs=report.before.pairs, label="the new tyre",
        road_speed_change=Fraction(21, 4), top_change=Figure(2, 1, 3),
        start_change=Figure(-5, -5, -5),
    )  # fmt: skip
    page = flat(show(replace(report, after=(tyre,))))
    assert "now the new tyre" in page
    assert "road speed on paper +5.25 %" in page
    assert "against now +2.0 (+1.0..+3.0)" in page


def test_the_law_is_told_for_each_gearing(report: RoadReport) -> None:
    page = flat(show(report))
    assert "Over the 45 km/h of L1e-B: it leaves its class. B MA-1545" in page
    assert "L1e-B, up to 45 km/h over over may be over" in page
    assert page.count("2.4 kW is close.") == 1
    assert "may itself need approval" in page
    nowhere = replace(
        report,
        before=replace(report.before, lawful=None),
        after=tuple(replace(one, lawful=None) for one in report.after),
    )
    assert "The law" not in show(nowhere)
    assert "L1e-B, up to" not in show(nowhere)


def test_help_is_told_once_and_for_whom(report: RoadReport) -> None:
    page = flat(show(report))
    assert page.count("Lighter rollers let it shift at a higher engine speed.") == 1
    assert " - Lighter rollers" in page
    assert " - A: A starting ratio of 3.1" in page
    assert page.index(" - B: A starting ratio") < page.index(" - Lighter rollers")
    one = flat(show(replace(report, after=report.after[:1])))
    assert " - A starting ratio of 3.1" in one


def test_every_input_is_told_with_its_kind_and_source(report: RoadReport) -> None:
    page = flat(show(report, 120))
    for given in report.inputs:
        assert f"{given.kind} {given.name} {given_words(given)}: {given.source}" in page
    colour = show(report, 120, colour=True)
    assert re.search(r"\x1b\[33mestimate", colour)
    assert re.search(r"\x1b\[33mapproximate", colour)
    assert not re.search(r"\x1b\[33mcounted", colour)
    assert "Not calibrated." in page
    set_to = flat(show(replace(report, calibrated="drag area from 0.5 to 0.55 m2."), 120))
    assert "Calibrated: drag area from 0.5 to 0.55 m2." in set_to
    assert "Not calibrated" not in set_to


def test_without_sets_it_says_how_to_name_them(demo: Catalogue, roads) -> None:
    page = flat(show(roads.road_report(demo, [])))
    assert "join those fitted together with +, as in MA-1545+MA-21553" in page
    assert "name gear sets after the machine" not in flat(show(roads.road_report(demo)))


def test_sets_that_go_together_but_were_named_apart(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, [["MA-1545"], ["SA-107"]])
    assert "to see both fitted, write MA-1545+SA-107." in flat(show(report))
    assert "to see both fitted" not in flat(
        show(roads.road_report(demo, [["MA-1545"], ["MA-1448"]]))
    )
    assert "to see both fitted" not in flat(show(roads.road_report(demo)))


def test_hostile_names_steer_nothing(report: RoadReport) -> None:
    nasty = replace(report, subject=replace(report.subject, name="a\x1b[2Jb\u202ec\nd"))
    sour = replace(nasty, notes=("x\x07y",), inputs=(replace(report.inputs[0], source="s\x9bt"),))
    page = show(sour)
    assert all(line.isprintable() for line in page.splitlines())
    assert r"a\x1b[2Jb\u202ec d" in page


# The chart.


def test_thrust_meets_load_where_the_hand_built_curves_do(report: RoadReport, roads) -> None:
    plot, shown = chart_of(report, 100, 16, braille=True)
    assert shown == [0, 1, 2, 3]
    assert [curve.letter for curve in plot.curves] == ["f", "w", "u", "o", "A", "B", "C"]
    load, pull = plot.curves[0], plot.curves[4]
    # 6000 / v = 5 + 0.024 v²: at v = 61.9 both are 97 N (Newton's method by hand).
    for curve in (load, pull):
        assert interpolated(curve.xs, curve.ys, 61.9) == pytest.approx(97, abs=0.5)
    assert roads.load("flat", 61.9) == pytest.approx(97, abs=0.1)
    assert plot.y_max >= 400
    assert plot.x_max >= 58


def test_the_chart_is_left_out_where_it_would_say_nothing(report: RoadReport) -> None:
    assert "Thrust at the wheel" in show(report, 60)
    assert "Thrust at the wheel" not in show(report, 59)


def test_many_choices_are_drawn_only_in_part(demo: Catalogue, report: RoadReport) -> None:
    many = replace(report, after=report.after * 3)
    page = show(many)
    assert "Only the first 5 choices are drawn." in page
    assert "I GW-20-108 + SA-108" in page


def test_combinations_are_found_like_any_other(demo: Catalogue, report: RoadReport) -> None:
    # Guards the builder itself: its combinations are the catalogue's.
    expected = combine(report.subject, [find_set(demo, "GW-20-108")])
    assert report.after[0].combination == expected


def test_a_machine_that_cannot_start_is_told_so(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, [])
    stuck = replace(
        report.before,
        flat=replace(report.before.flat, speed=roads.about(0, 0), rpm=0.0, limit="start"),
        start_gradient=None,
        time_30=None,
        time_45=None,
    )
    page = flat(show(replace(report, before=stuck)))
    assert "Limited from the start: the pull as the clutch engages does not move it off." in page
    assert "limited by cannot start" in page
    assert "steepest hill, % does not start" in page


def test_a_second_top_speed_is_told_with_the_first(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, [])
    other = OtherTop(47.0, "if the variator does not come out")
    before = replace(report.before, flat=replace(report.before.flat, other=other))
    page = flat(show(replace(report, before=before)))
    assert "52 (49..55) km/h on the flat, or about 47 if the variator does not come out" in page
    assert "or, by variator 47 if not out" in page


def test_a_gearing_that_is_not_pulled_for_the_hill_says_so(demo: Catalogue, roads) -> None:
    report = roads.road_report(demo, [("GW-20-108",)])
    weak = replace(report.after[0], start_gradient=Figure(4, 3, 5), verdict=PullVerdict.NOT)
    page = flat(show(replace(report, after=(weak,))))
    assert "It does not start on a hill of 5 %." in page
