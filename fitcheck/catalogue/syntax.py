"""Why a text is not YAML, said so that the hand at the counter can mend it.

Both parsers describe what they expected; people need to know what they typed. The wording is
chosen from the parser's problem and from the text around the place.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from fitcheck.catalogue.problems import Problem, shown
from fitcheck.catalogue.text import NotYamlError


class SyntaxPlace:
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
        self.line_start = max(text.rfind("\n", 0, offset), text.rfind("\r", 0, offset)) + 1
        ends = [end for end in (text.find("\n", offset), text.find("\r", offset)) if end >= 0]
        self.line = text[self.line_start : min(ends, default=len(text))]
        self.before = text[self.line_start : offset]
        self.char = text[offset : offset + 1]

    @property
    def token_end(self) -> int:
        """Just past the word at the offset."""
        found = re.compile(r"[^\s,\[\]{}]+").match(self.text, self.offset)
        return self.offset + 1 if found is None else found.end()

    def line_before(self) -> tuple[int, str] | None:
        """Offset and text of the nearest line above that holds more than a comment."""
        end = self.line_start
        while end > 0:
            stop = end - 1
            if self.text[stop : stop + 1] == "\n" and self.text[stop - 1 : stop] == "\r":
                stop -= 1
            start = max(self.text.rfind("\n", 0, stop), self.text.rfind("\r", 0, stop)) + 1
            line = self.text[start:stop]
            if line.strip() and not line.lstrip().startswith("#"):
                return start, line
            end = start
        return None


def _guessed_offset(text: str) -> int:
    # The Python parser fails without a place on an escape beyond the last code point.
    found = re.search(r"\\U(?!000|0010)[0-9A-Fa-f]{8}", text)
    return len(text) if found is None else found.start()


SYNTAX = "FC005"
TAB = "FC006"
TAG = "FC008"

_NO_SPACE = re.compile(r"^[ ]*(?:- +)*[A-Za-z_][\w.-]*(:)(?=[^\s:/])", re.ASCII)


def explain_syntax(text: str, trouble: NotYamlError) -> Problem:
    """One fault for a text that is not YAML, at the place where a hand would mend it."""
    place = SyntaxPlace(text, trouble)
    for explain in _EXPLANATIONS:
        problem = explain(place)
        if problem is not None:
            return problem
    return Problem(
        SYNTAX,
        f"this cannot be read as YAML ({shown(trouble.problem, 80) or 'unknown trouble'})",
        place.offset,
        place.offset + 1,
        help="look at this line and the one above: indentation, colons, quotes and brackets",
    )


def _tab(place: SyntaxPlace) -> Problem | None:
    stopped = place.stopped_at
    if "tab character" in place.problem and place.text[stopped : stopped + 1] == "\t":
        return _tab_problem(stopped, stopped + 1)
    indent = place.line[: len(place.line) - len(place.line.lstrip())]
    tab = indent.find("\t")
    if tab >= 0:
        start = place.line_start + tab
        end = place.line_start + len(indent)
    elif place.char == "\t" and "token" in place.problem:
        start, end = place.offset, place.offset + 1
    else:
        return None
    return _tab_problem(start, end)


def _tab_problem(start: int, end: int) -> Problem:
    return Problem(
        TAB,
        "a tab stands in the indentation; YAML takes only spaces there",
        start,
        end,
        help="put spaces in its place, two for each level",
    )


def _open_quote(place: SyntaxPlace) -> Problem | None:
    unfinished = "end of stream" in place.problem or "document separator" in place.problem
    if place.context_offset is None or not (unfinished and "quoted scalar" in place.context):
        return None
    start = place.context_offset
    return Problem(
        SYNTAX,
        "this quote is never closed",
        start,
        start + 1,
        help=f"put the closing {place.text[start : start + 1]} at the end of the text",
    )


def _escape(place: SyntaxPlace) -> Problem | None:
    too_large = "too large" in place.problem and place.char == "\\"
    in_quotes = "quoted scalar" in place.context
    if not (too_large or (in_quotes and re.search("escape|hex", place.problem))):
        return None
    backslash = place.text.rfind("\\", 0, place.offset + 1)
    start = backslash if backslash >= 0 else place.offset
    return Problem(
        SYNTAX,
        f"{shown(place.text[start : start + 2])} means nothing inside double quotes",
        start,
        start + 2,
        help="write \\\\ for one backslash, or use single quotes, which leave it alone",
    )


def _flow_colon(place: SyntaxPlace) -> Problem | None:
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
    return Problem(
        SYNTAX,
        f"{shown(text)} holds a colon inside brackets",
        start,
        word.end(),
        help=advice,
    )


def _open_bracket(place: SyntaxPlace) -> Problem | None:
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
        return Problem(
            SYNTAX,
            f"this {opener} is never closed",
            start,
            start + 1,
            help=f"put {closer} where it ends, and commas between what is inside",
        )
    return Problem(
        SYNTAX,
        f"a comma or {closer} is missing before this",
        place.offset,
        place.token_end,
        help=f"what opens with {opener} has commas inside and ends with {closer}",
    )


def _inside_brackets(place: SyntaxPlace) -> Problem | None:
    if "flow node" not in place.context and "flow sequence" not in place.context:
        return None
    if place.at_end:
        start = max(place.text.rfind("[", 0), place.text.rfind("{", 0))
        if start < 0:
            return None
        opener = place.text[start]
        return Problem(
            SYNTAX,
            f"this {opener} is never closed",
            start,
            start + 1,
            help="put ] where [ ends and } where { ends, and commas between what is inside",
        )
    if place.char in ("-", ":", "?", "|", ">"):
        return Problem(
            SYNTAX,
            f"{place.char} cannot stand here inside brackets",
            place.offset,
            place.offset + 1,
            help="inside brackets only commas part the items; a text with such a sign goes in "
            "quotes",
        )
    return None


def _document_sign(place: SyntaxPlace) -> Problem | None:
    if not re.match(r"(---|\.\.\.)(\s|$)", place.text[place.line_start : place.line_start + 4]):
        return None
    return Problem(
        SYNTAX,
        f"{place.text[place.line_start : place.line_start + 3]} ends the document in the middle "
        "of something",
        place.line_start,
        place.line_start + 3,
        help="take the line out, or close what was opened above it",
    )


def _question_mark(place: SyntaxPlace) -> Problem | None:
    if "mapping keys are not allowed" not in place.problem:
        return None
    return Problem(
        SYNTAX,
        "a question mark with a space after it cannot stand here",
        place.offset,
        place.offset + 1,
        help="put quotes round the text that holds it",
    )


def _stray_closer(place: SyntaxPlace) -> Problem | None:
    if place.char not in ("]", "}", ",") or place.before.rstrip().endswith(("'", '"')):
        return None
    if place.char == "," and place.before.rstrip().endswith((",", "[", "{")):
        return Problem(
            SYNTAX,
            "nothing stands before this comma",
            place.offset,
            place.offset + 1,
            help="take the comma out, or write what belongs before it",
        )
    return Problem(
        SYNTAX,
        f"this {place.char} belongs to nothing opened before it",
        place.offset,
        place.offset + 1,
        help="take it out, or put quotes round the whole text",
    )


def _no_space_after_colon(place: SyntaxPlace) -> Problem | None:
    here = (place.line_start, place.line)
    for start, line in filter(None, (here, place.line_before())):
        found = _NO_SPACE.match(line)
        if found is not None:
            colon = start + found.start(1)
            key = line[: found.start(1)].lstrip(" -")
            return Problem(
                SYNTAX,
                f"a space is missing after the colon of {shown(key)}",
                colon,
                colon + 1,
                help=f"write {shown(key)}: and then the value",
            )
    return None


def _colon_not_allowed(place: SyntaxPlace) -> Problem | None:
    if "mapping values are not allowed" not in place.problem:
        return None
    first = re.search(r":(?=\s)", place.before)
    if first is not None:
        value = place.line_start + first.end()
        start = value + len(place.text[value:]) - len(place.text[value:].lstrip())
        return Problem(
            SYNTAX,
            "a second colon with a space after it stands in this value",
            place.offset,
            place.offset + 1,
            help="put quotes round the whole value, or begin a new line",
            related=((start, place.offset + 1, "the value begins here"),),
        )
    missing = _no_space_after_colon(place)
    if missing is not None:
        return missing
    above = place.line_before()
    indent = len(place.line) - len(place.line.lstrip())
    if above is not None and indent > len(above[1]) - len(above[1].lstrip()):
        start = place.line_start + indent
        return Problem(
            SYNTAX,
            "this line stands deeper than the one above, which already has its value",
            start,
            place.offset,
            help="line it up with the key above, or take the value above away",
        )
    return Problem(
        SYNTAX,
        "a colon stands where no key can be",
        place.offset,
        place.offset + 1,
        help="put quotes round the text that holds it, or begin a new line with the key",
    )


def _no_colon(place: SyntaxPlace) -> Problem | None:
    if "could not find expected ':'" not in place.problem:
        return None
    start = place.offset if place.context_offset is None else place.context_offset
    end = next(
        (at for at in range(start, len(place.text)) if place.text[at] in "\r\n"), len(place.text)
    )
    line = place.text[start:end]
    glued = _NO_SPACE.match(line)
    if glued is not None:
        key = line[: glued.start(1)]
        return Problem(
            SYNTAX,
            f"a space is missing after the colon of {shown(key)}",
            start + glued.start(1),
            start + glued.start(1) + 1,
            help=f"write {shown(key)}: and then the value",
        )
    return Problem(
        SYNTAX,
        f"no colon follows {shown(line.strip(), 30)}",
        start,
        max(start + len(line.rstrip()), start + 1),
        help="write a key, a colon, a space and the value; or indent it under the line above",
    )


def _bad_first_character(place: SyntaxPlace) -> Problem | None:
    if "cannot start any token" not in place.problem:
        return None
    return Problem(
        SYNTAX,
        f"a text cannot begin with {shown(place.char)}",
        place.offset,
        place.offset + 1,
        help="put quotes round the text",
    )


def _bare_star(place: SyntaxPlace) -> Problem | None:
    if "alias" not in place.context and "anchor" not in place.context:
        return None
    start = place.offset if place.context_offset is None else place.context_offset
    return Problem(
        SYNTAX,
        f"a text cannot begin with {shown(place.text[start : start + 1])}",
        start,
        start + 1,
        help="put quotes round the text",
    )


def _tag(place: SyntaxPlace) -> Problem | None:
    if "tag" not in place.context and "tag handle" not in place.problem:
        return None
    bang = place.text.rfind("!", 0, place.offset + 1)
    start = place.context_offset if place.context_offset is not None else place.offset
    if place.text[start : start + 1] != "!" and bang >= 0:
        start = place.text.find("!", place.line_start)
        start = bang if start < 0 else start
    found = re.compile(r"\S+").match(place.text, start)
    end = start + 1 if found is None else found.end()
    return Problem(
        TAG,
        f"the tag {shown(place.text[start:end])} is not read in a catalogue",
        start,
        end,
        help="take the tag out; a text goes in quotes",
    )


def _directive(place: SyntaxPlace) -> Problem | None:
    found = re.compile(r"(?:(?<=[\r\n])|^)%[^\r\n]*").search(place.text)
    if found is None or not (place.line.startswith("%") or "document start" in place.problem):
        return None
    return Problem(
        "FC019",
        "a line that begins with % is an order to the reader; catalogues need none",
        found.start(),
        found.start() + len(found.group().rstrip()),
        help="take the line out",
    )


def _second_document(place: SyntaxPlace) -> Problem | None:
    if "document start" not in place.problem:
        return None
    return Problem(
        "FC013",
        "a second document begins here; a catalogue file holds one",
        place.offset,
        place.token_end,
        help="put it into a file of its own, or take the --- or ... line before it out",
    )


def _list_item(place: SyntaxPlace) -> Problem | None:
    if "sequence entries are not allowed" not in place.problem:
        return None
    return Problem(
        SYNTAX,
        "a list item cannot begin here, behind something else in the line",
        place.offset,
        place.offset + 1,
        help="begin each list item on a line of its own; a text that begins with a dash and a "
        "space goes in quotes",
    )


def _block_text(place: SyntaxPlace) -> Problem | None:
    if "block scalar" not in place.context:
        return None
    return Problem(
        SYNTAX,
        "the block of text that | or > opens is not well formed here",
        place.offset,
        place.token_end,
        help="after | or > the line ends; the text stands below, each line indented alike",
    )


def _line_up(place: SyntaxPlace) -> Problem | None:
    if (
        "block mapping" not in place.context
        and "block collection" not in place.context
        and ("block sequence" not in place.context)
    ):
        return None
    if place.before.strip():
        quote = place.before.rstrip()[-1:]
        behind = "behind the closing quote" if quote in ("'", '"') else "here"
        return Problem(
            SYNTAX,
            f"something stands {behind} that belongs to no key",
            place.offset,
            place.token_end,
            help='look for a quote inside the text; double it in single quotes, or write \\" in '
            "double quotes",
        )
    if place.char == "-" and "sequence" not in place.context:
        return Problem(
            SYNTAX,
            "a list item stands among keys",
            place.offset,
            place.offset + 1,
            help="indent it under the key whose list it belongs to",
        )
    return Problem(
        SYNTAX,
        "this line does not line up with its neighbours",
        place.offset,
        place.token_end,
        help="give all keys of one record the same number of spaces in front",
    )


_EXPLANATIONS: tuple[Callable[[SyntaxPlace], Problem | None], ...] = (
    _tab,
    _open_quote,
    _escape,
    _flow_colon,
    _directive,
    _second_document,
    _tag,
    _bare_star,
    _block_text,
    _colon_not_allowed,
    _no_colon,
    _list_item,
    _open_bracket,
    _bad_first_character,
    _document_sign,
    _question_mark,
    _stray_closer,
    _inside_brackets,
    _line_up,
)
