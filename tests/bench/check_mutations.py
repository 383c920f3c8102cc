"""How many slips of a hand `fitcheck check` finds, and how many harmless edits it cries at.

    python -m tests.bench.check_mutations [--count 320] [--seed 7] [--without-sums] [--show]

Slips are made at random in the demo catalogue, one at a time, of the kinds that hands make; see
`tests.bench.slips` for what their labels mean.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.finding import Finding
from fitcheck.rules.checks import check
from fitcheck.services.upkeep.checking import lay_over
from tests.bench import slips_of_families, slips_of_form, slips_of_sets
from tests.bench.slips import Made, Mutation, World

KINDS: tuple[Callable[[World, random.Random], Made], ...] = (
    slips_of_sets.teeth_of_a_set,
    slips_of_sets.code_of_a_set,
    slips_of_families.code_of_a_family,
    slips_of_sets.date,
    slips_of_sets.price_by_ten,
    slips_of_sets.price_digit,
    slips_of_sets.cost,
    slips_of_form.lost_mark,
    slips_of_sets.wrong_housing,
    slips_of_sets.wrong_family,
    slips_of_sets.swapped_stage_of_a_set,
    slips_of_families.swapped_stages_of_a_train,
    slips_of_families.distance_of_a_family,
    slips_of_sets.geometry_of_a_set,
    slips_of_families.hand,
    slips_of_families.tip_limit,
    slips_of_form.deleted_line,
    slips_of_form.doubled_record,
    slips_of_form.misspelt_key,
    slips_of_form.indentation,
    slips_of_families.reference,
    slips_of_families.machine_counts,
    slips_of_families.train_teeth,
    slips_of_families.tune,
    slips_of_families.tyre,
    slips_of_families.figure_by_ten,
    slips_of_families.seat_of_a_machine,
    slips_of_families.currency,
    slips_of_families.answered_word,
    slips_of_sets.empty_list,
    slips_of_sets.lost_quotes,
    slips_of_form.comment_or_blank,
    slips_of_form.reordered,
    slips_of_form.same_otherwise,
    slips_of_form.further_alias,
    slips_of_families.seat_as_known,
)


@dataclass
class Verdict:
    """What the checks said of one mutation."""

    mutation: Mutation
    findings: list[Finding]
    on_line: bool

    @property
    def found(self) -> bool:
        """Whether anything new was reported."""
        return bool(self.findings)


class Exam:
    """A copy of the demo, checked once as it is, then with one mutation after the other."""

    def __init__(self, folder: Path, *, without_sums: bool = False) -> None:
        self.world = World(folder, without_sums=without_sums)
        self._known = Counter(each.fingerprint for each in check(self.world.catalogue))

    def judge(self, mutation: Mutation) -> Verdict:
        """Check the catalogue with a mutation in it."""
        mutation.path.write_text(mutation.text, encoding="utf-8")
        try:
            after = check(lay_over(self.world.catalogue, load(mutation.path)))
        finally:
            mutation.path.write_text(self.world.texts[mutation.path], encoding="utf-8")
        left = self._known.copy()
        fresh = []
        for finding in after:
            if left[finding.fingerprint] > 0:
                left[finding.fingerprint] -= 1
            else:
                fresh.append(finding)
        hit = any(
            (str(Path(f.span.path).resolve()), line) in mutation.lines
            for f in fresh
            for line in range(f.span.line, f.span.end_line + 1)
        )
        return Verdict(mutation, fresh, hit)


def mutations(world: World, count: int, seed: int) -> Iterator[Mutation]:
    """So many mutations, every kind in turn."""
    chance = random.Random(seed)
    made = 0
    while made < count:
        kind = KINDS[made % len(KINDS)]
        mutation = None
        while mutation is None:
            mutation = kind(world, chance)
        yield mutation
        made += 1


def summary(verdicts: Iterable[Verdict]) -> str:
    """A table by kind, and the sums."""
    rows: dict[str, Counter[str]] = {}
    for verdict in verdicts:
        row = rows.setdefault(verdict.mutation.kind, Counter())
        label = verdict.mutation.label
        row[label] += 1
        row[f"{label} found"] += verdict.found
        row["line"] += label == "wanted" and verdict.on_line
        severe = any(f.severity != "advice" for f in verdict.findings)
        row["advice"] += label == "wanted" and verdict.found and not severe
    total: Counter[str] = sum(rows.values(), Counter())
    columns = ("wanted", "wanted found", "line", "advice", "blind", "blind found")
    columns = (*columns, "harmless", "harmless found")
    out = [f"{'kind':<26}" + "".join(f"{name:>15}" for name in columns)]
    for kind, row in [*rows.items(), ("sum", total)]:
        out.append(f"{kind:<26}" + "".join(f"{row[name]:>15}" for name in columns))
    share = 100 * total["wanted found"] / max(1, total["wanted"])
    out.append(f"found {share:.1f} % of those wanted; {total['harmless found']} false alarms")
    return "\n".join(out)


def main() -> None:
    """Run the exam and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=320)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--without-sums", action="store_true", help="no set gives a shift sum")
    parser.add_argument("--show", action="store_true", help="show what was missed")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        exam = Exam(Path(folder), without_sums=given.without_sums)
        made = mutations(exam.world, given.count, given.seed)
        verdicts = [exam.judge(each) for each in made]
    for verdict in verdicts if given.show else ():
        mutation = verdict.mutation
        missed = mutation.label == "wanted" and not (verdict.found and verdict.on_line)
        if missed or (mutation.label == "harmless" and verdict.found):
            told = "; ".join(
                f"{f.severity} {f.code} {Path(f.span.path).name}:{f.span.line}"
                for f in verdict.findings[:4]
            )
            print(f"{mutation.label}: {mutation.kind}: {mutation.what}\n    {told or 'nothing'}")
    print(summary(verdicts))


if __name__ == "__main__":
    main()
