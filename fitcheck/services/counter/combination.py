"""One combination of gear sets: what it changes, how it fits, what it costs, what else to know."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.gearing import overall_reduction, reduction_change, road_speed_change
from fitcheck.kernel.rounding import percent
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import STAGES, Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import least_places
from fitcheck.rules.answers import Answer, Judgement, Verdict, judge
from fitcheck.rules.fit import set_answers
from fitcheck.rules.setting import plain_word
from fitcheck.services.counter.choices import JudgedSet, Seats
from fitcheck.services.counter.offer import (
    AVAILABILITY,
    Availability,
    Margin,
    Offer,
    PriceFrom,
    price_of,
)
from fitcheck.services.counter.subject import BAND_WORDS, BandVerdict, Subject
from fitcheck.services.road.figures import ClassAnswer, RoadRow


@dataclass(frozen=True, slots=True)
class Combination:
    """One choice per stage, at least one of them a gear set.

    Attributes:
        rank: 1 for the first in the order asked for; equals share a rank: equal reductions, or
            where a figure of the road ranks, that figure rounded as `list_road` does.
        sets: the gear sets to buy, from input shaft to wheel.
        pairs: the resulting pairs by stage.
        changed: stages whose pair comes from a set.
        reduction: overall reduction, exact.
        road_speed_change: percent, exact.
        reduction_change: percent, exact.
        band: where the road-speed change lies against the tune's band.
        judgement: verdict of fit, evidence, and the rules it rests on.
        answers: every rule's answer.
        price: sum of what the shop asks for the sets, or None where one is unknown or currencies
            differ.
        currency: of the price.
        notes: what else to know, short.
        offers: each set as the shop sells it, in the order of `sets`.
        road: what it does on the road, where that is asked for.
        lawful: the class's answer, where that or the road is asked for and the class is known.
    """

    rank: int
    sets: tuple[Entry[GearSet], ...]
    pairs: dict[Stage, Pair]
    changed: tuple[Stage, ...]
    reduction: Fraction
    road_speed_change: Fraction
    reduction_change: Fraction
    band: BandVerdict
    judgement: Judgement
    answers: tuple[Answer, ...]
    price: Decimal | None
    currency: str | None
    notes: tuple[str, ...]
    offers: tuple[Offer, ...]
    road: RoadRow | None = None
    lawful: ClassAnswer | None = None

    def __repr__(self) -> str:
        return f"Combination({', '.join(self.words)})"

    @property
    def words(self) -> tuple[str, ...]:
        """Rank, sets, teeth, change of road speed, fit and price in a word each."""
        price = "price unknown"
        if self.price is not None and self.currency is not None:
            price = f"{self.price:.{least_places(self.currency)}f} {self.currency}"
        return (
            str(self.rank),
            " + ".join(entry.id for entry in self.sets),
            " ".join(map(str, self.pairs.values())),
            percent(self.road_speed_change),
            self.judgement.verdict.value,
            price,
        )

    @property
    def answers_by_set(self) -> dict[str | None, list[Answer]]:
        """The answers by the id of the set that gives them; None: a seat between two gears."""
        groups: dict[str | None, list[Answer]] = {}
        sets = iter(self.sets)
        current: str | None = None
        for answer in self.answers:
            if answer.rule == "family":  # the first rule that a set is asked
                current = next(sets).id
            # A seat between two gears has them for its subject; that inside a set has none.
            between = answer.rule == "idler-seat" and answer.subject
            groups.setdefault(None if between else current, []).append(answer)
        return groups

    @property
    def price_from(self) -> PriceFrom | None:
        """Whose price it is: the shelf's, the supplier's list, or some of both."""
        if self.price is None:
            return None
        sources = {offer.price_from for offer in self.offers}
        return sources.pop() if len(sources) == 1 else "both"

    @property
    def availability(self) -> Availability:
        """Where all its sets can be had: the least sure of their answers."""
        return max((offer.availability for offer in self.offers), key=AVAILABILITY.index)

    @property
    def orderable(self) -> bool:
        """Whether all its sets can be had now, on the shelf or from a supplier."""
        return all(offer.orderable for offer in self.offers)

    @property
    def pieces(self) -> int:
        """How many times the shelf holds all its sets together, as each is needed once."""
        return min(offer.quantity or 0 for offer in self.offers)

    @property
    def margin(self) -> Margin:
        """What the shop earns on it."""
        unknown = tuple(offer.set_id for offer in self.offers if offer.cost is None)
        cost = earned = share = None
        if not unknown and self.currency is not None:
            cost = sum((offer.cost for offer in self.offers if offer.cost is not None), Decimal(0))
        if self.price is not None and cost is not None:
            earned = self.price - cost
            share = Fraction(earned) / Fraction(self.price) * 100 if self.price else None
        return Margin(
            price=self.price, cost=cost, amount=earned, percent=share, cost_unknown=unknown
        )


def combine(subject: Subject, sets: Sequence[Entry[GearSet]]) -> Combination:
    """Put named sets together as one combination, keeping every stage none of them holds.

    Sets of stages this train lacks are judged, and change nothing.

    Raises:
        UsageError: two sets hold the same stage, or none is given.
    """
    if not sets:
        raise UsageError("name at least one gear set")
    sets = sorted(sets, key=lambda entry: STAGES.index(entry.record.stages[0]))
    holder: dict[Stage, Entry[GearSet]] = {}
    for entry in sets:
        for stage in entry.record.pairs:
            if holder.get(stage) is entry:
                raise UsageError(f"{entry.id} is named twice; name it once")
            if stage in holder:
                raise UsageError(
                    f"{holder[stage].id} and {entry.id} both hold the {stage} stage; name one"
                )
            holder[stage] = entry
    catalogue, setting = subject.catalogue, subject.setting
    judged = [JudgedSet.of(entry, set_answers(entry, setting), catalogue) for entry in sets]
    return combination_of(subject, judged, Seats(setting), rank=1)


def combination_of(
    subject: Subject,
    judged: Sequence[JudgedSet],
    seats: Seats,
    *,
    rank: int,
    road: RoadRow | None = None,
    lawful: ClassAnswer | None = None,
) -> Combination:
    """One combination of judged sets that fill the stages they hold.

    Args:
        subject: the machine.
        judged: the sets, from input shaft to wheel.
        seats: those between them and beside them.
        rank: its place in a list.
        road: what it does on the road, if that is asked.
        lawful: the class's answer, if that is asked.
    """
    sets = tuple(one.gear_set for one in judged)
    holder = {stage: entry for entry in sets for stage in entry.record.pairs}
    pairs = {
        stage: holder[stage].record.pairs[stage] if stage in holder else pair
        for stage, pair in zip(subject.stages, subject.pairs, strict=True)
    }
    reduction = overall_reduction(list(pairs.values()))
    change = road_speed_change(subject.reduction, reduction, Fraction(1), subject.roll_out_ratio)
    answers = tuple(_answers(subject, judged, holder, seats))
    judgement = judge(answers)
    offers = tuple(one.offer for one in judged)
    price, currency = price_of(offers)
    return Combination(
        rank=rank,
        sets=sets,
        pairs=pairs,
        changed=tuple(stage for stage in subject.stages if stage in holder),
        reduction=reduction,
        road_speed_change=change,
        reduction_change=reduction_change(subject.reduction, reduction),
        band=BandVerdict.NONE if subject.band is None else subject.band.verdict(change),
        judgement=judgement,
        answers=answers,
        price=price,
        currency=currency,
        notes=_combination_notes(subject, sets, judgement, reduction, offers),
        offers=offers,
        road=road,
        lawful=lawful,
    )


def _answers(
    subject: Subject,
    judged: Sequence[JudgedSet],
    holder: Mapping[Stage, Entry[GearSet]],
    seats: Seats,
) -> Iterable[Answer]:
    """What the sets answer by themselves, then the seats between two gears."""
    for one in judged:
        yield from one.answers
    for joint, (left, right) in enumerate(zip(subject.stages, subject.stages[1:], strict=False)):
        wheel, pinion = holder.get(left), holder.get(right)
        if wheel is not None and wheel is pinion:
            continue  # both gears come from one set, matched by its maker
        answer = seats.judge(wheel, pinion, joint)
        if answer is not None:
            yield answer


def _combination_notes(
    subject: Subject,
    sets: Sequence[Entry[GearSet]],
    judgement: Judgement,
    reduction: Fraction,
    offers: Sequence[Offer],
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
        f"{entry.id} discontinued{_left(offer)}"
        for entry, offer in zip(sets, offers, strict=True)
        if entry.record.availability == "discontinued"
    )
    return tuple(dict.fromkeys(notes))


def _left(offer: Offer) -> str:
    """How many pieces of a discontinued set lie here still."""
    return f", {offer.quantity} here" if offer.availability == "on-shelf" else ""


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
