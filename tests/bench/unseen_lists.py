"""What the import makes of lists written with their truth by somebody who had not read the readers.

    python -m tests.bench.unseen_lists [traps] [ordinary]

Lists full of traps are taken in twice: the file alone, and with the columns set right (a question
about a column answered, an encoding given, or the columns written into the supplier's file).
Ordinary lists come in two months: month 1 alone; after the answers of a person who knows the truth,
and written; then month 2, where no question may come again. `tests/data/unseen-lists/codes.md`
says what the truth looks like.
"""

from __future__ import annotations

import argparse
import datetime as dt
import json
import re
import shutil
import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path

if not __package__:
    sys.path.insert(0, str(Path(__file__).parents[2]))

from fitcheck.catalogue.reader import load
from fitcheck.errors import UsageError
from fitcheck.services.price_lists.outcomes import Plan
from fitcheck.services.price_lists.plan import plan_list
from fitcheck.services.price_lists.questions import NONE, Question
from fitcheck.services.price_lists.reading import read_list
from fitcheck.services.price_lists.review import read_answers, review_text
from fitcheck.services.price_lists.wording.amounts import AS_IT_STANDS, Price, apply_rule
from fitcheck.services.price_lists.writing import edits_of
from tests.bench.unseen_truth import (
    ACCEPTED,
    DATA,
    FAMILIES,
    HEAD,
    Listed,
    Tally,
    Truth,
    judge,
    read_lists,
)

DAYS = (dt.date(2026, 1, 12), dt.date(2026, 2, 9))
DECISIVE = ("part_number", "teeth", "models", "housing", "price", "stage")
MOST_ROUNDS = 5
WORD_QUESTIONS = ("model", "families", "housing-word", "stage-word")


# ------------------------------------------------------------------ a shop and its lists


class Shop:
    """A copy of the catalogue, and the lists that come to it.

    Args:
        folder: an empty folder for the copy and for the file of answers.
    """

    def __init__(self, folder: Path) -> None:
        self.root, self._answers = folder / "catalog", folder / "answers.yaml"
        shutil.copytree(DATA / "catalog", self.root)
        self.catalogue = load(self.root)

    def plan(
        self,
        listed: Listed,
        answers: Mapping[str, str] | None = None,
        *,
        encoding: str | None = None,
        month: int = 1,
    ) -> Plan:
        """The plan of a list; one without rows where the list is refused."""
        supplier = self.catalogue.suppliers[listed.supplier]
        name, date = f"{supplier.record.name} list", DAYS[month - 1]
        try:
            usual = getattr(supplier.record.list_mapping, "encoding", None)
            found = read_list(listed.path, encoding=encoding, usual_encoding=usual)
            plan = plan_list(
                self.catalogue, found, supplier, list_name=name, date=date, answers=answers
            )
        except UsageError:
            return Plan(str(listed.path), name, supplier.id, date, rows=())
        plan.proof(found.row_count)
        return plan

    def accept(self, plan: Plan, answers: Mapping[str, str]) -> dict[str, str]:
        """Those answers that the file of questions takes, filled in as a person would."""
        parts = review_text(plan).split("\n    answer:\n")
        filled = [
            f"{part}\n    answer: {json.dumps(answers.get(key, ''), ensure_ascii=False)}\n"
            for part, key in zip(parts[:-1], plan.questions, strict=True)
        ]
        self._answers.write_text("".join(filled), encoding="utf-8")
        return read_answers(str(self._answers), self.catalogue, plan.supplier).given

    def write(self, plan: Plan, *, mapping: bool = False) -> None:
        """Carry a plan out."""
        edits_of(self.catalogue, plan, mapping=mapping).save()
        self.catalogue = load(self.root)

    def set_columns(self, listed: Listed) -> None:
        """Write the columns of a list into its supplier's file."""
        path = self.root / "suppliers" / f"{listed.supplier}.yaml"
        columns = json.dumps(listed.columns, ensure_ascii=False)
        text = path.read_text(encoding="utf-8").rstrip("\n")
        text += f"\n    list_mapping:\n      columns: {columns}\n"
        path.write_text(text, encoding="utf-8")
        self.catalogue = load(self.root)


