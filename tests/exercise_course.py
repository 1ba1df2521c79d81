"""A small course of another craft, dyeing yarn, with an exercise of every kind."""

from __future__ import annotations

from functools import cache

from builder.library import Library, build_library

COURSE = """
name: Dyeing yarn
sentence: From a white skein to a striped one.
thing: {one: skein, many: skeins}
currency: EUR
doors:
  learn: {title: Learn, text: Lessons.}
  fix: {title: Fix, text: What went wrong.}
  teach: {title: Teach, text: Papers.}
local_rules: Ask your own authority.
tracks: [{id: wool, name: Wool, summary: Wool only.}]
class_size: 4
room: 20 degC
"""

CALCULATOR = """
name: Dye bath
summary: How much dye a bath takes.
inputs:
  yarn_mass: {label: Yarn, unit: g, default: 100 g, more_than: 0 g, at_most: 5 kg}
  depth: {label: Depth of shade, unit: "%", default: 2 %, more_than: 0 %, at_most: 10 %}
  stock: {label: Strength of the stock, unit: g/mL, default: 0.01 g/mL, more_than: 0 g/mL}
constants:
  pot: {label: Pot, value: 4 kg, citation: bench}
values:
  dye: {formula: yarn_mass * depth, label: Dry dye, unit: g, places: 2}
outputs:
  stock_volume: {label: Stock solution, formula: dye / stock, unit: mL, places: 0, main: true}
  dye_mass: {label: Dye, formula: dye, unit: g, places: 2}
refusals:
  - {when: yarn_mass > pot, input: yarn_mass, message: "The pot does not hold {yarn_mass}."}
warnings:
  strong: {when: depth > 0.08, message: "A depth of {depth} wastes dye."}
examples:
  - name: Plain
    inputs: {yarn_mass: 100 g, depth: 2 %}
    outputs: {dye_mass: 2.00 g}
    citation: bench
  - name: Plain again
    inputs: {yarn_mass: 50 g, depth: 1 %}
    outputs: {dye_mass: 0.50 g}
    citation: bench
readings: [{words: Dye is yarn times depth., symbols: d = m × s}]
limits: For wool only.
plot:
  title: Dye for more yarn
  x: {name: held, label: Yarn, unit: g, start: 0 * yarn_mass, end: yarn_mass * 2}
  y: {label: Dye, unit: g}
  curves: [{label: Dye, formula: held * depth}]
citations: [bench]
"""

FIRST = """
title: Bench and pots
level: beginner
track: wool
summary: Lay out a bench.
picture: pot
teaches:
  - {skill: lay-out, text: Lay out a bench}
  - {skill: read-dial, text: Read a thermometer}
intro: Set out the bench.
tools: [{tool: kettle}]
steps: [{title: Look, text: Look around., time: 5 min}]
exercises:
  - id: what-first
    kind: choose
    skill: lay-out
    title: What comes first
    ask: You come to a *cold* bench at {20 degC}. What do you do **first**?
    show: 4
    options:
      - {text: Open a window., right: true, why: Steam needs a way out.}
      - {text: Find the tap., right: true, why: Burns are rinsed at once.}
      - {text: Fill the kettle., why: Nothing is hot before the room is safe.}
      - {text: Weigh the yarn., why: The scale can wait.}
      - {text: Stir the dye., why: There is none yet.}
      - {text: Light the hob., why: Look round first.}
  - id: heat-up
    kind: order
    skill: lay-out
    title: Heating up
    ask: Put these steps in order.
    show: 4
    items: [Open the window, Fill the kettle, Heat it, Read the thermometer, Lower the yarn in]
    why: Each step needs the one before it.
  - id: read-bath
    kind: read
    skill: read-dial
    title: Read the bath
    ask: What does the thermometer say?
    hands_on: true
    instrument: thermometer
    values: [42 degC, 57 degC, 61 degC, 68 degC, 74 degC, 85 degC]
    low: 20 degC
    high: 100 degC
    division: 1 degC
    unit: degC
    slips:
      - {id: one-more, formula: reading + 2, hint: "You counted two too many: it says {reading}."}
    work: The column ends at {reading}.
"""

SECOND = """
title: One colour
level: beginner
track: wool
summary: Dye one skein.
picture: pot
prerequisites: [bench]
teaches:
  - {skill: weigh-dye, text: Weigh dye for a skein}
  - {skill: judge, text: Say what went wrong}
intro: One colour.
steps: [{title: Dye, text: Dye it., time: 20 min}]
exercises:
  - id: how-much-stock
    kind: calculate
    skill: weigh-dye
    title: How much stock
    ask: >-
      You have {yarn_mass} of yarn and want a depth of {depth}. How much stock of {stock} is that?
    hint: Depth is a share of the *yarn*.
    calculator: dye-bath
    given:
      yarn_mass: [50 g, 80 g, 100 g, 150 g, 200 g]
      depth: [1 %, 2 %, 3 %]
    fixed: {stock: 0.01 g/mL}
    answer: stock_volume
    unit: mL
    places: 0
    tolerance: 2 %
    slips:
      - {id: grams-as-ml, formula: dye_mass / 1000, hint: "{dye_mass} is the dry dye."}
      - {id: of-the-whole, formula: stock_volume / (1 + 10 * depth), hint: Of the yarn alone.}
    work: "{depth} of {yarn_mass} is {dye_mass}; at {stock} that is {stock_volume}."
  - id: read-plot
    kind: read
    skill: weigh-dye
    title: Read the curve
    ask: How much dye do {place} of yarn take?
    instrument: plot
    calculator: dye-bath
    fixed: {yarn_mass: 100 g, depth: 2 %}
    values: [40 g, 60 g, 110 g, 150 g]
    low: 0 g
    high: 4 g
    division: 0.1 g
    unit: g
    places: 1
    work: The curve stands at {reading}.
  - id: what-is-it
    kind: fault
    skill: judge
    title: What is it
    ask: Look at the skein and read what its maker says. What is it called?
    defects: [felted, patchy, pale]
    find: defect
"""

