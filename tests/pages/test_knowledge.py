"""Pages of faults, causes and signs, and those to look things up on."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable
from functools import cache
from html import unescape
from html.parser import HTMLParser
from posixpath import dirname, join, normpath

import pytest

from builder.checks import RULES, Rule
from builder.course import Course
from builder.diagnostics import Severity
from builder.frequencies import name_likelihood
from builder.library import Library
from builder.model import When
from builder.pages import Page, Site, knowledge, make_search_entries, make_site, reference
from builder.pages.knowledge.diagnose import view_signs
from builder.pages.knowledge.views import say_often
from builder.pages.maker import load_templates, make_maker
from builder.pages.records import Section
from builder.pages.reference.glossary import find_letter, group_terms
from builder.pages.schema_org import describe_how_to, describe_thing, write_duration
from builder.words import load_words
from tests.golden import check_golden
from tests.helpers import make_library, overlay

PAGES = [
    "causes/",
    "causes/flower-too-wet/",
    "causes/lifted-early/",
    "causes/paste-too-hot/",
    "defects/",
    "defects/brown-petals/",
    "defects/wrinkled-sheet/",
    "diagnose/",
    "glossary/",
    "materials/",
    "safety/",
    "sources/",
    "teaching/formulas/",
    "teaching/rules/",
]


def read(source: str = "") -> Library:
    library, findings = make_library(overlay(source.lstrip()))
    assert not findings
    return library


def make(source: str = "", rules: Iterable[Rule] = RULES.values()) -> dict[str, Page]:
    """Make these pages of the pressed-flower course, with files laid over it."""
    library = read(source)
    assert library.settings is not None
    context = make_maker(Course(library), rules)
    pages = (*knowledge.make_pages(context), *reference.make_pages(context))
    return {page.address: page for page in pages}


@cache
def made() -> dict[str, Page]:
    return make()


class Outline(HTMLParser):
    """What a test looks at in a page: ids, links, and the words within each element with an id."""

    VOID = frozenset({"br", "hr", "img", "input", "meta", "link"})

    def __init__(self, html: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.words: dict[str, str] = {}
        self.open: list[str | None] = []
        self.tags: list[str] = []
        self.feed(html)
        assert not self.tags, f"never closed: {self.tags}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        name = values.get("id")
        if name:
            self.ids.append(name)
            self.words[name] = ""
        if tag == "a" and values.get("href"):
            self.links.append(values["href"] or "")
        if tag not in self.VOID:
            self.open.append(name)
            self.tags.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.VOID:
            assert self.tags.pop() == tag
            self.open.pop()

    def handle_data(self, data: str) -> None:
        for name in self.open:
            if name:
                self.words[name] += data


def words_of(html: str) -> str:
    """Give the words of a piece of HTML, one space apart."""
    text = unescape(re.sub(r"<[^>]*>", " ", html)).replace("\u00a0", " ")
    return re.sub(r"\( | (?=[).,;])", lambda gap: gap[0].strip(), " ".join(text.split()))


def section(page: Page, name: str) -> str:
    return words_of(next(part.html for part in page.sections if part.id == name))


# Every page


def test_the_course_gives_these_pages() -> None:
    assert sorted(made()) == PAGES


@pytest.mark.parametrize("address", PAGES)
def test_a_page_is_well_formed_and_its_anchors_are_there(address: str) -> None:
    page = made()[address]
    outline = Outline(page.html)
    assert [name for name, count in Counter(outline.ids).items() if count > 1] == []
    assert page.anchors <= set(outline.ids)
    assert page.lead.count("<h1") == 1
    assert words_of(page.lead[page.lead.index("<h1") :]).startswith(page.title)


@cache
def made_site() -> Site:
    return make_site(Course(read()), RULES.values())


@cache
def outline(address: str) -> Outline:
    return Outline(made_site().by_address[address].html)


@pytest.mark.parametrize("address", PAGES)
def test_links_lead_to_pages_and_places_that_are_there(address: str) -> None:
    site = made_site()
    for link in outline(address).links:
        path, _, anchor = link.partition("#")
        target = normpath(join(address, path)) if path else join(address, "index.html")
        folder = dirname(target)
        if folder.startswith("calculators/"):
            continue  # those pages have a maker of their own; the built site's test follows all
        page = site.by_address[f"{folder}/" if folder else ""]
        if anchor:
            assert anchor in outline(page.address).ids, link


@pytest.mark.parametrize("address", PAGES)
def test_structured_data_names_its_vocabulary_and_holds_no_gaps(address: str) -> None:
    for described in made()[address].structured:
        assert described["@context"] == "https://schema.org"
        assert described["@type"]
        assert "null" not in json.dumps(described)


@pytest.mark.parametrize("address", PAGES)
def test_nothing_is_asked_of_another_host(address: str) -> None:
    page = made()[address]
    fetched = re.findall(r'(?:src|href|url)\s*[=(]\s*"?(https?:[^"\s)]*)', page.html)
    assert fetched == []


def test_raw_html_of_an_author_is_shown_not_run() -> None:
    page = make("""
