"""What a checkout prints and writes for a long list of commands, to hold against another checkout.

    python tests/bench/outputs.py record FILE [--worlds 6]     # in each of two checkouts
    python tests/bench/outputs.py compare OLD NEW [--show 5]

A change that only moves code about must leave every line equal. Commands that write are run on a
copy of the demo, and the files they leave are recorded too. Times of day and hashes over them are
masked.
"""

from __future__ import annotations

import argparse
import difflib
import io
import json
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

FORMATS = ("table", "json", "csv", "markdown")
_TIMES = re.compile(
    r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)?|\b\d\d:\d\d:\d\d\b"
)
_HASHES = re.compile(r"\b[0-9a-f]{12,64}\b")


def main() -> None:
    """Record or compare."""
    parser = argparse.ArgumentParser(description=__doc__)
    doing = parser.add_subparsers(dest="doing", required=True)
    record = doing.add_parser("record")
    record.add_argument("file", type=Path)
    record.add_argument("--worlds", type=int, default=6)
    compare = doing.add_parser("compare")
    compare.add_argument("old", type=Path)
    compare.add_argument("new", type=Path)
    compare.add_argument("--show", type=int, default=5)
    given = parser.parse_args()
    if given.doing == "record":
        _record(given.file.absolute(), given.worlds)
    else:
        sys.exit(_compare(given.old, given.new, given.show))


def _record(file: Path, worlds: int) -> None:
    os.chdir(ROOT)
    os.environ |= {"COLUMNS": "100", "TZ": "UTC", "FITCHECK_BY": "till", "NO_COLOR": "1"}
    os.environ["FITCHECK_CATALOG"] = "catalog"
    with file.open("w", encoding="utf-8") as out, tempfile.TemporaryDirectory() as work:
        for words in _commands(Path(work), worlds):
            code, said, told = _run(words)
            shown = [word.replace(work, "WORK") for word in words]
            mask = [_mask(text.replace(work, "WORK")) for text in (said, told)]
            out.write(json.dumps([" ".join(shown), code, *mask]) + "\n")
        for path in sorted(Path(work).rglob("*")):
            if path.is_file() and path.suffix not in {".xlsx", ".png", ".lock"}:
                text = path.read_bytes().decode("utf-8", "replace")
                name = path.relative_to(work).as_posix()
                out.write(json.dumps([f"file {name}", 0, _mask(text), ""]) + "\n")


def _mask(text: str) -> str:
    return _HASHES.sub("HASH", _TIMES.sub("TIME", text))


def _run(words: list[str]) -> tuple[int, str, str]:
    from fitcheck.cli import main as command_line

    out, err = io.TextIOWrapper(io.BytesIO(), "utf-8"), io.TextIOWrapper(io.BytesIO(), "utf-8")
    sys.argv = ["fitcheck", *words]
    code = 0
    with redirect_stdout(out), redirect_stderr(err):
        try:
            command_line()
        except SystemExit as stop:
            code = stop.code if isinstance(stop.code, int) else 1
    for page in (out, err):
        page.flush()
    return code, *(page.buffer.getvalue().decode() for page in (out, err))  # type: ignore[attr-defined]


def _commands(work: Path, worlds: int) -> Iterator[list[str]]:
    from fitcheck import load

    demo = load("catalog")
    yield from _of_help()
    for count, id_ in enumerate(demo.machines):
        yield from _of_machine(id_, demo, FORMATS if count % 4 == 0 else ("table", "json"))
        if count % 5 == 0:
            yield ["sheet", id_, "--date", "2026-12-01", "-o", "-", "--quote", "A"]
    for id_ in demo.families:
        for form in FORMATS:
            yield ["options", id_, "--percent", "-20..40", "--top", "4", "--format", form]
        yield ["options", id_, "--road", "--lawful", "--top", "3", "--format", "json"]
        train = demo.families[id_].record.factory_trains[:1]
        for form in FORMATS:
            counted = [str(pair) for each in train for pair in each.pairs.values()]
            yield ["identify", *counted, "--format", form]
    for words in (
        ["list"],
        ["list", "--low", "2"],
        ["history"],
        ["gaps"],
        ["plan", "--budget", "300"],
    ):
        for form in FORMATS:
            yield ["shelf", *words, "--format", form]
    for folder in ("catalog", "tests/data/faulty-catalog", "tests/data/sample-catalog"):
        for form in ("text", "jsonl", "sarif", "annotations"):
            yield ["check", folder, "--format", form]
    yield ["schema", "--compare", "schemas"]
    yield from _of_worlds(work, worlds)
    yield from _that_write(work)


