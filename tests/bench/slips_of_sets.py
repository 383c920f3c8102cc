"""Slips in a gear set: teeth, codes, dates, prices, claims, stages, geometry."""

from __future__ import annotations

import random
import re
import time
from typing import Any

from fitcheck.catalogue.reader import Entry
from fitcheck.model.family import Family
from fitcheck.model.gear_set import GearSet
from tests.bench.slips import (
    Made,
    Mutation,
    Place,
    World,
    by_reading,
    lines_of,
    made,
    misspelt,
    off_distance,
    place_of,
    slip,
)


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
    return made("teeth of a set", place, new, wanted=wanted)


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
    return made("code of a set", place, new, wanted=not whole)


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
            ("last century", f"19{year[2:]}-{month}-{day}", True),
            ("past", f"2025-{month}-{day}", False),
        ]
    )
    if how == "next year" and new <= time.strftime("%Y-%m-%d"):
        return None
    place = Place(path, index + 1, match.start(1), match.end(1), match[1], lines)
    return made("date", place, new, wanted=wanted)


def price_by_ten(world: World, chance: random.Random) -> Made:
    """The decimal mark of a price in the wrong place."""
    entry: Entry[Any] = chance.choice(world.sets(lambda r: r.price is not None))
    if chance.random() < 0.3:
        entry = chance.choice([e for e in world.catalogue.shelf.values() if e.record.price])
    place = place_of(world, entry, "price")
    new = chance.choice([place.text.replace(".", ""), f"{float(place.text) / 10:.3f}", "0"])
    return made("price by ten", place, new, wanted=True)


def price_digit(world: World, chance: random.Random) -> Made:
    """Another price of the usual size: nobody can tell."""
    place = place_of(world, chance.choice(world.sets(lambda r: r.price is not None)), "price")
    whole, mark, cents = place.text.partition(".")
    new = f"{int(whole) + chance.choice([-3, -1, 1, 2])}{mark}{cents}"
    return made("price, a digit", place, new, wanted=False)


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
    return made("cost", place, new, wanted=wanted)


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
        return made("wrong housing", place, new, wanted=False)
    return made("wrong housing", place, new, wanted=new not in own) if new not in own else None


def wrong_family(world: World, chance: random.Random) -> Made:
    """A claim for another family; wanted where codes, distances or model words contradict it."""
    entry = chance.choice(world.sets(lambda r: len(r.fits) == 1))
    record, claim = entry.record, entry.record.fits[0]
    place = place_of(world, entry, "fits", 0, "family")
    others = sorted(set(world.catalogue.families) - {claim.family})
    new = chance.choice([misspelt(place.text, chance), *others])
    if new not in others:
        return made("wrong family", place, new, wanted=True)
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
    return made("wrong family", place, new, wanted=wanted)


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
        frozenset((str(place.path), n) for n in lines_of(world, entry)),
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
    return made("geometry of a set", place, new, wanted=wanted)


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
    return made("empty list", place_of(world, entry, *steps), "[]", wanted=True)


def lost_quotes(world: World, chance: random.Random) -> Made:
    """The quotes of a part number lost; wanted where it then reads as a number."""
    place = place_of(world, chance.choice(world.sets()), "part_number")
    if not place.text.startswith('"'):
        return None
    return by_reading(world, "lost quotes", place, place.text.strip('"'))
