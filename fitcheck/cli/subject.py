"""The machine a command is about, and the gear sets named for it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import section
from fitcheck.cli.parameters import FAMILY, MILLIMETRES, TEETH, TUNE, TYRE, WholeNumber, once
from fitcheck.errors import UsageError, clip

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.gear_set import GearSet
    from fitcheck.services.counter.combination import Combination
    from fitcheck.services.counter.subject import Subject


subject_options = section(
    "Machine",
    once("--family NAME", "Engine family, where no machine is named.", FAMILY, daily=True),
    once(
        "--housing NAME", "Gearbox housing; not known, fit stays open where it matters.", daily=True
    ),
    once("--teeth PAIRS", "Counted pairs in order: 14/45,13/48.", TEETH, daily=True),
    once(
        "--idler-seats CODES",
        "Idler seats measured on it, in order: ST-14; ? for one not measured. They "
        "override the record's.",
    ),
    once(
        "--wheel INCHES", "Rim size of the driven wheel, 4 to 30.", WholeNumber(4, 30), daily=True
    ),
    once("--tune NAME", "State of tune, whose band is applied.", TUNE),
    once(
        "--tyre SIZE",
        "Size of the tyre that is on now, as on its sidewall, or its id in the "
        "catalogue; overrides the machine's record.",
        TYRE,
    ),
    once(
        "--roll-out MM",
        "Distance per wheel turn now, as measured; overrides the machine's record.",
        MILLIMETRES,
    ),
    once(
        "--new-roll-out MM",
        "Distance per wheel turn with another tyre; counted into road speed.",
        MILLIMETRES,
    ),
    once(
        "--new-tyre SIZE",
        "Tyre to change to, by its size or its id in the catalogue, instead of --new-roll-out.",
        TYRE,
    ),
)
"""The machine: by id, file, or counts alone."""


def split_words(
    words: tuple[str, ...], options: dict[str, Any]
) -> tuple[str | None, tuple[str, ...]]:
    """The machine and the sets named; by counts alone no machine is, and every word is a set."""
    if options["family"] is not None or not words:
        return None, words
    return words[0], words[1:]


def read_subject(catalogue: Catalogue, machine: str | None, options: dict[str, Any]) -> Subject:
    """The subject from a machine, with what the options say instead, or from counts alone.

    Raises:
        UsageError: neither is given, or an option makes no sense.
    """
    from dataclasses import replace

    from fitcheck.services.counter.lookup import find_housing, find_tune
    from fitcheck.services.counter.subject import subject_from_counts, subject_of, with_idler_seats

    family, pairs = options["family"], options["teeth"]
    if machine is not None:
        if family is not None:
            raise click.UsageError("give a machine or --family, not both")
        subject = subject_of(catalogue, machine)
        if pairs is not None:
            if len(pairs) != len(subject.stages):
                stages = subject.stages
                raise UsageError(
                    f"this train has {len(stages)} stage{'s' * (len(stages) > 1)} "
                    f"({', '.join(stages)}), counted {len(pairs)}; give the pair of every stage "
                    "in order"
                )
            subject = replace(subject, pairs=pairs)
        if options["housing"] is not None:
            subject = replace(subject, housing=find_housing(subject.family, options["housing"]))
        if options["wheel"] not in (None, subject.wheel_size_in):
            # The roll-out on record is that of a tyre for the other wheel.
            roll_out = None if subject.wheel_size_in is not None else subject.roll_out
            subject = replace(subject, wheel_size_in=options["wheel"], roll_out=roll_out)
        if options["tune"] is not None:
            subject = replace(subject, tune=find_tune(catalogue, options["tune"]))
    elif pairs is None:
        raise click.UsageError(
            "name a machine, or give --family and --teeth"
            if family is None
            else f"--teeth is missing; count the gears of the {family}, like 14/45,13/48"
        )
    elif family is None:
        raise UsageError(_offer_families(catalogue, pairs, options["wheel"]))
    else:
        subject = subject_from_counts(
            catalogue,
            family,
            pairs,
            housing_name=options["housing"],
            tune_name=options["tune"],
            wheel_size_in=options["wheel"],
        )
    if options["idler_seats"] is not None:
        subject = with_idler_seats(subject, options["idler_seats"].split(","))
    return _with_tyre(catalogue, subject, options)


def _with_tyre(catalogue: Catalogue, subject: Subject, options: dict[str, Any]) -> Subject:
    from fitcheck.services.counter.tyre_change import change_tyre, present_tyre
    from fitcheck.services.counter.tyres import name_tyre

    present_mm, new = options["roll_out"], options["new_roll_out"]
    present = None if options["tyre"] is None else name_tyre(catalogue, options["tyre"])
    if options["new_tyre"] is not None:
        if new is not None:
            raise click.UsageError("give --new-roll-out or --new-tyre, not both")
        new = name_tyre(catalogue, options["new_tyre"])
    if new is not None:
        of_record = None if subject.entry is None else subject.entry.record.wheel_size_in
        if (present, present_mm) == (None, None) and of_record not in (None, subject.wheel_size_in):
            raise UsageError(
                "a new tyre counts against the present one, and the one on record is for another "
                "wheel: give --tyre SIZE or --roll-out MM too"
            )
        return change_tyre(subject, new, present_mm, present)
    return present_tyre(subject, present, present_mm)


def _offer_families(catalogue: Catalogue, pairs: Any, wheel: int | None) -> str:
    from fitcheck.diagnostics.suggest import or_list
    from fitcheck.services.counter.identify import Slip, identify

    counted = ", ".join(map(str, pairs))
    found = identify(catalogue, pairs, wheel)
    exact = [one for one in found if one.slip <= Slip.OTHER_WHEEL]
    if exact:
        offers = or_list(
            dict.fromkeys(
                f"{one.family.id} ({one.factory_train.housing}, "
                f"{one.factory_train.wheel_size_in} in)"
                for one in exact
            )
        )
        return f"--family is missing; {counted} is a factory train of {offers}"
    found = [one for one in found if one.slip is not Slip.TWO_SLIPS] or found
    near = or_list(dict.fromkeys(one.family.id for one in found[:4]))
    hint = f"near it are trains of {near}: see fitcheck identify {' '.join(map(str, pairs))}"
    return f"--family is missing, and {counted} is no factory train on file" + (
        f"; {hint}" if found else f"; there is {or_list(catalogue.families)}"
    )


def read_options(catalogue: Catalogue, subject: Subject, words: Sequence[str]) -> list[Combination]:
    """One combination a word, in the order given.

    A word is the id or part number of a set, or several joined by `+`, as in `MA-1545+MA-21553`.

    Raises:
        UsageError: a set is not known, two of one word hold the same stage, or two words name the
            same choice.
    """
    from fitcheck.services.counter.combination import combine

    found: list[Combination] = []
    for word in words:
        one = combine(subject, _sets(catalogue, word))
        if any(one.sets == other.sets for other in found):
            shown = "+".join(entry.id for entry in one.sets)
            raise UsageError(f"{shown} is named twice; name each choice once")
        found.append(one)
    return found


def _sets(catalogue: Catalogue, word: str) -> list[Entry[GearSet]]:
    from fitcheck.services.counter.lookup import find_set

    return [find_set(catalogue, part) for part in split_sets(catalogue, word)]


def split_sets(catalogue: Catalogue, word: str) -> list[str]:
    """The names of the sets that a word joins by `+`.

    Raises:
        UsageError: there is no set beside a plus.
    """
    if "+" not in word or _is_written(catalogue, word):
        return [word]
    parts = [part.strip() for part in word.split("+")]
    if not all(parts):
        raise UsageError(
            f"{clip(word, 60)!r} has a + with no set beside it; join sets without spaces, like "
            "MA-1545+MA-21553, or name one"
        )
    return parts


def _is_written(catalogue: Catalogue, word: str) -> bool:
    """Whether a set is written just so: a part number may hold a plus itself."""
    return any(
        word in (entry.id, entry.record.part_number, *entry.record.aliases)
        for entry in catalogue.gear_sets.values()
    )
