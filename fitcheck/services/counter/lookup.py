"""Records by what people call them: id, name or alias; case, spaces and marks do not matter."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeVar

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.suggest import near_names, nearest, or_list
from fitcheck.errors import UsageError, clip
from fitcheck.model.family import Family
from fitcheck.model.fields import Record
from fitcheck.model.gear_set import GearSet
from fitcheck.model.machine import Machine
from fitcheck.model.trade import Supplier, Tune, VariatorKit, VehicleClass
from fitcheck.model.tyre import Tyre
from fitcheck.rules.setting import model_words, plain_word
from fitcheck.services.counter.near_numbers import begins, unknown_set
from fitcheck.services.counter.succession import way_on, ways_on

R = TypeVar("R", bound=Record)


class NameTakenError(UsageError):
    """Records go by a name, and none can be taken: there are several, or it was refused."""


_NOTES = 3
"""So many retired sets are told of in one refusal."""


def find_family(catalogue: Catalogue, name: str, place: str | None = None) -> Entry[Family]:
    """A family by id, name or alias; case, spaces and marks do not matter.

    Raises:
        UsageError: unknown, with the nearest name, or shared by several families.
    """
    if name in catalogue.families:
        return catalogue.families[name]
    named = sorted(model_words(catalogue).get(plain_word(name), ()))
    sharing = [catalogue.families[id_] for id_ in named]
    try:
        return _find(catalogue, "family", name, place, sharing)
    except NameTakenError:
        raise
    except UsageError as error:
        near = [family.id for family in near_families(catalogue, name)]
        if not near or "did you mean" in str(error):
            raise
        where = f"{place}: " if place else ""
        said = f"{where}no engine family {clip(name, 60)!r}; did you mean {or_list(near)}?"
        raise UsageError(said) from None


def find_machine(catalogue: Catalogue, name: str, *, sold: bool = False) -> Entry[Machine]:
    """A machine by id or name.

    Args:
        catalogue: where to look.
        name: id or name.
        sold: whether the models of factory trains are told too, where they are near.

    Raises:
        UsageError: unknown, with the nearest names, a name that several share, or that of a family.
    """
    known = catalogue.machines
    families = [] if _sharing(known, name) else _sharing(catalogue.families, name)
    if families:
        theirs = [id_ for id_, one in known.items() if one.record.family == families[0].id]
        there = (
            f"its machines are {or_list(theirs)}" if theirs else "none of its machines is on file"
        )
        raise UsageError(f"{name!r} is an engine family, not a machine; {there}")
    try:
        return _find(catalogue, "machine", name)
    except NameTakenError:
        raise
    except UsageError:
        near = near_machines(catalogue, name, sold=sold)
        if not near:
            raise
        raise UsageError(f"no machine {clip(name, 60)!r}; did you mean {or_list(near)}?") from None


def near_machines(catalogue: Catalogue, name: str, *, sold: bool) -> list[str]:
    """What may be meant by a name that no machine goes by, as it is typed to a command.

    Machines and models with about such a name; else those of the families with about such a name.
    What is no number of such a family has to be the wheel size: `dunlin 12` is a Dunlin on 12 in.

    Args:
        catalogue: where to look.
        name: as it was given.
        sold: whether models count that no machine on record is named after.
    """
    begun = [id_ for id_ in catalogue.machines if begins(id_, name)]
    if begun:
        return begun
    typed = {one.record.name: id_ for id_, one in catalogue.machines.items()}
    typed |= {id_: id_ for id_ in catalogue.machines}
    trains = [
        (family.id, train)
        for family in catalogue.families.values()
        for train in family.record.factory_trains
    ]
    models = [model for _, train in trains for model in train.models] if sold else []
    near = near_names(name, [*typed, *models])
    if near:
        own = [typed[word] if word in typed else _typed_model(catalogue, word) for word in near]
        return list(dict.fromkeys(filter(None, own)))
    for family in near_families(catalogue, name):
        wheel = _other_numbers(family, name)
        near += [
            id_
            for id_, one in catalogue.machines.items()
            if one.record.family == family.id and wheel <= {str(one.record.wheel_size_in)}
        ]
        near += [
            _typed_model(catalogue, model)
            for id_, train in trains
            if sold and id_ == family.id and wheel <= {str(train.wheel_size_in)}
            for model in train.models
        ]
    return list(filter(None, near))


def _typed_model(catalogue: Catalogue, model: str) -> str:
    """How a model is typed to a command; empty where a machine on record is named so."""
    recorded = names_record(catalogue, "machine", model) or begun_by(catalogue, "machine", model)
    return "" if recorded else repr(model)


def near_families(catalogue: Catalogue, name: str) -> list[Entry[Family]]:
    """The families whose names have about the letters of this one.

    What numbers it holds are those of the family, or the size of one of its wheels.
    """
    letters: dict[str, list[Entry[Family]]] = {}
    for family in catalogue.families.values():
        for word in {" ".join(_LETTERS.findall(each)) for each in _written_names(family)}:
            letters.setdefault(word, []).append(family)
    near = near_names(" ".join(_LETTERS.findall(name)), letters)
    found = {family.id: family for word in near for family in letters[word]}
    return [
        family
        for family in found.values()
        if _other_numbers(family, name)
        <= {str(train.wheel_size_in) for train in family.record.factory_trains}
    ]


def _other_numbers(family: Entry[Family], name: str) -> set[str]:
    """The numbers in a name that are in none of a family's."""
    own = {number for each in _written_names(family) for number in _NUMBER.findall(each)}
    return set(_NUMBER.findall(name)) - own


