"""Ids completed in the shell: those of the catalogue, however its files are written."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from fitcheck.catalogue.reader import FIELDS, load
from fitcheck.cli import completion
from fitcheck.cli.completion import ids_in_catalogue
from tests.bench.completion import write_catalogue
from tests.cli.conftest import ROOT, Run
from tests.conftest import table

DEMO = ROOT / "catalog"
KINDS = sorted(set(FIELDS) - {"shelf"})


@pytest.mark.parametrize("kind", KINDS)
def test_the_ids_are_those_of_the_catalogue(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(completion, "_ids_as_read")  # the demo is written plainly
    assert ids_in_catalogue(str(DEMO), kind, "") == set(load(str(DEMO)).entries(kind))


HEAD = "kind: tune\nrecords:\n"
STYLES = {
    "plain": HEAD + "  a-1:\n    name: A\n  a-2:\n    name: B\n",
    "without an end": HEAD + "  a-1:\n    name: A\n  a-2: {name: B}",
    "wide indent": HEAD + "      a-1:\n        name: A\n      a-2:\n        name: B\n",
    "Windows": (HEAD + "  a-1:\n    name: A\n\n  a-2:\n    name: B\n").replace("\n", "\r\n"),
    "a mark first": "\N{BYTE ORDER MARK}" + HEAD + "  a-1: {name: A}\n  a-2: {name: B}\n",
    "quoted": "kind: 'tune'\nrecords:\n  'a-1':\n    name: A\n  \"a-2\": # why\n    name: B\n",
    "comments": "# a\nkind: tune # b\n\nrecords: # c\n# d\n  # e\n\n  a-1: # f\n    name: A\n"
    "# g\n  a-2:\n    name: B\n  # a-3:\n",
    "kind last": "records:\n  a-1:\n    name: A\n  a-2:\n    name: B\nkind: tune\n",
    "brackets": "kind: tune\nrecords: {a-1: {name: A}, a-2: {name: B}}\n",
    "all in brackets": "{kind: tune, records: {a-1: {name: A}, a-2: {name: B}}}\n",
    "brackets over lines": HEAD + "  a-1: {name: A,\n  notes: B}\n  a-2:\n    name: B\n",
    "brackets on a line of their own": "kind: tune\nrecords:\n  {a-1: {name: A}, a-2: {name: B}}",
    "quoted top": "'kind': tune\n\"records\":\n  a-1:\n    name: A\n  a-2:\n    name: B\n",
    "space before the colon": HEAD + "  a-1 :\n    name: A\n  a-2:\n    name: B\n",
    "a long text": HEAD + "  a-1:\n    notes: |\n      a-8:\n      a-9:\n  a-2:\n    name: B\n",
    "a folded word": HEAD + "  a-1:\n    notes: one\n      a-9\n  a-2:\n    name: B\n",
    "spelt with an escape": HEAD + '  "a-\\u0031":\n    name: A\n  a-2:\n    name: B\n',
    "another kind": "kind: tyre\nrecords:\n  a-1:\n    name: A\n",
    "no records": "kind: tune\nrecords:\n",
    "nothing": "# to come\n",
}


@table(("style", "begun"), [(style, begun) for style in STYLES for begun in ("", "A-", "a-2", "b")])
def test_ids_are_found_as_a_reader_of_yaml_finds_them(
    style: str, begun: str, tmp_path: Path
) -> None:
    file = tmp_path / "t.yaml"
    file.write_bytes(STYLES[style].encode())
    whole = yaml.safe_load(STYLES[style]) or {}
    known = (whole.get("records") or {}) if whole.get("kind") == "tune" else {}
    wanted = {name for name in known if name.lower().startswith(begun.lower())}
    assert ids_in_catalogue(str(file), "tune", begun) == wanted


OFFERED = [
    ("match curlew-", "curlew-estuary curlew-fen"),
    ("match Curlew-f", "curlew-fen"),
    ("why dunlin-ten MA-1545 sa-107", "SA-107 SA-107-N"),
    ("road dunlin-ten MA-1545+sa-107-", "MA-1545+SA-107-N"),
    ("road --family dunlin-50 SA-107-", "SA-107-N"),
    ("sheet dunlin-ten sa-107-", "SA-107-N"),
    ("match --family dun", "dunlin-50"),
    ("match --tune pip", "pipe-only"),
    ("match --tyre m-140-6", "m-140-60-13"),
    ("match --new-tyre m-140-6", "m-140-60-13"),
    ("road dunlin-ten --class L1e-", "L1e-A L1e-B"),
    ("options dun", "dunlin-50"),
    ("options dunlin-50 --supplier sea", "sea-purslane seablite"),
    ("import list.csv --supplier mar", "marram"),
    ("add set --supplier mar", "marram"),
    ("edit sa-107-", "SA-107-N"),
    ("retire SA-107 --successor sa-107-", "SA-107-N"),
    ("shelf issue sa-107-", "SA-107-N"),
    ("shelf history sa-107-", "SA-107-N"),
    ("shelf list --supplier mar", "marram"),
    ("shelf gaps --family dun", "dunlin-50"),
    ("help tyr", "tyres"),
    ("help shelf pla", "place plan"),
    ("explain fc30", "FC301 FC302 FC303 FC304 FC305 FC306 FC307 FC308 FC309"),
    ("match --catalog tests/data/sample-catalog kest", "kestrel-lane-7"),
    ("match --catalog no-such-folder dunlin", ""),
]


def complete(run: Run, shell: str, typed: str, **env: str) -> list[str]:
    """What a shell is offered for the last word of a command line, in click's protocol."""
    words = typed.split(" ")
    at = words[-1] if shell == "fish" else str(len(words) - 1)
    env |= {"_FITCHECK_COMPLETE": f"{shell}_complete", "COMP_WORDS": typed, "COMP_CWORD": at}
    ran = run(env=env)
    assert (ran.code, ran.err) == (0, "")
    if shell == "zsh":
        kinds, values = ran.out.splitlines()[0::3], ran.out.splitlines()[1::3]
        return [value for kind, value in zip(kinds, values, strict=True) if kind == "plain"]
    return re.findall(r"^plain,([^\t\n]*)", ran.out, re.MULTILINE)


