"""Slips in families, machines and the smaller records."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from typing import Any

from fitcheck.catalogue.reader import Entry
from tests.bench.slips import (
    JS8_MM,
    Made,
    World,
    cut_for,
    inserted,
    known_seats,
    lines_of,
    made,
    misspelt,
    odd_at,
    place_of,
    slip,
)


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
    return made("code of a family", place, new, wanted=len(stating) >= 1)


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
    return made("swapped stages of a train", place, new, wanted=True)


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
    return made(
        "distance of a family",
        place,
        new,
        wanted=by_ten
        or bool(cut_for(world, family.id, stage))
        or odd_at(world, family.id, stage, float(new)),
    )


def seat_of_a_machine(world: World, chance: random.Random) -> Made:
    """A seat measured on a machine with a slip, or a question mark without its quotes.

    Wanted where nothing else has that seat.
    """
    entry = chance.choice(list(world.catalogue.machines.values()))
    seats = world.catalogue.families[entry.record.family].record.interfaces.idler_seats
    if not seats or entry.record.idler_seats:
        return None
    at = chance.randrange(len(seats))
    slips = [slip(seats[at], chance), slip(seats[at], chance), misspelt(seats[at], chance), "?"]
    new = chance.choice(slips)
    if new is None or new.replace("-", "") in known_seats(world):
        return None
    given = ", ".join([*seats[:at], new, *seats[at + 1 :]])
    place, line = place_of(world, entry, "family"), f"    idler_seats: [{given}]"
    return inserted("seat of a machine", "wanted", entry, place, line)


def seat_as_known(world: World, chance: random.Random) -> Made:
    """A seat measured on a machine that a family or a set has, or one that was not measured.

    Wanted where it is that of other families, and neither of its own nor of a set for that.
    """
    entry = chance.choice(list(world.catalogue.machines.values()))
    if entry.record.idler_seats or len(entry.record.pairs) != 2:
        return None
    new = chance.choice([*sorted(known_seats(world)), '"?"'])
    place, line = place_of(world, entry, "family"), f"    idler_seats: [{new.lower()}]"
    factory = {
        id_: {seat.replace("-", "") for seat in family.record.interfaces.idler_seats}
        for id_, family in world.catalogue.families.items()
    }
    own = factory[entry.record.family]
    for gear_set in world.sets(lambda r: entry.record.family in {c.family for c in r.fits}):
        seats = gear_set.record.interfaces
        own |= {(seat or "").replace("-", "") for seat in (seats.wheel_seat, seats.pinion_seat)}
    if new not in own and any(new in seats for seats in factory.values()):
        return inserted("seat of another family", "wanted", entry, place, line)
    return inserted("seat as known", "harmless", entry, place, line)


def currency(world: World, chance: random.Random) -> Made:
    """Letters of a currency exchanged, or a key beside one hit; wanted where it is none."""
    from babel.numbers import list_currencies

    suppliers = world.catalogue.suppliers.values()
    entry = chance.choice([e for e in suppliers if "currency" in e.record.model_fields_set])
    place = place_of(world, entry, "currency")
    new = chance.choice(["ERU", "UER", "WUR", "RUR", "EIR", "EYR", "EUE", "EUT", "EUF", "EUD"])
    return made("currency", place, new, wanted=new not in list_currencies())


def answered_word(world: World, chance: random.Random) -> Made:
    """A model word that was answered written otherwise than the list has it."""
    families = [each.record for each in world.catalogue.families.values()]
    ours = {word for f in families for word in (f.name, *f.aliases)}
    ours |= {word for f in families for train in f.factory_trains for word in train.models}
    entry = chance.choice(world.sets(lambda r: bool(set(r.listed_for.models) - ours)))
    supplier = world.catalogue.suppliers[entry.record.supplier]
    word = chance.choice(sorted(set(entry.record.listed_for.models) - ours))
    new = misspelt(word, chance)
    if supplier.record.list_mapping is None or new == word:
        return None
    place = place_of(world, supplier, "list_mapping", key=True)
    lines = ("      model_words:", f"        {new}: null")
    return inserted("answered word", "wanted", supplier, place, *lines)


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
    return made("hand", place, new, wanted=wanted)


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
        return made("tip limit", place, new, wanted=float(new) > 2 * float(place.text))
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
    return made("tip limit", place, new, wanted=any(float(new) < pitch for pitch in pitches))


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
    return made("reference", place, new, wanted=True)


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
    return made("counts of a machine", place, new, wanted=wanted)


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
        (str(place_of(world, e).path), n) for e in same for n in lines_of(world, e)
    )
    found = made("teeth of a factory train", place, new, wanted=bool(same) and not others)
    return replace(found, lines=marks)


def tune(world: World, chance: random.Random) -> Made:
    """Edges of a band swapped, or as fractions."""
    entry = chance.choice(list(world.catalogue.tunes.values()))
    place = place_of(world, entry, "high")
    low = place_of(world, entry, "low")
    new = chance.choice([f"{float(low.text) - 1:g}", f"{place.text}00", f"{place.text} %"])
    return made("tune", place, new, wanted=True)


def tyre(world: World, chance: random.Random) -> Made:
    """A rim or a roll-out of a tyre with a slip; wanted 9 percent off or on another rim."""
    entry = chance.choice([e for e in world.catalogue.tyres.values() if e.record.roll_out_mm])
    name = chance.choice(["wheel_size_in", "roll_out_mm"])
    place = place_of(world, entry, name)
    new = slip(place.text, chance)
    if new is None:
        return None
    off = abs(float(new) / float(place.text) - 1)
    return made("tyre", place, new, wanted=name == "wheel_size_in" or off > 0.13)


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
    return made("figure by ten", place, new, wanted=True)