# file: kb/defects/odd.yml
name: Odd <b>thing</b>
summary: <script>alert(1)</script>
tracks: [cards]
looks: <img src=x onerror=alert(1)>
why: See.
symptoms: [{symptom: wavy, often: often}]
causes: [{cause: lifted-early, often: often}]
""")["defects/odd/"]
    assert "<script>alert" not in page.html
    assert "<img" not in page.html
    assert "<b>thing" not in page.html
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page.html


GOLDEN = {
    "causes/": "causes.html",
    "causes/paste-too-hot/": "cause.html",
    "defects/": "defects.html",
    "defects/wrinkled-sheet/": "defect.html",
    "diagnose/": "diagnose.html",
    "glossary/": "glossary.html",
    "materials/": "materials.html",
    "safety/": "safety.html",
    "sources/": "sources.html",
    "teaching/rules/": "rules.html",
}

RULE = Rule(
    "sheet-torn",
    Severity.WARNING,
    "sheets",
    None,
    "A sheet is torn.",
    "Then `paste` runs through.",
    "sheet: torn",
    "sheet: whole",
)


@pytest.mark.parametrize("address", sorted(GOLDEN))
def test_pages_are_as_they_were_kept(address: str, accept: bool) -> None:
    check_golden(GOLDEN[address], make(rules=[RULE])[address].html, accept)


# A defect


def test_a_defect_page_is_in_the_order_a_reader_needs() -> None:
    page = made()["defects/wrinkled-sheet/"]
    assert [(part.id, part.title) for part in page.sections] == [
        ("looks", "How it looks"),
        ("now", "Save this card"),
        ("next", "Next time"),
        ("tell", "How to tell the cause"),
        ("causes", "Causes"),
        ("graph", "The whole picture"),
        ("lessons", "Lessons that teach it"),
    ]


def test_a_page_without_fixes_for_the_thing_in_the_hand_does_not_lead_there() -> None:
    page = make("""
# file: kb/defects/brown-petals.yml
name: Brown petals
summary: Brown.
tracks: [cards]
looks: Brown.
why: Heat.
symptoms: [{symptom: brown-edge, often: usually}]
causes: [{cause: paste-too-hot, often: usually}]
""")["defects/brown-petals/"]
    outline = Outline(page.html)
    anchors = [link[1:] for link in outline.links if link.startswith("#")]
    assert anchors == ["next", "tell", "graph"]
    assert set(anchors) <= set(outline.ids)


def test_signs_come_with_how_often_they_show() -> None:
    looks = section(made()["defects/wrinkled-sheet/"], "looks")
    assert "Wavy sheet usually" in looks
    assert "Feels damp sometimes" in looks


def test_causes_come_with_words_a_gauge_and_a_share() -> None:
    page = made()["defects/wrinkled-sheet/"]
    # The numbers are those of test_causes_of_a_defect_are_weighed_by_the_model.
    assert "Flower too wet likely, 83 %" in section(page, "causes")
    assert "Lifted too early possible, 26 %" in section(page, "causes")
    assert re.findall(r'style="width:([\d.]+)%"', page.html) == ["83.2", "26.1"]
    assert "not a measurement" in section(page, "causes")


def test_questions_say_what_a_yes_means() -> None:
    tell = section(made()["defects/wrinkled-sheet/"], "tell")
    assert "after rain? Yes points to Flower too wet." in tell
    assert "less than a week? Yes points to Lifted too early." in tell


def test_a_question_whose_yes_speaks_against_a_cause_says_so() -> None:
    source = """
