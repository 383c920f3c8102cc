"""Open questions as a small YAML file that a person answers and feeds back."""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from pathlib import Path

from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode
from fitcheck.catalogue.reader import Catalogue
from fitcheck.catalogue.source import Source, read_source
from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError, reason_of
from fitcheck.model.fields import STAGES
from fitcheck.rules.setting import plain_word
from fitcheck.services.counter.lookup import find_family
from fitcheck.services.price_lists.outcomes import Plan
from fitcheck.services.price_lists.questions import (
    ALWAYS_HARMLESS,
    HARMLESS,
    LEFT_OUT,
    NONE,
    Asks,
    Evidence,
    Question,
    clean_text,
    evidence_of,
    key_of_question,
)
from fitcheck.services.price_lists.stage_assignment import stage_of_word
from fitcheck.services.price_lists.wording.amounts import AS_IT_STANDS, read_rule
from fitcheck.services.price_lists.wording.teeth import read_teeth

KIND = "import-review"
_KINDS = (KIND, "intake-review")
"""The kind of a file of questions; earlier ones bear the other name."""

_RULES = (AS_IT_STANDS, "x 2", "/ 5", "- 10 %")
ANSWERS: dict[Asks, str] = {
    "model": f"the engine family, by id or name; {NONE} if it is none of ours",
    "families": f"all, {NONE}, or ids of families with commas between",
    "stage-word": "primary, secondary, tertiary or single",
    "stage": "primary, secondary, tertiary or single; one for each pair, with commas between",
    "teeth": f"like 15/44, or 15/44, 13/48 for a train; {NONE} leaves the row out",
    "housing-word": f"housings, by id or name, with commas between; all; {NONE} if it says nothing",
    "price": f"an amount like 64.90, or what to do with each: {', '.join(_RULES)}; {NONE} if there "
    "is no price",
    "part-number": f"the number as the supplier writes it, quoted; {NONE} leaves the row out",
    "word": f"{HARMLESS} if it changes nothing; {ALWAYS_HARMLESS}: in no supplier's list; "
    f"{LEFT_OUT}: no row that has it is taken; or the housing, the stage or the family that it "
    "means. It holds for all lists of the supplier",
    "row": f"a letter, the first choice being a; {LEFT_OUT} takes no row that says so",
    "counted": "list or catalogue",
    "column": "one of the choices, as it is written there, or its letter, the first being a",
}
"""What an answer to each kind of question looks like."""

NONE_MEANS: dict[Asks, str] = {
    "model": "none of ours",
    "families": "none of them",
    "teeth": "leave the row out",
    "housing-word": "it says nothing",
    "price": "no price",
    "part-number": "leave the row out",
}
"""What the answer `none` says to each kind of question that takes it."""

_WIDTH = 96
_KIND_LINE = re.compile(rf"^kind: (?:{'|'.join(_KINDS)})\s*$", re.MULTILINE)
_ANSWERED = re.compile(r"^\s*(?:- )?answer:[ \t]*[^\s#]|answer: *[^\s,}#]", re.MULTILINE)


def review_text(plan: Plan) -> str:
    """The open questions of a plan as the text of a YAML file; empty where there are none."""
    if not plan.questions:
        return ""
    kinds = list(dict.fromkeys(question.asks for question in plan.questions.values()))
    lines = [
        *_comment(
            f"Open questions of the list {Path(plan.path).name}. Write each answer behind its "
            "answer:, then feed the file back with --answers; what stays empty is asked again.",
            "",
        ),
        "#",
        *(line for kind in kinds for line in _comment(f"{kind}: {ANSWERS[kind]}", "", "  ")),
        "",
        f"kind: {KIND}",
        f"supplier: {_quote(plan.supplier)}",
        "questions:",
    ]
    for question in plan.questions.values():
        lines += ["", *_entry(question, evidence_of(question, plan.layouts))]
    return "\n".join(lines) + "\n"


