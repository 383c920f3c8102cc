"""How many slips of a hand `fitcheck check` finds, and how many harmless edits it cries at.

    python -m tests.bench.check_mutations [--count 300] [--seed 7] [--show]

Slips are made at random in the demo catalogue, one at a time, of the kinds that hands make: a digit
mistyped or swapped, a code, a date, a price by ten, a comma or a quote lost, a wrong family, housing
or stage, a record doubled, a key misspelt, an indentation. Each is labelled as it is made:

    wanted    the rest of the catalogue, or the value by itself, shows that it is wrong, so a shop
              would want it found; with the lines at which it may be reported
    blind     nothing in the catalogue contradicts it, such as another price of the usual size
    harmless  the catalogue says the same as before

Labels are worked out from the catalogue's data and plain arithmetic, never by asking the checks.
"""

from __future__ import annotations

import argparse
import random
import re
import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from math import acos, cos, pi, radians, tan
from pathlib import Path
from typing import Any, Literal

from ruamel.yaml import YAML, YAMLError

from fitcheck.catalogue.reader import Catalogue, Entry, load
from fitcheck.diagnostics.finding import Finding
from fitcheck.model.family import Family
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.checks import check
from fitcheck.services.checking import lay_over

DEMO = Path(__file__).parents[2] / "catalog"

Label = Literal["wanted", "blind", "harmless"]

JS8_MM = 0.023
"""Half of the ISO 286 width js8 over 50 to 80 mm; nothing smaller is a slip of a distance."""


@dataclass(frozen=True)
class Mutation:
    """One edit of one file: what a hand did there, and whether a shop would want it found."""

    kind: str
    what: str
    path: Path
    text: str
    label: Label
    lines: frozenset[tuple[str, int]] = frozenset()


@dataclass
class Verdict:
    """What the checks said of one mutation."""

    mutation: Mutation
    findings: list[Finding]
    on_line: bool

    @property
    def found(self) -> bool:
        """Whether anything new was reported."""
        return bool(self.findings)


class World:
    """A copy of a catalogue on disk, read once; one file at a time is changed and put back."""

    def __init__(self, folder: Path, origin: Path = DEMO) -> None:
        shutil.copytree(origin, folder, dirs_exist_ok=True)
        self.catalogue: Catalogue = load(folder)
        self.texts = {
            Path(shown).resolve(): source.text for shown, source in self.catalogue.sources.items()
        }
        self.known = Counter(map(_mark, check(self.catalogue)))

    def judge(self, mutation: Mutation) -> Verdict:
        """Check the catalogue with a mutation in it."""
        mutation.path.write_text(mutation.text, encoding="utf-8")
        try:
            after = check(lay_over(self.catalogue, load(mutation.path)))
        finally:
            mutation.path.write_text(self.texts[mutation.path], encoding="utf-8")
        left = self.known.copy()
        fresh = []
        for finding in after:
            if left[_mark(finding)] > 0:
                left[_mark(finding)] -= 1
            else:
                fresh.append(finding)
        hit = any(
            (str(Path(f.span.path).resolve()), line) in mutation.lines
            for f in fresh
            for line in range(f.span.line, f.span.end_line + 1)
        )
        return Verdict(mutation, fresh, hit)

    def sets(self, keep: Callable[[GearSet], bool] = lambda _: True) -> list[Entry[GearSet]]:
        """Active gear sets of a sort."""
        sets = self.catalogue.gear_sets.values()
        return [e for e in sets if e.record.status == "active" and keep(e.record)]

    def for_family(self, family: str) -> list[Entry[GearSet]]:
        """Active gear sets that somebody vouches for in a family."""
        return self.sets(lambda record: any(claim.family == family for claim in record.fits))


def _mark(finding: Finding) -> tuple[object, ...]:
    return finding.code, finding.record, finding.field, finding.message


@dataclass
class Place:
    """A stretch of one line of one file."""

    path: Path
    line: int
    start: int
    end: int
    text: str
    lines: list[str] = field(repr=False)

    @property
    def mark(self) -> frozenset[tuple[str, int]]:
        """Where a finding about it belongs."""
        return frozenset({(str(self.path), self.line)})

    def replaced(self, new: str) -> str:
        """The file with other text in place of the stretch."""
        lines = list(self.lines)
        old = lines[self.line - 1]
        lines[self.line - 1] = old[: self.start] + new + old[self.end :]
        return "\n".join(lines)


def place_of(world: World, entry: Entry[Any], *steps: str | int, key: bool = False) -> Place:
    """Where a value, or a key, of a record stands."""
    span = entry.span(*steps, key=key)
    path = Path(span.path).resolve()
    lines = world.texts[path].split("\n")
    end = span.end_column - 1 if span.end_line == span.line else len(lines[span.line - 1])
    start = span.column - 1
    return Place(path, span.line, start, end, lines[span.line - 1][start:end], lines)


# Slips of fingers -------------------------------------------------------------------------------


def mistyped(text: str, chance: random.Random) -> str:
    """The neighbour key hit in place of one digit."""
    at = chance.choice([i for i, letter in enumerate(text) if letter.isdigit()])
    digit = int(text[at])
    near = [each for each in (digit - 1, digit + 1) if 0 <= each <= 9 and (each or at)]
    return text[:at] + str(chance.choice(near)) + text[at + 1 :]


