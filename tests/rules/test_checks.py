"""The rule table, and what the rules say in cases their folders do not show."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from helpers import check, complete, make_library, overlay, read_course

from builder.checks import RULES, check_library, run_checks
from builder.checks.rule import Found, describe_rule, rule
from builder.course import Course
from builder.diagnostics import Severity, render_text
from builder.library import build_library
from builder.model import KINDS

_PROMISED = """
yaml-syntax yaml-duplicate-key yaml-ambiguous-scalar field-unknown field-missing value-invalid
id-duplicate reference-unknown fix-unreachable cause-without-fix cause-unreachable
defect-without-symptom defect-without-cause symptom-unused causes-indistinguishable
prerequisite-circle prerequisite-later-level skill-not-taught lesson-unreachable
risk-without-lesson amount-mismatch heat-after-flammable above-flash-point dose-over-limit
over-safe-temperature drill-missing caution-missing citation-missing link-unsafe picture-missing
"""
PROMISED = frozenset(_PROMISED.split())


def rules(source: str) -> list[str]:
    """Ids of the rules that report something about a short course with its fields filled in."""
    library, findings = make_library(complete(source))
    assert findings == []
    # Short materials leave facts out, which is the business of a rule with tests of its own.
    return sorted(each.rule for each in check_library(library) if each.rule != "fact-missing")


def messages(source: str, rule: str) -> list[str]:
    library, _ = make_library(complete(source))
    return [found.message for found in check_library(library) if found.rule == rule]


def test_every_promised_rule_is_in_the_table() -> None:
    assert set(RULES) >= PROMISED


def test_ids_are_kebab_case_and_stand_for_their_rule() -> None:
    for rule_id, each in RULES.items():
        assert each.id == rule_id
        assert re.fullmatch(r"[a-z]+(-[a-z]+)+", rule_id)


def test_a_docstring_becomes_the_parts_of_a_manual_section() -> None:
    documentation = """
    What it finds.

    Why it matters,
    in a paragraph.

    And another.

    Failing:

        # file: kb/a.yml
        x:
          y: 1

    Passing:

        # file: kb/a.yml
        x: 2
    """
    told = describe_rule("some-rule", "text", documentation)
    assert told.summary == "What it finds."
    assert told.why == "Why it matters,\nin a paragraph.\n\nAnd another."
    assert told.failing == "# file: kb/a.yml\nx:\n  y: 1"
    assert told.passing == "# file: kb/a.yml\nx: 2"


def test_a_rule_without_a_function_is_the_readers() -> None:
    for each in RULES.values():
        assert (each.check is None) == (each.family == "reading")


def test_a_rule_adds_its_id_its_severity_and_the_places() -> None:
    library, _ = build_library(read_course())
    cause, fix = library.causes["flower-too-wet"], library.fixes["press-again"]

    @rule("x-rule", "text", Severity.WARNING)
    def check_x(course: Course) -> Iterator[Found]:
        """Find it."""
        also = [(fix, ("time",), "here")]
        yield Found(cause, ("fixes", 0, "helps"), "wrong", "mend", related=also)
        yield Found(cause, (), "worse", severity=Severity.ERROR)

    found = list(check_x.run(Course(library)))
    assert render_text(found) == (
        "kb/causes/flower-too-wet.yml:8:30: warning: wrong [x-rule]\n"
        "  hint: mend\n"
        "  see kb/fixes/press-again.yml:9:7: here\n"
        "  see: teaching/rules/#x-rule\n"
        "kb/causes/flower-too-wet.yml:1:1: error: worse [x-rule]\n"
        "  see: teaching/rules/#x-rule\n"
    )
    assert [each.entry for each in found] == ["cause:flower-too-wet"] * 2


def test_run_checks_runs_them_all_and_changes_nothing() -> None:
    library, _ = make_library(overlay("# file: kb/symptoms/x.yml\nname: X\nlabel: x\ntext: X.\n"
                                      "picture: wavy\n"))  # fmt: skip
    first = run_checks(Course(library))
    assert [found.rule for found in first] == ["symptom-unused"]
    assert run_checks(Course(library)) == first
    assert check_library(library) == list(first)


def test_an_empty_course_has_nothing_to_check() -> None:
    library, _ = build_library({})
    assert run_checks(Course(library)) == ()


# No entry of the flower course leans on its calculator.
NEEDED = sorted(
    path for path in read_course() if path.endswith(".yml") and "/calculators/" not in path
)


@pytest.mark.parametrize("path", NEEDED)
def test_a_missing_file_is_reported_and_raises_nothing(path: str) -> None:
    found = check(overlay(f"# without: {path}\n"))
    assert any(each.severity is Severity.ERROR for each in found)


# References


@pytest.mark.parametrize(
    ("kind", "field"),
    [
        ("lesson", "prerequisites: [nobody]"),
        ("lesson", "materials: [{material: nobody, amount: 1 g}]"),
        ("lesson", "tools: [{tool: nobody}]"),
        ("lesson", "cautions: [nobody]"),
        ("lesson", "citations: [nobody]"),
        ("lesson", "risks: [{defect: nobody, watch: It.}]"),
        ("lesson", "steps: [{cautions: [nobody]}]"),
        ("lesson", "steps: [{actions: [{do: stir, vessel: pan, tool: nobody}]}]"),
        ("lesson", "intro: '[x](material:nobody)'"),
        ("lesson", "after: '[x](calculator:nobody)'"),
        ("lesson", "steps: [{why: '[x](question:nobody)'}]"),
        ("lesson", "track: nobody"),
        ("defect", "look_alikes: [{defect: nobody, tell: It.}]"),
        ("defect", "cautions: [nobody]"),
        ("cause", "lesson: nobody"),
        ("cause", "calculator: nobody"),
        ("cause", "evidence: [{question: nobody, yes: often}]"),
        ("fix", "steps: [{actions: [{do: add, vessel: pan, material: nobody}]}]"),
        ("fix", "lesson: nobody"),
        ("caution", "applies: {materials: [nobody]}"),
        ("caution", "applies: {tools: [nobody]}"),
        ("case", "seen: [nobody]"),
        ("case", "was: [nobody]"),
        ("class", "sessions: [{date: 2030-09-02, start: '18:30', length: 2 h, lessons: [nobody]}]"),
        ("course", "drills: [{hazard: hot, level: beginner, lesson: nobody, tools: [x], "
                   "cautions: [x]}]"),
    ],
)  # fmt: skip
def test_a_name_that_leads_nowhere_is_reported_wherever_it_stands(kind: str, field: str) -> None:
    place = KINDS[kind].place
    file = f"{place}.yml" if kind == "course" else f"{place}/one.yml"
    found = messages(f"# file: {file}\n{field}\n", "reference-unknown")
    assert any('"nobody"' in each or ":nobody" in each for each in found)


def test_a_facts_source_is_reported_once_and_by_its_own_rule() -> None:
    source = "# file: kb/materials/x.yml\nlimits: [{most: 1 %, of: base, citation: nobody}]\n"
    assert rules(source) == ["citation-missing"]


# Causes


INDISTINCT = """\
# file: kb/symptoms.yml
wavy: {{}}
damp: {{}}
# file: kb/questions.yml
asked: {{yes_otherwise: 0.1}}
# file: kb/defects/one.yml
symptoms: [{{symptom: wavy, often: often}}]
causes: [{{cause: a, often: often}}, {{cause: b, often: rarely}}]
# file: kb/defects/two.yml
symptoms: [{{symptom: {second}, often: often}}]
causes: [{{cause: b, often: often}}, {{cause: {also}, often: often}}]
# file: kb/causes/a.yml
evidence: [{first}]
fixes: [{{fix: mend, helps: often}}]
# file: kb/causes/b.yml
evidence: [{other}]
fixes: [{{fix: mend, helps: often}}]
# file: kb/fixes/mend.yml
{{}}
"""


@pytest.mark.parametrize(
    ("first", "other", "second", "also", "apart"),
    [
        ("", "", "wavy", "a", False),
        ("", "", "damp", "a", False),  # both bring both defects
        ("", "", "wavy", "b", False),  # the other defect looks the same
        ("", "", "damp", "b", True),  # only b brings the damp one
        ("{question: asked, yes: often}", "", "wavy", "a", True),
        ("{question: asked, yes: rarely}", "", "wavy", "a", False),  # as often as otherwise
        ("{question: asked, yes: often}", "{question: asked, yes: often}", "wavy", "a", False),
        ("{question: asked, yes: often}", "{question: asked, yes: usually}", "wavy", "a", True),
        ("{question: asked, yes: 0.5}", "{question: asked, yes: 0.6}", "wavy", "a", False),
    ],
)
def test_causes_are_told_apart_by_a_question_or_another_defects_symptom(
    first: str, other: str, second: str, also: str, apart: bool
) -> None:
    source = INDISTINCT.format(first=first, other=other, second=second, also=also)
    found = messages(source, "causes-indistinguishable")
    assert found == ([] if apart else ['nothing tells the causes "a" and "b" apart'])


def test_a_pair_of_causes_is_named_once_for_all_its_defects() -> None:
    source = INDISTINCT.format(first="", other="", second="damp", also="a")
    assert len(messages(source, "causes-indistinguishable")) == 1


CHAIN = """\
# file: kb/symptoms.yml
wavy: {{}}
# file: kb/defects/one.yml
symptoms: [{{symptom: wavy, often: often}}]
{defect}
# file: kb/causes/a.yml
{cause}
# file: kb/fixes/mend.yml
{{}}
"""


@pytest.mark.parametrize(
    ("defect", "cause", "rule", "draft"),
    [
        (
            "causes: [{cause: a, often: often}]",
            "draft: true\nfixes: [{fix: mend, helps: often}]",
            "fix-unreachable",
            'cause "a" (kb/causes/a.yml)',
        ),
        (
            "draft: true\ncauses: [{cause: a, often: often}]",
            "fixes: [{fix: mend, helps: often}]",
            "cause-unreachable",
            'defect "one" (kb/defects/one.yml)',
        ),
    ],
)
def test_a_draft_that_would_close_the_chain_is_named(
    defect: str, cause: str, rule: str, draft: str
) -> None:
    library, _ = make_library(complete(CHAIN.format(defect=defect, cause=cause)))
    (found,) = [each for each in check_library(library) if each.rule == rule]
    assert found.hint == (
        f'{draft} names it and is a draft; when it is ready, take its line "draft: true" out'
    )


@pytest.mark.parametrize(
    ("defect", "cause", "message"),
    [
        (
            "causes: [{cause: a, often: often}, {cause: a, often: rarely}]",
            "fixes: [{fix: mend, helps: often}]",
            'the cause "a" stands twice among the causes of this defect',
        ),
        (
            "causes: [{cause: a, often: often}]",
            "fixes: [{fix: mend, helps: often}, {fix: mend, helps: never}]",
            'the fix "mend" stands twice among the fixes of this cause',
        ),
    ],
)
def test_what_stands_twice_with_two_chances_is_reported(
    defect: str, cause: str, message: str
) -> None:
    assert messages(CHAIN.format(defect=defect, cause=cause), "value-invalid") == [message]


# Safety


SAFE = """\
# file: lessons/one.yml
materials: [{{material: base, amount: 100 g}}, {{material: scent, amount: {listed}}}]
steps:
  - actions:
      - {{do: add, vessel: jug, material: base, amount: 100 g}}
      - {{do: add, vessel: jug, material: scent, amount: {amount}}}
