"""A list of 100,000 rows taken in, and 100,000 model words matched, in one run.

    python -m tests.bench.intake [--rows 100000] [--words 100000] [--write 2000] [--seed 1]

The list is a CSV file in Windows-1252 with unique names and free text, half of its models messy.
Reading and planning are timed apart, by clock and by processor, with the greatest memory of the
process. Words are those of a list with noise in case, separators, one letter in ten of three, and
suffixes, against 2,000 names; beside it the library's own default scorer on a part of them,
extrapolated, as the ratio to aim by. Trust the ratios further than the times.
"""

from __future__ import annotations

import argparse
import csv
import random
import resource
import shutil
import string
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from rapidfuzz import process

if not __package__:
    sys.path.insert(0, str(Path(__file__).parents[2]))

from fitcheck.catalogue.reader import load
from fitcheck.services.price_lists.name_book import NameBook
from fitcheck.services.price_lists.names import Names
from fitcheck.services.price_lists.plan import plan_list
from fitcheck.services.price_lists.reading import read_list
from fitcheck.services.price_lists.writing import edits_of

ROOT = Path(__file__).parents[2]
SYLLABLES = [
    "ba",
    "be",
    "bi",
    "bo",
    "bu",
    "ka",
    "ke",
    "ki",
    "ko",
    "la",
    "le",
    "li",
    "lo",
    "ma",
    "me",
    "mi",
    "mo",
    "na",
    "ne",
    "ni",
    "ra",
    "re",
    "ri",
    "ro",
    "sa",
    "se",
    "si",
]
MODELS = (
    "Dunlin Ten",
    "DUNLIN TWELVE",
    "Sanderling Dash",
    "Sanderling 50",
    "Whimbrel Fjord, Whimbrel Moor",
    "Snipe Classic",
    "Dunlinn Ten",
    "Turnstone 70 (kurzes Gehäuse)",
    "Curlew Fen 4T",
    "Ibis 125",
    "Godwit Bar",
)


@contextmanager
def timed(what: str) -> Iterator[dict[str, float]]:
    """Print clock and processor seconds of a block."""
    told: dict[str, float] = {}
    clock, cpu = time.perf_counter(), time.process_time()
    yield told
    told["clock"], told["cpu"] = time.perf_counter() - clock, time.process_time() - cpu
    print(f"{what:<44} {told['clock']:8.2f} s  {told['cpu']:8.2f} s of the processor")


def peak_mb() -> float:
    """Greatest memory of this process so far, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def write_list(path: Path, rows: int, rng: random.Random) -> None:
    """A supplier's list of so many articles."""
    head = [
        "Codice",
        "Descrizione",
        "Denti",
        "Stadio",
        "Modello",
        "Ruota",
        "Prezzo",
        "Disponibilità",
    ]
    with path.open("w", newline="", encoding="cp1252") as file:
        writer = csv.writer(file, delimiter=";")
        writer.writerows([["Listino 2026"], [], head])
        for at in range(rows):
            driver, driven = rng.randint(10, 22), rng.randint(38, 60)
            model = rng.choice(MODELS)
            if rng.random() < 0.5:
                model += " " + "".join(rng.choices("abcdefghij", k=3))
            writer.writerow(
                [
                    f"K{at:06d}",
                    f"Coppia ingranaggi K{at:06d} Z={driver}/{driven}",
                    f"{driver}/{driven}",
                    rng.choice(["primaria", "secondaria"]),
                    model,
                    rng.choice(["10", "12", ""]),
                    f"{rng.randint(20, 150)},{rng.randint(0, 99):02d} €",
                    rng.choice(["disponibile", "su ordinazione", "5 pz"]),
                ]
            )


def lists(rows: int, written: int, rng: random.Random) -> None:
    """Read, plan and, of a shorter one, write."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.csv"
        write_list(path, rows, rng)
        catalogue = load(ROOT / "catalog")
        supplier = catalogue.suppliers["cordgrass"]
        print(f"{path.stat().st_size / 1e6:.1f} MB, {rows:,} articles; start {peak_mb():.0f} MB")
        with timed("reading") as reading:
            found = read_list(path)
        with timed("planning") as planning:
            plan = plan_list(catalogue, found, supplier)
        with timed("proving that the rows add up"):
            print(plan.proof(found.row_count))
        total = reading["clock"] + planning["clock"]
        print(f"together {total:.1f} s, greatest memory {peak_mb():.0f} MB")
        shop = Path(folder) / "shop"
        shutil.copytree(ROOT / "catalog", shop)
        write_list(path, written, rng)
        catalogue = load(shop)
        found = read_list(path)
        plan = plan_list(catalogue, found, catalogue.suppliers["cordgrass"])
        with timed(f"writing {plan.counts['new']:,} new entries"):
            edits_of(catalogue, plan).save()
        catalogue = load(shop)
        with timed("planning the same list again"):
            plan = plan_list(catalogue, found, catalogue.suppliers["cordgrass"])
        assert plan.counts["new"] == plan.counts["changed"] == 0


def names_and_words(
    count: int, rng: random.Random
) -> tuple[list[tuple[str, str, bool]], list[str]]:
    """2,000 names, each of a family, and words made of them with noise."""
    names = []
    for at in range(2000):
        stem = "".join(rng.choices(SYLLABLES, k=rng.randint(2, 4))).title()
        size = rng.choice(["50", "70", "100", "125", "200"])
        model = rng.choice(["Sport", "Cargo", "Tour", "Street", "City"])
        names.append((f"{stem} {size} {model}", f"{stem}-{size}-{at}".lower(), True))
    words = []
    for _ in range(count):
        word = rng.choice(names)[0]
        if rng.random() < 0.3:
            at = rng.randrange(len(word))
            word = word[:at] + rng.choice(string.ascii_lowercase) + word[at + 1 :]
        if rng.random() < 0.2:
            word += rng.choice([" 2T", " 50cc", " (short case)", " ab 2012"])
        word = word.replace(" ", rng.choice([" ", "-", "_", ""]))
        words.append(word.upper() if rng.random() < 0.5 else word)
    return names, words


def words(count: int, rng: random.Random) -> None:
    """Match words in bulk, and a few of them as the library would by itself."""
    names, asked = names_and_words(count, rng)
    nominal = {family: frozenset({family.split("-")[1]}) for _, family, _ in names}
    with timed("an index of 2,000 names"):
        matching = Names(NameBook(names, nominal))
    with timed(f"{count:,} words matched") as ours:
        found = {word: matching.match_word(word) for word in asked}
    answers = [found[word].answer for word in asked]
    shares = ", ".join(f"{name} {answers.count(name):,}" for name in ("accepted", "review", "none"))
    print(f"{len(found):,} different words; {shares}")
    few = asked[:: max(len(asked) // 300, 1)][:300]
    shown = [name for name, _, _ in names]
    with timed(f"{len(few)} words by the library's default") as theirs:
        for word in few:
            process.extractOne(word, shown)
    all_of_them = theirs["cpu"] / len(few) * count
    ratio = all_of_them / ours["cpu"]
    print(f"all of them so: {all_of_them:.0f} s; {ratio:.0f} times as long (extrapolated)")


def main() -> None:
    """Run both."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=100_000)
    parser.add_argument("--words", type=int, default=100_000)
    parser.add_argument("--write", type=int, default=2_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    lists(given.rows, given.write, random.Random(given.seed))
    words(given.words, random.Random(given.seed))


if __name__ == "__main__":
    main()
