"""Choose and order: options drawn from more than one variant shows, in an order of their own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import comb, factorial
from typing import Self

from builder.calculators.problems import Problem
from builder.exercises.calculate import RULE, find_braces
from builder.exercises.combinatorics import pick_order, pick_subset
from builder.exercises.filling import escape_markdown
from builder.exercises.records import Body, Sources, Space
from builder.model.exercises import ChooseExercise, OrderExercise


@dataclass(frozen=True)
class ChooseSpace(Space):
    """One right option, some of the wrong ones, in any order.

    Raises:
        ExerciseError: If there is no right option, or too few wrong ones.
    """

    exercise: ChooseExercise

    @classmethod
    def open(cls, exercise: ChooseExercise, course: Sources) -> Self:
        """Make the space of an exercise of a course."""
        return cls(exercise)

    @cached_property
    def right(self) -> tuple[int, ...]:
        """Places of the right options."""
        return tuple(i for i, option in enumerate(self.exercise.options) if option.right)

    @cached_property
    def wrong(self) -> tuple[int, ...]:
        """Places of the wrong options."""
        return tuple(i for i, option in enumerate(self.exercise.options) if not option.right)

    @property
    def shown_wrong(self) -> int:
        """How many wrong options one variant shows."""
        return self.exercise.show - 1

    @property
    def total(self) -> int:
        """How many variants there are."""
        chosen = comb(len(self.wrong), self.shown_wrong)
        return len(self.right) * chosen * factorial(self.exercise.show)

    def find_problems(self) -> Iterator[Problem]:
        """Give everything that keeps variants from being made."""
        exercise = self.exercise
        if not self.right:
            yield Problem(("options",), RULE, "no option is right", "mark one with right: true")
        if len(self.wrong) < self.shown_wrong:
            message = (
                f"a variant shows {exercise.show} options, one of them right, "
                f"but only {len(self.wrong)} are wrong"
            )
            hint = f"write {self.shown_wrong} wrong ones or more, or lower show"
            yield Problem(("options",), RULE, message, hint)
        seen: dict[str, int] = {}
        for place, option in enumerate(exercise.options):
            words = " ".join(option.text.split()).casefold()
            if words in seen:
                message = f"options {seen[words] + 1} and {place + 1} say the same"
                yield Problem(("options", place, "text"), RULE, message)
            seen.setdefault(words, place)
            yield from find_braces(("options", place, "text"), option.text, {})
            yield from find_braces(("options", place, "why"), option.why, {})
        yield from find_braces(("ask",), exercise.ask, {})
        yield from find_braces(("hint",), exercise.hint or "", {})

    def make(self, index: int) -> Body:
        """Make the variant at an index."""
        index, order = divmod(index, factorial(self.exercise.show))
        index, subset = divmod(index, comb(len(self.wrong), self.shown_wrong))
        right = self.right[index]
        wrong = [self.wrong[i] for i in pick_subset(subset, len(self.wrong), self.shown_wrong)]
        listed = [right, *wrong]
        shown = [listed[place] for place in pick_order(order, len(listed))]
        options = [self.exercise.options[place] for place in shown]
        place = shown.index(right)
        return Body(
            ask=self.exercise.ask,
            work=options[place].why,
            hint=self.exercise.hint,
            options=tuple(option.text for option in options),
            notes=tuple(option.why for option in options),
            right=(place,),
        )


@dataclass(frozen=True)
class OrderSpace(Space):
    """Some of the steps, in any order but the right one.

    Raises:
        ExerciseError: If two items say the same, or there are fewer than are shown.
    """

    exercise: OrderExercise

    @classmethod
    def open(cls, exercise: OrderExercise, course: Sources) -> Self:
        """Make the space of an exercise of a course."""
        return cls(exercise)

    @property
    def shown(self) -> int:
        """How many items one variant shows."""
        return min(self.exercise.show, len(self.exercise.items))

    @property
    def total(self) -> int:
        """How many variants there are."""
        return comb(len(self.exercise.items), self.shown) * (factorial(self.shown) - 1)

    def find_problems(self) -> Iterator[Problem]:
        """Give everything that keeps variants from being made."""
        seen: dict[str, int] = {}
        for place, item in enumerate(self.exercise.items):
            words = " ".join(item.split()).casefold()
            if words in seen:
                message = f"items {seen[words] + 1} and {place + 1} say the same"
                yield Problem(("items", place), RULE, message)
            seen.setdefault(words, place)
            yield from find_braces(("items", place), item, {})
        for field in ("ask", "hint", "why"):
            yield from find_braces((field,), getattr(self.exercise, field) or "", {})

    def make(self, index: int) -> Body:
        """Make the variant at an index."""
        subset, order = divmod(index, factorial(self.shown) - 1)
        members = pick_subset(subset, len(self.exercise.items), self.shown)
        # Order 0 is the right one; it is never given.
        shuffled = pick_order(order + 1, self.shown)
        items = self.exercise.items
        options = tuple(escape_markdown(items[members[place]]) for place in shuffled)
        right = tuple(shuffled.index(place) for place in range(self.shown))
        return Body(
            ask=self.exercise.ask,
            work=self.exercise.why,
            hint=self.exercise.hint,
            options=options,
            right=right,
        )
