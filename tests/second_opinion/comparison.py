"""Ask fitcheck and the second matcher the same, and tell every difference."""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any
from unittest import mock

from fitcheck import Catalogue, Request, load, match, subject_of
from tests.second_opinion.asking import Answered, Asking, RefusedError, ask
from tests.second_opinion.cases import RULED_OUT, Case
from tests.second_opinion.matcher import Asked, Band, Listed, Row, Shop, combinations
from tests.second_opinion.parts import Part, judge_part
from tests.second_opinion.reading import Record, read_catalogue, train_of
from tests.second_opinion.worlds import build

CENT = Fraction(1, 100)


@dataclass
class Difference:
    """One answer in which the two part."""

    kind: str
    seed: int
    words: str
    ours: object
    theirs: object

    def __str__(self) -> str:
        return (
            f"{self.kind}\n  world {self.seed}: fitcheck {self.words}\n"
            f"  second opinion: {self.ours}\n  fitcheck:       {self.theirs}"
        )


@dataclass
class Tally:
    """What was compared, and what differed."""

    worlds: int = 0
    asked: int = 0
    rows: int = 0
    choices: int = 0
    explained: int = 0
    differences: list[Difference] = field(default_factory=list)

    @property
    def kinds(self) -> Counter[str]:
        """How many differences of each kind."""
        return Counter(difference.kind for difference in self.differences)


@dataclass
class Question:
    """One machine as it was asked about, and every choice it has."""

    words: list[str]
    case: Case
    band: Band | None
    ratio: Fraction
    parts: dict[str, Part]
    rows: list[Row]