# file: kb/materials.yml
base: {{is_base: true}}
scent:
  density: {{value: 0.9 g/mL, citation: sheet}}
  limits: [{{most: {most}, of: {of}, citation: sheet}}]
# file: kb/citations.yml
sheet: {{}}
"""


@pytest.mark.parametrize(
    ("amount", "most", "of", "fits"),
    [
        ("3 g", "3 %", "base", True),
        ("3.0000001 g", "3 %", "base", False),
        ("0.3 g", "0.3 %", "base", True),
        ("0.1 oz", "2.8349523125 %", "base", True),
        ("0.1 oz", "2.8349523124 %", "base", False),
        ("3.3 mL", "2.97 %", "base", True),
        ("3.4 mL", "2.97 %", "base", False),
        # 3 g in 103 g of product are 2.9126 %: plain arithmetic.
        ("3 g", "2.9126 %", "product", False),
        ("3 g", "2.9127 %", "product", True),
        ("25 g", "20 %", "product", True),
        ("25.1 g", "20 %", "product", False),
        ("500 g", "100 %", "product", True),
    ],
)
def test_doses_are_compared_exactly(amount: str, most: str, of: str, fits: bool) -> None:
    source = SAFE.format(amount=amount, listed=amount, most=most, of=of)
    assert rules(source) == ([] if fits else ["dose-over-limit"])


def test_a_misread_mark_is_caught() -> None:
    # One ounce of scent in three ounces of base, where 1 to 2 mL are sensible.
    source = SAFE.format(amount="1 oz", listed="1 oz", most="3 %", of="base")
    source = source.replace("amount: 100 g", "amount: 3 oz")
    (found,) = messages(source, "dose-over-limit")
    assert "33.3 % of the base" in found


@pytest.mark.parametrize(
    ("room", "flash", "rule"),
    [
        # At or below the room no window could do; heat is kept away instead.
        ("21 degC", "12 degC", "heat-after-flammable"),
        ("21 degC", "21 degC", "heat-after-flammable"),
        ("21 degC", "48 degC", "above-flash-point"),
        ("21 degC", "70 degC", None),
    ],
)
def test_room_temperature_decides_which_rule_keeps_a_liquid_safe(
    room: str, flash: str, rule: str | None
) -> None:
    source = f"""\
