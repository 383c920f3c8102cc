"""The truth of lists that nobody wrote for the readers, and what a plan makes of it.

`tests/data/unseen-lists/codes.md` says what the truth looks like.
"""

from __future__ import annotations

import json
import os
import re
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal

from fitcheck.catalogue.reader import Catalogue
from fitcheck.services.price_lists.outcomes import Plan, RowOutcome

DATA = Path(
    os.environ.get("FITCHECK_UNSEEN_LISTS", Path(__file__).parents[1] / "data" / "unseen-lists")
)
STAGES = {"p": "primary", "s": "secondary", "t": "tertiary"}
_FAMILIES = json.loads((DATA / "families.json").read_text(encoding="utf-8"))
FAMILIES = {letter: each["id"] for letter, each in _FAMILIES.items()}
# Words of the lists that stand for a family, so that the names' own reader is not its own judge.
WORDS = {letter: tuple(each["words"]) for letter, each in _FAMILIES.items()}
ACCEPTED = ("new", "changed", "unchanged")

Kind = Literal["accept", "either", "ask", "other", "none"]
KINDS: dict[str, Kind] = {"~": "either", "?": "ask", "o": "other", "n": "none"}


# ------------------------------------------------------------------ the truth


@dataclass(frozen=True)
class Said:
    """What a row says of an article: of the truth, or as it was accepted."""

    pairs: Mapping[str, str]
    families: frozenset[str]
    price: Decimal | None
    housings: frozenset[str]
    discontinued: bool
    currency: str = "EUR"

    def __str__(self) -> str:
        pairs = " ".join(f"{stage} {pair}" for stage, pair in self.pairs.items())
        fits = " ".join(["+".join(sorted(self.families)), "+".join(sorted(self.housings))])
        return f"{pairs}; {fits.strip()}; {self.price}" + "; discontinued" * self.discontinued


@dataclass(frozen=True)
class Truth:
    """What is right for one row."""

    code: str
    kind: Kind
    articles: tuple[Said, ...]
    tag: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Listed:
    """One list with its truth: row address to what is right for it."""

    path: Path
    supplier: str
    columns: Mapping[str, str]
    encoding: str | None
    gone: int
    rows: Mapping[str, Truth]


def read_lists(folder: str) -> list[Listed]:
    """The lists of `traps` or `ordinary`, in the order of their truth."""
    found = json.loads((DATA / folder / "truth.json").read_text(encoding="utf-8"))
    return [
        Listed(
            DATA / folder / name,
            each["supplier"],
            each["columns"],
            each.get("encoding"),
            each.get("gone", 0),
            {address: _truth(**row) for address, row in each["rows"].items()},
        )
        for name, each in found.items()
    ]


def _truth(code: str, tag: str, cells: Sequence[str], notes: Sequence[str] = ()) -> Truth:
    kind = KINDS.get(code[0], "accept")
    parts = [] if kind in ("other", "none") else re.split(r"\s*\bOR\b\s*", code)
    articles = tuple(_article(part) for each in parts if (part := each.lstrip("?~")))
    return Truth(code, kind, articles, tag, (*cells, *notes))


def _article(code: str) -> Said:
    pairs, families, price, housings, *rest = code.split(";")
    return Said(
        {STAGES[each[0]]: each[1:] for each in pairs.split()},
        frozenset(families),
        Decimal(price) if price else None,
        frozenset(filter(None, housings.split("+"))),
        rest == ["discontinued"],
    )


def said_of(fields: Mapping[str, Any]) -> Said:
    """What was accepted, from the fields of a new entry or of a record."""
    letters = {id_: letter for letter, id_ in FAMILIES.items()}
    fits = fields.get("fits") or ()
    families = {letters[claim["family"]] for claim in fits}
    for model in (fields.get("listed_for") or {}).get("models") or ():
        plain = re.sub(r"[^a-z0-9]", "", model.lower())
        families |= {key for key, words in WORDS.items() if any(word in plain for word in words)}
    price = fields.get("price")
    return Said(
        {stage: str(pair) for stage, pair in (fields.get("pairs") or {}).items()},
        frozenset(families),
        None if price is None else Decimal(str(price)),
        frozenset(housing for claim in fits for housing in claim.get("housings") or ()),
        fields.get("availability") == "discontinued",
        fields.get("currency") or "EUR",
    )


def compare(said: Said, truth: Said) -> tuple[list[str], list[str]]:
    """What is wrong, and what is only missing."""
    wrong = [
        name
        for name in ("pairs", "currency", "discontinued")
        if getattr(said, name) != getattr(truth, name)
    ]
    missing = []
    for name in ("families", "housings"):
        ours, theirs = getattr(said, name), getattr(truth, name)
        if ours != theirs:
            (missing if ours < theirs else wrong).append(name)
    if said.price != truth.price:
        (missing if said.price is None else wrong).append("price")
    return wrong, missing


