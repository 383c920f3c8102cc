"""Which factory trains explain the counts, on screen."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from fitcheck.kernel.gearing import overall_reduction
from fitcheck.kernel.rounding import decimal_text
from fitcheck.kernel.teeth import Pair
from fitcheck.screens.screen import Screen
from fitcheck.services.counter.identify import Candidate, Slip, with_wheel

TITLES = {
    Slip.EXACT: "These counts exactly",
    Slip.OTHER_WHEEL: "These counts, but for another wheel size",
    Slip.MISCOUNT: "With one tooth miscounted",
    Slip.STAGES_SWAPPED: "With the stages swapped",
    Slip.WHEELS_SWAPPED: "With wheels paired to the wrong pinions",
    Slip.GEARS_REGROUPED: "With the figures grouped otherwise",
    Slip.PART_COUNTED: "With only some stages counted",
    Slip.REGEARED: "A factory train already changed in one stage",
    Slip.DIGITS_SWAPPED: "With two digits of one count swapped",
    Slip.TWO_SLIPS: "Weak: the nearest trains on file, two slips away",
}


_COUNT_AGAIN = (
    "Mark one tooth with paint, count round, and write the figures of one stage together, pinion "
    "first."
)


def print_candidates(out: Screen, pairs: Sequence[Pair], found: Sequence[Candidate]) -> None:
    """Print the answer of `identify`, most likely first."""
    counted = ", ".join(map(str, pairs))
    reduction = decimal_text(overall_reduction(pairs), 4)
    out.paragraph(f"Counted {counted}, overall reduction {reduction}", style="bold")
    if not found:
        out.paragraph(f"No factory train on file explains these counts. {_COUNT_AGAIN}")
        return
    if found[0].slip is Slip.TWO_SLIPS:
        out.paragraph(
            "No factory train on file explains these counts by one slip. Count again before you "
            f"order: {_COUNT_AGAIN[0].lower()}{_COUNT_AGAIN[1:]}"
        )
    ready = with_wheel(found)
    for slip, group in groupby(found, key=lambda one: one.slip):
        out.line()
        style = {Slip.EXACT: "green", Slip.TWO_SLIPS: "dim"}.get(slip, "yellow")
        out.line(TITLES[slip], style)
        for one in group:
            _print_candidate(out, one)
            if one in ready:
                line = one.command if one.slip is Slip.EXACT else f"if so: {one.command}"
                out.paragraph(line, "    ")


def _print_candidate(out: Screen, one: Candidate) -> None:
    train, family = one.factory_train, one.family.record
    housing = family.housings.get(train.housing)
    name = housing.name if housing is not None else train.housing
    pairs = ", ".join(str(pair) for pair in train.pairs.values())
    head = f"{family.name} ({one.family.id})"
    words = f", {name} ({train.housing}), {train.wheel_size_in} in wheel: {pairs}"
    out.headed(head, words, "  ", "    ")
    details = []
    if train.models:
        details.append(f"sold as {', '.join(train.models)}")
    if one.slip is not Slip.EXACT:
        details.append(one.reading)
    if one.check:
        details.append(
            f"check {one.check}" if not one.check.startswith(("count", "write")) else one.check
        )
    for detail in details:
        out.paragraph(detail, "    ")
    out.line(f"    {one.place}", "dim")
