"""Short notes on a combination: what a counter hand would want to be told before ordering."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.gearing import overall_reduction, road_speed_change
from fitcheck.kernel.rounding import percent
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Judgement, Verdict
from fitcheck.rules.setting import plain_word
from fitcheck.services.counter.bands import BAND_WORDS
from fitcheck.services.counter.subject import Subject


def combination_notes(
    subject: Subject,
    sets: Sequence[Entry[GearSet]],
    judgement: Judgement,
    reduction: Fraction,
) -> tuple[str, ...]:
    """Notes in a fixed order: same teeth, filed elsewhere, open rules, factory, stock."""
    now = dict(zip(subject.stages, subject.pairs, strict=True))
    notes = [
        f"{entry.id} has the same teeth as now"
        for entry in sets
        if all(now.get(stage) == pair for stage, pair in entry.record.pairs.items())
    ]
    for entry in sets:
        elsewhere = filed_elsewhere(entry, subject)
        if elsewhere is not None:
            notes.append(f"{entry.id} filed under {elsewhere}")
    if judgement.verdict is Verdict.UNPROVEN:
        notes.append(f"open: {', '.join(judgement.weakest)}")
    elif judgement.verdict is Verdict.RULED_OUT:
        notes.append(f"ruled out: {', '.join(judgement.weakest)}")
    from_factory = factory_note(subject, reduction)
    if from_factory is not None:
        notes.append(from_factory)
    notes.extend(
        f"{entry.id} discontinued" for entry in sets if entry.record.availability == "discontinued"
    )
    return tuple(dict.fromkeys(notes))


def change_from_factory(subject: Subject, reduction: Fraction) -> Fraction | None:
    """Percent of road speed against the factory train, exact, with the tyre's change in it.

    None where the machine was not changed before, or its factory train is not certain.
    """
    factory = subject.factory_pairs
    if factory is None or overall_reduction(factory) == subject.reduction:
        return None
    return road_speed_change(
        overall_reduction(factory), reduction, Fraction(1), subject.roll_out_ratio
    )


def factory_note(subject: Subject, reduction: Fraction) -> str | None:
    """The change against the factory train, and how it stands to the band."""
    change = change_from_factory(subject, reduction)
    if change is None:
        return None
    band = subject.band
    if band is None:
        return f"{percent(change)} from the factory"
    verdict = BAND_WORDS[band.verdict(change)]
    return f"{percent(change, (band.low, band.high, band.stretch))} from the factory, {verdict}"


def filed_elsewhere(gear_set: Entry[GearSet], subject: Subject) -> str | None:
    """The model or wheel size a supplier files a set under, where it is not this machine's."""
    listing = gear_set.record.listed_for
    family = subject.family.record
    own = {plain_word(name) for name in (subject.family.id, family.name, *family.aliases)}
    for index in subject.possible_trains:
        own |= {plain_word(model) for model in family.factory_trains[index].models}
    strange = [model for model in listing.models if plain_word(model) not in own]
    wheel = listing.wheel_size_in
    other_wheel = wheel is not None and subject.wheel_size_in not in (None, wheel)
    if not other_wheel and (not strange or len(strange) < len(listing.models)):
        return None
    words = list(strange or listing.models)
    if wheel is not None and other_wheel:
        words.append(f"{wheel} in wheel")
    return ", ".join(words)


def questions(answers: Sequence[Answer]) -> list[str]:
    """What to measure or ask so that what is unproven becomes a fit or is ruled out."""
    return list(dict.fromkeys(one.measure for one in answers if one.measure is not None))


def also_needed(sets: Sequence[Entry[GearSet]]) -> list[str]:
    """What else goes into the parcel: gasket, seals, oil; each once."""
    return list(dict.fromkeys(need for entry in sets for need in entry.record.also_needs))