def swapped(text: str, chance: random.Random) -> str | None:
    """Two neighbouring digits the wrong way round; None where that changes nothing."""
    pairs = [
        i
        for i in range(len(text) - 1)
        if text[i].isdigit() and text[i + 1].isdigit() and text[i] != text[i + 1]
    ]
    pairs = [i for i in pairs if text[i + 1] != "0" or i > 0]
    if not pairs:
        return None
    at = chance.choice(pairs)
    return text[:at] + text[at + 1] + text[at] + text[at + 2 :]


def slip(text: str, chance: random.Random) -> str | None:
    """A digit mistyped or two swapped."""
    return mistyped(text, chance) if chance.random() < 0.5 else swapped(text, chance)


def misspelt(word: str, chance: random.Random) -> str:
    """Two neighbouring letters the wrong way round, one left out, or one doubled."""
    letters = [i for i in range(1, len(word) - 1) if word[i].isalpha()] or [0]
    ways = [i for i in letters if word[i + 1].isalpha() and word[i] != word[i + 1]]
    how = chance.choice(["swap", "drop", "double"])
    if how == "swap" and ways:
        at = chance.choice(ways)
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    at = chance.choice(letters)
    return word[:at] + (word[at] * 2 if how == "double" else "") + word[at + 1 :]


# What the catalogue knows, by plain arithmetic ---------------------------------------------------


def distance_of(teeth: int, module: float, helix: float, shift_sum: float) -> float:
    """Working centre distance, mm, by the formulae of ISO 21771 (from memory), by bisection."""
    at = _angle(tan(radians(20)) / cos(radians(helix)))
    wanted = tan(at) - at + 2 * shift_sum * tan(radians(20)) / teeth
    low, high = 0.0, pi / 2 - 1e-9
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if tan(middle) - middle < wanted else (low, middle)
    return module * teeth / (2 * cos(radians(helix))) * cos(at) / cos(low)


def _angle(tangent: float) -> float:
    return acos(1 / (1 + tangent * tangent) ** 0.5)


def off_distance(
    world: World, entry: Entry[GearSet], stage: str, change: Callable[[dict[str, float]], None]
) -> bool:
    """Whether a change of a set's geometry or teeth moves its distance beyond the tolerance."""
    record = entry.record
    given = record.geometry.get(stage)  # type: ignore[call-overload]
    if given is None or given.profile_shift_sum is None:
        return False
    pair = record.pairs[stage]  # type: ignore[index]
    data: dict[str, float] = {
        "teeth": pair.driver + pair.driven,
        "module": given.normal_module_mm,
        "helix": given.helix_angle_deg,
        "shift_sum": given.profile_shift_sum,
    }
    change(data)
    new = distance_of(int(data["teeth"]), data["module"], data["helix"], data["shift_sum"])
    casings = [
        world.catalogue.families[claim.family].record.stages.get(stage)  # type: ignore[call-overload]
        for claim in record.fits
    ]
    known = [float(c.centre_distance_mm) for c in casings if c and c.centre_distance_mm]
    return bool(known) and all(abs(new - casing) > JS8_MM for casing in known)


def cut_for(world: World, family: str, stage: str) -> list[Entry[GearSet]]:
    """Sets of a family whose geometry gives a working distance in a stage."""
    return [
        entry
        for entry in world.for_family(family)
        if stage in entry.record.geometry
        and entry.record.geometry[stage].profile_shift_sum is not None  # type: ignore[index]
    ]


# The kinds ----------------------------------------------------------------------------------------

Made = Mutation | None


def teeth_of_a_set(world: World, chance: random.Random) -> Made:
    """A digit of a tooth count mistyped or swapped."""
    entry = chance.choice(world.sets())
    stage = chance.choice(entry.record.stages)
    place = place_of(world, entry, "pairs", stage)
    new = slip(place.text, chance)
    numbers = re.fullmatch(r"(\d+)/(\d+)", new or "")
    if new is None or numbers is None:
        return None
    low, high = sorted(map(int, numbers.groups()))
    old = entry.record.pairs[stage]
    if (low, high) == (old.driver, old.driven):
        return None
    speed = (old.driven / old.driver) / (high / low) if low else 0
    wanted = (
        low < 5
        or low == high
        or not 1 / 2.6 < speed < 2.6
        or off_distance(world, entry, stage, lambda data: data.update(teeth=low + high))
    )
    return _made("teeth of a set", place, new, wanted=wanted)


def code_of_a_set(world: World, chance: random.Random) -> Made:
    """A seat or shaft end with a slip; wanted where the family's code is known."""
    entry = chance.choice(world.sets(lambda r: bool(r.interfaces.model_fields_set and r.fits)))
    names = [n for n in entry.record.interfaces.model_fields_set if n != "bearings"]
    if not names:
        return None
    name = chance.choice(sorted(names))
    place = place_of(world, entry, "interfaces", name)
    new = slip(place.text, chance)
    if new is None:
        return None
    # The seats of a whole train are matched inside the box.
    whole = len(entry.record.stages) > 1 and name in ("wheel_seat", "pinion_seat")
    return _made("code of a set", place, new, wanted=not whole)


def code_of_a_family(world: World, chance: random.Random) -> Made:
    """A seat, shaft end or bearing of a family with a slip; wanted where sets state theirs."""
    family = chance.choice(list(world.catalogue.families.values()))
    seats = family.record.interfaces
    choices: list[tuple[str | int, ...]] = [("input_shaft_end",), ("output_shaft_end",)]
    choices += [("idler_seats", i) for i in range(len(seats.idler_seats))]
    steps = chance.choice(choices)
    place = place_of(world, family, "interfaces", *steps)
    new = slip(place.text, chance)
    if new is None:
        return None
    names = ("wheel_seat", "pinion_seat") if steps[0] == "idler_seats" else (steps[0],)
    stating = [
        entry
        for entry in world.for_family(family.id)
        if any(getattr(entry.record.interfaces, str(name)) for name in names)
    ]
    return _made("code of a family", place, new, wanted=len(stating) >= 1)


