"""The questions of a list, asked one by one on a terminal: one key an answer, kept at once."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Literal, Protocol

from fitcheck.cli.terminal import ask, digit_keys, read_key

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.screens.screen import Screen
    from fitcheck.services.price_lists.outcomes import Plan
    from fitcheck.services.price_lists.questions import Question

Ended = Literal["answered", "later", "stopped"]
"""How it ended: nothing is left to ask; the rest is put off; or nothing more is wanted."""

_ORDER = ("column", "stage-word", "model", "housing-word", "families")
"""Kinds of question that come first: their answers settle most rows."""
_CLOSED = ("column", "counted")
"""Kinds of question to which there are no answers but the choices."""
_KEYS = {
    "k": "skip",
    "u": "undo",
    "l": "the rest later",
    "q": "stop",
    "?": "help",
}
_HELP = (
    "k leaves this question open and goes on. u takes the last answer back. l takes the rows that "
    "are certain, and leaves the rest open: the next run asks it again. q stops, and no row is "
    "written. Every answer is kept in the supplier's file as soon as it is given."
)
_OF_A_ROW = re.compile(r"'[^']*'|\"[^\"]*\"|\S*[0-9]\S*")


class Keeper(Protocol):
    """What a dialogue needs of the sitting it is part of."""

    def plan(self, given: Mapping[str, str]) -> Plan:
        """The plan with some answers."""

    def keep(self, key: str, answer: str | None) -> str | None:
        """Keep the answer to a question at once, None takes it back; the answer that holds."""

    def kept_before(self) -> Mapping[str, str]:
        """Answers of earlier runs, by key of their question: the last of each kind."""

    def take_back(self, key: str) -> None:
        """Take back an answer of an earlier run."""


class Dialogue:
    """Asks what a plan leaves open, until nothing is left or somebody stops.

    Attributes:
        plan: the plan, with the answers given so far as of the last round.
        given: key of a question to its answer.
    """

    def __init__(self, out: Screen, catalogue: Catalogue, keeper: Keeper) -> None:
        """Make the first plan.

        Args:
            out: the screen.
            catalogue: families and housings that answers name.
            keeper: makes plans and keeps answers.
        """
        self.given: dict[str, str] = {}
        self.plan = keeper.plan(self.given)
        self._out = out
        self._catalogue = catalogue
        self._keeper = keeper
        self._skipped: set[str] = set()
        self._steps: list[list[str]] = []
        self._planned: dict[str, str] = {}

    def ask(self) -> Ended:
        """Ask until it ends."""
        while True:
            left = self._open()
            if not left and self._planned != self.given:
                self._plan_again()
            elif not left:
                return "answered"
            elif ended := self._ask_first(left):
                return ended

    def _plan_again(self) -> None:
        self.plan = self._keeper.plan(self.given)
        self._planned = dict(self.given)

    def _open(self) -> list[Question]:
        """Questions without an answer, those first whose answers settle most."""
        left = [
            each
            for key, each in self.plan.questions.items()
            if key not in self.given and key not in self._skipped
        ]
        kinds = list(dict.fromkeys([*_ORDER, *(each.asks for each in left)]))
        return sorted(left, key=lambda each: kinds.index(each.asks))

    def _ask_first(self, left: list[Question]) -> Ended | None:
        """Ask the first question; how it all ended, or None to go on."""
        question = left[0]
        alike = [each for each in left if _shape(each) == _shape(question)]
        choices = _choice_keys(question)
        self._show(question, alike, choices, of=len(self._steps) + len(left))
        asked = [question]
        while True:
            key = read_key()
            answer = choices.get(key)
            if key == "o" and question.asks not in _CLOSED:
                answer = self._type(question)
            if answer is not None:
                self._take(asked, answer)
                return None
            if key == "u":
                self.undo()
                return None
            if key == "k":
                self._skipped.add(question.key)
                self._steps.append([question.key])
                return None
            if key in ("l", "q"):
                return "later" if key == "l" else "stopped"
            if key == "a" and len(alike) > 1:
                asked = alike
                self._out.line(f"  the next answer is for all {len(alike)}", style="bold")
            elif key == "?":
                self._help(question)
            elif key != "o" or question.asks in _CLOSED:
                self._out.line(f"  {key or 'that key'} is no answer here; ? for help")

    def _show(
        self, question: Question, alike: list[Question], choices: Mapping[str, str], *, of: int
    ) -> None:
        from fitcheck.screens.price_lists.question import print_keys, print_question
        from fitcheck.services.price_lists.questions import NONE, evidence_of
        from fitcheck.services.price_lists.review import NONE_MEANS

        none = NONE_MEANS.get(question.asks, NONE)
        keys = [
            f"{key} {none if choice == NONE else _shown(choice)}" for key, choice in choices.items()
        ]
        if question.asks not in _CLOSED:
            keys.append("o another answer")
        if len(alike) > 1:
            keys.append(f"a one answer for all {len(alike)} alike")
        rows = evidence_of(question, self.plan.layouts)
        print_question(self._out, question, rows, f"{len(self._steps) + 1} of {of}", keys)
        print_keys(self._out, [f"{key} {word}" for key, word in _KEYS.items()], style="dim")

    def _help(self, question: Question) -> None:
        from fitcheck.services.price_lists.review import ANSWERS

        self._out.paragraph(f"The answer: {ANSWERS[question.asks]}. {_HELP}", "  ")

    def _type(self, question: Question) -> str | None:
        """An answer that is typed; None where the line stays empty."""
        from fitcheck.services.price_lists.review import ANSWERS, read_answer

        self._out.paragraph(f"{ANSWERS[question.asks]}; empty goes back", "  ")
        return ask(
            "  answer",
            lambda text: read_answer(question, text, self._catalogue) if text else None,
            empty="",
        )

    def _take(self, asked: list[Question], text: str) -> None:
        """Keep an answer to a question, and to those alike that can have it."""
        from fitcheck.services.price_lists.review import read_answer

        step = []
        for question in asked:
            if question is not asked[0] and question.choices and text not in question.choices:
                continue
            answer = read_answer(question, text, self._catalogue)
            held = self._keeper.keep(question.key, answer)
            if held is not None and held != answer:
                self._out.line(f"  answered meanwhile by somebody else: {held}", style="bold")
            self.given[question.key] = held or answer
            step.append(question.key)
        if len(step) < len(asked):
            self._out.line(f"  {text} is a choice of {len(step)} of them only", style="bold")
        self._steps.append(step)
        if asked[0].asks == "column":
            self._plan_again()  # no other question is meant until the columns are known

    def undo(self) -> None:
        """Take the last answer back, or the last question that was skipped.

        Where none was given in this run, one that was kept before.
        """
        if not self._steps:
            self._undo_before()
            return
        for key in self._steps.pop():
            if self.given.pop(key, None) is not None:
                self._keeper.keep(key, None)
            self._skipped.discard(key)
            if key not in self.plan.questions:
                self._plan_again()

    def _undo_before(self) -> None:
        """Ask which answer of an earlier run is to be taken back."""
        kept = digit_keys(self._keeper.kept_before().items())
        if not kept:
            self._out.line("  no answer was kept before")
            return
        self._out.line()
        self._out.paragraph("Kept before. Which answer is to be taken back?", style="bold")
        for at, (key, answer) in kept.items():
            self._out.paragraph(f"{at} {key}: {answer}", "  ", "    ")
        key = read_key("(another key: none) > ")
        if key in kept:
            self._keeper.take_back(kept[key][0])
            self._plan_again()


def _shown(choice: str) -> str:
    """A choice in words: `/ 10` is divided by 10."""
    found = re.fullmatch(r"(?P<sign>[x/-]) (?P<by>[0-9.,]+ ?%?)", choice)
    if found is None:
        return choice
    return {"x": "times ", "/": "divided by ", "-": "less "}[found["sign"]] + found["by"]


def _choice_keys(question: Question) -> dict[str, str]:
    """Key to the choice that it takes: a digit, or n for none."""
    from fitcheck.services.price_lists.questions import NONE

    keys = digit_keys(choice for choice in question.choices if choice != NONE)
    return keys | {"n": NONE} if NONE in question.choices else keys


def _shape(question: Question) -> tuple[str, str]:
    """What a question asks, whatever row it asks it of; a word that is asked of stays."""
    if question.asks in ("stage", "teeth", "price", "part-number", "counted"):
        return question.asks, _OF_A_ROW.sub("", question.text)
    return question.asks, question.text