def names_record(catalogue: Catalogue, kind: str, word: str) -> bool:
    """Whether records of a kind go by a word as it stands."""
    records = catalogue.entries(kind)
    return word in records or bool(_sharing(records, word))


def trains_of_model(catalogue: Catalogue, word: str) -> list[tuple[Entry[Family], int]]:
    """The whole factory trains of the model that a word names, else of those that it begins.

    Where the word is a family's own name, or that of a machine's record, refused or not, no model
    is meant.

    Returns:
        Each family with the position of its train.
    """
    if _sharing(catalogue.families, word) or word in catalogue.failed["machine"]:
        return []
    trains = {
        f"{family.id} {at}": (family, at)
        for family in catalogue.families.values()
        for at, train in enumerate(family.record.factory_trains)
        if family.record.train_pairs(train) is not None
    }
    models = {key: family.record.factory_trains[at].models for key, (family, at) in trains.items()}
    plain = plain_word(word)
    whole = [key for key in trains if plain and plain in map(plain_word, models[key])]
    return [trains[key] for key in whole or _begun(models, word, inner=True)]


def find_tune(catalogue: Catalogue, name: str, place: str | None = None) -> Entry[Tune]:
    """A state of tune by id or name.

    Raises:
        UsageError: unknown, with the nearest id, or a name that several share.
    """
    return _find(catalogue, "tune", name, place)


def factory_tune(catalogue: Catalogue) -> Entry[Tune] | None:
    """The tune of an engine as it left the factory: its power and speed unchanged.

    Of several, the one with the lowest band, which promises least; None where none is on file.
    """
    unchanged = [
        tune
        for tune in catalogue.tunes.values()
        if tune.record.power_factor == tune.record.rpm_factor == 1
    ]
    return min(unchanged, key=lambda tune: (tune.record.high, tune.id), default=None)


def find_supplier(catalogue: Catalogue, name: str) -> Entry[Supplier]:
    """A supplier by id or name.

    Raises:
        UsageError: unknown, with the nearest id, or a name that several share.
    """
    return _find(catalogue, "supplier", name)


def find_tyre(catalogue: Catalogue, name: str) -> Entry[Tyre]:
    """A tyre by id.

    Raises:
        UsageError: unknown, with the nearest id.
    """
    return _find(catalogue, "tyre", name)


def find_class(catalogue: Catalogue, name: str, place: str | None = None) -> Entry[VehicleClass]:
    """A vehicle class by id or name.

    Raises:
        UsageError: unknown, with the nearest id, or a name that several share.
    """
    return _find(catalogue, "vehicle-class", name, place)