def _entry(question: Question, evidence: Iterable[Evidence]) -> Iterable[str]:
    yield from _comment(question.text, "  ")
    more = question.count - len(question.where)
    places = ", ".join(question.where) + (f" and {more} more" if more > 0 else "")
    yield from _comment(f"in {places}", "  ")
    for row in evidence:
        cells = " | ".join(f"{head}: {text}" if head else text for head, text in row.cells if text)
        yield from _comment(f"row {row.address}: {cells}", "  ", "  ")
    yield f"  - asks: {question.asks}"
    yield f"    about: {_quote(question.about)}"
    if question.choices:
        if question.asks == "row":
            yield "    choices:"
            for at, choice in enumerate(question.choices):
                yield f"      - {_quote(choice)} # {chr(ord('a') + at)}"
        else:
            yield f"    choices: [{', '.join(_quote(choice) for choice in question.choices)}]"
    yield "    answer:"


def _quote(text: str) -> str:
    # A JSON string is a YAML one too.
    return json.dumps(text, ensure_ascii=False)


def _comment(text: str, indent: str, hanging: str = "") -> Iterable[str]:
    """A text in comment lines; a word too long for one stays whole."""
    line = f"{indent}#"
    for word in text.split():
        if len(line) + 1 + len(word) > _WIDTH and line.strip() != "#":
            yield line
            line = f"{indent}# {hanging}".rstrip()
        line += f" {word}"
    yield line


def write_review(plan: Plan, path: str, *, over_answers: bool = False) -> bool:
    """Write the open questions into a file, whole or not at all.

    A file that is there is written over only if it is an earlier one of its kind, without answers.

    Args:
        plan: the plan.
        path: where to.
        over_answers: whether the answers that are there have been taken, so that they may go.

    Returns:
        Whether there was anything to write.

    Raises:
        UsageError: a file of another kind is there, answers that would be lost, or a folder that
            cannot be written to.
    """
    text = review_text(plan)
    if not text:
        return False
    refuse_place(path, over_answers=over_answers)
    target = Path(path)
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
    except OSError as error:
        reason = reason_of(error)
        raise UsageError(f"{path} cannot be written: {reason}; name another file") from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        Path(temporary).chmod(0o644)
        Path(temporary).replace(target)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    return True


def refuse_place(path: str, *, over_answers: bool = False) -> None:
    """Refuse a place where the questions cannot be written.

    Args:
        path: where to.
        over_answers: whether answers that are there may go.

    Raises:
        UsageError: there is no such folder, a file of another kind is there, or answers that
            would be lost.
    """
    target = Path(path)
    if not target.absolute().parent.is_dir():
        raise UsageError(f"{path}: there is no such folder; make it or name another file")
    there = _head_of(target)
    if there is not None:
        if not _KIND_LINE.search(there):
            raise UsageError(f"{path}: a file of another kind is there; name another file")
        if _ANSWERED.search(there) and not over_answers:
            raise UsageError(
                f"{path}: answers are in it; feed them back with --answers, or name another file"
            )


def _head_of(path: Path) -> str | None:
    """The text of a file that is there; of one too large to be ours its beginning."""
    try:
        with path.open("rb") as stream:
            return stream.read(1 << 24).decode(errors="replace")
    except FileNotFoundError:
        return None
    except OSError:
        return ""


_FIELDS = ("asks", "about", "choices", "answer")
_PAIR = re.compile(r"[0-9]+/[0-9]+")


@dataclass(slots=True)
class Answers:
    """Answers as they were read.

    Attributes:
        given: key of a question to its answer, the text `none` for none.
        faults: a line for each answer that is none: file:line:column, what, what to do.
        places: key to file:line:column.
    """

    given: dict[str, str] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    places: dict[str, str] = field(default_factory=dict)


