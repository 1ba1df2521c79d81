"""What a decision chart says: the same words for the drawing, for the list beside it, on paper."""

from __future__ import annotations

from dataclasses import dataclass

from builder.diagnosis.decision_tree import Branch, Chart, Leaf, Split
from builder.frequencies import name_likelihood
from builder.library import Library
from builder.words import Words


@dataclass(frozen=True, slots=True)
class ChartWords:
    """The words of a course's charts.

    Args:
        library: The course.
    """

    library: Library

    @property
    def texts(self) -> Words:
        """Our words in the language of the course."""
        return self.library.words

    @property
    def thing(self) -> str:
        """What the made thing is called."""
        return self.library.settings.thing.one if self.library.settings else "thing"

    @property
    def headings(self) -> tuple[str, str, str]:
        """What stands over the endings."""
        text = self.texts.text
        return text("chart.why"), text("chart.this", thing=self.thing), text("chart.next")

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
            causes.append((self._say_likelihood(probability), "small"))
        return tuple(causes), self._tell_now(leaf), ((self.fix(leaf.next), ""),)

    def _tell_now(self, leaf: Leaf) -> tuple[tuple[str, str], ...]:
        """Say what to do with the thing; first of all, where that is so, not to use it."""
        if not leaf.use:
            return ((self.fix(leaf.now), ""),)
        told = ((self.texts.text(f"advice.{leaf.use}", one=self.thing), "strong"),)
        return (*told, (self.fix(leaf.now), "")) if leaf.now else told

    def fix(self, name: str | None) -> str:
        """Name a fix, or say that there is none."""
        return self.library.fixes[name].name if name else self.texts.text("chart.nothing")

    def notes(self, chart: Chart, *, drawn: bool = False) -> tuple[str, ...]:
        """Say what stands below a chart.

        Args:
            chart: The chart.
            drawn: Whether the reader sees its lines.
        """
        notes = [self.texts.text("chart.judgement")]
        if isinstance(chart.root, Split):
            both = self.texts.text("chart.both-lines" if drawn else "chart.both-answers")
            notes[0] = f"{notes[0]} {both}"
        if chart.possible:
            names = "; ".join(self.library.causes[name].name for name in chart.possible)
            notes.append(self.texts.text("chart.also", causes=names))
        return tuple(notes)

    def say_end(self, leaf: Leaf) -> str:
        """Say an ending in one text."""
        causes = "; ".join(
            f"{self.library.causes[name].name} ({self._say_likelihood(probability)})"
            for name, probability in leaf.causes
        )
        _, now, after = self.headings
        told = ". ".join(text for text, _ in self._tell_now(leaf))
        values = {"causes": causes, "now": now, "told": told, "after": after}
        return self.texts.text("chart.ending", **values, next=self.fix(leaf.next))

    def _say_likelihood(self, probability: float) -> str:
        return self.texts.text(f"likelihood.{name_likelihood(probability)}")

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
            return self.texts.text("chart.go-on", number=numbers[id(branch)])

        def tell(branch: Branch) -> None:
            if isinstance(branch, Split):
                ways = {"if_yes": lead(branch.yes), "if_no": lead(branch.no)}
                number_of = numbers[id(branch)]
                told.append(
                    self.texts.text(
                        "chart.question", number=number_of, ask=self.ask(branch), **ways
                    )
                )
                tell(branch.yes)
                tell(branch.no)

        number(chart.root)
        tell(chart.root)
        name = self.library.defects[chart.defect].name
        return " ".join([f"{name}.", *(told or [lead(chart.root)]), *self.notes(chart)])
