"""The machine a command is about, and the gear sets named for it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import section
from fitcheck.cli.common import tell
from fitcheck.cli.naming import whole_housing, whole_name
from fitcheck.cli.parameters import (
    FAMILY,
    INCHES,
    MILLIMETRES,
    TABLES,
    TEETH,
    TUNE,
    TYRE,
    once,
    read_counts,
)
from fitcheck.cli.terminal import pick
from fitcheck.errors import UsageError, clip

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.family import Family
    from fitcheck.model.gear_set import GearSet
    from fitcheck.services.counter.combination import Combination
    from fitcheck.services.counter.identify import Candidate
    from fitcheck.services.counter.subject import Subject
    from fitcheck.services.counter.tyres import NamedTyre


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
    once("--wheel INCHES", "Rim size of the driven wheel, 4 to 30.", INCHES, daily=True),
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
    """The machine and the sets named; by counts no machine is, and every other word is a set.

    Pairs that stand first are the counts of the machine, as `--teeth` gives them.
    """
    if options["teeth"] is None:
        most = len(words)
        bare = next((i for i in range(most) if not _is_counts(words[i])), most)
        if bare:
            options["teeth"] = read_counts(",".join(words[:bare]))
            return None, words[bare:]
    if options["family"] is not None or not words:
        return None, words
    return words[0], words[1:]


def split_alone(
    catalogue: Catalogue, words: tuple[str, ...], options: dict[str, Any]
) -> str | None:
    """The machine or family named, of a command that takes no sets; None where it is by counts.

    Raises:
        click.UsageError: there are more words than name one.
        UsageError: they are tooth counts without a slash.
    """
    from fitcheck.diagnostics.suggest import or_list
    from fitcheck.services.counter.lookup import near_machines, trains_of_model

    name, more = split_words(words, options)
    if more and options["family"] is not None:
        raise click.UsageError("give a machine or --family, not both")
    if not more:
        return name
    whole = " ".join(words)
    if _NUMBERS.fullmatch(whole):
        read_counts(whole)
    said = f"one name is enough, and {clip(' '.join(more), 60)!r} follows it"
    kinds = [kind for kind in ("machine", "family") if _names_one(catalogue, kind, whole)]
    if kinds or trains_of_model(catalogue, whole):
        said += f"; put the name in quotes: {clip(whole, 60)!r}"
    elif name is not None and not _names_one(catalogue, "machine", name):
        near = near_machines(catalogue, whole, sold=True)
        said += f"; did you mean {or_list(near)}?" if near else ""
    raise click.UsageError(said)


def _names_one(catalogue: Catalogue, kind: str, word: str) -> bool:
    """Whether records of a kind go by a word, or begin with it."""
    from fitcheck.services.counter.lookup import begun_by, names_record

    return names_record(catalogue, kind, word) or bool(begun_by(catalogue, kind, word))


_NUMBERS = re.compile(r"[0-9]{1,3}([, ]+[0-9]{1,3})+,?")
"""Tooth counts as somebody types them who knows no slash."""

_COUNTS = re.compile(r"[0-9]{1,3}[/:x×][0-9]{1,3}(,[0-9]{1,3}[/:x×][0-9]{1,3}){0,2},?")


def _is_counts(word: str) -> bool:
    """Whether a word is a pair of tooth counts, or several joined by commas."""
    return _COUNTS.fullmatch(word) is not None


def read_subject(catalogue: Catalogue, machine: str | None, options: dict[str, Any]) -> Subject:
    """The subject from a machine, with what the options say instead, or from counts alone.

    Raises:
        UsageError: neither is given, or an option makes no sense.
    """
    from fitcheck.services.counter.subject import with_idler_seats

    model = None if machine is None else _model(catalogue, machine, options)
    if model is not None:
        subject = _as_sold(catalogue, *model, options)
    elif machine is not None:
        subject = _recorded(catalogue, machine, options)
    else:
        subject = _counted(catalogue, options)
    if options["idler_seats"] is not None:
        subject = with_idler_seats(subject, options["idler_seats"].split(","))
    return _with_tyre(catalogue, subject, options)


def _recorded(catalogue: Catalogue, machine: str, options: dict[str, Any]) -> Subject:
    """A machine on record, with what the options say instead."""
    from dataclasses import replace

    from fitcheck.services.counter.lookup import find_tune
    from fitcheck.services.counter.subject import names_file, subject_of

    pairs = options["teeth"]
    _refuse_both(options)
    if not names_file(machine):
        machine = whole_name(catalogue, "machine", machine)
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
        subject = replace(subject, housing=whole_housing(subject.family, options["housing"]))
    if options["wheel"] not in (None, subject.wheel_size_in):
        # The roll-out on record is that of a tyre for the other wheel.
        roll_out = None if subject.wheel_size_in is not None else subject.roll_out
        subject = replace(subject, wheel_size_in=options["wheel"], roll_out=roll_out)
    if options["tune"] is not None:
        tune = find_tune(catalogue, whole_name(catalogue, "tune", options["tune"]))
        subject = replace(subject, tune=tune)
    return subject


def _refuse_both(options: dict[str, Any]) -> None:
    if options["family"] is not None:
        raise click.UsageError("give a machine or --family, not both")


def _model(
    catalogue: Catalogue, word: str, options: dict[str, Any]
) -> tuple[Entry[Family], int] | None:
    """The factory train of the model that a word names; None where a machine on record is meant.

    Raises:
        UsageError: several trains may be meant, and nobody picks one.
    """
    from fitcheck.services.counter.lookup import trains_of_model
    from fitcheck.services.counter.subject import names_file

    if names_file(word) or _names_one(catalogue, "machine", word):
        return None
    if _NUMBERS.fullmatch(word):
        read_counts(word)
    found = trains_of_model(catalogue, word)
    for key, attribute in (("wheel", "wheel_size_in"), ("housing", "housing")):
        like = [
            (family, at)
            for family, at in found
            if getattr(family.record.factory_trains[at], attribute) == options[key]
        ]
        found = like or found
    if len(found) < 2:
        return found[0] if found else None
    path = click.get_current_context().command_path
    ready = [f"{path} {_sold_words(family, at)}" for family, at in found]
    shown = [
        f"{' or '.join(family.record.factory_trains[at].models)}: {_sold_words(family, at)}"
        for family, at in found
    ]
    what = f"{clip(word, 60)!r} is sold with {len(found)} factory trains"
    return found[pick(what, shown, f"{what}; go on with: {'; '.join(ready)}")]


def _sold_words(family: Entry[Family], at: int) -> str:
    """What names a factory train to a command."""
    train = family.record.factory_trains[at]
    counts = " ".join(map(str, family.record.train_pairs(train) or ()))
    return f"{counts} -f {family.id} -H {train.housing} -w {train.wheel_size_in}"


def _as_sold(
    catalogue: Catalogue, family: Entry[Family], at: int, options: dict[str, Any]
) -> Subject:
    """A machine as its model left the factory, with what the options say instead."""
    from dataclasses import replace

    from fitcheck.services.counter.audience import with_hint

    _refuse_both(options)
    train = family.record.factory_trains[at]
    sold = {
        "family": family.id,
        "teeth": family.record.train_pairs(train),
        "housing": train.housing,
        "wheel": train.wheel_size_in,
    }
    given = {key: options[key] if options[key] is not None else sold[key] for key in sold}
    subject = _counted(catalogue, {**options, **given})
    model = " or ".join(train.models)
    counts = ", ".join(map(str, family.record.train_pairs(train) or ()))
    told = with_hint(
        f"Taken for {model} as it left the factory ({counts}, {train.housing} housing, "
        f"{train.wheel_size_in} in wheel), since no machine of this name is on record",
        "count the teeth before you order.",
    )
    _tell_beside_table(told)
    return replace(subject, name=model, told=(told, *subject.told))


def _counted(catalogue: Catalogue, options: dict[str, Any]) -> Subject:
    """A machine of which the teeth were counted; its family is concluded where none is named."""
    from dataclasses import replace

    from fitcheck.services.counter.audience import with_hint
    from fitcheck.services.counter.lookup import factory_tune, find_family
    from fitcheck.services.counter.subject import subject_from_counts

    name, pairs, tune = options["family"], options["teeth"], options["tune"]
    if pairs is None:
        raise click.UsageError(
            "name a machine, or give its counted teeth, like 14/45 13/48"
            if name is None
            else f"--teeth is missing; count the gears of the {name}, like 14/45,13/48"
        )
    told: list[str] = []
    if name is None:
        (train, *_), said = conclude_family(catalogue, options)
        family = train.family
        told += filter(None, (said,))
    else:
        family = find_family(catalogue, whole_name(catalogue, "family", name))
    housing = options["housing"]
    subject = subject_from_counts(
        catalogue,
        family.id,
        pairs,
        housing_name=None if housing is None else whole_housing(family, housing),
        tune_name=None if tune is None else whole_name(catalogue, "tune", tune),
        wheel_size_in=options["wheel"],
    )
    factory = factory_tune(catalogue)
    if tune is None and factory is not None:
        subject = replace(subject, tune=factory)
        assumed = f"Taken for an engine in factory condition: {factory.record.name}"
        told.append(with_hint(assumed, "-T names another tune."))
    _tell_beside_table(*told)
    return replace(subject, told=(*subject.told, *told))


def _tell_beside_table(*told: str) -> None:
    """Tell remarks where what is asked for is a table, which has no room for them."""
    if click.get_current_context().params.get("output_format") in TABLES:
        for line in told:
            tell(line)


def _with_tyre(catalogue: Catalogue, subject: Subject, options: dict[str, Any]) -> Subject:
    from fitcheck.services.counter.tyre_change import change_tyre, present_tyre

    present_mm, new = options["roll_out"], options["new_roll_out"]
    present = None if options["tyre"] is None else _tyre(catalogue, options["tyre"])
    if options["new_tyre"] is not None:
        if new is not None:
            raise click.UsageError("give --new-roll-out or --new-tyre, not both")
        new = _tyre(catalogue, options["new_tyre"])
    if new is not None:
        of_record = None if subject.entry is None else subject.entry.record.wheel_size_in
        if (present, present_mm) == (None, None) and of_record not in (None, subject.wheel_size_in):
            raise UsageError(
                "a new tyre counts against the present one, and the one on record is for another "
                "wheel: give --tyre SIZE or --roll-out MM too"
            )
        return change_tyre(subject, new, present_mm, present)
    return present_tyre(subject, present, present_mm)


def _tyre(catalogue: Catalogue, word: str) -> NamedTyre:
    from fitcheck.services.counter.tyres import name_tyre

    # What does not begin with a letter is a size.
    whole = whole_name(catalogue, "tyre", word) if word[:1].isalpha() else word
    return name_tyre(catalogue, whole)


def conclude_family(
    catalogue: Catalogue, options: dict[str, Any]
) -> tuple[list[Candidate], str | None]:
    """The factory trains of the one family that the counts speak for, and the line that says so.

    Where several families have such a train, or one has by a slip only, somebody picks the family
    on a terminal, and no line is needed.

    Args:
        catalogue: where to look.
        options: what is given; of these `teeth`, `wheel` and `housing`.

    Raises:
        UsageError: nobody picks it; the line lists them with the command lines that go on.
    """
    from fitcheck.diagnostics.suggest import or_list
    from fitcheck.services.counter.identify import Slip, identify, likely_families

    pairs = options["teeth"]
    counted = ", ".join(map(str, pairs))
    families = likely_families(identify(catalogue, pairs, options["wheel"]))
    if not families:
        raise UsageError(
            f"{counted} is no factory train on file, and none is near; count again, or name the "
            f"engine family with -f: there is {or_list(catalogue.families)}"
        )
    agree = families[0][0].slip <= Slip.OTHER_WHEEL
    if agree and len(families) == 1:
        return families[0], _concluded(families[0], counted, options)
    what = f"{counted} is {'a factory train of several families' if agree else _NO_TRAIN}"
    ready = "; ".join(
        f"{click.get_current_context().command_path} {one.words}{_reading(one, ' (', ')')}"
        for one in [one for family in families for one in family][:3]
    )
    shown = [f"{one.family.record.name} ({one.family.id}){_reading(one)}" for one, *_ in families]
    more = f"fitcheck identify {' '.join(map(str, pairs))} shows all"
    return families[pick(what, shown, f"{what}; go on with: {ready}; {more}")], None


_NO_TRAIN = "no factory train on file, but near one"


def _reading(one: Candidate, before: str = ": ", after: str = "") -> str:
    return f"{before}{one.reading}{after}" if one.slip else ""


def _concluded(trains: list[Candidate], counted: str, options: dict[str, Any]) -> str:
    from fitcheck.services.counter.audience import with_hint

    family, train = trains[0].family, trains[0].factory_train
    said = f"Taken for a {family.record.name}: no other family on file has the train {counted}"
    if options["wheel"] is not None and not trains[0].slip:
        said += f" with a {options['wheel']} in wheel"
    lacking = [f"-H {train.housing}"] * (options["housing"] is None)
    lacking += [f"-w {train.wheel_size_in}"] * (options["wheel"] is None)
    if len(trains) > 1 or not lacking:
        return with_hint(said, "-f names another.")
    return with_hint(said, f"add {' '.join(lacking)} if it has the factory's.")


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
    """The names of the sets that a word joins by `+`, each whole; see `whole_name`.

    Raises:
        UsageError: there is no set beside a plus, or a word begins several sets.
    """
    if "+" not in word or _is_written(catalogue, word):
        return [whole_name(catalogue, "gear-set", word)]
    parts = [part.strip() for part in word.split("+")]
    if not all(parts):
        raise UsageError(
            f"{clip(word, 60)!r} has a + with no set beside it; join sets without spaces, like "
            "MA-1545+MA-21553, or name one"
        )
    return [whole_name(catalogue, "gear-set", part) for part in parts]


def _is_written(catalogue: Catalogue, word: str) -> bool:
    """Whether a set is written just so: a part number may hold a plus itself."""
    return any(
        word in (entry.id, entry.record.part_number, *entry.record.aliases)
        for entry in catalogue.gear_sets.values()
    )