THIRD = """
title: Two colours
level: intermediate
track: wool
summary: Dye stripes.
picture: pot
prerequisites: [one-colour]
teaches: [{skill: plan-on, text: Choose what comes next}]
intro: Stripes.
steps: [{title: Dye, text: Dye it., time: 20 min}]
exercises:
  - id: what-next
    kind: plan
    skill: plan-on
    title: What next
    ask: Someone has done these lessons. Which can come next?
"""

FOURTH = """
title: Ikat
level: advanced
track: wool
summary: Dye warps.
picture: pot
prerequisites: [two-colours]
teaches: [{skill: bind, text: Bind a warp}]
intro: Warps.
steps: [{title: Bind, text: Bind it., time: 20 min}]
"""

DEFECT = """
name: {name}
summary: {name} yarn.
picture: pot
tracks: [wool]
looks: It looks {name}.
why: Something happened.
symptoms: [{{symptom: {symptom}, often: usually}}]
causes: [{{cause: {cause}, often: often, how: Because of {cause}.}}]
"""

CAUSE = """
name: {name}
summary: It was {name}.
what_happens: It happens.
how_common: sometimes
evidence: [{{question: {question}, yes: usually}}]
fixes: [{{fix: again, helps: often}}]
"""

SYMPTOM = """
{id}:
  name: {name}
  label: {label}
  text: Look.
  picture: pot
"""

POT = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 120"><title>Pot of the fault</title>'
    "<desc>A pot with a lid.</desc>"
    '<path d="M20 40H140V100H20Z" fill="var(--d-body,#F3E9D2)" stroke="currentColor"/></svg>'
)

FILES = {
    "lessons/course.yml": COURSE,
    "lessons/wool/bench.yml": FIRST,
    "lessons/wool/one-colour.yml": SECOND,
    "lessons/wool/two-colours.yml": THIRD,
    "lessons/wool/ikat.yml": FOURTH,
    "kb/calculators/dye-bath.yml": CALCULATOR,
    "kb/citations.yml": "bench: {title: At the bench, certainty: practice}",
    "kb/tools.yml": "kettle: {name: Kettle, summary: Boils., heats: true, hazards: [hot]}",
    "kb/cautions.yml": (
        "steam:\n  signal: Warning\n  title: Steam\n"
        "  happens: Steam from an opened pot burns hands and face.\n"
        "  do: [Lift the lid away from you.]\n  first_aid: Cool it under running water.\n"
        "  applies: {hazards: [hot]}\n  citations: [bench]\n"
    ),
    "kb/defects/felted.yml": DEFECT.format(name="Felted", symptom="thick", cause="shock"),
    "kb/defects/patchy.yml": DEFECT.format(name="Patchy", symptom="spots", cause="rush"),
    "kb/defects/pale.yml": DEFECT.format(name="Pale", symptom="light", cause="thin"),
    "kb/causes/shock.yml": CAUSE.format(name="shocked", question="cold-rinse"),
    "kb/causes/rush.yml": CAUSE.format(name="rushed", question="quick"),
    "kb/causes/thin.yml": CAUSE.format(name="thin", question="little-dye"),
    "kb/symptoms.yml": SYMPTOM.format(id="thick", name="Thick and matted", label="Thick")
    + SYMPTOM.format(id="spots", name="Spots of two shades", label="Spots")
    + SYMPTOM.format(id="light", name="A lighter shade than planned", label="Light"),
    "kb/questions.yml": (
        "cold-rinse: {ask: Did hot yarn go into cold water?}\n"
        "quick: {ask: Did the bath heat in a few minutes?}\n"
        "little-dye: {ask: Was less dye used than worked out?}\n"
    ),
    "kb/fixes/again.yml": (
        "name: Dye again\nwhen: next\nsummary: Again.\nsteps: [{text: Again.}]\ntime: 60 min\n"
    ),
    "kb/drawings/pot.svg": POT,
}


def make_course(**changes: str) -> Library:
    """Make the course, some of its files changed.

    Args:
        changes: Text by file, with `__` for a slash and without `.yml`.
    """
    files = dict(FILES)
    for name, text in changes.items():
        files[name.replace("__", "/").replace("_", "-") + ".yml"] = text
    library, findings = build_library(files)
    assert [str(found) for found in findings] == []
    return library


@cache
def load_course() -> Library:
    """Make the course once."""
    return make_course()
