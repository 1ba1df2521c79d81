"""Ways round the safety rules, each of which was open once, and sound work that they let pass."""

from __future__ import annotations

import pytest
from helpers import complete, make_library

from builder.checks import check_library
from builder.checks.safety.names import SHORTEST_WORD

KB = """\
# file: kb/materials.yml
paste: {is_base: true, highest_temperature: {value: 90 degC, citation: sheet}}
wax: {is_base: true}
oil: {flash_points: [{value: 60 degC, citation: sheet}]}
thinner: {flash_points: [{value: 15 degC, citation: sheet}, {value: 50 degC, citation: sheet}]}
spirit: {hazards: [flammable], citations: [sheet]}
fuming: {ghs: {revision: r, statements: [{code: H242, text: Burns}], citation: sheet}}
dye: {limits: [{most: 3 %, of: base, citation: sheet}]}
tint: {limits: [{most: 3 %, of: product, citation: sheet}]}
# file: kb/tools.yml
ring: {heats: true}
spoon: {}
# file: kb/cautions.yml
care: {applies: {hazards: [flammable, hot, corrosive]}}
# file: kb/citations.yml
sheet: {}
"""
FLAMMABLE = "heat-after-flammable"
FLASH = "above-flash-point"
HOT = "over-safe-temperature"
DOSE = "dose-over-limit"
_ELSEWHERE = {"amount-mismatch", "fact-missing", "fix-unreachable", "tool-missing"}


def find(steps: str, head: str = "", kb: str = KB) -> list[str]:
    """Ids of the rules broken by a lesson: a line an action; `step` or a window begins a step."""
    parts: list[tuple[str, list[str]]] = []
    for line in (each.strip() for each in steps.strip().splitlines()):
        window = line if line.startswith("temperature") else "time: 1 min"
        if line == "step" or line == window or not parts:
            parts.append((window, []))
        if line not in ("step", window):
            parts[-1][1].append(f"{{{line}}}")
    text = "".join(f"  - {window}\n    actions: [{', '.join(do)}]\n" for window, do in parts)
    library, findings = make_library(complete(f"# file: lessons/one.yml\n{head}steps:\n{text}{kb}"))
    assert findings == []
    found = {each.rule for each in check_library(library)}
    return sorted(found - _ELSEWHERE)


def put(material: str, vessel: str = "jug", amount: str = "1 g") -> str:
    return f"do: add, vessel: {vessel}, material: {material}, amount: {amount}\n"


def wet(vessel: str) -> str:
    return f"do: wet, vessel: {vessel}, material: spirit, amount: 1 g\n"


def heat(vessel: str = "jug", to: str = "55 degC") -> str:
    return f"do: heat, vessel: {vessel}, to: {to}\n"


def air(vessel: str, time: str) -> str:
    return f"do: air, vessel: {vessel}, time: {time}\n"


@pytest.mark.parametrize(
    "steps",
    [
        put("spirit") + "do: pour, vessel: jug, into: pot, material: wax, amount: 5 g\n"
        + heat("pot"),
        "do: pour, vessel: bottle, into: pot, material: spirit, amount: 5 g\n" + heat("bottle"),
        wet("hot-tray") + heat("Hot  tray"),
        wet("the tray") + heat("tray"),
        wet("\uff54\uff52\uff41\uff59") + heat("tray"),  # wide letters of the same word
        wet('"tr\\u200bay"') + heat("tray"),  # an invisible space within
        wet("tray") + air("tray", "1 s") + heat("tray"),
        wet("tray") + "do: air, vessel: tray, time: 10 min, tool: ring\n",
        wet("tray") + air("tray", "10 min") + wet("tray") + heat("tray"),
        wet("tray") + air("table", "10 min") + heat("tray"),
        put("spirit", amount="50 g") + air("jug", "10 min") + heat(),
        "do: air, vessel: jug, material: spirit, amount: 5 g, time: 10 min\n" + heat(),
        put("fuming") + heat(),
        put("spirit", "cup") + put("wax") + "do: pour, vessel: cup, into: jug\n" + heat(),
        put("spirit", "cup") + "do: pour, vessel: cup, into: jug\n" + heat("cup"),
        wet("tray") + put("wax") + "do: pour, vessel: jug, into: tray, tool: ring\n",
        wet("tray") + "do: stir, vessel: tray, tool: ring\n",
        wet("tray") + "do: cool, vessel: tray, to: 10 degC, time: 1 h\n" + heat("tray"),
    ],
)  # fmt: skip
def test_no_way_leads_from_flammable_to_heat(steps: str) -> None:
    assert FLAMMABLE in find(steps)