# ------------------------------------------------------------------ figures


@dataclass(frozen=True)
class Wrong:
    """A row that was accepted wrongly."""

    file: str
    row: str
    why: str
    truth: Truth
    said: Said

    def __str__(self) -> str:
        cells = " | ".join(filter(None, self.truth.cells))
        return (
            f"{self.file} {self.row}: {self.why}; {self.truth.code} taken as {self.said}: {cells}"
        )


@dataclass
class Tally:
    """What became of the rows of one list, or of several.

    Attributes:
        rows: rows of the truth.
        accepted: rows accepted, rightly or not.
        incomplete: accepted rows that lack something their row says, and are right otherwise.
        must: rows that must be accepted.
        must_right: those of them accepted rightly and completely.
        questions: questions left open.
        wrong: rows accepted wrongly.
        other_goods: places of those of them that are other goods.
        lost: places of rows that are not in the plan, and of articles that were ignored.
        doubled: places of rows that are in the plan twice, or accepted as another row's set.
    """

    rows: int = 0
    accepted: int = 0
    incomplete: int = 0
    must: int = 0
    must_right: int = 0
    questions: int = 0
    wrong: list[Wrong] = field(default_factory=list)
    other_goods: list[str] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            *(a + b for a, b in zip(vars(self).values(), vars(other).values(), strict=True))
        )

    def line(self, name: str) -> str:
        """Its line of the table."""
        right = self.accepted - len(self.wrong)
        return (
            f"{name:28}{self.rows:6,}{self.accepted:10,}{len(self.wrong):7,}{self.incomplete:12,}"
            f"{_share(right, self.accepted):>11}{_share(self.must_right, self.must):>9}"
            f"{len(self.other_goods):13,}{self.questions:11,}"
            f"{len(self.lost):6,}{len(self.doubled):9,}"
        )


HEAD = (
    f"{'list':28}{'rows':>6}{'accepted':>10}{'wrong':>7}{'incomplete':>12}{'precision':>11}"
    f"{'recall':>9}{'other goods':>13}{'questions':>11}{'lost':>6}{'doubled':>9}"
)


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "-"


def judge(
    listed: Listed, plan: Plan, records: Catalogue | None = None, *, answered: bool = False
) -> Tally:
    """Hold a plan against the truth.

    Args:
        listed: the list.
        plan: what becomes of it.
        records: the catalogue after it was written; left out: the plan's own fields are judged.
        answered: whether a person has answered, so that rows to be asked about may be accepted.
    """
    file = listed.path.name
    tally = Tally(questions=len(plan.questions))
    sets: dict[str, list[str]] = defaultdict(list)
    times = Counter(row.address for row in plan.rows)
    tally.doubled += [f"{file} {address}" for address, count in times.items() if count > 1]
    by_address = {row.address: row for row in plan.rows}
    for address, truth in listed.rows.items():
        row, place = by_address.get(address), f"{file} {address}"
        tally.rows += 1
        tally.must += truth.kind == "accept"
        if row is None:
            # The blank rows at the end of a file are no rows of it.
            if truth.kind != "none" or truth.cells:
                tally.lost.append(place)
        elif row.outcome in ACCEPTED:
            tally.accepted += 1
            sets[row.set_id].append(place)
            if truth.kind == "other":
                tally.other_goods.append(place)
            _judge_accepted(tally, (file, row), truth, records, answered=answered)
        elif row.outcome == "ignored" and truth.kind in ("accept", "ask"):
            tally.lost.append(place)
    tally.doubled += [place for places in sets.values() for place in places[1:]]
    return tally


def _judge_accepted(
    tally: Tally,
    place: tuple[str, RowOutcome],
    truth: Truth,
    records: Catalogue | None,
    *,
    answered: bool,
) -> None:
    file, row = place
    fields = row.fields
    if records is not None:
        record = records.gear_sets[row.set_id].record
        fields = record.model_dump() | {"pairs": record.pairs}
    said = said_of(fields)
    whys = {"other": ["other goods"], "none": ["no article"], "ask": ["must be asked"]}
    if truth.kind in ("accept", "either") or (truth.kind == "ask" and answered and truth.articles):
        found = [compare(said, article) for article in truth.articles]
        wrong, missing = min(found, key=lambda each: (bool(each[0]), bool(each[1])))
    else:
        wrong, missing = whys[truth.kind], []
    if wrong:
        tally.wrong.append(Wrong(file, row.address, ", ".join(wrong), truth, said))
    elif missing:
        tally.incomplete += 1
    elif truth.kind == "accept":
        tally.must_right += 1