def date(world: World, chance: random.Random) -> Made:
    """A date in the future, of another form, or no day at all; a wrong past day is blind."""
    dated = [(path, text) for path, text in world.texts.items() if re.search(r"date: 20", text)]
    path, text = chance.choice(dated)
    lines = text.split("\n")
    found = [
        (i, m)
        for i, line in enumerate(lines)
        if (m := re.search(r"date: (20\S\S-\S\S-\S\S)", line))
    ]
    index, match = chance.choice(found)
    year, month, day = match[1].split("-")
    how, new, wanted = chance.choice(
        [
            ("swapped year", f"20{year[3]}{year[2]}-{month}-{day}", True),
            ("next year", f"{int(year) + 1}-{month}-{day}", True),
            ("day first", f"{day}.{month}.{year}", True),
            ("month 13", f"{year}-13-{day}", True),
            ("past", f"2025-{month}-{day}", False),
        ]
    )
    if how == "next year" and new <= time.strftime("%Y-%m-%d"):
        return None
    place = Place(path, index + 1, match.start(1), match.end(1), match[1], lines)
    return _made("date", place, new, wanted=wanted)


def price_by_ten(world: World, chance: random.Random) -> Made:
    """The decimal mark of a price in the wrong place."""
    entry: Entry[Any] = chance.choice(world.sets(lambda r: r.price is not None))
    if chance.random() < 0.3:
        entry = chance.choice([e for e in world.catalogue.shelf.values() if e.record.price])
    place = place_of(world, entry, "price")
    new = chance.choice([place.text.replace(".", ""), f"{float(place.text) / 10:.3f}"])
    return _made("price by ten", place, new, wanted=True)


def price_digit(world: World, chance: random.Random) -> Made:
    """Another price of the usual size: nobody can tell."""
    place = place_of(world, chance.choice(world.sets(lambda r: r.price is not None)), "price")
    whole, mark, cents = place.text.partition(".")
    new = f"{int(whole) + chance.choice([-3, -1, 1, 2])}{mark}{cents}"
    return _made("price, a digit", place, new, wanted=False)


def cost(world: World, chance: random.Random) -> Made:
    """A cost with swapped figures or by ten; wanted over the price, or at a tenth of it."""
    shelf = [e for e in world.catalogue.shelf.values() if e.record.cost]
    entry = chance.choice(shelf)
    gear_set = world.catalogue.gear_sets[entry.id].record
    price = entry.record.price or gear_set.price
    place = place_of(world, entry, "cost")
    whole, mark, cents = place.text.partition(".")
    new = chance.choice(
        [whole + cents, f"{float(place.text) / 10:.3f}", f"{whole[::-1]}{mark}{cents}"]
    )
    if price is None or new == place.text:
        return None
    wanted = float(new) > float(price) or float(new) < float(price) / 8
    return _made("cost", place, new, wanted=wanted)


def lost_mark(world: World, chance: random.Random) -> Made:
    """A comma, colon, quote or bracket left out; wanted where it then reads otherwise."""
    path = chance.choice(list(world.texts))
    lines = world.texts[path].split("\n")
    mark = chance.choice([", ", ": ", '"', "]", "}"])
    found = [
        (i, m.start())
        for i, line in enumerate(lines)
        if not line.lstrip().startswith("#")
        for m in re.finditer(re.escape(mark), line.partition("#")[0])
    ]
    if not found:
        return None
    index, at = chance.choice(found)
    place = Place(path, index + 1, at, at + len(mark), mark, lines)
    return _by_reading(world, "lost mark", place, " " if mark in (", ", ": ") else "")


def wrong_housing(world: World, chance: random.Random) -> Made:
    """A housing of another family, or misspelt; another of the same family is blind."""
    entry = chance.choice(world.sets(lambda r: any(claim.housings for claim in r.fits)))
    index, claim = chance.choice([(i, c) for i, c in enumerate(entry.record.fits) if c.housings])
    at = chance.randrange(len(claim.housings))
    place = place_of(world, entry, "fits", index, "housings", at)
    own = world.catalogue.families[claim.family].record.housings
    every = {h for f in world.catalogue.families.values() for h in f.record.housings}
    new = chance.choice([misspelt(place.text, chance), *sorted(every - {place.text})])
    if new in own and new not in claim.housings:
        return _made("wrong housing", place, new, wanted=False)
    return _made("wrong housing", place, new, wanted=new not in own) if new not in own else None


