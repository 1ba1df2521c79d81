"""The shipped course in a pseudo-language: no word of ours is left in English on any page."""

from __future__ import annotations

import re
from collections.abc import Iterator, Set
from pathlib import Path

import pytest

import builder.words as words_module
from builder.build import Built, Checked
from builder.checks import RULES
from builder.course import Course
from builder.pages import Site, make_site
from builder.papers.bundles import make_record, make_worksheets
from builder.papers.decision_charts import make_chart_papers
from builder.papers.run_sheets import make_plan_papers
from builder.papers.sheets import collect_tasks, draw_sheets
from builder.papers.students import count_students
from builder.planning.plan import plan_class
from builder.plugin import build_with_host
from builder.twin.unit_table import SPELLINGS, UNITS
from builder.units import CURRENCIES
from tests import pseudo
from tests.pdf import read_pages
from tests.shipped import ROOT

pytestmark = pytest.mark.site

# What is no word of a language: symbols of units and currencies, in any script the same.
SYMBOLS = {
    *(part for row in UNITS.values() for part in pseudo.WORD.findall(row[3])),
    *(part for text in SPELLINGS for part in pseudo.WORD.findall(text)),
    "pieces",  # the unit of what is counted
    *CURRENCIES,
}


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Course]:
    folder = tmp_path_factory.mktemp("words")
    pseudo.write_words(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(words_module, "FOLDER", folder)
        words_module.load_words.cache_clear()
        yield Course(pseudo.read_course(ROOT))
    words_module.load_words.cache_clear()


@pytest.fixture(scope="module")
def site(course: Course) -> Site:
    return make_site(course, RULES.values())


def list_left(texts: list[str], known: Set[str] = frozenset()) -> list[str]:
    """List the texts that hold a word in Latin letters; symbols and known words count for none."""
    return [
        " ".join(text.split())
        for text in texts
        if any(
            word not in SYMBOLS and word.lower() not in known
            for word in pseudo.WORD.findall(pseudo.take_out_names(text))
        )
    ]


def test_no_word_of_a_page_is_left_out(site: Site, course: Course) -> None:
    typed = pseudo.list_typed(course.library)
    left = {}
    for page in site.pages:
        known = typed if page.kind in ("calculator", "lesson") else set()
        left[page.address] = list_left(pseudo.read_texts(page.html), known)
    assert {address: found for address, found in left.items() if found} == {}


def test_no_word_of_the_frame_is_left_out(site: Site, course: Course, tmp_path: Path) -> None:
    out = build_with_host(ROOT, tmp_path / "site", Built(Checked(course, ()), site))
    for name in ("index.html", "404.html", "lessons/scent/index.html"):
        html = (out / name).read_text(encoding="utf-8")
        start, end = html.index("<main"), html.index("</main>")
        inside = html[start:end] if name == "404.html" else ""
        # The name of the site stands in mkdocs.yml, which the builder does not read.
        frame = (html[:start] + inside + html[end:]).replace("Millrace soap evenings", "")
        assert list_left(pseudo.read_texts(frame)) == [], name


def test_the_scripts_speak_the_language_too(site: Site) -> None:
    (texts,) = [asset for asset in site.assets if asset.file.endswith("/words.js")]
    said = re.findall(r'": "(.*)"|: "(.*)"', texts.data.decode())
    assert len(said) > 40
    for found in said:
        bare = re.sub(r"\{\w+\}|practice\.json", "", "".join(found))
        assert not pseudo.WORD.search(bare), bare


def test_no_word_of_a_paper_is_left_out(course: Course) -> None:
    tasks, title = collect_tasks(course, tuple(course.library.lessons)[:4])
    students = count_students(2)
    drawn = draw_sheets(course, tasks, title, students, "5")
    planned = course.library.classes["millrace-autumn"]
    run = course.plan_run(planned.id)
    plan = plan_class(course.library, planned, run, course.currency)
    made = {
        **make_worksheets(course, drawn).files,
        **make_record(course, students).files,
        **make_chart_papers(course).files,
        **make_plan_papers(course, plan).files,
    }
    codes = {sheet.code for sheet in drawn.sheets}
    typed = pseudo.list_typed(course.library)
    papers = {name: read_pages(body) for name, body in made.items() if name.endswith(".pdf")}
    assert len(papers) == 11
    for name, pages in papers.items():
        for number, text in enumerate(pages, 1):
            for code in codes:
                text = text.replace(code, " ")
            words = set(pseudo.WORD.findall(pseudo.take_out_names(text)))
            left = {word for word in words - SYMBOLS if word.lower() not in typed}
            assert left == set(), f"{name}, page {number}: {text[:300]}"
