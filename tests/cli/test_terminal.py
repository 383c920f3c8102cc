"""Terminals and pipes: broken, full, narrow, of few characters; and names that would steer them."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import sys
import time
from importlib import import_module
from pathlib import Path

import pytest

from fitcheck.catalogue import reader
from fitcheck.cli import common
from fitcheck.screens.screen import colour_wanted
from tests.cli.conftest import CLEAN, Ran
from tests.cli.watched import on_a_terminal, run_on_streams
from tests.conftest import EXPLORE, some

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "tests" / "data" / "sample-catalog"
DEMO = {"FITCHECK_CATALOG": str(ROOT / "catalog")}
ESCAPE = "\x1b"
COLOUR = re.compile(r"\x1b\[[0-9;]*m")

ANSWERS = [
    ["match", "dunlin-ten"],
    ["match", "dunlin-ten", "--format", "json"],
    ["match", "dunlin-ten", "--format", "csv"],
    ["match", "dunlin-ten", "--format", "markdown"],
    ["why", "dunlin-ten", "GW-20-108"],
    ["identify", "15/46", "14/55"],
    ["options", "dunlin-50", "--tune", "stock", "--top", "2"],
    ["check", "catalog"],
    ["check", "catalog", "--format", "jsonl"],
    ["schema", "machine"],
    ["--help"],
    ["match", "--help"],
    ["--version"],
]


# Output that cannot be written.

BROKEN_OFF = some(ANSWERS, 3)


def in_a_fork(words: list[str], out: int, err: Path) -> Ran:
    """Run a command line in a process of its own that has all modules already."""
    child = os.fork()
    if child == 0:  # pragma: no cover - the child
        try:
            os.dup2(out, 1)
            os.dup2(os.open(err, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 2)
            os.environ.update(DEMO)
            os._exit(run_on_streams(words))
        finally:
            os._exit(99)
    os.close(out)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    return Ran(code, "", err.read_text(encoding="utf-8"))


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs the device that is always full")
def test_a_full_device_is_one_line(program, tmp_path: Path) -> None:
    for words in BROKEN_OFF:
        ran = in_a_fork(words, os.open("/dev/full", os.O_WRONLY), tmp_path / "said")
        assert ran.code == 2, words
        lines = ran.err.splitlines()
        said = "fitcheck: the output cannot be written: No space left on device;"
        assert lines[-1].startswith(said), words
        # What was asked about may be told before.
        assert len(lines) == 1 or (len(lines) == 2 and words[0] == "check"), words
    alone = program(*ANSWERS[0], shell='"$@" >/dev/full', env=DEMO)
    assert (alone.returncode, alone.stderr.count(b"\n")) == (2, 1)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that fork")
def test_a_reader_that_leaves_is_no_fault(program, tmp_path: Path) -> None:
    for words in BROKEN_OFF:
        end, out = os.pipe()
        os.close(end)
        ran = in_a_fork(words, out, tmp_path / "said")
        assert ran.code == 141, words
        assert len(ran.err.splitlines()) <= (words[0] == "check"), words
    # The reader closes at once; the writer finds out at its first or second line.
    alone = program(*ANSWERS[0], shell='"$@" | true; echo "${PIPESTATUS[0]}"', env=DEMO)
    assert alone.stdout.decode().strip() in {"141", "0"}
    assert alone.stderr == b""


@pytest.mark.night
def test_the_first_line_through_a_pipe(program) -> None:
    ran = program("match", "dunlin-ten", "--top", "0", shell='"$@" | head -n 1', env=DEMO)

    assert ran.stdout.decode().startswith("Machine     Dunlin Ten")
    assert ran.stdout.count(b"\n") == 1
    assert ran.stderr == b""


def test_closed_streams(program) -> None:
    closed_out = program("match", "dunlin-ten", shell='"$@" >&-', env=DEMO)
    closed_err = program("match", "--nonsense", shell='"$@" 2>&-', env=DEMO)
    closed_in = program("--version", shell='"$@" <&-', env=DEMO)

    assert closed_out.returncode == 2
    assert closed_out.stderr == b"fitcheck: stdout is closed; open it or send it to a file\n"
    assert (closed_err.returncode, closed_err.stdout) == (2, b"")
    assert (closed_in.returncode, closed_in.stderr) == (0, b"")


def test_a_machine_through_a_pipe(run) -> None:
    end, into = os.pipe()
    os.write(
        into,
        b"kind: machine\nrecords:\n  rosa: {name: Rosa, family: dunlin-50, "
        b"pairs: {primary: 13/47, secondary: 13/49}}\n",
    )
    os.close(into)
    env = {"FITCHECK_CATALOG": str(SAMPLE)}
    ran = run("match", f"/dev/fd/{end}", "--percent", "-50..50", env=env)
    os.close(end)

    assert ran.code == 0, ran.err
    assert ran.out.startswith("Rosa: Dunlin 50")


def test_bytes_that_are_no_text(run) -> None:
    ran = run("match", os.fsdecode(b"\xff\xfe-ten"), env=DEMO)

    assert (ran.code, ran.out) == (2, "")
    assert ran.err.count("\n") == 1
    assert ran.err.isascii()
    assert r"no machine '\udcff\udcfe-ten'" in ran.err


@pytest.mark.night
def test_real_programs_with_bytes_that_are_no_text(program) -> None:
    for words in ([b"\xff\xfe-ten"], [b"\xff\xfe-ten", "--wheel", b"\xe9"]):
        ran = program("match", *words, env=DEMO)
        assert (ran.returncode, ran.stdout) == (2, b"")
        assert ran.stderr.count(b"\n") == 1
        assert ran.stderr.isascii()


def test_an_interrupted_run_has_no_traceback(run, monkeypatch: pytest.MonkeyPatch) -> None:
    import fitcheck.services.counter.identify

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(fitcheck.services.counter.identify, "identify", interrupted)
    ran = run("identify", "15/46", env={"FITCHECK_CATALOG": str(SAMPLE)})

    assert ran.code == 130
    assert ran.out + ran.err.strip() == ""


# Few characters, few columns.


@pytest.fixture
def strange(tmp_path: Path) -> Path:
    """A catalogue whose texts hold umlauts, wide characters and all that steers a terminal.

    The reader itself refuses C0 and C1 controls; bidi controls, blanks of no width, tabs and
    line breaks are lawful text.
    """
    for path in SAMPLE.rglob("*.yaml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "strange.yaml").write_text(
        r"""
