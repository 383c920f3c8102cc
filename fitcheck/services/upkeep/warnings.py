"""What to look at before a change of a gear set is written, and other teeth in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from math import prod

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.errors import UsageError
from fitcheck.kernel.rounding import decimal_text, percent
from fitcheck.kernel.teeth import Pair, TeethError, read_train
from fitcheck.model.fields import STAGES, Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.model.machine import Machine
from fitcheck.services.price_lists.entries import SupplierEntries
from fitcheck.services.upkeep.record_fields import Assignment
from fitcheck.services.upkeep.typed_values import is_jump

FOR_NOTHING = "a price of 0 gives it away, and nobody buys at it; leave out what is not known"
"""What is said of a price of nothing."""


def find_warnings(
    catalogue: Catalogue,
    entry: Entry[GearSet],
    changed: Entry[GearSet],
    assignments: Sequence[Assignment],
) -> list[str]:
    """What to look at: other teeth, another number, a jump of the price, a sentence each.

    Args:
        catalogue: the catalogue as it is.
        entry: the set as it is.
        changed: the set as it will be.
        assignments: what is to change.
    """
    said: list[str] = []
    record = entry.record
    pairs = _new_pairs(entry, assignments)
    if pairs != dict(record.pairs):
        said += _other_teeth(catalogue, entry, pairs)
    for each in assignments:
        if each.name == "part_number" and each.value not in (None, record.part_number):
            said.append(f"{entry.id} was number {record.part_number}, and is {each.value} now")
            other = SupplierEntries(catalogue, record.supplier).find(each.value)
            if other is not None and other.id != entry.id:
                said.append(f"that is the number of {other.id} too")
        if each.name == "price":
            same = changed.record.currency == record.currency
            said += _other_price(record.price, each.value, same_currency=same)
            held = catalogue.shelf.get(entry.id)
            if held is not None and held.record.price not in (None, each.value):
                said.append(
                    f"the shop still asks its own price of {held.record.price}; fitcheck shelf "
                    "price changes that"
                )
        if each.name == "status" and record.status == "retired":
            said.append(f"{entry.id} was retired, and is matched again from now on")
    return said + _other_currency(catalogue, entry, changed, assignments)


def _other_price(old: Decimal | None, new: Decimal | None, *, same_currency: bool) -> list[str]:
    """What to say of a price that goes, jumps or is nothing."""
    said = []
    if old is not None and new is None:
        said.append(f"the price was {old}, and is not known from now on")
    elif old and new is not None and same_currency and is_jump(old, new):
        said.append(f"the price was {old}, and is {new} now")
    if new == 0 and old != 0:
        said.append(FOR_NOTHING)
    return said


def _other_currency(
    catalogue: Catalogue,
    entry: Entry[GearSet],
    changed: Entry[GearSet],
    assignments: Sequence[Assignment],
) -> list[str]:
    """What amounts stay as they are and mean another sum from now on."""
    old, new = entry.record.currency, changed.record.currency
    if old == new:
        return []
    stale = []
    if entry.record.price is not None and all(each.name != "price" for each in assignments):
        stale.append(f"the price of {entry.record.price}")
    held = catalogue.shelf.get(entry.id)
    amounts = {} if held is None else {"price": held.record.price, "cost": held.record.cost}
    stale += [
        f"the shelf's {name} of {amount}" for name, amount in amounts.items() if amount is not None
    ]
    counts = f"; {' and '.join(stale)} count as {new} from now on" if stale else ""
    return [f"the currency was {old}, and is {new} now{counts}"]


def _new_pairs(entry: Entry[GearSet], assignments: Sequence[Assignment]) -> dict[Stage, Pair]:
    pairs: dict[Stage, Pair] = dict(entry.record.pairs)
    for each in assignments:
        if each.path == ("pairs",):
            train = train_of(entry, each.value)
            pairs = {stage: train[stage] for stage in entry.record.stages}
    for each in assignments:
        if len(each.path) == 2 and each.path[0] == "pairs":
            stage = next(stage for stage in STAGES if stage == each.path[1])
            if each.value is None:
                pairs.pop(stage, None)
            else:
                pairs[stage] = each.value
    return pairs


def _other_teeth(
    catalogue: Catalogue, entry: Entry[GearSet], pairs: Mapping[Stage, Pair]
) -> list[str]:
    record = entry.record
    said = [
        f"OTHER TEETH: {stage} {record.pairs.get(stage, 'none')} becomes "
        f"{pairs.get(stage, 'none')}; count them on the part"
        for stage in STAGES
        if record.pairs.get(stage) != pairs.get(stage)
    ]
    if pairs:
        said.append(f"of {entry.id}: {change_words(record.pairs, pairs)}")
    stale = [stage for stage in record.geometry if record.pairs.get(stage) != pairs.get(stage)]
    if stale:
        said.append(f"the geometry of {' and '.join(stale)} was of the old teeth; look it over")
    if "pairs" in record.measured:
        said.append("the old teeth were counted in the shop (measured: pairs)")
    held = catalogue.shelf.get(entry.id)
    if held is not None and held.record.quantity:
        said.append(f"{held.record.quantity} on the shelf are taken for the new teeth from now on")
    return said


def train_of(entry: Entry[GearSet] | Entry[Machine], text: str | None) -> dict[Stage, Pair]:
    """A whole train given as text, by the stages the set has.

    Raises:
        UsageError: it is invalid, or of another count.
    """
    stages = entry.record.stages
    if text is None:
        raise UsageError(f"teeth: {entry.id} has teeth; give those of {or_list(stages)}")
    try:
        pairs = read_train(text)
    except TeethError as error:
        raise UsageError(f"teeth: {error}") from None
    if len(pairs) != len(stages):
        raise UsageError(
            f"teeth: {entry.id} holds {len(stages)} pair{'s' * (len(stages) != 1)} "
            f"({', '.join(stages)}), here are {len(pairs)}; name the stage: teeth.primary=15/40"
        )
    return dict(zip(stages, pairs, strict=True))


def teeth_words(pairs: Mapping[Stage, Pair]) -> str:
    """Such as `primary 15/40 and secondary 13/48`."""
    return " and ".join(f"{stage} {pair}" for stage, pair in pairs.items())


def pair_words(pairs: Mapping[Stage, Pair]) -> str:
    """Such as `primary 15/40, secondary 13/48`."""
    return ", ".join(f"{stage} {pair}" for stage, pair in pairs.items())


def change_words(old: Mapping[Stage, Pair], new: Mapping[Stage, Pair]) -> str:
    """What other teeth do, such as `road speed +2.5 %` where the stages are the same."""
    if old.keys() != new.keys():
        return "the stages are others"
    before, after = (
        prod((pair.reduction for pair in pairs.values()), start=Fraction(1)) for pairs in (old, new)
    )
    change = 100 * (before / after - 1)
    reduction = f"reduction {decimal_text(before, 3)} to {decimal_text(after, 3)}"
    return f"{reduction}, road speed {percent(change, (Fraction(0),), places=1)}"