def _of_help() -> Iterator[list[str]]:
    commands = (
        "match,why,road,sheet,identify,options,intake,add,add set,edit,retire,shelf,shelf list,"
        "shelf receive,shelf issue,shelf count,shelf place,shelf price,shelf history,shelf gaps,"
        "shelf plan,check,schema"
    )
    for words in ("", *commands.split(",")):
        yield [*words.split(), "--help"]


def _of_machine(id_: str, demo: object, formats: tuple[str, ...]) -> Iterator[list[str]]:
    from fitcheck import Request, match, subject_of

    found = match(subject_of(demo, id_), Request(top=3, band="any"))  # type: ignore[arg-type]
    for form in formats:
        yield ["match", id_, "--format", form]
        yield ["match", id_, "--band", "any", "--all", "--top", "9", "--margins", "--format", form]
        yield ["match", id_, "--band", "any", "--road", "--lawful", "--top", "4", "--format", form]
    for one in found.combinations[:2]:
        sets = [entry.id for entry in one.sets]
        for form in formats:
            yield ["why", id_, *sets, *(["--format", form] if form in {"table", "json"} else [])]
            yield ["road", id_, "+".join(sets), "--format", form]


def _of_worlds(work: Path, worlds: int) -> Iterator[list[str]]:
    from fitcheck import load
    from tests.second_opinion.worlds import build

    for seed in range(900, 900 + worlds):
        folder = work / f"world-{seed}"
        build(seed, folder, 1)
        catalogue = load(folder)
        at = ["--catalog", str(folder)]
        for id_ in catalogue.machines:
            for form in ("table", "json"):
                yield ["match", id_, "--band", "any", "--all", *at, "--format", form]
                yield ["match", id_, "--percent", "-15..25", "--proven-only", *at, "--format", form]
            for set_id in list(catalogue.gear_sets)[::5]:
                yield ["why", id_, set_id, *at, "--format", "json"]
        for id_ in catalogue.families:
            yield ["options", id_, "--band", "any", "--top", "9", *at, "--format", "json"]
        yield ["check", str(folder)]


def _that_write(work: Path) -> Iterator[list[str]]:
    shop = work / "shop"
    shutil.copytree("catalog", shop)
    at = ["--catalog", str(shop)]
    asked = ["--review", str(work / "review.yaml"), "--date", "2026-12-01"]
    lists = sorted(Path("tests/data/lists").glob("*.[cx][sl]*"))
    for path in lists:
        for form in FORMATS:
            yield [
                "intake",
                str(path),
                "--supplier",
                "arrowgrass",
                *at,
                "--format",
                form,
                "--date",
                "2026-12-01",
            ]
        yield ["intake", str(path), "--supplier", "arrowgrass", *at, *asked, "--diff"]
    yield [
        "intake",
        str(lists[0]),
        "--supplier",
        "arrowgrass",
        *at,
        "--date",
        "2026-12-01",
        "--write",
        "--save-mapping",
    ]
    for words in (
        "shelf receive MA-1545 3 --cost 30 --place drawer-z",
        "shelf issue MA-1545 1 --reason sold",
        "shelf place MA-1545 shelf-9 --format json",
        "shelf price MA-1545 88.50",
        "shelf history MA-1545 --format json",
        "shelf count",
        "edit MA-1545 price=71.25 notes=tried --write",
        "retire MA-1546 --reason gone --write",
        (
            "add set --supplier marram --part-number 99-1 --teeth 15/41 --stage primary "
            "--family dunlin-50 --price 58.90 --source-date 2026-12-01 --write"
        ),
        "check",
    ):
        yield [*words.split(), *(at if words != "check" else [str(shop)])]


def _compare(old: Path, new: Path, show: int) -> int:
    sides = [
        {line[0]: line[1:] for line in map(json.loads, file.read_text("utf-8").splitlines())}
        for file in (old, new)
    ]
    differing = [
        name for name in {**sides[0], **sides[1]} if sides[0].get(name) != sides[1].get(name)
    ]
    for name in differing[:show]:
        print(f"\n== {name}")
        texts = [
            json.dumps(side.get(name), indent=0).replace("\\n", "\n").splitlines() for side in sides
        ]
        print("\n".join(list(difflib.unified_diff(*texts, lineterm="", n=1))[:30]))
    print(f"\n{len(differing)} of {len({**sides[0], **sides[1]})} differ")
    return int(bool(differing))


if __name__ == "__main__":
    main()