# file: lessons/course.yml
room: {room}
# file: lessons/one.yml
materials: [{{material: liquid, amount: 1 g}}]
steps:
  - actions:
      - {{do: add, vessel: jug, material: liquid, amount: 1 g}}
  - actions:
      - {{do: heat, vessel: jug, to: 60 degC}}
# file: kb/materials.yml
liquid:
  flash_points: [{{value: {flash}, citation: sheet}}]
# file: kb/cautions.yml
care: {{applies: {{hazards: [flammable, hot]}}}}
# file: kb/citations.yml
sheet: {{}}
"""
    assert rules(source) == ([] if rule is None else [rule])


def test_leaving_the_hazard_out_silences_nothing() -> None:
    source = """\
# file: lessons/one.yml
materials: [{material: liquid, amount: 1 g}]
steps:
  - actions:
      - {do: wet, vessel: mould, material: liquid, amount: 1 g}
      - {do: heat, vessel: mould, to: 60 degC}
# file: kb/materials.yml
liquid:
  ghs:
    revision: invented
    statements: [{code: H225, text: Highly flammable liquid and vapour}]
    citation: sheet
# file: kb/citations.yml
sheet: {}
"""
    assert rules(source) == ["caution-missing", "caution-missing", "heat-after-flammable"]


@pytest.mark.parametrize("verb", ["add", "wet", "stir"])
def test_a_dangerous_material_in_a_lesson_needs_actions_to_follow(verb: str) -> None:
    source = """\