def wrong_family(world: World, chance: random.Random) -> Made:
    """A claim for another family; wanted where codes, distances or model words contradict it."""
    entry = chance.choice(world.sets(lambda r: len(r.fits) == 1))
    record, claim = entry.record, entry.record.fits[0]
    place = place_of(world, entry, "fits", 0, "family")
    others = sorted(set(world.catalogue.families) - {claim.family})
    new = chance.choice([misspelt(place.text, chance), *others])
    if new not in others:
        return _made("wrong family", place, new, wanted=True)
    old, other = (world.catalogue.families[each].record for each in (claim.family, new))
    words = {w for f in (old,) for t in f.factory_trains for w in t.models} | {old.name}
    theirs = {w for t in other.factory_trains for w in t.models} | {other.name, *other.aliases}
    wanted = (
        bool(words & set(record.listed_for.models) and not theirs & set(record.listed_for.models))
        or any(stage not in other.stages for stage in record.stages)
        or any(h not in other.housings for h in claim.housings)
        or _differs(record, other)
        or any(
            stage in record.geometry
            and record.geometry[stage].profile_shift_sum is not None
            and old.stages[stage].centre_distance_mm != other.stages[stage].centre_distance_mm
            for stage in record.stages
        )
    )
    return _made("wrong family", place, new, wanted=wanted)


def _differs(record: GearSet, family: Family) -> bool:
    """Whether a code of a set contradicts a family's."""
    seats, stages = record.interfaces, family.train_stages
    known = family.interfaces.idler_seats
    asked = [
        (seats.input_shaft_end, family.interfaces.input_shaft_end, record.stages[0] == stages[0]),
        (
            seats.output_shaft_end,
            family.interfaces.output_shaft_end,
            record.stages[-1] == stages[-1],
        ),
    ]
    if len(record.stages) == 1 and record.stages[0] in stages:
        position = stages.index(record.stages[0])
        after = known[position] if position < len(known) else None
        before = known[position - 1] if position else None
        asked += [(seats.wheel_seat, after, True), (seats.pinion_seat, before, True)]
    return any(one and other and one != other for one, other, meant in asked if meant)


def swapped_stage_of_a_set(world: World, chance: random.Random) -> Made:
    """A primary pair entered as secondary, or back, geometry and all.

    Wanted where an interface, a hand or a distance then contradicts the family, or where the pair
    would change no machine by less than 40 percent.
    """
    entry = chance.choice(world.sets(lambda r: len(r.pairs) == 1 and bool(r.fits)))
    record = entry.record
    stage = record.stages[0]
    family = world.catalogue.families[record.fits[0].family].record
    if stage not in ("primary", "secondary") or "secondary" not in family.stages:
        return None
    new = "secondary" if stage == "primary" else "primary"
    place = place_of(world, entry, "pairs", stage, key=True)
    text = place.replaced(new)
    if stage in record.geometry:
        lines = text.split("\n")
        index = place_of(world, entry, "geometry", stage, key=True).line - 1
        lines[index] = lines[index].replace(stage, new, 1)
        text = "\n".join(lines)
    given = record.geometry.get(stage)
    seats, position = record.interfaces, family.train_stages.index(new)
    pair = record.pairs[stage]
    changes = [
        float(train.pairs[new].reduction / pair.reduction) - 1 for train in family.factory_trains
    ]
    wanted = (
        bool(seats.input_shaft_end and position > 0)
        or bool(seats.output_shaft_end and position < len(family.train_stages) - 1)
        or bool(seats.wheel_seat and position == len(family.train_stages) - 1)
        or bool(seats.pinion_seat and position == 0)
        or (
            given is not None
            and given.driver_hand is not None
            and family.stages[new].driver_hand not in (None, given.driver_hand)
        )
        or (given is not None and given.profile_shift_sum is not None)
        or all(not -0.3 < change < 0.4 for change in changes)
    )
    return Mutation(
        "swapped stage of a set",
        f"{entry.id}: {stage} {pair} as {new}",
        place.path,
        text,
        "wanted" if wanted else "blind",
        frozenset((str(place.path), n) for n in _lines_of(world, entry)),
    )


def _lines_of(world: World, entry: Entry[Any]) -> Iterator[int]:
    """Every line of a record."""
    place = place_of(world, entry)
    yield place.line
    for number, line in enumerate(place.lines[place.line :], start=place.line + 1):
        if line.strip() and not line.startswith("    "):
            return
        yield number


def swapped_stages_of_a_train(world: World, chance: random.Random) -> Made:
    """Both pairs of a machine or factory train the wrong way round."""
    entries: list[tuple[Entry[Any], tuple[str | int, ...]]] = [
        (e, ("pairs",)) for e in world.catalogue.machines.values()
    ]
    for family in world.catalogue.families.values():
        entries += [
            (family, ("factory_trains", i, "pairs"))
            for i in range(len(family.record.factory_trains))
        ]
    entry, steps = chance.choice(entries)
    place = place_of(world, entry, *steps)
    found = re.fullmatch(r"\{primary: (\S+), secondary: (\S+)\}", place.text)
    if found is None or found[1] == found[2]:
        return None
    new = f"{{primary: {found[2]}, secondary: {found[1]}}}"
    return _made("swapped stages of a train", place, new, wanted=True)


def distance_of_a_family(world: World, chance: random.Random) -> Made:
    """A centre distance one figure off; wanted where a set is cut for the right one."""
    family = chance.choice(list(world.catalogue.families.values()))
    stage = chance.choice(family.record.train_stages)
    if family.record.stages[stage].centre_distance_mm is None:
        return None
    place = place_of(world, family, "stages", stage, "centre_distance_mm")
    new = chance.choice(
        [slip(place.text, chance), place.text.replace(".", ""), f"{float(place.text) / 10:g}"]
    )
    if new is None or abs(float(new) - float(place.text)) <= JS8_MM:
        return None
    by_ten = not 0.5 < float(new) / float(place.text) < 2
    return _made(
        "distance of a family",
        place,
        new,
        wanted=by_ten or bool(cut_for(world, family.id, stage)),
    )


