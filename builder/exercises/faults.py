"""Find the fault: a drawing, a history made from the knowledge base, and what it could have been.

A history is only used where the diagnosis itself, given the same signs and answers, puts the right
option clearly first: what is asked of a student can be found out from what the student is told.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from html import unescape
from itertools import accumulate
from math import factorial
from typing import TYPE_CHECKING, Any, Self

from builder.calculators.problems import Problem
from builder.exercises.calculate import RULE, find_braces
from builder.exercises.combinatorics import pick_order
from builder.exercises.filling import escape_markdown
from builder.exercises.records import Body, Drawing, Sources, Space
from builder.library import Library
from builder.model import Cause, Defect
from builder.model.exercises import FaultExercise

if TYPE_CHECKING:
    from builder.twin.diagnosis.shapes import Findings, IndexedNetwork

MOST_OPTIONS = 4
LEAST_OPTIONS = 3
SHOWN_OFTEN = 0.5
"""A symptom belongs to a history where the defect shows it at least this often."""
ANSWERED_OFTEN = 0.5
"""A question is answered yes where the cause makes it so at least this often."""
CLEARLY = 2.0
"""The right option is at least so many times as probable as any other one shown."""
MOST_SEEN = 3
MOST_YES = 3
MOST_NO = 3
_TITLE = re.compile(r"<title>.*?</title>\s*", re.DOTALL)
_DESC = re.compile(r"<desc>(.*?)</desc>\s*", re.DOTALL)


@dataclass(frozen=True, slots=True)
class History:
    """One flawed thing: what made it so, what is seen and answered, what it could be.

    Args:
        defect: Its defect.
        cause: What brought it.
        seen: Symptoms.
        yes: Questions answered yes.
        no: Questions answered no.
        right: Id of the right option.
        wrong: Ids of the other options, the likeliest first.
    """

    defect: str
    cause: str
    seen: tuple[str, ...]
    yes: tuple[str, ...]
    no: tuple[str, ...]
    right: str
    wrong: tuple[str, ...]

    @property
    def total(self) -> int:
        """How many orders its options can stand in."""
        return factorial(len(self.wrong) + 1)


@dataclass(frozen=True)
class FaultSpace(Space):
    """Every history that the diagnosis finds out, with its options in any order.

    Raises:
        ExerciseError: If there is none.
    """

    exercise: FaultExercise
    library: Library
    network: IndexedNetwork

    @classmethod
    def open(cls, exercise: FaultExercise, course: Sources) -> Self:
        """Make the space of an exercise of a course."""
        return cls(exercise, course.library, course.indexed_network)

    @cached_property
    def histories(self) -> tuple[History, ...]:
        """All histories that can be asked about, in a fixed order."""
        return tuple(self.find_histories())

    @cached_property
    def ends(self) -> tuple[int, ...]:
        """Where each history's variants end."""
        return tuple(accumulate(history.total for history in self.histories))

    @property
    def total(self) -> int:
        """How many variants there are."""
        return self.ends[-1] if self.ends else 0

    def find_problems(self) -> Iterator[Problem]:
        """Give everything that keeps variants from being made."""
        for field in ("ask", "hint"):
            yield from find_braces((field,), getattr(self.exercise, field) or "", {})
        if not self.total:
            what = "defects" if self.exercise.find == "defect" else "causes"
            message = f"no history tells these {what} apart: the diagnosis ranks none clearly first"
            hint = (
                f"name more defects, or give their {what} symptoms and evidence that differ; "
                f"{LEAST_OPTIONS} options are needed"
            )
            yield Problem(("defects",), RULE, message, hint)

    def find_histories(self) -> Iterator[History]:
        """Make a history of each defect and cause, and keep those that can be found out."""
        causes = self.library.causes
        for name in self.exercise.defects:
            defect = self.library.defects.get(name)
            for link in defect.causes if defect else ():
                cause = causes.get(link.cause)
                if defect is None or cause is None:
                    continue
                history = self.make_history(defect, cause)
                if history is not None:
                    yield history

    def make_history(self, defect: Defect, cause: Cause) -> History | None:
        """Make the history of a defect that a cause brought, or None where it stays in doubt."""
        signs = sorted(defect.symptoms, key=lambda link: (-link.often, link.symptom))
        seen = tuple(link.symptom for link in signs if link.often >= SHOWN_OFTEN)[:MOST_SEEN]
        answers = sorted(cause.evidence, key=lambda link: (-link.yes, link.question))
        yes = tuple(link.question for link in answers if link.yes >= ANSWERED_OFTEN)[:MOST_YES]
        own = {link.question for link in cause.evidence}
        no: list[str] = []
        for link in defect.causes:
            other = self.library.causes.get(link.cause)
            for evidence in other.evidence if other else ():
                asked = evidence.question
                if evidence.yes >= ANSWERED_OFTEN and asked not in own and asked not in no:
                    no.append(asked)
        questions = self.library.questions
        known = (
            tuple(name for name in seen if name in self.library.symptoms),
            tuple(name for name in yes if name in questions),
            tuple(name for name in no if name in questions)[:MOST_NO],
        )
        if not known[0]:
            return None
        ranked = self.rank(*known)
        right = defect.id if self.exercise.find == "defect" else cause.id
        if self.exercise.find == "defect":
            others = [name for name in self.exercise.defects if name in self.library.defects]
        else:
            others = [link.cause for link in defect.causes if link.cause in self.library.causes]
        wrong = sorted(
            (name for name in dict.fromkeys(others) if name != right),
            key=lambda name: (-ranked.get(name, 0.0), name),
        )[: MOST_OPTIONS - 1]
        if len(wrong) + 1 < LEAST_OPTIONS:
            return None
        best = max(ranked, key=lambda name: (ranked[name], name), default="")
        doubt = max(ranked.get(name, 0.0) for name in wrong)
        if best != right or ranked[right] < CLEARLY * doubt:
            return None
        return History(defect.id, cause.id, *known, right, tuple(wrong))

    def rank(
        self, seen: tuple[str, ...], yes: tuple[str, ...], no: tuple[str, ...]
    ) -> dict[str, float]:
        """Give the probability of each defect or cause, as the diagnosis sees it."""
        from builder.twin.diagnosis.inference import infer

        findings: Findings = {"present": seen, "absent": (), "yes": yes, "no": no, "skipped": ()}
        diagnosis: Any = infer(self.network, findings)
        ranked = diagnosis["defects" if self.exercise.find == "defect" else "causes"]
        return {entry["id"]: float(entry["probability"]) for entry in ranked}

    def make(self, index: int) -> Body:
        """Make the variant at an index."""
        place = next(i for i, end in enumerate(self.ends) if index < end)
        history = self.histories[place]
        order = index - (self.ends[place] - history.total)
        listed = (history.right, *history.wrong)
        shown = [listed[i] for i in pick_order(order, len(listed))]
        right = shown.index(history.right)
        names = tuple(escape_markdown(self.entry(name).name) for name in shown)
        return Body(
            ask=f"{self.exercise.ask}\n\n{self.tell(history)}",
            work=self.explain(history),
            given=(("defect", history.defect), ("cause", history.cause)),
            hint=self.exercise.hint,
            drawing=self.draw(self.library.defects[history.defect]),
            options=names,
            notes=tuple(escape_markdown(self.entry(name).summary) for name in shown),
            right=(right,),
        )

    def entry(self, name: str) -> Defect | Cause:
        """Give an option's entry."""
        if self.exercise.find == "defect":
            return self.library.defects[name]
        return self.library.causes[name]

    def tell(self, history: History) -> str:
        """Tell a history in words; Markdown."""
        seen = ". ".join(escape_markdown(self.library.symptoms[name].name) for name in history.seen)
        lines = [self.library.words.text("task.seen", signs=seen), ""]
        for names, answer in ((history.yes, "yes"), (history.no, "no")):
            for name in names:
                said = self.library.words.text(f"task.answered-{answer}")
                lines.append(f"- {escape_markdown(self.library.questions[name].ask)} {said}.")
        return "\n".join(lines)

    def explain(self, history: History) -> str:
        """Say how the history points to the right option; Markdown."""
        defect = self.library.defects[history.defect]
        if self.exercise.find == "defect":
            return defect.looks
        how = next((link.how for link in defect.causes if link.cause == history.cause), None)
        return how or escape_markdown(self.library.causes[history.cause].summary)

    def draw(self, defect: Defect) -> Drawing | None:
        """Give the defect's drawing without its title, which would name the fault."""
        svg = self.library.drawings.get(defect.picture or defect.id)
        if svg is None:
            return None
        described = _DESC.search(svg)
        words = unescape(described[1]) if described else defect.summary
        start = svg.find("<svg")
        return Drawing(_DESC.sub("", _TITLE.sub("", svg[start:])).strip(), words, 48.0)