# file: lessons/one.yml
materials: [{material: liquid, amount: 1 g}]
# file: kb/materials.yml
liquid: {hazards: [flammable], citations: [sheet]}
# file: kb/cautions.yml
care: {applies: {hazards: [flammable]}}
# file: kb/citations.yml
sheet: {}
"""
    assert rules(source) == ["amount-mismatch"]
    action = f"steps: [{{actions: [{{do: {verb}, vessel: jug, material: liquid}}]}}]\n"
    followed = source.replace("# file: kb/materials", f"{action}# file: kb/materials")
    assert rules(followed) == (["amount-mismatch"] if verb == "stir" else [])


def test_nothing_in_an_entry_can_silence_a_rule() -> None:
    course = read_course()
    lesson = course["lessons/cards/mounting.yml"]
    for comment in ("# noqa", "# benchlore: ignore", "# type: ignore"):
        bad = lesson.replace("{do: air, vessel: card, time: 12 h}",
                             f"{{do: heat, vessel: card, to: 50 degC}}  {comment}")  # fmt: skip
        found = check({**course, "lessons/cards/mounting.yml": bad})
        assert [each.rule for each in found] == ["heat-after-flammable"]


# Lessons


def test_a_skill_is_taught_however_many_lessons_back() -> None:
    source = "# file: lessons/a.yml\nteaches: [{skill: cut, text: Cut.}]\n"
    for before, name in zip("abcdef", "bcdefg", strict=True):
        source += f"# file: lessons/{name}.yml\nprerequisites: [{before}]\n"
    source += "assumes: [cut]\n"
    assert messages(source, "skill-not-taught") == []


@pytest.mark.parametrize(
    ("listed", "used", "fits"),
    [
        ("100 g", "100.5 g", True),
        ("100 g", "100.6 g", False),
        ("100 g", "99.5 g", True),
        ("100 g", "99.4 g", False),
        ("4 oz", "113.4 g", True),
        ("4 oz", "113 g", True),
        ("10 mL", "9 g", True),
        ("10 mL", "8.9 g", False),
        ("2 tsp", "9.86 mL", True),
    ],
)
def test_amounts_agree_within_half_a_percent(listed: str, used: str, fits: bool) -> None:
    source = f"""\