@pytest.mark.parametrize(
    "steps",
    [
        wet("tray") + air("tray", "1 min") + heat("tray"),
        put("wax") + put("spirit") + air("jug", "1 h") + heat(),
        put("spirit") + "do: pour, vessel: jug, into: cup\n" + air("jug", "1 h") + heat(),
        heat("tray") + "do: cool, vessel: tray, to: 25 degC\n" + wet("tray"),
        heat("tray") + "temperature: 20 to 25 degC\n" + wet("tray"),
        wet("tray 1") + heat("tray 2"),
    ],
)
def test_what_has_cleared_or_was_never_wet_may_be_heated(steps: str) -> None:
    assert find(steps) == []


@pytest.mark.parametrize(
    "steps",
    [
        # The lowest of several lies below the room; the next one still counts.
        put("wax") + heat(to="70 degC") + "step\n" + put("thinner"),
        # A tool that heats leaves it as hot as nobody says.
        put("wax") + "do: stir, vessel: jug, tool: ring\n" + "step\n" + put("oil"),
        put("wax") + heat() + "do: stir, vessel: jug, tool: ring\n" + put("oil"),
        # Heating cools nothing.
        put("wax") + heat(to="80 degC") + "step\n" + heat(to="50 degC") + put("oil"),
        put("wax") + "do: heat, vessel: jug\nstep\n" + heat(to="50 degC") + put("oil"),
        # A window without actions, where nothing was said to be heated.
        put("oil") + "temperature: 90 to 120 degC",
        # A window without actions may be about the cooler of two vessels.
        put("wax") + heat(to="85 degC") + put("wax", "cup") + heat("cup", "58 degC")
        + "temperature: 40 to 45 degC\nstep\n" + put("oil"),
        put("oil", "cup") + put("wax") + heat(to="70 degC") + "do: pour, vessel: jug, into: cup\n",
        put("wax") + heat(to="140 degF") + put("oil"),
    ],
)  # fmt: skip
def test_nothing_goes_in_above_its_flash_point(steps: str) -> None:
    assert FLASH in find(steps)


@pytest.mark.parametrize(
    "steps",
    [
        put("wax") + heat(to="70 degC") + "temperature: 50 to 55 degC\n" + put("oil"),
        put("wax") + heat(to="70 degC") + "do: cool, vessel: jug, to: 50 degC\n" + put("oil"),
        put("wax") + heat(to="70 degC") + "temperature: 50 to 55 degC\nstep\n" + put("oil"),
        put("wax") + "temperature: 50 to 55 degC\ndo: stir, vessel: jug, tool: ring\n" + put("oil"),
        put("wax") + heat() + put("oil") + "temperature: 70 to 80 degC\n" + heat("pan", "80 degC"),
    ],
)
def test_what_is_said_to_have_cooled_or_never_warmed_is_cool(steps: str) -> None:
    assert find(steps) == []


@pytest.mark.parametrize(
    "steps",
    [
        put("paste") + "temperature: 90 to 120 degC",
        "do: heat, vessel: jug\nstep\n" + put("paste"),
        heat(to="98 degC") + put("paste", "cup") + "do: pour, vessel: cup, into: jug\n",
        heat("can", "98 degC") + "do: pour, vessel: can, into: cup, material: paste, amount: 5 g\n",
        put("paste") + heat() + "temperature: 95 to 120 degC\ndo: stir, vessel: spoon\n",
        put("paste") + "do: heat, vessel: jug\nstep\n" + heat(to="98 degC"),
    ],
)
def test_nothing_becomes_hotter_than_is_safe(steps: str) -> None:
    assert HOT in find(steps)