class World:
    """One world, asked of both."""

    def __init__(self, seed: int, size: int, folder: Path, tally: Tally) -> None:
        self.seed, self.folder, self.tally = seed, folder, tally
        build(seed, folder, size)
        self.records = read_catalogue(folder)
        self.shop = Shop(self.records)
        self.asking = Asking(seed, self.records)
        self.random = self.asking.random

    def compare(self) -> None:
        """Ask about every machine and about one family."""
        self.tally.worlds += 1
        for name, machine in self.records["machine"].items():
            try:
                self.compare_machine(name, machine)
            except RefusedError as refused:
                self.differ("no answer", [name], None, refused)
        if self.records["family"]["fam-0"].get("factory_trains"):
            try:
                self.compare_options("fam-0")
            except RefusedError as refused:
                self.differ("no answer", ["options", "fam-0"], None, refused)

    def differ(self, kind: str, words: list[str], ours: object, theirs: object) -> None:
        """Note a difference."""
        told = " ".join(words)
        self.tally.differences.append(Difference(kind, self.seed, told, ours, theirs))

    def same(self, kind: str, words: list[str], ours: object, theirs: object) -> bool:
        """Whether two answers are equal; a difference is noted."""
        if ours != theirs:
            self.differ(kind, words, ours, theirs)
        return ours == theirs

    def theirs(self, words: list[str]) -> Answered:
        """What fitcheck answers."""
        self.tally.asked += 1
        return ask(*words, "--catalog", str(self.folder))

    # --- machines ---

    def compare_machine(self, name: str, machine: Record) -> None:
        """Every row of one machine, some lists of it, and the reasons of some choices."""
        words, told = self.asking.machine(name, machine)
        more, ratio = self.asking.tyre(told)
        case, band = self.shop.case(told), self.shop.band(told["family"], told.get("tune"))
        parts = self.shop.parts(case)
        rows = self.shop.choices(case, parts, band, ratio)
        question = Question([*words, *more], case, band, ratio, parts, rows)
        self.tally.choices += len(rows)
        every = self.compare_list(question, Asked(band="any"), ["--band", "any", "--all"])
        found = every["band"] and tuple(exact(every["band"][e]) for e in ("low", "high", "stretch"))
        self.same("band", words, band and tuple(band), found)
        self.compare_reasons(question, every["ruled_out"])
        for _ in range(3):
            self.compare_list(question, *self.asking.request(rows))
        if words == [name] and ratio == 1:
            self.compare_exact_window(name, question)
        for row in self.to_explain(question):
            self.compare_rules(["why", *question.words, *row.sets], row)

    def compare_list(self, question: Question, asked: Asked, more: list[str]) -> Answered:
        """Ask for a list and compare it; returns what fitcheck answered."""
        words = ["match", *question.words, *more]
        theirs = self.theirs(words)
        currency = self.shop.currency(question.parts, asked)
        self.same("currency", words, currency, theirs["currency"])
        ours = self.shop.answer(question.rows, question.band, asked, theirs["currency"])
        self.compare_listed(words, ours, theirs)
        return theirs

    def compare_listed(self, words: list[str], ours: Listed, theirs: Answered) -> None:
        """Counts, every row in order, and what is shorter."""
        for name, value in ours.counts.items():
            self.same(f"counts.{name}", words, value, theirs["counts"].get(name))
        window = tuple(exact(theirs["window"][edge]) for edge in ("low", "high"))
        self.same("window", words, ours.window, window)
        self.compare_rows("combinations", words, ours.rows, theirs["combinations"])
        self.compare_rows("shorter", words, ours.shorter, theirs["shorter"])

    def compare_rows(
        self, what: str, words: list[str], ours: list[Row], theirs: list[Answered]
    ) -> None:
        """Row by row: the same ones, in the same order, with the same figures."""
        self.tally.rows += len(theirs)
        mine = {row.sets: row for row in ours}
        found = {tuple(row["sets"]): row for row in theirs}
        for sets in mine.keys() - found.keys():
            self.differ(f"{what}: not in fitcheck's", words, brief(mine[sets]), None)
        for sets in found.keys() - mine.keys():
            told = {key: found[sets][key] for key in ("sets", "fit", "weakest_rules", "band")}
            self.differ(f"{what}: only in fitcheck's", words, None, told)
        both = [row.sets for row in ours if row.sets in found]
        self.same(f"{what}: order", words, both, [sets for sets in found if sets in mine])
        for sets in both:
            self.compare_row(what, words, mine[sets], found[sets])

    def compare_row(self, what: str, words: list[str], row: Row, their: Answered) -> None:
        """Every figure of one row."""
        told = [*words, "#", *row.sets]
        self.same(
            f"{what}: fit {row.verdict}, {row.evidence} / {their['fit']}, {their['evidence']}",
            told,
            (row.verdict, row.evidence, sorted(row.weakest)),
            (their["fit"], their["evidence"], sorted(their["weakest_rules"])),
        )
        pairs = tuple(tuple(map(int, pair.split("/"))) for pair in their["pairs"].values())
        figures = {
            "rank": (row.rank, their.get("rank", row.rank)),
            "pairs": (row.pairs, pairs),
            "changed": (row.changed, tuple(their["changed"])),
            "reduction": (row.reduction, exact(their["reduction"])),
            "road-speed change": (row.change, Fraction(their["road_speed_change_exact"])),
            "reduction change": (row.reduction_change, Fraction(their["reduction_change_exact"])),
            "band": (row.band, their["band"]),
            "price": (row.price, their["price_exact"] and Decimal(their["price_exact"])),
            "currency": (row.currency, their["currency"]),
            "price_from": (row.price_from, their["price_from"]),
            "availability": (row.availability, their["availability"]),
            "on_shelf": (row.on_shelf, their["on_shelf"]),
            "orderable": (row.availability != "discontinued", their["orderable"]),
            "suppliers": (row.suppliers, tuple(their["suppliers"])),
            "same teeth": (row.same_teeth, any("same teeth as now" in n for n in their["notes"])),
        }
        for name, (mine, found) in figures.items():
            self.same(f"{what}: {name}", told, mine, found)
        works, note = row.from_works, works_note(their["notes"])
        if (works is None) != (note is None) or (works and note and abs(works - note) > CENT / 2):
            self.differ(f"{what}: from the factory", told, works, note)

    def compare_exact_window(self, name: str, question: Question) -> None:
        """A window whose edges lie just on two rows, as fractions that no decimal says."""
        low, high = sorted(self.asking.two_changes(question.rows))
        subject = subject_of(load(self.folder), name)
        found = match(subject, Request(percent=(low, high)))
        ours = [
            row.sets
            for row in self.shop.answer(
                question.rows, question.band, Asked(percent=(low, high)), found.currency
            ).rows
        ]
        theirs = [tuple(entry.id for entry in row.sets) for row in found.combinations]
        self.tally.rows += len(theirs)
        self.same("exact window", [name, f"{low} to {high}"], ours, theirs)

    # --- reasons ---

    def compare_reasons(self, question: Question, theirs: list[Answered]) -> None:
        """What was ruled out: each reason true, at the smallest part, and none counted twice."""
        words, parts = ["match", *question.words, "--all"], question.parts
        dead = [row for row in question.rows if row.verdict == RULED_OUT]
        alone: Counter[str] = Counter()
        joints: set[tuple[str, str]] = set()
        for reason in theirs:
            if len(reason["sets"]) == 1:
                names = set(reason["sets"][0])
                alone.update(names)
                for name in names:
                    if reason["rule"] not in parts[name].dead:
                        self.differ(f"reason: {reason['rule']}", words, parts[name].dead, reason)
                most = sum(bool(names & set(row.sets)) for row in dead)
            else:
                died = joints_told(reason, parts)
                joints |= died
                most = sum(bool(joints_of(row, question) & died) for row in dead)
            if not 0 <= reason["combinations"] <= most:
                self.differ("reasons: number beyond its choices", words, most, reason)
        ours = {name: 1 for name, part in parts.items() if part.dead}
        self.same("reasons: sets dead by themselves", words, ours, dict(alone))
        total = sum(reason["combinations"] for reason in theirs)
        self.same("reasons: numbers add up", words, len(dead), total)
        for row in question.rows:
            if any(parts[name].dead for name in row.sets):
                continue
            told = bool(joints_of(row, question) & joints)
            if told != (row.verdict == RULED_OUT):
                self.differ("reasons: joints", words, brief(row), sorted(joints))

    def to_explain(self, question: Question) -> list[Row]:
        """Some choices whose rules are compared one by one: ruled-out and retired ones too."""
        standing = [row for row in question.rows if row.verdict != RULED_OUT]
        dead = [row for row in question.rows if row.verdict == RULED_OUT]
        picked = self.random.sample(standing, min(3, len(standing)))
        picked += self.random.sample(dead, min(3, len(dead)))
        sets = self.records["gear-set"]
        retired = [name for name, record in sets.items() if record.get("status") == "retired"]
        for name in retired[:1]:
            part = judge_part(question.case, name, sets[name])
            chosen = next(combinations(question.case.stages, [part]))
            picked.append(self.shop.row(question.case, question.band, question.ratio, chosen))
        return picked

    def compare_rules(self, words: list[str], row: Row) -> None:
        """Every rule's answer about one combination."""
        theirs = self.theirs(words)
        self.tally.explained += 1
        stages = theirs["machine"]["stages"]
        ours = Counter((a.rule, a.of, a.stage, a.verdict, a.evidence) for a in row.answers)
        found = Counter(
            (
                rule["rule"],
                rule["set"],
                rule["subject"] if rule["subject"] in stages else None,
                rule["fit"],
                rule["evidence"],
            )
            for rule in theirs["rules"]
        )
        rules = {key[0] for key in (ours - found) | (found - ours)}
        if rules:
            reasons = [rule["reason"] for rule in theirs["rules"] if rule["rule"] in rules]
            self.differ(
                f"why: {', '.join(sorted(rules))}",
                words,
                sorted((ours - found).elements(), key=str),
                (sorted((found - ours).elements(), key=str), reasons),
            )
        self.compare_row("why", words, row, theirs["combination"])
        self.same("why: exit", words, 3 if row.verdict == RULED_OUT else 0, theirs["exit"])

    # --- options ---

    def compare_options(self, family: str) -> None:
        """Every factory train of a family under every tune, or some of them."""
        trains = self.records["family"][family]["factory_trains"]
        tunes = [*self.records["tune"]]
        words = ["options", family]
        if self.asking.may(0.3):
            housing = self.random.choice(trains)["housing"]
            trains = [train for train in trains if train["housing"] == housing]
            words += ["--housing", housing]
        if self.asking.may(0.3):
            tunes = [self.random.choice(tunes)]
            words += ["--tune", tunes[0]]
        asked, more = self.asking.request([])
        theirs = self.theirs([*words, *more])
        if not self.same("options: groups", words, len(trains) * len(tunes), len(theirs["groups"])):
            return
        for group in theirs["groups"]:
            place = group["factory_train"]
            case = Case(self.records, family, place["housing"], place["wheel_size_in"], ())
            case.pairs = train_of(place["pairs"], case.stages)
            case.as_built = True
            band, parts = self.shop.band(family, group["tune"]), self.shop.parts(case)
            rows = self.shop.choices(case, parts, band)
            told = [*words, *more, "#", place["housing"], str(place["wheel_size_in"])]
            self.same("currency", told, self.shop.currency(parts, asked), group["currency"])
            ours = self.shop.answer(rows, band, asked, group["currency"])
            self.compare_listed([*told, group["tune"]], ours, group)