def read_answers(path: str, catalogue: Catalogue, supplier: str) -> Answers:
    """Read a file of questions and the answers in it.

    Args:
        path: the file, as `write_review` makes it.
        catalogue: families and housings that answers name.
        supplier: id of the supplier it must be of.

    Returns:
        The answers; what is wrong with them is in `faults`.

    Raises:
        UnreadableError: the file is missing or cannot be opened.
    """
    source, findings = read_source(path, named=True)
    answers = Answers()
    answers.faults += [
        f"{each.span}: {each.message}" + (f"; {each.help}" if each.help else "")
        for each in findings
    ]
    if answers.faults:
        return answers
    root = source.root
    if not isinstance(root, MapNode) or root.value.get("kind") not in _KINDS:
        answers.faults.append(
            f"{source.path}:1:1: not a file of questions (kind: {KIND}); --review writes one"
        )
        return answers
    if root.value.get("supplier") != supplier:
        where = source.span(("supplier",))
        answers.faults.append(
            f"{where}: the questions are of {root.value.get('supplier')}, the list is of {supplier}"
        )
        return answers
    questions = source.node(("questions",))
    if not isinstance(questions, ListNode):
        where = source.span(("questions",))
        answers.faults.append(f"{where}: questions must be a list; --review writes one")
        return answers
    for node in questions.items:
        _take(answers, source, node, catalogue)
    return answers


def _take(answers: Answers, source: Source, node: Node, catalogue: Catalogue) -> None:
    start = source.between(node.start, node.start + 1)
    if not isinstance(node, MapNode):
        answers.faults.append(f"{start}: not a question; it must have asks, about and answer")
        return
    for key, (key_node, _) in node.entries.items():
        if key not in _FIELDS:
            near = nearest(key, _FIELDS)
            advice = f"did you mean {near}?" if near else f"there is {or_list(_FIELDS)}"
            where = source.between(key_node.start, key_node.end)
            answers.faults.append(f"{where}: a question has no {key!r}; {advice}")
            return
    asks, about = (_scalar(node, name) for name in ("asks", "about"))
    if asks not in ANSWERS or about is None:
        known = or_list(list(ANSWERS))
        answers.faults.append(f"{start}: asks must be {known}, with about beside it")
        return
    given = _given(node)
    key = key_of_question(asks, about)
    if not given:
        return
    answer_node = node.entries["answer"][1]
    where = source.between(answer_node.start, answer_node.end)
    try:
        found = _READ[asks](given, about, catalogue, _choices(node))
    except UsageError as error:
        answers.faults.append(f"{where}: {error}")
        return
    if answers.given.get(key, found) != found:
        answers.faults.append(f"{where}: answered another way at {answers.places[key]}")
        return
    answers.given[key] = found
    answers.places[key] = str(where)


def _scalar(node: MapNode, name: str) -> str | None:
    found = node.entries.get(name)
    if found is None or not isinstance(found[1], ScalarNode) or found[1].value is None:
        return None
    return found[1].text


def _given(node: MapNode) -> str:
    """The answer as text, its raw digits kept; a list of words with commas; empty for none yet."""
    found = node.entries.get("answer")
    if found is None:
        return ""
    value = found[1]
    if isinstance(value, ListNode):
        return ", ".join(item.text for item in value.items if isinstance(item, ScalarNode))
    if isinstance(value, MapNode) or value.value is None:
        return "{}" if isinstance(value, MapNode) else ""
    return clean_text(value.text)


def _choices(node: MapNode) -> list[str]:
    found = node.entries.get("choices")
    if found is None or not isinstance(found[1], ListNode):
        return []
    return [item.text for item in found[1].items if isinstance(item, ScalarNode)]


# ------------------------------------------------------------------ each kind of answer


def read_answer(question: Question, text: str, catalogue: Catalogue) -> str:
    """An answer that somebody typed, as it is kept.

    Raises:
        UsageError: it is none to this question.
    """
    return _READ[question.asks](clean_text(text), question.about, catalogue, question.choices)


Check = Callable[[str, str, Catalogue, Sequence[str]], str]


def _is_none(text: str) -> bool:
    return text.casefold() == NONE