def test_a_window_without_any_action_is_about_all_that_is_listed() -> None:
    kb = KB.replace("paste: {is_base: true, ", "paste: {")
    head = "materials: [{material: paste, amount: 1 g}]\n"
    assert HOT in find("temperature: 90 to 95 degC", head, kb)


LISTED = "materials: [{{material: wax, amount: 100 g{}}}, {{material: {}, amount: 3 g{}}}]\n"
MIXED = put("wax", amount="100 g") + put("dye", amount="3 g")


@pytest.mark.parametrize(
    "steps",
    [
        put("wax", amount="100 g") + "do: pour, vessel: jug, into: jug\n"
        + put("dye", amount="5 g"),
        # 10 mL of a kilogram without a density are not half of it.
        put("wax", amount="1 kg") + "do: pour, vessel: jug, into: cup, amount: 10 mL\n"
        + put("dye", "cup", "10 g"),
        put("wax", amount="1 kg") + "do: pour, vessel: jug, into: cup, amount: 10 mL\n"
        + "do: pour, vessel: cup, into: can, amount: 5 g\n" + put("dye", "can", "10 g"),
        put("wax", amount="100 g") + put("dye", amount="2 g") + "step\n" + put("dye", amount="2 g"),
        put("dye", "tray", "5 g").replace("add", "wet") + put("wax", amount="100 g")
        + "do: pour, vessel: jug, into: tray\n",
    ],
)  # fmt: skip
def test_no_way_leads_past_a_limit(steps: str) -> None:
    assert DOSE in find(steps)


@pytest.mark.parametrize(
    "steps",
    [
        MIXED + "do: pour, vessel: jug, into: cup, amount: 10 mL\n",
        MIXED + "do: pour, vessel: jug, into: cup, amount: 10 mL\n" + wet("cup"),
        put("dye", amount="3 g") + put("wax", amount="100 g"),
        MIXED + "do: stir, vessel: jug, material: dye\n",
        "do: pour, vessel: can, into: jug, material: wax, amount: 100 g\n"
        + put("dye", amount="3 g"),
    ],
)  # fmt: skip
def test_a_dose_within_its_limit_is_let_pass(steps: str) -> None:
    assert find(steps) == []


@pytest.mark.parametrize(
    ("makes", "base", "dose", "fits"),
    [
        (1, "", "", True),
        (1, ", per: batch", ", per: batch", True),
        (1, ", per: batch", "", False),  # 500 times the dose in one batch
        (1, "", ", per: batch", True),  # never less than one thing is made
        (6, "", ", per: batch", False),  # one thing of six, with the dose of all
        (6, "", "", True),
    ],
)
@pytest.mark.parametrize("material", ["dye", "tint"])
def test_a_dose_holds_for_any_number_made(
    makes: int, base: str, dose: str, fits: bool, material: str
) -> None:
    head = f"makes: {makes}\n" + LISTED.format(base, material, dose)
    assert find(MIXED.replace("dye", material), head) == ([] if fits else [DOSE])


def test_a_material_listed_both_ways_is_taken_at_its_worst() -> None:
    head = LISTED.format(", per: batch", "dye", ", per: batch").replace(
        "]\n", ", {material: dye, amount: 0.1 g}]\n"
    )
    assert find(MIXED, head) == [DOSE]


@pytest.mark.parametrize(
    "steps",
    [
        heat("tray") + wet("tray"),
        heat("tray") + "step\n" + wet("tray"),
        heat("tray") + "do: stir, vessel: tray\n" + wet("tray"),
        "do: stir, vessel: tray, tool: ring\n" + wet("tray"),
        wet("ring"),  # a tool that heats
        put("spirit", "ring"),
        put("spirit", "cup") + "do: pour, vessel: cup, into: Ring\n",
        wet("mould") + heat("form"),  # one thing under two names
        wet("mould") + "do: stir, vessel: form, tool: ring\n",
    ],
)
def test_nothing_flammable_comes_onto_what_is_hot(steps: str) -> None:
    assert FLAMMABLE in find(steps)


