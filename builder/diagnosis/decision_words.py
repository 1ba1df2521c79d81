"""What a decision chart says: the same words for the drawing, for the list beside it, on paper."""

from __future__ import annotations

from dataclasses import dataclass

from builder.diagnosis.decision_tree import Branch, Chart, Leaf, Split
from builder.frequencies import say_likelihood
from builder.library import Library
from builder.words import load_words

NOTHING = "Nothing that helps"


@dataclass(frozen=True, slots=True)
class ChartWords:
    """The words of a course's charts.

    Args:
        library: The course.
    """

    library: Library

    @property
    def thing(self) -> str:
        """What the made thing is called."""
        return self.library.settings.thing.one if self.library.settings else "thing"

    @property
    def headings(self) -> tuple[str, str, str]:
        """What stands over the endings."""
        return "Why", f"This {self.thing}", "Next time"

    def ask(self, split: Split) -> str:
        """Word a question."""
        return self.library.questions[split.question].ask

    def head(self, chart: Chart) -> tuple[tuple[str, str], ...]:
        """Name a defect and its signs, each with its style."""
        signs = [self.library.symptoms[name].name for name in chart.signs]
        return (self.library.defects[chart.defect].name, "strong"), *(
            (sign, "small") for sign in signs
        )

    def end(self, leaf: Leaf) -> tuple[tuple[tuple[str, str], ...], ...]:
        """Word the three cells of an ending, each a row of texts with their styles."""
        causes: list[tuple[str, str]] = []
        for name, probability in leaf.causes:
            causes.append((self.library.causes[name].name, "strong"))
            causes.append((say_likelihood(probability), "small"))
        return tuple(causes), self._tell_now(leaf), ((self.fix(leaf.next), ""),)

    def _tell_now(self, leaf: Leaf) -> tuple[tuple[str, str], ...]:
        """Say what to do with the thing; first of all, where that is so, not to use it."""
        if not leaf.use:
            return ((self.fix(leaf.now), ""),)
        told = ((load_words("en").text(f"advice.{leaf.use}", one=self.thing), "strong"),)
        return (*told, (self.fix(leaf.now), "")) if leaf.now else told

    def fix(self, name: str | None) -> str:
        """Name a fix, or say that there is none."""
        return self.library.fixes[name].name if name else NOTHING

    def notes(self, chart: Chart, *, drawn: bool = False) -> tuple[str, ...]:
        """Say what stands below a chart.

        Args:
            chart: The chart.
            drawn: Whether the reader sees its lines.
        """
        notes = ["A teacher's judgement, not a measurement. Several causes may act at once."]
        if isinstance(chart.root, Split):
            notes[0] += (
                " If you cannot answer, follow both lines; the thicker one is the likelier answer."
                if drawn
                else " If you cannot answer, follow both answers."
            )
        if chart.possible:
            names = "; ".join(self.library.causes[name].name for name in chart.possible)
            notes.append(f"Also possible: {names}.")
        return tuple(notes)

    def say_end(self, leaf: Leaf) -> str:
        """Say an ending in one text."""
        causes = "; ".join(
            f"{self.library.causes[name].name} ({say_likelihood(probability)})"
            for name, probability in leaf.causes
        )
        _, now, after = self.headings
        told = ". ".join(text for text, _ in self._tell_now(leaf))
        return f"{causes}. {now}: {told}. {after}: {self.fix(leaf.next)}."

    def say_chart(self, chart: Chart) -> str:
        """Say a whole chart in one text, each question with a number to go back to."""
        told: list[str] = []
        numbers: dict[int, int] = {}

        def number(branch: Branch) -> None:
            if isinstance(branch, Split):
                numbers[id(branch)] = len(numbers) + 1
                number(branch.yes)
                number(branch.no)

        def lead(branch: Branch) -> str:
            if isinstance(branch, Leaf):
                return self.say_end(branch)
            return f"go on with {numbers[id(branch)]}."

        def tell(branch: Branch) -> None:
            if isinstance(branch, Split):
                told.append(
                    f"{numbers[id(branch)]}. {self.ask(branch)} Yes: {lead(branch.yes)} "
                    f"No: {lead(branch.no)}"
                )
                tell(branch.yes)
                tell(branch.no)

        number(chart.root)
        tell(chart.root)
        name = self.library.defects[chart.defect].name
        return " ".join([f"{name}.", *(told or [lead(chart.root)]), *self.notes(chart)])