def geometry_of_a_set(world: World, chance: random.Random) -> Made:
    """A module, helix angle or shift sum with a slip, another size, or a lost sign."""
    entry = chance.choice(world.sets(lambda r: bool(r.geometry and r.fits)))
    stage = chance.choice(sorted(entry.record.geometry))
    name, short = chance.choice(
        [
            ("normal_module_mm", "module"),
            ("helix_angle_deg", "helix"),
            ("profile_shift_sum", "shift_sum"),
        ]
    )
    if getattr(entry.record.geometry[stage], name) is None:
        return None
    place = place_of(world, entry, "geometry", stage, name)
    options: list[str | None] = [slip(place.text, chance)]
    if short == "module":
        options = ["1.25", "1.375", "1.5", "1.75", "2", place.text.replace(".", ""), *options]
    if short == "shift_sum":
        options.append(place.text[1:] if place.text.startswith("-") else f"-{place.text}")
    new = chance.choice(options)
    if new is None or float(new) == float(place.text):
        return None
    wanted = off_distance(world, entry, stage, lambda data: data.update({short: float(new)}))
    return _made("geometry of a set", place, new, wanted=wanted)


def hand(world: World, chance: random.Random) -> Made:
    """Left for right, of a set or of a family; wanted where the other side is known."""
    entry: Entry[Any]
    if chance.random() < 0.6:
        entry = chance.choice(world.sets(lambda r: bool(r.geometry and r.fits)))
        stage = chance.choice(sorted(entry.record.geometry))
        steps: tuple[str | int, ...] = ("geometry", stage, "driver_hand")
        if entry.record.geometry[stage].driver_hand is None:
            return None
        # A set planted with the wrong hand becomes right.
        theirs = world.catalogue.families[entry.record.fits[0].family].record.stages[stage]
        wanted = theirs.driver_hand == entry.record.geometry[stage].driver_hand
    else:
        entry = chance.choice(list(world.catalogue.families.values()))
        stage = chance.choice(entry.record.train_stages)
        steps = ("stages", stage, "driver_hand")
        if entry.record.stages[stage].driver_hand not in ("left", "right"):
            return None
        wanted = any(
            stage in e.record.geometry and e.record.geometry[stage].driver_hand
            for e in world.for_family(entry.id)
        )
    place = place_of(world, entry, *steps)
    new = "right" if place.text == "left" else "left"
    return _made("hand", place, new, wanted=wanted)


def tip_limit(world: World, chance: random.Random) -> Made:
    """The room in a casing with a slip; wanted where a factory wheel or a set contradicts it."""
    family = chance.choice(list(world.catalogue.families.values()))
    places: list[tuple[str | int, ...]] = [
        ("stages", s, "max_tip_diameter_mm")
        for s, given in family.record.stages.items()
        if given.max_tip_diameter_mm
    ]
    for id_, housing in family.record.housings.items():
        places += [("housings", id_, "max_tip_diameter_mm", s) for s in housing.max_tip_diameter_mm]
    steps = chance.choice(places)
    stage = str(steps[1] if steps[0] == "stages" else steps[3])
    place = place_of(world, family, *steps)
    new = chance.choice(
        [slip(place.text, chance), place.text.replace(".", "") + "0", f"{float(place.text) / 10:g}"]
    )
    if new is None:
        return None
    if float(new) > float(place.text):
        return _made("tip limit", place, new, wanted=float(new) > 2 * float(place.text))
    # The pitch circle of the factory wheel must go into the casing, and more.
    pitches = []
    for train in family.record.factory_trains:
        if steps[0] == "housings" and train.housing != steps[1]:
            continue
        if (
            steps[0] == "stages"
            and stage in family.record.housings[train.housing].max_tip_diameter_mm
        ):
            continue
        casing = family.record.stages[stage].centre_distance_mm
        pair = train.pairs[stage]
        if casing is not None:
            pitches.append(2 * float(casing) * pair.driven / (pair.driver + pair.driven))
    return _made("tip limit", place, new, wanted=any(float(new) < pitch for pitch in pitches))


def deleted_line(world: World, chance: random.Random) -> Made:
    """A line deleted: wanted where the record then lacks a field it must have."""
    needed = {
        "part_number",
        "pairs",
        "name",
        "family",
        "housing",
        "wheel_size_in",
        "stages",
        "low",
        "high",
        "housings",
        "size",
        "source",
        "date",
        "place",
        "kind",
        "records",
    }
    path = chance.choice(list(world.texts))
    lines = world.texts[path].split("\n")
    found = [
        i
        for i, line in enumerate(lines)
        if (m := re.match(r"\s{0,4}([a-z_]+):", line)) and (m[1] in needed or chance.random() < 0.2)
    ]
    index = chance.choice(found)
    kind = next(line.split(": ")[1] for line in lines if line.startswith("kind: "))
    must = {
        "gear-set": {"part_number", "pairs"},
        "family": {"name", "housings", "stages"},
        "machine": {"name", "family", "pairs"},
        "tune": {"name", "low", "high"},
        "vehicle-class": {"name", "place", "source", "date"},
        "supplier": {"name"},
        "tyre": {"size", "wheel_size_in"},
        "variator": {"part_number", "fits"},
        "shelf": {"quantity"},
    }[kind]
    match = re.match(r"(\s*)([a-z_]+):", lines[index])
    assert match is not None
    top = match[2] in ("kind", "records")
    wanted = top or (len(match[1]) == 4 and match[2] in must)
    text = "\n".join(lines[:index] + lines[index + 1 :])
    above = next(i for i in range(index, -1, -1) if re.match(r"  \S", lines[i]) or i == 0)
    marks = {(str(path), n) for n in (index, index + 1, above + 1)}
    if not wanted and not _reads(text):
        wanted = True
    return Mutation(
        "deleted line",
        lines[index].strip(),
        path,
        text,
        "wanted" if wanted else "blind",
        frozenset(marks),
    )