@pytest.mark.parametrize(
    ("steps", "found"),
    [
        (put("salt") + put("water"), ["order-unsafe"]),
        (put("wax") + put("salt"), ["order-unsafe"]),
        (put("salt") + put("wax"), ["order-unsafe"]),
        (put("salt", "jar") + put("water", "cup") + "do: pour, vessel: cup, into: jar\n",
         ["order-unsafe"]),
        (put("salt") + "step\n" + put("water") + put("salt"), ["order-unsafe"]),
        (put("water") + put("salt"), []),
        (put("salt", "cup") + put("water") + "do: pour, vessel: cup, into: jug\n", []),
        (put("water") + put("salt") + put("water") + put("wax"), []),
        (put("water") + put("salt") + put("wax", "bowl")
         + "do: pour, vessel: jug, into: bowl\n", []),
        (put("salt", "zinc cup"), ["vessel-unfit"]),
        (put("salt", "Pot"), ["vessel-unfit"]),
        (put("salt", "tin-lined pot"), ["vessel-unfit"]),
        (put("water") + put("salt") + "do: stir, vessel: jug, tool: whisk\n", ["vessel-unfit"]),
        (put("salt", "jar") + put("water", "pot") + "do: pour, vessel: jar, into: pot\n",
         ["vessel-unfit"]),
        (put("salt", "zincum cup"), []),
        (put("water", "zinc cup"), []),
        (put("water") + put("salt") + "do: stir, vessel: jug, tool: spoon\n", []),
    ],
)  # fmt: skip
def test_what_must_not_meet(steps: str, found: list[str]) -> None:
    kb = KB.replace(
        "# file: kb/tools.yml\n",
        "water: {}\n"
        "salt: {hazards: [irritant], goes_into: [water], attacks: [zinc, tin, aluminium foil]}\n"
        "# file: kb/tools.yml\npot: {name: Stew pot, made_of: [enamel, zinc]}\n"
        "whisk: {name: Zinc whisk}\n",
    ).replace("[flammable, hot, corrosive]", "[flammable, hot, corrosive, irritant]")
    assert find(steps, kb=kb) == found


def test_what_one_lesson_leaves_wet_the_next_does_not_heat() -> None:
    def hold(end: str, name: str) -> list[str]:
        source = (
            "# file: lessons/one.yml\nsteps:\n  - actions:\n"
            "      - {do: wet, vessel: tray, material: spirit, amount: 1 g}\n"
            + end
            + "# file: lessons/two.yml\nsteps:\n  - actions:\n"
            f"      - {{do: add, vessel: {name}, material: wax, amount: 1 g}}\n"
            f"      - {{do: heat, vessel: {name}, to: 50 degC}}\n"
            "# file: lessons/classes/one.yml\nsessions: [{date: 2030-09-02, start: '18:30', "
            "length: 2 h, lessons: [one, two]}]\n" + KB
        )
        library, findings = make_library(complete(source))
        assert findings == []
        return [f"{each.location.file}:{each.location.line}" for each in check_library(library)
                if each.rule == FLAMMABLE]  # fmt: skip

    assert hold("", "tray") == ["lessons/classes/one.yml:10"]
    assert hold("", "Tray") == ["lessons/classes/one.yml:10"]
    assert hold("      - {do: air, vessel: tray, time: 1 h}\n", "tray") == []
    assert hold("", "second tray") == []