def settle_columns(shop: Shop, listed: Listed) -> tuple[Plan, dict[str, str]]:
    """The plan after a user has set the columns right, and the answers given for it."""
    plan = shop.plan(listed, encoding=listed.encoding)
    wanted = {
        key: column
        for key, each in plan.questions.items()
        if each.asks == "column"
        and (column := listed.columns.get(each.about.split(":")[0])) in each.choices
    }
    answers = shop.accept(plan, wanted) if wanted else {}
    if answers:
        second = shop.plan(listed, answers, encoding=listed.encoding)
        if second.rows:
            plan = second
        else:
            answers = {}
    found = {
        column.field: column.heading
        for layout in plan.layouts
        if layout.found
        for column in layout.columns.values()
    }
    is_wrong = any(
        found.get(name) != heading for name, heading in listed.columns.items() if name in DECISIVE
    )
    if is_wrong or any(each.asks == "column" for each in plan.questions.values()):
        shop.set_columns(listed)
        return shop.plan(listed, encoding=listed.encoding), {}
    return plan, answers


def answers_of(plan: Plan, listed: Listed) -> dict[str, str]:
    """What a person who knows the truth answers to the questions of a plan, by key."""
    raised: dict[str, list[Truth]] = defaultdict(list)
    for row in plan.rows:
        if row.address in listed.rows:
            for key in row.questions:
                raised[key].append(listed.rows[row.address])
    found = {key: _answer(each, raised[key]) for key, each in plan.questions.items()}
    return {key: answer for key, answer in found.items() if answer is not None}


def _answer(question: Question, truths: Iterable[Truth]) -> str | None:
    """The answer to one question; None where the truth of its rows gives none."""
    goods = [each for each in truths if each.kind != "none"]
    known = [each.articles[0] for each in goods if each.articles]
    open_ = any(each.kind == "ask" and not each.articles for each in goods)
    if not goods or (open_ and question.asks not in WORD_QUESTIONS):
        return None
    if all(each.kind == "other" for each in goods):
        left_out = "left out" if "left out" in question.choices else None
        return {"row": left_out, "word": left_out, "teeth": NONE, "price": NONE}.get(question.asks)
    return _answer_for_article(question, goods) if known else None


def _price_rule(question: Question, truths: Iterable[Truth]) -> str | None:
    """The rule that makes the price of every row of one of the numbers in its cells."""
    for rule in question.choices:
        if rule != NONE and all(
            truth.articles[0].price in _prices_by(rule, truth) for truth in truths if truth.articles
        ):
            return rule
    return None


def _prices_by(rule: str, truth: Truth) -> set[Decimal]:
    written = re.findall(r"[0-9]+(?:[.,][0-9]+)?", " ".join(truth.cells))
    amounts = (Price(Decimal(each.replace(",", "."))) for each in written)
    return {apply_rule(rule, each).amount for each in amounts}


def _answer_for_article(question: Question, truths: Sequence[Truth]) -> str | None:
    known = [each.articles[0] for each in truths if each.articles]
    first, asks = known[0], question.asks
    if asks == "price" and AS_IT_STANDS in question.choices:
        return _price_rule(question, truths)
    families = sorted(first.families)
    one_family = FAMILIES[families[0]] if len(families) == 1 else None
    answers = {
        "model": (one_family, [each.families for each in known]),
        "families": ("all" if len(families) > 1 else one_family, []),
        "stage": (next(iter(first.pairs)), [tuple(each.pairs) for each in known]),
        "stage-word": (next(iter(first.pairs)), [tuple(each.pairs) for each in known]),
        "teeth": (", ".join(first.pairs.values()), known),
        "price": (NONE if first.price is None else str(first.price), [e.price for e in known]),
        "housing-word": (
            ", ".join(sorted(first.housings)) or NONE,
            [each.housings for each in known],
        ),
        "word": ("harmless", []),
        "row": ("as read" if "as read" in question.choices else None, []),
    }
    answer, of_rows = answers.get(asks, (None, []))
    agreed = len(known) == 1 if asks == "teeth" else all(e == of_rows[0] for e in of_rows)
    return answer if agreed else None


# ------------------------------------------------------------------ the runs