def doubled_record(world: World, chance: random.Random) -> Made:
    """A record copied below itself, its id left or changed and its number left."""
    entry = chance.choice(world.sets())
    place = place_of(world, entry)
    numbers = [n for n in _lines_of(world, entry)]
    while not place.lines[numbers[-1] - 1].strip() or place.lines[
        numbers[-1] - 1
    ].lstrip().startswith("#"):
        numbers.pop()
    copy = [place.lines[n - 1] for n in numbers]
    if chance.random() < 0.5:
        copy[0] = copy[0].replace(entry.id, f"{entry.id}-X")
    at = numbers[-1]
    text = "\n".join(place.lines[:at] + copy + place.lines[at:])
    marks = frozenset(
        (str(place.path), n) for n in (*numbers, *(at + i for i in range(1, len(copy) + 1)))
    )
    return Mutation("doubled record", entry.id, place.path, text, "wanted", marks)


def misspelt_key(world: World, chance: random.Random) -> Made:
    """A key of a record misspelt."""
    path = chance.choice(list(world.texts))
    lines = world.texts[path].split("\n")
    found = [
        (i, m)
        for i, line in enumerate(lines)
        for m in re.finditer(r"(?<=[\s{])([a-z]+_?[a-z_]*)(?=: )", line.partition("#")[0])
        if len(m[1]) > 3 and (line.startswith("    ") or m.start() > 2)
    ]
    index, match = chance.choice(found)
    place = Place(path, index + 1, match.start(), match.end(), match[1], lines)
    return _by_reading(world, "misspelt key", place, misspelt(place.text, chance))


def indentation(world: World, chance: random.Random) -> Made:
    """A line moved left or right by one or two blanks, or by a tab."""
    path = chance.choice(list(world.texts))
    lines = world.texts[path].split("\n")
    index = chance.choice([i for i, line in enumerate(lines) if re.match(r" +[^ #]", line)])
    blanks = len(lines[index]) - len(lines[index].lstrip(" "))
    new = chance.choice([" " * (blanks + 1), " " * (blanks + 2), " " * max(0, blanks - 2), "\t"])
    place = Place(path, index + 1, 0, blanks, "", lines)
    return _by_reading(world, "indentation", place, new)


def reference(world: World, chance: random.Random) -> Made:
    """An id that leads to another record misspelt."""
    steps: tuple[str | int, ...]
    entries: list[tuple[Entry[Any], tuple[str | int, ...], bool]] = []
    for machine in world.catalogue.machines.values():
        entries += [
            (machine, (n,), False) for n in ("family", "tyre", "tune", "vehicle_class", "housing")
        ]
    entries += [(shelf, (), True) for shelf in world.catalogue.shelf.values()]
    entries += [(kit, ("fits", 0), False) for kit in world.catalogue.variators.values()]
    entries += [(kit, ("supplier",), False) for kit in world.catalogue.variators.values()]
    entry, steps, key = chance.choice(entries)
    if steps and steps[0] != "fits" and getattr(entry.record, str(steps[0])) is None:
        return None
    place = place_of(world, entry, *steps, key=key)
    new = slip(place.text, chance) if key else misspelt(place.text, chance)
    if new is None or (key and new in world.catalogue.gear_sets) or new == place.text:
        return None
    return _made("reference", place, new, wanted=True)


def machine_counts(world: World, chance: random.Random) -> Made:
    """A machine's teeth, wheel size or housing not those of its factory train."""
    machines = [e for e in world.catalogue.machines.values() if e.record.housing]
    entry = chance.choice(machines)
    family = world.catalogue.families[entry.record.family].record
    name = chance.choice(["pairs", "housing", "wheel_size_in"])
    trains = [t for t in family.factory_trains if t.pairs == entry.record.pairs]
    if not trains:
        return None
    if name == "pairs":
        stage = chance.choice(entry.record.stages)
        place = place_of(world, entry, "pairs", stage)
        new = slip(place.text, chance)
        wanted = True
        if new is None or any(str(t.pairs[stage]) == new for t in family.factory_trains):
            return None
    elif name == "housing":
        place = place_of(world, entry, "housing")
        others = sorted(set(family.housings) - {place.text})
        if not others:
            return None
        new = chance.choice(others)
        wanted = all(t.housing != new for t in trains)
    else:
        if entry.record.wheel_size_in is None:
            return None
        place = place_of(world, entry, "wheel_size_in")
        new = chance.choice(["10", "12", "13", "14", "16"])
        if new == place.text:
            return None
        wanted = True
    return _made("counts of a machine", place, new, wanted=wanted)


