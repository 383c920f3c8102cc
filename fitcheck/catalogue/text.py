"""Bytes of a catalogue file to text, and text to parser events.

Events come from the C parser where it is installed, else from Python.

`ruamel.yaml` uses its C parser only when the module `_ruamel_yaml` can be imported, and says
nothing when it cannot; so the module is asked for here by name, and a test looks at it.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Literal

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from fitcheck.catalogue.problems import Problem, StopReadingError

_ADVICE = "save the file as UTF-8 (in the editor: save with encoding, UTF-8)"

_HIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_NAMES = {
    "\x00": "a NUL character",
    "\x1a": "an end-of-file character (Ctrl-Z)",
    "\x7f": "a delete character",
    "\x85": "a hidden line break (U+0085)",
    "\u2028": "a hidden line break (U+2028)",
    "\u2029": "a hidden line break (U+2029)",
    "\ufeff": "a second byte order mark",
}
_OTHER_MARKS = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
)


def decode(data: bytes) -> tuple[str, bool]:
    """The text of a file, line breaks as they stand, and whether a byte order mark led it.

    Args:
        data: the whole file.

    Raises:
        StopReadingError: the bytes are not UTF-8 text; offsets count in the text with each
            broken byte replaced by one character.
    """
    for mark, name in _OTHER_MARKS:
        if data.startswith(mark):
            raise _wrong_encoding(f"the file is saved as {name}, not UTF-8")
    marked = data.startswith(codecs.BOM_UTF8)
    body = data[len(codecs.BOM_UTF8) :] if marked else data
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _not_utf8(body, error.start) from None
    found = _HIDDEN.search(text)
    if found is not None:
        raise _hidden(text, found.start())
    return text, marked


def _wrong_encoding(message: str, start: int = 0, end: int = 0) -> StopReadingError:
    return StopReadingError(Problem("FC003", message, start, end, help=_ADVICE))


def _not_utf8(body: bytes, at: int) -> StopReadingError:
    head = body[:at].decode("utf-8")
    guess = _guess_utf16(body)
    if guess is not None:
        return _wrong_encoding(f"the file looks like {guess}, not UTF-8")
    # Western Windows text differs from Latin-1 in 27 signs only; the letter helps to find it.
    letter = body[at : at + 1].decode("cp1252", errors="replace")
    seen = f", perhaps the letter {letter}," if letter.isprintable() and letter != "�" else ""
    return _wrong_encoding(
        f"byte 0x{body[at]:02X} here{seen} is not UTF-8; the file looks like Latin-1 or Windows "
        "text",
        len(head),
        len(head) + 1,
    )


def _guess_utf16(body: bytes) -> str | None:
    sample = body[:4096]
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if max(even, odd) * 5 >= len(sample) and min(even, odd) * 20 <= max(even, odd):
        return "UTF-16"
    return None


def _hidden(text: str, at: int) -> StopReadingError:
    char = text[at]
    if char == "\x00" and _guess_utf16(text.encode("utf-8")) is not None:
        return _wrong_encoding("the file looks like UTF-16, not UTF-8")
    name = _NAMES.get(char, f"the control character U+{ord(char):04X}")
    advice = "delete it; where it does not show, delete the characters round it and type them again"
    message = f"{name} stands here; it belongs in no catalogue file"
    return StopReadingError(Problem("FC004", message, at, at + 1, help=advice))


try:
    import _ruamel_yaml
except ImportError:  # pragma: no cover - the wheel with the C parser is not made everywhere
    _ruamel_yaml = None

Parser = Literal["c", "python"]


class NotYamlError(Exception):
    """The text is not YAML; offsets in code points, None where the parser gives none.

    Attributes:
        problem: what the parser met.
        context: what it was doing.
        offset: where it stopped.
        context_offset: where the thing it was reading began.
    """

    def __init__(
        self, problem: str, context: str, offset: int | None, context_offset: int | None
    ) -> None:
        super().__init__(problem)
        self.problem = problem
        self.context = context
        self.offset = offset
        self.context_offset = context_offset


def c_parser_available() -> bool:
    """Whether the C parser of ruamel.yaml is there to be used."""
    return hasattr(_ruamel_yaml, "CParser")


def parse_events(text: str, parser: Parser) -> Iterator[Any]:
    """The events of a text, as ruamel.yaml names them, with marks in code points.

    Args:
        text: the file's text without a byte order mark.
        parser: `c` or `python`.

    Returns:
        An iterator; what it raises on a text that is not YAML, `yaml_faults` translates.
    """
    if parser == "c":
        assert _ruamel_yaml is not None
        # No generator in between: this loop runs once for every key and value of a catalogue.
        return iter(_ruamel_yaml.CParser(text).get_event, None)
    return iter(YAML(typ="safe", pure=True).parse(text))


@contextmanager
def yaml_faults() -> Iterator[None]:
    """Turn what the parsers raise on a text that is not YAML into `NotYamlError`."""
    try:
        yield
    except MarkedYAMLError as error:
        raise NotYamlError(
            str(error.problem or ""),
            str(error.context or ""),
            _offset(error.problem_mark),
            _offset(error.context_mark),
        ) from None
    except (YAMLError, ValueError, OverflowError) as error:
        # The Python parser lets the latter two through on escapes beyond Unicode.
        raise NotYamlError(str(error).partition("\n")[0], "", None, None) from None


def _offset(mark: Any) -> int | None:
    return None if mark is None else int(mark.index)