def joints_told(reason: Answered, parts: dict[str, Part]) -> set[tuple[str, str]]:
    """The joints a reason of two sides is about; empty text: a gear that stays."""
    wheels, pinions = ([name if name in parts else "" for name in s] for s in reason["sets"])
    return {(wheel, pinion) for wheel in wheels for pinion in pinions}


def joints_of(row: Row, question: Question) -> set[tuple[str, str]]:
    """The joints of a combination by the sets on either side."""
    by_stage = {stage: name for name in row.sets for stage in question.parts[name].holds}
    names = [by_stage.get(stage, "") for stage in question.case.stages]
    return {(a, b) for a, b in pairwise(names) if a != b}


def exact(figure: Answered | None) -> Fraction | None:
    """The exact figure of JSON."""
    return None if figure is None else Fraction(figure["exact"])


def brief(row: Row) -> Answered:
    """What tells a row."""
    told = {"sets": row.sets, "fit": row.verdict, "weakest": sorted(row.weakest)}
    return told | {"change": str(row.change), "price": f"{row.price} {row.currency}"}


def works_note(notes: list[str]) -> Fraction | None:
    """The figure of a note about the works."""
    return next((Fraction(note.split()[0]) for note in notes if "from the factory" in note), None)


def read_once() -> Callable[..., Catalogue]:
    """`load` that reads a folder once, since a world is asked about some thirty times."""
    known: dict[str, Catalogue] = {}

    def load_once(path: Path | str, **more: Any) -> Catalogue:
        if str(path) not in known:
            known[str(path)] = load(path, **more)
        return known[str(path)]

    return load_once


def compare_worlds(seeds: range, tally: Tally, size: int = 1) -> None:
    """Compare the worlds of these seeds, SIZE times as many sets in each."""
    for seed in seeds:
        with (
            tempfile.TemporaryDirectory() as folder,
            mock.patch("fitcheck.catalogue.reader.load", read_once()),
        ):
            World(seed, size, Path(folder), tally).compare()