def find_variator(catalogue: Catalogue, name: str) -> Entry[VariatorKit]:
    """A variator kit by id or part number.

    Raises:
        UsageError: unknown, with the nearest id, or a number that several share.
    """
    return _find(catalogue, "variator", name)


def find_set(catalogue: Catalogue, name: str) -> Entry[GearSet]:
    """A gear set by id, part number or alias.

    A number that retired sets left to the one sold now means that one; a retired set that is
    named outright is found, and those who ask say where it leads.

    Raises:
        UsageError: unknown, with the nearest id, shared by several sets, or written as teeth.
    """
    known, refused = catalogue.gear_sets, catalogue.failed["gear-set"]
    _refuse_teeth(known, name)
    try:
        return _find(catalogue, "gear-set", name)
    except UsageError as error:
        sharing = _sharing(known, name)
        left = _left_to(catalogue, sharing)
        if left is not None:
            return left
        said, named = str(error), sharing
        if not sharing and name not in refused:
            said = unknown_set(name, known)
            near = nearest(name, known)
            named = [] if near is None else [known[near]]
        notes = ways_on(catalogue, named)
        if notes:
            said += f" ({'; '.join(notes[:_NOTES])})"
        raise type(error)(said) from None


_TEETH = re.compile(r"\s*([0-9]{1,3})\s*/\s*([0-9]{1,3})\s*")


def _refuse_teeth(known: Mapping[str, Entry[GearSet]], name: str) -> None:
    """Refuse `15/40` for a set of the number 1540, unless its supplier writes the number so.

    Marks do not matter in numbers; in teeth they do.
    """
    teeth = _TEETH.fullmatch(name)
    if teeth is None:
        return
    written = name.strip()
    for entry in known.values():
        if written in (entry.id, entry.record.part_number, *entry.record.aliases):
            return
    pair = f"{int(teeth[1])}/{int(teeth[2])}"
    alike = [id_ for id_, one in known.items() if pair in map(str, one.record.pairs.values())]
    there = f"of these teeth there is {or_list(alike)}" if alike else "no set has these teeth"
    raise UsageError(f"{written} are teeth, not the number of a gear set; {there}")


def _left_to(catalogue: Catalogue, sharing: Sequence[Entry[GearSet]]) -> Entry[GearSet] | None:
    """The one set sold now among several of one number, if all others lead to it."""
    sold = [entry for entry in sharing if entry.record.status == "active"]
    if len(sold) != 1:
        return None
    ends = {way_on(catalogue, entry).sold for entry in sharing if entry is not sold[0]}
    return sold[0] if ends == {sold[0].id} else None


def _find(
    catalogue: Catalogue,
    kind: str,
    name: str,
    place: str | None = None,
    sharing: Sequence[Entry[Any]] | None = None,
) -> Entry[Any]:
    """The record of a kind with this id, else the one that goes by this name.

    Args:
        catalogue: where to look.
        kind: which records.
        name: id or name.
        place: where the name stands, for the refusal.
        sharing: the records that go by this name; None: those whose own name it is.
    """
    records, refused = catalogue.entries(kind), catalogue.failed[kind]
    what = "engine family" if kind == "family" else kind.replace("-", " ")
    if name in records:
        return records[name]
    prefix = f"{place}: " if place else ""
    if name in refused:
        raise NameTakenError(
            f"{prefix}the {what} {name} at {refused[name]} was refused; fitcheck check says why"
        )
    found = _sharing(records, name) if sharing is None else sharing
    if len(found) == 1:
        return found[0]
    if found:
        raise NameTakenError(
            f"{prefix}{name!r} may be {or_list(entry.id for entry in found)}; name one of them"
        )
    raise UsageError(_unknown(what, name, list(records), prefix))


