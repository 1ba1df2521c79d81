"""Plan: which lesson can come next, worked out from the prerequisites."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from math import comb, factorial
from typing import Self

from builder.calculators.problems import Problem
from builder.exercises.calculate import RULE, find_braces
from builder.exercises.combinatorics import pick_order, pick_subset
from builder.exercises.filling import escape_markdown
from builder.exercises.records import Body, Sources, Space
from builder.model.exercises import PlanExercise
from builder.words import Words

MOST_OPTIONS = 4
LEAST_OPTIONS = 3


@dataclass(frozen=True, slots=True)
class Situation:
    """What someone has taken, the one lesson that can come next, and what cannot come yet.

    Args:
        taken: Lessons done, in the order of the course.
        right: A lesson whose prerequisites are all among them.
        wrong: Lessons that lack a prerequisite.
    """

    taken: tuple[str, ...]
    right: str
    wrong: tuple[str, ...]

    @property
    def shown_wrong(self) -> int:
        """How many lessons that cannot come yet one variant shows."""
        return min(MOST_OPTIONS - 1, len(self.wrong))

    @property
    def total(self) -> int:
        """How many variants there are of it."""
        chosen = self.shown_wrong
        return comb(len(self.wrong), chosen) * factorial(chosen + 1)


@dataclass(frozen=True)
class PlanSpace(Space):
    """Every situation that the prerequisites allow, with options in any order.

    Args:
        exercise: As written.
        order: All lessons in the order of the course.
        needs: For each lesson its prerequisites.
        titles: Title of each lesson.
        words: Our words in the language of the course.

    Raises:
        ExerciseError: If no situation can be asked about.
    """

    exercise: PlanExercise
    order: tuple[str, ...]
    needs: Mapping[str, tuple[str, ...]]
    titles: Mapping[str, str]
    words: Words

    @classmethod
    def open(cls, exercise: PlanExercise, course: Sources) -> Self:
        """Make the space of an exercise of a course."""
        lessons = course.library.lessons
        needs = {
            name: tuple(each for each in lesson.prerequisites if each in lessons)
            for name, lesson in lessons.items()
        }
        titles = {name: lesson.title for name, lesson in lessons.items()}
        return cls(exercise, course.order, needs, titles, course.library.words)

    @cached_property
    def lessons(self) -> tuple[str, ...]:
        """The lessons drawn from, in the order of the course."""
        chosen = set(self.exercise.lessons) or set(self.order)
        return tuple(name for name in self.order if name in chosen)

    def close(self, lesson: str) -> frozenset[str]:
        """Give everything that must be taken before a lesson."""
        found: set[str] = set()
        waiting = list(self.needs.get(lesson, ()))
        while waiting:
            name = waiting.pop()
            if name not in found:
                found.add(name)
                waiting.extend(self.needs.get(name, ()))
        return frozenset(found)

    @cached_property
    def situations(self) -> tuple[Situation, ...]:
        """All that can be asked, in a fixed order."""
        found: dict[tuple[frozenset[str], str], Situation] = {}
        for right in self.lessons:
            least = self.close(right)
            if right in least:
                continue
            for other in ("", *self.order):
                more = self.close(other) | {other} if other else frozenset()
                taken = least | more
                if right in taken:
                    continue
                wrong = tuple(
                    name
                    for name in self.lessons
                    if name not in taken and not set(self.needs.get(name, ())) <= taken
                )
                if len(wrong) + 1 < LEAST_OPTIONS:
                    continue
                listed = tuple(name for name in self.order if name in taken)
                found.setdefault((taken, right), Situation(listed, right, wrong))
        return tuple(found.values())

    @cached_property
    def ends(self) -> tuple[int, ...]:
        """Where each situation's variants end."""
        return tuple(accumulate(situation.total for situation in self.situations))

    @property
    def total(self) -> int:
        """How many variants there are."""
        return self.ends[-1] if self.ends else 0

    def find_problems(self) -> Iterator[Problem]:
        """Give everything that keeps variants from being made."""
        if self.total < 2:
            message = "the prerequisites leave nothing to ask about these lessons"
            hint = "name more lessons, some of which need others, or leave the field out"
            yield Problem(("lessons",), RULE, message, hint)
        for field in ("ask", "hint"):
            yield from find_braces((field,), getattr(self.exercise, field) or "", {})

    def make(self, index: int) -> Body:
        """Make the variant at an index."""
        place = next(i for i, end in enumerate(self.ends) if index < end)
        situation = self.situations[place]
        index -= self.ends[place] - situation.total
        chosen = situation.shown_wrong
        subset, order = divmod(index, factorial(chosen + 1))
        wrong = [situation.wrong[i] for i in pick_subset(subset, len(situation.wrong), chosen)]
        listed = [situation.right, *wrong]
        shown = [listed[i] for i in pick_order(order, len(listed))]
        right = shown.index(situation.right)
        taken = "\n".join(f"- {self.name(lesson)}" for lesson in situation.taken)
        done = self.words.text("task.none-done")
        if taken:
            done = f"{self.words.text('task.done')}\n\n{taken}"
        notes = tuple(self.explain(lesson, frozenset(situation.taken)) for lesson in shown)
        return Body(
            ask=f"{self.exercise.ask}\n\n{done}",
            work=notes[right],
            given=(("taken", str(len(situation.taken))),),
            hint=self.exercise.hint,
            options=tuple(self.name(lesson) for lesson in shown),
            notes=notes,
            right=(right,),
        )

    def name(self, lesson: str) -> str:
        """Give a lesson's title as Markdown."""
        return escape_markdown(self.titles[lesson])

    def explain(self, lesson: str, taken: frozenset[str]) -> str:
        """Say why a lesson can or cannot come next."""
        missing = [name for name in self.needs.get(lesson, ()) if name not in taken]
        if missing:
            return self.words.text("task.first-needs", lessons=self._list(missing))
        if not self.needs.get(lesson, ()):
            return self.words.text("task.needs-none")
        key = "task.needs-one" if len(self.needs[lesson]) == 1 else "task.needs-more"
        return self.words.text(key, lessons=self._list(self.needs[lesson]))

    def _list(self, lessons: Sequence[str]) -> str:
        return self.words.text("task.and").join(self.name(each) for each in lessons)