def _families(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    if text.casefold() == "all" and list(choices) == [NONE]:
        raise UsageError(f"{text!r}: the row names no family; write the ids of families, or {NONE}")
    if text.casefold() in ("all", NONE):
        return text.casefold()
    return ", ".join(dict.fromkeys(find_family(catalogue, each).id for each in _split_list(text)))


def _stage_word(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    if (known := stage_of_word(text)) is not None:
        return known
    if text.casefold() not in STAGES:
        near = nearest(text.casefold(), STAGES)
        advice = f"did you mean {near}?" if near else f"there is {or_list(STAGES)}"
        raise UsageError(f"{text!r} is not a stage; {advice}")
    return text.casefold()


def _stage(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    stages = [_stage_word(each, about, catalogue, choices) for each in _split_list(text)]
    pairs = len(_PAIR.findall(about))
    if len(set(stages)) != len(stages) or (pairs and len(stages) != pairs):
        each = "one stage" if pairs == 1 else f"{pairs} different stages"
        raise UsageError(f"{text!r}: name {each}, as many as there are pairs")
    return ", ".join(stages)


def _teeth(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    if _is_none(text):
        return NONE
    found = read_teeth(text, teeth_column=True)
    if not found.certain:
        raise UsageError(f"{text!r}: {found.reason or 'no tooth counts'}; write {ANSWERS['teeth']}")
    return text


def _housing(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    if _is_none(text):
        return NONE
    family = about.rpartition("(")[2].removesuffix(")")
    entry = catalogue.families.get(family)
    entries = catalogue.families.values() if entry is None else [entry]
    if text.casefold() == "all":
        return "all"
    names = {
        plain_word(name): id_
        for each in entries
        for id_, housing in each.record.housings.items()
        for name in (id_, housing.name, *housing.aliases)
    }
    ids = [names.get(plain_word(each)) for each in _split_list(text)]
    if None in ids:
        known = or_list(dict.fromkeys(names.values()))
        raise UsageError(f"{text!r} is not a housing{f' of {family}' if entry else ''}; {known}")
    return ", ".join(dict.fromkeys(filter(None, ids)))


def _price(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    if _is_none(text):
        return NONE
    if (rule := read_rule(text)) is not None:
        return rule
    if about[:1] in ("'", '"'):
        raise UsageError(f"{text!r}: say what to do with each amount: {or_list(_RULES)}")
    try:
        amount = Decimal(text.replace(",", "."))
    except InvalidOperation:
        amount = Decimal("NaN")
    if not amount.is_finite() or not 0 <= amount <= 1_000_000 or amount.adjusted() < -4:
        raise UsageError(f"{text!r} is not a price; write {ANSWERS['price']}")
    return f"{amount:f}"


def _row(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    if text in choices:
        return text
    if not choices:
        raise UsageError(f"{text!r}: its choices are missing; write the questions anew: --review")
    at = ord(text.casefold()) - ord("a") if len(text) == 1 else -1
    if not 0 <= at < len(choices):
        last = chr(ord("a") + len(choices) - 1)
        raise UsageError(f"{text!r} is not one of the choices; write a letter, a to {last}")
    return choices[at]


def _word(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    if text.casefold() in (HARMLESS, ALWAYS_HARMLESS, LEFT_OUT):
        return text.casefold()
    if (stage := stage_of_word(text)) is not None:
        return stage
    for entry in catalogue.families.values():
        for id_, housing in entry.record.housings.items():
            names = (id_, housing.name, *housing.aliases)
            if plain_word(text) in {plain_word(each) for each in names}:
                return id_
    try:
        return find_family(catalogue, text).id
    except UsageError:
        raise UsageError(
            f"{text!r} is no stage, housing or family; write {ANSWERS['word']}"
        ) from None


def _counted(text: str, about: str, catalogue: Catalogue, choices: Sequence[str]) -> str:
    if text.casefold() not in ("list", "catalogue"):
        raise UsageError(f"{text!r}: say which is right, {ANSWERS['counted']}")
    return text.casefold()


def _split_list(text: str) -> list[str]:
    return [each for part in text.split(",") if (each := part.strip())]


_READ: dict[str, Check] = {
    "model": lambda text, _, known, __: NONE if _is_none(text) else find_family(known, text).id,
    "families": _families,
    "stage-word": _stage_word,
    "stage": _stage,
    "teeth": _teeth,
    "housing-word": _housing,
    "price": _price,
    "part-number": lambda text, *_: NONE if _is_none(text) else text,
    "word": _word,
    "row": _row,
    "counted": _counted,
    "column": _row,
}