def begun_by(catalogue: Catalogue, kind: str, word: str) -> list[str]:
    """Ids of the records of a kind that a typed word may begin; a housing's are its family's own.

    A name begins with the word, or one of the words of a name does; what a number goes by begins
    with it from the first sign on. Nobody completes a number: 5 is not 50, and 154 not 1540.

    Returns:
        The ids, those of refused records too; none where a record goes by the whole word.
    """
    records, refused = catalogue.entries(kind), catalogue.failed[kind]
    if word in records or word in refused or _sharing(records, word):
        return []
    if kind == "family" and plain_word(word) in model_words(catalogue):
        return []
    if kind == "machine" and _sharing(catalogue.families, word):
        return []  # a family was meant, which machines are named after
    names = {id_: _written_names(entry) for id_, entry in records.items()}
    inner = kind not in {"gear-set", "variator"}
    return _begun({**names, **{id_: (id_,) for id_ in refused}}, word, inner=inner)


def begun_housings(family: Entry[Family], word: str) -> list[str]:
    """Ids of a family's housings that a typed word may begin; see `begun_by`."""
    names = {
        id_: (id_, housing.name, *housing.aliases)
        for id_, housing in family.record.housings.items()
    }
    if any(plain_word(word) in map(plain_word, each) for each in names.values()):
        return []
    return _begun(names, word, inner=True)


def _begun(names: Mapping[str, Iterable[str]], word: str, *, inner: bool) -> list[str]:
    plain = plain_word(word)
    if not plain or not word.isprintable():
        return []
    return [
        id_
        for id_, each in names.items()
        if any(plain in plain_word(name) and _is_begun(name, plain, inner) for name in each)
    ]


_LETTERS = re.compile(r"[^\W\d_]+")
_NUMBER = re.compile(r"\d+")
_RUN = re.compile(r"\d+|[^\W\d_]+")


def _is_begun(name: str, plain: str, inner: bool) -> bool:
    """Whether a plain word begins a name, or one of its words, and ends within no number."""
    text = re.sub("['\u2019]", "", unicodedata.normalize("NFC", name))
    runs = [plain_word(run) for run in _RUN.findall(text)]
    for start in range(len(runs) if inner else 1):
        rest = plain
        for run in runs[start:]:
            if len(rest) <= len(run):
                if rest == run or (run.startswith(rest) and not run.isdecimal()):
                    return True
                break
            if not rest.startswith(run):
                break
            rest = rest[len(run) :]
    return False


def _sharing(records: Mapping[str, Entry[R]], name: str) -> list[Entry[R]]:
    """The records that go by a name."""
    plain = plain_word(name)
    return [entry for entry in records.values() if plain and plain in _plain_names(entry)]


def _plain_names(entry: Entry[Record]) -> set[str]:
    return {plain_word(name) for name in _written_names(entry)}


def _written_names(entry: Entry[Any]) -> list[str]:
    record = entry.record
    if isinstance(record, GearSet | VariatorKit):
        # Its name is the supplier's description, which many share.
        return [entry.id, record.part_number, *record.aliases]
    names = [entry.id, getattr(record, "name", entry.id)]
    return [*names, *record.aliases] if isinstance(record, Family) else names


def _unknown(what: str, name: str, known: Sequence[str], prefix: str = "") -> str:
    shown = name if len(name) <= 60 else name[:57] + "..."
    near = or_list(one for one in known if begins(one, name)) or nearest(name, known)
    if near:
        return f"{prefix}no {what} {shown!r}; did you mean {near}?"
    if not known:
        return f"{prefix}no {what} {shown!r}; the catalogue holds none"
    return f"{prefix}no {what} {shown!r}; there is {or_list(known)}"


def find_housing(family: Entry[Family], name: str) -> str:
    """The id of a family's housing by id, name or alias.

    Raises:
        UsageError: the family has no such housing.
    """
    housings = family.record.housings
    if name in housings:
        return name
    plain = plain_word(name)
    found = [
        id_
        for id_, housing in housings.items()
        if plain in {plain_word(word) for word in (id_, housing.name, *housing.aliases)}
    ]
    if plain and len(found) == 1:
        return found[0]
    raise UsageError(f"{family.id} has no housing {name!r}; it has {or_list(housings)}")