def train_teeth(world: World, chance: random.Random) -> Made:
    """A factory train's teeth with a slip; wanted where a machine on file has that train."""
    family = chance.choice(list(world.catalogue.families.values()))
    index = chance.randrange(len(family.record.factory_trains))
    train = family.record.factory_trains[index]
    stage = chance.choice(family.record.train_stages)
    place = place_of(world, family, "factory_trains", index, "pairs", stage)
    new = slip(place.text, chance)
    if new is None or not re.fullmatch(r"\d+/\d+", new):
        return None
    same = [
        e
        for e in world.catalogue.machines.values()
        if e.record.family == family.id and e.record.pairs == train.pairs
    ]
    others = [t for t in family.record.factory_trains if t is not train and t.pairs == train.pairs]
    marks = place.mark | frozenset(
        (str(place_of(world, e).path), n) for e in same for n in _lines_of(world, e)
    )
    made = _made("teeth of a factory train", place, new, wanted=bool(same) and not others)
    return Mutation(made.kind, made.what, made.path, made.text, made.label, marks)


def tune(world: World, chance: random.Random) -> Made:
    """Edges of a band swapped, or as fractions."""
    entry = chance.choice(list(world.catalogue.tunes.values()))
    place = place_of(world, entry, "high")
    low = place_of(world, entry, "low")
    new = chance.choice([f"{float(low.text) - 1:g}", f"{place.text}00", f"{place.text} %"])
    return _made("tune", place, new, wanted=True)


def tyre(world: World, chance: random.Random) -> Made:
    """A rim or a roll-out of a tyre with a slip; wanted 9 percent off or on another rim."""
    entry = chance.choice([e for e in world.catalogue.tyres.values() if e.record.roll_out_mm])
    name = chance.choice(["wheel_size_in", "roll_out_mm"])
    place = place_of(world, entry, name)
    new = slip(place.text, chance)
    if new is None:
        return None
    off = abs(float(new) / float(place.text) - 1)
    return _made("tyre", place, new, wanted=name == "wheel_size_in" or off > 0.13)


def figure_by_ten(world: World, chance: random.Random) -> Made:
    """A figure of a family's engine, mass or displacement by ten."""
    family = chance.choice(list(world.catalogue.families.values()))
    steps = chance.choice(
        [
            ("engine", "peak_power_kw"),
            ("engine", "peak_power_rpm"),
            ("displacement_cm3",),
            ("running_order_kg",),
        ]
    )
    value: Any = family.record
    for step in steps:
        value = getattr(value, step)
    if value is None:
        return None
    place = place_of(world, family, *steps)
    new = chance.choice([f"{float(place.text) * 10:g}", f"{float(place.text) / 10:g}"])
    return _made("figure by ten", place, new, wanted=True)


def empty_list(world: World, chance: random.Random) -> Made:
    """A list emptied where a value decides a fit."""
    if chance.random() < 0.7:
        entry: Entry[Any] = chance.choice(world.sets(lambda r: any(c.housings for c in r.fits)))
        index = chance.choice([i for i, c in enumerate(entry.record.fits) if c.housings])
        steps: tuple[str | int, ...] = ("fits", index, "housings")
    else:
        entry = chance.choice(list(world.catalogue.families.values()))
        steps = ("interfaces", chance.choice(["idler_seats", "bearings"]))
        if not getattr(entry.record.interfaces, str(steps[1])):
            return None
    return _made("empty list", place_of(world, entry, *steps), "[]", wanted=True)


def lost_quotes(world: World, chance: random.Random) -> Made:
    """The quotes of a part number lost; wanted where it then reads as a number."""
    place = place_of(world, chance.choice(world.sets()), "part_number")
    if not place.text.startswith('"'):
        return None
    return _by_reading(world, "lost quotes", place, place.text.strip('"'))


# Harmless edits -----------------------------------------------------------------------------------


def comment_or_blank(world: World, chance: random.Random) -> Made:
    """A comment, a blank line or blanks at a line's end."""
    path = chance.choice(list(world.texts))
    lines = world.texts[path].split("\n")
    records = [i for i, line in enumerate(lines) if re.match(r"  [A-Za-z]\S*:", line)]
    index = chance.choice(records)
    new = chance.choice(["  # looked at", "", "   "])
    text = "\n".join([*lines[:index], new, *lines[index:]])
    return Mutation("comment or blank", new, path, text, "harmless")


def reordered(world: World, chance: random.Random) -> Made:
    """Two records of a file change places."""
    entries = world.sets()
    first = chance.choice(entries)
    others = [e for e in entries if e.source is first.source and e.id != first.id]
    second = chance.choice(others)
    one, two = sorted((list(_lines_of(world, e)) for e in (first, second)), key=lambda n: n[0])
    place = place_of(world, first)
    lines = [*place.lines, ""]
    text = "\n".join(
        [
            *lines[: one[0] - 1],
            *(lines[n - 1] for n in two),
            *lines[one[-1] : two[0] - 1],
            *(lines[n - 1] for n in one),
            *lines[two[-1] :],
        ]
    )
    return (
        Mutation("reordered", f"{first.id}, {second.id}", place.path, text, "harmless")
        if _reads(text)
        else None
    )


def same_otherwise(world: World, chance: random.Random) -> Made:
    """The same value written otherwise: teeth turned round, a nought more, small letters."""
    how = chance.choice(["teeth", "price", "code"])
    entry = chance.choice(
        world.sets(lambda r: r.price is not None and bool(r.interfaces.wheel_seat))
    )
    if how == "teeth":
        place = place_of(world, entry, "pairs", entry.record.stages[0])
        driver, _, driven = place.text.partition("/")
        new = f"{driven}/{driver}"
    elif how == "price":
        place = place_of(world, entry, "price")
        new = f"{place.text}0" if "." in place.text else f"{place.text}.0"
    else:
        place = place_of(world, entry, "interfaces", "wheel_seat")
        new = place.text.lower().replace("-", " ")
    return Mutation(
        "same otherwise", f"{place.text} -> {new}", place.path, place.replaced(new), "harmless"
    )