kind: machine
records:
  umlaut: {name: Möwe 50 貨車, family: dunlin-50, housing: short, tune: stock, &
      pairs: {primary: 13/47, secondary: 13/49}}
  steering: {name: "up\u202enwod\u2066 a\n\tb\u200bc", family: dunlin-50, housing: short, &
      pairs: {primary: 13/47, secondary: 13/49}}
""".replace("&\n", "\n"),
        encoding="utf-8",
    )
    (tmp_path / "strange-sets.yaml").write_text(
        r"""
kind: gear-set
defaults: {supplier: marram}
records:
  ZZ-1:
    part_number: "Z\u202e\t1"
    aliases: ["al\nias"]
    pairs: {primary: 14/45}
    listed_for: {models: ["Dün\nlin\u2067 X"], wheel_size_in: 16}
    fits:
      - {family: dunlin-50, housings: [short]}
    also_needs: ["gas\nket\u202e"]
    price: 60
""",
        encoding="utf-8",
    )
    return tmp_path


STRANGE = [
    ["match", "steering", "--percent", "-50..50", "--all"],
    ["match", "umlaut", "--percent", "-50..50"],
    ["why", "steering", "ZZ-1"],
    ["identify", "13/47", "13/49"],
    ["options", "dunlin-50", "--percent", "-50..50"],
]


@pytest.mark.parametrize("words", STRANGE, ids=" ".join)
@pytest.mark.parametrize("columns", some(["40", "80", "200"], 2))
def test_names_cannot_steer_the_terminal(words, columns, strange: Path, run) -> None:
    ran = run(*words, "--catalog", str(strange), env={"COLUMNS": columns})

    assert ran.code == 0
    assert ran.err == ""
    for line in ran.out.splitlines():
        assert line.isprintable(), line
    if "steering" in words:
        name = " ".join(ran.out.split())
        assert r"up\u202enwod\u2066 a b\u200bc" in name
        assert r"Z\u202e 1" in name


@pytest.mark.parametrize("words", STRANGE, ids=" ".join)
@pytest.mark.parametrize("form", ["json", "csv", "markdown"])
def test_nor_can_they_in_what_programs_read(words, form, strange: Path, run) -> None:
    if words[0] == "why" and form != "json":
        return
    ran = run(*words, "--catalog", str(strange), "--format", form)

    assert ran.code == 0
    assert ran.out.replace("\n", "").isprintable()
    if form == "json" and "steering" in words:
        assert json.loads(ran.out)["machine"]["name"] == "up\u202enwod\u2066 a\n\tb\u200bc"
    if form == "csv":
        rows = list(csv.reader(io.StringIO(ran.out)))
        assert len({len(row) for row in rows}) == 1
        assert len(rows) == ran.out.count("\n")


def test_nor_can_the_name_of_a_file(run, strange: Path) -> None:
    folder = strange / "\x1b[31mred\u202e"
    folder.mkdir()
    (folder / "m\n.yaml").write_text("kind: machine\nrecords: {a: {}}\n", encoding="utf-8")
    for words in (["check", str(folder)], ["match", str(folder / "m\n.yaml")]):
        ran = run(*words, "--catalog", str(strange))
        assert ran.code in (1, 2)
        for line in (ran.out + ran.err).splitlines():
            assert line.isprintable(), line


@pytest.mark.parametrize("words", STRANGE[1:], ids=" ".join)
def test_a_terminal_of_few_characters(words, strange: Path, run) -> None:
    ascii_only = run(*words, "--catalog", str(strange), encoding="ascii")
    full = run(*words, "--catalog", str(strange))

    assert ascii_only.code == full.code == 0
    assert ascii_only.out.isascii()
    assert ascii_only.err.isascii()
    ours = full.out.translate({ord("→"): "->", ord("°"): " deg", ord("×"): "x", ord("…"): "..."})
    assert ascii_only.out == ours.encode("ascii", "replace").decode()


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [
        ("utf-8", "MÖ-1: price 49.90 EUR → 52.90 EUR, × · ° ² ³ “” … –, Ж"),
        ("cp1252", "MÖ-1: price 49.90 EUR -> 52.90 EUR, × · ° ² ³ “” … –, ?"),
        ("latin-1", 'MÖ-1: price 49.90 EUR -> 52.90 EUR, × · ° ² ³ "" ... -, ?'),
        ("ascii", 'M?-1: price 49.90 EUR -> 52.90 EUR, x .  deg 2 3 "" ... -, ?'),
    ],
)
def test_our_signs_have_stand_ins_and_letters_have_none(
    monkeypatch: pytest.MonkeyPatch, encoding: str, shown: str
) -> None:
    """An arrow became a question mark, without a word. What cp1252 holds: its table at IANA."""
    text = "MÖ-1: price 49.90 EUR → 52.90 EUR, × · ° ² ³ “” … –, Ж"

    def speak(**_: object) -> int:
        print(text)
        print(text, file=sys.stderr)
        return 0

    program = import_module("fitcheck.cli.main")
    monkeypatch.setattr(program.cli, "main", speak)
    out, err = io.BytesIO(), io.BytesIO()
    stdout, stderr = io.TextIOWrapper(out, encoding), io.TextIOWrapper(err, encoding)
    with monkeypatch.context() as patched:
        patched.setattr(sys, "stdout", stdout)
        patched.setattr(sys, "stderr", stderr)
        with pytest.raises(SystemExit):
            program.main([])
        stdout.flush()
        stderr.flush()
    assert out.getvalue().decode(encoding) == f"{shown}\n"
    if encoding == "cp1252":
        assert err.getvalue().decode(encoding) == f"{shown[:-1]}\\u0416\n"


def test_what_programs_read_is_utf8_on_any_terminal(strange: Path, run) -> None:
    for form in ("json", "csv", "markdown"):
        words = ["match", "umlaut", "--percent", "-50..50", "--format", form]
        narrow = run(*words, "--catalog", str(strange), encoding="ascii")
        full = run(*words, "--catalog", str(strange))
        assert narrow == full
    assert "Möwe 50 貨車" in run(*words[:-1], "json", "--catalog", str(strange)).out


@pytest.mark.night
def test_real_programs_under_a_plain_locale(strange: Path, program) -> None:
    words = ["match", "umlaut", "--percent", "-50..50", "--catalog", str(strange)]
    envs = [{"LC_ALL": "C", "PYTHONUTF8": "0"}, {"PYTHONIOENCODING": "ascii"}]
    for env in envs if EXPLORE else envs[:1]:
        table = program(*words, env=env)
        data = program(*words, "--format", "json", env=env)
        refused = program("match", "Möwe", "--catalog", str(strange), env=env)
        assert (table.returncode, data.returncode, refused.returncode) == (0, 0, 2)
        assert (table.stderr, data.stderr) == (b"", b"")
        assert json.loads(data.stdout.decode("utf-8"))["machine"]["name"] == "Möwe 50 貨車"
        assert refused.stderr.count(b"\n") == 1


@pytest.mark.parametrize(
    "columns", some(["1", "0", "20", "-5", "wide", "", "²", "9" * 30, "500"], 5)
)
def test_odd_widths(columns: str, run) -> None:
    for words in ANSWERS[:8] if EXPLORE or columns == "1" else some(ANSWERS[:8], 2):
        ran = run(*words, env={**DEMO, "COLUMNS": columns})
        assert ran.code == 0, ran.err
        assert ran.out
        assert not [line for line in ran.out.splitlines() if line != line.rstrip()]


# A watched terminal.


# A busy machine may take longer than the half second after which progress is shown.
def be_patient() -> None:
    common._PATIENCE_S = 600


MATCH = ["match", "dunlin-ten"]


def test_colours_and_width_of_a_terminal(run) -> None:
    code, sent = on_a_terminal(MATCH, env=DEMO, prepare=be_patient)

    assert code == 0
    assert COLOUR.search(sent)
    plain = COLOUR.sub("", sent)
    assert ESCAPE not in plain
    # Colours change nothing else: it is what a pipe of the same width gets.
    assert plain == run("match", "dunlin-ten", env={**DEMO, "COLUMNS": "90"}).out


def test_findings_keep_the_width_of_a_terminal() -> None:
    words = ["check", "tests/data/faulty-catalog"]
    code, sent = on_a_terminal(words, columns=80, prepare=be_patient)

    assert code in (1, 2)
    assert COLOUR.search(sent)
    for line in COLOUR.sub("", sent).splitlines():
        assert len(line) <= 80 or line.split()[0].startswith("tests/data/"), line


@pytest.mark.parametrize(
    ("env", "wanted"),
    [
        ({}, True),
        ({"NO_COLOR": "1"}, False),
        ({"TERM": "dumb"}, False),
        ({"NO_COLOR": "1", "FORCE_COLOR": "1"}, False),
        ({"TERM": ""}, False),
        # https://no-color.org: the variable counts "when present and not an empty string".
        ({"NO_COLOR": ""}, True),
    ],
    ids=str,
)
def test_terminals_with_and_without_colour(
    env: dict[str, str], wanted: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    for name in CLEAN:
        monkeypatch.delenv(name, raising=False)
    for name, value in {"TERM": "xterm-256color", **env}.items():
        monkeypatch.setenv(name, value)
    assert colour_wanted(Terminal()) is wanted


def test_colour_is_forced_into_a_pipe_only_on_demand(run) -> None:
    words = ["match", "dunlin-ten"]
    forced = run(*words, env={**DEMO, "FORCE_COLOR": "1"})

    assert ESCAPE not in run(*words, env=DEMO).out
    assert ESCAPE not in run(*words, env={**DEMO, "FORCE_COLOR": "0"}).out
    assert ESCAPE not in run(*words, env={**DEMO, "FORCE_COLOR": "1", "NO_COLOR": "1"}).out
    assert COLOUR.sub("", forced.out) == run(*words, env=DEMO).out != forced.out


@pytest.mark.parametrize("words", [words for words in ANSWERS if "--format" in words], ids=" ".join)
def test_no_colour_in_what_programs_read(words, run) -> None:
    assert ESCAPE not in run(*words, env={**DEMO, "FORCE_COLOR": "1"}).out


# Progress.

FILES = len(list((Path(__file__).parents[2] / "catalog").rglob("*.yaml")))


def read_slowly(seconds: float = 0.06) -> None:
    read = reader._Reading.file

    def slowly(self, *args, **named):
        time.sleep(seconds)
        read(self, *args, **named)

    reader._Reading.file = slowly


@pytest.mark.parametrize("words", [["match", "dunlin-ten"], ["check", "catalog"]], ids=" ".join)
def test_long_work_shows_its_progress_to_who_watches(words: list[str], run) -> None:
    code, sent = on_a_terminal(words, env={**DEMO, "NO_COLOR": "1"}, prepare=read_slowly)

    assert code == 0
    task = "reading the catalogue" if words[0] == "match" else "checking"
    shown = re.findall(rf"\rfitcheck: {task}, file (\d+) of {FILES}, ([\d,]+) records", sent)
    assert len(shown) >= 2
    files = [int(file) for file, _ in shown]
    assert files == sorted(files)
    # Afterwards the line is wiped, and the answer starts at its beginning.
    last, answer = re.split(r"\r +\r", sent)
    assert last.startswith("\rfitcheck: ")
    assert "\r" not in answer
    assert answer.replace("\n", "").strip()


def test_quick_work_shows_none_and_no_colour_where_none_is_wanted() -> None:
    code, sent = on_a_terminal(MATCH, env={**DEMO, "NO_COLOR": "1"}, prepare=be_patient)

    assert code == 0
    assert sent.startswith("Dunlin Ten")
    assert ESCAPE not in sent


def test_nobody_watching_nothing_shown(run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader._Reading, "file", reader._Reading.file)  # put back at the end
    read_slowly(0.03)
    ran = run("match", "dunlin-ten", env=DEMO)

    assert (ran.code, ran.err) == (0, "")
