"""Makes a synthetic course of any size: clean under `check`, of no particular craft, no two alike.

Run as a script it writes one to a folder: `python tests/benchmarks/generate_course.py 1000 OUT`.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

SHARES = {
    "lesson": 0.08,
    "defect": 0.16,
    "cause": 0.2,
    "fix": 0.2,
    "symptom": 0.1,
    "question": 0.08,
    "material": 0.06,
    "tool": 0.03,
    "caution": 0.01,
    "term": 0.05,
    "citation": 0.03,
}
"""What part of the entries each kind has."""

LEVELS = ("beginner", "intermediate", "advanced")
HAZARDS = ("hot", "dust", "sharp", "sensitiser", "irritant", "electric", "flammable")

COURSE = """\
name: Synthetic course
sentence: Made to measure how long things take.
thing: {one: thing, many: things}
doors:
  learn: {title: Learn, text: Begin here.}
  fix: {title: Mend, text: It went wrong.}
  teach: {title: Teach, text: A class.}
local_rules: Ask where you are.
tracks:
  - {id: only, name: Only track, summary: All of it.}
class_size: 8
room: 20 degC
"""


def count_entries(total: int) -> dict[str, int]:
    """Share out a number of entries among the kinds; the course itself is one of them."""
    counts = {kind: max(2, round(share * total)) for kind, share in SHARES.items()}
    counts["caution"] = max(len(HAZARDS), counts["caution"])
    counts["cause"] += total - 1 - sum(counts.values())
    assert counts["cause"] > 0, "at least 60 entries"
    return counts


class _Maker:
    def __init__(self, total: int, seed: int) -> None:
        self.counts = count_entries(total)
        self.chance = random.Random(seed)
        self.files: dict[str, str] = {"lessons/course.yml": COURSE}

    def pick(self, kind: str, number: int, near: int = 0) -> list[str]:
        """Pick ids of a kind; with `near` rising, every entry of the kind is picked by someone."""
        count = self.counts[kind]
        first = near % count
        others = (self.chance.randrange(count) for _ in range(number - 1))
        return [f"{kind}-{each}" for each in dict.fromkeys([first, *others])]

    def prose(self, kind: str, near: int) -> str:
        """Some sentences with links and quantities, as real texts have them."""
        (link,) = self.pick(kind, 1, near)
        words = ["slow", "warm", "low", "thin", "clear", "firm", "dry", "even", "small", "steady"]
        self.chance.shuffle(words)
        return (
            f"Keep it {words[0]} and {words[1]} at {{{20 + near % 50} degC}}, see "
            f"[what that means]({kind}:{link}), and go on {words[2]} till it is {words[3]} "
            f"and {words[4]}. A {words[5]} hand makes a {words[6]} edge."
        )

    def spread(self, of: str, over: str, number: int) -> list[int]:
        """Say which entries of a kind belong to an entry of another, so that all are used."""
        return list(range(number, self.counts[of], self.counts[over]))

    def make(self) -> dict[str, str]:
        counts = self.counts
        for number in range(counts["lesson"]):
            self.files[f"lessons/only/lesson-{number}.yml"] = self.make_lesson(number)
        for number in range(counts["defect"]):
            self.files[f"kb/defects/defect-{number}.yml"] = self.make_defect(number)
        for number in range(counts["cause"]):
            self.files[f"kb/causes/cause-{number}.yml"] = self.make_cause(number)
        for number in range(counts["fix"]):
            self.files[f"kb/fixes/fix-{number}.yml"] = self.make_fix(number)
        for kind, file in (
            ("symptom", "symptoms"),
            ("question", "questions"),
            ("material", "materials"),
            ("tool", "tools"),
            ("caution", "cautions"),
            ("term", "glossary"),
            ("citation", "citations"),
        ):
            made = [
                f"{kind}-{number}:\n{getattr(self, f'make_{kind}')(number)}"
                for number in range(counts[kind])
            ]
            self.files[f"kb/{file}.yml"] = "".join(made)
        self.files["kb/drawings/plain.svg"] = (
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 120" role="img">'
            "<title>A thing</title><desc>A plain thing.</desc>"
            '<rect x="20" y="20" width="120" height="80" fill="none" stroke="currentColor"/></svg>'
        )
        return dict(sorted(self.files.items()))

    def make_lesson(self, number: int) -> str:
        level = LEVELS[min(2, 3 * number // self.counts["lesson"])]
        before = [f"lesson-{number - step}" for step in (1, 7) if number >= step]
        assumes = f"assumes: [skill-{number // 2}]\n" if number else ""
        base, extra = f"material-{2 * (number % (self.counts['material'] // 2))}", "material-1"
        risks = "".join(
            f"  - {{defect: defect-{each}, watch: Keep an eye on it.}}\n"
            for each in self.spread("defect", "lesson", number)
        )
        tool = self.pick("tool", 1, number)[0]
        return (
            f"title: Lesson {number}\nlevel: {level}\ntrack: only\nsummary: Thing {number}.\n"
            f"picture: plain\nprerequisites: [{', '.join(before)}]\n{assumes}"
            f"teaches:\n  - {{skill: skill-{number}, text: Make thing {number}.}}\n"
            f"intro: >-\n  {self.prose('term', number)}\n"
            f"materials:\n  - {{material: {base}, amount: {100 + number % 40} g}}\n"
            f"  - {{material: {extra}, amount: 1.5 mL}}\n"
            f"tools:\n  - {{tool: {tool}}}\n"
            f"exercises:\n  - id: practise\n    kind: choose\n    skill: skill-{number}\n"
            "    title: What comes first\n    ask: What do you do first?\n    show: 3\n"
            "    options:\n"
            "      - {text: Warm it., right: true, why: Cold it does not mix.}\n"
            f"      - {{text: Wait {number + 1} days., why: Nothing happens by itself.}}\n"
            "      - {text: Pour it., why: It does not run yet.}\n"
            "      - {text: Shake it., why: That brings air in.}\n"
            "steps:\n"
            f"  - title: Warm it\n    text: >-\n      {self.prose('lesson', number)}\n"
            "    temperature: 60 to 70 degC\n    time: 10 min\n    actions:\n"
            f"      - {{do: add, vessel: pot, material: {base}, amount: {100 + number % 40} g}}\n"
            "      - {do: heat, vessel: pot, to: 70 degC}\n"
            f"  - title: Mix it\n    text: >-\n      {self.prose('material', number)}\n"
            "    temperature: 40 to 45 degC\n    time: 5 min\n    wait: 1 h\n    actions:\n"
            "      - {do: cool, vessel: pot, to: 42 degC}\n"
            f"      - {{do: add, vessel: pot, material: {extra}, amount: 1.5 mL}}\n"
            "      - {do: pour, vessel: pot, into: mould}\n" + (f"risks:\n{risks}" if risks else "")
        )

    def make_defect(self, number: int) -> str:
        own = [f"symptom-{each}" for each in self.spread("symptom", "defect", number)]
        symptoms = dict.fromkeys([*own, *self.pick("symptom", 2, number)])
        causes = dict.fromkeys(
            [
                *(f"cause-{each}" for each in self.spread("cause", "defect", number)),
                *self.pick("cause", 2, number),
            ]
        )
        return (
            f"name: Defect {number}\nsummary: Fault {number}.\ntracks: [only]\npicture: plain\n"
            f"looks: >-\n  {self.prose('symptom', number)}\nwhy: >-\n  "
            f"{self.prose('cause', number)}\nsymptoms:\n"
            + "".join(f"  - {{symptom: {each}, often: usually}}\n" for each in symptoms)
            + "causes:\n"
            + "".join(f"  - {{cause: {each}, often: sometimes}}\n" for each in causes)
        )

    def make_cause(self, number: int) -> str:
        # Evidence is the number of the cause written in questions, so that no two are alike.
        questions = self.counts["question"]
        asked = {number % questions: "usually", (number // questions) % questions: "often"}
        fixes = dict.fromkeys(
            [
                *(f"fix-{each}" for each in self.spread("fix", "cause", number)),
                *self.pick("fix", 2, number),
            ]
        )
        return (
            f"name: Cause {number}\nsummary: Reason {number}.\nwhat_happens: >-\n  "
            f"{self.prose('fix', number)}\nhow_common: sometimes\nevidence:\n"
            + "".join(f"  - {{question: question-{q}, yes: {yes}}}\n" for q, yes in asked.items())
            + "fixes:\n"
            + "".join(f"  - {{fix: {each}, helps: often}}\n" for each in fixes)
            + f"lesson: lesson-{number % self.counts['lesson']}\n"
        )

    def make_fix(self, number: int) -> str:
        return (
            f"name: Fix {number}\nwhen: {('now', 'next')[number % 2]}\nsummary: Remedy {number}.\n"
            f"steps:\n  - text: >-\n      {self.prose('term', number)}\n"
            "    actions:\n      - {do: heat, vessel: pot, to: 60 degC}\n"
            f"  - text: Wait {{{5 + number % 50} min}}.\ntime: {5 + number % 50} min\n"
        )

    def make_symptom(self, number: int) -> str:
        return (
            f"  {{name: Sign {number}, label: sign {number}, text: Look at it., picture: plain}}\n"
        )

    def make_question(self, number: int) -> str:
        return f'  {{ask: "Was it number {number}?"}}\n'

    def make_material(self, number: int) -> str:
        source = f"citation-{number % self.counts['citation']}"
        if number % 2:
            return (
                f"  name: Extra {number}\n  summary: >-\n    {self.prose('term', number)}\n"
                f"  hazards: [sensitiser]\n  flash_points:\n"
                f"    - {{value: 62 degC, citation: {source}}}\n  limits:\n"
                f"    - {{most: 3 %, of: base, citation: {source}}}\n"
                f"  density: {{value: 0.9 g/mL, citation: {source}}}\n"
                f"  packs:\n    - {{amount: 100 mL, price: {number % 20 + 1}.50 EUR}}\n"
            )
        return (
            f"  name: Base {number}\n  summary: Holds the rest.\n  is_base: true\n"
            f"  highest_temperature: {{value: 80 degC, citation: {source}}}\n"
        )

    def make_tool(self, number: int) -> str:
        return f"  {{name: Tool {number}, summary: Used for it.}}\n"

    def make_caution(self, number: int) -> str:
        # A course has one caution a hazard; the further ones are about single materials.
        about = f"materials: [material-{number % self.counts['material']}]"
        if number < len(HAZARDS):
            about = f"hazards: [{HAZARDS[number]}]"
        return (
            f"  signal: Warning\n  title: Care {number}\n  happens: It hurts.\n"
            f"  do: [Take care.]\n  applies: {{{about}}}\n"
        )

    def make_term(self, number: int) -> str:
        return f"  name: Term {number}\n  text: >-\n    {self.prose('term', number + 1)}\n"

    def make_citation(self, number: int) -> str:
        return f"  {{title: Source {number}, certainty: practice}}\n"


def generate_course(total: int, seed: int = 1) -> dict[str, str]:
    """Make a course of exactly so many entries.

    Args:
        total: Number of entries, at least 60.
        seed: Another seed gives another course of the same size.

    Returns:
        Path relative to the course folder to text.
    """
    return _Maker(total, seed).make()


def write_course(total: int, folder: Path, seed: int = 1) -> None:
    """Write such a course to a folder that does not exist yet."""
    for path, text in generate_course(total, seed).items():
        file = folder / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)


if __name__ == "__main__":
    write_course(int(sys.argv[1]), Path(sys.argv[2]))
