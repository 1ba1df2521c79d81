"""What every page is made with: the course, the addresses of entries, and the templates."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property, lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from builder.course import Course
from builder.graph import find_rescues
from builder.library import Library
from builder.model import KINDS, CourseSettings
from builder.pages.lesson_views import Shelf, make_shelf
from builder.pages.prose import Prose, plain, show_quantity, show_window
from builder.pages.records import RuleNote, Section
from builder.svg_reader import write_inline
from builder.words import Words, load_words

TEMPLATES = Path(__file__).parent.parent / "templates"
ASSETS = Path(__file__).parent.parent / "assets"


@cache
def load_templates(words: Words) -> Environment:
    """Load the templates once a language; every value in them is escaped unless it is HTML.

    In a template `t(key, place=value)` gives our words in that language; see `words/en.yml`.
    """
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES / "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
    )
    environment.globals["t"] = words.html
    environment.filters["quantity"] = show_quantity
    environment.filters["window"] = show_window
    environment.filters["plain"] = plain
    return environment


@dataclass(frozen=True)
class PageMaker:
    """Makes pages of a course: everything that the families of pages share.

    Args:
        course: A checked course without errors.
        settings: What `lessons/course.yml` says.
        places: (kind, id) to the address and anchor where the entry is shown.
        rules: What the check looks for, for the manual page of rules.
    """

    course: Course
    settings: CourseSettings
    places: Mapping[tuple[str, str], tuple[str, str]] = field(repr=False)
    rules: tuple[RuleNote, ...] = field(default=(), repr=False)

    @property
    def words(self) -> Words:
        """Our words in the course's language."""
        return load_words(self.settings.language)

    @cached_property
    def shelf(self) -> Shelf:
        """All lessons as pages show them."""
        return make_shelf(self.course)

    @property
    def library(self) -> Library:
        """What the course folder says."""
        return self.course.library

    def resolve(self, kind: str, entry: str) -> tuple[str, str] | None:
        """Give the address and anchor of an entry, or None where it has no place on the site."""
        return self.places.get((kind, entry))

    def prose(self, address: str) -> Prose:
        """Give the renderer of text for a page."""
        return Prose(address, self.resolve)

    def render(self, template: str | Template, address: str, **view: Any) -> Markup:
        """Fill a template for the page at an address.

        In the template `p` is the page's `Prose`, `thing` the words for what is made, `course` the
        settings of the course, `library` the library, and `drawing(name)` an inline drawing.
        """
        filled = load_templates(self.words).get_template(template)
        return Markup(
            filled.render(
                p=self.prose(address),
                thing=self.settings.thing,
                course=self.settings,
                library=self.library,
                drawing=self.drawing,
                **view,
            )
        )

    def make_parts(
        self, template: str | Template, address: str, **view: Any
    ) -> tuple[Markup, tuple[Section, ...]]:
        """Fill the template of a whole page; see `render`.

        Besides, `{% call section(id, title) %}` in the template makes a part with a heading.

        Returns:
            What the template writes outside its sections, and the sections that are not empty.
        """
        sections: list[Section] = []

        def section(anchor: str, title: str, caller: Callable[[], str]) -> str:
            html = str(caller()).strip()
            if html:
                # A heading is plain text, whether written in the template or looked up as HTML.
                sections.append(Section(anchor, escape(title).unescape(), html))
            return ""

        lead = self.render(template, address, section=section, **view)
        return lead.strip(), tuple(sections)

    def drawing(self, name: str | None, label: str | None = None) -> Markup:
        """Give a drawing as inline SVG; "" where there is none.

        Args:
            name: Name in `kb/drawings/`, without `.svg`.
            label: "" for a picture that only repeats the words beside it: it is then hidden from
                readers that speak. None keeps the drawing's own title and description.
        """
        svg = self.library.drawings.get(name or "", "")
        if not svg:
            return Markup("")
        return _make_inline(svg, label == "")


@lru_cache(maxsize=512)
def _make_inline(svg: str, decorative: bool) -> Markup:
    """Make a drawing part of a page; a decorative one loses its words, which search would find."""
    attributes = {"class": "bl-drawing", "focusable": "false"}
    if decorative:
        attributes["aria-hidden"] = "true"
    return Markup(write_inline(svg, attributes, decorative=decorative))


def make_maker(course: Course, rules: Iterable[RuleNote] = ()) -> PageMaker:
    """Make the maker of a course's pages.

    Args:
        course: A checked course without errors.
        rules: What the check looks for, for the manual page of rules.

    Raises:
        ValueError: If there is no course.
    """
    settings = course.library.settings
    if settings is None:
        raise ValueError("a site needs a course")
    return PageMaker(course, settings, place_entries(course.library), tuple(rules))


def place_entries(library: Library) -> dict[tuple[str, str], tuple[str, str]]:
    """Decide the address and anchor of every entry that the site shows."""
    places: dict[tuple[str, str], tuple[str, str]] = {}
    for kind in KINDS.values():
        page, _, anchor = kind.address.partition("#")
        for name in library.entries.get(kind.name, {}) if page else ():
            places[kind.name, name] = page.format(id=name), anchor.format(id=name)
    # A fix stands on the page of each cause that it prevents, or after which it saves the thing;
    # the first is where links lead.
    rescues = find_rescues(library)
    for cause in library.causes.values():
        for fix in (
            *(link.fix for link in cause.fixes),
            *(rescue.fix for _, rescue in rescues.get(cause.id, ())),
        ):
            places.setdefault(("fix", fix), (f"causes/{cause.id}/", f"fix-{fix}"))
        for evidence in cause.evidence:
            place = (f"causes/{cause.id}/", f"question-{evidence.question}")
            places.setdefault(("question", evidence.question), place)
    return places
