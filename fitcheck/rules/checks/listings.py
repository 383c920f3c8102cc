"""What a list files a set under, beside what it is stated to fit; and answers about its words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Finding
from fitcheck.diagnostics.suggest import digits_of, one_slip, or_list
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.checks.walks import active_sets, at, beside
from fitcheck.rules.setting import ListWords, plain_word

_LEAST_LETTERS = 4
"""In shorter words one slip makes another word too easily (judgement)."""

_STAGE_NAMES: Mapping[Stage, tuple[str, ...]] = {
    "primary": ("primary", "primar", "primaire", "primario"),
    "secondary": ("secondary", "sekundar", "secondaire", "secondario", "secundario"),
    "tertiary": ("tertiary", "tertiar", "tertiaire", "terziario", "terciario"),
}
"""Plain names of the stages in English, German, French, Italian and Spanish (common practice, no
source). Others, such as `final`, mean one stage in one list and another in the next."""

_WRITTEN_OUT = re.compile("ae|oe|ue")
"""German umlauts written as two letters."""


def listings(catalogue: Catalogue) -> Iterator[Finding]:
    """The listing's wheel size and model words go with a family the set is for."""
    words = ListWords.of(catalogue)
    wheels = {
        id_: {train.wheel_size_in for train in entry.record.factory_trains}
        for id_, entry in catalogue.families.items()
    }
    for entry in active_sets(catalogue):
        record = entry.record
        claimed = [c.family for c in record.fits if c.family in catalogue.families]
        models = record.listed_for.models
        listed = [words.families(word, record.supplier) or frozenset() for word in models]
        yield from _wheel(catalogue, entry, claimed, listed, wheels)
        if claimed and len(claimed) == len(record.fits):
            yield from _models(entry, claimed, listed)


def _wheel(
    catalogue: Catalogue,
    entry: Entry[GearSet],
    claimed: list[str],
    listed: list[frozenset[str]],
    wheels: dict[str, set[int]],
) -> Iterator[Finding]:
    size = entry.record.listed_for.wheel_size_in
    if size is None:
        return
    families = claimed or sorted(set().union(*listed))
    if not families or any(not wheels[each] or size in wheels[each] for each in families):
        return
    sizes = sorted(set().union(*(wheels[each] for each in families)))
    yield at(
        entry,
        "FC241",
        ("listed_for", "wheel_size_in"),
        f"listed for a {size} in wheel, but the factory wheel of "
        f"{or_list(dict.fromkeys(families))} is {or_list(map(str, sizes))} in",
        advice="look the wheel size up in the list, and whether the family is right",
        related=(
            beside(
                catalogue.families[families[0]],
                "factory_trains",
                label=f"the factory trains of {families[0]}",
                key=True,
            ),
        ),
    )


def _models(
    entry: Entry[GearSet], claimed: list[str], listed: list[frozenset[str]]
) -> Iterator[Finding]:
    # One word that agrees is enough: lists name every model they can think of.
    if any(families & set(claimed) for families in listed):
        return
    for index, families in enumerate(listed):
        if families:
            word = entry.record.listed_for.models[index]
            yield at(
                entry,
                "FC242",
                ("listed_for", "models", index),
                f"listed for {word}, which is {or_list(sorted(families))}, but stated to fit "
                f"{or_list(dict.fromkeys(claimed))}",
                advice="no fault where the gearboxes are known to take it; else look at the claim",
                related=(beside(entry, "fits", label="what it is said to fit", key=True),),
            )
            return


def stage_words(catalogue: Catalogue) -> Iterator[Finding]:
    """A supplier's word for a stage is no name of another, nor one of its words in other spelling.

    Two of its words are compared by accents, capitals and marks alone: a letter may tell the
    first stage from the last, as in `Antrieb` and `Abtrieb`.
    """
    for supplier in catalogue.suppliers.values():
        mapping = supplier.record.list_mapping
        given = {} if mapping is None else mapping.stage_words
        first: dict[str, str] = {}
        for word, stage in given.items():
            earlier = first.setdefault(_plain_spelling(word) or word, word)
            names = _named_stages(word)
            if given[earlier] != stage:
                what = f"“{earlier}” for {given[earlier]}: one word, spelled in two ways"
                there = beside(
                    supplier, "list_mapping", "stage_words", earlier, label="the other spelling"
                )
            elif names and stage not in names:
                what, there = f"is a word for {or_list(names)}", None
            else:
                continue
            yield at(
                supplier,
                "FC244",
                ("list_mapping", "stage_words", word),
                f"“{word}” stands for {stage}, but {what}",
                advice="look at a row of the list whose teeth are known, and correct the stage; no "
                "fault where the list names its stages so",
                related=() if there is None else (there,),
            )


def _plain_spelling(word: str) -> str:
    return _WRITTEN_OUT.sub(lambda found: found[0][0], plain_word(word))


def _named_stages(word: str) -> list[Stage]:
    """The stages whose name a word begins with, or would without one slip in its first part."""
    head = _plain_spelling(re.split(r"[\s./-]", word.strip())[0])
    return [
        stage
        for stage, names in _STAGE_NAMES.items()
        if head.startswith(names) or one_slip(head, names)
    ]


def answered_words(catalogue: Catalogue) -> Iterator[Finding]:
    """A model word answered for a supplier is no slip of one that its sets are listed for."""
    words = ListWords.of(catalogue)
    listed: dict[str, dict[str, tuple[Entry[GearSet], int]]] = {}
    for entry in catalogue.gear_sets.values():
        for index, word in enumerate(entry.record.listed_for.models):
            listed.setdefault(entry.record.supplier, {}).setdefault(
                plain_word(word), (entry, index)
            )
    for supplier in catalogue.suppliers.values():
        mapping = supplier.record.list_mapping
        theirs = listed.get(supplier.id, {})
        for word in mapping.model_words if mapping is not None else ():
            plain = plain_word(word)
            if plain in theirs or plain in words.of_families or len(plain) < _LEAST_LETTERS:
                continue
            for near in one_slip(plain, theirs):
                entry, index = theirs[near]
                meant = entry.record.listed_for.models[index]
                answered = words.families(meant, supplier.id) is not None
                if answered or digits_of(near) != digits_of(plain):
                    continue
                yield at(
                    supplier,
                    "FC243",
                    ("list_mapping", "model_words", word),
                    f"nothing of {supplier.id} is listed for “{word}”, but {entry.id} is for "
                    f"“{meant}”, which nobody has answered",
                    key=True,
                    advice=f"did you mean {meant}? no fault where the list has both",
                    related=(
                        beside(entry, "listed_for", "models", index, label="the word in the list"),
                    ),
                    suggestion=meant,
                )
                break
