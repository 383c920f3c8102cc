"""Slips of a hand in a catalogue, each labelled as it is made; what all of them are made with.

    wanted    the rest of the catalogue, or the value by itself, shows that it is wrong, so a shop
              would want it found; with the lines at which it may be reported
    blind     nothing in the catalogue contradicts it, such as another price of the usual size
    harmless  the catalogue says the same as before

Labels are worked out from the catalogue's data and plain arithmetic, never by asking the checks.
"""

from __future__ import annotations

import random
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from math import acos, cos, pi, radians, tan
from pathlib import Path
from typing import Any, Literal

from ruamel.yaml import YAML, YAMLError

from fitcheck.catalogue.reader import Catalogue, Entry, load
from fitcheck.model.gear_set import GearSet

DEMO = Path(__file__).parents[2] / "catalog"

Label = Literal["wanted", "blind", "harmless"]

_SUMS = re.compile(r"^ +(?:profile_shift_sum|driver_profile_shift): .*\n", re.MULTILINE)

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


Made = Mutation | None
"""A mutation, or None where the dice chose what cannot be done."""


class World:
    """A copy of a catalogue on disk, read once; one file at a time is changed and put back."""

    def __init__(self, folder: Path, origin: Path = DEMO, *, without_sums: bool = False) -> None:
        shutil.copytree(origin, folder, dirs_exist_ok=True)
        if without_sums:
            for path in (folder / "sets").glob("*.yaml"):
                text = path.read_text(encoding="utf-8")
                path.write_text(_SUMS.sub("", text), encoding="utf-8")
        self.catalogue: Catalogue = load(folder)
        self.texts = {
            Path(shown).resolve(): source.text for shown, source in self.catalogue.sources.items()
        }

    def sets(self, keep: Callable[[GearSet], bool] = lambda _: True) -> list[Entry[GearSet]]:
        """Active gear sets of a sort."""
        sets = self.catalogue.gear_sets.values()
        return [e for e in sets if e.record.status == "active" and keep(e.record)]

    def for_family(self, family: str) -> list[Entry[GearSet]]:
        """Active gear sets that somebody vouches for in a family."""
        return self.sets(lambda record: any(claim.family == family for claim in record.fits))


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


def lines_of(world: World, entry: Entry[Any]) -> Iterator[int]:
    """Every line of a record."""
    place = place_of(world, entry)
    yield place.line
    for number, line in enumerate(place.lines[place.line :], start=place.line + 1):
        if line.strip() and not line.startswith("    "):
            return
        yield number


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


def odd_at(world: World, family: str, stage: str, distance: float) -> bool:
    """Whether all sets of a stage, three at least, need a shift sum that no pair usually has."""
    needs = set()
    sets = [e for e in world.for_family(family) if stage in e.record.geometry]
    for entry in sets:
        pair = entry.record.pairs[stage]  # type: ignore[index]
        given = entry.record.geometry[stage]  # type: ignore[index]
        if given.profile_shift_sum is not None:
            return False
        teeth, cut = pair.driver + pair.driven, (given.normal_module_mm, given.helix_angle_deg)
        small = distance < distance_of(teeth, *cut, -0.5)
        needs.add("small" if small else "large" if distance > distance_of(teeth, *cut, 1.2) else "")
    return len(sets) >= 3 and len(needs) == 1 and "" not in needs


def known_seats(world: World) -> set[str]:
    """Every idler seat of a family or a set, without its dash."""
    families, sets = world.catalogue.families.values(), world.catalogue.gear_sets.values()
    seats = [seat for each in families for seat in each.record.interfaces.idler_seats]
    for entry in sets:
        given = entry.record.interfaces
        seats += [seat for seat in (given.wheel_seat, given.pinion_seat) if seat is not None]
    return {seat.replace("-", "") for seat in seats}


def inserted(kind: str, label: Label, entry: Entry[Any], place: Place, *lines: str) -> Mutation:
    """Lines put in behind another line of a record; what is wanted is at the last of them."""
    text = "\n".join([*place.lines[: place.line], *lines, *place.lines[place.line :]])
    mark = frozenset({(str(place.path), place.line + len(lines))})
    return Mutation(kind, f"{entry.id}: {lines[-1].strip()}", place.path, text, label, mark)


def made(kind: str, place: Place, new: str, *, wanted: bool) -> Mutation:
    label: Label = "wanted" if wanted else "blind"
    what = f"{place.path.name}:{place.line} {place.text} -> {new}"
    return Mutation(kind, what, place.path, place.replaced(new), label, place.mark)


def by_reading(world: World, kind: str, place: Place, new: str) -> Made:
    """Label a slip of the form by what another YAML reader makes of it.

    Wanted: it reads no more, or a record has another shape than before: other keys, or a value of
    another type. Where only a text reads otherwise nobody can tell; the line is that or the next.
    """
    text = place.replaced(new)
    before, after = reads(world.texts[place.path]), reads(text)
    label: Label = "wanted"
    if after is not None:
        if before == after:
            label = "harmless"
        elif _shape(before) == _shape(after):
            label = "blind"
    lines = frozenset((str(place.path), n) for n in range(place.line - 1, place.line + 2))
    line = place.lines[place.line - 1].strip()
    what = f"{place.path.name}:{place.line} {line!r}: {place.text!r} -> {new!r}"
    return Mutation(kind, what, place.path, text, label, lines)


def reads(text: str) -> Any:
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
