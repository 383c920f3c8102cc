"""Which factory trains explain the counts, on screen."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from rich.console import Console
from rich.text import Text

from fitcheck.kernel.gearing import overall_reduction
from fitcheck.kernel.teeth import Pair
from fitcheck.report.figures import decimal_text
from fitcheck.report.screen import wrapped
from fitcheck.services.identify import Candidate, Slip

__all__ = ["TITLES", "print_candidates"]

TITLES = {
    Slip.EXACT: "These counts exactly",
    Slip.OTHER_WHEEL: "These counts, but for another wheel size",
    Slip.MISCOUNT: "With one tooth miscounted",
    Slip.STAGES_SWAPPED: "With the stages swapped",
    Slip.WHEELS_SWAPPED: "With wheels paired to the wrong pinions",
    Slip.GEARS_REGROUPED: "With the figures grouped otherwise",
    Slip.PART_COUNTED: "With only some stages counted",
    Slip.REGEARED: "A factory train already changed in one stage",
}


def print_candidates(out: Console, pairs: Sequence[Pair], found: Sequence[Candidate]) -> None:
    """Print the answer of `identify`, most likely first."""
    counted = ", ".join(map(str, pairs))
    reduction = decimal_text(overall_reduction(pairs), 4)
    out.print(Text(f"Counted {counted}, overall reduction {reduction}", style="bold"))
    if not found:
        words = (
            "No factory train on file explains these counts. Mark one tooth with paint, count "
            "round, and write the figures of one stage together, pinion first."
        )
        out.print(Text("\n".join(wrapped(words, out.width, ""))))
        return
    for slip, group in groupby(found, key=lambda one: one.slip):
        out.print()
        out.print(Text(TITLES[slip], style="green" if slip is Slip.EXACT else "yellow"))
        for one in group:
            _print_candidate(out, one)


def _print_candidate(out: Console, one: Candidate) -> None:
    train, family = one.factory_train, one.family.record
    housing = family.housings.get(train.housing)
    name = housing.name if housing is not None else train.housing
    pairs = ", ".join(str(pair) for pair in train.pairs.values())
    line = Text("  ")
    line.append(f"{family.name} ({one.family.id})", style="bold")
    line.append(f", {name} ({train.housing}), {train.wheel_size_in} in wheel: {pairs}")
    out.print(line)
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
        out.print(Text("\n".join(wrapped(detail, out.width, "    "))))
    out.print(Text(f"    {one.place}", style="dim"))