# file: kb/questions.yml
picked-in-dew: {ask: "Was it picked at noon?", yes_otherwise: 0.5}
less-than-a-week: {ask: "Was it pressed for less than a week?"}
paste-steamed: {ask: "Did the paste steam?"}
# file: kb/causes/flower-too-wet.yml
name: Flower too wet
summary: Wet.
what_happens: Water.
how_common: often
evidence: [{question: picked-in-dew, yes: rarely}]
fixes: [{fix: press-again, helps: often}, {fix: blot-first, helps: often}]
"""
    tell = section(make(source)["defects/wrinkled-sheet/"], "tell")
    assert "at noon? Yes speaks against Flower too wet." in tell


def test_fixes_of_a_defect_show_steps_time_cost_and_what_they_mend() -> None:
    now = section(made()["defects/wrinkled-sheet/"], "now")
    assert now.startswith("Press it again Back between dry sheets for another week. Time 5 min")
    assert "Cost 0.30 GBP After whatever the cause" in now
    assert "Put the book on it for 7 d" in now


def test_neighbours_lessons_and_whether_it_may_be_used() -> None:
    page = make("""
# file: kb/defects/wrinkled-sheet.yml
name: Wrinkled sheet
summary: Waves.
tracks: [cards]
looks: Waves.
why: Paper swells.
harmless: It may be sent as it is.
cautions: [hot-things]
look_alikes: [{defect: brown-petals, tell: Brown petals lie flat.}]
symptoms: [{symptom: wavy, often: usually}, {symptom: damp-feel, often: often}]
causes: [{cause: flower-too-wet, often: often}, {cause: lifted-early, often: often}]
citations: [bench]
""")["defects/wrinkled-sheet/"]
    lead = words_of(page.lead)
    assert "May it still be used? It may be sent as it is." in lead
    assert "Warning Hot paste burns" in lead
    assert "Brown petals Brown petals lie flat." in section(page, "neighbours")
    assert [part.id for part in page.sections][-1] == "sources"
    assert "(common practice, no published source)" in section(page, "sources")


def test_lessons_come_from_risks_and_from_causes() -> None:
    library = read()
    page = made()["defects/wrinkled-sheet/"]
    warned = [
        lesson.title
        for lesson in library.lessons.values()
        if any(risk.defect == "wrinkled-sheet" for risk in lesson.risks)
        or lesson.id == library.causes["flower-too-wet"].lesson
    ]
    assert warned
    for title in warned:
        assert title in section(page, "lessons")


def test_a_defect_is_described_as_an_article_with_instructions() -> None:
    article, *instructions = made()["defects/wrinkled-sheet/"].structured
    assert article["@type"] == "TechArticle"
    assert article["about"]["name"] == "Wrinkled sheet"
    assert [(each["@type"], each["name"]) for each in instructions] == [("HowTo", "Press it again")]
    (how,) = instructions
    assert how["totalTime"] == "PT5M"
    assert how["estimatedCost"] == {"@type": "MonetaryAmount", "currency": "GBP", "value": 0.3}
    assert how["supply"] == [{"@type": "HowToSupply", "name": "Blotting sheet"}]
    assert how["step"][0]["text"] == "Lay it between two dry sheets."
    assert how["url"] == "../../causes/flower-too-wet/index.html#fix-press-again"


# The order of causes, fixes and questions


def test_a_defect_without_causes_has_no_likelihoods() -> None:
    library = read("""
# file: kb/defects/odd.yml
name: Odd
summary: Odd.
tracks: [cards]
looks: Odd.
why: Odd.
""")
    assert Course(library).likelihoods.rank_causes("odd") == ()


FIXES = """
# file: kb/causes/lifted-early.yml
name: Lifted too early
summary: Early.
what_happens: It bends.
how_common: sometimes
fixes:
  - {fix: press-again, helps: usually}
  - {fix: iron-it, helps: usually}
  - {fix: throw-away, helps: sometimes}
# file: kb/causes/flower-too-wet.yml
name: Flower too wet
summary: Wet.
what_happens: Water.
how_common: sometimes
fixes:
  - {fix: blot-first, helps: usually}