def trap_lists(folder: Path) -> Iterator[tuple[str, Tally, Tally]]:
    """Of each list with traps: its name, the file alone, and with its columns set right."""
    for listed in read_lists("traps"):
        shop = Shop(folder / listed.path.name)
        alone = judge(listed, shop.plan(listed))
        plan, _ = settle_columns(shop, listed)
        yield listed.path.name, alone, judge(listed, plan)


def ordinary_lists() -> Iterator[tuple[Listed, Listed]]:
    """Month 1 and month 2 of each ordinary list."""
    lists = read_lists("ordinary")
    yield from zip(lists[::2], lists[1::2], strict=True)


def run_months(
    folder: Path, first: Listed, second: Listed
) -> tuple[dict[str, Tally], Counter[str]]:
    """The tallies of both months of one list by step, and what else is counted."""
    shop, encoding = Shop(folder / first.supplier), first.encoding
    steps = {"month 1 alone": judge(first, shop.plan(first))}
    plan, answers = settle_columns(shop, first)
    refused: set[str] = set()
    for _ in range(MOST_ROUNDS):
        more = {
            key: answer
            for key, answer in answers_of(plan, first).items()
            if key not in answers and key not in refused
        }
        if not more:
            break
        taken = shop.accept(plan, more)
        refused |= more.keys() - taken.keys()
        answers |= taken
        plan = shop.plan(first, answers, encoding=encoding)
    shop.write(plan, mapping=True)
    steps["month 1 answered"] = judge(first, plan, shop.catalogue, answered=True)
    plan = shop.plan(second, encoding=encoding, month=2)
    shop.write(plan)
    steps["month 2"] = judge(second, plan, shop.catalogue, answered=True)
    again = shop.plan(second, encoding=encoding, month=2).counts
    counted = Counter(
        {
            "answers": len(answers),
            "answers refused": len(refused),
            "questions repeated": len(plan.questions.keys() & answers.keys()),
            "changes not as the truth": _changes_off(plan, second),
            "lists with other articles gone": len(plan.gone) != second.gone,
            "lists not unchanged when taken in again": again["new"] + again["changed"] > 0,
        }
    )
    return steps, counted


def _changes_off(plan: Plan, listed: Listed) -> int:
    """Accepted rows of month 2 that are new or changed where the truth says otherwise."""
    right = {"same": "unchanged", "price": "changed", "teeth": "changed", "new": "new"}
    tags = {address: truth.tag.partition(":") for address, truth in listed.rows.items()}
    return sum(
        row.outcome != right[tags[row.address][0]]
        for row in plan.rows
        if row.outcome in ACCEPTED and tags[row.address][1]
    )


def print_traps(folder: Path) -> None:
    """The table of the lists with traps, and the rows accepted wrongly."""
    print(HEAD)
    alone, settled = Tally(), Tally()
    for name, first, second in trap_lists(folder):
        print(first.line(f"{name}, alone"), second.line(f"{name}, columns"), sep="\n")
        alone, settled = alone + first, settled + second
    print(alone.line("all, alone"), settled.line("all, columns"), sep="\n")
    _print_faults("with the columns set right", settled)


def print_ordinary(folder: Path) -> None:
    """The table of the ordinary lists, and the rows accepted wrongly."""
    print(HEAD)
    totals: dict[str, Tally] = defaultdict(Tally)
    counts: Counter[str] = Counter()
    for first, second in ordinary_lists():
        steps, counted = run_months(folder, first, second)
        counts.update(counted)
        for step, tally in steps.items():
            print(tally.line(f"{first.supplier}, {step}"))
            totals[step] += tally
    for step, tally in totals.items():
        print(tally.line(f"all, {step}"))
    print(", ".join(f"{name} {count:,}" for name, count in counts.items()))
    for step, tally in totals.items():
        _print_faults(step, tally)


def _print_faults(step: str, tally: Tally) -> None:
    for what in ("wrong", "lost", "doubled"):
        for each in getattr(tally, what):
            print(f"{what} ({step}): {each}")


def main() -> None:
    """Run one part or both."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("parts", nargs="*", help="traps, ordinary; left out: both")
    parts = parser.parse_args().parts or ["traps", "ordinary"]
    with tempfile.TemporaryDirectory() as folder:
        if "traps" in parts:
            print_traps(Path(folder))
        if "ordinary" in parts:
            print_ordinary(Path(folder))


if __name__ == "__main__":
    main()
