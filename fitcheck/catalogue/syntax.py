"""Why a text is not YAML, said so that the hand at the counter can correct it.

Both parsers describe what they expected; people need to know what they typed. The wording is
chosen from the parser's problem and from the text around the place.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from fitcheck.catalogue.nodes import line_start
from fitcheck.catalogue.problems import Problem, shown
from fitcheck.catalogue.text import NotYamlError

_SYNTAX = "FC005"
_TAB = "FC006"
_TAG = "FC008"

_NO_SPACE = re.compile(r"^[ ]*(?:- +)*[A-Za-z_][\w.-]*(:)(?=[^\s:/])", re.ASCII)


class _Place:
    """The text round the offset where a parser stopped.

    Attributes:
        text: the whole text.
        problem: what the parser met, in small letters.
        context: what it was doing, in small letters.
        stopped_at: where it stopped.
        offset: the same; at the end of the text its last visible character.
        context_offset: where the thing it was reading began, if it says.
        at_end: whether nothing visible follows.
        line_start: where the line of `offset` begins.
        line: that line.
        before: the part of the line before `offset`.
        char: the character at `offset`.
    """

    def __init__(self, text: str, trouble: NotYamlError) -> None:
        self.text = text
        self.problem = trouble.problem.lower()
        self.context = trouble.context.lower()
        self.stopped_at = len(text) if trouble.offset is None else trouble.offset
        offset = _guessed_offset(text) if trouble.offset is None else min(trouble.offset, len(text))
        self.at_end = not text[offset:].strip(" \t\r\n\0")
        if self.at_end:
            # The end of the text is no place to look at; its last visible character is.
            offset = max(len(text.rstrip()) - 1, 0)
        self.offset = offset
        self.context_offset = trouble.context_offset
        self.line_start = line_start(text, offset)
        ends = [end for end in (text.find("\n", offset), text.find("\r", offset)) if end >= 0]
        self.line = text[self.line_start : min(ends, default=len(text))]
        self.before = text[self.line_start : offset]
        self.char = text[offset : offset + 1]

    @property
    def token_end(self) -> int:
        """Just past the word at the offset."""
        found = re.compile(r"[^\s,\[\]{}]+").match(self.text, self.offset)
        return self.offset + 1 if found is None else found.end()

    def fault(
        self,
        message: str,
        advice: str,
        start: int | None = None,
        end: int | None = None,
        *,
        code: str = _SYNTAX,
        related: tuple[tuple[int, int, str], ...] = (),
    ) -> Problem:
        """A fault from `start`, or the offset, to `end`, or of one character."""
        start = self.offset if start is None else start
        end = start + 1 if end is None else end
        return Problem(code, message, start, end, help=advice, related=related)

    def line_before(self) -> tuple[int, str] | None:
        """Offset and text of the nearest line above that holds more than a comment."""
        end = self.line_start
        while end > 0:
            stop = end - 1
            if self.text[stop : stop + 1] == "\n" and self.text[stop - 1 : stop] == "\r":
                stop -= 1
            start = line_start(self.text, stop)
            line = self.text[start:stop]
            if line.strip() and not line.lstrip().startswith("#"):
                return start, line
            end = start
        return None


def _guessed_offset(text: str) -> int:
    # The Python parser fails without a place on an escape beyond the last code point.
    found = re.search(r"\\U(?!000|0010)[0-9A-Fa-f]{8}", text)
    return len(text) if found is None else found.start()


_Explain = Callable[[_Place], Problem | None]


def explain_syntax(text: str, trouble: NotYamlError) -> Problem:
    """One fault for a text that is not YAML, at the place where a hand would correct it."""
    place = _Place(text, trouble)
    for explain in _EXPLANATIONS:
        problem = explain(place)
        if problem is not None:
            return problem
    return place.fault(
        f"this cannot be read as YAML ({shown(trouble.problem, 80) or 'unknown trouble'})",
        "look at this line and the one above: indentation, colons, quotes and brackets",
    )


def _on(
    phrase: str, message: str, advice: str, *, context: bool = False, word: bool = False
) -> _Explain:
    """_Explain one thing the parser says.

    Args:
        phrase: what it says.
        message: what is wrong; `{char}` stands for the character at the place.
        advice: what to do.
        context: whether it says so of what it was doing, not of what it met.
        word: point at the whole word.
    """

    def explain(place: _Place) -> Problem | None:
        if phrase not in (place.context if context else place.problem):
            return None
        end = place.token_end if word else None
        return place.fault(message.format(char=shown(place.char)), advice, end=end)

    return explain


def _tab(place: _Place) -> Problem | None:
    stopped = place.stopped_at
    indent = place.line[: len(place.line) - len(place.line.lstrip())]
    tab = indent.find("\t")
    if "tab character" in place.problem and place.text[stopped : stopped + 1] == "\t":
        start, end = stopped, stopped + 1
    elif tab >= 0:
        start, end = place.line_start + tab, place.line_start + len(indent)
    elif place.char == "\t" and "token" in place.problem:
        start, end = place.offset, place.offset + 1
    else:
        return None
    message = "a tab stands in the indentation; YAML takes only spaces there"
    return place.fault(
        message, "put spaces in its place, two for each level", start, end, code=_TAB
    )


def _open_quote(place: _Place) -> Problem | None:
    unfinished = "end of stream" in place.problem or "document separator" in place.problem
    start = place.context_offset
    if start is None or not (unfinished and "quoted scalar" in place.context):
        return None
    quote = place.text[start : start + 1]
    advice = f"put the closing {quote} at the end of the text"
    return place.fault("this quote is never closed", advice, start)


def _escape(place: _Place) -> Problem | None:
    too_large = "too large" in place.problem and place.char == "\\"
    in_quotes = "quoted scalar" in place.context
    if not (too_large or (in_quotes and re.search("escape|hex", place.problem))):
        return None
    backslash = place.text.rfind("\\", 0, place.offset + 1)
    start = backslash if backslash >= 0 else place.offset
    return place.fault(
        f"{shown(place.text[start : start + 2])} means nothing inside double quotes",
        "write \\\\ for one backslash, or use single quotes, which leave it alone",
        start,
        start + 2,
    )


def _flow_colon(place: _Place) -> Problem | None:
    if "unexpected ':'" not in place.problem:
        return None
    word = re.compile(r"[^\s,\[\]{}]*").match(place.text, place.offset)
    lead = re.search(r"[^\s,\[\]{}]*$", place.before)
    assert word is not None
    assert lead is not None
    start = place.offset - len(lead.group())
    text = place.text[start : word.end()]
    advice = f'put quotes round it: "{shown(text)}"'
    if re.fullmatch(r"[0-9]+:[0-9]+", text):
        advice = f"write {text.replace(':', '/')}"
    return place.fault(f"{shown(text)} holds a colon inside brackets", advice, start, word.end())


def _open_bracket(place: _Place) -> Problem | None:
    if "flow sequence" not in place.context and "flow mapping" not in place.context:
        return None
    start = place.context_offset
    if start is None:
        return None
    opener = place.text[start : start + 1]
    closer = {"[": "]", "{": "}"}.get(opener)
    if closer is None:
        return None
    same_line = not re.search(r"[\r\n]", place.text[start : place.offset])
    if place.at_end or not same_line:
        advice = f"put {closer} where it ends, and commas between what is inside"
        return place.fault(f"this {opener} is never closed", advice, start)
    return place.fault(
        f"a comma or {closer} is missing before this",
        f"what opens with {opener} has commas inside and ends with {closer}",
        end=place.token_end,
    )


def _inside_brackets(place: _Place) -> Problem | None:
    if "flow node" not in place.context and "flow sequence" not in place.context:
        return None
    if place.at_end:
        start = max(place.text.rfind("[", 0), place.text.rfind("{", 0))
        if start < 0:
            return None
        advice = "put ] where [ ends and } where { ends, and commas between what is inside"
        return place.fault(f"this {place.text[start]} is never closed", advice, start)
    if place.char in ("-", ":", "?", "|", ">"):
        return place.fault(
            f"{place.char} cannot stand here inside brackets",
            "inside brackets only commas part the items; a text with such a sign goes in quotes",
        )
    return None


def _document_sign(place: _Place) -> Problem | None:
    start = place.line_start
    if not re.match(r"(---|\.\.\.)(\s|$)", place.text[start : start + 4]):
        return None
    return place.fault(
        f"{place.text[start : start + 3]} ends the document in the middle of something",
        "take the line out, or close what was opened above it",
        start,
        start + 3,
    )


def _stray_closer(place: _Place) -> Problem | None:
    if place.char not in ("]", "}", ",") or place.before.rstrip().endswith(("'", '"')):
        return None
    if place.char == "," and place.before.rstrip().endswith((",", "[", "{")):
        advice = "take the comma out, or write what belongs before it"
        return place.fault("nothing stands before this comma", advice)
    return place.fault(
        f"this {place.char} belongs to nothing opened before it",
        "take it out, or put quotes round the whole text",
    )


def _glued(place: _Place, start: int, line: str) -> Problem | None:
    """A key and its value with no space after the colon, in a line that begins at `start`."""
    found = _NO_SPACE.match(line)
    if found is None:
        return None
    key = shown(line[: found.start(1)].lstrip(" -"))
    return place.fault(
        f"a space is missing after the colon of {key}",
        f"write {key}: and then the value",
        start + found.start(1),
    )


def _colon_not_allowed(place: _Place) -> Problem | None:
    if "mapping values are not allowed" not in place.problem:
        return None
    first = re.search(r":(?=\s)", place.before)
    if first is not None:
        value = place.line_start + first.end()
        start = value + len(place.text[value:]) - len(place.text[value:].lstrip())
        return place.fault(
            "a second colon with a space after it stands in this value",
            "put quotes round the whole value, or begin a new line",
            related=((start, place.offset + 1, "the value begins here"),),
        )
    above = place.line_before()
    for start, line in filter(None, ((place.line_start, place.line), above)):
        missing = _glued(place, start, line)
        if missing is not None:
            return missing
    indent = len(place.line) - len(place.line.lstrip())
    if above is not None and indent > len(above[1]) - len(above[1].lstrip()):
        return place.fault(
            "this line stands deeper than the one above, which already has its value",
            "line it up with the key above, or take the value above away",
            place.line_start + indent,
            place.offset,
        )
    return place.fault(
        "a colon stands where no key can be",
        "put quotes round the text that holds it, or begin a new line with the key",
    )


def _no_colon(place: _Place) -> Problem | None:
    if "could not find expected ':'" not in place.problem:
        return None
    start = place.offset if place.context_offset is None else place.context_offset
    line = re.split(r"[\r\n]", place.text[start:], maxsplit=1)[0]
    return _glued(place, start, line) or place.fault(
        f"no colon follows {shown(line.strip(), 30)}",
        "write a key, a colon, a space and the value; or indent it under the line above",
        start,
        max(start + len(line.rstrip()), start + 1),
    )


def _bare_star(place: _Place) -> Problem | None:
    if "alias" not in place.context and "anchor" not in place.context:
        return None
    start = place.offset if place.context_offset is None else place.context_offset
    sign = shown(place.text[start : start + 1])
    return place.fault(f"a text cannot begin with {sign}", "put quotes round the text", start)


def _tag(place: _Place) -> Problem | None:
    if "tag" not in place.context and "tag handle" not in place.problem:
        return None
    bang = place.text.rfind("!", 0, place.offset + 1)
    start = place.context_offset if place.context_offset is not None else place.offset
    if place.text[start : start + 1] != "!" and bang >= 0:
        start = place.text.find("!", place.line_start)
        start = bang if start < 0 else start
    found = re.compile(r"\S+").match(place.text, start)
    end = start + 1 if found is None else found.end()
    message = f"the tag {shown(place.text[start:end])} is not read in a catalogue"
    return place.fault(message, "take the tag out; a text goes in quotes", start, end, code=_TAG)


def _directive(place: _Place) -> Problem | None:
    found = re.compile(r"(?:(?<=[\r\n])|^)%[^\r\n]*").search(place.text)
    if found is None or not (place.line.startswith("%") or "document start" in place.problem):
        return None
    return place.fault(
        "a line that begins with % is an order to the reader; catalogues need none",
        "take the line out",
        found.start(),
        found.start() + len(found.group().rstrip()),
        code="FC019",
    )


def _second_document(place: _Place) -> Problem | None:
    if "document start" not in place.problem:
        return None
    return place.fault(
        "a second document begins here; a catalogue file holds one",
        "put it into a file of its own, or take the --- or ... line before it out",
        end=place.token_end,
        code="FC013",
    )


def _line_up(place: _Place) -> Problem | None:
    if not re.search("block (?:mapping|collection|sequence)", place.context):
        return None
    if place.before.strip():
        quote = place.before.rstrip()[-1:]
        behind = "behind the closing quote" if quote in ("'", '"') else "here"
        return place.fault(
            f"something stands {behind} that belongs to no key",
            'look for a quote inside the text; double it in single quotes, or write \\" in double '
            "quotes",
            end=place.token_end,
        )
    if place.char == "-" and "sequence" not in place.context:
        advice = "indent it under the key whose list it belongs to"
        return place.fault("a list item stands among keys", advice)
    return place.fault(
        "this line does not line up with its neighbours",
        "give all keys of one record the same number of spaces in front",
        end=place.token_end,
    )


_EXPLANATIONS: tuple[_Explain, ...] = (
    _tab,
    _open_quote,
    _escape,
    _flow_colon,
    _directive,
    _second_document,
    _tag,
    _bare_star,
    _on(
        "block scalar",
        "the block of text that | or > opens is not well formed here",
        "after | or > the line ends; the text stands below, each line indented alike",
        context=True,
        word=True,
    ),
    _colon_not_allowed,
    _no_colon,
    _on(
        "sequence entries are not allowed",
        "a list item cannot begin here, behind something else in the line",
        "begin each list item on a line of its own; a text that begins with a dash and a space "
        "goes in quotes",
    ),
    _open_bracket,
    _on("cannot start any token", "a text cannot begin with {char}", "put quotes round the text"),
    _document_sign,
    _on(
        "mapping keys are not allowed",
        "a question mark with a space after it cannot stand here",
        "put quotes round the text that holds it",
    ),
    _stray_closer,
    _inside_brackets,
    _line_up,
)