# file: kb/fixes/iron-it.yml
name: Iron it
when: now
summary: Iron it.
steps: [{text: Iron it.}]
time: 2 min
# file: kb/fixes/throw-away.yml
name: Start again
when: now
summary: Start again.
steps: [{text: Start again.}]
time: 1 min
discards: true
"""


def test_fixes_are_ordered_by_help_for_each_minute_and_throwing_away_is_last() -> None:
    likelihoods = Course(read(FIXES)).likelihoods
    now = likelihoods.rank_fixes("wrinkled-sheet", When.NOW)
    # The same chance of help: 2 minutes before 5. Throwing away takes 1, but is seldom called for.
    assert [each.fix for each in now] == ["iron-it", "press-again", "throw-away"]
    assert now[0].causes == ("lifted-early",)
    following = likelihoods.rank_fixes("wrinkled-sheet", When.NEXT)
    assert [each.fix for each in following] == ["blot-first"]


def test_a_thing_that_can_only_be_thrown_away_is_said_to_be_lost() -> None:
    pages = make("""
# file: kb/fixes/press-again.yml
name: Start again
when: now
summary: Start again.
steps: [{text: Start again.}]
time: 1 min
discards: true
""")
    page = pages["defects/wrinkled-sheet/"]
    assert "This card cannot be saved" in [part.title for part in page.sections]
    assert "Save this card" not in page.html
    assert "Mends" not in section(page, "now")
    assert "This card cannot be saved" in pages["causes/lifted-early/"].html


def test_a_fix_for_one_cause_of_two_names_it() -> None:
    page = make(FIXES)["defects/wrinkled-sheet/"]
    assert "After Lifted too early How to do it" in section(page, "now")
    assert "Against Flower too wet." in section(page, "next")


def test_the_question_that_tells_most_comes_first() -> None:
    ranked = Course(read()).likelihoods.rank_questions("wrinkled-sheet")
    assert {each.question for each in ranked} == {"picked-in-dew", "less-than-a-week"}
    assert [each.gain for each in ranked] == sorted((each.gain for each in ranked), reverse=True)
    raised = {each.question: each.raised for each in ranked}
    assert raised == {"picked-in-dew": ("flower-too-wet",), "less-than-a-week": ("lifted-early",)}


def test_causes_of_a_defect_are_weighed_by_the_model() -> None:
    """Bayes' rule: causes of 0.2 and 0.1 that bring it with 0.6 and 0.3, a background of 0.001."""
    wet, early = Course(read()).likelihoods.rank_causes("wrinkled-sheet")
    absent = 0.999 * (1 - 0.2 * 0.6) * (1 - 0.1 * 0.3)
    assert (wet.cause, early.cause) == ("flower-too-wet", "lifted-early")
    assert wet.probability == pytest.approx(
        0.2 * (1 - 0.999 * (1 - 0.6) * (1 - 0.1 * 0.3)) / (1 - absent)
    )
    assert early.probability == pytest.approx(
        0.1 * (1 - 0.999 * (1 - 0.3) * (1 - 0.2 * 0.6)) / (1 - absent)
    )


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.98, "nearly always"), (0.8, "usually"), (0.31, "sometimes"), (0.01, "hardly ever")],
)
def test_chances_in_words_never_promise(chance: float, words: str) -> None:
    assert say_often(load_words("en"), chance) == words


@pytest.mark.parametrize(
    ("probability", "words"),
    [
        (1.0, "very likely"),
        (0.6, "likely"),
        (0.59, "quite possible"),
        (0.1, "possible"),
        (0.0, "unlikely"),
    ],
)
def test_probabilities_in_words(probability: float, words: str) -> None:
    key = name_likelihood(probability)
    assert load_words("en").text(f"likelihood.{key}") == words


# A cause


def test_a_cause_page_shows_its_fixes_in_full_at_anchors_that_stay() -> None:
    page = made()["causes/flower-too-wet/"]
    outline = Outline(page.html)
    assert "Back between dry sheets" in outline.words["fix-press-again"]
    assert "Put the book on it" in outline.words["fix-press-again"]
    assert "Pick at noon" in outline.words["fix-blot-first"]
    assert {"fix-press-again", "fix-blot-first", "question-picked-in-dew"} <= page.anchors


def test_a_cause_page_says_how_often_a_yes_comes_with_it_and_without() -> None:
    tell = section(made()["causes/lifted-early/"], "tell")
    assert "With this cause the answer is nearly always yes; without it, rarely." in tell


def test_a_cause_names_what_it_brings_the_likeliest_first() -> None:
    brings = section(made()["causes/flower-too-wet/"], "defects")
    assert brings.index("Wrinkled sheet often") < brings.index("Brown petals sometimes")


