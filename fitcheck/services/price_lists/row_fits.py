"""What each row of a searched list is to a machine: it fits, may fit, does not, or is another's."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.catalogue.source import gc_paused
from fitcheck.diagnostics.finding import Span
from fitcheck.diagnostics.suggest import or_list
from fitcheck.kernel.enumeration import Problem
from fitcheck.kernel.gearing import overall_reduction, road_speed_change
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Evidence, Verdict
from fitcheck.rules.fit import set_answers
from fitcheck.services.counter.choices import Choices, JudgedSet
from fitcheck.services.counter.offer import stock_words
from fitcheck.services.counter.request import Request, question
from fitcheck.services.counter.subject import Subject
from fitcheck.services.price_lists.housing_claims import BESIDE_MODELS
from fitcheck.services.price_lists.list_fit import Fit, ListFit, RowFit
from fitcheck.services.price_lists.name_words import names_engine
from fitcheck.services.price_lists.names import Names, names_of
from fitcheck.services.price_lists.outcomes import RowOutcome
from fitcheck.services.price_lists.questions import Asks, Question
from fitcheck.services.price_lists.search import OpenList, OpenLists


@gc_paused()
def fit_rows(lists: OpenLists, choices: Choices, request: Request) -> list[ListFit]:
    """Say of every row what it is to a machine.

    Args:
        lists: the lists.
        choices: the machine's, of the lists' catalogue.
        request: what was asked; of it only counts what may stand beside an article.
    """
    judge = _RowJudge(lists, choices, request)
    return [ListFit(one, list(judge.rows(one))) for one in lists.opened]


class _RowJudge:
    """Judges the rows of lists for one machine."""

    def __init__(self, lists: OpenLists, choices: Choices, request: Request) -> None:
        self._lists = lists
        self._choices = choices
        self._subject = choices.subject
        within = Request(among=request.among)
        self._neighbours = _Neighbours(question(choices, within).problem)
        self._alive = {
            one.gear_set.id: (position, number, one)
            for position, sets in enumerate((*choices.alive, choices.wholes))
            for number, one in enumerate(sets)
        }
        self._dead = {
            one.gear_set.id: one.answer for sets in (*choices.dead, choices.outside) for one in sets
        }
        self._names: Names | None = None

    def rows(self, opened: OpenList) -> Iterator[RowFit]:
        """What each row is, in order; one that repeats another is what that is."""
        known: dict[str, RowFit] = {}
        for row in opened.plan.rows:
            first = known.get(row.same_as)
            if first is not None:
                one = replace(first, row=row, reason=f"same as row {row.same_as}")
            elif row.outcome == "ignored":
                one = RowFit(row, "no-gear-set", reason=row.reason)
            elif opened.is_certain(row):
                one = self._certain(row)
            else:
                one = self._in_question(opened, row)
            known[row.address] = one
            yield one

    def _certain(self, row: RowOutcome) -> RowFit:
        if row.set_id in self._alive:
            return self._of_alive(row)
        entry = self._lists.catalogue.gear_sets[row.set_id]
        answer = self._dead.get(row.set_id)
        if answer is None:  # a retired set is no choice
            answer = _against(set_answers(entry, self._subject.setting))
        if answer is None:
            place = (entry.span("status"),)
            reason = "it is retired in the catalogue"
            return RowFit(row, "does-not-fit", entry, reason, places=place)
        return _ruled_out(row, entry, answer)

    def _of_alive(self, row: RowOutcome) -> RowFit:
        """A set that no rule rules out by itself, beside what suits it best."""
        position, number, one = self._alive[row.set_id]
        entry, grade = one.gear_set, int(one.judgement.evidence)
        beside: tuple[str, ...] = ()
        if position < len(self._choices.alive):
            wheels, pinions = self._choices.sides[position]
            seats = wheels.numbers[number], pinions.numbers[number]
            grade, beside = self._neighbours.best(position, grade, seats)
        change = _change(self._subject, entry)
        if grade > 0:
            reason = f"only with {' and '.join(beside)}" if beside else ""
            if one.offer.availability in ("out-of-stock", "discontinued"):
                told = stock_words(one.offer, shelf_is_kept=False)
                reason = f"{reason}, {told}" if reason else told
            return RowFit(row, "fits", entry, reason, beside=beside, change=change)
        answers = [*one.answers, *self._seats_alone(position, one)]
        against = _against(answers)
        if against is not None and grade < 0:
            return replace(_ruled_out(row, entry, against), change=change)
        if any(a.rule == "family" and a.verdict is Verdict.UNPROVEN for a in answers) and (
            unknown := self._unknown_engine(row, entry)
        ):
            return unknown
        # Where it may fit with another set only, the seat between the two is open.
        answer = next((a for a in answers if a.verdict is Verdict.UNPROVEN), against)
        assert answer is not None
        reason = f"only with {' and '.join(beside)}: " if beside else ""
        reason += answer.reason if answer.measure is None else f"{answer.reason}: {answer.measure}"
        found = RowFit(row, "may-fit", entry, reason, rule=answer.rule, places=_places(answer))
        return replace(found, beside=beside, change=change)

    def _seats_alone(self, position: int, one: JudgedSet) -> Iterator[Answer]:
        """The seats of a set beside the gears that stay."""
        stages = len(self._choices.alive)
        judge = self._choices.seats.judge
        found = []
        if 0 < position < stages:
            found.append(judge(None, one.gear_set, position - 1))
        if position < stages - 1:
            found.append(judge(one.gear_set, None, position))
        yield from (answer for answer in found if answer is not None)

    # -- rows that `import` would ask about ------------------------------------------------------

    def _in_question(self, opened: OpenList, row: RowOutcome) -> RowFit:
        """A row as far as it is read: another family's, ruled out whatever is answered, or open."""
        questions = [opened.plan.questions[key] for key in row.questions]
        here, entry = self._subject.family.id, None
        families = self._named(row, questions)
        if not families or here in families:
            entry = opened.entries.of(row)
            families = families or self._families(opened, row, entry)
        if families and here not in families:
            return RowFit(row, "other-family", entry, f"for {or_list(families)}")
        if not families and (unknown := self._unknown_engine(row, entry)):
            return unknown
        asked = {each.asks for each in questions}
        if row.sheet in opened.doubts:
            reason = f"if {opened.doubts[row.sheet]}"
        elif questions:
            reason = _condition(questions, self._subject)
        else:
            reason = f"if it is read rightly: {row.reason}"
        change = None
        if entry is not None and "pairs" in row.readings and asked <= _NOT_OF_THE_PAIR:
            answers = set_answers(entry, self._subject.setting)
            turned = () if asked <= {"price"} else _ANSWERED
            against = _against(each for each in answers if each.rule not in turned)
            if against is not None:
                return _ruled_out(row, entry, against)
            change = _change(self._subject, entry)
        return RowFit(row, "may-fit", entry, reason, change=change)

    def _named(self, row: RowOutcome, questions: Iterable[Question]) -> list[str]:
        """Families that the words of a row stand for, or may stand for."""
        on_file = self._lists.catalogue.families
        asked = [each for each in questions if each.asks in ("model", "families")]
        near = (choice for each in asked for choice in each.choices if choice in on_file)
        return list(dict.fromkeys([*row.families, *near]))

    def _unknown_engine(self, row: RowOutcome, entry: Entry[GearSet] | None) -> RowFit | None:
        """A row whose models are of no engine on file; None where one is, or it names none."""
        if entry is None or entry.record.fits or self._subject.setting.words.listed(entry.record):
            return None
        names = [each for each in entry.record.listed_for.models if names_engine(each)]
        if not names:
            return None
        reason = f"{or_list(map(repr, names))} is no engine on file"
        places = (entry.span("listed_for", "models"),)
        return RowFit(row, "unknown-engine", entry, reason, rule="family", places=places)

    def _families(
        self, opened: OpenList, row: RowOutcome, entry: Entry[GearSet] | None
    ) -> list[str]:
        """Families of the entry of a row, else those its text names; empty where there is none."""
        named: list[str] = []
        if entry is not None:
            named += [claim.family for claim in entry.record.fits]
            named += self._subject.setting.words.listed(entry.record)
        if not named:
            if self._names is None:
                self._names = names_of(self._lists.catalogue)
            inside = self._names.names_inside(opened.words(row))
            named += [match.family for match in inside if match.family is not None]
        return list(dict.fromkeys(named))


