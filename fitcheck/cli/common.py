"""Steps that several commands share: open the catalogue, print, say what goes on."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib import import_module
from threading import Event, Thread
from typing import TYPE_CHECKING, Any, TextIO

from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.answers.tables import Table
    from fitcheck.catalogue.locate import Location
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.screens.screen import Screen


@contextmanager
def open_catalogue(path: str | None) -> Iterator[Catalogue]:
    """Load the catalogue for a block that reads what is asked of it.

    After the block one line on stderr says which catalogue answers if nobody named it, and what
    is amiss in it. Where the block refuses the question, that goes into the refusal instead:
    what is asked for may be missing for that very reason.
    """
    from fitcheck.catalogue.locate import find_catalogue
    from fitcheck.catalogue.reader import load
    from fitcheck.services.upkeep.checking import errors_in

    passed_over = passed_over_words(find_catalogue(path))
    with working("reading the catalogue") as progress:
        catalogue = load(path, progress=progress.reading)
    another = "; --catalog names another"
    notes: list[tuple[str, str]] = []  # the line, and what a refusal says in its place
    if catalogue.is_demo and not is_named(path):
        line = (
            "no catalogue given: using the built-in demo, whose families, suppliers and parts are "
            "invented"
        )
        notes.append((line, f"asked of the built-in demo{another}"))
    if passed_over is not None:
        notes.append((f"{passed_over}{another}",) * 2)
    errors = errors_in(catalogue)
    if errors:
        count = "one error" if len(errors) == 1 else f"{len(errors)} errors"
        first = f"the first at {errors[0].span}: {errors[0].message}"
        line = f"{count} in the catalogue, do not order before it is fixed; {first}"
        hint = f"{count} in the catalogue, {first}; fitcheck check shows all"
        notes.append((f"{line} (fitcheck check shows all)", hint))
    try:
        yield catalogue
    except UsageError as error:
        hints = [hint for _, hint in notes if another not in hint or "--catalog" not in str(error)]
        if hints:
            raise UsageError(f"{error} ({hints[0]})") from None
        raise
    for line, _ in notes:
        tell(line)


def passed_over_words(location: Location) -> str | None:
    """Which catalogue answers though a folder of that name is nearer; None where none is."""
    from fitcheck.diagnostics.finding import shown_path

    if location.passed_over is None:
        return None
    nearer, used = shown_path(location.passed_over), shown_path(location.path)
    return f"{nearer} holds no YAML file, so {used} is used"


def is_named(path: str | None) -> bool:
    """Whether somebody said which catalogue to read, by --catalog or by the environment."""
    from fitcheck.catalogue.locate import ENVIRONMENT

    return path is not None or bool(os.environ.get(ENVIRONMENT, "").strip())


def tell(message: str) -> None:
    """One line on stderr."""
    from fitcheck.screens.findings.wording import one_line

    if sys.stderr is not None:
        print(one_line(f"fitcheck: {message}"), file=sys.stderr, flush=True)


def tell_some(faults: Sequence[Any], most: int = 20) -> None:
    """One line on stderr for each of the first faults."""
    for fault in faults[:most]:
        tell(str(fault))


def console() -> Screen:
    """The terminal; what prints on it is imported only where somebody reads it."""
    from fitcheck.screens.screen import console as screen_of_stdout

    return screen_of_stdout()


def echo_text(text: str) -> None:
    """Print text for people in the encoding of the terminal."""
    sys.stdout.write(text)
    sys.stdout.flush()


def late(function: str, *given: Any, **named: Any) -> Callable[..., Any]:
    """A call of a function, named as `module:function`, whose module is imported only then.

    What prints on screen brings in rich, which an answer in JSON does without.
    """

    def call(*first: Any) -> Any:
        module, _, name = function.partition(":")
        return getattr(import_module(module), name)(*first, *given, **named)

    return call


def emit(
    output_format: str,
    screen: Callable[[Screen], Any],
    answer: Callable[[], Any],
    table: Callable[[], Table] | None = None,
) -> None:
    """Print an answer in the format asked for.

    Args:
        output_format: `table` for people, `json`, or a format of `Table` by its method's name.
        screen: prints the answer on the terminal it is given.
        answer: makes what JSON shows.
        table: makes the rows; None for an answer that has none.
    """
    if output_format == "table":
        screen(console())
    elif output_format == "json":
        echo_json(answer())
    else:
        assert table is not None
        echo_data(getattr(table(), output_format)())


def echo_json(data: Any) -> None:
    """Print JSON, readable and in UTF-8; what would steer a terminal is written as an escape."""
    import json

    text = json.dumps(data, ensure_ascii=False, indent=2)
    if not text.replace("\n", "").isprintable():
        text = "".join(
            char if char.isprintable() or char == "\n" else json.dumps(char)[1:-1] for char in text
        )
    echo_data(f"{text}\n")


def echo_data(text: str) -> None:
    """Print what another program will read: always UTF-8, whatever the terminal is set to.

    Half a character, as it comes from the name of a file that is not UTF-8, is written as an
    escape.
    """
    stream = getattr(sys.stdout, "buffer", None)
    if stream is None:
        echo_text(text)
        return
    sys.stdout.flush()
    stream.write(text.encode("utf-8", errors="backslashreplace"))
    stream.flush()


_PATIENCE_S = 0.5

_EVERY_S = 0.2


class Status:
    """The state of one piece of work, put into one line."""

    def __init__(self, task: str) -> None:
        self.task = task
        self.detail = ""
        self.started = time.monotonic()

    def reading(self, files: int, of: int, records: int) -> None:
        """Take the progress of `catalogue.reader.load`."""
        self.detail = f"file {files + 1} of {of}, {records:,} records"

    def line(self) -> str:
        """Such as `fitcheck: reading the catalogue, file 3 of 32, 4,500 records, 2 s`."""
        seconds = int(time.monotonic() - self.started)
        parts = [f"fitcheck: {self.task}", self.detail, f"{seconds} s" if seconds else ""]
        return ", ".join(part for part in parts if part)


@contextmanager
def working(task: str) -> Iterator[Status]:
    """While the block runs longer than half a second, show its state on a watched stderr."""
    status = Status(task)
    stream = sys.stderr
    if stream is None or not stream.isatty():
        yield status
        return
    done = Event()
    watcher = Thread(target=_watch, args=(stream, status, done), daemon=True)
    watcher.start()
    try:
        yield status
    finally:
        done.set()
        watcher.join()


def _watch(stream: TextIO, status: Status, done: Event) -> None:
    from fitcheck.screens.screen import columns_of

    width = 0
    wait = _PATIENCE_S
    while not done.wait(wait):
        wait = _EVERY_S
        # A line as wide as the terminal would move on to the next.
        line = status.line()[: columns_of(stream) - 1]
        _write(stream, f"\r{line:<{width}}")
        width = len(line)
    if width:
        _write(stream, f"\r{' ' * width}\r")


def _write(stream: TextIO, text: str) -> None:
    with suppress(OSError, ValueError):
        stream.write(text)
        stream.flush()