def test_cautions_attach_themselves_to_a_fix_and_stand_in_full_on_its_page() -> None:
    page = made()["causes/paste-too-hot/"]
    assert "Warning Hot paste burns Hold the pan by its handle." in section(page, "next")
    assert "Paste sticks to skin and stays hot." in section(page, "cautions")
    assert '<a href="#caution-hot-things">' in page.html


def test_a_fix_that_harms_nobody_carries_no_caution() -> None:
    assert "cautions" not in [part.id for part in made()["causes/lifted-early/"].sections]


# Signs


def test_every_sign_leads_to_its_defects() -> None:
    page = made()["diagnose/"]
    outline = Outline(page.html)
    assert '<div class="bl-diagnosis" data-bl-diagnosis hidden></div>' in page.html
    assert page.anchors == {"symptom-wavy", "symptom-damp-feel", "symptom-brown-edge"}
    assert "Wrinkled sheet shows it usually" in words_of(outline.words["symptom-wavy"])
    assert {f"#{anchor}" for anchor in page.anchors} <= set(outline.links)


def test_the_commonest_sign_comes_first() -> None:
    library = read()
    assert library.settings is not None
    maker = make_maker(Course(library))
    # Wrinkled: 1 - (1 - 0.36)(1 - 0.09) = 0.418; brown: 1 - (1 - 0.18)(1 - 0.064) = 0.232.
    # Times how often each shows: wavy 0.8, damp 0.3, brown edge 0.8.
    assert [each.symptom.id for each in view_signs(maker)] == ["wavy", "brown-edge", "damp-feel"]


# Looking things up


def test_safety_puts_danger_before_warning_and_first_aid_apart() -> None:
    page = made()["safety/"]
    names = re.findall(r'id="caution-([a-z-]+)"', page.html)
    assert names == ["varnish-vapour", "hot-things", "oil-on-skin"]
    assert [part.id for part in page.sections] == ["cautions", "first-aid", "local-rules"]
    assert "Cool under running water." in section(page, "first-aid")
    assert "which flowers may be picked where you live" in section(page, "local-rules")


def test_a_caution_says_what_can_happen_before_what_to_do() -> None:
    text = words_of(Outline(made()["safety/"].html).words["caution-varnish-vapour"])
    assert text.startswith(
        "Danger Vapour catches fire The solvent's vapour burns. Open a window. Keep it from"
    )


def test_the_safety_page_leads_to_materials_and_sources() -> None:
    links = Outline(made()["safety/"].lead).links
    assert {"../materials/index.html", "../sources/index.html"} <= set(links)


def test_materials_list_every_flash_point_with_its_source_the_lowest_first() -> None:
    text = section(made()["materials/"], "material-lavender-oil")
    assert "can cause a lasting allergy" in text
    low, high = text.index("Flash point 68 °C (154 °F)"), text.index("Flash point 71 °C")
    assert low < high
    assert "Sheet of an invented supplier (common practice, no published source)" in text[high:]
    assert "The sources differ. The lowest value counts." in text
    assert "At most, as a share of what it goes into 1 %" in text
    assert "At most, as a share of the finished card 0.9 %" in text


def test_materials_show_statements_with_their_revision() -> None:
    text = section(made()["materials/"], "material-varnish")
    assert text.startswith("Resin in a solvent. Danger catches fire")
    assert "H225 Highly flammable liquid and vapour invented for this course;" in text


def test_materials_say_where_they_are_used() -> None:
    assert "Press it again" in section(made()["materials/"], "material-blotting-sheet")


CITATIONS = """
# file: kb/citations.yml
bench: {title: Practice, certainty: practice}
oil-sheet: {title: An oil's sheet, certainty: seen, publisher: A press, year: 1999}
sum: {title: A sum, certainty: computed}
recalled: {title: Recalled, certainty: memory}
"""


def test_sources_are_grouped_by_how_sure_they_are() -> None:
    page = make(CITATIONS)["sources/"]
    assert [(part.id, part.title) for part in page.sections] == [
        ("sure-seen", "Read in the source"),
        ("sure-computed", "Worked out"),
        ("sure-memory", "From memory"),
        ("sure-practice", "Common practice"),
    ]
    assert "An oil's sheet A press, 1999 Used in 1 place Lavender oil" in words_of(
        section(page, "sure-seen")
    )
    assert "Pages say so. Look it up before you rely on it." in section(page, "sure-memory")