_NOT_OF_THE_PAIR: set[Asks] = {"price", "model", "families", "housing-word", "word"}
"""Questions that leave the pairs of a row as they are read."""

_ANSWERED = ("family", "housing")
"""Rules that an answer may turn."""

_IF: dict[Asks, str] = {
    "model": "if {about} is the {family}",
    "families": "if it is for the {family}",
    "stage-word": "if {about} is its stage",
    "stage": "if its stage is the right one",
    "teeth": "if its teeth are the right ones",
    "housing-word": "if {about} is the right housing",
    "price": "once its price is settled",
    "part-number": "if {about} is its number",
    "word": "if {about} does not limit it",
    "row": "if {about} does not change it",
    "counted": "if the list and not the catalogue is right",
    "column": "if {about} is read rightly",
}


def _condition(questions: Sequence[Question], subject: Subject) -> str:
    """Under which answers a row may fit, such as `if 'Sport' does not limit it`."""
    told = []
    for each in questions:
        about, words = each.about, _IF[each.asks]
        if each.asks == "housing-word":
            about = (about.rpartition(" (")[0] or about).removesuffix(BESIDE_MODELS)
        elif each.asks == "row" and about[:1] not in "'\"":
            words = "if this and no other row of its number is right"
        about = about if about[:1] in "'\"" else repr(about)
        told.append(words.format(about=about, family=subject.family.record.name))
    return " and ".join(dict.fromkeys(told))