@table(
    ("shell", "typed", "offered"), [(s, *row) for s in ("bash", "zsh", "fish") for row in OFFERED]
)
def test_what_is_offered(run: Run, shell: str, typed: str, offered: str) -> None:
    assert complete(run, shell, f"fitcheck {typed}") == offered.split()


def test_a_file_is_offered_where_no_machine_begins_so(run: Run) -> None:
    env = {"_FITCHECK_COMPLETE": "bash_complete", "COMP_WORDS": "fitcheck match ./m"}
    assert run(env={**env, "COMP_CWORD": "2"}).out == "file,./m\n"


def test_a_large_catalogue_is_completed_without_being_read(
    tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    catalog = str(write_catalogue(tmp_path, 400))
    monkeypatch.delattr(completion, "_ids_as_read")
    offered = complete(run, "bash", "fitcheck edit MA-1545", FITCHECK_CATALOG=catalog)
    assert "MA-1545" in offered
    assert "MA-1545-1" in offered


@pytest.mark.parametrize(
    ("shell", "place"),
    [
        ("bash", ".local/share/bash-completion/completions/fitcheck"),
        ("zsh", ".zfunc/_fitcheck"),
        ("fish", ".config/fish/completions/fitcheck.fish"),
    ],
)
def test_the_script_is_printed_or_installed(
    run: Run, tmp_path: Path, shell: str, place: str
) -> None:
    home = {"HOME": str(tmp_path), "XDG_DATA_HOME": "", "XDG_CONFIG_HOME": "", "ZDOTDIR": ""}
    printed = run("completion", shell)
    assert printed.code == 0
    assert f"_FITCHECK_COMPLETE={shell}_complete" in printed.out
    installed = run("completion", shell, "--install", env=home)
    assert installed.code == 0
    assert Path(installed.out.strip()) == tmp_path / place
    assert (tmp_path / place).read_text(encoding="utf-8") == printed.out
    assert "a new shell has it" in installed.err