# file: lessons/one.yml
materials: [{{material: oil, amount: {listed}}}]
steps: [{{actions: [{{do: add, vessel: jug, material: oil, amount: {used}}}]}}]
# file: kb/materials.yml
oil:
  density: {{value: 0.9 g/mL, citation: sheet}}
# file: kb/citations.yml
sheet: {{}}
"""
    assert rules(source) == ([] if fits else ["amount-mismatch"])


@pytest.mark.parametrize(
    ("listed", "found"),
    [("100 g", []), ("90 g", ["amount-mismatch"]), ("110 g", ["amount-mismatch"])],
)
def test_what_is_poured_from_a_bottle_counts_and_what_is_poured_on_does_not(
    listed: str, found: list[str]
) -> None:
    assert (
        rules(f"""\
# file: lessons/one.yml
materials: [{{material: oil, amount: {listed}}}]
steps:
  - actions:
      - {{do: pour, vessel: bottle, into: jug, material: oil, amount: 100 g}}
      - {{do: pour, vessel: jug, into: cup, material: oil, amount: 60 g}}
# file: kb/materials.yml
oil: {{}}
""")
        == found
    )


# Values


@pytest.mark.parametrize(
    ("field", "message"),
    [
        ("materials: [{material: oil, amount: -5 g}]", '"-5 g" is less than nothing'),
        ("steps: [{time: -5 min}]", '"-5 min" is less than nothing'),
        ("steps: [{temperature: -300 to 20 degC}]", '"-300 to 20 degC" is less than absolute zero'),
        ("steps: [{temperature: 1 to 1e999 degC}]", '"1e999 degC" is too large'),
    ],
)
def test_what_cannot_be_is_refused(field: str, message: str) -> None:
    _, findings = make_library(complete(f"# file: lessons/one.yml\n{field}\n"))
    assert [(found.rule, found.message) for found in findings] == [("value-invalid", message)]


def test_a_temperature_below_freezing_is_one() -> None:
    found = messages(
        "# file: lessons/one.yml\nsteps: [{temperature: -5 to 5 degC}]\n", "value-invalid"
    )
    assert found == []


def test_a_pour_goes_somewhere_else() -> None:
    source = "# file: lessons/one.yml\nsteps: [{actions: [{do: pour, vessel: Jug, into: jug}]}]\n"
    assert messages(source, "value-invalid") == ['"Jug" is poured into itself']


def test_a_limit_cannot_be_more_than_all() -> None:
    limit = "limits: [{{most: {}, of: {}, citation: sheet}}]"
    source = "# file: kb/citations.yml\nsheet: {{}}\n# file: kb/materials/x.yml\n" + limit + "\n"
    for most, of, fits in (("250 %", "product", False), ("100 %", "product", True),
                           ("250 %", "base", True)):  # fmt: skip
        found = messages(source.format(most, of), "value-invalid")
        assert found == ([] if fits else ['"250 %" is more than the whole product'])


def test_a_currency_must_be_known() -> None:
    source = """\
# file: lessons/course.yml
currency: XXX
# file: kb/materials.yml
oil: {packs: [{amount: 1 g, price: 2 EUR}]}
"""
    assert messages(source, "value-invalid") == [
        '"XXX" is not a currency that prices can be written in'
    ]


COMPUTED = """\
# file: lessons/one.yml
materials:
  - {{material: dye, amount: 10 g}}
  - material: salt
    amount: {amount}
    computed: {{calculator: bath, from_materials: {{dye: dye}}, output: water}}
