"""Slips of the form: marks, keys, lines and indentation; and edits that change nothing."""

from __future__ import annotations

import random
import re

from tests.bench.slips import (
    Made,
    Mutation,
    Place,
    World,
    by_reading,
    lines_of,
    misspelt,
    place_of,
    reads,
)


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
    return by_reading(world, "lost mark", place, " " if mark in (", ", ": ") else "")


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
    if not wanted and not reads(text):
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
    numbers = list(lines_of(world, entry))
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
    return by_reading(world, "misspelt key", place, misspelt(place.text, chance))


def indentation(world: World, chance: random.Random) -> Made:
    """A line moved left or right by one or two blanks, or by a tab."""
    path = chance.choice(list(world.texts))
    lines = world.texts[path].split("\n")
    index = chance.choice([i for i, line in enumerate(lines) if re.match(r" +[^ #]", line)])
    blanks = len(lines[index]) - len(lines[index].lstrip(" "))
    new = chance.choice([" " * (blanks + 1), " " * (blanks + 2), " " * max(0, blanks - 2), "\t"])
    place = Place(path, index + 1, 0, blanks, "", lines)
    return by_reading(world, "indentation", place, new)


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
    one, two = sorted((list(lines_of(world, e)) for e in (first, second)), key=lambda n: n[0])
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
        if reads(text)
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