def further_alias(world: World, chance: random.Random) -> Made:
    """A note, an alias or what else the job needs added."""
    entry = chance.choice(world.sets(lambda r: not r.notes and not r.aliases))
    place = place_of(world, entry, "part_number")
    if place.line == place_of(world, entry).line:
        return None
    new = chance.choice([f"    aliases: [{entry.id}-OLD]", "    notes: looked at in spring"])
    text = "\n".join([*place.lines[: place.line], new, *place.lines[place.line :]])
    return Mutation("alias or note", f"{entry.id} {new.strip()}", place.path, text, "harmless")


def _made(kind: str, place: Place, new: str, *, wanted: bool) -> Mutation:
    label: Label = "wanted" if wanted else "blind"
    what = f"{place.path.name}:{place.line} {place.text} -> {new}"
    return Mutation(kind, what, place.path, place.replaced(new), label, place.mark)


def _by_reading(world: World, kind: str, place: Place, new: str) -> Made:
    """Label a slip of the form by what another YAML reader makes of it.

    Wanted: it reads no more, or a record has another shape than before: other keys, or a value of
    another type. Where only a text reads otherwise nobody can tell; the line is that or the next.
    """
    text = place.replaced(new)
    before, after = _reads(world.texts[place.path]), _reads(text)
    label: Label = "wanted"
    if after is not None:
        if before == after:
            label = "harmless"
        elif _shape(before) == _shape(after):
            label = "blind"
    lines = frozenset((str(place.path), n) for n in range(place.line - 1, place.line + 2))
    what = f"{place.path.name}:{place.line} {place.lines[place.line - 1].strip()!r}: {place.text!r} -> {new!r}"
    return Mutation(kind, what, place.path, text, label, lines)


def _reads(text: str) -> Any:
    try:
        return YAML(typ="safe", pure=True).load(text)
    except (YAMLError, ValueError):
        return None


def _shape(node: Any) -> Any:
    if isinstance(node, dict):
        return {str(key): _shape(value) for key, value in node.items()}
    if isinstance(node, list):
        return [_shape(value) for value in node]
    return type(node).__name__


KINDS: tuple[Callable[[World, random.Random], Made], ...] = (
    teeth_of_a_set,
    code_of_a_set,
    code_of_a_family,
    date,
    price_by_ten,
    price_digit,
    cost,
    lost_mark,
    wrong_housing,
    wrong_family,
    swapped_stage_of_a_set,
    swapped_stages_of_a_train,
    distance_of_a_family,
    geometry_of_a_set,
    hand,
    tip_limit,
    deleted_line,
    doubled_record,
    misspelt_key,
    indentation,
    reference,
    machine_counts,
    train_teeth,
    tune,
    tyre,
    figure_by_ten,
    empty_list,
    lost_quotes,
    comment_or_blank,
    reordered,
    same_otherwise,
    further_alias,
)


def mutations(world: World, count: int, seed: int) -> Iterator[Mutation]:
    """So many mutations, every kind in turn."""
    chance = random.Random(seed)
    made = 0
    while made < count:
        kind = KINDS[made % len(KINDS)]
        mutation = None
        while mutation is None:
            mutation = kind(world, chance)
        yield mutation
        made += 1


def summary(verdicts: Iterable[Verdict]) -> str:
    """A table by kind, and the sums."""
    rows: dict[str, Counter[str]] = {}
    for verdict in verdicts:
        row = rows.setdefault(verdict.mutation.kind, Counter())
        label = verdict.mutation.label
        row[label] += 1
        row[f"{label} found"] += verdict.found
        row["line"] += label == "wanted" and verdict.on_line
        severe = any(f.severity != "advice" for f in verdict.findings)
        row["advice"] += label == "wanted" and verdict.found and not severe
    total: Counter[str] = sum(rows.values(), Counter())
    out = [
        f"{'kind':<28}{'wanted':>7}{'found':>7}{'line':>6}{'advice':>8}{'blind':>7}{'told':>6}{'harmless':>10}{'alarms':>8}"
    ]
    for kind, row in [*rows.items(), ("sum", total)]:
        out.append(
            f"{kind:<28}{row['wanted']:>7}{row['wanted found']:>7}{row['line']:>6}{row['advice']:>8}"
            f"{row['blind']:>7}{row['blind found']:>6}{row['harmless']:>10}{row['harmless found']:>8}"
        )
    share = 100 * total["wanted found"] / max(1, total["wanted"])
    out.append(f"found {share:.1f} % of those wanted; {total['harmless found']} false alarms")
    return "\n".join(out)


def main() -> None:
    """Run the exam and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--show", action="store_true", help="show what was missed")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        world = World(Path(folder))
        verdicts = [world.judge(each) for each in mutations(world, given.count, given.seed)]
    for verdict in verdicts if given.show else ():
        mutation = verdict.mutation
        missed = mutation.label == "wanted" and not (verdict.found and verdict.on_line)
        if missed or (mutation.label == "harmless" and verdict.found):
            told = "; ".join(
                f"{f.severity} {f.code} {Path(f.span.path).name}:{f.span.line}"
                for f in verdict.findings[:4]
            )
            print(f"{mutation.label}: {mutation.kind}: {mutation.what}\n    {told or 'nothing'}")
    print(summary(verdicts))


if __name__ == "__main__":
    main()