steps:
  - actions:
      - {{do: add, vessel: jug, material: dye}}
      - {{do: add, vessel: jug, material: salt}}
# file: kb/materials.yml
dye: {{}}
salt: {{computed_by: bath{density}}}
# file: kb/calculators/bath.yml
name: Bath
summary: How much water.
inputs: {{dye: {{label: Dye, unit: g, default: 10 g}}}}
outputs: {{water: {{label: Water, formula: dye * 20, unit: g}}}}
examples:
  - {{name: One, outputs: {{water: 200 g}}, citation: sheet}}
  - {{name: Two, inputs: {{dye: 5 g}}, outputs: {{water: 100 g}}, citation: sheet}}
readings: [{{words: Twenty times the dye., symbols: w = 20 d}}]
limits: For cold water.
# file: kb/citations.yml
sheet: {{}}
"""


@pytest.mark.parametrize(
    ("amount", "density", "fits"),
    [
        ("200 g", "", True),
        ("201.1 g", "", False),
        ("200 L", "", False),  # the same number in base units, and another thing
        ("100 mL", ", density: {value: 2 g/mL, citation: sheet}", True),
        ("200 mL", ", density: {value: 2 g/mL, citation: sheet}", False),
    ],
)
def test_a_computed_amount_is_held_against_its_own_kind(
    amount: str, density: str, fits: bool
) -> None:
    found = rules(COMPUTED.format(amount=amount, density=density))
    assert found == ([] if fits else ["unsafe-amount"])


def test_a_recipe_holds_one_part_worked_out_from_its_materials() -> None:
    again = """\
  - material: brine
    amount: 200 g
    computed: {calculator: bath, from_materials: {dye: dye}, output: water}
steps:
"""
    text = COMPUTED.format(amount="200 g", density="").replace("steps:\n", again, 1)
    for brine, told in (("{computed_by: bath}", True), ("{}", False)):
        found = messages(text.replace("salt: {c", f"brine: {brine}\nsalt: {{c"), "unsafe-amount")
        assert (
            found
            == [
                '"brine" is worked out from the same materials as the "salt" listed before it, so '
                "together they are too much"
            ]
            * told
        )
    twice = text.replace("material: brine", "material: salt")
    assert len(messages(twice, "unsafe-amount")) == 1


@pytest.mark.parametrize(
    ("own", "told"),
    [
        ("computed_output: water", ""),
        ("computed_output: sludge", 'its amount is the output "sludge", not "water"'),
        ("computed_as: {kind: dry}", "its calculation has the input kind: dry"),
    ],
)
def test_an_amount_of_something_else_is_not_taken(own: str, told: str) -> None:
    text = COMPUTED.format(amount="200 g", density=f", {own}")
    found = messages(text, "unsafe-amount")
    assert found == ([f'this is not the amount of "salt": {told}'] if told else [])


def test_a_fix_puts_in_nothing_that_must_be_computed() -> None:
    fix = "# file: kb/fixes/one.yml\nsteps: [{actions: [{do: add, vessel: jug, material: salt}]}]\n"
    found = messages(COMPUTED.format(amount="200 g", density="") + fix, "unsafe-amount")
    assert found == [
        'amounts of "salt" must come from the calculator "bath", and a fix cannot say how one was '
        "worked out"
    ]


def test_rules_share_one_reading_of_the_course() -> None:
    library, _ = build_library(read_course())
    context = Course(library)
    assert context.marks is context.marks
    assert context.cause_graph is context.cause_graph
    assert context.traces is context.traces


def test_one_circle_brings_no_findings_about_skills() -> None:
    found = rules("""\
# file: lessons/one.yml
prerequisites: [two]
teaches: [{skill: a, text: A.}]
# file: lessons/two.yml
prerequisites: [one]
assumes: [b]
teaches: [{skill: b, text: B.}]
# file: lessons/three.yml
prerequisites: [two]
assumes: [c]
teaches: [{skill: c, text: C.}]
""")
    assert "skill-not-taught" not in found
    assert "prerequisite-circle" in found