@pytest.mark.parametrize(
    ("one", "other", "clear"),
    [
        ("tray", "tary", False),
        ("tray", "trays", False),
        ("tray", "tra", True),
        ("jug", "jugs", False),
        ("small tray", "smell tray", False),
        ("red cup", "cup of red", False),
        ("glass", "glas", False),
        ("cup c", "cup \u0441", False),  # a Cyrillic letter
        ("tray", "tr\u0430y 2", False),
        ("dish \u03b1", "dish \u03b2", True),
        ("tray 1", "tray 2", True),
        ("cup a", "cup b", True),
        ("cup", "cap", True),
        ("first tray", "second tray", True),
        ("\u0447\u0430\u0448\u043a\u0430", "\u0431\u043b\u044e\u0434\u043e", True),
    ],
)
def test_names_that_look_like_slips_are_reported(one: str, other: str, clear: bool) -> None:
    # Names matter where joining them breaks a rule: here what is wet would be heated.
    found = find(wet(one) + put("wax", other) + heat(other))
    assert found == ([] if clear else ["vessel-unclear"])
    mixed = not (one + other).isascii() and not clear
    harmless = find(f"do: stir, vessel: {one}\ndo: stir, vessel: {other}\n")
    assert harmless == (["vessel-unclear"] if mixed else [])
    assert SHORTEST_WORD == 4


def test_a_tool_that_heats_needs_a_caution_about_heat() -> None:
    kb = KB.replace("hazards: [flammable, hot, corrosive]", "hazards: [flammable]")
    assert find("do: stir, vessel: jug, tool: ring\n", kb=kb) == ["caution-missing"]
    assert find("do: stir, vessel: jug, tool: spoon\n", kb=kb) == []


@pytest.mark.parametrize(
    ("applies", "covered"),
    [
        ("actions: [stir]", False),
        ("tools: [spoon]", False),
        ("actions: [heat]", True),
        ("tools: [ring]", True),
        ("hazards: [hot]", True),
    ],
)
def test_a_caution_covers_what_it_is_about(applies: str, covered: bool) -> None:
    kb = KB.replace("hazards: [flammable, hot, corrosive]", applies)
    steps = heat()[:-1] + (", tool: ring\n" if "ring" in applies else ", tool: spoon\n")
    assert find(steps + "do: stir, vessel: jug\n", kb=kb) == (
        [] if covered else ["caution-missing"]
    )


DRILL = """\
# file: lessons/course.yml
drills:
  - {hazard: corrosive, level: beginner, lesson: strict, tools: [goggles], cautions: [care]}
  - {hazard: corrosive, level: beginner, lesson: easy, tools: [goggles, spoon], cautions: [care]}
# file: lessons/strict.yml
{}
# file: lessons/easy.yml
{}
# file: lessons/one.yml
prerequisites: [%s]
tools: [{tool: goggles}, {tool: spoon}, {tool: %s}]
# file: kb/tools.yml
goggles: {gives: [eyes, hands, sleeves, ventilation, spill]}
spoon: {}
bath: {hazards: [corrosive]}
# file: kb/cautions.yml
care: {first_aid: Rinse with water., applies: {hazards: [corrosive]}}
"""


@pytest.mark.parametrize(
    ("needs", "tool", "found"),
    [
        ("strict, easy", "bath", []),
        ("easy", "bath", ["drill-missing"]),
        ("strict", "bath", ["drill-missing"]),
        ("", "spoon", []),
    ],
)
def test_every_drill_holds_and_for_tools_too(needs: str, tool: str, found: list[str]) -> None:
    library, reading = make_library(complete(DRILL % (needs, tool)))
    assert reading == []
    assert sorted({each.rule for each in check_library(library)}) == found


def test_a_corrosive_tool_needs_a_drill() -> None:
    source = DRILL % ("", "bath")
    bare = source[: source.index("drills")] + "{}\n" + source[source.index("# file: lessons/st") :]
    library, _ = make_library(complete(bare))
    (found,) = check_library(library)
    assert found.rule == "drill-missing"
    assert found.message == '"bath" has the hazard corrosive, and the course has no drill for that'


SCENTS = KB.replace(
    "# file: kb/tools.yml",
    """\
cedar: {hazards: [sensitiser], citations: [sheet],
  limits: [{most: 3 %, of: base, citation: sheet}]}
orange: {hazards: [sensitiser], citations: [sheet],
  limits: [{most: 5 %, of: base, citation: sheet}]}
# file: kb/tools.yml""",
).replace("[flammable, hot, corrosive]", "[flammable, hot, corrosive, sensitiser]")