def test_a_source_that_was_read_is_named_without_a_doubt_beside_it() -> None:
    text = section(make(CITATIONS)["materials/"], "material-lavender-oil")
    assert "71 °C (160 °F) An oil's sheet" in text
    assert "An oil's sheet (" not in text
    assert "Practice (common practice, no published source)" in text


TERMS = """
# file: kb/glossary.yml
b: {name: beta, text: Second., also: [vee]}
a: {name: Älpha, text: First.}
n: {name: 3D, text: A number.}
"""


def test_the_glossary_goes_by_letter_without_case_and_accents() -> None:
    page = make(TERMS)["glossary/"]
    assert [(part.id, part.title) for part in page.sections] == [
        ("letter-other", "#"),
        ("letter-a", "A"),
        ("letter-b", "B"),
    ]
    assert "beta Second. Also: vee" in section(page, "letter-b")
    (described,) = page.structured
    assert [each["name"] for each in described["hasDefinedTerm"]] == ["3D", "Älpha", "beta"]
    assert [find_letter(name) for name in ("Éclair", "zinc", "%")] == ["E", "Z", "#"]


def test_terms_of_a_letter_are_sorted() -> None:
    library = read("""
# file: kb/glossary.yml
x: {name: Bee, text: B.}
y: {name: Ábc, text: A.}
z: {name: abd, text: A.}
""")
    assert library.settings is not None
    context = make_maker(Course(library))
    grouped = [(letter, [term.name for term in terms]) for letter, terms in group_terms(context)]
    assert grouped == [("A", ["Ábc", "abd"]), ("B", ["Bee"])]


def test_every_rule_has_its_section_with_both_examples() -> None:
    page = made()["teaching/rules/"]
    outline = Outline(page.html)
    assert page.anchors == set(RULES)
    assert not page.searchable
    for rule in RULES.values():
        text = outline.words[rule.id]
        assert rule.severity.value in text
        assert rule.failing.splitlines()[0] in text
        assert rule.passing.splitlines()[0] in text


def test_without_rules_there_is_no_page_of_rules() -> None:
    assert "teaching/rules/" not in make_site(Course(read())).by_address


def test_search_finds_each_word_sign_caution_material_and_source() -> None:
    pages = make(CITATIONS)
    found = {
        entry.location: (entry.title, entry.text)
        for page in pages.values()
        for entry in make_search_entries(page)
    }
    blotting = ("Blotting", "Drying something by pressing it on paper that drinks.")
    assert found["glossary/index.html#term-blotting"] == blotting
    wavy = ("Wavy sheet", "Waves that catch the light.")
    assert found["diagnose/index.html#symptom-wavy"] == wavy
    assert found["safety/index.html#caution-hot-things"][0] == "Warning: Hot paste burns"
    assert found["safety/index.html#first-aid"][0] == "First aid"
    assert found["materials/index.html#material-varnish"][1] == "Resin in a solvent."
    assert found["sources/index.html#citation-sum"][0] == "A sum"
    assert not any(location.startswith("teaching/rules/") for location in found)


# Small parts


def test_sections_are_records_and_empty_ones_fall_out() -> None:
    maker = make_maker(Course(read()))
    for template, title, kept in [
        ("{% call section('a', title) %} <p>1</p> {% endcall %}", "First & last", True),
        ("{% call section('a', title|escape) %}<p>1</p>{% endcall %}", "What's <left>", True),
        ("{% call section('a', title) %}{% if no %}x{% endif %} {% endcall %}", "Empty", False),
    ]:
        filled = load_templates(maker.words).from_string("<h1>x</h1> " + template)
        lead, sections = maker.make_parts(filled, "", title=title, no=False)
        assert lead == "<h1>x</h1>"
        assert sections == ((Section("a", title, "<p>1</p>"),) if kept else ())


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "PT0S"),
        (45, "PT45S"),
        (60, "PT1M"),
        (5400, "PT1H30M"),
        (86400, "P1D"),
        (90061, "P1DT1H1M"),
        (119.7, "PT2M"),
    ],
)
def test_times_are_written_as_iso_8601_does(seconds: float, text: str) -> None:
    assert write_duration(seconds) == text


def test_what_is_empty_is_left_out_of_structured_data() -> None:
    assert describe_thing("Thing", name="x", url="", image=None, items=[]) == {
        "@context": "https://schema.org",
        "@type": "Thing",
        "name": "x",
    }
    assert "totalTime" not in describe_how_to("x", [("", "Do it.")])