def _against(answers: Iterable[Answer]) -> Answer | None:
    return next((each for each in answers if each.verdict is Verdict.RULED_OUT), None)


def _ruled_out(row: RowOutcome, entry: Entry[GearSet], answer: Answer) -> RowFit:
    fit: Fit = "other-family" if answer.rule == "family" else "does-not-fit"
    places = _places(answer) if fit == "does-not-fit" else ()
    return RowFit(row, fit, entry, answer.reason, rule=answer.rule, places=places)


def _places(answer: Answer) -> tuple[Span, ...]:
    return tuple(datum.entry.span(*datum.steps) for datum in answer.data)


def _change(subject: Subject, entry: Entry[GearSet]) -> Fraction:
    """Road-speed change of a set alone, percent, exact."""
    own = entry.record.pairs
    pairs = [own.get(s, p) for s, p in zip(subject.stages, subject.pairs, strict=True)]
    ratio = subject.roll_out_ratio
    return road_speed_change(subject.reduction, overall_reduction(pairs), Fraction(1), ratio)


class _Neighbours:
    """What stands best on either side of a set: sets of equal grade and seats count as one.

    Args:
        problem: the choices that may stand there.
    """

    def __init__(self, problem: Problem) -> None:
        self._joints = problem.joints
        self._kinds: list[dict[tuple[int, int, int], str]] = []
        for stage in problem.stages:
            kinds: dict[tuple[int, int, int], str] = {}
            # The gear that stays comes first, so that nothing is bought without need.
            for each in stage:
                kinds.setdefault((each.grade, each.needs, each.brings), each.items[0].id)
            self._kinds.append(kinds)
        self._known: dict[tuple[int, int, int], tuple[int, tuple[str, ...]]] = {}

    def best(
        self, position: int, grade: int, seats: tuple[int, int]
    ) -> tuple[int, tuple[str, ...]]:
        """The best grade of a combination with a set, and the other sets to buy for it.

        Args:
            position: the set's stage.
            grade: how well the set by itself is proved, 0 unproven.
            seats: what it needs of the next stage, and what it brings to the one before.

        Returns:
            0: unproven at best; below 0: every combination is ruled out.
        """
        needs, brings = seats
        before, left = self._side(position, brings, -1)
        behind, right = self._side(position, needs, 1)
        return min(grade, before, behind), (*left, *right)

    def _side(self, position: int, seat: int, step: int) -> tuple[int, tuple[str, ...]]:
        """The best of all stages on one side of a seat."""
        there = position + step
        if not 0 <= there < len(self._kinds):
            return int(max(Evidence)), ()
        key = (position, seat, step)
        if key not in self._known:
            best: tuple[int, tuple[str, ...]] = (-1, ())
            for (grade, needs, brings), id_ in self._kinds[there].items():
                joint = (
                    self._joints[position][seat][brings]
                    if step > 0
                    else self._joints[there][needs][seat]
                )
                if joint is None:
                    continue
                rest, sets = self._side(there, needs if step > 0 else brings, step)
                if min(grade, joint, rest) > best[0]:
                    best = min(grade, joint, rest), (*((id_,) if id_ else ()), *sets)
            self._known[key] = best
        return self._known[key]