@pytest.mark.parametrize(
    ("cedar", "orange", "fits"),
    [
        ("1.5 g", "2.5 g", True),  # half of one limit and half of the other
        ("1.5 g", "2.6 g", False),
        ("2 g", "2 g", False),  # 67 % and 40 %
        ("2.9 g", "0.01 g", True),
    ],
)
def test_what_can_sensitise_adds_up(cedar: str, orange: str, fits: bool) -> None:
    steps = put("wax", amount="100 g") + put("cedar", amount=cedar) + put("orange", amount=orange)
    assert find(steps, kb=SCENTS) == ([] if fits else [DOSE])


def test_colours_do_not_add_up() -> None:
    steps = put("wax", amount="100 g") + put("dye", amount="3 g") + put("tint", amount="3 g")
    assert find(steps) == []


LYE = """
# file: kb/calculators/soak.yml
name: Soak
summary: How much lye a mix of fats takes.
inputs:
  fats:
    label: Fats
    kind: rows
    columns:
      fat: {label: Fat, kind: choice, choices: {tallow: Tallow, nut: Nut fat}}
      mass: {label: Mass, kind: quantity, unit: g}
    default: "tallow: 100 g"
  discount: {label: Discount, unit: percent, default: 5 %}
outputs:
  lye:
    {label: Lye, formula: sum(row.mass for row in fats) * 0.14 * (1 - discount), unit: g, places: 2}
examples:
  - {name: One, inputs: {discount: 0 %}, outputs: {lye: 14 g}, citation: sheet}
  - {name: Two, inputs: {discount: 50 %}, outputs: {lye: 7 g}, citation: sheet}
readings: [{words: A seventh, symbols: l = f / 7}]
limits: For this test.
"""
SOAK = """\
materials:
  - {{material: wax, amount: {wax}}}
  - {{material: paste, amount: 100 g}}
  - material: flakes
    amount: {lye}
    computed: {{calculator: soak, output: lye{computed}}}
"""
FROM = ", from_materials: {fats: {tallow: wax, nut: paste}}"


@pytest.mark.parametrize(
    ("wax", "lye", "computed", "told"),
    [
        ("200 g", "39.9 g", FROM, ""),  # 300 g * 0.14 * 0.95
        ("200 g", "42 g", FROM + ", inputs: {discount: 0 %}", ""),
        # The recipe was changed and the lye was not.
        ("150 g", "39.9 g", FROM, '39.9 g of "flakes" is not what "soak" gives: 33.25\xa0g'),
        # Neither numbers of their own nor the calculator's may stand for the recipe.
        (
            "200 g",
            "39.9 g",
            ', inputs: {fats: "tallow: 300 g"}',
            '"fats" is what "flakes" is worked',
        ),
        ("100 g", "13.3 g", "", '"fats" is what "flakes" is worked out from'),
        ("200 g", "39.9 g", FROM.replace("wax", "oil"), '"oil" is not among the materials'),
        ("200 g, per: batch", "39.9 g", FROM, '"wax" and "flakes" do not grow alike'),
    ],
)
def test_lye_comes_from_the_recipe_itself(wax: str, lye: str, computed: str, told: str) -> None:
    kb = KB.replace("wax: {", "flakes: {computed_by: soak}\nwax: {") + LYE
    head = SOAK.format(wax=wax, lye=lye, computed=computed)
    lesson = f"# file: lessons/one.yml\n{head}steps: [{{time: 1 min}}]\n"
    library, findings = make_library(complete(lesson + kb.lstrip()))
    assert findings == []
    checked = check_library(library)
    assert not [each for each in checked if each.entry == "calculator:soak"]
    found = [each.message for each in checked if each.rule == "unsafe-amount"]
    assert len(found) == bool(told)
    assert "".join(found).startswith(told)


@pytest.mark.parametrize(("window", "fits"), [("60 to 72", True), ("20 to 25", False)])
def test_a_step_does_not_heat_above_its_own_window(window: str, fits: bool) -> None:
    steps = f"temperature: {window} degC\n" + put("wax") + heat(to="72 degC")
    assert find(steps) == ([] if fits else ["value-invalid"])
