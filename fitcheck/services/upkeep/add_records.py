"""Machines, families and suppliers added by command, from what somebody said of them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from fitcheck.catalogue.editing import Draft, new_file, open_draft
from fitcheck.catalogue.editing.values import plain_data, same
from fitcheck.catalogue.problems import bad_id_words
from fitcheck.catalogue.reader import FIELDS, Catalogue, Entry
from fitcheck.diagnostics.finding import shown_path
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import TRAIN_STAGES
from fitcheck.model.fields import is_id
from fitcheck.services.counter.identify import Slip, identify
from fitcheck.services.counter.lookup import find_family
from fitcheck.services.counter.tyres import name_tyre
from fitcheck.services.price_lists.suppliers import id_of_name, usual_currency
from fitcheck.services.upkeep.drafts import Edited, draft_of, judge
from fitcheck.services.upkeep.record_fields import Assignment, read_record_fields, reference_at
from fitcheck.services.upkeep.records import kind_words, resolve
from fitcheck.services.upkeep.typed_values import one_line


@dataclass(frozen=True, slots=True)
class NewRecord:
    """What is said of a new record; what is left out is not known.

    Attributes:
        name: what the counter calls it.
        given: values by field, with a dot for what stands inside another; a record is named by its
            id or name.
        more: other fields, `field=value` each, as for an edit.
        record_id: id of the record; None: made of the name.
    """

    name: str
    given: Mapping[str, Any]
    more: Sequence[str] = ()
    record_id: str | None = None


@dataclass(frozen=True, slots=True)
class Train:
    """A factory train of a new family.

    Attributes:
        pairs: tooth counts, from input shaft to wheel.
        wheel_size_in: rim size of the driven wheel, inches.
        housing: id or words of a housing; None where the family has only one.
    """

    pairs: Sequence[Pair]
    wheel_size_in: int
    housing: str | None = None


def add_supplier(catalogue: Catalogue, new: NewRecord) -> Edited:
    """Draft a new supplier; without a currency it has that of most others.

    Raises:
        UsageError: as of `add_machine`.
        EditError: the file cannot be edited, or has changed meanwhile.
    """
    fields = _fields(catalogue, "supplier", new, {})
    fields.setdefault("currency", usual_currency(catalogue))
    return _add(catalogue, "supplier", new, fields, comment=f"{fields['name']}, a supplier.")


def add_machine(
    catalogue: Catalogue,
    new: NewRecord,
    *,
    family: str | None,
    pairs: Sequence[Pair],
    tyre: str | None = None,
) -> Edited:
    """Draft a customer's machine and hold it against the whole catalogue.

    Args:
        catalogue: the catalogue.
        new: its name, and what else is known.
        family: id or name of the engine family.
        pairs: the counted teeth, from input shaft to wheel.
        tyre: a tyre of the catalogue or a size on a sidewall.

    Raises:
        UsageError: a name is not known, a value is no such value, the id is another's, or the
            catalogue would have an error that it does not have now.
        EditError: the record would not be valid, or the file has changed meanwhile.
    """
    if family is None:
        raise UsageError(_offer_families(catalogue, pairs))
    engine = find_family(catalogue, family)
    stages = engine.record.train_stages
    if len(pairs) != len(stages):
        raise UsageError(
            f"{engine.id} has {len(stages)} stage{'s' * (len(stages) > 1)} ({', '.join(stages)}), "
            f"counted {len(pairs)}; give the pair of every stage, in order"
        )
    first: dict[str, Any] = {
        "family": engine.id,
        "pairs": dict(zip(stages, pairs, strict=True)),
    }
    if tyre is not None:
        known = name_tyre(catalogue, tyre)
        named = {"tyre_size": tyre.strip()} if known.by_size else {"tyre": known.entries[0].id}
        first |= named
    fields = _fields(catalogue, "machine", new, first)
    name = engine.record.name
    near = [id_ for id_, each in catalogue.machines.items() if each.record.family == engine.id]
    return _add(
        catalogue,
        "machine",
        new,
        fields,
        comment=f"{name} machines that came to the counter.",
        stem=engine.id,
        near=near,
    )


def add_family(
    catalogue: Catalogue,
    new: NewRecord,
    *,
    housings: Mapping[str, str],
    trains: Sequence[Train] = (),
    stages: int | None = None,
    distances: Sequence[Decimal | None] = (),
) -> Edited:
    """Draft a new engine family.

    Args:
        catalogue: the catalogue.
        new: its name, and what else is known.
        housings: what each housing is called, by id; without any, those that the trains name.
        trains: what models have from the factory.
        stages: how many stages its trains have; None: as many as the factory trains.
        distances: centre distance of each stage, mm; None where it is not known.

    Raises:
        UsageError: as of `add_machine`; or the stages are not said, or trains differ in them.
        EditError: as of `add_machine`.
    """
    housings = housings or housings_of(trains)
    if not housings:
        raise UsageError("a family has at least one housing; give --housing, like --housing short")
    counts = {len(train.pairs) for train in trains} | ({stages} if stages is not None else set())
    if not counts:
        raise UsageError("how many stages has it? give a counted factory train, or --stages 2")
    if len(counts) > 1 or len(distances) > max(counts):
        raise UsageError("trains, stages and distances do not agree; give one for each stage")
    order = TRAIN_STAGES[counts.pop()]
    known = dict(zip(order, distances, strict=False))
    fields: dict[str, Any] = {
        "housings": {id_: {"name": words} for id_, words in housings.items()},
        "stages": {
            stage: {} if known.get(stage) is None else {"centre_distance_mm": known[stage]}
            for stage in order
        },
    }
    if trains:
        fields["factory_trains"] = [
            {
                "housing": housing_of(housings, train.housing),
                "wheel_size_in": train.wheel_size_in,
                "pairs": dict(zip(order, train.pairs, strict=True)),
            }
            for train in trains
        ]
    fields = _fields(catalogue, "family", new, fields)
    return _add(catalogue, "family", new, fields, comment=f"{fields['name']}, an engine family.")


def read_housings(text: str) -> dict[str, str]:
    """Housings by id, of words with commas between: `short, long` or `s=short case`.

    Raises:
        UsageError: a word makes no id, or two make the same.
    """
    found: dict[str, str] = {}
    for part in filter(None, (part.strip() for part in text.split(","))):
        name, sign, words = (each.strip() for each in part.partition("="))
        id_ = name if sign else id_of_name(name)
        if not is_id(id_) or (sign and not words):
            raise UsageError(f"{part!r} names no housing; write it like short, or s=short case")
        if id_ in found:
            raise UsageError(f"the housing {id_} is named twice; name it once")
        found[id_] = words or name
    return found


def housings_of(trains: Iterable[Train]) -> dict[str, str]:
    """The housings that some factory trains name, by id.

    Raises:
        UsageError: a name makes no id.
    """
    names = dict.fromkeys(train.housing for train in trains if train.housing is not None)
    return {id_: name for each in names for id_, name in read_housings(each).items()}


def housing_of(housings: Mapping[str, str], word: str | None) -> str:
    """The id of the housing that a train is in, by id or words; None means the only one.

    Raises:
        UsageError: there is no such housing, or it is not said which.
    """
    if word is None and len(housings) == 1:
        return next(iter(housings))
    plain = id_of_name(word or "")
    for id_, name in housings.items():
        if word == id_ or (plain and plain in (id_of_name(id_), id_of_name(name))):
            return id_
    given = "the housing of the factory train is not said" if word is None else f"no housing {word}"
    raise UsageError(f"{given}; it has {or_list(housings)}")


def _offer_families(catalogue: Catalogue, pairs: Sequence[Pair]) -> str:
    """A line for counts without a family."""
    exact = [each.family.id for each in identify(catalogue, pairs) if each.slip is Slip.EXACT]
    named = list(dict.fromkeys(exact)) or list(catalogue.families)
    if not named:
        return "the catalogue holds no engine family yet; fitcheck add family adds one"
    which = "with these counts there is" if exact else "there is"
    return f"--family is missing; {which} {or_list(named)}"


# -------------------------------------------------------------------- of any kind


def _fields(
    catalogue: Catalogue, kind: str, new: NewRecord, first: Mapping[str, Any]
) -> dict[str, Any]:
    """The fields of a record: those known already, the given ones and `field=value`.

    Raises:
        UsageError: a value is no such value, or a field is given twice.
    """
    name = one_line(" ".join(new.name.split()), "the name")
    if not name:
        raise UsageError("the name is blank; give what the counter calls it")
    fields = {"name": name, **first}
    given = [
        Assignment(key, path, value, reference_at(kind, path))
        for key, value in new.given.items()
        if value is not None and value != [] and (path := tuple(key.split(".")))
    ]
    for each in (*given, *read_record_fields(kind, kind_words(kind), new.more)):
        if each.value is None:
            raise UsageError(f"{each.name} has no value; write one behind the sign")
        *holders, last = each.path
        holder = fields
        for step in holders:
            holder = holder.setdefault(step, {})
        if last in holder:
            raise UsageError(f"{each.name} is given twice; give it once")
        holder[last] = resolve(catalogue, each, fields).value
    return fields


def _add(
    catalogue: Catalogue,
    kind: str,
    new: NewRecord,
    fields: Mapping[str, Any],
    *,
    comment: str,
    stem: str | None = None,
    near: Sequence[str] = (),
) -> Edited:
    """Draft a new record in the file where it belongs, and judge it.

    Args:
        catalogue: the catalogue.
        kind: kind of record.
        new: what was said of it.
        fields: its fields.
        comment: what the head of a new file says.
        stem: name of a new file; None: the record's id.
        near: ids of the records whose file it goes into, if there are any.
    """
    record_id = _id(kind, new)
    known = catalogue.entries(kind)
    folded = {id_.lower(): id_ for id_ in (*known, *catalogue.failed[kind])}
    there = folded.get(record_id.lower())
    if there is not None:
        entry = known.get(there)
        if entry is not None and _says_all(entry, fields):
            return Edited.of(catalogue, there)
        place = catalogue.failed[kind][there] if entry is None else entry.span()
        raise UsageError(
            f"there is {kind_words(kind)} {there} already, at {place}; change it: fitcheck edit "
            f"{there} ..., or give this one another --id"
        )
    draft = _target(catalogue, kind, stem or record_id, near, comment)
    after = next((id_ for id_ in reversed(draft.ids) if id_ in near), None)
    draft.add_record(record_id, fields, after=after)
    return judge(catalogue, record_id, draft, loud=[], notes=[])


def _id(kind: str, new: NewRecord) -> str:
    if new.record_id is not None and not is_id(new.record_id):
        message, advice, _ = bad_id_words(new.record_id)
        raise UsageError(f"{message}; {advice}")
    made = new.record_id or id_of_name(re.sub("['\N{RIGHT SINGLE QUOTATION MARK}]", "", new.name))
    if not is_id(made):
        raise UsageError(f"{new.name[:60]!r} makes no id; give {kind_words(kind)} one with --id")
    return made


def _says_all(entry: Entry[Any], fields: Mapping[str, Any]) -> bool:
    """Whether a record says already what was said."""
    node = entry.source.node(entry.document_path())
    return _holds(getattr(node, "value", {}), plain_data(fields))


def _holds(there: Any, said: Any) -> bool:
    if isinstance(said, dict) and isinstance(there, dict):
        return all(name in there and _holds(there[name], each) for name, each in said.items())
    return same(said, there)


def _target(catalogue: Catalogue, kind: str, stem: str, near: Sequence[str], comment: str) -> Draft:
    """The file that a new record goes into, or a new one in the folder of its kind.

    That is the file with most records of `near`, else one that holds several of the kind or is
    named by it.

    Raises:
        UsageError: there is no place for one.
        EditError: the file has changed since the catalogue was read.
    """
    entries, folder = catalogue.entries(kind), FIELDS[kind]
    held = Counter(entries[id_].source.path for id_ in near)
    if not held:
        every = Counter(entry.source.path for entry in entries.values())
        many = 1 if kind != "machine" else len(entries)
        held = Counter(
            {path: n for path, n in every.items() if n > many or Path(path).stem == folder}
        )
    if held:
        chosen = held.most_common(1)[0][0]
        return draft_of(next(each for each in entries.values() if each.source.path == chosen))
    root = catalogue.root
    if not root.is_dir():
        raise UsageError(
            f"{shown_path(root)} is one file; name the folder of the catalogue with --catalog"
        )
    path = root / folder / f"{stem}.yaml"
    if not path.exists():
        return new_file(path, kind, comment=comment)
    draft = open_draft(path)
    if draft.kind != kind:
        raise UsageError(f"{draft.shown} is there, and holds no {folder}; move it away")
    return draft
